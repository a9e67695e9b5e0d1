//! The whole models in independent engines: the bodies that the dynamics ask for, the loop that closes, motion.
//!
//! What MuJoCo and Pinocchio read is held against the dynamics' own mass matrices, which `tests/dynamics_engine.rs`
//! holds against MuJoCo by masses and lengths alone. Mechanisms and masses are our own.

use crate::venv;

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use nalgebra::{DMatrix, Isometry3, Matrix3, Translation3, Vector3};
use serde_json::{Value, json};
use unloop::design::Design;
use unloop::dynamics::{
    Body, Coupling, CrankKept, Fit, Masses, Matrix7, Moments, MonotoneStroke, Replacement, StandIn,
    joint_inertia, mass_matrix,
};
use unloop::handover::{
    ActuatorUnits, AdditionJson, Ask, Emission, EmitFault, EngineVersion, Form, Format, LimitBasis,
    emit,
};
use unloop::study::{self, Check, Drive, Mechanism, StrokeRow};

/// A design of one joint with everything that is found for it.
struct Case {
    name: &'static str,
    design: Design,
    check: Check,
    mechanism: Mechanism,
}

const PARALLELOGRAM: &str = "ground = \"300 mm\"\ncrank = \"45 mm\"\ncoupler = \"300 mm\"\nrocker = \"45 mm\"\n\
    [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n";
const GENERAL: &str = "ground = \"210 mm\"\ncrank = \"40 mm\"\ncoupler = \"215 mm\"\nrocker = \"52 mm\"\n\
    [zero]\ncrank = \"80 deg\"\nrocker = \"85 deg\"\n";
const REVERSED: &str = "ground = \"90 mm\"\ncrank = \"27 mm\"\ncoupler = \"72 mm\"\nrocker = \"27 mm\"\n\
    [zero]\ncrank = \"53.130 deg\"\nrocker = \"-126.870 deg\"\n";

const MASSES: &str = "[mass.crank]\nmass = \"0.09 kg\"\ncenter = [\"14 mm\", \"3 mm\", \"12 mm\"]\n\
    inertia = [\"1e-5 kg m2\", \"3e-5 kg m2\", \"3.5e-5 kg m2\", \"1e-6 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n\
    [mass.coupler]\nmass = \"0.08 kg\"\ncenter = [\"40 mm\", \"0 mm\", \"20 mm\"]\n\
    inertia = [\"2e-5 kg m2\", \"8e-4 kg m2\", \"8.1e-4 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n\
    [mass.child]\nmass = \"0.9 kg\"\ncenter = [\"-30 mm\", \"-40 mm\", \"10 mm\"]\n\
    inertia = [\"2.2e-3 kg m2\", \"3.1e-3 kg m2\", \"3.5e-3 kg m2\", \"1e-4 kg m2\", \"2e-4 kg m2\", \"0 kg m2\"]\n\
    [mass.carrier]\nmass = \"2.1 kg\"\ncenter = [\"10 mm\", \"20 mm\", \"-120 mm\"]\n\
    inertia = [\"2.0e-2 kg m2\", \"2.1e-2 kg m2\", \"1.5e-2 kg m2\", \"1e-3 kg m2\", \"0 kg m2\", \"0 kg m2\"]\nframe = \"robot\"\n";

fn motor(gear_ratio: f64, in_carrier: bool) -> String {
    format!(
        "[actuator]\ngear_ratio = {gear_ratio:?}\nrotor_inertia = \"1.5e-4 kg m2\"\nrotor_in_carrier = {in_carrier}\n\
         peak_torque = \"60 N m\"\nmax_speed = \"20 rad/s\"\n"
    )
}

const PITCH: &str = "axis = [0.0, 1.0, 0.0]\norigin = [\"5 mm\", \"10 mm\", \"-300 mm\"]\nmotor_at = [\"5 mm\", \"0 mm\", \"0 mm\"]\n";
const ROLL: &str = "axis = [1.0, 0.0, 0.0]\norigin = [\"0 mm\", \"10 mm\", \"-300 mm\"]\nmotor_at = [\"0 mm\", \"10 mm\", \"0 mm\"]\n\
    mirrored = true\nmotor_sign = -1\n";
const KNEE: &str = "axis = [0.0, 1.0, 0.0]\norigin = [\"0 mm\", \"0 mm\", \"-210 mm\"]\nmotor_at = [\"0 mm\", \"0 mm\", \"0 mm\"]\nmotor_sign = -1\n";
const WRIST: &str = "axis = [0.0, 0.0, 1.0]\norigin = [\"90 mm\", \"0 mm\", \"0 mm\"]\nmotor_at = [\"0 mm\", \"0 mm\", \"0 mm\"]\n";

/// `reads` are the motor's and the joint's readings in the zero pose, deg.
fn text(linkage: &str, reads: [f64; 2], stroke: &str, motor: &str, robot: &str) -> String {
    let [m, j] = reads;
    format!(
        "name = \"drive\"\n[linkage]\n{linkage}motor_reads = \"{m} deg\"\njoint_reads = \"{j} deg\"\n\
         [stroke]\njoint = {stroke}\n{motor}{MASSES}[[robot]]\njoint = \"driven\"\nparent = \"upper\"\nchild = \"lower\"\n{robot}"
    )
}

fn case(name: &'static str, text: &str) -> Case {
    let (design, _) = unloop::design::parse("drive.toml", text).unwrap_or_else(|r| panic!("{r}"));
    let check = study::check(&design).unwrap();
    let mechanism = Mechanism::of(&design).unwrap();
    Case { name, design, check, mechanism }
}

const WIDE: &str = "[\"-35 deg\", \"40 deg\"]";

fn pitch() -> Case {
    case("pitch", &text(PARALLELOGRAM, [0.0, 0.0], WIDE, &motor(7.75, true), PITCH))
}

