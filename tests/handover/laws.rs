//! Laws that hold between find, emit, fold, compare and the JSON beside a file, over the designs and robot files of
//! `models/` and over random ones: mirrored and reversed drives, uneven ranges of force, large and small armatures.

use std::fs;
use std::path::{Path, PathBuf};

use nalgebra::{Matrix3, Point3, Vector3};

use crate::command::{output, run};
use crate::damage::Damage;
use unloop::design::{Design, Preset};
use unloop::dynamics::Fit;
use unloop::handover::compare::compare;
use unloop::handover::find::{FindOptions, FoundLoop, find, state_loops};
use unloop::handover::fold::{FoldOptions, Folded, fold, joints_beside};
use unloop::handover::{
    ActuatorUnits, Ask, Emission, EmitFault, Form, Format, JointJson, LimitBasis, emit_drawn,
};
use unloop::robot::{FileJoint, Robot};
use unloop::study::{self, Check, Mechanism};

const FORMATS: [Format; 3] = [Format::Urdf, Format::Sdformat, Format::Mjcf];
const FORMS: [Form; 3] = [Form::Direct, Form::Coupled, Form::Loop];

/// Masses for the designs that have none, so that every form can be written.
const PARTS: [(&str, &str); 4] = [
    (
        "[mass.crank]",
        "mass = \"0.06 kg\"\ncenter = [\"11 mm\", \"2 mm\", \"0 mm\"]\ninertia = [\"1e-5 kg m2\", \"2e-5 kg m2\", \"2.5e-5 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n",
    ),
    (
        "[mass.coupler]",
        "mass = \"0.05 kg\"\ncenter = [\"40 mm\", \"0 mm\", \"0 mm\"]\ninertia = [\"2e-6 kg m2\", \"9e-5 kg m2\", \"9e-5 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n",
    ),
    (
        "[mass.child]",
        "mass = \"0.9 kg\"\ncenter = [\"-30 mm\", \"-40 mm\", \"0 mm\"]\ninertia = [\"1.2e-3 kg m2\", \"3.1e-3 kg m2\", \"3.5e-3 kg m2\", \"1e-4 kg m2\", \"0 kg m2\", \"0 kg m2\"]\nframe = \"robot\"\n",
    ),
    (
        "[mass.carrier]",
        "mass = \"2.1 kg\"\ncenter = [\"0 mm\", \"0 mm\", \"-120 mm\"]\ninertia = [\"2.0e-2 kg m2\", \"2.1e-2 kg m2\", \"2.5e-3 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\nframe = \"robot\"\n",
    ),
];

fn with_parts(text: String) -> String {
    let missing = PARTS.iter().filter(|(table, _)| !text.contains(table));
    let tables: String = missing.map(|(table, figures)| format!("\n{table}\n{figures}")).collect();
    text + &tables
}

/// A design with all that is found for it.
struct Drawn {
    name: String,
    design: Design,
    mechanism: Mechanism,
    check: Check,
}

impl Drawn {
    fn new(name: &str, text: &str) -> Self {
        let (design, _) = unloop::design::parse(&format!("{name}.toml"), text)
            .unwrap_or_else(|rejected| panic!("{name}: {rejected}\n{text}"));
        let mechanism = Mechanism::of(&design).unwrap();
        let check = study::check_on(&design, &mechanism).unwrap();
        Self { name: name.to_owned(), design, mechanism, check }
    }

    /// `None` where the form does not apply: the format holds no loops, or only a line that is too far off.
    fn emit(&self, options: &Ask) -> Option<Emission> {
        match emit_drawn(&self.design, &self.mechanism, &self.check, options) {
            Ok(emission) => Some(emission),
            Err(faults) => {
                let applies = |fault: &EmitFault| {
                    !matches!(
                        fault,
                        EmitFault::NoLoops
                            | EmitFault::NotLinear { .. }
                            | EmitFault::ZeroReadingNotReached { .. }
                            | EmitFault::Dynamics(_)
                            | EmitFault::NoRealLink { .. }
                    )
                };
                let left: Vec<&EmitFault> = faults.iter().filter(|f| applies(f)).collect();
                assert!(left.is_empty(), "{} {options:?}: {left:?}", self.name);
                None
            }
        }
    }

    /// What differs in a file, but for the verdict.
    fn differences(&self, robots: &[Robot]) -> Vec<String> {
        let found = compare(&self.design, &self.mechanism, &self.check, robots, None).unwrap();
        let rows = found.joints().flat_map(|joint| {
            let rows = joint.differences().filter(|row| row.quantity != "verdict");
            rows.map(|row| format!("{}: {}: {}", joint.joint, row.title(), row.why))
        });
        rows.collect()
    }
}

/// What was held against the law, and what breaks it.
#[derive(Default)]
struct Held {
    count: usize,
    broken: Vec<String>,
}

