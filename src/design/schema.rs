//! The tables and keys that a design file may hold.

use crate::diagnostic::nearest_word;
use crate::units::clipped;

/// Keys outside every table, and the tables.
pub(super) const ROOT: &[&str] = &[
    "name",
    "axis_points",
    "linkage",
    "zero",
    "stroke",
    "direct_joint",
    "accept",
    "pivots",
    "tolerance",
    "actuator",
    "mass",
    "rod",
    "pins",
    "motion",
    "finger",
    "robot",
];

/// Tables that a design will have, and what this version knows in their place.
pub(super) const NOT_BUILT_YET: [(&str, &str); 1] =
    [("drive", "this version knows the planar four-bar, which needs no such table")];

/// Keys outside every table.
const TOP: [&str; 2] = ["name", "axis_points"];

/// Keys of each table.
const TABLES: &[(&str, &[&str])] = &[
    ("[linkage]", &["ground", "crank", "coupler", "rocker"]),
    ("[zero]", &["crank", "rocker", "motor_reads", "joint_reads", "set_by"]),
    ("[stroke]", &["joint", "motor"]),
    ("[direct_joint]", &["ratio", "offset", "stand_in"]),
    (
        "[accept]",
        &[
            "preset",
            "angle",
            "ratio",
            "inertia",
            "transmission_angle",
            "tilt",
            "shift",
            "opening",
            "grip",
            "over",
        ],
    ),
    ("[finger]", &["pad", "point", "closing", "opening", "other"]),
    ("[pivots]", &["motor", "joint", "crank", "rocker", "axis"]),
    ("[tolerance]", &["ground", "crank", "coupler", "rocker", "together"]),
    (
        "[actuator]",
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
            "stops",
            "position_gain",
            "velocity_gain",
        ],
    ),
    ("[mass]", &["crank", "coupler", "child", "carrier", "carried"]),
    ("[mass.*]", BODY),
    ("[rod]", &["outer", "inner", "modulus", "yield"]),
    ("[pins]", &["motor", "crank", "rocker", "joint", "friction"]),
    ("[pins] *", PIN),
    (
        "[motion]",
        &[
            "joint_speed",
            "joint_acceleration",
            "carrier_speed",
            "carrier_acceleration",
            "base_acceleration",
        ],
    ),
    (
        "[[robot]]",
        &[
            "joint",
            "parent",
            "child",
            "axis",
            "origin",
            "motor_at",
            "mirrored",
            "motor_sign",
            "pad_joint",
            "other_joint",
            "other_pad_joint",
            "crank_link",
            "other_child",
            "other_crank_link",
        ],
    ),
];

/// Keys of a body.
const BODY: &[&str] = &["mass", "center", "inertia", "frame"];

/// Keys of a pin.
const PIN: &[&str] = &["clearance", "fit", "width"];

/// Keys of the table that is shown as `title`; those outside every table for an empty one.
pub(super) fn keys(title: &str) -> &'static [&'static str] {
    let group = match title {
        "" => return ROOT,
        body if body.starts_with("[mass.") => "[mass.*]",
        pin if pin.starts_with("[pins] ") => "[pins] *",
        lengths if lengths.starts_with("[tolerance] together") => {
            return &["lengths", "correlation"];
        }
        other => other,
    };
    TABLES.iter().find(|(table, _)| *table == group).map_or(&[], |(_, keys)| *keys)
}

/// What to write instead of an unknown key.
pub(super) fn instead_of(key: &str, title: &str) -> String {
    let known = keys(title);
    if let Some(near) = nearest(key, known) {
        let is_table = title.is_empty() && !TOP.contains(&near);
        return if is_table {
            format!("did you mean [{near}]?")
        } else {
            format!("did you mean `{near}`?")
        };
    }
    let elsewhere = TABLES.iter().find(|(table, keys)| !table.contains('*') && keys.contains(&key));
    if title.is_empty()
        && let Some((table, _)) = elsewhere
    {
        return format!("`{key}` belongs under {table}");
    }
    if TOP.contains(&key) {
        return format!("`{key}` belongs at the top of the file, above the first table");
    }
    match elsewhere {
        Some((table, _)) => format!("`{key}` belongs under {table}"),
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
    use std::collections::BTreeSet;

    /// The published schema's object for the table of this title.
    fn published<'s>(schema: &'s Value, title: &str) -> Vec<&'s Value> {
        let at = |path: &str| schema.pointer(path).unwrap();
        match title {
            "[mass.*]" => at("/properties/mass/properties").as_object().unwrap().values().collect(),
            "[pins] *" => vec![at("/$defs/pin")],
            "[[robot]]" => vec![at("/properties/robot/items")],
            _ => vec![at(&format!("/properties/{}", title.trim_matches(['[', ']'])))],
        }
    }

    fn properties(object: &Value) -> BTreeSet<&str> {
        object["properties"].as_object().unwrap().keys().map(String::as_str).collect()
    }

    #[test]
    fn the_published_schema_has_the_keys_that_are_read_and_no_others() {
        let text = include_str!("../../schemas/design.schema.json");
        let schema: Value = serde_json::from_str(text).unwrap();
        assert_eq!(properties(&schema), ROOT.iter().copied().collect());
        for (title, keys) in TABLES {
            for object in published(&schema, title) {
                assert_eq!(properties(object), keys.iter().copied().collect(), "{title}");
            }
        }
    }

    #[test]
    fn the_template_names_every_table_and_key() {
        let keys = TABLES.iter().flat_map(|(_, keys)| keys.iter()).chain(ROOT);
        for key in keys {
            assert!(super::super::TEMPLATE.contains(key), "{key}");
        }
    }
}
