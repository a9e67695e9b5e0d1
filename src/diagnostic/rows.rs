//! Text broken to a width.

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
    for word in words {
        if !begins && row.chars().count() + 1 + word.chars().count() > width {
            rows.push(std::mem::replace(&mut row, indent.to_owned()));
            begins = true;
        }
        if !begins {
            row.push(' ');
        }
        row.push_str(word);
        begins &= word.is_empty();
    }
    rows.push(row);
    rows
}
