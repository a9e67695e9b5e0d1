//! Design files from their paths, with all their faults shown.

use std::collections::BTreeSet;
use std::fs::File;
use std::io;
use std::path::Path;

use crate::design::{self, AnyDesign, Design, Drawn, Parameter};
use crate::diagnostic::{Code, Diagnostic, why};
use crate::study::Fault;

use super::exit::Exit;
use super::terminal::{self, WIDTH, wrapped};

/// Refuses a drive of another kind than a planar four-bar by its name.
pub(super) fn refuse_kind(design: &Design<Drawn>, command: &str) -> Exit {
    let kind = design.geometry.drawing.kind().name();
    let what = format!("a drive of kind {kind} is not taken by `unloop {command}` yet");
    let fault = design
        .diagnose(Parameter::Drive, what)
        .label("not known to this command")
        .help("nothing was worked out");
    terminal::complain(&design.render(&[fitted(fault)], terminal::error_colour()));
    Exit::Wrong
}

/// Reads the design at `path` (`-` is standard input); shows its warnings, or all its faults.
pub(super) fn read(path: &Path) -> Option<AnyDesign> {
    let name = path.to_string_lossy();
    let bytes = match bytes(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            terminal::complain(&format!("error: {name} cannot be read: {}\n", why(&error)));
            return None;
        }
    };
    let colour = terminal::error_colour();
    match design::read_any(&name, &bytes) {
        Ok((design, warnings)) => {
            terminal::complain(&design.render(&warnings, colour));
            Some(design)
        }
        Err(rejected) => {
            terminal::complain(&rejected.render(colour));
            point_to_more(&rejected.diagnostics);
            None
        }
    }
}

/// The whole file, or as much of it as shows that it is too large.
fn bytes(path: &Path) -> io::Result<Vec<u8>> {
    if path == Path::new("-") {
        design::bytes_of(io::stdin().lock())
    } else {
        design::bytes_of(File::open(path)?)
    }
}

/// Shows faults that a study found, each at the user's own line.
pub(super) fn show_faults<G>(design: &Design<G>, faults: &[Fault]) {
    let diagnostics: Vec<Diagnostic> = faults.iter().map(|f| f.diagnostic(design)).collect();
    terminal::complain(&design.render(&diagnostics, terminal::error_colour()));
    point_to_more(&diagnostics);
}

/// A message that fits the terminal: its help, and itself where it has no place.
pub(super) fn fitted(mut shown: Diagnostic) -> Diagnostic {
    if shown.place.is_none() {
        let code = shown.code.map_or(0, |code| code.name().len() + 2);
        shown.message = wrapped(&shown.message, WIDTH - code, "");
    }
    shown.help = shown.help.map(|help| wrapped(&help, WIDTH, ""));
    shown
}

/// One line below the messages: which of them `unloop explain` tells more about.
pub(super) fn point_to_more(diagnostics: &[Diagnostic]) {
    let codes: BTreeSet<Code> = diagnostics.iter().filter_map(|one| one.code).collect();
    let words: Vec<&str> = codes.iter().map(|code| code.name()).collect();
    if !words.is_empty() {
        terminal::complain(&format!("\nmore: unloop explain {}\n", words.join(" ")));
    }
}
