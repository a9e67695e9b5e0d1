//! The XML text of a robot file as a tree in which every element and attribute keeps its bytes.
//!
//! ```text
//! <joint name="knee" type="revolute"> ... </joint>
//! |      |     |    |               |     |      |
//! start  attribute  value           open_end     end      (close: where "</joint>" begins)
//! ```
//!
//! The tree borrows nothing and copies nothing: an element is 32 bytes and an attribute 16 beside the text, so
//! that large files stay small in memory. What is not well-formed is a [`Diagnostic`] at its place. Left out on
//! purpose: a document type with a subset (entities of its own), namespaces (a prefix is part of the name).

use std::borrow::Cow;
use std::ops::Range;
use std::sync::OnceLock;

use quick_xml::Reader;
use quick_xml::events::Event;

use super::lines::Lines;
pub use super::malformed::Malformed;
use super::tag::{self, AttributeRecord, offset};
use crate::diagnostic::Diagnostic;

/// The deepest nesting that is read.
pub const DEEPEST: usize = 400;

/// A robot file's text and its elements.
#[derive(Clone, Debug)]
pub struct Document {
    /// The file's name as it is shown.
    pub path: String,
    text: String,
    records: Vec<Record>,
    attributes: Vec<AttributeRecord>,
    /// Once somebody has asked for one.
    lines: OnceLock<Lines>,
}

/// Which element of a [`Document`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ElementId(u32);

/// Offsets of one element; in document order, so that the first child, if any, is the next record.
#[derive(Clone, Copy, Debug, Default)]
struct Record {
    start: u32,
    name_end: u32,
    open_end: u32,
    close: u32,
    end: u32,
    parent: u32,
    /// The first record that is not inside this element.
    next: u32,
    first_attribute: u32,
}

impl Document {
    /// Reads the bytes of a file; `path` is the name to show.
    ///
    /// # Errors
    /// A file over [`LARGEST_FILE`](super::LARGEST_FILE) or nested deeper than [`DEEPEST`], bytes that are no UTF-8, what is not
    /// well-formed, a document type with entities.
    pub fn read(path: &str, bytes: Vec<u8>) -> Result<Self, Box<Malformed>> {
        let text = super::encoding::text(bytes)?;
        match Build::new(&text).run() {
            Ok((records, attributes)) => {
                let lines = OnceLock::new();
                Ok(Self { path: path.to_owned(), text, records, attributes, lines })
            }
            Err(fault) => Err(Box::new(Malformed { text, fault })),
        }
    }

    /// The whole text, byte-order mark included.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The outermost element.
    #[must_use]
    pub fn root(&self) -> Element<'_> {
        Element { document: self, id: ElementId(0) }
    }

    /// The element with this number, which must come from the same document; else the outermost one.
    #[must_use]
    pub fn element(&self, id: ElementId) -> Element<'_> {
        let is_known = (id.0 as usize) < self.records.len();
        Element { document: self, id: if is_known { id } else { ElementId(0) } }
    }

    /// Line and column of a byte, both from 1, columns in characters.
    #[must_use]
    pub fn line_column(&self, at: usize) -> (usize, usize) {
        self.lines.get_or_init(|| Lines::new(&self.text)).line_column(&self.text, at)
    }

    fn record(&self, id: u32) -> Record {
        self.records.get(id as usize).copied().unwrap_or_default()
    }

    fn slice(&self, start: u32, end: u32) -> &str {
        self.text.get(start as usize..end as usize).unwrap_or_default()
    }
}

/// An element of a document.
#[derive(Clone, Copy, Debug)]
pub struct Element<'a> {
    document: &'a Document,
    id: ElementId,
}

impl<'a> Element<'a> {
    /// Its number.
    #[must_use]
    pub fn id(self) -> ElementId {
        self.id
    }

