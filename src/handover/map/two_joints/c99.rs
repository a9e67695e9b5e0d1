//! ISO C of 1999.

use std::fmt::Write as _;

use super::super::c99::{C, body};
use super::super::code::Notation as _;
use super::super::expression::Line;
use super::super::{Language, Number};
use super::lines::{
    HELD, JOINT_READINGS, JOINT_SPEEDS, JOINT_TORQUES, JOINTS, MOTOR_READINGS, OFF,
};
use super::{Code, FIRST, PITCH, Pair, RATES, ROLL, SECOND, head};

/// What is written around the lines.
struct Around<'a> {
    code: &'a Code,
    c: C,
    /// Before what is for others, and before what is not.
    linkage: [&'static str; 2],
    upper: String,
}

/// The file; where `as_header`, every function is `static inline` behind a guard.
pub(super) fn text(code: &Code, as_header: bool) -> String {
    let linkage = if as_header { ["static inline ", "static inline "] } else { ["", "static "] };
    let upper = code.name.to_ascii_uppercase();
    let around = Around { code, c: C(code.number), linkage, upper };
    let mut out = head::comment(code, Language::C99, "//");
    let guard = format!("{}_MAP_H", around.upper);
    if as_header {
        _ = write!(out, "\n#ifndef {guard}\n#define {guard}\n");
    }
    out += "\n#include <math.h>\n";
    out += &around.types();
    if !as_header {
        out += "\n// Declarations, for a header.\n";
        for signature in code.pairs.iter().flat_map(|pair| around.signatures(pair)) {
            _ = writeln!(out, "{signature};");
        }
    }
    out += &around.motor_turns();
    out += &around.joint_turns();
    code.pairs.iter().for_each(|pair| out += &around.pair(pair));
    if as_header {
        _ = writeln!(out, "\n#endif // {guard}");
    }
    out
}

