//! Forces in both rods, their pins and the joint that they push against.
//!
//! Weightless rods, at rest, each motor with its torque in either direction: a rod is a two-force member with F = τ/g, g its arm
//! about its own motor, whatever the other motor does. What both push on the joint between carrier, middle link and child is
//! |F₁ŵ₁ ± F₂ŵ₂|; a load at the foot comes besides. Friction, play and bending are left out. Derived here.

use super::super::bearings::Bearings;
use super::super::fault::DynamicsFault;
use super::super::loads::{PinLoad, pin_load};
use super::super::pin::{Pin, PinPlace};
use super::super::rod::{Buckling, Rod};
use super::placed::{Placed, largest};
use crate::drive::{InputEnd, Region, TwoRods, TwoRodsPose};

/// What one rod is known by.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LegLoadParts {
    /// The rod's section and material.
    pub rod: Option<Rod>,
    /// Its pins; [`Bearings::joint`] is not asked.
    pub bearings: Bearings,
}

/// What one rod bears over the region at its motor's torque.
#[derive(Clone, Debug, PartialEq)]
pub struct LegLoad {
    /// The smallest arm of the rod about its motor, m; of a screw, travel per rad along the rod.
    pub smallest_arm: Placed,
    /// The largest pull or thrust, N.
    pub force: Placed,
    /// Its longest length, m.
    pub longest: Placed,
    /// In the cross-section, Pa.
    pub stress: Option<f64>,
    /// Yield stress / stress.
    pub yield_margin: Option<f64>,
    /// The rod as a column where it is longest.
    pub buckling: Option<Buckling>,
    /// Critical load / force.
    pub buckling_margin: Option<f64>,
    /// Those that the leg has, from the motor on.
    pub pins: Vec<PinLoad>,
    /// Largest tilt of the ball at P, rad; `None` where no crank turns.
    pub crank_tilt: Option<Placed>,
}

/// What the drive bears over the region. All worst poses are computed, not proved.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoJointLoads {
    /// Motor torques that they are told for, N m, as sizes.
    pub motor_torques: [f64; 2],
    /// First and second.
    pub legs: [LegLoad; 2],
    /// The largest force of both rods on the joint, N.
    pub joint_force: Placed,
}

/// What rods, pins and joint bear over the region while each motor gives up to its torque of `motors`, N m.
///
/// # Errors
/// A pose of the region's grid out of reach.
pub fn two_joint_loads(
    drive: &TwoRods,
    region: &Region,
    motors: [f64; 2],
    parts: &[LegLoadParts; 2],
) -> Result<TwoJointLoads, DynamicsFault> {
    for joints in region.turns() {
        drive.pose(joints)?;
    }
    let course = Course { drive, region };
    let motors = motors.map(f64::abs);
    let ([one, two], [first, second]) = (motors, parts);
    Ok(TwoJointLoads {
        motor_torques: motors,
        legs: [course.leg(0, one, first), course.leg(1, two, second)],
        joint_force: course.worst(|pose| joint_force(pose, motors)),
    })
}

struct Course<'a> {
    drive: &'a TwoRods,
    region: &'a Region,
}

impl Course<'_> {
    fn worst(&self, figure: impl Fn(&TwoRodsPose) -> f64) -> Placed {
        let at = |joints| self.drive.pose(joints).map_or(f64::NAN, |pose| figure(&pose));
        largest(self.region, &at)
    }

    fn leg(&self, k: usize, torque: f64, parts: &LegLoadParts) -> LegLoad {
        let per_arm = self.worst(|pose| arm(pose, k).recip());
        let longest = self.worst(|pose| pose.rods.get(k).map_or(f64::NAN, |rod| rod.length));
        let force = Placed { value: torque * per_arm.value, ..per_arm };
        let rod = parts.rod;
        let stress = rod.map(|rod| force.value / rod.area());
        let buckling = rod.and_then(|rod| rod.buckling(longest.value));
        let has_crank = self.is_crank(k);
        LegLoad {
            smallest_arm: Placed { value: per_arm.value.recip(), ..per_arm },
            force,
            longest,
            stress,
            yield_margin: stress.and_then(|stress| Some(rod?.yield_stress? / stress)),
            buckling,
            buckling_margin: buckling.map(|column| column.load / force.value),
            pins: self.pins(k, parts).map(|pin| pin_load(pin, force.value)).collect(),
            crank_tilt: has_crank
                .then(|| self.worst(|pose| pose.crank_tilt(k).unwrap_or(f64::NAN))),
        }
    }

    fn input(&self, k: usize) -> Option<&InputEnd> {
        Some(&self.drive.geometry().legs.get(k)?.input)
    }

    fn is_crank(&self, k: usize) -> bool {
        matches!(self.input(k), Some(InputEnd::Crank { .. }))
    }

    /// An actuator has no pin P, a guide no pin A.
    fn pins(&self, k: usize, parts: &LegLoadParts) -> impl Iterator<Item = (PinPlace, Pin)> {
        let none = match self.input(k) {
            Some(InputEnd::Actuator { .. }) => Some(PinPlace::Crank),
            Some(InputEnd::Slide { .. }) => Some(PinPlace::Motor),
            _ => None,
        };
        let has = move |place: PinPlace| place != PinPlace::Joint && Some(place) != none;
        parts.bearings.pins().into_iter().filter(move |(place, _)| has(*place))
    }
}

/// |g| of one rod, m.
fn arm(pose: &TwoRodsPose, k: usize) -> f64 {
    pose.motor_arms().get(k).map_or(f64::NAN, |arm| arm.abs())
}

/// The larger of |F₁ŵ₁ ± F₂ŵ₂|, N.
fn joint_force(pose: &TwoRodsPose, motors: [f64; 2]) -> f64 {
    let ([one, two], [first, second], [g1, g2]) = (&pose.rods, motors, pose.motor_arms());
    let along = one.rod * (first / (g1 * one.length));
    let other = two.rod * (second / (g2 * two.length));
    (along + other).length().max((along - other).length())
}
