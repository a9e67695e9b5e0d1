//! Line and column of a byte, in time that does not grow with the length of its line.

/// Characters are counted up to each block of so many bytes.
const BLOCK: usize = 1024;

/// Where lines begin, and how many characters stand before each block.
#[derive(Clone, Debug)]
pub(super) struct Lines {
    starts: Vec<usize>,
    blocks: Vec<usize>,
}

impl Lines {
    pub(super) fn new(text: &str) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let starts = [0].into_iter().chain(ends.map(|(at, _)| at + 1)).collect();
        let counts = text.as_bytes().chunks(BLOCK).scan(0, |sum, block| {
            let before = *sum;
            *sum += characters(block);
            Some(before)
        });
        Self { starts, blocks: counts.collect() }
    }

    /// Both from 1, columns in characters.
    pub(super) fn line_column(&self, text: &str, at: usize) -> (usize, usize) {
        let at = at.min(text.len());
        let line = self.starts.partition_point(|start| *start <= at).max(1);
        let start = self.starts.get(line - 1).copied().unwrap_or(0);
        (line, self.before(text, at).saturating_sub(self.before(text, start)) + 1)
    }

    /// Characters before a byte.
    fn before(&self, text: &str, at: usize) -> usize {
        let block = at / BLOCK;
        let rest = text.as_bytes().get(block * BLOCK..at).unwrap_or_default();
        // behind the last byte of a text of whole blocks there is no block any more
        let counted = self.blocks.get(block).copied();
        counted.map_or_else(
            || characters(text.as_bytes().get(..at).unwrap_or_default()),
            |c| c + characters(rest),
        )
    }
}

/// Bytes that begin a character of UTF-8.
fn characters(bytes: &[u8]) -> usize {
    bytes.iter().filter(|byte| **byte & 0xc0 != 0x80).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_are_those_that_an_editor_counts() {
        let text = format!("é\n{}\nab", "ßx".repeat(2000));
        let lines = Lines::new(&text);
        for (at, _) in text.char_indices() {
            let before = &text[..at];
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
            assert_eq!(lines.line_column(&text, at), (line, column), "byte {at}");
        }
        assert_eq!(lines.line_column(&text, text.len()), (3, 3));
        let whole = "a".repeat(2 * BLOCK);
        assert_eq!(Lines::new(&whole).line_column(&whole, whole.len()), (1, 2 * BLOCK + 1));
    }
}
