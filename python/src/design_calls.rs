//! `check`, `stroke`, `loads`, `tolerance`, `emit`: what a design alone answers.

use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::PyList;
use unloop::design::{self, Design};
use unloop::dynamics::Fit;
use unloop::handover::map::{Beyond, Language, MapAsk, MapFault, MapForm, Number};
use unloop::handover::{
    ActuatorUnits, Ask, EmitFault, EngineVersion, Form, Format, LimitBasis, emit_drawn,
};
use unloop::linkage::Drive;
use unloop::report;
use unloop::study::{self, Mechanism, Poses, ToleranceRequest};
use unloop::tolerance::Distribution;

use crate::answer::{choice, json_dict, released, warn, watched};
use crate::failure::{Failure, Kind};
use crate::text::Text;

/// A design with the text that it was read from; its warnings are told.
pub(crate) struct Read {
    pub(crate) given: Text,
    pub(crate) design: Design,
}

impl Read {
    pub(crate) fn of(py: Python<'_>, given: &Bound<'_, PyAny>) -> PyResult<Self> {
        let given = Text::design(given)?;
        match design::read(&given.name, &given.bytes) {
            Ok((design, warnings)) => {
                warn(py, &design.render(&warnings, false))?;
                Ok(Self { given, design })
            }
            Err(rejected) => Err(Failure::of_rejected(&given, rejected).into_error(py)),
        }
    }

    /// What a study makes of the design.
    pub(crate) fn study<T>(&self, found: Result<T, Vec<study::Fault>>) -> Result<T, Failure> {
        found.map_err(|faults| Failure::of_study(&self.given, &self.design, &faults))
    }

    /// What stands against a map.
    fn unmapped(&self, fault: &MapFault) -> Failure {
        let found = vec![fault.diagnostic(&self.design)];
        Failure::of_design(Kind::Design, &self.given, &self.design.source.text, found)
    }

    /// What stands against an emission: the verdict, where nothing else does.
    pub(crate) fn refused(&self, faults: &[EmitFault]) -> Failure {
        let verdicts = faults.iter().map(|fault| match fault {
            EmitFault::Refused { verdict, .. } => Some(*verdict),
            _ => None,
        });
        let kind = match verdicts.collect::<Option<Vec<_>>>().as_deref() {
            Some([verdict, ..]) => Kind::Refused(*verdict),
            _ => Kind::Design,
        };
        let found = faults.iter().map(|fault| fault.diagnostic(&self.design)).collect();
        Failure::of_design(kind, &self.given, &self.design.source.text, found)
    }
}

/// The verdict: may a direct joint stand in? As `unloop check --json`.
#[pyfunction]
pub(crate) fn check<'py>(design: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
    let py = design.py();
    let read = Read::of(py, design)?;
    let found =
        released(py, || read.study(study::check(&read.design)).map(|found| report::json(&found)))?;
    json_dict(py, &found)
}

/// The table over the stroke in `steps` even turns of motor or joint, or the one pose in which the motor or the joint has
/// a reading (rad). As `unloop stroke --json`.
#[pyfunction]
#[pyo3(signature = (design, steps = 31, *, over = "motor", at_motor = None, at_joint = None))]
pub(crate) fn stroke<'py>(
    design: &Bound<'py, PyAny>,
    steps: usize,
    over: &str,
    at_motor: Option<f64>,
    at_joint: Option<f64>,
) -> PyResult<Bound<'py, PyAny>> {
    if !(2..=10_000_000).contains(&steps) {
        return Err(PyValueError::new_err("steps: 2 to 10000000 rows can be had"));
    }
    let poses = match (at_motor, at_joint) {
        (None, None) => Poses::Even(steps, choice("over", over, &Drive::ALL, Drive::name)?),
        (Some(reading), None) => Poses::AtMotor(reading),
        (None, Some(reading)) => Poses::AtJoint(reading),
        _ => return Err(PyValueError::new_err("at_motor, at_joint: one of the two")),
    };
    let py = design.py();
    let read = Read::of(py, design)?;
    let found = released(py, || {
        let mechanism = read.study(Mechanism::of(&read.design))?;
        let (_, joint) = read.study(mechanism.sweep().map_err(|fault| vec![fault]))?;
        let turns = poses
            .motor_turns(&mechanism)
            .map_err(|message| Failure::plain(Kind::Design, message))?;
        let rows = study::pose_rows(&read.design, &mechanism, &joint, &turns);
        let mut text = Vec::new();
        report::stroke_json(&read.design.name, rows.into_iter(), &mut text)
            .map_err(|error| Failure::plain(Kind::Design, error.to_string()))?;
        Ok(String::from_utf8_lossy(&text).into_owned())
    })?;
    json_dict(py, &found)
}

/// Torque, speed, rod force, pin loads, buckling, play and stiffness over the stroke. As `unloop loads --json`.
#[pyfunction]
pub(crate) fn loads<'py>(design: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
    let py = design.py();
    let read = Read::of(py, design)?;
    let found =
        released(py, || read.study(study::loads(&read.design)).map(|found| report::json(&found)))?;
    json_dict(py, &found)
}

