//! What a link bears and what a file does to it besides its joints, its mass and its shapes.

use super::place::Place;

/// Something on a link besides its shapes and its mass.
#[derive(Clone, Debug)]
pub struct Fitting {
    /// The element.
    pub place: Place,
    /// What it is, with its name if it has one, as a clause: `camera "wrist"`.
    pub what: String,
}

/// What a file does to a link besides its joints, its mass and contact.
#[derive(Clone, Debug)]
pub struct Influence {
    /// The element.
    pub place: Place,
    /// In the format's words.
    pub what: String,
    /// No force moves the link; else it is a force more or less.
    pub holds: bool,
}

impl Influence {
    /// The word of the format, whatever its figure.
    #[must_use]
    pub fn key(&self) -> &str {
        self.what.split(['=', '>']).next().unwrap_or_default()
    }
}
