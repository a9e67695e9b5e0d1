//! Why a joint cannot be emitted, and what to change.

use std::fmt;

use crate::design::Parameter;
use crate::equivalence::Verdict;

/// Why a joint cannot be emitted.
#[derive(Clone, Debug, PartialEq)]
pub enum EmitFault {
    /// A key or a table of the design that this output needs is not there.
    Missing {
        /// As it stands in the file, e.g. `[actuator] peak_torque`.
        key: &'static str,
        /// What needs it.
        needed_for: String,
        /// A line to add, or another way out.
        help: String,
    },
    /// A figure is there but cannot be used for this output.
    Unfit {
        /// As it stands in the file, e.g. `[mass.child] inertia`.
        key: &'static str,
        /// What is wrong.
        why: String,
        /// What to change.
        help: String,
    },
    /// A name in a `[[robot]]` table cannot be used.
    UnfitName {
        /// Counted from 0 in the order of the file.
        robot: usize,
        /// What is wrong, with the name.
        why: String,
    },
    /// The motor's stops leave nothing of the stroke; motor turns from the zero pose, rad.
    StopsLeaveNothing {
        /// The stops.
        stops: [f64; 2],
        /// The stroke.
        stroke: [f64; 2],
    },
    /// The linkage cannot stand at a stop inside the stroke.
    StopNotReached {
        /// Motor turn from the zero pose, rad.
        motor: f64,
    },
    /// The direct joint's ratio is 0 or not a number.
    NoRatio,
    /// The verdict does not allow a direct joint.
    Refused {
        /// Not equivalent, or undecided.
        verdict: Verdict,
        /// The verdict's reason.
        reason: String,
    },
}

impl EmitFault {
    /// Whether the verdict is what stands against it, and not the input.
    #[must_use]
    pub fn is_refusal(&self) -> bool {
        matches!(self, Self::Refused { .. })
    }

    /// The parameter of the design that the fault lies in, where its place in the file is known.
    #[must_use]
    pub fn parameter(&self) -> Option<Parameter> {
        match self {
            Self::StopsLeaveNothing { .. } | Self::StopNotReached { .. } => Some(Parameter::Stops),
            Self::UnfitName { robot, .. } => Some(Parameter::Robot(*robot)),
            Self::NoRatio => Some(Parameter::Ratio),
            Self::Missing { .. } | Self::Unfit { .. } | Self::Refused { .. } => None,
        }
    }

    /// What to change.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Missing { help, .. } | Self::Unfit { help, .. } => help.clone(),
            Self::UnfitName { .. } => {
                "give each joint and each child link a name of its own".into()
            }
            Self::StopsLeaveNothing { .. } => {
                "stops and stroke must overlap; both are counted from the zero pose".into()
            }
            Self::StopNotReached { .. } => "set the stop to where the linkage can stand".into(),
            Self::NoRatio => "give [direct_joint] ratio a figure other than 0".into(),
            Self::Refused { .. } => {
                "--anyway emits it all the same, and the file then says so".into()
            }
        }
    }
}

impl fmt::Display for EmitFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing { key, needed_for, .. } => write!(f, "{key} is missing: {needed_for}"),
            Self::Unfit { key, why, .. } => write!(f, "{key} cannot be used: {why}"),
            Self::UnfitName { why, .. } => f.write_str(why),
            Self::StopsLeaveNothing { stops, stroke } => write!(
                f,
                "the motor's stops ({}) leave nothing of the stroke ({} at the motor, counted from the zero pose)",
                degrees(*stops),
                degrees(*stroke)
            ),
            Self::StopNotReached { motor } => write!(
                f,
                "the linkage cannot stand at the motor's stop, {:.3} deg from the zero pose",
                motor.to_degrees()
            ),
            Self::NoRatio => f.write_str("the direct joint has no usable ratio"),
            Self::Refused { verdict, reason } => write!(f, "{}: {reason}", refusal(*verdict)),
        }
    }
}

impl std::error::Error for EmitFault {}

fn refusal(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NotEquivalent => "no direct joint emitted, the design is not equivalent",
        Verdict::Undecided => {
            "no direct joint emitted, it is undecided whether the design is equivalent"
        }
        Verdict::Equivalent => "no direct joint emitted",
    }
}

fn degrees([low, high]: [f64; 2]) -> String {
    format!("{:.3} to {:.3} deg", low.to_degrees(), high.to_degrees())
}
