//! What is found of a drive that is no planar four-bar, beside what is found of every drive.

use serde::Serialize;

use crate::drive::StopKind;

use super::{Located, views};

/// Margins, stops, what each misalignment costs, and what was assumed.
#[derive(Clone, Debug, Default, Serialize)]
pub struct DriveFindings {
    /// Smallest angle at the motor's end of a rod: 0 at a dead point; none where there can be none.
    #[serde(serialize_with = "views::smallest")]
    pub crank_side: Option<Located>,
    /// Largest tilt of a rod in its ball ends; none where there is no bolt to tell it from.
    #[serde(serialize_with = "views::largest_if_any")]
    pub ball_tilt: Option<Located>,
    /// The first stop below and above the zero pose.
    pub stops: Vec<NearStop>,
    /// What twist, lean and rod length cost, each by what is left without it.
    pub costs: Vec<Cost>,
    /// The longest stroke, rad, over which any actuator between two pins can keep its ratio within the limit; of those alone.
    #[serde(rename = "longest_even_stroke_rad")]
    pub longest_even_stroke: Option<f64>,
    /// What the verdict takes for granted.
    pub assumptions: Vec<String>,
}

/// A stop of the drive and its distance from the stroke.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NearStop {
    /// What stands there.
    pub kind: StopKind,
    /// Joint turn, rad.
    #[serde(rename = "joint_rad")]
    pub joint: f64,
    /// Motor turn, rad.
    #[serde(rename = "motor_rad")]
    pub motor: f64,
    /// Joint angle from the nearer end of the stroke, rad.
    #[serde(rename = "margin_rad")]
    pub margin: f64,
}

/// The drive as drawn, or with one misalignment taken away: its worst figures with the same direct joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cost {
    /// What is taken away.
    pub without: &'static str,
    /// Largest |angle error| that is left, rad.
    #[serde(rename = "angle_error_rad")]
    pub angle: f64,
    /// Largest |i / ratio − 1| that is left.
    #[serde(rename = "ratio_error")]
    pub ratio: f64,
    /// Largest tilt in a ball that is left, rad.
    #[serde(rename = "ball_tilt_rad")]
    pub tilt: Option<f64>,
}
