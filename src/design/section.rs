//! One table of the file, with its place and its known keys.

use super::entry::Entry;
use super::faults::Faults;
use super::schema;
use crate::diagnostic::{Code, Diagnostic};
use crate::drive::Kind;
use crate::units::{UnitKind, clipped, quantity};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// One table of the file.
#[derive(Clone, Debug)]
pub(super) struct Section<'a> {
    /// As shown: `[linkage]`, `[[robot]]`; empty for what stands outside every table.
    pub(super) title: String,
    /// Its header; none outside every table.
    pub(super) header: Option<Range<usize>>,
    table: &'a DeTable<'a>,
    pub(super) faults: &'a Faults,
}

impl<'a> Entry<'a> {
    /// A table, with what it is called in messages.
    pub(super) fn section(&self, title: String) -> Option<Section<'a>> {
        if let DeValue::Table(table) = self.value {
            return Some(Section::new(title, Some(self.place.clone()), table, self.faults));
        }
        self.mistyped(
            "a table",
            format!("write {title} on a line of its own and the entries below it"),
        );
        None
    }
}

/// What a `[finger]` in another drive's design comes to.
const NO_FINGER: &str = "the motor of a finger is its crank's, or geared to it";

/// What to do instead where a nut, a rod or a belt turns the fingers' cranks.
const SERIES: &str = "write the finger into a file of its own, without [drive], and a third file that names both: [drive] kind = \"series\", stages = [this file, the finger's]; stroke, limits, motor and robots go into that one";

/// The same in the file of a series.
const LAST_STAGE: &str = "write the finger into a file of its own, without [drive], and name that as the last of the stages";

/// What to do where the pad of a finger rides on the rocker.
pub(super) const TWO_DESIGNS: &str = "write two designs: the drive alone, with the crank for its joint; and the finger without [drive], with the torque and speed of that drive at the crank as its [actuator]";

/// The table whose bare numbers may have a unit of their own.
const PIVOTS: &str = "[pivots]";

fn is_length(unit: &str) -> bool {
    quantity(&format!("1 {unit}"), UnitKind::Length).is_ok()
}

impl<'a> Section<'a> {
    /// What stands outside every table, with the tables in it.
    pub(super) fn root(table: &'a DeTable<'a>, faults: &'a Faults) -> Self {
        Self::new(String::new(), None, table, faults)
    }

    /// The same for who reads one entry before the kind is known: no key is unknown yet.
    pub(super) fn unchecked(table: &'a DeTable<'a>, faults: &'a Faults) -> Self {
        Self { title: String::new(), header: None, table, faults }
    }

    /// A table; its unknown keys are faults.
    pub(super) fn new(
        title: String,
        header: Option<Range<usize>>,
        table: &'a DeTable<'a>,
        faults: &'a Faults,
    ) -> Self {
        let section = Self { title, header, table, faults };
        section.refuse_unknown_keys();
        if let Some(entry) = section.get("unit")
            && entry.text().is_some_and(|unit| !is_length(unit))
        {
            let help =
                "write unit = \"mm\", or the unit of length in which your CAD program gives points";
            entry.fault("is no unit of length", "of bare numbers in this table", help);
        }
        section
    }

    /// Its keys are names of the user's own: of motors and what hangs on them.
    fn is_named_by_user(&self) -> bool {
        self.faults.kind == Kind::TwoRods && matches!(self.title.as_str(), "[motor]" | "[mass]")
    }

    /// The names of its entries, in the order of the file.
    pub(super) fn names(&self) -> Vec<(&'a str, Range<usize>)> {
        let mut names: Vec<(&str, Range<usize>)> =
            self.table.keys().map(|key| (key.get_ref().as_ref(), key.span())).collect();
        names.sort_by_key(|(_, place)| place.start);
        names
    }

    fn refuse_unknown_keys(&self) {
        if self.is_named_by_user() {
            return;
        }
        let known = schema::keys(&self.title, self.faults.kind);
        for (key, value) in self.table {
            let name = key.get_ref().as_ref();
            if !known.contains(&name) {
                let is_table =
                    self.title.is_empty() && matches!(value.get_ref(), DeValue::Table(_));
                let fault =
                    self.of_another_kind(name).unwrap_or_else(|| self.unknown(name, is_table));
                self.faults.push(fault.at(key.span()));
            }
        }
    }

    fn unknown(&self, key: &str, is_table: bool) -> Diagnostic {
        let shown = clipped(key);
        let message = match (is_table, self.title.as_str()) {
            (true, _) => format!("there is no table [{shown}]"),
            (false, "") => format!("there is no `{shown}` in a design"),
            (false, title) => format!("there is no `{shown}` in {title}"),
        };
        Diagnostic::error(message).code(Code::UnknownKey).label("unknown").help(schema::instead_of(
            key,
            &self.title,
            self.faults.kind,
        ))
    }

    /// The fault of a key that only drives of other kinds have.
    fn of_another_kind(&self, key: &str) -> Option<Diagnostic> {
        let kinds = schema::kinds_with(key, &self.title, self.faults.kind);
        let names: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
        let own = self.faults.kind.name();
        let what = match self.title.as_str() {
            "" => format!("[{key}]"),
            title => format!("`{title} {key}`"),
        };
        if self.title.is_empty() && key == "finger" {
            let message = format!("a finger behind a drive of kind {own} is not read");
            let help = if self.faults.kind == Kind::Series { LAST_STAGE } else { SERIES };
            return Some(Diagnostic::error(message).label(NO_FINGER).help(help));
        }
        (!names.is_empty()).then(|| {
            let of = if schema::is_of_one_joint(&kinds) {
                "every kind that turns one joint".to_owned()
            } else {
                format!("[drive] kind = {}", schema::choices(&names))
            };
            let help = format!("{what} is for {of}: take it out, or correct the kind");
            Diagnostic::error(format!("{what} is of no use to a drive of kind {own}"))
                .label("belongs to another kind")
                .help(help)
        })
    }

