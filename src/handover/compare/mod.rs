//! Does a robot file still say what the design says?
//!
//! For each `[[robot]]` of the design: `expected` is what the design says, from the figures that `emit` writes; `facts`
//! is what the file says; `form` tells whether the file holds a direct joint, a coupled crank or the loop itself. Each
//! figure of both becomes a [`Row`], judged by the one table of tolerances in `measure`. `pairs` holds several files
//! against each other.

mod acting;
mod bodies;
mod driven;
mod expected;
mod facts;
mod follower;
mod form;
mod jaw;
mod joint;
mod kept;
mod kept_bodies;
mod measure;
mod missing;
mod motor_rows;
mod pairs;
mod quantity;
mod row;
mod spot;
mod two_joints;
mod views;

use serde::Serialize;

use crate::design::{Design, Geometry};
use crate::equivalence::Verdict;
use crate::robot::{Format, JointId, Remark, Robot};
use crate::study::Check;

use super::fault::EmitFault;
use super::fills::Fills;
use super::find::{FoundLoop, FourBarLoop};
use super::stand_in::coupling::Relation;
use super::stand_in::{Draws, Jaw, LimitBasis, Plan};

use crate::handover::Form;
use bodies::body_rows;
use expected::{DesignSide, Held};
use facts::{JointFacts, joint_named};
use form::Found;
use kept::Together;
use missing::missing;
use row::{Look, Sides};
use spot::Spot;

pub use measure::{Measure, Tolerance};
pub use row::{Line, Row, RowOutcome, Value};
pub use two_joints::compare_two_joints;

/// A design against robot files.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// The design's name.
    pub design: String,
    /// May a direct joint stand in?
    pub verdict: Verdict,
    /// Why, in one sentence.
    pub reason: String,
    /// Each file against the design.
    pub files: Vec<ComparedFile>,
    /// Every two files against each other.
    pub pairs: Vec<ComparedPair>,
}

/// One file against the design.
#[derive(Clone, Debug, Serialize)]
pub struct ComparedFile {
    /// The file.
    pub file: String,
    /// The format's name.
    pub format: &'static str,
    /// The joints in the design's order.
    pub joints: Vec<ComparedJoint>,
}

/// Two files against each other.
#[derive(Clone, Debug, Serialize)]
pub struct ComparedPair {
    /// The files.
    pub files: [String; 2],
    /// The joints of the design that both have.
    pub joints: Vec<ComparedJoint>,
}

/// One joint.
#[derive(Clone, Debug, Serialize)]
pub struct ComparedJoint {
    /// Its name in the design.
    pub joint: String,
    /// As what the file holds the linkage; `None` where it has no such joint, and between two files.
    #[serde(serialize_with = "views::titled")]
    pub form: Option<Form>,
    /// Where the file has it.
    pub at: Option<Line>,
    /// All figures.
    #[serde(flatten, serialize_with = "views::counted")]
    pub rows: Vec<Row>,
    /// What else the user should know.
    pub notes: Vec<String>,
}

words! {
    /// What a comparison comes to.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Answer {
        /// All say the same.
        InStep = "in_step",
        /// Something differs.
        Differs = "differs",
        /// Nothing differs, and it is undecided whether a direct joint may stand in.
        Undecided = "undecided",
    }
}

impl ComparedJoint {
    /// The rows that count against being in step.
    pub fn differences(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(|row| row.differs())
    }
}

impl Comparison {
    /// All joints of files and pairs.
    pub fn joints(&self) -> impl Iterator<Item = &ComparedJoint> {
        let of_files = self.files.iter().flat_map(|file| &file.joints);
        of_files.chain(self.pairs.iter().flat_map(|pair| &pair.joints))
    }

    /// What it comes to.
    #[must_use]
    pub fn answer(&self) -> Answer {
        let has = |outcome| self.joints().any(|j| j.rows.iter().any(|row| row.outcome == outcome));
        if has(RowOutcome::Differs) {
            Answer::Differs
        } else if has(RowOutcome::Undecided) {
            Answer::Undecided
        } else {
            Answer::InStep
        }
    }
}

/// Holds the robots against the design and against each other; `basis` demands one of the two limits of effort and
/// speed, else both are accepted and all between.
///
/// # Errors
/// What is missing or unfit in the design, never an empty list; the verdict is none of it.
#[allow(private_bounds, reason = "what can be compared are the drawings of a design")]
pub fn compare<G: Compares>(
    design: &Design<G>,
    mechanism: &G::Moving,
    check: &Check,
    robots: &[Robot],
    basis: Option<LimitBasis>,
) -> Result<Comparison, Vec<EmitFault>> {
    let side = DesignSide::of(design, mechanism, check)?;
    let file = |robot: &Robot| {
        let second = format!("{} says", robot.format.name());
        let look = Look { sides: Sides { first: G::GIVES, second: &second }, basis };
        ComparedFile::new(robot, G::joints(&side, robot, look))
    };
    Ok(Comparison {
        design: design.name.clone(),
        verdict: check.verdict,
        reason: check.reason.clone(),
        files: robots.iter().map(file).collect(),
        pairs: pairs::of_design(design, robots),
    })
}

