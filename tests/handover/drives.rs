//! Drives of other kinds than a planar four-bar in robot files: what is emitted moves as the drive does.

use serde_json::{Value, json};
use unloop::design::*;
use unloop::drive::{
    Assembly, Axis, BallRod, BallRodPoints, Drawing, Kind, LinearActuator, OneJoint, Slider, Vector,
};
use unloop::dynamics::{Coupling, JointStroke, drive_mass_matrix};
use unloop::handover::compare::{Answer, compare};
use unloop::handover::find::{FindOptions, FoundLoop, LoopDrive, findings};
use unloop::handover::fold::{FoldOptions, fold};
use unloop::handover::{Ask, Emission, EmitFault, EngineVersion, Form, Format, emit_drawn};
use unloop::numeric::evenly;
use unloop::robot::{Inertial, JointKind, Robot};
use unloop::study::{Check, Driven, PlacedParts, check_on};

use super::fold::PLAIN as AS_FOUND;
use crate::{scenario, venv};

fn deg(x: f64) -> f64 {
    x.to_radians()
}

/// How a drive stands on its robot.
#[derive(Clone, Copy)]
struct Side {
    mirrored: bool,
    motor_sign: f64,
    motor_reads: f64,
    joint_reads: f64,
}

const PLAIN: Side = Side { mirrored: false, motor_sign: 1.0, motor_reads: 0.0, joint_reads: 0.0 };
const TURNED: Side = Side { mirrored: true, motor_sign: -1.0, motor_reads: 0.4, joint_reads: -0.3 };

struct Case {
    design: Design<Drawn>,
    driven: Driven,
    check: Check,
}

/// Travel per turn of a drive's screw, m.
fn lead(drawing: &Drawing) -> Option<f64> {
    drawing.sizes().iter().find(|size| size.name == "lead").map(|size| size.value)
}

/// A screw of which nothing else is told.
fn screw(lead: f64) -> ScrewFigures {
    ScrewFigures { lead, efficiency: None, mean_diameter: None, is_twist_guided: false }
}

const AS_DRAWN: [[f64; 3]; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A drive in its own drawing, or in the carrier's frame, on a robot whose joint axis is `axis` through `origin`.
fn case(drawing: Drawing, side: Side, [axis, origin]: [[f64; 3]; 2], in_carrier: bool) -> Case {
    let four_bar = scenario::pitch();
    let Design {
        source,
        name,
        motor_on,
        set_by,
        direct_joint,
        accept,
        actuator,
        mass,
        rod,
        pins,
        ..
    } = four_bar.design;
    let robot = RobotJoint {
        axis,
        origin,
        mirrored: side.mirrored,
        motor_sign: side.motor_sign,
        ..four_bar.design.robots[0].clone()
    };
    let body = mass.child.clone();
    let all = Masses {
        crank: body.clone(),
        coupler: body.clone(),
        housing: body.clone(),
        nut: body,
        ..mass
    };
    let design = Design {
        source,
        name,
        axis_points: AxisPoints::Toward,
        geometry: Drawn {
            drawn: vec![DrawnSize::default(); drawing.sizes().len()],
            screw: lead(&drawing).map(screw),
            drawing,
            stages: Vec::new(),
            drawing_frame: AS_DRAWN,
            is_in_carrier_frame: in_carrier,
        },
        motor_on,
        motor_reads: side.motor_reads,
        joint_reads: side.joint_reads,
        set_by,
        stroke: Stroke { by: StrokeBy::Joint, low: deg(-30.0), high: deg(25.0) },
        direct_joint,
        accept,
        actuator,
        mass: all,
        rod,
        pins,
        together: Vec::new(),
        motion: None,
        finger: None,
        front: None,
        robots: vec![robot],
        places: Places::default(),
    };
    checked(design, four_bar.check)
}

/// With the stroke, the constants and the ratio of its own drive in the findings `like`.
fn checked(design: Design<Drawn>, like: Check) -> Case {
    let driven = Driven::of(&design).unwrap();
    let ratio = |turn: f64| driven.drive.motion(turn).unwrap().ratio.abs();
    let all: Vec<f64> = evenly(driven.joint_turns(), 200).map(ratio).collect();
    let most = |f: fn(f64, f64) -> f64| all.iter().copied().reduce(f).unwrap();
    let check = Check {
        stroke: driven.stroke,
        direct_joint: driven.direct_joint(),
        ratio_magnitude: [most(f64::min), most(f64::max)],
        inertia: None,
        ..like
    };
    Case { design, driven, check }
}

impl Case {
    fn stroke(&self) -> JointStroke<'_> {
        JointStroke::over(&self.driven.drive, self.driven.joint_turns()).unwrap()
    }

    fn emit(&self, ask: &Ask) -> Result<Emission, Vec<EmitFault>> {
        emit_drawn(&self.design, &self.driven, &self.check, ask)
    }

    fn sense(&self) -> f64 {
        if self.design.robots[0].mirrored { -1.0 } else { 1.0 }
    }

    fn turns(&self) -> Vec<f64> {
        evenly(self.driven.joint_turns(), 8).collect()
    }

    /// What the engine is asked.
    fn asked(&self, form: Form) -> Value {
        let ask = Ask { whole: true, ..Ask::new(form, Format::Mjcf) };
        let file = self.emit(&ask).unwrap_or_else(|faults| panic!("{faults:?}")).file;
        let reads: Vec<f64> =
            self.turns().iter().map(|turn| self.design.joint_reads + self.sense() * turn).collect();
        json!({"xml": file, "joint": self.design.robots[0].joint, "reads": reads})
    }

    /// What the motor must read, and its rate.
    fn ours(&self) -> Vec<[f64; 2]> {
        let sign = self.design.robots[0].motor_sign;
        let pose = |turn: f64| {
            let motion = self.driven.drive.motion(turn).unwrap();
            [self.design.motor_reads + sign * self.sense() * motion.motor, sign * motion.ratio]
        };
        self.turns().into_iter().map(pose).collect()
    }
}

