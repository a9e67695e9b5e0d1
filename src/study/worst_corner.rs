//! The corner of the tolerances in which a figure of the drawn sizes looks worst.

use crate::numeric::Interval;

/// The largest `error` of the drawn sizes and of the two corners of `ranges` towards which it rises and falls size by size;
/// `None` where a build that is looked at has none.
pub(super) fn worst_corner(
    drawn: &[f64],
    ranges: &[Interval],
    error: &dyn Fn(&[f64]) -> Option<f64>,
) -> Option<f64> {
    let before = error(drawn)?;
    let mut corners = [drawn.to_vec(), drawn.to_vec()];
    for (k, range) in ranges.iter().enumerate().filter(|(_, range)| range.width() > 0.0) {
        let mut moved = drawn.to_vec();
        *moved.get_mut(k)? = range.hi();
        let rises = error(&moved)? >= before;
        let ends = if rises { [range.hi(), range.lo()] } else { [range.lo(), range.hi()] };
        for (corner, end) in corners.iter_mut().zip(ends) {
            *corner.get_mut(k)? = end;
        }
    }
    let [up, down] = corners.map(|corner| error(&corner));
    Some(before.max(up?).max(down?))
}
