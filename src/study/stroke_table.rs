//! The table over the stroke.

use crate::design::{Design, OtherFinger};
use crate::drive::{JointDrive, OneJoint as _, RodPose};
use crate::equivalence::DirectJoint;
use crate::linkage::{Branch, Drive, LinkageFault, PadPose, Pose, Stroke};
use crate::numeric::evenly;
use crate::units::angle;

use super::findings::{StrokeRow, barrier_name};
use super::mechanism::Mechanism;
use super::readings::Readings;
use super::stroke_loads::{self, PoseFigures};

/// One pose of the table; angles in rad, turns from the zero pose about the joint axis.
#[derive(Clone, Copy, Debug)]
pub struct PoseRow {
    /// Motor turn.
    pub motor: f64,
    /// Turn of the crank: the motor's, where nothing stands between them.
    pub turn: f64,
    /// Motor turns for each turn of the crank, and the slope of that per rad of the crank: 1 and 0 where nothing stands between.
    pub in_front: [f64; 2],
    /// Smallest transmission angle of the rods between motor and crank, rad, where there are any.
    pub angle_in_front: Option<f64>,
    /// Joint turn of the linkage.
    pub joint: f64,
    /// Crank angle from A→B, without a jump.
    pub crank: f64,
    /// Rocker angle from A→B, without a jump.
    pub rocker: f64,
    /// What the motor reads there, as in `[stroke]`.
    pub motor_reading: f64,
    /// What the joint reads there.
    pub joint_reading: f64,
    /// Joint turn of the linkage less the direct joint's.
    pub angle_error: f64,
    /// The pose.
    pub pose: Pose,
    /// The pad of a gripper's finger there.
    pub pad: Option<PadRow>,
    /// What the design's motor and masses make of it.
    pub figures: PoseFigures,
}

/// A pad in one pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadRow {
    /// Distance of the pad faces, m.
    pub opening: f64,
    /// How it stands and moves.
    pub pose: PadPose,
    /// The pad point from A, x along A→B, m.
    pub point: [f64; 2],
    /// Unit vector in which it closes.
    pub closing: [f64; 2],
    /// Its mirror image closes as well.
    pub is_mirrored: bool,
    /// It rides on the coupler, so that no direct joint is held against the linkage.
    pub is_on_coupler: bool,
    /// Force of each pad at the motor's peak torque, N, where that is given.
    pub grip: Option<f64>,
}

impl PadRow {
    /// Where the pad meets the other finger's, or the fixed face, from A, m: in the middle of the opening, or at its end.
    #[must_use]
    pub fn meets_at(&self) -> [f64; 2] {
        let ahead = self.opening * if self.is_mirrored { 0.5 } else { 1.0 };
        [self.point[0] + ahead * self.closing[0], self.point[1] + ahead * self.closing[1]]
    }

    /// At the crank turn `turn` of `design`, for which the motor turns `in_front` times as fast; `None` without a finger.
    fn at(design: &Design, branch: &Branch, turn: f64, in_front: f64) -> Option<Self> {
        let finger = design.finger.as_ref()?;
        let pose = finger.pad.at(branch, turn).ok()?;
        let pose = PadPose { opening_rate: pose.opening_rate / in_front, ..pose };
        let left = design.front.as_ref().and_then(|front| front.efficiency()).unwrap_or(1.0);
        let peak = design.actuator.as_ref().and_then(|a| a.peak_torque);
        let pad = &finger.pad;
        let [x, y] = pad.from_joint_axis(branch).ok()?;
        let ([nx, ny], [across_x, across_y]) = (pad.closing, pad.across);
        let (along, shift) = (-pose.opened / pad.fingers, pose.shift);
        Some(Self {
            opening: finger.opening + pose.opened,
            pose,
            point: [
                branch.bars().ground + x + along * nx + shift * across_x,
                y + along * ny + shift * across_y,
            ],
            closing: pad.closing,
            is_mirrored: finger.other == OtherFinger::Mirrored,
            is_on_coupler: finger.is_parallel_jaw(),
            grip: peak.map(|torque| torque * left * pose.grip_per_torque()),
        })
    }
}

/// Which poses a table has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Poses {
    /// So many, evenly spaced in this end's angle over the stroke, both ends included; at least two.
    Even(usize, Drive),
    /// The one in which the motor has this reading, rad.
    AtMotor(f64),
    /// The one in which the joint has it.
    AtJoint(f64),
}

