//! Work without the interpreter's lock, and its answers.

use std::ffi::CString;
use std::sync::{Mutex, PoisonError};

use pyo3::exceptions::{PyUserWarning, PyValueError};
use pyo3::prelude::*;

use crate::failure::Failure;

/// JSON as Python reads it.
pub(crate) fn json_dict<'py>(py: Python<'py>, text: &str) -> PyResult<Bound<'py, PyAny>> {
    py.import("json")?.call_method1("loads", (text,))
}

/// What the program writes to standard error and goes on.
pub(crate) fn warn(py: Python<'_>, text: &str) -> PyResult<()> {
    match CString::new(text.trim_end()) {
        Ok(text) if !text.is_empty() => PyErr::warn(py, &py.get_type::<PyUserWarning>(), &text, 1),
        _ => Ok(()),
    }
}

/// Does the work without the interpreter's lock.
pub(crate) fn released<T: Send>(
    py: Python<'_>,
    work: impl FnOnce() -> Result<T, Failure> + Send,
) -> PyResult<T> {
    py.detach(work).map_err(|failure| failure.into_error(py))
}

/// The same for work that asks whether to go on, with the number done: `progress(done, of)` may say False; Ctrl-C and
/// what `progress` raises end the call.
pub(crate) fn watched<T: Send>(
    py: Python<'_>,
    progress: Option<&Bound<'_, PyAny>>,
    of: u64,
    work: impl FnOnce(&(dyn Fn(u64) -> bool + Sync)) -> Result<T, Failure> + Send,
) -> PyResult<T> {
    let progress = progress.map(|callback| callback.clone().unbind());
    let raised = Mutex::new(None);
    let ask = |py: Python<'_>, done: u64| -> PyResult<bool> {
        py.check_signals()?;
        let Some(callback) = &progress else { return Ok(true) };
        let answer = callback.bind(py).call1((done, of))?;
        Ok(!answer.is(pyo3::types::PyBool::new(py, false)))
    };
    let go_on = |done: u64| {
        Python::attach(|py| ask(py, done)).unwrap_or_else(|error| {
            *raised.lock().unwrap_or_else(PoisonError::into_inner) = Some(error);
            false
        })
    };
    let found = released(py, || work(&go_on));
    match raised.into_inner().unwrap_or_else(PoisonError::into_inner) {
        Some(error) => Err(error),
        None => found,
    }
}

/// The one of `all` that has this word.
pub(crate) fn choice<T: Copy>(
    what: &str,
    word: &str,
    all: &[T],
    name: fn(T) -> &'static str,
) -> PyResult<T> {
    all.iter().copied().find(|one| name(*one) == word).ok_or_else(|| {
        let words: Vec<&str> = all.iter().map(|one| name(*one)).collect();
        PyValueError::new_err(format!("{what}: there is no {word:?}; it is {}", words.join(", ")))
    })
}
