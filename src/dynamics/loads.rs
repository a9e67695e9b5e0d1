//! What the drive bears over the stroke: torque, speed, rod and pin forces, play, stiffness, friction.
//!
//! Weightless rod and arms, the motor's torque against a torque at the joint, at rest: the rod is a two-force member and
//! every pin bears the rod's force. With c sin μ = |M|/b its arm about the joint axis (M as in `linkage`),
//!
//! ```text
//! τ_joint = i τ_crank      tension T = −τ_joint b/M      ω_joint = ω_crank/i
//! lost motion = Σ diametral clearances/(c sin μ)         stiffness at the joint = (EA/b) (c sin μ)²
//! lost to friction, share of τ_joint = f Σ (d/2) |turn of the pin per joint turn|/(c sin μ)
//! turns: i at A, i − s at P, 1 − s at Q, 1 at B
//! ```
//!
//! Why: τ_joint = T times the arm; a diametral clearance lets the rod's end go as far along the rod when
//! the load turns round; a rod longer by δ turns the rocker by δ/(c sin μ). Friction is of first order: the force is the
//! one without friction. A load at the foot or finger comes to B besides, and is left out, as are inertia, impact and
//! bending. Derived here.

use serde::Serialize;
use serde_json::json;

use super::bearings::{Bearings, Bounds, rod_arm};
use super::monotone_stroke::MonotoneStroke;
use super::pin::{Pin, PinPlace};
use super::rod::{Buckling, Rod};
use super::spatial::InSpace;
use super::transmitted::{Allowed, sizes, transmitted};
use crate::linkage::{Extreme, Pose};

/// The motor at the output shaft of its gearbox.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Motor {
    /// N m.
    pub peak_torque: Option<f64>,
    /// N m.
    pub rated_torque: Option<f64>,
    /// rad/s.
    pub max_speed: Option<f64>,
}

/// One pose under a motor torque.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PoseLoad {
    /// At the joint on the rocker, N m, signed.
    pub joint_torque: f64,
    /// In the rod, N: pull positive, thrust negative; its size is what every pin bears.
    pub rod_tension: f64,
    /// Arm of the rod's force about the joint axis, m.
    pub arm: f64,
}

/// What `motor_torque` (N m on the crank, signed) does at `pose`.
#[must_use]
pub fn load_at(pose: &Pose, motor_torque: f64) -> PoseLoad {
    let joint_torque = pose.transmission_ratio() * motor_torque;
    let rod_tension = -joint_torque * pose.bars.coupler / pose.m;
    PoseLoad { joint_torque, rod_tension, arm: rod_arm(pose) }
}

/// The worst of one pin.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PinLoad {
    /// Where it sits.
    #[serde(rename = "pin")]
    pub place: PinPlace,
    /// N.
    #[serde(rename = "force_n")]
    pub force: f64,
    /// Force / (diameter × bearing length), Pa.
    #[serde(rename = "bearing_pressure_pa")]
    pub pressure: Option<f64>,
    /// Mean shear stress of a pin held at one end, Pa; held in a fork it is half.
    #[serde(rename = "shear_pa")]
    pub shear: Option<f64>,
}

/// The drive under one motor torque over the whole stroke.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Duty {
    /// N m, as a size: both directions are meant.
    #[serde(rename = "motor_torque_n_m")]
    pub motor_torque: f64,
    /// At the joint, N m; the guaranteed one after friction in the pins, 0 where they lock the drive; the other without.
    #[serde(rename = "joint_torque_n_m")]
    pub joint_torque: Bounds,
    /// Pull or thrust in the rod, N; `None` where there is no rod.
    #[serde(rename = "rod_force_n")]
    pub rod_force: Option<Extreme>,
    /// In the rod's cross-section, Pa.
    #[serde(rename = "rod_stress_pa")]
    pub rod_stress: Option<f64>,
    /// Yield stress / stress.
    pub yield_margin: Option<f64>,
    /// Critical load / force.
    pub buckling_margin: Option<f64>,
    /// A, P, Q, B, those that the drive has.
    pub pins: Vec<PinLoad>,
    /// How far the rod's give lets the joint turn, rad.
    #[serde(rename = "deflection_rad")]
    pub deflection: Option<Extreme>,
}

/// Everything over the stroke. All worst poses are computed, not proved; turns are motor turns, rad.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Loads {
    /// The smallest arm of the rod's force, m; `None` where there is no rod.
    #[serde(rename = "smallest_rod_arm_m")]
    pub smallest_arm: Option<Extreme>,
    /// Joint speed at the motor's largest, rad/s.
    #[serde(rename = "joint_speed_rad_per_s")]
    pub joint_speed: Option<Bounds>,
    /// At the motor's peak torque.
    pub peak: Option<Duty>,
    /// At the motor's rated torque.
    pub rated: Option<Duty>,
    /// The rod as a column.
    pub buckling: Option<Buckling>,
    /// The joint's lost motion where it is largest, crank held and load turned round, rad: with the smallest clearances
    /// that are known and with the largest.
    #[serde(rename = "lost_motion_rad", serialize_with = "by_clearances")]
    pub lost_motion: Option<[Extreme; 2]>,
    /// Pins without a known clearance, which the lost motion leaves out.
    #[serde(skip)]
    pub without_clearance: Vec<PinPlace>,
    /// The rod's stiffness at the joint where it is lowest, N m/rad, crank held.
    #[serde(rename = "rod_stiffness_n_m_per_rad")]
    pub stiffness: Option<Extreme>,
    /// Share of the joint's torque that is left after friction in the pins, where it is lowest; at or below 0 the drive
    /// locks.
    #[serde(rename = "pin_efficiency")]
    pub efficiency: Option<Extreme>,
    /// Pins without a known diameter, which the efficiency leaves out.
    #[serde(skip)]
    pub without_diameter: Vec<PinPlace>,
    /// What a planar four-bar has none of.
    #[serde(flatten)]
    pub in_space: Option<InSpace>,
}

