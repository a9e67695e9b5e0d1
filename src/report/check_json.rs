//! `check --json`, schema `unloop/check/1`: SI, the unit in the field's name, what is infinite or unknown as null.

use serde::Serialize;
use serde_json::Value;

use crate::dynamics::Fidelity;
use crate::equivalence::{Assessment, Basis, Figure};
use crate::linkage::Closure;
use crate::study::{
    Check, DriveInertia, InertiaFindings, Limit, LinkInertia, LinkageFacts, RatioRange, Readings,
    note,
};

use super::words::{outcome_word, verdict_word};

#[derive(Serialize)]
struct CheckJson<'a> {
    schema: &'static str,
    design: &'a str,
    verdict: &'static str,
    reason: &'a str,
    basis: &'static str,
    proved: bool,
    linkage: LinkageJson,
    zero: ZeroJson,
    stroke: StrokeJson,
    direct_joint: DirectJointJson,
    transmission_ratio: RatioJson,
    angle_error: AngleErrorJson,
    transmission_angle: TransmissionJson,
    crank_limit: MotorLimitJson,
    change_point: MotorLimitJson,
    criteria: Vec<CriterionJson>,
    witness: Option<WitnessJson>,
    proved_joint_rad: Option<[f64; 2]>,
    undecided_joint_rad: &'a [[f64; 2]],
    largest_symmetric_tolerance_m: Option<f64>,
    largest_stroke_joint_rad: Option<[f64; 2]>,
    rocker_limit: JointLimitJson,
    swing_joint_rad: [Option<f64>; 2],
    axial_offsets_m: Option<[f64; 3]>,
    inertia: Option<InertiaJson>,
    advice: Option<AdviceJson>,
    not_used: &'a [&'static str],
    warnings: Vec<WarningJson<'a>>,
}

#[derive(Serialize)]
struct LinkageJson {
    kind: &'static str,
    class: &'static str,
    closure: &'static str,
    ground_m: f64,
    crank_m: f64,
    coupler_m: f64,
    rocker_m: f64,
    near_kind: Option<&'static str>,
    near_kind_off: Option<f64>,
}

#[derive(Serialize)]
struct ZeroJson {
    crank_rad: f64,
    rocker_rad: f64,
}

#[derive(Serialize)]
struct StrokeJson {
    motor_rad: [f64; 2],
    joint_rad: [f64; 2],
}

#[derive(Serialize)]
struct DirectJointJson {
    ratio: f64,
    offset_rad: f64,
}

#[derive(Serialize)]
struct RatioJson {
    min: Option<f64>,
    max: Option<f64>,
    mean: f64,
    worst_error: Option<f64>,
    worst_at_joint_rad: f64,
}

#[derive(Serialize)]
struct AngleErrorJson {
    max_rad: f64,
    at_joint_rad: f64,
}

#[derive(Serialize)]
struct TransmissionJson {
    min_rad: f64,
    at_joint_rad: f64,
}

#[derive(Serialize)]
struct MotorLimitJson {
    motor_rad: Option<f64>,
    margin_rad: Option<f64>,
}

#[derive(Serialize)]
struct JointLimitJson {
    joint_rad: Option<f64>,
    margin_rad: Option<f64>,
}

#[derive(Serialize)]
struct CriterionJson {
    name: &'static str,
    unit: &'static str,
    limit: f64,
    nominal: Option<f64>,
    worst_at_joint_rad: Option<f64>,
    margin: Option<f64>,
    tolerance_bound: Option<f64>,
    nominal_bound: Option<f64>,
    outcome: &'static str,
    proved: bool,
    note: Option<String>,
}

/// `error` is the criterion's figure, over the motions named, of the drive that decides; figures of a model are null where
/// none has real bodies.
#[derive(Serialize)]
struct InertiaJson {
    over: Option<&'static str>,
    error: Option<f64>,
    at_joint_rad: Option<f64>,
    bound: Option<f64>,
    each: Vec<DriveJson>,
    together: Vec<LinkJson>,
    carrier_fixed: Option<f64>,
    planar: Option<f64>,
    spatial: Option<f64>,
    planar_with_carried: Option<f64>,
    spatial_with_carried: Option<f64>,
    gravity_torque_error_n_m: Option<f64>,
    motion_torque_error_n_m: Option<f64>,
    armature_kg_m2: ArmatureJson,
    counterweight_missing_kg_m: Option<[f64; 2]>,
    shortcuts: Vec<ShortcutJson>,
    left_out: Vec<&'static str>,
}

/// One joint that is built from the drawing.
#[derive(Serialize)]
struct DriveJson {
    joint: Option<String>,
    error: f64,
    bound: Option<f64>,
    armature_kg_m2: f64,
}

/// All joints on one link, moving at once.
#[derive(Serialize)]
struct LinkJson {
    link: String,
    joints: Vec<String>,
    over: &'static str,
    error: f64,
}

#[derive(Serialize)]
struct ArmatureJson {
    split: Option<f64>,
    plain: f64,
}

