//! The drive as a closed loop: bodies for crank, rod, housing and nut, and the pin on the lever that closes it.
//!
//! All stand as drawn in the file's pose, the zero pose where the format has one, their links aligned with the parent's then; a
//! crank's joint reads what the motor reads or, where the format draws at reading 0, counts from that pose, as a slide's does. A
//! rod whose plane is square to the joint axis has a hinge at its first end, any other a ball: its spin about itself is then free
//! and moves nothing.

use nalgebra::{Matrix3, Rotation3, Unit, Vector3};

use super::placed::plain;
use super::{KeptSide, MotorEnd, Seat};
use crate::design::{BodyMass, RobotJoint};
use crate::drive::{Circle, InputEnd, Vector};
use crate::handover::fault::EmitFault;
use crate::handover::stand_in::crank::motor_limits;
use crate::handover::stand_in::figures::sense;
use crate::handover::stand_in::link_frame;
use crate::robot::{BorneJoint, ClosingPin, JointProperties, Link, Motion, Through, TreeJoint};

/// Said of the joint that closes a loop.
const CLOSES: &str = "Closes the loop, a ball at the lever's pin.";

/// A rod's sine to the joint axis below which its plane is square to it.
const IN_PLANE: f64 = 1e-9;

pub(super) fn motor_end(seat: &Seat<'_>) -> Result<MotorEnd, EmitFault> {
    match seat.built.input {
        InputEnd::Crank { circle, .. } => seat.crank(&circle),
        InputEnd::Slide { direction, lead, .. } => seat.nut_on_guide(direction, lead),
        InputEnd::Actuator { pin, lead, .. } => seat.actuator(pin, lead),
    }
}

/// A part of the loop: what moves it, from which link, and its body.
struct PartOf<'a> {
    name: &'a str,
    parent: String,
    motion: Motion,
    axis: Vector3<f64>,
    origin: Vector3<f64>,
    properties: JointProperties,
    body: Option<&'a BodyMass>,
    key: &'static str,
    /// The frame of its figures in its link's.
    axes: Matrix3<f64>,
    remark: &'static str,
}