const DOWN: [[f64; 3]; 2] = [[0.0, 1.0, 0.0], [0.0, 0.0, -0.3]];

fn actuator() -> Drawing {
    Drawing::PlanarActuator {
        ground: 0.3,
        rocker: 0.045,
        line_offset: 0.0,
        lead: 0.005,
        zero_rocker: deg(98.0),
        lengths: None,
    }
}

fn slider(nut: f64) -> Drawing {
    Drawing::PlanarSlider {
        ground: 0.3,
        coupler: 0.12,
        rocker: 0.06,
        guide: [0.02, 0.07],
        direction: deg(4.0),
        lead: -0.01,
        zero_rocker: deg(100.0),
        nut,
    }
}

fn rod_in_space() -> Drawing {
    Drawing::BallRod {
        sizes: BallRod {
            ground: 0.3,
            crank: 0.045,
            coupler: 0.303,
            rocker: 0.05,
            axial: 0.012,
            twist: deg(4.5),
            lean: deg(-3.0),
        },
        zero_crank: deg(85.0),
        assembly: Assembly::Open,
    }
}

/// The joint axis of [`rod_in_space`] in the frame that has the motor in its origin, x forward along the ground line.
fn in_space() -> [[f64; 3]; 2] {
    let (rho, lean) = (deg(4.5), deg(-3.0));
    let axis = [lean.sin(), -rho.sin() * lean.cos(), rho.cos() * lean.cos()];
    [axis, [0.3, 0.0, 0.012]]
}

fn points_axis() -> Axis {
    let axis = Vector::new(0.0784591, 0.9969173, 0.0).unit().unwrap();
    Axis { point: Vector::new(0.0, 0.0, -0.3), direction: axis }
}

fn actuator_in_space() -> Drawing {
    Drawing::ActuatorPoints {
        points: LinearActuator {
            motor: Vector::new(0.03, 0.02, 0.0),
            joint: points_axis(),
            rocker: Vector::new(-0.06, 0.01, -0.29),
            line_offset: 0.0,
            lead: 0.004,
        },
        lengths: None,
    }
}

fn slider_in_space() -> Drawing {
    Drawing::SliderPoints {
        points: Slider {
            guide: Vector::new(-0.07, 0.02, -0.05),
            direction: Vector::new(0.05, 0.0, -1.0),
            coupler: 0.12,
            joint: points_axis(),
            rocker: Vector::new(-0.06, 0.01, -0.29),
            lead: 0.01,
        },
        nut: 0.1,
    }
}

