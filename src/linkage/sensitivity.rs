//! How the rocker angle and the velocity ratio change with each length and with the crank angle.
//!
//! From |w|² = b² and M = c (u⊥·w), w = g x + c u − a e:
//!
//! ```text
//! ψ_a = (w·e)/M    ψ_b = b/M    ψ_c = −(w·u)/M    ψ_g = −w_x/M    ψ_φ = a(w·e⊥)/M = r
//! r_p = (N_p − r M_p)/M    with N = a(w·e⊥):
//!
//! r_a = (−g e_y − (r−1) e×d + ψ_a K)/M        r_b = ψ_b K/M        r_g = (d_y + (r−1) c u_y + ψ_g K)/M
//! r_c = ((r g c u_y − (r−1) a e×d)/c + ψ_c K)/M            K = r g c u_x − (r−1) a (a + e·d)
//! ```
//!
//! with the mismatch d of the pose, so that nothing cancels near a parallelogram.
//!
//! Scaling changes no angle: a ψ_a + b ψ_b + c ψ_c + g ψ_g = 0, and the same for r. Derived here; checked against
//! differences, dual numbers and a worked example in the tests.

use crate::numeric::Scalar;

use super::four_bar::FourBar;
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
        let [by_a, by_b, by_c, by_g, r] = self.rocker_slopes();
        let (cu, crossed, excess) =
            (self.rocker_vector(), self.crank_cross_mismatch(), self.ratio_less_one);
        let FourBar { ground: g, crank: a, rocker: c, .. } = self.bars;
        let lever = r * g * cu[0] - excess * a * self.crank_dot_rocker();
        let over_m = |own: T, by: T| (own + by * lever) / self.m;
        [
            over_m(-(g * self.e[1]) - excess * crossed, by_a),
            by_b * lever / self.m,
            over_m((r * g * cu[1] - excess * a * crossed) / c, by_c),
            over_m(self.d[1] + excess * cu[1], by_g),
            self.velocity_ratio_slope(),
        ]
    }
}

fn dot<T: Scalar>(p: [T; 2], q: [T; 2]) -> T {
    p[0] * q[0] + p[1] * q[1]
}
