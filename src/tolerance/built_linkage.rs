//! One build's figures at one crank direction: one square root and one division, no trigonometry.
//!
//! ```text
//! m = h²/2 = (a² + g²)/2 − ag cos φ      k = cK = (c² − b²)/2 + m      s = cS = ±√(((b+c)²/2 − m)(m − (b−c)²/2))
//! u = (k h + s h⊥)/(c h²)     r = (((c² − b²)/2 − m) ag sin φ + s (a² − ag cos φ))/(s h²)     one division: 1/(s h²)
//! sin(error) = d × u = (k (d×h) + s (d·h))/(c h²)     its cosine = (k (d·h) − s (d×h))/(c h²)
//! ```
//!
//! d is where the direct joint points, h from the joint axis to the crank's pin. Derived here from the kernel's formulas
//! (`linkage/kernel.rs`); the second factor of s² keeps the digits near a change point.

use super::stroke_grid::{Node, Reach, StrokeGrid, Zero};
use crate::numeric::lane_arithmetic::{Direction, LANES, Lane, greater, turned, turned_back};

/// What never changes along the stroke, of one build.
#[derive(Clone, Copy)]
pub(super) struct BuiltLinkage {
    /// ag times the direction of the crank's error.
    ag: Direction,
    ag_length: f64,
    a2: f64,
    half_sum: f64,
    half_difference: f64,
    /// (b + c)²/2 and (b − c)²/2.
    limits: [f64; 2],
    /// a/c times the direct joint's direction at turn 0 less the crank's error.
    crank_side: Direction,
    /// g/c times the direct joint's direction at turn 0.
    ground_side: Direction,
}

/// A build in one pose.
#[derive(Clone, Copy)]
pub(super) struct BuiltPose {
    k: f64,
    s: f64,
    /// 1/h²
    per: f64,
    /// r, rocker rate / crank rate.
    pub(super) ratio: f64,
}

impl BuiltPose {
    /// Direction of the rocker from where the crank's pin lies, seen from the joint axis (m), and 1/c.
    #[inline(always)]
    fn rocker(&self, h: Direction, per_c: f64) -> Direction {
        let per = self.per * per_c;
        [(self.k * h[0] - self.s * h[1]) * per, (self.k * h[1] + self.s * h[0]) * per]
    }
}

impl BuiltLinkage {
    /// Of the lengths crank, coupler, rocker, ground (m) and the direction of the crank's error in the zero pose.
    #[inline(always)]
    pub(super) fn of([a, b, c, g]: [f64; 4], error: Direction, drawn: &Zero) -> Self {
        let ag = a * g;
        let bars = Self {
            ag: [ag * error[0], ag * error[1]],
            ag_length: ag,
            a2: a * a,
            half_sum: 0.5 * (a * a + g * g),
            half_difference: 0.5 * (c - b) * (c + b),
            limits: [0.5 * (b + c) * (b + c), 0.5 * (b - c) * (b - c)],
            crank_side: [0.0; 2],
            ground_side: [0.0; 2],
        };
        let per_c = 1.0 / c;
        let zero = match drawn.rocker {
            Some(zero) => zero,
            None => {
                let e = turned(drawn.crank, error);
                bars.pose(drawn.crank, drawn.sign).rocker([a * e[0] - g, a * e[1]], per_c)
            }
        };
        let (a, g, crank) = (a * per_c, g * per_c, turned_back(zero, error));
        Self {
            crank_side: [a * crank[0], a * crank[1]],
            ground_side: [g * zero[0], g * zero[1]],
            ..bars
        }
    }

    /// With the crank in the drawn direction `e`, on the side of `sign`.
    #[inline(always)]
    pub(super) fn pose(&self, e: Direction, sign: f64) -> BuiltPose {
        let [along, across] = turned(self.ag, e);
        let m = self.half_sum - along;
        let k = self.half_difference + m;
        let s = sign * ((self.limits[0] - m) * (m - self.limits[1])).sqrt();
        let per = 1.0 / (s * (m + m));
        let ratio = ((self.half_difference - m) * across + s * (self.a2 - along)) * per;
        BuiltPose { k, s, per: s * per, ratio }
    }

