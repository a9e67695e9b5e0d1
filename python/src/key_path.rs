//! The path of the key that a place of a TOML text belongs to, as `stroke.joint[1]`.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The key whose own bytes or value's bytes hold `place` most closely; `None` where the text has no such key.
pub(crate) fn key_path(text: &str, place: &Range<usize>) -> Option<String> {
    let (table, _) = DeTable::parse_recoverable(text);
    let mut nearest = Nearest { place, found: None };
    nearest.look_in(table.get_ref(), "");
    nearest.found.map(|(_, path)| path)
}

struct Nearest<'a> {
    place: &'a Range<usize>,
    /// Bytes of what was found, and its path.
    found: Option<(usize, String)>,
}

impl Nearest<'_> {
    fn look_in(&mut self, table: &DeTable<'_>, path: &str) {
        for (key, value) in table {
            let dot = if path.is_empty() { "" } else { "." };
            let path = format!("{path}{dot}{}", key.get_ref());
            self.keep(key.span(), &path);
            self.look_at(value, &path);
        }
    }

    fn look_at(&mut self, value: &Spanned<DeValue<'_>>, path: &str) {
        self.keep(value.span(), path);
        match value.get_ref() {
            DeValue::Table(table) => self.look_in(table, path),
            DeValue::Array(items) => {
                for (n, item) in items.iter().enumerate() {
                    self.look_at(item, &format!("{path}[{n}]"));
                }
            }
            _ => {}
        }
    }

    fn keep(&mut self, span: Range<usize>, path: &str) {
        let holds = span.start <= self.place.start && self.place.end <= span.end;
        let is_nearer = self.found.as_ref().is_none_or(|(bytes, _)| span.len() <= *bytes);
        if holds && is_nearer {
            self.found = Some((span.len(), path.to_owned()));
        }
    }
}
