//! A gripper whose cranks one nut turns: everything that is told of it against its parts cut free and against builds worked out
//! by circles, which share nothing with the program.

use std::f64::consts::{FRAC_PI_2, TAU};
use std::fs;
use std::path::Path;

use serde_json::Value;
use unloop::design::{AnyDesign, Design, read_any};
use unloop::equivalence::{Criterion, Outcome, Verdict};
use unloop::handover::compare::{RowOutcome, compare};
use unloop::handover::{ActuatorUnits, Ask, EmitFault, Form, Format, emit_drawn};
use unloop::study::{
    Check, Mechanism, PoseRow, ToleranceRequest, check_on, loads, stroke, tolerance,
};
use unloop::tolerance::Distribution;

const FILES: [&str; 3] = ["gripper_nut", "gripper_nut_screw", "gripper_nut_finger"];

/// The model with changes to its files, each (file, what stands there, what is to stand there).
fn changed(changes: &[(usize, &str, &str)]) -> Result<Design, String> {
    let folder = tempfile::tempdir().unwrap();
    for (k, name) in FILES.iter().enumerate() {
        let mut text = fs::read_to_string(format!("models/drives/{name}.toml")).unwrap();
        for (_, from, to) in changes.iter().filter(|(file, ..)| *file == k) {
            assert!(text.contains(from), "{name} has no {from}");
            text = text.replace(from, to);
        }
        fs::write(folder.path().join(format!("{name}.toml")), text).unwrap();
    }
    read(&folder.path().join("gripper_nut.toml"))
}

fn read(path: &Path) -> Result<Design, String> {
    let bytes = fs::read(path).unwrap();
    match read_any(path.to_str().unwrap(), &bytes) {
        Ok((AnyDesign::FourBar(design), _)) => Ok(*design),
        Ok(_) => panic!("no finger at the end"),
        Err(rejected) => Err(rejected.to_string()),
    }
}

fn judged(changes: &[(usize, &str, &str)]) -> (Design, Mechanism, Check) {
    let design = changed(changes).unwrap();
    let mechanism = Mechanism::of(&design).unwrap();
    let check = check_on(&design, &mechanism).unwrap();
    (design, mechanism, check)
}

fn rows(changes: &[(usize, &str, &str)], steps: usize) -> Vec<PoseRow> {
    let (design, mechanism, check) = judged(changes);
    stroke(&design, &mechanism, &check.direct_joint, steps)
}

// The drawing, by circles and lines.

const LEAD: f64 = -0.002;
const LEVER: f64 = 50.75;

/// Sizes of a build: of the nut's drive (ground, rod, lever, height of the guide) and of the finger (ground, crank, coupler,
/// rocker), m.
#[derive(Clone, Copy)]
struct Build {
    nut: [f64; 4],
    finger: [f64; 4],
}

const DRAWN: Build = Build { nut: [0.06, 0.032, 0.016, 0.024], finger: [0.02, 0.04, 0.02, 0.04] };

impl Build {
    /// The lever's pin from the joint axis, and the rod from the nut to it, at the crank turn `x`.
    fn rod(&self, x: f64) -> ([f64; 2], [f64; 2]) {
        let [_, rod, lever, guide] = self.nut;
        let angle = LEVER.to_radians() + x;
        let pin = [lever * angle.cos(), lever * angle.sin()];
        let up = pin[1] - guide;
        (pin, [(rod * rod - up * up).sqrt(), up])
    }

    /// The motor's turn where the crank's is `x`, both from this build's own zero pose.
    fn motor(&self, x: f64) -> f64 {
        let nut = |x: f64| {
            let (pin, along) = self.rod(x);
            self.nut[0] + pin[0] - along[0]
        };
        TAU * (nut(x) - nut(0.0)) / LEAD
    }

    /// P and the coupler's angle at crank angle `phi`, Q left of P→B.
    fn coupler(&self, phi: f64) -> ([f64; 2], f64) {
        let [g, a, b, c] = self.finger;
        let p = [a * phi.cos(), a * phi.sin()];
        let (dx, dy) = (g - p[0], -p[1]);
        let d = dx.hypot(dy);
        let along = (d * d + b * b - c * c) / (2.0 * d);
        let off = (b * b - along * along).sqrt();
        let w = [(along * dx - off * dy) / d, (along * dy + off * dx) / d];
        (p, w[1].atan2(w[0]))
    }

