//! What was assumed, for the JSON and the head of the file.

use super::Form;
use super::remarks;
use super::stand_in::one_joint::KeptSide;
use super::stand_in::{Draws, MotorEnd, Request, StandIn, jaw, one_joint};
use crate::design::{Actuator, BodyFrame, BodyInertia, BodyMass, Front};
use crate::study;

/// Every assumption, a clause each; `stand_ins` in the order of the joints.
pub(super) fn assumptions<G: Draws>(
    request: &Request<'_, G>,
    stand_ins: &[StandIn<'_>],
) -> Vec<String> {
    let design = request.design;
    let mut lines = vec![
        "all angles are readings of the robot's software; positive about the joint's axis by the right-hand rule, child aligned with parent at reading 0".to_owned(),
    ];
    lines.extend(limits(request));
    lines.extend(design.geometry.losses());
    lines.extend(design.front.as_deref().map(in_front).unwrap_or_default());
    lines.extend(one_joint::motor_words(request));
    lines.extend(bodies(request, stand_ins));
    lines.extend(mirror(request));
    if request.ask.whole {
        lines.extend(whole_model(request, stand_ins));
    }
    let rotor = design.actuator.as_ref().filter(|a| a.rotor_inertia.is_some());
    let outside = |a: &Actuator| a.rotor_in_carrier == Some(false);
    let has_rotor = request.ask.form.keeps_crank()
        || (request.ask.whole && stand_ins.iter().any(|one| one.plan.bodies.is_some()));
    if rotor.is_some_and(outside) && has_rotor {
        lines.push("the parent link's own figures do not hold the rotor: its inertia about the axis is added, its mass is not in this model".into());
    } else if rotor.is_some_and(outside) {
        lines.push(
            "the parent link's own figures do not hold the rotor: its mass is not in this model"
                .into(),
        );
    }
    lines
}

/// What a file leaves of the drive in front of a gripper's finger.
fn in_front(front: &Front) -> Vec<String> {
    let mut lines = vec![
        "the drive between motor and crank is in this model as a constant ratio and the rotor's armature; its own parts weigh nothing here".to_owned(),
    ];
    lines.extend(front.efficiency().map(|efficiency| {
        format!("its screws leave {efficiency} of the motor's torque: that is in the guaranteed torque and in the table over the stroke, not in the never-exceed torque, in damping or in friction")
    }));
    if front.locks_itself() {
        lines.push("its screw locks itself: the load never turns the motor, which no constant ratio with damping and friction has".into());
    }
    lines
}

/// What torque, speed and losses rest on.
fn limits<G: Draws>(request: &Request<'_, G>) -> [String; 2] {
    let rubbing = remarks::rubbing(request).filter(|_| !jaw::drives_itself(request));
    let Some((coefficient, pins)) = rubbing else {
        return [
            "torque and speed over the stroke are the motor's peak torque x |i| and its largest speed / |i|, without losses".into(),
            "the pins' friction is in no figure".into(),
        ];
    };
    [
        "torque over the stroke is the motor's peak torque x |i| less what friction in the pins takes under that load, but for the never-exceed figure; speed is the motor's largest / |i|".into(),
        format!(
            "friction in the pins ({coefficient} at {}) grows with the load: it is in the guaranteed torque, not in damping and friction",
            pins.join(", ")
        ),
    ]
}

/// What stands for the linkage's own parts.
fn bodies<G: Draws>(request: &Request<'_, G>, stand_ins: &[StandIn<'_>]) -> Vec<String> {
    if jaw::drives_itself(request) {
        return vec![gripper_bodies(request).into()];
    }
    if stand_ins.iter().any(|one| one.motor.as_ref().is_some_and(|end| !end.others.is_empty())) {
        return vec!["all parts of the drive are bodies; the rotor's coupling with a swinging parent link is not in this model".into()];
    }
    let first = stand_ins.first().map(|one| &one.plan);
    if first.is_none_or(|plan| plan.bodies.is_none()) {
        let why = first.and_then(|plan| plan.why_not.clone()).unwrap_or_default();
        let is_known = study::missing_for_inertia(request.design)
            .iter()
            .all(|table| !table.starts_with("[actuator]"));
        let armature = if is_known { ", and the armature is n^2 J alone" } else { "" };
        return vec![format!(
            "the bodies stay as they are{armature}: the inertia split is not computed ({why})"
        )];
    }
    let keeps_motor = stand_ins.iter().any(|one| one.motor.is_some());
    let mut lines: Vec<String> = match (request.ask.form, request.ask.whole) {
        (Form::Coupled, true) if keeps_motor => vec![
            "what lies between motor and lever is in the two links' figures, a direct joint's share of each; the rotor's coupling with a swinging parent link is not in this model".into(),
        ],
        (Form::Coupled, false) if keeps_motor => vec![
            "the bodies stay as they are; the patch list says what they lack".into(),
        ],
        (Form::Direct, true) => vec![
            "crank, coupler and rotor are in the two links' figures and in the armature: a direct joint's share of each".into(),
        ],
        (Form::Direct, false) => vec![
            "the bodies stay as they are, and the armature is n^2 J alone; the patch list says what they lack".into(),
        ],
        (Form::Coupled, whole) if let Some(end) = first_end(stand_ins) => kept(end.side(), whole),
        (Form::Coupled, _) => vec![
            "the coupler is two pin masses, on the crank and on the child; what is left of its inertia stands on the parent link where the coupler is at mid-stroke".into(),
        ],
        (Form::Loop, _) => Vec::new(),
    };
    let masses = &request.design.mass;
    lines.extend([("crank", &masses.crank), ("coupler", &masses.coupler)].into_iter().filter_map(
        |(name, body)| {
            let about_axis = matches!(body.as_ref()?.inertia, BodyInertia::AboutAxis(_));
            about_axis.then(|| {
                format!(
                    "[mass.{name}] has one figure of inertia: taken as a slender bar along its x"
                )
            })
        },
    ));
    lines
}

