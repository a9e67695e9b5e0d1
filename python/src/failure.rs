//! Why a call fails, as the exception that Python gets.

use pyo3::create_exception;
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use unloop::design::{Design, Rejected};
use unloop::diagnostic::{Diagnostic, render};
use unloop::equivalence::Verdict;
use unloop::study;

use crate::key_path::key_path;
use crate::text::Text;

create_exception!(
    unloop,
    UnloopError,
    PyValueError,
    "What is wrong with an input, as the program shows it.\n\n`message`, `line` and `key` are the first fault's: what is \
     wrong, the line of the text (None where the fault has no place), the path of the design's key (None in a robot). \
     `faults` has all of them as dicts, with `help` and `code` besides."
);
create_exception!(
    unloop,
    DesignError,
    UnloopError,
    "A design that cannot be read, or cannot be built."
);
create_exception!(
    unloop,
    RobotError,
    UnloopError,
    "A robot file that cannot be read, or a loop that cannot be folded."
);
create_exception!(
    unloop,
    RefusedError,
    UnloopError,
    "The verdict stands against a direct joint, and nothing else; `verdict` says which it is. `anyway=True` goes on."
);

/// Whose fault it is.
#[derive(Clone, Copy)]
pub(crate) enum Kind {
    Design,
    Robot,
    Refused(Verdict),
}

/// All that is wrong, rendered and fault by fault.
pub(crate) struct Failure {
    kind: Kind,
    rendered: String,
    faults: Vec<Fault>,
}

struct Fault {
    diagnostic: Diagnostic,
    line: Option<usize>,
    key: Option<String>,
}

impl Failure {
    /// A message without a place.
    pub(crate) fn plain(kind: Kind, message: String) -> Self {
        let diagnostic = Diagnostic::error(message.clone());
        Self { kind, rendered: message, faults: vec![Fault { diagnostic, line: None, key: None }] }
    }

    /// Messages about a design's text; where a dict was given each names its key.
    pub(crate) fn of_design(
        kind: Kind,
        given: &Text,
        text: &str,
        diagnostics: Vec<Diagnostic>,
    ) -> Self {
        let with_key = |diagnostic: Diagnostic| {
            let key = diagnostic.place.as_ref().and_then(|place| key_path(text, place));
            let message = match &key {
                Some(key) if given.is_dict => format!("{key}: {}", diagnostic.message),
                _ => diagnostic.message.clone(),
            };
            (Diagnostic { message, ..diagnostic }, key)
        };
        let found = diagnostics.into_iter().map(with_key);
        Self::of(kind, &given.name, text, found.collect())
    }

    /// Why a text is no design; of a series also why its stages are none, each in its own file.
    pub(crate) fn of_rejected(given: &Text, rejected: Rejected) -> Self {
        let Rejected { source, diagnostics, stages } = rejected;
        let own = Self::of_design(Kind::Design, given, &source.text, diagnostics);
        stages.into_iter().fold(own, |all, stage| {
            let file = Text { name: stage.source.path.clone(), bytes: Vec::new(), is_dict: false };
            all.and(Self::of_rejected(&file, stage))
        })
    }

    /// What a study says of a design that reads well.
    pub(crate) fn of_study(given: &Text, design: &Design, faults: &[study::Fault]) -> Self {
        let found = faults.iter().map(|fault| fault.diagnostic(design)).collect();
        Self::of_design(Kind::Design, given, &design.source.text, found)
    }

    /// Messages about a robot's text.
    pub(crate) fn of_robot(kind: Kind, path: &str, text: &str, found: Vec<Diagnostic>) -> Self {
        Self::of(kind, path, text, found.into_iter().map(|one| (one, None)).collect())
    }

    fn of(
        kind: Kind,
        path: &str,
        text: &str,
        mut found: Vec<(Diagnostic, Option<String>)>,
    ) -> Self {
        found.sort_by_key(|(one, _)| one.place.as_ref().map(|place| place.start));
        let all: Vec<Diagnostic> = found.iter().map(|(one, _)| one.clone()).collect();
        let fault = |(diagnostic, key): (Diagnostic, Option<String>)| {
            let line = diagnostic.place.as_ref().map(|place| line(text, place.start));
            Fault { diagnostic, line, key }
        };
        let errors = found.into_iter().filter(|(one, _)| one.is_error());
        let rendered = render(path, text, &all, false).trim_end().to_owned();
        Self { kind, rendered, faults: errors.map(fault).collect() }
    }

    /// The same with the faults of another text behind.
    pub(crate) fn and(mut self, other: Self) -> Self {
        self.rendered = format!("{}\n\n{}", self.rendered, other.rendered);
        self.faults.extend(other.faults);
        self
    }

    pub(crate) fn into_error(self, py: Python<'_>) -> PyErr {
        let error = match self.kind {
            Kind::Design => DesignError::new_err(self.rendered.clone()),
            Kind::Robot => RobotError::new_err(self.rendered.clone()),
            Kind::Refused(_) => RefusedError::new_err(self.rendered.clone()),
        };
        self.tell(error.value(py).as_any()).map_or_else(|failed| failed, |()| error)
    }

    fn tell(&self, error: &Bound<'_, PyAny>) -> PyResult<()> {
        let py = error.py();
        let first = self.faults.first();
        error.setattr("message", first.map_or(&self.rendered, |one| &one.diagnostic.message))?;
        error.setattr("line", first.and_then(|one| one.line))?;
        error.setattr("key", first.and_then(|one| one.key.as_deref()))?;
        let faults: Vec<Bound<'_, PyDict>> =
            self.faults.iter().map(|one| one.as_dict(py)).collect::<PyResult<_>>()?;
        error.setattr("faults", PyList::new(py, faults)?)?;
        if let Kind::Refused(verdict) = self.kind {
            error.setattr("verdict", verdict.name())?;
        }
        Ok(())
    }
}

impl Fault {
    fn as_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        dict.set_item("message", &self.diagnostic.message)?;
        dict.set_item("help", &self.diagnostic.help)?;
        dict.set_item("code", self.diagnostic.code.map(|code| code.name()))?;
        dict.set_item("line", self.line)?;
        dict.set_item("key", &self.key)?;
        Ok(dict)
    }
}

/// The line, counted from 1, on which a byte stands.
fn line(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count()
}
