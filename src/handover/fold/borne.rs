//! What hangs on a part that goes. A bar between its own two pins is the linkage's own and goes with it; anything else is
//! named with its line and refuses the fold, or is listed as lost where the user goes on all the same.

use std::collections::BTreeSet;

use super::cut::{Cut, Part};
use super::{Changes, FoldFault};
use crate::handover::find::{is_more_than_bar, unread_mass};
use crate::robot::{Element, FileLink, Format, LinkId, LinkShape, Place};

/// Something on a link that goes.
struct Item {
    place: Place,
    what: String,
}

/// Names what hangs on crank and coupler, or on a jaw's rocker.
pub(super) fn look(cut: &Cut<'_>, changes: &mut Changes) {
    let mut contacts = Vec::new();
    for part in &cut.parts {
        let goes = |id: &LinkId| cut.options.keep_visuals || cut.gone.links.contains(id);
        for id in cut.bodies.links(part.body).filter(goes) {
            let Some(link) = cut.robot.links.get(id) else { continue };
            let items = items(cut, part, id, link, &mut contacts);
            items.into_iter().for_each(|item| settle(cut, (part, link), &item, changes));
        }
    }
    on_joints(cut, changes);
    lightened(cut, changes);
    if !contacts.is_empty() {
        changes.notes.push(format!(
            "the contact of the linkage's own bars goes with them: {}",
            contacts.join(", ")
        ));
    }
}

/// What takes weight from a body that takes over the mass of one which goes, and took none from that: the mass would weigh otherwise.
fn lightened(cut: &Cut<'_>, changes: &mut Changes) {
    let links = |id: &LinkId| cut.robot.links.get(*id);
    let weighs = |link: &&FileLink| link.inertial.is_some_and(|inertial| inertial.mass > 0.0);
    let goes: Vec<&FileLink> = cut.gone.links.iter().filter_map(links).filter(weighs).collect();
    let stays = cut.new.links.iter().filter(|(id, _)| !cut.gone.links.contains(id));
    for taker in stays.filter_map(|(id, _)| links(id)) {
        for one in taker.influences.iter().filter(|one| !one.holds) {
            let has = |link: &&&FileLink| link.influences.iter().any(|own| own.key() == one.key());
            let Some(link) = goes.iter().find(|link| !has(link)) else { continue };
            let why = format!(
                "{} of {:?} would act on the mass of {:?} too, which it takes over",
                one.what, taker.name, link.name
            );
            let lost = format!("the weight of {:?}", link.name);
            let help = "give both the same, or none";
            lose(cut, one.place, &lost, (why, help), changes);
        }
    }
}

/// What stands in a joint that goes, besides what every joint has: a sensor, a plugin, a controller's own limits.
fn on_joints(cut: &Cut<'_>, changes: &mut Changes) {
    for joint in cut.gone.joints.iter().filter_map(|id| cut.robot.joints.get(*id)) {
        let element = cut.robot.element(joint.place).filter(|element| element.name() == "joint");
        let Some(element) = element.filter(|_| cut.robot.format != Format::Mjcf) else { continue };
        for child in
            element.children().filter(|child| !is_joints_own(cut.robot.format, child.name()))
        {
            let called = child.value("name").map_or(String::new(), |name| format!(" {name:?}"));
            let what = format!("<{}>{called} of joint {:?}", child.name(), joint.name);
            let hangs = format!("{what} goes with the linkage");
            let place = Place { document: joint.place.document, element: child.id() };
            lose(cut, place, &what, (hangs, "move it to a joint that stays"), changes);
        }
    }
}

/// What a joint is made of, and what tunes an engine.
fn is_joints_own(format: Format, name: &str) -> bool {
    let own: &[&str] = if format == Format::Urdf {
        &["origin", "parent", "child", "axis", "limit", "dynamics", "mimic", "calibration"]
    } else {
        &["pose", "parent", "child", "axis", "axis2", "physics"]
    };
    own.contains(&name)
}