impl Held {
    fn with(&mut self, what: &str, broken: Vec<String>) {
        self.count += 1;
        self.broken.extend(broken.into_iter().map(|fault| format!("{what}: {fault}")));
    }

    fn all(each: impl Iterator<Item = Held>) -> Self {
        each.fold(Self::default(), |mut sum, one| {
            sum.count += one.count;
            sum.broken.extend(one.broken);
            sum
        })
    }

    /// Nothing breaks it, of at least so many.
    fn stands(&self, at_least: usize) {
        let few: String = self.broken.iter().take(30).map(|fault| format!("{fault}\n")).collect();
        assert!(self.broken.is_empty(), "{} of {}\n{few}", self.broken.len(), self.count);
        assert!(self.count >= at_least, "only {} were held against the law", self.count);
    }
}

/// Every design of `models/` that names a robot, but for grippers whose coupler carries the pad: `gripper` has theirs.
fn designs_of_models() -> Vec<Drawn> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir("models").unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    let texts = paths.iter().filter_map(|path| {
        let name = path.file_name()?.to_str()?.strip_suffix(".toml")?;
        let text = fs::read_to_string(path).unwrap();
        text.contains("[[robot]]").then(|| Drawn::new(name, &with_parts(text)))
    });
    texts.filter(|drawn| drawn.design.parallel_jaw().is_none()).collect()
}

/// An axis, and a direction across it from the motor's to the joint's.
const AXES: [(&str, [f64; 3]); 3] = [
    ("0.0, 1.0, 0.0", [0.0, 0.0, -1.0]),
    ("0.6, 0.0, 0.8", [0.0, 1.0, 0.0]),
    ("0.0, 0.0, -1.0", [1.0, 0.0, 0.0]),
];

fn one_of(draw: &mut Damage, of: &[f64]) -> f64 {
    of[draw.below(of.len())]
}

fn motor_text(draw: &mut Damage, gear: f64, rotor: f64, motor_reads: f64) -> String {
    let mut one = |of: &[f64]| one_of(draw, of);
    let is_in_carrier = one(&[0.0, 1.0]) > 0.0;
    let mut motor = format!(
        "gear_ratio = {gear:?}\nrotor_inertia = \"{rotor:e} kg m2\"\nrotor_in_carrier = {is_in_carrier}\npeak_torque = \"{} N m\"\nmax_speed = \"{} rad/s\"\ndamping = \"{} N m s/rad\"\nfriction = \"{} N m\"\n",
        one(&[3.0, 60.0, 212.5]),
        one(&[8.0, 20.0]),
        one(&[0.02, 0.7]),
        one(&[0.01, 0.3])
    );
    if one(&[0.0, 1.0, 1.0]) > 0.0 {
        motor += &format!(
            "position_gain = \"{} N m/rad\"\nvelocity_gain = \"{} N m s/rad\"\n",
            one(&[80.0, 3.3]),
            one(&[2.0, 0.1])
        );
    }
    if one(&[0.0, 1.0]) > 0.0 {
        let stop = one(&[-3.0, -40.0]);
        motor +=
            &format!("stops = [\"{} deg\", \"{} deg\"]\n", motor_reads + stop, motor_reads + 70.0);
    }
    motor
}

fn robots_text(draw: &mut Damage, ground: f64, (axis, toward): (&str, [f64; 3])) -> String {
    let mut one = |of: &[f64]| one_of(draw, of);
    let mut robots = String::new();
    let shares = one(&[0.0, 1.0]) > 0.0;
    for (side, mirrored) in [("left", false), ("right", true)] {
        let parent = if shares { "trunk".to_owned() } else { format!("{side}_shank") };
        let at = [5.0, -20.0, 35.0].map(|x| if shares && mirrored { x + 400.0 } else { x });
        let origin = [0, 1, 2].map(|k| format!("\"{} mm\"", at[k] + ground * toward[k])).join(", ");
        let motor_at = at.map(|x| format!("\"{x} mm\"")).join(", ");
        let sign = one(&[1.0, -1.0]);
        robots += &format!(
            "\n[[robot]]\njoint = \"{side}_pitch\"\nparent = \"{parent}\"\nchild = \"{side}_foot\"\naxis = [{axis}]\norigin = [{origin}]\nmotor_at = [{motor_at}]\nmirrored = {mirrored}\nmotor_sign = {sign}\n"
        );
    }
    robots
}

