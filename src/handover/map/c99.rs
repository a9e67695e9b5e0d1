//! ISO C of 1999, without warnings where conversions and promotions are looked for.

use std::fmt::Write as _;

use super::code::{
    Code, Joint, MOTOR_SPEED, MOTOR_TORQUE, Notation, changes_later, is_known, ratio, speed, torque,
};
use super::core::{GIVEN, RATE, TURN};
use super::direction::{Direction, READING, RESULT, Wrapper};
use super::expression::{Function, Line};
use super::{Language, Number, head};

pub(super) struct C(pub(super) Number);

impl C {
    pub(super) fn kind(&self) -> &'static str {
        self.0.name()
    }
}

impl Notation for C {
    fn constant(&self, value: f64) -> String {
        let suffix = if self.0 == Number::Float { "F" } else { "" };
        literal(self.0.nearest(value)) + suffix
    }

    fn function(&self, function: Function) -> String {
        function.name().to_owned() + if self.0 == Number::Float { "f" } else { "" }
    }

    fn held(&self, reading: &str, ends: [f64; 2]) -> String {
        let [low, high] = ends.map(|end| self.constant(end));
        format!("{reading} < {low} ? {low} : ({reading} > {high} ? {high} : {reading})")
    }
}

/// Every bit of `value`: in decimals where these are few, else in base 16.
fn literal(value: f64) -> String {
    let decimals = format!("{value:?}");
    if decimals.len() <= 6 && !decimals.contains('e') && (value * 64.0).fract() == 0.0 {
        return decimals;
    }
    let bits = value.abs().to_bits();
    let (exponent, digits) = (bits >> 52, bits & ((1 << 52) - 1));
    let sign = if value < 0.0 { "-" } else { "" };
    let (first, power) =
        if exponent == 0 { (0, -1022) } else { (1, exponent.cast_signed() - 1023) };
    let digits = format!("{digits:013x}");
    let digits = digits.trim_end_matches('0');
    let point = if digits.is_empty() { "" } else { "." };
    format!("{sign}0x{first}{point}{digits}p{power}")
}

/// The file; where `as_header`, every function is `static inline` behind a guard.
pub(super) fn text(code: &Code, as_header: bool) -> String {
    let c = C(code.number());
    let mut out = head::comment(code, Language::C99, "//");
    let guard = format!("{}_MAP_H", code.name.to_ascii_uppercase());
    if as_header {
        _ = write!(out, "\n#ifndef {guard}\n#define {guard}\n");
    }
    if code.needs_library() {
        out += "\n#include <math.h>\n";
    }
    out += &types(code, &c);
    let linkage = if as_header { "static inline " } else { "" };
    if !as_header {
        out += "\n// Declarations, for a header.\n";
        for signature in signatures(code, &c) {
            _ = writeln!(out, "{signature};");
        }
    }
    let core = |what: &str, direction: &Direction| core(&c, code, what, direction, as_header);
    out += &core("joint_turn", &code.to_joint);
    if let Some(back) = &code.to_motor {
        out += &core("motor_turn", back);
    }
    for (joint, there, back) in code.wrapped() {
        out += &joint_text(code, &c, joint, (there, back), linkage);
    }
    if as_header {
        _ = writeln!(out, "\n#endif // {guard}");
    }
    out
}

fn types(code: &Code, c: &C) -> String {
    let (name, upper, kind) = (&code.name, code.name.to_ascii_uppercase(), c.kind());
    format!(
        "
// Where the motor's reading lies: within the stroke, below or above it, or nowhere.
typedef enum {{
    {upper}_INSIDE = 0,
    {upper}_BELOW = 1,
    {upper}_ABOVE = 2,
    {upper}_NOT_A_NUMBER = 3
}} {name}_status;

typedef struct {{
    {kind} joint;  // rad
    {kind} speed;  // rad/s
    {kind} torque; // N m
    {name}_status status;
}} {name}_output;
"
    )
}

/// What every joint offers.
fn signatures(code: &Code, c: &C) -> Vec<String> {
    let mut all = Vec::new();
    for (joint, _, back) in code.wrapped() {
        all.push(joint_from_motor(joint, c));
        all.extend(back.map(|_| motor_from_joint(joint, c)));
        all.push(ratio_at_motor(joint, c));
        all.push(whole_map(code, joint, c));
    }
    all
}

fn joint_from_motor(joint: &Joint, c: &C) -> String {
    format!("{0} {1}_joint_from_motor({0} motor)", c.kind(), joint.name)
}

fn motor_from_joint(joint: &Joint, c: &C) -> String {
    format!("{0} {1}_motor_from_joint({0} joint)", c.kind(), joint.name)
}

fn ratio_at_motor(joint: &Joint, c: &C) -> String {
    format!("{0} {1}_ratio_at_motor({0} motor)", c.kind(), joint.name)
}