    /// Turn of the pad and its displacement from this build's zero pose at the crank turn `x`.
    fn pad(&self, x: f64) -> (f64, [f64; 2]) {
        let ((from, zero), (p, angle)) = (self.coupler(FRAC_PI_2), self.coupler(FRAC_PI_2 + x));
        let (tilt, [tx, ty]) = (angle - zero, [0.01, 0.03]);
        let arm = [tx * tilt.cos() - ty * tilt.sin(), tx * tilt.sin() + ty * tilt.cos()];
        (tilt, [p[0] - from[0] + arm[0] - tx, p[1] - from[1] + arm[1] - ty])
    }

    /// Tilt (rad), shift, opening (m) and grip error against a pad that only shifts on a circle of 40 mm, its crank turned by
    /// the motor's turn over `ratio`.
    fn errors(&self, x: f64, ratio: f64) -> [f64; 4] {
        let (tilt, moved) = self.pad(x);
        let y = self.motor(x) / ratio;
        let h = 1e-4;
        let slope = |f: &dyn Fn(f64) -> f64| {
            (8.0 * (f(x + h) - f(x - h)) - f(x + 2.0 * h) + f(x - 2.0 * h)) / (12.0 * h)
        };
        let closed = slope(&|x| -self.pad(x).1[0]);
        let own = closed / slope(&|x| self.motor(x));
        let model = 0.04 * y.cos() / ratio;
        [
            tilt,
            moved[1] - 0.04 * (y.cos() - 1.0),
            2.0 * (moved[0] + 0.04 * y.sin()),
            own / model - 1.0,
        ]
    }
}

fn cross(p: [f64; 2], q: [f64; 2]) -> f64 {
    p[0] * q[1] - p[1] * q[0]
}

#[test]
fn the_grip_is_what_screw_rod_and_finger_cut_free_let_through() {
    let build = DRAWN;
    let all = rows(&[], 41);
    assert_eq!(all.len(), 41);
    for row in all {
        let x = row.turn;
        assert!((row.motor - build.motor(x)).abs() < 1e-9, "{} {}", row.motor, build.motor(x));
        // 1 N m on the screw pushes the nut along its guide, which bears what the rod pushes across.
        let thrust = TAU / LEAD;
        let (pin, along) = build.rod(x);
        let rod = thrust / along[0];
        let on_crank = cross(pin, along.map(|w| w * rod));
        // 1 N against n = (−1, 0) at the pad: the rocker's thrust by the coupler's moments about P, the rest is the crank's.
        let ([px, py], theta) = build.coupler(FRAC_PI_2 + x);
        let coupler = [0.02 * theta.cos(), 0.02 * theta.sin()];
        let q = [px + coupler[0] - 0.02, py + coupler[1]];
        let tilt = build.pad(x).0;
        let arm = [0.01 * tilt.cos() - 0.03 * tilt.sin(), 0.01 * tilt.sin() + 0.03 * tilt.cos()];
        let rocker = -cross(arm, [1.0, 0.0]) / cross(coupler, q);
        let at_p = [-1.0 - rocker * q[0], -rocker * q[1]];
        let per_newton = cross([px, py], at_p);
        let grip = (on_crank / (2.0 * per_newton)).abs();
        let told = row.pad.unwrap().pose.grip_per_torque();
        assert!((told / grip - 1.0).abs() < 1e-9, "at {x}: {told} {grip}");
        assert!((row.pad.unwrap().grip.unwrap() / (0.08 * 0.37 * grip) - 1.0).abs() < 1e-9);
        assert!((row.pad.unwrap().opening - (0.04 + 2.0 * build.pad(x).1[0])).abs() < 1e-12);
    }
}

#[test]
fn what_goes_into_the_screw_comes_out_at_the_pads() {
    // Work in = work out over small turns of the motor: 1 N m · dm = 2 · grip · (closing of each pad).
    let all = rows(&[], 4001);
    for pair in all.windows(2).step_by(97) {
        let [a, b] = [&pair[0], &pair[1]].map(|row| row.pad.unwrap());
        let closed = a.opening - b.opening;
        let middle = 0.5 * (a.pose.grip_per_torque() + b.pose.grip_per_torque());
        let turned = pair[1].motor - pair[0].motor;
        assert!((middle * closed / turned - 1.0).abs() < 1e-6, "{}", pair[0].motor);
    }
}

