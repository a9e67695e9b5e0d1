//! What a stand-in asks of whatever a design draws.

use crate::design::{Design, Drawn, Geometry};
use crate::drive::{Kind, OneJoint};
use crate::linkage::Stroke;
use crate::numeric::evenly;
use crate::study::{Check, Driven, Mechanism, StrokeRow, Studied, stroke, torque_ratio};

use super::limits::between_stops;

/// A drawing of a drive with one joint.
pub(in crate::handover) trait Draws: Studied {
    /// What it is called: `four-bar drive`.
    fn title(&self) -> &'static str;

    /// What a file of the coupled form holds.
    fn coupled_title(&self) -> String;

    /// The joint turn at a motor turn from the zero pose, rad; `None` where it cannot stand.
    fn joint_turn(moving: &Self::Moving, motor: f64) -> Option<f64>;

    /// Joint turns within stroke and stops at which the joint turns back: beyond them it does not go, and short of them it
    /// must not be held.
    fn turning_points(moving: &Self::Moving, stroke: &Stroke, stops: Option<[f64; 2]>) -> Vec<f64>;

    /// Joint torque per motor torque over the stroke, as sizes: what is reached everywhere, after the losses that are known
    /// to grow with it, and what is exceeded nowhere.
    fn torque_ratio(design: &Design<Self>, moving: &Self::Moving, check: &Check) -> [f64; 2];

    /// What torque over the stroke rests on, where that is more than the ratio, and what of the losses no figure holds.
    fn losses(&self) -> Vec<String>;

    /// Is friction in the pins in the first of these?
    fn counts_pin_friction(&self) -> bool;

    /// `rows` poses over the stroke, evenly spaced in motor angle.
    fn table(
        design: &Design<Self>,
        moving: &Self::Moving,
        check: &Check,
        rows: usize,
    ) -> Vec<StrokeRow>;
}

impl Draws for Geometry {
    fn title(&self) -> &'static str {
        "four-bar drive"
    }

    fn coupled_title(&self) -> String {
        "the crank and the joint of a four-bar drive, coupled".into()
    }

    fn joint_turn(moving: &Mechanism, motor: f64) -> Option<f64> {
        moving.branch.joint_turn(motor).ok()
    }

    fn turning_points(moving: &Mechanism, stroke: &Stroke, stops: Option<[f64; 2]>) -> Vec<f64> {
        let [low, high] = between_stops(stroke, stops);
        let turns = moving.branch.dead_turns(low, high);
        turns.into_iter().filter_map(|turn| moving.branch.joint_turn(turn).ok()).collect()
    }

    fn torque_ratio(design: &Design, moving: &Mechanism, check: &Check) -> [f64; 2] {
        torque_ratio(design, moving, check.ratio_magnitude)
    }

    fn losses(&self) -> Vec<String> {
        Vec::new()
    }

    fn counts_pin_friction(&self) -> bool {
        true
    }

    fn table(design: &Design, moving: &Mechanism, check: &Check, rows: usize) -> Vec<StrokeRow> {
        stroke(design, moving, &check.direct_joint, rows).iter().map(StrokeRow::from).collect()
    }
}

impl Draws for Drawn {
    fn title(&self) -> &'static str {
        match self.drawing.kind() {
            Kind::FourBar => "four-bar drive",
            Kind::BallRod => "drive by a push-rod with ball ends",
            Kind::LinearActuator => "linear actuator between two pins",
            Kind::Slider => "nut on a guide with a push-rod",
            Kind::FixedRatio => "belt, gear or cable drive",
            Kind::TwoRods => "drive by two rods",
            Kind::Series => "chain of drives",
        }
    }

    fn coupled_title(&self) -> String {
        format!("the joint of a {}, driven as the drive does", self.title())
    }

    fn joint_turn(moving: &Driven, motor: f64) -> Option<f64> {
        moving.drive.joint_turn(motor).ok()
    }

    /// None: the stroke stays between the stops of the drive.
    fn turning_points(_: &Driven, _: &Stroke, _: Option<[f64; 2]>) -> Vec<f64> {
        Vec::new()
    }

    fn torque_ratio(design: &Design<Self>, _: &Driven, check: &Check) -> [f64; 2] {
        let [smallest, largest] = check.ratio_magnitude;
        [smallest * design.geometry.efficiency(), largest]
    }

    fn losses(&self) -> Vec<String> {
        let Some((screw, efficiency)) = self.screw.and_then(|s| Some((s, s.efficiency?))) else {
            return Vec::new();
        };
        let mut lines = vec![format!(
            "the screw leaves {efficiency} of the motor's torque: that is in the guaranteed torque and in the table over the stroke, not in the never-exceed torque, in damping or in friction"
        )];
        if screw.screw().is_some_and(|screw| screw.locks_itself()) {
            lines.push(
                "the screw locks itself: the load never turns the motor, which no constant ratio with damping and friction has".into(),
            );
        }
        lines
    }

    fn counts_pin_friction(&self) -> bool {
        false
    }

    fn table(design: &Design<Self>, moving: &Driven, _: &Check, rows: usize) -> Vec<StrokeRow> {
        let left = design.geometry.efficiency();
        let pieces = u32::try_from(rows.saturating_sub(1)).unwrap_or(1).max(1);
        let turns = evenly(moving.stroke.motor, pieces);
        let row = |motor: f64| {
            let joint = moving.drive.joint_turn(motor).ok()?;
            let transmission_ratio = moving.drive.motion(joint).ok()?.ratio;
            Some(StrokeRow { motor, joint, transmission_ratio, left })
        };
        turns.filter_map(row).collect()
    }
}

impl Drawn {
    /// Share of the motor's torque that the screw leaves; 1 where none is told.
    fn efficiency(&self) -> f64 {
        self.screw.and_then(|screw| screw.efficiency).unwrap_or(1.0)
    }
}
