//! The reason of a verdict on two joints in one sentence.

use crate::equivalence::{Assessment, Basis, Outcome, Verdict};
use crate::units::{angle, angles};

use super::super::findings::RegionCheck;
use super::super::notes::note;
use super::super::phrases::{failed, figure, held};

/// "pitch 20.0 deg, roll −5.0 deg": what both read at these turns.
#[must_use]
pub fn at(check: &RegionCheck, joints: [f64; 2]) -> String {
    let [pitch, roll] = check.readings(joints).map(|reading| angle(reading, 1));
    format!("pitch {pitch}, roll {roll}")
}

/// What pitch and roll read over a part of the region.
#[must_use]
pub fn over(check: &RegionCheck, [pitch, roll]: [[f64; 2]; 2]) -> String {
    let [p, r] = check.joint_reads;
    let pitch = angles(pitch.map(|turn| turn + p), 1);
    let roll = angles(roll.map(|turn| turn + r), 1);
    format!("pitch {pitch}, roll {roll}")
}

/// What two direct joints that may stand in stay with, and where.
#[must_use]
pub fn claim(check: &RegionCheck) -> String {
    let region = over(check, [check.region.pitch, check.region.roll]);
    let whose = match check.basis {
        Basis::Nominal => "the drive",
        Basis::Tolerance => "every drive within the drawn tolerances",
    };
    format!("over {region} two direct joints with a constant matrix stay with {whose}")
}

/// Why the verdict is what it is.
pub(super) fn reason(check: &RegionCheck) -> String {
    match check.verdict {
        Verdict::Equivalent => format!("{}: {}", claim(check), held(&check.criteria)),
        Verdict::NotEquivalent => refuted(check),
        Verdict::Undecided => {
            let open = check.criteria.iter().filter(|c| c.outcome == Outcome::Undecided);
            let open: Vec<String> = open.map(open_in_words).collect();
            let region = over(check, [check.region.pitch, check.region.roll]);
            format!("over {region} {}", open.join("; "))
        }
    }
}

fn open_in_words(c: &Assessment) -> String {
    match note(c) {
        Some(note) => format!("the {} is undecided: {note}", c.criterion.title()),
        None => format!("the {} is undecided", c.criterion.title()),
    }
}

fn refuted(check: &RegionCheck) -> String {
    let Some((worst, too)) = failed(&check.criteria) else { return String::new() };
    let place = worst.worst_at_joints.map_or_else(String::new, |q| format!(" at {}", at(check, q)));
    let whose = match (check.basis, &check.witness) {
        (Basis::Tolerance, Some(build)) if build.criterion == worst.criterion => {
            ", in a drive within the drawn tolerances"
        }
        _ => "",
    };
    let limit = figure(worst.criterion, worst.limit);
    let what = match worst.worst() {
        Some(value) => format!(
            "the {} is {}{place} ({} {limit}){whose}",
            worst.criterion.title(),
            figure(worst.criterion, value.value()),
            worst.criterion.side().limit_name(),
        ),
        None => format!("a rod does not reach{place}{whose}"),
    };
    what + &too
}