fn settle(cut: &Cut<'_>, (part, link): (&Part<'_>, &FileLink), item: &Item, changes: &mut Changes) {
    let Item { place, what } = item;
    // What is welded on hangs on the bar that the pins name.
    let bar = part.bar.and_then(|id| cut.robot.links.get(id));
    let link = bar.filter(|_| *place == link.place).unwrap_or(link);
    let lost = format!("{what} of {:?}", link.name);
    let hangs = format!("{what} hangs on {:?}, which goes with the linkage", link.name);
    let help = "move it to a body that stays";
    lose(cut, *place, &lost, (hangs, help), changes);
}

/// Links that go, or take their masses over, and weigh something that is not read: it would be lost.
pub(super) fn unread_masses(
    cut: &Cut<'_>,
    carrier: LinkId,
    moving: &[LinkId],
    changes: &mut Changes,
) {
    let Some(link) = unread_mass(cut.robot, cut.bodies, carrier, moving) else { return };
    let what = format!("the mass of {:?}", link.name);
    let why = format!("{what} follows from shapes or from the engine, and is not read");
    lose(cut, link.place, &what, (why, "give it an <inertial> of its own"), changes);
}

/// Notes what is lost where the user goes on all the same; else what hangs there refuses the fold.
pub(super) fn lose(
    cut: &Cut<'_>,
    place: Place,
    lost: &str,
    (hangs, help): (String, &str),
    changes: &mut Changes,
) {
    let Some(element) = cut.robot.element(place) else { return };
    if cut.options.anyway {
        let line = cut.line(element);
        return changes.notes.push(format!("line {line}: {lost} is lost"));
    }
    let help =
        format!("{help}, or keep the loop; --anyway folds it all the same and lists what is lost");
    changes.faults.push(FoldFault::at_place(cut.robot, place, hangs, &help));
}

fn items(
    cut: &Cut<'_>,
    part: &Part<'_>,
    id: LinkId,
    link: &FileLink,
    contacts: &mut Vec<String>,
) -> Vec<Item> {
    let is_named = part.pins.iter().any(|pin| pin.links.contains(&id));
    let shapes = link.shapes.iter();
    let mut found: Vec<Item> =
        shapes.filter_map(|shape| of_shape(cut, part, is_named, (link, shape), contacts)).collect();
    if cut.options.keep_visuals {
        return found;
    }
    let weighs = link.inertial.is_some_and(|inertial| inertial.mass > 0.0);
    if part.at >= 2 && !is_named && weighs {
        found.push(item(link.place, format!("{:?}, welded on,", link.name)));
    }
    let Some(element) = cut.robot.element(link.place) else { return found };
    // What stands elsewhere in the file and speaks of the link is found where it speaks.
    let own =
        |place: Place| place.document == link.place.document && element.contains(place.element);
    let fittings = link.fittings.iter().filter(|fitting| own(fitting.place));
    found.extend(fittings.map(|fitting| item(fitting.place, fitting.what.clone())));
    if !matches!(element.name(), "link" | "body") {
        return found;
    }
    let known: BTreeSet<Place> = found.iter().map(|item| item.place).collect();
    let mut swept = Vec::new();
    sweep(cut, element, &mut swept);
    let place =
        |element: Element<'_>| Place { document: link.place.document, element: element.id() };
    let swept = swept.into_iter().map(|(element, what)| item(place(element), what));
    found.extend(swept.filter(|item| !known.contains(&item.place)));
    found
}

/// A shape that is no bar's own; the contact of one that is goes into `contacts`.
fn of_shape(
    cut: &Cut<'_>,
    part: &Part<'_>,
    is_named: bool,
    (link, shape): (&FileLink, &LinkShape),
    contacts: &mut Vec<String>,
) -> Option<Item> {
    let name = match cut.robot.element(shape.place) {
        _ if !shape.name.is_empty() => format!("{:?}", shape.name),
        Some(element) => format!("the shape on line {}", cut.line(element)),
        None => "a shape".to_owned(),
    };
    let what = match (shape.touches, is_more_than_bar(part.pins, part.at, link, shape)) {
        (true, Some(false)) => {
            contacts.push(name);
            return None;
        }
        (true, Some(true)) => "which touches things and is more than a bar",
        (true, None) => "which touches things and whose extent is not read",
        (false, Some(true)) if !is_named => "which is more than a bar",
        (false, _) => return None,
    };
    Some(item(shape.place, format!("{name}, {what},")))
}

