//! Bad designs beside the whole message that each earns: `models/bad/*.toml` and `*.txt`.
//!
//! With `UNLOOP_BLESS=1` the messages are written anew; read them before they are committed.

use std::fs;
use std::path::{Path, PathBuf};

use crate::whole_messages;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/models/bad");

fn designs() -> Vec<PathBuf> {
    whole_messages::files(FOLDER, &["toml"])
}

/// All that is said about the file: of a rejected one its faults, of another its warnings.
fn message(path: &Path) -> String {
    let name = path.file_name().unwrap().to_str().unwrap();
    // The stages of a series are found from where it stands.
    let shown =
        if name.starts_with("series") { format!("models/bad/{name}") } else { name.to_owned() };
    match unloop::design::read_any(&shown, &fs::read(path).unwrap()) {
        Ok((design, warnings)) => format!("(accepted)\n{}", design.render(&warnings, false)),
        Err(rejected) => rejected.render(false),
    }
}

#[test]
fn every_bad_design_earns_its_whole_message() {
    whole_messages::must_stand_beside(&designs(), message);
}

#[test]
fn every_bad_design_is_refused_or_warned_about() {
    for path in designs() {
        let message = message(&path);
        let wanted = message.starts_with("error") || message.contains("\nwarning");
        assert!(wanted, "{}: {message}", path.display());
    }
}

#[test]
fn no_message_stands_beside_a_design_that_is_gone() {
    for entry in fs::read_dir(FOLDER).unwrap() {
        let path = entry.unwrap().path();
        assert!(path.with_extension("toml").exists(), "{}", path.display());
    }
}
