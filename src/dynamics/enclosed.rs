//! Mass matrices enclosed in interval arithmetic, over a short piece of a stroke and a box of lengths.

use nalgebra::{Matrix3, SMatrix, Vector3};

use super::congruent::{Congruent, ROOM, largest, turned_by};
use super::moments::Moments;
use crate::linkage::PoseOf;
use crate::numeric::{Interval, Scalar};

type Vector = [Interval; 3];
type Plane = [Interval; 2];

/// Rows and columns of a mass matrix that belong to the motions allowed for.
pub(super) type Rows<const N: usize> = [usize; N];

/// The upper triangle's mirror is kept too: entry (row, column).
#[derive(Clone, Copy, Debug)]
pub(super) struct Enclosed<T = Interval, const D: usize = 7>([[T; D]; D]);

/// Directions, positions and rates of the moving parts, per turn of joint or crank.
pub(super) struct Moving {
    crank: Plane,
    coupler: Plane,
    rocker: Plane,
    ground: Interval,
    crank_length: Interval,
    pub(super) crank_rate: Interval,
    coupler_rate: Interval,
    child_rate: Interval,
}

/// Where a part's frame is and how it moves per turn of joint or crank.
pub(super) struct Placement {
    direction: Plane,
    rate: Interval,
    origin: Plane,
    origin_rate: Plane,
}

impl Placement {
    /// The same origin with another attitude and rate.
    pub(super) fn turned(&self, direction: Plane, rate: Interval) -> Self {
        Self { direction, rate, ..*self }
    }
}

impl Moving {
    pub(super) fn by_joint(pose: &PoseOf<Interval>) -> Self {
        let one = Interval::point(1.0);
        let ratio = one / pose.velocity_ratio();
        Self::at(pose, [ratio, pose.coupler_rate() * ratio, one])
    }

    pub(super) fn by_crank(pose: &PoseOf<Interval>) -> Self {
        Self::at(pose, [Interval::point(1.0), pose.coupler_rate(), pose.velocity_ratio()])
    }

    fn at(pose: &PoseOf<Interval>, [crank_rate, coupler_rate, child_rate]: [Interval; 3]) -> Self {
        let along = |[x, y]: Plane, length: Interval| [x / length, y / length];
        Self {
            crank: pose.e,
            coupler: along(pose.coupler_vector(), pose.bars.coupler),
            rocker: along(pose.rocker_vector(), pose.bars.rocker),
            ground: pose.bars.ground,
            crank_length: pose.bars.crank,
            crank_rate,
            coupler_rate,
            child_rate,
        }
    }

    pub(super) fn crank(&self) -> Placement {
        let still = [Interval::ZERO; 2];
        let origin = [-self.ground, Interval::ZERO];
        Placement { direction: self.crank, rate: self.crank_rate, origin, origin_rate: still }
    }

    pub(super) fn coupler(&self) -> Placement {
        let (a, i, [x, y]) = (self.crank_length, self.crank_rate, self.crank);
        Placement {
            direction: self.coupler,
            rate: self.coupler_rate,
            origin: [a * x - self.ground, a * y],
            origin_rate: [-(a * i * y), a * i * x],
        }
    }

    pub(super) fn child(&self) -> Placement {
        let still = [Interval::ZERO; 2];
        Placement {
            direction: self.rocker,
            rate: self.child_rate,
            origin: still,
            origin_rate: still,
        }
    }
}

/// Mass, first moment and inertia about the origin of a part's own frame.
pub(super) struct Part<T = Interval> {
    pub(super) mass: T,
    pub(super) first: [T; 3],
    pub(super) inertia: [[T; 3]; 3],
}

fn vector(v: &Vector3<f64>, widen: impl Fn(f64) -> Interval) -> Vector {
    [widen(v.x), widen(v.y), widen(v.z)]
}

fn tensor(t: &Matrix3<f64>, widen: impl Fn(f64) -> Interval) -> [[Interval; 3]; 3] {
    [
        [widen(t.m11), widen(t.m12), widen(t.m13)],
        [widen(t.m21), widen(t.m22), widen(t.m23)],
        [widen(t.m31), widen(t.m32), widen(t.m33)],
    ]
}

