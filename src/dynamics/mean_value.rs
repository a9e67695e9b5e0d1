//! Both mass matrices of a drive over a piece of its poses and all builds of a box, in mean-value form, and the bound of ε from
//! them.
//!
//! With x the sizes and turns, x₀ their middle and A a matrix, A(x) lies within A(x₀) + Σ A_k (x_k − x₀_k), the slopes A_k enclosed
//! over the whole piece. So, T as in `certificate`,
//!
//! ```text
//! |TᵀA(x)T − TᵀA(x₀)T| ≤ Σ |TᵀA_kT| |x_k − x₀_k|,   entry by entry
//! ```
//!
//! and what is left beside the diagonal, which is small, counts by its square but where eigenvalues are alike. Derived here.

use nalgebra::SMatrix;

use super::certificate::{PieceBound, share_of_norms, transform};
use super::congruent::Congruent;
use super::enclosed::{Enclosed, Rows};
use crate::numeric::{Interval, Jet};

/// M and ΔM over a piece.
pub(super) struct MeanValue<const N: usize, const D: usize> {
    /// Over all of it, with slopes by N variables, of which the last `turns` are joint turns.
    pub(super) all: [Enclosed<Jet<N>, D>; 2],
    /// Where these variables are in their middle.
    pub(super) middle: [Enclosed<Interval, D>; 2],
    /// How far each goes from there.
    pub(super) reach: [f64; N],
    pub(super) turns: usize,
}

impl<const N: usize, const D: usize> MeanValue<N, D> {
    /// The bounds of ε for the speeds of these rows; `None` where they cannot be told.
    pub(super) fn bound<const R: usize>(&self, rows: Rows<R>) -> Option<PieceBound> {
        let [drive, difference] = &self.middle;
        let t = &transform(&[drive.middle(), difference.middle()], rows)?;
        let [whole, off] = &self.all;
        let seen = |middle: &Enclosed<Interval, D>, all: &Enclosed<Jet<N>, D>| {
            let mut here = middle.congruent(|entry| *entry, t, rows);
            let away = |k: usize, reach: f64| {
                let slope = |jet: &Jet<N>| jet.slopes.get(k).copied().unwrap_or(Interval::ENTIRE);
                let Congruent { middle, around } = all.congruent(slope, t, rows);
                (middle.abs() + around) * reach
            };
            let first = N.saturating_sub(self.turns);
            let mut by_turns = SMatrix::zeros();
            for (k, reach) in self.reach.into_iter().enumerate().filter(|(_, reach)| *reach > 0.0) {
                let sum = if k < first { &mut here.around } else { &mut by_turns };
                *sum += away(k, reach);
            }
            [Congruent { around: here.around + by_turns, ..here }, here]
        };
        let ([over, here], [off_over, off_here]) = (seen(drive, whole), seen(difference, off));
        let bound = share_of_norms(short_of_one(over), size(&off_over))?;
        Some(PieceBound { bound, at_middle: share_of_norms(short_of_one(here), size(&off_here))? })
    }
}

/// How far the eigenvalues of TᵀMT are below 1 at most.
fn short_of_one<const R: usize>(mut seen: Congruent<R>) -> f64 {
    seen.middle -= SMatrix::<f64, R, R>::identity();
    seen.largest_eigenvalue(-1.0)
}

/// How far the eigenvalues of TᵀΔMT are from 0 at most.
fn size<const R: usize>(seen: &Congruent<R>) -> f64 {
    seen.largest_eigenvalue(1.0).max(seen.largest_eigenvalue(-1.0))
}
