//! One rod, one motor, one joint: followed from the zero pose.
//!
//! Joint to motor is the rod's closed form from Q's side, motor to joint the same from P's side, so that neither needs an
//! iteration. Angles are made continuous in closed form too: arg (x, y) of the pin as the other axis sees it, plus
//! arg (K + jS), which stays in one half plane as long as S keeps its sign.

use super::angular::Angular;
use super::fault::DriveFault;
use super::input_end::{InputEnd, Place};
use super::one_joint::{Motion, OneJoint, within};
use super::rod_pose::{RodOnHinge, RodPose};
use super::space::Vector;
use super::stop::{Stop, StopKind};
use super::stops::{self, Found};
use super::winding::Seen;
use super::zero_pose::{Zero, lean, s_of};
use crate::numeric::{Interval, quadrature};

/// A drive with one rod, seen from its zero pose.
#[derive(Clone, Debug)]
pub struct RodDrive {
    plain: RodOnHinge,
    sure: RodOnHinge<Interval>,
    zero: Zero,
    reach: [Option<Stop>; 2],
    motor_stops: [Option<(f64, StopKind)>; 2],
    found: Vec<Found>,
}

impl RodDrive {
    /// The drive whose zero pose is the joint angle `joint` (rad from the datum of Q's circle); `lengths` are an
    /// actuator's shortest and longest along its slide line.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`], [`DriveFault::ZeroPoseIsStop`], and lengths that the zero pose lies outside of.
    pub fn new(
        sure: RodOnHinge<Interval>,
        joint: f64,
        lengths: Option<[f64; 2]>,
    ) -> Result<Self, DriveFault> {
        let plain = RodOnHinge { joint: sure.joint.constant(), input: sure.input.constant() };
        let zero = Zero::new(&plain, &sure, joint)?;
        let found = stops::all(&plain, lengths);
        let mut drive = Self { plain, sure, zero, reach: [None; 2], motor_stops: [None; 2], found };
        drive.motor_stops = stops::nearest_by_motor(&drive.found, &drive.plain, &drive.zero);
        drive.reach = stops::nearest_by_joint(&drive.found, &drive.plain, &drive.zero)
            .map(|stop| stop.map(|(turn, found)| drive.stop_at(turn, &found)));
        drive.holds_lengths(lengths)?;
        Ok(drive)
    }

    /// The plain geometry: poses by joint angles from the datum of Q's circle.
    #[must_use]
    pub fn geometry(&self) -> &RodOnHinge {
        &self.plain
    }

    /// Does a crank turn its rod?
    pub(super) fn has_crank(&self) -> bool {
        matches!(self.plain.input, InputEnd::Crank { .. })
    }

    /// Joint and motor angle of the zero pose from their data, rad; of a screw its travel times 2π/lead.
    #[must_use]
    pub fn zero_angles(&self) -> [f64; 2] {
        [self.zero.joint, self.zero.motor]
    }

    /// The pose at joint turn `joint` in plain floats, wherever the rod reaches.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`].
    pub fn pose(&self, joint: f64) -> Result<RodPose, DriveFault> {
        let angle = self.zero.joint + joint;
        match self.plain.at(libm::sincos(angle)) {
            Some(pose) => Ok(pose),
            None => Err(self.cannot_reach(joint)),
        }
    }

    /// Angle (rad) that the lever has turned since the zero pose about the line between the pins, against a housing that hangs
    /// in a ball and does not spin about that line itself: ∫ m·w/|w| dψ. A nut that the lever holds turns so far against its
    /// housing. It is at most the largest ball tilt at Q on the way times the joint turn. NaN where the rod does not reach.
    ///
    /// # Source
    /// Derived here: the lever turns by m dψ, of which m·w/|w| is about the line.
    #[must_use]
    pub fn twist(&self, joint: f64) -> f64 {
        let about = |turn: f64| self.pose(turn).ok().and_then(|pose| pose.sin_tilts()[1]);
        joint * quadrature::mean(|turn| about(turn).unwrap_or(f64::NAN), 0.0, joint)
    }

    fn cannot_reach(&self, joint: f64) -> DriveFault {
        let q = self.plain.joint.pin(self.zero.joint + joint);
        DriveFault::CannotReach { rod: 0, turn: joint, missing: self.plain.input.missing(q) }
    }

    fn holds_lengths(&self, lengths: Option<[f64; 2]>) -> Result<(), DriveFault> {
        let (Some([shortest, longest]), Some(length)) = (lengths, self.pose(0.0)?.travel()) else {
            return Ok(());
        };
        if length <= shortest {
            return Err(DriveFault::ZeroPoseIsStop(StopKind::Shortest));
        }
        if length >= longest {
            return Err(DriveFault::ZeroPoseIsStop(StopKind::Longest));
        }
        Ok(())
    }

    /// The motor's angle at a joint turn whose rod ends at `place` with this S.
    fn followed(&self, joint: f64, place: Place<f64>, s: f64) -> f64 {
        let angle = self.zero.joint + joint;
        let guess = match self.plain.input {
            InputEnd::Crank { circle, rod, .. } => {
                let swept = Seen::new(&self.plain.joint, &circle).swept(self.zero.joint, angle);
                let lean = lean(&circle, self.plain.joint.pin(angle), rod, s);
                swept + lean - self.zero.leans[0]
            }
            _ => 0.0,
        };
        self.plain.input.angle(place, self.zero.motor + guess)
    }

