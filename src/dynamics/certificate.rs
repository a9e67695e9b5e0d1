//! A bound of the inertia error that holds for every pose of a stroke and every linkage of a box of lengths.
//!
//! Over a short piece of the stroke both mass matrices are enclosed in interval arithmetic: M of the linkage, and ΔM,
//! the tree's less the linkage's, written from what the replacement adds to carrier and child, so that the child itself
//! does not enter. With T from the plain matrices in the middle of the piece, TᵀMT ≈ 1 and TᵀΔMT ≈ diagonal, and
//!
//! ```text
//! |q̇ᵀ ΔM q̇| ≤ ‖TᵀΔMT‖∞ |y|²,   q̇ᵀ M q̇ ≥ (1 − ‖TᵀMT − 1‖∞) |y|²,   q̇ = T y
//! ```
//!
//! bound ε whatever T is, since a symmetric matrix has no eigenvalue above its largest row sum. A piece whose bound is
//! not good enough is halved. Derived here.

use nalgebra::{DMatrix, Matrix3, Vector3};

use super::fidelity::MeasuredOver;
use super::masses::Masses;
use super::moments::Moments;
use super::reflected::{Matrix7, mass_matrix};
use super::replacement::{Replacement, Tree};
use crate::linkage::{Branch, FourBar, Half, Pose, PoseOf};
use crate::numeric::{Interval, Scalar};

type Vector = [Interval; 3];
type Plane = [Interval; 2];

/// The upper triangle's mirror is kept too: entry (row, column).
#[derive(Clone, Copy)]
struct Enclosed([[Interval; 7]; 7]);

/// The box of linkages and what stands in for the drawn one.
#[derive(Clone, Copy, Debug)]
pub struct Certificate<'a> {
    /// The drawn linkage's branch.
    pub branch: &'a Branch,
    /// The parts.
    pub masses: &'a Masses,
    /// The direct joint.
    pub replacement: &'a Replacement,
    /// The motions allowed for.
    pub over: MeasuredOver,
    /// The lengths.
    pub bars: FourBar<Interval>,
    /// Crank angle in the zero pose less the drawn one, rad.
    pub crank_error: Interval,
}

/// Numbers of even pieces that the stroke is cut into, one after the other.
const CUTS: [u32; 4] = [8, 24, 72, 144];

/// Finer pieces are not tried once they bring less than this share.
const WORTHWHILE: f64 = 0.95;

