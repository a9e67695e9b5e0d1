//! A part's frame in every pose of a range and every build of a box, in any kind of number, and what a part in it adds to a mass
//! matrix.

use super::enclosed::{Enclosed, Part};
use crate::drive::Vector;
use crate::numeric::Scalar;

/// A part's frame, and how it moves per unit of the rate of each of K joints.
#[derive(Clone, Copy)]
pub(super) struct FrameOver<T, const K: usize = 1> {
    pub(super) origin: Vector<T>,
    /// Its x, y, z.
    pub(super) axes: [Vector<T>; 3],
    /// The origin's way.
    pub(super) ways: [Vector<T>; K],
    /// Its angular speed.
    pub(super) spins: [Vector<T>; K],
}

/// The unit vectors along x, y and z.
pub(super) fn units<T: Scalar>() -> [Vector<T>; 3] {
    let [one, no] = [1.0, 0.0].map(T::exactly);
    [Vector::new(one, no, no), Vector::new(no, one, no), Vector::new(no, no, one)]
}

/// What is shorter than this share of what it was part of is no direction to build a frame on.
const NO_DIRECTION: f64 = 1e-8;

/// The direction of what is left of something of the length `whole`; `None` where too little is.
pub(super) fn direction_of<T: Scalar>(left: Vector<T>, whole: f64) -> Option<Vector<T>> {
    (left.length().middle() > NO_DIRECTION * whole).then(|| left.unit()).flatten()
}

/// The axes whose x is `x` and whose z lies as near the unit vector `axis` as it can.
pub(super) fn beside<T: Scalar>(x: Vector<T>, axis: Vector<T>) -> Option<[Vector<T>; 3]> {
    let z = direction_of(axis.square_to(x), 1.0)?;
    Some([x, z.cross(x), z])
}

/// A rotor's axis (unit vector) and turns about it per unit of each joint's rate; its inertia, and that which the figures of the
/// part that bears it do not hold.
pub(super) struct RotorOver<T, const K: usize> {
    pub(super) axis: Vector<T>,
    pub(super) turns: [T; K],
    pub(super) inertia: T,
    pub(super) beside: T,
}

impl<T: Scalar, const K: usize> RotorOver<T, K> {
    pub(super) fn add_to<const D: usize>(&self, matrix: &mut Enclosed<T, D>) {
        let (axis, none) = (coordinates(self.axis), T::exactly(0.0));
        for (j, turns) in self.turns.into_iter().enumerate() {
            let spin = self.inertia * turns;
            matrix.add_joint(6 + j, [none; 3], axis.map(|x| x * spin));
            for (k, other) in self.turns.into_iter().enumerate().skip(j) {
                let both = if j == k { turns.square() } else { turns * other };
                matrix.add(6 + j, 6 + k, self.inertia * both);
            }
        }
        for (i, p) in axis.into_iter().enumerate() {
            for (j, q) in axis.into_iter().enumerate().skip(i) {
                matrix.add(3 + i, 3 + j, if i == j { p.square() } else { p * q } * self.beside);
            }
        }
    }
}

fn coordinates<T>(v: Vector<T>) -> [T; 3] {
    [v.x, v.y, v.z]
}

impl<T: Scalar, const K: usize> FrameOver<T, K> {
    /// Adds a part in this frame: with h its first moment and I its inertia about the frame's own origin O, both turned, a mass
    /// element at O + ρ moves at O_ψ + Ω × ρ, summed up.
    pub(super) fn add_to<const D: usize>(&self, matrix: &mut Enclosed<T, D>, part: &Part<T>) {
        let (o, m) = (self.origin, part.mass);
        let h = self.turned(part.first);
        let own = self.tensor(&part.inertia);
        let first = coordinates(o * m + h);
        matrix.add_fixed(&Part { mass: m, first, inertia: about(&own, m, h, o) });
        let moves = self.ways.into_iter().zip(self.spins);
        for (j, (way, spin)) in moves.clone().enumerate() {
            let linear = way * m + spin.cross(h);
            let turning = Vector::new(own[0].dot(spin), own[1].dot(spin), own[2].dot(spin));
            let angular = h.cross(way) + turning;
            matrix.add_joint(6 + j, coordinates(linear), coordinates(o.cross(linear) + angular));
            for (k, (way, spin)) in moves.clone().enumerate().skip(j) {
                matrix.add(6 + j, 6 + k, linear.dot(way) + angular.dot(spin));
            }
        }
    }

    pub(super) fn turned(&self, [x, y, z]: [T; 3]) -> Vector<T> {
        self.axes[0] * x + self.axes[1] * y + self.axes[2] * z
    }

    /// R I Rᵀ, by rows.
    fn tensor(&self, inertia: &[[T; 3]; 3]) -> [Vector<T>; 3] {
        // I is symmetric: its rows are its columns.
        let half = inertia.map(|row| self.turned(row));
        let entry = |p: fn(Vector<T>) -> T, q: fn(Vector<T>) -> T| {
            let [a, b, c] = [0, 1, 2].map(|k: usize| match (half.get(k), self.axes.get(k)) {
                (Some(half), Some(axis)) => p(*half) * q(*axis),
                _ => T::exactly(f64::NAN),
            });
            a + b + c
        };
        let (x, y, z) = (|v: Vector<T>| v.x, |v: Vector<T>| v.y, |v: Vector<T>| v.z);
        let (xy, xz, yz) = (entry(x, y), entry(x, z), entry(y, z));
        [
            Vector::new(entry(x, x), xy, xz),
            Vector::new(xy, entry(y, y), yz),
            Vector::new(xz, yz, entry(z, z)),
        ]
    }
}

/// Inertia about B of a part whose own origin is at O: I + (2 h·O + m O²) 1 − (h Oᵀ + O hᵀ + m O Oᵀ).
fn about<T: Scalar>(own: &[Vector<T>; 3], m: T, h: Vector<T>, o: Vector<T>) -> [[T; 3]; 3] {
    let two = T::exactly(2.0);
    let squares = [
        two * h.x * o.x + m * o.x.square(),
        two * h.y * o.y + m * o.y.square(),
        two * h.z * o.z + m * o.z.square(),
    ];
    let [xx, yy, zz] = squares;
    let xy = own[0].y - (h.x * o.y + h.y * o.x + m * o.x * o.y);
    let xz = own[0].z - (h.x * o.z + h.z * o.x + m * o.x * o.z);
    let yz = own[1].z - (h.y * o.z + h.z * o.y + m * o.y * o.z);
    [[own[0].x + yy + zz, xy, xz], [xy, own[1].y + xx + zz, yz], [xz, yz, own[2].z + xx + yy]]
}
