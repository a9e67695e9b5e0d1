//! Files that are being written: what has to go when the program is ended before they are complete.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

static UNFINISHED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// A file is unfinished as long as this lives.
pub(super) struct Unfinished(PathBuf);

impl Unfinished {
    pub(super) fn new(path: &Path) -> Self {
        UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_owned());
        Self(path.to_owned())
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner).remove(&self.0);
    }
}

/// Takes away what is not complete, for a program that is about to end.
pub fn remove_unfinished() {
    for path in UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner).iter() {
        // Nobody is left to be told.
        let _ = fs::remove_file(path);
    }
}
