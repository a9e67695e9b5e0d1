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

use nalgebra::SMatrix;

use super::body::Body;
use super::enclosed::{Enclosed, Moving, Part, Rows};
use super::fidelity::MeasuredOver;
use super::masses::Masses;
use super::moments::Moments;
use super::reflected::{Matrix7, mass_matrix};
use super::replacement::Replacement;
use super::tree::Tree;
use crate::linkage::{Branch, FourBar, Half, Pose, PoseOf};
use crate::numeric::{Interval, Scalar, even_pieces};

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

/// Even pieces that the stroke is first cut into.
const PIECES: u32 = 8;

/// Halvings before it is given up, of a bound that meets the limit and of one that does not.
pub(super) const MOST: [u32; 2] = [136; 2];

/// A piece whose halves bring less than this share is as good as it gets.
const WORTHWHILE: f64 = 0.98;

/// A piece of the poses with its bound.
struct Piece {
    poses: Interval,
    bound: f64,
}

/// What is known of a piece.
#[derive(Clone, Copy)]
pub(super) struct PieceBound {
    /// Of all its poses.
    pub(super) bound: f64,
    /// Of the one in its middle: halving gets no further below it; 0 where that is not told.
    pub(super) at_middle: f64,
}

/// A bound this much above what halving can bring is close enough.
const CLOSE: f64 = 1.2;

impl Certificate<'_> {
    /// A bound of ε over the motor turns `turns` (rad, ascending): the piece with the largest bound is halved until that
    /// is at most `aim` or halving brings little; `None` where it then exceeds `limit`.
    #[must_use]
    pub fn bound(&self, turns: [f64; 2], aim: f64, limit: f64) -> Option<f64> {
        let parts = Parts::of(self);
        bounded(turns, ([aim, limit], MOST), |piece| {
            let bound = self.over_piece(&parts, piece)?;
            Some(PieceBound { bound, at_middle: 0.0 })
        })
    }

    fn over_piece(&self, parts: &Parts, piece: Interval) -> Option<f64> {
        let crank = Interval::point(self.branch.zero_crank()) + self.crank_error + piece;
        let pose = self.bars.pose(Half::of_range(crank), self.branch.closure())?;
        let r = pose.velocity_ratio();
        if pose.m.contains(0.0) || r.contains(0.0) {
            return None;
        }
        let both = self.enclosures(parts, &pose);
        let middle = self.branch.pose(piece.mid()).ok()?;
        let plain = self.plain(&middle);
        share_bound(self.over, &both, &plain)
    }

    /// M of the linkage and ΔM at one pose in floats.
    fn plain(&self, pose: &Pose) -> [Matrix7; 2] {
        let linkage = mass_matrix(pose, self.masses);
        [linkage, self.replacement.tree.mass_matrix(pose) - linkage]
    }

    /// M of the linkage and ΔM, the tree's less the linkage's.
    fn enclosures(&self, parts: &Parts, pose: &PoseOf<Interval>) -> [Enclosed; 2] {
        let moving = Moving::by_joint(pose);
        let mut light = Enclosed::zero();
        for (part, placement) in
            [(&parts.crank, moving.crank()), (&parts.coupler, moving.coupler())]
        {
            if let Some(part) = part {
                light.add_part(part, &placement);
            }
        }
        let turns = Interval::point(self.masses.gear_ratio()) * moving.crank_rate;
        let rotor = Interval::point(self.masses.rotor_inertia());
        light.add(5, 6, rotor * turns);
        light.add(6, 6, rotor * turns.square());
        light.add(5, 5, Interval::point(self.masses.rotor_beside_carrier()));
        let (mut linkage, mut difference) = (light, light.negative());
        let child = moving.child();
        linkage.add_part(&parts.child, &child);
        if let Some(carrier) = &parts.carrier {
            linkage.add_fixed(carrier);
        }
        let Tree { armature, .. } = self.replacement.tree;
        difference.add_fixed(&parts.carrier_patch);
        difference.add_part(&parts.child_patch, &child);
        difference.add(6, 6, Interval::point(armature));
        [linkage, difference]
    }
}

