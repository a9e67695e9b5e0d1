//! The fold of an MJCF file.

use crate::handover::Form;
use std::collections::{BTreeMap, BTreeSet};

use super::cut::{Cut, MovedMotor};
use super::gone::GoneBytes;
use super::mentions::{Fate, settle, speaks, survivors};
use super::numbers::{is_same, list, text};
use super::{
    Changes, FoldFault, Job, coupled, inertial, mjcf_actuators, mjcf_keys, mjcf_ties, tendon,
    visuals,
};
use crate::diagnostic::Diagnostic;
use crate::robot::{Attribute, Document, Element, JointKind};

/// Edits of the whole file.
pub(super) fn change(job: &Job<'_>, changes: &mut Changes) {
    match job.cut.options.model {
        Form::Coupled if job.tendon.is_some() => tendon::mjcf(job, changes),
        Form::Coupled => coupled::mjcf(job, changes),
        Form::Direct if job.cut.options.keep_visuals => visuals::mjcf(job, changes),
        Form::Direct | Form::Loop => {}
    }
    take_out(&job.cut, changes);
}

/// What goes, what the links weigh then, and whatever else of the file speaks of what goes.
pub(super) fn take_out(cut: &Cut<'_>, changes: &mut Changes) {
    let gone = removed(cut, changes);
    cut.write_bodies(inertial::mjcf, changes);
    mjcf_keys::cut(cut, changes);
    let names = Named::of(cut, &gone);
    references(cut, &names, &gone, changes);
    for (at, document) in cut.robot.documents.iter().enumerate().skip(1) {
        let faults = foreign(cut, &names, document).into_iter();
        changes
            .faults
            .extend(faults.map(|fault| FoldFault { document: at, ..FoldFault::of(fault) }));
    }
    lonely_sites(cut, &gone, changes);
    tendon::section(cut, changes);
}

/// What another file, which includes this one or which this one includes, says of what goes or moves.
pub(super) fn spoken_of(cut: &Cut<'_>, document: &Document) -> Vec<Diagnostic> {
    let gone = removed(cut, &mut Changes::default());
    foreign(cut, &Named::of(cut, &gone), document)
}

/// Another file is not changed: each of its lines that would not hold any more is a fault.
fn foreign(cut: &Cut<'_>, names: &Named, document: &Document) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let help = "rewrite or remove this line, then fold";
    let has_fewer = cut
        .gone
        .joints
        .iter()
        .any(|id| cut.robot.joints.get(*id).is_some_and(|joint| joint.coordinates() != [0, 0]));
    for element in document.root().descendants() {
        if element.name() == "key" && element.value("qpos").is_some() && has_fewer {
            let message = "the keyframe's qpos has numbers of joints that go with the linkage";
            faults.push(Diagnostic::error(message).at(element.tag_range()).help(help));
        }
        for attribute in element.attributes() {
            if let Some((name, fate)) = spoken(cut, names, element, attribute) {
                faults.push(speaks(element, &name, fate).at(attribute.range()).help(help));
            }
        }
    }
    faults
}

/// The name that an attribute speaks of, where that goes or is a joint that moves.
fn spoken(
    cut: &Cut<'_>,
    names: &Named,
    element: Element<'_>,
    attribute: Attribute<'_>,
) -> Option<(String, Fate)> {
    let value = attribute.value();
    if element.name() == "config" {
        let of_plugin = value.split_whitespace().find(|word| names.holds_any(word));
        return of_plugin.map(|word| (word.to_owned(), Fate::Gone));
    }
    let kind = kind_of_reference(element, attribute.name())?;
    let is_motor = |(motor, _): (&MovedMotor<'_>, _)| value == motor.joint.name.as_str();
    if kind == Kind::Joint && cut.on_joints().any(is_motor) {
        return Some((value.into_owned(), Fate::Driven));
    }
    if kind == Kind::Joint && names.rehung.contains(value.as_ref()) {
        return Some((value.into_owned(), Fate::Rehung));
    }
    // A flexible body lies on several.
    let is_list = element.name() == "flex";
    let mut each = value.split_whitespace().filter(|_| is_list).chain([value.as_ref()]);
    each.find(|name| names.holds(kind, name)).map(|name| (name.to_owned(), Fate::Gone))
}

/// Bodies and constraints that go, and their bytes.
fn removed(cut: &Cut<'_>, changes: &mut Changes) -> GoneBytes {
    let mut places = cut.gone.places(cut.robot);
    // A constraint between the driven and the motor's joint says what the direct joint says.
    for coupling in &cut.robot.couplings {
        let ends = [Some(coupling.follower), coupling.leader];
        let touches_gone = ends.iter().flatten().any(|id| cut.gone.joints.contains(id));
        if touches_gone
            && ends.iter().all(|end| {
                end.is_none()
                    || end.is_some_and(|id| {
                        cut.gone.ends.contains(&id) || cut.gone.joints.contains(&id)
                    })
            })
        {
            places.push(coupling.place);
        }
    }
    let elements = places.into_iter().filter_map(|place| cut.robot.element(place));
    cut.gone.take_out(cut.robot, elements, changes)
}

/// Which kind of thing an attribute names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Body,
    Joint,
    Site,
    Geom,
    Camera,
}

