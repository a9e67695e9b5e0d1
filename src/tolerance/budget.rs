//! Which tolerance class may each length have and still be proved?

use serde::Serialize;
use serde_json::{Value, json};

use crate::equivalence::{Family, LengthName, Outcome, Prover};
use crate::linkage::FourBar;
use crate::standards::{GeneralClass, general_tolerance, grade};

/// A class of a standard for one length.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ClassChoice {
    /// The length.
    pub length: LengthName,
    /// `ISO 2768-m`, `IT7`, …
    pub class: String,
    /// ± half of the whole tolerance, m.
    #[serde(rename = "tolerance_m")]
    pub half_width: f64,
}

/// What the classes may be.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Budget {
    /// The coarsest class of each length with the others as drawn; `None` where none is fine enough, or the size is in
    /// no table.
    #[serde(serialize_with = "each_alone")]
    pub alone: Vec<(LengthName, Option<ClassChoice>)>,
    /// The coarsest classes found for all four at once; `None` where not even the finest are proved.
    pub together: Option<Vec<ClassChoice>>,
}

shapes! {
    fn each_alone([(LengthName, Option<ClassChoice>)] as alone) = alone
        .iter()
        .map(|(length, class)| json!({ "length": length, "class": class }))
        .collect::<Value>();
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
/// is made coarser again until no single step coarser is proved.
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
    let coarser = |steps: &[usize; 4]| {
        (0..4).find_map(|k| {
            let mut tried = *steps;
            let step = tried.get_mut(k).filter(|step| **step > 0)?;
            *step -= 1;
            chosen(&tried).is_some_and(|c| holds(&c)).then_some(tried)
        })
    };
    while let Some(proved) = coarser(&steps) {
        steps = proved;
    }
    chosen(&steps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equivalence::{DirectJoint, Limits, Zeroing};
    use crate::linkage::{Branch, Closure};
    use crate::numeric::Interval;

    #[test]
    fn a_part_is_never_made_finer_than_it_needs_to_be() {
        for (bars, zero) in [
            (FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 }, 1.5),
            (FourBar { ground: 0.2, crank: 0.05, coupler: 0.201, rocker: 0.0505 }, 1.2),
        ] {
            let branch = Branch::through(bars, zero, Closure::Open).unwrap();
            let limits = Limits { angle: 0.01, ratio: 0.03, transmission_angle: 0.5 };
            let joint = DirectJoint { ratio: 1.0, offset: 0.0 };
            let prover = Prover::new(&branch, &joint, Zeroing::OnEachRobot, limits);
            let (drawn, turns) = (Family::symmetric(&bars, 0.0, Interval::ZERO), [-0.5, 0.6]);
            for weights in [[1.0; 4], [20.0, 1.0, 1.0, 1.0], [1.0, 30.0, 1.0, 5.0]] {
                let found = budget(&prover, &bars, &drawn, turns, weights).together.unwrap();
                let with = |chosen: &[ClassChoice]| {
                    let set =
                        |f: Family, c: &ClassChoice| f.with_length(c.length, &bars, c.half_width);
                    prover.decide(&chosen.iter().fold(drawn, set), turns)
                };
                assert_eq!(with(&found), Outcome::Holds);
                for (k, class) in found.iter().enumerate() {
                    let coarser = classes(class.length, class.length.of(&bars))
                        .into_iter()
                        .rev()
                        .find(|c| c.half_width > class.half_width);
                    let Some(coarser) = coarser else { continue };
                    let mut tried = found.clone();
                    tried[k] = coarser;
                    assert_ne!(with(&tried), Outcome::Holds, "{weights:?} {found:?}");
                }
            }
        }
    }
}
