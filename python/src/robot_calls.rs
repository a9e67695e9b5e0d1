//! `find`, `fold`, `compare`: what a robot file answers.

use std::path::{Path, PathBuf};

use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::{PyList, PyTuple};
use unloop::design::Preset;
use unloop::diagnostic::Diagnostic;
use unloop::handover::compare::compare as compared;
use unloop::handover::find::{FindOptions, findings, named, state_loops};
use unloop::handover::fold::{FoldFault, FoldOptions, fold as folded};
use unloop::handover::{ActuatorUnits, Form, LimitBasis, find as finder};
use unloop::report;
use unloop::robot::{IncludeFolders, Robot, RobotRejected};
use unloop::study::{self, Mechanism};

use crate::answer::{choice, json_dict, released};
use crate::design_calls::Read;
use crate::failure::{Failure, Kind};
use crate::text::Text;

/// What a robot file cannot say itself, and where its includes may lie.
struct Told {
    preset: Preset,
    motor: Vec<String>,
    child: Vec<String>,
    files: Files,
}

/// Files beside the robot's.
struct Files {
    loops: Option<Text>,
    include_root: Vec<PathBuf>,
    include_anywhere: bool,
}

/// One, or several of them.
#[derive(FromPyObject)]
pub(crate) enum OneOrMore<T> {
    One(T),
    More(Vec<T>),
}

impl<T> From<OneOrMore<T>> for Vec<T> {
    fn from(given: OneOrMore<T>) -> Self {
        match given {
            OneOrMore::One(one) => vec![one],
            OneOrMore::More(all) => all,
        }
    }
}

type Names = Option<OneOrMore<String>>;
type Folders = Option<OneOrMore<PathBuf>>;

fn all<T>(given: Option<OneOrMore<T>>) -> Vec<T> {
    given.map_or_else(Vec::new, Vec::from)
}

impl Files {
    fn of(
        loops: Option<&Bound<'_, PyAny>>,
        include_root: Folders,
        include_anywhere: bool,
    ) -> PyResult<Self> {
        let loops = loops.map(Text::loops).transpose()?;
        Ok(Self { loops, include_root: all(include_root), include_anywhere })
    }

    fn read(&self, given: Text) -> Result<Robot, Failure> {
        let path = Path::new(&given.name);
        self.read_at(path, given.bytes.clone()).map_err(|rejected| {
            let RobotRejected { path, text, diagnostics } = *rejected;
            Failure::of_robot(Kind::Robot, &path, &text, diagnostics)
        })
    }

    fn read_at(&self, path: &Path, bytes: Vec<u8>) -> Result<Robot, Box<RobotRejected>> {
        let folders = IncludeFolders { roots: &self.include_root, anywhere: self.include_anywhere };
        folders.read(path, bytes)
    }

    /// States the loops in each robot that has their links; at least one must.
    fn state_in(&self, robots: &mut [Robot]) -> Result<(), Failure> {
        let Some(Text { name, bytes, .. }) = &self.loops else { return Ok(()) };
        let text = std::str::from_utf8(bytes).map_err(|_| {
            Failure::plain(Kind::Robot, format!("{name} cannot be read: it is no UTF-8 text"))
        })?;
        let outcomes: Vec<_> = robots.iter_mut().map(|robot| state_loops(robot, text)).collect();
        if outcomes.iter().any(Result::is_ok) {
            return Ok(());
        }
        let faults = outcomes.into_iter().find_map(Result::err).unwrap_or_default();
        Err(Failure::of_robot(Kind::Robot, name, text, faults))
    }
}

impl Told {
    fn of(preset: &str, motor: Names, child: Names, files: Files) -> PyResult<Self> {
        let preset = choice("preset", preset, &Preset::ALL, Preset::name)?;
        Ok(Self { preset, motor: all(motor), child: all(child), files })
    }

    fn options(&self) -> FindOptions<'_> {
        FindOptions { preset: self.preset, motors: &self.motor, children: &self.child }
    }

    fn read(&self, given: Text) -> Result<Robot, Failure> {
        let mut robot = self.files.read(given)?;
        if let Some(fault) = self.options().unknown(&robot) {
            return Err(Failure::plain(Kind::Robot, fault));
        }
        self.files.state_in(std::slice::from_mut(&mut robot))?;
        Ok(robot)
    }
}

/// Every closed loop of a robot file, with its lengths, kind and verdict. As `unloop find --json`, whose options the
/// keywords are.
#[pyfunction]
#[pyo3(signature = (robot, *, motor = None, child = None, preset = "training", loops = None, include_root = None,
    include_anywhere = false))]
#[allow(clippy::too_many_arguments, reason = "keywords of a Python function")]
pub(crate) fn find<'py>(
    robot: &Bound<'py, PyAny>,
    motor: Names,
    child: Names,
    preset: &str,
    loops: Option<&Bound<'py, PyAny>>,
    include_root: Folders,
    include_anywhere: bool,
) -> PyResult<Bound<'py, PyAny>> {
    let py = robot.py();
    let files = Files::of(loops, include_root, include_anywhere)?;
    let (told, given) = (Told::of(preset, motor, child, files)?, Text::robot(robot)?);
    let found = released(py, || {
        let robot = told.read(given)?;
        Ok(report::json(&findings(&robot, told.options())))
    })?;
    json_dict(py, &found)
}