impl Certificate<'_> {
    /// A bound of ε over the motor turns `turns` (rad, ascending): of ever finer even pieces, until it is at most `aim` or
    /// finer ones bring little; `None` where it then exceeds `limit`.
    #[must_use]
    pub fn bound(&self, turns: [f64; 2], aim: f64, limit: f64) -> Option<f64> {
        let mut best = f64::INFINITY;
        for cut in CUTS {
            let bound = self.over_pieces(turns, cut).unwrap_or(f64::INFINITY);
            let worthwhile = bound < WORTHWHILE * best || best.is_infinite();
            best = best.min(bound);
            if best <= aim || !worthwhile {
                break;
            }
        }
        (best <= limit).then_some(best)
    }

    fn over_pieces(&self, [from, to]: [f64; 2], cut: u32) -> Option<f64> {
        let edge = |k: u32| from + (to - from) * (f64::from(k) / f64::from(cut));
        let mut largest = 0.0_f64;
        for k in 0..cut {
            let end = if k + 1 == cut { to } else { edge(k + 1) };
            largest = largest.max(self.over_piece(Interval::new(edge(k), end))?);
        }
        Some(largest)
    }

    fn over_piece(&self, piece: Interval) -> Option<f64> {
        let crank = Interval::point(self.branch.zero_crank()) + self.crank_error + piece;
        let pose = self.bars.pose(Half::of_range(crank), self.branch.closure())?;
        let r = pose.velocity_ratio();
        if pose.m.contains(0.0) || r.contains(0.0) {
            return None;
        }
        let (linkage, difference) = self.enclosures(&pose);
        let middle = self.branch.pose(piece.mid()).ok()?;
        let rows = rows(self.over);
        let transform = self.transform(&middle, &rows)?;
        let apart = linkage.norm_off(1.0, &transform, &rows);
        let error = difference.norm_off(0.0, &transform, &rows);
        let one = Interval::point(1.0);
        let bound = (Interval::point(error) / (one - Interval::point(apart))).hi();
        (apart < 0.5 && bound.is_finite()).then_some(bound)
    }

    /// M of the linkage and ΔM, the tree's less the linkage's.
    fn enclosures(&self, pose: &PoseOf<Interval>) -> (Enclosed, Enclosed) {
        let moving = Moving::at(pose);
        let mut light = Enclosed::zero();
        for (body, placement) in
            [(self.masses.crank, moving.crank()), (self.masses.coupler, moving.coupler())]
        {
            if let Some(body) = body {
                light.add_part(&Part::from(&Moments::from(&body)), &placement);
            }
        }
        let turns = Interval::point(self.masses.gear_ratio()) * moving.ratio;
        let rotor = Interval::point(self.masses.rotor_inertia());
        light.add(5, 6, rotor * turns);
        light.add(6, 6, rotor * turns.square());
        light.add(5, 5, Interval::point(self.masses.rotor_beside_carrier()));
        let (mut linkage, mut difference) = (light, light.negative());
        let child = moving.child();
        linkage.add_part(&Part::from(&Moments::from(&self.masses.child)), &child);
        if let Some(carrier) = &self.masses.carrier {
            linkage.add_fixed(&Part::from(&Moments::from(carrier)));
        }
        let Tree { armature, .. } = self.replacement.tree;
        difference.add_fixed(&Part::rounded(&self.replacement.carrier_patch));
        difference.add_part(&Part::rounded(&self.replacement.child_patch), &child);
        difference.add(6, 6, Interval::point(armature));
        (linkage, difference)
    }

    /// T with TᵀMT = 1 and TᵀΔMT diagonal at one pose, as near as floats go.
    fn transform(&self, pose: &Pose, rows: &[usize]) -> Option<DMatrix<f64>> {
        let pick =
            |m: &Matrix7| DMatrix::from_fn(rows.len(), rows.len(), |i, j| entry(m, rows, i, j));
        let linkage = mass_matrix(pose, self.masses);
        let tree = self.replacement.tree.mass_matrix(pose);
        let inverse = pick(&linkage).cholesky()?.l().try_inverse()?;
        let whitened = &inverse * pick(&(tree - linkage)) * inverse.transpose();
        Some(inverse.transpose() * whitened.symmetric_eigen().eigenvectors)
    }
}

fn entry(m: &Matrix7, rows: &[usize], i: usize, j: usize) -> f64 {
    match (rows.get(i), rows.get(j)) {
        (Some(i), Some(j)) => m.get((*i, *j)).copied().unwrap_or(f64::NAN),
        _ => f64::NAN,
    }
}

/// The rows of the mass matrix that belong to the motions allowed for.
fn rows(over: MeasuredOver) -> Vec<usize> {
    match over {
        MeasuredOver::FixedCarrier => vec![6],
        MeasuredOver::Plane => vec![0, 1, 5, 6],
        MeasuredOver::Space => (0..7).collect(),
    }
}

/// Directions, positions and rates of the moving parts.
struct Moving {
    crank: Plane,
    coupler: Plane,
    rocker: Plane,
    ground: Interval,
    crank_length: Interval,
    /// i, crank turns per joint turn.
    ratio: Interval,
    /// s, coupler turns per joint turn.
    coupler_rate: Interval,
}

/// Where a part's frame is and how it moves per joint turn.
struct Placement {
    direction: Plane,
    rate: Interval,
    origin: Plane,
    origin_rate: Plane,
}

impl Moving {
    fn at(pose: &PoseOf<Interval>) -> Self {
        let ratio = Interval::point(1.0) / pose.velocity_ratio();
        let along = |[x, y]: Plane, length: Interval| [x / length, y / length];
        Self {
            crank: pose.e,
            coupler: along(pose.coupler_vector(), pose.bars.coupler),
            rocker: along(pose.rocker_vector(), pose.bars.rocker),
            ground: pose.bars.ground,
            crank_length: pose.bars.crank,
            ratio,
            coupler_rate: pose.coupler_rate() * ratio,
        }
    }

    fn crank(&self) -> Placement {
        let still = [Interval::ZERO; 2];
        let origin = [-self.ground, Interval::ZERO];
        Placement { direction: self.crank, rate: self.ratio, origin, origin_rate: still }
    }

    fn coupler(&self) -> Placement {
        let (a, i, [x, y]) = (self.crank_length, self.ratio, self.crank);
        Placement {
            direction: self.coupler,
            rate: self.coupler_rate,
            origin: [a * x - self.ground, a * y],
            origin_rate: [-(a * i * y), a * i * x],
        }
    }

