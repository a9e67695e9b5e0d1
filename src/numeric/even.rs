//! Figures evenly spaced over a range.

use super::interval::Interval;

/// `pieces` + 1 figures from the range's first end to its second, both exact.
///
/// # Examples
/// ```
/// let halves: Vec<f64> = unloop::numeric::evenly([1.0, 2.0], 2).collect();
/// assert_eq!(halves, [1.0, 1.5, 2.0]);
/// ```
pub fn evenly([from, to]: [f64; 2], pieces: u32) -> impl DoubleEndedIterator<Item = f64> {
    let at = move |k: u32| from + (to - from) * (f64::from(k) / f64::from(pieces));
    (0..=pieces).map(move |k| if k == pieces { to } else { at(k) })
}

/// The range in so many pieces, in order; each ends where the next begins.
///
/// # Examples
/// ```
/// let pieces = unloop::numeric::even_pieces([1.0, 2.0], 2);
/// let ends: Vec<_> = pieces.map(|piece| [piece.lo(), piece.hi()]).collect();
/// assert_eq!(ends, [[1.0, 1.5], [1.5, 2.0]]);
/// ```
pub fn even_pieces(range: [f64; 2], pieces: u32) -> impl Iterator<Item = Interval> {
    evenly(range, pieces)
        .zip(evenly(range, pieces).skip(1))
        .map(|(from, to)| Interval::new(from, to))
}
