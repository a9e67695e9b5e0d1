//! Two vectors of the plane over a rectangle of joint turns, enclosed: what they are at the nodes of a grid, and room for what
//! they are between these.
//!
//! ```text
//! |f − b| ≤ ½ (h_p² max|f_pp| + h_r² max|f_rr|)
//! ```
//!
//! for the bilinear b through the corners of a cell with the half sides h: along one joint a function is off its chord by h²/2
//! times its curvature, and a chord of chords is off no more. What b makes of both coordinates lies in the hull of the four
//! corners. The curvatures are enclosed over the whole rectangle, the nodes one by one.

use super::corner::{Corner, around};
use super::power::{Made, Rows};
use crate::drive::TwoRods;
use crate::numeric::{Bent, Interval};

/// The Jacobian with its slopes and curvatures by pitch and roll.
type Rates = Rows<Bent<2>>;

/// Pitch and roll turns of a rectangle, rad.
pub(super) type Rectangle = [Interval; 2];

/// Room between nodes, as a share of the longest vector, that more nodes are not set for; and cells along a side at most.
const FINE: f64 = 2.5e-4;
const MOST_CELLS: f64 = 8.0;

/// Two vectors over a rectangle.
pub(super) struct Enclosed {
    /// The hull of these points and of those opposite to them has both vectors at every pose of the rectangle in it.
    pub(super) points: Vec<Corner>,
    /// The largest room of a coordinate, as a share of the longest vector.
    pub(super) room: f64,
}

/// The Jacobian over a rectangle.
struct Patch<'a> {
    drive: &'a TwoRods,
    over: Rectangle,
    rates: Rates,
}

/// What a node of a grid is at.
type Node = ([f64; 2], Rows<Interval>);

/// What is made over a rectangle; `None` where a value is not certain.
pub(super) fn enclosed(drive: &TwoRods, over: Rectangle, made: &Made) -> Option<Enclosed> {
    let patch = Patch { drive, over, rates: drive.bent_rates(over)? };
    let mut cells = [1.0_f64; 2];
    for [x, y] in made.of(&patch.rates)? {
        let long = libm::hypot(x.value.magnitude(), y.value.magnitude());
        for (cells, bend) in cells.iter_mut().zip(patch.bends([&x, &y])) {
            *cells = cells.max((0.5 * bend / (FINE * long)).sqrt().ceil().min(MOST_CELLS));
        }
    }
    let nodes = patch.nodes(cells)?;
    patch.enclosed(made, &nodes, cells)
}

impl Patch<'_> {
    fn halves(&self) -> [f64; 2] {
        self.over.map(|range| 0.5 * range.width())
    }

    /// The larger curvature of both coordinates along either joint, times half the rectangle squared.
    fn bends(&self, [x, y]: [&Bent<2>; 2]) -> [f64; 2] {
        let bend = |of: &Bent<2>, k| of.curvature(k, k).map_or(f64::INFINITY, Interval::magnitude);
        let [pitch, roll] = self.halves();
        let largest = |k: usize, half: f64| bend(x, k).max(bend(y, k)) * (half * half);
        [largest(0, pitch), largest(1, roll)]
    }

    fn nodes(&self, cells: [f64; 2]) -> Option<Vec<Node>> {
        let ([pitch, roll], [by_pitch, by_roll]) = (self.over, cells);
        let (pitches, rolls) = (along(pitch, by_pitch), along(roll, by_roll));
        let at = |joints: [f64; 2]| {
            let pose = self.drive.pose_over(joints.map(Interval::point)).ok()?;
            Some((joints, pose.jacobian))
        };
        pitches.iter().flat_map(|p| rolls.iter().map(|r| [*p, *r])).map(at).collect()
    }

    fn enclosed(&self, made: &Made, nodes: &[Node], cells: [f64; 2]) -> Option<Enclosed> {
        let rooms =
            made.of(&self.rates)?.map(|[x, y]| [self.room(&x, cells), self.room(&y, cells)]);
        let (mut points, mut longest) = (Vec::new(), 0.0_f64);
        for (joints, rates) in nodes {
            for ([x, y], [by_x, by_y]) in made.of(rates)?.into_iter().zip(rooms) {
                longest = longest.max(libm::hypot(x.magnitude(), y.magnitude()));
                let ends = |at: Interval, by: f64| [at.lo() - by, at.hi() + by];
                for x in ends(x, by_x) {
                    let ys = ends(y, by_y);
                    points.extend(ys.map(|y| Corner { at: [x, y], joints: *joints }));
                }
            }
        }
        let room = rooms.iter().flatten().fold(0.0, |most: f64, room| most.max(*room));
        let is_known = room.is_finite() && longest.is_finite();
        is_known.then(|| Enclosed { points: around(points), room: room / longest })
    }

    /// How far a coordinate may be from what its cells' corners span; a hair more than it is, for the sums of floats.
    fn room(&self, of: &Bent<2>, cells: [f64; 2]) -> f64 {
        let [by_p, by_r] = self.bends([of, of]);
        let room = 0.5 * (by_p / (cells[0] * cells[0]) + by_r / (cells[1] * cells[1]));
        room * (1.0 + 1e-12) + of.value.magnitude() * 1e-14
    }
}

/// Both ends of a range and what cuts it into so many cells.
fn along(range: Interval, cells: f64) -> Vec<f64> {
    let mut all = vec![range.lo()];
    let mut k = 1.0;
    while k < cells {
        all.push(range.lo() + (range.hi() - range.lo()) * (k / cells));
        k += 1.0;
    }
    all.push(range.hi());
    all
}
