//! What stands in a file for a drive that is no planar four-bar, beside its direct joint.
//!
//! | form | linear actuator | nut on a guide | push-rod with ball ends |
//! |---|---|---|---|
//! | coupled, MJCF | a tendon from pin to pin, exact | the engine's own slide with a rod, exact | the crank, tied by a quartic |
//! | loop, MJCF and SDFormat | housing on a ball, nut on a slide, pin | nut on a slide, rod on a ball, pin | crank, rod on a ball, pin |
//!
//! A constant ratio is exact as a direct joint, so that no other form is written for one.

mod bodies;
mod closed;
mod on_parent;
mod placed;
mod refused;

pub(in crate::handover) use bodies::plans;
pub(in crate::handover) use on_parent::{
    motor_words, motors as motors_on_parent, refusal as refusal_on_parent,
};

use std::f64::consts::TAU;

use nalgebra::{Matrix3, Vector3};

use crate::design::{Actuator, BodyFrame, BodyMass, Design, Drawn, RobotJoint};
use crate::drive::{Axis, Built, Circle, InputEnd, OneJoint, Vector};
use crate::handover::engine::EngineVersion;
use crate::handover::fault::EmitFault;
use crate::robot::{
    ActuatorProperties, BorneJoint, ClosingPin, Inertial, JointActuator, Link, Site, Tendon,
    Through, TreeJoint,
};

use super::crank::motor_limits;
use super::figures::{JointFigures, sense};
use super::{Form, Request, link_frame};
use crate::dynamics::{Body, Coupling, Fit, JointStroke, Moments};
use crate::handover::link_moments::{moments, without_dust};
use crate::study;
use placed::Placed;
use refused::refusal;

type Asked<'a> = Request<'a, Drawn>;

/// The motor's side where a file keeps it: the actuator in the motor's own units, and what it reaches the joint by.
#[derive(Clone, Debug)]
pub(in crate::handover) struct MotorEnd {
    /// The joint that the actuator is named after.
    joint: String,
    through: Through,
    /// Motor reading per what the actuator sees.
    gear: f64,
    /// What the motor reads where that is 0, rad.
    shift: f64,
    /// Bodies and joints of a closed loop.
    pub(in crate::handover) others: Vec<BorneJoint>,
    /// What closes it.
    pub(in crate::handover) pins: Vec<ClosingPin>,
    /// What the file keeps of the motor's side.
    side: KeptSide,
    /// The crank, where a polynomial ties it to the driven joint.
    crank: Option<BorneJoint>,
    /// Lines for the comment.
    pub(in crate::handover) remarks: Vec<String>,
}

/// What a file keeps of the motor's side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::handover) enum KeptSide {
    /// The crank, tied to the driven joint.
    Crank,
    /// A tendon from pin to pin.
    Tendon,
    /// The engine's own slide with a rod. It has no place for what the motor weighs and loses: the driven joint has it by the
    /// constant ratio.
    Slide,
    /// All bodies of the loop.
    Loop,
    /// A tendon over two joints.
    Parent,
}

impl MotorEnd {
    /// What the file keeps.
    pub(in crate::handover) fn side(&self) -> KeptSide {
        self.side
    }

    /// The crank, where a polynomial ties it to the driven joint.
    pub(in crate::handover) fn crank(&self) -> Option<&BorneJoint> {
        self.crank.as_ref()
    }

    /// The motor in its own units.
    pub(in crate::handover) fn actuator(
        &self,
        request: &Request<'_, impl super::Draws>,
        figures: &JointFigures,
    ) -> JointActuator {
        let motor = request.design.actuator.clone().unwrap_or_default();
        let (force, gains) = (motor.torques(), motor.gains());
        let target = (self.side != KeptSide::Parent).then(|| motor_limits(request, figures));
        JointActuator {
            joint: self.joint.clone(),
            through: self.through.clone(),
            properties: ActuatorProperties {
                shift: self.shift,
                ..ActuatorProperties::of_motor(self.gear, force, gains, target)
            },
        }
    }
}

