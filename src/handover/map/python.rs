//! Python, with the array module as an argument: what differentiates arrays differentiates the map.

use std::fmt::Write as _;

use super::code::{Code, Joint, MOTOR_SPEED, MOTOR_TORQUE, Notation, ratio, speed, torque};
use super::core::{GIVEN, RATE, TURN};
use super::direction::{Direction, READING, RESULT, Wrapper};
use super::expression::{Function, Line};
use super::{Language, Number, head};

pub(super) struct Python(pub(super) Number);

impl Notation for Python {
    fn constant(&self, value: f64) -> String {
        self.0.decimals(self.0.nearest(value))
    }

    fn function(&self, function: Function) -> String {
        let name = match function {
            Function::AngleOf => "arctan2",
            other => other.name(),
        };
        format!("xp.{name}")
    }

    fn held(&self, reading: &str, ends: [f64; 2]) -> String {
        let [low, high] = ends.map(|end| self.constant(end));
        format!("xp.clip({reading}, {low}, {high})")
    }
}

/// The file, a module of its own.
pub(super) fn text(code: &Code) -> String {
    let python = Python(code.number());
    let mut out = head::comment(code, Language::Python, "#");
    out += "#
# xp is the array module: numpy, or one with the same names that differentiates.

INSIDE, BELOW, ABOVE, NOT_A_NUMBER = range(4)
";
    out += &core(&python, "_joint_turn", &code.to_joint);
    if let Some(back) = &code.to_motor {
        out += &core(&python, "_motor_turn", back);
    }
    for (joint, there, back) in code.wrapped() {
        out += &joint_text(&python, joint, there, back);
    }
    out
}

pub(super) fn body(python: &Python, lines: &[Line]) -> String {
    let mut out = String::new();
    for line in lines {
        // A rate that is the same everywhere gets the shape of the turn.
        let text = python.text(&line.value);
        let value = if line.name == RATE && line.value.is_constant() {
            format!("({text}) * xp.ones_like({GIVEN})")
        } else {
            text
        };
        _ = writeln!(out, "    {} = {value}", line.name);
    }
    out
}

fn core(python: &Python, own: &str, direction: &Direction) -> String {
    format!(
        "

def {own}({GIVEN}, xp):
    \"\"\"Turn to turn from the zero pose about the linkage's axis, rad, and turn per turn.\"\"\"
{}    return {TURN}, {RATE}
",
        body(python, &direction.core)
    )
}

/// From reading to reading and the rate of readings.
fn solver(python: &Python, own: &str, core: &str, wrapper: &Wrapper) -> String {
    format!(
        "

def {own}({READING}, xp):
{}    {TURN}, {RATE} = {core}({GIVEN}, xp)
{}    return {RESULT}, {RATE}
",
        body(python, &wrapper.before),
        body(python, &wrapper.behind)
    )
}

fn joint_text(python: &Python, joint: &Joint, there: &Wrapper, back: Option<&Wrapper>) -> String {
    let own = &joint.name;
    let mut out = solver(python, &format!("_{own}_to_joint"), "_joint_turn", there);
    if let Some(back) = back {
        out += &solver(python, &format!("_{own}_to_motor"), "_motor_turn", back);
        _ = write!(
            out,
            "

def {own}_motor_from_joint(joint, xp):
    \"\"\"Motor angle at a joint angle, rad.\"\"\"
    return _{own}_to_motor(joint, xp)[0]
"
        );
    }
    let [low, high] = there.within.map(|end| python.constant(end));
    _ = write!(
        out,
        "

def {own}_joint_from_motor(motor, xp):
    \"\"\"Joint angle at a motor angle, rad.\"\"\"
    return _{own}_to_joint(motor, xp)[0]


def {own}_ratio_at_motor(motor, xp):
    \"\"\"Motor speed per joint speed, which is joint torque per motor torque.\"\"\"
    {RATE} = _{own}_to_joint(motor, xp)[1]
    return {}


def {own}_map(motor, {MOTOR_SPEED}, {MOTOR_TORQUE}, xp):
    \"\"\"Joint angle (rad), speed (rad/s), torque (N m) and status from the motor's.\"\"\"
    joint, {RATE} = _{own}_to_joint(motor, xp)
    inside = xp.where(motor >= {low}, INSIDE, NOT_A_NUMBER)
    status = xp.where(motor < {low}, BELOW, xp.where(motor > {high}, ABOVE, inside))
    return joint, {}, {}, status
",
        python.text(&ratio()),
        python.text(&speed()),
        python.text(&torque())
    );
    out
}
