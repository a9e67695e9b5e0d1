//! Two rods on a universal joint as drawn: points and axes in the carrier's frame, in the zero pose, as a list of sizes.

use crate::drive::angular::Angular;
use crate::drive::fault::DriveFault;
use crate::drive::size::{Measure, Size};
use crate::drive::space::{Axis, Vector};
use crate::numeric::Interval;

use super::TwoRods;
use super::pose::{Leg, RodsOnUniversal};

/// One motor with its rod. Lengths in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DrawnLeg {
    /// A crank on a motor's axis.
    Crank {
        /// The motor axis; any point on it.
        motor: Axis,
        /// P.
        crank: Vector,
        /// Q.
        foot: Vector,
        /// Length of the rod; `None`: the distance of the two pins.
        rod: Option<f64>,
    },
    /// A linear actuator.
    Actuator {
        /// The pin on the carrier.
        pin: Vector,
        /// Q.
        foot: Vector,
        /// Distance of the slide line from the pin.
        line_offset: f64,
        /// Travel per motor turn, signed.
        lead: f64,
        /// Shortest and longest along the slide line.
        lengths: Option<[f64; 2]>,
    },
}

/// The drive of an ankle or wrist as drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoRodsDrawing {
    /// Pitch, fixed in the carrier.
    pub pitch: Axis,
    /// Roll, carried by pitch.
    pub roll: Axis,
    /// First and second motor.
    pub legs: [DrawnLeg; 2],
}

/// Sizes of the two joint axes: a point and two tilts each.
pub(super) const OF_AXES: usize = 10;

/// Takes sizes from the front of a list.
struct Taken<'a, T>(&'a [T]);

impl<T: Angular> Taken<'_, T> {
    fn one(&mut self) -> Option<T> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    fn point(&mut self) -> Option<Vector<T>> {
        Some(Vector::new(self.one()?, self.one()?, self.one()?))
    }

    fn axis(&mut self, drawn: &Axis) -> Option<Axis<T>> {
        let point = self.point()?;
        let direction = drawn.direction.map(T::exactly);
        Axis { point, direction }.tilted([self.one()?, self.one()?])
    }
}

fn length(name: &'static str, value: f64) -> Size {
    Size { stage: 0, name, measure: Measure::Length, value }
}

fn point(names: [&'static str; 3], at: Vector) -> impl Iterator<Item = Size> {
    names.into_iter().zip([at.x, at.y, at.z]).map(|(name, value)| length(name, value))
}

fn tilts(names: [&'static str; 2]) -> impl Iterator<Item = Size> {
    let tilt = |name| Size { stage: 0, name, measure: Measure::Angle, value: 0.0 };
    names.into_iter().map(tilt)
}

impl DrawnLeg {
    /// Its sizes, in the order in which they are taken.
    fn sizes(&self) -> Vec<Size> {
        let foot = |at| point(["foot_x", "foot_y", "foot_z"], at);
        match *self {
            Self::Crank { motor, crank, foot: q, rod } => {
                point(["motor_x", "motor_y", "motor_z"], motor.point)
                    .chain(tilts(["motor_axis_u", "motor_axis_v"]))
                    .chain(point(["crank_x", "crank_y", "crank_z"], crank))
                    .chain(foot(q))
                    .chain(rod.map(|rod| length("rod", rod)))
                    .collect()
            }
            Self::Actuator { pin, foot: q, line_offset, lead, .. } => {
                let screw = [length("line_offset", line_offset), length("lead", lead)];
                point(["motor_x", "motor_y", "motor_z"], pin).chain(foot(q)).chain(screw).collect()
            }
        }
    }

    fn built<T: Angular>(&self, sizes: &mut Taken<'_, T>) -> Option<Leg<T>> {
        match self {
            Self::Crank { motor, rod, .. } => {
                let motor = sizes.axis(motor)?;
                let (crank, foot) = (sizes.point()?, sizes.point()?);
                let rod = match rod {
                    Some(_) => Some(sizes.one()?),
                    None => None,
                };
                Leg::crank(&motor, crank, foot, rod)
            }
            Self::Actuator { .. } => {
                let (pin, foot) = (sizes.point()?, sizes.point()?);
                Some(Leg::actuator(pin, foot, [sizes.one()?, sizes.one()?]))
            }
        }
    }

    /// The same on the other side of the plane y = 0: points to (x, −y, z), a motor's axis to (−x, y, −z), so that both
    /// motors turn alike in pure pitch.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let over = |v: Vector| Vector::new(v.x, -v.y, v.z);
        match *self {
            Self::Crank { motor, crank, foot, rod } => Self::Crank {
                motor: Axis { point: over(motor.point), direction: -over(motor.direction) },
                crank: over(crank),
                foot: over(foot),
                rod,
            },
            Self::Actuator { pin, foot, line_offset, lead, lengths } => {
                Self::Actuator { pin: over(pin), foot: over(foot), line_offset, lead, lengths }
            }
        }
    }
}

impl TwoRodsDrawing {
    /// Its sizes: both joint axes, then each leg's own with the motor's number, 0 or 1, as the stage.
    #[must_use]
    pub fn sizes(&self) -> Vec<Size> {
        let axes = point(["pitch_x", "pitch_y", "pitch_z"], self.pitch.point)
            .chain(tilts(["pitch_axis_u", "pitch_axis_v"]))
            .chain(point(["roll_x", "roll_y", "roll_z"], self.roll.point))
            .chain(tilts(["roll_axis_u", "roll_axis_v"]));
        let legs = self.legs.iter().enumerate().flat_map(|(stage, leg)| {
            leg.sizes().into_iter().map(move |size| Size { stage, ..size })
        });
        axes.chain(legs).collect()
    }

    /// How many sizes belong to both joint axes, to the first leg, to the second: they stand in that order.
    #[must_use]
    pub fn parts(&self) -> [usize; 3] {
        let [first, second] = &self.legs;
        [OF_AXES, first.sizes().len(), second.sizes().len()]
    }

    /// The build that `sizes` make, in its zero pose; `None` where a datum is lost.
    pub fn built<T: Angular>(&self, sizes: &[T]) -> Option<RodsOnUniversal<T>> {
        let mut sizes = Taken(sizes);
        let (pitch, roll) = (sizes.axis(&self.pitch)?, sizes.axis(&self.roll)?);
        let [first, second] = &self.legs;
        let legs = [first.built(&mut sizes)?, second.built(&mut sizes)?];
        RodsOnUniversal::new(pitch, roll, legs)
    }

    /// The drive whose zero pose is as drawn.
    ///
    /// # Errors
    /// [`DriveFault::Undetermined`] where a pin lies on its axis or an axis has no direction, else as [`TwoRods::new`].
    pub fn drive(&self) -> Result<TwoRods, DriveFault> {
        let sizes: Vec<f64> = self.sizes().iter().map(|size| size.value).collect();
        self.drive_of(&sizes)
    }

    /// The drive whose zero pose is that of the build that `sizes` make.
    ///
    /// # Errors
    /// As [`TwoRodsDrawing::drive`].
    pub fn drive_of(&self, sizes: &[f64]) -> Result<TwoRods, DriveFault> {
        const NO_DATUM: DriveFault =
            DriveFault::Undetermined("a pin lies on its own axis, or an axis has no direction");
        let sizes: Vec<Interval> = sizes.iter().map(|size| Interval::point(*size)).collect();
        TwoRods::new(self.built(&sizes).ok_or(NO_DATUM)?)
    }
}
