//! What the stroke is to every build: the nodes, the direct joint along them, the best line through the errors.

use crate::equivalence::{DirectJoint, Zeroing};
use crate::linkage::Branch;

/// Cells over a stroke of up to [`SHORT`]; in proportion over a longer one, always a multiple of four.
const CELLS: f64 = 24.0;

/// A stroke that the least number of cells serves, rad.
const SHORT: f64 = 1.6;

/// Everything about the stroke that all builds share.
#[derive(Clone, Debug)]
pub(super) struct Course {
    pub(super) sign: f64,
    pub(super) slope: f64,
    pub(super) offset: f64,
    /// Direction of the rocker in the drawn zero pose, where errors count from the drawing.
    pub(super) drawn_zero: Option<[f64; 2]>,
    pub(super) zero: [f64; 2],
    pub(super) reach: Reach,
    pub(super) nodes: Vec<Node>,
    /// Motor turn from node to node.
    pub(super) step: f64,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Node {
    pub(super) turn: f64,
    pub(super) crank: [f64; 2],
    pub(super) direct: [f64; 2],
    pub(super) fit_slope: f64,
    pub(super) fit_offset: f64,
}

impl Course {
    /// Over the motor turns `turns` of `branch` with the direct joint `joint`.
    pub(super) fn new(
        branch: &Branch,
        joint: &DirectJoint,
        zeroing: Zeroing,
        turns: [f64; 2],
    ) -> Self {
        let direction = |angle: f64| {
            let (sin, cos) = libm::sincos(angle);
            [cos, sin]
        };
        let slope = 1.0 / joint.ratio;
        let (cells, step) = cells(turns);
        let node = |k: u32| {
            let turn = turns[0] + step * f64::from(k);
            Node {
                turn,
                crank: direction(branch.zero_crank() + turn),
                direct: direction(slope * turn + joint.offset),
                ..Node::default()
            }
        };
        let mut nodes: Vec<Node> = (0..=cells).map(node).collect();
        fit_weights(&mut nodes);
        Self {
            sign: branch.closure().sign(),
            slope,
            offset: joint.offset,
            drawn_zero: match zeroing {
                Zeroing::OnEachRobot => None,
                Zeroing::AsDrawn => Some(direction(branch.zero_crank() + branch.zero_lead())),
            },
            zero: direction(branch.zero_crank()),
            reach: Reach::new(branch.zero_crank(), turns),
            nodes,
            step,
        }
    }
}

/// How many even cells the stroke is cut into, and how long each is, rad.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a stroke has at most a hundred turns, so the factor is a small whole number"
)]
fn cells(turns: [f64; 2]) -> (u32, f64) {
    let span = turns[1] - turns[0];
    let factor = (span / SHORT).ceil().max(1.0);
    ((CELLS * factor) as u32, span / (CELLS * factor))
}

/// Weights of the straight line through the errors at every fourth node by least squares: its slope and its value at
/// turn 0.
fn fit_weights(nodes: &mut [Node]) {
    let count = nodes.iter().step_by(4).fold(0.0, |count, _| count + 1.0);
    let mean = nodes.iter().step_by(4).map(|n| n.turn).sum::<f64>() / count;
    let square: f64 = nodes.iter().step_by(4).map(|n| (n.turn - mean).powi(2)).sum();
    for node in nodes.iter_mut().step_by(4) {
        node.fit_slope = (node.turn - mean) / square;
        node.fit_offset = 1.0 / count - mean * node.fit_slope;
    }
}

/// Where the stroke's crank directions lie that decide whether a build closes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    /// Cosine and sine of the crank angle at either end of zero pose and stroke together.
    ends: [[f64; 2]; 2],
    /// The same as angles, rad.
    angles: [f64; 2],
}

impl Reach {
    fn new(zero: f64, turns: [f64; 2]) -> Self {
        let angles = [zero + turns[0].min(0.0), zero + turns[1].max(0.0)];
        let ends = angles.map(|angle| {
            let (sin, cos) = libm::sincos(angle);
            [cos, sin]
        });
        Self { ends, angles }
    }

    /// Largest |cos| of the angle at Q over all of it, for a crank that is `error` off (`turned`: its cosine and sine):
    /// the diagonal is monotone between the poses in which the crank lies along the ground line.
    pub(super) fn largest_cosine(
        &self,
        [a, b, c, g]: &[f64; 4],
        error: f64,
        turned: [f64; 2],
    ) -> f64 {
        let at = |cos: f64| {
            let h2 = a * a + g * g - 2.0 * a * g * cos;
            ((b * b + c * c - h2) / (2.0 * b * c)).abs()
        };
        let end = |[cos, sin]: [f64; 2]| at(cos * turned[0] - sin * turned[1]);
        let crosses = |phase: f64| {
            let [from, to] =
                self.angles.map(|angle| (angle + error - phase) / std::f64::consts::TAU);
            from.ceil() <= to
        };
        let stretched = if crosses(0.0) { at(1.0) } else { 0.0 };
        let folded = if crosses(std::f64::consts::PI) { at(-1.0) } else { 0.0 };
        end(self.ends[0]).max(end(self.ends[1])).max(stretched).max(folded)
    }
}