/// A design of the random ones: two joints from one drawing, the second mirrored, on one carrier or on two.
fn random_text(seed: u64) -> String {
    let mut draw = Damage(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    (0..8).for_each(|_| {
        draw.below(2);
    });
    let mut one = |of: &[f64]| one_of(&mut draw, of);
    let (ground, crank) = (one(&[90.0, 210.0, 300.0]), one(&[24.0, 36.0, 45.0]));
    let rocker = crank * one(&[1.0, 1.0, 1.01, 0.99, 1.3]);
    // Crossed in one of four: the ratio is negative there.
    let is_crossed = one(&[0.0, 0.0, 0.0, 1.0]) > 0.0;
    let (coupler, zero) = if is_crossed {
        let square = (crank + rocker) / ground;
        (
            (ground * ground - (crank + rocker) * (crank + rocker)).sqrt(),
            [square.acos().to_degrees(), square.acos().to_degrees() - 180.0],
        )
    } else {
        (ground.hypot(rocker - crank), [90.0, 90.0])
    };
    let stroke =
        if is_crossed { [-4.0, 5.0] } else { [-one(&[5.0, 20.0, 33.0]), one(&[6.0, 25.0, 38.0])] };
    let (motor_reads, joint_reads) = (one(&[0.0, 0.0, 17.0]), one(&[0.0, 0.0, -11.0]));
    let gear = one(&[7.75, -7.75, 101.0, -50.0, 1.0]);
    let rotor = one(&[1e-9, 2e-7, 1.5e-4, 3e-3]) / (gear * gear);
    let axis = AXES[draw.below(3)];
    let motor = motor_text(&mut draw, gear, rotor, motor_reads);
    let robots = robots_text(&mut draw, ground, axis);
    with_parts(format!(
        "name = \"random_{seed}\"\n[linkage]\nground = \"{ground} mm\"\ncrank = \"{crank} mm\"\ncoupler = \"{coupler} mm\"\nrocker = \"{rocker} mm\"\n\
         [zero]\ncrank = \"{} deg\"\nrocker = \"{} deg\"\nmotor_reads = \"{motor_reads} deg\"\njoint_reads = \"{joint_reads} deg\"\n\
         [stroke]\njoint = [\"{} deg\", \"{} deg\"]\n[accept]\npreset = \"coarse\"\n[actuator]\n{motor}{robots}",
        zero[0],
        zero[1],
        joint_reads + stroke[0],
        joint_reads + stroke[1]
    ))
}

fn random_designs(seeds: std::ops::Range<u64>) -> impl Iterator<Item = Drawn> {
    seeds.map(|seed| Drawn::new(&format!("random_{seed}"), &random_text(seed)))
}

fn read(text: &str) -> Robot {
    read_in(Path::new("models/robots"), text)
}

fn read_in(folder: &Path, text: &str) -> Robot {
    let mut includes = |name: &str| fs::read(folder.join(name)).map_err(|error| error.to_string());
    unloop::robot::read("robot", text.as_bytes().to_vec(), &mut includes)
        .unwrap_or_else(|rejected| panic!("{rejected}\n{text}"))
}

fn asked(form: Form, format: Format, whole: bool) -> Ask {
    Ask { whole, anyway: true, ..Ask::new(form, format) }
}

/// Every way to write a whole model of this form in this format.
fn ways(form: Form, format: Format) -> Vec<Ask> {
    let plain = asked(form, format, true);
    let mut ways = vec![plain, Ask { limits: LimitBasis::NeverExceed, ..plain }];
    if format == Format::Mjcf {
        ways.push(Ask { actuator: ActuatorUnits::Motor, ..plain });
        ways.push(Ask { fit: Fit::Slope, ..plain });
        let newest = "3.9".parse().unwrap();
        ways.push(Ask { actuator: ActuatorUnits::Motor, engine: Some(newest), ..plain });
    }
    ways
}

// What a file says beside what its JSON says

/// A joint of a file with what drives it.
struct Said<'a> {
    robot: &'a Robot,
    id: usize,
    joint: &'a FileJoint,
}

impl<'a> Said<'a> {
    fn of(robot: &'a Robot, name: &str) -> Self {
        let id = robot.joint_named(name).unwrap_or_else(|| panic!("no joint {name:?}"));
        Self { robot, id, joint: &robot.joints[id] }
    }

    fn actuators(&self) -> impl Iterator<Item = &'a unloop::robot::FileActuator> {
        let id = self.id;
        self.robot.actuators.iter().filter(move |actuator| actuator.joint == id)
    }

    fn effort(&self) -> Option<f64> {
        let forces = self.actuators().filter_map(|a| a.efforts());
        let forces = forces.map(|[low, high]| low.abs().min(high.abs()));
        forces.chain(self.joint.effort).min_by(f64::total_cmp)
    }

    fn with_actuators(
        &self,
        own: Option<f64>,
        of: fn(&unloop::robot::FileActuator) -> Option<f64>,
    ) -> f64 {
        let driven = self.actuators().filter_map(|a| Some(of(a)? * a.gear * a.gear));
        own.into_iter().chain(driven).sum()
    }

    fn armature(&self) -> f64 {
        self.with_actuators(self.joint.armature, |a| a.armature)
    }

    fn damping(&self) -> f64 {
        self.with_actuators(self.joint.damping, |a| a.damping)
    }

    fn gain(&self, k: usize) -> Option<f64> {
        self.actuators().find_map(|a| Some(a.gains?[k] * a.gear * a.gear))
    }
}

