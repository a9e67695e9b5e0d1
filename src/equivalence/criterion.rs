//! What a verdict is about: the criteria, on which side of its limit each must stay, and figures that are numbers.

use serde::Serialize;

/// A finite number. What is infinite or not a number is no figure: it is not made, compared or printed.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize)]
pub struct Figure(f64);

impl Figure {
    /// `value` where it is finite.
    #[must_use]
    pub fn new(value: f64) -> Option<Self> {
        value.is_finite().then_some(Self(value))
    }

    /// The number, in the unit of what it is a figure of.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }
}

/// On which side of its limit a figure must stay.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The limit is the largest figure allowed.
    AtMost,
    /// The limit is a floor.
    AtLeast,
}

impl Side {
    /// `at most`, `at least`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::AtMost => "at most",
            Self::AtLeast => "at least",
        }
    }

    /// What a limit on this side is called: `limit`, `floor`.
    #[must_use]
    pub fn limit_name(self) -> &'static str {
        match self {
            Self::AtMost => "limit",
            Self::AtLeast => "floor",
        }
    }
}

words! {
    /// The unit of a figure.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Unit {
        /// rad.
        Radian = "rad",
        /// m.
        Metre = "m",
        /// A share.
        One = "1",
    }
}

words! {
    /// What has to hold before a direct joint may stand in.
    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Criterion {
        /// |joint angle of the linkage − joint angle of the direct joint|, rad.
        Angle = "angle",
        /// |i / ratio − 1|: torque and speed.
        Ratio = "ratio",
        /// |pad's attitude in the model − in the linkage|, rad.
        Tilt = "tilt",
        /// |place of the pad point across the closing direction, model against linkage|, m.
        Shift = "shift",
        /// |opening of the model − of the linkage|, m.
        Opening = "opening",
        /// |force of the model / force of the linkage − 1| at the pad.
        Grip = "grip",
        /// The largest error of kinetic energy for any motion, as a share.
        Inertia = "inertia",
        /// The smallest transmission angle, rad.
        TransmissionAngle = "transmission_angle",
        /// The largest tilt of a rod in its ball ends, rad.
        BallTilt = "ball_tilt",
        /// The smallest angle at the motor's end of a rod that is the margin there, rad: 0 at a dead point.
        CrankSide = "crank_side",
    }
}

/// Limits count as met within this: rad for angles; shares are relative as they are.
pub const MET_WITHIN: f64 = 1e-9;

/// Lengths count as met within this, m.
const LENGTHS_MET_WITHIN: f64 = 1e-12;

impl Criterion {
    /// Those of a pad's motion, the one to lead with first.
    pub const OF_PAD: [Self; 4] = [Self::Tilt, Self::Shift, Self::Opening, Self::Grip];

    /// In words.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Angle => "angle error",
            Self::Ratio => "ratio error",
            Self::Inertia => "inertia error",
            Self::Tilt => "tilt",
            Self::Shift => "shift",
            Self::Opening => "opening error",
            Self::Grip => "grip error",
            Self::TransmissionAngle => "transmission angle",
            Self::BallTilt => "ball tilt",
            Self::CrankSide => "crank side",
        }
    }

    /// Limits count as met within this, in the criterion's unit.
    #[must_use]
    pub fn met_within(self) -> f64 {
        match self.unit() {
            Unit::Metre => LENGTHS_MET_WITHIN,
            Unit::Radian | Unit::One => MET_WITHIN,
        }
    }

    /// The unit of figure and limit.
    #[must_use]
    pub fn unit(self) -> Unit {
        match self {
            Self::Angle
            | Self::Tilt
            | Self::TransmissionAngle
            | Self::BallTilt
            | Self::CrankSide => Unit::Radian,
            Self::Shift | Self::Opening => Unit::Metre,
            Self::Ratio | Self::Inertia | Self::Grip => Unit::One,
        }
    }

    /// On which side of the limit the figure must stay.
    #[must_use]
    pub fn side(self) -> Side {
        match self {
            Self::TransmissionAngle | Self::CrankSide => Side::AtLeast,
            _ => Side::AtMost,
        }
    }

    /// How far `figure` stays on the right side of `limit`; below 0 beyond it.
    #[must_use]
    pub fn margin(self, figure: Figure, limit: f64) -> f64 {
        match self.side() {
            Side::AtMost => limit - figure.value(),
            Side::AtLeast => figure.value() - limit,
        }
    }

    /// Does `figure` break `limit` by more than [`Criterion::met_within`]?
    #[must_use]
    pub fn is_broken(self, figure: Figure, limit: f64) -> bool {
        self.margin(figure, limit) < -self.met_within()
    }

    /// How near `figure` is to `limit`: 1 at it, above 1 beyond it.
    #[must_use]
    pub fn load(self, figure: Figure, limit: f64) -> f64 {
        match self.side() {
            Side::AtMost if figure.value() <= 0.0 => 0.0,
            Side::AtMost => figure.value() / limit,
            Side::AtLeast => limit / figure.value().max(f64::MIN_POSITIVE),
        }
    }
}

words! {
    /// What a verdict is over.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Basis {
        /// The drawn lengths only.
        Nominal = "nominal",
        /// Every linkage inside the drawn tolerances.
        Tolerance = "tolerance",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_a_number_or_infinite_is_no_figure() {
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(Figure::new(value), None);
        }
        assert_eq!(Figure::new(-0.5).map(Figure::value), Some(-0.5));
    }

    #[test]
    fn a_tie_is_met_and_a_hair_more_is_not() {
        for criterion in Criterion::ALL {
            let limit = 0.5;
            let beyond = |by: f64| match criterion.side() {
                Side::AtMost => Figure::new(limit + by).unwrap(),
                Side::AtLeast => Figure::new(limit - by).unwrap(),
            };
            assert!(!criterion.is_broken(beyond(0.0), limit), "{criterion:?}");
            let hair = criterion.met_within();
            assert!(!criterion.is_broken(beyond(0.4 * hair), limit), "{criterion:?}");
            assert!(criterion.is_broken(beyond(2.0 * hair), limit), "{criterion:?}");
            assert!(
                criterion.load(beyond(0.1), limit) > 1.0
                    && criterion.margin(beyond(0.1), limit) < 0.0
            );
        }
    }

    #[test]
    fn names_and_titles_tell_the_criteria_apart() {
        for (k, one) in Criterion::ALL.iter().enumerate() {
            for other in &Criterion::ALL[k + 1..] {
                assert!(one.name() != other.name() && one.title() != other.title());
            }
        }
    }
}
