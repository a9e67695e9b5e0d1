//! The worst figures of many built linkages at once.
//!
//! A block of linkages runs through the same crank directions, one lane a linkage. The nodes yield only the velocity ratio
//! r: the angle error turns where r passes the direct joint's, the ratio error where r turns. Between the nodes beside
//! such a place a quartic tells where it is, and the figure is computed there exactly.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::numeric::wide::{Work, widely};

use super::built_linkage::{BuiltLinkage, Rows};
use super::interior_extremes::{InteriorExtremes, MIDDLES, five};
use super::peak::Quartic;
use super::stroke_grid::{
    CELLS, ERROR_STRIDE, NODES, STRIDE_WIDE, Segment, StrokeGrid, WITH_ERROR,
};
use super::tally::Worst;
use crate::numeric::lane_arithmetic::{
    LANES, Lane, SMALL_SINE, SMALL_TURN, greater, lesser, small_arcsine, small_direction,
};

/// A part of the velocity ratio that is rounding, not a change.
const ROUNDING: f64 = 1e-13;

/// A block of builds: lengths and the crank's error in the zero pose, one linkage a lane.
#[derive(Clone, Debug)]
pub(super) struct Builds {
    /// Crank, coupler, rocker, ground, each in m.
    pub(super) lengths: [Lane; 4],
    /// Crank angle in the zero pose less the drawn one, rad.
    pub(super) crank_error: Lane,
}

/// Where a block is worked on; all lanes of one figure side by side.
pub(super) struct Bench {
    linkages: Rows,
    /// r at the nodes of the segment at hand.
    ratios: [Lane; NODES],
    /// Cosine and sine of the angle error at every fourth.
    errors: [[Lane; 2]; WITH_ERROR],
    /// Cells of the segment in which the angle error turns, nodes beside which r turns; a bit each.
    angle_peaks: [u64; LANES],
    ratio_peaks: [u64; LANES],
    high_ratio: Lane,
    low_ratio: Lane,
    /// Largest |sine| of the angle error.
    sine: Lane,
    /// Least cosine of the angle error: at or below 0 it is beyond 90 deg.
    facing: Lane,
    /// Largest |cos| of the angle at Q.
    cosine: Lane,
    angle: Lane,
    ratio: Lane,
    extremes: InteriorExtremes,
}

impl Bench {
    pub(super) fn new() -> Self {
        Self {
            linkages: Rows::EMPTY,
            ratios: [[0.0; LANES]; NODES],
            errors: [[[0.0; LANES]; 2]; WITH_ERROR],
            angle_peaks: [0; LANES],
            ratio_peaks: [0; LANES],
            high_ratio: [0.0; LANES],
            low_ratio: [0.0; LANES],
            sine: [0.0; LANES],
            facing: [0.0; LANES],
            cosine: [0.0; LANES],
            angle: [0.0; LANES],
            ratio: [0.0; LANES],
            extremes: InteriorExtremes::EMPTY,
        }
    }

    /// Works on a block; then [`Bench::worst`] has its figures.
    pub(super) fn run(&mut self, grid: &StrokeGrid, builds: &Builds) {
        widely(Block { grid, builds, bench: self });
        self.judge_far_errors(grid);
    }

    /// The worst figures of one lane: largest |angle error|, rad, π beyond 90 deg; largest |i / ratio − 1|, infinite
    /// where the rocker turns back.
    #[inline(always)]
    pub(super) fn worst(&self, lane: usize) -> Worst<2> {
        let of = |row: &Lane| row.get(lane).copied().unwrap_or(f64::NAN);
        Worst {
            closes: of(&self.cosine) < 1.0,
            figures: [of(&self.angle), of(&self.ratio)],
            cosine: of(&self.cosine),
        }
    }
}

/// A block over the whole stroke.
struct Block<'a> {
    grid: &'a StrokeGrid,
    builds: &'a Builds,
    bench: &'a mut Bench,
}

impl Work for Block<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { grid, builds, bench } = self;
        bench.begin(grid, builds);
        for segment in &grid.segments {
            bench.see_nodes(grid.zero.sign, segment);
            bench.keep_errors();
            bench.mark_peaks(grid.slope);
            while bench.angle_peaks.iter().any(|left| *left != 0) {
                bench.see_angle_peaks(grid, segment);
            }
            while bench.ratio_peaks.iter().any(|left| *left != 0) {
                bench.see_ratio_peaks(grid, segment);
            }
        }
        bench.conclude(grid);
    }
}

