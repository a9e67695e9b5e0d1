//! What a drive cannot do, and where it stops.

use std::fmt;

use super::stop::StopKind;

/// Why a drive cannot do what is asked of it. Angles in rad, lengths in the unit of the drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DriveFault {
    /// The rod does not reach.
    CannotReach {
        /// Which rod, from 0.
        rod: usize,
        /// The turn asked for: the joint's, or the motor's where that was given.
        turn: f64,
        /// By how much the rod is too short (positive) or too long (negative).
        missing: f64,
    },
    /// A joint turn beyond a stop.
    JointOutOfReach {
        /// The joint turn asked for.
        wanted: f64,
        /// The last that can be reached.
        reach: f64,
        /// What stands there.
        stop: StopKind,
    },
    /// A motor turn beyond a stop.
    MotorOutOfReach {
        /// The motor turn asked for.
        wanted: f64,
        /// The last that can be reached.
        reach: f64,
        /// What stands there.
        stop: StopKind,
    },
    /// Motor turns of a drive of two motors to which no joint angles were found from the zero pose on.
    NotFollowed {
        /// The share of the way there that was certain.
        share: f64,
    },
    /// The zero pose is a stop, so that it cannot be told which way the drive goes.
    ZeroPoseIsStop(StopKind),
    /// The drawing leaves open where something is or which way it points: what it is.
    Undetermined(&'static str),
    /// A stage of a series, from 0 at the motor, cannot do what the whole is asked for.
    Stage(usize, StageFault),
}

/// A fault of one stage, its turns counted at that stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StageFault {
    /// Its rod does not reach by so much.
    CannotReach(f64),
    /// It stops there.
    OutOfReach(StopKind),
    /// Anything else.
    Undetermined,
}

impl DriveFault {
    /// The same fault as that of a series' stage `stage`.
    #[must_use]
    pub fn of_stage(self, stage: usize) -> Self {
        let what = match self {
            Self::CannotReach { missing, .. } => StageFault::CannotReach(missing),
            Self::JointOutOfReach { stop, .. }
            | Self::MotorOutOfReach { stop, .. }
            | Self::ZeroPoseIsStop(stop) => StageFault::OutOfReach(stop),
            Self::NotFollowed { .. } | Self::Undetermined(_) => StageFault::Undetermined,
            Self::Stage(_, inner) => inner,
        };
        Self::Stage(stage, what)
    }
}

/// "1.2e-3 too short".
fn off(missing: f64) -> String {
    let side = if missing > 0.0 { "short" } else { "long" };
    format!("{:.3e} too {side}", missing.abs())
}

impl fmt::Display for DriveFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let beyond = |f: &mut fmt::Formatter<'_>, end: &str, [wanted, reach]: [f64; 2], stop| {
            let stop = StopKind::name(stop);
            write!(f, "{end} turn {wanted:.6} rad is out of reach: {stop} at {reach:.6} rad")
        };
        match *self {
            Self::CannotReach { rod, turn, missing } => {
                let off = off(missing);
                write!(f, "rod {} is {off} at a turn of {turn:.6} rad", rod + 1)
            }
            Self::JointOutOfReach { wanted, reach, stop } => {
                beyond(f, "joint", [wanted, reach], stop)
            }
            Self::MotorOutOfReach { wanted, reach, stop } => {
                beyond(f, "motor", [wanted, reach], stop)
            }
            Self::NotFollowed { share } => write!(
                f,
                "the joints cannot be followed to these motor turns: certain for {:.0} % of the way",
                1e2 * share
            ),
            Self::ZeroPoseIsStop(stop) => write!(f, "the zero pose is a {}", stop.name()),
            Self::Undetermined(what) => write!(f, "{what}"),
            Self::Stage(stage, StageFault::CannotReach(missing)) => {
                write!(f, "stage {}: the rod is {}", stage + 1, off(missing))
            }
            Self::Stage(stage, StageFault::OutOfReach(stop)) => {
                write!(f, "stage {} stops: {}", stage + 1, stop.name())
            }
            Self::Stage(stage, StageFault::Undetermined) => {
                write!(f, "stage {} is not determined", stage + 1)
            }
        }
    }
}

impl std::error::Error for DriveFault {}
