//! Boxes of tolerance with their certified bounds and the largest figures of their corners. The test of the proof holds
//! the two against each other; the benchmark prints them.

use unloop::equivalence::{
    Constants, Criterion, DirectJoint, Family, Figures, Findings, Limits, Prover, Zeroing,
    size_range,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};
use unloop::numeric::Interval;

/// What is to be proved of every box.
pub(crate) fn limits() -> Limits {
    Limits { angle: 0.5_f64.to_radians(), ratio: 0.02, transmission_angle: 30.0_f64.to_radians() }
}

/// A drawn linkage with a box about it.
pub(crate) struct Case {
    pub(crate) branch: Branch,
    pub(crate) turns: [f64; 2],
    pub(crate) joint: DirectJoint,
    pub(crate) family: Family,
    pub(crate) zeroing: Zeroing,
}

impl Case {
    /// `zero` and `turns` in rad; tolerances of ground, crank, coupler and rocker to each side.
    pub(crate) fn new(
        bars: FourBar,
        zero: f64,
        turns: [f64; 2],
        tolerance: [f64; 4],
        zeroing: Zeroing,
    ) -> Option<Self> {
        let branch = Branch::through(bars, zero, Closure::Open).ok()?;
        let stroke = Stroke::on(&branch, Drive::Motor, turns).ok()?;
        let joint = Constants { ratio: None, offset: Some(0.0) }
            .resolve(&Sweep::over(&branch, stroke).ok()?);
        let range = |length: f64, t: f64| size_range(length, -t, t);
        let [ground, crank, coupler, rocker] = tolerance;
        let ranges = FourBar {
            ground: range(bars.ground, ground),
            crank: range(bars.crank, crank),
            coupler: range(bars.coupler, coupler),
            rocker: range(bars.rocker, rocker),
        };
        let family = Family::exactly(ranges, Interval::new(-1e-3, 2e-3));
        Some(Self { branch, turns, joint, family, zeroing })
    }

    /// Of this drawing.
    pub(crate) fn prover(&self) -> Prover<'_> {
        Prover::new(&self.branch, &self.joint, self.zeroing, limits())
    }

    /// The linkage at the given shares (0…1) of the box, and its crank's error in the zero pose, rad.
    pub(crate) fn member(&self, shares: [f64; 5]) -> (FourBar, f64) {
        let at = |range: Interval, share: f64| {
            (range.lo() + share * (range.hi() - range.lo())).clamp(range.lo(), range.hi())
        };
        let b = &self.family.bars;
        let bars = FourBar {
            ground: at(b.ground, shares[0]),
            crank: at(b.crank, shares[1]),
            coupler: at(b.coupler, shares[2]),
            rocker: at(b.rocker, shares[3]),
        };
        (bars, at(self.family.crank_error, shares[4]))
    }
}

/// Three linkages with three tolerances over three strokes.
pub(crate) fn grid() -> Vec<Case> {
    let mut cases = Vec::new();
    for tolerance in [0.05e-3, 0.1e-3, 0.2e-3] {
        for half in [30.0_f64, 45.0, 60.0] {
            for bars in [
                FourBar { ground: 0.21, crank: 0.042, coupler: 0.21, rocker: 0.042 },
                FourBar { ground: 0.21, crank: 0.04, coupler: 0.215, rocker: 0.052 },
                FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 },
            ] {
                let (zero, half) = (90.0_f64.to_radians(), half.to_radians());
                let (turns, jig) = ([-half, half], Zeroing::OnEachRobot);
                cases.extend(Case::new(bars, zero, turns, [tolerance; 4], jig));
            }
        }
    }
    cases
}

/// The largest angle and ratio error and the least transmission angle over all 32 corners of a box, each over its exact
/// stroke. The worst may lie off the corners; a bound is never below them.
pub(crate) fn worst_corner(case: &Case) -> Option<[f64; 3]> {
    let mut worst = [0.0_f64, 0.0, f64::INFINITY];
    for corner in 0..32_u32 {
        let (bars, error) = case.member([0, 1, 2, 3, 4].map(|bit| f64::from(corner >> bit & 1)));
        let branch = Branch::through(bars, case.branch.zero_crank() + error, Closure::Open).ok()?;
        let stroke = Stroke::on(&branch, Drive::Motor, case.turns).ok()?;
        let figures = Figures::of(&Sweep::over(&branch, stroke).ok()?, &case.joint);
        worst = [
            worst[0].max(figures.angle.value),
            worst[1].max(figures.ratio.value),
            worst[2].min(figures.transmission_angle.value),
        ];
    }
    Some(worst)
}

/// Bound over worst corner of angle and ratio error, worst corner over bound of the transmission angle: 1 is exact, below
/// 1 is wrong. None where there is no bound; a ratio far over its limit is not bounded any closer, and left out.
pub(crate) fn tightness(found: &Findings, corner: [f64; 3]) -> [Option<f64>; 3] {
    let [angle, ratio, mu] = [Criterion::Angle, Criterion::Ratio, Criterion::TransmissionAngle]
        .map(|criterion| found.of(criterion).and_then(|finding| finding.bound));
    [
        angle.map(|bound| bound / corner[0]),
        ratio.filter(|bound| *bound < 20.0 * limits().ratio).map(|bound| bound / corner[1]),
        mu.map(|bound| corner[2] / bound),
    ]
}
