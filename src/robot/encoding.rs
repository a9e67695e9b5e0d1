//! From the bytes of a robot file to its text: UTF-8, with or without a byte-order mark.

use super::malformed::Malformed;
use crate::diagnostic::Diagnostic;

/// The largest file that is read, in bytes: 256 MiB.
pub const LARGEST_FILE: usize = 1 << 28;

/// The text, byte-order mark included.
///
/// # Errors
/// Too large, not UTF-8, or with a character that no XML file may hold.
pub(super) fn text(bytes: Vec<u8>) -> Result<String, Box<Malformed>> {
    if bytes.len() > LARGEST_FILE {
        let what = format!("the file has more than {} MiB", LARGEST_FILE >> 20);
        let fault = Diagnostic::error(what).help("a robot file is text; meshes stay outside it");
        return Err(Box::new(Malformed { text: String::new(), fault }));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let cure = "save the file as UTF-8 in your editor, whatever its first line declares";
        let fault = Diagnostic::not_utf8(error.as_bytes(), at, cure);
        Box::new(Malformed { text: String::new(), fault })
    })?;
    match no_character(&text) {
        Some(fault) => Err(Box::new(Malformed { text, fault })),
        None => Ok(text),
    }
}

/// The first character that no XML file may hold (XML 1.0, production 2), as a fault.
fn no_character(text: &str) -> Option<Diagnostic> {
    let is_control = |byte: u8| byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r');
    let control = text.bytes().position(is_control);
    let at = [control, text.find('\u{fffe}'), text.find('\u{ffff}')].into_iter().flatten().min()?;
    let found = text.get(at..)?.chars().next()?;
    let code = u32::from(found);
    let fault = Diagnostic::error(format!("U+{code:04X} is no character of XML"))
        .at(at..at + found.len_utf8())
        .help("take it out: XML readers refuse the file");
    Some(fault)
}
