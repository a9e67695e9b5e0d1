//! Robot files from their paths, with all their faults shown.

use std::io::{self, Read as _};
use std::path::Path;
use std::slice;

use crate::diagnostic::{render, visible, why};
use crate::handover::find::state_loops;
use crate::robot::{self, Document, Robot, plain_bytes};

use super::robot_arguments::{IncludeArguments, RobotArguments};
use super::terminal;

/// So much of a file of stated loops is read: some ten thousand loops.
const LARGEST_LOOPS: u64 = 1 << 20;

/// Reads the robot file (`-` is standard input) and the loops that are stated beside it; shows all faults.
pub(super) fn read(arguments: &RobotArguments) -> Option<Robot> {
    let mut robot = read_file(&arguments.file, &arguments.include)?;
    if let Some(fault) = arguments.find_options().unknown(&robot) {
        terminal::complain(&format!("error: {fault}\n"));
        return None;
    }
    if let Some(path) = &arguments.loops {
        state_in_each(path, slice::from_mut(&mut robot))?;
    }
    Some(robot)
}

fn loops_text(path: &Path) -> Result<String, String> {
    let bytes = plain_bytes(path, LARGEST_LOOPS)?;
    String::from_utf8(bytes).map_err(|_| "it is no UTF-8 text".to_owned())
}

/// States the loops in `path` in each robot that has their links.
pub(super) fn state_in_each(path: &Path, robots: &mut [Robot]) -> Option<()> {
    let shown = path.to_string_lossy();
    let text = loops_text(path)
        .map_err(|why| {
            terminal::complain(&format!("error: {} cannot be read: {why}\n", visible(&shown)))
        })
        .ok()?;
    let outcomes: Vec<_> = robots.iter_mut().map(|robot| state_loops(robot, &text)).collect();
    if outcomes.iter().any(Result::is_ok) {
        return Some(());
    }
    let faults = outcomes.into_iter().find_map(Result::err).unwrap_or_default();
    terminal::complain(&render(&shown, &text, &faults, terminal::error_colour()));
    None
}

/// Reads a file that is looked through and not changed.
pub(super) fn document(path: &Path) -> Option<Document> {
    let name = path.to_string_lossy();
    let bytes = plain_bytes(path, robot::read_at_most())
        .map_err(|why| {
            terminal::complain(&format!("error: {} cannot be read: {why}\n", visible(&name)))
        })
        .ok()?;
    Document::read(&name, bytes)
        .map_err(|malformed| {
            let colour = terminal::error_colour();
            terminal::complain(&render(&name, &malformed.text, &[malformed.fault], colour));
        })
        .ok()
}

/// Reads a text in the place of the robot file; what is wrong with it is one text.
pub(super) fn read_text(arguments: &RobotArguments, text: &str) -> Result<Robot, String> {
    let folders = arguments.include.folders();
    folders
        .read(&arguments.file, text.as_bytes().to_vec())
        .map_err(|rejected| rejected.render(false))
}

/// Reads one robot file; shows all its faults.
pub(super) fn read_file(path: &Path, include: &IncludeArguments) -> Option<Robot> {
    let name = path.to_string_lossy();
    let bytes = match bytes(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            terminal::complain(&format!(
                "error: {} cannot be read: {}\n",
                visible(&name),
                why(&error)
            ));
            return None;
        }
    };
    include
        .folders()
        .read(path, bytes)
        .map_err(|rejected| terminal::complain(&rejected.render(terminal::error_colour())))
        .ok()
}

/// The bytes of the file; `-` is standard input.
fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    if path != Path::new("-") {
        return robot::file_bytes(path);
    }
    let mut bytes = Vec::new();
    io::stdin().lock().take(robot::read_at_most()).read_to_end(&mut bytes)?;
    Ok(bytes)
}
