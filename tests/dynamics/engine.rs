//! The drive's dynamics in a general-purpose physics engine (MuJoCo), and the tree's in a second one (Pinocchio).
//!
//! Both get masses, centres and tensors alone; the loop is closed by the engine's own kinematics and Jacobian. Versions in
//! `tests/engines/requirements.txt`.

use crate::drive;
use crate::venv;

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

use serde_json::{Value, json};
use unloop::dynamics::{
    Body, Counterweight, Coupling, CrankKept, Fidelity, Masses, Matrix7, MonotoneStroke,
    Replacement, Rotor, Shortcut, Tree, fidelity, joint_inertia, load_at, mass_matrix,
    shortcut_table,
};
use unloop::linkage::{Branch, Closure, Drive, Extreme, FourBar, Stroke};

/// One drive with its replacement.
struct Case {
    name: String,
    branch: Branch,
    stroke: Stroke,
    masses: Masses,
    tree: Tree,
    figures: Fidelity,
}

pub(super) fn body(b: &Body) -> Value {
    let t = b.tensor();
    let row = |k: usize| [t[(k, 0)], t[(k, 1)], t[(k, 2)]];
    json!({"mass": b.mass, "centre": [b.centre.x, b.centre.y, b.centre.z], "tensor": [row(0), row(1), row(2)]})
}

impl Case {
    fn new(
        name: &str,
        bars: FourBar,
        closure: Closure,
        range: [f64; 2],
        masses: Masses,
    ) -> Option<Self> {
        let branch = Branch::through(bars, FRAC_PI_2, closure).ok()?;
        let stroke = Stroke::on(&branch, Drive::Joint, range).ok()?;
        let (tree, figures) = {
            let stroke = MonotoneStroke::over(&branch, stroke).ok()?;
            let tree = Replacement::of(&stroke, &masses).ok()?.tree;
            (tree, fidelity(&stroke, &masses, &tree))
        };
        Some(Self { name: name.to_owned(), branch, stroke, masses, tree, figures })
    }

    fn worst(&self) -> [Extreme; 3] {
        [self.figures.fixed, self.figures.planar.unwrap(), self.figures.spatial.unwrap()]
    }

    /// Motor turns to look at: both ends, the middle, and where each figure is worst.
    fn turns(&self) -> Vec<f64> {
        let [from, to] = self.stroke.motor;
        let mut turns = vec![from, 0.5 * (from + to), to];
        turns.extend(self.worst().map(|worst| worst.turn));
        turns
    }

    fn json(&self) -> Value {
        let bars = self.branch.bars();
        let zero = self.branch.pose(0.0).unwrap();
        let rotor = self.masses.rotor.unwrap();
        json!({
            "ground": bars.ground, "crank_length": bars.crank,
            "coupler_length": bars.coupler, "rocker_length": bars.rocker,
            "zero_crank": self.branch.zero_crank(), "zero_coupler": zero.coupler_angle(),
            "zero_rocker": zero.rocker_angle(),
            "crank": body(&self.masses.crank.unwrap()), "coupler": body(&self.masses.coupler.unwrap()),
            "child": body(&self.masses.child), "carrier": body(&self.masses.carrier.unwrap()),
            "rotor": {"inertia": rotor.inertia, "gear_ratio": rotor.gear_ratio, "in_carrier": rotor.in_carrier},
            "tree": tree_json(&self.tree), "ends": self.stroke.motor, "turns": self.turns(),
        })
    }
}

fn tree_json(tree: &Tree) -> Value {
    json!({"carrier": body(&tree.carrier.body()), "child": body(&tree.child.body()), "armature": tree.armature})
}

/// Numbers evenly spread over 0…1 in an order without pattern: xorshift (G. Marsaglia, 2003).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, low: f64, high: f64) -> f64 {
        for shift in [13, -7, 17] {
            let shifted = if shift > 0 { self.0 << shift } else { self.0 >> -shift };
            self.0 ^= shifted;
        }
        low + (high - low) * (f64::from(u32::try_from(self.0 >> 32).unwrap()) / 4_294_967_295.0)
    }

    fn body(&mut self, mass: f64, centre: [f64; 3], size: f64) -> Body {
        let spread = mass * size * size;
        let [a, b] = [self.roll(0.3, 1.0), self.roll(0.3, 1.0)];
        let c = self.roll((a - b).abs() + 0.1, a + b - 0.05);
        let mut off = || self.roll(-0.3, 0.3) * size;
        let shift = [off(), off(), off()];
        drive::body(mass, [0, 1, 2].map(|k| centre[k] + shift[k]), [a, b, c].map(|x| x * spread))
    }

    fn masses(&mut self) -> Masses {
        Masses {
            crank: Some(self.body(0.1, [0.03, 0.0, 0.0], 0.03)),
            coupler: Some(self.body(0.15, [0.15, 0.0, 0.0], 0.1)),
            child: self.body(1.0, [0.03, -0.03, 0.0], 0.1),
            carrier: Some(self.body(2.5, [-0.15, 0.0, 0.0], 0.15)),
            carried: None,
            rotor: Some(Rotor {
                inertia: self.roll(2e-5, 1.5e-4),
                gear_ratio: self.roll(2.0, 9.0),
                in_carrier: self.roll(0.0, 1.0) < 0.5,
            }),
        }
    }
}

