//! The tables and keys that a design file may hold, by the kind of its drive.

use crate::diagnostic::nearest_word;
use crate::drive::Kind;
use crate::units::clipped;

/// Kinds that read a key.
type Kinds = &'static [Kind];

const ONE_JOINT: Kinds = &[
    Kind::FourBar,
    Kind::BallRod,
    Kind::LinearActuator,
    Kind::Slider,
    Kind::FixedRatio,
    Kind::Series,
];
const EVERY: Kinds = &Kind::ALL;
const TWO_RODS: Kinds = &[Kind::TwoRods];
const FOUR_BAR: Kinds = &[Kind::FourBar];
const BALL_ROD: Kinds = &[Kind::BallRod];
const ACTUATOR: Kinds = &[Kind::LinearActuator];
const SLIDER: Kinds = &[Kind::Slider];
const RATIO: Kinds = &[Kind::FixedRatio];
const SERIES: Kinds = &[Kind::Series];
const WITH_CRANK: Kinds = &[Kind::FourBar, Kind::BallRod];
const WITH_SCREW: Kinds = &[Kind::LinearActuator, Kind::Slider];
const WITH_PUSH_ROD: Kinds = &[Kind::FourBar, Kind::BallRod, Kind::Slider];
const WITH_PINS: Kinds = &[Kind::FourBar, Kind::BallRod, Kind::LinearActuator, Kind::Slider];
const WITH_TOLERANCE: Kinds =
    &[Kind::FourBar, Kind::BallRod, Kind::LinearActuator, Kind::Slider, Kind::TwoRods];
const WITH_POINTS: Kinds = &[Kind::BallRod, Kind::LinearActuator, Kind::Slider];
const WITH_RODS: Kinds =
    &[Kind::FourBar, Kind::BallRod, Kind::LinearActuator, Kind::Slider, Kind::Series];
const WITH_TILT: Kinds = &[Kind::BallRod, Kind::LinearActuator, Kind::Slider, Kind::Series];
const WITH_DEAD_POINT: Kinds = &[Kind::BallRod, Kind::Slider, Kind::Series];
const WITH_FINGER: Kinds = &[Kind::FourBar, Kind::Series];
const ON_PARENT: Kinds = &[Kind::FourBar, Kind::FixedRatio];

/// Keys outside every table.
const TOP: [&str; 2] = ["name", "axis_points"];

/// Parts of a drive of two joints that are not of one motor.
pub(super) const SHARED_PARTS: [&str; 3] = ["middle", "child", "carrier"];

