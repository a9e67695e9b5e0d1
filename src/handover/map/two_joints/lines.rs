//! Lines around the closed form: readings to turns and back, a step of Newton's, speeds and torques.
//!
//! What the closed form gives stands in `at`, a record in every language; readings, speeds and torques come as pairs.

use super::super::Beyond;
use super::super::direction::End;
use super::super::expression::{Expression, Line, Numbers, line, name};
use super::{Code, FIRST, PITCH, Pair, RATES, ROLL, SECOND};

/// Both joints' readings as they are given, and both motors'.
pub(super) const JOINTS: [&str; 2] = ["joints[0]", "joints[1]"];
pub(super) const MOTORS: [&str; 2] = ["motors[0]", "motors[1]"];
/// The motors' speeds and torques as they are given.
pub(super) const SPEEDS: [&str; 2] = ["motor_speeds[0]", "motor_speeds[1]"];
pub(super) const TORQUES: [&str; 2] = ["motor_torques[0]", "motor_torques[1]"];
/// What the closed form gave: turns, and rates.
pub(super) const AT: [&str; 2] = ["at.first", "at.second"];
pub(super) const AT_RATES: [[&str; 2]; 2] =
    [["at.first_by_pitch", "at.first_by_roll"], ["at.second_by_pitch", "at.second_by_roll"]];
/// Readings or turns held within the region.
pub(super) const HELD: [&str; 2] = ["held_pitch", "held_roll"];
/// The motor turns that are asked for.
pub(super) const ASKED: [&str; 2] = ["asked_first", "asked_second"];
/// How far the motors are off them.
pub(super) const OFF: [&str; 2] = ["off_first", "off_second"];
/// The motors' readings, and the joints'.
pub(super) const MOTOR_READINGS: [&str; 2] = ["motor_first", "motor_second"];
pub(super) const JOINT_READINGS: [&str; 2] = ["joint_pitch", "joint_roll"];
/// Speeds and torques of the joints.
pub(super) const JOINT_SPEEDS: [&str; 2] = ["speed_pitch", "speed_roll"];
pub(super) const JOINT_TORQUES: [&str; 2] = ["torque_pitch", "torque_roll"];

/// With its sign.
fn signed(sense: f64, of: &'static str) -> Expression {
    if sense < 0.0 { -name(of) } else { name(of) }
}

/// The determinant of the rates.
fn determinant() -> Line {
    let [[a, b], [c, d]] = AT_RATES;
    line("determinant", name(a) * name(d) - name(b) * name(c))
}