/// Figures of a file and of its JSON that do not agree, by name.
#[derive(Default)]
struct Unlike(Vec<String>);

impl Unlike {
    fn hold(&mut self, what: &str, file: Option<f64>, json: Option<f64>) {
        let size = file.unwrap_or(0.0).abs().max(json.unwrap_or(0.0).abs());
        let agrees = match (file, json) {
            (Some(file), Some(json)) => (file - json).abs() <= 1e-9 * size + 1e-12,
            (one, other) => size == 0.0 || (one.is_none() && other.is_none()),
        };
        if !agrees {
            self.0.push(format!("{what}: {file:?} in the file, {json:?} in its JSON"));
        }
    }
}

/// What the JSON says otherwise than the file beside it.
fn unlike(file: &Robot, json: &JointJson, limits: LimitBasis) -> Vec<String> {
    let mut out = Unlike::default();
    let driven = Said::of(file, &json.joint);
    let crank_name = json
        .coupling
        .as_ref()
        .map(|c| &c.crank_joint)
        .or(json.closed_loop.as_ref().map(|c| &c.crank_joint));
    let crank = crank_name.map(|name| Said::of(file, name));
    assert_eq!(crank.is_some(), json.model != "direct");
    for (k, what) in ["lower limit", "upper limit"].into_iter().enumerate() {
        out.hold(what, driven.joint.limit.map(|l| l[k]), Some(json.limit_rad[k]));
    }
    let [torque, speed] = [json.torque_n_m, json.speed_rad_per_s]
        .map(|e| if limits == LimitBasis::Guaranteed { e.guaranteed } else { e.never_exceed });
    // Of a joint that its crank drives a format may say nothing.
    let is_direct = crank.is_none();
    if is_direct || driven.effort().is_some() {
        out.hold("effort", driven.effort(), torque);
    }
    if file.format.holds_speed_limit() && (is_direct || driven.joint.velocity.is_some()) {
        out.hold("velocity", driven.joint.velocity, speed);
    }
    let ratio = json.ratio.abs();
    let losses = |of: &dyn Fn(&Said<'_>) -> f64, share: f64| {
        of(&driven) + crank.as_ref().map_or(0.0, |c| share * of(c))
    };
    let damping = losses(&|said| said.damping(), ratio * ratio);
    out.hold("damping", Some(damping), json.damping_n_m_s_per_rad);
    let friction = losses(&|said| said.joint.friction.unwrap_or(0.0), ratio);
    out.hold("friction", Some(friction), json.friction_n_m);
    let bears = crank.as_ref().unwrap_or(&driven);
    let square = if is_direct { 1.0 } else { ratio * ratio };
    if bears.actuators().any(|a| a.gains.is_some()) {
        out.hold(
            "position gain",
            bears.gain(0).map(|g| g * square),
            json.gains.position_n_m_per_rad,
        );
        out.hold(
            "velocity gain",
            bears.gain(1).map(|g| g * square),
            json.gains.velocity_n_m_s_per_rad,
        );
    }
    if is_direct && file.format.holds_armature() {
        let is_split = json.patch.as_ref().is_some_and(|patch| patch.is_in_file);
        let armature = if is_split { json.armature_kg_m2.split } else { json.armature_kg_m2.plain };
        out.hold("armature", Some(driven.armature()), armature);
        if is_split {
            let own = json.patch.as_ref().and_then(|patch| patch.armature_kg_m2);
            out.hold("armature of the patch", Some(driven.armature()), own);
        }
    }
    if let Some(crank) = &crank {
        of_crank(&mut out, file, json, &driven, crank);
    }
    out.0
}

fn of_crank(out: &mut Unlike, file: &Robot, json: &JointJson, driven: &Said<'_>, crank: &Said<'_>) {
    let coupling = json.coupling.as_ref();
    let closed = json.closed_loop.as_ref();
    let armature =
        coupling.map(|c| c.crank_armature_kg_m2).or(closed.map(|c| c.crank_armature_kg_m2));
    let rotor =
        coupling.map_or(closed.and_then(|c| c.rotor_joint.as_ref()), |c| c.rotor_joint.as_ref());
    match rotor {
        Some(name) => assert!(file.joint_named(name).is_some(), "{name}"),
        None if file.format.holds_armature() => {
            out.hold("crank's armature", Some(crank.armature()), armature)
        }
        None => {}
    }
    let Some(coupling) = coupling else { return };
    let [low, high] = json.limit_rad;
    for share in [0.0, 0.3, 1.0] {
        let reading = low + share * (high - low);
        let x = reading - coupling.from_joint_rad;
        let told = coupling.from_crank_rad
            + coupling.polynomial.iter().rev().fold(0.0, |sum, a| sum * x + a);
        out.hold("crank", crank_reading(file, driven, crank, reading), Some(told));
    }
}

