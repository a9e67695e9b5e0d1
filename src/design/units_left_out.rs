//! Units left out everywhere: one slip, one message.

use crate::diagnostic::{Code, Diagnostic, line_at};

/// From so many on, and where most quantities lack their unit, they are told together.
const MANY: usize = 4;

/// The faults, with those of missing units told as one where most of the `quantities` of the file lack theirs.
pub(super) fn as_one(text: &str, all: Vec<Diagnostic>, quantities: usize) -> Vec<Diagnostic> {
    let lacks = |one: &Diagnostic| one.code == Some(Code::UnitMissing);
    let (lacking, mut others): (Vec<_>, Vec<_>) = all.iter().cloned().partition(lacks);
    if lacking.len() < MANY || 2 * lacking.len() <= quantities {
        return all;
    }
    others.extend(told_together(text, &lacking, quantities));
    others
}

fn told_together(text: &str, lacking: &[Diagnostic], quantities: usize) -> Option<Diagnostic> {
    let first = lacking.iter().filter_map(|one| one.place.clone()).min_by_key(|p| p.start)?;
    let all = if lacking.len() == quantities { "all " } else { "each " };
    let message = format!("{} of {quantities} quantities have no unit", lacking.len());
    let mut kinds: Vec<(&str, String, Vec<usize>)> = Vec::new();
    for one in lacking {
        let noun = one.label.as_deref().and_then(|l| l.strip_suffix(" needs its unit"));
        let line = one.place.as_ref().map_or(0, |place| line_at(text, place.start));
        let noun = noun.unwrap_or("a quantity");
        match kinds.iter_mut().find(|(known, ..)| *known == noun) {
            Some((.., lines)) if lines.last() != Some(&line) => lines.push(line),
            Some(_) => {}
            None => kinds.push((noun, example(one), vec![line])),
        }
    }
    let told: Vec<String> = kinds
        .iter()
        .map(|(noun, example, lines)| {
            format!("{noun} such as {example}: {}", lines_in_words(lines))
        })
        .collect();
    let help = format!(
        "write {all}of them as text with their unit, if these are the units meant:\n{}",
        told.join("\n")
    );
    Some(
        Diagnostic::error(message)
            .code(Code::UnitMissing)
            .at(first)
            .label("the first of them")
            .help(help),
    )
}

/// What the fault's own help says to write, in quotation marks.
fn example(one: &Diagnostic) -> String {
    let help = one.help.as_deref().unwrap_or("");
    let inner = help.split('"').nth(1).unwrap_or("45 mm");
    format!("\"{inner}\"")
}

fn lines_in_words(lines: &[usize]) -> String {
    let word = if lines.len() == 1 { "line" } else { "lines" };
    let numbers: Vec<String> = lines.iter().map(ToString::to_string).collect();
    format!("{word} {}", numbers.join(", "))
}
