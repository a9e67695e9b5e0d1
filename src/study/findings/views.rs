//! Findings whose JSON has another shape than they have: each shape once, and how it is made.

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use crate::dynamics::{Fidelity, Replacement, ShortcutCost};
use crate::equivalence::{Assessment, Basis, Criterion, LengthName, Outcome};
use crate::linkage::{Extreme, Kind};
use crate::tolerance::{Deviation, Varied};

use super::super::notes::note;
use super::super::readings::Beside;
use super::{BrokenBy, InertiaFindings, Limit, Located};

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

shapes! {
    pub(in crate::study) fn largest(Located as x) =
        json!({ "max_rad": x.value, "at_joint_rad": x.at_joint });

    pub(super) fn largest_if_any(Option<Located> as x) =
        json!({ "max_rad": x.map(|x| x.value), "at_joint_rad": x.map(|x| x.at_joint) });

    pub(in crate::study) fn smallest(Option<Located> as x) =
        json!({ "min_rad": x.map(|x| x.value), "at_joint_rad": x.map(|x| x.at_joint) });

    pub(in crate::study) fn value_alone(Located as x) = x.value;

    pub(in crate::study) fn value_if_any(Option<Located> as x) = x.map(|x| x.value);

    pub(in crate::study) fn motor_limit(Option<Limit> as limit) =
        json!({ "motor_rad": limit.map(|l| l.at), "margin_rad": limit.map(|l| l.margin) });

    pub(in crate::study) fn joint_limit(Option<Limit> as limit) =
        json!({ "joint_rad": limit.map(|l| l.at), "margin_rad": limit.map(|l| l.margin) });

    /// Of a ratio; what is infinite is null.
    pub(in crate::study) fn ends(Option<[f64; 2]> as ends) = Ends::of(*ends);

    pub(in crate::study) fn low_high([f64; 2] as [low, high]) =
        json!({ "low": low, "high": high });

    pub(in crate::study) fn normal(Option<[f64; 2]> as normal) =
        json!({ "mean": normal.map(|n| n[0]), "standard_deviation": normal.map(|n| n[1]) });
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

/// What came out for one criterion of a joint.
pub(super) fn judged(one: &Assessment) -> Value {
    json!({
        "name": one.criterion,
        "unit": one.criterion.unit(),
        "limit": one.limit,
        "nominal": one.nominal,
        "worst_at_joint_rad": one.worst_at_joint,
        "worst_at_motor_rad": one.worst_at_motor,
        "margin": one.margin(),
        "tolerance_bound": one.bound_over(Basis::Tolerance),
        "nominal_bound": one.bound_over(Basis::Nominal),
        "outcome": one.outcome,
        "proved": one.is_proved(),
        "note": note(one),
    })
}

#[derive(Serialize)]
struct Broken<'a> {
    criterion: Criterion,
    #[serde(flatten)]
    by: &'a BrokenBy,
}

shapes! {
    pub(in crate::study) fn near(Option<(Kind, f64)> as near) = Near::of(*near);

    pub(in crate::study) fn criteria([Assessment] as criteria) =
        criteria.iter().map(judged).collect::<Value>();

    pub(in crate::study) fn witness(Option<(Criterion, BrokenBy)> as witness) =
        witness.as_ref().map(|(criterion, by)| Broken { criterion: *criterion, by });

    pub(in crate::study) fn enough(Option<([f64; 2], f64)> as enough) =
        json!({ "enough_joint_rad": enough.map(|e| e.0), "enough_share": enough.map(|e| e.1) });

    pub(in crate::study) fn with_proof(Outcome as outcome) = json!({
        "outcome": outcome,
        "proved": matches!(outcome, Outcome::Holds | Outcome::Fails),
    });
}

// Inertia

/// Errors of one model that may stand in; null where none has real bodies.
fn errors(of: Option<&Fidelity>) -> Value {
    json!({
        "carrier_fixed": of.map(|f| f.fixed.value),
        "planar": of.and_then(|f| value(f.planar)),
        "spatial": of.and_then(|f| value(f.spatial)),
        "gravity_torque_error_n_m": of.map(|f| f.gravity_torque.value),
    })
}

fn value(figure: Option<Extreme>) -> Option<f64> {
    figure.map(|f| f.value)
}

#[derive(Serialize)]
struct WithErrors<T> {
    #[serde(flatten)]
    of: T,
    #[serde(flatten)]
    errors: Value,
}

fn shortened(cost: &ShortcutCost) -> WithErrors<Value> {
    let model = cost.shortcut.name();
    WithErrors { of: json!({ "model": model }), errors: errors(Some(&cost.fidelity)) }
}

impl Serialize for InertiaFindings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let decisive = self.decisive();
        let fidelity = decisive.map(|d| &d.fidelity);
        let of = json!({
            "over": decisive.map(|d| d.over.name()),
            "error": decisive.map(|d| d.error.value),
            "at_joint_rad": decisive.map(|d| d.error.at_joint),
            "bound": decisive.and_then(|d| d.bound),
            "each": self.drives.as_deref().unwrap_or_default(),
            "together": self.together,
            "planar_with_carried": fidelity.and_then(|f| value(f.planar_carried)),
            "spatial_with_carried": fidelity.and_then(|f| value(f.spatial_carried)),
            "motion_torque_error_n_m": value(self.torque_error),
            "armature_kg_m2": {
                "split": decisive.map(|d| d.replacement.tree.armature),
                "plain": self.plain_armature,
            },
            "counterweight_missing_kg_m": self.counterweight.map(|c| c.missing()),
            "shortcuts": self.shortcuts.iter().map(shortened).collect::<Vec<_>>(),
            "left_out": self.left_out,
        });
        WithErrors { of, errors: errors(fidelity) }.serialize(serializer)
    }
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

fn limited(limits: &[(Criterion, f64)]) -> Value {
    let of = |criterion| limits.iter().find(|(c, _)| *c == criterion).map(|(_, limit)| *limit);
    json!({
        "angle_rad": of(Criterion::Angle),
        "ratio": of(Criterion::Ratio),
        "tilt_rad": of(Criterion::Tilt),
        "shift_m": of(Criterion::Shift),
        "opening_m": of(Criterion::Opening),
        "grip": of(Criterion::Grip),
        "transmission_angle_rad": of(Criterion::TransmissionAngle),
    })
}

shapes! {
    pub(in crate::study) fn armature(Replacement as replacement) = replacement.tree.armature;

    pub(in crate::study) fn deviations([(Varied, Deviation)] as all) = all
        .iter()
        .map(|&(name, deviation)| Deviates { name, unit: name.unit(), deviation })
        .collect::<Vec<_>>();

    pub(in crate::study) fn limits([(Criterion, f64)] as limits) = limited(limits);

    pub(in crate::study) fn each_alone([(LengthName, Option<f64>)] as all) = all
        .iter()
        .map(|(length, tolerance)| json!({ "length": length, "tolerance_m": tolerance }))
        .collect::<Value>();
}