    /// The document that it stands in.
    #[must_use]
    pub fn document(self) -> &'a Document {
        self.document
    }

    fn record(self) -> Record {
        self.document.record(self.id.0)
    }

    /// The name, prefix included.
    #[must_use]
    pub fn name(self) -> &'a str {
        let record = self.record();
        self.document.slice(record.start + 1, record.name_end)
    }

    /// The bytes of the whole element, end tag included.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        let record = self.record();
        record.start as usize..record.end as usize
    }

    /// The bytes of its first tag.
    #[must_use]
    pub fn tag_range(self) -> Range<usize> {
        let record = self.record();
        record.start as usize..record.open_end as usize
    }

    /// The bytes between its tags; empty after the tag where the element is written `<x/>`.
    #[must_use]
    pub fn inner_range(self) -> Range<usize> {
        let record = self.record();
        record.open_end as usize..record.close as usize
    }

    /// Whether it is written `<x/>`.
    #[must_use]
    pub fn is_self_closed(self) -> bool {
        let record = self.record();
        record.open_end == record.end
    }

    /// The byte behind its name, where a first attribute may be put in.
    #[must_use]
    pub fn name_end(self) -> usize {
        self.record().name_end as usize
    }

    /// The element around it.
    #[must_use]
    pub fn parent(self) -> Option<Self> {
        let parent = self.record().parent;
        (self.id.0 != 0).then_some(Self { document: self.document, id: ElementId(parent) })
    }

    /// The elements right inside, in order.
    pub fn children(self) -> impl Iterator<Item = Self> + 'a {
        let document = self.document;
        let end = self.record().next;
        let mut at = self.id.0 + 1;
        std::iter::from_fn(move || {
            let id = (at < end).then_some(at)?;
            at = document.record(id).next.max(at + 1);
            Some(Self { document, id: ElementId(id) })
        })
    }

    /// The elements right inside that have this name.
    pub fn children_named(self, name: &'a str) -> impl Iterator<Item = Self> + 'a {
        self.children().filter(move |child| child.name() == name)
    }

    /// The first element right inside that has this name.
    #[must_use]
    pub fn child(self, name: &str) -> Option<Self> {
        self.children().find(|child| child.name() == name)
    }

    /// All elements inside, at any depth, in document order, itself first.
    pub fn descendants(self) -> impl Iterator<Item = Self> + 'a {
        let document = self.document;
        (self.id.0..self.record().next.max(self.id.0 + 1))
            .map(move |id| Self { document, id: ElementId(id) })
    }

    /// Whether `other` is this element or inside it.
    #[must_use]
    pub fn contains(self, other: ElementId) -> bool {
        (self.id.0..self.record().next).contains(&other.0)
    }

    /// Its attributes, in order.
    pub fn attributes(self) -> impl Iterator<Item = Attribute<'a>> + 'a {
        let document = self.document;
        let first = self.record().first_attribute;
        let last = document.records.get(self.id.0 as usize + 1);
        let last = last.map_or(document.attributes.len(), |next| next.first_attribute as usize);
        let found = document.attributes.get(first as usize..last).unwrap_or_default();
        found.iter().map(move |record| Attribute { document, record: *record })
    }

    /// The attribute of this name.
    #[must_use]
    pub fn attribute(self, name: &str) -> Option<Attribute<'a>> {
        self.attributes().find(|attribute| attribute.name() == name)
    }

    /// The value of the attribute of this name, entities resolved.
    #[must_use]
    pub fn value(self, name: &str) -> Option<Cow<'a, str>> {
        self.attribute(name).map(Attribute::value)
    }

    /// The text right inside, comments left out and entities resolved, without blanks around it.
    #[must_use]
    pub fn text(self) -> Cow<'a, str> {
        tag::text_of(self.document.text.get(self.inner_range()).unwrap_or_default())
    }

    /// The bytes of [`Element::text`] where it is one plain piece; else all that is between the tags.
    #[must_use]
    pub fn text_range(self) -> Range<usize> {
        let inner = self.inner_range();
        let raw = self.document.text.get(inner.clone()).unwrap_or_default();
        let start = inner.start + (raw.len() - raw.trim_start().len());
        start..(start + raw.trim().len()).max(start)
    }
}

/// An attribute of an element.
#[derive(Clone, Copy, Debug)]
pub struct Attribute<'a> {
    document: &'a Document,
    record: AttributeRecord,
}

impl<'a> Attribute<'a> {
    /// The name, prefix included.
    #[must_use]
    pub fn name(self) -> &'a str {
        self.document.slice(self.record.name, self.record.name_end)
    }

    /// The value with entities resolved.
    #[must_use]
    pub fn value(self) -> Cow<'a, str> {
        tag::resolved(self.document.slice(self.record.value, self.record.value_end))
    }

    /// The bytes of the value, between its quotes.
    #[must_use]
    pub fn value_range(self) -> Range<usize> {
        self.record.value as usize..self.record.value_end as usize
    }

    /// The bytes from the name to the closing quote.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.record.name as usize..self.record.value_end as usize + 1
    }
}

