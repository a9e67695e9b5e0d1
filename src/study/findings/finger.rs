//! What a gripper's finger does, as plain data.

use serde::Serialize;
use serde_json::json;

use crate::design::OtherFinger;
use crate::equivalence::{Outcome, PadFigures, PadStandIn};
use crate::linkage::PadOn;

/// What a finger does over its stroke.
#[derive(Clone, Debug, Serialize)]
pub struct FingerFindings {
    /// What the pad rides on.
    pub pad: PadOn,
    /// The other finger.
    pub other: OtherFinger,
    /// What is to stand in; the direct joint's own hinge for a pad on the rocker.
    pub stand_in: PadStandIn,
    /// Turn of the counter-turning pair's hinge at P for each motor turn.
    pub multiplier: Option<f64>,
    /// What a slide travels for each motor turn, m/rad, as its place and as its force are told best.
    #[serde(rename = "slide_m_per_rad", serialize_with = "slide")]
    pub travel: Option<[f64; 2]>,
    /// Smallest and largest opening.
    #[serde(rename = "opening_m", serialize_with = "ends")]
    pub opening: [AtMotor; 2],
    /// Smallest and largest turn of the pad from the zero pose.
    #[serde(rename = "tilt_rad", serialize_with = "ends")]
    pub tilt: [AtMotor; 2],
    /// Smallest and largest travel of the pad point across the closing direction.
    #[serde(rename = "shift_m", serialize_with = "ends")]
    pub shift: [AtMotor; 2],
    /// Smallest and largest force of each pad for each N m of the motor, N/(N m); without bound across the toggle.
    #[serde(rename = "grip_n_per_n_m", serialize_with = "ends")]
    pub grip: [AtMotor; 2],
    /// Smallest and largest force of each pad at peak torque, N, where that is given.
    #[serde(rename = "grip_at_peak_n")]
    pub at_peak: Option<[f64; 2]>,
    /// Smallest and largest closing speed at the motor's largest, m/s, where that is given.
    #[serde(rename = "closing_speed_m_per_s")]
    pub speed: Option<[f64; 2]>,
    /// What the unpowered drive holds, where that is given.
    pub unpowered: Option<Unpowered>,
    /// The nearest pose in which the pad does not close however the motor turns.
    pub toggle: Option<Toggle>,
    /// Every stand-in and what it would cost; none for a pad on the rocker.
    pub stand_ins: Vec<StandInCost>,
    /// What turns the crank, where the motor does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub crank_drive: Option<CrankDrive>,
}

/// The drive between the motor and a finger's crank.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CrankDrive {
    /// Motor turns for each turn of the stand-in's crank, signed.
    pub ratio: f64,
    /// That was looked for, not given.
    #[serde(skip)]
    pub is_best: bool,
    /// Smallest and largest over the stroke as drawn, signed.
    #[serde(rename = "ratio_range")]
    pub ends: [f64; 2],
    /// Largest |ratio there / ratio − 1| as drawn.
    pub ratio_error: f64,
    /// Largest |turn of the crank less that of the stand-in's| as drawn, rad.
    #[serde(rename = "angle_error_rad")]
    pub angle_error: f64,
    /// Its size over the stroke on the verdict's basis lies certainly between these; `None` where nothing is certain.
    #[serde(rename = "certified_ratio_magnitude")]
    pub magnitude: Option<[f64; 2]>,
    /// Turns of the crank over the stroke, ascending, rad.
    #[serde(rename = "crank_rad")]
    pub crank_turns: [f64; 2],
    /// What the crank reads in the zero pose, rad.
    #[serde(skip)]
    pub crank_reads: f64,
    /// Share of the motor's work that its screws let through; `None` where no screw says one.
    pub efficiency: Option<f64>,
    /// A screw in it locks itself: a load never turns the motor.
    pub locks_itself: bool,
}

impl FingerFindings {
    /// There is no other finger: the pad closes on a fixed face.
    #[must_use]
    pub fn is_alone(&self) -> bool {
        self.other == OtherFinger::None
    }
}

impl CrankDrive {
    /// Smallest and largest size of the ratio: certified on the verdict's basis where they are, else of the drawn drive.
    #[must_use]
    pub fn magnitudes(&self) -> [f64; 2] {
        self.magnitude.unwrap_or_else(|| {
            let [a, b] = self.ends.map(f64::abs);
            [a.min(b), a.max(b)]
        })
    }
}

/// A figure and the motor turn where it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtMotor {
    /// The figure.
    pub value: f64,
    /// Motor turn, rad.
    pub motor: f64,
}

/// What the drive holds without power against a push on the pads.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unpowered {
    /// Smallest and largest force on each pad that it holds, N.
    #[serde(rename = "holds_n")]
    pub holds: [f64; 2],
    /// The smallest grip at peak torque, N, where that is given.
    #[serde(rename = "grip_n")]
    pub grip: Option<f64>,
    /// The motor turns over which it holds that grip, ascending; none where it nowhere does.
    #[serde(rename = "holds_grip_over_motor_rad")]
    pub over: Vec<[f64; 2]>,
}

/// The pose in which the pad stands still along the closing direction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Toggle {
    /// Motor turn, rad.
    #[serde(rename = "motor_rad")]
    pub motor: f64,
    /// Distance from the nearer end of the stroke, rad; 0 inside it.
    #[serde(rename = "margin_rad")]
    pub margin: f64,
}

/// What one stand-in would cost.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StandInCost {
    /// Which.
    pub stand_in: PadStandIn,
    /// Do tilt, shift, opening, grip and transmission angle hold, on the verdict's basis?
    pub outcome: Outcome,
    /// Worst differences of the drawn linkage.
    #[serde(flatten)]
    pub figures: PadFigures,
}

fn finite(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}

shapes! {
    fn slide(Option<[f64; 2]> as travel) =
        travel.map(|[opening, grip]| json!({ "opening": opening, "grip": grip }));

    fn ends([AtMotor; 2] as [min, max]) = json!({
        "min": finite(min.value),
        "min_at_motor_rad": min.motor,
        "max": finite(max.value),
        "max_at_motor_rad": max.motor,
    });
}
