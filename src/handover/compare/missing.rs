//! Joints of the design that a file does not have, with those that may be meant.

use super::ComparedJoint;
use super::expected::DesignSide;
use super::facts::link_named;
use super::measure::Measure;
use super::row::{Line, Look, Row, RowOutcome, Value};
use super::spot::line_of;
use crate::diagnostic::nearest_name;
use crate::handover::stand_in::Draws;
use crate::robot::{FileJoint, LinkId, Robot};

/// What speaks for a joint whose name is like the one that is looked for.
pub(super) const NEAREST: &str = "is the nearest name";

/// The design's joint that the file does not have, with the one that may be meant.
pub(super) fn missing<G: Draws>(
    side: &DesignSide<'_, G>,
    robot: &Robot,
    at: usize,
    look: Look<'_>,
) -> Option<ComparedJoint> {
    let wanted = side.design.robots.get(at)?;
    let same_links = || {
        let links = [link_named(robot, &wanted.parent)?, link_named(robot, &wanted.child)?];
        robot.joints.iter().find(|joint| [joint.parent, joint.child] == links as [LinkId; 2])
    };
    let (meant, clause) = match same_links() {
        Some(joint) => (Some(joint), "turns the same link on the same parent"),
        None => (nearest(robot, &wanted.joint), NEAREST),
    };
    Some(lacking(robot, &wanted.joint, (meant, clause), look))
}

/// The design's joint `name` that the file does not have, with what speaks for the one that may be meant.
pub(super) fn lacking(
    robot: &Robot,
    name: &str,
    (meant, clause): (Option<&FileJoint>, &str),
    look: Look<'_>,
) -> ComparedJoint {
    let at = meant.map_or_else(|| root_line(robot), |joint| line_of(robot, joint.place));
    let mut row = Row::new("joint", Measure::Name).at(at.clone());
    row.first = Some(Value::Word(name.to_owned()));
    row.outcome = RowOutcome::Differs;
    let hint = meant.map_or(String::new(), |joint| format!("; {:?} {clause}", joint.name));
    row.why = format!("{} no joint {name:?}{hint}", look.sides.second);
    ComparedJoint { joint: name.to_owned(), form: None, at, rows: vec![row], notes: Vec::new() }
}

/// The outermost element's.
fn root_line(robot: &Robot) -> Option<Line> {
    let document = robot.documents.first()?;
    let (line, _) = document.line_column(document.root().range().start);
    Some(Line { file: document.path.clone(), line })
}

/// Similar enough to be a slip or a renaming, among as many names as are looked at in bounded time.
pub(super) fn nearest<'a>(robot: &'a Robot, name: &str) -> Option<&'a FileJoint> {
    let known = robot.joints.iter().map(|joint| joint.name.as_str());
    let nearest = nearest_name(name, known, 0.75)?;
    robot.joints.iter().rfind(|joint| joint.name == nearest)
}