/// The crank's reading that the file couples to one of the joint's.
fn crank_reading(file: &Robot, driven: &Said<'_>, crank: &Said<'_>, reading: f64) -> Option<f64> {
    if let Some(mimic) = &crank.joint.mimic {
        return (mimic.leader == driven.joint.name)
            .then_some(mimic.multiplier * reading + mimic.offset);
    }
    let tie =
        file.couplings.iter().find(|c| c.follower == crank.id && c.leader == Some(driven.id))?;
    let x = reading - driven.joint.drawn_at;
    Some(crank.joint.drawn_at + tie.polynomial.iter().rev().fold(0.0, |sum, a| sum * x + a))
}

// design → emit

/// In every form, format and way.
fn emitted_is_in_step(drawn: &Drawn) -> Held {
    let mut held = Held::default();
    for (form, format) in FORMS.into_iter().flat_map(|form| FORMATS.map(|format| (form, format))) {
        for options in ways(form, format) {
            let Some(emission) = drawn.emit(&options) else { continue };
            let robot = read(&emission.file);
            let what = format!("{} {options:?}", drawn.name);
            for json in &emission.joints {
                held.with(&format!("{what} {}", json.joint), unlike(&robot, json, options.limits));
            }
            held.with(&what, drawn.differences(&[robot]));
        }
    }
    held
}

#[test]
fn what_emit_writes_of_the_models_designs_is_in_step_and_its_json_says_the_same() {
    Held::all(designs_of_models().iter().map(emitted_is_in_step)).stands(200);
}

#[test]
fn what_emit_writes_of_random_designs_is_in_step_and_its_json_says_the_same() {
    Held::all(random_designs(0..12).map(|drawn| emitted_is_in_step(&drawn))).stands(500);
}

// find → check, find → fold

const FOLD: FoldOptions = FoldOptions {
    model: Form::Direct,
    anyway: true,
    keep_visuals: false,
    limits: LimitBasis::Guaranteed,
    actuator: ActuatorUnits::Joint,
};

const FOLDS: [FoldOptions; 5] = [
    FOLD,
    FoldOptions { actuator: ActuatorUnits::Motor, ..FOLD },
    FoldOptions { limits: LimitBasis::NeverExceed, ..FOLD },
    FoldOptions { keep_visuals: true, ..FOLD },
    FoldOptions { model: Form::Coupled, ..FOLD },
];

/// A robot file with its loops.
struct Looped {
    name: String,
    robot: Robot,
    loops: Vec<FoundLoop>,
}

impl Looped {
    fn new(name: &str, robot: Robot, motors: &[String]) -> Self {
        let options = FindOptions { motors, ..FindOptions::new(Preset::Coarse) };
        let loops = find(&robot, options);
        Self { name: name.to_owned(), robot, loops }
    }

    fn judged(&self) -> impl Iterator<Item = (&FoundLoop, Drawn)> {
        self.loops.iter().filter_map(|found| {
            let judged = found.judged.clone()?;
            let (design, mechanism, check) = (judged.design, judged.mechanism, judged.check);
            Some((
                found,
                Drawn { name: format!("{} {}", self.name, found.name), design, mechanism, check },
            ))
        })
    }
}

fn robots_of_models() -> Vec<Looped> {
    let folder = Path::new("models/robots");
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort();
    let is_robot = |path: &PathBuf| path.extension().is_some_and(|kind| kind != "toml");
    let texts = paths.iter().filter(|path| is_robot(path)).filter_map(|path| {
        let text = fs::read_to_string(path).ok().filter(|text| !text.contains("<mujocoinclude"))?;
        let mut robot = read_in(folder, &text);
        let stated = path.with_extension("loops.toml");
        if let Ok(stated) = fs::read_to_string(stated) {
            state_loops(&mut robot, &stated).unwrap();
        }
        Some(Looped::new(path.to_str().unwrap(), robot, &[]))
    });
    texts.collect()
}

const CRANKS: [&str; 2] = ["left_pitch_crank", "right_pitch_crank"];

/// The loops of a random design as `emit` writes them, with forces, losses and armatures at places where a user's file may
/// have them and `emit` has none.
fn random_loops(drawn: &Drawn, format: Format) -> Option<Looped> {
    let mut text = drawn.emit(&asked(Form::Loop, format, true))?.file;
    if format == Format::Mjcf {
        text = uneven(&text);
        for (at, more) in [
            (
                "<joint name=\"left_pitch_coupler\"",
                " damping=\"0.003\" frictionloss=\"0.02\" armature=\"1e-5\"",
            ),
            (
                "<joint name=\"right_pitch\"",
                " damping=\"0.004\" frictionloss=\"0.01\" armature=\"2e-5\"",
            ),
            ("joint=\"left_pitch_crank\" gear=\"1\"", " armature=\"0.0004\" damping=\"0.06\""),
        ] {
            assert!(text.contains(at), "{at}\n{text}");
            text = text.replacen(at, &format!("{at}{more}"), 1);
        }
    }
    Some(Looped::new(
        &format!("{} {format:?}", drawn.name),
        read(&text),
        &CRANKS.map(str::to_owned),
    ))
}

