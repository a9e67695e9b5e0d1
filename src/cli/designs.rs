//! Design files from their paths, with all their faults shown.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

use crate::design::{self, Design};
use crate::diagnostic::Diagnostic;
use crate::study::Fault;

use super::terminal;

/// Reads the design at `path` (`-` is standard input); shows its warnings, or all its faults.
pub(super) fn read(path: &Path) -> Option<Design> {
    let name = path.to_string_lossy();
    let bytes = match bytes(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            terminal::complain(&format!("error: {name} cannot be read: {error}\n"));
            return None;
        }
    };
    let colour = terminal::error_colour();
    match design::read(&name, &bytes) {
        Ok((design, warnings)) => {
            terminal::complain(&design.render(&warnings, colour));
            Some(design)
        }
        Err(rejected) => {
            terminal::complain(&rejected.render(colour));
            None
        }
    }
}

/// The whole file, or as much of it as shows that it is too large.
fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    let most = u64::try_from(design::LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1);
    let mut bytes = Vec::new();
    if path == Path::new("-") {
        io::stdin().lock().take(most).read_to_end(&mut bytes)?;
    } else {
        File::open(path)?.take(most).read_to_end(&mut bytes)?;
    }
    Ok(bytes)
}

/// Shows faults that a study found, each at the user's own line.
pub(super) fn show_faults(design: &Design, faults: &[Fault]) {
    let diagnostics: Vec<Diagnostic> = faults
        .iter()
        .map(|f| {
            design
                .diagnose(f.parameter, f.message.clone())
                .label(f.label.clone())
                .help(f.help.clone())
        })
        .collect();
    terminal::complain(&design.render(&diagnostics, terminal::error_colour()));
}
