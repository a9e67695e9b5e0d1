//! Faulty files beside the whole message that each earns.
//!
//! With `UNLOOP_BLESS=1` the messages are written anew; read them before they are committed.

use std::fs;
use std::path::{Path, PathBuf};

/// The files of a folder with one of these endings, in order.
pub(crate) fn files(folder: &str, endings: &[&str]) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let is_ours =
        |path: &PathBuf| path.extension().is_some_and(|ext| endings.iter().any(|end| ext == *end));
    let mut files: Vec<PathBuf> = entries.filter(is_ours).collect();
    files.sort();
    files
}

/// Each file's message is that in the `.txt` beside it.
pub(crate) fn must_stand_beside(files: &[PathBuf], message: impl Fn(&Path) -> String) {
    let bless = std::env::var_os("UNLOOP_BLESS").is_some();
    let mut differing = Vec::new();
    for path in files {
        let (found, beside) = (message(path), path.with_extension("txt"));
        if bless {
            fs::write(&beside, &found).unwrap();
        } else if fs::read_to_string(&beside).unwrap_or_default() != found {
            differing.push(format!("{}\n{found}", beside.display()));
        }
    }
    assert!(differing.is_empty(), "these differ:\n{}", differing.join("\n"));
}
