//! From the bytes of a file to its text.

use std::io::{self, Read};

use crate::diagnostic::{Diagnostic, is_utf16};

/// The largest design file that is read, in bytes: 1 MiB.
pub const LARGEST_FILE: usize = 1 << 20;

/// As much of `file` as a design may have, and one byte more where it is too large.
///
/// # Errors
/// Where the system does not read it.
pub fn bytes_of(file: impl Read) -> io::Result<Vec<u8>> {
    let most = u64::try_from(LARGEST_FILE).unwrap_or(u64::MAX).saturating_add(1);
    let mut bytes = Vec::new();
    file.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The text, or what can be shown of it with the fault.
pub(super) fn text(bytes: &[u8]) -> Result<&str, Box<(String, Diagnostic)>> {
    if bytes.len() > LARGEST_FILE {
        return Err(Box::new((String::new(), too_large())));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let shown = String::from_utf8_lossy(bytes).into_owned();
        Box::new((shown, not_utf8(bytes, error.valid_up_to())))
    })?;
    match of_another_kind(text) {
        Some(fault) => Err(Box::new((text.to_owned(), fault))),
        None => Ok(text),
    }
}

/// A file that was never meant to be a design gets one message, not one for each line.
fn of_another_kind(text: &str) -> Option<Diagnostic> {
    let (what, help) = match text.trim_start_matches('\u{feff}').trim_start().chars().next() {
        None => ("the file is empty", "`unloop new` writes a design to start from"),
        Some('<') => (
            "this is XML, not a design",
            "a design is a short text in TOML, and `unloop new` writes one; robot files are for `unloop find`",
        ),
        Some('{') => (
            "this is JSON, not a design",
            "a design is a short text in TOML, and `unloop new` writes one",
        ),
        Some(_) => return None,
    };
    Some(Diagnostic::error(what).help(help))
}

fn too_large() -> Diagnostic {
    Diagnostic::error(format!(
        "the file has more than {LARGEST_FILE} bytes, the most a design may have"
    ))
    .help("is this the right file? A design is a short text in TOML")
}

fn not_utf8(bytes: &[u8], at: usize) -> Diagnostic {
    let cure = "save the file as UTF-8 in your editor; ± may be typed +/- and µm may be typed um";
    let fault = Diagnostic::not_utf8(bytes, at, cure);
    if is_utf16(bytes) { fault } else { fault.at(at..at + 1).label("from here on") }
}
