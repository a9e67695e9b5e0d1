//! What stands in a file for a gripper's fingers: a driver, what follows it, and what closes the loops where they stay.
//!
//! ```text
//! counter   palm ── joint (A) ── crank_link ── pad_joint (P) ── child           slide   palm ── joint, along n ── child
//! loop      the same, and palm ── JOINT_rocker (B) ── rocker, closed at Q       hinge   palm ── joint (B) ── child
//! ```
//!
//! The other finger is the mirror image in the plane through the middle of the opening, across the closing direction: the
//! same joints with their axes turned round, so that it follows with multiplier +1. Every follower names the driver.
//!
//! **Readings.** A driver at A reads what the motor reads: its axis is `motor_sign` × the robot's, the crank's link is
//! aligned with the palm at motor reading 0. The pad's link is aligned with the palm in the zero pose, so that the hinge at P
//! reads −`motor_reads` there: m · driver's reading − (m + 1) `motor_reads`. A slide reads 0 in the zero pose, and more where
//! the pads are closer.

mod bodies;
mod driver;
mod seat;

use super::{Draws, Request};
use crate::design::{Finger, OtherFinger, RobotJoint};
use crate::dynamics::{MeasuredOver, Moments};
use crate::equivalence::PadStandIn;
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::linkage::PadOn;
use crate::robot::{
    BorneJoint, ClosingPin, Format, JointProperties, Link, Mimic, Motion, TreeJoint,
};

pub(in crate::handover) use driver::figures;
pub(in crate::handover) use seat::{Attitude, Seat};

/// What a gripper's part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::handover) enum JawRole {
    /// The crank.
    Crank,
    /// The part with the pad.
    Pad,
    /// The rocker.
    Rocker,
}

/// A joint of a gripper with the link that it moves.
#[derive(Clone, Debug)]
pub(in crate::handover) struct JawJoint {
    pub(in crate::handover) role: JawRole,
    /// Of the other finger.
    pub(in crate::handover) is_other: bool,
    /// `properties.mimic` where it follows the driver; limits and what resists are the driver's alone.
    pub(in crate::handover) joint: TreeJoint,
    /// Where the crank's link that bears it has its origin in the palm's frame, m; `None` where the palm bears it.
    pub(in crate::handover) hung_at: Option<[f64; 3]>,
    /// Its link, about the origin of the link's own frame; `None` where masses are missing.
    pub(in crate::handover) body: Option<Moments>,
    /// Of its own joint beside the driver's, kg m² (kg for a slide).
    pub(in crate::handover) armature: Option<f64>,
}

/// What stands in for the fingers of one `[[robot]]`.
#[derive(Clone, Debug)]
pub(in crate::handover) struct Jaw {
    /// The stand-in; `None` where the loops stay.
    pub(in crate::handover) stand_in: Option<PadStandIn>,
    /// Turn of the hinge at P for each turn of the driver, for the counter-turning pair.
    pub(in crate::handover) multiplier: Option<f64>,
    /// The driver first; each after the one that bears it. Of a hinge at the joint axis the other finger's alone.
    pub(in crate::handover) joints: Vec<JawJoint>,
    /// Rockers that a file may draw besides, as followers that close nothing.
    pub(in crate::handover) drawn_rockers: Vec<JawJoint>,
    /// What closes the loops.
    pub(in crate::handover) pins: Vec<ClosingPin>,
    /// To be added to the palm, in its own frame; `None` where masses are missing.
    pub(in crate::handover) palm: Option<Moments>,
    /// On the driver with these bodies, kg m² (kg for a slide).
    pub(in crate::handover) armature: Option<f64>,
    /// Largest error of kinetic energy of both fingers together, as a share.
    pub(in crate::handover) inertia_error: Option<(MeasuredOver, f64)>,
    /// The same of the counter-turning pair's bodies as they stand, the rocker's left out, with the whole rotor as armature.
    pub(in crate::handover) plain_error: Option<(MeasuredOver, f64)>,
    /// Why there are no bodies.
    pub(in crate::handover) why_no_bodies: Option<String>,
}

