//! What a drive of one joint bears over its stroke: torque, speed, rod, pins, screw, guide.
//!
//! Weightless rods, at rest. A rod is a two-force member; with r_B its arm about its own joint and κ that joint's turns per turn of
//! the last one (1 but in a series),
//!
//! ```text
//! τ_joint = i τ_motor      F = τ_joint/(κ r_B) = τ_motor/r_A of a drive with one rod      ω_joint = ω_motor/i
//! thrust in a screw = τ_motor 2π/lead      along the rod F = thrust · x/L, or thrust/(ŵ·t) of a slider
//! side force on a guide = F √(1 − (ŵ·t)²)
//! lost to friction in the pins, share of τ_joint = f Σ (d/2) |turning of the pin per joint rate|/|r_B|
//! ```
//!
//! A pin turns at the difference of the angular speeds of what it joins; of a ball d is its own diameter. Lost motion, stiffness,
//! buckling as in `loads`; a rod of variable length buckles and gives way where it is longest. The screw's efficiency is taken off
//! the torque that is guaranteed, not off forces. The guide's own friction is left out. Derived here.

use nalgebra::Vector3;
use serde::Serialize;

use super::super::bearings::{Bearings, Bounds};
use super::super::crank_stroke::worst_between;
use super::super::loads::{Duty, Loads, Parts, pin_load};
use super::super::pin::{Pin, PinPlace};
use super::joint_stroke::JointStroke;
use super::moving_frames::MovingFrames;
use crate::drive::{DriveFault, InputEnd, JointDrive, OneJoint, Place, RodPose};
use crate::linkage::Extreme;

/// What the parts beside a four-bar's are known by.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DriveLoadParts {
    /// Motor, rod and pins; [`Parts::allowed`] is not asked.
    pub parts: Parts,
    /// Share of the work that the screw lets through when the motor drives.
    pub screw_efficiency: Option<f64>,
    /// The same when the load drives; not above zero where the screw locks itself.
    pub back_efficiency: Option<f64>,
    /// Play at the motor's output shaft, rad.
    pub backlash: Option<f64>,
}

/// What a planar four-bar has none of. Places are motor turns.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct InSpace {
    /// Largest tilt of the rod's balls at P and Q, rad; of a series the largest of all rods.
    #[serde(rename = "ball_tilt_rad")]
    pub ball_tilt: BallTilts,
    /// What the play at the motor's shaft lets the joint turn by, where that is most, rad.
    #[serde(rename = "backlash_at_joint_rad")]
    pub backlash: Option<Extreme>,
    /// The screw.
    pub screw: Option<ScrewLoads>,
}

/// At both ends of the rod; `None` where there is no bolt to tell from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BallTilts {
    /// At P.
    pub crank: Option<Extreme>,
    /// At Q.
    pub rocker: Option<Extreme>,
}

/// A screw over the stroke.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ScrewLoads {
    /// When the motor drives.
    pub efficiency: Option<f64>,
    /// When the load drives; not above zero where it locks itself.
    pub back_efficiency: Option<f64>,
    /// The load never turns the motor.
    pub locks_itself: Option<bool>,
    /// At the motor's peak torque.
    pub peak: Option<ScrewDuty>,
    /// At the motor's rated torque.
    pub rated: Option<ScrewDuty>,
}

/// A screw under one motor torque.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ScrewDuty {
    /// Along the slide line without loss, N; the same at every pose.
    #[serde(rename = "thrust_n")]
    pub thrust: f64,
    /// Across a slider's guide, N.
    #[serde(rename = "guide_side_force_n")]
    pub side_force: Option<Extreme>,
    /// The smallest torque at the joint that turns the motor back against its torque, N m; none where the screw locks itself
    /// or its losses are not known.
    #[serde(rename = "back_driving_torque_n_m")]
    pub back_driving: Option<Extreme>,
}

/// One pose under a motor torque.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrivePoseLoad {
    /// At the joint after friction in pins and screw, N m, signed as the ratio; 0 where the pins lock.
    pub joint_torque: f64,
    /// Share of the torque that this friction leaves.
    pub left: f64,
    /// In the rod, of a series in that which bears most, N: pull positive, without losses; `None` where there is no rod.
    pub rod_tension: Option<f64>,
}

