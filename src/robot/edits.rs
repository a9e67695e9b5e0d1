//! Changes to a few places of a file, with every other byte kept.
//!
//! An edit replaces a range of bytes; edits inside a larger one that goes are dropped, since their place goes too.

use std::borrow::Cow;
use std::fmt;
use std::ops::Range;

use quick_xml::escape::escape;

use super::document::{Document, Element};

/// A list of changes to one document.
#[derive(Clone, Debug, Default)]
pub struct Edits {
    edits: Vec<(Range<usize>, String)>,
}

/// Two changes want the same bytes: the places of both.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overlap(pub Range<usize>, pub Range<usize>);

impl fmt::Display for Overlap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "two changes want the same bytes: {:?} and {:?}", self.0, self.1)
    }
}

impl std::error::Error for Overlap {}

impl Edits {
    /// The places that change.
    pub fn places(&self) -> impl Iterator<Item = &Range<usize>> {
        self.edits.iter().map(|(place, _)| place)
    }

    /// Puts other bytes in the place of some.
    pub fn replace(&mut self, place: Range<usize>, text: impl Into<String>) {
        self.edits.push((place, text.into()));
    }

    /// Puts bytes in before one.
    pub fn insert(&mut self, at: usize, text: impl Into<String>) {
        self.replace(at..at, text);
    }

    /// Takes an element out, with its whole lines where nothing else stands on them.
    pub fn remove(&mut self, element: Element<'_>) {
        self.replace(lines_of(element.document().text(), element.range()), "");
    }

    /// Gives an attribute another value, or adds it behind the last.
    pub fn set(&mut self, element: Element<'_>, name: &str, value: &str) {
        let value = escape(value);
        match element.attribute(name) {
            Some(attribute) => self.replace(attribute.value_range(), value),
            None => {
                let last = element.attributes().map(|attribute| attribute.range().end).max();
                let at = last.unwrap_or_else(|| element.name_end());
                self.insert(at, format!(" {name}=\"{value}\""));
            }
        }
    }

    /// Takes an attribute out, with the blanks before it.
    pub fn unset(&mut self, element: Element<'_>, name: &str) {
        let Some(attribute) = element.attribute(name) else { return };
        let place = attribute.range();
        let before = element.document().text().get(..place.start).unwrap_or_default();
        self.replace(before.trim_end().len()..place.end, "");
    }

    /// Gives an element another text.
    pub fn set_text(&mut self, element: Element<'_>, text: &str) {
        let text = escape(text);
        if element.is_self_closed() {
            self.open(element, &text);
        } else {
            self.replace(element.text_range(), text);
        }
    }

    /// Writes a self-closed element with two tags, and this between them.
    fn open(&mut self, element: Element<'_>, inside: &str) {
        let tag = element.document().text().get(element.tag_range()).unwrap_or_default();
        let open = tag.trim_end_matches('>').trim_end_matches('/').trim_end();
        self.replace(element.range(), format!("{open}>{inside}</{}>", element.name()));
    }

    /// Puts lines in before the end tag of an element, one level deeper than it stands; `lines` are indented against
    /// each other already.
    pub fn append(&mut self, element: Element<'_>, lines: &str) {
        let text = element.document().text();
        let newline = newline(text);
        let outer = indent(text, element.range().start);
        let inner = element.children().next().map_or_else(
            || format!("{outer}  "),
            |child| indent(text, child.range().start).to_owned(),
        );
        let mut block = String::new();
        for line in lines.lines() {
            block.push_str(&inner);
            block.push_str(line);
            block.push_str(newline);
        }
        if element.is_self_closed() {
            return self.open(element, &format!("{newline}{block}{outer}"));
        }
        self.append_block(element, &block);
    }

    /// Puts whole lines in before the end tag of an element.
    fn append_block(&mut self, element: Element<'_>, block: &str) {
        let text = element.document().text();
        let end = element.inner_range().end;
        let line = text.get(..end).unwrap_or_default();
        let start = line.rfind('\n').map_or(0, |at| at + 1);
        if line.get(start..).is_some_and(|blank| blank.trim().is_empty()) {
            self.insert(start, block);
        } else {
            let outer = indent(text, element.range().start);
            self.insert(end, format!("{}{block}{outer}", newline(text)));
        }
    }