/// The reading of one text.
struct Build<'a> {
    text: &'a str,
    /// Bytes of the byte-order mark, which the parser skips and does not count.
    base: usize,
    records: Vec<Record>,
    attributes: Vec<AttributeRecord>,
    /// Elements that are open.
    open: Vec<u32>,
}

impl<'a> Build<'a> {
    fn new(text: &'a str) -> Self {
        let base = if text.starts_with('\u{feff}') { 3 } else { 0 };
        Self {
            text,
            base,
            // More than a robot file's lines need: room that is not used is never touched, and none is copied.
            records: Vec::with_capacity(text.len() / 24),
            attributes: Vec::with_capacity(text.len() / 16),
            open: Vec::new(),
        }
    }

    fn run(mut self) -> Result<(Vec<Record>, Vec<AttributeRecord>), Diagnostic> {
        let mut reader = Reader::from_str(self.text.get(self.base..).unwrap_or_default());
        reader.config_mut().check_end_names = true;
        loop {
            let start = self.base + position(reader.buffer_position());
            let event = reader.read_event();
            let end = self.base + position(reader.buffer_position());
            match event {
                Err(error) => {
                    let at = self.base + position(reader.error_position());
                    return Err(super::malformed::fault(self.text, &self.open_names(), at, &error));
                }
                Ok(Event::Eof) => return self.finish(),
                Ok(Event::Start(_)) => self.start(start, end, false)?,
                Ok(Event::Empty(_)) => self.start(start, end, true)?,
                Ok(Event::End(_)) => self.end(start, end),
                Ok(Event::DocType(_)) => self.document_type(start..end)?,
                Ok(Event::GeneralRef(_)) => tag::must_be_known(self.text, start..end)?,
                Ok(Event::Text(_) | Event::CData(_)) => self.text_outside(start..end)?,
                Ok(Event::Comment(_) | Event::Decl(_) | Event::PI(_)) => {}
            }
        }
    }

    fn start(&mut self, start: usize, end: usize, is_empty: bool) -> Result<(), Diagnostic> {
        if self.open.is_empty() && !self.records.is_empty() {
            return Err(Diagnostic::error("a second outermost element")
                .at(start..end)
                .label("begins here")
                .help("a robot file has one outermost element; is this two files in one?"));
        }
        if self.open.len() >= DEEPEST {
            return Err(Diagnostic::error(format!("elements are nested more than {DEEPEST} deep"))
                .at(start..end)
                .help("no robot file needs that; is an end tag missing?"));
        }
        let id = self.records.len();
        let first_attribute = self.attributes.len();
        let name_end = tag::scan(self.text, start..end, &mut self.attributes)?;
        self.records.push(Record {
            start: offset(start),
            name_end: offset(name_end),
            open_end: offset(end),
            close: offset(end),
            end: offset(end),
            parent: self.open.last().copied().unwrap_or(0),
            next: offset(id + 1),
            first_attribute: offset(first_attribute),
        });
        if !is_empty {
            self.open.push(offset(id));
        }
        Ok(())
    }

    fn end(&mut self, start: usize, end: usize) {
        let next = offset(self.records.len());
        let Some(id) = self.open.pop() else { return };
        if let Some(record) = self.records.get_mut(id as usize) {
            record.close = offset(start);
            record.end = offset(end);
            record.next = next;
        }
    }

    fn document_type(&self, place: Range<usize>) -> Result<(), Diagnostic> {
        let has_subset = self.text.get(place.clone()).is_some_and(|text| text.contains('['));
        if !has_subset {
            return Ok(());
        }
        Err(Diagnostic::error("the file declares entities of its own, which are not read")
            .at(place)
            .label("here")
            .help("robot formats need none: write out what the entities stand for and take the declaration out"))
    }

    fn text_outside(&self, place: Range<usize>) -> Result<(), Diagnostic> {
        let text = self.text.get(place.clone()).unwrap_or_default();
        if !self.open.is_empty() || text.trim().is_empty() {
            return Ok(());
        }
        let start = place.start + (text.len() - text.trim_start().len());
        Err(Diagnostic::error("text outside the outermost element")
            .at(start..place.end)
            .help("a robot file is one XML element with comments around it; is this a robot file?"))
    }

    fn open_names(&self) -> Vec<(String, usize)> {
        let named = |id: &u32| {
            let record = self.records.get(*id as usize)?;
            let name = self.text.get(record.start as usize + 1..record.name_end as usize)?;
            Some((name.to_owned(), record.start as usize))
        };
        self.open.iter().filter_map(named).collect()
    }

