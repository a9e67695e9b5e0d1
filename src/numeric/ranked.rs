//! What waits to be looked at closer, the one with the largest bound first.

use std::cmp::Ordering;

/// Something with a bound, by which alone it is ordered: for a heap.
#[derive(Clone, Debug)]
pub struct Ranked<T> {
    /// Not a number counts as above all.
    pub bound: f64,
    /// What it is the bound of.
    pub of: T,
}

impl<T> PartialEq for Ranked<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<T> Eq for Ranked<T> {}

impl<T> PartialOrd for Ranked<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Ranked<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound)
    }
}