fn rod_points() -> Drawing {
    Drawing::BallRodPoints(BallRodPoints {
        motor: Axis { point: Vector::new(0.0, 0.0, 0.0), direction: Vector::new(0.0, 1.0, 0.0) },
        joint: points_axis(),
        crank: Vector::new(0.045, 0.012, 0.0),
        rocker: Vector::new(0.0458, 0.00843, -0.3),
        rod: None,
    })
}

/// Joint axis and origin of the drives by points, on their own side and mirrored across y.
fn on_side(side: Side) -> [[f64; 3]; 2] {
    let axis = points_axis().direction;
    let y = if side.mirrored { -axis.y } else { axis.y };
    [[axis.x, y, axis.z], [0.0, 0.0, -0.3]]
}

/// Every drive with a motor of its own in the file, on both sides.
fn cases(form: Form) -> Vec<Case> {
    let mut all = Vec::new();
    for side in [PLAIN, TURNED] {
        all.push(case(actuator(), side, DOWN, false));
        all.push(case(slider(0.15), side, DOWN, false));
        all.push(case(slider(0.4), side, DOWN, false));
        for drawing in [actuator_in_space(), slider_in_space()] {
            all.push(case(drawing, side, on_side(side), true));
        }
        if form == Form::Loop {
            all.push(case(rod_points(), side, on_side(side), true));
        }
    }
    if form == Form::Loop {
        all.push(case(rod_in_space(), Side { mirrored: false, ..TURNED }, in_space(), false));
    }
    all
}

/// Push-rods whose crank is tied to the joint by a polynomial.
fn tied_cranks() -> Vec<Case> {
    let space = case(rod_in_space(), Side { mirrored: false, ..TURNED }, in_space(), false);
    let points = [PLAIN, TURNED].map(|side| case(rod_points(), side, on_side(side), true));
    [space].into_iter().chain(points).collect()
}

/// Largest errors of reading, rate (as a share), and of the loop left open.
fn off(form: Form) -> [f64; 3] {
    let cases = cases(form);
    let worst = engines_errors(form, &cases)
        .into_iter()
        .fold([0.0_f64; 3], |worst, one| std::array::from_fn(|at| worst[at].max(one[at])));
    println!("{form:?}: reading {:e} rad, rate {:e}, open {:e} m", worst[0], worst[1], worst[2]);
    worst
}

/// The same of each case.
fn engines_errors(form: Form, cases: &[Case]) -> Vec<[f64; 3]> {
    let asked: Vec<Value> = cases.iter().map(|case| case.asked(form)).collect();
    let run = venv::script("emitted_drives.py", &json!(asked).to_string());
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let engine: Value = serde_json::from_slice(&run.stdout).unwrap();
    let mut all = Vec::new();
    for (k, case) in cases.iter().enumerate() {
        let mut worst = [0.0_f64; 3];
        for (pose, [motor, rate]) in case.ours().into_iter().enumerate() {
            let theirs = |key: &str| engine[k][pose][key].as_f64().unwrap();
            let errors = [
                (theirs("motor") - motor).abs(),
                (theirs("rate") / rate - 1.0).abs(),
                theirs("left"),
            ];
            worst = std::array::from_fn(|at| worst[at].max(errors[at]));
        }
        all.push(worst);
    }
    all
}

#[test]
fn a_crank_in_space_that_a_polynomial_ties_is_off_the_rod_by_no_more_than_its_file_says() {
    let cases = tied_cranks();
    for (case, [reading, rate, left]) in cases.iter().zip(engines_errors(Form::Coupled, &cases)) {
        let fitted = Coupling::over(&case.stroke()).unwrap();
        let said = [fitted.angle_error.value, fitted.ratio_error.value];
        assert!(said[0] > 1e-9 && said[1] > 1e-8, "{said:?}");
        assert!(reading < 1.0001 * said[0] && rate < 1.0001 * said[1], "{reading} {rate} {said:?}");
        // Of nine poses one is near the worst.
        assert!(reading > 0.2 * said[0] && left < 1e-12, "{reading} {said:?} {left}");
    }
}

