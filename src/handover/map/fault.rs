//! Why a map cannot be written, and what to change.

use std::fmt;

use super::super::fault::EmitFault;
use crate::design::{InFile, Parameter};
use crate::diagnostic::{Code, Diagnostic};
use crate::units::degrees;

/// Why a map cannot be written.
#[derive(Clone, Debug, PartialEq)]
pub enum MapFault {
    /// The motor's stops stand against it.
    Stops(EmitFault),
    /// Two joints have one name in code.
    SameName {
        /// The second of them, counted from 0 in the order of the file.
        robot: usize,
        /// The joints' names.
        names: [String; 2],
        /// What both become.
        in_code: String,
    },
    /// No code is certified to be as close as was asked.
    NotWithin {
        /// rad.
        wanted: f64,
        /// The closest that was certified, rad.
        reached: f64,
        /// Degree of the polynomial there; `None` for the closed form.
        degree: Option<usize>,
    },
    /// The closed form tells turns up to half a turn only; rad.
    TurnsTooFar {
        /// The furthest turn of the stroke.
        turn: f64,
    },
    /// The pad rides on the coupler: no joint turns with it.
    PadOnCoupler,
    /// Polynomials are fitted to drives of one joint only.
    NoPolynomial,
    /// Over a region of two joints: what keeps the code from being certified.
    Region(&'static str),
    /// No error bound was found: the stroke touches the end of its branch.
    NotCertified,
}

impl From<EmitFault> for MapFault {
    fn from(fault: EmitFault) -> Self {
        Self::Stops(fault)
    }
}

impl MapFault {
    /// The parameter of the design that the fault lies in, where there is one.
    #[must_use]
    pub fn parameter(&self) -> Option<Parameter> {
        match self {
            Self::Stops(fault) => fault.parameter(),
            Self::SameName { robot, .. } => Some(Parameter::Robot(*robot)),
            Self::TurnsTooFar { .. } | Self::NotCertified => Some(Parameter::StrokeFirst),
            Self::PadOnCoupler => Some(Parameter::FingerPad),
            Self::Region(_) => Some(Parameter::StrokePitch),
            Self::NotWithin { .. } | Self::NoPolynomial => None,
        }
    }

    /// As a message, at the user's own line where it is known.
    #[must_use]
    pub fn diagnostic(&self, design: &impl InFile) -> Diagnostic {
        let shown = match self.parameter() {
            Some(parameter) => design.places().diagnose(parameter, self.to_string()),
            None => Diagnostic::error(self.to_string()),
        };
        let code = (*self == Self::PadOnCoupler).then_some(Code::PadOnCoupler);
        shown.code(code).help(self.help())
    }

    /// What to change.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Stops(fault) => fault.help(),
            Self::SameName { .. } => {
                "give the joints names that differ in their letters and digits".to_owned()
            }
            Self::NotWithin { degree: Some(_), .. } => {
                "allow more by --within, shorten the stroke, or take --number double; --by formula has no error of its own but rounding".to_owned()
            }
            Self::NotWithin { degree: None, .. } => {
                "allow more by --within, or take --number double".to_owned()
            }
            Self::TurnsTooFar { .. } => "take --by polynomial, or shorten the stroke".to_owned(),
            Self::PadOnCoupler => {
                "emit writes opening and grip over the stroke into NAME.joint.json, stroke --csv the same as a table".to_owned()
            }
            Self::NoPolynomial => "leave --by out, or take --by formula: the closed form".to_owned(),
            Self::Region(_) => "narrow the stroke of pitch or roll".to_owned(),
            Self::NotCertified => "end the stroke a little earlier".to_owned(),
        }
    }
}

impl fmt::Display for MapFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stops(fault) => fault.fmt(f),
            Self::SameName { names: [first, second], in_code, .. } => {
                write!(f, "joints {first:?} and {second:?} are both {in_code} in code")
            }
            Self::NotWithin { wanted, reached, degree } => {
                let code = match degree {
                    Some(degree) => format!("a polynomial, here of degree {degree},"),
                    None => "the closed form".to_owned(),
                };
                write!(
                    f,
                    "no code is certified to be within {:.3e} deg: {code} is within {:.3e} deg",
                    wanted.to_degrees(),
                    reached.to_degrees()
                )
            }
            Self::TurnsTooFar { turn } => write!(
                f,
                "the stroke turns by {} from the zero pose, and the closed form tells half a turn",
                degrees(*turn)
            ),
            Self::PadOnCoupler => f.write_str(
                "map tells motor and joint of each other, and the pad rides on the coupler: it has no joint of its own",
            ),
            Self::NoPolynomial => f.write_str(
                "a polynomial with a certified error is made of drives of one joint only; this drive's map is its closed form",
            ),
            Self::Region(why) => f.write_str(why),
            Self::NotCertified => f.write_str(
                "no error bound holds over this stroke: it touches the end of its branch",
            ),
        }
    }
}

impl std::error::Error for MapFault {}