impl Jaw {
    /// The driver, where it is the jaw's own.
    pub(in crate::handover) fn driver(&self) -> Option<&JawJoint> {
        self.joints.first().filter(|joint| joint.joint.properties.mimic.is_none())
    }

    /// All that follow the driver.
    pub(in crate::handover) fn followers(&self) -> impl Iterator<Item = (&JawJoint, &Mimic)> {
        self.joints.iter().filter_map(|one| Some((one, one.joint.properties.mimic.as_ref()?)))
    }

    /// What comes behind the driver, with its links where `linked`.
    pub(in crate::handover) fn others(
        &self,
        linked: impl Fn(&JawJoint) -> Result<Option<Link>, EmitFault>,
    ) -> Result<Vec<BorneJoint>, EmitFault> {
        let own = usize::from(self.driver().is_some());
        let borne = |one: &JawJoint| {
            let joint = TreeJoint { remarks: remark(one), ..one.joint.clone() };
            Ok(BorneJoint { joint, link: linked(one)? })
        };
        self.joints.iter().skip(own).map(borne).collect()
    }
}

fn remark(one: &JawJoint) -> Vec<String> {
    let whose = if one.is_other { "The other finger's " } else { "The " };
    let what = match one.role {
        JawRole::Crank => "crank",
        JawRole::Pad => "pad",
        JawRole::Rocker => "rocker",
    };
    let tied = one.joint.properties.mimic.as_ref().map_or(String::new(), |mimic| {
        let offset =
            if mimic.offset == 0.0 { String::new() } else { format!(" + {}", mimic.offset) };
        format!(": reading = {} * reading of \"{}\"{offset}", mimic.multiplier, mimic.leader)
    });
    vec![format!("{whose}{what}{tied}.")]
}

/// The finger that stands in a file as a jaw: one whose coupler carries the pad, or a hinge with its mirror image.
pub(in crate::handover) fn asked<'a, G: Draws>(request: &Request<'a, G>) -> Option<&'a Finger> {
    let finger = request.design.finger.as_ref()?;
    if finger.is_parallel_jaw() {
        return Some(finger);
    }
    let is_pair = finger.other == OtherFinger::Mirrored;
    Some(finger).filter(|_| is_pair && request.ask.form == Form::Direct)
}

/// What stands in, and `None` for the loop itself.
pub(in crate::handover) fn stand_in<G: Draws>(request: &Request<'_, G>) -> Option<PadStandIn> {
    let finger = asked(request)?;
    let wanted = if finger.pad.on == PadOn::Rocker { PadStandIn::Hinge } else { finger.stand_in };
    Some(wanted).filter(|_| request.ask.form == Form::Direct)
}

/// Whether the driver is the motor's own joint, or a slide: then no ratio of the rocker comes in.
pub(in crate::handover) fn drives_itself<G: Draws>(request: &Request<'_, G>) -> bool {
    let finger = request.design.finger.as_ref();
    finger.is_some_and(Finger::is_parallel_jaw) && stand_in(request) != Some(PadStandIn::Hinge)
}

/// What cannot be asked of a jaw.
pub(in crate::handover) fn fault(request: &Request<'_>) -> Option<EmitFault> {
    let is_hinge = stand_in(request) == Some(PadStandIn::Hinge);
    if request.design.front.is_some() && is_hinge {
        return Some(EmitFault::Unfit {
            key: "[direct_joint] stand_in",
            why: "a hinge at the joint axis is not written of a finger whose crank another drive turns".into(),
            help: "take stand_in = \"counter\" or \"slide\", whose driver is the crank's own joint or a slide".into(),
        });
    }
    let is_coupled = request.ask.form == Form::Coupled;
    (is_coupled && request.design.parallel_jaw().is_some()).then(|| EmitFault::Unfit {
        key: "[finger] pad = \"coupler\"",
        why: "a coupled crank stands beside the joint that it drives, and here the coupler itself carries the pad".into(),
        help: "take --model direct, which writes what [direct_joint] stand_in names, or --model loop".into(),
    })
}