impl From<&Moments> for Part {
    /// Sums of a few products of the figures given: each a few roundings off.
    fn from(m: &Moments) -> Self {
        let near = |x: f64| Interval::around(x, 16);
        Self {
            mass: Interval::point(m.mass),
            first: vector(&m.first, near),
            inertia: tensor(&m.inertia, near),
        }
    }
}

impl<T> Part<T> {
    /// Every figure as another kind of number.
    pub(super) fn map<U>(&self, f: impl Fn(T) -> U) -> Part<U>
    where
        T: Copy,
    {
        Part {
            mass: f(self.mass),
            first: self.first.map(&f),
            inertia: self.inertia.map(|row| row.map(&f)),
        }
    }
}

impl Part {
    /// What this part has more than `other` in the same frame.
    pub(super) fn less(&self, other: &Self) -> Self {
        let ([a, b, c], [p, q, r]) = (self.inertia, other.inertia);
        Self {
            mass: self.mass - other.mass,
            first: minus(self.first, other.first),
            inertia: [minus(a, p), minus(b, q), minus(c, r)],
        }
    }

    /// A patch as it will be written: exactly these floats.
    pub(super) fn rounded(m: &Moments) -> Self {
        let exactly = Interval::point;
        Self {
            mass: exactly(m.mass),
            first: vector(&m.first, exactly),
            inertia: tensor(&m.inertia, exactly),
        }
    }
}

impl<T: Scalar, const D: usize> Enclosed<T, D> {
    pub(super) fn zero() -> Self {
        Self([[T::exactly(0.0); D]; D])
    }

    pub(super) fn negative(&self) -> Self {
        Self(self.0.map(|row| row.map(|x| -x)))
    }

    fn at(&self, row: usize, column: usize) -> T {
        let entry = self.0.get(row).and_then(|r| r.get(column)).copied();
        entry.unwrap_or_else(|| T::exactly(f64::NAN))
    }

    /// Adds to an entry and its mirror.
    pub(super) fn add(&mut self, row: usize, column: usize, value: T) {
        let sum = self.at(row, column) + value;
        for (row, column) in [(row, column), (column, row)] {
            if let Some(slot) = self.0.get_mut(row).and_then(|r| r.get_mut(column)) {
                *slot = sum;
            }
        }
    }

    /// The same with `own` on the diagonal for the carrier's motions, which nothing couples to the joints'.
    pub(super) fn with_still_carrier(mut self, own: f64) -> Self {
        for (i, row) in self.0.iter_mut().enumerate() {
            for (j, entry) in row.iter_mut().enumerate().filter(|(j, _)| i < 6 || *j < 6) {
                *entry = T::exactly(if i == j { own } else { 0.0 });
            }
        }
        self
    }

    /// Adds a part that is rigid in the carrier.
    pub(super) fn add_fixed(&mut self, part: &Part<T>) {
        let [x, y, z] = part.first;
        for k in 0..3 {
            self.add(k, k, part.mass);
        }
        // v·(ω × h): −h× above the diagonal.
        self.add(0, 4, z);
        self.add(0, 5, -y);
        self.add(1, 3, -z);
        self.add(1, 5, x);
        self.add(2, 3, y);
        self.add(2, 4, -x);
        for (i, row) in part.inertia.iter().enumerate() {
            for (j, value) in row.iter().enumerate().filter(|(j, _)| *j >= i) {
                self.add(3 + i, 3 + j, *value);
            }
        }
    }

    /// Adds what couples B's speed and the carrier's angular speed to that of the joint whose row is `joint`.
    pub(super) fn add_joint(&mut self, joint: usize, linear: [T; 3], angular: [T; 3]) {
        for (row, value) in linear.into_iter().chain(angular).enumerate() {
            self.add(row, joint, value);
        }
    }
}

