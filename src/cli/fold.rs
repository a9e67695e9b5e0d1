//! `unloop fold ROBOT --loop NAME -o FILE`

use std::mem::ManuallyDrop;
use std::path::Path;

use crate::diagnostic::{Diagnostic, render};
use crate::dynamics::MeasuredOver;
use crate::handover::find::{
    FindOptions, FoundLoop, TwoJointLoops, find, find_two_joints, named, named_pair,
};
use crate::handover::fold::{
    FoldFault, FoldOptions, Wanted, fold, fold_all, fold_two_joints, joint_json, joints_beside,
    joints_json_text, spoken_of, spoken_of_two_joints,
};
use crate::handover::{joint_json_path, joints_json_path, must_be_free};
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
    let name = arguments.loop_name.as_deref();
    // Judging a pair takes a while, and few files have one.
    let has_pairs = loops.iter().any(|one| one.is_of_two_joints() || one.shares_joints());
    let pairs = if has_pairs { find_two_joints(&robot, how) } else { Vec::new() };
    if let Some(pair) = named_pair(&loops, &pairs, name) {
        return fold_one(arguments, &robot, Wanted::TwoJoints(pair), &also);
    }
    match named(&robot, &loops, name) {
        Ok(found) => fold_one(arguments, &robot, Wanted::Loop(found), &also),
        Err(fault) => wrong(&(fault + &together(&pairs))),
    }
}

/// By what two loops that turn one body go together.
fn together(pairs: &[TwoJointLoops]) -> String {
    let each = pairs.iter().filter(|pair| pair.drive.is_some());
    let each =
        each.map(|pair| format!("; {} go together as {:?}", pair.loops.join(" and "), pair.name));
    each.collect()
}

/// A fold as it is written: its text, what the user should know, and what goes beside the file for one joint or for two.
struct Written {
    text: String,
    notes: Vec<String>,
    beside: [Option<String>; 2],
}

fn written(
    robot: &Robot,
    wanted: Wanted<'_>,
    options: FoldOptions,
) -> Result<Written, Vec<FoldFault>> {
    match wanted {
        Wanted::Loop(found) => written_loop(robot, found, options),
        Wanted::TwoJoints(found) => written_pair(robot, found, options),
    }
}

fn written_pair(
    robot: &Robot,
    found: &TwoJointLoops,
    options: FoldOptions,
) -> Result<Written, Vec<FoldFault>> {
    let folded = fold_two_joints(robot, found, options)?;
    let mut notes = folded.notes;
    notes.extend(energy(folded.inertia_error));
    if folded.joints.is_none() {
        notes.push("no NAME.joints.json: a joint, a motor or a link has no name in the file, or a slide no screw whose lead the matrix would need".to_owned());
    }
    let beside = folded.joints.map(|joints| joints_json_text(&[joints]));
    Ok(Written { text: folded.text, notes, beside: [None, beside] })
}

/// Why a fold stops before a file that is not changed.
const SPOKEN: &str = "nothing is written: another file speaks of what goes";

/// What another file says of what goes.
fn said_of(
    robot: &Robot,
    wanted: Wanted<'_>,
    options: FoldOptions,
    document: &Document,
) -> Vec<Diagnostic> {
    match wanted {
        Wanted::Loop(found) => spoken_of(robot, found, options, document),
        Wanted::TwoJoints(found) => spoken_of_two_joints(robot, found, options, document),
    }
}

fn written_loop(
    robot: &Robot,
    found: &FoundLoop,
    options: FoldOptions,
) -> Result<Written, Vec<FoldFault>> {
    let folded = fold(robot, found, options)?;
    let joints = joints_beside(found, &folded, options);
    let mut notes = folded.notes;
    notes.extend(energy(folded.inertia_error));
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
    Ok(Written { text: folded.text, notes, beside: [beside, None] })
}

fn fold_one(
    arguments: &FoldArguments,
    robot: &Robot,
    wanted: Wanted<'_>,
    also: &[Document],
) -> Exit {
    let options = arguments.options();
    let spoken = show_spoken(robot, wanted, options, also);
    let folded = match written(robot, wanted, options) {
        Ok(folded) => folded,
        Err(faults) => return refuse(robot, &faults),
    };
    if spoken > 0 {
        return wrong(SPOKEN);
    }
    if let Err(why) = read_again(arguments, &folded.text) {
        return wrong(&why);
    }
    deliver(arguments, robot, &folded.text, &folded.notes, folded.beside)
}

/// How many places of other files speak of what goes, each shown.
fn show_spoken(
    robot: &Robot,
    wanted: Wanted<'_>,
    options: FoldOptions,
    also: &[Document],
) -> usize {
    let each = also.iter().map(|document| {
        let faults = said_of(robot, wanted, options, document);
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
    let spoken = |robot: &Robot, wanted: Wanted<'_>| {
        let each = also.iter().flat_map(|document| {
            let faults = said_of(robot, wanted, options, document);
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
    let has_pairs = !all.two_joints.is_empty();
    let one = Some(joint_json(&all.joints)).filter(|_| !has_pairs || !all.joints.is_empty());
    let two = has_pairs.then(|| joints_json_text(&all.two_joints));
    deliver(arguments, robot, &all.text, &notes, [one, two])
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
    [one, two]: [Option<String>; 2],
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
    let beside = [(joint_json_path(output), one), (joints_json_path(output), two)];
    let mut files = vec![(output, folded)];
    files.extend(beside.iter().filter_map(|(path, text)| Some((path.as_path(), text.as_deref()?))));
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