/// The motors' sides that the file keeps, in the order of the joints, and all that stands against them.
pub(in crate::handover) fn motor_ends(
    request: &Asked<'_>,
    figures: &[JointFigures],
) -> (Vec<Option<MotorEnd>>, Vec<EmitFault>) {
    let mut faults: Vec<EmitFault> = refusal(request).into_iter().collect();
    let robots = &request.design.robots;
    let mut motors = on_parent::motors(request, figures);
    if faults.is_empty() && request.ask.form.keeps_crank() {
        for (robot, figures) in robots.iter().zip(figures) {
            match motor_end(request, robot, figures) {
                Ok(end) => motors.push(Some(end)),
                Err(fault) => faults.push(fault),
            }
        }
    }
    motors.resize_with(robots.len(), || None);
    (motors, faults)
}

/// The polynomial that ties a crank to the driven joint, where the file keeps one.
///
/// # Errors
/// A pose that cannot be reached.
pub(in crate::handover) fn coupling(request: &Asked<'_>) -> Result<Option<Coupling>, EmitFault> {
    let has_crank =
        || built(request.design).is_some_and(|b| matches!(b.input, InputEnd::Crank { .. }));
    if request.ask.form != Form::Coupled || !has_crank() {
        return Ok(None);
    }
    fitted(request, request.ask.fit).map(Some)
}

/// The polynomial with one fit.
///
/// # Errors
/// A pose that cannot be reached.
pub(in crate::handover) fn fitted(request: &Asked<'_>, fit: Fit) -> Result<Coupling, EmitFault> {
    let driven = request.mechanism;
    let stroke = JointStroke::over(&driven.drive, driven.joint_turns());
    stroke.and_then(|stroke| Coupling::fitted(&stroke, fit)).map_err(EmitFault::Dynamics)
}

/// The drive in its zero pose.
fn built(design: &Design<Drawn>) -> Option<Built> {
    let drawing = &design.geometry.drawing;
    let sizes: Vec<f64> = drawing.sizes().iter().map(|size| size.value).collect();
    drawing.built(&sizes)
}

/// The child's figures in its own frame: the drawing's has its origin at the foot of Q on the joint axis, x towards Q, z along
/// the axis.
///
/// # Errors
/// Where they are no real body's, or nothing places the drawing's frame.
pub(in crate::handover) fn child(
    request: &Asked<'_>,
    robot: &RobotJoint,
    body: &BodyMass,
) -> Result<Inertial, EmitFault> {
    const KEY: &str = "[mass.child] inertia";
    if body.frame == BodyFrame::Robot {
        return link_frame::inertial(body, KEY, Matrix3::identity());
    }
    let Some(built) = built(request.design) else {
        return child_without_rod(request, robot, body, KEY);
    };
    let placed = Placed::on(request.design, robot, &built)?;
    let m = built.joint.direction;
    let foot = built.joint.foot(built.foot).ok_or(EmitFault::NoRatio)?;
    let x = (built.foot - foot).unit().ok_or(EmitFault::NoRatio)?;
    let axes = Matrix3::from_columns(&[x, m.cross(x), m].map(placed::plain));
    let own = link_frame::inertial(body, KEY, placed.turned_on_child(&axes))?;
    let centre = Vector3::from(own.center) + placed.on_child(foot);
    Ok(Inertial { center: without_dust(centre.into()), ..own })
}

/// The same where no rod says where x is: the drawing's frames stand as the bodies of a belt do.
fn child_without_rod(
    request: &Asked<'_>,
    robot: &RobotJoint,
    body: &BodyMass,
    key: &'static str,
) -> Result<Inertial, EmitFault> {
    let driven = request.mechanism;
    let stroke =
        JointStroke::over(&driven.drive, driven.joint_turns()).map_err(EmitFault::Dynamics)?;
    let frame = study::child_frame_on(request.design, robot, &stroke).ok_or(EmitFault::NoRatio)?;
    let axes = frame.rotation.to_rotation_matrix().into_inner();
    let own = link_frame::inertial(body, key, axes)?;
    let centre = Vector3::from(own.center) + frame.translation.vector;
    Ok(Inertial { center: without_dust(centre.into()), ..own })
}

