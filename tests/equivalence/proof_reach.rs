//! How far a proof reaches: nothing that holds is left undecided, and what is said to be the most is nearly that.
//!
//! The truth is taken from every corner of the box in many poses, in plain arithmetic, without the searches.

use crate::realistic;

use std::f64::consts::TAU;

use realistic::Realistic;
use unloop::design::read;
use unloop::equivalence::{
    Budget, Constants, Criterion, DirectJoint, Family, Finding, LengthName, Limits, Outcome,
    Prover, Typed, Verdict, Zeroing, largest_alone, largest_stroke, largest_tolerance, size_range,
    typed_range,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};
use unloop::numeric::Interval;
use unloop::study::{Check, check};

/// A drawing with the direct joint that stands in for it.
struct Drawing {
    branch: Branch,
    joint: DirectJoint,
    zeroing: Zeroing,
    limits: Limits,
    turns: [f64; 2],
    family: Family,
}

fn limits(angle_deg: f64, ratio: f64, floor_deg: f64) -> Limits {
    Limits { angle: angle_deg.to_radians(), ratio, transmission_angle: floor_deg.to_radians() }
}

impl Drawing {
    fn of(design: &Realistic) -> Self {
        let [g, a, b, c] = design.metres();
        let bars = FourBar { ground: g[0], crank: a[0], coupler: b[0], rocker: c[0] };
        let closure = if design.zero[0] > 0.0 { Closure::Open } else { Closure::Crossed };
        let branch = Branch::through(bars, design.zero[0].to_radians(), closure).unwrap();
        let box_of = |of: fn(f64, f64, f64) -> Interval| {
            let [ground, crank, coupler, rocker] = [g, a, b, c].map(|d| of(d[0], d[1], d[2]));
            FourBar { ground, crank, coupler, rocker }
        };
        let still = Interval::ZERO;
        let typed = Typed { bars: box_of(typed_range), crank_error: still };
        let family = Family { bars: box_of(size_range), crank_error: still, typed };
        let zeroing = if design.jig { Zeroing::OnEachRobot } else { Zeroing::AsDrawn };
        let limits = match design.preset {
            "invisible" => limits(0.05, 0.005, 40.0),
            "training" => limits(0.5, 0.02, 30.0),
            _ => limits(1.0, 0.05, 20.0),
        };
        Self::new(branch, zeroing, limits, design.motor.map(f64::to_radians), family)
    }

    fn new(
        branch: Branch,
        zeroing: Zeroing,
        limits: Limits,
        turns: [f64; 2],
        family: Family,
    ) -> Self {
        let joint = {
            let stroke = Stroke::on(&branch, Drive::Motor, turns).unwrap();
            Constants { ratio: None, offset: Some(0.0) }
                .resolve(&Sweep::over(&branch, stroke).unwrap())
        };
        Self { branch, joint, zeroing, limits, turns, family }
    }

    fn parallelogram(ground: f64, arm: f64, turns_deg: [f64; 2], limits: Limits) -> Self {
        let bars = FourBar { ground, crank: arm, coupler: ground, rocker: arm };
        let branch = Branch::through(bars, 90.0_f64.to_radians(), Closure::Open).unwrap();
        let turns = turns_deg.map(f64::to_radians);
        let family = Family::symmetric(&bars, 0.0, Interval::ZERO);
        Self::new(branch, Zeroing::OnEachRobot, limits, turns, family)
    }

