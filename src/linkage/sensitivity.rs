//! How the rocker angle and the velocity ratio change with each length and with the crank angle.
//!
//! From |w|² = b² and M = c (u⊥·w), w = g x + c u − a e:
//!
//! ```text
//! ψ_a = (w·e)/M    ψ_b = b/M    ψ_c = −(w·u)/M    ψ_g = −w_x/M    ψ_φ = a(w·e⊥)/M = r
//! r_p = (N_p − r M_p)/M    with N = a(w·e⊥), and w_p from w
//! ```
//!
//! Scaling changes no angle: a ψ_a + b ψ_b + c ψ_c + g ψ_g = 0, and the same for r. Derived here; checked against
//! differences, dual numbers and a worked example in the tests.

use crate::numeric::Scalar;

use super::pose::PoseOf;

impl<T: Scalar> PoseOf<T> {
    /// Slopes of the rocker angle: by crank, coupler, rocker, ground (rad per unit of length) and by the crank angle.
    pub fn rocker_slopes(&self) -> [T; 5] {
        let (w, cu, e, m) = (self.coupler_vector(), self.rocker_vector(), self.e, self.m);
        let c = self.bars.rocker;
        [
            dot(w, e) / m,
            self.bars.coupler / m,
            -(dot(w, cu) / (c * m)),
            -(w[0] / m),
            self.velocity_ratio(),
        ]
    }

    /// Slopes of the velocity ratio: by crank, coupler, rocker, ground (per unit of length) and by the crank angle.
    pub fn ratio_slopes(&self) -> [T; 5] {
        let [by_a, by_b, by_c, by_g, _] = self.rocker_slopes();
        let (w, cu, e, c) = (self.coupler_vector(), self.rocker_vector(), self.e, self.bars.rocker);
        let (zero, one) = (T::exactly(0.0), T::exactly(1.0));
        let (u, e_left) = ([cu[0] / c, cu[1] / c], [-e[1], e[0]]);
        [
            self.ratio_slope(by_a, [-e[0], -e[1]], dot(w, e_left), zero),
            self.ratio_slope(by_b, [zero, zero], zero, zero),
            self.ratio_slope(by_c, u, zero, cross(u, w)),
            self.ratio_slope(by_g, [one, zero], zero, zero),
            self.velocity_ratio_slope(),
        ]
    }

    /// One slope of the ratio, given the rocker's slope `by`, w_p without the rocker's turn, and what N and M have
    /// besides.
    fn ratio_slope(&self, by: T, w_own: [T; 2], n_own: T, m_own: T) -> T {
        let (w, cu, e) = (self.coupler_vector(), self.rocker_vector(), self.e);
        let w_p = [w_own[0] - cu[1] * by, w_own[1] + cu[0] * by];
        let n_p = n_own + self.bars.crank * dot(w_p, [-e[1], e[0]]);
        let m_p = m_own - by * dot(cu, w) + cross(cu, w_p);
        (n_p - self.velocity_ratio() * m_p) / self.m
    }
}

fn dot<T: Scalar>(p: [T; 2], q: [T; 2]) -> T {
    p[0] * q[0] + p[1] * q[1]
}

fn cross<T: Scalar>(p: [T; 2], q: [T; 2]) -> T {
    p[0] * q[1] - p[1] * q[0]
}