/// A drawing that a robot file can be held against.
trait Compares: Fills {
    /// Whose figures the design's are.
    const GIVES: &'static str;

    /// Each joint of the design against the file's.
    fn joints(side: &DesignSide<'_, Self>, robot: &Robot, look: Look<'_>) -> Vec<ComparedJoint>;
}

impl ComparedFile {
    fn new(robot: &Robot, mut joints: Vec<ComparedJoint>) -> Self {
        for one in &mut joints {
            let soft = joint_named(robot, &one.joint).and_then(|id| robot.joints.get(id));
            let soft = soft.filter(|joint| !joint.soft.is_empty());
            one.notes.extend(soft.map(|joint| {
                format!("its limits give way further than by the engine's defaults, which is not compared ({})", joint.soft)
            }));
        }
        let place = |one: &Remark| format!("{}: {}", robot.whereabouts(one.place), one.message);
        let unread = (robot.unread > 0).then(|| {
            format!(
                "what the file includes or an engine makes ({} of it) is not read",
                robot.unread
            )
        });
        let told = robot.settings.iter().map(place).chain(unread);
        joints.first_mut().into_iter().for_each(|first| first.notes.extend(told.clone()));
        Self { file: path(robot), format: robot.format.name(), joints }
    }
}

/// The file that was named.
fn path(robot: &Robot) -> String {
    robot.documents.first().map_or(String::new(), |document| document.path.clone())
}

impl Compares for Geometry {
    const GIVES: &'static str = "the linkage gives";

    fn joints(side: &DesignSide<'_>, robot: &Robot, look: Look<'_>) -> Vec<ComparedJoint> {
        let names = side.design.robots.iter().map(|r| r.joint.as_str());
        let ours: Vec<Option<JointId>> = names.map(|name| joint_named(robot, name)).collect();
        let loops = if side.design.parallel_jaw().is_some() {
            jaw::loops(robot, side.design, &ours)
        } else {
            form::loops(robot, side.design, &ours)
        };
        let each = ours.iter().enumerate().map(|(at, id)| match id {
            None => missing(side, robot, at, look),
            Some(id) if jaw::is_own(side, *id, &loops) => {
                jaw::present(side, robot, (at, *id), &loops, look)
            }
            Some(id) => {
                let found = form::found(robot, *id, &ours, motor_place(side, robot, at)?, &loops);
                present(side, robot, at, *id, &found, look)
            }
        });
        each.flatten().collect()
    }
}

fn motor_place<'a>(
    side: &DesignSide<'a>,
    robot: &Robot,
    at: usize,
) -> Option<form::MotorPlace<'a>> {
    let wanted = side.design.robots.get(at)?;
    let plans = || side.plans(Form::Coupled, robot.format);
    let kept = || Some(plans().get(at)?.bodies.as_ref()?.kept.as_ref()?.motor);
    let bars = side.mechanism.branch.bars();
    Some(form::MotorPlace {
        parent: &wanted.parent,
        axis: wanted.axis.into(),
        at: wanted.motor_at.or_else(kept).map(Into::into),
        ratio: side.check.direct_joint.ratio,
        within: 0.25 * bars.ground,
    })
}

fn present(
    side: &DesignSide<'_>,
    robot: &Robot,
    at: usize,
    id: JointId,
    found: &Found<'_>,
    look: Look<'_>,
) -> Option<ComparedJoint> {
    let form = found.form();
    let expected = side.joint(at, form, robot.format)?;
    let facts = JointFacts::of(robot, id, &expected.robot.parent)?;
    let held = Held { look, expected: &expected, facts: &facts };
    let mut rows = joint::joint_rows(&held, form);
    let mut notes = notes(robot, found);
    if facts.moves_as(&expected.joint) {
        rows.extend(form_rows(&held, found));
        let (plans, jaws) = expected::plans_and_jaws(&side.request(form, robot.format));
        let (more, of_links) = weight_rows(&held, (at, form), (&plans, &jaws));
        rows.extend(more);
        notes.extend(of_links);
    }
    if form == Form::Direct {
        if side.design.parallel_jaw().is_none() {
            rows.extend(acting::rows(&facts));
        }
        jaw::share_effort(&held, id, &mut rows);
        rows.extend(follower::rows(&held, [None; 2]));
        rows.extend(verdict_row(side.check, &facts));
    }
    let joint = expected.robot.joint.clone();
    Some(ComparedJoint { joint, form: Some(form), at: facts.line(Spot::Joint), rows, notes })
}

