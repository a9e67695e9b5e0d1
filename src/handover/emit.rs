//! From a design and its findings to the text of a robot file and the JSON beside it.

use super::engine::EngineVersion;
use super::fault::EmitFault;
use super::fills::{Fills, Parts, joint_figures};
use super::joint_json::{JointJson, joint_json};
use super::stand_in::{Ask, Draws, Request, StandIn, crank, joint};
use super::whole::{self, Links};
use super::{assumptions, remarks};
use crate::design::Design;
use crate::equivalence::Verdict;
use crate::robot::{DrivenJoint, Model, TieSettings, TreeJoint};
use crate::study::{Check, Mechanism, StrokeRow};
use serde::Serialize;

/// What was emitted, as text.
#[derive(Clone, Debug, PartialEq)]
pub struct Emission {
    /// The robot file.
    pub file: String,
    /// The JSON beside it.
    pub joint_json: String,
    /// The same as data, one per `[[robot]]`.
    pub joints: Vec<JointJson>,
    /// What the user should be told besides: what the format could not hold, what was left out.
    pub notes: Vec<String>,
}

/// Rows of the table over the stroke in the JSON beside the file.
const ROWS: usize = 31;

/// [`emit`] with the drive's own table over the stroke and its own joint turn at the motor's stops.
///
/// # Errors
/// As [`emit`], and what no file holds of such a drive.
#[allow(private_bounds, reason = "what can be emitted are the drawings of a design")]
pub fn emit_drawn<G: Fills>(
    design: &Design<G>,
    mechanism: &G::Moving,
    check: &Check,
    ask: &Ask,
) -> Result<Emission, Vec<EmitFault>> {
    let request = Request { design, mechanism, check, ask: *ask };
    emitted(&request, &G::table(design, mechanism, check, ROWS), &request.through())
}

/// What `NAME.joint.json` holds beside a file that is there already: what its format demands of a joint, that file has.
///
/// # Errors
/// As [`emit`].
pub(super) fn joints_drawn<G: Fills>(
    request: &Request<'_, G>,
) -> Result<Vec<JointJson>, Vec<EmitFault>> {
    let (stand_ins, _) = stand_ins(request, &request.through(), false)?;
    let assumptions = assumptions::assumptions(request, &stand_ins);
    let Request { design, mechanism, check, .. } = *request;
    Ok(joints(request, &stand_ins, &G::table(design, mechanism, check, ROWS), &assumptions))
}

/// Emits the joint of a design, once per `[[robot]]`.
///
/// `mechanism` is the design's linkage, `rows` the table over the stroke, for the JSON; `joint_of_motor` turns a motor
/// turn from the zero pose into the joint turn of the real linkage (both rad, about the design's axis), `None` where the
/// linkage cannot stand; it is asked at the motor's stops only. The same input gives the same bytes.
///
/// # Errors
/// All that stands against it, never an empty list: first what is missing or unfit in the design, last
/// the verdict, unless [`Ask::anyway`]; the verdict is about the direct joint and does not stand against the
/// other models.
pub fn emit(
    design: &Design,
    mechanism: &Mechanism,
    check: &Check,
    rows: &[StrokeRow],
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
    ask: &Ask,
) -> Result<Emission, Vec<EmitFault>> {
    emitted(&Request { design, mechanism, check, ask: *ask }, rows, joint_of_motor)
}

fn emitted<G: Fills>(
    request: &Request<'_, G>,
    rows: &[StrokeRow],
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
) -> Result<Emission, Vec<EmitFault>> {
    let needs_limits = request.ask.format.needs_limits();
    let (stand_ins, links) = stand_ins(request, joint_of_motor, needs_limits)?;
    Ok(emission(request, &stand_ins, rows, links))
}

