//! The convex hull of two vectors and their opposites over a whole region, and the polygon that it bounds.
//!
//! A bound |n·x| ≤ 1 at every pose is a bound by every point of the hull of all n: the polygon's corners are those of its
//! neighbours a, b with a·x = b·x = 1 (the polar of the hull). Pieces of the region whose enclosures make the hull are cut
//! smaller until they add little.
//!
//! # Source
//! Polar of a hull: any text on convex sets.

use super::corner::{Corner, around, turn};
use super::patch::{Enclosed, Patches, Rectangle};
use super::placed::Placed;
use super::power::Made;
use crate::drive::Region;
use crate::numeric::{Interval, even_pieces};

/// Pieces of each range to begin with.
const PIECES: u32 = 4;

/// Room of a patch, as a share of its longest vector, that is not made smaller.
const NEAR: f64 = 2e-3;

/// How often a piece is quartered before giving up.
const DEEPEST: u32 = 6;

/// Corners whose loss makes the polygon less smaller than this share are left out.
const FLAT: f64 = 5e-4;

/// What is left of a corner so that rounding cannot put it outside.
pub(super) const INSIDE: f64 = 1.0 - 1e-12;

/// A convex hull, symmetric about the origin, that certainly holds the vectors of every pose.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Hull {
    /// Counter-clockwise.
    corners: Vec<Corner>,
}

/// A piece of a region with what is made over it; nothing where that is not certain.
struct Piece {
    over: Rectangle,
    found: Option<Enclosed>,
    /// How often it may be quartered.
    deep: u32,
}

fn quarters([pitch, roll]: Rectangle) -> impl Iterator<Item = Rectangle> {
    pitch.halves().into_iter().flat_map(move |p| roll.halves().map(|r| [p, r]))
}

impl Piece {
    /// Is its room worth cutting: may it reach the hull with it?
    fn is_coarse(&self, hull: &Hull) -> bool {
        let Some(found) = &self.found else { return true };
        let [pitch, roll] = self.over;
        let is_here =
            |corner: &Corner| pitch.contains(corner.joints[0]) && roll.contains(corner.joints[1]);
        found.room > NEAR && hull.corners.iter().any(is_here)
    }
}

impl Hull {
    /// Of the vectors that are made; `None` where somewhere in the region they are not certain to have a value.
    pub(super) fn over(patches: &Patches<'_>, region: &Region, made: &Made) -> Option<Self> {
        let look = |over, deep| Piece { over, found: patches.enclosed(over, made), deep };
        let of_pitch =
            |pitch: Interval| even_pieces(region.roll, PIECES).map(move |roll| [pitch, roll]);
        let all = even_pieces(region.pitch, PIECES).flat_map(of_pitch);
        let mut pieces: Vec<Piece> = all.map(|over| look(over, DEEPEST)).collect();
        loop {
            let found = pieces.iter().filter_map(|piece| piece.found.as_ref());
            let hull = Self { corners: around(found.flat_map(|one| one.points.clone()).collect()) };
            let (coarse, fine): (Vec<_>, Vec<_>) =
                pieces.into_iter().partition(|piece| piece.deep > 0 && piece.is_coarse(&hull));
            if coarse.is_empty() {
                return fine.iter().all(|piece| piece.found.is_some()).then_some(hull);
            }
            pieces = fine;
            for piece in coarse {
                pieces.extend(quarters(piece.over).map(|over| look(over, piece.deep - 1)));
            }
        }
    }

    /// The largest of a convex figure of the vectors, and near where it is reached.
    pub(super) fn largest(&self, figure: impl Fn([f64; 2]) -> f64) -> Placed {
        let start = Placed { value: 0.0, joints: [f64::NAN; 2] };
        self.corners.iter().fold(start, |best, corner| {
            let value = figure(corner.at);
            if value > best.value { Placed { value, joints: corner.joints } } else { best }
        })
    }

    /// The corners of a polygon, counter-clockwise, in which |n·x| ≤ 1 for all n of the hull; smaller than the largest such by
    /// less than some tenths of a percent, so that it has few corners.
    pub(super) fn polar(&self) -> Vec<[f64; 2]> {
        let inside = |x: [f64; 2]| {
            let reach = self.largest(|n| n[0] * x[0] + n[1] * x[1]).value.max(1.0);
            x.map(|x| x / reach * INSIDE)
        };
        without_flat_corners(crossings(&self.corners).into_iter().map(inside).collect())
    }
}

/// Where a·x = b·x = 1 for neighbours a, b.
fn crossings(corners: &[Corner]) -> Vec<[f64; 2]> {
    let next = corners.iter().cycle().skip(1);
    let crossing = |(a, b): (&Corner, &Corner)| {
        let ([ax, ay], [bx, by]) = (a.at, b.at);
        let determinant = ax * by - ay * bx;
        let x = [(by - ay) / determinant, (ax - bx) / determinant];
        x.iter().all(|x| x.is_finite()).then_some(x)
    };
    corners.iter().zip(next).filter_map(crossing).collect()
}

/// The polygon less corners that change little, always the least first, and each with its opposite.
fn without_flat_corners(mut polygon: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let area: f64 = {
        let next = polygon.iter().cycle().skip(1);
        polygon.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum()
    };
    while polygon.len() > 4 {
        let before = polygon.iter().cycle().skip(polygon.len() - 1);
        let after = polygon.iter().cycle().skip(1);
        let lost = before.zip(&polygon).zip(after).map(|((a, b), c)| turn(*a, *b, *c).abs());
        let least = lost.enumerate().min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((k, _)) = least.filter(|(_, lost)| 2.0 * lost <= FLAT * area) else { break };
        let half = polygon.len() / 2;
        let opposite = (k + half) % polygon.len();
        polygon.remove(k.max(opposite));
        polygon.remove(k.min(opposite));
    }
    polygon
}
