//! What the code answers, to test it by: the same lines worked out in the code's own numbers.

use std::fmt::Write as _;

use super::code::{Code, Joint, MOTOR_SPEED, MOTOR_TORQUE, ratio, speed, torque};
use super::core::RATE;
use super::direction::{Direction, READING, RESULT, Wrapper};
use super::expression::{Doubles, Floats, Line, Numbers, name};
use super::{Number, expression};
use crate::numeric::evenly;

/// Poses of the stroke less one.
const STEPS: u32 = 40;

/// How far beyond the stroke's ends the code is asked too, rad.
const BEYOND: f64 = 0.125;

/// The motor's speed, rad/s, and torque, N m.
const MOTION: [f64; 2] = [1.5, -0.75];

const COLUMNS: &str = "joint_name,motor_rad,motor_speed_rad_per_s,motor_torque_n_m,joint_rad,joint_speed_rad_per_s,joint_torque_n_m,ratio,status,motor_from_joint_rad,linkage_joint_rad\n";

/// The table: `linkage_joint_rad` is what the drawn linkage does, `exact` of its motor turns; the rest what the code answers.
pub(super) fn csv(code: &Code, exact: &dyn Fn(f64) -> Option<f64>) -> String {
    let mut out = COLUMNS.to_owned();
    for (joint, there, back) in code.wrapped() {
        for motor in readings(joint, there, code.number()) {
            let way = Way { code, joint, there, back };
            let answer = match code.number() {
                Number::Float => way.answer(&Floats, motor),
                Number::Double => way.answer(&Doubles, motor),
            };
            if let Some(answer) = answer {
                out += &way.row(motor, answer, exact);
            }
        }
    }
    out
}

/// The stroke evenly, the zero pose, beyond both ends, and no number.
fn readings(joint: &Joint, there: &Wrapper, number: Number) -> Vec<f64> {
    let [low, high] = there.within;
    let mut readings: Vec<f64> =
        evenly([low, high], STEPS).map(|x| number.nearest(x).clamp(low, high)).collect();
    let zero = number.nearest(joint.motor.in_zero);
    readings.extend([low - BEYOND, high + BEYOND].map(|x| number.nearest(x)));
    readings.push(f64::NAN);
    if low <= zero && zero <= high {
        readings.push(zero);
    }
    readings
}

/// What the code gives at one motor reading.
struct Answer {
    /// Joint angle, speed, torque, ratio.
    figures: [f64; 4],
    /// The motor's reading from the joint's, where there is a way back.
    back: Option<f64>,
}

struct Way<'a> {
    code: &'a Code,
    joint: &'a Joint,
    there: &'a Wrapper,
    back: Option<&'a Wrapper>,
}

impl Way<'_> {
    fn answer<N>(&self, numbers: &N, motor: f64) -> Option<Answer>
    where
        N: Numbers,
        N::Number: Into<f64>,
    {
        let [given, turning] = MOTION.map(|x| numbers.constant(x));
        let mut known = vec![(MOTOR_SPEED, given), (MOTOR_TORQUE, turning)];
        known.push((READING, numbers.constant(motor)));
        through(numbers, self.there, &self.code.to_joint, &mut known)?;
        let result = numbers.value(&name(RESULT), &known)?;
        let of = |e: &expression::Expression| Some(numbers.value(e, &known)?.into());
        let figures = [result.into(), of(&speed())?, of(&torque())?, of(&ratio())?];
        let back = self.back.zip(self.code.to_motor.as_ref()).and_then(|(wrapper, direction)| {
            let mut known = vec![(READING, result)];
            through(numbers, wrapper, direction, &mut known)?;
            Some(numbers.value(&name(RESULT), &known)?.into())
        });
        Some(Answer { figures, back })
    }

    fn status(&self, motor: f64) -> u8 {
        let [low, high] = self.there.within;
        match motor {
            x if x < low => 1,
            x if x > high => 2,
            x if x >= low => 0,
            _ => 3,
        }
    }

    fn row(&self, motor: f64, answer: Answer, exact: &dyn Fn(f64) -> Option<f64>) -> String {
        let number = |x: f64| self.code.number().decimals(x);
        let mut row = format!("{},{}", quoted(&self.joint.joint_name), number(motor));
        for figure in MOTION.into_iter().chain(answer.figures) {
            _ = write!(row, ",{}", number(figure));
        }
        let status = self.status(motor);
        let back = answer.back.map_or_else(String::new, number);
        let turn = self.joint.motor.sense * (motor - self.joint.motor.in_zero);
        let exact = exact(turn).map(|turn| self.joint.joint.reading(turn));
        let exact = exact.filter(|_| status == 0).map_or_else(String::new, |x| format!("{x:?}"));
        row + &format!(",{status},{back},{exact}\n")
    }
}

/// As RFC 4180 has it where the name holds what parts fields or rows.
pub(super) fn quoted(name: &str) -> String {
    if name.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", name.replace('"', "\"\""))
    } else {
        name.to_owned()
    }
}

/// Adds what the code works out between one reading and the other; [`RATE`] is that of readings then.
fn through<N: Numbers>(
    numbers: &N,
    wrapper: &Wrapper,
    direction: &Direction,
    known: &mut Vec<(&'static str, N::Number)>,
) -> Option<()> {
    let lines: [&[Line]; 3] = [&wrapper.before, &direction.core, &wrapper.behind];
    lines.into_iter().try_for_each(|lines| numbers.run(lines, known))?;
    numbers.value(&name(RATE), known).map(|_| ())
}
