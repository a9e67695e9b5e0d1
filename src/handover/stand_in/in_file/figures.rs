//! What the motor's joint and the pins become at the driven joint.
//!
//! motor reading = `slope` · joint reading + `shift`, with slope = sign · ratio of the direct joint. Torques grow by the
//! ratio, speeds shrink by it, damping and armature by its square; a pin's loss counts with its own rate per joint rate,
//! i − s at P and 1 − s at Q (s the coupler's rate per joint rate), in the mean over the stroke.

use super::{FileDrive, Motion, Plane};
use crate::equivalence::DirectJoint;
use crate::handover::Form;
use crate::handover::find::{
    EndedBy, JudgedDrive, LoopDrive, Losses, PIECES, Reach, means, readings,
};
use crate::handover::stand_in::figures::{AtJoint, Readings};
use crate::numeric::evenly;

/// Closer than this two zeros are one and two limits the same, rad: 0.006 deg, what a file's decimals leave.
const DECIMALS: f64 = 1e-4;

/// The direct joint's figures in the file's own readings.
#[derive(Clone, Debug)]
pub(in crate::handover) struct Figures {
    /// Motor reading per joint reading, signed.
    pub(in crate::handover) slope: f64,
    /// Motor reading where the joint reads 0, rad.
    pub(in crate::handover) shift: f64,
    /// What the motor's figures become.
    at_joint: AtJoint,
    /// Smallest and largest joint reading, rad; an open end is infinite.
    pub(in crate::handover) limit: [f64; 2],
    /// The limits are tighter than the file's, or the file has none.
    pub(in crate::handover) limit_is_new: bool,
    /// N m.
    pub(in crate::handover) effort: Option<f64>,
    /// rad/s.
    pub(in crate::handover) velocity: Option<f64>,
    /// N m s/rad.
    pub(in crate::handover) damping: f64,
    /// N m.
    pub(in crate::handover) friction: f64,
    /// At the motor's joint: its own armature, its actuators' and the pins', kg m².
    pub(in crate::handover) rotor: f64,
    /// The motor's actuators bring so much of it to the driven joint themselves, kg m².
    on_actuators: f64,
    /// Of the pins and the driven joint, at that, kg m².
    pin_armature: f64,
    /// The share of the motor's torque that becomes a limit at the joint; the ratio where no bound is finite.
    pub(in crate::handover) torque_share: f64,
}

/// As the file counts.
pub(super) fn readings_of(drive: &FileDrive<'_>, plane: Plane<'_>) -> Readings {
    let [motor, joint] = readings(drive.robot, drive.four_bar, plane.reach);
    let DirectJoint { ratio, offset } = plane.judged.check.direct_joint;
    Readings { motor_sign: drive.four_bar.motor_sign(), sense: 1.0, ratio, offset, motor, joint }
}

impl Figures {
    pub(in crate::handover) fn of(drive: &FileDrive<'_>) -> Self {
        match drive.motion {
            Motion::Plane(plane) if drive.is_jaw() => Self::of_driver(drive, plane),
            Motion::Plane(plane) => Self::of_rocker(drive, plane),
            Motion::Space(found, judged) => Self::in_space(drive, found, judged),
        }
    }

    fn of_rocker(drive: &FileDrive<'_>, plane: Plane<'_>) -> Self {
        let FileDrive { robot, four_bar, .. } = *drive;
        let (check, reach, readings) =
            (&plane.judged.check, plane.reach, readings_of(drive, plane));
        let magnitude = check.ratio_magnitude;
        // A motor on the child's own joint stays where it is; where the crank follows by `mimic`, the driven joint is the
        // one that is commanded.
        let goes = drive.form == Form::Direct;
        Motor {
            slope: readings.gear(),
            shift: readings.motor_at(0.0),
            at_joint: AtJoint { ratio: readings.ratio, torque: magnitude, speed: magnitude },
            limit: limit(reach, check.stroke.joint.map(|turn| readings.joint + turn)),
            leads: (goes || !robot.format.holds_polynomials()) && !drive.is_childs(),
            moves: drive.motor_moves(),
            lost: Losses::of_pins(robot, four_bar, reach),
        }
        .at_joint(drive)
    }

    /// Of a finger's driver, which is the motor's own joint and takes what the rocker's pins lose.
    fn of_driver(drive: &FileDrive<'_>, plane: Plane<'_>) -> Self {
        let FileDrive { four_bar, driven, .. } = *drive;
        let (lost, reach) = (of_rocker(drive, plane.reach), plane.reach);
        let (reads, sense) = (readings_of(drive, plane).motor, four_bar.motor_sign());
        let limit = limit(reach, reach.motor.map(|turn| reads + sense * turn));
        let moved = drive.on_actuators(|a| a.armature);
        Self {
            slope: 1.0,
            shift: 0.0,
            at_joint: AtJoint { ratio: 1.0, torque: [1.0; 2], speed: [1.0; 2] },
            limit,
            limit_is_new: is_tighter(limit, driven.limit),
            effort: None,
            velocity: None,
            damping: driven.damping.unwrap_or(0.0) + lost.damping,
            friction: driven.friction.unwrap_or(0.0) + lost.friction,
            rotor: driven.armature.unwrap_or(0.0) + moved + lost.armature,
            on_actuators: moved,
            pin_armature: driven.armature.unwrap_or(0.0) + lost.armature,
            torque_share: 1.0,
        }
    }

