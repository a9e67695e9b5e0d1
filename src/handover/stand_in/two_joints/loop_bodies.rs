//! Both loops as they are: cranks and rods, or housings and nuts, on the carrier, and the pins that close them on the child.
//!
//! All stand as drawn in the file's pose, the zero pose where the format has one, their links aligned with the carrier's then. A
//! crank's joint turns about the motor's axis, or against it where the motor counts the other way, and is 0 as drawn, as is a
//! slide's. A rod hangs on a ball: its spin
//! about itself is free and moves nothing. The rotor beside a crank is shared out as N times its inertia from carrier to crank
//! and (N² − N) times that on the joint, exact whatever the carrier does; of a screw it stands on the slide.

use nalgebra::{Isometry3, Matrix3, Translation3, Vector3};

use super::links::link;
use super::{TwoJointsAsked, plain};
use crate::design::TwoJointRobot;
use crate::drive::{Circle, InputEnd};
use crate::dynamics::{Body, LegParts, LegPlaces, Moments, leg_places};
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::robot::{BorneJoint, ClosingPin, Format, JointProperties, Motion, Through, TreeJoint};

/// What hangs on the carrier, and what closes both loops.
type LoopBodies = (Vec<BorneJoint>, Vec<ClosingPin>);

/// Where a link's frame has its origin, in the carrier's in the zero pose.
fn at(origin: Vector3<f64>) -> Isometry3<f64> {
    Isometry3::from_parts(Translation3::from(origin), nalgebra::UnitQuaternion::identity())
}

