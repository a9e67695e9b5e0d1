//! The direct joint as a snippet in every format, for a page.

use crate::design::Design;
use crate::robot::Format;
use crate::study::{Check, Mechanism};

use super::emit::{Emission, emit_drawn};
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
    let snippet = |format| {
        let outcome = emit_drawn(design, mechanism, check, &Ask::new(Form::Direct, format));
        Snippet { format, outcome }
    };
    Format::ALL.map(snippet).to_vec()
}
