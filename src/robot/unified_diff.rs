//! The change of a text, shown the way `diff -u` and `patch` have it.

use std::fmt::Write;
use std::ops::Range;

use gix_imara_diff::{Algorithm, Diff, Hunk, InternedInput, Token};

/// Lines shown around each change.
const AROUND: u32 = 3;

/// The change as a unified diff with three lines around each place; empty where nothing changes.
#[must_use]
pub fn unified_diff(old_name: &str, old: &str, new_name: &str, new: &str) -> String {
    if old == new {
        return String::new();
    }
    let lines = InternedInput::new(old, new);
    let mut diff = Diff::compute(Algorithm::Histogram, &lines);
    diff.postprocess_lines(&lines);
    let mut out = format!("--- {old_name}\n+++ {new_name}\n");
    for near in near_each_other(diff.hunks()) {
        place(&mut out, &lines, &near);
    }
    out
}

/// Changes in order, together where the lines around them meet.
fn near_each_other(changes: impl Iterator<Item = Hunk>) -> Vec<Vec<Hunk>> {
    let mut groups: Vec<Vec<Hunk>> = Vec::new();
    for change in changes {
        match groups.last_mut() {
            Some(group)
                if group
                    .last()
                    .is_some_and(|last| change.before.start - last.before.end <= 2 * AROUND) =>
            {
                group.push(change);
            }
            _ => groups.push(vec![change]),
        }
    }
    groups
}

/// One place of the diff: its head, its changes, the lines before, between and behind them.
fn place(out: &mut String, lines: &InternedInput<&str>, changes: &[Hunk]) {
    let [Some(first), Some(last)] = [changes.first(), changes.last()] else { return };
    let above = first.before.start.min(AROUND);
    let all = u32::try_from(lines.before.len()).unwrap_or(u32::MAX);
    let below = (all - last.before.end).min(AROUND);
    let old = first.before.start - above..last.before.end + below;
    let new = first.after.start - above..last.after.end + below;
    _ = writeln!(out, "@@ -{} +{} @@", span(&old), span(&new));
    let mut at = old.start;
    for change in changes {
        write_lines(out, lines, ' ', &lines.before, at..change.before.start);
        write_lines(out, lines, '-', &lines.before, change.before.clone());
        write_lines(out, lines, '+', &lines.after, change.after.clone());
        at = change.before.end;
    }
    write_lines(out, lines, ' ', &lines.before, at..old.end);
}

/// First line and number of lines; an empty place names the line before it, a single line its own alone.
fn span(lines: &Range<u32>) -> String {
    match lines.end - lines.start {
        0 => format!("{},0", lines.start),
        1 => format!("{}", lines.start + 1),
        count => format!("{},{count}", lines.start + 1),
    }
}

fn write_lines(
    out: &mut String,
    lines: &InternedInput<&str>,
    sign: char,
    side: &[Token],
    range: Range<u32>,
) {
    for &token in side.get(range.start as usize..range.end as usize).unwrap_or_default() {
        let line = lines.interner[token];
        _ = write!(out, "{sign}{line}");
        if !line.ends_with('\n') {
            out.push_str("\n\\ No newline at end of file\n");
        }
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
