//! Findings whose JSON has another shape than they have: each shape once, and how it is made.

use serde::{Serialize, Serializer};
use serde_json::Value;

use crate::dynamics::{Fidelity, Replacement, ShortcutCost};
use crate::equivalence::{Assessment, Basis, Criterion, Figure, LengthName, Outcome, Unit};
use crate::linkage::{Extreme, Kind};
use crate::tolerance::{Deviation, Varied};

use super::super::notes::note;
use super::super::readings::Beside;
use super::{BrokenBy, DriveInertia, InertiaFindings, Limit, LinkInertia, Located};

// What stands beside

/// `value` with, beside every key that `other` knows, a value of the same form under another key. What cannot be
/// serialised is null: none of the findings.
pub(in crate::study) fn with_beside<'a>(
    value: serde_json::Result<Value>,
    other: &dyn Fn(&str) -> Option<Beside<'a>>,
) -> Value {
    let mut value = value.unwrap_or_default();
    write_beside(&mut value, other);
    value
}

fn write_beside<'a>(value: &mut Value, other: &dyn Fn(&str) -> Option<Beside<'a>>) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(|item| write_beside(item, other)),
        Value::Object(object) => {
            object.values_mut().for_each(|item| write_beside(item, other));
            let more: Vec<(String, Value)> = object
                .iter()
                .filter_map(|(key, numbers)| {
                    let (name, by) = other(key)?;
                    Some((name, changed(numbers, &by)))
                })
                .collect();
            object.extend(more);
        }
        _ => {}
    }
}

/// The same form with every number changed by `by`.
pub(super) fn changed(value: &Value, by: &dyn Fn(f64) -> f64) -> Value {
    match value {
        Value::Array(items) => items.iter().map(|item| changed(item, by)).collect(),
        Value::Number(number) => number.as_f64().map_or(Value::Null, |x| Value::from(by(x))),
        other => other.clone(),
    }
}

/// Of a pad on the coupler nothing is held against a direct joint; it has one where a hinge at the joint axis stands in.
pub(in crate::study) fn without_joint(check: &mut Value, keeps_joint: bool) {
    let joint = (!keeps_joint).then_some("/direct_joint");
    for place in joint.into_iter().chain(["/angle_error", "/transmission_ratio/worst_error"]) {
        if let Some(value) = check.pointer_mut(place) {
            *value = Value::Null;
        }
    }
}

// Figures and their places

#[derive(Serialize)]
struct Largest {
    max_rad: f64,
    at_joint_rad: f64,
}

pub(in crate::study) fn largest<S: Serializer>(
    x: &Located,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    Largest { max_rad: x.value, at_joint_rad: x.at_joint }.serialize(serializer)
}

#[derive(Serialize)]
struct Smallest {
    min_rad: Option<f64>,
    at_joint_rad: Option<f64>,
}

pub(in crate::study) fn smallest<S: Serializer>(
    x: &Option<Located>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let [min_rad, at_joint_rad] = [x.map(|x| x.value), x.map(|x| x.at_joint)];
    Smallest { min_rad, at_joint_rad }.serialize(serializer)
}

pub(in crate::study) fn value_alone<S: Serializer>(
    x: &Located,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    x.value.serialize(serializer)
}

pub(in crate::study) fn value_if_any<S: Serializer>(
    figure: &Option<Located>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    figure.map(|f| f.value).serialize(serializer)
}

#[derive(Serialize)]
struct MotorLimit {
    motor_rad: Option<f64>,
    margin_rad: Option<f64>,
}

pub(in crate::study) fn motor_limit<S: Serializer>(
    limit: &Option<Limit>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let [motor_rad, margin_rad] = [limit.map(|l| l.at), limit.map(|l| l.margin)];
    MotorLimit { motor_rad, margin_rad }.serialize(serializer)
}

#[derive(Serialize)]
struct JointLimit {
    joint_rad: Option<f64>,
    margin_rad: Option<f64>,
}

pub(in crate::study) fn joint_limit<S: Serializer>(
    limit: &Option<Limit>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let [joint_rad, margin_rad] = [limit.map(|l| l.at), limit.map(|l| l.margin)];
    JointLimit { joint_rad, margin_rad }.serialize(serializer)
}

/// Of a ratio; what is infinite is null.
#[derive(Serialize)]
pub(crate) struct Ends {
    min: Option<f64>,
    max: Option<f64>,
}