impl<const D: usize> Enclosed<Interval, D> {
    /// A float inside each entry.
    pub(super) fn middle(&self) -> SMatrix<f64, D, D> {
        SMatrix::from_fn(|row, column| self.at(row, column).mid())
    }
}

impl Enclosed {
    /// Adds a part that moves with the joint.
    pub(super) fn add_part(&mut self, part: &Part, at: &Placement) {
        self.add_moved(&Moved::of(&Turned::of(part, at), at));
    }

    /// Adds a part as `to` has it less the same as `from` has it; both have one origin, which then cancels where it can.
    pub(super) fn add_change(&mut self, part: &Part, from: &Placement, to: &Placement) {
        let change = Turned::of(part, to).less(&Turned::of(part, from));
        self.add_moved(&Moved::of(&change, to));
    }

    fn add_moved(&mut self, moved: &Moved) {
        self.add_fixed(&moved.about_b);
        self.add_joint(6, moved.linear, moved.angular);
        self.add(6, 6, moved.joint);
    }

    /// ‖TᵀAT − d·1‖∞ over the rows given, rounded up.
    pub(super) fn norm_off<const N: usize>(
        &self,
        d: f64,
        t: &SMatrix<f64, N, N>,
        rows: Rows<N>,
    ) -> f64 {
        let Congruent { middle, around } = self.congruent(|entry| *entry, t, rows);
        let apart = (middle - SMatrix::<f64, N, N>::identity() * d).abs() + around;
        largest(apart.row_iter().map(|row| row.sum() * (1.0 + ROOM)))
    }
}

impl<T: Scalar, const D: usize> Enclosed<T, D> {
    /// TᵀAT over the rows given, of which each entry of A is enclosed by a `figure` of its own.
    ///
    /// With A within R of its middle M, entry by entry, TᵀAT lies within |T|ᵀ R |T| of TᵀMT, and that in floats within
    /// 32u |T|ᵀ|M||T| of itself (n = 8 twice: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed.,
    /// sec. 3.5); the radius is raised by more than its own rounding, what rounds sums of a few such is left to [`ROOM`].
    pub(super) fn congruent<const N: usize>(
        &self,
        figure: impl Fn(&T) -> Interval,
        t: &SMatrix<f64, N, N>,
        rows: Rows<N>,
    ) -> Congruent<N> {
        let pick = |from: fn(Interval) -> f64| {
            SMatrix::<f64, N, N>::from_fn(|i, j| match (rows.get(i), rows.get(j)) {
                (Some(i), Some(j)) => from(figure(&self.at(*i, *j))),
                _ => f64::NAN,
            })
        };
        let middle = pick(Interval::mid);
        let radius = pick(|x| {
            (x.hi() - x.mid()).max(x.mid() - x.lo()).next_up() + 16.0 * f64::EPSILON * x.magnitude()
        });
        Congruent { middle: turned_by(&middle, t), around: turned_by(&radius, &t.abs()) }
    }
}

/// A part turned as it stands in the carrier frame, still about its own origin, with its rate.
struct Turned {
    mass: Interval,
    first: Vector,
    inertia: [[Interval; 3]; 3],
    /// r h in the plane.
    swept: Plane,
    /// r I z.
    spin: Vector,
    /// r² I_zz.
    joint: Interval,
}

impl Turned {
    fn of(part: &Part, at: &Placement) -> Self {
        let ([c, s], [x, y, z], r) = (at.direction, part.first, at.rate);
        let first = [c * x - s * y, s * x + c * y, z];
        let inertia = turned(&part.inertia, c, s);
        let [ixz, iyz, izz] = [inertia[0][2], inertia[1][2], inertia[2][2]];
        Self {
            mass: part.mass,
            first,
            inertia,
            swept: [r * first[0], r * first[1]],
            spin: [r * ixz, r * iyz, r * izz],
            joint: r.square() * izz,
        }
    }

