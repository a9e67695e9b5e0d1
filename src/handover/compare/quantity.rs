//! The figures of a joint that robot files hold: what each is, which formats have a place for it, where it stands.
//!
//! A design is held against a file by them, and a file against a file; [`Measure`] has their units and tolerances.

use super::facts::JointFacts;
use super::measure::Measure;
use super::row::{Row, Sides, number};
use super::spot::Spot;
use crate::robot::{Format, JointKind};

/// One figure of a joint.
pub(super) struct Quantity {
    pub(super) name: &'static str,
    pub(super) measure: Measure,
    spot: Spot,
    holds: fn(Format) -> bool,
    of: fn(&JointFacts<'_>) -> Option<f64>,
}

const ALWAYS: fn(Format) -> bool = |_| true;

pub(super) const LOWER: Quantity = Quantity {
    name: "lower limit",
    measure: Measure::Angle,
    spot: Spot::Lower,
    holds: ALWAYS,
    of: |facts| facts.joint.limit.map(|[low, _]| low),
};
pub(super) const UPPER: Quantity = Quantity {
    name: "upper limit",
    spot: Spot::Upper,
    of: |facts| facts.joint.limit.map(|[_, high]| high),
    ..LOWER
};
pub(super) const EFFORT: Quantity = Quantity {
    name: "effort",
    measure: Measure::Torque,
    spot: Spot::Effort,
    holds: ALWAYS,
    of: |facts| facts.effort().0,
};
/// Where one way is weaker than the other, what it can do the stronger way.
pub(super) const STRONGER_EFFORT: Quantity =
    Quantity { name: "effort the stronger way", of: |facts| facts.stronger_effort(), ..EFFORT };
pub(super) const VELOCITY: Quantity = Quantity {
    name: "velocity",
    measure: Measure::Speed,
    spot: Spot::Velocity,
    holds: Format::holds_speed_limit,
    of: |facts| facts.joint.velocity,
};
pub(super) const DAMPING: Quantity = Quantity {
    name: "damping",
    measure: Measure::Damping,
    spot: Spot::Damping,
    holds: ALWAYS,
    of: |facts| facts.damping(),
};
pub(super) const FRICTION: Quantity = Quantity {
    name: "friction",
    measure: Measure::Friction,
    spot: Spot::Friction,
    holds: ALWAYS,
    of: |facts| facts.joint.friction,
};
pub(super) const ARMATURE: Quantity = Quantity {
    name: "armature",
    measure: Measure::Armature,
    spot: Spot::Joint,
    holds: Format::holds_armature,
    of: |facts| facts.armature(),
};

/// Of a spring across the joint.
pub(super) const SPRING: Quantity = Quantity {
    name: "spring",
    measure: Measure::PositionGain,
    spot: Spot::Joint,
    holds: |format| format != Format::Urdf,
    of: |facts| facts.joint.stiffness,
};
pub(super) const SPRING_REST: Quantity = Quantity {
    name: "reading at which the spring rests",
    measure: Measure::Angle,
    of: |facts| facts.joint.stiffness.map(|_| facts.joint.spring_reference),
    ..SPRING
};
/// Of a position controller.
pub(super) const LOWEST_TARGET: Quantity = Quantity {
    name: "lowest target",
    measure: Measure::Angle,
    spot: Spot::Effort,
    holds: Format::holds_armature,
    of: |facts| facts.targets().map(|[low, _]| low),
};
pub(super) const HIGHEST_TARGET: Quantity = Quantity {
    name: "highest target",
    of: |facts| facts.targets().map(|[_, high]| high),
    ..LOWEST_TARGET
};
/// At the joint.
pub(super) const POSITION_GAIN: Quantity = Quantity {
    name: "position gain",
    measure: Measure::PositionGain,
    of: |facts| facts.gains().map(|[position, _]| position),
    ..LOWEST_TARGET
};
pub(super) const VELOCITY_GAIN: Quantity = Quantity {
    name: "velocity gain",
    measure: Measure::VelocityGain,
    of: |facts| facts.gains().map(|[_, velocity]| velocity),
    ..LOWEST_TARGET
};
/// Joint torque for each unit of the actuator's force.
pub(super) const GEAR: Quantity = Quantity {
    name: "ratio",
    measure: Measure::Ratio,
    of: |facts| facts.actuator.map(|actuator| actuator.gear),
    ..LOWEST_TARGET
};

/// In the order in which they are told.
pub(super) const ALL: [&Quantity; 15] = [
    &LOWER,
    &UPPER,
    &EFFORT,
    &STRONGER_EFFORT,
    &VELOCITY,
    &DAMPING,
    &FRICTION,
    &SPRING,
    &SPRING_REST,
    &ARMATURE,
    &GEAR,
    &POSITION_GAIN,
    &VELOCITY_GAIN,
    &LOWEST_TARGET,
    &HIGHEST_TARGET,
];

impl Quantity {
    /// What the file says.
    pub(super) fn of(&self, facts: &JointFacts<'_>) -> Option<f64> {
        (self.of)(facts)
    }

    pub(super) fn is_held_by(&self, facts: &JointFacts<'_>) -> bool {
        (self.holds)(facts.robot.format)
    }

    /// Its row, at the line of the file.
    pub(super) fn row(&self, facts: &JointFacts<'_>) -> Row {
        let line = match self.spot {
            Spot::Effort => facts.effort().1,
            spot => facts.line(spot),
        };
        let is_slide = facts.joint.kind == JointKind::Prismatic;
        let measure = if is_slide { self.measure.along_slide() } else { self.measure };
        Row::new(self.name, measure).at(line)
    }

    /// What is expected against what the file says, or what is made of that.
    pub(super) fn against(
        &self,
        facts: &JointFacts<'_>,
        both: [Option<f64>; 2],
        sides: Sides<'_>,
    ) -> Option<Row> {
        number(self.row(facts), both, sides, self.is_held_by(facts))
    }

    /// The same of the joint that is named in the row.
    pub(super) fn named(
        &self,
        facts: &JointFacts<'_>,
        both: [Option<f64>; 2],
        sides: Sides<'_>,
    ) -> Option<Row> {
        number(self.row(facts).of(&facts.joint.name), both, sides, self.is_held_by(facts))
    }
}
