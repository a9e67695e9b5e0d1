//! Two vectors of the plane over a rectangle of joint turns, enclosed: a middle, its ways along both joints, and room for the rest.
//!
//! ```text
//! f(q) ∈ f(m) + S (q − m),   S the slopes over the rectangle
//! ```
//!
//! is the mean-value form: middle f(m), ways of S's middle, room of its width, which shrinks as the square of the rectangle.

use crate::drive::TwoRods;
use crate::numeric::{Interval, Jet, Scalar as _};

/// The Jacobian with its slopes by pitch and roll.
pub(super) type Rates = [[Jet<2>; 2]; 2];

/// Two vectors made of the Jacobian; `None` where they may have no value.
pub(super) type Made<'a> = dyn Fn(&Rates) -> Option<[[Jet<2>; 2]; 2]> + 'a;

/// Pitch and roll turns of a rectangle, rad.
pub(super) type Rectangle = [Interval; 2];

/// What one coordinate is over a rectangle.
#[derive(Clone, Copy, Debug)]
struct Affine {
    middle: f64,
    ways: [f64; 2],
    room: f64,
}

/// Both vectors over a rectangle.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    /// The hull of these points and of those opposite to them has both vectors at every pose of the rectangle in it.
    pub(super) points: Vec<[f64; 2]>,
    /// The largest room of a coordinate, in the vectors' unit.
    pub(super) room: f64,
}

fn rates(drive: &TwoRods, [pitch, roll]: Rectangle) -> Option<Rates> {
    let joints = [Jet::variable(0, pitch), Jet::variable(1, roll)];
    Some(drive.pose_over(joints).ok()?.jacobian)
}

/// Both vectors over the rectangle `over`; `None` where they are not certain to have a value.
pub(super) fn patch(drive: &TwoRods, over: Rectangle, made: &Made<'_>) -> Option<Patch> {
    let middle = over.map(|range| Interval::point(range.mid()));
    let (whole, at) = (made(&rates(drive, over)?)?, made(&rates(drive, middle)?)?);
    let half = over.map(|range| 0.5 * range.width());
    let mut patch = Patch { points: Vec::new(), room: 0.0 };
    for ([x, y], [x_middle, y_middle]) in whole.into_iter().zip(at) {
        let x = Affine::new(&x, x_middle.value, half)?;
        let y = Affine::new(&y, y_middle.value, half)?;
        patch.points.extend(x.corners(&y));
        patch.room = patch.room.max(x.room).max(y.room);
    }
    Some(patch)
}

impl Affine {
    /// Room covers what floats may have lost as well.
    fn new(over: &Jet<2>, at_middle: Interval, half: [f64; 2]) -> Option<Self> {
        let [first, second] = over.slopes;
        let ways = [first.mid() * half[0], second.mid() * half[1]];
        let blur = 0.5 * (first.width() * half[0] + second.width() * half[1]) + at_middle.width();
        let size = at_middle.magnitude() + ways[0].abs() + ways[1].abs();
        let room = blur * (1.0 + 1e-12) + size * 1e-14;
        room.is_finite().then_some(Self { middle: at_middle.mid(), ways, room })
    }

    /// The corners of a parallelogram that is moved about by both rooms.
    fn corners(&self, y: &Self) -> impl Iterator<Item = [f64; 2]> {
        let (x, y) = (*self, *y);
        let signs = [[1.0, 1.0], [1.0, -1.0], [-1.0, -1.0], [-1.0, 1.0]];
        signs.into_iter().flat_map(move |[a, b]| {
            let at = |of: &Self| of.middle + a * of.ways[0] + b * of.ways[1];
            let corner = [at(&x), at(&y)];
            signs.map(|[c, d]| [corner[0] + c * x.room, corner[1] + d * y.room])
        })
    }
}

/// The inverse of a 2×2 matrix; `None` where its determinant may be zero.
pub(super) fn inverse([[a, b], [c, d]]: &Rates) -> Option<Rates> {
    let determinant = *a * *d - *b * *c;
    let is_sure = determinant.is_certainly_nonzero();
    is_sure.then(|| [[*d / determinant, -*b / determinant], [-*c / determinant, *a / determinant]])
}