/// The first actuator pulls with 0.7 of what it pushes with, the second pushes with 0.4 of what it pulls with.
fn uneven(text: &str) -> String {
    let peak = text.split("forcerange=\"-").nth(1).and_then(|rest| rest.split(' ').next()).unwrap();
    let peak: f64 = peak.parse().unwrap();
    let even = format!("forcerange=\"-{peak} {peak}\"");
    let text = text.replacen(&even, &format!("forcerange=\"{} {peak}\"", -0.7 * peak), 1);
    text.replacen(&even, &format!("forcerange=\"-{peak} {}\"", 0.4 * peak), 1)
}

fn random_robots(seeds: std::ops::Range<u64>) -> Vec<Looped> {
    let designs: Vec<Drawn> = random_designs(seeds).collect();
    let each = designs.iter().flat_map(|drawn| {
        [Format::Mjcf, Format::Sdformat].map(|format| random_loops(drawn, format))
    });
    each.flatten().collect()
}

/// The design of a loop, read anew, is the loop: lengths, stroke, kind and all that check finds.
fn design_says_what_find_said(found: &FoundLoop) -> Vec<String> {
    let judged = found.judged.as_ref().unwrap();
    let again = Drawn::new("again", &judged.text);
    let mut out = Unlike::default();
    let (file, design) = (found.four_bar.as_ref().unwrap().bars, again.mechanism.branch.bars());
    out.hold("ground", Some(file.ground), Some(design.ground));
    out.hold("crank", Some(file.crank), Some(design.crank));
    out.hold("coupler", Some(file.coupler), Some(design.coupler));
    out.hold("rocker", Some(file.rocker), Some(design.rocker));
    let (reach, stroke) = (found.reach.as_ref().unwrap(), again.check.stroke);
    for (what, mut file, mut design) in
        [("motor turn", reach.motor, stroke.motor), ("joint turn", reach.joint, stroke.joint)]
    {
        file.sort_by(f64::total_cmp);
        design.sort_by(f64::total_cmp);
        for (a, b) in file.into_iter().zip(design) {
            if (a - b).abs() > 1e-7 {
                out.0.push(format!("{what}: {a} in the file, {b} in the design"));
            }
        }
    }
    let value = |check: &Check| serde_json::to_value(check).unwrap();
    let (told, found) = (value(&again.check), serde_json::to_value(found).unwrap());
    for (what, a, b) in [
        ("check", &found["check"], &told),
        ("kind", &found["linkage"]["kind"], &told["linkage"]["kind"]),
        ("verdict", &found["verdict"], &told["verdict"]),
    ] {
        if a != b {
            out.0.push(format!("{what}: find says {a}, the design {b}"));
        }
    }
    out.0
}

fn designs_say_what_find_said(looped: &Looped) -> Held {
    let mut held = Held::default();
    for found in looped.loops.iter().filter(|found| found.judged.is_some()) {
        held.with(&looped.name, design_says_what_find_said(found));
    }
    held
}

/// A jaw whose driver follows the other finger's names that as its own driver's follower, where the file has it lead.
fn leads(robot: &Robot, found: &FoundLoop) -> bool {
    let driver = found.four_bar.as_ref().and_then(|bars| bars.crank_joint());
    let follows = |id: usize| {
        robot.joints[id].mimic.is_some() || robot.couplings.iter().any(|tie| tie.follower == id)
    };
    found.jaw.is_none() || !driver.is_some_and(follows)
}

/// Every follower that the JSON names, as the file has it.
fn unlike_followers(file: &Robot, json: &JointJson) -> Vec<String> {
    let driver = file.joint_named(&json.joint);
    let mut out = Unlike::default();
    for follower in json.finger.iter().flat_map(|finger| &finger.followers) {
        let line = file.joint_named(&follower.joint).and_then(|id| line_of(file, id, driver?));
        let [slope, offset] = line.unwrap_or([f64::NAN; 2]);
        out.hold(
            &format!("multiplier of {}", follower.joint),
            Some(slope),
            Some(follower.multiplier),
        );
        out.hold(&format!("offset of {}", follower.joint), Some(offset), Some(follower.offset));
    }
    out.0
}

/// Slope and offset of a joint's reading by the driver's, through those that it follows.
fn line_of(file: &Robot, id: usize, driver: usize) -> Option<[f64; 2]> {
    if id == driver {
        return Some([1.0, 0.0]);
    }
    let joint = &file.joints[id];
    let (leader, [slope, offset]) = match &joint.mimic {
        Some(mimic) => (file.joint_named(&mimic.leader)?, [mimic.multiplier, mimic.offset]),
        None => {
            let tie = file.couplings.iter().find(|tie| tie.follower == id)?;
            let [constant, slope, ..] = tie.polynomial;
            let x = file.joints[tie.leader?].drawn_at;
            (tie.leader?, [slope, joint.drawn_at + constant - slope * x])
        }
    };
    let [m, o] = line_of(file, leader, driver)?;
    Some([slope * m, slope * o + offset])
}

