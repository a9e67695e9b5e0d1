//! The top of a curve near its highest node.

/// The highest value of a curve near node `at` of `nodes` even nodes, from its values and slopes (per cell): at the node, or
/// where the cubic of a cell beside it turns.
pub(super) fn of_sloped(
    nodes: usize,
    value: impl Fn(usize) -> f64,
    slope: impl Fn(usize) -> f64,
    at: usize,
) -> f64 {
    let cell = |k: usize| {
        let (s0, s1, d0, d1) = (value(k), value(k + 1), slope(k), slope(k + 1));
        if d0 > 0.0 && d1 < 0.0 { top_of_cubic(s0, s1, d0, d1) } else { s0.max(s1) }
    };
    let left = if at > 0 { cell(at - 1) } else { value(at) };
    let right = if at + 1 < nodes { cell(at) } else { value(at) };
    left.max(right)
}

/// The value of the cubic with end values and end slopes (per cell) where its slope falls through 0.
fn top_of_cubic(s0: f64, s1: f64, d0: f64, d1: f64) -> f64 {
    let rise = s1 - s0;
    let (cubic, square) = (d0 + d1 - 2.0 * rise, 3.0 * rise - 2.0 * d0 - d1);
    // 3 cubic t² + 2 square t + d0 = 0 with d0 > 0 > d1 has one root in 0…1: the stable form.
    let root = (square * square - 3.0 * cubic * d0).max(0.0).sqrt();
    let t = if square <= 0.0 { d0 / (root - square) } else { (-square - root) / (3.0 * cubic) };
    s0 + t * (d0 + t * (square + t * cubic))
}

/// The highest value of a curve near node `at` of `nodes` even nodes from its values alone: the quartic through five where
/// there are two on either side, the parabola through three beside an end, the node at an end.
pub(super) fn of_plain(nodes: usize, value: impl Fn(usize) -> f64, at: usize) -> f64 {
    let here = value(at);
    if at == 0 || at + 1 >= nodes {
        return here;
    }
    let (before, after) = (value(at - 1), value(at + 1));
    let top = if at == 1 || at + 2 >= nodes {
        top_of_three([before, here, after])
    } else {
        top_of_five([value(at - 2), before, here, after, value(at + 2)])
    };
    if top.is_finite() { top.max(here) } else { here }
}

fn top_of_three([a, b, c]: [f64; 3]) -> f64 {
    let (first, second) = (0.5 * (c - a), c + a - 2.0 * b);
    b - 0.5 * first * first / second
}

/// The extreme near the middle of five even values: one step from the parabola's top on the quartic through all.
fn top_of_five([a, b, c, d, e]: [f64; 5]) -> f64 {
    let first = (8.0 * (d - b) - (e - a)) / 12.0;
    let second = (16.0 * (d + b) - (e + a) - 30.0 * c) / 12.0;
    let third = (e - a - 2.0 * (d - b)) / 2.0;
    let fourth = e + a - 4.0 * (d + b) + 6.0 * c;
    let slope = |t: f64| first + t * (second + t * (third / 2.0 + t * fourth / 6.0));
    let bend = |t: f64| second + t * (third + t * fourth / 2.0);
    let mut t = (-first / second).clamp(-1.0, 1.0);
    t = (t - slope(t) / bend(t)).clamp(-1.0, 1.0);
    c + t * (first + t * (second / 2.0 + t * (third / 6.0 + t * fourth / 24.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 25 nodes over −0.6…0.9 of a hump with its top, 1, at 0.1037.
    fn hump(k: usize) -> (f64, f64) {
        let (x, step) = (-0.6 + 1.5 * k as f64 / 24.0, 1.5 / 24.0);
        ((x - 0.1037).cos(), -(x - 0.1037).sin() * step)
    }

    #[test]
    fn the_top_of_a_hump_is_found_between_its_nodes() {
        let highest = (0..25).max_by(|a, b| hump(*a).0.total_cmp(&hump(*b).0)).unwrap();
        let sloped = of_sloped(25, |k| hump(k).0, |k| hump(k).1, highest);
        assert!((sloped - 1.0).abs() < 1e-7, "{sloped}");
        let plain = of_plain(25, |k| hump(k).0, highest);
        assert!((plain - 1.0).abs() < 1e-8, "{plain}");
    }

    #[test]
    fn a_curve_that_rises_to_its_end_has_its_top_there() {
        let line = |k: usize| k as f64;
        assert_eq!(of_plain(25, line, 24), 24.0);
        assert_eq!(of_sloped(25, line, |_| 1.0, 24), 24.0);
    }
}
