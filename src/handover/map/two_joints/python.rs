//! Python, with the array module as an argument: what differentiates arrays differentiates the map.

use super::super::Language;
use super::super::code::Notation as _;
use super::super::python::{Python, body};
use super::lines::{HELD, JOINT_READINGS, JOINT_SPEEDS, JOINT_TORQUES, JOINTS, MOTOR_READINGS};
use super::{Code, FIRST, PITCH, Pair, RATES, ROLL, SECOND, head};

/// The file, a module of its own.
pub(super) fn text(code: &Code) -> String {
    let python = Python(code.number);
    let mut out = head::comment(code, Language::Python, "#");
    let [[a, b], [c, d]] = RATES;
    out += &format!(
        "#
# xp is the array module: numpy, or one with the same names that differentiates. Joints and motors are pairs of arrays.

from collections import namedtuple

INSIDE, OUTSIDE, NOT_A_NUMBER = range(3)

# Both motor turns from the zero pose, rad, and their rates per rate of pitch and roll.
Turns = namedtuple(\"Turns\", \"{FIRST} {SECOND} {a} {b} {c} {d}\")


def _status(is_inside, is_number, xp):
    return xp.where(is_inside, INSIDE, xp.where(is_number, OUTSIDE, NOT_A_NUMBER))


def _motor_turns({PITCH}, {ROLL}, xp):
    \"\"\"Motor turns from joint turns, all from the zero pose about the drawn axes, rad.\"\"\"
{}    return Turns({FIRST}, {SECOND}, {a}, {b}, {c}, {d})
",
        body(&python, &code.core)
    );
    out += &joint_turns(&python, code);
    code.pairs.iter().for_each(|pair| out += &of_pair(&python, code, pair));
    out
}

fn joint_turns(python: &Python, code: &Code) -> String {
    let [pitch, roll] = code.start().map(|x| python.constant(x));
    let close = python.constant(code.certified.close);
    let [held_pitch, held_roll] = HELD;
    let deeper =
        |text: String| -> String { text.lines().map(|line| format!("    {line}\n")).collect() };
    format!(
        "

def _joint_turns(asked_first, asked_second, xp):
    \"\"\"Newton's steps from the middle of the region; the closed form as it was asked last.\"\"\"
    {PITCH}, {ROLL} = {pitch} * xp.ones_like(asked_first), {roll} * xp.ones_like(asked_first)
    for _ in range({}):
{}        at = _motor_turns({held_pitch}, {held_roll}, xp)
{}    is_met = (xp.abs(off_first) <= {close}) & (xp.abs(off_second) <= {close})
    is_number = ({PITCH} == {PITCH}) & ({ROLL} == {ROLL})
    return {PITCH}, {ROLL}, at, _status(is_met, is_number, xp)
",
        code.steps,
        deeper(body(python, &code.step_before())),
        deeper(body(python, &Code::step_behind())),
    )
}

fn of_pair(python: &Python, code: &Code, pair: &Pair) -> String {
    let own = &pair.name;
    let asked = format!(
        "{}    at = _motor_turns({PITCH}, {ROLL}, xp)\n",
        body(python, &code.joints_before(pair))
    );
    let solved = format!(
        "{}    {PITCH}, {ROLL}, at, status = _joint_turns(asked_first, asked_second, xp)\n{}",
        body(python, &Code::motors_before(pair)),
        body(python, &code.joints_behind(pair))
    );
    let inside: Vec<String> = JOINTS
        .into_iter()
        .zip(code.joint_ends(pair))
        .map(|(x, [low, high])| {
            format!("({x} >= {}) & ({x} <= {})", python.constant(low), python.constant(high))
        })
        .collect();
    let [[a, b], [c, d]] = Code::rates_behind(pair).map(|row| row.map(|rate| python.text(&rate)));
    let ([first, second], [pitch, roll]) = (MOTOR_READINGS, JOINT_READINGS);
    let ([fast, faster], [strong, stronger]) = (JOINT_SPEEDS, JOINT_TORQUES);
    format!(
        "

def {own}_motors_from_joints(joints, xp):
    \"\"\"Both motors' angles at both joints', rad, and the status.\"\"\"
{asked}{}    is_inside = {}
    is_number = (joints[0] == joints[0]) & (joints[1] == joints[1])
    return ({first}, {second}), _status(is_inside, is_number, xp)


def {own}_joints_from_motors(motors, xp):
    \"\"\"Both joints' angles at both motors', rad, and the status.\"\"\"
{solved}    return ({pitch}, {roll}), status


def {own}_rates_at_joints(joints, xp):
    \"\"\"Motor speeds per joint speed: row a motor, column a joint; its columns give joint torques from the motors'.\"\"\"
{asked}    return ({a}, {b}), ({c}, {d})


def {own}_map(motors, motor_speeds, motor_torques, xp):
    \"\"\"Both joints' angles (rad), speeds (rad/s), torques (N m) and the status from the motors'.\"\"\"
{solved}{}    return ({pitch}, {roll}), ({fast}, {faster}), ({strong}, {stronger}), status
",
        body(python, &code.motors_behind(pair)),
        inside.join(" & "),
        body(python, &Code::motion(pair))
    )
}