fn cases() -> Vec<Case> {
    let mut dice = Dice(0x5eed_cafe_f00d);
    let ankle = Case::new("ankle", drive::BARS, Closure::Open, [-0.7, 0.6], drive::masses());
    let mut cases: Vec<Case> = ankle.into_iter().collect();
    while cases.len() < 5 {
        let arm = dice.roll(0.03, 0.08);
        let bars = FourBar { ground: 0.3, crank: arm, coupler: 0.3, rocker: arm };
        cases.extend(Case::new("parallelogram", bars, Closure::Open, [-0.6, 0.7], dice.masses()));
    }
    while cases.len() < 9 {
        let bars = FourBar {
            ground: 0.3,
            crank: dice.roll(0.04, 0.06),
            coupler: dice.roll(0.27, 0.33),
            rocker: dice.roll(0.05, 0.09),
        };
        let closure = if dice.roll(0.0, 1.0) < 0.5 { Closure::Open } else { Closure::Crossed };
        cases.extend(Case::new("general", bars, closure, [-0.2, 0.25], dice.masses()));
    }
    cases
}

pub(super) fn matrix(value: &Value) -> Matrix7 {
    let entries: Vec<f64> = serde_json::from_value(value.clone()).unwrap();
    Matrix7::from_row_slice(&entries)
}

pub(super) fn measured(script: &str, input: &Value) -> Value {
    let output = venv::script(script, &input.to_string());
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{complaint}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn near(what: &str, ours: f64, theirs: f64, room: f64) {
    assert!((ours - theirs).abs() <= room, "{what}: ours {ours}, the engine's {theirs}");
}

#[test]
fn the_engine_finds_our_mass_matrices_torques_weights_and_figures() {
    let cases = cases();
    let input: Vec<Value> = cases.iter().map(Case::json).collect();
    let found = measured("dynamics_poses.py", &json!(input));
    for (case, found) in cases.iter().zip(found.as_array().unwrap()) {
        for (turn, pose) in case.turns().iter().zip(found["poses"].as_array().unwrap()) {
            hold_pose(case, *turn, pose);
        }
        hold_figures(case, found);
    }
}

fn hold_pose(case: &Case, turn: f64, found: &Value) {
    let name = &case.name;
    let pose = case.branch.pose(turn).unwrap();
    let number = |key: &str| found[key].as_f64().unwrap();
    near(name, case.branch.joint_turn(turn).unwrap(), number("joint"), 1e-12);
    let (linkage, tree) = (mass_matrix(&pose, &case.masses), case.tree.mass_matrix(&pose));
    for (ours, key) in [(linkage, "linkage"), (tree, "tree"), (tree, "tree_by_pinocchio")] {
        let off = (ours - matrix(&found[key])).amax();
        assert!(off < 1e-9, "{name}: {key} off by {off} at motor turn {turn}");
    }
    let load = load_at(&pose, 3.0);
    near(name, load.joint_torque, number("joint_torque"), 1e-6 * load.joint_torque.abs());
    // Free fall along x; what holds it is the other way.
    let slope = joint_inertia(&pose, &case.masses).first_moment_slope;
    near("weight", -9.80665 * slope[0], number("weight"), 1e-8);
    near(
        "weight of the tree",
        9.80665 * tree_slope(&case.tree, &pose),
        number("weight_of_tree"),
        1e-8,
    );
    println!("{name}: torque {:.9} pin gap {:.1e} m", number("joint_torque"), number("pin_gap"));
}

/// −H_ψ along x of the tree.
fn tree_slope(tree: &Tree, pose: &unloop::linkage::Pose) -> f64 {
    let psi = pose.rocker_angle();
    tree.child.first.x * psi.sin() + tree.child.first.y * psi.cos()
}

fn hold_figures(case: &Case, found: &Value) {
    let poses = found["poses"].as_array().unwrap();
    for (k, ours) in case.worst().iter().enumerate() {
        let there = poses[3 + k]["figures"][k].as_f64().unwrap();
        let anywhere = found["worst"][k].as_f64().unwrap();
        println!(
            "{}: figure {k} ours {:.9}, there {there:.9}, anywhere {anywhere:.9}",
            case.name, ours.value
        );
        near(&case.name, ours.value, there, 1e-6);
        assert!(anywhere <= ours.value + 1e-6, "{}: {anywhere} beyond {}", case.name, ours.value);
    }
}

/// The ankle with the trees of all shortcuts, or the counterweighted ankle with its own tree.
fn with_trees(masses: Masses, shortcuts: &[Shortcut]) -> Value {
    let case = Case::new("ankle", drive::BARS, Closure::Open, [-0.7, 0.6], masses).unwrap();
    let stroke = MonotoneStroke::over(&case.branch, case.stroke).unwrap();
    let tree =
        |s: &Shortcut| (s.name().to_owned(), tree_json(&s.tree(&stroke, &masses, 1.0).unwrap()));
    let mut json = case.json();
    json["loop"] = crank_json(&CrankKept::in_loop(&drive::BARS, &masses).unwrap().unwrap());
    json["coupled"] = crank_json(&CrankKept::coupled(&stroke, &masses).unwrap().unwrap());
    json["polynomial"] = json!(Coupling::over(&stroke).unwrap().coefficients);
    json["trees"] = shortcuts.iter().map(tree).collect::<serde_json::Map<_, _>>().into();
    json
}

fn crank_json(kept: &CrankKept) -> Value {
    json!({
        "carrier": body(&kept.carrier), "crank": body(&kept.crank), "child": body(&kept.child),
        "coupler": kept.coupler.as_ref().map(body), "armature": kept.armature,
    })
}

#[test]
fn in_the_engine_one_second_of_motion_errs_as_the_table_of_shortcuts_says() {
    let plain = drive::masses();
    let balanced = Counterweight::of(&drive::BARS, &plain).applied(&plain).unwrap();
    let all = [
        Shortcut::ArmatureOnly,
        Shortcut::RodDropped,
        Shortcut::CrankWelded,
        Shortcut::NoRotorSplit,
        Shortcut::Full,
    ];
    let input = [with_trees(plain, &all), with_trees(balanced, &[Shortcut::Counterweighted])];
    let found = measured("dynamics_swing.py", &json!(input));
    let rows: Vec<Row> = all
        .iter()
        .map(|s| (0, s.name()))
        .chain([(1, Shortcut::Counterweighted.name()), (0, COUPLED), (0, TUNED), (0, BY_DEFAULT)])
        .map(|(case, name)| Row::read(&found[case], name))
        .collect();
    println!("largest error of the joint angle in 1 s, deg: carrier fixed, swinging");
    rows.iter().for_each(|r| println!("{:48} {:11.6} {:11.6}", r.name, r.fixed, r.swinging));
    hold_motions(&rows, &figures_by_name(&plain));
}

const COUPLED: &str = "crank kept, one coupling";
const TUNED: &str = "loop, pin tuned";
const BY_DEFAULT: &str = "loop, pin as by default";

/// Largest errors of the joint angle, deg.
struct Row {
    name: &'static str,
    fixed: f64,
    swinging: f64,
}

impl Row {
    fn read(found: &Value, name: &'static str) -> Self {
        let [fixed, swinging] =
            ["fixed", "swinging"].map(|column| found[column][name].as_f64().unwrap());
        Self { name, fixed, swinging }
    }
}

/// ε in the plane of every shortcut.
fn figures_by_name(masses: &Masses) -> BTreeMap<&'static str, f64> {
    let branch = drive::branch();
    let stroke = MonotoneStroke::over(&branch, drive::stroke(&branch)).unwrap();
    let rows = shortcut_table(&stroke, masses, 1.0).unwrap();
    rows.iter().map(|r| (r.shortcut.name(), r.fidelity.planar.unwrap().value)).collect()
}