    fn prover(&self) -> Prover<'_> {
        Prover::new(&self.branch, &self.joint, self.zeroing, self.limits)
    }

    /// Largest angle and ratio error and smallest transmission angle of one linkage over the poses; `None` where it
    /// does not close.
    fn figures(&self, bars: FourBar, error: f64, turns: [f64; 2], poses: u32) -> Option<[f64; 3]> {
        let (drawn, closure) = (&self.branch, self.branch.closure());
        let built = Branch::through(bars, drawn.zero_crank() + error, closure).ok()?;
        let off = match self.zeroing {
            Zeroing::OnEachRobot => 0.0,
            Zeroing::AsDrawn => {
                let apart = built.zero_lead() - drawn.zero_lead();
                libm::remainder(apart, TAU) + error
            }
        };
        let mut worst = [0.0_f64, 0.0, f64::INFINITY];
        for k in 0..poses {
            let turn = turns[0] + (turns[1] - turns[0]) * f64::from(k) / f64::from(poses - 1);
            built.reach(turn).ok()?;
            let pose = built.pose(turn).ok()?;
            let angle = built.joint_turn(turn).ok()? + off - turn / self.joint.ratio;
            let angle = angle - self.joint.offset;
            let ratio = pose.transmission_ratio() / self.joint.ratio - 1.0;
            worst = [
                worst[0].max(angle.abs()),
                worst[1].max(ratio.abs()),
                worst[2].min(pose.transmission_angle()),
            ];
        }
        Some(worst)
    }

    /// The same over the corners of `family`.
    fn worst(&self, family: &Family, turns: [f64; 2], poses: u32) -> Option<[f64; 3]> {
        let box_ = &family.typed;
        let mut worst = [0.0_f64, 0.0, f64::INFINITY];
        for corner in 0..32_u32 {
            let end = |range: Interval, bit: u32| {
                if corner >> bit & 1 == 0 { range.lo() } else { range.hi() }
            };
            let bars = FourBar {
                ground: end(box_.bars.ground, 0),
                crank: end(box_.bars.crank, 1),
                coupler: end(box_.bars.coupler, 2),
                rocker: end(box_.bars.rocker, 3),
            };
            if box_.crank_error.width() == 0.0 && corner >= 16 {
                break;
            }
            let figures = self.figures(bars, end(box_.crank_error, 4), turns, poses)?;
            worst = [worst[0].max(figures[0]), worst[1].max(figures[1]), worst[2].min(figures[2])];
        }
        Some(worst)
    }

    /// Whether all corners hold in all poses looked at.
    fn holds(&self, family: &Family, turns: [f64; 2], poses: u32) -> bool {
        self.worst(family, turns, poses).is_some_and(|[angle, ratio, mu]| {
            angle <= self.limits.angle
                && ratio <= self.limits.ratio
                && mu >= self.limits.transmission_angle
        })
    }

    /// The largest half width of `family` with which no corner breaks a limit, to 0.1 %.
    fn true_half_width(&self, size: f64, family: impl Fn(f64) -> Family) -> Option<f64> {
        let holds = |t: f64| self.holds(&family(t), self.turns, 61);
        if !holds(0.0) {
            return None;
        }
        let (mut low, mut high) = (0.0, 0.5 * size);
        if holds(high) {
            return Some(high);
        }
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if holds(middle) {
                low = middle
            } else {
                high = middle
            }
            if high - low < 1e-3 * low {
                break;
            }
        }
        Some(high)
    }
}

/// Where a share of a hundred designs may miss 2 %.
fn nearly_all(shares: &[f64], what: &str) {
    for share in shares {
        assert!(*share <= 1.0 + 1e-6, "{what}: {share} of the truth");
    }
    let near = shares.iter().filter(|share| **share >= 0.98).count();
    assert!(100 * near >= 95 * shares.len() && shares.len() >= 12, "{what}: {shares:?}");
}

