//! What the motor's joint and the pins become at the driven joint.
//!
//! motor reading = `slope` · joint reading + `shift`, with slope = sign · ratio of the direct joint. Torques grow by the
//! ratio, speeds shrink by it, damping and armature by its square; a pin's loss counts with its own rate per joint rate,
//! i − s at P and 1 − s at Q (s the coupler's rate per joint rate), in the mean over the stroke.

use super::FoldOptions;
use crate::equivalence::DirectJoint;
use crate::handover::find::{EndedBy, FourBarLoop, MotorSeat, PinLosses, Reach, readings};
use crate::handover::stand_in::figures::{AtJoint, Readings};
use crate::handover::{Form, LimitBasis};
use crate::robot::{FileActuator, FileJoint, Robot};
use crate::study::Check;

/// Closer than this two zeros are one and two limits the same, rad: 0.006 deg, what a file's decimals leave.
const DECIMALS: f64 = 1e-4;

/// The direct joint's figures in the file's own readings.
#[derive(Clone, Debug)]
pub(super) struct Figures {
    /// As the file counts.
    pub(super) readings: Readings,
    /// Motor reading where the joint reads 0, rad.
    pub(super) shift: f64,
    /// What the motor's figures become.
    pub(super) at_joint: AtJoint,
    /// Smallest and largest joint reading, rad; an open end is infinite.
    pub(super) limit: [f64; 2],
    /// The limits are tighter than the file's, or the file has none.
    pub(super) limit_is_new: bool,
    /// N m.
    pub(super) effort: Option<f64>,
    /// rad/s.
    pub(super) velocity: Option<f64>,
    /// N m s/rad.
    pub(super) damping: f64,
    /// N m.
    pub(super) friction: f64,
    /// At the motor's joint: its own armature, its actuators' and the pins', kg m².
    pub(super) rotor: f64,
    /// The motor's actuators bring so much of it to the driven joint themselves, kg m².
    pub(super) on_actuators: f64,
    /// Of the pins and the driven joint, at that, kg m².
    pub(super) pin_armature: f64,
}

impl Figures {
    pub(super) fn of(
        robot: &Robot,
        four_bar: &FourBarLoop,
        reach: &Reach,
        check: &Check,
        options: FoldOptions,
    ) -> Self {
        let joint = |id: Option<usize>| id.and_then(|id| robot.joints.get(id));
        let [motor, driven] = [four_bar.pins[0].joint, four_bar.pins[3].joint].map(joint);
        let [motor_reads, joint_reads] = readings(robot, four_bar, reach);
        let DirectJoint { ratio, offset } = check.direct_joint;
        let readings = Readings {
            motor_sign: four_bar.motor_sign(),
            sense: 1.0,
            ratio,
            offset,
            motor: motor_reads,
            joint: joint_reads,
        };
        let magnitude = check.ratio_magnitude;
        let at_joint = AtJoint { ratio, torque: magnitude, speed: magnitude };
        let lost = PinLosses::new(robot, four_bar, reach);
        // A crank that stays keeps what its own joint has.
        let goes = options.model == Form::Direct;
        let motors = |figure: fn(&FileJoint) -> Option<f64>| {
            motor.filter(|_| goes).and_then(figure).unwrap_or(0.0)
        };
        // A motor on the child's own joint stays where it is; where the crank follows by `mimic`, the driven joint is the
        // one that is commanded.
        let leads = goes || !robot.format.holds_polynomials();
        let commanded = motor.filter(|_| leads && four_bar.roles.seat == MotorSeat::Crank);
        let limit = limit(reach, check.stroke.joint.map(|turn| joint_reads + turn));
        let is_driven = goes && four_bar.roles.seat == MotorSeat::Crank;
        let moved = if is_driven { on_actuators(robot, four_bar, |a| a.armature) } else { 0.0 };
        Self {
            readings,
            shift: clean(readings.motor_at(0.0)),
            at_joint,
            limit,
            limit_is_new: driven.is_none_or(|joint| is_tighter(limit, joint.limit)),
            effort: options.limits.of(at_joint.torque(commanded.and_then(|joint| joint.effort))),
            velocity: options.limits.of(at_joint.speed(commanded.and_then(|joint| joint.velocity))),
            damping: at_joint.squared(motors(|j| j.damping)) + lost.damping,
            friction: at_joint.plain(motors(|j| j.friction)) + lost.friction,
            rotor: motors(|j| j.armature) + moved + lost.armature / at_joint.squared(1.0),
            on_actuators: at_joint.squared(moved),
            pin_armature: lost.armature,
        }
    }

    /// Motor reading per joint reading, signed.
    pub(super) fn slope(&self) -> f64 {
        self.readings.gear()
    }

    /// The motor reads what the joint reads, so that whatever reads the one may read the other.
    pub(super) fn is_identity(&self) -> bool {
        (self.slope() - 1.0).abs() < 1e-12 && self.shift.abs() <= 0.0
    }

    /// The share of the motor's torque that becomes a limit at the joint; the ratio where no bound is finite.
    pub(super) fn torque_share(&self, basis: LimitBasis) -> f64 {
        basis.of(self.at_joint.torque(Some(1.0))).unwrap_or(self.slope().abs())
    }
}

fn clean(shift: f64) -> f64 {
    if shift.abs() < DECIMALS { 0.0 } else { shift }
}

/// The stroke in the driven joint's own readings; a stroke that only the transmission angle ends is no limit.
fn limit(reach: &Reach, mut ends: [f64; 2]) -> [f64; 2] {
    if reach.ended_by == EndedBy::TransmissionAngle {
        return [f64::NEG_INFINITY, f64::INFINITY];
    }
    ends.sort_by(f64::total_cmp);
    ends
}

/// By more than the file's decimals.
fn is_tighter([low, high]: [f64; 2], known: Option<[f64; 2]>) -> bool {
    let [known_low, known_high] = known.unwrap_or([f64::NEG_INFINITY, f64::INFINITY]);
    low > known_low + DECIMALS || high < known_high - DECIMALS
}

/// Armature or damping of the actuators of the motor's joint, behind their gears.
pub(super) fn on_actuators(
    robot: &Robot,
    four_bar: &FourBarLoop,
    figure: fn(&FileActuator) -> Option<f64>,
) -> f64 {
    let actuators = motor_actuators(robot, four_bar);
    actuators.filter_map(|a| Some(figure(a)? * a.gear * a.gear)).sum()
}

/// The actuators of the motor's joint.
pub(super) fn motor_actuators<'a>(
    robot: &'a Robot,
    four_bar: &FourBarLoop,
) -> impl Iterator<Item = &'a FileActuator> {
    let motor = four_bar.motor();
    robot.actuators.iter().filter(move |actuator| Some(actuator.joint) == motor)
}
