//! Laws that every drive of one joint obeys, on drawn and on random linkages.

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use unloop::drive::{
    Angular, Assembly, BallRod, BallRodPoints, Coaxial, DriveFault, FixedRatio, InputEnd,
    JointDrive, LinearActuator, OneJoint, RodDrive, RodPose, Series, Slider, Stop, StopKind,
    Vector, longest_even_stroke,
};
use unloop::linkage::{Branch, Closure, FourBar, dead_points};
use unloop::numeric::{Interval, Jet};

use crate::known::{axis, vector};

/// Figures that nobody draws, and a few that somebody may.
const ODD: &[f64] = &[
    0.0,
    1.0,
    -1.0,
    2.0,
    3.0,
    1e-9,
    1e-300,
    1e300,
    0.5,
    1.5,
    -0.0,
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MIN_POSITIVE,
    PI,
];

fn knee() -> BallRod {
    BallRod {
        ground: 300.0,
        crank: 45.0,
        coupler: 300.0,
        rocker: 45.0,
        axial: 0.0,
        twist: 0.0,
        lean: 0.0,
    }
}

/// Random linkages in space, axes at any angle but along the ground line.
fn any_ball_rod() -> impl Strategy<Value = (BallRod, f64, Assembly)> {
    let lengths = (40.0..120.0_f64, 20.0..90.0_f64, 60.0..160.0_f64, 20.0..90.0_f64);
    let places = (-40.0..40.0_f64, -PI..PI, -1.2..1.2_f64, -PI..PI, any::<bool>());
    (lengths, places).prop_map(
        |((ground, crank, coupler, rocker), (axial, twist, lean, phi, open))| {
            let drawing = BallRod { ground, crank, coupler, rocker, axial, twist, lean };
            (drawing, phi, if open { Assembly::Open } else { Assembly::Crossed })
        },
    )
}

fn any_actuator() -> impl Strategy<Value = LinearActuator> {
    let coordinates = || prop::array::uniform3(-60.0..60.0_f64);
    let rest = (prop::array::uniform3(-1.0..1.0_f64), 0.0..15.0_f64, 2.0..10.0_f64);
    (coordinates(), coordinates(), rest).prop_map(|(pin, lever, (along, line_offset, lead))| {
        let [x, y, z] = pin;
        LinearActuator {
            motor: Vector::new(x - 200.0, y, z),
            joint: axis([0.0; 3], [along[0], along[1], along[2] + 1.5]),
            rocker: vector(lever),
            line_offset,
            lead,
        }
    })
}

fn any_slider() -> impl Strategy<Value = (Slider, f64)> {
    let lever = prop::array::uniform3(-60.0..60.0_f64);
    let guide = (prop::array::uniform3(-40.0..40.0_f64), prop::array::uniform2(-0.4..0.4_f64));
    (lever, guide, 110.0..200.0_f64, any::<bool>()).prop_map(
        |(lever, (point, [ty, tz]), coupler, ahead)| {
            let slider = Slider {
                guide: vector(point),
                direction: Vector::new(1.0, ty, tz),
                coupler,
                joint: axis([0.0; 3], [0.2, -0.1, 1.0]),
                rocker: vector(lever),
                lead: -4.0,
            };
            (slider, if ahead { 1e3 } else { -1e3 })
        },
    )
}

/// The smaller of both ends' margins, rad, 1 at most.
fn margin(pose: &RodPose) -> f64 {
    pose.transmission_angle().min(pose.crank_side().unwrap_or(1.0)).min(1.0)
}

/// Close to a stop of the zero pose its own motor angle has few digits, and so has every turn counted from it.
fn is_clear(drive: &RodDrive) -> bool {
    margin(&drive.pose(0.0).unwrap()) > 0.1
}

/// Joint turns from the zero pose on, in the reach of the drive, away from its ends by `share`.
fn turns(drive: &impl OneJoint, share: f64) -> Vec<f64> {
    let [below, above] = drive.reach();
    let from = below.map_or(-9.0, |stop| share * stop.joint);
    let to = above.map_or(9.0, |stop| share * stop.joint);
    unloop::numeric::evenly([from, to], 12).collect()
}