/// What `motor_torque` (N m, signed) does at the joint turn `turn` (rad); `None` where that cannot be reached.
#[must_use]
pub fn drive_load_at(
    stroke: &JointStroke<'_>,
    parts: &DriveLoadParts,
    turn: f64,
    motor_torque: f64,
) -> Option<DrivePoseLoad> {
    let (rods, ratio) = loaded(stroke.drive(), turn).ok()?;
    let screw = parts.screw_efficiency.unwrap_or(1.0);
    let left = screw * Course { stroke, parts }.left(turn).max(0.0);
    let tensions = rods.iter().map(|rod| -ratio * motor_torque / rod.arm);
    Some(DrivePoseLoad {
        joint_torque: ratio * motor_torque * left,
        left,
        rod_tension: tensions.max_by(|a, b| a.abs().total_cmp(&b.abs())),
    })
}

/// A rod with its arm about the last joint, κ r_B, m.
struct Loaded {
    pose: RodPose,
    arm: f64,
}

/// All rods at a joint turn from the motor on, and the ratio.
fn loaded(drive: &JointDrive, turn: f64) -> Result<(Vec<Loaded>, f64), DriveFault> {
    match drive {
        JointDrive::Rod(rod) => {
            let pose = rod.pose(turn)?;
            Ok((vec![Loaded { arm: pose.joint_arm(), pose }], pose.ratio))
        }
        JointDrive::Ratio(ratio) => Ok((Vec::new(), ratio.0)),
        JointDrive::Series(series) => {
            let (mut rods, mut joint, mut share) = (Vec::new(), turn, 1.0);
            for stage in series.0.iter().rev() {
                let (own, ratio) = loaded(stage, joint)?;
                let seen = own.into_iter().map(|rod| Loaded { arm: rod.arm * share, ..rod });
                rods.splice(0..0, seen);
                (joint, share) = (stage.motor_turn(joint)?, share * ratio);
            }
            Ok((rods, share))
        }
    }
}

/// The figures of one stroke.
struct Course<'a> {
    stroke: &'a JointStroke<'a>,
    parts: &'a DriveLoadParts,
}

/// What `stroke`'s drive bears.
#[must_use]
pub fn drive_loads(stroke: &JointStroke<'_>, parts: &DriveLoadParts) -> Loads {
    let course = Course { stroke, parts };
    let Parts { motor, rod, .. } = parts.parts;
    let per_arm = course.per_arm();
    let length = course.longest_rod();
    let lost = |clearance: f64| per_arm.map(|e| scaled(e, clearance));
    let stiffness = length.and_then(|length| rod?.stiffness(length));
    let pins = course.pins();
    let friction = parts.parts.bearings.friction;
    let without = |lacks: fn(&Pin) -> bool| {
        pins.iter().filter(|(_, pin)| lacks(pin)).map(|(place, _)| *place).collect()
    };
    Loads {
        smallest_arm: per_arm.map(|e| Extreme { value: e.value.recip(), ..e }),
        joint_speed: motor.max_speed.map(|speed| course.speed(speed.abs())),
        peak: motor.peak_torque.map(|torque| course.duty(torque.abs())),
        rated: motor.rated_torque.map(|torque| course.duty(torque.abs())),
        buckling: length.and_then(|length| rod?.buckling(length)),
        lost_motion: course.clearance().and_then(|[low, high]| Some([lost(low)?, lost(high)?])),
        without_clearance: without(|pin| pin.clearance.is_none()),
        stiffness: stiffness.zip(per_arm).map(|(k, e)| Extreme { value: k / e.value.powi(2), ..e }),
        efficiency: friction.filter(|_| !pins.is_empty()).map(|_| course.efficiency()),
        without_diameter: without(|pin| pin.diameter.is_none()),
        in_space: Some(course.in_space()),
    }
}

fn scaled(e: Extreme, by: f64) -> Extreme {
    Extreme { value: e.value * by, ..e }
}