/// A bound over all of `turns` (rad, ascending), piece by piece, of what `over_piece` bounds over each: the piece with the largest
/// bound is halved until that is at most `aim`, close to what halving can bring at all, or halving brings little, and no more often
/// than `most` says of a bound that meets the limit and of one that does not; `None` where it then exceeds `limit`.
pub(super) fn bounded(
    turns: [f64; 2],
    ([aim, limit], [most, most_beyond]): ([f64; 2], [u32; 2]),
    over_piece: impl Fn(Interval) -> Option<PieceBound>,
) -> Option<f64> {
    let mut least = 0.0_f64;
    let mut look = |poses: Interval, whole: f64| {
        let found = over_piece(poses);
        least = least.max(found.map_or(0.0, |found| found.at_middle));
        let bound = found.map_or(f64::INFINITY, |found| found.bound).min(whole);
        let enough = if least > limit { f64::INFINITY } else { aim.max(CLOSE * least).min(limit) };
        (Piece { poses, bound }, enough)
    };
    let (mut known, mut enough) = (Vec::new(), aim);
    for poses in even_pieces(turns, PIECES) {
        let (piece, now) = look(poses, f64::INFINITY);
        known.push(piece);
        enough = now;
    }
    let mut left = most_beyond;
    loop {
        let by_bound = |a: &(usize, &Piece), b: &(usize, &Piece)| a.1.bound.total_cmp(&b.1.bound);
        let (index, worst) = known.iter().enumerate().max_by(by_bound)?;
        let worst = worst.bound;
        let is_spent = worst <= limit && left + most <= most_beyond;
        if worst <= enough || left == 0 || is_spent {
            return (worst <= limit).then_some(worst);
        }
        let mut closer = 0.0_f64;
        for half in known.swap_remove(index).poses.halves() {
            let (piece, now) = look(half, worst);
            closer = closer.max(piece.bound);
            known.push(piece);
            enough = now;
        }
        let stalls = worst.is_finite() && closer > WORTHWHILE * worst;
        left = if stalls { 0 } else { left - 1 };
    }
}

/// The parts, as they are in every pose.
struct Parts {
    crank: Option<Part>,
    coupler: Option<Part>,
    child: Part,
    carrier: Option<Part>,
    carrier_patch: Part,
    child_patch: Part,
}

impl Parts {
    fn of(certificate: &Certificate<'_>) -> Self {
        let Certificate { masses, replacement, .. } = certificate;
        let part = |body: &Body| Part::from(&Moments::from(body));
        Self {
            crank: masses.crank.as_ref().map(part),
            coupler: masses.coupler.as_ref().map(part),
            child: part(&masses.child),
            carrier: masses.carrier.as_ref().map(part),
            carrier_patch: Part::rounded(&replacement.carrier_patch),
            child_patch: Part::rounded(&replacement.child_patch),
        }
    }
}

/// The bound of ε over a piece, from M and ΔM enclosed and in floats.
pub(super) fn share_bound(
    over: MeasuredOver,
    both: &[Enclosed; 2],
    plain: &[Matrix7; 2],
) -> Option<f64> {
    match over {
        MeasuredOver::FixedCarrier => ratio_of_norms(both, plain, [6]),
        MeasuredOver::Plane => ratio_of_norms(both, plain, [0, 1, 5, 6]),
        MeasuredOver::Space => ratio_of_norms(both, plain, [0, 1, 2, 3, 4, 5, 6]),
    }
}

/// ‖TᵀΔMT‖ / (1 − ‖TᵀMT − 1‖): the bound of ε over a piece; `None` where it cannot be told.
fn ratio_of_norms<const N: usize>(
    [linkage, difference]: &[Enclosed; 2],
    plain: &[Matrix7; 2],
    rows: Rows<N>,
) -> Option<f64> {
    let transform = transform(plain, rows)?;
    let apart = linkage.norm_off(1.0, &transform, rows);
    share_of_norms(apart, difference.norm_off(0.0, &transform, rows))
}

