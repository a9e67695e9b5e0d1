//! Worked values, their sources beside them in `data/check-values-drives.toml`.

use std::collections::BTreeMap;

use toml::{Table, Value};
use unloop::drive::{Axis, Vector};

/// A case's own words, and figures by name; an entry `k` of a list is called `name_k`.
pub(crate) struct Case {
    pub(crate) id: String,
    inputs: Table,
    pub(crate) exact: BTreeMap<String, f64>,
    printed: BTreeMap<String, f64>,
    tolerances: BTreeMap<String, f64>,
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|i| i as f64)).unwrap()
}

/// Figures one by one, and the entries of lists.
fn flat(case: &Table, part: &str) -> BTreeMap<String, f64> {
    let Some(Value::Table(table)) = case.get(part) else { return BTreeMap::new() };
    let entries = |(key, value): (&String, &Value)| match value {
        Value::Array(list) => {
            let named = |(k, v): (usize, &Value)| (format!("{key}_{k}"), number(v));
            list.iter().enumerate().map(named).collect::<Vec<_>>()
        }
        single => vec![(key.clone(), number(single))],
    };
    table.iter().flat_map(entries).collect()
}

pub(crate) fn cases(kind: &str) -> Vec<Case> {
    let file: Table = toml::from_str(include_str!("../data/check-values-drives.toml")).unwrap();
    let of_kind = |case: &&Value| case["kind"].as_str() == Some(kind);
    let read = |case: &Value| {
        let case = case.as_table().unwrap();
        Case {
            id: case["id"].as_str().unwrap().to_owned(),
            inputs: case["inputs"].as_table().unwrap().clone(),
            exact: flat(case, "exact"),
            printed: flat(case, "printed"),
            tolerances: flat(case, "tol"),
        }
    };
    let found: Vec<Case> =
        file["case"].as_array().unwrap().iter().filter(of_kind).map(read).collect();
    assert!(!found.is_empty(), "no case of kind {kind}");
    found
}

pub(crate) fn vector([x, y, z]: [f64; 3]) -> Vector {
    Vector::new(x, y, z)
}

pub(crate) fn axis(point: [f64; 3], direction: [f64; 3]) -> Axis {
    Axis { point: vector(point), direction: vector(direction) }
}

impl Case {
    pub(crate) fn has(&self, key: &str) -> bool {
        self.inputs.contains_key(key)
    }

    pub(crate) fn input(&self, key: &str) -> f64 {
        self.inputs.get(key).map_or(0.0, number)
    }

    /// In rad.
    pub(crate) fn angle(&self, key: &str) -> f64 {
        self.input(key).to_radians()
    }

    pub(crate) fn list(&self, key: &str) -> Vec<f64> {
        self.inputs[key].as_array().unwrap_or_else(|| panic!("{key}")).iter().map(number).collect()
    }

    pub(crate) fn point(&self, key: &str) -> [f64; 3] {
        self.list(key).try_into().unwrap()
    }

    /// Holds `ours` to every exact figure's 13 digits (figures below 1e-9 absolutely, angles to 1e-12 deg at best) and to every printed one within its
    /// tolerance; angles in deg modulo a turn. Nothing may be left unanswered.
    pub(crate) fn hold(&self, ours: &[(&str, f64)]) {
        let ours: BTreeMap<&str, f64> = ours.iter().copied().collect();
        let value = |key: &str| {
            *ours.get(key).unwrap_or_else(|| panic!("{}: {key} not worked out", self.id))
        };
        let off = |key: &str, other: f64| {
            let off = value(key) - other;
            if key.contains("_deg") { libm::remainder(off, 360.0).abs() } else { off.abs() }
        };
        for (key, exact) in &self.exact {
            let least: f64 = if key.contains("_deg") { 1e-12 } else { 0.0 };
            let room = if exact.abs() < 1e-9 { 1e-9 } else { least.max(1e-12 * exact.abs()) };
            let off = off(key, *exact);
            assert!(off <= room, "{}: {key} = {}, exact {exact}, off {off:e}", self.id, value(key));
        }
        for (key, printed) in &self.printed {
            let list = key.rsplit_once('_').map_or(key.as_str(), |(list, _)| list);
            let room = self.tolerances.get(key).or_else(|| self.tolerances.get(list)).unwrap();
            assert!(off(key, *printed) <= *room, "{}: {key} = {}", self.id, value(key));
        }
    }
}