fn mirrored_roll() -> Case {
    let stroke = "[\"-23 deg\", \"52 deg\"]";
    case("mirrored_roll", &text(PARALLELOGRAM, [-5.0, 12.0], stroke, &motor(7.75, false), ROLL))
}

fn knee() -> Case {
    case("knee", &text(GENERAL, [0.0, 0.0], "[\"-30 deg\", \"45 deg\"]", &motor(6.0, true), KNEE))
}

fn negative_ratio() -> Case {
    let stroke = "[\"-5 deg\", \"25 deg\"]";
    case("negative_ratio", &text(REVERSED, [3.0, 10.0], stroke, &motor(5.0, true), WRIST))
}

/// Motor, crank and rod stand 20 mm beside the joint along its axis; the rotor turns against the crank.
fn apart_along_the_axis() -> Case {
    let robot = PITCH.replace("[\"5 mm\", \"0 mm\", \"0 mm\"]", "[\"5 mm\", \"30 mm\", \"0 mm\"]");
    let text = text(PARALLELOGRAM, [4.0, -6.0], WIDE, &motor(-7.75, false), &robot);
    case("apart_along_the_axis", &text)
}

/// The mirror image of pins in four planes across an oblique axis, given without the motor's place.
fn mirrored_pivots() -> Case {
    let pins = "axis = [0.6, 0.0, 0.8]\nmotor = [\"-44 mm\", \"75 mm\", \"92 mm\"]\n\
        joint = [\"62 mm\", \"60 mm\", \"0 mm\"]\ncrank = [\"-27.2 mm\", \"113 mm\", \"129.4 mm\"]\n\
        rocker = [\"87.8 mm\", \"98 mm\", \"49.4 mm\"]\n[zero]\n";
    let robot = "axis = [0.6, 0.0, 0.8]\norigin = [\"62 mm\", \"-60 mm\", \"0 mm\"]\nmirrored = true\nmotor_sign = -1\n";
    let text = text(pins, [20.0, 3.0], "[\"-22 deg\", \"38 deg\"]", &motor(-6.0, true), robot);
    case("mirrored_pivots", &text.replace("[linkage]", "[pivots]"))
}

/// The cases of one plane, and those that stand in space with a rotor of their own.
fn all_cases() -> Vec<Case> {
    cases().into_iter().chain([apart_along_the_axis(), mirrored_pivots()]).collect()
}

fn cases() -> [Case; 4] {
    [pitch(), mirrored_roll(), knee(), negative_ratio()]
}

fn options(model: Form, format: Format) -> Ask {
    Ask {
        format,
        form: model,
        whole: true,
        anyway: true,
        limits: LimitBasis::Guaranteed,
        actuator: ActuatorUnits::Motor,
        engine: None,
        fit: Fit::Balanced,
    }
}

impl Case {
    fn emit(&self, options: &Ask) -> Result<Emission, Vec<EmitFault>> {
        let through = |motor: f64| self.mechanism.branch.joint_turn(motor).ok();
        let rows: Vec<StrokeRow> = Vec::new();
        emit(&self.design, &self.mechanism, &self.check, &rows, &through, options)
    }

    fn file(&self, options: &Ask) -> PathBuf {
        let emission = self.emit(options).unwrap_or_else(|f| panic!("{}: {f:?}", self.name));
        assert!(emission.file.is_ascii() && emission.joint_json.is_ascii());
        let folder = venv::target().join("engines").join("models");
        fs::create_dir_all(&folder).unwrap();
        // Tests run side by side: each file is written once and by one of them.
        static FILES: AtomicUsize = AtomicUsize::new(0);
        let count = FILES.fetch_add(1, Ordering::Relaxed);
        let suffix = match options.format {
            Format::Urdf => "urdf",
            Format::Sdformat => "sdf",
            Format::Mjcf => "xml",
        };
        let path = folder.join(format!("{count}_{}_{:?}.{suffix}", self.name, options.form));
        fs::write(&path, emission.file).unwrap();
        path
    }

    fn masses(&self) -> Masses {
        let robot = self.design.robots.first();
        let Drive { masses, .. } = study::drive_on(&self.design, robot, &self.check.zero).unwrap();
        Masses { carried: None, ..masses }
    }

    fn stroke(&self) -> MonotoneStroke<'_> {
        MonotoneStroke::over(&self.mechanism.branch, self.mechanism.stroke).unwrap()
    }

    fn sense(&self) -> f64 {
        if self.design.robots[0].mirrored { -1.0 } else { 1.0 }
    }

    fn motor_sign(&self) -> f64 {
        self.design.robots[0].motor_sign
    }

    /// Ends, middle and a pose in between, as motor turns.
    fn turns(&self) -> [f64; 4] {
        let [from, to] = self.mechanism.stroke.motor;
        [from, 0.5 * (from + to), 0.3 * from + 0.7 * to, to]
    }

    /// The readings of all joints at a motor turn, by hand from the pose.
    fn readings(&self, turn: f64) -> BTreeMap<&'static str, f64> {
        let branch = &self.mechanism.branch;
        let (s, ms) = (self.sense(), self.motor_sign());
        let rod =
            branch.pose(turn).unwrap().coupler_angle() - branch.pose(0.0).unwrap().coupler_angle();
        let mut readings = BTreeMap::from([
            ("driven", self.design.joint_reads + s * branch.joint_turn(turn).unwrap()),
            ("driven_crank", self.design.motor_reads + ms * s * turn),
            ("driven_coupler", -ms * self.design.motor_reads + s * (rod - turn)),
        ]);
        readings.extend(self.own_rotor().map(|turns| ("driven_rotor", turns * ms * s * turn)));
        readings
    }

    /// Turns of a rotor that is a body of its own, per crank turn.
    fn own_rotor(&self) -> Option<f64> {
        self.design.actuator.as_ref()?.gear_ratio.filter(|turns| *turns < 1.0)
    }

    /// Rates of all joints per rate of the driven one's turn about the design's axis.
    fn rates(&self, turn: f64) -> BTreeMap<&'static str, f64> {
        let pose = self.mechanism.branch.pose(turn).unwrap();
        let (i, s) = (pose.transmission_ratio(), self.sense());
        let rod = pose.coupler_rate() * i;
        let mut rates = BTreeMap::from([
            ("driven", s),
            ("driven_crank", self.motor_sign() * s * i),
            ("driven_coupler", s * (rod - i)),
        ]);
        let rotor =
            self.own_rotor().map(|turns| ("driven_rotor", turns * self.motor_sign() * s * i));
        rates.extend(rotor);
        rates
    }

    /// Speeds (v of B, ω, ψ̇) in the carrier frame from the speed of the parent link's origin and its ω in its own.
    fn to_carrier_frame(&self) -> Matrix7 {
        let frame = study::carrier_frame(&self.design, &self.design.robots[0]).unwrap();
        let turn: Matrix3<f64> = frame.rotation.to_rotation_matrix().into_inner().transpose();
        let mut t = Matrix7::identity();
        t.fixed_view_mut::<3, 3>(0, 0).copy_from(&turn);
        t.fixed_view_mut::<3, 3>(3, 3).copy_from(&turn);
        let across = turn * -Vector3::from(frame.translation.vector).cross_matrix();
        t.fixed_view_mut::<3, 3>(0, 3).copy_from(&across);
        t
    }

    fn in_link(&self, matrix: Matrix7) -> Matrix7 {
        let t = self.to_carrier_frame();
        t.transpose() * matrix * t
    }
}

