//! Lengths that are not of the size of a robot's drive, and one in another unit than the rest.

use crate::design::{Design, Parameter};
use crate::diagnostic::Code;
use crate::units::millimetres;

use super::super::mechanism::bars;
use super::Suspect;
use super::typed::{Typed, at};

/// A longer bar is none of a robot's joint, m: the longest linkages on large excavators' arms reach it, legs do not.
const LONGEST: f64 = 3.0;

/// A shorter bar is none either, m: a pin of 1 mm, about the thinnest that is made, has more than this as its radius with
/// any wall around it.
const SHORTEST: f64 = 0.5e-3;

/// The tables' lines that hold lengths, as named in the file.
const LENGTHS: [(Parameter, &str); 4] = [
    (Parameter::Ground, "ground"),
    (Parameter::Crank, "crank"),
    (Parameter::Coupler, "coupler"),
    (Parameter::Rocker, "rocker"),
];

/// The pins.
pub(super) const PINS: [(Parameter, &str); 4] = [
    (Parameter::MotorPin, "motor"),
    (Parameter::JointPin, "joint"),
    (Parameter::CrankPin, "crank"),
    (Parameter::RockerPin, "rocker"),
];

/// One length or pin in another unit than all the others.
pub(super) fn another_unit(design: &Design) -> Vec<Suspect> {
    let pinned = design.places.of(Parameter::MotorPin).is_some();
    let (table, lines) = if pinned { ("[pivots]", PINS) } else { ("[linkage]", LENGTHS) };
    let groups = lines.map(|(parameter, name)| (name, of_size(at(design, parameter))));
    let mut found = Vec::new();
    for (k, (name, own)) in groups.iter().enumerate() {
        let others = groups.iter().enumerate().filter(|(j, _)| *j != k);
        let others: Vec<&Typed> = others.flat_map(|(_, (_, group))| group).collect();
        // The whole line first, then each figure of it by itself.
        let mut sets = vec![own.clone()];
        if own.len() > 1 {
            sets.extend(own.iter().map(|one| vec![one.clone()]));
        }
        for set in sets {
            let rest = own.iter().filter(|one| set.iter().all(|s| s.place != one.place));
            let rest: Vec<&Typed> = others.iter().copied().chain(rest).collect();
            found.extend(odd_one(&format!("`{table} {name}`"), &set, &rest));
        }
    }
    found
}

/// A zero is the same in every unit.
fn of_size(figures: Vec<Typed>) -> Vec<Typed> {
    figures.into_iter().filter(|one| one.value != 0.0).collect()
}

fn odd_one(name: &str, set: &[Typed], rest: &[&Typed]) -> Option<Suspect> {
    let (own, common) = (set.first()?.unit, rest.first()?.unit);
    let alike = set.iter().all(|one| one.unit == own) && rest.iter().all(|r| r.unit == common);
    if !alike || own == common || rest.len() < 2 {
        return None;
    }
    let written: Vec<String> = set.iter().map(|s| format!("\"{}\"", s.in_unit(common))).collect();
    let typed: Vec<&str> = set.iter().map(|s| s.text.trim()).collect();
    Some(Suspect {
        code: Code::UnitDiffers,
        odd: format!("{name} has {} where all else is in {common}", typed.join(" and ")),
        cure: format!("if {common} was meant, write {}", written.join(" and ")),
        edits: set.iter().map(|one| one.edit(common)).collect(),
        plain: true,
        evens_out: true,
    })
}

/// Bars too long or too short for any robot.
pub(super) fn out_of_scale(design: &Design) -> Option<Suspect> {
    let b = bars(design);
    let named =
        [("ground", b.ground), ("crank", b.crank), ("coupler", b.coupler), ("rocker", b.rocker)];
    let longest = named.iter().filter(|(_, l)| *l > LONGEST).max_by(|a, b| a.1.total_cmp(&b.1));
    let shortest = named.iter().filter(|(_, l)| *l < SHORTEST).min_by(|a, b| a.1.total_cmp(&b.1));
    let (name, length) = longest.or(shortest)?;
    let (size, than) = if *length > LONGEST {
        (format!("{} m", crate::units::number(*length)), "longer than 3 m")
    } else {
        (millimetres(*length), "shorter than 0.5 mm")
    };
    Some(Suspect {
        code: Code::LengthOutOfScale,
        odd: format!("the {name} is {size}, {than}: no robot's joint is driven by such a bar"),
        cure: "is the unit the one that was meant (\"300 mm\", \"0.3 m\")?".to_owned(),
        edits: Vec::new(),
        plain: true,
        evens_out: false,
    })
}
