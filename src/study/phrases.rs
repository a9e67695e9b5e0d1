//! The reason of a verdict in one sentence that can be forwarded.

use crate::design::Basis;
use crate::equivalence::{Outcome, Verdict};
use crate::linkage::FourBar;

use super::findings::{Check, Criterion};

/// An angle for a person; "unbounded" where it is infinite.
#[must_use]
pub fn degrees(rad: f64) -> String {
    if rad.is_infinite() { "unbounded".to_owned() } else { crate::units::degrees(rad) }
}

/// `x` with two decimals, or with two digits where it is small.
fn two_decimals(x: f64) -> String {
    if x.abs() < 1e-9 {
        "0.00".to_owned()
    } else if x.abs() >= 5e-3 {
        format!("{x:.2}")
    } else {
        format!("{x:.1e}")
    }
}

/// A share in per cent.
#[must_use]
pub fn percent(share: f64) -> String {
    if share.is_infinite() {
        "unbounded".to_owned()
    } else {
        format!("{} %", two_decimals(100.0 * share))
    }
}

/// A figure or limit of the criterion `name` with its unit.
#[must_use]
pub fn figure(name: &str, value: f64) -> String {
    match name {
        "angle" | "transmission_angle" => degrees(value),
        _ => percent(value),
    }
}

/// The criterion in words.
#[must_use]
pub fn title(name: &str) -> &'static str {
    match name {
        "angle" => "angle error",
        "ratio" => "ratio error",
        "inertia" => "inertia error",
        _ => "transmission angle",
    }
}

/// Why the verdict is what it is.
#[must_use]
pub(super) fn reason(check: &Check) -> String {
    match check.verdict {
        Verdict::Equivalent => equivalent(check),
        Verdict::NotEquivalent => refuted(check),
        Verdict::Undecided => undecided(check),
    }
}

fn span(check: &Check) -> String {
    let [a, b] = check.stroke.joint;
    format!("joint {:.1}…{:.1} deg", a.min(b).to_degrees(), a.max(b).to_degrees())
}

fn stated(c: &Criterion) -> Option<String> {
    let worst = c.worst()?;
    let (bound, verb) =
        if c.name == "transmission_angle" { ("at least", "floor") } else { ("at most", "limit") };
    let (worst, limit) = (figure(c.name, worst), figure(c.name, c.limit));
    Some(format!("{} {bound} {worst} ({verb} {limit})", title(c.name)))
}

fn equivalent(check: &Check) -> String {
    let held: Vec<String> =
        check.criteria.iter().filter(|c| c.outcome == Outcome::Holds).filter_map(stated).collect();
    let linkage = match check.basis {
        Basis::Nominal => "the linkage",
        Basis::Tolerance => "every linkage within the drawn tolerances",
    };
    format!(
        "over {} a direct joint with ratio {:.5} stays with {linkage}: {}",
        span(check),
        check.direct_joint.ratio,
        held.join(", ")
    )
}

fn refuted(check: &Check) -> String {
    let mut failed: Vec<&Criterion> =
        check.criteria.iter().filter(|c| c.outcome == Outcome::Fails).collect();
    failed.sort_by(|a, b| b.load().total_cmp(&a.load()));
    let Some((worst, others)) = failed.split_first() else { return String::new() };
    let others: Vec<&str> = others.iter().map(|c| title(c.name)).collect();
    let too = match others[..] {
        [] => String::new(),
        [one] => format!("; the {one} fails too"),
        _ => format!("; {} fail too", others.join(" and ")),
    };
    format!("{}{}{too}", worst_in_words(check, worst), whose(check, worst))
}

/// Which linkage fails, where it is not the drawn one.
fn whose(check: &Check, worst: &Criterion) -> String {
    match (check.basis, check.witness) {
        (Basis::Tolerance, Some((name, witness))) if name == worst.name => {
            format!(", in a linkage within the drawn tolerances ({})", lengths(&witness.bars))
        }
        _ => String::new(),
    }
}

/// The four lengths of a linkage in words.
#[must_use]
pub fn lengths(bars: &FourBar) -> String {
    let mm = crate::units::millimetres;
    format!(
        "ground {}, crank {}, coupler {}, rocker {}",
        mm(bars.ground),
        mm(bars.crank),
        mm(bars.coupler),
        mm(bars.rocker)
    )
}

fn worst_in_words(check: &Check, c: &Criterion) -> String {
    let value = c.worst().unwrap_or(f64::NAN);
    let at = c.worst_at_joint.unwrap_or(f64::NAN).to_degrees();
    let limit = figure(c.name, c.limit);
    match c.name {
        "angle" => format!(
            "with ratio {:.5} the direct joint is {} off the linkage at joint {at:.1} deg (limit {limit})",
            check.direct_joint.ratio,
            degrees(value)
        ),
        "ratio" if value.is_infinite() => {
            format!(
                "the rocker stands still at joint {at:.1} deg: no constant ratio can stand for that"
            )
        }
        "ratio" => format!(
            "the linkage's transmission ratio is {} off {:.5} at joint {at:.1} deg (limit {limit})",
            percent(value),
            check.direct_joint.ratio
        ),
        _ if c.proved
            && check.witness.is_some_and(|(name, w)| name == c.name && w.value.is_nan()) =>
        {
            format!("the loop does not even close at joint {at:.1} deg")
        }
        _ => format!(
            "the transmission angle falls to {} at joint {at:.1} deg (floor {limit})",
            degrees(value)
        ),
    }
}

fn undecided(check: &Check) -> String {
    let open = check.criteria.iter().find(|c| c.outcome == Outcome::Undecided);
    let (name, note) = open.map_or(("", None), |c| (title(c.name), c.note.clone()));
    let note = note.unwrap_or_else(|| "no criterion was assessed".to_owned());
    match check.proved_joint {
        Some([a, b]) => format!(
            "proved for joint {:.1}…{:.1} deg only; elsewhere the {name} is open: {note}",
            a.to_degrees(),
            b.to_degrees()
        ),
        None => format!("{name}: {note}"),
    }
}