/// Numbers in (−1, 1) that fill a cube of seven dimensions evenly: multiples of powers of the root of x⁸ = x + 1.
fn evenly_spread(index: u32) -> [f64; 8] {
    const ROOT: f64 = 1.096_981_557_798_559_8;
    std::array::from_fn(|k| {
        let step = ROOT.powi(-(i32::try_from(k).unwrap() + 1));
        2.0 * (0.5 + f64::from(index) * step).fract() - 1.0
    })
}

fn with(deviations: [f64; 8]) -> Build {
    let mut build = DRAWN;
    let sizes = build.nut.iter_mut().chain(build.finger.iter_mut());
    sizes.zip(deviations).for_each(|(size, by)| *size += 2e-5 * by);
    build
}

#[test]
fn no_build_of_both_drives_is_beyond_what_is_proved_and_the_worst_come_near() {
    let (_, mechanism, found) = judged(&[]);
    assert_eq!(found.verdict, Verdict::Equivalent);
    assert!(found.proved);
    let ratio = found.finger.as_ref().unwrap().crank_drive.unwrap().ratio;
    let [from, to] = mechanism.stroke.motor;
    let mut worst = [0.0_f64; 4];
    let corners = (0..256_u32)
        .map(|bits| with(std::array::from_fn(|k| if bits >> k & 1 == 1 { 1.0 } else { -1.0 })));
    for build in corners.chain((0..1500).map(|k| with(evenly_spread(k)))) {
        for k in 0..=24 {
            let errors = build.errors(from + (to - from) * f64::from(k) / 24.0, ratio);
            worst.iter_mut().zip(errors).for_each(|(most, e)| *most = most.max(e.abs()));
        }
    }
    for (criterion, seen) in Criterion::OF_PAD.into_iter().zip(worst) {
        let c = found.criterion(criterion).unwrap();
        let bound = c.bound.unwrap().value();
        assert_eq!(c.outcome, Outcome::Holds);
        assert!(seen <= bound + 1e-7, "{criterion:?}: {seen} beyond {bound}");
        assert!(seen > 0.9 * bound, "{criterion:?}: {seen} of {bound}");
    }
}

#[test]
fn the_drawn_figures_are_those_of_the_drawing_worked_out_by_circles() {
    let (_, mechanism, found) = judged(&[(0, "preset = \"training\"", "over = \"nominal\"")]);
    let ratio = found.finger.as_ref().unwrap().crank_drive.unwrap().ratio;
    let [from, to] = mechanism.stroke.motor;
    let mut worst = [0.0_f64; 4];
    for k in 0..=2000 {
        let errors = DRAWN.errors(from + (to - from) * f64::from(k) / 2000.0, ratio);
        worst.iter_mut().zip(errors).for_each(|(most, e)| *most = most.max(e.abs()));
    }
    for (criterion, seen) in Criterion::OF_PAD.into_iter().zip(worst) {
        let nominal = found.criterion(criterion).unwrap().nominal.unwrap().value();
        assert!((nominal - seen).abs() < 1e-6 * seen + 1e-9, "{criterion:?}: {nominal} {seen}");
    }
}

#[test]
fn what_refutes_it_is_a_build_of_both_drives_that_has_that_figure() {
    let (_, _, found) = judged(&[(0, "[accept]", "[accept]\nopening = \"0.4 mm\"")]);
    assert_eq!(found.verdict, Verdict::NotEquivalent);
    let told = serde_json::to_value(&found).unwrap();
    let witness = &told["witness"];
    let size = |stage: usize, key: &str| {
        witness["drive"]["stages"][stage][key].as_f64().unwrap_or_else(|| panic!("{witness}"))
    };
    let build = Build {
        nut: ["ground_m", "coupler_m", "rocker_m", "guide_y_m"].map(|key| size(0, key)),
        finger: ["ground_m", "crank_m", "coupler_m", "rocker_m"].map(|key| size(1, key)),
    };
    let ratio = found.finger.as_ref().unwrap().crank_drive.unwrap().ratio;
    let at = found.criterion(Criterion::Opening).unwrap();
    // A parallelogram as drawn: the joint turns as the crank does.
    let opening = build.errors(witness["joint_rad"].as_f64().unwrap(), ratio)[2].abs();
    let seen = at.seen.unwrap().value();
    assert!((opening - seen).abs() < 1e-9 && seen > 0.4e-3, "{opening} {seen}");
}

