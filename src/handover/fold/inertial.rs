//! What a link weighs, written as each format writes it.

use super::Changes;
use super::numbers::{digits, list, text};
use super::said::Said;
use crate::robot::{Element, Inertial};

/// xx, yy, zz, xy, xz, yz as URDF and SDFormat name them.
const KEYS: [&str; 6] = ["ixx", "iyy", "izz", "ixy", "ixz", "iyz"];

/// As the file gets it.
pub(super) fn rounded(inertial: &Inertial) -> Inertial {
    let Inertial { mass, center, tensor } = *inertial;
    Inertial { mass: digits(mass), center: center.map(digits), tensor: tensor.map(digits) }
}

/// The mass figures of a URDF link, in the link's own frame.
pub(super) fn urdf(link: Element<'_>, inertial: &Inertial, changes: &mut Changes) {
    let tensor = KEYS.into_iter().zip(inertial.tensor.map(text));
    let children = [
        ("origin", vec![("xyz", list(&inertial.center))]),
        ("mass", vec![("value", text(inertial.mass))]),
        ("inertia", tensor.collect()),
    ];
    let Some(element) = link.child("inertial") else {
        let lines: String = children
            .iter()
            .map(|(name, all)| format!("  {}\n", Said::Attribute.element(name, all)))
            .collect();
        return changes.edits.append(link, &format!("<inertial>\n{lines}</inertial>"));
    };
    for (name, figures) in children {
        let Some(child) = element.child(name) else {
            changes.edits.append(element, &Said::Attribute.element(name, &figures));
            continue;
        };
        figures.iter().for_each(|(key, value)| changes.edits.set(child, key, value));
        if child.value("rpy").is_some() {
            changes.edits.set(child, "rpy", "0 0 0");
        }
    }
}

/// The mass figures of an SDFormat link, in the link's own frame.
pub(super) fn sdformat(link: Element<'_>, inertial: &Inertial, changes: &mut Changes) {
    let entries = KEYS.into_iter().zip(inertial.tensor.map(text)).collect::<Vec<_>>();
    let pose = format!("{} 0 0 0", list(&inertial.center));
    let tensor = Said::Child.element("inertia", &entries);
    let Some(element) = link.child("inertial") else {
        let inside: String = tensor.lines().map(|line| format!("  {line}\n")).collect();
        changes.edits.append(
            link,
            &format!(
                "<inertial>\n  <pose>{pose}</pose>\n  <mass>{}</mass>\n{inside}</inertial>",
                text(inertial.mass)
            ),
        );
        return;
    };
    match element.child("pose") {
        Some(known) => {
            changes.edits.set_text(known, &pose);
            changes.edits.unset(known, "rotation_format");
        }
        None => changes.edits.append(element, &format!("<pose>{pose}</pose>")),
    }
    Said::Child.set(element, "mass", &text(inertial.mass), &mut changes.edits);
    match element.child("inertia") {
        Some(known) => entries
            .iter()
            .for_each(|(key, figure)| Said::Child.set(known, key, figure, &mut changes.edits)),
        None => changes.edits.append(element, &tensor),
    }
}

/// Attributes of an `inertial` that say what `pos`, `mass` and `fullinertia` say then.
const OTHER_FORMS: [&str; 6] = ["quat", "axisangle", "xyaxes", "zaxis", "euler", "diaginertia"];

/// The mass figures of a body, in its own frame.
pub(super) fn mjcf(body: Element<'_>, inertial: &Inertial, changes: &mut Changes) {
    let figures = [
        ("pos", list(&inertial.center)),
        ("mass", text(inertial.mass)),
        ("fullinertia", list(&inertial.tensor)),
    ];
    if let Some(element) = body.child("inertial") {
        for key in OTHER_FORMS {
            changes.edits.unset(element, key);
        }
        for (key, value) in figures {
            changes.edits.set(element, key, &value);
        }
        return;
    }
    changes.edits.append(body, &Said::Attribute.element("inertial", &figures));
}
