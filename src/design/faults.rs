//! Where the faults of a file are collected.

use super::Rejected;
use super::syntax::line_of;
use super::units_left_out;
use crate::diagnostic::Diagnostic;
use crate::drive::Kind;
use std::cell::{Cell, RefCell};
use std::ops::Range;

/// The faults found so far.
#[derive(Debug)]
pub(super) struct Faults {
    list: RefCell<Vec<Diagnostic>>,
    /// Quantities that were looked at.
    quantities: Cell<usize>,
    /// The text is sound TOML: what is missing is missing, not lost.
    sound: bool,
    /// The kind of drive that the file names, by which its keys are known.
    pub(super) kind: Kind,
    /// Stages of a series that are no designs themselves.
    stages: RefCell<Vec<Rejected>>,
}

impl Faults {
    /// None yet; `sound` where the text is TOML without faults.
    pub(super) fn new(sound: bool, kind: Kind) -> Self {
        let (list, stages) = (RefCell::default(), RefCell::default());
        Self { list, quantities: Cell::new(0), sound, kind, stages }
    }

    /// A stage that is no design.
    pub(super) fn push_stage(&self, stage: Rejected) {
        self.stages.borrow_mut().push(stage);
    }

    /// The stages that are no designs.
    pub(super) fn take_stages(&self) -> Vec<Rejected> {
        self.stages.take()
    }

    /// One more.
    pub(super) fn push(&self, fault: Diagnostic) {
        self.list.borrow_mut().push(fault);
    }

    /// One more quantity is read.
    pub(super) fn count_quantity(&self) {
        self.quantities.set(self.quantities.get() + 1);
    }

    /// Something is missing; not said where broken TOML may have swallowed it.
    pub(super) fn push_missing(&self, fault: Diagnostic) {
        if self.sound {
            self.push(fault);
        }
    }

    /// All faults by place; what follows from a line that is broken TOML is left out.
    pub(super) fn into_sorted(self, text: &str, syntax: Vec<Diagnostic>) -> Vec<Diagnostic> {
        let broken: Vec<Range<usize>> = syntax
            .iter()
            .filter_map(|one| one.place.as_ref())
            .map(|place| line_of(text, place.start))
            .collect();
        let follows = |one: &Diagnostic| {
            let start = one.place.as_ref().map(|place| place.start);
            start.is_some_and(|start| broken.iter().any(|line| line.contains(&start)))
        };
        let mut all = syntax;
        all.extend(self.list.into_inner().into_iter().filter(|one| !follows(one)));
        let mut all = units_left_out::as_one(text, all, self.quantities.get());
        all.sort_by_key(|one| one.place.as_ref().map(|place| (place.start, place.end)));
        all
    }
}
