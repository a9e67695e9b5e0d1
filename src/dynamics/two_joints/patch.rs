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

use std::cell::RefCell;
use std::collections::HashMap;

use super::corner::{Corner, hull_of};
use super::power::{Made, Rows};
use crate::drive::TwoRods;
use crate::numeric::{Bent, Interval};

/// Pitch and roll turns of a rectangle, rad.
pub(super) type Rectangle = [Interval; 2];

/// Room between nodes, as a share of the longest vector, that more nodes are not set for; and how often a side is halved at most.
const FINE: f64 = 1e-3;
const MOST_HALVINGS: u32 = 3;

/// Two vectors over a rectangle.
pub(super) struct Enclosed {
    /// The hull of these points and of those opposite to them has both vectors at every pose of the rectangle in it.
    pub(super) points: Vec<Corner>,
    /// The largest room of a coordinate, as a share of the longest vector.
    pub(super) room: f64,
}

/// The Jacobian over a rectangle, with slopes and curvatures by pitch and roll.
type Rates = Rows<Bent<2>>;

/// The Jacobians of a drive over rectangles and in single poses, each worked out once whatever is made of it; nothing where
/// one is not certain.
pub(super) struct Patches<'a> {
    drive: &'a TwoRods,
    over: RefCell<HashMap<[u64; 4], Option<Rates>>>,
    at: RefCell<HashMap<[u64; 2], Option<Rows<Interval>>>>,
}

impl<'a> Patches<'a> {
    pub(super) fn of(drive: &'a TwoRods) -> Self {
        Self { drive, over: RefCell::default(), at: RefCell::default() }
    }

    fn over(&self, over: Rectangle) -> Option<Rates> {
        let [pitch, roll] = over;
        let key = [pitch.lo(), pitch.hi(), roll.lo(), roll.hi()].map(f64::to_bits);
        let mut known = self.over.borrow_mut();
        *known.entry(key).or_insert_with(|| self.drive.bent_rates(over))
    }

    fn at(&self, joints: [f64; 2]) -> Option<Rows<Interval>> {
        let pose = || self.drive.pose_over(joints.map(Interval::point)).ok();
        let mut known = self.at.borrow_mut();
        *known.entry(joints.map(f64::to_bits)).or_insert_with(|| Some(pose()?.jacobian))
    }

    /// What is made over a rectangle; `None` where a value is not certain.
    pub(super) fn enclosed(&self, over: Rectangle, made: &Made) -> Option<Enclosed> {
        let vectors = made.of(&self.over(over)?)?;
        let halves = over.map(|range| 0.5 * range.width());
        let halvings = halvings(&vectors, halves);
        let cells = halvings.map(|count| f64::from(1_u32 << count));
        let ([pitch, roll], [by_pitch, by_roll]) = (over, halvings);
        let (pitches, rolls) = (along(pitch, by_pitch), along(roll, by_roll));
        let nodes = pitches.iter().flat_map(|p| rolls.iter().map(move |r| [*p, *r]));
        let rooms =
            vectors.each_ref().map(|vector| vector.each_ref().map(|of| room(of, halves, cells)));
        let (mut middles, mut longest, mut blur) = ([Vec::new(), Vec::new()], 0.0_f64, 0.0_f64);
        for joints in nodes {
            for (middles, [x, y]) in middles.iter_mut().zip(made.of(&self.at(joints)?)?) {
                longest = longest.max(libm::hypot(x.magnitude(), y.magnitude()));
                blur = blur.max(x.width()).max(y.width());
                middles.push(Corner { at: [x.mid(), y.mid()], joints });
            }
        }
        let rooms = rooms.map(|rooms| rooms.map(|room| room + blur));
        let points = middles.into_iter().zip(rooms).flat_map(|(middles, rooms)| {
            let around = hull_of(middles).into_iter().flat_map(|corner| corner.with_room(rooms));
            hull_of(around.collect())
        });
        let points: Vec<Corner> = points.collect();
        let room = rooms.iter().flatten().fold(0.0, |most: f64, room| most.max(*room));
        let is_known = room.is_finite() && longest.is_finite();
        is_known.then(|| Enclosed { points, room: room / longest })
    }
}

/// How often each side is halved.
fn halvings(vectors: &Rows<Bent<2>>, halves: [f64; 2]) -> [u32; 2] {
    let mut counts = [0; 2];
    for [x, y] in vectors {
        let long = libm::hypot(x.value.magnitude(), y.value.magnitude());
        let each = bends(x, halves).into_iter().zip(bends(y, halves));
        for (count, (of_x, of_y)) in counts.iter_mut().zip(each) {
            let room = 0.5 * of_x.max(of_y);
            while *count < MOST_HALVINGS && room > FINE * long * f64::from(1_u32 << (2 * *count)) {
                *count += 1;
            }
        }
    }
    counts
}

/// The curvature along either joint times half the rectangle squared.
fn bends(of: &Bent<2>, halves: [f64; 2]) -> [f64; 2] {
    let bend = |k| of.curvature(k, k).map_or(f64::INFINITY, Interval::magnitude);
    let [pitch, roll] = halves;
    [bend(0) * (pitch * pitch), bend(1) * (roll * roll)]
}

/// How far a coordinate may be from what its cells' corners span; a hair more than it is, for the sums of floats.
fn room(of: &Bent<2>, halves: [f64; 2], cells: [f64; 2]) -> f64 {
    let [by_p, by_r] = bends(of, halves);
    let room = 0.5 * (by_p / (cells[0] * cells[0]) + by_r / (cells[1] * cells[1]));
    room * (1.0 + 1e-12) + of.value.magnitude() * 1e-14
}

/// Both ends of a range, halved so often.
fn along(range: Interval, halvings: u32) -> Vec<f64> {
    let mut all = vec![range.lo(), range.hi()];
    for _ in 0..halvings {
        let next = all.iter().zip(all.iter().skip(1));
        let between = next.map(|(from, to)| Interval::new(*from, *to).mid());
        let halved = all.iter().zip(between).flat_map(|(at, between)| [*at, between]);
        all = halved.chain([range.hi()]).collect();
    }
    all
}
