//! Figures as the user typed them.

use std::ops::Range;

use crate::design::{Design, Parameter};

/// One quantity of the text.
#[derive(Clone, Debug)]
pub(super) struct Typed {
    /// Bytes between its quotation marks.
    pub(super) place: Range<usize>,
    /// The text there.
    pub(super) text: String,
    /// The figure at its head, as typed.
    pub(super) value: f64,
    /// Its unit.
    pub(super) unit: &'static str,
}

/// Units that are told apart here.
const UNITS: [&str; 7] = ["mm", "cm", "m", "in", "um", "deg", "rad"];

impl Typed {
    /// The quantity in another unit, with the same figures.
    pub(super) fn in_unit(&self, unit: &str) -> String {
        let mut out = String::new();
        let mut word = String::new();
        for c in self.text.chars().map(Some).chain([None]) {
            match c {
                Some(letter) if letter.is_alphabetic() => word.push(letter),
                other => {
                    out.push_str(if word == self.unit { unit } else { &word });
                    word.clear();
                    out.extend(other);
                }
            }
        }
        out
    }

    /// The change of the text that writes it in another unit.
    pub(super) fn edit(&self, unit: &str) -> super::Edit {
        (self.place.clone(), self.in_unit(unit))
    }
}

/// The quantities that stand at a parameter, in their order; those in other units than the few here are left out.
pub(super) fn at(design: &Design, parameter: Parameter) -> Vec<Typed> {
    let Some(place) = design.places.of(parameter) else { return Vec::new() };
    let Some(text) = design.source.text.get(place.clone()) else { return Vec::new() };
    quoted(text).into_iter().filter_map(|inner| typed(text, inner, place.start)).collect()
}

/// The insides of the quotation marks.
fn quoted(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut open: Option<(char, usize)> = None;
    for (at, c) in text.char_indices() {
        match open {
            Some((mark, from)) if mark == c => {
                found.push(from..at);
                open = None;
            }
            None if matches!(c, '"' | '\'') => open = Some((c, at + 1)),
            _ => {}
        }
    }
    found
}

fn typed(whole: &str, inner: Range<usize>, start: usize) -> Option<Typed> {
    let text = whole.get(inner.clone())?.to_owned();
    let mut words = text.split(|c: char| !c.is_alphabetic());
    let unit = words.find_map(|word| UNITS.into_iter().find(|unit| *unit == word))?;
    let figure = |c: &char| c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}' | '.');
    let head: String = text.trim().chars().take_while(figure).collect();
    let value = head.replace('\u{2212}', "-").parse().ok()?;
    Some(Typed { place: start + inner.start..start + inner.end, text, value, unit })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> Typed {
        typed(text, 0..text.len(), 0).unwrap()
    }

    #[test]
    fn a_quantity_is_written_in_another_unit_with_its_tolerance() {
        assert_eq!(one("-0.61 deg").in_unit("rad"), "-0.61 rad");
        assert_eq!(one("45 mm ±0.05 mm").in_unit("m"), "45 m ±0.05 m");
        assert_eq!(one("300 mm ISO 2768-m").in_unit("cm"), "300 cm ISO 2768-m");
        assert!((one("\u{2212}35 deg").value + 35.0).abs() < 1e-12);
    }

    #[test]
    fn every_text_between_quotation_marks_is_found() {
        let found = quoted("[\"-45 m\", '0 mm']");
        assert_eq!(found, [2..7, 11..15]);
    }
}
