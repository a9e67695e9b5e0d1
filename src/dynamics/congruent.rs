//! TᵀAT of a matrix that is enclosed, and a bound of its eigenvalues.

use nalgebra::{SMatrix, SVector};

/// TᵀAT.
pub(super) fn turned_by<const N: usize>(
    a: &SMatrix<f64, N, N>,
    t: &SMatrix<f64, N, N>,
) -> SMatrix<f64, N, N> {
    let (mut half, mut all) = (SMatrix::<f64, N, N>::zeros(), SMatrix::<f64, N, N>::zeros());
    // By columns, which are plain arrays: a product of so small matrices is mostly bookkeeping otherwise.
    for (sum, by) in half.data.0.iter_mut().zip(&t.data.0) {
        for (column, share) in a.data.0.iter().zip(by) {
            for (entry, x) in sum.iter_mut().zip(column) {
                *entry += x * share;
            }
        }
    }
    for (sums, column) in all.data.0.iter_mut().zip(&half.data.0) {
        for (entry, by) in sums.iter_mut().zip(&t.data.0) {
            *entry = by.iter().zip(column).map(|(x, y)| x * y).sum();
        }
    }
    all
}

/// TᵀAT: no entry is further from that of `middle` than that of `around`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Congruent<const N: usize> {
    pub(super) middle: SMatrix<f64, N, N>,
    pub(super) around: SMatrix<f64, N, N>,
}

/// Sums of a few floats, none of them negative, are no further off than this, as a share.
pub(super) const ROOM: f64 = 1e-12;

/// Rounds that bring a weight near its best.
const ROUNDS: u32 = 10;

/// No weight is below this share of the largest.
const LEAST_WEIGHT: f64 = 1e-6;

impl<const N: usize> Congruent<N> {
    /// A bound of the largest eigenvalue of `sign` × TᵀAT, not below 0: with C the matrix that has the largest diagonal and the
    /// largest sizes beside it, xᵀTᵀATx ≤ |x|ᵀC|x|, and whatever the positive weights w are, the largest of (Cw)ᵢ/wᵢ is no
    /// smaller than an eigenvalue of C; here the weights are near the best ones. Infinite where an entry is no number.
    ///
    /// # Source
    /// Collatz and Wielandt: R. A. Horn and C. R. Johnson, Matrix Analysis, 2nd ed., sec. 8.1 (from memory).
    pub(super) fn largest_eigenvalue(&self, sign: f64) -> f64 {
        let mut most = self.middle.abs() + self.around;
        let size = most.amax();
        for k in 0..N {
            let own = |m: &SMatrix<f64, N, N>| m.get((k, k)).copied().unwrap_or(f64::NAN);
            let value = sign * own(&self.middle) + own(&self.around);
            if let Some(slot) = most.get_mut((k, k)) {
                *slot = value;
            }
        }
        let mut weights = SVector::<f64, N>::repeat(1.0);
        for _ in 0..ROUNDS {
            weights = most * weights + weights * size;
            weights /= weights.amax();
            weights.iter_mut().for_each(|weight| *weight = weight.max(LEAST_WEIGHT));
        }
        // Weights are at most 1, so that no sum has more than N times the largest entry in it.
        let room = 8.0 * ROOM * size;
        let above = |(sum, weight): (&f64, &f64)| sum / weight + room / weight;
        largest((most * weights).iter().zip(weights.iter()).map(above))
    }
}

/// The largest, 0 at least; infinite where one is no number.
pub(super) fn largest(figures: impl Iterator<Item = f64>) -> f64 {
    figures.fold(0.0, |most: f64, x| if x.is_nan() { f64::INFINITY } else { most.max(x) })
}
