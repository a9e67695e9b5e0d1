//! What is measured in which unit, how far apart two figures may lie, and how both are shown: the one table of
//! tolerances.

use crate::units::{degrees, millimetres, number};

words! {
    /// What a row compares.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Measure {
        /// A word: a link's name, a form.
        Name = "name",
        /// A reading of a joint.
        Angle = "angle",
        /// A unit vector; its difference is the angle between two of them.
        Direction = "direction",
        /// A point; its difference is a distance.
        Position = "position",
        /// A length between pin centres.
        Length = "length",
        /// A torque.
        Torque = "torque",
        /// An angular speed.
        Speed = "speed",
        /// Viscous damping.
        Damping = "damping",
        /// Coulomb friction.
        Friction = "friction",
        /// An inertia about the joint's axis.
        Armature = "armature",
        /// Turn per turn, signed.
        Ratio = "ratio",
        /// A controller's position gain, or what a spring across the joint has.
        PositionGain = "position_gain",
        /// A controller's velocity gain.
        VelocityGain = "velocity_gain",
        /// A mass.
        Mass = "mass",
        /// A mass centre; its difference is a distance.
        Centre = "mass_centre",
        /// xx, yy, zz, xy, xz, yz about the mass centre; the difference is that of the figure that is furthest off.
        Inertia = "inertia",
        /// A way along a slide.
        Travel = "travel",
        /// A force along a slide.
        Force = "force",
        /// A speed along a slide.
        TravelSpeed = "travel_speed",
        /// A slide's viscous damping, or a controller's velocity gain along it.
        TravelDamping = "travel_damping",
        /// A controller's position gain along a slide.
        Stiffness = "stiffness",
    }
}

/// How far two figures may lie apart and still say the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tolerance {
    /// Equal.
    Exact,
    /// In SI.
    Absolute(f64),
    /// Of the expected figure, of the largest of several.
    Share(f64),
}

/// Below this a figure counts as 0 where the tolerance is a share.
const NOTHING: f64 = 1e-9;

const DEGREE: f64 = std::f64::consts::PI / 180.0;

impl Measure {
    /// The tolerance. Chosen here: wide enough for the decimals that people write (four of a radian, four of a metre,
    /// three digits of a torque), and far below what a drawing's tolerances or a preset of `[accept]` let through.
    #[must_use]
    pub fn tolerance(self) -> Tolerance {
        match self {
            Self::Name => Tolerance::Exact,
            Self::Angle => Tolerance::Absolute(0.01 * DEGREE),
            Self::Direction => Tolerance::Absolute(0.05 * DEGREE),
            Self::Position | Self::Length | Self::Travel => Tolerance::Absolute(1e-4),
            Self::Centre => Tolerance::Absolute(5e-4),
            Self::Torque
            | Self::Speed
            | Self::Ratio
            | Self::Mass
            | Self::Force
            | Self::TravelSpeed => Tolerance::Share(5e-3),
            Self::Damping
            | Self::Friction
            | Self::Armature
            | Self::PositionGain
            | Self::VelocityGain
            | Self::TravelDamping
            | Self::Stiffness
            | Self::Inertia => Tolerance::Share(1e-2),
        }
    }

    /// The tolerance for an expected figure of this size, in SI.
    #[must_use]
    pub fn allowed(self, expected: f64) -> f64 {
        match self.tolerance() {
            Tolerance::Exact => 0.0,
            Tolerance::Absolute(allowed) => allowed,
            Tolerance::Share(share) => (share * expected.abs()).max(NOTHING),
        }
    }

    /// The tolerance for a person.
    #[must_use]
    pub fn allowance(self) -> String {
        match self.tolerance() {
            Tolerance::Exact => "exact".to_owned(),
            Tolerance::Absolute(allowed) if self.is_angle() => {
                format!("{} deg", number(allowed.to_degrees()))
            }
            Tolerance::Absolute(allowed) => millimetres(allowed),
            Tolerance::Share(share) => format!("{} %", number(100.0 * share)),
        }
    }

    /// What a hinge's figure is of a slide.
    #[must_use]
    pub(super) fn along_slide(self) -> Self {
        match self {
            Self::Angle => Self::Travel,
            Self::Torque | Self::Friction => Self::Force,
            Self::Speed => Self::TravelSpeed,
            Self::Damping | Self::VelocityGain => Self::TravelDamping,
            Self::PositionGain => Self::Stiffness,
            Self::Armature => Self::Mass,
            other => other,
        }
    }

    fn is_angle(self) -> bool {
        matches!(self, Self::Angle | Self::Direction)
    }

    /// The SI unit of the figures; empty for words and unit vectors.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Name | Self::Direction => "",
            Self::Angle => "rad",
            Self::Position | Self::Length | Self::Centre | Self::Travel => "m",
            Self::Force => "N",
            Self::TravelSpeed => "m/s",
            Self::TravelDamping => "N s/m",
            Self::Stiffness => "N/m",
            Self::Torque | Self::Friction => "N m",
            Self::Speed => "rad/s",
            Self::Damping | Self::VelocityGain => "N m s/rad",
            Self::Armature | Self::Inertia => "kg m2",
            Self::Ratio => "1",
            Self::PositionGain => "N m/rad",
            Self::Mass => "kg",
        }
    }

    /// The SI unit of a difference.
    #[must_use]
    pub fn unit_of_difference(self) -> &'static str {
        if self == Self::Direction { "rad" } else { self.unit() }
    }

    /// One figure for a person, with its unit.
    #[must_use]
    pub fn shown(self, value: f64) -> String {
        if value.is_infinite() {
            return "open".to_owned();
        }
        match self {
            Self::Angle => exact_degrees(value),
            Self::Position | Self::Length | Self::Centre | Self::Travel => millimetres(value),
            Self::Name | Self::Direction | Self::Ratio => number(value),
            _ => format!("{} {}", number(value), self.unit()),
        }
    }

    /// A difference for a person.
    #[must_use]
    pub fn shown_difference(self, value: f64) -> String {
        if self.is_angle() { exact_degrees(value) } else { self.shown(value) }
    }
}

/// Two decimals as everywhere, more where the difference of two angles would not be seen.
fn exact_degrees(value: f64) -> String {
    let hundredth = (value.to_degrees() * 100.0).fract().abs();
    if (1e-6..=1.0 - 1e-6).contains(&hundredth) {
        return format!("{} deg", number(value.to_degrees()));
    }
    degrees(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_of_the_expected_figure_and_never_less_than_nothing() {
        assert_eq!(Measure::Torque.allowed(-60.0), 0.3);
        assert_eq!(Measure::Damping.allowed(0.0), NOTHING);
        assert_eq!(Measure::Length.allowed(0.3), 1e-4);
    }

    #[test]
    fn figures_carry_the_units_that_people_read() {
        assert_eq!(Measure::Angle.shown(-35.0 * DEGREE), "-35.00 deg");
        assert_eq!(Measure::Position.shown(-0.3), "-300 mm");
        assert_eq!(Measure::Torque.shown(60.0), "60 N m");
        assert_eq!(Measure::Angle.shown(f64::INFINITY), "open");
        assert_eq!(Measure::Angle.allowance(), "0.01 deg");
        assert_eq!(Measure::Torque.allowance(), "0.5 %");
        assert_eq!(Measure::Length.allowance(), "0.1 mm");
    }
}
