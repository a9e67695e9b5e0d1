//! From the bytes of a robot file to its text: UTF-8, with or without a byte-order mark.

use super::document::{LARGEST_FILE, Malformed};
use crate::diagnostic::Diagnostic;

/// The text, byte-order mark included.
///
/// # Errors
/// Too large, or not UTF-8.
pub(super) fn text(bytes: Vec<u8>) -> Result<String, Box<Malformed>> {
    if bytes.len() > LARGEST_FILE {
        let what = format!("the file has more than {} MiB", LARGEST_FILE >> 20);
        let fault = Diagnostic::error(what).help("a robot file is text; meshes stay outside it");
        return Err(Box::new(Malformed { text: String::new(), fault }));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        Box::new(not_utf8(error.as_bytes(), at))
    })
}

fn not_utf8(bytes: &[u8], at: usize) -> Malformed {
    let byte = bytes.get(at).copied().unwrap_or(0);
    let line = 1 + bytes.iter().take(at).filter(|byte| **byte == b'\n').count();
    let what = format!("the file is not UTF-8: byte 0x{byte:02x} at offset {at}, line {line}");
    let is_utf16 = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    let help = if is_utf16 {
        "the file is UTF-16: save it as UTF-8 in your editor"
    } else {
        "save the file as UTF-8 in your editor, whatever its first line declares"
    };
    Malformed { text: String::new(), fault: Diagnostic::error(what).help(help) }
}