/// The bound of ε where TᵀMT is no further than `apart` from 1 and TᵀΔMT than `error` from 0, as norms; `None` where it cannot
/// be told.
pub(super) fn share_of_norms(apart: f64, error: f64) -> Option<f64> {
    let one = Interval::point(1.0);
    let bound = (Interval::point(error) / (one - Interval::point(apart))).hi();
    (apart < 0.5 && bound.is_finite()).then_some(bound)
}

/// T with TᵀMT = 1 and TᵀΔMT nearly diagonal at one pose.
pub(super) fn transform<const N: usize, const D: usize>(
    [linkage, difference]: &[SMatrix<f64, D, D>; 2],
    rows: Rows<N>,
) -> Option<SMatrix<f64, N, N>> {
    let root = picked(linkage, rows).cholesky()?.unpack();
    let inverse = root.solve_lower_triangular(&SMatrix::identity())?;
    let whitened = inverse * picked(difference, rows) * inverse.transpose();
    Some(inverse.transpose() * directions(whitened))
}

/// Rounds over all pairs, more than enough for matrices this small.
const ROUNDS: u32 = 6;

/// Orthogonal directions in which the symmetric `m` is as good as diagonal, by turns in the plane of two axes each.
///
/// # Source
/// Jacobi's method: G. H. Golub and C. F. Van Loan, Matrix Computations, 4th ed., sec. 8.5 (from memory).
fn directions<const N: usize>(m: SMatrix<f64, N, N>) -> SMatrix<f64, N, N> {
    let (mut m, mut all) = (m, SMatrix::<f64, N, N>::identity());
    let fine = 1e-9 * m.amax();
    for _ in 0..ROUNDS {
        let mut turned = false;
        for (p, q) in (0..N).flat_map(|q| (0..q).map(move |p| (p, q))) {
            let at = |i: usize, j: usize| m.get((i, j)).copied().unwrap_or(0.0);
            if at(p, q).abs() > fine {
                let half = 0.5 * libm::atan2(2.0 * at(p, q), at(p, p) - at(q, q));
                let (sin, cos) = libm::sincos(half);
                turn(&mut m, [p, q], [cos, sin]);
                m.transpose_mut();
                turn(&mut m, [p, q], [cos, sin]);
                turn(&mut all, [p, q], [cos, sin]);
                turned = true;
            }
        }
        if !turned {
            break;
        }
    }
    all
}

/// Columns p and q turned into one another.
fn turn<const N: usize>(m: &mut SMatrix<f64, N, N>, [p, q]: [usize; 2], [cos, sin]: [f64; 2]) {
    for row in 0..N {
        let (x, y) = (m.get((row, p)).copied(), m.get((row, q)).copied());
        let (x, y) = (x.unwrap_or(0.0), y.unwrap_or(0.0));
        if let Some(slot) = m.get_mut((row, p)) {
            *slot = cos * x + sin * y;
        }
        if let Some(slot) = m.get_mut((row, q)) {
            *slot = cos * y - sin * x;
        }
    }
}

fn picked<const N: usize, const D: usize>(
    m: &SMatrix<f64, D, D>,
    rows: Rows<N>,
) -> SMatrix<f64, N, N> {
    let entry = |i: usize, j: usize| match (rows.get(i), rows.get(j)) {
        (Some(i), Some(j)) => m.get((*i, *j)).copied().unwrap_or(f64::NAN),
        _ => f64::NAN,
    };
    SMatrix::from_fn(entry)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dynamics::{Body, Fidelity, Inertia, MonotoneStroke, Rotor, fidelity};
    use crate::linkage::{Closure, Drive, Stroke};
    use nalgebra::Matrix3;
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
            let (masses, stroke) = (masses(crank_x), MonotoneStroke::over(&branch, stroke).unwrap());
            let Ok(replacement) = Replacement::of(&stroke, &masses) else { return Ok(()) };
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
            let found = fidelity(&MonotoneStroke::over(&built, built_stroke).unwrap(), &masses, &replacement.tree);
            let drawn_found = fidelity(&stroke, &masses, &replacement.tree);
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