/// What the engine has of a model with the motor's side kept, and the drive's own inertia at the joint.
fn inertias(name: &str) -> (Vec<[f64; 2]>, f64) {
    let path = format!("{}/models/drives/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap();
    let (design, _) = unloop::design::parse_any(&path, &text).unwrap();
    let AnyDesign::OneJoint(mut design) = design else { panic!("{name}") };
    // The engine's reading of the motor is the target less what the gains ask.
    let motor = design.actuator.as_mut().unwrap();
    motor.position_gain = Some(100.0);
    let driven = Driven::of(&design).unwrap();
    let check = check_on(&design, &driven).unwrap();
    let case = Case { design: *design, driven, check };
    let file = whole(&case, Form::Coupled, Format::Mjcf);
    let said = file.split("Inertia error ").nth(1).unwrap().split(' ').next().unwrap();
    let run = venv::script("emitted_drives.py", &json!([case.asked(Form::Coupled)]).to_string());
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let engine: Value = serde_json::from_slice(&run.stdout).unwrap();
    let parts = PlacedParts::of(&case.design, &case.driven).unwrap();
    let parts = &parts.drives[0].1.masses;
    let pair = |(k, turn): (usize, f64)| {
        let own = drive_mass_matrix(&case.stroke(), parts, turn).unwrap()[(6, 6)];
        [engine[0][k]["inertia"].as_f64().unwrap(), own]
    };
    (case.turns().into_iter().enumerate().map(pair).collect(), 0.01 * said.parse::<f64>().unwrap())
}

#[test]
fn housing_nut_and_rod_are_not_lost_where_the_motors_side_stays_in_the_file() {
    for name in ["linear_actuator", "slider", "ball_rod_knee"] {
        let (inertias, said) = inertias(name);
        let off = |[engine, own]: [f64; 2]| (engine / own - 1.0).abs();
        let worst = inertias.iter().copied().map(off).fold(0.0, f64::max);
        println!("{name}: {:.3} % at the joint, said {:.3} %", 100.0 * worst, 100.0 * said);
        assert!(worst <= said + 5e-5, "{name}: {worst} {said} {inertias:?}");
    }
}

#[test]
fn an_actuator_or_a_nut_coupled_in_the_engines_own_way_reads_and_turns_as_the_drive_does() {
    let [reading, rate, _] = off(Form::Coupled);
    // Motor readings run to some 60 rad.
    assert!(reading < 1e-10 && rate < 1e-12, "{reading:e} rad, {rate:e}");
}

#[test]
fn a_loop_of_any_kind_closes_in_the_engine_and_reads_and_turns_as_the_drive_does() {
    let [reading, rate, left] = off(Form::Loop);
    assert!(left < 1e-12 && reading < 1e-8 && rate < 1e-9, "{reading:e} rad, {rate:e}, {left:e} m");
}

/// The figures of `motor reading = B + A * that joint's reading`, as the file's comment has them: A and B.
fn said_of_the_motor(file: &str) -> [f64; 2] {
    let words: Vec<&str> = file.split_whitespace().collect();
    let joined = words.join(" ");
    let formula = joined.split("this one: motor reading = ").nth(1).unwrap();
    let formula = formula.split(" * that joint's reading").next().unwrap();
    let (shift, gear) = formula.split_once(" + ").unwrap_or(("0", formula));
    [gear, shift].map(|figure| figure.parse().unwrap())
}

/// What Drake makes of closed loops in SDFormat.
pub(super) fn loops_in_sdformat(asked: Vec<Value>) -> Value {
    let run = venv::script("emitted_loops_sdf.py", &Value::from(asked).to_string());
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let printed = String::from_utf8(run.stdout).unwrap();
    serde_json::from_str(printed.lines().last().unwrap()).unwrap()
}

#[test]
fn a_loop_in_sdformat_closes_in_another_engine_and_moves_its_motor_as_its_comment_says() {
    let cases = cases(Form::Loop);
    let files: Vec<String> =
        cases.iter().map(|case| whole(case, Form::Loop, Format::Sdformat)).collect();
    let asked = cases.iter().zip(&files).map(|(case, file)| {
        let joint = &case.design.robots[0].joint;
        let reads = |turn: f64| [case.design.joint_reads + case.sense() * turn];
        json!({"sdf": file, "joints": [joint], "motors": [motors_joint(case)],
            "closing": [format!("{joint}_rocker_pin")],
            "poses": case.turns().into_iter().map(reads).collect::<Vec<_>>()})
    });
    let engine = loops_in_sdformat(asked.collect());
    for (k, (case, file)) in cases.iter().zip(&files).enumerate() {
        let engine = &engine[k];
        let [gear, shift] = said_of_the_motor(file);
        let ours = case.ours();
        for (pose, [motor, rate]) in ours.iter().enumerate() {
            let pose = &engine["poses"][pose];
            assert!(pose["left"].as_f64().unwrap() < 1e-12, "{k}: {pose}");
            let reading = shift + gear * pose["motors"][0].as_f64().unwrap();
            assert!((reading - motor).abs() < 1e-8, "{k}: {reading} for {motor}");
            let theirs = gear * pose["rates"][0][0].as_f64().unwrap();
            assert!((theirs / rate - 1.0).abs() < 1e-8, "{k}: {rate} {engine}");
        }
        // The ends of the stroke at the motor's own joint, and its peak torque there.
        let all = ours.iter().map(|[motor, _]| (motor - shift) / gear);
        let [low, high] =
            all.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], x| [a.min(x), b.max(x)]);
        let figure = |key: &str, at: usize| engine[key][0][at].as_f64().unwrap();
        assert!((figure("limits", 0) - low).abs() < 1e-9, "{k}: {low} {engine}");
        assert!((figure("limits", 1) - high).abs() < 1e-9, "{k}: {high} {engine}");
        let peak = case.design.actuator.as_ref().unwrap().peak_torque.unwrap() * gear.abs();
        let effort = engine["effort"][0].as_f64().unwrap();
        assert!((effort / peak - 1.0).abs() < 1e-12, "{k}: {peak} {engine}");
        // Where the lever's pin is in the child does not depend on the format, nor on the pose that it draws.
        let mjcf = read(&whole(case, Form::Loop, Format::Mjcf));
        let child = &mjcf.links[mjcf.link_named(&case.design.robots[0].child).unwrap()];
        let site = child.sites.iter().find(|site| site.name.ends_with("_on_child")).unwrap();
        let at = child.pose.inverse_transform_point(&site.at);
        for (axis, own) in at.iter().enumerate() {
            assert!((figure("feet", axis) - own).abs() < 1e-12, "{k}: {at} {engine}");
        }
        let weighs = |link: &unloop::robot::FileLink| link.inertial.map_or(0.0, |own| own.mass);
        let mass: f64 = mjcf.links.iter().map(weighs).sum();
        assert!((engine["mass"].as_f64().unwrap() - mass).abs() < 1e-12, "{k}: {mass}");
    }
}

