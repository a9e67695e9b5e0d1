//! What is asked of a stand-in: the form, the format, which figures become limits.

use super::figures::Envelope;
use super::form::Form;
use crate::dynamics::Fit;
use crate::handover::engine::EngineVersion;
use crate::robot::Format;

/// What to emit: in which form and for which file it is to stand in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ask {
    /// What stands for the linkage.
    pub form: Form,
    /// The format.
    pub format: Format,
    /// A model that loads by itself, not a snippet.
    pub whole: bool,
    /// Emit whatever the verdict says; the file then says so.
    pub anyway: bool,
    /// Guaranteed or never-exceed figures as limits.
    pub limits: LimitBasis,
    /// The units of the direct joint's MJCF actuator.
    pub actuator: ActuatorUnits,
    /// The engine that an MJCF file is for; the oldest that does where `None`.
    pub engine: Option<EngineVersion>,
    /// What the polynomial of an MJCF coupling favours.
    pub fit: Fit,
}

impl Ask {
    /// A snippet, if the verdict lets it, with guaranteed limits in the joint's units.
    #[must_use]
    pub fn new(form: Form, format: Format) -> Self {
        Self {
            form,
            format,
            whole: false,
            anyway: false,
            limits: LimitBasis::default(),
            actuator: ActuatorUnits::default(),
            engine: None,
            fit: Fit::default(),
        }
    }
}

words! {
    /// Which figures become the limits of effort and speed.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum LimitBasis {
        /// What is reached everywhere on the stroke.
        #[default]
        Guaranteed = "guaranteed",
        /// What is exceeded nowhere on the stroke.
        NeverExceed = "never-exceed",
    }
}

words! {
    /// The units of the actuator's control signal; only MJCF holds an actuator.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum ActuatorUnits {
        /// The joint's: gear 1.
        #[default]
        Joint = "joint",
        /// The motor's: gear = `motor_sign` · ratio.
        Motor = "motor",
    }
}

impl LimitBasis {
    /// The figure that becomes the limit.
    #[must_use]
    pub fn of(self, envelope: Envelope) -> Option<f64> {
        match self {
            Self::Guaranteed => envelope.guaranteed,
            Self::NeverExceed => envelope.never_exceed,
        }
    }

    /// The figure that stands beside the limit.
    #[must_use]
    pub fn other(self, envelope: Envelope) -> Option<f64> {
        match self {
            Self::Guaranteed => envelope.never_exceed,
            Self::NeverExceed => envelope.guaranteed,
        }
    }

    /// The name of the figure beside the limit.
    #[must_use]
    pub fn other_name(self) -> &'static str {
        match self {
            Self::Guaranteed => Self::NeverExceed.name(),
            Self::NeverExceed => Self::Guaranteed.name(),
        }
    }
}
