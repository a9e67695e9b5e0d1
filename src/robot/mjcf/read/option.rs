//! What `option` says: which parts of the physics the simulation leaves out.

use std::collections::{BTreeMap, BTreeSet};

use super::Reading;
use super::include::Node;
use crate::robot::place::Remark;

/// A part of the physics that a flag switches off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Effect {
    Equality,
    Limit,
    Friction,
    Damper,
    Spring,
    Signal,
    Actuation,
    Gravity,
}

/// The flags, what each switches off, and what that means.
const FLAGS: [(&str, &[Effect], &str); 10] = [
    (
        "equality",
        &[Effect::Equality],
        "every equality is switched off here: none closes a loop or ties joints",
    ),
    (
        "limit",
        &[Effect::Limit],
        "every limit of a joint or tendon is switched off here: none ends a motion",
    ),
    (
        "frictionloss",
        &[Effect::Friction],
        "all friction of joints and tendons is switched off here",
    ),
    (
        "constraint",
        &[Effect::Equality, Effect::Limit, Effect::Friction],
        "every constraint is switched off here: no limit ends a motion, no equality closes a loop or ties joints, there is no friction and no contact",
    ),
    (
        "damper",
        &[Effect::Damper],
        "every damper is switched off here, in joints, tendons and actuators",
    ),
    ("spring", &[Effect::Spring], "every spring is switched off here, in joints and tendons"),
    ("passive", &[Effect::Damper, Effect::Spring], "every spring and damper is switched off here"),
    ("clampctrl", &[Effect::Signal], "no control signal is held to its range here"),
    ("actuation", &[Effect::Actuation], "every actuator is switched off here"),
    ("gravity", &[Effect::Gravity], "gravity is switched off here: no link weighs anything"),
];

/// What the simulation leaves out.
#[derive(Debug, Default)]
pub(super) struct Options<'a> {
    /// The flags that switch something off, by their place in [`FLAGS`]; the last word on each counts.
    off: BTreeMap<usize, Node<'a>>,
    /// Groups of actuators that are switched off.
    groups: BTreeSet<i32>,
    /// Where gravity is set, and whether to none.
    gravity: Option<(Node<'a>, bool)>,
}

impl Options<'_> {
    /// Whether this part of the physics takes place.
    pub(super) fn has(&self, effect: Effect) -> bool {
        let mut off = self.off.keys().filter_map(|at| FLAGS.get(*at));
        !off.any(|(_, effects, _)| effects.contains(&effect))
    }

    /// Whether an actuator of this group does nothing.
    pub(super) fn are_off(&self, group: f64) -> bool {
        !self.has(Effect::Actuation)
            || self.groups.iter().any(|off| (f64::from(*off) - group).abs() < 0.5)
    }
}

impl<'a> Reading<'a> {
    /// One `option` section.
    pub(super) fn option(&mut self, node: Node<'a>) {
        if let Some(gravity) = self.own_numbers::<3>(node, "gravity") {
            self.options.gravity = Some((node, gravity.iter().all(|x| *x == 0.0)));
        }
        let groups = node.text("actuatorgroupdisable");
        let groups: Vec<i32> =
            groups.split_whitespace().filter_map(|one| one.parse().ok()).collect();
        if !groups.is_empty() {
            let all: Vec<String> = groups.iter().map(i32::to_string).collect();
            let what = format!("actuators of group {} are switched off here", all.join(", "));
            self.robot.settings.push(Remark { place: node.place(), message: what });
            self.options.groups.extend(groups);
        }
        let thickness = ["density", "viscosity"].map(|name| self.own_numbers::<1>(node, name));
        if thickness.iter().flatten().any(|[figure]| *figure > 0.0) {
            let what = "every body moves through a medium here (density, viscosity), whose drag is in no figure";
            self.robot.settings.push(Remark { place: node.place(), message: what.to_owned() });
        }
        for flag in self.files.children(node).into_iter().filter(|one| one.tag() == "flag") {
            self.flags(flag);
        }
    }

    fn flags(&mut self, node: Node<'a>) {
        for (at, (name, ..)) in FLAGS.iter().enumerate() {
            match self.choice(node, name, &["enable", "disable"]).as_deref() {
                Some("disable") => _ = self.options.off.insert(at, node),
                Some(_) => _ = self.options.off.remove(&at),
                None => {}
            }
        }
    }

    /// Says what is left out, when all sections are read.
    pub(super) fn settings(&mut self) {
        let told =
            self.options.off.iter().filter_map(|(at, node)| Some((*node, FLAGS.get(*at)?.2)));
        let weightless = self.options.gravity.filter(|(_, is_none)| *is_none);
        let weightless =
            weightless.map(|(node, _)| (node, "gravity is none here: no link weighs anything"));
        let told: Vec<Remark> = told
            .chain(weightless)
            .map(|(node, what)| Remark { place: node.place(), message: what.to_owned() })
            .collect();
        self.robot.settings.extend(told);
    }
}