fn ask(script: &str, requests: &[Value]) -> Vec<Value> {
    let output = venv::script(script, &json!(requests).to_string());
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "{script} says:\n{said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn mujoco(requests: &[Value]) -> Vec<Value> {
    ask("model_mujoco.py", requests)
}

/// The engine's matrix for the speeds of the parent link and the driven joint's turn, the others following.
fn projected(found: &Value, rates: &BTreeMap<&'static str, f64>) -> Matrix7 {
    let rows: Vec<Vec<f64>> = serde_json::from_value(found["matrix"].clone()).unwrap();
    let n = rows.len();
    let whole = DMatrix::from_row_iterator(n, n, rows.into_iter().flatten());
    let mut g = DMatrix::zeros(n, 7);
    for (joint, at) in found["dof"].as_object().unwrap() {
        let at = usize::try_from(at.as_u64().unwrap()).unwrap();
        match rates.get(joint.as_str()) {
            Some(rate) => g[(at, 6)] = *rate,
            None => (0..6).for_each(|k| g[(at + k, k)] = 1.0),
        }
    }
    Matrix7::from_column_slice((g.transpose() * whole * g).as_slice())
}

/// Every case's model at its poses: the engine's matrix beside `ours`.
fn compare(model: Form, ours: impl Fn(&Case, f64) -> Matrix7, room: f64) {
    let cases = all_cases();
    let requests: Vec<Value> = cases
        .iter()
        .map(|case| {
            let poses: Vec<_> = case.turns().into_iter().map(|t| known(model, case.readings(t))).collect();
            json!({"file": case.file(&options(model, Format::Mjcf)), "carrier": "upper", "poses": poses})
        })
        .collect();
    for (case, found) in cases.iter().zip(mujoco(&requests)) {
        for (turn, pose) in case.turns().into_iter().zip(found["poses"].as_array().unwrap()) {
            let theirs = projected(pose, &case.rates(turn));
            let off = (theirs - case.in_link(ours(case, turn))).amax();
            println!("{} {model:?} at {turn:.3}: off by {off:.1e}", case.name);
            assert!(off < room, "{} {model:?} at {turn}: off by {off}", case.name);
            if model == Form::Loop {
                assert!(pose["gap"].as_f64().unwrap() < 1e-12, "{}: {}", case.name, pose["gap"]);
            }
        }
    }
}

