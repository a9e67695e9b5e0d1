//! Names as they may be shown: nothing in them moves the cursor, forges a line or turns the letters round.

use std::borrow::Cow;
use std::path::Path;

/// `text` with control characters, marks of writing direction and line separators as escapes.
///
/// # Examples
///
/// ```
/// assert_eq!(unloop::diagnostic::visible("knee\n\u{202e}"), "knee\\n\\u{202e}");
/// assert_eq!(unloop::diagnostic::visible("膝 جزء"), "膝 جزء");
/// ```
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let shown = |c: char| if is_hidden(c) { c.escape_default().to_string() } else { c.to_string() };
    Cow::Owned(text.chars().map(shown).collect())
}

/// A path as it may be shown.
#[must_use]
pub fn visible_path(path: &Path) -> String {
    visible(&path.to_string_lossy()).into_owned()
}

/// Is it a character that shows as nothing, or as something else than it is?
#[must_use]
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}'
        )
}

/// Each line of `text` for itself.
pub(super) fn visible_lines(text: &str) -> String {
    text.split('\n').map(visible).collect::<Vec<_>>().join("\n")
}