fn whole_map(code: &Code, joint: &Joint, c: &C) -> String {
    let kind = c.kind();
    format!(
        "{}_output {}_map({kind} motor, {kind} {MOTOR_SPEED}, {kind} {MOTOR_TORQUE})",
        code.name, joint.name
    )
}

/// Each variable is declared where it is first given a value.
pub(super) fn body(c: &C, lines: &[Line]) -> String {
    let mut out = String::new();
    for (k, line) in lines.iter().enumerate() {
        let declared = match (is_known(lines, k), changes_later(lines, k)) {
            (true, _) => String::new(),
            (false, true) => format!("{} ", c.kind()),
            (false, false) => format!("const {} ", c.kind()),
        };
        _ = writeln!(out, "    {declared}{} = {};", line.name, c.text(&line.value));
    }
    out
}

fn core(c: &C, code: &Code, what: &str, direction: &Direction, as_header: bool) -> String {
    let (kind, name) = (c.kind(), &code.name);
    let inline = if as_header { "inline " } else { "" };
    format!(
        "
// Turn to turn from the zero pose about the linkage's axis, rad, and turn per turn.
static {inline}{kind} {name}_{what}({kind} {GIVEN}, {kind} *slope)
{{
{}    *slope = {RATE};
    return {TURN};
}}
",
        body(c, &direction.core)
    )
}

fn joint_text(
    code: &Code,
    c: &C,
    joint: &Joint,
    (there, back): (&Wrapper, Option<&Wrapper>),
    linkage: &str,
) -> String {
    let (kind, own) = (c.kind(), &joint.name);
    let inline = if linkage.is_empty() { "" } else { "inline " };
    let function = |comment: &str, signature: String, body: String| {
        format!("\n// {comment}\n{linkage}{signature}\n{{\n    {kind} {RATE};\n{body}}}\n")
    };
    let mut out = solver(c, code, &format!("{own}_to_joint"), "joint_turn", there, inline);
    out += &function(
        "Joint angle at a motor angle, rad.",
        joint_from_motor(joint, c),
        format!("    return {own}_to_joint(motor, &{RATE});\n"),
    );
    if let Some(back) = back {
        out += &solver(c, code, &format!("{own}_to_motor"), "motor_turn", back, inline);
        out += &function(
            "Motor angle at a joint angle, rad.",
            motor_from_joint(joint, c),
            format!("    return {own}_to_motor(joint, &{RATE});\n"),
        );
    }
    out += &function(
        "Motor speed per joint speed, which is joint torque per motor torque.",
        ratio_at_motor(joint, c),
        format!("    (void){own}_to_joint(motor, &{RATE});\n    return {};\n", c.text(&ratio())),
    );
    out + &function(
        "Joint angle, speed and torque from the motor's: rad, rad/s, N m.",
        whole_map(code, joint, c),
        map_body(code, c, joint, there),
    )
}

fn map_body(code: &Code, c: &C, joint: &Joint, there: &Wrapper) -> String {
    let [low, high] = there.within.map(|end| c.constant(end));
    let (name, upper) = (&code.name, code.name.to_ascii_uppercase());
    format!(
        "    {name}_output out;
    out.joint = {}_to_joint(motor, &{RATE});
    out.speed = {};
    out.torque = {};
    out.status = motor < {low} ? {upper}_BELOW
        : motor > {high} ? {upper}_ABOVE
        : motor >= {low} ? {upper}_INSIDE
        : {upper}_NOT_A_NUMBER;
    return out;
",
        joint.name,
        c.text(&speed()),
        c.text(&torque())
    )
}

/// From reading to reading and the rate of readings.
fn solver(c: &C, code: &Code, own: &str, core: &str, wrapper: &Wrapper, inline: &str) -> String {
    let kind = c.kind();
    let behind: String = wrapper
        .behind
        .iter()
        .map(|line| {
            let declared = if line.name == RATE { String::new() } else { format!("const {kind} ") };
            format!("    {declared}{} = {};\n", line.name, c.text(&line.value))
        })
        .collect();
    format!(
        "
static {inline}{kind} {own}({kind} {READING}, {kind} *slope)
{{
{}    {kind} {RATE};
    const {kind} {TURN} = {}_{core}({GIVEN}, &{RATE});
{behind}    *slope = {RATE};
    return {RESULT};
}}
",
        body(c, &wrapper.before),
        code.name
    )
}

#[cfg(test)]
mod tests {
    use super::literal;

    #[test]
    fn a_literal_keeps_every_bit() {
        for (value, text) in [
            (1.0, "1.0"),
            (-0.5, "-0.5"),
            (0.1, "0x1.999999999999ap-4"),
            (-1024.0_f64.recip(), "-0x1p-10"),
            (f64::from_bits(3), "0x0.0000000000003p-1022"),
        ] {
            assert_eq!(literal(value), text);
        }
    }
}
