//! One rod in one pose: its pins, arms, rates and margins.

use super::angular::Angular;
use super::circle::Circle;
use super::input_end::{InputEnd, Place, Reached};
use super::space::Vector;
use crate::numeric::Scalar;

/// A rod from its input end to its pin Q on a body that turns on one hinge.
///
/// The ratio is the quotient of the rod's two arms, i = r_B/r_A: a rod force F, positive in compression, makes the joint
/// torque F r_B and the motor torque F r_A.
#[derive(Clone, Copy, Debug)]
pub struct RodOnHinge<T = f64> {
    /// Q's circle; its axis is the joint's.
    pub joint: Circle<T>,
    /// What the rod hangs on at its other end.
    pub input: InputEnd<T>,
}

/// A rod's pose; lengths in one unit, angles in rad.
#[derive(Clone, Copy, Debug)]
pub struct RodPose<T = f64> {
    /// The rod at its input end: pin P, rod, lever.
    pub reached: Reached<T>,
    /// The rod's pin Q on the driven body.
    pub joint_pin: Vector<T>,
    /// m × q: Q's way per rad of joint turn.
    pub joint_way: Vector<T>,
    /// Motor rate per joint rate, dφ/dψ.
    pub ratio: T,
    /// Its slope per rad of joint turn.
    pub slope: T,
    /// dφ/ds: motor angle per unit of the input end's place.
    pub gain: T,
    /// The bolts of the ball at P and at Q lie along these: the motor axis (none where no crank turns) and the joint axis.
    pub bolts: [Option<Vector<T>>; 2],
}

impl<T: Angular> RodOnHinge<T> {
    /// The pose at the joint angle of `direction` (sin, cos), from the datum of Q's circle; `None` where the rod does not
    /// reach.
    #[inline(always)]
    pub fn at(&self, direction: (T, T)) -> Option<RodPose<T>> {
        let arm = self.joint.arm(direction);
        let (way, q) = (self.joint.axis.cross(arm), self.joint.centre + arm);
        let reached = self.input.reach(q)?;
        let rate = reached.rate(way);
        let slope = reached.second_rate([way; 2], -arm, [rate; 2]);
        let gain = self.input.gain();
        Some(RodPose {
            reached,
            joint_pin: q,
            joint_way: way,
            ratio: gain * rate,
            slope: gain * slope,
            gain,
            bolts: [self.input.bolt(), Some(self.joint.axis)],
        })
    }
}

impl<T: Scalar> RodPose<T> {
    /// r_A, the rod's arm about the motor axis; of a screw, dx/dL · lead/2π.
    pub fn motor_arm(&self) -> T {
        self.reached.lever / (self.reached.length * self.gain)
    }

    /// r_B, the rod's arm about the joint axis.
    pub fn joint_arm(&self) -> T {
        self.reached.rod.dot(self.joint_way) / self.reached.length
    }

    /// Sine of the transmission angle with the sign of r_B: r_B/c.
    pub fn sin_transmission(&self) -> T {
        self.joint_arm() / self.joint_way.length()
    }

    /// Sine of the angle at the input end that is the margin there, signed: r_A/a of a crank, cosine of the rod's angle
    /// to its guide; `None` for an actuator, which has no dead point.
    pub fn sin_input(&self) -> Option<T> {
        let sine = self.reached.lever / self.reached.length;
        match self.reached.place {
            Place::Angle(..) => Some(sine / self.reached.velocity.length()),
            Place::Travel(_) => Some(sine),
            Place::Length(_) => None,
        }
    }

    /// Sines of the rod's angles against the planes square to the bolts of its two balls, signed.
    pub fn sin_tilts(&self) -> [Option<T>; 2] {
        let along = |bolt: Vector<T>| self.reached.rod.dot(bolt) / self.reached.length;
        self.bolts.map(|bolt| bolt.map(along))
    }

    /// Length along the slide line of an actuator, or the nut's travel; `None` for a crank.
    pub fn travel(&self) -> Option<T> {
        match self.reached.place {
            Place::Angle(..) => None,
            Place::Travel(x) | Place::Length(x) => Some(x),
        }
    }
}

impl RodPose {
    /// Transmission angle μ, 0…π/2 rad: 90 deg less the angle between rod and Q's path; 0 at a crank limit or toggle.
    #[must_use]
    pub fn transmission_angle(&self) -> f64 {
        self.reached.rod.angle_to_plane(self.joint_way)
    }

    /// The same at the input end: [`Reached::crank_side`].
    #[must_use]
    pub fn crank_side(&self) -> Option<f64> {
        self.reached.crank_side()
    }

    /// Tilt of the ball at P and at Q, 0…π/2 rad: the rod against the plane square to the ball's bolt; `None` where there
    /// is no bolt to tell from.
    #[must_use]
    pub fn ball_tilts(&self) -> [Option<f64>; 2] {
        self.bolts.map(|bolt| bolt.map(|bolt| self.reached.rod.angle_to_plane(bolt)))
    }
}