#[test]
fn builds_drawn_at_random_are_of_both_drives() {
    let request = |distribution| ToleranceRequest { samples: 4000, seed: 3, distribution };
    let design = changed(&[]).unwrap();
    let found = tolerance(&design, &request(Distribution::Uniform), &|_| true).unwrap();
    let ratio = judged(&[]).2.finger.unwrap().crank_drive.unwrap().ratio;
    let [from, to] = Mechanism::of(&design).unwrap().stroke.motor;
    let mut means = [0.0; 4];
    for index in 0..2000 {
        let build = with(evenly_spread(index));
        let mut worst = [0.0_f64; 4];
        for k in 0..=64 {
            let errors = build.errors(from + (to - from) * f64::from(k) / 64.0, ratio);
            worst.iter_mut().zip(errors).for_each(|(most, e)| *most = most.max(e.abs()));
        }
        means.iter_mut().zip(worst).for_each(|(sum, e)| *sum += e / 2000.0);
    }
    let statistics = found.statistics.as_ref().unwrap();
    for (criterion, theirs) in Criterion::OF_PAD.into_iter().zip(means) {
        let figure = statistics.of(criterion).unwrap();
        let ours = figure.mean.value;
        assert!((ours / theirs - 1.0).abs() < 0.02, "{criterion:?} {ours} {theirs}");
        let bound = found.worst.iter().find(|w| w.criterion == criterion).unwrap().bound.unwrap();
        assert!(figure.quantiles.iter().all(|q| q.figure.value <= bound * 1.000_1));
    }
    // Without tolerances on the finger the nut's alone scatter.
    let exact = changed(&[(2, "±0.02 ", ""), (2, "set_by = \"jig\"\n", "")]).unwrap();
    let alone = tolerance(&exact, &request(Distribution::Uniform), &|_| true).unwrap();
    let spread = alone.statistics.unwrap();
    let quantiles = &spread.of(Criterion::Opening).unwrap().quantiles;
    assert!(quantiles[4].figure.value > quantiles[0].figure.value * 1.01);
}

#[test]
fn an_unpowered_screw_holds_what_its_friction_leaves_of_the_load() {
    let found = judged(&[]).2.finger.unwrap();
    assert!(found.crank_drive.unwrap().locks_itself);
    assert!(found.unpowered.unwrap().holds.iter().all(|held| held.is_infinite()));
    let quick = [
        (1, "\"37 %\"", "\"80 %\""),
        (0, "rated_torque", "holding_friction = \"0.01 N m\"\nrated_torque"),
    ];
    let (design, _, found) = judged(&quick);
    let found = found.finger.unwrap();
    assert!(!found.crank_drive.unwrap().locks_itself);
    // A load drives a screw with tan(α − ρ)/tan α of its work, where driving it takes tan α/tan(α + ρ).
    let lead = (0.002 / (std::f64::consts::PI * 0.007)).atan();
    let friction = (lead.tan() / 0.8).atan() - lead;
    let back = (lead - friction).tan() / lead.tan();
    let held = found.unpowered.unwrap().holds;
    let grip = found.grip.map(|at| at.value);
    for (held, grip) in held.iter().zip(grip) {
        assert!((held / (0.01 * grip / back) - 1.0).abs() < 1e-6, "{held} {grip} {back}");
    }
    let duty = loads(&design).unwrap();
    let duty = duty.finger().unwrap().peak.unwrap();
    assert!((duty.jaw.guaranteed.value / (0.08 * 0.8 * grip[0]) - 1.0).abs() < 1e-9);
    let [low, high] = duty.within_tolerances.unwrap();
    assert!(low < 0.08 * grip[0] && 0.08 * grip[1] < high && low > 0.95 * 0.08 * grip[0]);
    // A screw of which the thread is not told is not taken to help.
    let plain = [(1, "efficiency    = \"37 %\"\nmean_diameter = \"7 mm\"\n", ""), quick[1]];
    let found = judged(&plain).2.finger.unwrap();
    let held = found.unpowered.unwrap().holds[0];
    assert!((held / (0.01 * found.grip[0].value) - 1.0).abs() < 1e-6);
}