/// Keys of each table, those outside every table under an empty title, in the order in which they are named.
const TABLES: &[(&str, Kinds, &[&str])] = &[
    ("", EVERY, &["name"]),
    ("", ONE_JOINT, &["axis_points"]),
    ("", TWO_RODS, &["joint", "motor"]),
    ("", WITH_PINS, &["linkage"]),
    ("", EVERY, &["zero", "stroke", "direct_joint", "accept"]),
    ("", WITH_PINS, &["pivots"]),
    ("", WITH_TOLERANCE, &["tolerance"]),
    ("", EVERY, &["actuator", "mass"]),
    ("", WITH_TOLERANCE, &["rod"]),
    ("", WITH_PINS, &["pins"]),
    ("", ONE_JOINT, &["motion"]),
    ("", FOUR_BAR, &["finger"]),
    ("", WITH_SCREW, &["screw"]),
    ("", EVERY, &["robot", "drive"]),
    ("[drive]", EVERY, &["kind"]),
    ("[drive]", ON_PARENT, &["motor_on"]),
    ("[drive]", RATIO, &["ratio"]),
    ("[drive]", SERIES, &["stages"]),
    ("[linkage]", WITH_PINS, &["ground"]),
    ("[linkage]", WITH_CRANK, &["crank"]),
    ("[linkage]", WITH_PUSH_ROD, &["coupler"]),
    ("[linkage]", WITH_PINS, &["rocker"]),
    ("[linkage]", BALL_ROD, &["axial", "twist", "lean"]),
    ("[linkage]", ACTUATOR, &["line_offset"]),
    ("[linkage]", SLIDER, &["guide"]),
    ("[linkage.guide]", SLIDER, &["point", "direction"]),
    ("[zero]", WITH_CRANK, &["crank"]),
    ("[zero]", WITH_PINS, &["rocker"]),
    ("[zero]", ACTUATOR, &["length"]),
    ("[zero]", SLIDER, &["nut"]),
    ("[zero]", EVERY, &["motor_reads", "joint_reads", "set_by"]),
    ("[screw]", WITH_SCREW, &["lead", "efficiency", "mean_diameter"]),
    ("[screw]", ACTUATOR, &["shortest", "longest", "twist_guided"]),
    ("[stroke]", ONE_JOINT, &["joint", "motor"]),
    ("[stroke]", TWO_RODS, &["pitch", "roll"]),
    ("[direct_joint]", ONE_JOINT, &["ratio", "offset"]),
    ("[direct_joint]", TWO_RODS, &["matrix"]),
    ("[direct_joint]", WITH_FINGER, &["stand_in"]),
    ("[accept]", EVERY, &["preset", "angle", "ratio", "inertia"]),
    ("[accept]", WITH_RODS, &["transmission_angle"]),
    ("[accept]", TWO_RODS, &["transmission_angle", "ball_tilt"]),
    ("[accept]", WITH_FINGER, &["tilt", "shift", "opening", "grip"]),
    ("[accept]", WITH_TILT, &["ball_tilt"]),
    ("[accept]", WITH_DEAD_POINT, &["crank_side"]),
    ("[accept]", EVERY, &["over"]),
    ("[finger]", FOUR_BAR, &["pad", "point", "closing", "opening", "other"]),
    ("[pivots]", WITH_PINS, &["unit", "motor", "joint"]),
    ("[pivots]", WITH_CRANK, &["crank"]),
    ("[pivots]", WITH_PINS, &["rocker"]),
    ("[pivots]", FOUR_BAR, &["axis"]),
    ("[pivots]", &[Kind::BallRod, Kind::Slider], &["motor_axis", "coupler"]),
    ("[pivots]", WITH_POINTS, &["joint_axis"]),
    ("[pivots]", ACTUATOR, &["line_offset"]),
    ("[tolerance]", FOUR_BAR, &["ground", "crank", "coupler", "rocker", "together"]),
    ("[tolerance]", WITH_POINTS, &["points", "axes"]),
    ("[tolerance]", TWO_RODS, &["points", "axes"]),
    (
        "[actuator]",
        EVERY,
        &[
            "gear_ratio",
            "rotor_inertia",
            "rotor_in_carrier",
            "peak_torque",
            "rated_torque",
            "max_speed",
            "damping",
            "friction",
            "holding_friction",
            "backlash",
            "position_gain",
            "velocity_gain",
        ],
    ),
    ("[actuator]", ONE_JOINT, &["stops"]),
    ("[mass]", WITH_CRANK, &["crank"]),
    ("[mass]", WITH_PUSH_ROD, &["coupler"]),
    ("[mass]", ACTUATOR, &["housing"]),
    ("[mass]", WITH_SCREW, &["nut"]),
    ("[mass]", EVERY, &["child", "carrier"]),
    ("[mass]", ONE_JOINT, &["carried"]),
    ("[mass]", TWO_RODS, &["middle"]),
    ("[mass.*.]", TWO_RODS, &["crank", "rod", "housing", "nut"]),
    ("[mass.*]", EVERY, BODY),
    ("[joint]", TWO_RODS, &["pitch", "roll"]),
    ("[joint.pitch]", TWO_RODS, &["point", "axis"]),
    ("[joint.roll]", TWO_RODS, &["point", "axis"]),
    (
        "[motor.*]",
        TWO_RODS,
        &["point", "axis", "input", "crank", "foot", "rod", "mirror", "line_offset", "screw"],
    ),
    (
        "[motor.*.screw]",
        TWO_RODS,
        &["lead", "efficiency", "mean_diameter", "shortest", "longest", "twist_guided"],
    ),
    ("[rod]", WITH_TOLERANCE, &["outer", "inner", "modulus", "yield"]),
    ("[pins]", WITH_CRANK, &["motor", "crank"]),
    ("[pins]", ACTUATOR, &["motor"]),
    ("[pins]", SLIDER, &["crank"]),
    ("[pins]", WITH_PINS, &["rocker", "joint", "friction"]),
    ("[pins] *", WITH_PINS, PIN),
    (
        "[motion]",
        ONE_JOINT,
        &[
            "joint_speed",
            "joint_acceleration",
            "carrier_speed",
            "carrier_acceleration",
            "base_acceleration",
        ],
    ),
    ("[[robot]]", ONE_JOINT, &["joint", "parent", "child", "axis", "origin"]),
    ("[[robot]]", TWO_RODS, &["joints", "motors", "motor_signs", "parent", "middle", "child"]),
    ("[[robot]]", WITH_RODS, &["motor_at"]),
    ("[[robot]]", ONE_JOINT, &["mirrored", "motor_sign"]),
    (
        "[[robot]]",
        WITH_FINGER,
        &[
            "pad_joint",
            "other_joint",
            "other_pad_joint",
            "crank_link",
            "other_child",
            "other_crank_link",
        ],
    ),
    (
        "[[robot]]",
        ON_PARENT,
        &["parent_joint", "motor_link", "parent_joint_reads", "parent_joint_sign"],
    ),
];

/// Keys of a body.
const BODY: &[&str] = &["mass", "center", "inertia", "frame"];

/// Keys of a pin.
const PIN: &[&str] = &["clearance", "fit", "width"];

/// The title under which the keys of the table that is shown as `title` stand.
fn group(title: &str, kind: Kind) -> &str {
    let name = |table: &str| title.strip_prefix(table)?.strip_suffix(']');
    if let Some(name) = name("[motor.") {
        return if name.ends_with(".screw") { "[motor.*.screw]" } else { "[motor.*]" };
    }
    match title {
        _ if name("[mass.").is_some_and(|name| {
            kind == Kind::TwoRods && !name.contains('.') && !SHARED_PARTS.contains(&name)
        }) =>
        {
            "[mass.*.]"
        }
        body if body.starts_with("[mass.") => "[mass.*]",
        pin if pin.starts_with("[pins] ") => "[pins] *",
        other => other,
    }
}