impl Poses {
    /// Their motor turns, rising, rad.
    ///
    /// # Errors
    /// In words: a reading that the linkage does not reach, or joint angles that are run through twice.
    pub fn motor_turns(self, mechanism: &Mechanism) -> Result<Vec<f64>, String> {
        self.each_motor_turn(mechanism)?.collect()
    }

    /// The same one after another.
    ///
    /// # Errors
    /// As [`Poses::motor_turns`].
    pub fn each_motor_turn(self, mechanism: &Mechanism) -> Result<Turns<'_>, String> {
        let (branch, stroke, readings) =
            (&mechanism.branch, &mechanism.stroke, &mechanism.readings);
        let told = move |fault: LinkageFault| out_of_reach(readings, fault);
        match self {
            Self::Even(steps, Drive::Motor) => Ok(match readings.front() {
                None => Box::new(motor_turns(stroke, steps).map(Ok)),
                Some(front) => Box::new(evenly_behind(front, stroke, steps)),
            }),
            Self::Even(steps, Drive::Joint) => {
                let [from, to] = stroke.motor;
                if let Some(dead) = branch.dead_turns(from, to).first() {
                    let at = angle(readings.motor(*dead), 2);
                    return Err(format!(
                        "the joint turns back at motor angle {at} in the stroke, so that even steps of it have no order: take --over motor"
                    ));
                }
                let last = pieces(steps);
                let joint = (0..).zip(evenly(stroke.joint, last));
                // The ends are the stroke's own, not roots.
                let motor = joint.map(move |(k, turn)| match k {
                    0 => Ok(from),
                    k if k == last => Ok(to),
                    _ => branch.motor_turn(turn).map_err(told),
                });
                Ok(Box::new(motor))
            }
            Self::AtMotor(reading) => {
                let turn = readings.motor_turn(reading);
                if turn.is_nan() {
                    let wanted = angle(reading, 2);
                    return Err(format!(
                        "motor angle {wanted} is out of reach of the drive in front of the finger"
                    ));
                }
                branch.reach(turn).map_err(told)?;
                Ok(Box::new(std::iter::once(Ok(turn))))
            }
            Self::AtJoint(reading) => {
                let turn = readings.joint_turn(reading);
                Ok(Box::new(std::iter::once(branch.motor_turn(turn).map_err(told))))
            }
        }
    }
}

/// Crank turns that are evenly spaced for the motor, the ends those of the stroke.
fn evenly_behind<'a>(
    front: &'a JointDrive,
    stroke: &Stroke,
    steps: usize,
) -> impl Iterator<Item = Result<f64, String>> + 'a {
    let ([from, to], last) = (stroke.motor, pieces(steps));
    let ends = stroke.motor.map(|turn| front.motor_turn(turn).unwrap_or(f64::NAN));
    (0..).zip(evenly(ends, last)).map(move |(k, motor)| match k {
        0 => Ok(from),
        k if k == last => Ok(to),
        _ => front.joint_turn(motor).map_err(|fault| fault.to_string()),
    })
}

/// Turns one after another; in words what is out of reach.
pub type Turns<'a> = Box<dyn Iterator<Item = Result<f64, String>> + 'a>;

fn out_of_reach(readings: &Readings, fault: LinkageFault) -> String {
    let told = |what: &str, wanted: f64, reach: f64, barrier: &str| {
        let [wanted, reach] = [wanted, reach].map(|reading| angle(reading, 2));
        format!("{what} angle {wanted} is out of reach: the linkage stops at {reach}, a {barrier}")
    };
    match fault {
        LinkageFault::MotorTurnOutOfReach { wanted, reach, barrier } => {
            told("motor", readings.motor(wanted), readings.motor(reach), barrier.name())
        }
        LinkageFault::JointTurnOutOfReach { wanted, reach, barrier } => {
            told("joint", readings.joint(wanted), readings.joint(reach), barrier_name(barrier))
        }
        other => other.to_string(),
    }
}

/// `steps` poses evenly spaced in motor angle over the stroke, both ends included, rising; at least two.
#[must_use]
pub fn stroke_table(mechanism: &Mechanism, joint: &DirectJoint, steps: usize) -> Vec<PoseRow> {
    motor_turns(&mechanism.stroke, steps).filter_map(|turn| row(mechanism, joint, turn)).collect()
}

/// The same with what the design's motor and masses make of each pose.
#[must_use]
pub fn stroke(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    steps: usize,
) -> Vec<PoseRow> {
    let turns: Vec<f64> = motor_turns(&mechanism.stroke, steps).collect();
    pose_rows(design, mechanism, joint, &turns)
}