    /// Of a drive in space, whose motor may slide: its readings, speeds and forces are then lengths and forces, and the ratio
    /// is travel per joint turn.
    fn in_space(drive: &FileDrive<'_>, found: &LoopDrive, judged: &JudgedDrive) -> Self {
        let check = &judged.check;
        let DirectJoint { ratio, offset } = check.direct_joint;
        let slope = ratio / found.motor_per_reading;
        let share = check.ratio_magnitude.map(|i| i / found.motor_per_reading.abs());
        let [motor_reads, joint_reads] = found.drawn_at;
        let limit = if found.ended_by_limits {
            judged.driven.joint_turns().map(|turn| joint_reads + turn)
        } else {
            [f64::NEG_INFINITY, f64::INFINITY]
        };
        // Beside a tendon, which has the motor's own, the driven joint has what the pins lose alone.
        let goes = drive.form == Form::Direct;
        Motor {
            slope,
            shift: motor_reads - slope * (joint_reads + offset),
            at_joint: AtJoint { ratio: slope, torque: share, speed: share },
            limit,
            leads: goes,
            moves: goes,
            lost: Losses::of_rod(drive.robot, drive.four_bar, found),
        }
        .at_joint(drive)
    }

    /// The motor reads what the joint reads, so that whatever reads the one may read the other.
    pub(in crate::handover) fn is_identity(&self) -> bool {
        (self.slope - 1.0).abs() < 1e-12 && self.shift.abs() <= 0.0
    }

    /// Slope and shift of the motor's reading.
    pub(in crate::handover) fn line(&self) -> [f64; 2] {
        [self.slope, self.shift]
    }

    /// `slope` · x + `shift` of the motor's reading x as the same of the driven joint's.
    pub(in crate::handover) fn in_joint(&self, [slope, shift]: [f64; 2]) -> [f64; 2] {
        [slope * self.slope, shift + slope * self.shift]
    }

    /// The joint's reading where the motor's is `slope` · x + `shift`: slope and shift of the same kind.
    pub(in crate::handover) fn joint_along(&self, [slope, shift]: [f64; 2]) -> [f64; 2] {
        [slope / self.slope, (shift - self.shift) / self.slope]
    }

    /// The motor's whole armature at the joint, where no body takes any of it, kg m².
    pub(super) fn plain_armature(&self) -> f64 {
        self.at_joint.squared(self.rotor)
    }

    /// What of the armature `whole` stands on the driven joint itself, kg m²: none is negative.
    pub(in crate::handover) fn joint_armature(&self, whole: Option<f64>) -> f64 {
        whole.map_or(self.pin_armature, |whole| (whole - self.on_actuators).max(0.0))
    }

    /// The share of their armature that the motor's actuators keep: all, but where that is more than the joint may have.
    pub(in crate::handover) fn actuators_share(&self, whole: Option<f64>) -> f64 {
        let less = whole.filter(|whole| *whole < self.on_actuators);
        less.map_or(1.0, |whole| whole / self.on_actuators)
    }

    /// Damping and friction of all that is left, at the driven joint.
    pub(in crate::handover) fn losses(&self, drive: &FileDrive<'_>) -> [f64; 2] {
        let on_crank =
            |loss: Option<f64>| loss.filter(|_| drive.form == Form::Coupled).unwrap_or(0.0);
        let damping = self.at_joint.squared(on_crank(drive.motor.damping));
        let friction = self.at_joint.plain(on_crank(drive.motor.friction));
        let driven = drive.on_actuators(|a| a.damping);
        let driven = if drive.is_childs() { driven } else { self.at_joint.squared(driven) };
        [self.damping + damping + driven, self.friction + friction]
    }
}

/// The motor's joint and the pins that go, as they are taken to the driven joint.
struct Motor {
    slope: f64,
    shift: f64,
    at_joint: AtJoint,
    limit: [f64; 2],
    /// The driven joint is commanded in its place.
    leads: bool,
    /// Its actuators are the driven joint's then.
    moves: bool,
    lost: Losses,
}

impl Motor {
    fn at_joint(self, drive: &FileDrive<'_>) -> Figures {
        let FileDrive { driven, motor, limits, .. } = *drive;
        let Self { slope, at_joint, limit, lost, .. } = self;
        // A crank that stays keeps what its own joint has.
        let goes = drive.form == Form::Direct;
        let own = |figure: Option<f64>| figure.filter(|_| goes).unwrap_or(0.0);
        let moved = if self.moves { drive.on_actuators(|a| a.armature) } else { 0.0 };
        Figures {
            slope,
            shift: clean(self.shift),
            at_joint,
            limit,
            limit_is_new: is_tighter(limit, driven.limit),
            effort: limits.of(at_joint.torque(motor.effort.filter(|_| self.leads))),
            velocity: limits.of(at_joint.speed(motor.velocity.filter(|_| self.leads))),
            damping: at_joint.squared(own(motor.damping)) + lost.damping,
            friction: at_joint.plain(own(motor.friction)) + lost.friction,
            rotor: own(motor.armature) + moved + lost.armature / at_joint.squared(1.0),
            on_actuators: at_joint.squared(moved),
            pin_armature: lost.armature,
            torque_share: limits.of(at_joint.torque(Some(1.0))).unwrap_or(slope.abs()),
        }
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

/// What the pins of the rocker lose and weigh by themselves, at the motor's joint.
fn of_rocker(drive: &FileDrive<'_>, reach: &Reach) -> Losses {
    let poses = evenly(reach.motor, PIECES).filter_map(|turn| reach.branch.pose(turn).ok());
    let rates = poses.map(|pose| (pose.velocity_ratio(), pose.coupler_rate()));
    let rates: Vec<(f64, f64)> = rates.collect();
    let [_, _, at_rocker, at_ground] =
        drive.four_bar.pins.each_ref().map(|pin| drive.robot.joints.get(pin.joint?));
    let ground = means(rates.iter().map(|(r, _)| *r));
    Losses::default().and(at_ground, ground).and(at_rocker, means(rates.iter().map(|(r, s)| r - s)))
}
