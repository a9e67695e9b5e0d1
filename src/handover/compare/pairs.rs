//! Two robot files against each other: the same joint, the same figures?

use super::acting;
use super::bodies::moment_rows;
use super::facts::{JointFacts, joint_named};
use super::joint::{between, kind_called};
use super::measure::Measure;
use super::quantity::{self, Quantity};
use super::row::{Row, Sides, several, word};
use super::spot::{Spot, inertial_line};
use super::{ComparedJoint, ComparedPair};
use crate::design::Design;
use crate::robot::Robot;

/// Every two of the files, in their order.
pub(super) fn of_design<G>(design: &Design<G>, robots: &[Robot]) -> Vec<ComparedPair> {
    let joints = design.robots.iter().map(|one| (one.joint.clone(), one.parent.clone()));
    pairs(&joints.collect::<Vec<_>>(), robots)
}

/// The same of these joints, each with the link that bears it.
pub(super) fn pairs(joints: &[(String, String)], robots: &[Robot]) -> Vec<ComparedPair> {
    let later = |k: usize| robots.get(k + 1..).unwrap_or_default();
    let each = robots.iter().enumerate();
    each.flat_map(|(k, first)| later(k).iter().map(move |second| pair(joints, first, second)))
        .collect()
}

fn pair(joints: &[(String, String)], first: &Robot, second: &Robot) -> ComparedPair {
    let files = [first, second].map(super::path);
    let mut carriers = Vec::new();
    let joints = joints.iter().filter_map(|(joint, parent)| {
        let facts = |robot| JointFacts::of(robot, joint_named(robot, joint)?, parent);
        let (a, b) = (facts(first)?, facts(second)?);
        let with_carrier = !carriers.contains(parent);
        carriers.push(parent.clone());
        let says = files.each_ref().map(|file| format!("{file} says"));
        let sides = Sides { first: &says[0], second: &says[1] };
        Some(ComparedJoint {
            joint: joint.clone(),
            form: None,
            at: b.line(Spot::Joint),
            rows: rows(&a, &b, sides, with_carrier),
            notes: Vec::new(),
        })
    });
    let joints = joints.collect();
    ComparedPair { files, joints }
}

fn rows(a: &JointFacts<'_>, b: &JointFacts<'_>, sides: Sides<'_>, with_carrier: bool) -> Vec<Row> {
    let name = |quantity, spot, both| {
        word(Row::new(quantity, Measure::Name).at(b.line(spot)), both, sides)
    };
    let mut rows = vec![
        name("parent link", Spot::Parent, [a.parent, b.parent]),
        name("child link", Spot::Child, [a.child, b.child]),
    ];
    let kinds = [a, b].map(|facts| kind_called(facts.joint.kind));
    rows.push(name("kind", Spot::Joint, kinds));
    rows.extend(acting::ties(a, b, sides));
    rows.extend(place_rows(a, b, sides));
    rows.extend(figure_rows(a, b, sides));
    rows.extend(mass_rows(a, b, sides, with_carrier));
    rows
}

fn place_rows(a: &JointFacts<'_>, b: &JointFacts<'_>, sides: Sides<'_>) -> [Row; 2] {
    let axes = [a.axis.as_slice(), b.axis.as_slice()];
    let places = [a.origin.as_slice(), b.origin.as_slice()];
    let axis = Row::new("axis", Measure::Direction).at(b.line(Spot::Axis));
    let origin = Row::new("origin", Measure::Position).at(b.line(Spot::Origin));
    [
        several(axis, axes, between(&a.axis, &b.axis), 1.0, sides),
        several(origin, places, (b.origin - a.origin).norm(), 1.0, sides),
    ]
}

/// A figure that one of the formats has no place for is left out.
fn figure_rows(a: &JointFacts<'_>, b: &JointFacts<'_>, sides: Sides<'_>) -> Vec<Row> {
    let row = |quantity: &&Quantity| {
        let is_said = |x: &f64| x.abs() > 0.0 || quantity.measure == Measure::Angle;
        let both = [a, b].map(|facts| quantity.of(facts).filter(is_said));
        if !(quantity.is_held_by(a) && quantity.is_held_by(b)) {
            return None;
        }
        let mut row = quantity.against(b, both, sides)?;
        if both[0].is_none() {
            // Of two files neither is the design: what one of them leaves out differs.
            row.outcome = super::RowOutcome::Differs;
            let figure = row.shown(row.second.as_ref());
            row.why = format!("{} no {}; {} {figure}", sides.first, row.quantity, sides.second);
        }
        Some(row)
    };
    quantity::ALL.iter().filter_map(row).collect()
}

fn mass_rows(
    a: &JointFacts<'_>,
    b: &JointFacts<'_>,
    sides: Sides<'_>,
    with_carrier: bool,
) -> Vec<Row> {
    let at_joint =
        |facts: &JointFacts<'_>| facts.child_body().map(|body| body.seen_from(&facts.child_frame));
    let bodies = [
        (b.parent, b.joint.parent, a.carrier().filter(|_| with_carrier), b.carrier()),
        (b.child, b.joint.child, at_joint(a), at_joint(b)),
    ];
    let rows = bodies.into_iter().filter_map(|(name, link, first, second)| {
        let line = move |row: &Row| inertial_line(b.robot, link, row.measure);
        let rows = moment_rows(name, &first?, second.as_ref(), sides).into_iter();
        Some(rows.map(move |row| {
            let at = line(&row);
            row.at(at)
        }))
    });
    rows.flatten().collect()
}
