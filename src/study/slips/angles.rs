//! Degrees where radians were meant, and the other way round.

use std::f64::consts::{PI, TAU};

use crate::design::{Design, Parameter};
use crate::diagnostic::Code;

use super::Suspect;
use super::typed::{Typed, at};

/// A stroke of fewer degrees is odd: no drive is built for it, and in radians it would be up to 172 deg, more than a
/// rocker swings between its limits.
const NARROWEST: f64 = 3.0;

/// Figures of an angle in the wrong unit.
pub(super) fn of(design: &Design) -> Vec<Suspect> {
    let ends = [Parameter::StrokeFirst, Parameter::StrokeSecond];
    let stroke: Vec<Typed> = ends.into_iter().flat_map(|end| at(design, end)).collect();
    let stops = at(design, Parameter::Stops);
    let mut found = range("the stroke", &stroke);
    // Stops that are narrow about a stroke that is not.
    if !is_narrow(&stroke) {
        found.extend(range("the range of [actuator] stops", &stops));
    }
    found.extend(zero(design));
    let reads = at(design, Parameter::JointReads);
    found.extend(beyond_a_turn("`[zero] joint_reads`", &reads, any_beyond_a_turn(&reads)));
    found
}

fn is_narrow(range: &[Typed]) -> bool {
    let [low, high] = range else { return false };
    let small = range.iter().all(|end| end.unit == "deg" && end.value.abs() <= TAU);
    small && high.value - low.value < NARROWEST
}

fn range(what: &str, ends: &[Typed]) -> Vec<Suspect> {
    if is_narrow(ends) {
        let odd = format!("{what} is {} only, the figures of one in radians", listed(ends));
        return vec![in_radians(odd, ends, true)];
    }
    // Motor stops may lie turns apart; a stroke of more than a turn is none of a rocker.
    if what.contains("stops") && ends.iter().all(|end| end.value.abs() <= 2.0 * TAU) {
        return Vec::new();
    }
    beyond_a_turn(what, ends, any_beyond_a_turn(ends))
}

/// Further than a half turn, in radians: odd where the linkage does not run, and beyond a turn anywhere.
fn is_far(angle: &Typed) -> bool {
    angle.unit == "rad" && angle.value.abs() > PI
}

fn any_beyond_a_turn(angles: &[Typed]) -> bool {
    angles.iter().any(|angle| angle.unit == "rad" && angle.value.abs() > TAU)
}

/// All that is in radians, where any of it is far.
fn beyond_a_turn(what: &str, angles: &[Typed], plain: bool) -> Vec<Suspect> {
    if !angles.iter().any(is_far) {
        return Vec::new();
    }
    let typed: Vec<Typed> = angles.iter().filter(|a| a.unit == "rad").cloned().collect();
    let odd = format!("{what} has {}, the figures of angles in degrees", listed(&typed));
    vec![suspect(Code::DegreesAsRadians, odd, &typed, "deg", plain)]
}

/// `[zero] crank` and `rocker`: both, or one of them.
fn zero(design: &Design) -> Vec<Suspect> {
    let (crank, rocker) = (at(design, Parameter::ZeroCrank), at(design, Parameter::ZeroRocker));
    let both: Vec<Typed> = [crank.clone(), rocker.clone()].concat();
    let mut found = beyond_a_turn("[zero]", &both, any_beyond_a_turn(&both));
    let as_radians = |angles: &[Typed], plain| {
        let odd = format!("[zero] has {}, the figures of angles in radians", listed(angles));
        in_radians(odd, angles, plain)
    };
    let small = |angles: &[Typed]| !angles.is_empty() && angles.iter().all(is_small);
    if both.len() == 2 && small(&both) {
        found.push(as_radians(&both, true));
    }
    for one in [crank, rocker] {
        if small(&one) {
            found.push(as_radians(&one, false));
        }
    }
    found
}

/// Small enough for an angle in radians, and not a right zero.
fn is_small(angle: &Typed) -> bool {
    angle.unit == "deg" && angle.value != 0.0 && angle.value.abs() <= PI + 0.01
}

fn in_radians(odd: String, angles: &[Typed], plain: bool) -> Suspect {
    suspect(Code::RadiansAsDegrees, odd, angles, "rad", plain)
}

fn suspect(code: Code, odd: String, angles: &[Typed], unit: &str, plain: bool) -> Suspect {
    let written: Vec<String> = angles.iter().map(|a| format!("\"{}\"", a.in_unit(unit))).collect();
    let word = if unit == "rad" { "radians" } else { "degrees" };
    Suspect {
        code,
        odd,
        cure: format!("if {word} were meant, write {}", written.join(" and ")),
        edits: angles.iter().map(|a| a.edit(unit)).collect(),
        plain,
        evens_out: false,
    }
}

fn listed(angles: &[Typed]) -> String {
    angles.iter().map(|a| a.text.trim().to_owned()).collect::<Vec<_>>().join(" and ")
}
