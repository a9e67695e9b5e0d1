//! How the coupler turns: its angle by continuity, and how angle and rate change with each length and the crank angle.
//!
//! From a e + w = g x + c u, dotted with u, and from s = a (e × c u)/M with M = c u × w = b c sin(θ − ψ):
//!
//! ```text
//! θ_a = (e·cu)/M    θ_b = (w·cu)/(b M)    θ_c = −c/M    θ_g = −c u_x/M    θ_φ = a (e × d)/M = s
//! s_p = (N_p − s M_p)/M    N = a (e × cu)    M_p = M (b_p/b + c_p/c) + (cu·w)(θ_p − ψ_p)
//! ```
//!
//! with the mismatch d of the pose, so that nothing cancels near a parallelogram. Derived here; checked against differences
//! and the tilt of a nearly exact parallelogram.

use std::f64::consts::TAU;

use crate::numeric::{Interval, Scalar, elementary};

use super::branch::Branch;
use super::fault::LinkageFault;
use super::pose::{Pose, PoseOf};

impl<T: Scalar> PoseOf<T> {
    /// Slopes of the coupler angle: by crank, coupler, rocker, ground (rad per unit of length) and by the crank angle.
    pub fn coupler_slopes(&self) -> [T; 5] {
        let (cu, w, e, m) = (self.rocker_vector(), self.coupler_vector(), self.e, self.m);
        [
            dot(e, cu) / m,
            dot(w, cu) / (self.bars.coupler * m),
            -(self.bars.rocker / m),
            -(cu[0] / m),
            self.coupler_rate(),
        ]
    }

    /// Slopes of the coupler's rate: by crank, coupler, rocker, ground (per unit of length) and by the crank angle.
    pub fn coupler_rate_slopes(&self) -> [T; 5] {
        let (bars, s, m) = (&self.bars, self.coupler_rate(), self.m);
        let (crossed, along) = (self.crank_cross_mismatch(), self.crank_dot_rocker());
        let folded = dot(self.rocker_vector(), self.coupler_vector());
        let [ta, tb, tc, tg, _] = self.coupler_slopes();
        let [pa, pb, pc, pg, _] = self.rocker_slopes();
        let a = bars.crank;
        let slope =
            |own: T, theta: T, psi: T| (own + a * psi * along - s * folded * (theta - psi)) / m;
        let zero = T::exactly(0.0);
        [
            slope(crossed, ta, pa),
            slope(-(s * m / bars.coupler), tb, pb),
            slope((a * crossed - s * m) / bars.rocker, tc, pc),
            slope(zero, tg, pg),
            self.coupler_rate_slope(),
        ]
    }
}

fn dot<T: Scalar>(p: [T; 2], q: [T; 2]) -> T {
    p[0] * q[0] + p[1] * q[1]
}

impl Pose {
    /// θ at the crank angle `phi` (rad), without jumps along a branch: θ − ψ keeps its sign on it.
    pub(crate) fn coupler_angle_along(&self, phi: f64) -> f64 {
        let from_rocker = libm::atan2(self.m, dot(self.rocker_vector(), self.coupler_vector()));
        let sharp = self.coupler_angle();
        let guess = phi + self.lead_along(phi) + from_rocker;
        sharp + TAU * ((guess - sharp) / TAU).round()
    }
}

impl PoseOf<Interval> {
    /// θ (rad) enclosed, on the sheet of `guess`.
    #[must_use]
    pub fn coupler_angle_near(&self, guess: f64) -> Interval {
        let [x, y] = self.coupler_vector();
        elementary::angle_near(y, x, guess)
    }
}

impl Branch {
    /// θ (rad) at motor turn `turn`, counted on from the zero pose's in (−π, π] without jumps along the branch.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn coupler_angle(&self, turn: f64) -> Result<f64, LinkageFault> {
        let (pose, zero) = (self.pose(turn)?, self.pose(0.0)?);
        let from_zero = pose.coupler_angle_along(self.zero_crank() + turn)
            - zero.coupler_angle_along(self.zero_crank());
        let (guess, sharp) = (zero.coupler_angle() + from_zero, pose.coupler_angle());
        Ok(sharp + TAU * ((guess - sharp) / TAU).round())
    }

    /// How far the coupler has turned from the zero pose, rad: exactly 0 all along a parallelogram.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn coupler_turn(&self, turn: f64) -> Result<f64, LinkageFault> {
        Ok(self.coupler_angle(turn)? - self.pose(0.0)?.coupler_angle())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linkage::{Closure, FourBar};

    const FINGER: FourBar = FourBar { ground: 20.0, crank: 40.0, coupler: 21.0, rocker: 41.0 };

    fn at(bars: &FourBar, phi: f64) -> Pose {
        bars.at(phi, Closure::Open).unwrap()
    }

    #[test]
    fn every_slope_of_the_coupler_agrees_with_differences() {
        let pose = at(&FINGER, 1.1);
        let (angles, rates) = (pose.coupler_slopes(), pose.coupler_rate_slopes());
        let moved = |k: usize, by: f64| {
            let mut bars = FINGER;
            *[&mut bars.crank, &mut bars.coupler, &mut bars.rocker, &mut bars.ground][k] += by;
            at(&bars, 1.1)
        };
        for k in 0..4 {
            let h = 1e-4;
            let of = |f: fn(&Pose) -> f64| (f(&moved(k, h)) - f(&moved(k, -h))) / (2.0 * h);
            assert!((angles[k] - of(Pose::coupler_angle)).abs() < 1e-8, "{k}");
            assert!((rates[k] - of(|p| p.coupler_rate())).abs() < 1e-8, "{k}");
        }
    }

    #[test]
    fn the_tilt_of_a_parallelogram_follows_first_order_in_each_length() {
        // b sin φ dθ = (dc − da) + cos φ (dg − db), crank 40, coupler 20, 60 deg.
        let bars = FourBar { ground: 20.0, crank: 40.0, coupler: 20.0, rocker: 40.0 };
        let [a, b, c, g, s] = at(&bars, 60_f64.to_radians()).coupler_slopes();
        for (slope, wanted) in [
            (a, -0.057_735_026_918_96),
            (b, -0.028_867_513_459_48),
            (c, 0.057_735_026_918_96),
            (g, 0.028_867_513_459_48),
            (s, 0.0),
        ] {
            assert!((slope - wanted).abs() < 1e-14);
        }
    }

    #[test]
    fn a_coupler_that_goes_round_is_counted_on_without_a_jump() {
        // A double crank with the ground shortest: the coupler goes round with the crank.
        let bars = FourBar { ground: 1.0, crank: 3.0, coupler: 2.5, rocker: 3.2 };
        let branch = Branch::through(bars, 0.3, Closure::Open).unwrap();
        let mut last = branch.coupler_angle(0.0).unwrap();
        for k in 1..=400_u32 {
            let now = branch.coupler_angle(f64::from(k) * 0.02).unwrap();
            assert!((now - last).abs() < 0.3, "{k}");
            last = now;
        }
        assert!(branch.coupler_turn(TAU).unwrap().abs() > 6.0);
    }
}