impl Seat<'_> {
    /// What turns the parent's directions in the file's pose into the crank link's.
    fn back(&self, circle: &Circle) -> Matrix3<f64> {
        let axis = Unit::new_normalize(self.turning(circle.axis));
        Rotation3::from_axis_angle(&axis, -self.pose.crank).into_inner()
    }

    /// The frame of the crank's figures in its link's.
    pub(super) fn crank_axes(&self, circle: &Circle) -> Result<Matrix3<f64>, EmitFault> {
        Ok(self.back(circle) * self.axes(self.crank_pin()? - circle.centre, circle.axis)?)
    }

    /// The crank on the motor's axis, with the motor's losses and armature.
    pub(super) fn crank_part(&self, circle: &Circle) -> Result<BorneJoint, EmitFault> {
        self.part(self.crank_with_motor(circle)?)
    }

    /// Its joint alone.
    pub(super) fn crank_joint(&self, circle: &Circle) -> Result<TreeJoint, EmitFault> {
        Ok(self.joint(self.crank_with_motor(circle)?))
    }

    fn crank_with_motor(&self, circle: &Circle) -> Result<PartOf<'_>, EmitFault> {
        let motor = self.motor();
        Ok(PartOf {
            name: "crank",
            parent: self.robot.parent.clone(),
            motion: Motion::Turn,
            axis: self.turning(circle.axis),
            origin: self.placed.point(circle.centre),
            properties: JointProperties {
                drawn_at: self.pose.crank,
                armature: motor.rotor_at_output(),
                damping: motor.damping,
                friction: motor.friction,
                ..self.allowed(self.on_crank())
            },
            body: self.request.design.mass.crank.as_ref(),
            key: "[mass.crank]",
            axes: self.crank_axes(circle)?,
            remark: if self.request.ask.format.holds_drawn_readings() {
                "The crank on the motor's axis; its joint is the motor's reading."
            } else {
                "The crank on the motor's axis; its joint is 0 in the pose of this file."
            },
        })
    }

    /// Motor reading per reading of the crank's joint, and where that is 0.
    fn on_crank(&self) -> [f64; 2] {
        [1.0, self.pose.motor - self.pose.crank]
    }

    /// The same of a slide.
    fn on_screw(&self, lead: f64) -> [f64; 2] {
        [self.per_travel(lead), self.pose.motor]
    }

    /// What the motor allows the joint that it moves, where no actuator of the format says so: its own stroke, its peak torque
    /// and its speed, by motor reading per reading of the joint.
    fn allowed(&self, [gear, shift]: [f64; 2]) -> JointProperties {
        if self.request.ask.format.holds_actuators() {
            return JointProperties::default();
        }
        let motor = self.motor();
        let [a, b] = motor_limits(self.request, self.figures).map(|reads| (reads - shift) / gear);
        JointProperties {
            limit: Some([a.min(b), a.max(b)]),
            effort: motor.peak_torque.map(|torque| torque * gear.abs()),
            velocity: motor.max_speed.map(|speed| speed / gear.abs()),
            ..JointProperties::default()
        }
    }

    fn crank(&self, circle: &Circle) -> Result<MotorEnd, EmitFault> {
        let (pin, back) = (self.crank_pin()?, self.back(circle));
        let crank = self.crank_part(circle)?;
        let at = back * (self.placed.point(pin) - self.placed.point(circle.centre));
        let rod = self.rod(&crank, at, &back)?;
        let end = back * (self.placed.point(self.built.foot) - self.placed.point(pin));
        Ok(self.closed(crank.joint.name.clone(), self.on_crank(), (vec![crank, rod], end)))
    }

    fn nut_on_guide(&self, direction: Vector, lead: f64) -> Result<MotorEnd, EmitFault> {
        let pin = self.crank_pin()?;
        let nut = self.part(PartOf {
            name: "nut",
            parent: self.robot.parent.clone(),
            motion: Motion::Slide,
            axis: self.placed.direction(direction),
            origin: self.placed.point(pin),
            properties: self.on_slide(lead),
            body: self.request.design.mass.nut.as_ref(),
            key: "[mass.nut]",
            axes: self.axes(direction, self.built.joint.direction)?,
            remark: "The nut on its guide; its joint is 0 in the pose of this file.",
        })?;
        let rod = self.rod(&nut, Vector3::zeros(), &Matrix3::identity())?;
        let end = self.placed.point(self.built.foot) - self.placed.point(pin);
        Ok(self.closed(nut.joint.name.clone(), self.on_screw(lead), (vec![nut, rod], end)))
    }

    fn actuator(&self, pin: Vector, lead: f64) -> Result<MotorEnd, EmitFault> {
        let masses = &self.request.design.mass;
        let along = self.built.foot - pin;
        let axes = self.axes(along, self.built.joint.direction)?;
        let motion = self.first_end(along);
        let housing = self.part(PartOf {
            name: "housing",
            parent: self.robot.parent.clone(),
            motion,
            axis: self.turning(self.built.joint.direction),
            origin: self.placed.point(pin),
            properties: JointProperties::default(),
            body: masses.housing.as_ref(),
            key: "[mass.housing]",
            axes,
            remark: match motion {
                Motion::Ball => "The housing at the carrier's pin, on a ball: its spin with the nut about the line between the pins is free and moves nothing.",
                _ => "The housing at the carrier's pin, on a hinge.",
            },
        })?;
        let way = self.placed.point(self.built.foot) - self.placed.point(pin);
        let nut = self.part(PartOf {
            name: "nut",
            parent: housing.joint.child.clone(),
            motion: Motion::Slide,
            axis: way.normalize(),
            origin: way,
            properties: self.on_slide(lead),
            body: masses.nut.as_ref(),
            key: "[mass.nut]",
            axes,
            remark: "The nut in the housing; its joint is 0 in the pose of this file.",
        })?;
        let parts = (vec![housing, nut], Vector3::zeros());
        Ok(self.closed(self.name("nut"), self.on_screw(lead), parts))
    }

    /// The rod on what bears it, at `at` in that link's frame, into which `turn` brings the parent's directions.
    fn rod(
        &self,
        on: &BorneJoint,
        at: Vector3<f64>,
        turn: &Matrix3<f64>,
    ) -> Result<BorneJoint, EmitFault> {
        let along = self.built.foot - self.crank_pin()?;
        let across = match self.built.input {
            InputEnd::Crank { circle, .. } => circle.axis,
            _ => self.built.joint.direction,
        };
        let motion = self.first_end(along);
        self.part(PartOf {
            name: "coupler",
            parent: on.joint.child.clone(),
            motion,
            axis: turn * self.turning(across),
            origin: at,
            properties: JointProperties::default(),
            body: self.request.design.mass.coupler.as_ref(),
            key: "[mass.coupler]",
            axes: turn * self.axes(along, across)?,
            remark: match motion {
                Motion::Ball => {
                    "The rod, on a ball: its spin about itself is free and moves nothing."
                }
                _ => "The rod, on a hinge.",
            },
        })
    }

    /// P in the file's pose.
    fn crank_pin(&self) -> Result<Vector, EmitFault> {
        self.built.input.reach(self.built.foot).map(|reached| reached.pin).ok_or(EmitFault::NoRatio)
    }

    /// A hinge does where the rod stays in a plane square to the joint axis, and the motor axis with it.
    fn first_end(&self, along: Vector) -> Motion {
        let m = self.built.joint.direction;
        let off = |v: Vector| v.dot(m).abs() > IN_PLANE * v.length();
        let is_spatial = match self.built.input {
            InputEnd::Crank { circle, .. } => circle.axis.cross(m).length() > IN_PLANE,
            InputEnd::Slide { direction, .. } => off(direction),
            InputEnd::Actuator { .. } => false,
        };
        if is_spatial || off(along) { Motion::Ball } else { Motion::Turn }
    }

    /// The axis about which a turn counts positive in readings of the motor that turns about `axis` as drawn.
    fn turning(&self, axis: Vector) -> Vector3<f64> {
        let RobotJoint { motor_sign, .. } = self.robot;
        self.placed.direction(axis) * (motor_sign * sense(self.robot) * self.placed.handedness())
    }

    /// Unit vectors of a body's own frame in the parent link's: x along it, z nearest to `towards`.
    fn axes(&self, along: Vector, towards: Vector) -> Result<Matrix3<f64>, EmitFault> {
        let x = along.unit().ok_or(EmitFault::NoRatio)?;
        let z = towards.square_to(x).unit().ok_or(EmitFault::NoRatio)?;
        let columns = [x, z.cross(x), z].map(plain);
        Ok(self.placed.turn() * Matrix3::from_columns(&columns))
    }

    /// What the motor is to a slide that its screw moves.
    fn on_slide(&self, lead: f64) -> JointProperties {
        let motor = self.motor();
        let gain = self.per_travel(lead);
        JointProperties {
            armature: motor.rotor_at_output().map(|rotor| rotor * gain * gain),
            damping: motor.damping.map(|damping| damping * gain * gain),
            friction: motor.friction.map(|friction| friction * gain.abs()),
            ..self.allowed(self.on_screw(lead))
        }
    }

    fn part(&self, part: PartOf<'_>) -> Result<BorneJoint, EmitFault> {
        let body = part.body.ok_or_else(|| EmitFault::Missing {
            key: part.key,
            needed_for: "a file that keeps the drive's bodies needs the masses of all its parts"
                .into(),
            help: format!("add {} with mass, center and six figures of inertia", part.key),
        })?;
        let inertial = link_frame::inertial(body, part.key, part.axes)?;
        let joint = self.joint(part);
        let link = Link { name: joint.child.clone(), inertial };
        Ok(BorneJoint { joint, link: Some(link) })
    }

    fn joint(&self, part: PartOf<'_>) -> TreeJoint {
        TreeJoint {
            name: self.name(part.name),
            parent: part.parent,
            child: self.name(&format!("{}_link", part.name)),
            motion: part.motion,
            axis: part.axis.into(),
            origin: part.origin.into(),
            properties: part.properties,
            remarks: vec![part.remark.to_owned()],
        }
    }

    /// The last of `parts` ends at `end` in its own link on the lever's pin; `gear` and `shift` are the motor's of the joint
    /// `driven`.
    fn closed(
        &self,
        driven: String,
        [gear, shift]: [f64; 2],
        (parts, end): (Vec<BorneJoint>, Vector3<f64>),
    ) -> MotorEnd {
        let last = parts.last().map(|part| part.joint.child.clone()).unwrap_or_default();
        let remarks = self.moved_by(&driven, [gear, shift], &parts);
        let pin = ClosingPin {
            end: TreeJoint {
                name: self.name("rocker_pin"),
                parent: last,
                child: self.robot.child.clone(),
                motion: Motion::Ball,
                axis: self.robot.axis,
                origin: end.into(),
                properties: JointProperties::default(),
                remarks: vec![CLOSES.into()],
            },
            on_child: self.rocker_pin.into(),
        };
        MotorEnd {
            through: Through::Joint,
            remarks,
            joint: driven,
            gear,
            shift,
            others: parts,
            pins: vec![pin],
            side: KeptSide::Loop,
            crank: None,
        }
    }

    /// How the motor comes to the joint `driven` of `parts`, `gear` and `shift` as of [`Seat::allowed`].
    fn moved_by(&self, driven: &str, [gear, shift]: [f64; 2], parts: &[BorneJoint]) -> Vec<String> {
        let format = self.request.ask.format;
        if format.holds_actuators() {
            return vec![format!(
                "The motor acts on joint \"{driven}\", in its own units; the loop turns this joint."
            )];
        }
        let added = if shift == 0.0 { String::new() } else { format!("{shift} + ") };
        let mut lines = vec![format!(
            "The motor moves joint \"{driven}\", and the loop turns this one: motor reading = {added}{gear} * that joint's reading, in rad."
        )];
        let own = parts.iter().map(|part| &part.joint).find(|joint| joint.name == driven);
        let unit = match own.map(|joint| joint.motion) {
            Some(Motion::Slide) => {
                lines.push("Effort, damping and friction there are the motor's by the screw's lead; the screw's losses are in no figure here.".into());
                "kg"
            }
            _ => "kg m^2",
        };
        lines.push(match own.and_then(|joint| joint.properties.armature) {
            Some(armature) => {
                format!("Armature of that joint: {armature} {unit}, not in this file.")
            }
            None => {
                "Armature of that joint not known: needs [actuator] rotor_inertia and gear_ratio."
                    .into()
            }
        });
        lines.extend(format.loop_remarks().iter().map(|line| (*line).to_owned()));
        lines
    }
}
