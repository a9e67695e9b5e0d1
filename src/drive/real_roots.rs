//! All real zeros of a polynomial and of a wave of two harmonics: where drives stop.

use std::f64::consts::{PI, TAU};

use crate::numeric::roots;

/// A value below this share of its terms is zero: two zeros that rounding may have parted or joined.
const TOUCH: f64 = 1e-12;

/// All real zeros of Σ cₖ tᵏ, ascending, a double one once: between the zeros of the derivative the polynomial is
/// monotone, so that each piece has one or none.
pub(super) fn of_polynomial(coefficients: &[f64]) -> Vec<f64> {
    let largest = coefficients.iter().fold(0.0_f64, |most, c| most.max(c.abs()));
    let is_zero = |c: &f64| c.abs() <= f64::EPSILON * largest;
    let kept = coefficients.iter().rposition(|c| !is_zero(c)).map_or(0, |top| top + 1);
    let Some((&top, rest)) = coefficients.get(..kept).and_then(<[f64]>::split_last) else {
        return Vec::new();
    };
    if rest.is_empty() {
        return Vec::new();
    }
    // Cauchy's bound of all zeros.
    let bound = 1.0 + rest.iter().fold(0.0_f64, |most, c| most.max((c / top).abs()));
    let slope = rest.iter().skip(1).chain([&top]).zip(1_u32..).map(|(c, k)| c * f64::from(k));
    let turning = of_polynomial(&slope.collect::<Vec<f64>>());
    let coefficients = coefficients.get(..kept).unwrap_or_default();
    let value = |t: f64| coefficients.iter().rev().fold(0.0, |sum, c| sum * t + c);
    let size = |t: f64| coefficients.iter().rev().fold(0.0, |sum, c| sum * t.abs() + c.abs());
    let touches = |t: f64| value(t).abs() <= TOUCH * size(t);
    let mut found: Vec<f64> = turning.iter().copied().filter(|t| touches(*t)).collect();
    let ends: Vec<f64> = [-bound].into_iter().chain(turning).chain([bound]).collect();
    for (&from, &to) in ends.iter().zip(ends.iter().skip(1)) {
        let (low, high) = (value(from), value(to));
        if low * high < 0.0 && !touches(from) && !touches(to) {
            found.push(roots::bracketed(value, from, to));
        } else if low * high < 0.0 && touches(from) != touches(to) {
            // The zero beside the touched end is that end itself, unless another follows it.
            let root = roots::bracketed(value, from, to);
            let near = if touches(from) { from } else { to };
            if (root - near).abs() > TOUCH.sqrt() * near.abs().max(1.0) {
                found.push(root);
            }
        }
    }
    found.sort_by(f64::total_cmp);
    found
}

/// a₀ + a₁ cos α + b₁ sin α + a₂ cos 2α + b₂ sin 2α.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wave {
    mean: f64,
    first: [f64; 2],
    second: [f64; 2],
}

impl Wave {
    /// The wave that `f` is, which has these harmonics and no others.
    pub(super) fn of(f: impl Fn(f64) -> f64) -> Self {
        let samples = [0.0, 1.0, 2.0, 3.0, 4.0].map(|k| (k * TAU / 5.0, f(k * TAU / 5.0)));
        let part = |order: f64| {
            let sum = |wave: fn(f64) -> f64| {
                0.4 * samples.iter().map(|(at, value)| value * wave(order * at)).sum::<f64>()
            };
            [sum(libm::cos), sum(libm::sin)]
        };
        let [twice_mean, _] = part(0.0);
        Self { mean: 0.5 * twice_mean, first: part(1.0), second: part(2.0) }
    }

    /// The value and its slope at `angle`.
    fn at(&self, angle: f64) -> [f64; 2] {
        let ((s1, c1), (s2, c2)) = (libm::sincos(angle), libm::sincos(2.0 * angle));
        let ([a1, b1], [a2, b2]) = (self.first, self.second);
        [
            self.mean + a1 * c1 + b1 * s1 + a2 * c2 + b2 * s2,
            b1 * c1 - a1 * s1 + 2.0 * (b2 * c2 - a2 * s2),
        ]
    }

