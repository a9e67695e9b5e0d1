//! Two direct joints for two motors on a universal joint: no build weighs further off than the bound says.

use crate::ankles::{ankle_a, ankle_b, ankle_c, ankle_linear};

use nalgebra::{Matrix3, Vector3};
use unloop::drive::{Direct, Measure, Region, TwoRods, TwoRodsDrawing};
use unloop::dynamics::{
    ArmatureForm, Body, Inertia, LegParts, Rotor, TwoJointCertificate, TwoJointParts, TwoJointTree,
    energy_error, two_joint_fidelity, two_joint_tree,
};
use unloop::equivalence::{
    Basis, RegionLimits, RegionQuestion, SizeRanges, Zeroing, size_range, typed_range,
};
use unloop::numeric::Interval;

const DEG: f64 = std::f64::consts::PI / 180.0;

fn body(mass: f64, centre: [f64; 3], inertia: f64) -> Body {
    let tensor = Matrix3::new(0.5, 0.02, 0.01, 0.02, 0.9, -0.03, 0.01, -0.03, 1.0) * inertia;
    Body { mass, centre: Vector3::from(centre), inertia: Inertia::Tensor(tensor) }
}

/// What a drive with these input ends can have; of an actuator a rotor turns fast and is light.
fn parts(drawing: &TwoRodsDrawing, with_carrier: bool) -> TwoJointParts {
    let legs = drawing.legs.map(|leg| {
        if matches!(leg, unloop::drive::DrawnLeg::Crank { .. }) {
            LegParts {
                crank: Some(body(0.05, [0.02, 0.001, 0.002], 1e-5)),
                rod: Some(body(0.08, [0.1, -0.002, 0.003], 5e-4)),
                rotor: Some(Rotor { inertia: 1.5e-4, gear_ratio: -7.75, in_carrier: false }),
                ..LegParts::default()
            }
        } else {
            LegParts {
                housing: Some(body(0.2, [0.05, 0.002, 0.001], 3e-4)),
                nut: Some(body(0.06, [-0.03, 0.001, 0.002], 4e-5)),
                rotor: Some(Rotor { inertia: 4e-6, gear_ratio: 1.0, in_carrier: true }),
                ..LegParts::default()
            }
        }
    });
    TwoJointParts {
        legs,
        middle: Some(body(0.1, [0.001, 0.002, 0.003], 2e-5)),
        child: body(0.9, [0.03, 0.004, -0.05], 2e-3),
        carrier: with_carrier.then(|| body(2.5, [0.01, 0.003, 0.18], 2e-2)),
    }
}

fn ranges(drawing: &TwoRodsDrawing, tolerance: f64) -> SizeRanges {
    let by = |size: &unloop::drive::Size| match (size.name, size.measure) {
        ("lead", _) => 0.0,
        (_, Measure::Length) => tolerance,
        _ => 10.0 * tolerance,
    };
    let each = |of: fn(f64, f64, f64) -> Interval| {
        drawing.sizes().iter().map(|size| of(size.value, -by(size), by(size))).collect()
    };
    SizeRanges { all: each(size_range), typed: each(typed_range) }
}

/// A drive with parts, what stands in for it, and how far that is off as drawn.
struct Weighing {
    drawing: TwoRodsDrawing,
    drive: TwoRods,
    parts: TwoJointParts,
    direct: Direct,
    tree: TwoJointTree,
    turns: [[f64; 2]; 2],
    drawn: f64,
    certificate: TwoJointCertificate,
}

impl Weighing {
    fn new(drawing: TwoRodsDrawing, turns: [[f64; 2]; 2], with_carrier: bool) -> Self {
        let (drive, parts) = (drawing.drive().unwrap(), parts(&drawing, with_carrier));
        let region = Region { pitch: turns[0], roll: turns[1], pieces: 8 };
        let direct = Direct::best(&drive, &region).unwrap();
        let tree = two_joint_tree(&drive, &region, &parts, &direct, ArmatureForm::Motors).unwrap();
        let found = two_joint_fidelity(&drive, &region, &parts, &tree).unwrap();
        let certificate = TwoJointCertificate::new(&parts, &tree, found.over);
        Self { drawing, drive, parts, direct, tree, turns, drawn: found.worst.value, certificate }
    }

