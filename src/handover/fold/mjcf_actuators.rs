//! Actuators of the motor's joint, moved to the driven joint.
//!
//! The control signal keeps its sense: where the joint turns the other way than the motor did, the gear is negative. In
//! **motor** units the gear is gear · slope, so that the signal means what it meant. In **joint** units the gear is 1 or
//! −1, the force range the joint's torque, a position target the joint's reading counted in the signal's sense. What
//! becomes of a signal is one straight line, [`Signal`], which ranges and keyframes follow alike.

use super::cut::{Cut, MovedMotor, Onto};
use super::numbers::{is_same, list, text};
use super::seen::Seen;
use super::{Changes, FoldFault};
use crate::handover::ActuatorUnits;
use crate::robot::{Element, FileActuator};

/// What a control signal of before becomes: `scale` · signal + `shift`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Signal {
    pub(super) scale: f64,
    pub(super) shift: f64,
}

impl Signal {
    const SAME: Self = Self { scale: 1.0, shift: 0.0 };

    pub(super) fn is_same(self) -> bool {
        is_same(Some(self.scale), 1.0) && self.shift.abs() <= 0.0
    }

    pub(super) fn of(self, signal: f64) -> f64 {
        self.scale * signal + self.shift
    }
}

/// One actuator before and after.
struct Move<'a> {
    cut: &'a Cut<'a>,
    motor: &'a MovedMotor<'a>,
    element: Element<'a>,
    actuator: &'a FileActuator,
    seen: Seen,
    /// Motor torque's share at the joint, signed: the old gear seen there.
    slope: f64,
    units: ActuatorUnits,
}

/// What becomes of the control signal of the actuator at this element, where it is one that moves.
pub(super) fn signal(cut: &Cut<'_>, element: Element<'_>) -> Option<Signal> {
    moved(cut, element).map(|moved| moved.signal())
}

fn moved<'a>(cut: &'a Cut<'a>, element: Element<'a>) -> Option<Move<'a>> {
    let (motor, actuator) = cut.motors.iter().find_map(|motor| {
        let mut all = motor.actuators(cut.robot);
        let own = all.find(|a| a.place.document == 0 && a.place.element == element.id())?;
        Some((motor, own))
    })?;
    let seen = motor.seen;
    // Only a force and a position servo have a joint's units of their own.
    let units = match element.name() {
        "motor" | "position" if motor.driven().is_some() => cut.options.actuator,
        _ => ActuatorUnits::Motor,
    };
    let slope = actuator.gear * seen.line[0];
    Some(Move { cut, motor, element, actuator, seen, slope, units })
}

/// Changes the actuator at this element, where it is one of the motor's joint.
pub(super) fn change(cut: &Cut<'_>, element: Element<'_>, changes: &mut Changes) -> bool {
    let Some(moved) = moved(cut, element) else { return false };
    for key in ["joint", "jointinparent"] {
        if element.value(key).is_none_or(|name| name != moved.motor.joint.name.as_str()) {
            continue;
        }
        match &moved.motor.onto {
            Onto::Tendon(tendon) => {
                changes.edits.unset(element, key);
                changes.edits.set(element, "tendon", tendon);
            }
            Onto::Joint(driven) => changes.edits.set(element, key, &driven.name),
        }
    }
    match moved.units {
        ActuatorUnits::Motor => moved.in_motor_units(changes),
        ActuatorUnits::Joint => moved.in_joint_units(changes),
    }
    moved.ranges(changes);
    true
}