    /// The motor's angle at a joint turn.
    fn motor_angle(&self, joint: f64) -> Result<f64, DriveFault> {
        let pose = self.pose(joint)?;
        Ok(self.followed(joint, pose.reached.place, s_of(&self.plain.input, &pose)))
    }

    /// The motor's angle from its datum at a joint turn that is reached from the zero pose, rad; of a screw its travel times
    /// 2π/lead.
    ///
    /// # Errors
    /// As [`OneJoint::motion`].
    pub fn motor_angle_at(&self, joint: f64) -> Result<f64, DriveFault> {
        within(&self.reach, joint)?;
        self.motor_angle(joint)
    }

    /// The stop at joint turn `joint` with its motor turn, where rounding may deny the pose itself.
    fn stop_at(&self, joint: f64, found: &Found) -> Stop {
        let place = match self.plain.input {
            InputEnd::Crank { circle, rod, .. } if found.kind == StopKind::DeadPoint => {
                let q = self.plain.joint.pin(self.zero.joint + joint);
                let (sine, cosine) = circle.in_line(q, rod);
                Some(Place::Angle(sine, cosine))
            }
            InputEnd::Crank { .. } => None,
            _ => Some(Place::Travel(found.motor / self.plain.input.gain())),
        };
        let angle = place.map_or_else(
            || self.motor_angle(joint).unwrap_or(found.motor),
            |place| self.followed(joint, place, 0.0_f64.copysign(-self.zero.lever)),
        );
        Stop { kind: found.kind, joint, motor: angle - self.zero.motor }
    }

    /// The pin P, the rod's length there, and the angle that P has gone round the joint axis since the zero pose.
    fn input_at(&self, angle: f64) -> (Vector, f64, f64) {
        let joint = &self.plain.joint;
        match self.plain.input {
            InputEnd::Crank { circle, rod, .. } => {
                let swept = Seen::new(&circle, joint).swept(self.zero.motor, angle);
                (circle.pin(angle), rod, swept)
            }
            InputEnd::Slide { point, direction, rod, .. } => {
                let at = |angle: f64| point + direction * (angle / self.plain.input.gain());
                let ([x0, y0, _], [x, y, _]) =
                    (joint.seen(at(self.zero.motor)), joint.seen(at(angle)));
                (at(angle), rod, libm::atan2(x0 * y - y0 * x, x0 * x + y0 * y))
            }
            InputEnd::Actuator { pin, offset, .. } => {
                (pin, libm::hypot(angle / self.plain.input.gain(), offset), 0.0)
            }
        }
    }
}

impl RodDrive {
    fn pose_over<T: Angular>(&self, joint: T) -> Result<RodPose<T>, DriveFault> {
        let middle = joint.middle();
        within(&self.reach, middle)?;
        let geometry = RodOnHinge::<T> {
            joint: self.sure.joint.constant(),
            input: self.sure.input.constant(),
        };
        let direction = (T::exactly(self.zero.joint) + joint).sin_cos();
        geometry.at(direction).ok_or_else(|| self.cannot_reach(middle))
    }
}

impl OneJoint for RodDrive {
    fn motion<T: Angular>(&self, joint: T) -> Result<Motion<T>, DriveFault> {
        let pose = self.pose_over(joint)?;
        // A screw's angle has but one sheet.
        let guess = if self.has_crank() { self.motor_angle(joint.middle())? } else { 0.0 };
        let input: InputEnd<T> = self.sure.input.constant();
        let motor = input.angle(pose.reached.place, guess) - T::constant(self.zero.sure_motor);
        Ok(Motion { motor, ratio: pose.ratio, slope: pose.slope })
    }

    fn motor_turn(&self, joint: f64) -> Result<f64, DriveFault> {
        Ok(self.motor_angle_at(joint)? - self.zero.motor)
    }

    fn joint_turn(&self, motor: f64) -> Result<f64, DriveFault> {
        let [below, above] = self.motor_stops;
        match if motor < 0.0 { below } else { above } {
            Some((reach, stop)) if motor.abs() >= reach.abs() => {
                return Err(DriveFault::MotorOutOfReach { wanted: motor, reach, stop });
            }
            _ => {}
        }
        let joint = &self.plain.joint;
        let (pin, length, swept) = self.input_at(self.zero.motor + motor);
        let meeting = joint.meet(pin, length, self.zero.side).ok_or_else(|| {
            DriveFault::CannotReach { rod: 0, turn: motor, missing: joint.missing(pin, length) }
        })?;
        let (sine, cosine) = meeting.direction;
        let guess =
            self.zero.joint + swept + lean(joint, pin, length, meeting.s) - self.zero.leans[1];
        Ok(f64::angle_near(sine, cosine, guess) - self.zero.joint)
    }

    fn rods<T: Angular>(&self, joint: T) -> Result<Vec<RodPose<T>>, DriveFault> {
        Ok(vec![self.pose_over(joint)?])
    }

    fn stops(&self) -> Vec<Stop> {
        stops::told(&self.found, &self.plain, &self.zero)
    }

    fn reach(&self) -> [Option<Stop>; 2] {
        self.reach
    }
}
