//! What a warning or fault means, beyond its one line: `unloop explain CODE`.

use std::fmt::Write as _;

use crate::diagnostic::Code;

use super::style::Style;
use super::terminal::wrapped;

/// Under `# CODE: title` what it means, why it matters and what to do, a paragraph each, and an example, in the codes' order.
const TEXTS: &str = include_str!("explanations.md");

/// The longer text of one code.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Explanation {
    /// One line without a full stop.
    pub title: &'static str,
    /// What it means on the robot or in the file.
    pub meaning: &'static str,
    /// Why it matters.
    pub matters: &'static str,
    /// What to do.
    pub cure: &'static str,
    /// Lines of a design, or a command, each set in by four blanks.
    pub example: &'static str,
}

/// The longer text of a code.
#[must_use]
pub fn explanation(code: Code) -> Explanation {
    let mut texts = TEXTS.split("\n# ").map(|text| text.trim_start_matches("# "));
    let of_code = |text: &'static str| text.strip_prefix(code.name())?.strip_prefix(": ");
    let mut parts = texts.find_map(of_code).unwrap_or_default().splitn(5, "\n\n");
    let mut next = || parts.next().unwrap_or_default().trim_end();
    Explanation { title: next(), meaning: next(), matters: next(), cure: next(), example: next() }
}

/// The longer text of a code, broken to the width of the style.
#[must_use]
pub fn explanation_text(code: Code, style: Style) -> String {
    let text = explanation(code);
    let paragraph = |text: &str| wrapped(text, style.width, "  ");
    let mut out = format!("{}: {}\n\n", style.heading(code.name()), text.title);
    out.push_str(&paragraph(text.meaning));
    for (head, body) in [("Why it matters", text.matters), ("What to do", text.cure)] {
        let body = paragraph(&format!("{head}: {body}"));
        let _ = write!(out, "\n{}", body.replacen(head, &style.heading(head), 1));
    }
    let _ = write!(out, "\n  {}:\n\n", style.heading("For example"));
    for line in text.example.lines() {
        let _ = writeln!(out, "{line}");
    }
    style.fit(out)
}

/// Every code with its title.
#[must_use]
pub fn explanation_list(style: Style) -> String {
    let widest = Code::ALL.iter().map(|code| code.name().len()).max().unwrap_or(0);
    let mut out = String::new();
    for group in Code::ALL.chunk_by(|a, b| a.heading() == b.heading()) {
        let head = group.first().map_or("", |code| code.heading());
        let _ = writeln!(out, "{}", style.heading(head));
        for code in group {
            let _ = writeln!(out, "  {:widest$}  {}", code.name(), explanation(*code).title);
        }
        out.push('\n');
    }
    out.push_str("unloop explain CODE tells more about one of them.\n");
    style.fit(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_says_what_it_means_why_it_matters_and_what_to_do() {
        for code in Code::ALL {
            let text = explanation(code);
            assert!(text.title.len() < 72 && !text.title.ends_with('.'), "{code}: {}", text.title);
            for sentence in [text.meaning, text.matters, text.cure] {
                assert!(sentence.len() > 40 && sentence.ends_with('.'), "{code}: {sentence}");
                assert!(!sentence.contains("  "), "{code}: {sentence}");
            }
            assert!(!text.example.trim().is_empty(), "{code} has no example");
            let set_in = |line: &str| line.is_empty() || line.starts_with("    ");
            assert!(text.example.lines().all(set_in), "{code}: {}", text.example);
            assert!(text.example.lines().all(|line| line.chars().count() <= 100), "{code}");
        }
    }

    #[test]
    fn the_texts_stand_in_the_order_of_the_codes_and_no_other_is_among_them() {
        let named = TEXTS.lines().filter_map(|line| line.strip_prefix("# "));
        let named: Vec<&str> = named.filter_map(|line| Some(line.split_once(": ")?.0)).collect();
        assert_eq!(named, Code::ALL.map(Code::name));
    }

    #[test]
    fn no_two_codes_have_the_same_text() {
        for code in Code::ALL {
            let same = Code::ALL.iter().filter(|other| explanation(**other) == explanation(code));
            assert_eq!(same.count(), 1, "{code}");
        }
    }

    #[test]
    fn the_text_keeps_to_the_width_and_to_ascii_where_asked() {
        let style = Style { unicode: false, width: 60, ..Style::PLAIN };
        for code in Code::ALL {
            let text = explanation_text(code, style);
            assert!(text.is_ascii(), "{text}");
            let of_us = text.split("  For example:").next().unwrap_or("");
            assert!(of_us.lines().skip(1).all(|line| line.len() <= 60), "{text}");
        }
    }
}
