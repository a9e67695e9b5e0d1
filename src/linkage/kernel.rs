//! Many poses at once: one square root and one division a pose, no trigonometry once the crank's direction is
//! tabulated.
//!
//! ```text
//! h = a e − g x,   K = (c² + h² − b²)/2c,   S = ±√(h² − K²)
//! dψ/dφ = a (w·e⊥)/(c S)    with    w = c u − h,  c u = c (K h + S h⊥)/h²        sin μ = |S|/b
//! ```
//!
//! The same lines are compiled twice, for any x86-64 and for one with AVX2, and the fitting one is chosen at run time;
//! nothing is fused, so that both give the same bits. Derived here.

use crate::numeric::wide::{Work, widely};

use super::four_bar::FourBar;
use super::pose::Closure;

/// Where the poses' figures go; all slices of one length.
#[derive(Debug)]
pub struct Batch<'a> {
    /// cos φ of each pose.
    pub cos: &'a [f64],
    /// sin φ of each pose.
    pub sin: &'a [f64],
    /// dψ/dφ of each pose; not finite where the loop does not close.
    pub velocity_ratio: &'a mut [f64],
    /// Sine of the transmission angle of each pose; NaN where the loop does not close.
    pub sin_transmission: &'a mut [f64],
}

/// Velocity ratio and transmission angle of `bars` at every tabulated crank direction, all on the side of `closure`.
pub fn sweep_batch(bars: &FourBar, closure: Closure, batch: Batch<'_>) {
    widely(Poses { bars: *bars, closure, batch });
}

struct Poses<'a> {
    bars: FourBar,
    closure: Closure,
    batch: Batch<'a>,
}

impl Work for Poses<'_> {
    #[inline(always)]
    fn run(self) {
        let FourBar { ground: g, crank: a, coupler: b, rocker: c } = self.bars;
        let (half_c, c2_less_b2, per_b) = (0.5 / c, (c - b) * (c + b), 1.0 / b);
        let (sum, two_ag, sign) = (a * a + g * g, 2.0 * a * g, self.closure.sign());
        let poses = self
            .batch
            .cos
            .iter()
            .zip(self.batch.sin)
            .zip(self.batch.velocity_ratio)
            .zip(self.batch.sin_transmission);
        for (((&ex, &ey), ratio), sin_mu) in poses {
            let h2 = sum - two_ag * ex;
            let k = (c2_less_b2 + h2) * half_c;
            let s = sign * (h2 - k * k).sqrt();
            let (hx, hy) = (a * ex - g, a * ey);
            // w·e⊥ h² and S h², so that one division serves.
            let along = c * k - h2;
            let cs = c * s;
            let (wx, wy) = (along * hx - cs * hy, along * hy + cs * hx);
            *ratio = a * (wy * ex - wx * ey) / (cs * h2);
            *sin_mu = s.abs() * per_b;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_versions_give_the_same_bits_and_agree_with_the_single_pose() {
        let bars = FourBar { ground: 100.0, crank: 40.0, coupler: 120.0, rocker: 80.0 };
        let angles: Vec<f64> = (0..101).map(|i| 0.06 * f64::from(i)).collect();
        let cos: Vec<f64> = angles.iter().map(|x| libm::cos(*x)).collect();
        let sin: Vec<f64> = angles.iter().map(|x| libm::sin(*x)).collect();
        let run = |plain: bool| {
            let (mut ratio, mut mu) = (vec![0.0; 101], vec![0.0; 101]);
            let batch = Batch {
                cos: &cos,
                sin: &sin,
                velocity_ratio: &mut ratio,
                sin_transmission: &mut mu,
            };
            if plain {
                Poses { bars, closure: Closure::Open, batch }.run();
            } else {
                sweep_batch(&bars, Closure::Open, batch);
            }
            (ratio, mu)
        };
        assert_eq!(run(true), run(false));
        let (ratio, mu) = run(false);
        for (i, phi) in angles.iter().enumerate() {
            let pose = bars.at(*phi, Closure::Open).unwrap();
            assert!((ratio[i] - pose.velocity_ratio()).abs() < 1e-12);
            assert!((mu[i] - pose.transmission_angle().sin()).abs() < 1e-12);
        }
    }
}