#[derive(Serialize)]
struct ShortcutJson {
    model: &'static str,
    carrier_fixed: f64,
    planar: Option<f64>,
    spatial: Option<f64>,
    gravity_torque_error_n_m: f64,
}

fn on_link(all: &LinkInertia) -> LinkJson {
    LinkJson {
        link: all.link.clone(),
        joints: all.joints.clone(),
        over: all.over.name(),
        error: all.error,
    }
}

fn drive(drive: &DriveInertia) -> DriveJson {
    DriveJson {
        joint: drive.joint.clone(),
        error: drive.error.value,
        bound: drive.bound,
        armature_kg_m2: drive.replacement.tree.armature,
    }
}

fn inertia(found: &InertiaFindings) -> InertiaJson {
    let decisive = found.decisive();
    let value = |e: Option<crate::linkage::Extreme>| e.map(|e| e.value);
    let figure = |of: fn(&Fidelity) -> Option<crate::linkage::Extreme>| {
        decisive.and_then(|d| value(of(&d.fidelity)))
    };
    InertiaJson {
        over: decisive.map(|d| d.over.name()),
        error: decisive.map(|d| d.error.value),
        at_joint_rad: decisive.map(|d| d.error.at_joint),
        bound: decisive.and_then(|d| d.bound),
        each: found.drives.iter().flatten().map(drive).collect(),
        together: found.together.iter().map(on_link).collect(),
        carrier_fixed: figure(|f| Some(f.fixed)),
        planar: figure(|f| f.planar),
        spatial: figure(|f| f.spatial),
        planar_with_carried: figure(|f| f.planar_carried),
        spatial_with_carried: figure(|f| f.spatial_carried),
        gravity_torque_error_n_m: figure(|f| Some(f.gravity_torque)),
        motion_torque_error_n_m: value(found.torque_error),
        armature_kg_m2: ArmatureJson {
            split: decisive.map(|d| d.replacement.tree.armature),
            plain: found.plain_armature,
        },
        counterweight_missing_kg_m: found.counterweight.map(|c| c.missing()),
        shortcuts: found
            .shortcuts
            .iter()
            .map(|s| ShortcutJson {
                model: s.shortcut.name(),
                carrier_fixed: s.fidelity.fixed.value,
                planar: value(s.fidelity.planar),
                spatial: value(s.fidelity.spatial),
                gravity_torque_error_n_m: s.fidelity.gravity_torque.value,
            })
            .collect(),
        left_out: found.left_out.clone(),
    }
}

#[derive(Serialize)]
struct WitnessJson {
    criterion: &'static str,
    value: f64,
    ground_m: f64,
    crank_m: f64,
    coupler_m: f64,
    rocker_m: f64,
    zero_crank_error_rad: f64,
    motor_rad: f64,
}

#[derive(Serialize)]
struct AdviceJson {
    first_to_fail: &'static str,
    enough_joint_rad: Option<[f64; 2]>,
    enough_share: Option<f64>,
    change: Option<ChangeJson>,
}

#[derive(Serialize)]
struct ChangeJson {
    length: &'static str,
    to_m: f64,
    angle_error_rad: f64,
    ratio_error: f64,
    transmission_angle_rad: f64,
    enough: bool,
}

#[derive(Serialize)]
struct WarningJson<'a> {
    code: &'static str,
    message: &'a str,
}

fn basis_word(basis: Basis) -> &'static str {
    match basis {
        Basis::Nominal => "nominal",
        Basis::Tolerance => "tolerance",
    }
}

fn linkage(facts: &LinkageFacts) -> LinkageJson {
    LinkageJson {
        kind: facts.kind.name(),
        class: facts.class.name(),
        closure: match facts.closure {
            Closure::Open => "open",
            Closure::Crossed => "crossed",
        },
        ground_m: facts.bars.ground,
        crank_m: facts.bars.crank,
        coupler_m: facts.bars.coupler,
        rocker_m: facts.bars.rocker,
        near_kind: facts.near.map(|n| n.0.name()),
        near_kind_off: facts.near.map(|n| n.1),
    }
}

fn motor_limit(limit: Option<Limit>) -> MotorLimitJson {
    MotorLimitJson { motor_rad: limit.map(|l| l.at), margin_rad: limit.map(|l| l.margin) }
}

fn criteria(check: &Check) -> Vec<CriterionJson> {
    let bound = |c: &Assessment, basis| c.bound_over(basis).map(Figure::value);
    let one = |c: &Assessment| CriterionJson {
        name: c.criterion.name(),
        unit: c.criterion.unit().name(),
        limit: c.limit,
        nominal: c.nominal.map(Figure::value),
        worst_at_joint_rad: c.worst_at_joint,
        margin: c.margin(),
        tolerance_bound: bound(c, Basis::Tolerance),
        nominal_bound: bound(c, Basis::Nominal),
        outcome: outcome_word(c.outcome),
        proved: c.is_proved(),
        note: note(c),
    };
    check.criteria.iter().map(one).collect()
}

