//! Words that several commands take, and what each means.

use clap::ValueEnum;

use crate::handover::{ActuatorUnits, LimitBasis};

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum LimitsName {
    Guaranteed,
    NeverExceed,
}

impl From<LimitsName> for LimitBasis {
    fn from(name: LimitsName) -> Self {
        match name {
            LimitsName::Guaranteed => Self::Guaranteed,
            LimitsName::NeverExceed => Self::NeverExceed,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum ActuatorName {
    Joint,
    Motor,
}

impl From<ActuatorName> for ActuatorUnits {
    fn from(name: ActuatorName) -> Self {
        match name {
            ActuatorName::Joint => Self::Joint,
            ActuatorName::Motor => Self::Motor,
        }
    }
}
