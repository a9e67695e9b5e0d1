//! The torque that a joint is given is what `loads` shows, and what every pose and every linkage within tolerance has.

use unloop::design::{self, Actuator, Design, Pin, Pins};
use unloop::dynamics::Fit;
use unloop::equivalence::Basis;
use unloop::handover::{ActuatorUnits, Ask, Form, Format, JointJson, LimitBasis, emit};
use unloop::linkage::{Branch, FourBar};
use unloop::study::{self, Mechanism, StrokeRow};

const PEAK: f64 = 60.0;

/// Every model that ships, with a motor and a place on a robot.
fn models() -> Vec<Design> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("models");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    paths.sort();
    let read = |path: &std::path::PathBuf| {
        let text = std::fs::read_to_string(path).unwrap();
        design::parse(&path.display().to_string(), &text).unwrap_or_else(|r| panic!("{r}")).0
    };
    // A pad on the coupler has no joint to give a torque.
    let joints = paths.iter().map(read).filter(|design| design.parallel_jaw().is_none());
    let mut models: Vec<Design> = joints.collect();
    let robots = models[0].robots.clone();
    for model in &mut models {
        let actuator = model.actuator.get_or_insert_with(Actuator::default);
        (actuator.peak_torque, actuator.max_speed) = (Some(PEAK), Some(20.0));
        if model.robots.is_empty() {
            model.robots.clone_from(&robots);
        }
    }
    models
}

/// The same with four pins of 6 to 10 mm that rub.
fn rubbing(mut design: Design, friction: f64) -> Design {
    let pin = |diameter: f64| {
        Some(Pin { clearance: [0.0; 2], diameter: Some(diameter), fit: None, width: None })
    };
    design.pins = Pins {
        motor: pin(10e-3),
        crank: pin(6e-3),
        rocker: pin(6e-3),
        joint: pin(8e-3),
        friction: Some(friction),
    };
    design
}

fn cases() -> Vec<Design> {
    let plain = models();
    let with_pins = plain.iter().cloned().map(|m| rubbing(m, 0.15)).collect::<Vec<_>>();
    [plain, with_pins].concat()
}

/// `limits` only says which of the two stands in the file.
fn emitted(design: &Design, limits: LimitBasis) -> Vec<JointJson> {
    let mechanism = Mechanism::of(design).unwrap();
    let check = study::check_on(design, &mechanism).unwrap();
    let rows: Vec<StrokeRow> = study::stroke(design, &mechanism, &check.direct_joint, 31)
        .iter()
        .map(StrokeRow::from)
        .collect();
    let options = Ask {
        format: Format::Mjcf,
        form: Form::Direct,
        whole: false,
        anyway: true,
        limits,
        actuator: ActuatorUnits::Joint,
        engine: None,
        fit: Fit::Balanced,
    };
    let through = |motor: f64| mechanism.branch.joint_turn(motor).ok();
    emit(design, &mechanism, &check, &rows, &through, &options).unwrap().joints
}

#[test]
fn the_torque_that_a_joint_is_given_is_the_smallest_that_loads_shows() {
    let mut with_pins = 0;
    for design in cases() {
        let peak =
            study::loads(&design).unwrap().joint().unwrap().peak.clone().unwrap().joint_torque;
        for joint in emitted(&design, LimitBasis::Guaranteed) {
            let torque = joint.torque_n_m;
            let name = &design.name;
            assert!((torque.guaranteed.unwrap() - peak.guaranteed.value).abs() < 1e-9, "{name}");
            assert!(
                (torque.never_exceed.unwrap() - peak.never_exceed.value).abs() < 1e-9,
                "{name}"
            );
            let rows = joint.over_stroke.iter().map(|row| row.torque_n_m.unwrap());
            let least = rows.fold(f64::INFINITY, f64::min);
            assert!(torque.guaranteed.unwrap() <= least + 1e-9, "{name}: {torque:?} {least}");
        }
        with_pins += usize::from(design.pins.friction.is_some());
    }
    assert!(with_pins >= 8);
}