    fn finish(self) -> Result<(Vec<Record>, Vec<AttributeRecord>), Diagnostic> {
        if let Some((name, at)) = self.open_names().pop() {
            return Err(Diagnostic::error(format!("the file ends inside <{name}>"))
                .at(at..at + 1 + name.len())
                .label("opened here, never closed")
                .help(format!("the file is cut short, or </{name}> is missing")));
        }
        if self.records.is_empty() {
            return Err(Diagnostic::error("the file holds no element")
                .help("a robot file begins with <robot>, <sdf> or <mujoco>"));
        }
        Ok((self.records, self.attributes))
    }
}

fn position(position: u64) -> usize {
    usize::try_from(position).unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Document {
        Document::read("x.urdf", text.as_bytes().to_vec()).unwrap()
    }

    fn fault(text: &str) -> (String, usize) {
        let malformed = Document::read("x.urdf", text.as_bytes().to_vec()).unwrap_err();
        assert!(malformed.fault.help.is_some(), "{text}");
        (malformed.fault.message.clone(), malformed.fault.place.unwrap_or(0..0).start)
    }

    #[test]
    fn every_element_and_value_keeps_its_bytes_behind_a_byte_order_mark_too() {
        for mark in ["", "\u{feff}"] {
            let text = format!(
                "{mark}<?xml version='1.0'?>\r\n<!-- é --><r a = 'x>y'><b/><c k=\"1 &amp; 2\"> t </c>\n</r>"
            );
            let document = read(&text);
            let root = document.root();
            assert_eq!(root.name(), "r");
            assert!(text[root.range()].starts_with("<r a") && text[root.range()].ends_with("</r>"));
            assert_eq!(&text[root.attribute("a").unwrap().range()], "a = 'x>y'");
            let children: Vec<_> = root.children().collect();
            assert_eq!(&text[children[0].range()], "<b/>");
            assert!(children[0].is_self_closed() && !children[1].is_self_closed());
            assert_eq!(children[1].value("k").unwrap(), "1 & 2");
            assert_eq!(children[1].text(), "t");
            assert_eq!(&text[children[1].text_range()], "t");
            assert_eq!(&text[children[1].inner_range()], " t ");
            assert_eq!(children[1].parent().unwrap().id(), root.id());
            assert_eq!(root.descendants().count(), 3);
        }
    }

    #[test]
    fn siblings_follow_one_another_across_what_is_nested() {
        let document = read("<r><a><b><c/></b><d/></a><e/><f>x</f></r>");
        let names: Vec<_> = document.root().children().map(Element::name).collect();
        assert_eq!(names, ["a", "e", "f"]);
        let inner: Vec<_> =
            document.root().child("a").unwrap().children().map(Element::name).collect();
        assert_eq!(inner, ["b", "d"]);
        let a = document.root().child("a").unwrap();
        assert!(a.contains(a.child("d").unwrap().id()));
        assert!(!a.contains(document.root().child("e").unwrap().id()));
    }

    #[test]
    fn what_is_not_well_formed_is_said_at_its_place() {
        for (text, message, at) in [
            ("", "the file holds no element", 0),
            ("<r", "a tag begins here and does not end", 0),
            ("<r><a></r>", "</r> closes <a>", 6),
            ("<r></r></a>", "</a> closes nothing", 7),
            ("<r>\n<a>", "the file ends inside <a>", 4),
            ("<r/><q/>", "a second outermost element", 4),
            ("<r a='\u{fffe}'/>", "U+FFFE is no character of XML", 6),
            ("<r>\u{1}</r>", "U+0001 is no character of XML", 3),
            ("hello", "text outside the outermost element", 0),
            ("<r a='1' a='2'/>", "attribute a stands twice in one tag", 9),
            ("<r a/>", "attribute a has no value", 3),
            ("<r a=1/>", "the value of a has no quotes", 3),
            ("<r a='&x;'/>", "an entity that XML does not know", 6),
            ("<r>&x;</r>", "an entity that XML does not know", 3),
            ("<r><!-- </r>", "a comment begins here and does not end", 3),
            (
                "<!DOCTYPE r [<!ENTITY a 'aaaa'>]><r>&a;</r>",
                "the file declares entities of its own, which are not read",
                0,
            ),
        ] {
            assert_eq!(fault(text), (message.to_owned(), at), "{text}");
        }
    }

    #[test]
    fn nesting_has_an_end() {
        let text = "<a>".repeat(DEEPEST + 1);
        assert!(fault(&text).0.contains("nested more than"));
    }
}