#[test]
fn the_largest_tolerance_is_what_could_be_had_and_never_more() {
    let (mut all, mut alone) = (Vec::new(), Vec::new());
    for design in realistic::designs(11).take(100) {
        let drawing = Drawing::of(&design);
        let (bars, prover) = (*drawing.branch.bars(), drawing.prover().with_budget(Budget(1500)));
        let shortest = bars.ground.min(bars.crank).min(bars.coupler).min(bars.rocker);
        let every = |t: f64| Family::symmetric(&bars, t, Interval::ZERO);
        let truth = drawing.true_half_width(shortest, every);
        let found = largest_tolerance(&prover, &drawing.branch, Interval::ZERO, drawing.turns);
        assert!(truth.is_some() || found.is_none(), "{design:?} {found:?}");
        if let Some(truth) = truth.filter(|truth| *truth > 1e-6 * shortest) {
            all.push(found.unwrap_or(0.0) / truth);
        }
        let length = LengthName::ALL[all.len() % 4];
        let one = |t: f64| drawing.family.with_length(length, &bars, t);
        let truth = drawing.true_half_width(length.of(&bars), one);
        let found = largest_alone(&prover, &drawing.branch, &drawing.family, length, drawing.turns);
        assert!(truth.is_some() || found.is_none(), "{design:?} {found:?}");
        if let Some(truth) = truth.filter(|truth| *truth > 1e-6 * length.of(&bars)) {
            alone.push(found.unwrap_or(0.0) / truth);
        }
    }
    nearly_all(&all, "all four lengths");
    nearly_all(&alone, "one length alone");
}

#[test]
fn each_end_of_the_stroke_goes_as_far_as_it_could_by_itself() {
    let mut shares = Vec::new();
    for design in realistic::designs(12).take(100) {
        let drawing = Drawing::of(&design);
        let (family, [from, to]) = (&drawing.family, drawing.turns);
        let prover = drawing.prover().with_budget(Budget(1500));
        let Some(found) = largest_stroke(&prover, &drawing.branch, family, drawing.turns) else {
            assert!(!drawing.holds(family, drawing.turns, 181), "{design:?}");
            continue;
        };
        assert!(drawing.holds(family, found, 721), "{design:?} {found:?}");
        let whole = drawing.holds(family, drawing.turns, 181);
        let centre = 0.0_f64.clamp(from, to);
        let farthest = |start: f64, end: f64| {
            let step = 2e-4 * (to - from).copysign(end - start);
            let mut turn = start;
            while (turn + step - end) * step < 0.0 && drawing.holds(family, [turn + step; 2], 2) {
                turn += step;
            }
            turn
        };
        let truth = if whole {
            [farthest(from, to - TAU), farthest(to, from + TAU)]
        } else {
            [farthest(centre, from), farthest(centre, to)]
        };
        shares.push((found[1] - found[0]) / (truth[1] - truth[0]) / (1.0 + 1e-3));
    }
    nearly_all(&shares, "stroke");
}

fn checked(text: &str) -> Check {
    let design = read("design.toml", text.as_bytes()).unwrap_or_else(|r| panic!("{r}")).0;
    check(&design).unwrap_or_else(|f| panic!("{f:?}"))
}

const SHORT_CRANKS: [&str; 3] = [
    "name = \"x\"\n[linkage]\nground = \"300 ±0.5 mm\"\ncrank = \"25 mm\"\ncoupler = \"300 ±0.5 mm\"\nrocker = \"25 mm\"\n\
     [zero]\ncrank = \"90 ±0.5 deg\"\nrocker = \"90 deg\"\nset_by = \"jig\"\n[stroke]\njoint = [\"-5 deg\", \"5 deg\"]\n",
    "name = \"x\"\n[linkage]\nground = \"300 mm ISO 2768-m\"\ncrank = \"25 mm\"\ncoupler = \"300 mm ISO 2768-m\"\nrocker = \"25 mm\"\n\
     [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\nset_by = \"jig\"\n[stroke]\njoint = [\"-35 deg\", \"40 deg\"]\n[accept]\npreset = \"coarse\"\n",
    "name = \"x\"\n[linkage]\nground = \"400 ±0.2 mm\"\ncrank = \"20 ±0.2 mm\"\ncoupler = \"400 ±0.2 mm\"\nrocker = \"20 ±0.2 mm\"\n\
     [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\nset_by = \"jig\"\n[stroke]\nmotor = [\"-35 deg\", \"40 deg\"]\n\
     [accept]\nangle = \"5 deg\"\nratio = \"20 %\"\ntransmission_angle = \"20 deg\"\n",
];