impl Ends {
    pub(crate) fn of(ends: Option<[f64; 2]>) -> Self {
        Self { min: ends.map(|e| e[0]), max: ends.map(|e| e[1]) }
    }
}

pub(in crate::study) fn ends<S: Serializer>(
    ends: &Option<[f64; 2]>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    Ends::of(*ends).serialize(serializer)
}

// The linkage and the verdict

#[derive(Serialize)]
pub(crate) struct Near {
    near_kind: Option<Kind>,
    near_kind_off: Option<f64>,
}

impl Near {
    pub(crate) fn of(near: Option<(Kind, f64)>) -> Self {
        let (near_kind, near_kind_off) = near.unzip();
        Self { near_kind, near_kind_off }
    }
}

pub(in crate::study) fn near<S: Serializer>(
    near: &Option<(Kind, f64)>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    Near::of(*near).serialize(serializer)
}

#[derive(Serialize)]
pub(super) struct Judged {
    name: Criterion,
    unit: Unit,
    limit: f64,
    nominal: Option<Figure>,
    worst_at_joint_rad: Option<f64>,
    worst_at_motor_rad: Option<f64>,
    margin: Option<f64>,
    tolerance_bound: Option<Figure>,
    nominal_bound: Option<Figure>,
    outcome: Outcome,
    proved: bool,
    note: Option<String>,
}

impl Judged {
    pub(super) fn of(one: &Assessment) -> Self {
        Self {
            name: one.criterion,
            unit: one.criterion.unit(),
            limit: one.limit,
            nominal: one.nominal,
            worst_at_joint_rad: one.worst_at_joint,
            worst_at_motor_rad: one.worst_at_motor,
            margin: one.margin(),
            tolerance_bound: one.bound_over(Basis::Tolerance),
            nominal_bound: one.bound_over(Basis::Nominal),
            outcome: one.outcome,
            proved: one.is_proved(),
            note: note(one),
        }
    }
}

pub(in crate::study) fn criteria<S: Serializer>(
    criteria: &[Assessment],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(criteria.iter().map(Judged::of))
}

#[derive(Serialize)]
struct Broken<'a> {
    criterion: Criterion,
    #[serde(flatten)]
    by: &'a BrokenBy,
}

pub(in crate::study) fn witness<S: Serializer>(
    witness: &Option<(Criterion, BrokenBy)>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    witness
        .as_ref()
        .map(|(criterion, by)| Broken { criterion: *criterion, by })
        .serialize(serializer)
}

#[derive(Serialize)]
struct Enough {
    enough_joint_rad: Option<[f64; 2]>,
    enough_share: Option<f64>,
}

pub(in crate::study) fn enough<S: Serializer>(
    enough: &Option<([f64; 2], f64)>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let (enough_joint_rad, enough_share) = enough.unzip();
    Enough { enough_joint_rad, enough_share }.serialize(serializer)
}

// Inertia

/// Figures of a model are null where none has real bodies.
#[derive(Serialize)]
struct Weighed<'a> {
    over: Option<&'static str>,
    error: Option<f64>,
    at_joint_rad: Option<f64>,
    bound: Option<f64>,
    each: &'a [DriveInertia],
    together: &'a [LinkInertia],
    #[serde(flatten)]
    errors: ModelErrors,
    planar_with_carried: Option<f64>,
    spatial_with_carried: Option<f64>,
    motion_torque_error_n_m: Option<f64>,
    armature_kg_m2: Armature,
    counterweight_missing_kg_m: Option<[f64; 2]>,
    shortcuts: Vec<Shortened>,
    left_out: &'a [&'static str],
}

/// Of one model that may stand in.
#[derive(Default, Serialize)]
struct ModelErrors {
    carrier_fixed: Option<f64>,
    planar: Option<f64>,
    spatial: Option<f64>,
    gravity_torque_error_n_m: Option<f64>,
}

#[derive(Serialize)]
struct Armature {
    split: Option<f64>,
    plain: f64,
}

#[derive(Serialize)]
struct Shortened {
    model: &'static str,
    #[serde(flatten)]
    errors: ModelErrors,
}

fn value(figure: Option<Extreme>) -> Option<f64> {
    figure.map(|f| f.value)
}

