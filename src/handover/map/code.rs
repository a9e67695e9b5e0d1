//! What is written, in no language yet; and an expression as text.

use super::Number;
use super::core::RATE;
use super::direction::{Choice, Direction, End, Wrapper};
use super::expression::{Expression, Function, Line, Operation, constant, name};

/// All of a file.
#[derive(Clone, Debug)]
pub(super) struct Code {
    /// The design's name.
    pub(super) design: String,
    /// The design file's.
    pub(super) source: String,
    /// The design's name in code.
    pub(super) name: String,
    pub(super) choice: Choice,
    /// The joint turns as the motor does.
    pub(super) is_same: bool,
    /// The motor sits on the carrier's parent.
    pub(super) is_motor_on_parent: bool,
    /// rad, from the zero pose, ascending.
    pub(super) motor_turns: [f64; 2],
    /// A motor turn where the rocker stands still.
    pub(super) dead_at: Option<f64>,
    pub(super) joints: Vec<Joint>,
    pub(super) to_joint: Direction,
    /// `None` across a dead point.
    pub(super) to_motor: Option<Direction>,
}

/// One joint that is built from the drawing.
#[derive(Clone, Debug)]
pub(super) struct Joint {
    pub(super) joint_name: String,
    /// In code.
    pub(super) name: String,
    pub(super) motor: End,
    pub(super) joint: End,
}

impl Code {
    /// Every joint with its way there and, where there is one, back.
    pub(super) fn wrapped(&self) -> impl Iterator<Item = (&Joint, &Wrapper, Option<&Wrapper>)> {
        let back = |k: usize| self.to_motor.as_ref().and_then(|d| d.wrappers.get(k));
        let there = self.joints.iter().zip(&self.to_joint.wrappers).enumerate();
        there.map(move |(k, (joint, wrapper))| (joint, wrapper, back(k)))
    }

    /// Does the code call the mathematical library?
    pub(super) fn needs_library(&self) -> bool {
        self.to_joint.core.iter().any(|line| line.value.calls())
    }

    pub(super) fn number(&self) -> Number {
        self.choice.number
    }
}

/// The motor's speed and torque as they are given.
pub(super) const MOTOR_SPEED: &str = "motor_speed";
pub(super) const MOTOR_TORQUE: &str = "motor_torque";

/// Motor turn per joint turn, from the rate of readings.
pub(super) fn ratio() -> Expression {
    constant(1.0) / name(RATE)
}

/// The joint's speed.
pub(super) fn speed() -> Expression {
    name(MOTOR_SPEED) * name(RATE)
}

/// The joint's torque without loss: power in is power out.
pub(super) fn torque() -> Expression {
    name(MOTOR_TORQUE) / name(RATE)
}

/// `text` as a name in code: letters, digits and `_` of ASCII, no digit first.
pub(super) fn identifier(text: &str) -> String {
    let kept = |c: char| if c.is_ascii_alphanumeric() { c } else { '_' };
    let name: String = text.chars().map(kept).collect();
    if name.starts_with(|c: char| c.is_ascii_alphabetic()) { name } else { format!("j{name}") }
}

/// How a language writes what an expression is made of.
pub(super) trait Notation {
    fn constant(&self, value: f64) -> String;
    /// The name of a function of the mathematical library.
    fn function(&self, function: Function) -> String;
    /// `reading` held between two figures.
    fn held(&self, reading: &str, ends: [f64; 2]) -> String;

    /// The expression, worked out in the order in which it is told.
    fn text(&self, expression: &Expression) -> String {
        self.placed(expression, Strength::Whole)
    }

    /// The same inside another, in parentheses where that binds as strongly as `place`.
    fn placed(&self, expression: &Expression, place: Strength) -> String {
        let (text, strength) = match expression {
            Expression::Constant(value) => {
                let sign = if *value < 0.0 { Strength::Sign } else { Strength::Atom };
                (self.constant(*value), sign)
            }
            Expression::Name(name) => ((*name).to_owned(), Strength::Atom),
            Expression::Negative(inner) => {
                (format!("-{}", self.placed(inner, Strength::Sign)), Strength::Sign)
            }
            Expression::Binary(operation, sides) => {
                let [left, right] = sides.as_ref();
                let (sign, own, before) = written(*operation);
                let (left, right) = (self.placed(left, before), self.placed(right, own));
                (format!("{left} {sign} {right}"), own)
            }
            Expression::Call(function, arguments) => {
                let arguments: Vec<String> = arguments.iter().map(|a| self.text(a)).collect();
                let name = self.function(*function);
                (format!("{name}({})", arguments.join(", ")), Strength::Atom)
            }
            Expression::Held(name, ends) => (self.held(name, *ends), Strength::Whole),
        };
        if place >= strength && place != Strength::Whole { format!("({text})") } else { text }
    }
}

/// How strongly an expression holds together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Strength {
    Whole,
    BelowSum,
    Sum,
    BelowProduct,
    Product,
    Sign,
    Atom,
}

/// The sign of an operation, its strength, and what may stand on its left without parentheses.
fn written(operation: Operation) -> (char, Strength, Strength) {
    match operation {
        Operation::Plus => ('+', Strength::Sum, Strength::BelowSum),
        Operation::Minus => ('-', Strength::Sum, Strength::BelowSum),
        Operation::Times => ('*', Strength::Product, Strength::BelowProduct),
        Operation::Over => ('/', Strength::Product, Strength::BelowProduct),
    }
}

/// Is the variable of `line` given another value later?
pub(super) fn changes_later(lines: &[Line], k: usize) -> bool {
    let same = |other: &Line| lines.get(k).is_some_and(|line| line.name == other.name);
    lines.iter().skip(k + 1).any(same)
}

/// Was the variable of the `k`-th line there before?
pub(super) fn is_known(lines: &[Line], k: usize) -> bool {
    let same = |other: &Line| lines.get(k).is_some_and(|line| line.name == other.name);
    lines.iter().take(k).any(same)
}

#[cfg(test)]
mod tests {
    use super::super::expression::{angle_of, call};
    use super::*;

    struct Plain;

    impl Notation for Plain {
        fn constant(&self, value: f64) -> String {
            format!("{value}")
        }

        fn function(&self, function: Function) -> String {
            format!("{function:?}")
        }

        fn held(&self, reading: &str, [low, high]: [f64; 2]) -> String {
            format!("{low}<{reading}<{high}")
        }
    }

    #[test]
    fn the_order_of_the_arithmetic_stands_in_the_text() {
        let (a, b) = (|| name("a"), || name("b"));
        for (expression, text) in [
            (a() - b() - a(), "a - b - a"),
            (a() - (b() - a()), "a - (b - a)"),
            (a() + (b() + a()), "a + (b + a)"),
            ((a() + b()) * a() / b(), "(a + b) * a / b"),
            (a() * (b() / a()), "a * (b / a)"),
            (a() - constant(-2.0), "a - -2"),
            (-a() - -b(), "-a - -b"),
            (-(a() * b()), "-(a * b)"),
            (call(Function::Sine, a() + b()) * a(), "Sine(a + b) * a"),
            (angle_of(a(), b()), "AngleOf(a, b)"),
        ] {
            assert_eq!(Plain.text(&expression), text);
        }
    }

    #[test]
    fn names_of_joints_become_names_in_code() {
        for (text, name) in [
            ("knee", "knee"),
            ("left knee-2", "left_knee_2"),
            ("2nd", "j2nd"),
            ("_x", "j_x"),
            ("Gelenk ö", "Gelenk__"),
        ] {
            assert_eq!(identifier(text), name);
        }
    }
}
