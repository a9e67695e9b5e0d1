//! `unloop fold ROBOT --loop NAME -o FILE`

use std::mem::ManuallyDrop;
use std::path::Path;

use crate::diagnostic::{Diagnostic, render};
use crate::handover::find::{FoundLoop, find};
use crate::handover::fold::{FoldFault, Folded, fold, joint_json};
use crate::handover::{joint_json_path, must_be_free, write_texts};
use crate::robot::{Robot, unified_diff};

use super::exit::Exit;
use super::robot_arguments::FoldArguments;
use super::{designs, robots, terminal};

pub(super) fn run(arguments: &FoldArguments) -> Exit {
    if let Some(fault) = taken(arguments) {
        return wrong(&fault);
    }
    // The process ends with this: giving a large robot back piece by piece would take longer than the edits.
    let Some(robot) = robots::read(&arguments.robot).map(ManuallyDrop::new) else {
        return Exit::Wrong;
    };
    let options = arguments.robot.find_options();
    let loops = find(&robot, options);
    let Some(found) = chosen(&robot, &loops, arguments.loop_name.as_deref()) else {
        return Exit::Wrong;
    };
    let options = arguments.options();
    match fold(&robot, found, options) {
        Ok(folded) if arguments.diff => diff(arguments, &robot, &folded),
        Ok(folded) => write(arguments, &folded, joint_json(found, options)),
        Err(faults) => refuse(&robot, &faults),
    }
}

fn wrong(message: &str) -> Exit {
    terminal::complain(&format!("error: {message}\n"));
    Exit::Wrong
}

/// A file that may not be written is said before the work.
fn taken(arguments: &FoldArguments) -> Option<String> {
    match &arguments.output {
        None if arguments.diff => None,
        None => Some(
            "-o FILE is missing: where does the folded file go? --diff shows it alone".to_owned(),
        ),
        Some(_) if arguments.diff => None,
        Some(path) if path == Path::new("-") => None,
        Some(path) => must_be_free(path, arguments.force).err().map(|fault| fault.to_string()),
    }
}

/// The loop of this name, or of the driven joint of this name; the only one where none is named.
fn chosen<'a>(robot: &Robot, loops: &'a [FoundLoop], name: Option<&str>) -> Option<&'a FoundLoop> {
    let drives = |found: &FoundLoop, name: &str| {
        let joint =
            found.four_bar.as_ref().and_then(|f| f.joint()).and_then(|id| robot.joints.get(id));
        joint.is_some_and(|joint| joint.name == name)
    };
    let found = match name {
        Some(name) => {
            loops.iter().find(|l| l.name == name).or_else(|| loops.iter().find(|l| drives(l, name)))
        }
        None => loops.first().filter(|_| loops.len() == 1),
    };
    if found.is_none() {
        let names: Vec<&str> = loops.iter().map(|l| l.name.as_str()).collect();
        let known = match names.as_slice() {
            [] => "the file holds no closed loop".to_owned(),
            names => format!("it holds {}", names.join(", ")),
        };
        let what = name.map_or("--loop NAME is missing".to_owned(), |n| {
            format!("--loop: there is no loop {n:?}")
        });
        wrong(&format!("{what}; {known}"));
    }
    found
}

fn diff(arguments: &FoldArguments, robot: &Robot, folded: &Folded) -> Exit {
    let old = arguments.robot.file.to_string_lossy();
    let new = arguments.output.as_deref().unwrap_or(&arguments.robot.file).to_string_lossy();
    let text = robot.documents.first().map_or("", |document| document.text());
    notes(folded);
    terminal::print(&unified_diff(&old, text, &new, &folded.text), Exit::Done)
}

fn notes(folded: &Folded) {
    for note in &folded.notes {
        terminal::complain(&format!("note: {note}\n"));
    }
    if let Some((over, error)) = folded.inertia_error {
        terminal::complain(&format!(
            "note: kinetic energy is off by at most {:.2} % ({})\n",
            100.0 * error,
            over.name()
        ));
    }
    terminal::complain(
        "note: check the folded file in your engine before it drives hardware; stops, pinch points and stored energy are the real linkage's\n",
    );
}

fn write(arguments: &FoldArguments, folded: &Folded, beside: Option<String>) -> Exit {
    let Some(output) = arguments.output.as_deref() else { return Exit::Wrong };
    if output == Path::new("-") {
        notes(folded);
        return terminal::print(&folded.text, Exit::Done);
    }
    let json = joint_json_path(output);
    let mut files = vec![(output, folded.text.as_str())];
    if let Some(text) = &beside {
        files.push((json.as_path(), text));
    }
    match write_texts(&files, arguments.force) {
        Ok(()) => {
            notes(folded);
            for (path, _) in files {
                terminal::complain(&format!("wrote {}\n", path.display()));
            }
            Exit::Done
        }
        Err(fault) => wrong(&fault.to_string()),
    }
}

/// All that stands against it, each at its place; wrong input outranks the verdict.
fn refuse(robot: &Robot, faults: &[FoldFault]) -> Exit {
    for (at, document) in robot.documents.iter().enumerate() {
        let here = faults.iter().filter(|fault| fault.document == at);
        let diagnostics: Vec<Diagnostic> = here.map(|fault| fault.diagnostic.clone()).collect();
        if !diagnostics.is_empty() {
            let colour = terminal::error_colour();
            terminal::complain(&render(&document.path, document.text(), &diagnostics, colour));
        }
    }
    let all: Vec<Diagnostic> = faults.iter().map(|fault| fault.diagnostic.clone()).collect();
    designs::point_to_more(&all);
    let answer = |fault: &FoldFault| fault.verdict.map_or(Exit::Wrong, Exit::of);
    faults.iter().map(answer).max().unwrap_or(Exit::Wrong)
}