    /// How the entry is named in messages.
    fn display(&self, key: &str) -> String {
        if self.title.is_empty() { key.to_owned() } else { format!("{} {key}", self.title) }
    }

    /// The entry of this key, where there is one and a drive of this kind has it; what only others have is told already.
    pub(super) fn get(&self, key: &str) -> Option<Entry<'a>> {
        let is_known = || schema::keys(&self.title, self.faults.kind).contains(&key);
        if !self.is_named_by_user() && !is_known() {
            return None;
        }
        let (name, value) = self.table.get_key_value(key)?;
        Some(Entry {
            name: self.display(key),
            key: name.span(),
            place: value.span(),
            value: value.get_ref(),
            faults: self.faults,
            unit: self.unit(),
        })
    }

    /// The unit that its bare numbers have.
    fn unit(&self) -> Option<&'a str> {
        let (_, unit) = self.table.get_key_value("unit").filter(|_| self.title == PIVOTS)?;
        // One that is none is told; that each figure lacks one is not to be told besides.
        Some(unit.get_ref().as_str().filter(|unit| is_length(unit)).unwrap_or("mm"))
    }

    /// The entry of this key; a fault where there is none, with the line to add.
    pub(super) fn required(&self, key: &str, line: &str) -> Option<Entry<'a>> {
        let entry = self.get(key);
        if entry.is_none() {
            self.missing(key, &format!("add the line: {line}"));
        }
        entry
    }

    /// Something is missing from the table; not said again where an unknown key is probably meant to be it.
    pub(super) fn missing(&self, key: &str, help: &str) {
        if self.is_misspelt(key) {
            return;
        }
        let (home, what) = match self.title.as_str() {
            "" if key != "name" => ("the design", format!("[{key}]")),
            "" => ("the design", format!("`{key}`")),
            title => (title, format!("`{key}`")),
        };
        let code = (key == "set_by").then_some(Code::SetByMissing);
        let fault = Diagnostic::error(format!("{home} lacks {what}")).code(code).help(help);
        self.faults.push_missing(match &self.header {
            Some(header) => fault.at(header.clone()).label(format!("{what} is missing")),
            None => fault,
        });
    }

    /// Whether an unknown key is probably meant to be this one.
    pub(super) fn is_misspelt(&self, key: &str) -> bool {
        let known = schema::keys(&self.title, self.faults.kind);
        let names = self.table.keys().map(|name| name.get_ref().as_ref());
        let mut unknown = names.filter(|name: &&str| !known.contains(name));
        unknown.any(|name| schema::nearest(name, &known) == Some(key))
    }

    /// A fault of the table as a whole.
    pub(super) fn fault(&self, message: impl Into<String>, label: &str, help: impl Into<String>) {
        let fault = Diagnostic::error(message).help(help);
        self.faults.push(match &self.header {
            Some(header) => fault.at(header.clone()).label(label),
            None => fault,
        });
    }

    /// The table `[key]` within this one, where there is one.
    pub(super) fn section(&self, key: &str) -> Option<Section<'a>> {
        self.get(key)?.section(self.child_title(key))
    }

    /// What the table `[key]` within this one is called.
    pub(super) fn child_title(&self, key: &str) -> String {
        match self.title.strip_suffix(']') {
            Some(title) => format!("{title}.{key}]"),
            None => format!("[{key}]"),
        }
    }

    /// The tables `[[key]]` in the order of the file.
    pub(super) fn sections(&self, key: &str) -> Vec<Section<'a>> {
        let Some(entry) = self.get(key) else {
            return Vec::new();
        };
        let title = format!("[[{key}]]");
        if matches!(entry.value, DeValue::Table(_)) {
            let help = format!("write {title} with two brackets on each side, once for each");
            entry.fault("is a single table", "one pair of brackets", help);
            return Vec::new();
        }
        let items = entry.items().unwrap_or_default();
        items.into_iter().filter_map(|item| item.section(title.clone())).collect()
    }

    /// Where `[table] key` stands.
    pub(super) fn place(&self, table: &str, key: &str) -> Option<Range<usize>> {
        Some(self.within(table, key)?.place)
    }

    /// Where the items of the list `[table] key` stand.
    pub(super) fn item_places(&self, table: &str, key: &str) -> Option<Vec<Range<usize>>> {
        let items = self.within(table, key)?.items()?;
        Some(items.into_iter().map(|item| item.place).collect())
    }

    /// The entry `[table] key`, for who reads a table that another reads whole: its unknown keys are told there, once.
    pub(super) fn within(&self, table: &str, key: &str) -> Option<Entry<'a>> {
        let DeValue::Table(inner) = self.get(table)?.value else {
            return None;
        };
        let title = self.child_title(table);
        Section { title, header: None, table: inner, faults: self.faults }.get(key)
    }

    /// `name`.
    pub(super) fn name(&self) -> Option<String> {
        self.required("name", "name = \"ankle_pitch\"  # at the top of the file")?.name()
    }
}