/// Keys that a drive of this kind has in the table that is shown as `title`; those outside every table for an empty one.
pub(super) fn keys(title: &str, kind: Kind) -> Vec<&'static str> {
    if title.starts_with("[tolerance] together") {
        return vec!["lengths", "correlation"];
    }
    let of_kind = |(table, kinds, keys): &(&str, Kinds, &'static [&'static str])| {
        (*table == group(title, kind) && kinds.contains(&kind)).then_some(*keys)
    };
    TABLES.iter().filter_map(of_kind).flatten().copied().collect()
}

/// The kinds that have this key in the table of this title.
pub(super) fn kinds_with(key: &str, title: &str, own: Kind) -> Vec<Kind> {
    let of_key = |table: &str, keys: &[&str]| table == group(title, own) && keys.contains(&key);
    let rows = TABLES.iter().filter(|(table, _, keys)| of_key(table, keys));
    rows.flat_map(|(_, kinds, _)| *kinds).copied().collect()
}

/// Whether these are all kinds that turn one joint.
pub(super) fn is_of_one_joint(kinds: &[Kind]) -> bool {
    ONE_JOINT.iter().all(|kind| kinds.contains(kind))
}

/// What to write instead of an unknown key.
pub(super) fn instead_of(key: &str, title: &str, kind: Kind) -> String {
    let known = keys(title, kind);
    if let Some(near) = nearest(key, &known) {
        let is_table = title.is_empty() && !TOP.contains(&near);
        return if is_table {
            format!("did you mean [{near}]?")
        } else {
            format!("did you mean `{near}`?")
        };
    }
    if TOP.contains(&key) && !title.is_empty() {
        return format!("`{key}` belongs at the top of the file, above the first table");
    }
    let elsewhere = TABLES.iter().find(|(table, kinds, keys)| {
        !table.is_empty() && !table.contains('*') && kinds.contains(&kind) && keys.contains(&key)
    });
    match elsewhere {
        Some((table, ..)) => format!("`{key}` belongs under {table}"),
        None => format!("known here: {}", known.join(", ")),
    }
}

/// The name among `known` that was probably meant.
pub(super) fn nearest<'k>(key: &str, known: &[&'k str]) -> Option<&'k str> {
    nearest_word(key, known.iter().copied(), 0.6)
}

/// The names in words: `"a", "b" or "c"`.
pub(super) fn choices(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("\"{}\"", clipped(name))).collect();
    match quoted.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} or {last}", before.join(", ")),
        _ => quoted.concat(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;
    use std::collections::{BTreeMap, BTreeSet};

    /// The published schema's object for the table of this title.
    fn published<'s>(schema: &'s Value, title: &str) -> Vec<&'s Value> {
        let at = |path: &str| schema.pointer(path).unwrap();
        match title {
            "[mass.*]" => at("/properties/mass/properties").as_object().unwrap().values().collect(),
            "[mass.*.]" => vec![at("/properties/mass/additionalProperties")],
            "[motor.*]" => vec![at("/properties/motor/additionalProperties")],
            "[motor.*.screw]" => {
                vec![at("/properties/motor/additionalProperties/properties/screw")]
            }
            "[pins] *" => vec![at("/$defs/pin")],
            "" => vec![schema],
            "[[robot]]" => vec![at("/properties/robot/items")],
            _ => {
                let path = title.trim_matches(['[', ']']).replace('.', "/properties/");
                vec![at(&format!("/properties/{path}"))]
            }
        }
    }

    fn properties(object: &Value) -> BTreeSet<&str> {
        object["properties"].as_object().unwrap().keys().map(String::as_str).collect()
    }

    /// Keys of each table, of whatever kind.
    fn of_any_kind() -> BTreeMap<&'static str, BTreeSet<&'static str>> {
        let mut all: BTreeMap<_, BTreeSet<_>> = BTreeMap::new();
        for (title, _, keys) in TABLES {
            all.entry(*title).or_default().extend(keys.iter().copied());
        }
        all
    }

    #[test]
    fn the_published_schema_has_the_keys_that_are_read_and_no_others() {
        let text = include_str!("../../schemas/design.schema.json");
        let schema: Value = serde_json::from_str(text).unwrap();
        for (title, keys) in of_any_kind() {
            for object in published(&schema, title) {
                assert_eq!(properties(object), keys, "{title}");
            }
        }
    }

    #[test]
    fn every_kind_has_a_template_with_each_of_its_tables_and_keys() {
        for kind in EVERY {
            let template = super::super::template(*kind);
            for (title, kinds, keys) in TABLES {
                for key in keys.iter().filter(|_| kinds.contains(kind)) {
                    assert!(template.contains(key), "{}: {title} {key}", kind.name());
                }
            }
        }
    }
}