#[test]
fn what_no_file_holds_is_refused_by_name() {
    let says = |drawing: Drawing, ask: &Ask| {
        let faults = case(drawing, PLAIN, in_space(), false).emit(ask).unwrap_err();
        faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
    };
    let mjcf = Ask::new(Form::Coupled, Format::Mjcf);
    let mut beside = actuator();
    if let Drawing::PlanarActuator { line_offset, .. } = &mut beside {
        *line_offset = 0.01;
    }
    assert!(says(beside.clone(), &mjcf).contains("beside the carrier's pin"));
    let urdf = Ask::new(Form::Loop, Format::Urdf);
    assert!(says(rod_in_space(), &urdf).contains("no closed loop"));
    for format in [Format::Urdf, Format::Sdformat] {
        let coupled = says(rod_in_space(), &Ask::new(Form::Coupled, format));
        assert!(coupled.contains("couples a motor to a joint by a curve"), "{coupled}");
    }
    for format in [Format::Mjcf, Format::Sdformat] {
        let ask = Ask::new(Form::Loop, format);
        assert!(says(beside.clone(), &ask).contains("beside the carrier's pin"));
        let chain = Drawing::Series(vec![rod_in_space(), rod_in_space()]);
        assert!(says(chain, &ask).contains("a chain of drives"));
    }
    let old = Ask { engine: Some(EngineVersion::new(3, 3, 0)), ..mjcf };
    let faults = case(actuator(), PLAIN, DOWN, false).emit(&old).unwrap_err();
    assert_eq!(faults, [EmitFault::NoMotorInertia { needs: EngineVersion::TENDON_ARMATURE }]);
}