/// What was asked of a study of builds.
pub(crate) fn request(samples: u64, seed: u64, distribution: &str) -> PyResult<ToleranceRequest> {
    if !(1..=100_000_000).contains(&samples) {
        return Err(PyValueError::new_err("1 to 100000000 builds can be drawn"));
    }
    let distribution =
        choice("distribution", distribution, &Distribution::ALL, Distribution::name)?;
    Ok(ToleranceRequest { samples, seed, distribution })
}

/// What the drawn tolerances do. As `unloop tolerance --json`.
///
/// `progress(done, samples)` is called between rounds of some hundred thousand builds; where it returns False, what is
/// done so far is told. Ctrl-C ends the study.
#[pyfunction]
#[pyo3(signature = (design, samples = 65_536, seed = 1, *, distribution = "normal", progress = None))]
pub(crate) fn tolerance<'py>(
    design: &Bound<'py, PyAny>,
    samples: u64,
    seed: u64,
    distribution: &str,
    progress: Option<Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyAny>> {
    let py = design.py();
    let (request, read) = (request(samples, seed, distribution)?, Read::of(py, design)?);
    let found = watched(py, progress.as_ref(), samples, |go_on| {
        let found = read.study(study::tolerance(&read.design, &request, go_on))?;
        Ok(report::json(&found))
    })?;
    json_dict(py, &found)
}

/// The joint as URDF, SDFormat or MJCF text. As `unloop emit`, whose options the keywords are.
///
/// What the format could not hold is appended to `notes` where a list is given. A verdict that is not "equivalent" raises
/// RefusedError for a direct joint, unless `anyway`.
#[pyfunction]
#[pyo3(signature = (design, to = "mjcf", model = "direct", whole = false, *, anyway = false, limits = "guaranteed",
    actuator = "joint", engine_version = None, fit = "balanced", notes = None))]
#[allow(clippy::too_many_arguments, reason = "keywords of a Python function")]
pub(crate) fn emit(
    design: &Bound<'_, PyAny>,
    to: &str,
    model: &str,
    whole: bool,
    anyway: bool,
    limits: &str,
    actuator: &str,
    engine_version: Option<&str>,
    fit: &str,
    notes: Option<&Bound<'_, PyList>>,
) -> PyResult<String> {
    let py = design.py();
    let ask = Ask {
        format: choice("to", to, &Format::ALL, Format::id)?,
        form: choice("model", model, &Form::ALL, Form::name)?,
        whole,
        anyway,
        limits: choice("limits", limits, &LimitBasis::ALL, LimitBasis::name)?,
        actuator: choice("actuator", actuator, &ActuatorUnits::ALL, ActuatorUnits::name)?,
        engine: engine_version.map(version).transpose()?,
        fit: choice("fit", fit, &Fit::ALL, Fit::name)?,
    };
    let read = Read::of(py, design)?;
    let emission = released(py, || {
        let mechanism = read.study(Mechanism::of(&read.design))?;
        let check = read.study(study::check_on(&read.design, &mechanism))?;
        emit_drawn(&read.design, &mechanism, &check, &ask).map_err(|faults| read.refused(&faults))
    })?;
    if let Some(list) = notes {
        emission.notes.iter().try_for_each(|note| list.append(note))?;
    }
    Ok(emission.file)
}

fn version(text: &str) -> PyResult<EngineVersion> {
    text.parse().map_err(|fault| PyValueError::new_err(format!("engine_version: {fault}")))
}

/// Motor angle, speed and torque to the joint's and back as code. As `unloop map`, whose options the keywords are.
///
/// `within` is an angle in rad. What is certified is appended to `notes` where a list is given.
#[pyfunction]
#[pyo3(signature = (design, language = "python", *, number = "double", by = None, within = None, beyond = "hold",
    header = false, notes = None))]
#[allow(clippy::too_many_arguments, reason = "keywords of a Python function")]
pub(crate) fn map(
    design: &Bound<'_, PyAny>,
    language: &str,
    number: &str,
    by: Option<&str>,
    within: Option<f64>,
    beyond: &str,
    header: bool,
    notes: Option<&Bound<'_, PyList>>,
) -> PyResult<String> {
    if within.is_some_and(|angle| !(angle > 0.0 && angle.is_finite())) {
        return Err(PyValueError::new_err("within: an angle above zero, rad"));
    }
    let py = design.py();
    let ask = MapAsk {
        language: choice("language", language, &Language::ALL, Language::name)?,
        number: choice("number", number, &Number::ALL, Number::name)?,
        form: by.map(|word| choice("by", word, &MapForm::ALL, MapForm::name)).transpose()?,
        within,
        beyond: choice("beyond", beyond, &Beyond::ALL, Beyond::name)?,
        as_header: header,
    };
    let read = Read::of(py, design)?;
    let made = released(py, || {
        let mechanism = read.study(Mechanism::of(&read.design))?;
        unloop::handover::map::map(&read.design, &mechanism, &ask)
            .map_err(|fault| read.unmapped(&fault))
    })?;
    if let Some(list) = notes {
        made.notes.iter().try_for_each(|note| list.append(note))?;
    }
    Ok(made.code)
}