/// What stands in for the fingers of `robot`; `None` where it is no jaw.
///
/// # Errors
/// What is missing or unfit in the design.
pub(in crate::handover) fn jaw(
    request: &Request<'_>,
    robot: &RobotJoint,
) -> Result<Option<Jaw>, EmitFault> {
    let Some((seats, mut jaw)) = placed(request, robot, Attitude::Mirrored)? else {
        return Ok(None);
    };
    bodies::weigh(request, robot, &seats, &mut jaw)?;
    Ok(Some(jaw))
}

/// The same with as much of its bodies as the design tells, the other finger in whatever attitude.
///
/// # Errors
/// Where nothing places the drawing on the robot.
pub(in crate::handover) fn as_known(
    request: &Request<'_>,
    robot: &RobotJoint,
    attitude: Attitude,
) -> Result<Option<Jaw>, EmitFault> {
    let Some((seats, mut jaw)) = placed(request, robot, attitude)? else { return Ok(None) };
    if let Err(fault) = bodies::weigh(request, robot, &seats, &mut jaw) {
        jaw.why_no_bodies = Some(fault.to_string());
    }
    Ok(Some(jaw))
}

/// The joints in their places, without bodies yet.
fn placed<'a>(
    request: &Request<'a>,
    robot: &'a RobotJoint,
    attitude: Attitude,
) -> Result<Option<(Vec<Seat<'a>>, Jaw)>, EmitFault> {
    let Some(finger) = asked(request).filter(|_| fault(request).is_none()) else { return Ok(None) };
    let seats = Seat::of_both(request, finger, robot, attitude)?;
    let stand_in = stand_in(request);
    let mut jaw = Jaw {
        stand_in,
        multiplier: multiplier(request, stand_in),
        joints: Vec::new(),
        drawn_rockers: Vec::new(),
        pins: Vec::new(),
        palm: None,
        armature: None,
        inertia_error: None,
        plain_error: None,
        why_no_bodies: None,
    };
    for seat in &seats {
        let joints = match stand_in {
            None => closed(seat),
            Some(PadStandIn::Counter) => pair(seat, jaw.multiplier.unwrap_or(-1.0)),
            Some(PadStandIn::Slide) => vec![slide(seat)],
            Some(PadStandIn::Hinge) => seat.is_other().then(|| hinge(seat)).into_iter().collect(),
        };
        jaw.joints.extend(joints);
        jaw.pins.extend(stand_in.is_none().then(|| pin(seat)));
        let is_pair = stand_in == Some(PadStandIn::Counter);
        jaw.drawn_rockers.extend(is_pair.then(|| drawn_rocker(request, seat)));
    }
    Ok(Some((seats, jaw)))
}

fn multiplier(request: &Request<'_>, stand_in: Option<PadStandIn>) -> Option<f64> {
    let found = request.check.finger.as_ref()?.multiplier;
    found.filter(|_| stand_in == Some(PadStandIn::Counter))
}

/// A joint of `seat`; the other finger's follows the driver as `follows` has it.
fn part(seat: &Seat<'_>, role: JawRole, joint: TreeJoint) -> JawJoint {
    let hung_at = (joint.parent == seat.crank_link()).then(|| seat.motor());
    JawJoint { role, is_other: seat.is_other(), joint, hung_at, body: None, armature: None }
}

fn joint(seat: &Seat<'_>, [name, parent, child]: [&str; 3], origin: [f64; 3]) -> TreeJoint {
    TreeJoint {
        name: name.to_owned(),
        parent: parent.to_owned(),
        child: child.to_owned(),
        motion: Motion::Turn,
        axis: seat.axis(),
        origin,
        properties: JointProperties::default(),
        remarks: Vec::new(),
    }
}

fn following(seat: &Seat<'_>, joint: TreeJoint, multiplier: f64, offset: f64) -> TreeJoint {
    let leader = seat.robot.joint.clone();
    let mimic = Some(Mimic { leader, multiplier, offset: offset + 0.0 });
    TreeJoint { properties: JointProperties { mimic, ..joint.properties }, ..joint }
}

