//! What drives joints.

use super::Reading;
use super::defaults::{ACTUATORS, Layers, MAIN};
use super::include::Node;
use super::option::Effect;
use crate::robot::model::FileActuator;
use crate::robot::properties::ActuatorProperties;

/// How an actuator's force follows from its control signal and its length.
#[derive(Clone, Copy)]
struct Law {
    gain: [f64; 10],
    bias: [f64; 10],
    is_fixed: bool,
    is_affine: bool,
    has_ratio: bool,
    has_state: bool,
    /// Its target is filtered by a time constant.
    lags: bool,
}

impl<'a> Reading<'a> {
    pub(super) fn actuator(&mut self, node: Node<'a>) {
        if !ACTUATORS.contains(&node.tag()) {
            return;
        }
        let layers = self.layers(node, MAIN, &ACTUATORS);
        let attribute =
            ["joint", "jointinparent"].into_iter().find(|name| node.own(name).is_some());
        let Some(attribute) = attribute else { return self.shared_drive(node) };
        let joint = self.joint_of(node, attribute);
        let properties = self.actuator_properties(node, &layers, false);
        let Some(joint) = joint else { return };
        let inherited =
            if node.tag() == "position" { self.inherited(&layers, joint) } else { None };
        let control = inherited.or(properties.control);
        self.robot.actuators.push(FileActuator {
            name: node.text("name"),
            place: node.place(),
            joint,
            properties: ActuatorProperties { control, ..properties },
        });
    }

    /// `may_shift`: the target of a position controller may count from elsewhere, by a constant force.
    pub(super) fn actuator_properties(
        &mut self,
        node: Node<'a>,
        layers: &Layers<'a>,
        may_shift: bool,
    ) -> ActuatorProperties {
        let [gear, ..] = self.leading_of(layers, "gear", [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
        let [damping, ..] = self.leading_of(layers, "damping", [0.0; 3]);
        let law = self.law(layers);
        let servo = self.servo(node, law, may_shift);
        let is_made = law.is_fixed && !law.is_affine && !law.has_state;
        let by_signal = matches!(node.tag(), "motor" | "general") && is_made;
        let control = self.limited(layers, "ctrlrange", "ctrllimited");
        let group = self.number(layers, "group").unwrap_or(0.0);
        ActuatorProperties {
            gear,
            force: self.limited(layers, "forcerange", "forcelimited"),
            control: control.filter(|_| self.options.has(Effect::Signal)),
            force_per_signal: by_signal.then_some(law.gain[0]),
            gains: servo.map(|(gains, _)| gains),
            shift: servo.map_or(0.0, |(_, shift)| shift),
            armature: self.number(layers, "armature"),
            damping: layers
                .figures("damping")
                .map(|_| damping)
                .filter(|_| self.options.has(Effect::Damper)),
            is_off: self.options.are_off(group),
            unread: self.beyond(layers, law, by_signal || servo.is_some()),
        }
    }

    /// What it does beyond a torque by its signal or a position control, where those are `read`.
    fn beyond(&mut self, layers: &Layers<'a>, law: Law, read: bool) -> String {
        let waits = self.number(layers, "delay").is_some_and(|delay| delay > 0.0);
        let all = [
            (!read, "a law of its own"),
            (read && law.lags, "a lag behind its target (timeconst)"),
            (waits, "a delay of its signal"),
        ];
        let all = all.into_iter().filter(|(is_there, _)| *is_there).map(|(_, what)| what);
        all.collect::<Vec<_>>().join(" and ")
    }

    /// A position controller may take the joint's range for its own, wider or narrower.
    fn inherited(&mut self, layers: &Layers<'a>, joint: usize) -> Option<[f64; 2]> {
        let share = self.number(layers, "inheritrange").filter(|share| *share > 0.0)?;
        let [low, high] = self.robot.joints.get(joint)?.limit?;
        let (middle, half) = (f64::midpoint(low, high), (high - low) / 2.0 * share);
        Some([middle - half, middle + half])
    }

    fn law(&mut self, layers: &Layers<'a>) -> Law {
        let mut law = Law {
            gain: first(1.0),
            bias: [0.0; 10],
            is_fixed: true,
            is_affine: false,
            has_ratio: false,
            has_state: false,
            lags: false,
        };
        for node in &layers.0 {
            law = self.apply(*node, law);
        }
        law
    }

    /// Gains of a position controller, also of one whose target is filtered, and what its reading is more than gear · length.
    fn servo(&mut self, actuator: Node<'a>, law: Law, may_shift: bool) -> Option<([f64; 2], f64)> {
        let ([kp, ..], [constant, position, velocity, ..]) = (law.gain, law.bias);
        let counts = may_shift || constant == 0.0;
        let is_servo = law.is_fixed && law.is_affine && counts && position + kp == 0.0 && kp != 0.0;
        if !is_servo || law.has_state {
            return None;
        }
        if law.has_ratio {
            let message =
                "dampratio: the velocity gain follows from the model's inertia and is not read";
            self.remark(actuator, message.to_owned());
            return Some(([kp, 0.0], -constant / kp + 0.0));
        }
        Some(([kp, -velocity + 0.0], -constant / kp + 0.0))
    }

    fn apply(&mut self, node: Node<'a>, law: Law) -> Law {
        match node.tag() {
            "general" => self.general(node, law),
            "position" => self.position(node, law),
            "intvelocity" => Law { has_state: true, ..self.position(node, law) },
            kind => Law {
                is_affine: false,
                gain: first(1.0),
                bias: [0.0; 10],
                is_fixed: kind == "motor" || law.is_fixed,
                has_state: kind != "motor" && law.has_state,
                lags: false,
                ..law
            },
        }
    }

    fn general(&mut self, node: Node<'a>, law: Law) -> Law {
        let mut law = law;
        if let Some(value) = node.figures("gainprm") {
            law.gain = self.leading(&value, "gainprm", law.gain);
        }
        if let Some(value) = node.figures("biasprm") {
            law.bias = self.leading(&value, "biasprm", law.bias);
        }
        if let Some(kind) = node.own("gaintype") {
            law.is_fixed = kind.written.text == "fixed";
        }
        if let Some(kind) = node.own("biastype") {
            law.is_affine = kind.written.text == "affine";
        }
        if let Some(kind) = node.own("dyntype") {
            law.has_state = kind.written.text != "none";
            law.lags = false;
        }
        law
    }

    fn position(&mut self, node: Node<'a>, law: Law) -> Law {
        let [was, ..] = law.gain;
        let kp = self.own_numbers(node, "kp").map_or(was, |[kp]| kp);
        let kv: Option<[f64; 1]> = self.own_numbers(node, "kv");
        let [_, _, kept, ..] = law.bias;
        let velocity = kv.map_or(kept, |[kv]| -kv);
        let mut bias = [0.0; 10];
        for (slot, x) in bias.iter_mut().zip([0.0, -kp, velocity]) {
            *slot = x;
        }
        let ratio: Option<[f64; 1]> = self.own_numbers(node, "dampratio");
        let lag: Option<[f64; 1]> = self.own_numbers(node, "timeconst");
        Law {
            gain: first(kp),
            bias,
            is_fixed: true,
            is_affine: true,
            has_ratio: law.has_ratio || ratio.is_some_and(|[ratio]| ratio > 0.0),
            has_state: false,
            lags: lag.map_or(law.lags, |[lag]| lag > 0.0),
        }
    }
}

fn first(x: f64) -> [f64; 10] {
    let mut all = [0.0; 10];
    all.first_mut().into_iter().for_each(|slot| *slot = x);
    all
}
