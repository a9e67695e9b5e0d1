//! The driven joint's figures, named as URDF and SDFormat both name them.

use super::numbers::{is_same, text};
use super::{Changes, Job, mimic};
use crate::robot::{Element, Mimic};

impl Job<'_> {
    /// Both ends of the joint's limits, where they are new and finite.
    pub(super) fn new_limit(&self) -> Option<[f64; 2]> {
        let limit = self.figures.limit;
        (self.figures.limit_is_new && limit.iter().all(|end| end.is_finite())).then_some(limit)
    }

    /// What the motor's joint follows and the driven joint is to follow: nothing of the linkage itself.
    pub(super) fn leader(&self) -> Option<&Mimic> {
        let gone = self.cut.gone.joint_names(self.robot);
        let is_own = |led: &&Mimic| led.leader == self.driven.name || gone.contains(&*led.leader);
        self.motor.mimic.as_ref().filter(|led| self.motor_moves() && !is_own(led))
    }

    /// The driven joint follows what the motor's followed.
    pub(super) fn follow_leader(&self, changes: &mut Changes) {
        if let Some(led) = self.leader() {
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
        let Some(armature) = self.cut.new.armature.filter(|a| *a > 1e-12) else { return };
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
