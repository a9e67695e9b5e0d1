//! Rust, for `core` alone; the closed form also calls the crate `libm`.

use std::fmt::Write as _;

use super::code::{
    Code, Joint, MOTOR_SPEED, MOTOR_TORQUE, Notation, changes_later, ratio, speed, torque,
};
use super::core::{GIVEN, RATE, TURN};
use super::direction::{Direction, READING, RESULT, Wrapper};
use super::expression::{Function, Line};
use super::{Language, Number, head};

pub(super) struct Rust(pub(super) Number);

impl Rust {
    pub(super) fn kind(&self) -> &'static str {
        match self.0 {
            Number::Float => "f32",
            Number::Double => "f64",
        }
    }
}

impl Notation for Rust {
    fn constant(&self, value: f64) -> String {
        self.0.decimals(self.0.nearest(value))
    }

    fn function(&self, function: Function) -> String {
        format!("libm::{}{}", function.name(), if self.0 == Number::Float { "f" } else { "" })
    }

    fn held(&self, reading: &str, ends: [f64; 2]) -> String {
        let [low, high] = ends.map(|end| self.constant(end));
        format!(
            "if {reading} < {low} {{ {low} }} else if {reading} > {high} {{ {high} }} else {{ {reading} }}"
        )
    }
}

/// The file, a module of its own.
pub(super) fn text(code: &Code) -> String {
    let rust = Rust(code.number());
    let mut out = head::comment(code, Language::Rust, "//");
    out += if code.needs_library() {
        "// Needs the crate libm, and no std.\n"
    } else {
        "// Needs no crate, and no std.\n"
    };
    out += allowed_of(code.joints.iter().map(|joint| &joint.name).chain([&code.name]));
    out += &types(&rust);
    out += &core(&rust, code, "joint_turn", &code.to_joint);
    if let Some(back) = &code.to_motor {
        out += &core(&rust, code, "motor_turn", back);
    }
    for (joint, there, back) in code.wrapped() {
        out += &joint_text(&rust, code, joint, there, back);
    }
    out
}

/// What a file with these names asks of the compiler.
pub(super) fn allowed_of<'a>(mut names: impl Iterator<Item = &'a String>) -> &'static str {
    let has_capitals = names.any(|name| name.contains(|c: char| c.is_ascii_uppercase()));
    if has_capitals { "#![allow(non_snake_case)]\n" } else { "" }
}

fn types(rust: &Rust) -> String {
    let kind = rust.kind();
    format!(
        "
/// Where the motor's reading lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {{
    /// Within the stroke.
    Inside = 0,
    /// Below it.
    Below = 1,
    /// Above it.
    Above = 2,
    /// Nowhere.
    NotANumber = 3,
}}

/// The joint's angle (rad), speed (rad/s) and torque (N m).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Output {{
    /// rad
    pub joint: {kind},
    /// rad/s
    pub speed: {kind},
    /// N m
    pub torque: {kind},
    /// Of the motor's reading.
    pub status: Status,
}}
"
    )
}

/// A later value of the same variable takes the place of the earlier.
pub(super) fn body(rust: &Rust, lines: &[Line]) -> String {
    let mut out = String::new();
    for (k, line) in lines.iter().enumerate() {
        // A variable that another line makes anew needs its type once, so that all literals get it.
        let kind =
            if changes_later(lines, k) { format!(": {}", rust.kind()) } else { String::new() };
        _ = writeln!(out, "    let {}{kind} = {};", line.name, rust.text(&line.value));
    }
    out
}

fn core(rust: &Rust, code: &Code, what: &str, direction: &Direction) -> String {
    let (kind, name) = (rust.kind(), &code.name);
    format!(
        "
/// Turn to turn from the zero pose about the linkage's axis, rad, and turn per turn.
fn {name}_{what}({GIVEN}: {kind}) -> ({kind}, {kind}) {{
{}    ({TURN}, {RATE})
}}
",
        body(rust, &direction.core)
    )
}

/// From reading to reading and the rate of readings.
fn solver(rust: &Rust, code: &Code, own: &str, core: &str, wrapper: &Wrapper) -> String {
    let kind = rust.kind();
    format!(
        "
fn {own}({READING}: {kind}) -> ({kind}, {kind}) {{
{}    let ({TURN}, {RATE}) = {}_{core}({GIVEN});
{}    ({RESULT}, {RATE})
}}
",
        body(rust, &wrapper.before),
        code.name,
        body(rust, &wrapper.behind)
    )
}

fn joint_text(
    rust: &Rust,
    code: &Code,
    joint: &Joint,
    there: &Wrapper,
    back: Option<&Wrapper>,
) -> String {
    let (kind, own) = (rust.kind(), &joint.name);
    let mut out = solver(rust, code, &format!("{own}_to_joint"), "joint_turn", there);
    if let Some(back) = back {
        out += &solver(rust, code, &format!("{own}_to_motor"), "motor_turn", back);
        _ = write!(
            out,
            "
/// Motor angle at a joint angle, rad.
#[must_use]
pub fn {own}_motor_from_joint(joint: {kind}) -> {kind} {{
    {own}_to_motor(joint).0
}}
"
        );
    }
    let [low, high] = there.within.map(|end| rust.constant(end));
    _ = write!(
        out,
        "
/// Joint angle at a motor angle, rad.
#[must_use]
pub fn {own}_joint_from_motor(motor: {kind}) -> {kind} {{
    {own}_to_joint(motor).0
}}

/// Motor speed per joint speed, which is joint torque per motor torque.
#[must_use]
pub fn {own}_ratio_at_motor(motor: {kind}) -> {kind} {{
    let (_, {RATE}) = {own}_to_joint(motor);
    {}
}}

/// Joint angle, speed and torque from the motor's: rad, rad/s, N m.
#[must_use]
pub fn {own}_map(motor: {kind}, {MOTOR_SPEED}: {kind}, {MOTOR_TORQUE}: {kind}) -> Output {{
    let (joint, {RATE}) = {own}_to_joint(motor);
    let status = if motor < {low} {{
        Status::Below
    }} else if motor > {high} {{
        Status::Above
    }} else if motor >= {low} {{
        Status::Inside
    }} else {{
        Status::NotANumber
    }};
    Output {{ joint, speed: {}, torque: {}, status }}
}}
",
        rust.text(&ratio()),
        rust.text(&speed()),
        rust.text(&torque())
    );
    out
}