#[allow(
    clippy::indexing_slicing,
    clippy::needless_range_loop,
    reason = "a loop over the lanes of many rows at once; lanes stay below LANES, nodes below NODES"
)]
impl Bench {
    #[inline(always)]
    fn begin(&mut self, grid: &StrokeGrid, builds: &Builds) {
        let [a, b, c, g] = &builds.lengths;
        let (zero, reach) = (grid.zero, grid.reach);
        let errors = directions(&builds.crank_error);
        for i in 0..LANES {
            let error = [errors[0][i], errors[1][i]];
            let bars = BuiltLinkage::of([a[i], b[i], c[i], g[i]], error, &zero);
            self.cosine[i] = bars.largest_cosine(&reach, builds.crank_error[i]);
            self.linkages.put(i, &bars);
        }
        self.high_ratio = [f64::NEG_INFINITY; LANES];
        self.low_ratio = [f64::INFINITY; LANES];
        self.sine = [0.0; LANES];
        self.facing = [1.0; LANES];
    }

    /// r at every node, and the error at every fourth, both ends among them.
    #[inline(always)]
    fn see_nodes(&mut self, sign: f64, segment: &Segment) {
        let mut errors = self.errors.iter_mut();
        for (k, (node, ratios)) in segment.iter().zip(&mut self.ratios).enumerate() {
            let (crank, direct) = (node.crank, node.direct);
            if k % ERROR_STRIDE != 0 {
                for i in 0..LANES {
                    ratios[i] = self.linkages.at(i).pose(crank, sign).ratio;
                }
            } else if let Some([cosines, sines]) = errors.next() {
                for i in 0..LANES {
                    let bars = self.linkages.at(i);
                    let pose = bars.pose(crank, sign);
                    ratios[i] = pose.ratio;
                    [cosines[i], sines[i]] = bars.error(&pose, crank, direct);
                }
            }
        }
    }

    /// Keeps the largest error at every fourth node.
    #[inline(always)]
    fn keep_errors(&mut self) {
        for i in 0..LANES {
            let (mut sine, mut facing) = (self.sine[i], self.facing[i]);
            for [cosines, sines] in &self.errors {
                sine = greater(sine, sines[i].abs());
                facing = lesser(facing, cosines[i]);
            }
            (self.sine[i], self.facing[i]) = (sine, facing);
        }
    }

    /// Marks where r passes `slope` and where it turns, and keeps its highest and lowest.
    #[inline(always)]
    fn mark_peaks(&mut self, slope: f64) {
        let (level, rise) = (slope + ROUNDING * slope.abs(), ROUNDING * slope.abs());
        for i in 0..LANES {
            let r: [f64; NODES] = std::array::from_fn(|node| self.ratios[node][i]);
            let (mut high, mut low) = (self.high_ratio[i], self.low_ratio[i]);
            let (mut passes, mut turns) = (0, 0);
            for cell in 0..CELLS {
                passes |= u64::from((r[cell] > level) != (r[cell + 1] > level)) << cell;
            }
            for node in 1..CELLS {
                let (before, after) = (r[node] - r[node - 1], r[node + 1] - r[node]);
                turns |= u64::from((before > rise) != (after > rise)) << node;
            }
            for r in r {
                high = greater(high, r);
                low = lesser(low, r);
            }
            // At its ends the quartic tells on which side of the end r turns.
            let [first, last] = MIDDLES.map(|m| Quartic::through(five(&self.ratios, m, i)));
            let starts = (first.slope(-2.0) > rise) != (r[1] - r[0] > rise);
            let ends = (last.slope(2.0) > rise) != (r[CELLS] - r[CELLS - 1] > rise);
            self.angle_peaks[i] = passes;
            self.ratio_peaks[i] = turns | u64::from(starts) | u64::from(ends) << CELLS;
            (self.high_ratio[i], self.low_ratio[i]) = (high, low);
        }
    }

    /// The error where it turns, in the next marked cell of each lane.
    #[inline(always)]
    fn see_angle_peaks(&mut self, grid: &StrokeGrid, segment: &Segment) {
        let (sign, slope) = (grid.zero.sign, grid.slope);
        self.extremes.gather(segment, &self.ratios, &mut self.angle_peaks);
        self.extremes.pass(slope);
        self.extremes.go(grid.step, slope);
        for i in 0..LANES {
            let (bars, [crank, direct]) = (self.linkages.at(i), self.extremes.directions(i));
            let [cos, sin] = bars.error(&bars.pose(crank, sign), crank, direct);
            // Not by `greater`: that would be a masked store, which some processors do very slowly.
            self.sine[i] = self.sine[i].max(sin.abs());
            self.facing[i] = self.facing[i].min(cos);
        }
    }

