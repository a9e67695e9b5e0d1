//! `unloop fold ROBOT --loop NAME -o FILE`

use std::mem::ManuallyDrop;
use std::path::Path;

use crate::diagnostic::{Diagnostic, render};
use crate::dynamics::MeasuredOver;
use crate::handover::find::{FindOptions, FoundLoop, find, named};
use crate::handover::fold::{
    FoldFault, FoldOptions, fold, fold_all, joint_json, joints_beside, spoken_of,
};
use crate::handover::{joint_json_path, must_be_free};
use crate::robot::{Document, Robot, unified_diff};

use super::exit::Exit;
use super::output::wrong;
use super::robot_arguments::FoldArguments;
use super::{designs, output, robots, terminal};

pub(super) fn run(arguments: &FoldArguments) -> Exit {
    if let Some(fault) = taken(arguments) {
        return wrong(&fault);
    }
    // The process ends with this: giving a large robot back piece by piece would take longer than the edits.
    let Some(robot) = robots::read(&arguments.robot).map(ManuallyDrop::new) else {
        return Exit::Wrong;
    };
    let promised = arguments.output.as_deref().filter(|_| !arguments.diff);
    if let Some(fault) = promised.and_then(|path| output::misfit(path, &[robot.format.name()])) {
        return wrong(&fault);
    }
    let also: Option<Vec<Document>> = arguments.also.iter().map(|p| robots::document(p)).collect();
    let Some(also) = also else { return Exit::Wrong };
    let how = arguments.robot.find_options();
    if arguments.all {
        return fold_every(arguments, &robot, how, &also);
    }
    let loops = find(&robot, how);
    match named(&robot, &loops, arguments.loop_name.as_deref()) {
        Ok(found) => fold_one(arguments, &robot, found, &also),
        Err(fault) => wrong(&fault),
    }
}

fn fold_one(
    arguments: &FoldArguments,
    robot: &Robot,
    found: &FoundLoop,
    also: &[Document],
) -> Exit {
    let options = arguments.options();
    let spoken = show_spoken(robot, found, options, also);
    let folded = match fold(robot, found, options) {
        Ok(folded) => folded,
        Err(faults) => return refuse(robot, &faults),
    };
    if spoken > 0 {
        return wrong("nothing is written: another file speaks of what goes");
    }
    if let Err(why) = read_again(arguments, &folded.text) {
        return wrong(&why);
    }
    let mut notes = folded.notes.clone();
    notes.extend(energy(folded.inertia_error));
    let joints = joints_beside(found, &folded, options);
    if joints.is_none() {
        let has_no_screw = found.drive.as_ref().is_some_and(|drive| drive.has_no_screw);
        let why = if has_no_screw {
            "the file moves the slide itself, without a screw whose lead the ratio would need"
        } else {
            "the carrier or the child has no name in the file"
        };
        notes.push(format!("no NAME.joint.json: {why}"));
    }
    let beside = joints.map(|joints| joint_json(&joints));
    deliver(arguments, robot, &folded.text, &notes, beside)
}

/// How many places of other files speak of what goes, each shown.
fn show_spoken(robot: &Robot, found: &FoundLoop, options: FoldOptions, also: &[Document]) -> usize {
    let each = also.iter().map(|document| {
        let faults = spoken_of(robot, found, options, document);
        if !faults.is_empty() {
            let colour = terminal::error_colour();
            terminal::complain(&render(&document.path, document.text(), &faults, colour));
        }
        faults.len()
    });
    each.sum()
}

/// The folded text as the robot file was read, with what it includes.
fn read_again(arguments: &FoldArguments, text: &str) -> Result<Robot, String> {
    let unreadable =
        |why: String| format!("nothing is written: the folded file would not read again; {why}");
    robots::read_text(&arguments.robot, text).map_err(unreadable)
}

