//! What answers in arrays: many poses of a linkage, many builds of a design.

use numpy::{PyArray1, PyArrayDyn, PyArrayMethods as _};
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::{IntoPyDict as _, PyDict};
use unloop::linkage::{Branch, Closure, FourBar, Turns};
use unloop::study::{self, DrawnBuilds};
use unloop::tolerance::DrawnBuild;

use crate::answer::{choice, released, watched};
use crate::design_calls::{Read, request};
use crate::failure::{Failure, Kind};

type Array<'py> = Bound<'py, PyArrayDyn<f64>>;

/// A four-bar from its zero pose: `ground` A–B, `crank` A–P, `coupler` P–Q, `rocker` B–Q, all in one unit of length;
/// `zero_crank` the crank's angle from A→B in the zero pose, rad; `closure` "open" where Q lies left of P→B there, else
/// "crossed".
#[pyclass(frozen, module = "unloop")]
pub(crate) struct Linkage {
    branch: Branch,
}

#[pymethods]
impl Linkage {
    #[new]
    #[allow(clippy::too_many_arguments, reason = "keywords of a Python function")]
    #[pyo3(signature = (ground, crank, coupler, rocker, *, zero_crank, closure = "open"))]
    fn new(
        py: Python<'_>,
        ground: f64,
        crank: f64,
        coupler: f64,
        rocker: f64,
        zero_crank: f64,
        closure: &str,
    ) -> PyResult<Self> {
        let closure = choice("closure", closure, &Closure::ALL, Closure::name)?;
        let lengths =
            [("ground", ground), ("crank", crank), ("coupler", coupler), ("rocker", rocker)];
        if let Some((name, _)) = lengths.iter().find(|(_, x)| !(x.is_finite() && *x > 0.0)) {
            return Err(PyValueError::new_err(format!("{name} is no length above 0")));
        }
        if !zero_crank.is_finite() {
            return Err(PyValueError::new_err("zero_crank is no angle"));
        }
        let bars = FourBar { ground, crank, coupler, rocker };
        let branch = Branch::through(bars, zero_crank, closure)
            .map_err(|fault| Failure::plain(Kind::Design, fault.to_string()).into_error(py))?;
        Ok(Self { branch })
    }

    /// Motor turns from the zero pose, rad, between which the linkage can go; infinite where the crank turns fully.
    #[getter]
    fn reach(&self) -> (f64, f64) {
        let end =
            |barrier: Option<unloop::linkage::Barrier>, none| barrier.map_or(none, |b| b.turn);
        (end(self.branch.below, f64::NEG_INFINITY), end(self.branch.above, f64::INFINITY))
    }

    /// Joint turn (rad, followed from the zero pose), velocity ratio dψ/dφ and transmission angle (rad, folded into
    /// 0…π/2) at each motor turn (rad from the zero pose), in arrays of the same shape.
    ///
    /// NaN where the linkage does not get there, and beyond a million rad. Angles are within 1e-13 rad of the exact single
    /// pose and ratios within 1e-12, where the transmission angle is a degree or more.
    fn solve<'py>(
        &self,
        py: Python<'py>,
        motor: &Bound<'py, PyAny>,
    ) -> PyResult<(Array<'py>, Array<'py>, Array<'py>)> {
        let like = [("dtype", "float64"), ("order", "C")].into_py_dict(py)?;
        let numpy = py.import("numpy")?;
        let motor: Array<'py> = numpy.call_method("asarray", (motor,), Some(&like))?.cast_into()?;
        let new = || -> PyResult<Array<'py>> {
            Ok(numpy.call_method1("empty_like", (&motor,))?.cast_into()?)
        };
        let found = (new()?, new()?, new()?);
        let motor = motor.readonly();
        let (mut joint, mut ratio, mut angle) =
            (found.0.readwrite(), found.1.readwrite(), found.2.readwrite());
        let turns = Turns {
            motor: motor.as_slice()?,
            joint: joint.as_slice_mut()?,
            velocity_ratio: ratio.as_slice_mut()?,
            transmission_angle: angle.as_slice_mut()?,
        };
        released(py, || {
            self.branch.solve(turns);
            Ok(())
        })?;
        drop((joint, ratio, angle));
        Ok(found)
    }

    fn __repr__(&self) -> String {
        let FourBar { ground, crank, coupler, rocker } = *self.branch.bars();
        let (zero, closure) = (self.branch.zero_crank(), self.branch.closure().name());
        format!(
            "Linkage({ground}, {crank}, {coupler}, {rocker}, zero_crank={zero}, closure={closure:?})"
        )
    }
}

/// The first `n` builds within the drawn tolerances of those that `tolerance` counts for the same seed, as a dict of
/// arrays of length n.
///
/// `crank_m`, `coupler_m`, `rocker_m`, `ground_m`, `zero_crank_error_rad`: what was built. `closes`, `angle_error_rad`,
/// `ratio_error`, `transmission_angle_rad`: how far the emitted direct joint is off at worst, and the smallest
/// transmission angle. `ratio`, `zero_offset_rad`, `joint_lower_rad`, `joint_upper_rad`: the direct joint of this very
/// build and where its stroke ends, NaN where it has none; `armature_kg_m2`, where the design has the rotor's.
#[pyfunction]
#[pyo3(signature = (design, n, seed = 1, *, distribution = "normal", progress = None))]
pub(crate) fn builds<'py>(
    design: &Bound<'py, PyAny>,
    n: u64,
    seed: u64,
    distribution: &str,
    progress: Option<Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyDict>> {
    let py = design.py();
    let (request, read) = (request(n, seed, distribution)?, Read::of(py, design)?);
    let found = watched(py, progress.as_ref(), n, |go_on| {
        read.study(study::builds(&read.design, &request, go_on))
    })?;
    let dict = PyDict::new(py);
    let closes: Vec<bool> = found.builds.iter().map(|build| build.closes).collect();
    dict.set_item("closes", PyArray1::from_vec(py, closes))?;
    for (key, figure) in FIGURES {
        let row: Vec<f64> = found.builds.iter().map(figure).collect();
        dict.set_item(key, PyArray1::from_vec(py, row))?;
    }
    if let Some(armatures) = armatures(&found) {
        dict.set_item("armature_kg_m2", PyArray1::from_vec(py, armatures))?;
    }
    Ok(dict)
}

type Figure = fn(&DrawnBuild) -> f64;

const FIGURES: [(&str, Figure); 12] = [
    ("crank_m", |build| build.bars.crank),
    ("coupler_m", |build| build.bars.coupler),
    ("rocker_m", |build| build.bars.rocker),
    ("ground_m", |build| build.bars.ground),
    ("zero_crank_error_rad", |build| build.crank_error),
    ("angle_error_rad", |build| build.angle_error),
    ("ratio_error", |build| build.ratio_error),
    ("transmission_angle_rad", |build| build.transmission_angle),
    ("ratio", |build| build.own.map_or(f64::NAN, |own| own.ratio)),
    ("zero_offset_rad", |build| build.own.map_or(f64::NAN, |own| own.offset)),
    ("joint_lower_rad", |build| build.own.map_or(f64::NAN, |own| own.limits[0])),
    ("joint_upper_rad", |build| build.own.map_or(f64::NAN, |own| own.limits[1])),
];

fn armatures(found: &DrawnBuilds) -> Option<Vec<f64>> {
    let inertia = found.rotor_at_crank?;
    let of = |build: &DrawnBuild| build.own.map_or(f64::NAN, |own| inertia * own.ratio * own.ratio);
    Some(found.builds.iter().map(of).collect())
}
