//! Polynomials in powers of a variable that runs over −1…1.

use std::f64::consts::PI;

use super::interval::Interval;

/// Σ cₖ tᵏ, |t| ≤ 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Polynomial {
    /// c₀, c₁, …
    pub coefficients: Vec<f64>,
}

impl Polynomial {
    /// The one of `degree` that equals `f` at the Chebyshev points of the first kind, cos((2k+1)π/(2n+2)).
    ///
    /// # Source
    /// L. N. Trefethen, Approximation Theory and Approximation Practice (2013), ch. 2–4 and 8 (memory).
    ///
    /// # Examples
    /// ```
    /// use unloop::numeric::Polynomial;
    /// let cubic = Polynomial::interpolating(|t| 1.0 - 2.0 * t * t * t, 3);
    /// assert!((cubic.coefficients[3] + 2.0).abs() < 1e-14);
    /// ```
    #[must_use]
    pub fn interpolating(f: impl Fn(f64) -> f64, degree: u32) -> Self {
        let points = f64::from(degree + 1);
        let angles: Vec<f64> = (0..=degree).map(|k| (f64::from(k) + 0.5) * PI / points).collect();
        let values: Vec<f64> = angles.iter().map(|angle| f(libm::cos(*angle))).collect();
        let series = (0..=degree).map(|j| {
            let terms = angles.iter().zip(&values);
            let sum: f64 = terms.map(|(x, value)| value * libm::cos(f64::from(j) * x)).sum();
            sum * if j == 0 { 1.0 } else { 2.0 } / points
        });
        Self::from_chebyshev(series)
    }

    /// Σ aⱼ Tⱼ(t), with T₀ = 1, T₁ = t and Tⱼ₊₁ = 2t Tⱼ − Tⱼ₋₁.
    fn from_chebyshev(series: impl Iterator<Item = f64>) -> Self {
        let (mut before, mut this) = (Vec::new(), vec![1.0]);
        let mut coefficients = Vec::new();
        for (j, share) in series.enumerate() {
            if j > 0 {
                let next = if j == 1 { vec![0.0, 1.0] } else { next_chebyshev(&before, &this) };
                before = std::mem::replace(&mut this, next);
            }
            add_scaled(&mut coefficients, &this, share);
        }
        Self { coefficients }
    }

    /// The value at `t` and its first three derivatives by t, enclosed.
    #[must_use]
    pub fn over(&self, t: Interval) -> [Interval; 4] {
        let mut at = [Interval::ZERO; 4];
        for &c in self.coefficients.iter().rev() {
            let [p, d1, d2, d3] = at;
            at = [p * t + Interval::point(c), d1 * t + p, d2 * t + d1, d3 * t + d2];
        }
        let [p, d1, d2, d3] = at;
        [p, d1, d2 * Interval::point(2.0), d3 * Interval::point(6.0)]
    }

    /// The value at `t`.
    #[must_use]
    pub fn at(&self, t: f64) -> f64 {
        self.coefficients.iter().rev().fold(0.0, |p, c| p * t + c)
    }
}

fn next_chebyshev(before: &[f64], this: &[f64]) -> Vec<f64> {
    let mut next = vec![0.0];
    next.extend(this.iter().map(|c| 2.0 * c));
    add_scaled(&mut next, before, -1.0);
    next
}

fn add_scaled(sum: &mut Vec<f64>, more: &[f64], share: f64) {
    sum.resize(sum.len().max(more.len()), 0.0);
    for (entry, other) in sum.iter_mut().zip(more) {
        *entry += share * other;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interpolant_of_the_exponential_falls_as_theory_says() {
        // |f − p| ≤ 2 |f⁽ⁿ⁺¹⁾|/(2ⁿ⁺¹ (n+1)!) on −1…1.
        let p = Polynomial::interpolating(f64::exp, 12);
        let worst = (-50_i32..=50)
            .map(|k| f64::from(k) / 50.0)
            .map(|t| (p.at(t) - t.exp()).abs())
            .fold(0.0, f64::max);
        let bound = 2.0 * 1.0_f64.exp() / (8192.0 * 6_227_020_800.0);
        assert!(worst <= bound + 1e-15, "{worst:e} {bound:e}");
    }

    #[test]
    fn derivatives_are_those_of_the_powers() {
        let p = Polynomial { coefficients: vec![1.0, -2.0, 0.5, 3.0, -1.0] };
        let at = p.over(Interval::point(0.5));
        for (enclosed, exact) in at.into_iter().zip([0.4375, 0.25, 7.0, 6.0]) {
            assert!(enclosed.contains(exact) && enclosed.width() < 1e-13, "{enclosed:?} {exact}");
        }
    }
}