    /// The same wave of the angle less `start`.
    fn from(&self, start: f64) -> Self {
        let turned = |[a, b]: [f64; 2], by: f64| {
            let (sine, cosine) = libm::sincos(by);
            [a * cosine + b * sine, b * cosine - a * sine]
        };
        Self {
            mean: self.mean,
            first: turned(self.first, start),
            second: turned(self.second, 2.0 * start),
        }
    }

    /// All zeros, rad in (−π, π], a double one once: at most four. Half the angle's tangent t turns the wave into
    ///
    /// ```text
    /// (a₀ + a₁ + a₂) + (2b₁ + 4b₂) t + (2a₀ − 6a₂) t² + (2b₁ − 4b₂) t³ + (a₀ − a₁ + a₂) t⁴ = 0
    /// ```
    ///
    /// with the angle counted from where infinite t is farthest from a zero.
    pub(super) fn zeros(&self) -> Vec<f64> {
        let starts = (0..8_u8).map(|k| f64::from(k) * PI / 4.0);
        let clear = |start: &f64| {
            let [value, slope] = self.at(start + PI);
            value.abs() - 0.1 * slope.abs()
        };
        let start = starts.max_by(|p, q| clear(p).total_cmp(&clear(q))).unwrap_or_default();
        let Self { mean, first: [a1, b1], second: [a2, b2] } = self.from(start);
        let quartic = [
            mean + a1 + a2,
            2.0 * b1 + 4.0 * b2,
            2.0 * mean - 6.0 * a2,
            2.0 * b1 - 4.0 * b2,
            mean - a1 + a2,
        ];
        let angle = |t: f64| self.polished(start + 2.0 * libm::atan2(t, 1.0));
        let mut found: Vec<f64> = of_polynomial(&quartic).into_iter().map(angle).collect();
        found.sort_by(f64::total_cmp);
        found
    }

    /// A zero to its last digits, where the wave is not flat there.
    fn polished(&self, near: f64) -> f64 {
        let step = |at: f64, _| {
            let [value, slope] = self.at(at);
            let step = value / slope;
            if step.abs() < 1e-6 { at - step } else { at }
        };
        libm::remainder((0..2_u8).fold(near, step), TAU)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_polynomial_gives_all_its_zeros_and_a_double_one_once() {
        // (t − 1)² (t + 2)(t − 3) = t⁴ − 3t³ − 3t² + 11t − 6
        let found = of_polynomial(&[-6.0, 11.0, -3.0, -3.0, 1.0]);
        assert_eq!(found.len(), 3, "{found:?}");
        for (root, exact) in found.iter().zip([-2.0, 1.0, 3.0]) {
            assert!((root - exact).abs() < 1e-7, "{found:?}");
        }
        assert!(of_polynomial(&[1.0, 0.0, 1.0]).is_empty());
        assert!(of_polynomial(&[0.0, 0.0]).is_empty());
        assert_eq!(of_polynomial(&[-4.0, 2.0, 0.0, 0.0, 0.0]), [2.0]);
    }

    #[test]
    fn a_wave_gives_its_four_zeros_wherever_they_lie() {
        for zeros in [[-3.1, -1.0, 0.4, 3.13], [0.1, 0.2, 0.3, 0.4], [-2.0, -1.999, 1.0, 2.0]] {
            let sines = |at: f64| zeros.iter().map(|z| libm::sin(0.5 * (at - z))).product();
            let found = Wave::of(sines).zeros();
            assert_eq!(found.len(), 4, "{zeros:?} {found:?}");
            for (zero, exact) in found.iter().zip(zeros) {
                assert!((zero - exact).abs() < 1e-9, "{found:?} {zeros:?}");
            }
        }
        assert!(Wave::of(|at| 2.0 + libm::cos(2.0 * at)).zeros().is_empty());
    }

    #[test]
    fn a_wave_that_touches_zero_stops_there_once() {
        let found = Wave::of(|at| 1.0 + libm::cos(at - 0.7)).zeros();
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0] - (0.7 - PI)).abs() < 1e-6);
    }
}