fn first_end<'a>(stand_ins: &'a [StandIn<'_>]) -> Option<&'a MotorEnd> {
    stand_ins.first()?.motor.as_ref()
}

/// What the bodies of a drive in space come to where the file keeps the motor's side.
fn kept(side: KeptSide, whole: bool) -> Vec<String> {
    let place = if whole { "in the two links' figures" } else { "what the patch list says" };
    let without = "its coupling with a swinging parent link is not in this model";
    match side {
        KeptSide::Crank => vec![
            "the coupler is two point masses, on the crank and on the child; what is left of its inertia stands on the parent link where the coupler is at mid-stroke".into(),
            format!("the rotor is the armature of the crank's joint; {without}"),
        ],
        KeptSide::Tendon => vec![
            format!("housing and nut are {place}"),
            format!("the rotor is the armature of the tendon; {without}"),
        ],
        KeptSide::Slide => vec![format!("nut, rod and rotor are {place} and in the armature")],
        KeptSide::Loop | KeptSide::Parent => Vec::new(),
    }
}

fn gripper_bodies<G: Draws>(request: &Request<'_, G>) -> &'static str {
    match (request.ask.form, request.ask.whole) {
        (Form::Loop, _) => {
            "all parts of both fingers are bodies; the rotor's share is on the first finger's crank, the palm and the driver's armature"
        }
        (_, true) => {
            "the rockers and the rotor are in the figures of the palm, of the other links and in the armature"
        }
        (_, false) => {
            "the bodies stay as they are; `finger` in the JSON says what the links weigh with the rockers and the rotor, where the masses are given"
        }
    }
}

fn mirror<G: Draws>(request: &Request<'_, G>) -> Option<String> {
    let any = request.design.robots.iter().any(|r| r.mirrored);
    any.then(|| {
        "where mirrored, the design's axis is opposite to the joint's: turns and offset change sign, the ratio does not".into()
    })
}

fn whole_model<G: Draws>(request: &Request<'_, G>, stand_ins: &[StandIn<'_>]) -> Vec<String> {
    let masses = &request.design.mass;
    let mut lines = vec!["the parent link is fixed to the world".to_owned()];
    let has_parts =
        jaw::drives_itself(request) || stand_ins.iter().any(|one| one.plan.bodies.is_some());
    let parts = [("crank", &masses.crank), ("coupler", &masses.coupler)];
    let left_out: Vec<&str> = parts
        .into_iter()
        .filter(|_| !has_parts)
        .chain([("carried", &masses.carried)])
        .filter_map(|(name, body)| body.as_ref().map(|_| name))
        .collect();
    if !left_out.is_empty() {
        lines.push(format!("not in this model: the mass of {}", left_out.join(", ")));
    }
    if request.design.robots.len() > 1 {
        lines.push("every joint of the drawing has the same mass figures; those of the other side are not turned round".into());
    }
    lines.extend(masses.child.as_ref().and_then(child_frame));
    lines.extend([("carrier", &masses.carrier), ("child", &masses.child)].into_iter().filter_map(
        |(name, body)| {
            let flat = body.as_ref().is_some_and(|b| !b.center_is_spatial);
            flat.then(|| format!("the mass centre of [mass.{name}] has no third coordinate: 0"))
        },
    ));
    lines
}

fn child_frame(body: &BodyMass) -> Option<String> {
    (body.frame == BodyFrame::Drawing).then(|| {
        "the child's mass figures were turned from the drawing's frame into the link's own, by the zero pose and the direction from the motor axis to the joint axis".into()
    })
}