/// A row for each of the motor turns `turns` (rad) that the linkage reaches.
#[must_use]
pub fn pose_rows(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    turns: &[f64],
) -> Vec<PoseRow> {
    let rows = turns.iter().filter_map(|turn| row(mechanism, joint, *turn));
    let mut rows: Vec<PoseRow> = rows.collect();
    let figures = stroke_loads::of_poses(design, mechanism);
    for row in &mut rows {
        row.figures = figures(&row.pose);
        row.pad = PadRow::at(design, &mechanism.branch, row.turn, row.in_front[0]);
        if row.is_of_pad() {
            // Nothing is borne by the joint.
            (row.figures.torque, row.figures.speed) = (None, None);
            row.figures.rod_force = None;
            // What is in front of a finger is not weighed.
            row.figures.inertia = row.figures.inertia.filter(|_| design.front.is_none());
        }
    }
    rows
}

fn row(mechanism: &Mechanism, joint: &DirectJoint, crank: f64) -> Option<PoseRow> {
    let pose = mechanism.branch.pose(crank).ok()?;
    let turn = mechanism.branch.joint_turn(crank).ok()?;
    let readings = &mechanism.readings;
    let (motor, in_front) = match readings.front().map(|front| front.motion(crank)) {
        None => (crank, [1.0, 0.0]),
        Some(motion) => motion.ok().map(|motion| (motion.motor, [motion.ratio, motion.slope]))?,
    };
    Some(PoseRow {
        motor,
        turn: crank,
        in_front,
        angle_in_front: readings.front().and_then(|front| {
            let rods = front.rods(crank).ok()?;
            rods.iter().map(RodPose::transmission_angle).min_by(f64::total_cmp)
        }),
        joint: turn,
        crank: mechanism.branch.zero_crank() + crank,
        rocker: mechanism.branch.zero_rocker() + turn,
        motor_reading: readings.motor(crank),
        joint_reading: readings.joint(turn),
        angle_error: turn - crank / joint.ratio - joint.offset,
        pose,
        pad: None,
        figures: PoseFigures::default(),
    })
}

impl PoseRow {
    /// Joint turns for each turn of the motor.
    #[must_use]
    pub fn velocity_ratio(&self) -> f64 {
        self.pose.velocity_ratio() / self.in_front[0]
    }

    /// Motor turns for each turn of the joint.
    #[must_use]
    pub fn transmission_ratio(&self) -> f64 {
        self.pose.transmission_ratio() * self.in_front[0]
    }

    /// Smallest transmission angle of all rods, rad.
    #[must_use]
    pub fn transmission_angle(&self) -> f64 {
        let own = self.pose.transmission_angle();
        self.angle_in_front.map_or(own, |front| own.min(front))
    }

    /// The slope of the velocity ratio, per rad of the motor.
    #[must_use]
    pub fn velocity_ratio_slope(&self) -> f64 {
        let [ratio, slope] = self.in_front;
        (self.pose.velocity_ratio_slope() - self.pose.velocity_ratio() * slope / ratio)
            / (ratio * ratio)
    }

    /// Does the pad ride on the coupler?
    #[must_use]
    pub fn is_of_pad(&self) -> bool {
        self.pad.is_some_and(|pad| pad.is_on_coupler)
    }
}

impl From<&PoseRow> for StrokeRow {
    fn from(row: &PoseRow) -> Self {
        Self {
            motor: row.turn,
            joint: row.joint,
            transmission_ratio: row.pose.transmission_ratio(),
            left: row.figures.left.unwrap_or(1.0),
        }
    }
}

/// Turns in order with 0, the zero pose, in its place, where it lies between two of them.
pub(super) fn with_rest(mut turns: Vec<f64>) -> Vec<f64> {
    let is_there = turns.iter().any(|turn| turn.abs() < 1e-9);
    let between = |pair: &[f64]| matches!(pair, [one, next] if one * next < 0.0);
    if let Some(before) = turns.windows(2).position(between).filter(|_| !is_there) {
        turns.insert(before + 1, 0.0);
    }
    turns
}

fn motor_turns(stroke: &Stroke, steps: usize) -> impl Iterator<Item = f64> {
    evenly(stroke.motor, pieces(steps))
}

/// Between `steps` rows, of which there are at least two.
fn pieces(steps: usize) -> u32 {
    u32::try_from(steps.max(2) - 1).unwrap_or(u32::MAX)
}