/// What stands in for each `[[robot]]`, and what the links weigh; where the format `needs_limits`, with all of them.
fn stand_ins<'a, G: Fills>(
    request: &Request<'a, G>,
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
    needs_limits: bool,
) -> Result<(Vec<StandIn<'a>>, Links), Vec<EmitFault>> {
    let mut faults = whole::name_faults(request);
    let figures =
        joint_figures(request, joint_of_motor).map_err(|f| faults.push(f)).ok().unwrap_or_default();
    if let Some(first) = figures.first() {
        faults.extend(remarks::locked(request, first));
        faults.extend(remarks::urdf_faults(request, first).into_iter().filter(|_| needs_limits));
    }
    let (parts, more) = G::parts(request, &figures);
    faults.extend(more);
    faults.extend(refusal(request));
    let faults = each_once(faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let Parts { plans, jaws, motors, links, coupling } = parts;
    let joints = request.design.robots.iter().zip(figures).zip(plans).zip(jaws).zip(motors);
    let stand_in = |((((robot, figures), plan), jaw), motor)| StandIn {
        robot,
        figures,
        plan,
        coupling,
        jaw,
        motor,
    };
    Ok((joints.map(stand_in).collect(), links))
}

fn joints<G: Fills>(
    request: &Request<'_, G>,
    stand_ins: &[StandIn<'_>],
    rows: &[StrokeRow],
    assumptions: &[String],
) -> Vec<JointJson> {
    let joint = |one| joint_json(request, one, G::rows(request, one, rows), assumptions);
    stand_ins.iter().map(joint).collect()
}

/// Without what is named before: the same table missing for two reasons, the same dead point.
fn each_once(faults: Vec<EmitFault>) -> Vec<EmitFault> {
    let mut kept: Vec<EmitFault> = Vec::new();
    for fault in faults {
        let is_known = kept.iter().any(|other| match (other, &fault) {
            (EmitFault::Missing { key: a, .. }, EmitFault::Missing { key: b, .. }) => a == b,
            (a, b) => a == b,
        });
        if !is_known {
            kept.push(fault);
        }
    }
    kept
}

fn refusal<G: Draws>(request: &Request<'_, G>) -> Option<EmitFault> {
    let Check { verdict, reason, .. } = request.check;
    let stands =
        *verdict == Verdict::Equivalent || request.ask.anyway || request.ask.form.keeps_crank();
    (!stands).then(|| EmitFault::Refused { verdict: *verdict, reason: reason.clone() })
}

fn emission<G: Fills>(
    request: &Request<'_, G>,
    stand_ins: &[StandIn<'_>],
    rows: &[StrokeRow],
    links: Links,
) -> Emission {
    let Request { design, ask, .. } = *request;
    let assumptions = assumptions::assumptions(request, stand_ins);
    let Links { carriers, children, others } = links;
    let (mut children, mut others) = (children.into_iter(), others.into_iter());
    let driven = stand_ins.iter().map(|stand_in| {
        let (others, pins) = others.next().unwrap_or_default();
        let bounded = |one| joint::follower(request, &stand_in.figures, one);
        DrivenJoint {
            joint: TreeJoint {
                remarks: remarks::joint(request, stand_in),
                ..joint::driven_joint(request, stand_in)
            },
            actuator: joint::actuator(request, stand_in),
            child: children.next(),
            motor_side: crank::motor_side(request, stand_in),
            others: others.into_iter().map(bounded).collect(),
            pins,
        }
    });
    let model = Model {
        name: design.name.clone(),
        head: remarks::head(request, &assumptions),
        joints: driven.collect(),
        carriers,
        tie: TieSettings {
            step: crank::step(request),
            by_sites: request.engine() >= EngineVersion::LOOPS_BY_SITES,
        },
    };
    let joints = joints(request, stand_ins, rows, &assumptions);
    Emission {
        file: if ask.whole { ask.format.whole(&model) } else { ask.format.snippet(&model) },
        joint_json: json_text(&joints),
        joints,
        notes: remarks::notes(request, stand_ins),
    }
}

/// The text of `NAME.joint.json`.
#[must_use]
pub fn json_text(joints: &[JointJson]) -> String {
    pretty(joints)
}

/// What serialises without fail: its keys are strings and its numbers finite or null.
pub(super) fn pretty<T: Serialize>(all: &[T]) -> String {
    let text = serde_json::to_string_pretty(all).map(|text| text + "\n").unwrap_or_default();
    text.chars().map(in_ascii).collect()
}

/// As JSON writes what is not ASCII: in UTF-16 (RFC 8259, section 7). It stands in strings only.
fn in_ascii(c: char) -> String {
    if c.is_ascii() {
        return c.to_string();
    }
    let mut units = [0; 2];
    c.encode_utf16(&mut units).iter().map(|unit| format!("\\u{unit:04x}")).collect()
}