shapes! {
    fn by_clearances(Option<[Extreme; 2]> as lost) = lost.map(
        |[least, most]| json!({ "smallest_clearances": least, "largest_clearances": most }),
    );
}

/// The parts whose strength is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Parts {
    /// The motor.
    pub motor: Motor,
    /// The rod's section and material.
    pub rod: Option<Rod>,
    /// The pins.
    pub bearings: Bearings,
    /// Torque and speed of the joint hold for every one of these; for the drawn linkage alone where `None`.
    pub allowed: Option<Allowed>,
}

/// What the drive bears over `stroke`.
///
/// # Examples
/// ```
/// use unloop::dynamics::{MonotoneStroke, Motor, Parts, loads};
/// use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};
/// let bars = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
/// let branch = Branch::through(bars, std::f64::consts::FRAC_PI_2, Closure::Open)?;
/// let stroke = MonotoneStroke::over(&branch, Stroke::on(&branch, Drive::Joint, [-0.6, 0.7])?)?;
/// let motor = Motor { peak_torque: Some(60.0), ..Motor::default() };
/// let peak = loads(&stroke, &Parts { motor, ..Parts::default() }).peak.unwrap();
/// assert!((peak.rod_force.unwrap().value - 60.0 / (0.045 * 0.7_f64.cos())).abs() < 1e-6);
/// # Ok::<(), unloop::dynamics::DynamicsFault>(())
/// ```
#[must_use]
pub fn loads(stroke: &MonotoneStroke<'_>, parts: &Parts) -> Loads {
    let Parts { motor, rod, bearings, .. } = parts;
    let length = stroke.branch().bars().coupler;
    let duty = |torque: Option<f64>| torque.map(|t| duty(stroke, parts, t.abs()));
    let per_arm = stroke.worst(|pose| 1.0 / rod_arm(pose));
    let lost = |clearance: f64| Extreme { value: clearance * per_arm.value, turn: per_arm.turn };
    let stiffness = rod.and_then(|rod| rod.stiffness(length));
    Loads {
        smallest_arm: Some(Extreme { value: per_arm.value.recip(), turn: per_arm.turn }),
        joint_speed: motor.max_speed.map(|speed| joint_speed(stroke, parts, speed.abs())),
        peak: duty(motor.peak_torque),
        rated: duty(motor.rated_torque),
        buckling: rod.and_then(|rod| rod.buckling(length)),
        lost_motion: bearings.clearance().map(|range| range.map(lost)),
        without_clearance: bearings.lacking(|pin| pin.clearance.is_some()),
        stiffness: stiffness
            .map(|k| Extreme { value: k / (per_arm.value * per_arm.value), turn: per_arm.turn }),
        efficiency: bearings.friction.map(|_| efficiency(stroke, bearings)),
        without_diameter: bearings.lacking(|pin| pin.diameter.is_some()),
        in_space: None,
    }
}

fn scaled(bounds: Bounds, by: f64) -> Bounds {
    let times = |e: Extreme| Extreme { value: e.value * by, turn: e.turn };
    Bounds { guaranteed: times(bounds.guaranteed), never_exceed: times(bounds.never_exceed) }
}

fn joint_speed(stroke: &MonotoneStroke<'_>, parts: &Parts, motor_speed: f64) -> Bounds {
    let [low, high] = sizes(stroke, parts.allowed.as_ref());
    let per = |ratio: Extreme| Extreme { value: motor_speed / ratio.value, turn: ratio.turn };
    Bounds { guaranteed: per(high), never_exceed: per(low) }
}

fn duty(stroke: &MonotoneStroke<'_>, parts: &Parts, torque: f64) -> Duty {
    let length = stroke.branch().bars().coupler;
    let rod_force = stroke.worst(|pose| load_at(pose, torque).rod_tension.abs());
    let rod_stress = parts.rod.map(|rod| rod_force.value / rod.area());
    let limit = parts.rod.and_then(|rod| rod.yield_stress);
    let critical = parts.rod.and_then(|rod| rod.buckling(length));
    let stiffness = parts.rod.and_then(|rod| rod.stiffness(length));
    Duty {
        motor_torque: torque,
        joint_torque: scaled(transmitted(stroke, &parts.bearings, parts.allowed.as_ref()), torque),
        rod_force: Some(rod_force),
        rod_stress,
        yield_margin: rod_stress.zip(limit).map(|(stress, limit)| limit / stress),
        buckling_margin: critical.map(|column| column.load / rod_force.value),
        pins: parts.bearings.pins().map(|pin| pin_load(pin, rod_force.value)).to_vec(),
        deflection: stiffness.map(|k| deflection(stroke, k, torque)),
    }
}

pub(super) fn pin_load((place, pin): (PinPlace, Pin), force: f64) -> PinLoad {
    PinLoad {
        place,
        force,
        pressure: pin.bearing_pressure(force),
        shear: pin.shear_stress(force, 1.0),
    }
}

/// Torque over stiffness at the joint: F/k along the rod over the arm.
fn deflection(stroke: &MonotoneStroke<'_>, rod_stiffness: f64, torque: f64) -> Extreme {
    stroke.worst(|pose| {
        let load = load_at(pose, torque);
        load.rod_tension.abs() / (rod_stiffness * load.arm)
    })
}

fn efficiency(stroke: &MonotoneStroke<'_>, bearings: &Bearings) -> Extreme {
    let worst = stroke.worst(|pose| -bearings.left(pose));
    Extreme { value: -worst.value, turn: worst.turn }
}