    fn child(&self) -> Placement {
        let still = [Interval::ZERO; 2];
        Placement {
            direction: self.rocker,
            rate: Interval::point(1.0),
            origin: still,
            origin_rate: still,
        }
    }
}

/// Mass, first moment and inertia about the origin of a part's own frame.
struct Part {
    mass: Interval,
    first: Vector,
    inertia: [[Interval; 3]; 3],
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

impl Part {
    /// A patch as it will be written: exactly these floats.
    fn rounded(m: &Moments) -> Self {
        let exactly = Interval::point;
        Self {
            mass: exactly(m.mass),
            first: vector(&m.first, exactly),
            inertia: tensor(&m.inertia, exactly),
        }
    }
}

impl Enclosed {
    fn zero() -> Self {
        Self([[Interval::ZERO; 7]; 7])
    }

    fn negative(&self) -> Self {
        Self(self.0.map(|row| row.map(|x| -x)))
    }

    fn at(&self, row: usize, column: usize) -> Interval {
        self.0.get(row).and_then(|r| r.get(column)).copied().unwrap_or(Interval::ENTIRE)
    }

    /// Adds to an entry and its mirror.
    fn add(&mut self, row: usize, column: usize, value: Interval) {
        let sum = self.at(row, column) + value;
        for (row, column) in [(row, column), (column, row)] {
            if let Some(slot) = self.0.get_mut(row).and_then(|r| r.get_mut(column)) {
                *slot = sum;
            }
        }
    }

