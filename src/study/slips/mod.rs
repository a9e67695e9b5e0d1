//! Slips of the pen: figures that make sense only in another unit, order or direction than the one typed.
//!
//! A slip is said only where what would mend it was tried: the user's own text with the cure written in is read again,
//! and the linkage assembled and run over its stroke. Where the design works as it was typed, a slip is a warning; where
//! it does not, the likeliest one stands in the help of the fault.

mod angles;
mod pins;
mod sizes;
mod typed;

use std::ops::Range;

use crate::design::{self, Design, Parameter};
use crate::diagnostic::Code;
use crate::linkage::FourBar;

use super::fault::Fault;
use super::findings::Warning;
use super::mechanism::{Mechanism, bars};
use super::phrases::lengths;

/// What may have slipped, and what would mend it.
#[derive(Clone, Debug)]
pub(super) struct Suspect {
    code: Code,
    /// What is odd as typed.
    odd: String,
    /// What to write if it is a slip.
    cure: String,
    /// The cure in the user's text; none where reading it again would show nothing.
    edits: Vec<Edit>,
    /// Odd even where the design works as typed.
    plain: bool,
    /// The cure must bring the four lengths nearer to each other.
    evens_out: bool,
}

/// Bytes of the text, and what to write there.
pub(super) type Edit = (Range<usize>, String);

impl Suspect {
    fn sentence(&self) -> String {
        format!("{}: {}", self.odd, self.cure)
    }
}

impl Mechanism {
    /// Assembles the drawn linkage and follows it over the stroke.
    ///
    /// # Errors
    /// Every fault found: a rotor that its carrier cannot hold, a loop that does not close, a flat zero pose, a rocker angle that fits neither assembly, a
    /// stroke that leaves the branch.
    pub fn of(design: &Design) -> Result<Self, Vec<Fault>> {
        Self::assembled(design).map_err(|faults| blamed(design, faults))
    }
}

/// Slips in a design that works as it was typed, each with its likely cure.
#[must_use]
pub fn warnings(design: &Design) -> Vec<Warning> {
    let suspects: Vec<Suspect> = suspects(design).into_iter().filter(|s| s.plain).collect();
    let together = all_edits(&suspects, |_| true);
    let confirmed = suspects.iter().filter(|suspect| {
        let angles = matches!(suspect.code, Code::RadiansAsDegrees | Code::DegreesAsRadians);
        let mended = |edits: &[Edit]| mends(design, suspect, edits, PLAINLY_EVENER);
        mended(&suspect.edits) || (angles && mended(&together))
    });
    let warning = |suspect: &Suspect| Warning {
        code: suspect.code,
        message: format!(
            "{}. If it is meant as it stands, nothing needs to be done",
            suspect.sentence()
        ),
    };
    confirmed.map(warning).collect()
}

/// The faults of a design that does not move, the first with the likeliest slip in its help.
#[must_use]
fn blamed(design: &Design, mut faults: Vec<Fault>) -> Vec<Fault> {
    let Some(first) = faults.first_mut() else { return faults };
    if design.places.of(Parameter::MotorPin).is_some() {
        first.help = format!("{}; the pins make {}", first.help, lengths(&bars(design)));
    }
    if let Some(slip) = likeliest(design) {
        first.help = format!("probably a slip: {slip}. Otherwise {}", first.help);
    }
    faults
}

fn likeliest(design: &Design) -> Option<String> {
    let suspects = suspects(design);
    let alone = suspects.iter().find(|suspect| mends(design, suspect, &suspect.edits, 1.0));
    if let Some(suspect) = alone {
        return Some(suspect.sentence());
    }
    // Everything typed in the other unit of angle.
    [Code::RadiansAsDegrees, Code::DegreesAsRadians].into_iter().find_map(|code| {
        let edits = all_edits(&suspects, |suspect| suspect.code == code);
        let alike: Vec<&Suspect> = suspects.iter().filter(|s| s.code == code).collect();
        let first = alike.first()?;
        let said: Vec<String> = alike.iter().filter(|s| s.plain).map(|s| s.sentence()).collect();
        (said.len() > 1 && mends(design, first, &edits, 1.0)).then(|| said.join("; "))
    })
}

/// Every suspect, the surest first.
fn suspects(design: &Design) -> Vec<Suspect> {
    let mut found = sizes::another_unit(design);
    found.extend(pins::axis(design));
    found.extend(pins::swapped(design));
    found.extend(angles::of(design));
    found.extend(sizes::out_of_scale(design));
    found
}

/// The edits of many suspects, each place once.
fn all_edits(suspects: &[Suspect], wanted: impl Fn(&Suspect) -> bool) -> Vec<Edit> {
    let mut edits: Vec<Edit> = Vec::new();
    for edit in suspects.iter().filter(|s| wanted(s)).flat_map(|s| &s.edits) {
        if edits.iter().all(|(place, _)| *place != edit.0) {
            edits.push(edit.clone());
        }
    }
    edits
}

/// A cure for a design that works as typed must bring the lengths nearer to each other than this share of what they are.
const PLAINLY_EVENER: f64 = 0.5;

/// Whether the design with the edits written in runs over its stroke.
fn mends(design: &Design, suspect: &Suspect, edits: &[Edit], evener_than: f64) -> bool {
    if edits.is_empty() {
        return suspect.plain;
    }
    let Some(cured) = rewritten(design, edits) else { return false };
    let evener = !suspect.evens_out || spread(&bars(&cured)) < evener_than * spread(&bars(design));
    evener && Mechanism::assembled(&cured).is_ok()
}

fn rewritten(design: &Design, edits: &[Edit]) -> Option<Design> {
    let mut text = design.source.text.clone();
    let mut sorted = edits.to_vec();
    sorted.sort_by_key(|(place, _)| std::cmp::Reverse(place.start));
    for (place, new) in sorted {
        text.get(place.clone())?;
        text.replace_range(place, &new);
    }
    design::parse(&design.source.path, &text).ok().map(|(cured, _)| cured)
}

/// The longest of the four lengths by the shortest.
fn spread(bars: &FourBar) -> f64 {
    let all = [bars.ground, bars.crank, bars.coupler, bars.rocker];
    bars.longest() / all.into_iter().fold(f64::INFINITY, f64::min)
}