    /// Takes an element from where it stands, with what has changed inside it, and puts it in before the end tag of
    /// another, which has two tags and is not inside it; what is changed inside it later is lost.
    ///
    /// # Errors
    /// Where two changes inside it want the same bytes.
    pub fn hang(&mut self, element: Element<'_>, onto: Element<'_>) -> Result<(), Overlap> {
        let (document, range) = (element.document(), element.range());
        let is_inside = |place: &Range<usize>| range.start < place.start && place.end < range.end;
        let (inside, others) =
            std::mem::take(&mut self.edits).into_iter().partition(|(place, _)| is_inside(place));
        self.edits = others;
        let text = Self { edits: inside }.within(document, range.clone())?;
        let newline = newline(document.text());
        let before = indent(document.text(), range.start);
        self.append_block(onto, &format!("{before}{text}{newline}"));
        self.remove(element);
        Ok(())
    }

    /// The changed text.
    ///
    /// # Errors
    /// Where two changes want the same bytes.
    pub fn apply(&self, document: &Document) -> Result<String, Overlap> {
        self.within(document, 0..document.text().len())
    }

    /// The changed text of a part of the document, which holds all changes.
    fn within(&self, document: &Document, part: Range<usize>) -> Result<String, Overlap> {
        let text = document.text();
        let sorted = self.outermost()?;
        let added: usize = sorted.iter().map(|(_, text)| text.len()).sum();
        let mut out = String::with_capacity(part.len() + added);
        let mut at = part.start;
        for (place, new) in sorted {
            out.push_str(text.get(at..place.start).unwrap_or_default());
            out.push_str(new);
            at = place.end;
        }
        out.push_str(text.get(at..part.end).unwrap_or_default());
        Ok(out)
    }

    /// The changes in the order of the file, without those whose place goes altogether.
    fn outermost(&self) -> Result<Vec<&(Range<usize>, String)>, Overlap> {
        let mut sorted: Vec<&(Range<usize>, String)> = self.edits.iter().collect();
        // Insertions at the same byte stay in the order in which they were made; a removal that begins where a smaller
        // change begins comes first.
        sorted.sort_by_key(|(place, _)| (place.start, std::cmp::Reverse(place.end)));
        let mut kept: Vec<&(Range<usize>, String)> = Vec::new();
        for edit in sorted {
            let Some((last, text)) = kept.last() else {
                kept.push(edit);
                continue;
            };
            let place = &edit.0;
            if place.start >= last.end {
                kept.push(edit);
            } else if place.end <= last.end && text.is_empty() {
                // Its place goes.
            } else if *edit == (last.clone(), text.clone()) {
                // The same change twice.
            } else {
                return Err(Overlap(last.clone(), place.clone()));
            }
        }
        Ok(kept)
    }
}

/// The range with the blanks before it and the line end behind it, where it has its lines to itself, and an empty line
/// that would follow another.
fn lines_of(text: &str, range: Range<usize>) -> Range<usize> {
    let before = text.get(..range.start).unwrap_or_default();
    let behind = text.get(range.end..).unwrap_or_default();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let begins = before.get(start..).is_some_and(|blank| blank.trim().is_empty());
    let rest = behind.find('\n').map_or(behind, |at| behind.get(..=at).unwrap_or_default());
    if !(begins && rest.trim().is_empty() && start > 0) {
        return range;
    }
    let end = range.end + rest.len();
    // Of two empty lines that would come together one goes too.
    let above = before.get(..start.saturating_sub(1)).unwrap_or_default();
    let is_blank_above = above.rsplit('\n').next().is_some_and(|line| line.trim().is_empty());
    let below = text.get(end..).unwrap_or_default();
    let next = below.find('\n').map_or("", |at| below.get(..=at).unwrap_or_default());
    let spare =
        if is_blank_above && !next.is_empty() && next.trim().is_empty() { next.len() } else { 0 };
    start..end + spare
}

/// The line end that the file uses.
#[must_use]
pub fn newline(text: &str) -> &'static str {
    match text.find('\n') {
        Some(at) if at > 0 && text.as_bytes().get(at - 1) == Some(&b'\r') => "\r\n",
        _ => "\n",
    }
}

/// The blanks before the place on its line; none where something else stands there.
fn indent(text: &str, at: usize) -> &str {
    let before = text.get(..at).unwrap_or_default();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let blank = before.get(start..).unwrap_or_default();
    if blank.trim().is_empty() { blank } else { "" }
}

