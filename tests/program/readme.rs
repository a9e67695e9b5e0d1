//! The README and the pages in `docs/` do not lie: each of their commands is run and must print what stands there; their designs
//! are read, their links lead somewhere.
//!
//! A block marked `console` holds commands behind `$ ` and what they print. `cargo run --release --` and `unloop` both
//! mean the program under test; other `cargo` commands are left alone. All run in one folder with the repository's
//! `models/`, in their order; a block whose mark has a file's name behind it is written there first. With `UNLOOP_BLESS=1` what they print is written into the README; read it before it is
//! committed.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Pages whose commands are run: the two that are read first, and one for each task.
fn pages() -> Vec<PathBuf> {
    let docs = fs::read_dir(root().join("docs")).unwrap().map(|entry| entry.unwrap().path());
    let docs = docs.filter(|path| path.extension().is_some_and(|ending| ending == "md"));
    let mut pages: Vec<PathBuf> =
        ["README.md", "models/README.md"].map(|page| root().join(page)).into();
    pages.extend(docs);
    pages.sort();
    pages
}

pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A folder of its own with the designs and robot files, so that what is written lands there.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for models in ["models", "models/robots", "models/drives"] {
        fs::create_dir(folder.path().join(models)).unwrap();
        for entry in fs::read_dir(root().join(models)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                fs::copy(&path, folder.path().join(models).join(path.file_name().unwrap()))
                    .unwrap();
            }
        }
    }
    folder
}

fn paths() -> std::ffi::OsString {
    let program = PathBuf::from(env!("CARGO_BIN_EXE_unloop"));
    let mut folders = vec![program.parent().unwrap().to_owned()];
    folders.extend(std::env::split_paths(&std::env::var_os("PATH").unwrap()));
    std::env::join_paths(folders).unwrap()
}

/// What a command prints on both streams, without blank lines at its end.
fn printed(command: &str, folder: &Path) -> String {
    let command = command.replace("cargo run --release -- ", "unloop ");
    let output = Command::new("sh")
        .args(["-c", &format!("{{ {command}\n}} 2>&1")])
        .current_dir(folder)
        .env("LC_ALL", "C.UTF-8")
        .env_remove("COLUMNS")
        .env("PATH", paths())
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap().trim_end().to_owned()
}

fn is_run(command: &str) -> bool {
    !command.starts_with("cargo ") || command.starts_with("cargo run --release -- ")
}

/// The page with every command's output as it is now.
pub(crate) fn as_it_is(page: &str, folder: &Path) -> String {
    for (name, text) in files(page) {
        fs::write(folder.join(name), text).unwrap();
    }
    let mut out = String::new();
    let mut in_block = false;
    let mut skipping = false;
    for line in page.lines() {
        if line.starts_with("```") {
            in_block = line == "```console";
            skipping = false;
        }
        let command = line.strip_prefix("$ ").filter(|_| in_block);
        if let Some(command) = command {
            skipping = is_run(command);
            let text = if skipping { printed(command, folder) } else { String::new() };
            out.push_str(&format!("{line}\n{text}{}", if text.is_empty() { "" } else { "\n" }));
        } else if !skipping {
            out.push_str(&format!("{line}\n"));
        }
    }
    out
}

fn first_difference<'a>(written: &'a str, found: &'a str) -> String {
    let pairs = written.lines().zip(found.lines()).enumerate();
    let line = pairs.clone().find(|(_, (a, b))| a != b);
    line.map_or_else(
        || "one is longer".to_owned(),
        |(at, (a, b))| format!("line {}:\n  written: {a}\n  printed: {b}", at + 1),
    )
}

#[test]
fn every_command_prints_what_the_page_says() {
    for path in pages() {
        let folder = folder();
        let written = fs::read_to_string(&path).unwrap();
        let found = as_it_is(&written, folder.path());
        if std::env::var_os("UNLOOP_BLESS").is_some() {
            fs::write(&path, &found).unwrap();
        } else {
            let difference = first_difference(&written, &found);
            assert!(written == found, "{}: {difference}", path.display());
        }
    }
}

/// Blocks that a page names as files, with their names.
fn files(page: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        let mark = line.strip_prefix("```").unwrap_or_default();
        if let Some((_, name)) = mark.split_once(' ') {
            let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            found.push((name.to_owned(), block.join("\n") + "\n"));
        }
    }
    found
}

/// The text of every block of one kind.
fn blocks(page: &str, kind: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if line.strip_prefix("```").and_then(|mark| mark.split(' ').next()) == Some(kind) {
            let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            found.push(block.join("\n"));
        }
    }
    found
}

#[test]
fn every_design_on_a_page_can_be_read() {
    let mut count = 0;
    for path in pages() {
        for text in blocks(&fs::read_to_string(&path).unwrap(), "toml") {
            count += 1;
            if let Err(rejected) = unloop::design::read(path.to_str().unwrap(), text.as_bytes()) {
                assert_eq!(rejected.render(false), "");
            }
        }
    }
    assert!(count >= 4);
}

#[test]
fn every_link_on_a_page_leads_to_a_file() {
    for path in pages() {
        let page = fs::read_to_string(&path).unwrap();
        for link in page.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap();
            let leads = path.parent().unwrap().join(file).exists();
            assert!(leads || link.starts_with("http"), "{}: {link}", path.display());
        }
    }
}

#[test]
fn every_design_of_ours_has_its_entry_in_their_page() {
    let page = fs::read_to_string(root().join("models/README.md")).unwrap();
    for entry in fs::read_dir(root().join("models")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(!name.ends_with(".toml") || page.contains(&format!("`{name}`")), "{name}");
    }
}
