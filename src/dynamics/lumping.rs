//! A rod as point masses, and a motor's figures behind a ratio.

/// A rod of mass m replaced by point masses at its two pins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PinMasses {
    /// At the first pin, kg: m (1 − λ).
    pub first: f64,
    /// At the second pin, kg: m λ.
    pub second: f64,
    /// What is left of the inertia about the mass centre, kg m²: I − m λ (1 − λ) b², most often negative.
    pub rest: f64,
}

impl PinMasses {
    /// Of a rod with `mass`, its centre `from_first` from the first pin on the pin line of `length`, and `inertia` about
    /// the centre: mass and mass centre are kept, the inertia is kept with the rest.
    #[must_use]
    pub fn of(mass: f64, from_first: f64, length: f64, inertia: f64) -> Self {
        let share = from_first / length;
        let (first, second) = (mass * (1.0 - share), mass * share);
        Self { first, second, rest: inertia - second * (1.0 - share) * length * length }
    }
}

/// A rod replaced by two point masses that have its inertia as well: the second one stands where that asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoMasses {
    /// At the chosen point, kg.
    pub chosen: f64,
    /// Beyond the mass centre, kg.
    pub other: f64,
    /// Distance of the other mass from the mass centre, m: I/(m l), the centre of percussion.
    pub other_distance: f64,
}

impl TwoMasses {
    /// Of a rod with `mass` and `inertia` about its centre, one mass at `distance` (> 0) from the centre.
    #[must_use]
    pub fn of(mass: f64, distance: f64, inertia: f64) -> Self {
        let other_distance = inertia / (mass * distance);
        let other = mass * distance / (distance + other_distance);
        Self { chosen: mass - other, other, other_distance }
    }
}

/// A motor's figures seen at the other side of `ratio` turns of the motor per turn there.
///
/// # Source
/// Derived here from power: τ ω is the same on both sides, without loss; K. M. Lynch and F. C. Park, Modern Robotics
/// (2017), sec. 8.9, for the inertia (from memory).
pub mod behind_ratio {
    /// Inertia, kg m², or damping, N m s/rad, or stiffness, N m/rad: × ratio².
    #[must_use]
    pub fn inertia_or_damping(at_motor: f64, ratio: f64) -> f64 {
        at_motor * ratio * ratio
    }

    /// Torque or Coulomb friction, N m, as a size: × |ratio|.
    #[must_use]
    pub fn torque(at_motor: f64, ratio: f64) -> f64 {
        at_motor * ratio.abs()
    }

    /// Play or turn, as a size: / |ratio|.
    #[must_use]
    pub fn turn(at_motor: f64, ratio: f64) -> f64 {
        at_motor / ratio.abs()
    }
}