/// Names that go, by kind, and of joints that read otherwise.
struct Named {
    gone: BTreeMap<Kind, BTreeSet<String>>,
    /// Joints of fingers that read otherwise where they hang now.
    rehung: BTreeSet<String>,
}

impl Named {
    fn of(cut: &Cut<'_>, gone: &GoneBytes) -> Self {
        let mut names: BTreeMap<Kind, BTreeSet<String>> = BTreeMap::new();
        for element in cut.document.root().descendants().filter(|e| gone.hold(*e)) {
            let in_section = element.parent().is_some_and(|p| p.name() == "equality");
            let Some(kind) = kind_of_element(element.name()).filter(|_| !in_section) else {
                continue;
            };
            if let Some(name) = element.value("name") {
                names.entry(kind).or_default().insert(name.into_owned());
            }
        }
        let moved = cut.gone.moved.iter().filter(|moved| moved.reads_otherwise());
        let moved = moved.map(|moved| cut.robot.joint_name(moved.seat.joint).to_owned());
        Self { gone: names, rehung: moved.filter(|name| !name.is_empty()).collect() }
    }

    fn holds_any(&self, name: &str) -> bool {
        self.gone.values().any(|names| names.contains(name))
    }

    fn holds(&self, kind: Kind, name: &str) -> bool {
        self.gone.get(&kind).is_some_and(|names| names.contains(name))
    }
}

fn kind_of_element(name: &str) -> Option<Kind> {
    match name {
        "body" => Some(Kind::Body),
        "joint" | "freejoint" => Some(Kind::Joint),
        "site" => Some(Kind::Site),
        "geom" => Some(Kind::Geom),
        "camera" => Some(Kind::Camera),
        _ => None,
    }
}

/// What an attribute of an element names.
fn kind_of_reference(element: Element<'_>, attribute: &str) -> Option<Kind> {
    match attribute {
        "joint" | "joint1" | "joint2" | "jointinparent" => Some(Kind::Joint),
        "body" | "body1" | "body2" | "target" | "subtree1" | "subtree2" => Some(Kind::Body),
        "site" | "site1" | "site2" | "refsite" | "cranksite" | "slidersite" | "sidesite" => {
            Some(Kind::Site)
        }
        "geom" | "geom1" | "geom2" => Some(Kind::Geom),
        "camera" => Some(Kind::Camera),
        "objname" | "refname" => {
            let key = if attribute == "objname" { "objtype" } else { "reftype" };
            match element.value(key)?.as_ref() {
                "body" | "xbody" => Some(Kind::Body),
                "joint" => Some(Kind::Joint),
                "site" => Some(Kind::Site),
                "geom" => Some(Kind::Geom),
                "camera" => Some(Kind::Camera),
                _ => None,
            }
        }
        _ => None,
    }
}

fn references(cut: &Cut<'_>, names: &Named, gone: &GoneBytes, changes: &mut Changes) {
    for element in survivors(cut.document.root(), gone) {
        let section = section(element);
        if section == Some("actuator") && mjcf_actuators::change(cut, element, changes) {
            continue;
        }
        if section == Some("sensor") {
            changes.faults.extend(mjcf_actuators::sensor(cut, element));
        }
        if mjcf_ties::change(cut, section, element, changes) {
            continue;
        }
        for attribute in element.attributes() {
            let Some((value, fate)) = spoken(cut, names, element, attribute) else { continue };
            if section == Some("contact") {
                changes.edits.remove(element);
                changes.notes.push(format!(
                    "the <{}> of the contact section with {value:?} is taken out",
                    element.name()
                ));
                break;
            }
            let at = (&*value, attribute.value_range(), attribute.range());
            settle(cut, element, (&value, fate), at, changes);
        }
    }
}

