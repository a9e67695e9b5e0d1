//! What a stand-in asks of whatever a design draws.

use crate::design::{BodyMass, Design, Drawn, Geometry, MotorOn, RobotJoint};
use crate::drive::{Kind, OneJoint, Screw};
use crate::linkage::Stroke;
use crate::numeric::evenly;
use crate::robot::Inertial;
use crate::study::{Check, Driven, Mechanism, StrokeRow, stroke, torque_ratio};

use super::limits::between_stops;
use super::one_joint::{self, MotorEnd};
use super::{
    Jaw, JointFigures, JointRow, Plan, Request, StandIn, coupling, jaw, link_frame,
    plan::{jaws, model_faults, plans},
};
use crate::dynamics::Coupling;
use crate::handover::fault::EmitFault;
use crate::handover::finger_json;
use crate::handover::whole::{self, Links};

/// What a file holds beside the driven joints, in their order.
#[derive(Default)]
pub(in crate::handover) struct Parts {
    pub(in crate::handover) plans: Vec<Plan>,
    pub(in crate::handover) jaws: Vec<Option<Jaw>>,
    pub(in crate::handover) motors: Vec<Option<MotorEnd>>,
    pub(in crate::handover) links: Links,
    pub(in crate::handover) coupling: Option<Coupling>,
}

/// A drawing of a drive with one joint.
pub(in crate::handover) trait Draws: Sized {
    /// The design turned into what moves.
    type Moving;

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

    /// Figures of joints that no ratio of the drive comes into.
    fn own_figures(_: &Request<'_, Self>) -> Option<Result<Vec<JointFigures>, EmitFault>> {
        None
    }

    /// What the file is made of, and all that stands against it.
    fn parts(request: &Request<'_, Self>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>);

    /// The child's figures in its own frame.
    ///
    /// # Errors
    /// Where they are no real body's, or nothing places the drawing's frame.
    fn child(
        request: &Request<'_, Self>,
        robot: &RobotJoint,
        body: &BodyMass,
    ) -> Result<Inertial, EmitFault>;

    /// The table over the stroke as the robot's software reads it, rising joint reading.
    fn rows(
        request: &Request<'_, Self>,
        stand_in: &StandIn<'_>,
        rows: &[StrokeRow],
    ) -> Vec<JointRow>;
}

impl Draws for Geometry {
    type Moving = Mechanism;

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

    fn own_figures(request: &Request<'_>) -> Option<Result<Vec<JointFigures>, EmitFault>> {
        let robots = &request.design.robots;
        jaw::drives_itself(request)
            .then(|| robots.iter().map(|robot| jaw::figures(request, robot)).collect())
    }

    fn parts(request: &Request<'_>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>) {
        if request.design.motor_on == MotorOn::Parent {
            return on_parent(request, figures);
        }
        let mut faults = model_faults(request);
        let plans = plans(request).map_err(|f| faults.extend(f)).unwrap_or_default();
        let jaws = jaws(request).map_err(|f| faults.extend(f)).unwrap_or_default();
        let links = whole::links(request, &plans, &jaws);
        let links = links.map_err(|f| faults.extend(f)).unwrap_or_default();
        let coupling = coupling::fitted(request).map_err(|f| faults.push(f)).ok().flatten();
        let motors = vec![None; request.design.robots.len()];
        (Parts { plans, jaws, motors, links, coupling }, faults)
    }

    fn child(
        request: &Request<'_>,
        robot: &RobotJoint,
        body: &BodyMass,
    ) -> Result<Inertial, EmitFault> {
        link_frame::child(request.design, robot, body, request.check.zero.rocker)
    }

    fn rows(request: &Request<'_>, stand_in: &StandIn<'_>, rows: &[StrokeRow]) -> Vec<JointRow> {
        finger_json::over_stroke(request, stand_in, rows)
    }
}

impl Draws for Drawn {
    type Moving = Driven;

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
        let locks = screw.mean_diameter.is_some_and(|mean_diameter| {
            Screw { lead: screw.lead, efficiency, mean_diameter }.locks_itself()
        });
        if locks {
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

    fn parts(request: &Request<'_, Self>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>) {
        one_joint::parts(request, figures)
    }

    fn child(
        request: &Request<'_, Self>,
        robot: &RobotJoint,
        body: &BodyMass,
    ) -> Result<Inertial, EmitFault> {
        one_joint::child(request, robot, body)
    }

    fn rows(
        request: &Request<'_, Self>,
        stand_in: &StandIn<'_>,
        rows: &[StrokeRow],
    ) -> Vec<JointRow> {
        let motor = request.design.actuator.as_ref();
        let mut rows: Vec<JointRow> =
            rows.iter().map(|row| stand_in.figures.row(row, motor)).collect();
        rows.sort_by(|a, b| a.joint_rad.total_cmp(&b.joint_rad));
        rows
    }
}

/// A four-bar whose motor sits on the carrier's parent.
fn on_parent(request: &Request<'_>, figures: &[JointFigures]) -> (Parts, Vec<EmitFault>) {
    let count = request.design.robots.len();
    let mut motors = one_joint::motors_on_parent(request, figures);
    motors.resize_with(count, || None);
    let why_not = Some("the motor sits on the parent of the carrier".to_owned());
    let plans = vec![Plan { bodies: None, why_not }; count];
    let jaws = vec![None; count];
    let parts = Parts { plans, jaws, motors, ..Parts::default() };
    (parts, one_joint::refusal_on_parent(request).into_iter().collect())
}

impl Drawn {
    /// Share of the motor's torque that the screw leaves; 1 where none is told.
    fn efficiency(&self) -> f64 {
        self.screw.and_then(|screw| screw.efficiency).unwrap_or(1.0)
    }
}