fn fold_every(
    arguments: &FoldArguments,
    robot: &Robot,
    how: FindOptions<'_>,
    also: &[Document],
) -> Exit {
    let options = arguments.options();
    let spoken = |robot: &Robot, found: &FoundLoop| {
        let each = also.iter().flat_map(|document| {
            let faults = spoken_of(robot, found, options, document);
            faults.into_iter().map(|fault| FoldFault::elsewhere(document, &fault))
        });
        each.collect()
    };
    let mut read = |text: &str| read_again(arguments, text);
    let all = match fold_all(robot, how, options, &spoken, &mut read) {
        Ok(all) => all,
        Err(why) => return wrong(&why),
    };
    if all.went.is_empty() && all.stays.is_empty() {
        return wrong("the file holds no closed loop");
    }
    for (name, faults) in &all.stays {
        terminal::complain(&format!("loop {name:?} stays:\n"));
        show(robot, faults);
    }
    if all.went.is_empty() {
        terminal::complain("error: no loop may go, and nothing is written\n");
        return Exit::NotEquivalent;
    }
    let mut notes = Vec::new();
    for (name, of_loop) in &all.went {
        notes.push(format!("loop {name:?} went"));
        notes.extend(of_loop.iter().map(|note| format!("{name}: {note}")));
    }
    notes.extend(all.inertia_errors.iter().flat_map(|error| energy(Some(*error))));
    deliver(arguments, robot, &all.text, &notes, Some(joint_json(&all.joints)))
}

fn energy(error: Option<(MeasuredOver, f64)>) -> Option<String> {
    let (over, error) = error?;
    let (off, over) = (crate::units::percent(error), over.name());
    Some(format!("kinetic energy is off by at most {off} ({over})"))
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

fn diff(arguments: &FoldArguments, robot: &Robot, folded: &str) -> Exit {
    let old = arguments.robot.file.to_string_lossy();
    let new = arguments.output.as_deref().unwrap_or(&arguments.robot.file).to_string_lossy();
    let text = robot.documents.first().map_or("", |document| document.text());
    terminal::print(&unified_diff(&old, text, &new, folded), Exit::Done)
}

fn tell(notes: &[String]) {
    for note in notes {
        terminal::complain(&format!("note: {note}\n"));
    }
    terminal::complain(
        "note: check the folded file in your engine before it drives hardware; stops, pinch points and stored energy are the real linkage's\n",
    );
}

/// Shows or writes the folded text.
fn deliver(
    arguments: &FoldArguments,
    robot: &Robot,
    folded: &str,
    notes: &[String],
    beside: Option<String>,
) -> Exit {
    if arguments.diff {
        tell(notes);
        return diff(arguments, robot, folded);
    }
    let Some(output) = arguments.output.as_deref() else { return Exit::Wrong };
    if output == Path::new("-") {
        tell(notes);
        return terminal::print(folded, Exit::Done);
    }
    let json = joint_json_path(output);
    let mut files = vec![(output, folded)];
    if let Some(text) = &beside {
        files.push((json.as_path(), text));
    }
    output::write_after(&files, arguments.force, || tell(notes))
}

fn show(robot: &Robot, faults: &[FoldFault]) {
    for (at, document) in robot.documents.iter().enumerate() {
        let here = faults.iter().filter(|fault| fault.document == at);
        let diagnostics: Vec<Diagnostic> = here.map(|fault| fault.diagnostic.clone()).collect();
        if !diagnostics.is_empty() {
            let colour = terminal::error_colour();
            terminal::complain(&render(&document.path, document.text(), &diagnostics, colour));
        }
    }
}

/// All that stands against it, each at its place; wrong input outranks the verdict.
fn refuse(robot: &Robot, faults: &[FoldFault]) -> Exit {
    show(robot, faults);
    let all: Vec<Diagnostic> = faults.iter().map(|fault| fault.diagnostic.clone()).collect();
    designs::point_to_more(&all);
    let answer = |fault: &FoldFault| fault.verdict.map_or(Exit::Wrong, Exit::of);
    faults.iter().map(answer).max().unwrap_or(Exit::Wrong)
}
