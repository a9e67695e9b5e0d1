//! From the bytes of a robot file to its links and joints, whatever the format.

use std::fmt;

use super::document::{Document, Element, Malformed};
use super::format::Format;
use super::model::Robot;
use super::{mjcf, sdformat, urdf};
use crate::diagnostic::{Diagnostic, render};

/// A robot file that cannot be read, and why.
#[derive(Clone, Debug)]
pub struct RobotRejected {
    /// The file that is at fault: the one that was named, or one that it includes.
    pub path: String,
    /// Its text, as far as it can be shown.
    pub text: String,
    /// Every fault, each at its place.
    pub diagnostics: Vec<Diagnostic>,
}

impl RobotRejected {
    /// All messages against the user's text; `coloured` adds ANSI colours.
    #[must_use]
    pub fn render(&self, coloured: bool) -> String {
        render(&self.path, &self.text, &self.diagnostics, coloured)
    }

    /// One fault or more in one file.
    pub(super) fn new(document: &Document, diagnostics: Vec<Diagnostic>) -> Self {
        Self { path: document.path.clone(), text: document.text().to_owned(), diagnostics }
    }
}

impl fmt::Display for RobotRejected {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.render(false))
    }
}

impl std::error::Error for RobotRejected {}

/// Gives the bytes of an included file from the name that the including file uses, or says why not, as a clause.
pub type Includes<'a> = dyn FnMut(&str) -> Result<Vec<u8>, String> + 'a;

/// Reads a robot file; `path` is the name to show, `includes` gives the files that it includes.
///
/// # Errors
/// What is not XML, not one of the three formats, or does not make sense in its format: all faults of one file in one
/// go, each at its place.
pub fn read(
    path: &str,
    bytes: Vec<u8>,
    includes: &mut Includes<'_>,
) -> Result<Robot, Box<RobotRejected>> {
    let document = Document::read(path, bytes).map_err(|malformed| rejected(path, *malformed))?;
    let read = match Format::of_root(document.root().name()) {
        Some(Format::Mjcf) => return mjcf::read::read(document, includes),
        Some(Format::Urdf) => urdf::read::read(document.root()),
        Some(Format::Sdformat) => sdformat::read::read(document.root()),
        None => Err(vec![no_format(document.root())]),
    };
    match read {
        Ok(robot) => Ok(Robot { documents: vec![document], ..robot }),
        Err(faults) => Err(Box::new(RobotRejected::new(&document, faults))),
    }
}

pub(super) fn rejected(path: &str, malformed: Malformed) -> Box<RobotRejected> {
    let Malformed { text, fault } = malformed;
    Box::new(RobotRejected { path: path.to_owned(), text, diagnostics: vec![fault] })
}

fn no_format(root: Element<'_>) -> Diagnostic {
    Diagnostic::error(format!("<{}> begins no robot file", root.name()))
        .at(root.tag_range())
        .label("the outermost element")
        .help("URDF begins with <robot>, SDFormat with <sdf>, MJCF with <mujoco>")
}
