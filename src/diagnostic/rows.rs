//! Text broken to a width.

use unicode_width::UnicodeWidthStr as _;

/// Rows of at most `width` columns, longer only where one word is; the first begins with `first`, each other with `indent`.
/// An empty word is one more blank.
#[must_use]
pub fn rows<'a>(
    words: impl IntoIterator<Item = &'a str>,
    width: usize,
    first: &str,
    indent: &str,
) -> Vec<String> {
    let (mut rows, mut row, mut begins) = (Vec::new(), first.to_owned(), true);
    let mut filled = width_of(first);
    for word in words {
        let wide = width_of(word);
        if !begins && filled + 1 + wide > width {
            rows.push(std::mem::replace(&mut row, indent.to_owned()));
            (begins, filled) = (true, width_of(indent));
        }
        if !begins {
            row.push(' ');
            filled += 1;
        }
        row.push_str(word);
        filled += wide;
        begins &= word.is_empty();
    }
    rows.push(row);
    rows
}

/// Columns that `text` takes on a screen: what sets a colour takes none.
#[must_use]
pub fn width_of(text: &str) -> usize {
    let mut parts = text.split('\u{1b}');
    let first = parts.next().map_or(0, |text| text.width());
    let rest = parts.map(|part| part.split_once('m').map_or(0, |(_, text)| text.width()));
    first + rest.sum::<usize>()
}