/// The other finger's as the driver.
fn tied(seat: &Seat<'_>, joint: TreeJoint) -> TreeJoint {
    if seat.is_other() { following(seat, joint, 1.0, 0.0) } else { joint }
}

fn crank(seat: &Seat<'_>) -> JawJoint {
    let own = joint(seat, [seat.joint_name(), &seat.robot.parent, seat.crank_link()], seat.motor());
    let mut own = tied(seat, own);
    own.properties.drawn_at = seat.drawn(seat.driver_reading());
    part(seat, JawRole::Crank, own)
}

fn pad_joint(seat: &Seat<'_>) -> TreeJoint {
    let names = [seat.pad_joint_name(), seat.crank_link(), seat.child()];
    let mut own = joint(seat, names, seat.crank_pin());
    own.properties.drawn_at = seat.drawn(-seat.driver_reading());
    own
}

fn pair(seat: &Seat<'_>, multiplier: f64) -> Vec<JawJoint> {
    let offset = -(multiplier + 1.0) * seat.driver_reading();
    let pad = following(seat, pad_joint(seat), multiplier, offset);
    vec![crank(seat), part(seat, JawRole::Pad, pad)]
}

fn closed(seat: &Seat<'_>) -> Vec<JawJoint> {
    vec![
        crank(seat),
        part(seat, JawRole::Pad, pad_joint(seat)),
        part(seat, JawRole::Rocker, rocker(seat)),
    ]
}

/// The rocker as a follower, by its mean rate over the stroke; it reads 0 in the zero pose.
fn drawn_rocker(request: &Request<'_>, seat: &Seat<'_>) -> JawJoint {
    let stroke = request.check.stroke;
    let rate = 1.0 / stroke.mean_ratio();
    let own = following(seat, rocker(seat), rate, -rate * seat.driver_reading());
    part(seat, JawRole::Rocker, own)
}

fn rocker(seat: &Seat<'_>) -> TreeJoint {
    let names = seat.rocker_names();
    joint(seat, [&names.joint, &seat.robot.parent, &names.link], seat.joint_axis())
}

fn pin(seat: &Seat<'_>) -> ClosingPin {
    let names = seat.rocker_names();
    let end = joint(seat, [&names.end, seat.child(), &names.link], seat.rod_end());
    ClosingPin { end, on_child: seat.rocker_pin() }
}

fn slide(seat: &Seat<'_>) -> JawJoint {
    let names = [seat.joint_name(), seat.robot.parent.as_str(), seat.child()];
    let own = joint(seat, names, seat.zero_pin());
    let own = TreeJoint { motion: Motion::Slide, axis: seat.closing(), ..own };
    part(seat, JawRole::Pad, tied(seat, own))
}

fn hinge(seat: &Seat<'_>) -> JawJoint {
    let names = [seat.joint_name(), seat.robot.parent.as_str(), seat.child()];
    let own = joint(seat, names, seat.joint_axis());
    let own = TreeJoint { axis: seat.hinge_axis(), ..own };
    part(seat, JawRole::Pad, tied(seat, own))
}

/// What the model gives names to beside the tables of the design.
pub(in crate::handover) fn names<G: Draws>(
    request: &Request<'_, G>,
    robot: &RobotJoint,
) -> Vec<String> {
    let Some(finger) = asked(request) else { return Vec::new() };
    let g = &robot.gripper;
    let is_jaw = drives_itself(request) && stand_in(request) != Some(PadStandIn::Slide);
    let mut names: Vec<String> = Vec::new();
    if is_jaw {
        names.extend([&g.pad_joint, &g.crank_link].map(Clone::clone));
    }
    if finger.other == OtherFinger::Mirrored {
        names.extend([&g.other_joint, &g.other_child].map(Clone::clone));
        if is_jaw {
            names.extend([&g.other_pad_joint, &g.other_crank_link].map(Clone::clone));
        }
    }
    names
}

/// Whether the file draws its links where no joint of it reads 0.
fn is_drawn_at_readings<G: Draws>(request: &Request<'_, G>) -> bool {
    request.ask.form == Form::Loop && request.ask.format == Format::Mjcf
}
