//! The lowest value of a convex function of a few variables.

use nalgebra::{SMatrix, SVector};

/// The place of the lowest value of a convex `f`, which returns value and a subgradient; the place lies within `radius` of
/// `start`. Ends when the value is certainly within `close` of the lowest, or after `steps`.
///
/// # Source
/// The ellipsoid method with deep cuts: N. Z. Shor (1977), D. B. Yudin and A. S. Nemirovski (1976); as in R. G. Bland, D.
/// Goldfarb and M. J. Todd, Operations Research 29 (1981) 1039–1091 (memory).
pub(super) fn lowest<const N: usize>(
    f: impl Fn(&SVector<f64, N>) -> (f64, SVector<f64, N>),
    start: SVector<f64, N>,
    radius: f64,
    [close, steps]: [f64; 2],
) -> SVector<f64, N> {
    let n = start.iter().map(|_| 1.0).sum::<f64>();
    let mut shape = SMatrix::<f64, N, N>::identity() * (radius * radius);
    let (mut at, mut best) = (start, (f64::INFINITY, start));
    let mut step = 0.0;
    while step < steps {
        step += 1.0;
        let (value, slope) = f(&at);
        if value < best.0 {
            best = (value, at);
        }
        let along = shape * slope;
        let reach = slope.dot(&along).max(0.0).sqrt();
        if reach <= close {
            break;
        }
        let depth = ((value - best.0) / reach).min(0.999);
        let unit = along / reach;
        at -= unit * ((1.0 + n * depth) / (n + 1.0));
        let shrink = 2.0 * (1.0 + n * depth) / ((n + 1.0) * (1.0 + depth));
        shape -= unit * unit.transpose() * shrink;
        shape *= n * n * (1.0 - depth * depth) / (n * n - 1.0);
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_point_of_a_cone_beside_a_wall_is_found() {
        // max(|x − 1|, |y + 2|, x + y) is lowest, 0, at (1, −2); with 3 − x as well it is 1 at x = 2.
        let f = |p: &SVector<f64, 2>| {
            let (x, y) = (p.x, p.y);
            let pieces = [
                ((x - 1.0).abs(), SVector::<f64, 2>::new((x - 1.0).signum(), 0.0)),
                ((y + 2.0).abs(), SVector::<f64, 2>::new(0.0, (y + 2.0).signum())),
                (3.0 - x, SVector::<f64, 2>::new(-1.0, 0.0)),
            ];
            pieces.into_iter().max_by(|p, q| p.0.total_cmp(&q.0)).unwrap()
        };
        let found = lowest(f, SVector::<f64, 2>::new(5.0, 5.0), 20.0, [1e-12, 2000.0]);
        assert!((f(&found).0 - 1.0).abs() < 1e-11, "{found}");
    }
}