/// Torque at the joint from power and the pins' work alone: each pin's friction torque f F d/2 times its turn, the
/// turns by differences of the angles.
fn torque_at(design: &Design, branch: &Branch, turn: f64) -> f64 {
    let step = 1e-6;
    let [before, at, after] = [turn - step, turn, turn + step].map(|t| branch.pose(t).unwrap());
    let by = |f: &dyn Fn(&unloop::linkage::Pose) -> f64| {
        libm::remainder(f(&after) - f(&before), std::f64::consts::TAU)
    };
    let (rocker, coupler) = (by(&|p| p.rocker_angle()), by(&|p| p.coupler_angle()));
    let crank = 2.0 * step;
    let without = PEAK * (crank / rocker).abs();
    let bars = branch.bars();
    let arm = bars.rocker * (at.coupler_angle() - at.rocker_angle()).sin().abs();
    let force = without / arm;
    let turns = [crank, crank - coupler, rocker - coupler, rocker];
    let pins = &design.pins;
    let diameters = [&pins.motor, &pins.crank, &pins.rocker, &pins.joint]
        .map(|p| p.as_ref().and_then(|p| p.diameter).unwrap_or(0.0));
    let work: f64 = turns.iter().zip(diameters).map(|(t, d)| 0.5 * d * (t / rocker).abs()).sum();
    without - pins.friction.unwrap_or(0.0) * force * work
}

#[test]
fn the_guaranteed_torque_is_what_is_left_in_the_worst_pose() {
    for design in cases().into_iter().filter(|d| d.accept.over == Basis::Nominal) {
        let mechanism = Mechanism::of(&design).unwrap();
        let [from, to] = mechanism.stroke.motor;
        let torques = (0..=1000)
            .map(|k| from + (to - from) * f64::from(k) / 1000.0)
            .map(|turn| torque_at(&design, &mechanism.branch, turn));
        let least = torques.fold(f64::INFINITY, f64::min);
        let given = emitted(&design, LimitBasis::Guaranteed)[0].torque_n_m.guaranteed.unwrap();
        assert!((given / least - 1.0).abs() < 1e-5, "{}: {given} {least}", design.name);
    }
}

/// Least torque over the stroke and over the corners of the lengths' tolerances.
fn least_within_tolerance(design: &Design) -> f64 {
    let mechanism = Mechanism::of(design).unwrap();
    let [from, to] = mechanism.stroke.motor;
    let g = &design.geometry;
    let mut least = f64::INFINITY;
    for corner in 0..16_u32 {
        let size = |bit: u32, d: &design::Dimension| {
            let ends = d.tolerance.as_ref().map_or([0.0; 2], |t| [t.lower, t.upper]);
            d.nominal + ends[(corner >> bit & 1) as usize]
        };
        let bars = FourBar {
            ground: size(0, &g.ground),
            crank: size(1, &g.crank),
            coupler: size(2, &g.coupler),
            rocker: size(3, &g.rocker),
        };
        let closure = mechanism.branch.closure();
        let branch = Branch::through(bars, g.zero_crank.nominal, closure).unwrap();
        for k in 0..=200 {
            let turn = from + (to - from) * f64::from(k) / 200.0;
            least = least.min(torque_at(design, &branch, turn));
        }
    }
    least
}

#[test]
fn every_linkage_within_tolerance_has_the_guaranteed_torque_and_little_more() {
    let toleranced = cases().into_iter().filter(|d| d.accept.over == Basis::Tolerance);
    let mut seen = 0;
    for design in toleranced {
        let least = least_within_tolerance(&design);
        let given = emitted(&design, LimitBasis::Guaranteed)[0].torque_n_m.guaranteed.unwrap();
        println!("{}: given {given}, worst corner {least}", design.name);
        assert!(given <= least * (1.0 + 1e-6), "{}: {given} above {least}", design.name);
        assert!(given >= least * (1.0 - 1e-2), "{}: {given} far below {least}", design.name);
        seen += 1;
    }
    assert!(seen >= 2);
}

#[test]
fn a_drive_that_its_pins_lock_gets_no_torque_limit_of_zero_that_a_reader_takes_for_none() {
    let locked = rubbing(models().remove(0), 3.0);
    let mechanism = Mechanism::of(&locked).unwrap();
    let check = study::check_on(&locked, &mechanism).unwrap();
    for format in [Format::Urdf, Format::Sdformat, Format::Mjcf] {
        let options = Ask {
            format,
            form: Form::Direct,
            whole: false,
            anyway: true,
            limits: LimitBasis::Guaranteed,
            actuator: ActuatorUnits::Joint,
            engine: None,
            fit: Fit::Balanced,
        };
        let faults = emit(&locked, &mechanism, &check, &[], &|_| Some(0.0), &options).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].to_string().contains("the pins lock the drive"), "{}", faults[0]);
    }
    let joint = emitted(&locked, LimitBasis::NeverExceed).remove(0);
    assert_eq!(joint.torque_n_m.guaranteed, None);
    assert!((joint.torque_n_m.never_exceed.unwrap() - PEAK).abs() < 1e-9);
}
