//! The four-bar in closed form, independent of the library's: Freudenstein's equation and its derivative.
//!
//! Freudenstein (Transactions of the ASME 77, 1955): the loop a e(φ) + b e(θ) = (g, 0) + c e(ψ), with the coupler's
//! angle taken out by squaring, is
//!
//! ```text
//! b² = g² + a² + c² + 2gc cos ψ − 2ag cos φ − 2ac cos(φ − ψ)
//! ```
//!
//! that is R cos(ψ − β) = C with R e(β) = g − a e(φ). Its derivative by φ gives dψ/dφ; the transmission angle is that
//! between the coupler's and the rocker's vector, and the coupler turns as its two ends move across it. β is followed
//! without jumps: g − a e(φ) does not go round 0 while a < g, and goes round with φ while a > g.

use super::double::Real;

/// The four lengths, in any unit.
#[derive(Clone, Copy, Debug)]
pub struct Bars<T> {
    pub ground: T,
    pub crank: T,
    pub coupler: T,
    pub rocker: T,
}

/// One pose.
#[derive(Clone, Copy, Debug)]
pub struct Pose<T> {
    /// ψ, without jumps while the loop stays closed.
    pub rocker: T,
    /// dψ/dφ.
    pub velocity_ratio: T,
    /// Between coupler and rocker, 0…π/2.
    pub transmission_angle: T,
    /// The crank pin from the motor axis.
    pub pin: [T; 2],
    /// The coupler's angle, without jumps while the loop stays closed.
    pub coupler: T,
    /// The coupler's turn for each turn of the crank.
    pub coupler_rate: T,
}

impl<T: Real> Bars<T> {
    /// Ground, crank, coupler, rocker.
    pub fn all(&self) -> [T; 4] {
        [self.ground, self.crank, self.coupler, self.rocker]
    }

    /// The other way round.
    pub fn of([ground, crank, coupler, rocker]: [T; 4]) -> Self {
        Self { ground, crank, coupler, rocker }
    }

    /// In another kind of number.
    pub fn floats(&self) -> Bars<f64> {
        Bars::of(self.all().map(Real::value))
    }

    /// C/R, the cosine of ψ − β, with β and R; nothing where crank pin and joint axis coincide.
    fn cosine(&self, phi: T) -> Option<(T, T, T)> {
        let Self { ground: g, crank: a, coupler: b, rocker: c } = *self;
        let (sin, cos) = phi.sin_cos();
        let (x, y) = (g - a * cos, -(a * sin));
        let r = (x * x + y * y).sqrt();
        if r.value() <= 0.0 {
            return None;
        }
        let two = T::of(2.0);
        let k = (b * b - g * g - a * a - c * c + two * a * g * cos) / (two * c);
        let beta = if a <= g { y.atan2(x) } else { phi + T::pi() + (g * sin).atan2(a - g * cos) };
        Some((k / r, beta, r))
    }

    /// Does the loop close at this crank angle, by more than rounding?
    pub fn closes(&self, phi: T) -> bool {
        self.closes_by(phi, T::hair())
    }

    /// Does it close with the cosine at least so far from ±1?
    pub fn closes_by(&self, phi: T, margin: T) -> bool {
        self.cosine(phi).is_some_and(|(u, ..)| T::of(1.0) - u.abs() > margin)
    }

    /// The pose with ψ on the `side` (+1 or −1) of β; nothing where the loop does not close.
    pub fn pose(&self, phi: T, side: f64) -> Option<Pose<T>> {
        let Self { ground: g, crank: a, coupler: _, rocker: c } = *self;
        let (u, beta, r) = self.cosine(phi)?;
        let one = T::of(1.0);
        if u.abs() >= one {
            return None;
        }
        let off = T::of(side) * ((one - u) * (one + u)).sqrt();
        let psi = beta + off.atan2(u);
        let ((sin, cos), (sin_psi, cos_psi)) = (phi.sin_cos(), psi.sin_cos());
        let between = sin * cos_psi - cos * sin_psi;
        let velocity_ratio = a * (g * sin + c * between) / (c * (g * sin_psi + a * between));
        let pin = [a * cos, a * sin];
        let coupler = [g + c * cos_psi - pin[0], c * sin_psi - pin[1]];
        let across = coupler[0] * sin_psi - coupler[1] * cos_psi;
        let along = coupler[0] * cos_psi + coupler[1] * sin_psi;
        // Its far end moves with the rocker's, its near end with the crank's.
        let swept = [pin[1] - c * velocity_ratio * sin_psi, c * velocity_ratio * cos_psi - pin[0]];
        let turned = coupler[0] * swept[1] - coupler[1] * swept[0];
        Some(Pose {
            rocker: psi,
            velocity_ratio,
            transmission_angle: across.abs().atan2(along.abs()),
            pin,
            // On the same side of the diagonal as the rocker.
            coupler: beta + (c * off).atan2(r + c * u),
            coupler_rate: turned / (coupler[0] * coupler[0] + coupler[1] * coupler[1]),
        })
    }

    /// Does it close all the way over these crank angles? The diagonal is longest or shortest at their ends, or where
    /// crank and ground are in line.
    pub fn closes_over(&self, from: T, to: T) -> bool {
        self.closes_over_by(from, to, T::hair())
    }

    /// The same with a margin for the cosine.
    pub fn closes_over_by(&self, from: T, to: T, margin: T) -> bool {
        let half_turns = |x: f64| x / std::f64::consts::PI;
        let (first, last) = (half_turns(from.value()).ceil(), half_turns(to.value()).floor());
        let mut k = first;
        while k <= last {
            if !self.closes_by(T::pi() * T::of(k), margin) {
                return false;
            }
            k += 1.0;
        }
        self.closes_by(from, margin) && self.closes_by(to, margin)
    }

    /// The side whose rocker angle at `phi` is nearest to `hint`, or nothing where the loop does not close.
    pub fn side(&self, phi: T, hint: T) -> Option<f64> {
        let off = |side: f64| {
            let psi = self.pose(phi, side)?.rocker;
            let turn = std::f64::consts::TAU;
            let apart = (psi - hint).value().rem_euclid(turn);
            Some(apart.min(turn - apart))
        };
        Some(if off(1.0)? <= off(-1.0)? { 1.0 } else { -1.0 })
    }
}