    /// r where it turns, beside the next marked node of each lane.
    #[inline(always)]
    fn see_ratio_peaks(&mut self, grid: &StrokeGrid, segment: &Segment) {
        let sign = grid.zero.sign;
        self.extremes.gather(segment, &self.ratios, &mut self.ratio_peaks);
        self.extremes.turn();
        self.extremes.go(grid.step, grid.slope);
        for i in 0..LANES {
            let ratio = self.linkages.at(i).pose(self.extremes.directions(i)[0], sign).ratio;
            self.high_ratio[i] = self.high_ratio[i].max(ratio);
            self.low_ratio[i] = self.low_ratio[i].min(ratio);
        }
    }

    #[inline(always)]
    fn conclude(&mut self, grid: &StrokeGrid) {
        let slope = grid.slope;
        for i in 0..LANES {
            let (high, low) = (self.high_ratio[i], self.low_ratio[i]);
            let worst = greater((slope / high - 1.0).abs(), (slope / low - 1.0).abs());
            // The rocker turns back or the wrong way.
            let back = lesser(high * slope, low * slope) <= 0.0;
            self.ratio[i] = if back { f64::INFINITY } else { worst };
            self.angle[i] = small_arcsine(self.sine[i]);
        }
    }
}

/// Cosine and sine of each lane's angle, rad.
#[inline(always)]
#[allow(clippy::indexing_slicing, reason = "lanes stay below LANES")]
fn directions(angles: &Lane) -> [Lane; 2] {
    let mut found = [[0.0; LANES]; 2];
    for i in 0..LANES {
        [found[0][i], found[1][i]] = small_direction(angles[i]);
    }
    for i in 0..LANES {
        if angles[i].abs() > SMALL_TURN {
            (found[1][i], found[0][i]) = libm::sincos(angles[i]);
        }
    }
    found
}

