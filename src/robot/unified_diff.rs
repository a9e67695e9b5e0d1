//! The change of a text, shown the way `diff -u` and `patch` have it.

use std::fmt::{self, Write};

use gix_imara_diff::{
    Algorithm, Diff, InternedInput, Interner, Token, UnifiedDiffConfig, UnifiedDiffPrinter,
};

/// The change as a unified diff with three lines around each place; empty where nothing changes.
#[must_use]
pub fn unified_diff(old_name: &str, old: &str, new_name: &str, new: &str) -> String {
    if old == new {
        return String::new();
    }
    let lines = InternedInput::new(old, new);
    let mut diff = Diff::compute(Algorithm::Histogram, &lines);
    diff.postprocess_lines(&lines);
    let printer = Lines(&lines.interner);
    let places = diff.unified_diff(&printer, UnifiedDiffConfig::default(), &lines);
    format!("--- {old_name}\n+++ {new_name}\n{places}")
}

/// Prints lines to the byte, and tells of a last one without an end.
struct Lines<'a>(&'a Interner<&'a str>);

impl Lines<'_> {
    fn line(&self, out: &mut impl Write, sign: char, token: Token) -> fmt::Result {
        let line = self.0[token];
        let end = if line.ends_with('\n') { "" } else { "\n\\ No newline at end of file\n" };
        write!(out, "{sign}{line}{end}")
    }
}

impl UnifiedDiffPrinter for Lines<'_> {
    fn display_header(
        &self,
        mut out: impl Write,
        before: u32,
        after: u32,
        old: u32,
        new: u32,
    ) -> fmt::Result {
        writeln!(out, "@@ -{} +{} @@", span(before, old), span(after, new))
    }

    fn display_context_token(&self, mut out: impl Write, token: Token) -> fmt::Result {
        self.line(&mut out, ' ', token)
    }

    fn display_hunk(&self, mut out: impl Write, old: &[Token], new: &[Token]) -> fmt::Result {
        old.iter().try_for_each(|token| self.line(&mut out, '-', *token))?;
        new.iter().try_for_each(|token| self.line(&mut out, '+', *token))
    }
}

/// First line and number of lines; an empty place names the line before it, a single line its own alone.
fn span(start: u32, count: u32) -> String {
    match count {
        0 => format!("{start},0"),
        1 => format!("{}", start + 1),
        count => format!("{},{count}", start + 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_diff_shows_what_goes_and_what_comes() {
        let diff = unified_diff("a", "1\n2\n3\n", "b", "1\n4\n3\n");
        assert_eq!(diff, "--- a\n+++ b\n@@ -1,3 +1,3 @@\n 1\n-2\n+4\n 3\n");
    }

    #[test]
    fn a_change_far_from_the_first_has_its_own_place_with_three_lines_around() {
        let old = "1\n2\n3\n4\n5\n6\n7\n8\n9\n10\n11\n12\n13\n14\n";
        let new = old.replace("5\n", "").replace("13\n", "x\n13\ny\n");
        assert_eq!(
            unified_diff("a", old, "b", &new),
            "--- a\n+++ b\n@@ -2,7 +2,6 @@\n 2\n 3\n 4\n-5\n 6\n 7\n 8\n\
             @@ -10,5 +9,7 @@\n 10\n 11\n 12\n+x\n 13\n+y\n 14\n"
        );
    }

    #[test]
    fn a_file_without_a_last_line_end_keeps_that_to_the_byte() {
        let diff = unified_diff("a", "1\r\n2", "b", "1\r\n3");
        let without = "\\ No newline at end of file\n";
        assert_eq!(
            diff,
            format!("--- a\n+++ b\n@@ -1,2 +1,2 @@\n 1\r\n-2\n{without}+3\n{without}")
        );
        assert!(unified_diff("a", "", "b", "1\n").contains("@@ -0,0 +1 @@\n+1\n"));
    }
}