fn known(model: Form, mut readings: BTreeMap<&'static str, f64>) -> BTreeMap<&'static str, f64> {
    readings.retain(|joint, _| match model {
        Form::Direct => *joint == "driven",
        Form::Coupled => *joint != "driven_coupler",
        Form::Loop => true,
    });
    readings
}

#[test]
fn the_engine_finds_the_trees_mass_matrix_in_the_whole_direct_model() {
    let tree = |case: &Case, turn: f64| {
        let found = Replacement::of(&case.stroke(), &case.masses()).unwrap();
        found.tree.mass_matrix(&case.mechanism.branch.pose(turn).unwrap())
    };
    compare(Form::Direct, tree, 1e-9);
}

#[test]
fn the_engine_finds_the_linkages_mass_matrix_in_the_closed_loop() {
    let linkage = |case: &Case, turn: f64| {
        mass_matrix(&case.mechanism.branch.pose(turn).unwrap(), &case.masses())
    };
    compare(Form::Loop, linkage, 1e-9);
}

#[test]
fn the_engine_finds_the_kept_cranks_mass_matrix_in_the_coupled_model() {
    let bodies = |case: &Case, turn: f64| {
        let kept = CrankKept::coupled(&case.stroke(), &case.masses()).unwrap().unwrap();
        kept.mass_matrix(&case.mechanism.branch.pose(turn).unwrap(), turn)
    };
    compare(Form::Coupled, bodies, 1e-9);
}

#[test]
fn the_engine_finds_the_stated_inertia_error_in_the_coupled_file_as_it_moves() {
    let ankle = text(GENERAL, [3.0, 0.0], "[\"-40 deg\", \"55 deg\"]", &motor(-6.0, true), KNEE);
    for fit in [Fit::Balanced, Fit::Slope] {
        let case = case("varying", &ankle);
        let options = Ask { fit, ..options(Form::Coupled, Format::Mjcf) };
        let stated = case.emit(&options).unwrap().joints[0].coupling.clone().unwrap();
        assert_eq!(stated.fit, Some(fit.name()));
        let coupling = Coupling::fitted(&case.stroke(), fit).unwrap();
        let branch = &case.mechanism.branch;
        let [from, to] = case.mechanism.stroke.motor;
        let turns: Vec<f64> = (0..=60).map(|k| from + (to - from) * f64::from(k) / 60.0).collect();
        let (s, ms, turns_of_rotor) = (case.sense(), case.motor_sign(), case.own_rotor().unwrap());
        let crank = |joint: f64| ms * s * coupling.motor_turn(joint);
        let poses: Vec<_> = turns
            .iter()
            .map(|turn| {
                let joint = branch.joint_turn(*turn).unwrap();
                BTreeMap::from([
                    ("driven", case.design.joint_reads + s * joint),
                    ("driven_crank", case.design.motor_reads + crank(joint)),
                    ("driven_rotor", turns_of_rotor * crank(joint)),
                ])
            })
            .collect();
        let found =
            mujoco(&[json!({"file": case.file(&options), "carrier": "upper", "poses": poses})]);
        let mut worst = 0.0_f64;
        for (turn, pose) in turns.iter().zip(found[0]["poses"].as_array().unwrap()) {
            let rate = ms * s * coupling.ratio(branch.joint_turn(*turn).unwrap());
            let rates = BTreeMap::from([
                ("driven", s),
                ("driven_crank", rate),
                ("driven_rotor", turns_of_rotor * rate),
            ]);
            let linkage = case.in_link(mass_matrix(&branch.pose(*turn).unwrap(), &case.masses()));
            let lower = linkage.cholesky().unwrap().l().try_inverse().unwrap();
            let error = lower * (projected(pose, &rates) - linkage) * lower.transpose();
            worst = worst.max(error.symmetric_eigenvalues().amax());
        }
        println!("{fit:?}: engine {worst:.6}, stated {:.6}", stated.inertia_error);
        assert!((worst - stated.inertia_error).abs() < 1e-3 * stated.inertia_error + 1e-6);
        assert!(worst > 1e-3, "the polynomial is as good as exact: {worst}");
    }
}

#[test]
fn pinocchio_finds_the_trees_mass_matrix_in_the_whole_urdf_but_for_the_armature() {
    let cases = all_cases();
    let requests: Vec<Value> = cases
        .iter()
        .map(|case| {
            let readings: Vec<f64> = case.turns().map(|t| case.readings(t)["driven"]).into();
            json!({"file": case.file(&options(Form::Direct, Format::Urdf)), "readings": readings})
        })
        .collect();
    for (case, found) in cases.iter().zip(ask("model_pinocchio.py", &requests)) {
        let tree = Replacement::of(&case.stroke(), &case.masses()).unwrap().tree;
        for (turn, theirs) in case.turns().into_iter().zip(found.as_array().unwrap()) {
            let rows: Vec<Vec<f64>> = serde_json::from_value(theirs.clone()).unwrap();
            let theirs = Matrix7::from_row_iterator(rows.into_iter().flatten());
            let mut ours = tree.mass_matrix(&case.mechanism.branch.pose(turn).unwrap());
            ours[(6, 6)] -= tree.armature;
            let mut flip = Matrix7::identity();
            flip[(6, 6)] = case.sense();
            let off = (theirs - flip * case.in_link(ours) * flip).amax();
            assert!(off < 1e-9, "{} at {turn}: off by {off}", case.name);
        }
    }
}

/// The gravity of all runs, m/s², in the parent link's frame: askew, so that every sign counts.
const GRAVITY: [f64; 3] = [3.0, 1.5, -9.0];

/// Gains of the motor in runs: N m/rad and N m s/rad, without a bound that is reached.
const GAINS: [f64; 2] = [20.0, 0.4];

/// A target of the motor's reading that swings by `swing` (rad) about the zero pose.
#[derive(Clone, Copy)]
struct Swing {
    swing: f64,
    rate: f64,
}

fn with_gains(mut case: Case, [position, velocity]: [f64; 2]) -> Case {
    let actuator = case.design.actuator.as_mut().unwrap();
    (actuator.position_gain, actuator.velocity_gain) = (Some(position), Some(velocity));
    actuator.peak_torque = Some(300.0);
    case
}

fn runs(case: &Case, models: &[Form], Swing { swing, rate }: Swing) -> Vec<Value> {
    let requests: Vec<Value> = models
        .iter()
        .map(|model| {
            let record: Vec<&str> = known(*model, case.readings(0.0)).into_keys().collect();
            json!({
                "file": case.file(&options(*model, Format::Mjcf)), "carrier": "upper",
                "run": {
                    "gravity": GRAVITY, "seconds": 1.0, "mean": case.design.motor_reads, "swing": swing, "rate": rate,
                    "rk4": true, "step": 5e-4, "start": known(*model, case.readings(0.0)), "record": record,
                },
            })
        })
        .collect();
    mujoco(&requests).into_iter().map(|mut found| found["run"].take()).collect()
}

fn columns(run: &Value) -> Vec<Vec<f64>> {
    serde_json::from_value(run["rows"].clone()).unwrap()
}

/// The linkage's own motion, carrier fixed, by the Runge-Kutta rule (order 4) on W ψ̈ + ½ W_ψ ψ̇² = i τ + g·H_ψ:
/// readings of the joint every 10 ms.
fn truth(case: &Case, Swing { swing, rate }: Swing) -> Vec<f64> {
    let (branch, masses) = (&case.mechanism.branch, case.masses());
    let frame = study::carrier_frame(&case.design, &case.design.robots[0]).unwrap();
    let gravity = frame.rotation.inverse() * Vector3::from(GRAVITY);
    let sign = case.sense() * case.motor_sign();
    let change = |time: f64, [turn, speed]: [f64; 2]| {
        let pose = branch.pose(turn).unwrap();
        let (i, j) = (pose.transmission_ratio(), joint_inertia(&pose, &masses));
        let [hx, hy] = j.first_moment_slope;
        let target = sign * swing * (rate * time).sin();
        let motor = GAINS[0] * (target - turn) - GAINS[1] * i * speed;
        let torque = motor * i + gravity.x * hx + gravity.y * hy;
        // motor turn and joint speed
        [i * speed, (torque - 0.5 * j.joint_slope * speed * speed) / j.joint]
    };
    let (h, mut state, mut readings) = (1e-3, [0.0, 0.0], Vec::new());
    for k in 0..1000_u32 {
        let t = f64::from(k) * h;
        let moved = |d: [f64; 2], by: f64| [state[0] + by * d[0], state[1] + by * d[1]];
        let a = change(t, state);
        let b = change(t + h / 2.0, moved(a, h / 2.0));
        let c = change(t + h / 2.0, moved(b, h / 2.0));
        let d = change(t + h, moved(c, h));
        state = [0, 1].map(|n| state[n] + h / 6.0 * (a[n] + 2.0 * b[n] + 2.0 * c[n] + d[n]));
        if k % 10 == 9 {
            readings.push(
                case.design.joint_reads + case.sense() * branch.joint_turn(state[0]).unwrap(),
            );
        }
    }
    readings
}

fn largest(pairs: impl Iterator<Item = f64>) -> f64 {
    pairs.fold(0.0, |most, x| most.max(x.abs()))
}

#[test]
fn one_second_of_motion_in_the_engine_errs_by_the_size_that_is_stated() {
    println!(
        "largest error of the joint angle in 1 s with the carrier fixed, deg: direct, coupled, loop"
    );
    for (case, swing) in
        [(pitch(), 0.4), (mirrored_roll(), 0.4), (knee(), 0.4), (negative_ratio(), 0.12)]
    {
        let (case, swing) = (with_gains(case, GAINS), Swing { swing, rate: 11.0 });
        let exact = truth(&case, swing);
        let models = [Form::Direct, Form::Coupled, Form::Loop];
        let found = runs(&case, &models, swing);
        let off: Vec<f64> = found
            .iter()
            .map(|run| {
                largest(columns(run).iter().zip(&exact).map(|(row, x)| row[0] - x)).to_degrees()
            })
            .collect();
        let range = largest(exact.iter().map(|x| x - case.design.joint_reads)).to_degrees();
        println!("{:16} {:.1e} {:.1e} {:.1e} of {range:.1}", case.name, off[0], off[1], off[2]);
        assert!(range > 5.0, "{} hardly moves", case.name);
        assert!(found[2]["gap"].as_f64().unwrap() < 1e-5 && off[2] < 5e-3, "{}", case.name);
        let json = &case.emit(&options(Form::Coupled, Format::Mjcf)).unwrap().joints[0];
        let coupling = json.coupling.as_ref().unwrap();
        let fit = coupling.angle_error_rad.to_degrees()
            + range * (coupling.torque_error + coupling.inertia_error);
        assert!(off[1] < 5e-3 + 3.0 * fit, "{}: {} against {fit}", case.name, off[1]);
        let figures = &case.check;
        let stated = figures.angle_error.value.to_degrees()
            + range * 2.0 * figures.transmission_ratio.worst_error.unwrap().value;
        assert!(off[0] < 5e-3 + 3.0 * stated, "{}: {} against {stated}", case.name, off[0]);
    }
}

#[test]
fn the_loop_holds_together_and_the_coupled_crank_follows_as_fitted_over_the_whole_stroke() {
    for case in cases().map(|case| with_gains(case, [400.0, 8.0])) {
        // A slow sweep over most of the stroke.
        let [from, to] = case.mechanism.stroke.motor;
        let reading = |turn: f64| case.readings(turn)["driven_crank"];
        let (mean, swing) =
            (0.5 * (reading(from) + reading(to)), 0.45 * (reading(to) - reading(from)));
        let requests: Vec<Value> = [Form::Coupled, Form::Loop]
            .iter()
            .map(|model| {
                let start = known(*model, case.readings(0.5 * (from + to)));
                json!({
                    "file": case.file(&options(*model, Format::Mjcf)), "carrier": "upper",
                    "run": {
                        "gravity": GRAVITY, "seconds": 4.0, "mean": mean, "swing": swing, "rate": PI,
                        "start": start, "record": ["driven", "driven_crank"],
                    },
                })
            })
            .collect();
        let found = mujoco(&requests);
        let fit = case.emit(&options(Form::Coupled, Format::Mjcf)).unwrap().joints[0]
            .coupling
            .clone()
            .unwrap();
        let ratio = case.check.ratio_magnitude[0];
        for (found, room) in found.iter().zip([fit.angle_error_rad / ratio + 2e-5, 2e-4]) {
            let run = &found["run"];
            assert!((run["step"].as_f64().unwrap() - 1e-3).abs() < 1e-15);
            let rows = columns(run);
            let swept = |k: usize| rows.iter().map(|r| r[k]).fold(f64::INFINITY, f64::min);
            let off = largest(rows.iter().map(|row| {
                let turn = (row[1] - case.design.motor_reads) * case.motor_sign() * case.sense();
                let joint = case.mechanism.branch.joint_turn(turn).unwrap();
                row[0] - case.design.joint_reads - case.sense() * joint
            }));
            println!("{}: joint off the crank's by {off:.1e} rad, gap {}", case.name, run["gap"]);
            assert!(swept(1) < mean - 0.7 * swing.abs(), "{} is not swept", case.name);
            assert!(off < room, "{}: {off} against {room}", case.name);
            assert!(run["gap"].as_f64().unwrap() < 1e-5, "{}: {}", case.name, run["gap"]);
        }
        let drawn = found[1]["run"]["gap_as_drawn"].as_f64().unwrap();
        assert!(drawn < 1e-12, "{} is drawn open by {drawn}", case.name);
    }
}

#[test]
fn a_loop_for_an_engine_without_sites_is_closed_by_an_anchor_and_holds_as_well() {
    let case = mirrored_roll();
    let options =
        Ask { engine: Some(EngineVersion::new(3, 1, 0)), ..options(Form::Loop, Format::Mjcf) };
    let text = case.emit(&options).unwrap().file;
    assert!(text.contains("anchor=") && !text.contains("site1"), "{text}");
    assert!(text.contains("For MuJoCo 3.1 and later"), "{text}");
    let pose = known(Form::Loop, case.readings(case.turns()[3]));
    mujoco(&[json!({"file": case.file(&options), "carrier": "upper", "poses": [pose]})]);
    let snippet = Ask { whole: false, ..options };
    let faults = case.emit(&snippet).unwrap_err();
    assert!(matches!(faults[..], [EmitFault::EngineTooOld { .. }]), "{faults:?}");
}

#[test]
fn an_engine_that_knows_it_gets_the_motors_inertia_on_the_actuator_and_finds_the_same_matrix() {
    let case = mirrored_roll();
    let newer = Ask {
        engine: Some(EngineVersion::ACTUATOR_ARMATURE),
        ..options(Form::Direct, Format::Mjcf)
    };
    let at = |options: &Ask| {
        let poses = [known(Form::Direct, case.readings(0.2))];
        let found =
            mujoco(&[json!({"file": case.file(options), "carrier": "upper", "poses": poses})]);
        projected(&found[0]["poses"][0], &case.rates(0.2))
    };
    let text = case.emit(&newer).unwrap().file;
    assert!(text.contains("For MuJoCo 3.7 and later"), "{text}");
    let joint = text.lines().find(|line| line.trim().starts_with("<joint name")).unwrap();
    assert!(!joint.contains("armature"), "{joint}");
    assert!((at(&newer) - at(&options(Form::Direct, Format::Mjcf))).amax() < 1e-12);
}

/// The mirrored roll joint as URDF: its crank's reading has another sign and another zero than the joint's.
fn mimicking() -> (Case, Value) {
    let case = mirrored_roll();
    let file = case.file(&options(Form::Coupled, Format::Urdf));
    let ends = case.turns().map(|turn| known(Form::Coupled, case.readings(turn)));
    let request =
        json!({"file": file, "leader": "driven", "follower": "driven_crank", "poses": ends});
    (case, request)
}

#[test]
fn drake_couples_the_mimic_joint_of_urdf_and_holds_it_on_the_line() {
    let (_, request) = mimicking();
    for off in ask("model_drake.py", &[request])[0].as_array().unwrap() {
        assert!(off.as_f64().unwrap() < 1e-6, "{off}");
    }
}

#[test]
fn pinocchio_puts_the_mimicking_crank_where_the_motor_reads() {
    let (_, request) = mimicking();
    for off in ask("model_pinocchio_mimic.py", &[request])[0].as_array().unwrap() {
        assert!(off.as_f64().unwrap() < 1e-12, "{off}");
    }
}

#[test]
fn the_mimic_of_sdformat_is_the_line_of_the_readings() {
    let case = mirrored_roll();
    let text = fs::read_to_string(case.file(&options(Form::Coupled, Format::Sdformat))).unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    assert_eq!(document.root_element().attribute("version"), Some("1.11"));
    let mimic = document.descendants().find(|n| n.has_tag_name("mimic")).unwrap();
    let figure = |name: &str| -> f64 {
        let node = mimic.children().find(|n| n.has_tag_name(name)).unwrap();
        node.text().unwrap().parse().unwrap()
    };
    assert_eq!(mimic.attribute("joint"), Some("driven"));
    for turn in case.turns() {
        let readings = case.readings(turn);
        let line =
            figure("multiplier") * (readings["driven"] - figure("reference")) + figure("offset");
        assert!((line - readings["driven_crank"]).abs() < 1e-12);
    }
}

/// The point where a joint of an SDFormat file lies and the chain of links that bear it, all aligned when drawn.
fn drawn_at(document: &roxmltree::Document<'_>, element: &str, name: &str) -> Vector3<f64> {
    let node = document
        .descendants()
        .find(|n| n.has_tag_name(element) && n.attribute("name") == Some(name))
        .unwrap();
    let Some(pose) = node.children().find(|n| n.has_tag_name("pose")) else {
        return Vector3::zeros();
    };
    let figures: Vec<f64> = pose.text().unwrap().split(' ').map(|x| x.parse().unwrap()).collect();
    assert!(figures[3..].iter().all(|x| *x == 0.0));
    let base = pose
        .attribute("relative_to")
        .map_or_else(Vector3::zeros, |link| drawn_at(document, "link", link));
    base + Vector3::new(figures[0], figures[1], figures[2])
}

#[test]
fn the_loop_of_sdformat_is_closed_as_drawn_and_turns_about_the_right_pins() {
    for case in cases().into_iter().chain([apart_along_the_axis()]) {
        let path = case.file(&options(Form::Loop, Format::Sdformat));
        let text = fs::read_to_string(path).unwrap();
        let document = roxmltree::Document::parse(&text).unwrap();
        let parents: Vec<_> = document
            .descendants()
            .filter(|n| n.has_tag_name("child") && n.text() == Some("lower"))
            .collect();
        assert_eq!(parents.len(), 2, "{}", case.name);
        let [b, a, p, q] = ["driven", "driven_crank", "driven_coupler", "driven_coupler_end"]
            .map(|joint| drawn_at(&document, "joint", joint));
        let bars = case.mechanism.branch.bars();
        let axis = Vector3::from(case.design.robots[0].axis);
        let aside = (a - b).dot(&axis);
        let stated = study::heights(&case.design, case.design.robots.first()).motor;
        assert!((aside - case.sense() * stated).abs() < 1e-12, "{}: {aside}", case.name);
        let b = b + axis * aside;
        let lengths = [
            (a - b, bars.ground),
            (p - a, bars.crank),
            (q - p, bars.coupler),
            (q - b, bars.rocker),
        ];
        for (found, wanted) in lengths {
            assert!((found.norm() - wanted).abs() < 1e-12, "{}: {found} for {wanted}", case.name);
        }
        // On the linkage's own branch: the pose in which the joint reads 0.
        let frame = study::carrier_frame(&case.design, &case.design.robots[0]).unwrap();
        let turn =
            case.mechanism.branch.motor_turn(-case.sense() * case.design.joint_reads).unwrap();
        let pose = case.mechanism.branch.pose(turn).unwrap();
        let pin = frame.rotation * Vector3::new(pose.crank_pin().x, pose.crank_pin().y, 0.0);
        assert!((p - a - pin).norm() < 1e-12, "{}", case.name);
    }
}

/// Somebody's own file: the two links as the design has them plus the patch list, the snippet pasted in by what its
/// comments say.
fn pasted(case: &Case, model: Form) -> PathBuf {
    let emission = case.emit(&Ask { whole: false, ..options(model, Format::Mjcf) }).unwrap();
    let patch = emission.joints[0].patch.as_ref().unwrap();
    assert!(!patch.is_in_file);
    let masses = case.masses();
    let frame = study::carrier_frame(&case.design, &case.design.robots[0]).unwrap();
    let axes =
        study::child_axes(&case.design, &case.design.robots[0], &frame, case.check.zero.rocker);
    let upper = sum(&masses.carrier.unwrap().seen_from(&frame), &patch.carrier);
    let lower = sum(
        &masses.child.seen_from(&Isometry3::from_parts(Translation3::identity(), axes)),
        &patch.child,
    );
    let wrapped = format!("<fragment>{}</fragment>", emission.file);
    let fragment = roxmltree::Document::parse(&wrapped).unwrap();
    let elements = |tags: &[&str]| -> String {
        let chosen =
            fragment.root_element().children().filter(|n| tags.contains(&n.tag_name().name()));
        chosen.map(|n| wrapped[n.range()].to_owned()).collect()
    };
    let [x, y, z] = case.design.robots[0].origin;
    let armature = patch.armature_kg_m2.map(|a| format!("armature=\"{a}\""));
    let plain = emission.joints[0].armature_kg_m2.plain.unwrap();
    let joint = elements(&["joint", "site"]);
    let joint =
        armature.map_or(joint.clone(), |new| joint.replace(&format!("armature=\"{plain}\""), &new));
    let text = format!(
        "<mujoco><compiler angle=\"radian\"/><option timestep=\"0.001\"/><worldbody><body name=\"upper\">{upper}{}\
         <body name=\"lower\" pos=\"{x} {y} {z}\">{lower}{joint}</body></body></worldbody>{}</mujoco>",
        elements(&["body"]),
        elements(&["equality", "actuator"]),
    );
    let path = case.file(&options(model, Format::Mjcf)).with_extension("pasted.xml");
    fs::write(&path, text).unwrap();
    path
}

/// A body with what is to be added to it, as MJCF.
fn sum(own: &Body, added: &AdditionJson) -> String {
    let [xx, yy, zz, xy, xz, yz] = added.inertia_about_origin_kg_m2;
    let patch = Moments {
        mass: added.mass_kg,
        first: added.first_moment_kg_m.into(),
        inertia: Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz),
    };
    let body = (Moments::from(own) + patch).body();
    let (c, t) = (body.centre, body.tensor());
    format!(
        "<inertial mass=\"{}\" pos=\"{} {} {}\" fullinertia=\"{} {} {} {} {} {}\"/>",
        body.mass, c.x, c.y, c.z, t.m11, t.m22, t.m33, t.m12, t.m13, t.m23
    )
}