/// The text with what XML reserves written as references.
#[must_use]
pub fn escaped(text: &str) -> Cow<'_, str> {
    escape(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Document {
        Document::read("x.urdf", text.as_bytes().to_vec()).unwrap()
    }

    fn changed(text: &str, change: impl Fn(&mut Edits, &Document)) -> String {
        let document = read(text);
        let mut edits = Edits::default();
        change(&mut edits, &document);
        edits.apply(&document).unwrap()
    }

    #[test]
    fn no_change_gives_the_same_bytes() {
        let text = "\u{feff}<r>\r\n\t<a  x = '1'/>\r\n</r>\r\n";
        assert_eq!(changed(text, |_, _| {}), text);
    }

    #[test]
    fn an_element_goes_with_its_lines_and_leaves_its_neighbours() {
        let text = "<r>\n  <a/> <!-- a -->\n  <b>\n  </b>\n  <c/><d/>\n</r>";
        let without = |name: &'static str| {
            changed(text, |edits, document| edits.remove(document.root().child(name).unwrap()))
        };
        assert_eq!(without("a"), "<r>\n   <!-- a -->\n  <b>\n  </b>\n  <c/><d/>\n</r>");
        assert_eq!(without("b"), "<r>\n  <a/> <!-- a -->\n  <c/><d/>\n</r>");
        assert_eq!(without("c"), "<r>\n  <a/> <!-- a -->\n  <b>\n  </b>\n  <d/>\n</r>");
        let spaced = changed("<r>\n  <a/>\n\n  <b/>\n\n  <c/>\n</r>", |edits, document| {
            edits.remove(document.root().child("b").unwrap());
        });
        assert_eq!(spaced, "<r>\n  <a/>\n\n  <c/>\n</r>");
    }

    #[test]
    fn an_attribute_is_set_added_and_taken_out_in_its_own_quotes() {
        let text = "<r  x = '1'\n y=\"2\"/>";
        assert_eq!(
            changed(text, |e, d| e.set(d.root(), "x", "a'<\"")),
            "<r  x = 'a&apos;&lt;&quot;'\n y=\"2\"/>"
        );
        assert_eq!(
            changed(text, |e, d| e.set(d.root(), "z", "3")),
            "<r  x = '1'\n y=\"2\" z=\"3\"/>"
        );
        assert_eq!(changed(text, |e, d| e.unset(d.root(), "y")), "<r  x = '1'/>");
    }

    #[test]
    fn lines_are_appended_with_the_indent_and_line_end_of_the_file() {
        let new = |text: &str| changed(text, |e, d| e.append(d.root(), "<n>\n  <m/>\n</n>"));
        assert_eq!(
            new("<r>\r\n\t<a/>\r\n</r>"),
            "<r>\r\n\t<a/>\r\n\t<n>\r\n\t  <m/>\r\n\t</n>\r\n</r>"
        );
        assert_eq!(new("<r/>"), "<r>\n  <n>\n    <m/>\n  </n>\n</r>");
        assert_eq!(new("<r></r>"), "<r>\n  <n>\n    <m/>\n  </n>\n</r>");
    }

    #[test]
    fn an_element_hangs_on_another_with_its_bytes_and_changes_though_what_held_it_goes() {
        let text = "<r>\n  <a>\n    <x/>\n  </a>\n  <b>\n    <c y='1'>\n     <!-- c -->\n    </c>\n  </b>\n</r>";
        let hung = changed(text, |e, d| {
            let named = |name| d.root().descendants().find(|e| e.name() == name).unwrap();
            e.set(named("c"), "y", "2");
            e.remove(named("b"));
            e.hang(named("c"), named("a")).unwrap();
        });
        let wanted = "<r>\n  <a>\n    <x/>\n    <c y='2'>\n     <!-- c -->\n    </c>\n  </a>\n</r>";
        assert_eq!(hung, wanted);
        let flat = changed("<r><a><x/></a><b><c/></b></r>", |e, d| {
            let named = |name| d.root().descendants().find(|e| e.name() == name).unwrap();
            e.hang(named("c"), named("a")).unwrap();
        });
        assert_eq!(flat, "<r><a><x/>\n<c/>\n</a><b></b></r>");
    }

    #[test]
    fn a_change_inside_what_goes_is_dropped_and_two_wishes_for_one_place_are_refused() {
        let text = "<r>\n  <a x='1'/>\n</r>";
        let gone = changed(text, |e, d| {
            let a = d.root().child("a").unwrap();
            e.set(a, "x", "2");
            e.remove(a);
        });
        assert_eq!(gone, "<r>\n</r>");
        let document = read(text);
        let mut edits = Edits::default();
        let a = document.root().child("a").unwrap();
        edits.set(a, "x", "2");
        edits.set(a, "x", "3");
        assert!(edits.apply(&document).is_err());
    }

    #[test]
    fn a_text_is_set_in_an_open_and_in_a_self_closed_element() {
        assert_eq!(changed("<r> 1 </r>", |e, d| e.set_text(d.root(), "2")), "<r> 2 </r>");
        assert_eq!(changed("<r k='v' />", |e, d| e.set_text(d.root(), "2")), "<r k='v'>2</r>");
    }
}