/// Lengths and pose that break a criterion; the value is null where the loop does not close.
fn witness(check: &Check) -> Option<WitnessJson> {
    check.witness.map(|(criterion, w)| WitnessJson {
        criterion: criterion.name(),
        value: w.value,
        ground_m: w.bars.ground,
        crank_m: w.bars.crank,
        coupler_m: w.bars.coupler,
        rocker_m: w.bars.rocker,
        zero_crank_error_rad: w.crank_error,
        motor_rad: w.turn,
    })
}

fn advice(check: &Check) -> Option<AdviceJson> {
    let advice = check.advice.as_ref()?;
    Some(AdviceJson {
        first_to_fail: advice.first_to_fail.name(),
        enough_joint_rad: advice.enough.map(|e| e.0),
        enough_share: advice.enough.map(|e| e.1),
        change: advice.change.map(|c| ChangeJson {
            length: c.length.name(),
            to_m: c.to,
            angle_error_rad: c.figures.angle.value,
            ratio_error: c.figures.ratio.value,
            transmission_angle_rad: c.figures.transmission_angle.value,
            enough: c.load <= 1.0,
        }),
    })
}

/// One design's findings as a JSON value.
///
/// # Errors
/// None that a finding can cause; serialisation to a value is total for these types.
pub fn check_json(check: &Check) -> serde_json::Result<serde_json::Value> {
    let RatioRange { ends, mean, worst_error, worst_at_joint } = check.transmission_ratio;
    let mut value = serde_json::to_value(CheckJson {
        schema: "unloop/check/1",
        design: &check.design,
        verdict: verdict_word(check.verdict),
        reason: &check.reason,
        basis: basis_word(check.basis),
        proved: check.proved,
        linkage: linkage(&check.linkage),
        zero: ZeroJson { crank_rad: check.zero.crank, rocker_rad: check.zero.rocker },
        stroke: StrokeJson { motor_rad: check.stroke.motor, joint_rad: check.stroke.joint },
        direct_joint: DirectJointJson {
            ratio: check.direct_joint.ratio,
            offset_rad: check.direct_joint.offset,
        },
        transmission_ratio: RatioJson {
            min: ends.map(|e| e[0]),
            max: ends.map(|e| e[1]),
            mean,
            worst_error: worst_error.map(|e| e.value),
            worst_at_joint_rad: worst_at_joint,
        },
        angle_error: AngleErrorJson {
            max_rad: check.angle_error.value,
            at_joint_rad: check.angle_error.at_joint,
        },
        transmission_angle: TransmissionJson {
            min_rad: check.transmission_angle.value,
            at_joint_rad: check.transmission_angle.at_joint,
        },
        crank_limit: motor_limit(check.crank_limit),
        change_point: motor_limit(check.change_point),
        criteria: criteria(check),
        witness: witness(check),
        proved_joint_rad: check.proved_joint,
        undecided_joint_rad: &check.undecided_joint,
        largest_symmetric_tolerance_m: check.extremes.symmetric_tolerance,
        largest_stroke_joint_rad: check.extremes.stroke_joint,
        rocker_limit: JointLimitJson {
            joint_rad: check.rocker_limit.map(|l| l.at),
            margin_rad: check.rocker_limit.map(|l| l.margin),
        },
        swing_joint_rad: check.swing.map(|x| x.is_finite().then_some(x)),
        axial_offsets_m: check.axial_offsets,
        inertia: check.inertia.as_ref().map(inertia),
        advice: advice(check),
        not_used: &check.unused,
        warnings: check
            .warnings
            .iter()
            .map(|w| WarningJson { code: w.code.name(), message: &w.message })
            .collect(),
    })?;
    add_readings(&mut value, &check.readings);
    Ok(value)
}

/// Beside every `…joint_rad` and `…motor_rad`, which are turns, a `…_reading_rad` of the same form.
fn add_readings(value: &mut Value, readings: &Readings) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(|item| add_readings(item, readings)),
        Value::Object(object) => {
            object.values_mut().for_each(|item| add_readings(item, readings));
            let read: Vec<(String, Value)> = object
                .iter()
                .filter_map(|(key, turns)| {
                    let stem = key.strip_suffix("_rad")?;
                    let reading: fn(&Readings, f64) -> f64 =
                        if stem.ends_with("joint") { Readings::joint } else { Readings::motor };
                    let is_turn = stem.ends_with("joint") || stem.ends_with("motor");
                    let read = is_turn.then(|| each(turns, &|turn| reading(readings, turn)))?;
                    Some((format!("{stem}_reading_rad"), read))
                })
                .collect();
            object.extend(read);
        }
        _ => {}
    }
}

/// The same form with every number changed by `by`.
fn each(value: &Value, by: &dyn Fn(f64) -> f64) -> Value {
    match value {
        Value::Array(items) => items.iter().map(|item| each(item, by)).collect(),
        Value::Number(number) => number.as_f64().map_or(Value::Null, |x| Value::from(by(x))),
        other => other.clone(),
    }
}
