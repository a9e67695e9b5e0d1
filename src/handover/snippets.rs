//! The direct joint as a snippet in every format, for a page.

use crate::design::{Design, Drawn};
use crate::robot::Format;
use crate::study::{Check, Driven, Mechanism};

use super::emit::{Emission, emit_drawn, emit_one_joint};
use super::fault::EmitFault;
use super::stand_in::{Ask, Form};

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
pub fn snippets(design: &Design, mechanism: &Mechanism, check: &Check) -> Vec<Snippet> {
    in_every_format(|ask| emit_drawn(design, mechanism, check, ask))
}

/// The same of a drive that is no planar four-bar.
#[must_use]
pub fn snippets_of_drive(design: &Design<Drawn>, driven: &Driven, check: &Check) -> Vec<Snippet> {
    in_every_format(|ask| emit_one_joint(design, driven, check, ask))
}

fn in_every_format(emit: impl Fn(&Ask) -> Result<Emission, Vec<EmitFault>>) -> Vec<Snippet> {
    let snippet = |format| Snippet { format, outcome: emit(&Ask::new(Form::Direct, format)) };
    Format::ALL.map(snippet).to_vec()
}
