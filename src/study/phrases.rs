//! The reason of a verdict in one sentence that can be forwarded, made from the criterion that decides it.

use crate::drive::{Measure, Size};
use crate::equivalence::{Assessment, Basis, Criterion, Figure, Outcome, Unit, Verdict, Why};
use crate::linkage::FourBar;
use crate::units::{angle, angles, degrees, fine_millimetres, fixed, millimetres, percent};

use super::findings::{BrokenBy, Check, DriveFacts};
use super::notes::{in_words, note};

/// A figure or limit of a criterion with its unit.
#[must_use]
pub fn figure(criterion: Criterion, value: f64) -> String {
    match criterion.unit() {
        Unit::Radian => degrees(value),
        Unit::Metre => fine_millimetres(value),
        Unit::One => percent(value),
    }
}

/// What a verdict calls what it is about: a planar four-bar is a linkage.
#[must_use]
pub fn drive_word(check: &Check) -> &'static str {
    let is_behind = check.finger.as_ref().is_some_and(|finger| finger.crank_drive.is_some());
    if check.linkage.is_some() && !is_behind { "linkage" } else { "drive" }
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
    if check.is_of_pad() {
        return format!("motor {}", angles(check.readings.motor_range(check.stroke.motor), 1));
    }
    format!("joint {}", angles(check.readings.joint_range(check.stroke.joint), 1))
}

/// "ratio error at most 0.90 % (limit 2 %)".
pub(super) fn stated(c: &Assessment) -> Option<String> {
    let (worst, side) = (c.worst()?, c.criterion.side());
    let (worst, limit) = (figure(c.criterion, worst.value()), figure(c.criterion, c.limit));
    Some(format!("{} {} {worst} ({} {limit})", c.criterion.title(), side.name(), side.limit_name()))
}

fn equivalent(check: &Check) -> String {
    let drive = drive_word(check);
    let linkage = match check.basis {
        Basis::Nominal => format!("the {drive}"),
        Basis::Tolerance => format!("every {drive} within the drawn tolerances"),
    };
    let stand_in = match &check.finger {
        Some(finger) if check.is_of_pad() => format!("the {}", finger.stand_in.title()),
        _ => format!("a direct joint with ratio {}", fixed(check.direct_joint.ratio, 5)),
    };
    format!("over {} {stand_in} stays with {linkage}: {}", span(check), held(&check.criteria))
}

/// What holds, with its figures.
pub(super) fn held(criteria: &[Assessment]) -> String {
    let held = criteria.iter().filter(|c| c.outcome == Outcome::Holds).filter_map(stated);
    held.collect::<Vec<_>>().join(", ")
}

fn refuted(check: &Check) -> String {
    let Some((worst, too)) = failed(&check.criteria) else { return String::new() };
    format!("{}{}{too}", worst_in_words(check, worst), whose(check, worst))
}

/// What fails furthest over its limit, and a clause that says which others fail.
pub(super) fn failed(criteria: &[Assessment]) -> Option<(&Assessment, String)> {
    let mut failed: Vec<&Assessment> =
        criteria.iter().filter(|c| c.outcome == Outcome::Fails).collect();
    failed.sort_by(|a, b| b.load().total_cmp(&a.load()));
    let (worst, others) = failed.split_first()?;
    let others: Vec<&str> = others.iter().map(|c| c.criterion.title()).collect();
    let too = match others[..] {
        [] => String::new(),
        [one] => format!("; the {one} fails too"),
        _ => format!("; {} fail too", others.join(" and ")),
    };
    Some((worst, too))
}

/// Which linkage fails, where it is not the drawn one.
fn whose(check: &Check, worst: &Assessment) -> String {
    match (check.basis, &check.witness) {
        (Basis::Tolerance, Some((criterion, by))) if *criterion == worst.criterion => {
            format!(", in a {} within the drawn tolerances ({})", drive_word(check), sizes(by))
        }
        _ => String::new(),
    }
}

/// The sizes of what breaks a criterion in words.
#[must_use]
pub fn sizes(by: &BrokenBy) -> String {
    match by {
        BrokenBy::Linkage(witness) => lengths(&witness.bars),
        BrokenBy::Build(build) => drive_sizes(&build.drive),
    }
}

/// The sizes of a drive in words, all in one.
#[must_use]
pub fn drive_sizes(drive: &DriveFacts) -> String {
    drive_lines(drive, usize::MAX).join("; ")
}

/// The sizes of a drive in words, in lines of at most `width` columns, of a series by stages.
#[must_use]
pub fn drive_lines(drive: &DriveFacts, width: usize) -> Vec<String> {
    let mut lines = in_lines(&size_words(&drive.sizes), width);
    for (k, stage) in drive.stages.iter().enumerate() {
        let words = size_words(&stage.sizes);
        lines.extend(in_lines(&words, width).into_iter().enumerate().map(|(line, text)| {
            let head = if line == 0 { format!("stage {}: ", k + 1) } else { String::new() };
            head + &text
        }));
    }
    lines
}

