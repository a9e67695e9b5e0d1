//! The stroke as the path that every figure is taken over: means over the crank angle, and the worst pose.

use std::f64::consts::TAU;

use crate::linkage::{Branch, Extreme, LinkageFault, Pose, Stroke};
use crate::numeric::golden;
use crate::numeric::quadrature::FIVE_POINTS;

/// A stroke on its branch, both ends within reach; what the rocker does on the way is left open.
///
/// A crank that turns further than once passes the same poses again; one turn of it is looked at.
#[derive(Clone, Copy, Debug)]
pub struct CrankStroke<'a> {
    branch: &'a Branch,
    stroke: Stroke,
}

/// Poses that a maximum is first looked for at.
const POSES: u32 = 60;

/// A rise of less than this share of the figure is none.
const FLAT: f64 = 1e-9;

/// Narrowing steps about the largest of them.
const STEPS: u32 = 20;

/// Longest piece for one use of the rule, rad of motor turn.
const PIECE: f64 = 0.25;

impl<'a> CrankStroke<'a> {
    /// `stroke` on `branch`.
    ///
    /// # Errors
    /// An end that cannot be reached.
    pub fn over(branch: &'a Branch, stroke: Stroke) -> Result<Self, LinkageFault> {
        for turn in stroke.motor {
            branch.pose(turn)?;
        }
        Ok(Self { branch, stroke })
    }

    /// The branch.
    #[must_use]
    pub fn branch(&self) -> &'a Branch {
        self.branch
    }

    /// The stroke as given.
    #[must_use]
    pub fn stroke(&self) -> &Stroke {
        &self.stroke
    }

    /// The pose at a motor turn of the stroke.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn pose(&self, turn: f64) -> Result<Pose, LinkageFault> {
        self.branch.pose(turn)
    }

    /// Both ends as motor turns, no more than one turn of the crank apart.
    #[must_use]
    pub fn ends(&self) -> [f64; 2] {
        let [from, to] = self.stroke.motor;
        [from, to.min(from + TAU)]
    }

    /// The poses for means over an angle that rises by `rate` per crank turn, with weights that add up to 1.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub(super) fn weighted_turns(
        &self,
        rate: impl Fn(&Pose) -> f64,
    ) -> Result<Vec<(f64, Pose, f64)>, LinkageFault> {
        let mut poses = Vec::new();
        for (turn, weight) in weighted_between(self.ends()) {
            let pose = self.pose(turn)?;
            poses.push((turn, pose, weight * rate(&pose).abs()));
        }
        let total: f64 = poses.iter().map(|(_, _, weight)| weight).sum();
        Ok(poses.into_iter().map(|(turn, pose, weight)| (turn, pose, weight / total)).collect())
    }

    /// The largest value of `figure` over the stroke and where: computed at 61 poses, then narrowed down about each that
    /// is larger than its neighbours and near the largest; not proved. A pose without a value is passed over.
    pub fn worst(&self, figure: impl Fn(&Pose) -> f64) -> Extreme {
        self.worst_by_turn(|pose, _| figure(pose))
    }

    /// The same of a figure that asks for the motor turn as well.
    pub(super) fn worst_by_turn(&self, figure: impl Fn(&Pose, f64) -> f64) -> Extreme {
        worst_between(self.ends(), &|turn| {
            self.pose(turn).map_or(f64::NAN, |pose| figure(&pose, turn))
        })
    }
}

/// The largest value of `figure` between two turns, searched for as [`CrankStroke::worst`] says.
pub(super) fn worst_between([from, to]: [f64; 2], figure: &dyn Fn(f64) -> f64) -> Extreme {
    let at = |turn: f64| Extreme { value: figure(turn), turn };
    let step = (to - from) / f64::from(POSES);
    let grid: Vec<Extreme> =
        (0..=POSES).map(|k| at(if k == POSES { to } else { from + step * f64::from(k) })).collect();
    let best = grid.iter().copied().fold(Extreme { value: f64::NAN, turn: from }, larger);
    let flat = FLAT * best.value.abs();
    let near = |peak: f64| best.value.abs() > 1e-12 && peak >= best.value - 0.02 * best.value.abs();
    let beside =
        |k: Option<usize>, other: Extreme| k.and_then(|k| grid.get(k)).copied().unwrap_or(other);
    let narrowed = grid.iter().enumerate().filter_map(|(k, &peak)| {
        let (left, right) = (beside(k.checked_sub(1), peak), beside(Some(k + 1), peak));
        let rise = peak.value - left.value.min(right.value);
        let is_peak = peak.value >= left.value.max(right.value) && rise > flat;
        (near(peak.value) && is_peak).then(|| narrow(&at, left.turn, right.turn))
    });
    narrowed.take(4).fold(best, larger)
}

/// Turns between two ends for means over them by the rule with five points, with weights that add up to 2 a piece.
pub(super) fn weighted_between([from, to]: [f64; 2]) -> Vec<(f64, f64)> {
    let pieces = (1_u32..).find(|&n| (to - from) <= PIECE * f64::from(n)).unwrap_or(1);
    let half = 0.5 * (to - from) / f64::from(pieces);
    let piece = |piece: u32| {
        let middle = from + half * (2.0 * f64::from(piece) + 1.0);
        FIVE_POINTS.map(|(node, weight)| (middle + half * node, weight))
    };
    (0..pieces).flat_map(piece).collect()
}

/// The larger of two, the first where they are equal; anything before NaN.
pub(super) fn larger(a: Extreme, b: Extreme) -> Extreme {
    if b.value > a.value || (a.value.is_nan() && !b.value.is_nan()) { b } else { a }
}

/// The largest value between two turns with one peak in between.
pub(super) fn narrow(at: &dyn Fn(f64) -> Extreme, from: f64, to: f64) -> Extreme {
    let (turn, value) = golden(&|turn| at(turn).value, [from, to], STEPS);
    Extreme { value, turn }
}