#[test]
fn a_pasted_snippet_with_its_patch_list_is_the_whole_model_to_the_engine() {
    for model in [Form::Direct, Form::Coupled, Form::Loop] {
        for case in all_cases() {
            let poses = case.turns().map(|turn| known(model, case.readings(turn)));
            let files = [pasted(&case, model), case.file(&options(model, Format::Mjcf))];
            let found = mujoco(
                &files.map(|file| json!({"file": file, "carrier": "upper", "poses": poses})),
            );
            for (k, turn) in case.turns().into_iter().enumerate() {
                let [a, b] = [0, 1].map(|n| projected(&found[n]["poses"][k], &case.rates(turn)));
                assert!((a - b).amax() < 1e-10, "{} {model:?}: {}", case.name, (a - b).amax());
                if model == Form::Loop {
                    assert!(found[0]["poses"][k]["gap"].as_f64().unwrap() < 1e-12, "{}", case.name);
                }
            }
        }
    }
}

fn only_fault(case: &Case, options: &Ask) -> EmitFault {
    let mut faults = case.emit(options).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults.remove(0)
}

#[test]
fn a_straight_line_that_is_not_enough_is_refused_with_the_figure() {
    for format in [Format::Urdf, Format::Sdformat] {
        let fault = only_fault(&knee(), &options(Form::Coupled, format));
        assert!(fault.to_string().contains("deg off the line (limit 0.500 deg)"), "{fault}");
        assert!(fault.help().contains("--to mjcf"), "{}", fault.help());
    }
}