    /// Adds a part that is rigid in the carrier.
    fn add_fixed(&mut self, part: &Part) {
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

    /// Adds a part that moves with the joint.
    fn add_part(&mut self, part: &Part, at: &Placement) {
        let moved = Moved::of(part, at);
        self.add_fixed(&moved.about_b);
        for (row, value) in moved.linear.into_iter().chain(moved.angular).enumerate() {
            self.add(row, 6, value);
        }
        self.add(6, 6, moved.joint);
    }

    /// ‖TᵀAT − d·1‖∞ over the rows given, rounded up.
    ///
    /// With A within R of its middle M, entry by entry, TᵀAT lies within |T|ᵀ R |T| of TᵀMT, and that in floats within
    /// 32u |T|ᵀ|M||T| of itself (n = 7 twice: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed.,
    /// sec. 3.5); the radius is then raised by more than its own rounding.
    fn norm_off(&self, d: f64, t: &DMatrix<f64>, rows: &[usize]) -> f64 {
        let n = rows.len();
        let pick = |figure: &dyn Fn(Interval) -> f64| {
            DMatrix::from_fn(n, n, |i, j| match (rows.get(i), rows.get(j)) {
                (Some(i), Some(j)) => figure(self.at(*i, *j)),
                _ => f64::NAN,
            })
        };
        let middle = pick(&Interval::mid);
        let radius = pick(&|x| {
            (x.hi() - x.mid()).max(x.mid() - x.lo()).next_up() + 16.0 * f64::EPSILON * x.magnitude()
        });
        let size = t.abs();
        let (product, around) = (t.transpose() * middle * t, size.transpose() * radius * size);
        let row = |i: usize| {
            let entry = |j: usize| {
                let (p, r) = (product.get((i, j)).copied(), around.get((i, j)).copied());
                let off = if i == j { d } else { 0.0 };
                (p.unwrap_or(f64::NAN) - off).abs() + r.unwrap_or(f64::NAN)
            };
            (0..n).map(entry).sum::<f64>() * (1.0 + 1e-12)
        };
        let rows: Vec<f64> = (0..n).map(row).collect();
        if rows.iter().any(|x| x.is_nan()) {
            f64::INFINITY
        } else {
            rows.into_iter().fold(0.0, f64::max)
        }
    }
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
    fn of(part: &Part, at: &Placement) -> Self {
        let [c, s] = at.direction;
        let [x, y, z] = part.first;
        let h = [c * x - s * y, s * x + c * y, z];
        let inertia = turned(&part.inertia, c, s);
        let ([ox, oy], [vx, vy], m, r) = (at.origin, at.origin_rate, part.mass, at.rate);
        let linear = [m * vx - r * h[1], m * vy + r * h[0], Interval::ZERO];
        let about_b = Part {
            mass: m,
            first: [m * ox + h[0], m * oy + h[1], z],
            inertia: moved_inertia(&inertia, m, &h, [ox, oy]),
        };
        // O × (whole) + Σ ρ × (O_ψ + r z × ρ): the latter h × O_ψ + r I z.
        let [ixz, iyz, izz] = [inertia[0][2], inertia[1][2], inertia[2][2]];
        let angular = [
            -(z * vy) + r * ixz,
            z * vx + r * iyz,
            ox * linear[1] - oy * linear[0] + (h[0] * vy - h[1] * vx) + r * izz,
        ];
        let two = Interval::point(2.0);
        let joint =
            m * (vx.square() + vy.square()) + two * r * (vy * h[0] - vx * h[1]) + r.square() * izz;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dynamics::{Body, Course, Fidelity, Inertia, Rotor, fidelity};
    use crate::linkage::{Closure, Drive, Stroke};
    use proptest::prelude::*;

    fn bar(mass: f64, centre: [f64; 3], about: f64) -> Body {
        let tensor = Matrix3::new(0.4, 0.02, 0.01, 0.02, 0.8, -0.03, 0.01, -0.03, 1.0) * about;
        Body { mass, centre: centre.into(), inertia: Inertia::Tensor(tensor) }
    }

    fn masses(crank_x: f64) -> Masses {
        Masses {
            crank: Some(bar(0.08, [crank_x, 0.004, 0.002], 3e-5)),
            coupler: Some(bar(0.12, [0.14, -0.006, 0.01], 9e-4)),
            child: bar(0.9, [0.03, -0.04, 0.005], 3e-3),
            carrier: Some(bar(2.5, [-0.15, 0.01, 0.0], 0.03)),
            carried: None,
            rotor: Some(Rotor { inertia: 1.5e-4, gear_ratio: 7.75, in_carrier: true }),
        }
    }

    fn figure(found: &Fidelity, over: MeasuredOver) -> f64 {
        match over {
            MeasuredOver::FixedCarrier => found.fixed.value,
            MeasuredOver::Plane => found.planar.unwrap().value,
            MeasuredOver::Space => found.spatial.unwrap().value,
        }
    }

    const OVER: [MeasuredOver; 3] =
        [MeasuredOver::FixedCarrier, MeasuredOver::Plane, MeasuredOver::Space];

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        #[test]
        fn no_linkage_of_the_box_has_a_larger_error_than_the_bound(
            coupler in 0.298..0.302_f64,
            rocker in 0.0395..0.0405_f64,
            crank_x in -0.01..0.03_f64,
            tolerance in 0.0..5e-5_f64,
            shares in [-1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64],
        ) {
            let drawn = FourBar { ground: 0.3, crank: 0.04, coupler, rocker };
            let branch = Branch::through(drawn, 1.5, Closure::Open).unwrap();
            let turns = [-0.5, 0.6];
            let stroke = Stroke::on(&branch, Drive::Motor, turns).unwrap();
            let (masses, course) = (masses(crank_x), Course::over(&branch, stroke).unwrap());
            let Ok(replacement) = Replacement::of(&course, &masses) else { return Ok(()) };
            let range = |x: f64| Interval::new(x - tolerance, x + tolerance);
            let bars = FourBar {
                ground: range(0.3), crank: range(0.04), coupler: range(coupler), rocker: range(rocker),
            };
            let member = FourBar {
                ground: 0.3 + tolerance * shares[0],
                crank: 0.04 + tolerance * shares[1],
                coupler: coupler + tolerance * shares[2],
                rocker: rocker + tolerance * shares[3],
            };
            let built = Branch::through(member, 1.5, Closure::Open).unwrap();
            let built_stroke = Stroke::on(&built, Drive::Motor, turns).unwrap();
            let found = fidelity(&Course::over(&built, built_stroke).unwrap(), &masses, &replacement.tree);
            let drawn_found = fidelity(&course, &masses, &replacement.tree);
            for over in OVER {
                let certificate = Certificate {
                    branch: &branch, masses: &masses, replacement: &replacement, over, bars, crank_error: Interval::ZERO,
                };
                let nominal = figure(&drawn_found, over);
                let bound = certificate.bound(turns, 1.1 * nominal + 1e-4, 1.0);
                prop_assert!(bound.is_none_or(|b| figure(&found, over) <= b), "{over:?} {bound:?} {}", figure(&found, over));
                prop_assert!(tolerance > 2e-6 || bound.is_some_and(|b| b < 3.0 * nominal + 0.02), "{over:?} {bound:?} {nominal}");
            }
        }
    }
}
