//! A Python environment under `target/` with independent readers of robot files, made once and made anew
//! when `tests/engines/requirements.txt` changes.

#![allow(dead_code, reason = "each test file uses its own part")]

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const WAY_OUT: &str = "the engine tests need python3 with its venv module and PyPI within reach; \
    `cargo test -- --skip engine` goes on without them";

/// The build folder, wherever cargo was told to put it.
pub(crate) fn target() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap().to_owned()
}

fn engines() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/engines")
}

/// The environment's folder, with everything of `requirements.txt` installed.
pub(crate) fn ready() -> PathBuf {
    made("engines-venv", "requirements.txt")
}

/// The environment `name` with what a file of `tests/engines` lists.
fn made(name: &str, requirements: &str) -> PathBuf {
    let venv = target().join(name);
    let stamp = venv.join("requirements.stamp");
    let list = engines().join(requirements);
    let wanted = fs::read_to_string(&list).unwrap();
    // Tests run side by side: one makes the environment, the others wait here.
    let lock = File::create(target().join(format!("{name}.lock"))).unwrap();
    lock.lock().unwrap();
    if fs::read_to_string(&stamp).ok().as_ref() != Some(&wanted) {
        make(&venv, &list);
        fs::write(&stamp, &wanted).unwrap();
    }
    venv
}

fn make(venv: &Path, requirements: &Path) {
    if venv.exists() {
        fs::remove_dir_all(venv).unwrap();
    }
    run(Command::new("python3").args(["-m", "venv"]).arg(venv));
    run(Command::new(venv.join("bin/python"))
        .args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"])
        .arg(requirements));
}

fn run(command: &mut Command) {
    let output = command.output().unwrap_or_else(|e| panic!("{command:?}: {e}; {WAY_OUT}"));
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?} failed; {WAY_OUT}\n{text}");
}

/// Runs a script of `tests/engines` with a text as its standard input.
pub(crate) fn script(name: &str, input: &str) -> Output {
    script_in(&ready(), name, input)
}

/// An environment with arrays that can be differentiated and intervals of any number of digits, and nothing else.
fn arithmetic() -> PathBuf {
    made("arithmetic-venv", "arithmetic-requirements.txt")
}

/// Runs a script that differentiates generated maps, with a text as its standard input.
pub(crate) fn maps(name: &str, input: &str) -> Output {
    script_in(&arithmetic(), name, input)
}

/// Runs `docs/check_proof.py` as its head says.
pub(crate) fn check_proof(file: &Path) -> Output {
    let checker = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/check_proof.py");
    Command::new(arithmetic().join("bin/python")).arg(checker).arg(file).output().unwrap()
}

fn script_in(venv: &Path, name: &str, input: &str) -> Output {
    let mut child = Command::new(venv.join("bin/python"))
        .arg(engines().join(name))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

/// A file of an installed package, by its name.
pub(crate) fn package_file(name: &str) -> PathBuf {
    find(&ready().join("lib"), name).unwrap_or_else(|| panic!("no package carries {name}"))
}

fn find(folder: &Path, name: &str) -> Option<PathBuf> {
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).ok()?.filter_map(|e| Some(e.ok()?.path())).collect();
    entries.sort();
    entries.into_iter().find_map(|path| {
        if path.is_dir() { find(&path, name) } else { (path.file_name()? == name).then_some(path) }
    })
}