fn folded_is_in_step(looped: &Looped) -> Held {
    let mut held = Held::default();
    for (found, drawn) in looped.judged().filter(|(found, _)| leads(&looped.robot, found)) {
        // What pins lose is taken in the mean of the ratio, which a crank near a dead point has none of.
        if drawn.check.transmission_ratio.worst_error.is_none_or(|error| error.value > 0.5) {
            continue;
        }
        for options in FOLDS {
            let Ok(folded) = fold(&looped.robot, found, options) else { continue };
            let robot = read(&folded.text);
            let what = format!("{} {options:?}", drawn.name);
            for json in joints_beside(found, &folded, options).unwrap() {
                held.with(&what, unlike(&robot, &json, options.limits));
                held.with(&what, unlike_followers(&robot, &json));
            }
            if options.keep_visuals {
                held.with(&what, losses_of_followers(&robot, driven_name(&drawn)));
            }
            held.with(&what, drawn.differences(&[robot]));
        }
    }
    held
}

fn loops_are_in_step(looped: &Looped) -> Held {
    let mut held = Held::default();
    for (_, drawn) in looped.judged() {
        held.with(&drawn.name, drawn.differences(std::slice::from_ref(&looped.robot)));
    }
    held
}

fn driven_name(drawn: &Drawn) -> &str {
    &drawn.design.robots[0].joint
}

/// Losses of joints that only move along, and so would count twice.
fn losses_of_followers(robot: &Robot, leader: &str) -> Vec<String> {
    let leads = robot.joint_named(leader);
    let follows = |(id, joint): &(usize, &FileJoint)| {
        joint.mimic.as_ref().is_some_and(|mimic| mimic.leader == leader)
            || robot.couplings.iter().any(|c| c.follower == *id && c.leader == leads)
    };
    let followers = robot.joints.iter().enumerate().filter(follows);
    let losses = followers.flat_map(|(_, joint)| {
        let all = [joint.damping, joint.friction, joint.armature, joint.stiffness];
        all.into_iter().flatten().filter(|x| *x != 0.0).map(|x| format!("{} bears {x}", joint.name))
    });
    losses.collect()
}

#[test]
fn loops_of_the_models_robots_are_what_find_said_as_designs_and_in_step_when_folded() {
    let robots = robots_of_models();
    Held::all(robots.iter().map(designs_say_what_find_said)).stands(7);
    Held::all(robots.iter().map(folded_is_in_step)).stands(30);
}

#[test]
fn loops_of_random_robots_are_what_find_said_as_designs_and_in_step_when_folded() {
    let robots = random_robots(0..8);
    Held::all(robots.iter().map(designs_say_what_find_said)).stands(16);
    Held::all(robots.iter().map(loops_are_in_step)).stands(16);
    Held::all(robots.iter().map(folded_is_in_step)).stands(100);
}

#[test]
fn the_design_that_find_writes_is_checked_as_find_checked_it() {
    let folder = tempfile::tempdir().unwrap();
    let designs = folder.path().to_str().unwrap();
    let robot = "models/robots/leg.xml";
    let told: serde_json::Value =
        serde_json::from_str(&output(&run(&["find", robot, "--json", "--design", designs])))
            .unwrap();
    let design = format!("{designs}/{}.toml", told["loops"][0]["name"].as_str().unwrap());
    let checked: serde_json::Value =
        serde_json::from_str(&output(&run(&["check", &design, "--json"]))).unwrap();
    assert_eq!(told["loops"][0]["check"], checked);
    assert_eq!(told["loops"][0]["verdict"], checked["verdict"]);
}

// fold of an emitted loop

/// The child link's moments about its joint: mass × centre across the axis, and inertia about the axis with the armature.
fn felt_at_joint(said: &Said<'_>) -> [f64; 4] {
    let link = &said.robot.links[said.joint.child];
    let inertial = link.inertial.unwrap();
    let off = link.pose * Point3::from(inertial.center) - said.joint.anchor;
    let across = off - said.joint.axis * said.joint.axis.dot(&off);
    let [xx, yy, zz, xy, xz, yz] = inertial.tensor;
    let rotation = link.pose.rotation.to_rotation_matrix().into_inner();
    let tensor = rotation * Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz) * rotation.transpose();
    let about =
        said.joint.axis.dot(&(tensor * said.joint.axis)) + inertial.mass * across.norm_squared();
    // In the link's own frame: a file draws it as it likes.
    let first: Vector3<f64> = link.pose.rotation.inverse() * across * inertial.mass;
    [first.x, first.y, first.z, about + said.armature()]
}