/// Each size by its name, a point's three coordinates together; a tilt that the drawing does not have is left out.
#[must_use]
pub fn size_words(sizes: &[Size]) -> Vec<String> {
    let mut words = Vec::new();
    let mut left = sizes;
    while let Some((first, rest)) = left.split_first() {
        let point = first.name.strip_suffix("_x").zip(left.get(..3)).filter(|(_, three)| {
            three.iter().zip(["_x", "_y", "_z"]).all(|(size, end)| size.name.ends_with(end))
        });
        if let Some((name, three)) = point {
            let at: Vec<String> = three.iter().map(|size| fixed(size.value * 1e3, 3)).collect();
            words.push(format!("{} at ({}) mm", name.replace('_', " "), at.join(", ")));
            left = left.get(3..).unwrap_or_default();
            continue;
        }
        left = rest;
        let is_tilt = first.name.ends_with("_u") || first.name.ends_with("_v");
        if !(is_tilt && first.value.abs() < NO_TILT) {
            words.push(format!("{} {}", first.name.replace('_', " "), size_value(first)));
        }
    }
    words
}

/// A tilt of an axis below this, rad, is none.
const NO_TILT: f64 = 1e-12;

fn size_value(size: &Size) -> String {
    match size.measure {
        Measure::Length => millimetres(size.value),
        Measure::Angle => degrees(size.value),
        Measure::Number => fixed(size.value, 5),
    }
}

/// Words behind each other, a comma between, in lines of at most `width` columns.
fn in_lines(words: &[String], width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if line.len().saturating_add(word.len() + 2) <= width => {
                line.push_str(", ");
                line.push_str(word);
            }
            Some(line) => {
                line.push(',');
                lines.push(word.clone());
            }
            None => lines.push(word.clone()),
        }
    }
    lines
}

/// The four lengths of a linkage in words.
#[must_use]
pub fn lengths(bars: &FourBar) -> String {
    let [ground, crank, coupler, rocker] =
        [bars.ground, bars.crank, bars.coupler, bars.rocker].map(millimetres);
    format!("ground {ground}, crank {crank}, coupler {coupler}, rocker {rocker}")
}

/// What a failing criterion comes to, for each of them.
fn worst_in_words(check: &Check, c: &Assessment) -> String {
    let at = check.worst_at(c);
    let at = at.map_or_else(String::new, |(who, at)| format!(" at {who} {}", angle(at, 1)));
    let limit = figure(c.criterion, c.limit);
    let Some(value) = c.worst().map(Figure::value) else { return without_figure(c, &at) };
    let value = figure(c.criterion, value);
    let ratio = fixed(check.direct_joint.ratio, 5);
    let drive = drive_word(check);
    let model = if check.is_of_pad() { "stand-in's model" } else { "direct joint's model" };
    match c.criterion {
        Criterion::Angle => format!(
            "with ratio {ratio} the direct joint is {value} off the {drive}{at} (limit {limit})"
        ),
        Criterion::Ratio => {
            format!("the {drive}'s transmission ratio is {value} off {ratio}{at} (limit {limit})")
        }
        Criterion::Inertia => format!(
            "the kinetic energy of the {model} is up to {value} off the {drive}'s{at} (limit {limit}{})",
            energy(c)
        ),
        Criterion::Tilt => {
            format!(
                "the stand-in's pad is turned by {value} against the linkage's{at} (limit {limit})"
            )
        }
        Criterion::Shift => {
            format!("the stand-in's pad is {value} beside the linkage's{at} (limit {limit})")
        }
        Criterion::Opening => {
            format!("the stand-in's opening is {value} off the linkage's{at} (limit {limit})")
        }
        Criterion::Grip => {
            format!("the stand-in's grip is {value} off the linkage's{at} (limit {limit})")
        }
        Criterion::TransmissionAngle => {
            format!("the transmission angle falls to {value}{at} (floor {limit})")
        }
        Criterion::BallTilt => {
            format!("the rod tilts by {value} in a ball end{at} (limit {limit})")
        }
        Criterion::CrankSide => {
            format!(
                "the motor's end of the rod comes to {value} from its dead point{at} (floor {limit})"
            )
        }
    }
}

/// `; spatial figure`
fn energy(c: &Assessment) -> String {
    match &c.why {
        Some(Why::Energy { over, drives: 1, .. }) => format!("; {} figure", over.name()),
        Some(Why::Energy { over, drives, .. }) => {
            format!("; {} figure of the {drives} drives on one link together", over.name())
        }
        Some(Why::WithoutRotor(over)) => {
            format!("; {} figure of crank and rod alone, the rotor is not given", over.name())
        }
        _ => String::new(),
    }
}

/// What fails where there is no figure.
fn without_figure(c: &Assessment, at: &str) -> String {
    match &c.why {
        Some(Why::StandsStill(_)) if c.criterion == Criterion::Grip => {
            format!("the stand-in's pad stands still{at}: no force can be told of it")
        }
        Some(Why::StandsStill(_)) => {
            format!("the rocker stands still{at}: no constant ratio can stand for that")
        }
        Some(Why::DoesNotClose) => format!("the loop does not even close{at}"),
        Some(Why::NoModel(fault)) => {
            format!("no direct joint with real bodies can be written: {}", in_words(fault))
        }
        _ => format!("the {} has no bound{at}", c.criterion.title()),
    }
}

fn undecided(check: &Check) -> String {
    let Some(open) = check.criteria.iter().find(|c| c.outcome == Outcome::Undecided) else {
        return "no criterion was assessed".to_owned();
    };
    let (name, note) = (open.criterion.title(), note(open).unwrap_or_default());
    let [a, b] = check.stroke.joint;
    let whole = |[from, to]: [f64; 2]| from <= a.min(b) && to >= a.max(b);
    match check.proved_joint.filter(|proved| !whole(*proved)) {
        Some(turns) => {
            let proved = angles(check.readings.joint_range(turns), 1);
            format!("proved for joint {proved} only; elsewhere the {name} is open: {note}")
        }
        None => format!("{name}: {note}"),
    }
}
