//! Why a criterion is open or has no figure, in words.

use crate::dynamics::DynamicsFault;
use crate::equivalence::{Assessment, Basis, Outcome, Shown, Why};
use crate::units::percent;

/// What a reader should know of one criterion besides its figures, as a clause.
#[must_use]
pub fn note(c: &Assessment) -> Option<String> {
    let (whose, all) = match c.basis {
        Basis::Nominal => ("the drawn linkage comes", "it was not shown to close all along"),
        Basis::Tolerance => {
            ("the linkages within tolerance come", "it was not shown that all of them close")
        }
    };
    Some(match c.why.as_ref()? {
        Why::DoesNotClose if c.outcome == Outcome::Undecided => {
            "not looked at: a linkage within tolerance does not even close over the stroke"
                .to_owned()
        }
        Why::DoesNotClose | Why::StandsStill(_) => return None,
        Why::NearlyFlat => {
            format!("{whose} so near to a change point or crank limit that {all}")
        }
        Why::BeyondLengths => "not looked at: it was not shown that the actuator stays between its shortest and longest length over the stroke".to_owned(),
        Why::OutOfBoxes(boxes) => format!(
            "not decided after {boxes} boxes: the worst case lies at the limit itself, or near a change point or dead point"
        ),
        Why::NotGiven(names) => format!("needs {}", names.join(", ")),
        Why::WithoutRotor(over) => without_rotor(c, over.name()),
        Why::NoModel(fault) => format!("cannot be told: {}", in_words_alone(fault)),
        Why::NoFigure => "cannot be told: the masses given are not those of real bodies".to_owned(),
        Why::Energy { over, drives, bounded } => energy_note(c, over.name(), *drives, *bounded),
    })
}

fn without_rotor(c: &Assessment, over: &str) -> String {
    let alone = c.worst().map_or_else(String::new, |f| {
        format!(
            "; crank and rod alone change the kinetic energy by up to {} ({over} figure)",
            percent(f.value())
        )
    });
    format!("needs [actuator] rotor_inertia and gear_ratio for the whole figure{alone}")
}

fn energy_note(c: &Assessment, over: &str, drives: usize, bounded: bool) -> String {
    let whose = match drives {
        1 => format!("{over} figure"),
        _ => format!("{over} figure of the {drives} drives on one link, all moving"),
    };
    match (c.shown, bounded, c.basis) {
        (Shown::ByPose, ..) => {
            format!("{whose} of the drawn lengths, with both bodies changed along")
        }
        (_, true, _) => format!("{whose}, the largest error of kinetic energy for any such motion"),
        (_, false, Basis::Nominal) => format!("{whose}, computed, not proved"),
        (Shown::Computed, false, Basis::Tolerance) => format!(
            "{whose} of the drawn sizes; in the corners of the tolerances towards which it rises and falls the limit is met too, computed, not proved"
        ),
        (_, false, Basis::Tolerance) => {
            format!("{whose} of the drawn lengths; it was not proved for all within tolerance")
        }
    }
}

/// A fault of the dynamics as a clause, with what can be done.
#[must_use]
pub fn in_words(fault: &DynamicsFault) -> String {
    format!("{}; {}", in_words_alone(fault), fault.remedy())
}

/// A fault of the dynamics as a clause.
#[must_use]
pub fn in_words_alone(fault: &DynamicsFault) -> String {
    match fault {
        DynamicsFault::Linkage(_) | DynamicsFault::Drive(_) => {
            "a pose cannot be reached".to_owned()
        }
        DynamicsFault::DeadPoint { turn } => {
            format!("the rocker stands still at motor turn {}", crate::units::angle(*turn, 2))
        }
        DynamicsFault::NegativeArmature { armature, rotor_turns } => format!(
            "the direct joint would need a negative armature ({armature:.3e} kg m2, rotor {rotor_turns:.3} turns per joint turn)"
        ),
        DynamicsFault::NoRealBody { body, .. } => {
            format!("no mass on the joint axis makes a real body of the {body}")
        }
    }
}
