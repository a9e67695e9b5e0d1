//! A build by its sizes, with what its axes do where they are tilted: what slopes by the sizes need beside the build.

use super::drawing::{DrawnLeg, TwoRodsDrawing};
use super::pose::RodsOnUniversal;
use crate::drive::angular::Angular;
use crate::drive::space::{Axis, Vector};
use crate::numeric::Interval;

/// A build by its sizes, with what its axes do where they are tilted.
#[derive(Clone, Debug)]
pub struct SizedBuild<T> {
    /// The build.
    pub built: RodsOnUniversal<T>,
    /// Of pitch and roll, per tilt.
    pub(super) tilts: [[Vector<T>; 2]; 2],
    pub(super) legs: [SizedLeg<T>; 2],
}

/// What a leg's sizes say beside the leg.
#[derive(Clone, Copy, Debug)]
pub(super) enum SizedLeg<T> {
    Crank { motor: Vector<T>, tilts: [Vector<T>; 2], pin: Vector<T>, is_rod_given: bool },
    Actuator,
}

/// Slopes of a tilted axis' unit direction by both tilts, from the axis as drawn.
fn tilt_slopes<T: Angular>(drawn: &Axis, tilts: [T; 2]) -> Option<[Vector<T>; 2]> {
    let along = drawn.direction.map(T::exactly).unit()?;
    let across = along.across()?;
    let [first, second] = tilts;
    let square = T::exactly(1.0) + first.square() + second.square();
    let size = square.root()?;
    let tilted = along + across[0] * first + across[1] * second;
    let slope = |k: usize| {
        let (own, tilt) = if k == 0 { (across[0], first) } else { (across[1], second) };
        (own - tilted * (tilt / square)).map(|x| x / size)
    };
    Some([slope(0), slope(1)])
}

impl SizedBuild<Interval> {
    /// The constant build that this one encloses.
    #[must_use]
    pub fn constant<T: Angular>(&self) -> SizedBuild<T> {
        let leg = |leg: SizedLeg<Interval>| match leg {
            SizedLeg::Crank { motor, tilts, pin, is_rod_given } => SizedLeg::Crank {
                motor: motor.map(T::constant),
                tilts: tilts.map(|tilt| tilt.map(T::constant)),
                pin: pin.map(T::constant),
                is_rod_given,
            },
            SizedLeg::Actuator => SizedLeg::Actuator,
        };
        SizedBuild {
            built: self.built.constant(),
            tilts: self.tilts.map(|both| both.map(|tilt| tilt.map(T::constant))),
            legs: self.legs.map(leg),
        }
    }
}

impl TwoRodsDrawing {
    /// The build that `sizes` make, with what its sizes move; `None` where a datum is lost.
    pub fn sized<T: Angular>(&self, sizes: &[T]) -> Option<SizedBuild<T>> {
        let built = self.built(sizes)?;
        let two = |at: usize| Some([*sizes.get(at)?, *sizes.get(at + 1)?]);
        let three = |at: usize| {
            Some(Vector::new(*sizes.get(at)?, *sizes.get(at + 1)?, *sizes.get(at + 2)?))
        };
        let leg = |drawn: &DrawnLeg, from: usize| match drawn {
            DrawnLeg::Crank { motor, rod, .. } => Some(SizedLeg::Crank {
                motor: three(from)?,
                tilts: tilt_slopes(motor, two(from + 3)?)?,
                pin: three(from + 5)?,
                is_rod_given: rod.is_some(),
            }),
            DrawnLeg::Actuator { .. } => Some(SizedLeg::Actuator),
        };
        let [axes, first, _] = self.parts();
        let [one, two_] = &self.legs;
        Some(SizedBuild {
            built,
            tilts: [tilt_slopes(&self.pitch, two(3)?)?, tilt_slopes(&self.roll, two(8)?)?],
            legs: [leg(one, axes)?, leg(two_, axes + first)?],
        })
    }
}