impl Around<'_> {
    fn types(&self) -> String {
        let (name, upper, kind) = (&self.code.name, &self.upper, self.c.kind());
        let [[a, b], [c, d]] = RATES;
        format!(
            "
// Where what is given lies: of the region, beyond it, or nowhere.
typedef enum {{
    {upper}_INSIDE = 0,
    {upper}_OUTSIDE = 1,
    {upper}_NOT_A_NUMBER = 2
}} {name}_status;

typedef struct {{
    {kind} joints[2];  // rad
    {kind} speeds[2];  // rad/s
    {kind} torques[2]; // N m
    {name}_status status;
}} {name}_output;

// Both motor turns from the zero pose, rad, and their rates per rate of pitch and roll.
typedef struct {{
    {kind} {FIRST}, {SECOND}, {a}, {b}, {c}, {d};
}} {name}_turns;
"
        )
    }

    fn signatures(&self, pair: &Pair) -> [String; 4] {
        let (name, own, kind) = (&self.code.name, &pair.name, self.c.kind());
        [
            format!(
                "{name}_status {own}_motors_from_joints(const {kind} joints[2], {kind} motors[2])"
            ),
            format!(
                "{name}_status {own}_joints_from_motors(const {kind} motors[2], {kind} joints[2])"
            ),
            format!("void {own}_rates_at_joints(const {kind} joints[2], {kind} rates[2][2])"),
            format!(
                "{name}_output {own}_map(const {kind} motors[2], const {kind} motor_speeds[2], const {kind} motor_torques[2])"
            ),
        ]
    }

    fn motor_turns(&self) -> String {
        let (name, kind, own) = (&self.code.name, self.c.kind(), self.linkage[1]);
        let [[a, b], [c, d]] = RATES;
        format!(
            "
// Motor turns from joint turns, all from the zero pose about the drawn axes, rad.
{own}{name}_turns {name}_motor_turns({kind} {PITCH}, {kind} {ROLL})
{{
{}    const {name}_turns at = {{{FIRST}, {SECOND}, {a}, {b}, {c}, {d}}};
    return at;
}}
",
            body(&self.c, &self.code.core)
        )
    }

    fn joint_turns(&self) -> String {
        let (name, kind, own) = (&self.code.name, self.c.kind(), self.linkage[1]);
        let [zero, close] = [0.0, self.code.certified.close].map(|x| self.c.constant(x));
        let [pitch, roll] = self.code.start().map(|x| self.c.constant(x));
        let size = if self.code.number == Number::Float { "fabsf" } else { "fabs" };
        format!(
            "
// Newton's steps from the middle of the region; the closed form as it was asked last.
{own}{name}_status {name}_joint_turns({kind} asked_first, {kind} asked_second, {kind} turns[2], {name}_turns *last)
{{
    {kind} {PITCH} = {pitch}, {ROLL} = {roll}, off_first = {zero}, off_second = {zero};
    {name}_turns at = {{{zero}, {zero}, {zero}, {zero}, {zero}, {zero}}};
    for (int step = 0; step < {}; ++step) {{
{}        at = {name}_motor_turns({}, {});
{}    }}
    turns[0] = {PITCH};
    turns[1] = {ROLL};
    *last = at;
    return {size}(off_first) <= {close} && {size}(off_second) <= {close} ? {upper}_INSIDE
        : isnan({PITCH}) || isnan({ROLL}) ? {upper}_NOT_A_NUMBER
        : {upper}_OUTSIDE;
}}
",
            self.code.steps,
            deeper(&body(&self.c, &self.code.step_before())),
            HELD[0],
            HELD[1],
            deeper(&self.assigned(&Code::step_behind())),
            upper = self.upper,
        )
    }

    /// Variables that are there before are given new values.
    fn assigned(&self, lines: &[Line]) -> String {
        let is_there =
            |line: &&Line| OFF.contains(&line.name) || [PITCH, ROLL].contains(&line.name);
        let each = lines.iter().map(|line| match is_there(&line) {
            true => format!("    {} = {};\n", line.name, self.c.text(&line.value)),
            false => body(&self.c, std::slice::from_ref(line)),
        });
        each.collect()
    }

    fn pair(&self, pair: &Pair) -> String {
        let [motors, joints, rates, map] = self.signatures(pair);
        let function = |comment: &str, signature: &str, body: String| {
            format!("\n// {comment}\n{}{signature}\n{{\n{body}}}\n", self.linkage[0])
        };
        function(
            "Both motors' angles at both joints', rad.",
            &motors,
            self.motors_from_joints(pair),
        ) + &function(
            "Both joints' angles at both motors', rad.",
            &joints,
            self.joints_from_motors(pair),
        ) + &function(
            "Motor speeds per joint speed: row a motor, column a joint; its columns give joint torques from the motors'.",
            &rates,
            self.rates_at_joints(pair),
        ) + &function(
            "Both joints' angles, speeds and torques from the motors': rad, rad/s, N m.",
            &map,
            self.map(pair),
        )
    }

    /// The closed form at the joints that are given.
    fn asked(&self, pair: &Pair) -> String {
        let before = body(&self.c, &self.code.joints_before(pair));
        let name = &self.code.name;
        format!("{before}    const {name}_turns at = {name}_motor_turns({PITCH}, {ROLL});\n")
    }

    fn motors_from_joints(&self, pair: &Pair) -> String {
        let (name, upper) = (&self.code.name, &self.upper);
        let inside: Vec<String> = JOINTS
            .into_iter()
            .zip(self.code.joint_ends(pair))
            .map(|(x, [low, high])| {
                format!("{x} >= {} && {x} <= {}", self.c.constant(low), self.c.constant(high))
            })
            .collect();
        let ([first, second], [pitch, roll]) = (MOTOR_READINGS, JOINTS);
        format!(
            "{}{}    const {name}_status status = {} ? {upper}_INSIDE
        : isnan({pitch}) || isnan({roll}) ? {upper}_NOT_A_NUMBER
        : {upper}_OUTSIDE;
    motors[0] = {first};
    motors[1] = {second};
    return status;
",
            self.asked(pair),
            body(&self.c, &self.code.motors_behind(pair)),
            inside.join(" && ")
        )
    }

    /// Newton's steps for the motors that are given.
    fn solved(&self, pair: &Pair) -> String {
        let (name, kind) = (&self.code.name, self.c.kind());
        format!(
            "{}    {kind} turns[2];
    {name}_turns at;
    const {name}_status status = {name}_joint_turns(asked_first, asked_second, turns, &at);
    const {kind} {PITCH} = turns[0], {ROLL} = turns[1];
{}",
            body(&self.c, &Code::motors_before(pair)),
            body(&self.c, &self.code.joints_behind(pair)),
        )
    }

    fn joints_from_motors(&self, pair: &Pair) -> String {
        let [pitch, roll] = JOINT_READINGS;
        format!(
            "{}    joints[0] = {pitch};\n    joints[1] = {roll};\n    return status;\n",
            self.solved(pair)
        )
    }

    fn rates_at_joints(&self, pair: &Pair) -> String {
        let [[a, b], [c, d]] =
            Code::rates_behind(pair).map(|row| row.map(|rate| self.c.text(&rate)));
        format!(
            "{}    rates[0][0] = {a};\n    rates[0][1] = {b};\n    rates[1][0] = {c};\n    rates[1][1] = {d};\n",
            self.asked(pair)
        )
    }

    fn map(&self, pair: &Pair) -> String {
        let ([pitch, roll], [fast, faster]) = (JOINT_READINGS, JOINT_SPEEDS);
        let [strong, stronger] = JOINT_TORQUES;
        format!(
            "{}{}    const {}_output out = {{{{{pitch}, {roll}}}, {{{fast}, {faster}}}, {{{strong}, {stronger}}}, status}};
    return out;
",
            self.solved(pair),
            body(&self.c, &Code::motion(pair)),
            self.code.name
        )
    }
}

/// One step further in.
fn deeper(text: &str) -> String {
    text.lines().map(|line| format!("    {line}\n")).collect()
}