fn in_step(changes: &[(usize, &str, &str)]) -> Vec<Value> {
    let (design, mechanism, check) = judged(changes);
    let mut found = Vec::new();
    for format in Format::ALL {
        for (form, actuator) in [
            (Form::Direct, ActuatorUnits::Joint),
            (Form::Direct, ActuatorUnits::Motor),
            (Form::Loop, ActuatorUnits::Joint),
        ] {
            if form == Form::Loop && !format.holds_loops() {
                continue;
            }
            let ask = Ask { whole: true, anyway: true, actuator, ..Ask::new(form, format) };
            let emission = emit_drawn(&design, &mechanism, &check, &ask)
                .unwrap_or_else(|faults| panic!("{ask:?} {faults:?}"));
            let mut none = |_: &str| Err(String::new());
            let robot = unloop::robot::read("r", emission.file.clone().into_bytes(), &mut none)
                .unwrap_or_else(|rejected| panic!("{rejected}"));
            let compared = compare(&design, &mechanism, &check, &[robot], None).unwrap();
            let off: Vec<String> = compared
                .joints()
                .flat_map(|joint| joint.rows.clone())
                .filter(|row| row.outcome == RowOutcome::Differs && row.quantity != "verdict")
                .map(|row| format!("{}: {}", row.title(), row.why))
                .collect();
            assert!(off.is_empty(), "{ask:?} {off:?}\n{}", emission.file);
            let joints: Value = serde_json::from_str(&emission.joint_json).unwrap();
            found.push(joints[0].clone());
        }
    }
    found
}

const LOSSES: &str = "peak_torque      = \"0.08 N m\"\ndamping = \"1e-4 N m s/rad\"\nfriction = \"0.002 N m\"\n\
    position_gain = \"0.5 N m/rad\"\nvelocity_gain = \"0.01 N m s/rad\"\nstops = [\"-900 deg\", \"5000 deg\"]";

#[test]
fn what_is_written_has_one_joint_of_the_crank_that_the_motor_turns_by_a_constant() {
    let losses = (0, "peak_torque      = \"0.08 N m\"", LOSSES);
    let variants: [&[(usize, &str, &str)]; 5] = [
        &[],
        &[losses],
        &[
            losses,
            (0, "axis             =", "motor_sign = -1\nmirrored = true\naxis             ="),
        ],
        &[
            (0, "set_by = \"jig\"", "set_by = \"jig\"\nmotor_reads = \"100 deg\""),
            (2, "set_by = \"jig\"", "set_by = \"jig\"\nmotor_reads = \"7 deg\""),
        ],
        &[(0, "\"counter\"", "\"slide\"")],
    ];
    for changes in variants {
        let is_slide = changes.iter().any(|(_, _, to)| *to == "\"slide\"");
        for joint in in_step(changes) {
            let table = joint["over_stroke"].as_array().unwrap();
            let is_pair = joint["model"] == "direct" && !is_slide;
            for row in table.iter().filter(|_| is_pair) {
                let of = |key: &str| row[key].as_f64().unwrap();
                let own = |key: &str| joint[key].as_f64().unwrap();
                let motor = own("motor_reads_rad")
                    + own("motor_sign") * own("ratio") * (of("joint_rad") - own("joint_reads_rad"));
                // The constant is off by no more than the drive is, 0.27 deg of the crank.
                let off = (of("motor_rad") - motor) / own("ratio");
                assert!(off.abs() < 0.28_f64.to_radians(), "{off}");
                let speed = 250.0 / of("ratio").abs();
                assert!((of("speed_rad_per_s") / speed - 1.0).abs() < 1e-9);
            }
            let peak = |name: &str| joint["torque_n_m"][name].as_f64();
            if is_pair {
                let (least, most) = (peak("guaranteed").unwrap(), peak("never_exceed").unwrap());
                for row in table {
                    let ratio = row["ratio"].as_f64().unwrap().abs();
                    assert!(least <= 0.08 * 0.37 * ratio && 0.08 * ratio <= most);
                }
            }
        }
    }
}