#[test]
fn urdf_holds_no_loop() {
    let fault = only_fault(&pitch(), &options(Form::Loop, Format::Urdf));
    assert_eq!(fault, EmitFault::NoLoops);
}

#[test]
fn coupled_and_loop_do_not_rest_on_the_verdict() {
    let mut case = knee();
    assert_eq!(case.check.verdict, unloop::equivalence::Verdict::NotEquivalent);
    for model in [Form::Coupled, Form::Loop] {
        let options = Ask { anyway: false, ..options(model, Format::Mjcf) };
        let emission = case.emit(&options).unwrap();
        assert!(emission.file.contains("this model does not rest on it"));
    }
    case.design.mass.crank = None;
    let fault = only_fault(&case, &options(Form::Loop, Format::Mjcf));
    assert!(fault.to_string().starts_with("[mass.crank] is missing"), "{fault}");
}

#[test]
fn a_rotor_slower_than_the_joint_is_no_armature_of_a_direct_joint() {
    let text = text(PARALLELOGRAM, [0.0, 0.0], WIDE, &motor(0.5, true), PITCH);
    let case = case("slow_rotor", &text);
    let fault = only_fault(&case, &options(Form::Direct, Format::Mjcf));
    assert!(fault.to_string().contains("negative armature"), "{fault}");
    assert!(!fault.help().is_empty());
    // The models that keep the crank have it as a body of its own.
    for model in [Form::Coupled, Form::Loop] {
        assert!(case.emit(&options(model, Format::Mjcf)).unwrap().file.contains("driven_rotor"));
    }
    // A snippet's bodies stay as they are: n²J can be written, and why there is no patch is said.
    let snippet = Ask { whole: false, ..options(Form::Direct, Format::Mjcf) };
    let emission = case.emit(&snippet).unwrap();
    assert!(emission.joints[0].patch.is_none() && emission.file.contains("negative armature"));
}