impl TwoJointsAsked<'_> {
    /// The joint that a loop's motor turns or shifts.
    pub(in crate::handover) fn loop_joint(&self, robot: &TwoJointRobot, k: usize) -> String {
        let name = robot.motors.get(k).map_or("", String::as_str);
        let legs = &self.drive.geometry().legs;
        let is_screw = legs.get(k).is_some_and(|l| matches!(l.input, InputEnd::Actuator { .. }));
        format!("{name}_{}", if is_screw { "slide" } else { "crank" })
    }

    /// A crank's joint reads the motor's turn; a slide's its travel.
    pub(super) fn in_loop(&self, robot: &TwoJointRobot, k: usize) -> (Through, [f64; 2]) {
        let reads = self.motor_as_drawn(robot, k);
        let gear = self.per_travel(robot, k).map_or(1.0, |[gear, _]| gear);
        (Through::Joint, [gear, reads])
    }

    /// What a motor reads in the pose in which the file draws a loop, rad.
    fn motor_as_drawn(&self, robot: &TwoJointRobot, k: usize) -> f64 {
        let turns = self.drive.motor_turns(self.drawn_turns()).ok();
        let turn = turns.and_then(|turns| turns.get(k).copied()).unwrap_or(0.0);
        let sign = robot.motor_signs.get(k).copied().unwrap_or(1.0);
        self.motor_reads.get(k).copied().unwrap_or(0.0) + sign * turn
    }

    /// A foot's pin in the child's frame, and where the file draws it, in the carrier's.
    fn foot(&self, foot: Vector3<f64>) -> [Vector3<f64>; 2] {
        let [middle, child] = self.frames();
        let on_child = child.inverse_transform_point(&foot.into()).coords;
        if self.ask.format.holds_drawn_readings() {
            return [on_child, foot];
        }
        let roll = plain(self.drive.geometry().roll.point);
        let origin =
            middle.translation.vector + middle.inverse_transform_point(&roll.into()).coords;
        [on_child, origin + on_child]
    }

    /// N J about the motor's axis of a leg with a crank, as an isotropic inertia that moves from the carrier to the crank.
    pub(in crate::handover) fn rotor_share(&self, k: usize) -> Option<f64> {
        let leg = self.drive.geometry().legs.get(k)?;
        let rotor = self.parts?.legs.get(k)?.rotor?;
        let is_crank = matches!(leg.input, InputEnd::Crank { .. });
        (is_crank && rotor.gear_ratio > 1.0).then_some(rotor.inertia * rotor.gear_ratio)
    }

    /// What both rotors take from the carrier.
    pub(super) fn rotors_moved(&self) -> Moments {
        let both = [0, 1].into_iter().filter_map(|k| self.rotor_share(k));
        Moments { inertia: Matrix3::identity() * both.sum::<f64>(), ..Moments::default() }
    }

    /// Empty unless the form is a loop.
    pub(super) fn loop_bodies(&self, robot: &TwoJointRobot) -> Result<LoopBodies, Vec<EmitFault>> {
        let mut all = (Vec::new(), Vec::new());
        let Some(parts) = self.parts.filter(|_| self.ask.form == Form::Loop) else {
            return Ok(all);
        };
        let places = leg_places(self.drive, self.drawn_turns())
            .map_err(|fault| vec![EmitFault::Dynamics(fault.into())])?;
        for (k, (own, places)) in parts.legs.iter().zip(&places).enumerate() {
            let (bodies, pin) = self.leg(robot, k, own, places)?;
            all.0.extend(bodies);
            all.1.extend(pin);
        }
        Ok(all)
    }

    fn leg(
        &self,
        robot: &TwoJointRobot,
        k: usize,
        own: &LegParts,
        places: &LegPlaces,
    ) -> Result<(Vec<BorneJoint>, Option<ClosingPin>), Vec<EmitFault>> {
        let Some(leg) = self.drive.geometry().legs.get(k) else { return Ok((Vec::new(), None)) };
        let [on_child, foot] = self.foot(plain(leg.foot));
        let parts = match (leg.input, places.rod) {
            (InputEnd::Crank { circle, .. }, Some(rod)) => self.crank_and_rod(
                robot,
                k,
                [own.crank.as_ref(), own.rod.as_ref()],
                (&circle, places, rod),
            ),
            (InputEnd::Actuator { pin, .. }, _) => {
                self.housing_and_nut(robot, k, (own, places), [plain(pin), foot])
            }
            _ => return Ok((Vec::new(), None)),
        };
        let [first, last] = parts;
        let end = TreeJoint {
            name: part_name(robot, k, "foot_pin"),
            parent: last.link.clone(),
            child: robot.child.clone(),
            motion: Motion::Ball,
            axis: [1.0, 0.0, 0.0],
            origin: (foot - last.frame.translation.vector).into(),
            properties: JointProperties::default(),
            remarks: vec!["Closes the loop, a ball at the foot.".to_owned()],
        };
        let pin = ClosingPin { end, on_child: on_child.into() };
        Ok((vec![first.borne()?, last.borne()?], Some(pin)))
    }

    fn crank_and_rod<'a>(
        &self,
        robot: &TwoJointRobot,
        k: usize,
        [crank, rod]: [Option<&'a Body>; 2],
        (circle, places, rod_place): (&Circle, &LegPlaces, Isometry3<f64>),
    ) -> [Part<'a>; 2] {
        let (centre, pin) = (plain(circle.centre), rod_place.translation.vector);
        let sign = robot.motor_signs.get(k).copied().unwrap_or(1.0);
        let extra = self.rotor_share(k).map(|share| Matrix3::identity() * share);
        let crank = Part {
            joint: self.loop_joint(robot, k),
            link: part_name(robot, k, self.crank_link()),
            parent: robot.parent.clone(),
            motion: Motion::Turn,
            axis: plain(circle.axis) * sign,
            origin: centre,
            frame: at(centre),
            body: crank.zip(places.crank),
            extra,
            properties: self.motor_joint(k),
            remarks: self.moved(
                "The crank on its motor's axis; 0 in the pose of this file.",
                robot,
                k,
            ),
        };
        let rod = Part {
            joint: part_name(robot, k, "crank_pin"),
            link: part_name(robot, k, "rod"),
            parent: crank.link.clone(),
            motion: Motion::Ball,
            axis: Vector3::x(),
            origin: pin - centre,
            frame: at(pin),
            body: rod.map(|body| (body, rod_place)),
            extra: None,
            properties: JointProperties::default(),
            remarks: vec![
                "The rod, on a ball: its spin about itself is free and moves nothing.".into(),
            ],
        };
        [crank, rod]
    }

    fn housing_and_nut<'a>(
        &self,
        robot: &TwoJointRobot,
        k: usize,
        (own, places): (&'a LegParts, &LegPlaces),
        [pin, foot]: [Vector3<f64>; 2],
    ) -> [Part<'a>; 2] {
        let housing = Part {
            joint: part_name(robot, k, "carrier_pin"),
            link: part_name(robot, k, "housing"),
            parent: robot.parent.clone(),
            motion: Motion::Ball,
            axis: Vector3::x(),
            origin: pin,
            frame: at(pin),
            body: own.housing.as_ref().zip(places.housing),
            extra: None,
            properties: JointProperties::default(),
            remarks: vec!["The housing of the actuator, on a ball: its spin with the nut about the line between the pins is free and moves nothing.".into()],
        };
        let nut = Part {
            joint: self.loop_joint(robot, k),
            link: part_name(robot, k, "nut"),
            parent: housing.link.clone(),
            motion: Motion::Slide,
            axis: (foot - pin).normalize(),
            origin: Vector3::zeros(),
            frame: at(pin),
            body: own.nut.as_ref().zip(places.nut),
            extra: None,
            properties: self.motor_slide(robot, k),
            remarks: self.moved("What the screw shifts; 0 in the pose of this file.", robot, k),
        };
        [housing, nut]
    }

    /// A crank's joint bears the crank's name; in SDFormat no link may have the name of a joint.
    fn crank_link(&self) -> &'static str {
        if self.ask.format == Format::Sdformat { "crank_link" } else { "crank" }
    }

    /// What a motor's joint is, and in a format without actuators how the motor comes to it.
    fn moved(&self, what: &str, robot: &TwoJointRobot, k: usize) -> Vec<String> {
        let mut lines = vec![what.to_owned()];
        if self.ask.format.holds_actuators() {
            return lines;
        }
        let (_, [gear, reads]) = self.in_loop(robot, k);
        lines.push(format!(
            "The motor moves this joint: motor reading = {reads} + {gear} * its reading, in rad; its limits are those that pitch and roll leave it."
        ));
        let (armature, unit) = match self.per_travel(robot, k) {
            None => (self.motor_joint(k).armature, "kg m^2"),
            Some(_) => {
                lines.push("Effort, damping and friction are the motor's by the screw's lead; the screw's losses are in no figure here.".into());
                (self.motor_slide(robot, k).armature, "kg")
            }
        };
        lines.push(match armature {
            Some(armature) => {
                format!("Armature of this joint: {armature} {unit}, not in this file.")
            }
            None => {
                "Armature of this joint not known: needs [actuator] rotor_inertia and gear_ratio."
                    .into()
            }
        });
        lines
    }

    /// What a motor does at its joint by `gear` rad per unit of its reading, where no actuator of the format says so.
    fn allowed(&self, gear: f64) -> JointProperties {
        if self.ask.format.holds_actuators() {
            return JointProperties::default();
        }
        let motor = self.motor();
        JointProperties {
            effort: motor.peak_torque.map(|torque| torque * gear.abs()),
            velocity: motor.max_speed.map(|speed| speed / gear.abs()),
            ..JointProperties::default()
        }
    }

    /// Losses and armature of a motor whose crank is a body.
    fn motor_joint(&self, k: usize) -> JointProperties {
        let motor = self.motor();
        let armature = self.rotor().map(|all| all - self.rotor_share(k).unwrap_or(0.0));
        JointProperties {
            armature,
            damping: motor.damping,
            friction: motor.friction,
            ..self.allowed(1.0)
        }
    }

    fn motor_slide(&self, robot: &TwoJointRobot, k: usize) -> JointProperties {
        let motor = self.motor();
        let gear = self.per_travel(robot, k).map_or(1.0, |[gear, _]| gear);
        JointProperties {
            armature: self.rotor().map(|x| x * gear * gear),
            damping: motor.damping.map(|x| x * gear * gear),
            friction: motor.friction.map(|x| x * gear.abs()),
            ..self.allowed(gear)
        }
    }
}

