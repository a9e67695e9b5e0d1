//! What is handed in as a design or a robot: a path, a text, or a dict that is written out as TOML.

use std::fs::File;
use std::path::{Path, PathBuf};

use pyo3::exceptions::{PyOSError, PyTypeError, PyValueError};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyDict, PyInt, PyList, PyString, PyTuple};
use toml::{Table, Value};
use unloop::design;
use unloop::diagnostic::why;
use unloop::robot;

/// A file's name, to be shown, with its bytes.
pub(crate) struct Text {
    pub(crate) name: String,
    pub(crate) bytes: Vec<u8>,
    /// Nobody wrote this text: a message about it names the key.
    pub(crate) is_dict: bool,
}

impl Text {
    /// Of a design.
    pub(crate) fn design(given: &Bound<'_, PyAny>) -> PyResult<Self> {
        if let Ok(dict) = given.cast::<PyDict>() {
            let written = toml::to_string(&table(dict, "", 0)?)
                .map_err(|error| PyValueError::new_err(error.to_string()))?;
            return Ok(Self { name: "<dict>".into(), bytes: written.into(), is_dict: true });
        }
        let what = "a design is a path, a text with a line break, or a dict";
        Self::of(given, what, |path| File::open(path).and_then(design::bytes_of))
    }

    /// Of a robot file.
    pub(crate) fn robot(given: &Bound<'_, PyAny>) -> PyResult<Self> {
        Self::of(given, "a robot is a path or a text with a line break", robot::file_bytes)
    }

    /// Of a file of stated loops.
    pub(crate) fn loops(given: &Bound<'_, PyAny>) -> PyResult<Self> {
        let what = "loops are a path or a text with a line break";
        Self::of(given, what, |path| File::open(path).and_then(design::bytes_of))
    }

    fn of(
        given: &Bound<'_, PyAny>,
        what: &str,
        read: impl FnOnce(&Path) -> std::io::Result<Vec<u8>>,
    ) -> PyResult<Self> {
        if let Ok(text) = given.cast::<PyString>().map(ToString::to_string)
            && text.contains('\n')
        {
            return Ok(Self { name: "<text>".into(), bytes: text.into(), is_dict: false });
        }
        let path: PathBuf = given
            .extract()
            .map_err(|_| PyTypeError::new_err(format!("{what}, not {}", kind(given))))?;
        let name = path.to_string_lossy().into_owned();
        let bytes = read(&path).map_err(|error| {
            PyOSError::new_err((error.raw_os_error(), why(&error), name.clone()))
        })?;
        Ok(Self { name, bytes, is_dict: false })
    }
}

fn kind(value: &Bound<'_, PyAny>) -> String {
    value.get_type().name().map_or_else(|_| "this".to_owned(), |name| name.to_string())
}

/// A design is two tables deep; what holds itself has no end.
const DEEPEST: usize = 16;

fn table(dict: &Bound<'_, PyDict>, path: &str, depth: usize) -> PyResult<Table> {
    let mut found = Table::new();
    for (key, value) in dict {
        let name: String = key.extract().map_err(|_| {
            PyTypeError::new_err(format!("{path}: a key of a design is a str, not {}", kind(&key)))
        })?;
        let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
        found.insert(name, written(&value, &path, depth + 1)?);
    }
    Ok(found)
}

fn written(value: &Bound<'_, PyAny>, path: &str, depth: usize) -> PyResult<Value> {
    if depth > DEEPEST {
        return Err(PyValueError::new_err(format!("{path}: no design is as deep as this")));
    }
    if let Ok(dict) = value.cast::<PyDict>() {
        return table(dict, path, depth).map(Value::Table);
    }
    if value.is_instance_of::<PyList>() || value.is_instance_of::<PyTuple>() {
        let items = value.try_iter()?.enumerate();
        let items = items.map(|(n, item)| written(&item?, &format!("{path}[{n}]"), depth + 1));
        return items.collect::<PyResult<_>>().map(Value::Array);
    }
    if value.is_instance_of::<PyBool>() {
        return value.extract().map(Value::Boolean);
    }
    if value.is_instance_of::<PyString>() {
        return value.extract().map(Value::String);
    }
    let number = if value.is_instance_of::<PyInt>() {
        value.extract().map(Value::Integer)
    } else {
        value.extract().map(Value::Float)
    };
    number.map_err(|_| {
        let kind = kind(value);
        PyTypeError::new_err(format!(
            "{path}: a value of a design is a str, a number, a bool, a list or a dict, not {kind}"
        ))
    })
}
