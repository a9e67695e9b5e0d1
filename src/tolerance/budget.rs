//! Which tolerance class may each length have and still be proved?

use crate::equivalence::{Family, LengthName, Outcome, Prover};
use crate::linkage::FourBar;
use crate::standards::{GeneralClass, general_tolerance, grade};

/// A class of a standard for one length.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassChoice {
    /// The length.
    pub length: LengthName,
    /// `ISO 2768-m`, `IT7`, …
    pub class: String,
    /// ± half of the whole tolerance, m.
    pub half_width: f64,
}

/// What the classes may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// The coarsest class of each length with the others as drawn; `None` where none is fine enough, or the size is in
    /// no table.
    pub alone: Vec<(LengthName, Option<ClassChoice>)>,
    /// The coarsest classes found for all four at once; `None` where not even the finest are proved.
    pub together: Option<Vec<ClassChoice>>,
}

/// Classes of one length, the coarsest (cheapest) first.
fn classes(length: LengthName, size: f64) -> Vec<ClassChoice> {
    let general = [
        (GeneralClass::VeryCoarse, "ISO 2768-v"),
        (GeneralClass::Coarse, "ISO 2768-c"),
        (GeneralClass::Medium, "ISO 2768-m"),
        (GeneralClass::Fine, "ISO 2768-f"),
    ];
    let choice = |class: String, half_width: f64| ClassChoice { length, class, half_width };
    let mut all: Vec<ClassChoice> = general
        .into_iter()
        .filter_map(|(class, name)| {
            Some(choice(name.to_owned(), general_tolerance(class, size).ok()?))
        })
        .chain(
            (5..=12).filter_map(|it| Some(choice(format!("IT{it}"), 0.5 * grade(it, size).ok()?))),
        )
        .collect();
    all.sort_by(|a, b| b.half_width.total_cmp(&a.half_width));
    all
}

/// The budget for the direct joint that `prover` holds, over the motor turns `turns`. `drawn` holds the drawn
/// tolerances; `weights` say how much each length matters (any unit), to choose which to tighten first.
#[must_use]
pub fn budget(
    prover: &Prover<'_>,
    bars: &FourBar,
    drawn: &Family,
    turns: [f64; 2],
    weights: [f64; 4],
) -> Budget {
    let holds = |family: &Family| prover.decide(family, turns) == Outcome::Holds;
    let alone = LengthName::ALL.map(|length| {
        let fits = |c: &ClassChoice| holds(&drawn.with_length(length, bars, c.half_width));
        (length, classes(length, length.of(bars)).into_iter().find(fits))
    });
    let ladders = LengthName::ALL.map(|length| classes(length, length.of(bars)));
    let together = all_together(&ladders, weights, |choice| {
        let family = choice.iter().fold(*drawn, |f, c| f.with_length(c.length, bars, c.half_width));
        holds(&family)
    });
    Budget { alone: alone.to_vec(), together }
}

/// From the coarsest classes, the one that costs the most error is made finer by a step until all is proved; then each
/// is tried one step coarser again.
fn all_together(
    ladders: &[Vec<ClassChoice>; 4],
    weights: [f64; 4],
    holds: impl Fn(&[ClassChoice]) -> bool,
) -> Option<Vec<ClassChoice>> {
    let mut steps = [0_usize; 4];
    let chosen = |steps: &[usize; 4]| -> Option<Vec<ClassChoice>> {
        ladders.iter().zip(steps).map(|(ladder, step)| ladder.get(*step).cloned()).collect()
    };
    while !holds(&chosen(&steps)?) {
        let error = |k: usize| {
            let class = ladders.get(k)?.get(*steps.get(k)?)?;
            ladders.get(k)?.get(steps.get(k)? + 1)?;
            Some(class.half_width * weights.get(k)?)
        };
        let worst =
            (0..4).filter_map(|k| Some((k, error(k)?))).max_by(|a, b| a.1.total_cmp(&b.1))?;
        *steps.get_mut(worst.0)? += 1;
    }
    for k in 0..4 {
        let mut coarser = steps;
        if let Some(step) = coarser.get_mut(k).filter(|s| **s > 0) {
            *step -= 1;
            if chosen(&coarser).is_some_and(|c| holds(&c)) {
                steps = coarser;
            }
        }
    }
    chosen(&steps)
}
