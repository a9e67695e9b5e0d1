//! `unloop compare DESIGN ROBOT...`

use std::path::Path;

use crate::handover::compare::{Answer, Comparison, compare};
use crate::report;
use crate::robot::Robot;
use crate::study::{self, Mechanism};

use super::exit::Exit;
use super::robot_arguments::CompareArguments;
use super::{designs, emit, robots, terminal};

pub(super) fn run(arguments: &CompareArguments) -> Exit {
    if let Some(fault) = twice(arguments) {
        terminal::complain(&format!("error: {fault}\n"));
        return Exit::Wrong;
    }
    let design = designs::four_bar_only(&arguments.design, "compare");
    let robots = all_robots(arguments);
    let (Some(design), Some(robots)) = (design, robots) else { return Exit::Wrong };
    let found = Mechanism::of(&design).and_then(|m| Ok((study::check_on(&design, &m)?, m)));
    let (check, mechanism) = match found {
        Ok(both) => both,
        Err(faults) => {
            designs::show_faults(&design, &faults);
            return Exit::Wrong;
        }
    };
    let basis = arguments.limits;
    match compare(&design, &mechanism, &check, &robots, basis) {
        Ok(found) => terminal::print(&shown(arguments, &found), exit(&found)),
        Err(faults) => emit::refuse(&design, &faults),
    }
}

/// Standard input can be read once, and a file against itself says nothing.
fn twice(arguments: &CompareArguments) -> Option<String> {
    let all: Vec<&Path> = std::iter::once(&arguments.design)
        .chain(&arguments.robots)
        .map(|path| path.as_path())
        .collect();
    let is_before = |(k, path): (usize, &Path)| all.iter().take(k).any(|before| *before == path);
    let (_, path) = all.iter().copied().enumerate().find(|entry| is_before(*entry))?;
    Some(format!("{} is named twice", path.display()))
}

/// All of them, with the faults of each shown; `None` where one cannot be read.
fn all_robots(arguments: &CompareArguments) -> Option<Vec<Robot>> {
    let read = |path: &std::path::PathBuf| robots::read_file(path, &arguments.include);
    let all: Vec<Option<Robot>> = arguments.robots.iter().map(read).collect();
    let mut all: Vec<Robot> = all.into_iter().collect::<Option<_>>()?;
    if let Some(loops) = &arguments.loops {
        robots::state_in_each(loops, &mut all)?;
    }
    Some(all)
}

fn shown(arguments: &CompareArguments, found: &Comparison) -> String {
    if arguments.json {
        report::json(found)
    } else if arguments.lines {
        report::compare_lines(found)
    } else {
        report::compare_text(found, terminal::output_style())
    }
}

fn exit(found: &Comparison) -> Exit {
    match found.answer() {
        Answer::InStep => Exit::Done,
        Answer::Differs => Exit::NotEquivalent,
        Answer::Undecided => Exit::Undecided,
    }
}