impl Bench {
    /// What is too large for the series, and what may hide between the nodes at which the error is looked at: lane by lane, for they are
    /// few.
    #[allow(clippy::indexing_slicing, reason = "lanes stay below LANES")]
    fn judge_far_errors(&mut self, grid: &StrokeGrid) {
        let stride = STRIDE_WIDE * grid.step;
        for lane in 0..LANES {
            let (high, low) = (self.high_ratio[lane], self.low_ratio[lane]);
            // From less than 90 deg to more than 270 deg in one stride.
            let leaps = greater(high - grid.slope, grid.slope - low) * stride > FRAC_PI_2;
            if self.facing[lane] <= 0.0
                || leaps && !self.linkages.at(lane).faces_the_direct_joint(grid)
            {
                self.angle[lane] = PI;
            } else if self.sine[lane] > SMALL_SINE {
                self.angle[lane] = libm::asin(self.sine[lane].min(1.0));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equivalence::{Constants, DirectJoint, Figures, Zeroing};
    use crate::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};

    /// Crank, coupler, rocker, ground, zero pose, stroke (rad).
    type Drawn = ([f64; 4], f64, [f64; 2]);

    /// Near-parallelograms, general four-bars, strokes up to several turns, transmission angles down to 20 deg.
    const DRAWN: [Drawn; 8] = [
        ([0.045, 0.3, 0.045, 0.3], 1.57, [-0.61, 0.70]),
        ([0.042, 0.21, 0.042, 0.21], 1.57, [-1.05, 1.05]),
        ([0.05, 0.21, 0.06, 0.2], 1.4, [-0.6, 0.8]),
        ([0.04, 0.215, 0.052, 0.21], 1.57, [-1.0, 1.0]),
        ([0.04, 0.12, 0.08, 0.1], 0.9, [-0.1, 1.9]),
        ([0.1, 0.2, 0.03, 0.21], 1.5, [-0.1, 0.1]),
        ([0.05, 0.11, 0.12, 0.03], 1.0, [-0.5, 13.0]),
        ([0.04, 0.12, 0.08, 0.1], -2.4, [-3.0, 2.0]),
    ];

    struct Case {
        branch: Branch,
        joint: DirectJoint,
        grid: StrokeGrid,
        builds: Builds,
        turns: [f64; 2],
    }

    /// Builds up to `off` of each length and 1e-3 rad off what is drawn.
    fn case(
        (lengths, zero, turns): Drawn,
        closure: Closure,
        constants: Constants,
        off: f64,
    ) -> Option<Case> {
        let [crank, coupler, rocker, ground] = lengths;
        let drawn = FourBar { ground, crank, coupler, rocker };
        let branch = Branch::through(drawn, zero, closure).ok()?;
        let stroke = Stroke::on(&branch, Drive::Motor, turns).ok()?;
        let joint = constants.resolve(&Sweep::over(&branch, stroke).ok()?);
        let grid = StrokeGrid::new(&branch, &joint, Zeroing::OnEachRobot, turns);
        let mut builds = Builds { lengths: [[0.0; LANES]; 4], crank_error: [0.0; LANES] };
        for lane in 0..LANES {
            for (row, nominal) in lengths.into_iter().enumerate() {
                let wave = ((row as f64 + 1.3) * (lane as f64 + 1.0)).sin();
                builds.lengths[row][lane] = nominal * (1.0 + off * wave);
            }
            builds.crank_error[lane] = 0.5 * off * (lane as f64).cos();
        }
        Some(Case { branch, joint, grid, builds, turns })
    }

    fn exact(case: &Case, lane: usize) -> Option<Figures> {
        let [crank, coupler, rocker, ground] = [0, 1, 2, 3].map(|k| case.builds.lengths[k][lane]);
        let bars = FourBar { ground, crank, coupler, rocker };
        let zero = case.branch.zero_crank() + case.builds.crank_error[lane];
        let branch = Branch::through(bars, zero, case.branch.closure()).ok()?;
        let stroke = Stroke::on(&branch, Drive::Motor, case.turns).ok()?;
        Some(Figures::of(&Sweep::over(&branch, stroke).ok()?, &case.joint))
    }

    fn each(mut take: impl FnMut(&Case)) {
        for drawn in DRAWN {
            for closure in [Closure::Open, Closure::Crossed] {
                for ratio in [None, Some(1.0)] {
                    for (offset, off) in [(Some(0.0), 2e-3), (None, 2e-3), (Some(0.0), 1e-5)] {
                        case(drawn, closure, Constants { ratio, offset }, off)
                            .as_ref()
                            .map(&mut take);
                    }
                }
            }
        }
    }

    /// Worst angle error at 181 even poses.
    fn sampled(case: &Case, bars: &BuiltLinkage) -> f64 {
        let [from, to] = case.turns;
        let sine = |k: u32| {
            let turn = from + (to - from) * f64::from(k) / 180.0;
            let [crank, direct] =
                [case.branch.zero_crank() + turn, case.grid.slope * turn + case.joint.offset]
                    .map(|angle| [angle.cos(), angle.sin()]);
            bars.error(&bars.pose(crank, case.grid.zero.sign), crank, direct)[1].abs()
        };
        (0..=180).map(sine).fold(0.0, f64::max).asin()
    }

    #[test]
    fn a_block_agrees_with_the_exact_extremes_of_each_build_far_closer_than_181_poses_do() {
        let (mut looked_at, mut off, mut poses_off) = ([0; 2], [0.0_f64; 2], 0.0_f64);
        each(|case| {
            let mut bench = Bench::new();
            bench.run(&case.grid, &case.builds);
            for lane in 0..LANES {
                let (ours, exact) = (bench.worst(lane), exact(case, lane));
                assert_eq!(ours.closes, exact.is_some());
                let (Some(exact), [angle, ratio]) = (exact, ours.figures) else { continue };
                assert!((ours.cosine.acos() - exact.transmission_angle.value).abs() < 1e-9);
                if exact.angle.value < FRAC_PI_2 {
                    off[0] = off[0].max((angle / exact.angle.value - 1.0).abs());
                    let poses = sampled(case, &bench.linkages.at(lane));
                    poses_off = poses_off.max((poses / exact.angle.value - 1.0).abs());
                    looked_at[0] += 1;
                } else {
                    assert_eq!(angle, PI);
                }
                if ratio.is_finite() {
                    off[1] = off[1].max((ratio / exact.ratio.value - 1.0).abs());
                    looked_at[1] += 1;
                } else {
                    assert!(exact.ratio.value >= 1.0, "the rocker turns back or the wrong way");
                }
            }
        });
        assert!(off.iter().all(|off| *off < 1e-6), "{off:?}");
        assert!(off[0] < 0.01 * poses_off, "{off:?} {poses_off}");
        assert!(looked_at.iter().all(|seen| *seen > 1000), "{looked_at:?}");
    }

    #[test]
    fn both_versions_of_the_loops_give_the_same_bits() {
        each(|case| {
            let (mut wide, mut plain) = (Bench::new(), Bench::new());
            wide.run(&case.grid, &case.builds);
            Block { grid: &case.grid, builds: &case.builds, bench: &mut plain }.run();
            plain.judge_far_errors(&case.grid);
            for lane in 0..LANES {
                let [wide, plain] = [&wide, &plain].map(|b| b.worst(lane));
                assert_eq!(format!("{wide:?}"), format!("{plain:?}"));
            }
        });
    }
}
