//! Robot files from their paths, with all their faults shown.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Component, Path, PathBuf};

use crate::diagnostic::{render, why};
use crate::handover::find::state_loops;
use crate::robot::{self, Document, Robot};

use super::robot_arguments::RobotArguments;
use super::terminal;

/// Reads the robot file (`-` is standard input) and the loops that are stated beside it; shows all faults.
pub(super) fn read(arguments: &RobotArguments) -> Option<Robot> {
    let mut robot = read_file(&arguments.file, arguments.include_anywhere)?;
    for name in &arguments.motor {
        if robot.joint_named(name).is_none() {
            terminal::complain(&format!("error: --motor: the robot has no joint {name:?}\n"));
            return None;
        }
    }
    let Some(path) = &arguments.loops else { return Some(robot) };
    let shown = path.to_string_lossy();
    let text = text_of(path)?;
    match state_loops(&mut robot, &text) {
        Ok(()) => Some(robot),
        Err(faults) => {
            terminal::complain(&render(&shown, &text, &faults, terminal::error_colour()));
            None
        }
    }
}

/// States the loops in `path` in each robot that has their links.
pub(super) fn state_in_each(path: &Path, robots: &mut [Robot]) -> Option<()> {
    let text = text_of(path)?;
    let outcomes: Vec<_> = robots.iter_mut().map(|robot| state_loops(robot, &text)).collect();
    if outcomes.iter().any(Result::is_ok) {
        return Some(());
    }
    let faults = outcomes.into_iter().find_map(Result::err).unwrap_or_default();
    let shown = path.to_string_lossy();
    terminal::complain(&render(&shown, &text, &faults, terminal::error_colour()));
    None
}

fn text_of(path: &Path) -> Option<String> {
    let failed = |why: &str| {
        let shown = path.to_string_lossy();
        terminal::complain(&format!("error: {shown} cannot be read: {why}\n"));
    };
    let bytes = bytes(path).map_err(|error| failed(why(&error).as_str())).ok()?;
    if bytes.len() > robot::LARGEST_FILE {
        failed("it is too large");
        return None;
    }
    String::from_utf8(bytes).map_err(|_| failed("it is not UTF-8")).ok()
}

/// Reads a file that is looked through and not changed.
pub(super) fn document(path: &Path) -> Option<Document> {
    let text = text_of(path)?;
    let name = path.to_string_lossy();
    Document::read(&name, text.clone().into_bytes())
        .map_err(|malformed| {
            let faults = [malformed.fault];
            terminal::complain(&render(&name, &text, &faults, terminal::error_colour()));
        })
        .ok()
}

/// Reads a text in the place of the robot file; what is wrong with it is one line.
pub(super) fn read_text(arguments: &RobotArguments, text: &str) -> Result<Robot, String> {
    let path = &arguments.file;
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let mut includes = |wanted: &str| included(&folder, wanted, arguments.include_anywhere);
    robot::read(&path.to_string_lossy(), text.as_bytes().to_vec(), &mut includes)
        .map_err(|rejected| rejected.render(false))
}

/// Reads one robot file; shows all its faults.
pub(super) fn read_file(path: &Path, include_anywhere: bool) -> Option<Robot> {
    let name = path.to_string_lossy();
    let bytes = match bytes(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            terminal::complain(&format!("error: {name} cannot be read: {}\n", why(&error)));
            return None;
        }
    };
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let mut includes = |wanted: &str| included(&folder, wanted, include_anywhere);
    robot::read(&name, bytes, &mut includes)
        .map_err(|rejected| terminal::complain(&rejected.render(terminal::error_colour())))
        .ok()
}

fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let most = u64::try_from(robot::LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1);
    if path == Path::new("-") {
        let mut bytes = Vec::new();
        io::stdin().lock().take(most).read_to_end(&mut bytes)?;
        return Ok(bytes);
    }
    let file = File::open(path)?;
    let size = file.metadata()?.len().min(most);
    let mut bytes = Vec::with_capacity(usize::try_from(size).unwrap_or(0) + 1);
    file.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The bytes of a file that the robot file includes: below its own folder only, unless told otherwise.
fn included(folder: &Path, wanted: &str, anywhere: bool) -> Result<Vec<u8>, String> {
    let path: PathBuf = folder.join(wanted);
    let stays = Path::new(wanted)
        .components()
        .all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    if !(anywhere || stays && is_below(folder, &path)) {
        return Err(
            "lies outside the robot file's own folder; --include-anywhere reads it".to_owned()
        );
    }
    bytes(&path).map_err(|error| format!("cannot be read: {}", why(&error)))
}

/// Whether the path is still below the folder when its links are followed.
fn is_below(folder: &Path, path: &Path) -> bool {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    match (folder.canonicalize(), path.canonicalize()) {
        (Ok(folder), Ok(path)) => path.starts_with(folder),
        // It does not exist: reading says so.
        _ => true,
    }
}