/// Motor to joint undoes joint to motor; ratio and slope are derivatives; power in is power out.
fn obeys_its_laws(drive: &RodDrive) -> Result<(), TestCaseError> {
    if !is_clear(drive) {
        return Ok(());
    }
    for joint in turns(drive, 0.93) {
        let motion = drive.motion(joint).unwrap();
        let pose = drive.pose(joint).unwrap();
        let margin = margin(&pose);
        if margin < 0.1 {
            continue;
        }
        let back = drive.joint_turn(motion.motor).unwrap();
        // To 1e-13 up to rods of six times the lever, beyond that as the square.
        let long = pose.reached.length / (6.0 * drive.geometry().joint.radius);
        let room = 1e-13 * (long * long).max(1.0) / (margin * margin);
        prop_assert!((back - joint).abs() < room, "{joint} {back}");
        let h = 1e-5 * margin;
        let [before, after] = [-h, h].map(|away| drive.motion(joint + away));
        let (Ok(before), Ok(after)) = (before, after) else { continue };
        let size = motion.ratio.abs().max(motion.slope.abs()).max(1.0) / margin.powi(3);
        let rate = (after.motor - before.motor) / (2.0 * h);
        prop_assert!((rate - motion.ratio).abs() < 1e-7 * size, "{rate} {motion:?}");
        let slope = (after.ratio - before.ratio) / (2.0 * h);
        prop_assert!((slope - motion.slope).abs() < 1e-6 * size, "{slope} {motion:?}");
        // F r_B on the joint and F r_A on the motor: the ratio is the quotient of the arms.
        let by_arms = pose.joint_arm() / pose.motor_arm();
        prop_assert!((by_arms - motion.ratio).abs() < 1e-11 * size, "{by_arms} {motion:?}");
        prop_assert!((pose.reached.rod.length() / pose.reached.length - 1.0).abs() < 1e-12);
        let sine = pose.sin_transmission().abs();
        prop_assert!((sine - pose.transmission_angle().sin()).abs() < 1e-12);
        if let (Some(sine), Some(angle)) = (pose.sin_input(), pose.crank_side()) {
            prop_assert!((sine.abs() - angle.sin()).abs() < 1e-12);
        }
        for (sine, tilt) in pose.sin_tilts().into_iter().zip(pose.ball_tilts()) {
            let both = sine.zip(tilt);
            prop_assert!(both.is_none_or(|(s, t)| (s.abs() - t.sin()).abs() < 1e-12));
        }
    }
    Ok(())
}

/// At every stop the margin that its kind says vanishes, and beyond it nothing is told.
fn stops_where_it_says(drive: &RodDrive) -> Result<(), TestCaseError> {
    if !is_clear(drive) {
        return Ok(());
    }
    for stop in drive.reach().into_iter().flatten() {
        // Just inside there is a pose, nearly without its margin, and its motor turn is nearly the stop's.
        let near = drive.pose(stop.joint * (1.0 - 1e-9)).unwrap();
        let left = match stop.kind {
            StopKind::DeadPoint => near.crank_side().unwrap(),
            _ => near.transmission_angle(),
        };
        prop_assert!(left < 2e-3, "{stop:?} {left}");
        let motor = drive.motor_turn(stop.joint * (1.0 - 1e-9)).unwrap();
        let room = 1e-3 * (1.0 + stop.motor.abs());
        prop_assert!((motor - stop.motor).abs() < room, "{stop:?} {motor}");
        let beyond = drive.motion(stop.joint * 1.001);
        let is_stop = matches!(beyond, Err(DriveFault::JointOutOfReach { stop: kind, .. }) if kind == stop.kind);
        prop_assert!(is_stop, "{beyond:?}");
    }
    Ok(())
}

