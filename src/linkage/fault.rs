//! What a linkage cannot do, and where it stops.

use std::fmt;

/// What ends a branch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BarrierKind {
    /// Coupler and rocker in line: the crank can go no further.
    CrankLimit,
    /// All four pins in line: the linkage can leave on either side.
    ChangePoint,
}

impl BarrierKind {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::CrankLimit => "crank limit (toggle)",
            Self::ChangePoint => "change point",
        }
    }
}

/// Why a linkage cannot do what is asked of it. Angles in rad, turns from the zero pose about the joint axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LinkageFault {
    /// Coupler and rocker do not reach each other at this crank angle: `short` (unit of length) is missing.
    CannotClose {
        /// Crank angle.
        crank: f64,
        /// By how much the coupler is too short (positive) or too long (negative).
        short: f64,
    },
    /// All four pins in line in the zero pose, so that the closure cannot be told.
    FlatZeroPose,
    /// The stroke asks for a motor turn beyond a crank limit or change point.
    MotorTurnOutOfReach {
        /// The turn asked for.
        wanted: f64,
        /// The last turn that can be reached.
        reach: f64,
        /// What stands there.
        barrier: BarrierKind,
    },
    /// The stroke asks for a joint turn that the rocker does not reach on its branch.
    JointTurnOutOfReach {
        /// The turn asked for.
        wanted: f64,
        /// The last turn that can be reached.
        reach: f64,
        /// What stands there; `None` for a dead point.
        barrier: Option<BarrierKind>,
    },
    /// The zero pose is a dead point, so that a joint angle does not tell which way the crank goes.
    ZeroPoseIsDeadPoint,
}

impl fmt::Display for LinkageFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CannotClose { crank, short } if *short > 0.0 => {
                write!(
                    f,
                    "the loop does not close at crank angle {crank:.6} rad: the coupler is {short:.3e} too short"
                )
            }
            Self::CannotClose { crank, short } => {
                write!(
                    f,
                    "the loop does not close at crank angle {crank:.6} rad: the coupler is {:.3e} too long",
                    -short
                )
            }
            Self::FlatZeroPose => f.write_str("all four pins lie in line in the zero pose"),
            Self::MotorTurnOutOfReach { wanted, reach, barrier } => {
                write!(
                    f,
                    "motor turn {wanted:.6} rad is out of reach: {} at {reach:.6} rad",
                    barrier.name()
                )
            }
            Self::JointTurnOutOfReach { wanted, reach, barrier } => {
                write!(f, "joint turn {wanted:.6} rad is out of reach: ")?;
                match barrier {
                    Some(barrier) => write!(f, "{} at {reach:.6} rad", barrier.name()),
                    None => write!(f, "a dead point at {reach:.6} rad"),
                }
            }
            Self::ZeroPoseIsDeadPoint => f.write_str("the zero pose is a dead point"),
        }
    }
}

impl std::error::Error for LinkageFault {}
