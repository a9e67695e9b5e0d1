//! At which line does a robot file say a figure of a joint?

use super::measure::Measure;
use super::row::Line;
use crate::robot::{Element, FileJoint, Format, Place, Robot};

/// A figure of a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Spot {
    Joint,
    Parent,
    Child,
    Axis,
    Origin,
    Lower,
    Upper,
    Effort,
    Velocity,
    Damping,
    Friction,
}

/// The line of the element itself.
pub(super) fn line_of(robot: &Robot, place: Place) -> Option<Line> {
    robot.element(place).map(line)
}

fn line(element: Element<'_>) -> Line {
    let document = element.document();
    Line { file: document.path.clone(), line: document.line_column(element.range().start).0 }
}

/// The line of the figure, of the nearest element around where it would stand if it is left out.
pub(super) fn spot(robot: &Robot, joint: &FileJoint, spot: Spot) -> Option<Line> {
    let element = robot.element(joint.place)?;
    if spot == Spot::Origin {
        return Some(line(origin(robot, joint, element)));
    }
    let found = path(robot.format, spot).iter().try_fold(element, |at, name| {
        // The deepest that is there.
        at.child(name).ok_or(at)
    });
    Some(line(found.unwrap_or_else(|deepest| deepest)))
}

fn path(format: Format, spot: Spot) -> &'static [&'static str] {
    match (format, spot) {
        (_, Spot::Joint | Spot::Origin) | (Format::Mjcf, _) => &[],
        (_, Spot::Parent) => &["parent"],
        (_, Spot::Child) => &["child"],
        (Format::Urdf, Spot::Axis) => &["axis"],
        (Format::Urdf, Spot::Lower | Spot::Upper | Spot::Effort | Spot::Velocity) => &["limit"],
        (Format::Urdf, Spot::Damping | Spot::Friction) => &["dynamics"],
        (Format::Sdformat, Spot::Axis) => &["axis", "xyz"],
        (Format::Sdformat, Spot::Lower) => &["axis", "limit", "lower"],
        (Format::Sdformat, Spot::Upper) => &["axis", "limit", "upper"],
        (Format::Sdformat, Spot::Effort) => &["axis", "limit", "effort"],
        (Format::Sdformat, Spot::Velocity) => &["axis", "limit", "velocity"],
        (Format::Sdformat, Spot::Damping) => &["axis", "dynamics", "damping"],
        (Format::Sdformat, Spot::Friction) => &["axis", "dynamics", "friction"],
    }
}

/// The element that places the joint: its own, or the child's.
fn origin<'a>(robot: &'a Robot, joint: &FileJoint, element: Element<'a>) -> Element<'a> {
    let own = match robot.format {
        Format::Urdf => element.child("origin"),
        Format::Sdformat => element.child("pose"),
        Format::Mjcf => element.parent(),
    };
    let of_child = || {
        let child = robot.links.get(joint.child)?;
        robot.element(child.place)?.child("pose")
    };
    own.or_else(of_child).unwrap_or(element)
}

/// The line of a link's mass figure, of the nearest element around where it would stand.
pub(super) fn inertial_line(robot: &Robot, link: usize, measure: Measure) -> Option<Line> {
    let link = robot.element(robot.links.get(link)?.place)?;
    let Some(inertial) = link.child("inertial") else { return Some(line(link)) };
    let names: &[&str] = match measure {
        Measure::Centre => &["origin", "pose"],
        Measure::Inertia => &["inertia"],
        _ => &["mass"],
    };
    Some(line(names.iter().find_map(|name| inertial.child(name)).unwrap_or(inertial)))
}
