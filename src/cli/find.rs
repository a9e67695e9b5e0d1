//! `unloop find ROBOT`

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::diagnostic::{visible_path, why};
use crate::equivalence::Verdict;
use crate::handover::find::{Findings, FoundLoop, TwoJointLoops, findings};
use crate::report;

use super::exit::Exit;
use super::robot_arguments::FindArguments;
use super::{output, robots, terminal};

pub(super) fn run(arguments: &FindArguments) -> Exit {
    let Some(robot) = robots::read(&arguments.robot) else { return Exit::Wrong };
    let found = findings(&robot, arguments.robot.find_options());
    drop(robot);
    if let Some(folder) = &arguments.design
        && !write_designs(&found, folder, arguments.force)
    {
        return Exit::Wrong;
    }
    if arguments.lines {
        return terminal::print(&report::find_lines(&found), answer(&found));
    }
    let text = if arguments.json {
        report::json(&found)
    } else {
        let detail = terminal::detail(arguments.full);
        report::find_text(&found, detail, terminal::output_style())
    };
    terminal::print(&text, Exit::Done)
}

/// As `check` answers, over all loops; one that is not judged, or that something else stands against, is undecided.
fn answer(found: &Findings) -> Exit {
    let of_loop = |one: &FoundLoop| match one.check().map(|check| check.verdict) {
        Some(Verdict::Equivalent) if one.obstacles.is_empty() => Exit::Done,
        Some(Verdict::NotEquivalent) => Exit::NotEquivalent,
        _ => Exit::Undecided,
    };
    let of_pair = |pair: &TwoJointLoops| match pair.judged.as_ref().map(|j| j.check.verdict) {
        Some(Verdict::Equivalent) if pair.obstacles.is_empty() => Exit::Done,
        Some(Verdict::NotEquivalent) => Exit::NotEquivalent,
        _ => Exit::Undecided,
    };
    // The two loops of a drive of two joints answer together.
    let alone = found.loops.iter().filter(|one| !one.is_of_two_joints());
    let all = alone.map(of_loop).chain(found.two_joint_loops.iter().map(of_pair));
    all.max().unwrap_or(Exit::Done)
}

/// Writes each judged loop as a design file; whether that went well.
fn write_designs(found: &Findings, folder: &Path, force: bool) -> bool {
    let loops = found.loops.iter().filter_map(|one| Some((&one.name, one.design_text()?)));
    let points = found.point_drives.iter().map(|one| (&one.name, one.text.as_str()));
    let pairs = &found.two_joint_loops;
    let pairs = pairs.iter().filter_map(|one| Some((&one.name, one.text.as_deref()?)));
    let mut taken = BTreeSet::new();
    let texts: Vec<(PathBuf, &str)> = loops
        .chain(points)
        .chain(pairs)
        .map(|(name, text)| (folder.join(free_name(name, &mut taken)), text))
        .collect();
    if texts.is_empty() {
        terminal::complain("note: no loop could be judged, so that no design file is written\n");
        return true;
    }
    if let Err(error) = std::fs::create_dir_all(folder) {
        let (folder, why) = (visible_path(folder), why(&error));
        terminal::complain(&format!("error: {folder} cannot be made: {why}\n"));
        return false;
    }
    let files: Vec<(&Path, &str)> =
        texts.iter().map(|(path, text)| (path.as_path(), *text)).collect();
    output::write(&files, force) == Exit::Done
}

/// The loop's name as the name of a file that no loop before it has.
fn free_name(name: &str, taken: &mut BTreeSet<String>) -> String {
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    let stem: String = name.chars().map(|c| if fits(c) { c } else { '_' }).collect();
    let stem = stem.trim_start_matches('.');
    let mut file = format!("{stem}.toml");
    let mut count = 1;
    while !taken.insert(file.to_lowercase()) {
        count += 1;
        file = format!("{stem}_{count}.toml");
    }
    file
}