    fn bound(&self, tolerance: f64, limit: f64) -> Option<f64> {
        let question = RegionQuestion {
            drawing: &self.drawing,
            drive: &self.drive,
            turns: self.turns,
            direct: self.direct,
            limits: RegionLimits {
                angle: 1.0,
                ratio: 1.0,
                transmission_angle: 5.0 * DEG,
                ball_tilt: None,
            },
            basis: Basis::Tolerance,
            sizes: ranges(&self.drawing, tolerance),
            zeroing: Zeroing::OnEachRobot,
        };
        question.certify(&self.certificate, self.drawn, limit)
    }

    /// ε of the build of these sizes; `None` where it does not reach.
    fn error(&self, sizes: &[f64], joints: [f64; 2]) -> Option<f64> {
        let exactly: Vec<Interval> = sizes.iter().map(|x| Interval::point(*x)).collect();
        let drive = TwoRods::new(self.drawing.built(&exactly)?).ok()?;
        energy_error(&drive, joints, &self.parts, &self.tree).ok()
    }

    /// The build whose every size is at the end towards which the error rises in this pose.
    fn steepest(&self, typed: &[Interval], joints: [f64; 2]) -> Vec<f64> {
        let drawn: Vec<f64> = typed.iter().map(|range| range.mid()).collect();
        let rises = |k: usize| {
            let at = |end: f64| {
                let mut sizes = drawn.clone();
                sizes[k] = end;
                self.error(&sizes, joints).unwrap_or(0.0)
            };
            at(typed[k].hi()) > at(typed[k].lo())
        };
        typed.iter().enumerate().map(|(k, r)| if rises(k) { r.hi() } else { r.lo() }).collect()
    }
}

/// Random numbers that are the same on every run.
struct Random(u64);

impl Random {
    fn within(&mut self, [low, high]: [f64; 2]) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

fn weighings() -> impl Iterator<Item = Weighing> {
    let turns = [[-9.0 * DEG, 7.0 * DEG], [-4.0 * DEG, 5.0 * DEG]];
    [ankle_a(), ankle_b(), ankle_c(), ankle_linear()]
        .into_iter()
        .flat_map(move |drawing| [true, false].map(|with| Weighing::new(drawing, turns, with)))
}

#[test]
fn no_foot_weighs_further_off_than_the_bound_of_all_that_its_tolerances_allow() {
    let (mut random, mut bounds) = (Random(11), 0);
    for weighing in weighings() {
        for tolerance in [0.0, 1e-5, 5e-5] {
            let limit = 1.6 * weighing.drawn + 600.0 * tolerance;
            let Some(bound) = weighing.bound(tolerance, limit) else { continue };
            bounds += 1;
            assert!(weighing.drawn <= bound && bound <= limit + 1e-8);
            let typed = ranges(&weighing.drawing, tolerance).typed;
            let [pitch, roll] = weighing.turns;
            let corners = pitch.iter().flat_map(|p| roll.map(|r| [*p, r]));
            let inside: Vec<_> =
                (0..6).map(|_| [random.within(pitch), random.within(roll)]).collect();
            for joints in corners.chain(inside) {
                let steepest = weighing.steepest(&typed, joints);
                let anywhere: Vec<f64> =
                    typed.iter().map(|r| random.within([r.lo(), r.hi()])).collect();
                for sizes in [steepest, anywhere] {
                    let error = weighing.error(&sizes, joints).unwrap();
                    assert!(error <= bound, "{tolerance} {joints:?}: {error} {bound}");
                }
            }
        }
    }
    assert!(bounds >= 20, "{bounds}");
}

#[test]
fn the_bound_of_a_drawn_foot_is_close_to_what_it_weighs_off() {
    for weighing in weighings() {
        let bound = weighing.bound(0.0, 1.3 * weighing.drawn).unwrap();
        assert!(bound <= 1.3 * weighing.drawn, "{bound} {}", weighing.drawn);
    }
}

#[test]
fn a_limit_that_some_foot_breaks_is_not_proved() {
    for weighing in weighings() {
        let typed = ranges(&weighing.drawing, 5e-5).typed;
        let [[p, _], [r, _]] = weighing.turns;
        let worst = weighing.error(&weighing.steepest(&typed, [p, r]), [p, r]).unwrap();
        assert_eq!(weighing.bound(5e-5, 0.999 * worst), None, "{worst}");
    }
}
