//! unloop for Python: the library's own findings as dicts and arrays.

#![allow(unsafe_code, reason = "the macros that make a Python module write it")]

mod answer;
mod arrays;
mod design_calls;
mod failure;
mod key_path;
mod robot_calls;
mod text;

/// May one direct joint stand in a robot model for a joint that a motor turns through a four-bar?
#[pyo3::pymodule]
mod _unloop {
    use pyo3::prelude::*;

    #[pymodule_export]
    use super::arrays::{Linkage, builds};
    #[pymodule_export]
    use super::design_calls::{check, emit, loads, map, stroke, tolerance};
    #[pymodule_export]
    use super::failure::{DesignError, RefusedError, RobotError, UnloopError};
    #[pymodule_export]
    use super::robot_calls::{compare, find, fold};

    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        module.add("__version__", env!("CARGO_PKG_VERSION"))
    }
}
