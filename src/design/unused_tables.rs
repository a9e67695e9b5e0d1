//! Faults in tables that a command makes no use of.

use crate::diagnostic::{Diagnostic, Severity};

/// An error in one of the tables `unused` becomes a warning.
pub(super) fn pass_over(text: &str, diagnostics: &mut [Diagnostic], unused: &[&str]) {
    if unused.is_empty() {
        return;
    }
    let headers = headers(text);
    for one in diagnostics.iter_mut().filter(|one| one.is_error()) {
        let table = one.place.as_ref().and_then(|place| table_at(&headers, place.start));
        if let Some(table) = table.filter(|table| unused.contains(table)) {
            one.severity = Severity::Warning;
            one.message = format!("{} (this command makes no use of [{table}])", one.message);
        }
    }
}

/// Where the line of each header begins, and its outermost table.
fn headers(text: &str) -> Vec<(usize, &str)> {
    let mut start = 0;
    let lines = text.split_inclusive('\n').filter_map(|line| {
        let at = start;
        start += line.len();
        let name = line.trim_start().strip_prefix('[')?.trim_start_matches('[');
        Some((at, name.split(['.', ']']).next()?.trim()))
    });
    lines.collect()
}

/// The outermost table in whose lines the byte `at` stands.
fn table_at<'a>(headers: &[(usize, &'a str)], at: usize) -> Option<&'a str> {
    let before = headers.partition_point(|(start, _)| *start <= at);
    Some(headers.get(before.checked_sub(1)?)?.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_belongs_to_the_table_whose_header_stands_above_it() {
        let text = "name = \"a\"\n[rod]\nouter = 8\n[mass.crank]\nmass = 1\n[[robot]]\n";
        let headers = headers(text);
        let at = |word: &str| table_at(&headers, text.find(word).unwrap());
        assert_eq!(at("name"), None);
        assert_eq!(at("rod"), Some("rod"));
        assert_eq!(at("outer"), Some("rod"));
        assert_eq!(at("mass = "), Some("mass"));
        assert_eq!(at("robot"), Some("robot"));
    }
}
