//! Design files from their paths, with all their faults shown.

use std::collections::BTreeSet;
use std::fs::File;
use std::io;
use std::path::Path;

use crate::design::{self, AnyDesign, InFile, Parameter, Rejected, Source};
use crate::diagnostic::{Code, Diagnostic, render, render_lines, visible, why};
use crate::study::Fault;

use super::exit::Exit;
use super::terminal::{self, message_width, wrapped};

/// Refuses a drive of a kind that a command does not take by its name.
pub(super) fn refuse_kind(design: &AnyDesign, command: &str) -> Exit {
    let kind = design.kind().name();
    let what = format!("a drive of kind {kind} is not taken by `unloop {command}` yet");
    let fault = design
        .diagnose(Parameter::Drive, what)
        .label("not known to this command")
        .help("nothing was worked out");
    let Source { path, text } = design.source();
    terminal::complain(&render(path, text, &[fitted(fault)], terminal::error_colour()));
    Exit::Wrong
}

/// How messages about a design are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Told {
    /// Each against the user's own line, on standard error.
    AtLength,
    /// A line each, on standard output.
    InLines,
}

/// Reads the design at `path` (`-` is standard input) for who uses nothing of the tables `unused`; shows its warnings, or all
/// its faults.
pub(super) fn read(path: &Path, unused: &[&str]) -> Option<AnyDesign> {
    read_and_tell(path, unused, Told::AtLength)
}

/// The same, told as asked.
pub(super) fn read_and_tell(path: &Path, unused: &[&str], told: Told) -> Option<AnyDesign> {
    let name = path.to_string_lossy();
    let bytes = match bytes(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            let what = format!("{} cannot be read: {}", visible(&name), why(&error));
            terminal::complain(&format!("error: {what}\n"));
            return None;
        }
    };
    match design::read_any_without(&name, &bytes, unused) {
        Ok((design, warnings)) => {
            tell(design.source(), &warnings, told);
            Some(design)
        }
        Err(rejected) => {
            tell_all(&rejected, told);
            if told == Told::AtLength {
                point_to_more(&rejected.diagnostics);
            }
            None
        }
    }
}

fn tell_all(rejected: &Rejected, told: Told) {
    if told == Told::AtLength {
        return terminal::complain(&rejected.render(terminal::error_colour()));
    }
    tell(&rejected.source, &rejected.diagnostics, told);
    rejected.stages.iter().for_each(|stage| tell_all(stage, told));
}

/// Messages about a file.
pub(super) fn tell(source: &Source, diagnostics: &[Diagnostic], told: Told) {
    let (path, text) = (&source.path, &source.text);
    match told {
        Told::AtLength => {
            terminal::complain(&render(path, text, diagnostics, terminal::error_colour()));
        }
        Told::InLines => {
            terminal::print(&render_lines(path, text, diagnostics), Exit::Done);
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

/// Tells faults that a study found, each at the user's own line.
pub(super) fn tell_faults(design: &impl InFile, faults: &[Fault], told: Told) {
    let diagnostics: Vec<Diagnostic> = faults.iter().map(|f| f.diagnostic(design)).collect();
    tell(design.source(), &diagnostics, told);
    if told == Told::AtLength {
        point_to_more(&diagnostics);
    }
}

/// What was found of `design`, or the faults of it shown.
pub(super) fn or_told<T>(design: &impl InFile, found: Result<T, Vec<Fault>>) -> Option<T> {
    found.map_err(|faults| tell_faults(design, &faults, Told::AtLength)).ok()
}

/// What a command answers of the design at `path`, which uses nothing of the tables `unused`; or the faults of it shown.
pub(super) fn answer(
    path: &Path,
    unused: &[&str],
    of: impl FnOnce(&AnyDesign) -> Result<Exit, Vec<Fault>>,
) -> Exit {
    read(path, unused).map_or(Exit::Wrong, |design| answered(&design, of(&design)))
}

/// What a command answers of `design`, or the faults of it shown.
pub(super) fn answered(design: &impl InFile, answer: Result<Exit, Vec<Fault>>) -> Exit {
    or_told(design, answer).unwrap_or(Exit::Wrong)
}

/// A message that fits the terminal: its help, and itself where it has no place.
pub(super) fn fitted(mut shown: Diagnostic) -> Diagnostic {
    if shown.place.is_none() {
        let code = shown.code.map_or(0, |code| code.name().len() + 2);
        shown.message = wrapped(&shown.message, message_width().saturating_sub(code), "");
    }
    shown.help = shown.help.map(|help| wrapped(&help, message_width(), ""));
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