#[test]
fn stops_of_the_motor_end_the_crank_where_the_nut_has_it() {
    let losses = (0, "peak_torque      = \"0.08 N m\"", LOSSES);
    let joint = &in_step(&[losses])[0];
    let low = joint["limit_rad"][0].as_f64().unwrap();
    assert!((DRAWN.motor(low) - (-900_f64).to_radians()).abs() < 1e-8, "{low}");
    assert_eq!(joint["limit_set_by"], serde_json::json!(["motor stop", "stroke"]));
}

#[test]
fn a_motor_that_opens_as_it_rises_is_told_alike() {
    let turned = [(1, "\"-2 mm\"", "\"2 mm\"")];
    let (there, back) = (judged(&[]).2, judged(&turned).2);
    assert_eq!(there.verdict, back.verdict);
    for (a, b) in there.criteria.iter().zip(&back.criteria) {
        let [a, b] = [a, b].map(|c| c.bound.map(unloop::equivalence::Figure::value));
        assert_eq!(a.is_some(), b.is_some());
        assert!(a.zip(b).is_none_or(|(a, b)| (a / b - 1.0).abs() < 1e-6), "{a:?} {b:?}");
    }
    let told = serde_json::to_value(&back).unwrap();
    let ends = |key: &str| told["stroke"][key].as_array().unwrap().clone();
    let (motor, joint) = (ends("motor_rad"), ends("joint_rad"));
    assert!(motor[0].as_f64() < motor[1].as_f64() && joint[0].as_f64() > joint[1].as_f64());
    in_step(&turned);
}

#[test]
fn what_no_verdict_or_file_has_of_a_finger_behind_a_nut_is_refused_by_name() {
    let refused = |changes: &[(usize, &str, &str)], words: &str| {
        let told = changed(changes).unwrap_err();
        assert!(told.contains(words), "{told}");
    };
    refused(&[(2, "\"coupler\"", "\"rocker\"")], "names a finger that is not read behind a drive");
    let stages = "\"gripper_nut_screw.toml\", \"gripper_nut_finger.toml\"";
    let swapped = "\"gripper_nut_finger.toml\", \"gripper_nut_screw.toml\"";
    refused(&[(0, stages, swapped)], "names a gripper's finger");
    let mass = "[mass.child]\nmass = \"1 kg\"\ncenter = [\"0 mm\", \"0 mm\"]\ninertia = \"1 kg m2\"\n[accept]";
    refused(&[(0, "[accept]", mass)], "`mass` does not belong here");
    let inertia = [(0, "[accept]", "[accept]\ninertia = \"5 %\"")];
    refused(&inertia, "`[accept] inertia` is not judged here");
    let offset = [(0, "stand_in", "offset = \"1 deg\"\nstand_in")];
    refused(&offset, "`[direct_joint] offset` has no meaning here");
    let angle = [(0, "[accept]", "[accept]\nangle = \"1 deg\"")];
    refused(&angle, "`[accept] angle` is not judged here");
    let away = [(2, "[linkage]", "axis_points = \"away\"\n[linkage]")];
    refused(&away, "seen from the other side");
    let (design, mechanism, check) = judged(&[(0, "\"counter\"", "\"hinge\"")]);
    let ask = Ask { anyway: true, ..Ask::new(Form::Direct, Format::Urdf) };
    let faults = emit_drawn(&design, &mechanism, &check, &ask).unwrap_err();
    let is_hinge = |fault: &EmitFault| {
        matches!(fault, EmitFault::Unfit { key: "[direct_joint] stand_in", .. })
    };
    assert!(faults.iter().any(is_hinge), "{faults:?}");
    let (design, mechanism, check) = judged(&[]);
    assert!(unloop::study::proof(&design, &mechanism, &check).is_err());
}

#[test]
fn a_stroke_beyond_the_nuts_own_end_points_at_the_figure_of_the_users_line() {
    let design = changed(&[(0, "\"1100 deg\"", "\"9000 deg\"")]).unwrap();
    let faults = Mechanism::of(&design).unwrap_err();
    assert_eq!(faults.len(), 1);
    let told = design.render(&[faults[0].diagnostic(&design)], false);
    assert!(told.contains("the stroke runs past what turns the crank"), "{told}");
    assert!(told.contains("9000 deg") && told.contains("motor angle"), "{told}");
}
