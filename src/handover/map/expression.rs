//! The arithmetic of a map, told once: languages print it, error bounds and test vectors evaluate it.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::number::float;

/// A formula, in the order in which it is worked out.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Expression {
    /// A figure, rounded to the code's kind of number.
    Constant(f64),
    /// A variable.
    Name(&'static str),
    Negative(Box<Expression>),
    Binary(Operation, Box<[Expression; 2]>),
    Call(Function, Vec<Expression>),
    /// A variable held between two figures; what is no number stays none.
    Held(&'static str, [f64; 2]),
}

impl Expression {
    /// No variable comes into it.
    pub(super) fn is_constant(&self) -> bool {
        match self {
            Self::Constant(_) => true,
            Self::Name(_) | Self::Held(..) => false,
            Self::Negative(one) => one.is_constant(),
            Self::Binary(_, both) => both.iter().all(Self::is_constant),
            Self::Call(_, arguments) => arguments.iter().all(Self::is_constant),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Operation {
    Plus,
    Minus,
    Times,
    Over,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Function {
    SquareRoot,
    Sine,
    Cosine,
    /// The angle of the vector whose second and first coordinates are the two arguments.
    AngleOf,
}

impl Function {
    /// As most mathematical libraries call it.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::SquareRoot => "sqrt",
            Self::Sine => "sin",
            Self::Cosine => "cos",
            Self::AngleOf => "atan2",
        }
    }
}

impl Expression {
    /// The same with another variable in the place of one.
    pub(super) fn renamed(self, from: &'static str, to: &'static str) -> Self {
        let other = |name| if name == from { to } else { name };
        match self {
            Self::Constant(_) => self,
            Self::Name(name) => Self::Name(other(name)),
            Self::Negative(inner) => Self::Negative(Box::new(inner.renamed(from, to))),
            Self::Binary(operation, sides) => {
                Self::Binary(operation, Box::new(sides.map(|side| side.renamed(from, to))))
            }
            Self::Call(function, arguments) => {
                let renamed = arguments.into_iter().map(|a| a.renamed(from, to));
                Self::Call(function, renamed.collect())
            }
            Self::Held(name, ends) => Self::Held(other(name), ends),
        }
    }

    /// Does it call the mathematical library?
    pub(super) fn calls(&self) -> bool {
        match self {
            Self::Constant(_) | Self::Name(_) | Self::Held(..) => false,
            Self::Negative(inner) => inner.calls(),
            Self::Binary(_, sides) => sides.iter().any(Self::calls),
            Self::Call(..) => true,
        }
    }
}

/// One line of code: a variable and what it becomes. A later line may give the same variable another value.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) name: &'static str,
    pub(super) value: Expression,
}

/// `name = value`.
pub(super) fn line(name: &'static str, value: Expression) -> Line {
    Line { name, value }
}

pub(super) fn constant(value: f64) -> Expression {
    Expression::Constant(value)
}

pub(super) fn name(name: &'static str) -> Expression {
    Expression::Name(name)
}

pub(super) fn call(function: Function, argument: Expression) -> Expression {
    Expression::Call(function, vec![argument])
}

/// The angle of the vector (x, y).
pub(super) fn angle_of(y: Expression, x: Expression) -> Expression {
    Expression::Call(Function::AngleOf, vec![y, x])
}

macro_rules! operator {
    ($of:ident, $method:ident, $operation:ident) => {
        impl $of for Expression {
            type Output = Self;

            fn $method(self, other: Self) -> Self {
                Self::Binary(Operation::$operation, Box::new([self, other]))
            }
        }
    };
}

operator!(Add, add, Plus);
operator!(Sub, sub, Minus);
operator!(Mul, mul, Times);
operator!(Div, div, Over);

impl Neg for Expression {
    type Output = Self;

    fn neg(self) -> Self {
        Self::Negative(Box::new(self))
    }
}

/// A kind of number that lines can be worked out in.
pub(super) trait Numbers {
    type Number: Copy;

    fn constant(&self, value: f64) -> Self::Number;
    fn negative(&self, x: Self::Number) -> Self::Number;
    fn binary(&self, operation: Operation, x: Self::Number, y: Self::Number) -> Self::Number;
    /// `y` is only used by [`Function::AngleOf`], whose first argument `x` then is.
    fn call(&self, function: Function, x: Self::Number, y: Option<Self::Number>) -> Self::Number;
    fn held(&self, x: Self::Number, ends: [f64; 2]) -> Self::Number;

    /// The value of `expression` where `known` holds the variables; `None` where it names another.
    fn value(
        &self,
        expression: &Expression,
        known: &[(&'static str, Self::Number)],
    ) -> Option<Self::Number> {
        let find = |name: &str| known.iter().rev().find(|(n, _)| *n == name).map(|(_, x)| *x);
        Some(match expression {
            Expression::Constant(value) => self.constant(*value),
            Expression::Name(name) => find(name)?,
            Expression::Negative(inner) => self.negative(self.value(inner, known)?),
            Expression::Binary(operation, sides) => {
                let [x, y] = sides.as_ref();
                self.binary(*operation, self.value(x, known)?, self.value(y, known)?)
            }
            Expression::Call(function, arguments) => {
                let x = self.value(arguments.first()?, known)?;
                let y = arguments.get(1).map(|y| self.value(y, known));
                self.call(*function, x, y.flatten())
            }
            Expression::Held(name, ends) => self.held(find(name)?, *ends),
        })
    }

    /// Works out `lines` one after another.
    fn run(&self, lines: &[Line], known: &mut Vec<(&'static str, Self::Number)>) -> Option<()> {
        for line in lines {
            let value = self.value(&line.value, known)?;
            known.push((line.name, value));
        }
        Some(())
    }
}

/// `double`: as the code works it out.
pub(super) struct Doubles;

/// `float`: as the code works it out.
pub(super) struct Floats;

macro_rules! machine_numbers {
    ($kind:ty, $number:ty, $from:expr, $root:path, $sine:path, $cosine:path, $angle:path) => {
        impl Numbers for $kind {
            type Number = $number;

            fn constant(&self, value: f64) -> $number {
                $from(value)
            }

            fn negative(&self, x: $number) -> $number {
                -x
            }

            fn binary(&self, operation: Operation, x: $number, y: $number) -> $number {
                match operation {
                    Operation::Plus => x + y,
                    Operation::Minus => x - y,
                    Operation::Times => x * y,
                    Operation::Over => x / y,
                }
            }

            fn call(&self, function: Function, x: $number, y: Option<$number>) -> $number {
                match function {
                    Function::SquareRoot => $root(x),
                    Function::Sine => $sine(x),
                    Function::Cosine => $cosine(x),
                    Function::AngleOf => $angle(x, y.unwrap_or(<$number>::NAN)),
                }
            }

            fn held(&self, x: $number, ends: [f64; 2]) -> $number {
                let [low, high] = ends.map(|end| self.constant(end));
                if x < low {
                    low
                } else if x > high {
                    high
                } else {
                    x
                }
            }
        }
    };
}

machine_numbers!(
    Doubles,
    f64,
    std::convert::identity,
    f64::sqrt,
    libm::sin,
    libm::cos,
    libm::atan2
);
machine_numbers!(Floats, f32, float, f32::sqrt, libm::sinf, libm::cosf, libm::atan2f);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_worked_out_in_order_and_in_the_codes_own_numbers() {
        let lines = [
            line("p", constant(0.1) * name("x")),
            line("p", name("p") + constant(0.2)),
            line("held", Expression::Held("p", [-1.0, 0.25])),
        ];
        let mut doubles = vec![("x", 3.0)];
        Doubles.run(&lines, &mut doubles).unwrap();
        assert_eq!(doubles.last().unwrap().1, 0.25);
        let mut floats = vec![("x", 0.3_f32)];
        Floats.run(&lines, &mut floats).unwrap();
        assert_eq!(floats.last().unwrap().1, 0.1_f32 * 0.3 + 0.2);
        assert_eq!(Doubles.value(&name("unknown"), &doubles), None);
    }

    #[test]
    fn what_is_no_number_stays_none() {
        let held = Expression::Held("x", [-1.0, 1.0]);
        assert!(Doubles.value(&held, &[("x", f64::NAN)]).unwrap().is_nan());
    }
}
