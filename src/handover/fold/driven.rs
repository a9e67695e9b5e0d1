//! The driven joint's figures, named as URDF and SDFormat both name them.

use super::numbers::{is_same, text};
use super::{Changes, Job, mimic};
use crate::robot::{Edits, Element, escaped};

/// Where a format has a figure of an element.
#[derive(Clone, Copy)]
pub(super) enum Said {
    /// In an attribute: URDF.
    Attribute,
    /// In a child of its own: SDFormat.
    Child,
}

impl Said {
    pub(super) fn known(self, element: Element<'_>, key: &str) -> Option<f64> {
        let text = match self {
            Self::Attribute => element.value(key)?,
            Self::Child => element.child(key)?.text(),
        };
        text.trim().parse().ok()
    }

    pub(super) fn set(self, element: Element<'_>, key: &str, value: &str, edits: &mut Edits) {
        match (self, element.child(key)) {
            (Self::Attribute, _) => edits.set(element, key, value),
            (Self::Child, Some(child)) => edits.set_text(child, value),
            (Self::Child, None) => edits.append(element, &format!("<{key}>{value}</{key}>")),
        }
    }

    /// The text of an element with these.
    pub(super) fn element(self, name: &str, figures: &[(&str, String)]) -> String {
        let each = figures.iter().map(|(key, value)| (key, escaped(value)));
        match self {
            Self::Attribute => {
                let all: String = each.map(|(key, value)| format!(" {key}=\"{value}\"")).collect();
                format!("<{name}{all}/>")
            }
            Self::Child => {
                let line = |(key, value)| format!("  <{key}>{value}</{key}>\n");
                format!("<{name}>\n{}</{name}>", each.map(line).collect::<String>())
            }
        }
    }

    /// Sets what changes of the figures of a child of `parent`, which is made where there is none.
    pub(super) fn change(
        self,
        parent: Element<'_>,
        name: &str,
        figures: &[(&str, f64)],
        edits: &mut Edits,
    ) {
        let Some(element) = parent.child(name) else {
            let texts: Vec<_> = figures.iter().map(|(key, x)| (*key, text(*x))).collect();
            if !texts.is_empty() {
                edits.append(parent, &self.element(name, &texts));
            }
            return;
        };
        for (key, figure) in figures {
            let known = self.known(element, key);
            if known.is_none() || !is_same(known, *figure) {
                self.set(element, key, &text(*figure), edits);
            }
        }
    }
}

impl Job<'_> {
    /// Both ends of the joint's limits, where they are new and finite.
    pub(super) fn new_limit(&self) -> Option<[f64; 2]> {
        let limit = self.figures.limit;
        (self.figures.limit_is_new && limit.iter().all(|end| end.is_finite())).then_some(limit)
    }

    /// The driven joint follows what the motor's followed.
    pub(super) fn follow_leader(&self, changes: &mut Changes) {
        if let Some(led) = self.motor.mimic.as_ref().filter(|_| self.motor_moves()) {
            let line = self.figures.joint_along([led.multiplier, led.offset]);
            mimic::follow(self, self.driven, &led.leader, line, changes);
        }
    }

    /// What goes into the joint's `limit`.
    pub(super) fn limits(&self) -> Vec<(&'static str, f64)> {
        let ends = self.new_limit().map(|[low, high]| [("lower", low), ("upper", high)]);
        let effort = self.figures.effort.map(|x| ("effort", x));
        let velocity = self.figures.velocity.map(|x| ("velocity", x));
        ends.into_iter().flatten().chain(effort).chain(velocity).collect()
    }

    /// What goes into the joint's `dynamics`: the figures that change.
    pub(super) fn losses(&self) -> Vec<(&'static str, f64)> {
        let losses = [
            ("damping", self.driven.damping, self.figures.damping),
            ("friction", self.driven.friction, self.figures.friction),
        ];
        let changed = losses.into_iter().filter(|(_, known, new)| !is_same(*known, *new));
        changed.map(|(key, _, new)| (key, new)).collect()
    }

    /// Says the armature beside the joint, in a format that holds none.
    pub(super) fn remark_armature(&self, joint: Element<'_>, changes: &mut Changes) {
        let Some(armature) = self.new.armature.filter(|a| *a > 1e-12) else { return };
        let (armature, format) = (text(armature), self.robot.format.name());
        changes.edits.append(
            joint,
            &format!(
                "<!-- armature {armature} kg m^2 at this joint, which {format} does not hold -->"
            ),
        );
        changes.notes.push(format!(
            "{format} holds no armature: set {armature} kg m² at {:?} in the engine",
            self.driven.name
        ));
    }
}