#[test]
fn two_joints_on_one_link_take_no_more_from_it_than_it_has() {
    let whole = options(Form::Direct, Format::Mjcf);
    let mut alone = pitch();
    // Slender along the joint's axis: it can give one rotor's share, not two.
    alone.design.mass.carrier.as_mut().unwrap().inertia =
        unloop::design::BodyInertia::Tensor([0.02, 0.006, 0.02, 0.0, 0.0, 0.0]);
    let mut pair = pitch();
    pair.design.mass = alone.design.mass.clone();
    pair.design.robots.push(unloop::design::RobotJoint {
        joint: "other".into(),
        child: "other_lower".into(),
        ..pair.design.robots[0].clone()
    });
    let mut worse = 0;
    for k in 1..40_u32 {
        let inertia = Some(1e-5 * f64::from(k * k));
        alone.design.actuator.as_mut().unwrap().rotor_inertia = inertia;
        pair.design.actuator.as_mut().unwrap().rotor_inertia = inertia;
        let error = |case: &mut Case| {
            case.check = study::check_on(&case.design, &case.mechanism).ok()?;
            case.emit(&whole).ok()?.joints[0].inertia_error
        };
        match (error(&mut alone), error(&mut pair)) {
            (Some(one), Some(each)) => worse += u32::from(each > one * (1.0 + 1e-9)),
            (one, each) => assert!(one.is_none() || each.is_none(), "{inertia:?}"),
        }
    }
    // Written with real bodies, and the figure says what the second one's share costs.
    assert!(worse > 0);
}

