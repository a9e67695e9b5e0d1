//! Robot files on the disk, with what they include.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use super::encoding::LARGEST_FILE;
use super::model::Robot;
use super::read::{RobotRejected, read};
use crate::diagnostic::why;

/// Where included files may lie besides the parent of the robot file's own folder, as scenes beside robots do.
#[derive(Clone, Copy, Debug, Default)]
pub struct IncludeFolders<'a> {
    /// Below these folders too.
    pub roots: &'a [PathBuf],
    /// Anywhere.
    pub anywhere: bool,
}

impl IncludeFolders<'_> {
    /// Reads a robot from the bytes of the file at `path`, and what it includes from beside that.
    ///
    /// # Errors
    /// As [`read`].
    pub fn read(&self, path: &Path, bytes: Vec<u8>) -> Result<Robot, Box<RobotRejected>> {
        let folder = folder_of(path);
        read(&path.to_string_lossy(), bytes, &mut |wanted| self.included(&folder, wanted))
    }

    fn included(&self, folder: &Path, wanted: &str) -> Result<Vec<u8>, String> {
        let path = folder.join(wanted);
        let parent = folder.join("..");
        let is_allowed = self.anywhere
            || is_below(&parent, &path)
            || self.roots.iter().any(|root| is_below(root, &path));
        if !is_allowed {
            return Err(format!(
                "{} lies outside {}; --include-root DIR allows another folder",
                whole(&path).display(),
                whole(&parent).display()
            ));
        }
        plain_bytes(&path, read_at_most()).map_err(|why| format!("cannot be read: {why}"))
    }
}

/// The bytes of the file at `path`, or as many as show that it is too large for a robot file.
///
/// # Errors
/// Where the system does not read it.
pub fn file_bytes(path: &Path) -> io::Result<Vec<u8>> {
    let file = File::open(path)?;
    let size = file.metadata()?.len().min(read_at_most());
    let mut bytes = Vec::with_capacity(usize::try_from(size).unwrap_or(0) + 1);
    file.take(read_at_most()).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The bytes of a plain file of `most` bytes at most: a pipe may never end.
///
/// # Errors
/// Why not, as a clause.
pub fn plain_bytes(path: &Path, most: u64) -> Result<Vec<u8>, String> {
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

/// One byte more than a robot file may have, which shows that it is too large.
#[must_use]
pub fn read_at_most() -> u64 {
    u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1)
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder.to_owned(),
        _ => PathBuf::from("."),
    }
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