#[test]
fn a_drive_with_a_short_crank_that_holds_is_not_left_undecided() {
    for text in SHORT_CRANKS {
        let check = checked(text);
        assert_eq!(check.verdict, Verdict::Equivalent, "{text}{}", check.reason);
        assert!(check.proved);
    }
}

#[test]
fn bounds_of_short_cranks_are_no_more_than_two_thousandths_above_the_truth() {
    let half_degree = 0.5_f64.to_radians();
    let cases = [
        (0.3, 0.025, [0.5e-3, 0.0], half_degree, [-5.0, 5.0], limits(0.5, 0.02, 30.0)),
        (0.3, 0.025, [0.5e-3, 0.0], 0.0, [-35.0, 40.0], limits(1.0, 0.05, 20.0)),
        (0.4, 0.02, [0.2e-3, 0.2e-3], 0.0, [-35.0, 40.0], limits(5.0, 0.2, 20.0)),
        (0.02, 0.0016, [0.1e-3, 0.1e-3], 0.0, [-30.0, 30.0], limits(10.0, 0.4, 20.0)),
    ];
    for (ground, arm, [long, short], error, turns, limits) in cases {
        let mut drawing = Drawing::parallelogram(ground, arm, turns, limits);
        let around = |x: f64, t: f64| typed_range(x, -t, t);
        let (g, a) = (around(ground, long), around(arm, short));
        let bars = FourBar { ground: g, crank: a, coupler: g, rocker: a };
        drawing.family = Family::exactly(bars, Interval::new(-error, error));
        let found = drawing.prover().judge(&drawing.family, drawing.turns);
        let [angle, ratio, mu] = drawing.worst(&drawing.family, drawing.turns, 2001).unwrap();
        let shares = [
            found.of(Criterion::Angle).unwrap().bound.unwrap() / angle,
            found.of(Criterion::Ratio).unwrap().bound.unwrap() / ratio,
            mu / found.of(Criterion::TransmissionAngle).unwrap().bound.unwrap(),
        ];
        for share in shares {
            assert!((1.0 - 1e-6..=1.002).contains(&share), "{ground} {arm}: {shares:?}");
        }
    }
}

#[test]
fn a_figure_that_just_meets_its_limit_holds_and_one_a_little_beyond_fails() {
    for (half, expected) in [
        (60.0, Outcome::Holds),
        (59.999_999_999_99, Outcome::Holds),
        (60.000_000_01, Outcome::Holds),
        (60.000_001, Outcome::Fails),
    ] {
        let drawing = Drawing::parallelogram(0.3, 0.045, [-half, half], limits(0.5, 0.02, 30.0));
        let found = drawing.prover().judge(&drawing.family, drawing.turns);
        assert_eq!(found.of(Criterion::TransmissionAngle).unwrap().outcome, expected, "{half}");
        assert!(
            found.of(Criterion::TransmissionAngle).unwrap().boxes < 100,
            "{}",
            found.of(Criterion::TransmissionAngle).unwrap().boxes
        );
    }
    // 2 % of ratio, met in the worst corner of the box.
    let bars = FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 };
    let branch = Branch::through(bars, 1.4, Closure::Open).unwrap();
    let family = Family::symmetric(&bars, 1e-4, Interval::ZERO);
    let (turns, jig) = ([-0.3, 0.4], Zeroing::OnEachRobot);
    let mut drawing = Drawing::new(branch, jig, limits(45.0, 0.5, 10.0), turns, family);
    let [angle, ratio, _] = drawing.worst(&drawing.family, turns, 20_001).unwrap();
    for (beyond, expected) in
        [(-1e-7, Outcome::Holds), (0.0, Outcome::Holds), (1e-7, Outcome::Fails)]
    {
        drawing.limits.ratio = ratio - beyond;
        drawing.limits.angle = angle - beyond;
        let found = drawing.prover().judge(&drawing.family, turns);
        assert_eq!(found.of(Criterion::Ratio).unwrap().outcome, expected, "{beyond} {found:?}");
        assert_eq!(found.of(Criterion::Angle).unwrap().outcome, expected, "{beyond} {found:?}");
    }
}