    /// The same part turned otherwise taken away: its mass and height cancel.
    fn less(&self, other: &Self) -> Self {
        let rows = |k: usize| {
            let row = |t: &Self| t.inertia.get(k).copied().unwrap_or([Interval::ENTIRE; 3]);
            minus(row(self), row(other))
        };
        let [x, y, _] = minus(self.first, other.first);
        Self {
            mass: Interval::ZERO,
            first: [x, y, Interval::ZERO],
            inertia: [rows(0), rows(1), rows(2)],
            swept: minus(self.swept, other.swept),
            spin: minus(self.spin, other.spin),
            joint: self.joint - other.joint,
        }
    }
}

fn minus<const N: usize>(a: [Interval; N], b: [Interval; N]) -> [Interval; N] {
    std::array::from_fn(|k| match (a.get(k), b.get(k)) {
        (Some(a), Some(b)) => *a - *b,
        _ => Interval::ENTIRE,
    })
}

/// A part in the carrier frame, and its coupling to the joint.
struct Moved {
    about_b: Part,
    linear: Vector,
    angular: Vector,
    joint: Interval,
}

impl Moved {
    /// With h the first moment and I the inertia about the part's own origin, both turned, O that origin and r the part's
    /// rate: the coupling of a mass element at O + ρ is its speed O_ψ + r z × ρ, summed up.
    fn of(part: &Turned, at: &Placement) -> Self {
        let (h, z, m, [qx, qy]) = (part.first, part.first[2], part.mass, part.swept);
        let ([ox, oy], [vx, vy]) = (at.origin, at.origin_rate);
        let linear = [m * vx - qy, m * vy + qx, Interval::ZERO];
        let about_b = Part {
            mass: m,
            first: [m * ox + h[0], m * oy + h[1], z],
            inertia: moved_inertia(&part.inertia, m, &h, [ox, oy]),
        };
        // O × (whole) + Σ ρ × (O_ψ + r z × ρ): the latter h × O_ψ + r I z.
        let [sx, sy, sz] = part.spin;
        let angular = [
            -(z * vy) + sx,
            z * vx + sy,
            ox * linear[1] - oy * linear[0] + (h[0] * vy - h[1] * vx) + sz,
        ];
        let joint = m * (vx.square() + vy.square())
            + Interval::point(2.0) * (vy * qx - vx * qy)
            + part.joint;
        Self { about_b, linear, angular, joint }
    }
}

/// A tensor turned about z, with the double angle so that equal figures in the plane do not spread.
fn turned(t: &[[Interval; 3]; 3], c: Interval, s: Interval) -> [[Interval; 3]; 3] {
    let [[xx, xy, xz], [_, yy, yz], [_, _, zz]] = *t;
    let half = Interval::point(0.5);
    let (mean, apart) = (half * (xx + yy), half * (xx - yy));
    let (c2, s2) = (c.square() - s.square(), Interval::point(2.0) * c * s);
    let (x2, y2) = (apart * c2 - xy * s2, apart * s2 + xy * c2);
    let (xz_turned, yz_turned) = (c * xz - s * yz, s * xz + c * yz);
    [[mean + x2, y2, xz_turned], [y2, mean - x2, yz_turned], [xz_turned, yz_turned, zz]]
}

/// Inertia about B of a part whose own origin is at O in the plane: I + (2 h·O + m O²) 1 − (h Oᵀ + O hᵀ + m O Oᵀ).
fn moved_inertia(
    i: &[[Interval; 3]; 3],
    m: Interval,
    h: &Vector,
    [ox, oy]: Plane,
) -> [[Interval; 3]; 3] {
    let two = Interval::point(2.0);
    let (xx, yy) = (two * h[0] * ox + m * ox.square(), two * h[1] * oy + m * oy.square());
    let xy = h[0] * oy + h[1] * ox + m * ox * oy;
    let (xz, yz) = (h[2] * ox, h[2] * oy);
    [
        [i[0][0] + yy, i[0][1] - xy, i[0][2] - xz],
        [i[1][0] - xy, i[1][1] + xx, i[1][2] - yz],
        [i[2][0] - xz, i[2][1] - yz, i[2][2] + xx + yy],
    ]
}