/// The section of the file that an element stands in: the name of the root's child around it.
fn section(element: Element<'_>) -> Option<&str> {
    let mut at = element;
    while let Some(parent) = at.parent() {
        if parent.parent().is_none() {
            return Some(at.name());
        }
        at = parent;
    }
    None
}

/// Sites that only the closure used go with it.
fn lonely_sites(cut: &Cut<'_>, gone: &GoneBytes, changes: &mut Changes) {
    let closures = cut.gone.closures.iter().filter_map(|id| cut.robot.closures.get(*id));
    let used: BTreeSet<String> = closures
        .filter_map(|closure| cut.robot.element(closure.place))
        .flat_map(|element| {
            ["site1", "site2"].map(|key| element.value(key).map(|v| v.into_owned()))
        })
        .flatten()
        .collect();
    if used.is_empty() {
        return;
    }
    let mentioned: BTreeSet<String> = survivors(cut.document.root(), gone)
        .flat_map(|element| {
            let named = element
                .attributes()
                .filter(move |a| kind_of_reference(element, a.name()) == Some(Kind::Site));
            named.map(|attribute| attribute.value().into_owned())
        })
        .collect();
    for element in survivors(cut.document.root(), gone).filter(|e| e.name() == "site") {
        let is_lonely = section(element) == Some("worldbody")
            && element
                .value("name")
                .is_some_and(|n| used.contains(n.as_ref()) && !mentioned.contains(n.as_ref()));
        if is_lonely {
            changes.edits.remove(element);
        }
    }
}

/// The motor's own bounds at the driven joint, each way its own. What bounded the driven joint itself bounded no motor, and does not
/// bound the one that comes.
fn effort(job: &Job<'_>, element: Element<'_>, limited: bool, changes: &mut Changes) {
    let figures = &job.figures;
    if let Some(effort) = figures.effort {
        let uneven = job.motor.effort_ends.filter(|[low, high]| (low + high).abs() > 0.0);
        let mut ends = uneven.map_or([-effort, effort], |ends| {
            ends.map(|end| end * figures.torque_share.copysign(figures.slope))
        });
        ends.sort_by(f64::total_cmp);
        changes.edits.set(element, "actuatorfrcrange", &list(&ends));
        if limited || element.value("actuatorfrclimited").is_some() {
            changes.edits.set(element, "actuatorfrclimited", "true");
        }
    } else if job.driven.effort.is_some() && job.motor_moves() {
        changes.edits.set(element, "actuatorfrclimited", "false");
    }
}

/// Limits, effort, losses and armature of the driven joint.
pub(super) fn driven_joint(job: &Job<'_>, element: Element<'_>, changes: &mut Changes) {
    if job.driven.kind != JointKind::Revolute {
        return;
    }
    let figures = &job.figures;
    let limited = job.cut.setting("compiler", "autolimits").is_some_and(|auto| auto == "false");
    if let Some([low, high]) = job.new_limit() {
        let ends = if job.cut.is_in_degrees() {
            [low.to_degrees(), high.to_degrees()]
        } else {
            [low, high]
        };
        changes.edits.set(element, "range", &list(&ends));
        if limited || element.value("limited").is_some() || job.driven.limit.is_none() {
            changes.edits.set(element, "limited", "true");
        }
        // The ends are where the joint stops.
        if job.driven.limit_margin != 0.0 {
            changes.edits.set(element, "margin", "0");
        }
    }
    effort(job, element, limited, changes);
    for (key, known, new) in [
        ("damping", job.driven.damping, figures.damping),
        ("frictionloss", job.driven.friction, figures.friction),
        ("armature", job.driven.armature, figures.joint_armature(job.cut.new.armature)),
    ] {
        if !is_same(known, new) {
            changes.edits.set(element, key, &text(new));
        }
    }
}