#[test]
fn a_stroke_from_minus_one_to_fifty_degrees_may_grow_at_both_ends() {
    let drawing = Drawing::parallelogram(0.3, 0.045, [-1.0, 50.0], limits(0.5, 0.02, 30.0));
    let prover = drawing.prover();
    let found = largest_stroke(&prover, &drawing.branch, &drawing.family, drawing.turns).unwrap();
    let degrees = found.map(f64::to_degrees);
    assert!(degrees[0] > -60.0 && degrees[0] < -59.0, "{degrees:?}");
    assert!(degrees[1] < 60.0 && degrees[1] > 59.0, "{degrees:?}");
}

#[test]
fn a_rocker_that_stands_still_gets_no_figure_for_its_ratio() {
    let kite =
        FourBar { ground: 0.323_546, crank: 0.016_353, coupler: 0.016_353, rocker: 0.323_546 };
    let crank_rocker = FourBar { ground: 0.1, crank: 0.04, coupler: 0.12, rocker: 0.08 };
    for (bars, zero, closure) in [
        (kite, 113.7_f64, Closure::Open),
        (kite, 113.7, Closure::Crossed),
        (crank_rocker, 40.0, Closure::Open),
    ] {
        let branch = Branch::through(bars, zero.to_radians(), closure).unwrap();
        let joint = DirectJoint { ratio: 1.0, offset: 0.0 };
        let limits = limits(0.5, 0.02, 1.0);
        let prover = Prover::new(&branch, &joint, Zeroing::OnEachRobot, limits);
        let family = Family::symmetric(&bars, 1e-5, Interval::ZERO);
        let found = prover.judge(&family, [-0.6, 0.8]);
        let is_figure = |finding: &Finding| finding.bound.is_none_or(|bound| bound < 1e6);
        assert!(found.figures.iter().all(|(_, finding)| is_figure(finding)), "{found:?}");
        let ratio = found.of(Criterion::Ratio).unwrap();
        assert_ne!(ratio.outcome, Outcome::Holds);
        assert!(ratio.boxes < 500 && ratio.bound.is_none_or(f64::is_finite));
        assert_eq!(largest_tolerance(&prover, &branch, Interval::ZERO, [-0.6, 0.8]), None);
    }
}

#[test]
fn a_smaller_box_has_no_larger_bound_and_proofs_of_both_halves_are_one_of_the_whole() {
    for design in realistic::designs(13).take(60) {
        let drawing = Drawing::of(&design);
        let (prover, bars) = (drawing.prover(), drawing.branch.bars());
        let [from, to] = drawing.turns;
        let bounds = [2e-5, 1e-5, 0.0].map(|t| {
            let found = prover.judge(&Family::symmetric(bars, t, Interval::ZERO), [from, to]);
            [found.of(Criterion::Angle).unwrap().bound, found.of(Criterion::Ratio).unwrap().bound]
                .map(|bound| bound.unwrap_or(f64::INFINITY))
        });
        for (larger, smaller) in bounds.iter().zip(&bounds[1..]) {
            for (wide, narrow) in larger.iter().zip(smaller) {
                // Beyond 20 times its limit nothing is bounded closely.
                assert!(*narrow <= wide * 1.001 + 1e-6 || *narrow > 0.05, "{design:?} {bounds:?}");
            }
        }
        let middle = 0.5 * (from + to);
        let halves =
            [[from, middle], [middle, to]].map(|turns| prover.decide(&drawing.family, turns));
        let whole = prover.decide(&drawing.family, [from, to]);
        if halves == [Outcome::Holds; 2] {
            assert_eq!(whole, Outcome::Holds, "{design:?}");
        }
        if halves.contains(&Outcome::Fails) {
            assert_eq!(whole, Outcome::Fails, "{design:?}");
        }
        // A design either holds in all corners or it does not; nothing realistic is left open.
        assert_ne!(whole, Outcome::Undecided, "{design:?}");
    }
}