impl Move<'_> {
    /// A servo's target is a reading, anything else a torque or a speed.
    fn is_servo(&self) -> bool {
        self.element.name() == "position" || self.actuator.gains.is_some()
    }

    fn gear(&self) -> f64 {
        match self.units {
            ActuatorUnits::Motor => self.slope,
            ActuatorUnits::Joint => self.slope.signum(),
        }
    }

    fn signal(&self) -> Signal {
        let shift = self.actuator.gear * self.seen.line[1];
        match (self.units, self.is_servo()) {
            (ActuatorUnits::Motor, false) => Signal::SAME,
            // `general` takes the shift into its bias.
            (ActuatorUnits::Motor, true) if self.element.name() == "general" => Signal::SAME,
            (ActuatorUnits::Motor, true) => Signal { scale: 1.0, shift: -shift },
            (ActuatorUnits::Joint, false) => Signal { scale: self.slope.abs(), shift: 0.0 },
            (ActuatorUnits::Joint, true) => {
                Signal { scale: 1.0 / self.slope.abs(), shift: -shift / self.slope.abs() }
            }
        }
    }

    fn name(&self) -> String {
        if self.actuator.name.is_empty() {
            format!("the actuator on line {}", self.cut.line(self.element))
        } else {
            format!("actuator {:?}", self.actuator.name)
        }
    }

    fn in_motor_units(&self, changes: &mut Changes) {
        // A tendon that grows as the slide did keeps the bytes.
        if self.motor.driven().is_some() || !is_same(Some(self.actuator.gear), self.gear()) {
            changes.edits.set(self.element, "gear", &text(self.gear()));
        }
        let share = self.seen.share / self.seen.line[0].abs();
        if let Some(force) = self.actuator.forces().filter(|_| !is_same(Some(share), 1.0)) {
            changes.edits.set(self.element, "forcerange", &list(&force.map(|f| f * share)));
            // What its signal's range alone has bounded keeps its signal and gets a range of its force.
            if self.actuator.force.is_none() {
                changes.edits.set(self.element, "forcelimited", "true");
            }
        }
        self.inertia_and_damping(1.0, changes);
        if self.cut.options.actuator == ActuatorUnits::Joint
            && self.motor.driven().is_some()
            && !is_same(Some(self.seen.line[0]), 1.0)
        {
            changes.notes.push(format!(
                "{} is a <{}>: it stays in the motor's units",
                self.name(),
                self.element.name()
            ));
        }
        match self.element.name() {
            "general" => self.bias(changes),
            "motor" | "position" | "velocity" | "damper" => {}
            // Their force follows from their length or state as well, which count from the motor's zero.
            kind if self.seen.line[1].abs() > 0.0 || kind == "plugin" || kind == "muscle" => {
                changes.faults.push(FoldFault::at(
                    self.element,
                    format!("{} is a <{kind}>, whose length or state cannot be followed to the driven joint", self.name()),
                    "write it as <motor>, <position>, <velocity> or <general>, then fold",
                ));
            }
            _ => {}
        }
    }

    /// A force that grows with the motor's reading counts from the motor's zero, which the joint does not have.
    fn bias(&self, changes: &mut Changes) {
        let shift = self.actuator.gear * self.seen.line[1];
        let is_affine =
            |element: Element<'_>| element.value("biastype").is_some_and(|kind| kind == "affine");
        if shift.abs() <= 0.0 || !is_affine(self.element) && self.actuator.gains.is_none() {
            return;
        }
        let own = self.element.value("biasprm");
        let own = own.as_deref().map(|value| {
            value.split_whitespace().map(str::parse::<f64>).collect::<Result<Vec<f64>, _>>()
        });
        match own {
            Some(Ok(mut bias)) => {
                let per_reading = bias.get(1).copied().unwrap_or(0.0);
                if let Some(constant) = bias.first_mut() {
                    *constant += per_reading * shift;
                }
                changes.edits.set(self.element, "biasprm", &list(&bias));
            }
            _ => changes.faults.push(FoldFault::at(
                self.element,
                format!(
                    "the bias of {} counts from the motor's zero, {} rad from the joint's, and does not stand on its own line",
                    self.name(),
                    text(self.seen.line[1])
                ),
                "write biasprm=\"…\" on the actuator itself, then fold",
            )),
        }
    }

    fn in_joint_units(&self, changes: &mut Changes) {
        let (element, actuator) = (self.element, self.actuator);
        changes.edits.set(element, "gear", &text(self.gear()));
        if let Some(driven) = self.motor.driven().filter(|_| self.gear() < 0.0) {
            changes.notes.push(format!(
                "{} has gear -1: joint {:?} turns the other way than {:?} did, and its signal keeps its sense",
                self.name(),
                driven.name,
                self.motor.joint.name
            ));
        }
        let share = actuator.gear.abs() * self.seen.share;
        if let Some(force) = actuator.force {
            changes.edits.set(element, "forcerange", &list(&force.map(|f| f * share)));
        }
        let square = self.slope * self.slope;
        if let Some([position, velocity]) = actuator.gains.filter(|_| element.name() == "position")
        {
            changes.edits.set(element, "kp", &text(position * square));
            if velocity.abs() > 0.0 {
                changes.edits.set(element, "kv", &text(velocity * square));
            }
        }
        if !self.is_servo() && !is_same(Some(self.slope.abs()), 1.0) {
            changes.notes.push(format!(
                "{} takes joint torque now, N m: {} times the motor's signal (--actuator motor keeps that)",
                self.name(),
                text(self.slope.abs())
            ));
        }
        self.inertia_and_damping(square, changes);
    }

    fn inertia_and_damping(&self, square: f64, changes: &mut Changes) {
        let (armature, damping) = (self.actuator.armature, self.actuator.damping);
        let armature_grows = square * self.seen.armature_share;
        for (key, known, by) in
            [("armature", armature, armature_grows), ("damping", damping, square)]
        {
            if let Some(figure) = known.filter(|x| !is_same(Some(*x), x * by)) {
                changes.edits.set(self.element, key, &text(figure * by));
            }
        }
    }

    /// The range of the signal, and what software that gives it must do.
    fn ranges(&self, changes: &mut Changes) {
        let signal = self.signal();
        let inherits = self.cut.document.root().descendants();
        let inherits = inherits.filter(|e| e.value("inheritrange").is_some()).count() > 0;
        let inherits = inherits && self.element.name() == "position";
        if let Some(control) = self.actuator.control.filter(|_| inherits || !signal.is_same()) {
            let share = self.seen.share;
            let is_torque = self.units == ActuatorUnits::Joint && !self.is_servo();
            // A torque's range ends where the joint's limit of torque does.
            let end = |c: f64| {
                if is_torque { c * self.actuator.gear.abs() * share } else { signal.of(c) }
            };
            changes.edits.set(self.element, "ctrlrange", &list(&control.map(end)));
        }
        if inherits {
            changes.edits.set(self.element, "inheritrange", "0");
        }
        if self.is_servo() && !signal.is_same() {
            let sign = if signal.shift < 0.0 { "−" } else { "+" };
            changes.notes.push(format!(
                "{}: a target of before is now {} · target {sign} {} rad",
                self.name(),
                text(signal.scale),
                text(signal.shift.abs())
            ));
        }
    }

    /// Whether the actuator's own length, speed and force say what they said.
    fn reads_the_same(&self) -> bool {
        let length = self.seen.line[1].abs() <= 0.0;
        length && (self.units == ActuatorUnits::Motor || is_same(Some(self.slope.abs()), 1.0))
    }
}

/// A sensor of an actuator that moves, where it would read otherwise than before.
pub(super) fn sensor(cut: &Cut<'_>, element: Element<'_>) -> Option<FoldFault> {
    let named = element.value("actuator")?;
    let actuators = cut.document.root().children_named("actuator").flat_map(Element::children);
    let of = actuators.into_iter().find(|a| a.value("name").is_some_and(|name| name == named))?;
    let is_changed = moved(cut, of).is_some_and(|moved| !moved.reads_the_same());
    is_changed.then(|| {
        FoldFault::at(
            element,
            format!(
                "<{}> reads {named:?}, whose units or zero change with the fold",
                element.name()
            ),
            "--actuator motor keeps its units; else rewrite or remove this line, then fold",
        )
    })
}
