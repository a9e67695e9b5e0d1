//! A table of words for a terminal: columns as wide as their widest cell, no rules.

use crate::diagnostic::width_of;

/// `header` and `rows` under each other, the first column and those marked `left` to the left, all else to the right; a
/// blank before and behind each cell, none at the end of a line.
pub(super) fn columns(header: &[String], rows: &[Vec<String>], left: &[bool]) -> String {
    let is_left = |at: usize| at == 0 || left.get(at) == Some(&true);
    let width = |at: usize| {
        let cells = rows.iter().filter_map(|row| row.get(at)).map(|cell| width_of(cell));
        cells.chain(header.get(at).map(|word| width_of(word))).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..header.len()).map(width).collect();
    let line = |cells: &[String]| {
        let padded = cells.iter().zip(&widths).enumerate().map(|(at, (cell, width))| {
            let blanks = " ".repeat(width - width_of(cell));
            if is_left(at) { format!(" {cell}{blanks} ") } else { format!(" {blanks}{cell} ") }
        });
        format!("{}\n", padded.collect::<String>().trim_end())
    };
    rows.iter().fold(line(header), |text, row| text + &line(row))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_under_their_heads_whatever_the_letters_width() {
        let rows = [["膝", "1.5"], ["ankle", "−20"]].map(|row| row.map(str::to_owned).to_vec());
        assert_eq!(
            columns(&["joint", "deg", "note"].map(str::to_owned), &rows, &[true, false, true]),
            " joint  deg  note\n 膝     1.5\n ankle  −20\n"
        );
    }
}