/// The text of the robot file with a loop replaced by a direct joint, every other byte kept. As `unloop fold`, whose
/// options the keywords are.
///
/// `loop` is its name or its driven joint's, and may be left out where there is only one. What the user should know is
/// appended to `notes` where a list is given. A verdict that is not "equivalent" raises RefusedError, unless `anyway`.
/// Check the folded text in your engine before it drives hardware; stops, pinch points and stored energy are the real
/// linkage's.
#[pyfunction]
#[pyo3(signature = (robot, r#loop = None, *, model = "direct", anyway = false, keep_visuals = false,
    limits = "guaranteed", actuator = "joint", motor = None, child = None, preset = "training", loops = None,
    include_root = None, include_anywhere = false, notes = None))]
#[allow(clippy::too_many_arguments, reason = "keywords of a Python function")]
pub(crate) fn fold(
    robot: &Bound<'_, PyAny>,
    r#loop: Option<&str>,
    model: &str,
    anyway: bool,
    keep_visuals: bool,
    limits: &str,
    actuator: &str,
    motor: Names,
    child: Names,
    preset: &str,
    loops: Option<&Bound<'_, PyAny>>,
    include_root: Folders,
    include_anywhere: bool,
    notes: Option<&Bound<'_, PyList>>,
) -> PyResult<String> {
    let options = FoldOptions {
        model: choice("model", model, &[Form::Direct, Form::Coupled], Form::name)?,
        anyway,
        keep_visuals,
        limits: choice("limits", limits, &LimitBasis::ALL, LimitBasis::name)?,
        actuator: choice("actuator", actuator, &ActuatorUnits::ALL, ActuatorUnits::name)?,
    };
    if keep_visuals && options.model != Form::Direct {
        return Err(PyValueError::new_err("keep_visuals goes with model = \"direct\" alone"));
    }
    let files = Files::of(loops, include_root, include_anywhere)?;
    let (told, given) = (Told::of(preset, motor, child, files)?, Text::robot(robot)?);
    let (text, told) = released(robot.py(), || one_folded(&told, given, r#loop, options))?;
    if let Some(list) = notes {
        told.iter().try_for_each(|note| list.append(note))?;
    }
    Ok(text)
}

/// The folded text, which reads again, and notes.
fn one_folded(
    told: &Told,
    given: Text,
    name: Option<&str>,
    options: FoldOptions,
) -> Result<(String, Vec<String>), Failure> {
    let path = PathBuf::from(&given.name);
    let robot = told.read(given)?;
    let loops = finder::find(&robot, told.options());
    let found = named(&robot, &loops, name).map_err(|fault| Failure::plain(Kind::Robot, fault))?;
    let done = folded(&robot, found, options).map_err(|faults| refused(&robot, &faults))?;
    told.files.read_at(&path, done.text.as_bytes().to_vec()).map_err(|rejected| {
        let why = rejected.render(false);
        Failure::plain(Kind::Robot, format!("the folded file would not read again; {why}"))
    })?;
    Ok((done.text, done.notes))
}

/// All that stands against a fold: the verdict, where nothing else does.
fn refused(robot: &Robot, faults: &[FoldFault]) -> Failure {
    let verdicts: Option<Vec<_>> = faults.iter().map(|fault| fault.verdict).collect();
    let kind = match verdicts.as_deref() {
        Some([verdict, ..]) => Kind::Refused(*verdict),
        _ => Kind::Robot,
    };
    let in_each = robot.documents.iter().enumerate().filter_map(|(at, document)| {
        let here = faults.iter().filter(|fault| fault.document == at);
        let found: Vec<Diagnostic> = here.map(|fault| fault.diagnostic.clone()).collect();
        (!found.is_empty()).then(|| Failure::of_robot(kind, &document.path, document.text(), found))
    });
    in_each
        .reduce(Failure::and)
        .unwrap_or_else(|| Failure::plain(kind, "the loop cannot be folded".to_owned()))
}

/// Does the robot file, or each of several, still say what the design says? As `unloop compare --json`.
#[pyfunction]
#[pyo3(signature = (design, robot, *, limits = None, loops = None, include_root = None, include_anywhere = false))]
pub(crate) fn compare<'py>(
    design: &Bound<'py, PyAny>,
    robot: &Bound<'py, PyAny>,
    limits: Option<&str>,
    loops: Option<&Bound<'py, PyAny>>,
    include_root: Folders,
    include_anywhere: bool,
) -> PyResult<Bound<'py, PyAny>> {
    let py = design.py();
    let limits = limits
        .map(|word| choice("limits", word, &LimitBasis::ALL, LimitBasis::name))
        .transpose()?;
    let files = Files::of(loops, include_root, include_anywhere)?;
    let read = Read::of(py, design)?;
    let robots = texts(robot)?;
    let found = released(py, || {
        let robots: Result<Vec<Robot>, Failure> =
            robots.into_iter().map(|given| files.read(given)).collect();
        let mut robots = robots?;
        files.state_in(&mut robots)?;
        let mechanism = read.study(Mechanism::of(&read.design))?;
        let check = read.study(study::check_on(&read.design, &mechanism))?;
        compared(&read.design, &mechanism, &check, &robots, limits)
            .map(|found| report::json(&found))
            .map_err(|faults| read.refused(&faults))
    })?;
    json_dict(py, &found)
}

/// The robot's text, or those of a list or tuple of robots.
fn texts(robot: &Bound<'_, PyAny>) -> PyResult<Vec<Text>> {
    let is_several = robot.is_instance_of::<PyList>() || robot.is_instance_of::<PyTuple>();
    if !is_several {
        return Ok(vec![Text::robot(robot)?]);
    }
    let found: Vec<Text> =
        robot.try_iter()?.map(|one| Text::robot(&one?)).collect::<PyResult<_>>()?;
    if found.is_empty() {
        return Err(PyValueError::new_err("there is no robot to compare with"));
    }
    Ok(found)
}
