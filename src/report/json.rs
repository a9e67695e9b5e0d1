//! Findings as JSON: SI, the unit in the key's name, what is infinite or not known as null.

use serde::Serialize;

/// `findings` as `--json` prints them, with a line end; they carry the keys and their schema's name themselves.
#[must_use]
pub fn json(findings: &impl Serialize) -> String {
    // Through a value, whose keys are in the order of the alphabet.
    serde_json::to_value(findings).map_or_else(|_| String::new(), |value| format!("{value:#}\n"))
}
