//! Robot files from their paths, with all their faults shown.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::slice;

use crate::diagnostic::{render, why};
use crate::handover::find::state_loops;
use crate::robot::{self, Document, Robot};

use super::robot_arguments::{IncludeArguments, RobotArguments};
use super::terminal;

/// So much of a file of stated loops is read: some ten thousand loops.
const LARGEST_LOOPS: u64 = 1 << 20;

/// Reads the robot file (`-` is standard input) and the loops that are stated beside it; shows all faults.
pub(super) fn read(arguments: &RobotArguments) -> Option<Robot> {
    let mut robot = read_file(&arguments.file, &arguments.include)?;
    let unknown = unknown_joint(&robot, arguments).or_else(|| unknown_link(&robot, arguments));
    if let Some(fault) = unknown {
        terminal::complain(&format!("error: {fault}\n"));
        return None;
    }
    if let Some(path) = &arguments.loops {
        state_in_each(path, slice::from_mut(&mut robot))?;
    }
    Some(robot)
}

fn unknown_joint(robot: &Robot, arguments: &RobotArguments) -> Option<String> {
    let name = arguments.motor.iter().find(|name| robot.joint_named(name).is_none())?;
    Some(format!("--motor: the robot has no joint {name:?}"))
}

fn unknown_link(robot: &Robot, arguments: &RobotArguments) -> Option<String> {
    let name = arguments.child.iter().find(|name| robot.link_named(name).is_none())?;
    Some(format!("--child: the robot has no link {name:?}"))
}

fn loops_text(path: &Path) -> Result<String, String> {
    let bytes = plain_bytes(path, LARGEST_LOOPS)?;
    String::from_utf8(bytes).map_err(|_| "it is no UTF-8 text".to_owned())
}

/// States the loops in `path` in each robot that has their links.
pub(super) fn state_in_each(path: &Path, robots: &mut [Robot]) -> Option<()> {
    let shown = path.to_string_lossy();
    let text = loops_text(path)
        .map_err(|why| terminal::complain(&format!("error: {shown} cannot be read: {why}\n")))
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
    let bytes = plain_bytes(path, largest_robot())
        .map_err(|why| terminal::complain(&format!("error: {name} cannot be read: {why}\n")))
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
    let path = &arguments.file;
    let folder = folder_of(path);
    let mut includes = |wanted: &str| included(&folder, wanted, &arguments.include);
    robot::read(&path.to_string_lossy(), text.as_bytes().to_vec(), &mut includes)
        .map_err(|rejected| rejected.render(false))
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// Reads one robot file; shows all its faults.
pub(super) fn read_file(path: &Path, include: &IncludeArguments) -> Option<Robot> {
    let name = path.to_string_lossy();
    let bytes = match bytes(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            terminal::complain(&format!("error: {name} cannot be read: {}\n", why(&error)));
            return None;
        }
    };
    let folder = folder_of(path);
    let mut includes = |wanted: &str| included(&folder, wanted, include);
    robot::read(&name, bytes, &mut includes)
        .map_err(|rejected| terminal::complain(&rejected.render(terminal::error_colour())))
        .ok()
}

fn largest_robot() -> u64 {
    u64::try_from(robot::LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1)
}

fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let most = largest_robot();
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

/// The bytes of a plain file of this size at most: a pipe may never end.
fn plain_bytes(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let about = fs::metadata(path).map_err(|error| why(&error))?;
    if !about.is_file() {
        return Err("it is no plain file".to_owned());
    }
    if about.len() > most {
        return Err(format!("it holds {} bytes, and {most} at most are read", about.len()));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(|error| why(&error))?;
    file.take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(|error| why(&error))?;
    Ok(bytes)
}

/// The bytes of a file that the robot file includes: below the parent of its own folder, as scenes beside robots are, or
/// below a folder that was named.
fn included(folder: &Path, wanted: &str, include: &IncludeArguments) -> Result<Vec<u8>, String> {
    let path = folder.join(wanted);
    let parent = folder.join("..");
    let is_allowed = include.include_anywhere
        || is_below(&parent, &path)
        || include.include_root.iter().any(|root| is_below(root, &path));
    if !is_allowed {
        return Err(format!(
            "{} lies outside {}; --include-root DIR allows another folder",
            whole(&path).display(),
            whole(&parent).display()
        ));
    }
    plain_bytes(&path, largest_robot()).map_err(|why| format!("cannot be read: {why}"))
}

/// Without links and `..`, as far as it exists.
fn whole(path: &Path) -> PathBuf {
    path.canonicalize().unwrap_or_else(|_| path.to_owned())
}

/// Whether the path is below the folder when links are followed; what does not exist is said by reading it.
fn is_below(folder: &Path, path: &Path) -> bool {
    match (folder.canonicalize(), path.canonicalize()) {
        (Ok(folder), Ok(path)) => path.starts_with(folder),
        (_, Err(_)) => true,
        (Err(_), Ok(_)) => false,
    }
}
