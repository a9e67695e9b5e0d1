//! From two motors with a rod each on pitch and roll to the text of a robot file and the JSON beside it.

use super::emit::pretty;
use super::engine::EngineVersion;
use super::fault::EmitFault;
use super::joints_json::{JointsJson, joints_json};
use super::stand_in::{Ask, Form, TwoJointsAsked};
use crate::design::TwoJointDesign;
use crate::equivalence::Verdict;
use crate::robot::{Format, Model};
use crate::study::{RegionCheck, TwoMotors, two_joint_bodies, two_joint_parts};

/// What was emitted, as text.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoJointEmission {
    /// The robot file.
    pub file: String,
    /// `NAME.joints.json`.
    pub joints_json: String,
    /// The same as data, one per `[[robot]]`.
    pub joints: Vec<JointsJson>,
    /// What the user should be told besides.
    pub notes: Vec<String>,
}

/// Emits both joints, once per `[[robot]]`. The same input gives the same bytes.
///
/// # Errors
/// All that stands against it, never an empty list; the verdict is about two direct joints and does not stand against the
/// other models.
pub fn emit_two_joints(asked: &TwoJointsAsked<'_>) -> Result<TwoJointEmission, Vec<EmitFault>> {
    let made = asked.model()?;
    let model = Model { head: head(asked), ..made.model };
    let ask = asked.ask;
    let joints: Vec<JointsJson> =
        asked.robots.iter().map(|robot| joints_json(asked, robot, made.tree.as_ref())).collect();
    Ok(TwoJointEmission {
        file: if ask.whole { ask.format.whole(&model) } else { ask.format.snippet(&model) },
        joints_json: json_text(&joints),
        joints,
        notes: notes(asked),
    })
}

/// The same of a design whose verdict is known.
///
/// # Errors
/// As [`emit_two_joints`].
pub fn emit_design_of_two_joints(
    design: &TwoJointDesign,
    of: &TwoMotors,
    check: &RegionCheck,
    ask: Ask,
) -> Result<TwoJointEmission, Vec<EmitFault>> {
    let parts = two_joint_parts(design);
    // A loop has its bodies as they are: what the rotors weigh is no condition of it.
    let parts = match ask.form {
        Form::Loop => parts.or_else(|lacks| two_joint_bodies(design, [None; 2]).map_err(|_| lacks)),
        Form::Direct | Form::Coupled => parts,
    };
    let (parts, lacks) = match &parts {
        Ok(parts) => (Some(parts), &[][..]),
        Err(lacks) => (None, lacks.as_slice()),
    };
    emit_two_joints(&TwoJointsAsked::of_design(design, of, check, (parts, lacks), ask))
}

/// The text of `NAME.joints.json`.
#[must_use]
pub fn json_text(joints: &[JointsJson]) -> String {
    pretty(joints)
}

/// The engine version that an MJCF file is for.
fn engine(asked: &TwoJointsAsked<'_>) -> EngineVersion {
    let oldest = match asked.ask.form {
        Form::Loop => EngineVersion::LOOPS_BY_SITES,
        _ if asked.drives_motors() && asked.rotor().is_some() => EngineVersion::TENDON_ARMATURE,
        _ => EngineVersion::OLDEST,
    };
    asked.ask.engine.unwrap_or(oldest)
}

fn head(asked: &TwoJointsAsked<'_>) -> Vec<String> {
    let what = match asked.ask.form {
        Form::Direct => "two revolute joints in place of two motors with a rod each",
        Form::Coupled => "two revolute joints pulled by two linear actuators from pin to pin",
        Form::Loop => "two motors with a rod each as closed loops",
    };
    let mut lines = vec![format!("From the design \"{}\" ({}): {what}.", asked.name, asked.source)];
    lines.push(verdict(asked));
    if asked.ask.form == Form::Direct {
        let t = asked.direct.matrix;
        lines.push(format!(
            "Motor turns = [[{}, {}], [{}, {}]] x (pitch, roll turns), a constant in place of the rods'.",
            t.m11, t.m12, t.m21, t.m22
        ));
    }
    let ask = asked.ask;
    lines.extend(ask.format.remarks().iter().map(|line| (*line).to_owned()));
    if !ask.whole {
        lines.extend(ask.format.snippet_remarks().iter().map(|line| (*line).to_owned()));
    }
    if ask.format == Format::Mjcf {
        lines.push(format!("For MuJoCo {} and later.", engine(asked)));
    }
    if ask.whole && asked.parts.is_some_and(|parts| parts.middle.is_none()) {
        lines.push(
            "The design gives no body for the link between the joints: it has 1/1000 of the child's mass here, with a radius of gyration of 10 mm, since engines need one.".to_owned(),
        );
    }
    if !asked.assumptions.is_empty() {
        lines.push("Assumed:".into());
        lines.extend(asked.assumptions.iter().map(|a| format!("* {a}")));
    }
    lines
}

fn verdict(asked: &TwoJointsAsked<'_>) -> String {
    let word = match asked.verdict {
        Verdict::Equivalent => "Verdict on two direct joints: equivalent",
        Verdict::NotEquivalent => "Two direct joints are NOT EQUIVALENT",
        Verdict::Undecided => "Two direct joints are NOT EQUIVALENT as far as is known (undecided)",
    };
    let shown = if asked.proved { "proved" } else { "computed, not proved" };
    format!("{word}, {}, {shown}. {}", asked.basis.name(), asked.reason)
}

fn notes(asked: &TwoJointsAsked<'_>) -> Vec<String> {
    let mut notes = Vec::new();
    let ask = asked.ask;
    if ask.form == Form::Direct && !asked.drives_motors() {
        notes.push(
            "each joint has a torque limit of its own, but the motors share theirs: with one axis unloaded the other has more; the polygon stands in the JSON".to_owned(),
        );
    }
    if asked.drives_motors() && ask.form != Form::Loop {
        notes.push(
            "the motors act through tendons: other engines that read this format may leave them out, and then nothing drives the joints".to_owned(),
        );
    }
    if asked.rotor().is_none() {
        notes.push(
            "no armature is written: [actuator] gear_ratio or rotor_inertia is missing".to_owned(),
        );
    }
    notes
}
