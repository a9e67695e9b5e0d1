//! The direct joint, or both of two, as a snippet in every format, for a page.

use crate::design::{Design, TwoJointDesign};
use crate::robot::Format;
use crate::study::{Check, RegionCheck, TwoMotors};

use super::emit::{Emission, emit_drawn};
use super::emit_two_joints::{TwoJointEmission, emit_design_of_two_joints};
use super::fault::EmitFault;
use super::fills::Fills;
use super::stand_in::{ActuatorUnits, Ask, Form};

/// One format's snippet.
#[derive(Clone, Debug)]
pub struct Snippet {
    /// The format.
    pub format: Format,
    /// The text, or all that stands against it.
    pub outcome: Result<Emission, Vec<EmitFault>>,
}

/// The direct joint of `design` in every format, as `emit` writes it when asked for nothing special.
#[must_use]
#[allow(private_bounds, reason = "what can be emitted are the drawings of a design")]
pub fn snippets<G: Fills>(
    design: &Design<G>,
    mechanism: &G::Moving,
    check: &Check,
) -> Vec<Snippet> {
    let emitted = |ask| emit_drawn(design, mechanism, check, &ask);
    let snippet = |format| Snippet { format, outcome: emitted(Ask::new(Form::Direct, format)) };
    Format::ALL.map(snippet).to_vec()
}

/// Two direct joints in one format.
#[derive(Clone, Debug)]
pub struct TwoJointSnippet {
    /// The format.
    pub format: Format,
    /// What drives them: each joint's own actuator, or both motors through tendons.
    pub units: ActuatorUnits,
    /// The text, or all that stands against it.
    pub outcome: Result<TwoJointEmission, Vec<EmitFault>>,
}

/// Both direct joints of `design` in every format, and in MJCF driven by the motors too.
#[must_use]
pub fn snippets_of_two_joints(
    design: &TwoJointDesign,
    of: &TwoMotors,
    check: &RegionCheck,
) -> Vec<TwoJointSnippet> {
    let snippet = |(format, units)| {
        let ask = Ask { actuator: units, ..Ask::new(Form::Direct, format) };
        let outcome = emit_design_of_two_joints(design, of, check, ask);
        TwoJointSnippet { format, units, outcome }
    };
    let by_joints = Format::ALL.into_iter().map(|format| (format, ActuatorUnits::Joint));
    by_joints.chain([(Format::Mjcf, ActuatorUnits::Motor)]).map(snippet).collect()
}