/// The crank's joint as a file has it, in the zero pose; `None` of a drive without a crank, or where nothing places it.
pub(in crate::handover) fn crank_joint(
    request: &Asked<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> Option<TreeJoint> {
    let seat = Seat::new(request, robot, figures).ok()?;
    match seat.built.input {
        InputEnd::Crank { circle, .. } => seat.crank_joint(&circle).ok(),
        InputEnd::Slide { .. } | InputEnd::Actuator { .. } => None,
    }
}

/// The crank that a file couples to the joint, with what the rod weighs at its ball; `None` where nothing says so.
pub(in crate::handover) fn crank_link(
    request: &Asked<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> Option<Link> {
    motor_end(request, robot, figures).ok()?.crank()?.link.clone()
}

fn motor_end(
    request: &Asked<'_>,
    robot: &RobotJoint,
    figures: &JointFigures,
) -> Result<MotorEnd, EmitFault> {
    let seat = Seat::new(request, robot, figures)?;
    match request.ask.form {
        Form::Loop => closed::motor_end(&seat),
        _ => seat.coupled(),
    }
}

/// The drive on one robot.
struct Seat<'a> {
    request: &'a Asked<'a>,
    robot: &'a RobotJoint,
    figures: &'a JointFigures,
    /// In the pose in which the file draws it.
    built: Built,
    pose: FilePose,
    placed: Placed,
    /// The lever's pin in the child link's frame, m.
    rocker_pin: Vector3<f64>,
}

/// The pose in which a file draws the motor's side.
#[derive(Clone, Copy, Debug)]
struct FilePose {
    /// Joint turn from the zero pose, rad.
    joint: f64,
    /// What the motor reads there, rad.
    motor: f64,
    /// What a crank's joint reads there, rad.
    crank: f64,
}

impl FilePose {
    /// The zero pose, with a crank that reads what the motor reads. SDFormat knows no other drawn pose than reading 0: there a
    /// loop is drawn where the driven joint reads 0, and a crank counts from that.
    ///
    /// # Errors
    /// [`EmitFault::ZeroReadingNotReached`].
    fn of(
        request: &Asked<'_>,
        robot: &RobotJoint,
        figures: &JointFigures,
    ) -> Result<Self, EmitFault> {
        if request.ask.format.holds_drawn_readings() {
            let motor = figures.readings.motor;
            return Ok(Self { joint: 0.0, motor, crank: motor });
        }
        let joint = -sense(robot) * request.design.joint_reads;
        let turn = request.mechanism.drive.motor_turn(joint);
        let turn = turn.map_err(|_| EmitFault::ZeroReadingNotReached { joint })?;
        Ok(Self { joint, motor: figures.readings.motor_at_turn(turn), crank: 0.0 })
    }
}

impl<'a> Seat<'a> {
    fn new(
        request: &'a Asked<'a>,
        robot: &'a RobotJoint,
        figures: &'a JointFigures,
    ) -> Result<Self, EmitFault> {
        let zero = built(request.design).ok_or(EmitFault::NoRatio)?;
        let placed = Placed::on(request.design, robot, &zero)?;
        let pose = FilePose::of(request, robot, figures)?;
        let Axis { point, direction } = zero.joint;
        let arm = || (zero.foot - point).turned(direction, libm::sincos(pose.joint));
        let foot = if pose.joint == 0.0 { zero.foot } else { point + arm() };
        let built = Built { foot, ..zero };
        let rocker_pin = placed.on_child(zero.foot);
        Ok(Self { request, robot, figures, built, pose, placed, rocker_pin })
    }

    fn name(&self, part: &str) -> String {
        format!("{}_{part}", self.robot.joint)
    }

    fn motor(&self) -> Actuator {
        self.request.design.actuator.clone().unwrap_or_default()
    }

    /// Motor reading per travel of a screw of this lead, rad/m.
    fn per_travel(&self, lead: f64) -> f64 {
        self.robot.motor_sign * sense(self.robot) * TAU / lead
    }

    fn site(&self, link: &str, part: &str, at: nalgebra::Vector3<f64>) -> Site {
        Site { link: link.to_owned(), name: self.name(part), at: at.into() }
    }

    /// The lever's pin on the child.
    fn rocker_pin(&self) -> Site {
        self.site(&self.robot.child, "rocker_pin", self.rocker_pin)
    }

    fn coupled(&self) -> Result<MotorEnd, EmitFault> {
        match self.built.input {
            InputEnd::Actuator { pin, lead, .. } => self.tendon(pin, lead),
            InputEnd::Slide { point, direction, rod, side, lead } => {
                self.slide([point, direction], rod, side, lead)
            }
            InputEnd::Crank { circle, .. } => self.tied_crank(&circle),
        }
    }

    /// As a tendon from pin to pin.
    fn tendon(&self, pin: Vector, lead: f64) -> Result<MotorEnd, EmitFault> {
        let gear = self.per_travel(lead);
        let motor = self.motor();
        let armature = motor.rotor_at_output().map(|rotor| rotor * gear * gear);
        self.needs(EngineVersion::TENDON_ARMATURE, armature.is_some())?;
        let tendon = Tendon {
            name: self.name("actuator"),
            armature,
            damping: motor.damping.map(|damping| damping * gear * gear),
            friction: motor.friction.map(|friction| friction * gear.abs()),
        };
        let length = (self.built.foot - pin).length();
        let ends =
            [self.site(&self.robot.parent, "motor_pin", self.placed.point(pin)), self.rocker_pin()];
        Ok(MotorEnd {
            joint: self.robot.joint.clone(),
            through: Through::Points(tendon, ends),
            gear,
            shift: self.figures.readings.motor - gear * length,
            others: Vec::new(),
            pins: Vec::new(),
            side: KeptSide::Tendon,
            crank: None,
            remarks: vec![format!(
                "The actuator pulls a tendon from pin to pin, {length} m in the zero pose: motor angle, ratio and torque are the drive's own at every pose. Its armature, damping and friction are the motor's x (2 pi/lead)^2 and x 2 pi/|lead|; the screw's losses are in no figure here."
            )],
        })
    }

    /// As the engine's own slide with a rod, which has the slide behind the point.
    fn slide(
        &self,
        [point, direction]: [Vector; 2],
        rod: f64,
        side: f64,
        lead: f64,
    ) -> Result<MotorEnd, EmitFault> {
        let along = direction * -side;
        let gear = -side * self.per_travel(lead);
        let reached = self.built.input.reach(self.built.foot).ok_or(EmitFault::NoRatio)?;
        let travel = (reached.pin - point).dot(along);
        let through = Through::Slide {
            slide: self.site(&self.robot.parent, "guide", self.placed.point(point)),
            direction: self.placed.direction(along).into(),
            point: self.rocker_pin(),
            rod,
        };
        Ok(MotorEnd {
            joint: self.robot.joint.clone(),
            through,
            gear,
            shift: self.figures.readings.motor - gear * travel,
            others: Vec::new(),
            pins: Vec::new(),
            side: KeptSide::Slide,
            crank: None,
            remarks: vec![
                "The actuator slides along the guide and pushes the lever's pin by the rod: motor angle, ratio and torque are the drive's own at every pose. The engine has no place for armature, damping and friction on such an actuator: they stand on this joint by the constant ratio of the direct joint, and do not vary with the pose; the screw's losses are in no figure here."
                    .into(),
            ],
        })
    }

    /// As the crank on a joint of its own, with what the rod weighs at its ball, tied to the driven joint by a polynomial.
    fn tied_crank(&self, circle: &Circle) -> Result<MotorEnd, EmitFault> {
        let driven = self.request.mechanism;
        let stroke =
            JointStroke::over(&driven.drive, driven.joint_turns()).map_err(EmitFault::Dynamics)?;
        let mut crank = self.crank_part(circle)?;
        let rod = self.request.design.mass.coupler.as_ref().ok_or_else(bodies::no_rod)?;
        let rod = link_frame::inertial(rod, "[mass.coupler] inertia", Matrix3::identity())?;
        let on_crank = bodies::rod_at_pins(&stroke, &moments(&rod).body())?.crank;
        let axes = self.crank_axes(circle)?;
        let ball = Body { centre: axes * on_crank.centre, ..on_crank };
        if let Some(link) = &mut crank.link {
            let added = std::iter::once(Moments::from(&ball));
            link.inertial = link_frame::patched(&link.name, &link.inertial, added)?;
        }
        Ok(MotorEnd {
            joint: crank.joint.name.clone(),
            through: Through::Joint,
            gear: 1.0,
            shift: 0.0,
            others: Vec::new(),
            pins: Vec::new(),
            side: KeptSide::Crank,
            crank: Some(crank),
            remarks: Vec::new(),
        })
    }

    /// An engine that is asked for and too old.
    fn needs(&self, version: EngineVersion, is_needed: bool) -> Result<(), EmitFault> {
        let asked = self.request.ask.engine;
        if is_needed && asked.is_some_and(|asked| asked < version) {
            return Err(EmitFault::NoMotorInertia { needs: version });
        }
        Ok(())
    }
}