fn item(place: Place, what: String) -> Item {
    Item { place, what }
}

/// What stands in a link's element besides its bar, its mass and its joints.
fn sweep<'a>(cut: &Cut<'a>, link: Element<'a>, found: &mut Vec<(Element<'a>, String)>) {
    let is_zero = |text: &str| text.trim().parse::<f64>().is_ok_and(|x| x == 0.0);
    let gravcomp = link.value("gravcomp").filter(|value| !is_zero(value));
    if gravcomp.is_some_and(|value| !all_have(cut, &value)) {
        found.push((link, "gravity compensation (gravcomp)".to_owned()));
    }
    if link.value("user").is_some() {
        found.push((link, "user data".to_owned()));
    }
    for child in link.children() {
        match (cut.robot.format, child.name()) {
            (Format::Mjcf, "frame") => sweep(cut, child, found),
            (Format::Mjcf, "body") if goes(cut, child) || moves(cut, child) => {}
            (Format::Mjcf, "site") if is_pin(cut, child) => {}
            (Format::Mjcf, "inertial" | "joint" | "geom")
                if child.value("user").is_none() && child.child("plugin").is_none() => {}
            (Format::Urdf, "inertial" | "visual" | "collision") => {}
            (
                Format::Sdformat,
                "pose" | "inertial" | "visual" | "collision" | "self_collide" | "must_be_base_link",
            ) => {}
            (Format::Sdformat, "velocity_decay")
                if child.children().all(|c| is_zero(&c.text())) => {}
            (Format::Sdformat, "gravity") if !matches!(child.text().trim(), "0" | "false") => {}
            (_, name) => {
                let called = child.value("name").map_or(String::new(), |n| format!(" {n:?}"));
                let user = if child.value("user").is_some() { " with user data" } else { "" };
                found.push((child, format!("<{name}>{called}{user}")));
            }
        }
    }
}

/// Whether all bodies that take its mass over have as much gravity compensation: then that of the mass goes with it.
fn all_have(cut: &Cut<'_>, gravcomp: &str) -> bool {
    let figure = |text: &str| text.trim().parse::<f64>().ok();
    let links = cut.new.links.iter().filter_map(|(id, _)| cut.robot.links.get(*id));
    let mut bodies = links.map(|link| cut.robot.element(link.place)?.value("gravcomp"));
    let alike = |own: Option<std::borrow::Cow<'_, str>>| {
        own.is_some_and(|own| figure(&own).is_some() && figure(&own) == figure(gravcomp))
    };
    !cut.new.links.is_empty() && bodies.all(alike)
}

fn moves(cut: &Cut<'_>, body: Element<'_>) -> bool {
    let mut links = cut.gone.moved.iter().filter_map(|m| cut.robot.links.get(m.seat.link));
    links.any(|link| {
        let document = cut.robot.document(link.place);
        link.place.element == body.id()
            && document.is_some_and(|d| std::ptr::eq(d, body.document()))
    })
}

fn goes(cut: &Cut<'_>, body: Element<'_>) -> bool {
    let mut links = cut.gone.links.iter().filter_map(|id| cut.robot.links.get(*id));
    links.any(|link| link.place.document == 0 && link.place.element == body.id())
}

/// A site that closes the loop.
fn is_pin(cut: &Cut<'_>, site: Element<'_>) -> bool {
    let Some(name) = site.value("name") else { return false };
    let closures = cut.gone.closures.iter().filter_map(|id| cut.robot.closures.get(*id));
    closures.filter_map(|closure| cut.robot.element(closure.place)).any(|element| {
        ["site1", "site2"].iter().any(|key| element.value(key).is_some_and(|site| site == name))
    })
}
