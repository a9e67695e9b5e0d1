//! The files of an MJCF model: what is included stands in the place of its `include`.

use std::collections::{HashMap, HashSet};

use crate::robot::document::{Document, Element};
use crate::robot::place::Place;
use crate::robot::read::{Includes, RobotRejected, rejected};
use crate::robot::values::{Faults, Written, shown};

/// So many files are read for one model.
const MOST_FILES: usize = 1000;

/// The file that was named and those that it includes.
#[derive(Debug)]
pub(super) struct Files {
    /// The first is the one that was named.
    pub(super) documents: Vec<Document>,
    /// Which document stands in the place of which `include`.
    included: HashMap<Place, usize>,
}

/// An element, and which file it stands in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node<'a> {
    pub(super) element: Element<'a>,
    pub(super) document: usize,
}

/// An attribute's text, and which file it stands in.
#[derive(Clone, Debug)]
pub(super) struct Value<'a> {
    pub(super) written: Written<'a>,
    pub(super) document: usize,
}

impl<'a> Node<'a> {
    /// Where it stands.
    pub(super) fn place(self) -> Place {
        Place { document: self.document, element: self.element.id() }
    }

    /// Its element's name.
    pub(super) fn tag(self) -> &'a str {
        self.element.name()
    }

    /// The attribute of this name, as it is written here.
    pub(super) fn own(self, name: &str) -> Option<Value<'a>> {
        let written = Written::attribute(self.element, name)?;
        Some(Value { written, document: self.document })
    }

    /// Its name, where it has one.
    pub(super) fn name(self) -> Option<Value<'a>> {
        self.own("name").filter(|name| !name.written.text.is_empty())
    }

    /// The figures of the attribute of this name; one that holds none is not written, as the engine has it.
    pub(super) fn figures(self, name: &str) -> Option<Value<'a>> {
        self.own(name).filter(|value| !value.written.text.trim().is_empty())
    }

    /// The text of the attribute of this name; empty where it has none.
    pub(super) fn text(self, name: &str) -> String {
        self.element.value(name).unwrap_or_default().into_owned()
    }
}

impl Files {
    /// Reads all files that `document` includes, and those that they include.
    pub(super) fn load(
        document: Document,
        includes: &mut Includes<'_>,
    ) -> Result<Self, Box<RobotRejected>> {
        let main = document.path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned();
        let mut seen = HashSet::from([main]);
        let mut files = Self { documents: vec![document], included: HashMap::new() };
        let mut at = 0;
        while at < files.documents.len() {
            files.load_from(at, &mut seen, includes)?;
            at += 1;
        }
        Ok(files)
    }

    fn load_from(
        &mut self,
        at: usize,
        seen: &mut HashSet<String>,
        includes: &mut Includes<'_>,
    ) -> Result<(), Box<RobotRejected>> {
        let Some(document) = self.documents.get(at) else { return Ok(()) };
        let folder = folder_of(document).filter(|_| at > 0);
        let mut faults = Faults::default();
        let mut found = Vec::new();
        if !matches!(document.root().name(), "mujoco" | "mujocoinclude") {
            let message = format!("<{}> begins no MJCF file", shown(document.root().name()));
            let help = "an included file begins with <mujocoinclude> or <mujoco>";
            faults.add(document.root().tag_range(), message, help);
        }
        for element in document.root().descendants().filter(|one| one.name() == "include") {
            let Some((name, bytes)) = bytes_of(element, folder, seen, &mut faults, includes) else {
                continue;
            };
            let included = Document::read(&name, bytes).map_err(|bad| rejected(&name, *bad))?;
            found.push((Place { document: at, element: element.id() }, included));
        }
        if !faults.is_empty() {
            return Err(Box::new(RobotRejected::new(document, faults.into_list())));
        }
        for (place, included) in found {
            self.included.insert(place, self.documents.len());
            self.documents.push(included);
        }
        Ok(())
    }

    /// The outermost element of the file that was named.
    pub(super) fn root(&self) -> Option<Node<'_>> {
        self.documents.first().map(|first| Node { element: first.root(), document: 0 })
    }

    /// The elements inside, those of included files in the place of their `include`.
    pub(super) fn children<'a>(&'a self, node: Node<'a>) -> Vec<Node<'a>> {
        let mut found = Vec::new();
        // ends: a file is included once at most
        let mut waiting = vec![children_of(node)];
        while let Some(top) = waiting.last_mut() {
            let Some(child) = top.pop() else {
                waiting.pop();
                continue;
            };
            let inner = self.included.get(&child.place());
            match inner.and_then(|id| Some((*id, self.documents.get(*id)?))) {
                Some((document, file)) => {
                    waiting.push(children_of(Node { element: file.root(), document }));
                }
                None => found.push(child),
            }
        }
        found
    }
}

/// From the last to the first.
fn children_of(node: Node<'_>) -> Vec<Node<'_>> {
    let document = node.document;
    let mut found: Vec<Node<'_>> =
        node.element.children().map(|element| Node { element, document }).collect();
    found.reverse();
    found
}

/// The folder of an included file, from the folder of the first.
fn folder_of(document: &Document) -> Option<&str> {
    document.path.rsplit_once(['/', '\\']).map(|(folder, _)| folder)
}

fn bytes_of(
    element: Element<'_>,
    folder: Option<&str>,
    seen: &mut HashSet<String>,
    faults: &mut Faults,
    includes: &mut Includes<'_>,
) -> Option<(String, Vec<u8>)> {
    let Some(file) = Written::attribute(element, "file").filter(|file| !file.text.is_empty())
    else {
        let help = "write file=\"...\" into the tag";
        faults.add(element.tag_range(), "the <include> names no file".to_owned(), help);
        return None;
    };
    let name = file.text.trim_start_matches("./").to_owned();
    if !seen.insert(name.clone()) {
        let message = format!("\"{}\" is included a second time", shown(&name));
        faults.add(file.place, message, "a file is included once at most, and never by itself");
        return None;
    }
    if seen.len() > MOST_FILES {
        let message = format!("more than {MOST_FILES} files are included");
        faults.add(file.place, message, "put what they say into fewer files");
        return None;
    }
    match bytes_from(folder, &file.text, includes) {
        Ok(found) => Some(found),
        Err(why) => {
            let message = format!("\"{}\" cannot be included: {why}", shown(&name));
            let help = "names of included files are relative to the folder of the first file";
            faults.add(file.place, message, help);
            None
        }
    }
}

/// The file of this name as seen from the first file; if there is none, as seen from the including one.
fn bytes_from(
    folder: Option<&str>,
    file: &str,
    includes: &mut Includes<'_>,
) -> Result<(String, Vec<u8>), String> {
    let from_first = includes(file).map(|bytes| (file.to_owned(), bytes));
    let Some(folder) = folder else { return from_first };
    from_first.or_else(|why| {
        let beside = format!("{folder}/{file}");
        includes(&beside).map(|bytes| (beside, bytes)).map_err(|_| why)
    })
}
