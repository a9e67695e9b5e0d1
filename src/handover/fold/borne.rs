//! What hangs on a part that goes. A bar between its own two pins is the linkage's own and goes with it; anything else is
//! named with its line and refuses the fold, or is listed as lost where the user goes on all the same.

use std::collections::BTreeSet;

use super::{Changes, FoldFault, Job};
use crate::handover::find::is_more_than_bar;
use crate::robot::{Element, FileLink, Format, LinkId, LinkShape, Place};

/// Something on a link that goes.
struct Item {
    place: Place,
    what: String,
}

/// Names what hangs on crank and coupler, or on a jaw's rocker.
pub(super) fn look(job: &Job<'_>, changes: &mut Changes) {
    let [_, crank, coupler, rocker] = job.four_bar.bodies();
    let mut contacts = Vec::new();
    let parts = if job.is_jaw() { vec![(3, rocker)] } else { vec![(1, crank), (2, coupler)] };
    for (part, body) in parts {
        let goes = |id: &LinkId| job.options.keep_visuals || job.gone.links.contains(id);
        for id in job.bodies.links(body).filter(goes) {
            let Some(link) = job.robot.links.get(id) else { continue };
            let items = items(job, part, id, link, &mut contacts);
            items.into_iter().for_each(|item| settle(job, (part, link), &item, changes));
        }
    }
    if !contacts.is_empty() {
        changes.notes.push(format!(
            "the contact of the linkage's own bars goes with them: {}",
            contacts.join(", ")
        ));
    }
}

fn settle(job: &Job<'_>, (part, link): (usize, &FileLink), item: &Item, changes: &mut Changes) {
    let Item { place, what } = item;
    // What is welded on hangs on the bar that the pins name.
    let bar = job.four_bar.links.get(part).and_then(|id| job.robot.links.get(*id));
    let link = bar.filter(|_| *place == link.place).unwrap_or(link);
    let lost = format!("{what} of {:?}", link.name);
    let hangs = format!("{what} hangs on {:?}, which goes with the linkage", link.name);
    let help = "move it to a body that stays";
    lose(job, *place, &lost, (hangs, help), changes);
}

/// Notes what is lost where the user goes on all the same; else what hangs there refuses the fold.
pub(super) fn lose(
    job: &Job<'_>,
    place: Place,
    lost: &str,
    (hangs, help): (String, &str),
    changes: &mut Changes,
) {
    let Some(element) = job.robot.element(place) else { return };
    if job.options.anyway {
        let line = job.line(element);
        return changes.notes.push(format!("line {line}: {lost} is lost"));
    }
    let help =
        format!("{help}, or keep the loop; --anyway folds it all the same and lists what is lost");
    changes.faults.push(FoldFault::at_place(job.robot, place, hangs, &help));
}

fn items(
    job: &Job<'_>,
    part: usize,
    id: LinkId,
    link: &FileLink,
    contacts: &mut Vec<String>,
) -> Vec<Item> {
    let is_named = job.four_bar.pins.iter().any(|pin| pin.links.contains(&id));
    let shapes = link.shapes.iter();
    let mut found: Vec<Item> =
        shapes.filter_map(|shape| of_shape(job, part, is_named, (link, shape), contacts)).collect();
    if job.options.keep_visuals {
        return found;
    }
    let weighs = link.inertial.is_some_and(|inertial| inertial.mass > 0.0);
    if part >= 2 && !is_named && weighs {
        found.push(item(link.place, format!("{:?}, welded on,", link.name)));
    }
    let Some(element) = job.robot.element(link.place) else { return found };
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
    sweep(job, element, &mut swept);
    let place =
        |element: Element<'_>| Place { document: link.place.document, element: element.id() };
    let swept = swept.into_iter().map(|(element, what)| item(place(element), what));
    found.extend(swept.filter(|item| !known.contains(&item.place)));
    found
}

/// A shape that is no bar's own; the contact of one that is goes into `contacts`.
fn of_shape(
    job: &Job<'_>,
    part: usize,
    is_named: bool,
    (link, shape): (&FileLink, &LinkShape),
    contacts: &mut Vec<String>,
) -> Option<Item> {
    let name = match job.robot.element(shape.place) {
        _ if !shape.name.is_empty() => format!("{:?}", shape.name),
        Some(element) => format!("the shape on line {}", job.line(element)),
        None => "a shape".to_owned(),
    };
    let what = match (shape.touches, is_more_than_bar(&job.four_bar.pins, part, link, shape)) {
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
fn sweep<'a>(job: &Job<'a>, link: Element<'a>, found: &mut Vec<(Element<'a>, String)>) {
    let is_zero = |text: &str| text.trim().parse::<f64>().is_ok_and(|x| x == 0.0);
    let gravcomp = link.value("gravcomp").filter(|value| !is_zero(value));
    if gravcomp.is_some_and(|value| !all_have(job, &value)) {
        found.push((link, "gravity compensation (gravcomp)".to_owned()));
    }
    if link.value("user").is_some() {
        found.push((link, "user data".to_owned()));
    }
    for child in link.children() {
        match (job.robot.format, child.name()) {
            (Format::Mjcf, "frame") => sweep(job, child, found),
            (Format::Mjcf, "body") if goes(job, child) || moves(job, child) => {}
            (Format::Mjcf, "site") if is_pin(job, child) => {}
            (Format::Mjcf, "inertial" | "joint" | "geom")
                if child.value("user").is_none() && child.child("plugin").is_none() => {}
            (Format::Urdf, "inertial" | "visual" | "collision") => {}
            (
                Format::Sdformat,
                "pose" | "inertial" | "visual" | "collision" | "self_collide" | "velocity_decay"
                | "must_be_base_link",
            ) => {}
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
fn all_have(job: &Job<'_>, gravcomp: &str) -> bool {
    let figure = |text: &str| text.trim().parse::<f64>().ok();
    let links = job.new.links.iter().filter_map(|(id, _)| job.robot.links.get(*id));
    let mut bodies = links.map(|link| job.robot.element(link.place)?.value("gravcomp"));
    let alike = |own: Option<std::borrow::Cow<'_, str>>| {
        own.is_some_and(|own| figure(&own).is_some() && figure(&own) == figure(gravcomp))
    };
    !job.new.links.is_empty() && bodies.all(alike)
}

fn moves(job: &Job<'_>, body: Element<'_>) -> bool {
    let mut links = job.gone.moved.iter().filter_map(|m| job.robot.links.get(m.seat.link));
    links.any(|link| {
        let document = job.robot.document(link.place);
        link.place.element == body.id()
            && document.is_some_and(|d| std::ptr::eq(d, body.document()))
    })
}

fn goes(job: &Job<'_>, body: Element<'_>) -> bool {
    let mut links = job.gone.links.iter().filter_map(|id| job.robot.links.get(*id));
    links.any(|link| link.place.document == 0 && link.place.element == body.id())
}

/// A site that closes the loop.
fn is_pin(job: &Job<'_>, site: Element<'_>) -> bool {
    let Some(name) = site.value("name") else { return false };
    let closures = job.gone.closures.iter().filter_map(|id| job.robot.closures.get(*id));
    closures.filter_map(|closure| job.robot.element(closure.place)).any(|element| {
        ["site1", "site2"].iter().any(|key| element.value(key).is_some_and(|site| site == name))
    })
}