fn mass(robot: &Robot) -> f64 {
    robot.links.iter().filter_map(|link| link.inertial).map(|inertial| inertial.mass).sum()
}

/// Whether all agrees but for rounding; `share` is of the motor's force that the file has, `inertia` by how much the two may
/// be off the linkage together, where the format holds the rotor.
fn is_the_direct_joint(
    folded: &Said<'_>,
    emitted: &Said<'_>,
    share: f64,
    inertia: Option<f64>,
) -> Vec<String> {
    let mut out = Unlike::default();
    let near = |out: &mut Unlike, what: &str, file: Option<f64>, direct: Option<f64>| {
        // Twelve digits of the fold, thirteen of find's design.
        let digits = |x: f64| format!("{x:.7e}").parse::<f64>().unwrap();
        out.hold(what, file.map(digits), direct.map(digits));
    };
    for k in 0..2 {
        let limit = |said: &Said<'_>| said.joint.limit.map(|limit| limit[k]);
        let (a, b) = (limit(folded).unwrap(), limit(emitted).unwrap());
        if (a - b).abs() > 2e-4 {
            out.0.push(format!("limit {k}: {a} folded, {b} emitted"));
        }
    }
    near(&mut out, "effort", folded.effort(), emitted.effort().map(|x| x * share));
    near(&mut out, "velocity", folded.joint.velocity, emitted.joint.velocity);
    near(&mut out, "damping", Some(folded.damping()), Some(emitted.damping()));
    near(&mut out, "friction", folded.joint.friction, emitted.joint.friction);
    near(&mut out, "position gain", folded.gain(0), emitted.gain(0));
    near(&mut out, "velocity gain", folded.gain(1), emitted.gain(1));
    let (a, b) = (felt_at_joint(folded), felt_at_joint(emitted));
    for (k, what) in ["first moment x", "y", "z", "inertia at the joint"].into_iter().enumerate() {
        let allowed = if k < 3 { Some(1e-7) } else { inertia.map(|off| (off + 1e-5) * b[3]) };
        if allowed.is_some_and(|allowed| (a[k] - b[k]).abs() > allowed) {
            out.0.push(format!("{what}: {} folded, {} emitted", a[k], b[k]));
        }
    }
    out.0
}

fn fold_of_the_loop_is_the_direct_joint(drawn: &Drawn, format: Format) -> Held {
    let mut held = Held::default();
    let Some(emission) = drawn.emit(&asked(Form::Loop, format, true)) else { return held };
    let Some(direct) = drawn.emit(&asked(Form::Direct, format, true)) else { return held };
    let off = direct.joints[0].inertia_error.unwrap_or(0.0);
    let has_rotor_body = emission.joints[0].closed_loop.as_ref().unwrap().rotor_joint.is_some();
    let is_uneven = format == Format::Mjcf;
    let text = if is_uneven { uneven(&emission.file) } else { emission.file };
    let direct = read(&direct.file);
    let looped = Looped::new(&drawn.name, read(&text), &CRANKS.map(str::to_owned));
    for (found, (name, share)) in
        looped.loops.iter().zip([("left_pitch", 0.7), ("right_pitch", 0.4)])
    {
        let what = format!("{} {format:?} {name}", drawn.name);
        match fold(&looped.robot, found, FOLD) {
            Ok(Folded { text, inertia_error, .. }) => {
                let robot = read(&text);
                let share = if is_uneven { share } else { 1.0 };
                // A rotor that is a body stays one, tied to the driven joint.
                let is_armature = format.holds_armature() && !has_rotor_body;
                let off = is_armature.then_some(off + inertia_error.unwrap().1);
                let (folded, emitted) = (Said::of(&robot, name), Said::of(&direct, name));
                held.with(&what, is_the_direct_joint(&folded, &emitted, share, off));
                let masses = [&robot, &looped.robot].map(mass);
                assert!((masses[0] - masses[1]).abs() < 1e-9, "{what}: {masses:?}");
            }
            Err(faults) => held.with(&what, faults.iter().map(ToString::to_string).collect()),
        }
    }
    held
}

#[test]
fn the_fold_of_an_emitted_loop_is_the_direct_joint_that_emit_writes_in_its_place() {
    let mut all = Vec::new();
    for seed in 20..28 {
        let text = random_text(seed);
        let without_stops: Vec<&str> =
            text.lines().filter(|line| !line.starts_with("stops")).collect();
        let drawn = Drawn::new(&format!("random_{seed}"), &without_stops.join("\n"));
        all.push(fold_of_the_loop_is_the_direct_joint(&drawn, Format::Mjcf));
        // SDFormat draws it at reading 0, which is another zero pose, and so another best ratio, where the zero pose reads otherwise.
        if drawn.design.joint_reads == 0.0 {
            all.push(fold_of_the_loop_is_the_direct_joint(&drawn, Format::Sdformat));
        }
    }
    Held::all(all.into_iter()).stands(16);
}
