//! Why a joint cannot be emitted, and what to change.

use std::fmt;

use crate::design::{InFile, Parameter};
use crate::diagnostic::{Code, Diagnostic};
use crate::dynamics::DynamicsFault;
use crate::equivalence::Verdict;
use crate::study;

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
    /// No real bodies or no armature can stand for the linkage.
    Dynamics(DynamicsFault),
    /// A link of the whole model would be no real body with what the linkage's parts add to it.
    NoRealLink {
        /// Its name.
        link: String,
    },
    /// Two crank angles belong to one joint angle: the rocker stands still at this motor turn (rad) in the stroke.
    CrankNotOfJoint {
        /// Motor turn from the zero pose.
        motor: f64,
    },
    /// The format couples joints by a straight line only, which is not enough for this linkage.
    NotLinear {
        /// What of the line is off and by how much, with the limit.
        why: String,
    },
    /// URDF is a tree.
    NoLoops,
    /// SDFormat draws links at reading 0, which the linkage does not reach; joint turn from the zero pose, rad.
    ZeroReadingNotReached {
        /// Where reading 0 would be.
        joint: f64,
    },
    /// The engine's version cannot close this loop.
    EngineTooOld {
        /// The version that can.
        needs: super::EngineVersion,
    },
    /// The engine's version has no place for what the motor adds to a drive in its own units.
    NoMotorInertia {
        /// The version that has.
        needs: super::EngineVersion,
    },
    /// The verdict does not allow a direct joint.
    Refused {
        /// Not equivalent, or undecided.
        verdict: Verdict,
        /// The verdict's reason.
        reason: String,
    },
}

impl EmitFault {
    /// A fault of the dynamics where the crank stays a body: a dead point then stands against a coupling alone.
    pub(super) fn of_kept(fault: DynamicsFault) -> Self {
        match fault {
            DynamicsFault::DeadPoint { turn } => Self::CrankNotOfJoint { motor: turn },
            other => Self::Dynamics(other),
        }
    }

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
            _ => None,
        }
    }

    /// By which more can be asked about it, where there is more to say.
    #[must_use]
    pub fn code(&self) -> Option<Code> {
        match self {
            Self::Refused { verdict: Verdict::NotEquivalent, .. } => Some(Code::NotEquivalent),
            Self::Refused { verdict: Verdict::Undecided, .. } => Some(Code::Undecided),
            Self::StopsLeaveNothing { .. } => Some(Code::StopsLeaveNothing),
            Self::NoRealLink { .. } => Some(Code::NoRealBody),
            Self::NotLinear { .. } => Some(Code::CouplingNotLinear),
            Self::CrankNotOfJoint { .. } | Self::Dynamics(DynamicsFault::DeadPoint { .. }) => {
                Some(Code::DeadPointInStroke)
            }
            _ => None,
        }
    }

    /// As a message, at the user's own line where it is known.
    #[must_use]
    pub fn diagnostic(&self, design: &impl InFile) -> Diagnostic {
        let shown = match self.parameter() {
            Some(parameter) => design.places().diagnose(parameter, self.to_string()),
            None => Diagnostic::error(self.to_string()),
        };
        shown.code(self.code()).help(self.help())
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
            Self::Dynamics(DynamicsFault::DeadPoint { .. }) => {
                "end the stroke short of the dead point, or emit the closed loop with --model loop".into()
            }
            Self::Dynamics(fault) => fault.remedy(),
            Self::NoRealLink { .. } => {
                "give the link's real mass and inertia (a link that bears a motor weighs more than its drive's shares), counterweight the crank, or leave --whole out and add the patch list to your own bodies".into()
            }
            Self::CrankNotOfJoint { .. } => {
                "end the stroke short of the dead point, or take --model loop".into()
            }
            Self::NotLinear { .. } => "--to mjcf holds a polynomial: take --to mjcf --model coupled".into(),
            Self::NoLoops => "take --to mjcf or --to sdformat, or --model coupled".into(),
            Self::ZeroReadingNotReached { .. } => {
                "let [zero] joint_reads name a pose on the linkage's branch, or take --to mjcf".into()
            }
            Self::EngineTooOld { needs } => {
                format!("--engine-version {needs}, --whole, or [zero] joint_reads = \"0 deg\"")
            }
            Self::NoMotorInertia { needs } => {
                format!("--engine-version {needs}, or --model direct")
            }
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
            Self::Dynamics(fault) => {
                write!(f, "no model emitted: {}", study::in_words_alone(fault))
            }
            Self::NoRealLink { link } => write!(
                f,
                "no model emitted: with what the linkage's parts add to it, no real body has the moments of link {link:?} (principal moments are positive, and none is larger than the other two together)"
            ),
            Self::CrankNotOfJoint { motor } => write!(
                f,
                "no coupled model emitted: the rocker stands still at motor turn {:.3} deg, so that the crank's angle is no function of the joint's",
                motor.to_degrees()
            ),
            Self::NotLinear { why } => write!(
                f,
                "no coupled model emitted: this format couples joints by a straight line only, and {why}"
            ),
            Self::NoLoops => {
                f.write_str("URDF is a tree and holds no closed loop: no loop model emitted")
            }
            Self::ZeroReadingNotReached { joint } => write!(
                f,
                "SDFormat draws links at reading 0, which the linkage does not reach ({:.3} deg from the zero pose)",
                joint.to_degrees()
            ),
            Self::EngineTooOld { needs } => write!(
                f,
                "before version {needs} the engine closes a loop in the drawn pose only, and a snippet's child is drawn at reading 0, not in the zero pose"
            ),
            Self::NoMotorInertia { needs } => write!(
                f,
                "before version {needs} the engine has no place for the motor's inertia and damping on such an actuator"
            ),
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