/// S² of both ends changes its sign nowhere but at the stops told: none is missing, none is made up.
fn tells_all_stops(drive: &RodDrive) -> Result<(), TestCaseError> {
    let geometry = drive.geometry();
    let [zero, _] = drive.zero_angles();
    let reaches = |joint: f64| geometry.at(libm::sincos(zero + joint)).is_some();
    let steps: Vec<f64> = unloop::numeric::evenly([-PI, PI], 3000).collect();
    let changes = steps.windows(2).filter(|ends| reaches(ends[0]) != reaches(ends[1]));
    let mut seen = changes.map(|ends| 0.5 * (ends[0] + ends[1])).collect::<Vec<f64>>();
    let told = drive.stops().into_iter().filter(|stop| stop.kind == StopKind::DeadPoint);
    let mut told: Vec<f64> = told.map(|stop| stop.joint).collect();
    // Two that are closer than the steps may hide from them.
    told.sort_by(f64::total_cmp);
    seen.sort_by(f64::total_cmp);
    for joint in &seen {
        prop_assert!(told.iter().any(|stop| (stop - joint).abs() < 3e-3), "{joint} {told:?}");
    }
    for (k, stop) in told.iter().enumerate() {
        let is_close = |other: &f64| (other - stop).abs() < 5e-3;
        let twin = told.iter().enumerate().any(|(l, other)| l != k && is_close(other));
        let edge = (PI - stop.abs()) < 5e-3;
        prop_assert!(twin || edge || seen.iter().any(is_close), "{stop} made up: {seen:?}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_rod_in_space_obeys_its_laws((drawing, phi, assembly) in any_ball_rod()) {
        let Ok(drive) = drawing.drive(phi, assembly) else { return Ok(()) };
        obeys_its_laws(&drive)?;
        stops_where_it_says(&drive)?;
        tells_all_stops(&drive)?;
    }

    #[test]
    fn a_linear_actuator_obeys_its_laws(actuator in any_actuator()) {
        let Ok(drive) = actuator.drive(None) else { return Ok(()) };
        obeys_its_laws(&drive)?;
        stops_where_it_says(&drive)?;
    }

    #[test]
    fn a_slider_obeys_its_laws((slider, nut) in any_slider()) {
        let Ok(drive) = slider.drive(nut) else { return Ok(()) };
        obeys_its_laws(&drive)?;
        stops_where_it_says(&drive)?;
        tells_all_stops(&drive)?;
    }

    #[test]
    fn swapping_input_and_output_inverts_the_ratio((drawing, phi, assembly) in any_ball_rod()) {
        let Ok(drive) = drawing.drive(phi, assembly) else { return Ok(()) };
        let (pose, geometry) = (drive.pose(0.0).unwrap(), drive.geometry());
        let InputEnd::Crank { circle, rod, .. } = geometry.input else { panic!() };
        let line = |point, direction| unloop::drive::Axis { point, direction };
        let swapped = BallRodPoints {
            motor: line(geometry.joint.centre, geometry.joint.axis),
            joint: line(circle.centre, circle.axis),
            crank: pose.joint_pin,
            rocker: pose.reached.pin,
            rod: Some(rod),
        };
        let swapped = swapped.drive().unwrap();
        if !is_clear(&drive) {
            return Ok(());
        }
        for joint in turns(&drive, 0.9) {
            let ours = drive.motion(joint).unwrap();
            let Ok(theirs) = swapped.motion(ours.motor) else { continue };
            let pose = drive.pose(joint).unwrap();
            let margin = margin(&pose);
            if margin < 0.1 {
                continue;
            }
            prop_assert!((theirs.motor - joint).abs() < 1e-10);
            prop_assert!((theirs.ratio * ours.ratio - 1.0).abs() < 1e-10);
        }
    }

    #[test]
    fn ranges_of_turns_hold_every_figure_in_them(
        (drawing, phi, assembly) in any_ball_rod(), share in 0.0..1.0_f64,
    ) {
        let Ok(drive) = drawing.drive(phi, assembly) else { return Ok(()) };
        for from in turns(&drive, 0.8) {
            let range = Interval::new(from, from + 0.01);
            let Ok(over) = drive.motion(range) else { continue };
            let joint = from + 0.01 * share;
            let Ok(sample) = drive.motion(joint) else { continue };
            prop_assert!(over.motor.contains(sample.motor));
            prop_assert!(over.ratio.contains(sample.ratio) && over.slope.contains(sample.slope));
            let jet = drive.motion(Jet::<1>::variable(0, range)).unwrap();
            prop_assert!(jet.motor.value.contains(sample.motor));
            prop_assert!(jet.motor.slopes[0].contains(sample.ratio));
            prop_assert!(jet.ratio.slopes[0].contains(sample.slope));
        }
    }

    #[test]
    fn a_family_of_drawings_holds_each_of_them(
        (drawing, phi, assembly) in any_ball_rod(), shares in prop::array::uniform7(-1.0..1.0_f64),
    ) {
        let (Ok(drive), off) = (drawing.drive(phi, assembly), 0.05) else { return Ok(()) };
        let pose = drive.pose(0.0).unwrap();
        if margin(&pose) < 0.2 {
            return Ok(());
        }
        let side = if pose.motor_arm() < 0.0 { 1.0 } else { -1.0 };
        let psi = drive.zero_angles()[0];
        let angular = 1e-3;
        let wide = |x: f64, off: f64| Interval::new(x - off, x + off);
        let family = BallRod {
            ground: wide(drawing.ground, off),
            crank: wide(drawing.crank, off),
            coupler: wide(drawing.coupler, off),
            rocker: wide(drawing.rocker, off),
            axial: wide(drawing.axial, off),
            twist: wide(drawing.twist, angular),
            lean: wide(drawing.lean, angular),
        };
        let [g, a, b, c, k, t, l] = shares;
        let member = BallRod {
            ground: drawing.ground + g * off,
            crank: drawing.crank + a * off,
            coupler: drawing.coupler + b * off,
            rocker: drawing.rocker + c * off,
            axial: drawing.axial + k * off,
            twist: drawing.twist + t * angular,
            lean: drawing.lean + l * angular,
        };
        let point = Interval::point(psi);
        let over = family.geometry(side).unwrap().at(Angular::sin_cos(point)).unwrap();
        let one = member.geometry(side).unwrap().at(libm::sincos(psi)).unwrap();
        prop_assert!(over.ratio.contains(one.ratio), "{:?} {}", over.ratio, one.ratio);
        prop_assert!(over.sin_transmission().contains(one.sin_transmission()));
        prop_assert!(over.slope.contains(one.slope));
    }

    #[test]
    fn scale_changes_no_turn_and_no_ratio((drawing, phi, assembly) in any_ball_rod()) {
        let Ok(drive) = drawing.drive(phi, assembly) else { return Ok(()) };
        let f = 1e-3;
        let scaled = BallRod {
            ground: f * drawing.ground,
            crank: f * drawing.crank,
            coupler: f * drawing.coupler,
            rocker: f * drawing.rocker,
            axial: f * drawing.axial,
            ..drawing
        };
        let scaled = scaled.drive(phi, assembly).unwrap();
        if !is_clear(&drive) {
            return Ok(());
        }
        for joint in turns(&drive, 0.9) {
            let pose = drive.pose(joint).unwrap();
            if margin(&pose) < 0.1 {
                continue;
            }
            let (ours, theirs) = (drive.motion(joint).unwrap(), scaled.motion(joint).unwrap());
            prop_assert!((ours.motor - theirs.motor).abs() < 1e-11);
            prop_assert!((ours.ratio - theirs.ratio).abs() < 1e-10 * ours.ratio.abs().max(1.0));
        }
    }

    #[test]
    fn a_common_factor_on_all_lengths_leaves_the_ratio_alone((drawing, phi, assembly) in any_ball_rod()) {
        let Ok(drive) = drawing.drive(phi, assembly) else { return Ok(()) };
        let pose = drive.pose(0.0).unwrap();
        if margin(&pose) < 0.1 {
            return Ok(());
        }
        let side = if pose.motor_arm() < 0.0 { 1.0 } else { -1.0 };
        let variable = |k: usize, x: f64| Jet::<5>::variable(k, Interval::point(x));
        let constant = |x: f64| Jet::<5>::constant(Interval::point(x));
        let family = BallRod {
            ground: variable(0, drawing.ground),
            crank: variable(1, drawing.crank),
            coupler: variable(2, drawing.coupler),
            rocker: variable(3, drawing.rocker),
            axial: variable(4, drawing.axial),
            twist: constant(drawing.twist),
            lean: constant(drawing.lean),
        };
        let psi = constant(drive.zero_angles()[0]);
        let ratio = family.geometry(side).unwrap().at(psi.sin_cos()).unwrap().ratio;
        let lengths =
            [drawing.ground, drawing.crank, drawing.coupler, drawing.rocker, drawing.axial];
        let terms = lengths.iter().zip(ratio.slopes).map(|(length, slope)| length * slope.mid());
        let size: f64 = terms.clone().map(f64::abs).sum();
        prop_assert!(terms.sum::<f64>().abs() < 1e-9 * size.max(1.0));
    }

    #[test]
    fn without_twist_lean_and_axial_it_is_the_planar_four_bar(
        lengths in prop::array::uniform4(20.0..120.0_f64), phi in -PI..PI, open in any::<bool>(),
    ) {
        let [ground, crank, coupler, rocker] = lengths;
        let bars = FourBar { ground, crank, coupler, rocker };
        let (assembly, closure) = if open {
            (Assembly::Open, Closure::Open)
        } else {
            (Assembly::Crossed, Closure::Crossed)
        };
        let Ok(branch) = Branch::through(bars, phi, closure) else { return Ok(()) };
        let flat = BallRod { ground, crank, coupler, rocker, axial: 0.0, twist: 0.0, lean: 0.0 };
        let Ok(drive) = flat.drive(phi, assembly) else { return Ok(()) };
        if !is_clear(&drive) {
            return Ok(());
        }
        for joint in turns(&drive, 0.95) {
            let motion = drive.motion(joint).unwrap();
            let Ok(pose) = branch.pose(motion.motor) else { continue };
            let ours = drive.pose(joint).unwrap();
            let margin = margin(&ours);
            if margin < 0.1 {
                continue;
            }
            let there = branch.joint_turn(motion.motor).unwrap();
            let room = 1e-12 / (margin * margin);
            prop_assert!((there - joint).abs() < room, "{there} {joint}");
            let ratio = pose.transmission_ratio();
            prop_assert!((motion.ratio - ratio).abs() < 10.0 * room * ratio.abs().max(1.0));
            prop_assert!((ours.transmission_angle() - pose.transmission_angle()).abs() < room);
            let [p, q] = ours.ball_tilts();
            prop_assert!(p.unwrap() < 1e-12 && q.unwrap() < 1e-12);
        }
        let dead = drive.stops().into_iter().filter(|stop| stop.kind == StopKind::DeadPoint);
        let planar = dead_points(&bars);
        for stop in dead {
            let rocker = stop.joint + drive.zero_angles()[0];
            let off = |other: f64| libm::remainder(rocker - other, TAU).abs();
            prop_assert!(planar.iter().any(|point| off(point.rocker) < 1e-6), "{stop:?}");
        }
    }

    #[test]
    fn parallel_axes_are_a_planar_four_bar_with_the_effective_rod(
        (drawing, phi, assembly) in any_ball_rod(),
    ) {
        let parallel = BallRod { twist: 0.0, lean: 0.0, ..drawing };
        let effective = (drawing.coupler.powi(2) - drawing.axial.powi(2)).sqrt();
        let planar = BallRod { coupler: effective, axial: 0.0, ..parallel };
        let (Ok(drive), Ok(flat)) = (parallel.drive(phi, assembly), planar.drive(phi, assembly)) else {
            return Ok(());
        };
        if !is_clear(&drive) {
            return Ok(());
        }
        for joint in turns(&drive, 0.9) {
            let (ours, theirs) = (drive.pose(joint).unwrap(), flat.pose(joint).unwrap());
            if margin(&ours) < 0.1 {
                continue;
            }
            prop_assert!((ours.ratio - theirs.ratio).abs() < 1e-9 * ours.ratio.abs().max(1.0));
            let sine = theirs.transmission_angle().sin() * effective / drawing.coupler;
            prop_assert!((ours.transmission_angle().sin() - sine).abs() < 1e-11);
        }
    }

    #[test]
    fn figures_that_make_no_drive_earn_a_fault_and_no_panic(
        figures in prop::array::uniform9(prop::sample::select(ODD)), joint in prop::sample::select(ODD),
    ) {
        let [ground, crank, coupler, rocker, axial, twist, lean, x, y] = figures;
        let drawing = BallRod { ground, crank, coupler, rocker, axial, twist, lean };
        let points = BallRodPoints {
            motor: axis([x, y, ground], [axial, twist, lean]),
            joint: axis([y, x, crank], [lean, axial, twist]),
            crank: vector([coupler, x, y]),
            rocker: vector([y, rocker, x]),
            rod: Some(coupler),
        };
        let actuator = LinearActuator {
            motor: points.crank,
            joint: points.joint,
            rocker: points.rocker,
            line_offset: axial,
            lead: lean,
        };
        let slider = Slider {
            guide: points.crank,
            direction: points.motor.direction,
            coupler,
            joint: points.joint,
            rocker: points.rocker,
            lead: lean,
        };
        let _ = points.drawing();
        let _ = actuator.largest_arms();
        let drives = [
            drawing.drive(x, Assembly::Open),
            points.drive(),
            actuator.drive(Some([x, y])),
            slider.drive(y),
        ];
        for drive in drives.into_iter().flatten() {
            let told = drive.motion(joint).is_ok_and(|motion| motion.motor.is_nan());
            prop_assert!(!told, "no figure is no answer: {drive:?} {joint}");
            let _ = (drive.joint_turn(joint), drive.rods(Interval::new(joint, joint + 1.0)));
            let _ = (drive.stops(), drive.reach(), drive.motion(Interval::ENTIRE));
        }
    }

    #[test]
    fn the_largest_arm_of_an_actuator_falls_off_like_a_cosine(actuator in any_actuator()) {
        let Ok(arms) = actuator.largest_arms() else { return Ok(()) };
        let Ok(drive) = actuator.drive(None) else { return Ok(()) };
        let per_turn = actuator.lead / TAU;
        for best in arms {
            let slope = |joint: f64| {
                drive.geometry().at(libm::sincos(joint)).map(|pose| pose.slope * per_turn)
            };
            let Some(pose) = drive.geometry().at(libm::sincos(best.joint)) else { continue };
            prop_assert!((pose.ratio * per_turn - best.arm).abs() < 1e-10 * best.arm.abs());
            let h = 1e-4;
            let [Some(before), Some(after)] = [-h, h].map(|away| slope(best.joint + away)) else {
                continue;
            };
            let second = (after - before) / (2.0 * h);
            prop_assert!((second + best.arm).abs() < 1e-4 * best.arm.abs(), "{second} {best:?}");
            let half = 0.5 * longest_even_stroke(0.02);
            let [low, high] = [-half, half].map(|away| {
                let pose = drive.geometry().at(libm::sincos(best.joint + away));
                pose.map_or(0.0, |pose| pose.ratio * per_turn / best.arm)
            });
            // 0.98/1.02 of the largest at best: no stroke as long keeps within ±2 %.
            prop_assert!(low.min(high) < 0.98 / 1.02 + 2e-3);
        }
    }
}

#[test]
fn a_stroke_of_an_actuator_is_as_short_as_the_law_says() {
    for (share, degrees) in [(0.005, 16.18), (0.02, 32.20), (0.05, 50.42)] {
        assert!((longest_even_stroke(share).to_degrees() - degrees).abs() < 0.005);
    }
}

#[test]
fn the_measured_table_of_misaligned_knees_comes_out() {
    // twist deg, lean deg, axial, then ratio over crank 50…140 deg, angle error deg, largest ball tilt deg.
    let rows: [([f64; 3], [f64; 2], f64, f64); 7] = [
        ([1.0, 0.0, 0.0], [1.0000, 1.0000], 0.000, 0.15),
        ([4.5, 0.0, 0.0], [0.9997, 1.0004], 0.009, 0.67),
        ([0.0, 1.0, 0.0], [0.9996, 0.9999], 0.012, 1.1),
        ([0.0, 4.5, 0.0], [0.9913, 0.9970], 0.24, 5.0),
        ([0.0, 0.0, 15.0], [0.984, 1.009], 0.27, 2.9),
        ([4.5, 0.0, 15.0], [0.985, 1.009], 0.26, 3.5),
        ([0.0, 4.5, 15.0], [0.966, 0.998], 0.79, 7.9),
    ];
    for ([twist, lean, axial], ratios, angle, tilt) in rows {
        let drawing =
            BallRod { twist: twist.to_radians(), lean: lean.to_radians(), axial, ..knee() };
        let drive = drawing.drive(PI / 2.0, Assembly::Open).unwrap();
        let mut seen = (f64::INFINITY, 0.0_f64, 0.0_f64, 0.0_f64);
        for motor in unloop::numeric::evenly([-40.0, 50.0], 90).map(f64::to_radians) {
            let joint = drive.joint_turn(motor).unwrap();
            let pose = drive.pose(joint).unwrap();
            let tilts = pose.ball_tilts().map(Option::unwrap);
            seen.0 = seen.0.min(pose.ratio);
            seen.1 = seen.1.max(pose.ratio);
            seen.2 = seen.2.max((joint - motor).abs().to_degrees());
            seen.3 = seen.3.max(tilts[0].max(tilts[1]).to_degrees());
        }
        let digits = if axial > 0.0 { 6e-4 } else { 6e-5 };
        assert!((seen.0 - ratios[0]).abs() < digits, "{twist} {lean} {axial}: {seen:?}");
        assert!((seen.1 - ratios[1]).abs() < digits, "{twist} {lean} {axial}: {seen:?}");
        assert!((seen.2 - angle).abs() < 0.006, "{twist} {lean} {axial}: {seen:?}");
        assert!((seen.3 - tilt).abs() < 0.06, "{twist} {lean} {axial}: {seen:?}");
    }
}

#[test]
fn a_slider_as_long_and_as_far_aside_as_the_law_of_actuators_forbids_is_even() {
    // Rod 2 × lever, guide 1.5 × lever beside the axis: ±2 % over 79 deg, μ ≥ 51 deg, rod up to 41 deg to the guide.
    let worst = |zero: f64| {
        let slider = Slider {
            guide: Vector::new(0.0, 1.5, 0.0),
            direction: Vector::new(1.0, 0.0, 0.0),
            coupler: 2.0,
            joint: axis([0.0; 3], [0.0, 0.0, 1.0]),
            rocker: vector([libm::cos(zero), libm::sin(zero), 0.0]),
            lead: TAU,
        };
        let drive = slider.drive(-9.0).ok()?;
        let mut ratios = [f64::INFINITY, 0.0];
        let (mut mu, mut lean) = (f64::INFINITY, 0.0_f64);
        for joint in unloop::numeric::evenly([-39.5, 39.5], 200).map(f64::to_radians) {
            let pose = drive.pose(joint).ok()?;
            let size = pose.ratio.abs();
            ratios = [ratios[0].min(size), ratios[1].max(size)];
            mu = mu.min(pose.transmission_angle().to_degrees());
            lean = lean.max(90.0 - pose.crank_side()?.to_degrees());
        }
        Some(((ratios[1] - ratios[0]) / (ratios[1] + ratios[0]), mu, lean))
    };
    let tried = (0..720).filter_map(|k| worst(f64::from(k) * PI / 360.0));
    let tried = tried.filter(|found| found.0.is_finite());
    let best = tried.min_by(|p, q| p.0.total_cmp(&q.0)).unwrap();
    assert!(best.0 < 0.0205, "{best:?}");
    assert!((best.1 - 51.0).abs() < 1.5 && (best.2 - 41.0).abs() < 1.5, "{best:?}");
}

fn rod(drive: RodDrive) -> JointDrive {
    JointDrive::Rod(Box::new(drive))
}

#[test]
fn a_series_goes_there_and_back_and_stops_where_its_first_stage_does() {
    let skew = BallRod { twist: 0.3, axial: 12.0, rocker: 60.0, ..knee() };
    let first = skew.drive(1.5, Assembly::Open).unwrap();
    let second = LinearActuator::planar([300.0, 45.0, 10.0, 5.0], 2.0).drive(None).unwrap();
    let series = Series(vec![JointDrive::Ratio(FixedRatio(-3.0)), rod(first.clone()), rod(second)]);
    // An actuator's turn of many rad asks too much of a crank before it, beyond a short stroke.
    let [below, above] = series.reach().map(Option::unwrap);
    assert!(below.joint < 0.0 && above.joint > 0.0);
    for joint in unloop::numeric::evenly([0.97 * below.joint, 0.97 * above.joint], 20) {
        let motion = series.motion(joint).unwrap();
        assert!((series.joint_turn(motion.motor).unwrap() - joint).abs() < 1e-13);
        let h = 1e-7;
        let after = series.motion(joint + h).unwrap();
        let before = series.motion(joint - h).unwrap();
        let size = motion.slope.abs().max(1e3);
        assert!(((after.motor - before.motor) / (2.0 * h) - motion.ratio).abs() < 1e-3 * size);
        assert!(((after.ratio - before.ratio) / (2.0 * h) - motion.slope).abs() < 1e-3 * size);
        assert_eq!(series.rods(joint).unwrap().len(), 2);
        let range = Interval::new(joint, joint + 1e-6);
        let over = series.motion(Jet::<1>::variable(0, range)).unwrap();
        assert!(
            over.motor.value.contains(motion.motor) && over.motor.slopes[0].contains(motion.ratio)
        );
    }
    for stop in [below, above] {
        let near = series.rods(0.9999 * stop.joint).unwrap();
        let least = near.iter().map(margin).fold(f64::INFINITY, f64::min);
        assert!(least < 0.05, "{stop:?} {least}");
        assert!(series.motion(1.01 * stop.joint).is_err());
        let same = |told: &Stop| told.kind == stop.kind && (told.joint - stop.joint).abs() < 1e-9;
        assert!(series.stops().iter().any(same), "{stop:?} {:?}", series.stops());
    }
    let fault = series.motion(1.0).unwrap_err();
    assert!(matches!(fault, DriveFault::Stage(1, _)), "{fault}");
    let whole = Series::<JointDrive>::ratio_error(&[0.02, -0.01]);
    assert!((whole - (1.02 * 0.99 - 1.0)).abs() < 1e-15);
}

#[test]
fn a_four_bar_between_thigh_and_hip_keeps_power_with_its_motor_on_the_parent() {
    let drive = BallRod { rocker: 60.0, ..knee() }.drive(1.4, Assembly::Open).unwrap();
    let knee = Coaxial(drive);
    let (joints, rates, torques) = ([0.4, -0.3], [0.7, -1.2], [2.0, 3.0]);
    let back = knee.joint_turns(knee.motor_turns(joints).unwrap()).unwrap();
    assert!((back[0] - joints[0]).abs() + (back[1] - joints[1]).abs() < 1e-14);
    let [[a, b], [c, d]] = knee.matrix(joints[1]).unwrap();
    let motors = [a * rates[0] + b * rates[1], c * rates[0] + d * rates[1]];
    let loads = knee.joint_torques(joints[1], torques).unwrap();
    let power_in = motors[0] * torques[0] + motors[1] * torques[1];
    let power_out = rates[0] * loads[0] + rates[1] * loads[1];
    assert!((power_in - power_out).abs() < 1e-14);
}

#[test]
fn an_actuator_stops_at_its_own_ends_and_at_its_toggles() {
    let actuator = LinearActuator::planar([300.0, 45.0, 0.0, 5.0], 2.0);
    let free = actuator.drive(None).unwrap();
    let kinds = |drive: &RodDrive| drive.reach().map(|stop| stop.unwrap().kind);
    assert_eq!(kinds(&free), [StopKind::CrankLimit; 2]);
    let held = actuator.drive(Some([270.0, 310.0])).unwrap();
    assert_eq!(kinds(&held), [StopKind::Longest, StopKind::Shortest]);
    for stop in held.reach().into_iter().flatten() {
        let length = held.pose(stop.joint).unwrap().travel().unwrap();
        let end = if stop.kind == StopKind::Longest { 310.0 } else { 270.0 };
        assert!((length - end).abs() < 1e-11, "{length}");
        assert!(held.joint_turn(stop.motor * 1.01).is_err());
        assert!((held.joint_turn(stop.motor * 0.99).unwrap() - stop.joint).abs() < 0.05);
    }
    let outside = actuator.drive(Some([290.0, 310.0])).unwrap_err();
    assert_eq!(outside, DriveFault::ZeroPoseIsStop(StopKind::Shortest));
}

#[test]
fn a_double_crank_is_followed_over_several_turns_without_a_jump() {
    let drag = BallRod {
        ground: 30.0,
        crank: 90.0,
        coupler: 80.0,
        rocker: 85.0,
        axial: 10.0,
        twist: 0.2,
        lean: 0.1,
    };
    let drive = drag.drive(1.0, Assembly::Open).unwrap();
    assert_eq!(drive.reach(), [None; 2]);
    let turns: Vec<f64> = unloop::numeric::evenly([-15.0, 15.0], 2000).collect();
    let motors: Vec<f64> = turns.iter().map(|joint| drive.motor_turn(*joint).unwrap()).collect();
    assert!(motors.windows(2).all(|pair| pair[1] > pair[0] && pair[1] - pair[0] < 0.1));
    for (joint, motor) in turns.iter().zip(&motors) {
        assert!((drive.joint_turn(*motor).unwrap() - joint).abs() < 1e-13);
    }
    // A whole turn of the joint is a whole turn of the motor.
    let around = drive.motor_turn(3.0 + TAU).unwrap() - drive.motor_turn(3.0).unwrap();
    assert!((around - TAU).abs() < 1e-13);
}

#[test]
fn a_parallelogram_goes_to_its_change_points_and_no_further() {
    let drive = knee().drive(PI / 2.0, Assembly::Open).unwrap();
    let [below, above] = drive.reach().map(|stop| stop.unwrap().joint);
    assert!((below + PI / 2.0).abs() < 1e-6 && (above - PI / 2.0).abs() < 1e-6, "{below} {above}");
    for joint in unloop::numeric::evenly([-1.5, 1.5], 30) {
        let motion = drive.motion(joint).unwrap();
        assert!((motion.motor - joint).abs() < 1e-12 && (motion.ratio - 1.0).abs() < 1e-11);
    }
    assert!(drive.motion(1.6).is_err() && drive.joint_turn(1.6).is_err());
}

#[test]
fn what_cannot_be_drawn_is_a_fault_that_tells_what_is_wrong() {
    for lean in [PI / 2.0, 2.0] {
        let along = BallRod { lean, ..knee() }.drive(1.0, Assembly::Open);
        assert!(matches!(along, Err(DriveFault::Undetermined(_))), "{lean}");
    }
    let points = BallRodPoints {
        motor: axis([0.0; 3], [0.0, 0.0, 1.0]),
        joint: axis([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]),
        crank: vector([0.0, 0.0, 0.3]),
        rocker: vector([1.0, 0.2, 0.0]),
        rod: None,
    };
    assert!(matches!(points.drive(), Err(DriveFault::Undetermined(_))));
    let short = BallRod { coupler: 100.0, ..knee() };
    let fault = short.drive(PI / 2.0, Assembly::Open).unwrap_err();
    let DriveFault::CannotReach { missing, .. } = fault else { panic!("{fault}") };
    let far = libm::hypot(300.0, 45.0) - 45.0;
    assert!((missing - (far - 100.0)).abs() < 1e-9, "{fault}");
    let flat = knee().drive(0.0, Assembly::Open);
    assert!(matches!(flat, Err(DriveFault::ZeroPoseIsStop(_) | DriveFault::CannotReach { .. })));
}