    /// Cosine and sine of the angle error in `pose`, the crank's drawn direction and the direct joint's as in `node`.
    #[inline(always)]
    pub(super) fn error(&self, pose: &BuiltPose, crank: Direction, direct: Direction) -> Direction {
        let ([ax, ay], [gx, gy], [tx, ty]) = (self.crank_side, self.ground_side, direct);
        let [near, off] = turned_back(crank, direct);
        let dot = (ax * near + ay * off) - (gx * tx - gy * ty);
        let cross = (ax * off - ay * near) + (gy * tx + gx * ty);
        [(pose.k * dot - pose.s * cross) * pose.per, (pose.k * cross + pose.s * dot) * pose.per]
    }

    /// The error stays below 90 deg at every node.
    pub(super) fn faces_the_direct_joint(&self, grid: &StrokeGrid) -> bool {
        let faces = |node: &Node| {
            self.error(&self.pose(node.crank, grid.zero.sign), node.crank, node.direct)[0] > 0.0
        };
        grid.segments.iter().flatten().all(faces)
    }

    /// Largest |cos| of the angle at Q over zero pose and stroke, for a crank that is `error` off (rad): h² is monotone
    /// between the poses in which the crank lies along the ground line.
    #[inline(always)]
    pub(super) fn largest_cosine(&self, reach: &Reach, error: f64) -> f64 {
        const PER_TURN: f64 = 1.0 / std::f64::consts::TAU;
        // (b² + c² − h²)/2bc with 2bc = (b+c)²/2 − (b−c)²/2.
        let [wide, narrow] = self.limits;
        let per = 1.0 / (wide - narrow);
        let at = |along: f64| ((wide + narrow) - 2.0 * (self.half_sum - along)).abs() * per;
        let end = |e: Direction| at(turned(self.ag, e)[0]);
        let passes = |phase: f64| {
            let [from, to] = reach.angles.map(|angle| (angle + error - phase) * PER_TURN);
            from.ceil() <= to
        };
        let stretched = if passes(0.0) { at(self.ag_length) } else { 0.0 };
        let folded = if passes(std::f64::consts::PI) { at(-self.ag_length) } else { 0.0 };
        greater(greater(end(reach.ends[0]), end(reach.ends[1])), greater(stretched, folded))
    }
}

/// The bars of a block, figure by figure.
#[derive(Clone, Copy)]
pub(super) struct Rows([Lane; 12]);

impl Rows {
    pub(super) const EMPTY: Self = Self([[0.0; LANES]; 12]);

    #[inline(always)]
    #[allow(clippy::indexing_slicing, reason = "callers count lanes up to LANES")]
    pub(super) fn put(&mut self, lane: usize, bars: &BuiltLinkage) {
        let BuiltLinkage {
            ag,
            ag_length,
            a2,
            half_sum,
            half_difference,
            limits,
            crank_side,
            ground_side,
        } = bars;
        self.0[0][lane] = ag[0];
        self.0[1][lane] = ag[1];
        self.0[2][lane] = *ag_length;
        self.0[3][lane] = *a2;
        self.0[4][lane] = *half_sum;
        self.0[5][lane] = *half_difference;
        self.0[6][lane] = limits[0];
        self.0[7][lane] = limits[1];
        self.0[8][lane] = crank_side[0];
        self.0[9][lane] = crank_side[1];
        self.0[10][lane] = ground_side[0];
        self.0[11][lane] = ground_side[1];
    }

    #[inline(always)]
    #[allow(clippy::indexing_slicing, reason = "callers count lanes up to LANES")]
    pub(super) fn at(&self, lane: usize) -> BuiltLinkage {
        let row = |k: usize| self.0[k][lane];
        BuiltLinkage {
            ag: [row(0), row(1)],
            ag_length: row(2),
            a2: row(3),
            half_sum: row(4),
            half_difference: row(5),
            limits: [row(6), row(7)],
            crank_side: [row(8), row(9)],
            ground_side: [row(10), row(11)],
        }
    }
}
