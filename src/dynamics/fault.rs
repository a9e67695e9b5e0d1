//! Why no figure or no replacement can be given.

use std::fmt;

use super::body::BodyFault;
use crate::drive::DriveFault;
use crate::linkage::LinkageFault;

/// A fault of the drive's dynamics; it names the part, not a file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DynamicsFault {
    /// The linkage cannot reach a pose.
    Linkage(LinkageFault),
    /// The drive cannot follow its joint.
    Drive(DriveFault),
    /// The rocker stands still at this motor turn (rad) inside the stroke: the motor's inertia at the joint has no bound.
    DeadPoint {
        /// Motor turn from the zero pose.
        turn: f64,
    },
    /// The direct joint would need a negative armature, kg m².
    NegativeArmature {
        /// The armature it would need.
        armature: f64,
        /// Rotor turns per joint turn.
        rotor_turns: f64,
    },
    /// No mass on the joint axis makes real bodies of both: this one's figures fail.
    NoRealBody {
        /// "carrier", "child" or "crank".
        body: &'static str,
        /// What fails.
        fault: BodyFault,
        /// The inertia about the axis that it lacks at least, kg m²; `None` where mass or its height is what it lacks.
        lacks: Option<f64>,
    },
}

impl From<LinkageFault> for DynamicsFault {
    fn from(fault: LinkageFault) -> Self {
        Self::Linkage(fault)
    }
}

impl From<DriveFault> for DynamicsFault {
    fn from(fault: DriveFault) -> Self {
        Self::Drive(fault)
    }
}

impl fmt::Display for DynamicsFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Linkage(fault) => fault.fmt(f),
            Self::Drive(fault) => fault.fmt(f),
            Self::DeadPoint { turn } => {
                write!(f, "the rocker stands still at motor turn {turn:.6} rad, inside the stroke")
            }
            Self::NegativeArmature { armature, .. } => {
                write!(f, "the direct joint would need a negative armature, {armature:.3e} kg m²")
            }
            Self::NoRealBody { body, fault, .. } => {
                write!(f, "no real body stands in for the {body}: {fault}")
            }
        }
    }
}

impl std::error::Error for DynamicsFault {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Linkage(fault) => Some(fault),
            Self::Drive(fault) => Some(fault),
            Self::NoRealBody { fault, .. } => Some(fault),
            Self::DeadPoint { .. } | Self::NegativeArmature { .. } => None,
        }
    }
}

impl DynamicsFault {
    /// What can be done about it, as one clause: which body needs how much more, where that is known.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::NoRealBody { body, lacks: Some(lacks), .. } => {
                let or = match *body {
                    "carrier" | "child" => {
                        ", or keep the crank as a body of its own (the coupled or the loop model)"
                    }
                    _ => "",
                };
                format!(
                    "the {body} lacks {lacks:.1e} kg m2 about the joint axis' direction: give its real tensor, or one that has as much more{or}"
                )
            }
            _ => self.general_remedy().to_owned(),
        }
    }

    fn general_remedy(&self) -> &'static str {
        match self {
            Self::Linkage(_) | Self::Drive(_) => "shorten the stroke or change the lengths",
            Self::DeadPoint { .. } => {
                "end the stroke short of the dead point, or keep the crank as a body of its own"
            }
            Self::NegativeArmature { .. } => {
                "keep the crank as a body of its own (the coupled or the loop model): a rotor that turns with the joint, \
                 but less far, cannot be a direct joint's armature"
            }
            Self::NoRealBody { body: "carrier", .. } => {
                "the carrier is too slender to give up the rotor's and the crank's share: give its real tensor, or keep the crank as a body of its own \
                 (the coupled or the loop model)"
            }
            Self::NoRealBody { body: "crank", .. } => "give the crank's real tensor",
            Self::NoRealBody { .. } => {
                "counterweight the crank, give the real mass of carrier and child, or keep the crank as a body of its own \
                 (the coupled or the loop model)"
            }
        }
    }
}
