//! Rust, for `core` and the crate `libm`.

use super::super::Language;
use super::super::code::Notation as _;
use super::super::expression::Line;
use super::super::rust::{Rust, allowed_of, body};
use super::lines::{
    HELD, JOINT_READINGS, JOINT_SPEEDS, JOINT_TORQUES, JOINTS, MOTOR_READINGS, OFF,
};
use super::{Code, FIRST, PITCH, Pair, RATES, ROLL, SECOND, head};

/// The file, a module of its own.
pub(super) fn text(code: &Code) -> String {
    let rust = Rust(code.number);
    let mut out = head::comment(code, Language::Rust, "//");
    out += "// Needs the crate libm, and no std.\n";
    out += allowed_of(code.pairs.iter().map(|pair| &pair.name).chain([&code.name]));
    out += &types(rust.kind());
    out += &motor_turns(&rust, code);
    out += &joint_turns(&rust, code);
    code.pairs.iter().for_each(|pair| out += &of_pair(&rust, code, pair));
    out
}

fn types(kind: &str) -> String {
    let [[a, b], [c, d]] = RATES;
    format!(
        "
/// Where what is given lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {{
    /// Of the region.
    Inside = 0,
    /// Beyond it.
    Outside = 1,
    /// Nowhere.
    NotANumber = 2,
}}

/// Angles (rad), speeds (rad/s) and torques (N m) of pitch and roll.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Output {{
    /// rad
    pub joints: [{kind}; 2],
    /// rad/s
    pub speeds: [{kind}; 2],
    /// N m
    pub torques: [{kind}; 2],
    /// Of the motors' readings.
    pub status: Status,
}}

/// Both motor turns from the zero pose, rad, and their rates per rate of pitch and roll.
#[derive(Clone, Copy)]
struct Turns {{
    {FIRST}: {kind},
    {SECOND}: {kind},
    {a}: {kind},
    {b}: {kind},
    {c}: {kind},
    {d}: {kind},
}}

fn status(is_inside: bool, is_number: bool) -> Status {{
    match (is_inside, is_number) {{
        (true, _) => Status::Inside,
        (false, true) => Status::Outside,
        (false, false) => Status::NotANumber,
    }}
}}
"
    )
}

fn motor_turns(rust: &Rust, code: &Code) -> String {
    let (kind, [[a, b], [c, d]]) = (rust.kind(), RATES);
    format!(
        "
/// Motor turns from joint turns, all from the zero pose about the drawn axes, rad.
fn motor_turns({PITCH}: {kind}, {ROLL}: {kind}) -> Turns {{
{}    Turns {{ {FIRST}, {SECOND}, {a}, {b}, {c}, {d} }}
}}
",
        body(rust, &code.core)
    )
}

fn joint_turns(rust: &Rust, code: &Code) -> String {
    let kind = rust.kind();
    let [pitch, roll] = code.start().map(|x| rust.constant(x));
    let close = rust.constant(code.certified.close);
    let [held_pitch, held_roll] = HELD;
    let before = deeper(&body(rust, &code.step_before()));
    let behind = deeper(&assigned(rust, &Code::step_behind()));
    format!(
        "
/// Newton's steps from the middle of the region; the closed form as it was asked last.
fn joint_turns(asked_first: {kind}, asked_second: {kind}) -> ([{kind}; 2], Turns, Status) {{
    let (mut {PITCH}, mut {ROLL}): ({kind}, {kind}) = ({pitch}, {roll});
    let (mut off_first, mut off_second): ({kind}, {kind}) = (0.0, 0.0);
    let mut at = Turns {{ {FIRST}: 0.0, {SECOND}: 0.0, {}: 0.0, {}: 0.0, {}: 0.0, {}: 0.0 }};
    for _ in 0..{} {{
{before}        at = motor_turns({held_pitch}, {held_roll});
{behind}    }}
    let is_met = |off: {kind}| off <= {close} && -off <= {close};
    let is_number = !{PITCH}.is_nan() && !{ROLL}.is_nan();
    ([{PITCH}, {ROLL}], at, status(is_met(off_first) && is_met(off_second), is_number))
}}
",
        RATES[0][0], RATES[0][1], RATES[1][0], RATES[1][1], code.steps
    )
}

/// Variables that are there before are given new values.
fn assigned(rust: &Rust, lines: &[Line]) -> String {
    let is_there = |line: &Line| OFF.contains(&line.name) || [PITCH, ROLL].contains(&line.name);
    let each = lines.iter().map(|line| match is_there(line) {
        true => format!("    {} = {};\n", line.name, rust.text(&line.value)),
        false => body(rust, std::slice::from_ref(line)),
    });
    each.collect()
}

fn deeper(text: &str) -> String {
    text.lines().map(|line| format!("    {line}\n")).collect()
}

fn of_pair(rust: &Rust, code: &Code, pair: &Pair) -> String {
    let (kind, own) = (rust.kind(), &pair.name);
    let asked = format!(
        "{}    let at = motor_turns({PITCH}, {ROLL});\n",
        body(rust, &code.joints_before(pair))
    );
    let solved = format!(
        "{}    let ([{PITCH}, {ROLL}], at, status) = joint_turns(asked_first, asked_second);\n{}",
        body(rust, &Code::motors_before(pair)),
        body(rust, &code.joints_behind(pair))
    );
    let inside: Vec<String> = JOINTS
        .into_iter()
        .zip(code.joint_ends(pair))
        .map(|(x, [low, high])| {
            format!("{x} >= {} && {x} <= {}", rust.constant(low), rust.constant(high))
        })
        .collect();
    let [[a, b], [c, d]] = Code::rates_behind(pair).map(|row| row.map(|rate| rust.text(&rate)));
    let ([first, second], [pitch, roll]) = (MOTOR_READINGS, JOINT_READINGS);
    let ([fast, faster], [strong, stronger]) = (JOINT_SPEEDS, JOINT_TORQUES);
    format!(
        "
/// Both motors' angles at both joints', rad.
#[must_use]
pub fn {own}_motors_from_joints(joints: [{kind}; 2]) -> ([{kind}; 2], Status) {{
{asked}{}    let is_inside = {};
    let is_number = !joints[0].is_nan() && !joints[1].is_nan();
    ([{first}, {second}], status(is_inside, is_number))
}}

/// Both joints' angles at both motors', rad.
#[must_use]
pub fn {own}_joints_from_motors(motors: [{kind}; 2]) -> ([{kind}; 2], Status) {{
{}    ([{pitch}, {roll}], status)
}}

/// Motor speeds per joint speed: row a motor, column a joint; its columns give joint torques from the motors'.
#[must_use]
pub fn {own}_rates_at_joints(joints: [{kind}; 2]) -> [[{kind}; 2]; 2] {{
{asked}    [[{a}, {b}], [{c}, {d}]]
}}

/// Both joints' angles, speeds and torques from the motors': rad, rad/s, N m.
#[must_use]
pub fn {own}_map(motors: [{kind}; 2], motor_speeds: [{kind}; 2], motor_torques: [{kind}; 2]) -> Output {{
{solved}{}    Output {{ joints: [{pitch}, {roll}], speeds: [{fast}, {faster}], torques: [{strong}, {stronger}], status }}
}}
",
        body(rust, &code.motors_behind(pair)),
        inside.join(" && "),
        solved.replace(", at, status)", ", _, status)"),
        body(rust, &Code::motion(pair))
    )
}
