//! Puts an emission on the disk: both files whole or neither, and never over an existing file unless
//! told to.

use std::fmt;
use std::fs::{self, Permissions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::emit::Emission;
use crate::diagnostic::why;

/// What was written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// The files, none where the text went to standard output.
    pub files: Vec<PathBuf>,
    /// What the user should be told.
    pub notes: Vec<String>,
}

/// Why nothing was written.
#[derive(Debug)]
pub enum WriteFault {
    /// The file exists.
    Exists(PathBuf),
    /// Something that is not a plain file stands there: a folder, a device.
    NotAFile(PathBuf),
    /// The path has no file name.
    NoName(PathBuf),
    /// The system says no.
    Io(PathBuf, io::Error),
}

impl fmt::Display for WriteFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exists(path) => {
                write!(f, "{} exists and was left as it is; --force overwrites it", path.display())
            }
            Self::NotAFile(path) => write!(f, "{} is not a plain file", path.display()),
            Self::NoName(path) => write!(f, "{} is not the name of a file", path.display()),
            Self::Io(path, error) => {
                write!(f, "{} cannot be written: {}", path.display(), why(error))
            }
        }
    }
}

impl std::error::Error for WriteFault {}

/// The JSON that belongs to a robot file: `ankle.urdf` → `ankle.joint.json`, in the same folder.
#[must_use]
pub fn joint_json_path(target: &Path) -> PathBuf {
    target.with_extension("joint.json")
}

/// Writes the robot file and its JSON, or the robot file alone to `standard_output` where `target` is
/// `-`. An existing file is overwritten with `force` only; both are looked at before either is written.
///
/// # Errors
/// When a file exists, the name is not one of a file, or the system says no. A closed pipe is none.
pub fn write_files(
    emission: &Emission,
    target: &Path,
    force: bool,
    standard_output: &mut dyn Write,
) -> Result<Written, WriteFault> {
    if target == Path::new("-") {
        return to_standard_output(emission, target, standard_output);
    }
    if target.file_name().is_none() {
        return Err(WriteFault::NoName(target.to_owned()));
    }
    let beside = joint_json_path(target);
    let files =
        [(target, emission.file.as_str()), (beside.as_path(), emission.joint_json.as_str())];
    write_texts(&files, force)?;
    Ok(Written { files: files.map(|(path, _)| path.to_owned()).to_vec(), notes: Vec::new() })
}

/// Writes texts to files, all of them whole or none; existing files only with `force`.
///
/// # Errors
/// When a file exists, is no plain file, or the system says no; then nothing new is left behind.
pub fn write_texts(files: &[(&Path, &str)], force: bool) -> Result<(), WriteFault> {
    for (path, _) in files {
        must_be_free(path, force)?;
    }
    let staged = files.iter().map(|(path, text)| Ok((*path, stage(path, text.as_bytes())?)));
    let staged: Vec<_> = staged.collect::<Result<_, WriteFault>>()?;
    put_in_place(staged, force)
}

/// Writes bytes to a file, whole or not at all; an existing file only with `force`.
///
/// # Errors
/// As [`write_texts`].
pub fn write_bytes(path: &Path, bytes: &[u8], force: bool) -> Result<(), WriteFault> {
    must_be_free(path, force)?;
    put_in_place(vec![(path, stage(path, bytes)?)], force)
}

fn to_standard_output(
    emission: &Emission,
    target: &Path,
    standard_output: &mut dyn Write,
) -> Result<Written, WriteFault> {
    let outcome =
        standard_output.write_all(emission.file.as_bytes()).and_then(|()| standard_output.flush());
    match outcome {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(WriteFault::Io(target.to_owned(), e)),
        _ => Ok(Written {
            files: Vec::new(),
            notes: vec![
                "a named file gets NAME.joint.json beside it, with what the format cannot hold; -o - has the robot file alone"
                    .into(),
            ],
        }),
    }
}

/// Could a file be written to `path`?
///
/// # Errors
/// It exists and `force` is not given, or it is no plain file.
pub fn must_be_free(path: &Path, force: bool) -> Result<(), WriteFault> {
    match fs::metadata(path) {
        Ok(found) if !found.is_file() => Err(WriteFault::NotAFile(path.to_owned())),
        Ok(_) if !force => Err(WriteFault::Exists(path.to_owned())),
        Ok(_) => Ok(()),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
        Err(e) => Err(WriteFault::Io(path.to_owned(), e)),
    }
}

fn stage(path: &Path, bytes: &[u8]) -> Result<NamedTempFile, WriteFault> {
    let fault = |e| WriteFault::Io(path.to_owned(), e);
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    let permissions = readable_as_usual();
    if let Some(permissions) = &permissions {
        builder.permissions(permissions.clone());
    }
    let mut file = builder.tempfile_in(folder).map_err(fault)?;
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(fault)?;
    Ok(file)
}

/// A temporary file is private by default; what a user asked for is readable as far as the umask lets it.
#[cfg(unix)]
fn readable_as_usual() -> Option<Permissions> {
    use std::os::unix::fs::PermissionsExt;
    Some(Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn readable_as_usual() -> Option<Permissions> {
    None
}

/// Where the second cannot be put in place, the first is taken away again if it is new.
fn put_in_place(staged: Vec<(&Path, NamedTempFile)>, force: bool) -> Result<(), WriteFault> {
    let mut placed: Vec<&Path> = Vec::new();
    for (path, file) in staged {
        let outcome = if force { file.persist(path) } else { file.persist_noclobber(path) };
        if let Err(e) = outcome {
            take_away(&placed, force);
            return Err(match e.error.kind() {
                ErrorKind::AlreadyExists => WriteFault::Exists(path.to_owned()),
                _ => WriteFault::Io(path.to_owned(), e.error),
            });
        }
        placed.push(path);
    }
    Ok(())
}

fn take_away(placed: &[&Path], force: bool) {
    if !force {
        for path in placed {
            // The fault that led here is the one to report.
            let _ = fs::remove_file(path);
        }
    }
}
