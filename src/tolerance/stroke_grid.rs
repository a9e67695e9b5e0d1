//! What the stroke is to every build: the nodes, the direct joint along them.

use crate::equivalence::{DirectJoint, Zeroing};
use crate::linkage::Branch;

use crate::numeric::lane_arithmetic::Direction;

/// Cells of a segment; a multiple of four.
pub(super) const CELLS: usize = 16;

/// Nodes of a segment, both ends included.
pub(super) const NODES: usize = CELLS + 1;

/// Nodes from one at which the error is looked at to the next.
pub(super) const ERROR_STRIDE: usize = 4;

/// How many these are in a segment.
pub(super) const WITH_ERROR: usize = CELLS / ERROR_STRIDE + 1;

/// The longest turn of the crank in a segment, rad.
const LONGEST: f64 = 1.6;

/// The direct joint turns no further in a segment than this times [`LONGEST`].
const STEEPEST: f64 = 8.0;

/// More segments than any stroke needs whose error stays below 90 deg.
const MOST_SEGMENTS: f64 = 4096.0;

/// Everything about the stroke that all builds share.
#[derive(Clone, Debug)]
pub(super) struct StrokeGrid {
    pub(super) zero: Zero,
    /// Joint turn per motor turn of the direct joint.
    pub(super) slope: f64,
    pub(super) reach: Reach,
    /// One after the other; each begins with the last node of the one before.
    pub(super) segments: Vec<Segment>,
    /// Motor turn from node to node.
    pub(super) step: f64,
}

/// What the drawing says of the zero pose.
#[derive(Clone, Copy, Debug)]
pub(super) struct Zero {
    /// Of the closure.
    pub(super) sign: f64,
    pub(super) crank: Direction,
    /// Direction of the rocker, where errors count from the drawing.
    pub(super) rocker: Option<Direction>,
}

impl Zero {
    /// Of the drawn linkage.
    pub(super) fn of(branch: &Branch, zeroing: Zeroing) -> Self {
        let rocker = match zeroing {
            Zeroing::OnEachRobot => None,
            Zeroing::AsDrawn => Some(direction(branch.zero_crank() + branch.zero_lead())),
        };
        Self { sign: branch.closure().sign(), crank: direction(branch.zero_crank()), rocker }
    }
}

/// A piece of the stroke.
pub(super) type Segment = [Node; NODES];

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Node {
    pub(super) crank: Direction,
    pub(super) direct: Direction,
}

#[allow(clippy::cast_precision_loss, reason = "a small number")]
const CELLS_WIDE: f64 = CELLS as f64;

/// Motor turn from one of these to the next, in cells.
#[allow(clippy::cast_precision_loss, reason = "a small number")]
pub(super) const STRIDE_WIDE: f64 = ERROR_STRIDE as f64;

impl StrokeGrid {
    /// Over the motor turns `turns` of `branch` with the direct joint `joint`.
    pub(super) fn new(
        branch: &Branch,
        joint: &DirectJoint,
        zeroing: Zeroing,
        turns: [f64; 2],
    ) -> Self {
        let slope = 1.0 / joint.ratio;
        let (segments, step) = segments(turns, slope);
        let node = |cells: f64| {
            let turn = turns[0] + step * cells;
            Node {
                crank: direction(branch.zero_crank() + turn),
                direct: direction(slope * turn + joint.offset),
            }
        };
        #[allow(clippy::cast_precision_loss, reason = "small numbers")]
        let segment = |s: u32| std::array::from_fn(|k| node(f64::from(s) * CELLS_WIDE + k as f64));
        let segments: Vec<Segment> = (0..segments).map(segment).collect();
        Self {
            zero: Zero::of(branch, zeroing),
            slope,
            reach: Reach::new(branch.zero_crank(), turns),
            segments,
            step,
        }
    }
}

fn direction(angle: f64) -> Direction {
    let (sin, cos) = libm::sincos(angle);
    [cos, sin]
}

/// How many segments the stroke is cut into, and how far it is from node to node, rad.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a whole number between 1 and the most segments"
)]
fn segments(turns: [f64; 2], slope: f64) -> (u32, f64) {
    let span = turns[1] - turns[0];
    let longest = span * (slope.abs() / STEEPEST).max(1.0);
    let segments = (longest / LONGEST).ceil().clamp(1.0, MOST_SEGMENTS);
    (segments as u32, span / (segments * CELLS_WIDE))
}

/// Where the stroke's crank directions lie that decide whether a build closes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    /// Direction of the crank at either end of zero pose and stroke together.
    pub(super) ends: [Direction; 2],
    /// The same as angles, rad.
    pub(super) angles: [f64; 2],
}

impl Reach {
    /// Over the motor turns `turns` from the crank angle `zero`, rad.
    pub(super) fn new(zero: f64, turns: [f64; 2]) -> Self {
        let angles = [zero + turns[0].min(0.0), zero + turns[1].max(0.0)];
        Self { ends: angles.map(direction), angles }
    }
}
