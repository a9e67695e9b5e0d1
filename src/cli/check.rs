//! `unloop check DESIGN...`

use crate::report;
use crate::study;

use super::arguments::CheckArguments;
use super::exit::Exit;
use super::{designs, not_built, terminal};

pub(super) fn run(arguments: &CheckArguments) -> Exit {
    if arguments.plot.is_some() {
        return not_built::say("--plot");
    }
    let mut exit = Exit::Done;
    let mut found = Vec::new();
    for path in &arguments.designs {
        match one(path) {
            Some(check) => {
                exit = exit.max(Exit::of(check.verdict));
                found.push(check);
            }
            None => exit = Exit::Wrong,
        }
    }
    let text = if arguments.json { json(&found, arguments.designs.len()) } else { text(&found) };
    terminal::print(&text, exit)
}

fn one(path: &std::path::Path) -> Option<study::Check> {
    let design = designs::read(path)?;
    study::check(&design).map_err(|faults| designs::show_faults(&design, &faults)).ok()
}

fn text(found: &[study::Check]) -> String {
    let style = terminal::output_style();
    found.iter().map(|check| report::check_text(check, style)).collect::<Vec<_>>().join("\n")
}

/// One design: an object; several: an array of those that could be read.
fn json(found: &[study::Check], asked: usize) -> String {
    let objects: Vec<serde_json::Value> =
        found.iter().filter_map(|c| report::check_json(c).ok()).collect();
    match (asked, objects.first()) {
        (1, Some(only)) => format!("{only:#}\n"),
        (1, None) => String::new(),
        _ => format!("{:#}\n", serde_json::Value::Array(objects)),
    }
}