fn hold_motions(rows: &[Row], figures: &BTreeMap<&'static str, f64>) {
    let row = |name: &str| rows.iter().find(|r| r.name == name).unwrap();
    let of = |s: Shortcut| row(s.name());
    // Exact with the carrier fixed: what is left is the integrator's.
    assert!(of(Shortcut::Full).fixed < 1e-6 && of(Shortcut::NoRotorSplit).fixed < 1e-6);
    let balanced = of(Shortcut::Counterweighted);
    assert!(balanced.fixed < 1e-6 && balanced.swinging < 1e-6);
    // Worse by the table is worse in motion.
    assert!(of(Shortcut::ArmatureOnly).swinging > of(Shortcut::NoRotorSplit).swinging);
    assert!(of(Shortcut::NoRotorSplit).swinging > 2.0 * of(Shortcut::Full).swinging);
    assert!(of(Shortcut::ArmatureOnly).fixed > of(Shortcut::RodDropped).fixed);
    assert!(of(Shortcut::RodDropped).fixed > of(Shortcut::CrankWelded).fixed);
    // Of the size of the figure: no more than ε of the about 60 deg that the joint moves.
    for (name, figure) in figures {
        let largest = row(name).fixed.max(row(name).swinging);
        assert!(largest <= 60.0 * figure + 1e-6, "{name}: {largest} deg at ε {figure}");
    }
    // The engine's own loop is the exact linkage with a stiff pin, and worse than the direct joint with a soft one.
    for name in [TUNED, COUPLED] {
        assert!(row(name).fixed < 1e-3 && row(name).swinging < 1e-3, "{name}");
    }
    assert!(row(BY_DEFAULT).swinging > 2.0 * of(Shortcut::Full).swinging);
}
