//! From turns about the joint axis to what stands in the design file and on the robot.

use std::sync::Arc;

use crate::design::Design;
use crate::drive::{JointDrive, OneJoint as _};
use crate::linkage::Stroke;

/// Another key of JSON and what its numbers are.
pub(super) type Beside<'a> = (String, Box<dyn Fn(f64) -> f64 + 'a>);

/// What motor and joint read: the zero pose's reading plus the turn in the drawing's sense, as in `[stroke]`.
#[derive(Clone, Debug)]
pub struct Readings {
    /// Of the motor in the zero pose, rad.
    pub motor_in_zero: f64,
    /// Of the joint in the zero pose, rad.
    pub joint_in_zero: f64,
    /// +1, or −1 where the drawing shows the joint axis pointing away.
    pub sense: f64,
    /// What turns the crank where the motor does not: motor turns are the crank's then, and go through it.
    front: Option<Arc<JointDrive>>,
}

impl Readings {
    /// Of the design's drawing.
    #[must_use]
    pub fn of<G>(design: &Design<G>) -> Self {
        Self {
            motor_in_zero: design.motor_reads,
            joint_in_zero: design.joint_reads,
            sense: design.drawing_sense(),
            front: None,
        }
    }

    /// The same where `front` turns the crank.
    #[must_use]
    pub(super) fn behind(self, front: Option<Arc<JointDrive>>) -> Self {
        Self { front, ..self }
    }

    /// What turns the crank where the motor does not.
    #[must_use]
    pub fn front(&self) -> Option<&JointDrive> {
        self.front.as_deref()
    }

    pub(super) fn shared_front(&self) -> Option<Arc<JointDrive>> {
        self.front.clone()
    }

    /// The motor's own turn, rad, where the crank's is `turn`: the same without a drive between them, NaN beyond its reach.
    #[must_use]
    pub fn own_motor_turn(&self, turn: f64) -> f64 {
        let through = |front: &JointDrive| front.motor_turn(turn).unwrap_or(f64::NAN);
        self.front().map_or(turn, through)
    }

    /// The motor's own turns over a range of the crank's, ascending.
    #[must_use]
    pub fn own_motor_range(&self, turns: [f64; 2]) -> [f64; 2] {
        rising(turns.map(|turn| self.own_motor_turn(turn)))
    }

    /// The motor's at a motor turn, rad; NaN beyond the reach of what turns the crank.
    #[must_use]
    pub fn motor(&self, turn: f64) -> f64 {
        self.motor_in_zero + self.sense * self.own_motor_turn(turn)
    }

    /// The joint's at a joint turn, rad.
    #[must_use]
    pub fn joint(&self, turn: f64) -> f64 {
        self.joint_in_zero + self.sense * turn
    }

    /// The motor turn at which the motor reads `reading`, rad; NaN beyond the reach of what turns the crank.
    #[must_use]
    pub fn motor_turn(&self, reading: f64) -> f64 {
        let turn = self.sense * (reading - self.motor_in_zero);
        let Some(front) = self.front() else { return turn };
        let crank = front.joint_turn(turn).unwrap_or(f64::NAN);
        if self.own_motor_turn(crank).is_nan() { f64::NAN } else { crank }
    }

    /// The joint turn at which the joint reads `reading`, rad.
    #[must_use]
    pub fn joint_turn(&self, reading: f64) -> f64 {
        self.sense * (reading - self.joint_in_zero)
    }

    /// The motor's over a range of motor turns, ascending.
    #[must_use]
    pub fn motor_range(&self, turns: [f64; 2]) -> [f64; 2] {
        rising(turns.map(|turn| self.motor(turn)))
    }

    /// The joint's over a range of joint turns, ascending.
    #[must_use]
    pub fn joint_range(&self, turns: [f64; 2]) -> [f64; 2] {
        rising(turns.map(|turn| self.joint(turn)))
    }

    /// The key that a reading has in JSON beside the key of a turn or of several, and what it reads at a turn.
    pub(super) fn beside(&self, key: &str) -> Option<Beside<'_>> {
        let stem = key.strip_suffix("_rad")?;
        let read = if stem.ends_with("joint") {
            Self::joint
        } else if stem.ends_with("motor") {
            Self::motor
        } else {
            return None;
        };
        Some((format!("{stem}_reading_rad"), Box::new(move |turn| read(self, turn))))
    }

    /// Every reading is the turn itself.
    #[must_use]
    pub fn are_turns(&self) -> bool {
        [self.motor_in_zero, self.joint_in_zero].iter().all(|reads| reads.abs() < 1e-12)
            && self.sense > 0.0
    }
}

fn rising([a, b]: [f64; 2]) -> [f64; 2] {
    [a.min(b), a.max(b)]
}

/// What one `[[robot]]` that counts motor or joint the other way reads over the stroke, rad, ascending.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherWay {
    /// The joint's name.
    pub joint_name: String,
    /// Motor readings.
    pub motor: [f64; 2],
    /// Joint readings.
    pub joint: [f64; 2],
}

/// Every `[[robot]]` whose motor or joint counts against the drawing.
pub(super) fn other_way<G>(design: &Design<G>, drawn: &Readings, stroke: &Stroke) -> Vec<OtherWay> {
    let robots = design.robots.iter().filter_map(|robot| {
        let joint = if robot.mirrored { -1.0 } else { 1.0 };
        let motor = robot.motor_sign * joint;
        let differs = joint * drawn.sense < 0.0 || motor * drawn.sense < 0.0;
        differs.then(|| OtherWay {
            joint_name: robot.joint.clone(),
            motor: Readings { sense: motor, ..drawn.clone() }.motor_range(stroke.motor),
            joint: Readings { sense: joint, ..drawn.clone() }.joint_range(stroke.joint),
        })
    });
    robots.collect()
}
