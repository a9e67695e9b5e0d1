//! Faults in tables that a command makes no use of.

use crate::diagnostic::{Diagnostic, Severity};

/// An error in one of the tables `unused` becomes a warning.
pub(super) fn pass_over(text: &str, one: &mut Diagnostic, unused: &[&str]) {
    let table = one.place.as_ref().and_then(|place| table_at(text, place.start));
    let Some(table) = table.filter(|table| unused.contains(table) && one.is_error()) else {
        return;
    };
    one.severity = Severity::Warning;
    one.message = format!("{} (this command makes no use of [{table}])", one.message);
}

/// The outermost table in whose lines the byte `at` stands.
fn table_at(text: &str, at: usize) -> Option<&str> {
    let end = text.get(at..)?.find('\n').map_or(text.len(), |more| at + more);
    let header = text.get(..end)?.lines().rev().find(|line| line.trim_start().starts_with('['))?;
    let name = header.trim_start().trim_start_matches('[');
    name.split(['.', ']']).next().map(str::trim)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_belongs_to_the_table_whose_header_stands_above_it() {
        let text = "name = \"a\"\n[rod]\nouter = 8\n[mass.crank]\nmass = 1\n[[robot]]\n";
        let at = |word: &str| table_at(text, text.find(word).unwrap());
        assert_eq!(at("name"), None);
        assert_eq!(at("rod"), Some("rod"));
        assert_eq!(at("outer"), Some("rod"));
        assert_eq!(at("mass = "), Some("mass"));
        assert_eq!(at("robot"), Some("robot"));
    }
}