fn read(text: &str) -> Robot {
    let none = &mut |_: &str| Err("there are no other files".to_owned());
    unloop::robot::read("robot", text.as_bytes().to_vec(), none).unwrap_or_else(|r| panic!("{r}"))
}

fn whole(case: &Case, form: Form, format: Format) -> String {
    let ask = Ask { whole: true, ..Ask::new(form, format) };
    case.emit(&ask).unwrap_or_else(|faults| panic!("{faults:?}")).file
}

/// The joint that the motor moves in a closed loop.
fn motors_joint(case: &Case) -> String {
    let has_crank = matches!(case.design.geometry.drawing.kind(), Kind::BallRod);
    let part = if has_crank { "crank" } else { "nut" };
    format!("{}_{part}", case.design.robots[0].joint)
}

/// The one loop of an emitted file, its motor told where the format cannot say it.
fn only_loop(case: &Case, format: Format) -> (Robot, FoundLoop) {
    let robot = read(&whole(case, Form::Loop, format));
    let told = [motors_joint(case)];
    let motors: &[String] = if format.holds_actuators() { &[] } else { &told };
    let options = FindOptions { motors, ..FindOptions::new(Preset::Training) };
    let [one] = <[_; 1]>::try_from(findings(&robot, options).loops).unwrap();
    (robot, one)
}

/// What `find` says of the drive of an emitted file, with its design.
fn found(case: &Case, form: Form, format: Format) -> (LoopDrive, String) {
    if form == Form::Coupled {
        let robot = read(&whole(case, form, format));
        let found = findings(&robot, FindOptions::new(Preset::Training));
        let [one] = <[_; 1]>::try_from(found.point_drives).unwrap();
        return (one.drive, one.text);
    }
    let (_, one) = only_loop(case, format);
    let why = format!("{:?}", one.obstacles);
    let text = one.design_text().expect(&why).to_owned();
    (one.drive.expect(&why), text)
}

/// Everything that a file may keep of the motor's side, in every format that holds it.
const KEPT: [(Form, Format); 3] =
    [(Form::Coupled, Format::Mjcf), (Form::Loop, Format::Mjcf), (Form::Loop, Format::Sdformat)];

#[test]
fn find_names_an_emitted_drive_by_kind_and_ratio_and_its_design_moves_alike() {
    for (form, format) in KEPT {
        for case in cases(form) {
            let (drive, text) = found(&case, form, format);
            assert_eq!(drive.drawing.kind(), case.design.geometry.drawing.kind(), "{text}");
            let (design, _) = unloop::design::parse_any("found.toml", &text)
                .unwrap_or_else(|rejected| panic!("{rejected}\n{text}"));
            let AnyDesign::OneJoint(design) = design else { panic!("{text}") };
            let again = Driven::of(&design).unwrap_or_else(|f| panic!("{f:?}\n{text}"));
            // A screw is no part of an SDFormat file: there the lead is find's own.
            let travel = |drawing: &Drawing| lead(drawing).map_or(1.0, f64::abs);
            let scale = travel(&case.design.geometry.drawing) / travel(&drive.drawing);
            assert!(format == Format::Sdformat || (scale - 1.0).abs() < 1e-12, "{scale}");
            let sign = case.design.robots[0].motor_sign;
            for turn in case.turns() {
                let ours = sign * case.driven.drive.motion(turn).unwrap().ratio * scale;
                // Of the file both count along the joint's own reading, from the pose that it draws.
                let reading = case.design.joint_reads + case.sense() * turn;
                let theirs = again.drive.motion(reading - drive.drawn_at[1]).unwrap().ratio;
                let theirs = drive.motor_sign * theirs;
                // A slide of SDFormat has no sense but its own reading's.
                let off = match format {
                    Format::Sdformat if lead(&drive.drawing).is_some() => {
                        theirs.abs() / ours.abs() - 1.0
                    }
                    _ => theirs / ours - 1.0,
                };
                assert!(off.abs() < 1e-8, "{form:?} {format:?} {ours} {theirs}\n{text}");
            }
        }
    }
}

/// A part of a drive weighs little beside what it turns.
fn lighten(body: &mut BodyMass) {
    body.mass *= 0.02;
    body.inertia = match body.inertia {
        BodyInertia::AboutAxis(own) => BodyInertia::AboutAxis(0.02 * own),
        BodyInertia::Tensor(own) => BodyInertia::Tensor(own.map(|x| 0.02 * x)),
    };
}