impl ModelErrors {
    fn of(fidelity: &Fidelity) -> Self {
        Self {
            carrier_fixed: Some(fidelity.fixed.value),
            planar: value(fidelity.planar),
            spatial: value(fidelity.spatial),
            gravity_torque_error_n_m: Some(fidelity.gravity_torque.value),
        }
    }
}

fn shortened(cost: &ShortcutCost) -> Shortened {
    Shortened { model: cost.shortcut.name(), errors: ModelErrors::of(&cost.fidelity) }
}

impl Serialize for InertiaFindings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let decisive = self.decisive();
        let fidelity = decisive.map(|d| &d.fidelity);
        Weighed {
            over: decisive.map(|d| d.over.name()),
            error: decisive.map(|d| d.error.value),
            at_joint_rad: decisive.map(|d| d.error.at_joint),
            bound: decisive.and_then(|d| d.bound),
            each: self.drives.as_deref().unwrap_or_default(),
            together: &self.together,
            errors: fidelity.map(ModelErrors::of).unwrap_or_default(),
            planar_with_carried: fidelity.and_then(|f| value(f.planar_carried)),
            spatial_with_carried: fidelity.and_then(|f| value(f.spatial_carried)),
            motion_torque_error_n_m: value(self.torque_error),
            armature_kg_m2: Armature {
                split: decisive.map(|d| d.replacement.tree.armature),
                plain: self.plain_armature,
            },
            counterweight_missing_kg_m: self.counterweight.map(|c| c.missing()),
            shortcuts: self.shortcuts.iter().map(shortened).collect(),
            left_out: &self.left_out,
        }
        .serialize(serializer)
    }
}

pub(in crate::study) fn armature<S: Serializer>(
    replacement: &Replacement,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    replacement.tree.armature.serialize(serializer)
}

// Tolerance

#[derive(Serialize)]
struct Deviates {
    #[serde(flatten)]
    name: Varied,
    unit: &'static str,
    #[serde(flatten)]
    deviation: Deviation,
}

pub(in crate::study) fn deviations<S: Serializer>(
    all: &[(Varied, Deviation)],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let one = |&(name, deviation): &_| Deviates { name, unit: name.unit(), deviation };
    serializer.collect_seq(all.iter().map(one))
}

#[derive(Serialize)]
struct Limited {
    angle_rad: Option<f64>,
    ratio: Option<f64>,
    tilt_rad: Option<f64>,
    shift_m: Option<f64>,
    opening_m: Option<f64>,
    grip: Option<f64>,
    transmission_angle_rad: Option<f64>,
}

pub(in crate::study) fn limits<S: Serializer>(
    limits: &[(Criterion, f64)],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let of = |criterion| limits.iter().find(|(c, _)| *c == criterion).map(|(_, limit)| *limit);
    let limited = Limited {
        angle_rad: of(Criterion::Angle),
        ratio: of(Criterion::Ratio),
        tilt_rad: of(Criterion::Tilt),
        shift_m: of(Criterion::Shift),
        opening_m: of(Criterion::Opening),
        grip: of(Criterion::Grip),
        transmission_angle_rad: of(Criterion::TransmissionAngle),
    };
    limited.serialize(serializer)
}

#[derive(Serialize)]
struct Alone {
    length: LengthName,
    tolerance_m: Option<f64>,
}

pub(in crate::study) fn each_alone<S: Serializer>(
    all: &[(LengthName, Option<f64>)],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(all.iter().map(|&(length, tolerance_m)| Alone { length, tolerance_m }))
}

#[derive(Serialize)]
struct CameOut {
    outcome: Outcome,
    proved: bool,
}

pub(in crate::study) fn with_proof<S: Serializer>(
    outcome: &Outcome,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let proved = matches!(outcome, Outcome::Holds | Outcome::Fails);
    CameOut { outcome: *outcome, proved }.serialize(serializer)
}

#[derive(Serialize)]
struct LowHigh {
    low: f64,
    high: f64,
}

pub(in crate::study) fn low_high<S: Serializer>(
    &[low, high]: &[f64; 2],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    LowHigh { low, high }.serialize(serializer)
}

#[derive(Serialize)]
struct Normal {
    mean: Option<f64>,
    standard_deviation: Option<f64>,
}

pub(in crate::study) fn normal<S: Serializer>(
    normal: &Option<[f64; 2]>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    let [mean, standard_deviation] = [normal.map(|n| n[0]), normal.map(|n| n[1])];
    Normal { mean, standard_deviation }.serialize(serializer)
}
