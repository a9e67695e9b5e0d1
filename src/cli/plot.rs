//! `--plot FILE.svg|png`: the picture beside what a command prints.

use std::path::Path;

use crate::design::InFile;
use crate::diagnostic::visible_path;
use crate::handover;
use crate::report::Sheet;
use crate::study::Fault;

use super::arguments::PlotArguments;
use super::exit::Exit;
use super::{designs, output, terminal};

/// Where a picture goes, looked at before the work begins.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plot<'a> {
    path: &'a Path,
    is_png: bool,
    force: bool,
}

/// The picture that was asked for, if any.
///
/// # Errors
/// The file's name ends in something else than `.svg` or `.png`, or the file is there already; that is told here.
pub(super) fn wanted(arguments: &PlotArguments) -> Result<Option<Plot<'_>>, Exit> {
    let (Some(path), force) = (arguments.file.as_deref(), arguments.force) else {
        return Ok(None);
    };
    let ends = |with: &str| path.extension().is_some_and(|e| e.eq_ignore_ascii_case(with));
    let is_png = ends("png");
    if !is_png && !ends("svg") {
        terminal::complain(&format!(
            "error: --plot writes SVG or PNG: {} should end in .svg or .png\n",
            visible_path(path)
        ));
        return Err(Exit::Wrong);
    }
    if is_png && !cfg!(feature = "pictures") {
        terminal::complain("error: this unloop was built without PNG; take .svg\n");
        return Err(Exit::Wrong);
    }
    match handover::must_be_free(path, force) {
        Ok(()) => Ok(Some(Plot { path, is_png, force })),
        Err(fault) => Err(output::wrong(&fault.to_string())),
    }
}

/// Writes what `sheet` draws of `design`, where a picture was asked for; tells the faults that keep it from being drawn.
pub(super) fn drawn(
    plot: Option<Plot<'_>>,
    design: &impl InFile,
    sheet: impl FnOnce() -> Result<Sheet, Vec<Fault>>,
) -> Exit {
    plot.map_or(Exit::Done, |plot| {
        designs::answered(design, sheet().map(|sheet| plot.write(&sheet)))
    })
}

impl Plot<'_> {
    /// Writes the picture; says so, or why not.
    pub(super) fn write(&self, sheet: &Sheet) -> Exit {
        let bytes = if self.is_png { png(sheet) } else { Some(sheet.svg().into_bytes()) };
        let Some(bytes) = bytes else {
            terminal::complain("error: no image of this size can be made; take .svg\n");
            return Exit::Wrong;
        };
        match handover::write_bytes(self.path, &bytes, self.force) {
            Ok(()) => {
                terminal::complain(&format!("wrote {}\n", visible_path(self.path)));
                if let Some(letters) = boxes(sheet).filter(|_| self.is_png) {
                    terminal::complain(&format!(
                        "note: boxes stand for letters that PNG has no face for here: {letters}; take .svg for them\n"
                    ));
                }
                Exit::Done
            }
            Err(fault) => output::wrong(&fault.to_string()),
        }
    }
}

#[cfg(feature = "pictures")]
fn png(sheet: &Sheet) -> Option<Vec<u8>> {
    sheet.png()
}

/// The letters that the PNG shows as boxes, if any.
#[cfg(feature = "pictures")]
fn boxes(sheet: &Sheet) -> Option<String> {
    Some(sheet.boxes()).filter(|letters| !letters.is_empty())
}

#[cfg(not(feature = "pictures"))]
fn boxes(_: &Sheet) -> Option<String> {
    None
}

/// Refused before, by [`wanted`].
#[cfg(not(feature = "pictures"))]
fn png(_: &Sheet) -> Option<Vec<u8>> {
    None
}
