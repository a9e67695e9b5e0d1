//! The constant with the smallest worst error.

/// One straight piece of the worst error as a function of the slope k: `height − run · k`.
#[derive(Clone, Copy, Debug)]
pub struct Piece {
    /// Value at k = 0.
    pub height: f64,
    /// Fall per unit of k.
    pub run: f64,
}

impl Piece {
    fn at(self, k: f64) -> f64 {
        self.height - self.run * k
    }
}

/// The slope k that makes the worst error least, from `start`.
///
/// The worst error is convex and made of straight pieces: at each k tried, `touching` returns the pieces that are
/// active there (their largest value at k is the worst error), and the lowest point under all pieces seen so far is
/// tried next. That ends at the exact minimax after a few rounds, as an exchange of reference points does.
///
/// # Source
/// The cutting-plane method (J. E. Kelley, J. SIAM 8 (1960) 703–712); in one variable it is the exchange algorithm of
/// E. Ya. Remez (1934).
pub fn best_slope(start: f64, mut touching: impl FnMut(f64) -> Vec<Piece>) -> f64 {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut best = (f64::INFINITY, start);
    let mut k = start;
    let mut stride = 0.25 * start.abs().max(1e-3);
    for _ in 0..100 {
        let active = touching(k);
        let worst = active.iter().map(|p| p.at(k)).fold(f64::NEG_INFINITY, f64::max);
        if worst < best.0 {
            best = (worst, k);
        }
        pieces.extend(active);
        let Some((next, floor)) = lowest_point(&pieces) else {
            let falling = pieces.iter().any(|p| p.run > 0.0);
            k += if falling { stride } else { -stride };
            stride *= 2.0;
            continue;
        };
        if best.0 - floor <= 4.0 * f64::EPSILON * best.0.abs().max(f64::EPSILON) || same(next, k) {
            break;
        }
        k = next;
    }
    best.1
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= f64::EPSILON * a.abs().max(b.abs())
}

/// The lowest point of the upper hull of falling and rising pieces: where the highest pair crosses.
fn lowest_point(pieces: &[Piece]) -> Option<(f64, f64)> {
    let mut best: Option<(f64, f64)> = None;
    for falling in pieces.iter().filter(|p| p.run > 0.0) {
        for rising in pieces.iter().filter(|p| p.run < 0.0) {
            let k = (falling.height - rising.height) / (falling.run - rising.run);
            let value = falling.at(k);
            if best.is_none_or(|(_, highest)| value > highest) {
                best = Some((k, value));
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pieces of max |q(x) − kx| for q at given points.
    fn touching(points: &[(f64, f64)], k: f64) -> Vec<Piece> {
        let error = |p: &(f64, f64)| p.1 - k * p.0;
        let top = points.iter().max_by(|a, b| error(a).total_cmp(&error(b))).unwrap();
        let bottom = points.iter().min_by(|a, b| error(a).total_cmp(&error(b))).unwrap();
        vec![Piece { height: top.1, run: top.0 }, Piece { height: -bottom.1, run: -bottom.0 }]
    }

    #[test]
    fn two_points_share_the_error() {
        // |1 − k| and |3 − 2k| are equal at k = 4/3.
        let k = best_slope(1.0, |k| touching(&[(1.0, 1.0), (2.0, 3.0)], k));
        assert!((k - 4.0 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn a_straight_line_is_met_exactly() {
        let k = best_slope(0.0, |k| touching(&[(-1.0, -0.5), (2.0, 1.0)], k));
        assert!((k - 0.5).abs() < 1e-15);
    }

    #[test]
    fn the_sine_over_a_quarter_turn_has_its_known_best_slope() {
        // max |sin x − kx| on 0…π/2 is least where the error at the arch, sin x* − kx* with cos x* = k, equals
        // kπ/2 − 1 at the end; solved here by bisection.
        let gap = |k: f64| {
            ((1.0 - k * k).sqrt() - k * k.acos()) - (k * std::f64::consts::FRAC_PI_2 - 1.0)
        };
        let expected = crate::numeric::roots::bracketed(gap, 0.1, 0.99);
        let grid: Vec<(f64, f64)> = (0..=20_000)
            .map(|i| f64::from(i) * std::f64::consts::FRAC_PI_2 / 20_000.0)
            .map(|x| (x, x.sin()))
            .collect();
        let k = best_slope(0.5, |k| touching(&grid, k));
        assert!((k - expected).abs() < 1e-8);
    }
}