#[test]
fn a_loop_in_sdformat_has_the_lengths_the_verdict_and_the_folded_joint_of_the_same_in_mjcf() {
    for mut case in cases(Form::Loop) {
        // What the rotor weighs SDFormat cannot say.
        case.design.actuator.as_mut().unwrap().rotor_inertia = None;
        let masses = &mut case.design.mass;
        let parts = [&mut masses.crank, &mut masses.coupler, &mut masses.housing, &mut masses.nut];
        parts.into_iter().flatten().for_each(lighten);
        // Both are drawn in one pose.
        case.design.joint_reads = 0.0;
        let case = checked(case.design, case.check);
        let [own, other] = [Format::Sdformat, Format::Mjcf].map(|format| only_loop(&case, format));
        let drives = [&own.1, &other.1].map(|one| one.drive.clone().unwrap());
        for (a, b) in drives[0].figures().iter().zip(drives[1].figures()) {
            assert!(a.0 == b.0 && (a.0 == "lead_m" || (a.1 - b.1).abs() < 1e-9), "{a:?} {b:?}");
        }
        let checks = [&own.1, &other.1].map(|one| one.check().unwrap().clone());
        assert_eq!(
            checks[0].verdict, checks[1].verdict,
            "{}\n{}",
            checks[0].reason, checks[1].reason
        );
        let errors = checks
            .each_ref()
            .map(|check| [check.angle_error.value, check.transmission_angle.unwrap().value]);
        for (a, b) in errors[0].iter().zip(errors[1]) {
            assert!((a - b).abs() < 1e-7 * b.abs().max(1.0), "{errors:?}");
        }
        let folded = [&own, &other].map(|(robot, one)| {
            let options = FoldOptions { anyway: true, ..AS_FOUND };
            read(&fold(robot, one, options).unwrap_or_else(|f| panic!("{f:#?}")).text)
        });
        let robot = &case.design.robots[0];
        for name in [&robot.parent, &robot.child] {
            let of = |robot: &Robot| robot.links[robot.link_named(name).unwrap()].inertial.unwrap();
            let (own, other) = (of(&folded[0]), of(&folded[1]));
            let figures =
                |of: &Inertial| [vec![of.mass], of.center.to_vec(), of.tensor.to_vec()].concat();
            for (a, b) in figures(&own).into_iter().zip(figures(&other)) {
                assert!((a - b).abs() < 1e-8, "{name}: {own:?} {other:?}");
            }
        }
        let joints =
            folded.each_ref().map(|file| &file.joints[file.joint_named(&robot.joint).unwrap()]);
        assert_eq!(folded[0].joints.iter().filter(|j| j.kind != JointKind::Fixed).count(), 1);
        for (a, b) in joints[0].limit.unwrap().into_iter().zip(joints[1].limit.unwrap()) {
            assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
        assert!(joints[0].effort.is_some() && joints[0].velocity.is_some());
    }
}

#[test]
fn what_is_emitted_of_any_drive_is_in_step_with_its_design() {
    for form in [Form::Direct, Form::Coupled, Form::Loop] {
        let formats: &[Format] = match form {
            Form::Direct => &Format::ALL,
            Form::Coupled => &[Format::Mjcf],
            Form::Loop => &[Format::Mjcf, Format::Sdformat],
        };
        let tied = if form == Form::Coupled { tied_cranks() } else { Vec::new() };
        let cases: Vec<Case> = cases(form).into_iter().chain(tied).collect();
        for (case, format) in cases.iter().flat_map(|c| formats.iter().map(move |f| (c, f))) {
            let robot = read(&whole(case, form, *format));
            let Case { design, driven, check } = case;
            let compared = compare(design, driven, check, &[robot], None).unwrap();
            let off: Vec<_> = compared.joints().flat_map(|joint| joint.differences()).collect();
            assert_eq!(compared.answer(), Answer::InStep, "{form:?} {format:?}: {off:?}");
            assert_eq!(compared.files[0].joints[0].form, Some(form));
        }
    }
}

#[test]
fn a_file_whose_actuator_hangs_elsewhere_is_not_in_step() {
    let drawn = case(actuator(), PLAIN, DOWN, false);
    let elsewhere = [
        |rocker: &mut f64, _: &mut f64| *rocker *= 1.02,
        |_: &mut f64, zero: &mut f64| *zero *= -1.0,
    ];
    for (change, (form, format)) in elsewhere.iter().flat_map(|c| KEPT.map(|kept| (c, kept))) {
        let mut moved = actuator();
        if let Drawing::PlanarActuator { rocker, zero_rocker, .. } = &mut moved {
            change(rocker, zero_rocker);
        }
        let robot = read(&whole(&case(moved, PLAIN, DOWN, false), form, format));
        let compared = compare(&drawn.design, &drawn.driven, &drawn.check, &[robot], None).unwrap();
        assert_eq!(compared.answer(), Answer::Differs, "{form:?} {format:?}");
        let ratio =
            compared.joints().flat_map(|one| one.differences()).find(|row| row.quantity == "ratio");
        assert!(ratio.is_some(), "{form:?} {format:?}");
    }
}

#[test]
fn a_motor_on_the_parent_turns_both_joints_by_its_row_of_the_matrix() {
    let mut hung = case(Drawing::FixedRatio(unloop::drive::FixedRatio(-1.5)), TURNED, DOWN, false);
    hung.design.motor_on = MotorOn::Parent;
    hung.design.robots[0].parent_joint = Some(ParentJoint {
        joint: "left_hip".into(),
        motor_link: "pelvis".into(),
        reads: 0.2,
        sign: -1.0,
    });
    let emission = hung.emit(&Ask::new(Form::Direct, Format::Mjcf)).unwrap();
    let robot = &hung.design.robots[0];
    // motor_sign -1: the hip by (-1)(-1), the knee by (-1)(-1.5)
    for (joint, coefficient) in [("left_hip", "1"), (robot.joint.as_str(), "1.5")] {
        let line = format!("<joint joint=\"{joint}\" coef=\"{coefficient}\"/>");
        assert!(emission.file.contains(&line), "{}", emission.file);
    }
    let whole = Ask { whole: true, ..Ask::new(Form::Direct, Format::Mjcf) };
    let why = hung.emit(&whole).unwrap_err().iter().map(ToString::to_string).collect::<String>();
    assert!(why.contains("motor_on"), "{why}");
    let urdf = hung.emit(&Ask::new(Form::Direct, Format::Urdf)).unwrap();
    assert!(urdf.joints[0].assumptions.iter().any(|line| line.contains("left_hip")));
}

/// The biped of the package `example-robot-data` 6.0.0: between thigh and heel a rod leans against parallel axes.
#[test]
fn a_bipeds_knee_whose_rod_is_tilted_has_the_sizes_that_its_file_gives_by_plain_geometry() {
    let file = venv::package_file("cassie_v2.sdf");
    let robot = read(&std::fs::read_to_string(&file).unwrap());
    let motors = ["left-knee-op", "right-knee-op"].map(str::to_owned);
    let options = FindOptions { motors: &motors, ..FindOptions::new(Preset::Training) };
    let loops = findings(&robot, options).loops;
    for side in ["left", "right"] {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/scripts/tilted_knee.py");
        let python = venv::ready().join("bin/python");
        let mut command = std::process::Command::new(python);
        let run = command.arg(script).arg(&file).arg(side).output().unwrap();
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let theirs: Value = serde_json::from_slice(&run.stdout).unwrap();
        let name = format!("{side}-achilles-spring-joint");
        let one = loops.iter().find(|one| one.name == name).unwrap();
        let drive = one.drive.as_ref().unwrap_or_else(|| panic!("{:?}", one.obstacles));
        assert_eq!(drive.joints, [format!("{side}-knee-op"), format!("{side}-shin-tarsus-joint")]);
        for (key, ours) in drive.figures() {
            // Turned by half a turn about its own plane the drawing has the other side of the axis.
            let off = (ours.abs() - theirs[key].as_f64().unwrap().abs()).abs();
            assert!(off < 1e-9, "{side} {key}: {ours} against {}", theirs[key]);
        }
        let text = one.design_text().unwrap();
        unloop::design::parse_any("knee.toml", text).unwrap_or_else(|f| panic!("{f}\n{text}"));
    }
}
