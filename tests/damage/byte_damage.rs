//! Damage to the bytes of any text: pieces cut, words and bytes put in, pieces of another file.

use crate::damage::Damage;

/// What a text is damaged with.
pub(crate) struct Tools<'a> {
    pub(crate) words: &'a [&'a str],
    /// Other files, of which pieces shorter than `most` bytes are taken.
    pub(crate) seeds: &'a [Vec<u8>],
    pub(crate) most: usize,
}

impl Damage {
    /// One of `kinds` changes at a random place: four of bytes, then those of `own`, the last a piece of another file.
    pub(crate) fn apply(
        &mut self,
        bytes: &mut Vec<u8>,
        tools: &Tools<'_>,
        own: &[fn(&mut Self, &mut Vec<u8>)],
    ) {
        let at = self.below(bytes.len() + 1);
        let end = (at + self.below(24)).min(bytes.len());
        let word = |damage: &mut Self| tools.words[damage.below(tools.words.len())].bytes();
        match self.below(5 + own.len()) {
            0 => drop(bytes.drain(at..end)),
            1 => drop(bytes.splice(at..at, word(self))),
            2 => drop(bytes.splice(at..end, word(self))),
            3 => bytes.insert(at, self.below(256) as u8),
            kind => match own.get(kind - 4) {
                Some(change) => change(self, bytes),
                None => self.graft(bytes, at, tools),
            },
        }
    }

    fn graft(&mut self, bytes: &mut Vec<u8>, at: usize, tools: &Tools<'_>) {
        let other = &tools.seeds[self.below(tools.seeds.len())];
        let from = self.below(other.len());
        let to = (from + self.below(tools.most)).min(other.len());
        bytes.splice(at..at, other[from..to].iter().copied());
    }
}