fn part_name(robot: &TwoJointRobot, k: usize, part: &str) -> String {
    robot.motors.get(k).map(|motor| format!("{motor}_{part}")).unwrap_or_default()
}

/// A body of a loop with the joint that bears it.
struct Part<'a> {
    joint: String,
    link: String,
    parent: String,
    motion: Motion,
    axis: Vector3<f64>,
    origin: Vector3<f64>,
    /// The link's frame in the carrier's.
    frame: Isometry3<f64>,
    /// The body with the place of the frame of its figures.
    body: Option<(&'a Body, Isometry3<f64>)>,
    /// Inertia without mass that comes to it, about any point.
    extra: Option<Matrix3<f64>>,
    properties: JointProperties,
    remarks: Vec<String>,
}

impl Part<'_> {
    fn borne(self) -> Result<BorneJoint, Vec<EmitFault>> {
        let own = self.body.map(|(body, place)| Moments::from(body).seen_from(&place));
        let extra = Moments { inertia: self.extra.unwrap_or_default(), ..Moments::default() };
        let link = link(&self.link, &(own.unwrap_or_default() + extra), &self.frame)?;
        let joint = TreeJoint {
            name: self.joint,
            parent: self.parent,
            child: self.link,
            motion: self.motion,
            axis: self.axis.into(),
            origin: self.origin.into(),
            properties: self.properties,
            remarks: self.remarks,
        };
        Ok(BorneJoint { joint, link: Some(link) })
    }
}
