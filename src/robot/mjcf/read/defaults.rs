//! Classes of defaults: what an element means that it does not write itself.
//!
//! A class begins as a copy of the class around it, as that is when its own elements have been read; what a later
//! `default` section adds to the outer class does not reach it.

use std::collections::HashMap;

use super::Reading;
use super::include::{Node, Value};
use crate::robot::values::shown;

/// The outermost class; its name may be another.
pub(super) const MAIN: usize = 0;

/// Which class.
pub(super) type ClassId = usize;

/// All kinds of actuators share one set of defaults.
pub(super) const ACTUATORS: [&str; 11] = [
    "general",
    "motor",
    "position",
    "velocity",
    "intvelocity",
    "damper",
    "cylinder",
    "muscle",
    "adhesion",
    "dcmotor",
    "plugin",
];

/// The classes of a model.
#[derive(Debug, Default)]
pub(super) struct Defaults<'a> {
    names: HashMap<String, ClassId>,
    classes: Vec<Class<'a>>,
    /// Elements read so far.
    clock: usize,
}

#[derive(Debug, Default)]
struct Class<'a> {
    name: String,
    outer: Option<ClassId>,
    born: usize,
    /// Its elements, and when they were read.
    own: Vec<(usize, Node<'a>)>,
}

/// An element with the defaults that it inherits, the outermost first and itself last.
#[derive(Debug)]
pub(super) struct Layers<'a>(pub(super) Vec<Node<'a>>);

impl<'a> Layers<'a> {
    /// The attribute of this name, the innermost that is written.
    pub(super) fn value(&self, name: &str) -> Option<Value<'a>> {
        self.0.iter().rev().find_map(|node| node.own(name))
    }

    /// The figures of this name, the innermost that are written.
    pub(super) fn figures(&self, name: &str) -> Option<Value<'a>> {
        self.0.iter().rev().find_map(|node| node.figures(name))
    }

    /// Its text.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        self.value(name).map(|value| value.written.text.into_owned())
    }

    /// The first of these attributes in the innermost element that writes any.
    pub(super) fn any(&self, names: &[&'static str]) -> Option<(&'static str, Value<'a>)> {
        let written =
            |node: &Node<'a>| names.iter().find_map(|name| Some((*name, node.figures(name)?)));
        self.0.iter().rev().find_map(written)
    }
}

impl<'a> Reading<'a> {
    /// One outermost `default` section.
    pub(super) fn default_section(&mut self, node: Node<'a>) {
        if self.defaults.classes.is_empty() {
            self.defaults.classes.push(Class { name: "main".to_owned(), ..Class::default() });
            self.defaults.names.insert("main".to_owned(), MAIN);
        }
        let name = node.text("class");
        if !name.is_empty() {
            self.defaults.names.insert(name, MAIN);
        }
        let mut waiting = vec![(node, MAIN)];
        while let Some((section, class)) = waiting.pop() {
            let mut inner = self.fill(section, class);
            inner.reverse();
            for nested in inner {
                if let Some(id) = self.new_class(nested, class) {
                    waiting.push((nested, id));
                }
            }
        }
    }

    /// The class's own elements; gives the classes inside.
    fn fill(&mut self, section: Node<'a>, class: ClassId) -> Vec<Node<'a>> {
        let children = self.files.children(section);
        let (nested, own): (Vec<_>, Vec<_>) =
            children.into_iter().partition(|child| child.tag() == "default");
        for node in own {
            self.defaults.clock += 1;
            let clock = self.defaults.clock;
            let class = self.defaults.classes.get_mut(class);
            class.into_iter().for_each(|class| class.own.push((clock, node)));
        }
        nested
    }

    fn new_class(&mut self, node: Node<'a>, outer: ClassId) -> Option<ClassId> {
        let name = node.text("class");
        if name.is_empty() {
            let message = "a <default> inside another has no class".to_owned();
            self.fault_at(node, message, "write class=\"...\" into the tag");
            return None;
        }
        let id = self.defaults.classes.len();
        if self.defaults.names.contains_key(&name) {
            let message = format!("two classes are named \"{}\"", shown(&name));
            self.fault_at(node, message, "give each class a name of its own");
            return None;
        }
        self.defaults.names.insert(name.clone(), id);
        let born = self.defaults.clock;
        self.defaults.classes.push(Class { name, outer: Some(outer), born, own: Vec::new() });
        Some(id)
    }

    /// The class that an attribute of the element names; `outer` where it has none.
    pub(super) fn class(&mut self, node: Node<'a>, attribute: &str, outer: ClassId) -> ClassId {
        let Some(value) = node.own(attribute) else { return outer };
        if let Some(id) = self.defaults.names.get(&*value.written.text) {
            return *id;
        }
        if value.written.text == "main" {
            return MAIN;
        }
        let names = self.defaults.classes.iter().map(|class| class.name.as_str());
        let faults = self.faults.entry(value.document).or_default();
        faults.unknown("class", &value.written, names);
        outer
    }

    /// The element with its class's elements of these names.
    pub(super) fn layers(&mut self, node: Node<'a>, outer: ClassId, tags: &[&str]) -> Layers<'a> {
        let mut found = vec![node];
        let mut at = Some(self.class(node, "class", outer));
        let mut until = usize::MAX;
        while let Some(class) = at.and_then(|id| self.defaults.classes.get(id)) {
            let own = class.own.iter().rev();
            let known = own.filter(|(clock, one)| *clock <= until && tags.contains(&one.tag()));
            found.extend(known.map(|(_, one)| *one));
            until = class.born;
            at = class.outer;
        }
        found.reverse();
        Layers(found)
    }
}
