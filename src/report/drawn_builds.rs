//! Builds drawn at random in words, whatever their drive: how many, what they deviate by, which of them hold.

use crate::drive::Measure;
use crate::equivalence::{Criterion, Outcome};
use crate::tolerance::{Deviation, Distribution};
use crate::units::{degrees, fixed, millimetres, number};

use super::blocks::dash;

/// How many builds were drawn, and how.
pub(super) fn at_random(samples: u64, stopped: bool, of: Distribution, seed: u64) -> String {
    let stopped = if stopped { " (stopped before all were drawn)" } else { "" };
    let cut = if of == Distribution::Normal { ", ± = 3 σ, cut off there" } else { "" };
    format!("{samples} builds drawn at random{stopped}, {}{cut}, seed {seed}", of.name())
}

/// What keeps every build from holding; in other words where it is none of the figures.
pub(super) fn why_not_all(
    outcomes: impl Iterator<Item = (Criterion, Outcome)> + Clone,
    none: &str,
) -> String {
    let named = |wanted: Outcome| {
        let of = outcomes.clone().filter(|(_, outcome)| *outcome == wanted);
        of.map(|(criterion, _)| criterion.title()).collect::<Vec<_>>().join(" and ")
    };
    let (failing, open) = (named(Outcome::Fails), named(Outcome::Undecided));
    match (failing.is_empty(), open.is_empty()) {
        (false, _) => format!("{failing} can be over the limit"),
        (true, false) => format!("of the worst build {open} is undecided"),
        (true, true) => none.to_owned(),
    }
}

/// A share of builds; never rounded up to all of them.
pub(super) fn share(x: f64) -> String {
    let cut = (100.0 * x * 1e3).floor() / 1e3;
    if x >= 1.0 - 1e-12 { "100 %".to_owned() } else { format!("{} %", fixed(cut, 3)) }
}

/// A size or its deviation.
pub(super) fn sized(measure: Measure, x: f64) -> String {
    match measure {
        Measure::Length => millimetres(x),
        Measure::Angle => degrees(x),
        Measure::Number => number(x),
    }
}

/// From the smallest to the largest; a dash where nothing is drawn.
pub(super) fn between(Deviation { lower, upper }: Deviation, measure: Measure) -> String {
    if lower == 0.0 && upper == 0.0 {
        dash()
    } else if (lower + upper).abs() <= 1e-9 * upper.abs() {
        format!("±{}", sized(measure, upper))
    } else {
        format!("{}…{}", sized(measure, lower), sized(measure, upper))
    }
}

/// By how much a variable is moved to tell what it does, and that in words.
pub(super) fn step(measure: Measure) -> (f64, &'static str) {
    match measure {
        Measure::Angle => (1f64.to_radians(), "1 deg"),
        Measure::Length => (1e-4, "0.1 mm"),
        Measure::Number => (1e-3, "0.001"),
    }
}

/// What a length brings into the spread of the figure to lead with.
pub(super) fn of_spread(share: f64) -> String {
    format!("{} %", fixed((100.0 * share).round(), 0))
}
