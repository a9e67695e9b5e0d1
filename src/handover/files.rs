//! Puts an emission on the disk: both files whole or neither, and never over an existing file unless
//! told to.
//!
//! Every text is complete on the disk before the first of them takes its place. Where a later one cannot, those before it
//! are taken away again, and what they stood in place of comes back. A file that is overwritten keeps its permissions, and
//! a symbolic link goes on pointing where it did.

use std::fmt;
use std::fs::{self, Permissions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::unfinished::Unfinished;

use super::emit::Emission;
use super::emit_two_joints::TwoJointEmission;
use crate::diagnostic::{visible_path, why};

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
                write!(
                    f,
                    "{} exists and was left as it is; --force overwrites it",
                    visible_path(path)
                )
            }
            Self::NotAFile(path) => write!(f, "{} is not a plain file", visible_path(path)),
            Self::NoName(path) => write!(f, "{} is not the name of a file", visible_path(path)),
            Self::Io(path, error) => {
                write!(f, "{} cannot be written: {}", visible_path(path), why(error))
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

/// The same of two joints: `ankle.xml` → `ankle.joints.json`.
#[must_use]
pub fn joints_json_path(target: &Path) -> PathBuf {
    target.with_extension("joints.json")
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
    let beside = (joint_json_path(target), emission.joint_json.as_str());
    write_pair(&emission.file, &beside, target, force, standard_output)
}

/// The same of two joints, whose JSON is `NAME.joints.json`.
///
/// # Errors
/// As [`write_files`].
pub fn write_two_joint_files(
    emission: &TwoJointEmission,
    target: &Path,
    force: bool,
    standard_output: &mut dyn Write,
) -> Result<Written, WriteFault> {
    let beside = (joints_json_path(target), emission.joints_json.as_str());
    write_pair(&emission.file, &beside, target, force, standard_output)
}

fn write_pair(
    file: &str,
    (beside, json): &(PathBuf, &str),
    target: &Path,
    force: bool,
    standard_output: &mut dyn Write,
) -> Result<Written, WriteFault> {
    if target == Path::new("-") {
        return to_standard_output(file, beside, standard_output);
    }
    if target.file_name().is_none() {
        return Err(WriteFault::NoName(target.to_owned()));
    }
    let files = [(target, file), (beside.as_path(), *json)];
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
    let staged = files.iter().map(|(path, text)| stage(path, text.as_bytes()));
    let staged: Vec<_> = staged.collect::<Result<_, WriteFault>>()?;
    put_in_place(staged, force)
}

/// Writes bytes to a file, whole or not at all; an existing file only with `force`.
///
/// # Errors
/// As [`write_texts`].
pub fn write_bytes(path: &Path, bytes: &[u8], force: bool) -> Result<(), WriteFault> {
    must_be_free(path, force)?;
    put_in_place(vec![stage(path, bytes)?], force)
}

fn to_standard_output(
    file: &str,
    beside: &Path,
    standard_output: &mut dyn Write,
) -> Result<Written, WriteFault> {
    let outcome = standard_output.write_all(file.as_bytes()).and_then(|()| standard_output.flush());
    let name = beside.to_string_lossy().replacen('-', "NAME", 1);
    match outcome {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(WriteFault::Io("-".into(), e)),
        _ => Ok(Written {
            files: Vec::new(),
            notes: vec![format!(
                "a named file gets {name} beside it, with what the format cannot hold; -o - has the robot file alone"
            )],
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

/// A text that is complete on the disk, beside the place that it is meant for.
struct Staged<'a> {
    /// As the user has it.
    path: &'a Path,
    /// Where a symbolic link leads.
    target: PathBuf,
    file: NamedTempFile,
    listed: Unfinished,
}

/// A file in its place.
struct Placed {
    target: PathBuf,
    /// What stood there.
    before: Option<(NamedTempFile<()>, Unfinished)>,
}

fn stage<'a>(path: &'a Path, bytes: &[u8]) -> Result<Staged<'a>, WriteFault> {
    let fault = |e| WriteFault::Io(path.to_owned(), e);
    let target = led_to(path);
    let mut builder = tempfile::Builder::new();
    let permissions = readable_as_usual();
    if let Some(permissions) = &permissions {
        builder.permissions(permissions.clone());
    }
    let mut file = builder.tempfile_in(folder_of(&target)).map_err(fault)?;
    let listed = Unfinished::new(file.path());
    if let Ok(found) = fs::metadata(&target) {
        fs::set_permissions(file.path(), found.permissions()).map_err(fault)?;
    }
    file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(fault)?;
    Ok(Staged { path, target, file, listed })
}

/// Links are followed this often at most.
const LINKS: usize = 40;

/// The file that `path` means, whatever symbolic links lie between; it need not be there.
fn led_to(path: &Path) -> PathBuf {
    let next = |path: &PathBuf| Some(folder_of(path).join(fs::read_link(path).ok()?));
    let followed = std::iter::successors(Some(path.to_owned()), next);
    followed.take(LINKS).last().unwrap_or_else(|| path.to_owned())
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
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

/// Where one cannot be put in place, those before it are undone.
fn put_in_place(staged: Vec<Staged<'_>>, force: bool) -> Result<(), WriteFault> {
    let is_alone = staged.len() < 2;
    let mut placed: Vec<Placed> = Vec::new();
    for Staged { path, target, file, listed } in staged {
        let before = match kept(&target, force && !is_alone) {
            Ok(before) => before,
            Err(error) => {
                undo(placed);
                return Err(WriteFault::Io(path.to_owned(), error));
            }
        };
        let outcome = if force { file.persist(&target) } else { file.persist_noclobber(&target) };
        drop(listed);
        if let Err(e) = outcome {
            undo(placed);
            return Err(match e.error.kind() {
                ErrorKind::AlreadyExists => WriteFault::Exists(path.to_owned()),
                _ => WriteFault::Io(path.to_owned(), e.error),
            });
        }
        placed.push(Placed { target, before });
    }
    for one in &placed {
        // The names are on the disk too once their folder is, where the system can tell.
        let _ = fs::File::open(folder_of(&one.target)).and_then(|folder| folder.sync_all());
    }
    Ok(())
}

/// What stands at `target`, under another name, where that is wanted and anything stands there.
fn kept(target: &Path, wanted: bool) -> io::Result<Option<(NamedTempFile<()>, Unfinished)>> {
    if !wanted || !target.exists() {
        return Ok(None);
    }
    let under =
        |name: &Path| fs::hard_link(target, name).or_else(|_| fs::copy(target, name).map(|_| ()));
    let file = tempfile::Builder::new().make_in(folder_of(target), under)?;
    let listed = Unfinished::new(file.path());
    Ok(Some((file, listed)))
}

/// The fault that led here is the one to report.
fn undo(placed: Vec<Placed>) {
    for Placed { target, before } in placed {
        let _ = match before {
            Some((before, _)) => before.into_temp_path().persist(&target).map_err(|e| e.error),
            None => fs::remove_file(&target),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Names and contents in a folder, sorted.
    fn held(folder: &Path) -> Vec<(String, String)> {
        let mut held: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap())
            .filter(|entry| entry.path().is_file())
            .map(|entry| {
                let name = entry.file_name().to_string_lossy().into_owned();
                (name, fs::read_to_string(entry.path()).unwrap())
            })
            .collect();
        held.sort();
        held
    }

    #[test]
    fn the_first_of_a_pair_is_as_it_was_where_the_second_cannot_be_put_in_place() {
        for existed in [true, false] {
            let folder = tempfile::tempdir().unwrap();
            let [first, second] = ["a.urdf", "a.joint.json"].map(|name| folder.path().join(name));
            if existed {
                fs::write(&first, "old").unwrap();
            }
            let before = held(folder.path());
            let staged = vec![stage(&first, b"new").unwrap(), stage(&second, b"{}").unwrap()];
            // A folder has come to stand where the second is to go.
            fs::create_dir(&second).unwrap();
            assert!(put_in_place(staged, true).is_err());
            assert_eq!(held(folder.path()), before);
        }
    }

    #[test]
    fn nothing_is_left_beside_files_that_were_written() {
        let folder = tempfile::tempdir().unwrap();
        let [first, second] = ["a.urdf", "a.joint.json"].map(|name| folder.path().join(name));
        for text in ["one", "two"] {
            write_texts(&[(&first, text), (&second, text)], true).unwrap();
            let names = held(folder.path());
            assert_eq!(names.len(), 2);
            assert!(names.iter().all(|(_, held)| held == text));
        }
    }
}
