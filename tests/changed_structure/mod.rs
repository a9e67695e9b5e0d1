//! Changes of a robot file's structure, seeded: elements dropped, doubled, swapped, moved; names and figures of one element
//! given to another. What comes out is still XML, so that most of it reaches the fold.

use unloop::robot::{Document, Edits, Element};

/// A small generator of its own, so that damage is the same on every machine (xorshift64, G. Marsaglia, 2003).
pub(crate) struct Attack(u64);

impl Attack {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub(crate) fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 >> 33).unwrap_or(0) % limit.max(1)
    }

    /// One changed text; `None` where two changes wanted the same bytes.
    pub(crate) fn changed(&mut self, text: &str) -> Option<String> {
        let document = Document::read("attack", text.as_bytes().to_vec()).ok()?;
        let elements: Vec<Element<'_>> = document.root().descendants().skip(1).collect();
        let mut edits = Edits::default();
        for _ in 0..=self.below(3) {
            let [a, b] = [0, 1].map(|_| elements.get(self.below(elements.len())).copied());
            self.change(text, a?, b?, &mut edits);
        }
        edits.apply(&document).ok()
    }

    fn change(&mut self, text: &str, a: Element<'_>, b: Element<'_>, edits: &mut Edits) {
        let of = |element: Element<'_>| text.get(element.range()).unwrap_or_default().to_owned();
        match self.below(8) {
            0 => edits.remove(a),
            1 => edits.insert(a.range().end, of(a)),
            2 => {
                edits.replace(a.range(), of(b));
                edits.replace(b.range(), of(a));
            }
            3 => {
                edits.remove(a);
                edits.insert(b.range().end, of(a));
            }
            4 => {
                edits.remove(a);
                edits.append(b, &of(a));
            }
            _ => self.rewrite(a, b, edits),
        }
    }

    /// An attribute goes, gets a figure of its own turned, or that of another element's.
    fn rewrite(&mut self, a: Element<'_>, b: Element<'_>, edits: &mut Edits) {
        let attributes: Vec<_> = a.attributes().collect();
        let Some(attribute) = attributes.get(self.below(attributes.len())) else { return };
        let other = b.value(attribute.name()).or_else(|| b.value("name"));
        match (self.below(4), other) {
            (0, _) => edits.unset(a, attribute.name()),
            (1, _) => {
                let value = attribute.value();
                let turned: Vec<String> = value
                    .split_whitespace()
                    .map(|word| word.parse::<f64>().map_or(word.to_owned(), |x| format!("{}", -x)))
                    .collect();
                edits.set(a, attribute.name(), &turned.join(" "));
            }
            (_, Some(other)) => edits.set(a, attribute.name(), &other),
            (_, None) => edits.unset(a, "name"),
        }
    }
}
