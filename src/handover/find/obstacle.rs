//! What keeps a loop from being one direct joint, and what is said of it.

use serde::Serialize;

/// What stands against one direct joint, or against judging it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Obstacle {
    /// Stable, snake case.
    pub code: &'static str,
    /// For people, a clause without a full stop.
    pub message: String,
}

impl Obstacle {
    pub(super) fn new(code: &'static str, message: impl Into<String>) -> Self {
        Self { code, message: message.into() }
    }
}