#[test]
fn a_loop_may_run_through_dead_points_where_no_coupling_can() {
    let linkage = GENERAL.replace("52 mm", "60 mm").replace("85 deg", "80 deg");
    let text = text(&linkage, [0.0, 0.0], "[\"-100 deg\", \"120 deg\"]", &motor(6.0, true), KNEE);
    let case = case("dead_points", &text.replace("joint = [\"-100", "motor = [\"-100"));
    let looped = case.emit(&options(Form::Loop, Format::Mjcf));
    let limit = looped.unwrap().joints[0].limit_rad;
    let branch = &case.mechanism.branch;
    let ends =
        branch.dead_turns(-1.7, 2.0).into_iter().map(|turn| branch.joint_turn(turn).unwrap());
    assert!(ends.clone().count() > 0);
    // On to the dead point and back: the joint is not held short of it.
    assert!(ends.into_iter().all(|joint| limit[0] <= joint && joint <= limit[1]), "{limit:?}");
    let fault = only_fault(&case, &options(Form::Coupled, Format::Mjcf));
    assert!(fault.to_string().contains("the rocker stands still"), "{fault}");
    assert!(fault.help().contains("--model loop"), "{}", fault.help());
}

#[test]
fn a_crank_known_about_its_axis_alone_is_a_slender_bar_and_the_file_says_so() {
    let tensor = "[\"1e-5 kg m2\", \"3e-5 kg m2\", \"3.5e-5 kg m2\", \"1e-6 kg m2\", \"0 kg m2\", \"0 kg m2\"]";
    let text = text(PARALLELOGRAM, [0.0, 0.0], WIDE, &motor(7.75, true), PITCH);
    let case = case("bar", &text.replace(tensor, "\"3.5e-5 kg m2\""));
    for model in [Form::Direct, Form::Coupled, Form::Loop] {
        let file = case.emit(&options(model, Format::Mjcf)).unwrap().file;
        let file = file.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            file.contains("[mass.crank] has one figure of inertia: taken as a slender bar"),
            "{file}"
        );
    }
}

#[test]
fn every_file_is_ascii_and_its_comments_are_no_wider_than_a_page() {
    for case in all_cases() {
        for model in [Form::Direct, Form::Coupled, Form::Loop] {
            for format in [Format::Urdf, Format::Sdformat, Format::Mjcf] {
                for whole in [false, true] {
                    let Ok(emission) = case.emit(&Ask { whole, ..options(model, format) }) else {
                        continue;
                    };
                    assert!(emission.file.is_ascii() && emission.joint_json.is_ascii());
                    let comment = |line: &&str| !line.trim_start().starts_with('<');
                    let wide = emission.file.lines().filter(comment).find(|line| line.len() > 100);
                    assert_eq!(wide, None, "{} {model:?} {format:?}", case.name);
                }
            }
        }
    }
}