impl Course<'_> {
    /// The largest of a figure of rods and ratio, its place as a motor turn.
    fn worst(&self, figure: impl Fn(&[Loaded], f64) -> f64) -> Extreme {
        let at = |turn: f64| match loaded(self.stroke.drive(), turn) {
            Ok((rods, ratio)) => figure(&rods, ratio),
            Err(_) => f64::NAN,
        };
        self.stroke.by_motor(worst_between(self.stroke.turns(), &at))
    }

    fn has_rods(&self) -> bool {
        let [first, _] = self.stroke.turns();
        loaded(self.stroke.drive(), first).is_ok_and(|(rods, _)| !rods.is_empty())
    }

    /// The largest 1/|arm|, 1/m.
    fn per_arm(&self) -> Option<Extreme> {
        let worst =
            |rods: &[Loaded], _| rods.iter().map(|r| r.arm.abs().recip()).fold(0.0, f64::max);
        self.has_rods().then(|| self.worst(worst))
    }

    /// Smallest and largest |i|.
    fn sizes(&self) -> [Extreme; 2] {
        let least = self.worst(|_, ratio| -ratio.abs());
        [scaled(least, -1.0), self.worst(|_, ratio| ratio.abs())]
    }

    fn speed(&self, motor: f64) -> Bounds {
        let [low, high] = self.sizes().map(|e| Extreme { value: motor / e.value, ..e });
        Bounds { guaranteed: high, never_exceed: low }
    }

    fn duty(&self, torque: f64) -> Duty {
        let Parts { rod, .. } = self.parts.parts;
        let force = |rods: &[Loaded], ratio: f64| {
            rods.iter().map(|rod| (ratio * torque / rod.arm).abs()).fold(0.0, f64::max)
        };
        let rod_force = self.has_rods().then(|| self.worst(force));
        let length = self.longest_rod();
        let stress = rod_force.zip(rod).map(|(force, rod)| force.value / rod.area());
        let critical = length.and_then(|length| rod?.buckling(length));
        let stiffness = length.and_then(|length| rod?.stiffness(length));
        let gives_way = |k: f64| {
            self.worst(|rods, r| {
                rods.first().map_or(f64::NAN, |rod| (r * torque / (k * rod.arm * rod.arm)).abs())
            })
        };
        let bears = |force: Extreme| {
            self.pins().into_iter().map(|pin| pin_load(pin, force.value)).collect()
        };
        Duty {
            motor_torque: torque,
            joint_torque: self.torque(torque),
            rod_force,
            rod_stress: stress,
            yield_margin: stress.and_then(|stress| Some(rod?.yield_stress? / stress)),
            buckling_margin: critical.zip(rod_force).map(|(column, f)| column.load / f.value),
            pins: rod_force.map(bears).unwrap_or_default(),
            deflection: stiffness.map(gives_way),
        }
    }

    /// Guaranteed after friction in pins and screw; never exceeded without.
    fn torque(&self, motor: f64) -> Bounds {
        let screw = self.parts.screw_efficiency.unwrap_or(1.0);
        let [_, high] = self.sizes();
        let low = self.worst_turn(|turn, ratio| -(ratio.abs() * self.left(turn)));
        let guaranteed = Extreme { value: (-low.value * screw * motor).max(0.0), ..low };
        Bounds { guaranteed, never_exceed: scaled(high, motor) }
    }

    /// The largest of a figure of joint turn and ratio.
    fn worst_turn(&self, figure: impl Fn(f64, f64) -> f64) -> Extreme {
        let at = |turn: f64| match self.stroke.drive().motion(turn) {
            Ok(motion) => figure(turn, motion.ratio),
            Err(_) => f64::NAN,
        };
        self.stroke.by_motor(worst_between(self.stroke.turns(), &at))
    }

    fn efficiency(&self) -> Extreme {
        scaled(self.worst_turn(|turn, _| -self.left(turn)), -1.0)
    }

    /// Share of the joint's torque that friction in the pins leaves.
    fn left(&self, turn: f64) -> f64 {
        let Bearings { friction: Some(coefficient), .. } = self.parts.parts.bearings else {
            return 1.0;
        };
        let Ok((rods, _)) = loaded(self.stroke.drive(), turn) else { return f64::NAN };
        let (Some(rod), Ok(frames)) = (rods.first(), MovingFrames::at(self.stroke, turn)) else {
            return 1.0;
        };
        let rubbed: f64 = self
            .pins()
            .into_iter()
            .map(|(place, pin)| 0.5 * pin.diameter.unwrap_or(0.0) * turning(&frames, place))
            .sum();
        1.0 - coefficient * rubbed / rod.arm.abs()
    }

    /// The pins that the drive has, from the motor on; none of a belt, and none of a series, whose stages have their own.
    fn pins(&self) -> Vec<(PinPlace, Pin)> {
        let has = |place: PinPlace| match self.stroke.rod().map(|rod| rod.geometry().input) {
            Some(InputEnd::Crank { .. }) => true,
            Some(InputEnd::Slide { .. }) => place != PinPlace::Motor,
            Some(InputEnd::Actuator { .. }) => place != PinPlace::Crank,
            None => false,
        };
        self.parts.parts.bearings.pins().into_iter().filter(|(place, _)| has(*place)).collect()
    }

    /// Sums of the smallest and of the largest clearances that are known, m.
    fn clearance(&self) -> Option<[f64; 2]> {
        let known = self.pins().into_iter().filter_map(|(_, pin)| pin.clearance);
        known.reduce(|[low, high], [l, h]| [low + l, high + h])
    }

    /// m; `None` without one rod of its own.
    fn longest_rod(&self) -> Option<f64> {
        self.stroke.rod()?;
        let longest =
            |rods: &[Loaded], _| rods.first().map_or(f64::NAN, |rod| rod.pose.reached.length);
        Some(self.worst(longest).value)
    }

    fn in_space(&self) -> InSpace {
        let [crank, rocker] = [0, 1].map(|end| self.tilt(end));
        let per_ratio = |play: f64| self.worst(|_, ratio| play / ratio.abs());
        InSpace {
            ball_tilt: BallTilts { crank, rocker },
            backlash: self.parts.backlash.map(per_ratio),
            screw: self.screw(),
        }
    }

    /// Largest tilt at P (0) or Q (1).
    fn tilt(&self, end: usize) -> Option<Extreme> {
        let of = move |rods: &[Loaded]| {
            let tilts = rods.iter().filter_map(|rod| *rod.pose.ball_tilts().get(end)?);
            tilts.reduce(f64::max)
        };
        let [first, _] = self.stroke.turns();
        let (rods, _) = loaded(self.stroke.drive(), first).ok()?;
        of(&rods)?;
        Some(self.worst(|rods, _| of(rods).unwrap_or(f64::NAN)))
    }

    fn screw(&self) -> Option<ScrewLoads> {
        let input = self.stroke.rod()?.geometry().input;
        if matches!(input, InputEnd::Crank { .. }) {
            return None;
        }
        let back = self.parts.back_efficiency;
        let motor = self.parts.parts.motor;
        let duty = |torque: f64| self.screw_duty(torque.abs(), input.gain().abs());
        Some(ScrewLoads {
            efficiency: self.parts.screw_efficiency,
            back_efficiency: back,
            locks_itself: back.map(|share| share <= 0.0),
            peak: motor.peak_torque.map(duty),
            rated: motor.rated_torque.map(duty),
        })
    }

    fn screw_duty(&self, torque: f64, gain: f64) -> ScrewDuty {
        let thrust = torque * gain;
        let is_guided = |rods: &[Loaded]| {
            rods.first()
                .filter(|rod| matches!(rod.pose.reached.place, Place::Travel(_)))
                .map(aslant)
        };
        let [first, _] = self.stroke.turns();
        let guided = loaded(self.stroke.drive(), first).ok().and_then(|(rods, _)| is_guided(&rods));
        let side = |rods: &[Loaded], _| is_guided(rods).map_or(f64::NAN, |share| thrust * share);
        let back = self.parts.back_efficiency.filter(|share| *share > 0.0);
        let least = |share: f64| scaled(self.sizes()[0], torque / share);
        ScrewDuty {
            thrust,
            side_force: guided.map(|_| self.worst(side)),
            back_driving: back.map(least),
        }
    }
}

/// √(1 − (ŵ·t)²)/|ŵ·t|: the side force on a guide per thrust along it.
fn aslant(rod: &Loaded) -> f64 {
    let along = rod.pose.reached.lever.abs() / rod.pose.reached.length;
    (1.0 - along * along).max(0.0).sqrt() / along
}

/// How fast a pin turns per joint rate.
fn turning(frames: &MovingFrames, place: PinPlace) -> f64 {
    let spin = |frame: Option<super::moving_frames::MovingFrame>| {
        frame.map_or_else(Vector3::zeros, |frame| frame.spin)
    };
    // An actuator's rod is its housing; a slider's nut does not turn.
    let rod = if frames.coupler.is_some() { spin(frames.coupler) } else { spin(frames.housing) };
    let crank = spin(frames.crank);
    match place {
        PinPlace::Motor if frames.crank.is_some() => crank.norm(),
        PinPlace::Motor => rod.norm(),
        PinPlace::Crank => (crank - rod).norm(),
        PinPlace::Rocker => (Vector3::z() - rod).norm(),
        PinPlace::Joint => 1.0,
    }
}