/// What the links weigh by the `plans` and `jaws` of all joints, before which a direct joint's armature and drive are compared;
/// and what the user should know of it. The carrier's rows belong to the first joint that hangs on it.
fn weight_rows<G: Fills>(
    held: &Held<'_, G>,
    (at, form): (usize, Form),
    all: (&[Plan], &[Option<Jaw>]),
) -> (Vec<Row>, Vec<String>) {
    let expected = held.expected;
    let before = expected.side.design.robots.get(..at).unwrap_or_default();
    let with_carrier = before.iter().all(|other| other.parent != expected.robot.parent);
    let bodies = body_rows(held, all, with_carrier);
    let mut rows = Vec::new();
    if form == Form::Direct {
        rows.extend(joint::armature_row(held, bodies.state));
        rows.extend(joint::drive_rows(held));
    }
    rows.extend(bodies.rows);
    (rows, bodies.notes)
}

fn form_rows(held: &Held<'_>, found: &Found<'_>) -> Vec<Row> {
    let Held { look, facts, .. } = *held;
    match found {
        Found::Direct => Vec::new(),
        Found::Coupled { crank, relation } => coupled_rows(held, *crank, relation.as_ref()),
        Found::Loop(found, None) => {
            let why = found.obstacles.first().map_or("", |o| o.message.as_str());
            vec![kept::no_four_bar(look, facts, why)]
        }
        Found::Loop(found, Some(bar)) => closed_rows(held, found, bar),
    }
}

fn coupled_rows<G: Draws>(
    held: &Held<'_, G>,
    crank: JointId,
    relation: Option<&Relation>,
) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let Some(crank) = JointFacts::of(facts.robot, crank, &expected.robot.parent) else {
        return Vec::new();
    };
    let of_crank = Held { look, expected, facts: &crank };
    let coupling = kept::coupling_row(&of_crank, relation);
    let all = Together::of(expected, facts, Some(&crank), None);
    let stops = kept::stop_rows(&of_crank);
    let losses = kept::loss_rows(look, expected, all);
    let rows = kept::crank_rows(&of_crank, all);
    coupling.into_iter().chain(stops).chain(losses).chain(rows).collect()
}

fn closed_rows(held: &Held<'_>, found: &FoundLoop, bar: &FourBarLoop) -> Vec<Row> {
    let Held { look, expected, facts } = *held;
    let mut rows = kept::loop_rows(held, bar);
    let crank =
        bar.crank_joint().and_then(|id| JointFacts::of(facts.robot, id, &expected.robot.parent));
    let all = Together::of(expected, facts, crank.as_ref(), Some(found));
    rows.extend(kept::loss_rows(look, expected, all));
    rows.extend(kept_bodies::rod_rows(look, expected, facts.robot, bar));
    if let Some(crank) = &crank {
        rows.extend(kept::crank_rows(&Held { facts: crank, ..*held }, all));
    }
    rows
}

fn notes(robot: &Robot, found: &Found<'_>) -> Vec<String> {
    match found {
        Found::Direct => Vec::new(),
        Found::Coupled { crank, .. } => {
            vec![coupled_note(robot, *crank)]
        }
        Found::Loop(found, _) => loop_notes(robot, found),
    }
}

fn coupled_note(robot: &Robot, crank: JointId) -> String {
    let name = robot.joints.get(crank).map_or("", |joint| joint.name.as_str());
    format!(
        "the file holds the linkage as a crank, joint {name:?}, that is coupled to this joint: its coupling is compared, and it does not rest on the verdict"
    )
}

fn loop_notes(robot: &Robot, found: &FoundLoop) -> Vec<String> {
    let mut notes = vec![format!(
        "the file still holds the linkage as a closed loop, {:?}: its lengths are compared, and it does not rest on the verdict; fold puts the direct joint in its place",
        found.name
    )];
    notes.extend(found.obstacles.iter().map(|o| o.message.clone()));
    if robot.format == Format::Mjcf || robot.format == Format::Sdformat {
        notes.extend(found.remarks.iter().map(|o| o.message.clone()));
    }
    notes
}

/// A direct joint in the file stands on the verdict.
fn verdict_row(check: &Check, facts: &JointFacts<'_>) -> Option<Row> {
    let clauses = [
        "a direct joint does not stand for this linkage",
        "whether a direct joint stands for this linkage is undecided",
    ];
    let in_file = Form::Direct.title();
    Some(verdict_told(check.verdict, &check.reason, in_file, clauses)?.at(facts.line(Spot::Joint)))
}

/// What a verdict says against `in_file`: in a clause where it is refuted, in another where it is undecided.
fn verdict_told(
    verdict: Verdict,
    reason: &str,
    in_file: &str,
    [refuted, undecided]: [&str; 2],
) -> Option<Row> {
    let (outcome, word, clause) = match verdict {
        Verdict::Equivalent => return None,
        Verdict::NotEquivalent => (RowOutcome::Differs, "not equivalent", refuted),
        Verdict::Undecided => (RowOutcome::Undecided, "undecided", undecided),
    };
    let mut row = Row::new("verdict", Measure::Name);
    row.first = Some(Value::Word(word.to_owned()));
    row.second = Some(Value::Word(in_file.to_owned()));
    row.outcome = outcome;
    row.why = format!("{clause}: {reason}");
    Some(row)
}
