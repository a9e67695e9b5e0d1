//! From a design and its findings to the text of a robot file and the JSON beside it.

use super::engine::EngineVersion;
use super::fault::EmitFault;
use super::joint_json::{JointJson, joint_json};
use super::stand_in::plan::{jaws, model_faults, plans};
use super::stand_in::{Ask, Request, StandIn, coupling, crank, figures, joint};
use super::whole::{self, Links};
use super::{assumptions, remarks};
use crate::design::Design;
use crate::equivalence::Verdict;
use crate::robot::{DrivenJoint, Model, TieSettings, TreeJoint};
use crate::study::{Check, Mechanism, StrokeRow, stroke};

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

/// [`emit`] with the linkage's own table over the stroke and its own joint turn at the motor's stops.
///
/// # Errors
/// As [`emit`].
pub fn emit_drawn(
    design: &Design,
    mechanism: &Mechanism,
    check: &Check,
    ask: &Ask,
) -> Result<Emission, Vec<EmitFault>> {
    let request = Request { design, mechanism, check, ask: *ask };
    emit(design, mechanism, check, &drawn_rows(&request), &request.through(), ask)
}

fn drawn_rows(request: &Request<'_>) -> Vec<StrokeRow> {
    let table = stroke(request.design, request.mechanism, &request.check.direct_joint, ROWS);
    table.iter().map(StrokeRow::from).collect()
}

/// What `NAME.joint.json` holds beside a file that is there already: what its format demands of a joint, that file has.
///
/// # Errors
/// As [`emit`].
pub(super) fn joints_drawn(request: &Request<'_>) -> Result<Vec<JointJson>, Vec<EmitFault>> {
    let (stand_ins, _) = stand_ins(request, &request.through(), false)?;
    let assumptions = assumptions::assumptions(request, &stand_ins);
    Ok(joints(request, &stand_ins, &drawn_rows(request), &assumptions))
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
    let request = Request { design, mechanism, check, ask: *ask };
    let (stand_ins, links) = stand_ins(&request, joint_of_motor, ask.format.needs_limits())?;
    Ok(emission(&request, &stand_ins, rows, links))
}

/// What stands in for each `[[robot]]`, and what the links weigh; where the format `needs_limits`, with all of them.
fn stand_ins<'a>(
    request: &Request<'a>,
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
    needs_limits: bool,
) -> Result<(Vec<StandIn<'a>>, Links), Vec<EmitFault>> {
    let mut faults = whole::name_faults(request);
    let figures = figures::of_all(request, joint_of_motor)
        .map_err(|f| faults.push(f))
        .ok()
        .unwrap_or_default();
    if let Some(first) = figures.first() {
        faults.extend(remarks::locked(request, first));
        faults.extend(remarks::urdf_faults(request, first).into_iter().filter(|_| needs_limits));
    }
    faults.extend(model_faults(request));
    let plans = plans(request).map_err(|f| faults.extend(f)).unwrap_or_default();
    let jaws = jaws(request).map_err(|f| faults.extend(f)).unwrap_or_default();
    let links = whole::links(request, &plans, &jaws);
    let links = links.map_err(|f| faults.extend(f)).unwrap_or_default();
    let coupling = coupling::fitted(request).map_err(|f| faults.push(f)).ok().flatten();
    faults.extend(refusal(request));
    let faults = each_once(faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let joints = request.design.robots.iter().zip(figures).zip(plans).zip(jaws);
    let stand_in =
        |(((robot, figures), plan), jaw)| StandIn { robot, figures, plan, coupling, jaw };
    Ok((joints.map(stand_in).collect(), links))
}

fn joints(
    request: &Request<'_>,
    stand_ins: &[StandIn<'_>],
    rows: &[StrokeRow],
    assumptions: &[String],
) -> Vec<JointJson> {
    stand_ins.iter().map(|one| joint_json(request, one, rows, assumptions)).collect()
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

fn refusal(request: &Request<'_>) -> Option<EmitFault> {
    let Check { verdict, reason, .. } = request.check;
    let stands =
        *verdict == Verdict::Equivalent || request.ask.anyway || request.ask.form.keeps_crank();
    (!stands).then(|| EmitFault::Refused { verdict: *verdict, reason: reason.clone() })
}

fn emission(
    request: &Request<'_>,
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
    // Serialising these structs cannot fail: their keys are strings and their numbers finite or null.
    let text = serde_json::to_string_pretty(joints).map(|text| text + "\n").unwrap_or_default();
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