/// J⁻¹ times what both variables hold.
fn solved([first, second]: [&'static str; 2]) -> [Expression; 2] {
    let [[a, b], [c, d]] = AT_RATES;
    let n = name;
    [
        (n(d) * n(first) - n(b) * n(second)) / n("determinant"),
        (n(a) * n(second) - n(c) * n(first)) / n("determinant"),
    ]
}

impl Code {
    /// From readings of the joints to their turns, held within the region.
    pub(super) fn joints_before(&self, pair: &Pair) -> Vec<Line> {
        let ends = self.joint_ends(pair);
        let mut lines = Vec::new();
        for (((held, given), ends), (end, turn)) in
            HELD.into_iter().zip(JOINTS).zip(ends).zip(pair.joints.into_iter().zip([PITCH, ROLL]))
        {
            lines.push(line(held, Expression::Held(given, ends)));
            lines.push(line(turn, end.turn(name(held))));
        }
        lines
    }

    /// Readings of pitch and roll between which the code follows the drive.
    pub(super) fn joint_ends(&self, pair: &Pair) -> [[f64; 2]; 2] {
        let ends = |end: End, [low, high]: [f64; 2]| {
            [self.number.above(end.reading(low)), self.number.below(end.reading(high))]
        };
        let ([p, r], [pitch, roll]) = (pair.joints, self.region);
        [ends(p, pitch), ends(r, roll)]
    }

    /// From the closed form to the motors' readings.
    pub(super) fn motors_behind(&self, pair: &Pair) -> Vec<Line> {
        let past_pitch = || name(JOINTS[0]) - name(HELD[0]);
        let past_roll = || name(JOINTS[1]) - name(HELD[1]);
        let each = MOTOR_READINGS.into_iter().zip(pair.motors).zip(AT.into_iter().zip(AT_RATES));
        each.map(|((out, end), (turn, [by_pitch, by_roll]))| {
            let turn = match self.beyond {
                Beyond::Hold => name(turn),
                Beyond::Tangent => {
                    name(turn) + (name(by_pitch) * past_pitch() + name(by_roll) * past_roll())
                }
            };
            line(out, end.read(turn))
        })
        .collect()
    }

    /// Rates of the motors' readings per rate of the joints'.
    pub(super) fn rates_behind(pair: &Pair) -> [[Expression; 2]; 2] {
        let ([one, two], [first, second]) = (AT_RATES, pair.motors);
        let row = |of: [&'static str; 2], end: End| of.map(|rate| signed(end.sense, rate));
        [row(one, first), row(two, second)]
    }

    /// From readings of the motors to the turns that are asked for.
    pub(super) fn motors_before(pair: &Pair) -> Vec<Line> {
        let each = ASKED.into_iter().zip(MOTORS).zip(pair.motors);
        each.map(|((asked, given), end)| line(asked, end.turn(name(given)))).collect()
    }

    /// Where Newton's steps start: the middle of the region.
    pub(super) fn start(&self) -> [f64; 2] {
        self.region.map(|[low, high]| self.number.nearest(0.5 * (low + high)))
    }

    /// What holds both turns within the region, before the closed form is asked.
    pub(super) fn step_before(&self) -> [Line; 2] {
        let [pitch, roll] = self.region;
        [line(HELD[0], Expression::Held(PITCH, pitch)), line(HELD[1], Expression::Held(ROLL, roll))]
    }

    /// From the closed form to the next turns.
    pub(super) fn step_behind() -> Vec<Line> {
        let [pitch, roll] = solved(OFF);
        vec![
            line(OFF[0], name(ASKED[0]) - name(AT[0])),
            line(OFF[1], name(ASKED[1]) - name(AT[1])),
            determinant(),
            line(PITCH, name(HELD[0]) + pitch),
            line(ROLL, name(HELD[1]) + roll),
        ]
    }

    /// From the last turns to the joints' readings.
    pub(super) fn joints_behind(&self, pair: &Pair) -> Vec<Line> {
        let mut lines = match self.beyond {
            Beyond::Hold => self.step_before().to_vec(),
            Beyond::Tangent => Vec::new(),
        };
        let turns = match self.beyond {
            Beyond::Hold => HELD,
            Beyond::Tangent => [PITCH, ROLL],
        };
        let each = JOINT_READINGS.into_iter().zip(pair.joints).zip(turns);
        lines.extend(each.map(|((out, end), turn)| line(out, end.read(name(turn)))));
        lines
    }

    /// The joints' speeds and torques from the motors', where the closed form was asked last.
    pub(super) fn motion(pair: &Pair) -> Vec<Line> {
        let [first, second] = pair.motors.map(|end| end.sense);
        let [[a, b], [c, d]] = AT_RATES;
        let n = name;
        let mut lines = vec![
            determinant(),
            line("spin_first", signed(first, SPEEDS[0])),
            line("spin_second", signed(second, SPEEDS[1])),
            line("push_first", signed(first, TORQUES[0])),
            line("push_second", signed(second, TORQUES[1])),
        ];
        lines.extend(
            JOINT_SPEEDS
                .into_iter()
                .zip(solved(["spin_first", "spin_second"]))
                .map(|(out, speed)| line(out, speed)),
        );
        for (out, [one, two]) in JOINT_TORQUES.into_iter().zip([[a, c], [b, d]]) {
            lines.push(line(out, n(one) * n("push_first") + n(two) * n("push_second")));
        }
        lines
    }

    /// Works the closed form out where the variables `turns` are, and adds what it gives to what is known.
    pub(super) fn ask<N: Numbers>(
        &self,
        numbers: &N,
        turns: [&'static str; 2],
        known: &mut Vec<(&'static str, N::Number)>,
    ) -> Option<()> {
        for (turn, given) in [PITCH, ROLL].into_iter().zip(turns) {
            known.push((turn, numbers.value(&name(given), known)?));
        }
        numbers.run(&self.core, known)?;
        let turns = [FIRST, SECOND].into_iter().zip(AT);
        let rates = RATES.into_iter().flatten().zip(AT_RATES.into_iter().flatten());
        for (from, to) in turns.chain(rates) {
            known.push((to, numbers.value(&name(from), known)?));
        }
        Some(())
    }
}
