//! `check` in words: the verdict, the linkage, the ratio, the criteria, how far it would hold, what would do, and what
//! the reader should look at.

use crate::equivalence::{Assessment, Basis, Criterion, Figure, Outcome, Shown, Verdict};
use crate::linkage::{Closure, Kind};
use crate::study::{
    Check, LinkageFacts, OtherWay, ParentMotor, drive_lines, drive_word, figure, sizes,
};
use crate::units::{
    angle, angles, degrees, fixed, four_digits, millimetres, percent, rounded_down,
};

use super::blocks::{Block, Cell, Characters, Group, listed, or_dash};
use super::cautions::{caution, short_caution};
use super::criteria::{criteria_table, held, open_clause};
use super::finger;
use super::in_space;
use super::inertia::inertia;
use super::style::{Detail, Style};
use super::terminal;

/// One design's findings for a person; how far it would still hold, what shortcuts cost and the ratio's curve only in full.
#[must_use]
pub fn check_text(check: &Check, detail: Detail, style: Style) -> String {
    let groups = if detail.is_full() { everything(check) } else { what_decides(check) };
    terminal::text(&groups, style) + "\n"
}

fn everything(check: &Check) -> Vec<Group> {
    let mut reach = proved(check);
    reach.extend(undecided(check));
    vec![
        headline(check),
        vec![facts(check)],
        motion(check),
        criteria(check),
        check.finger.as_ref().map(finger::stand_ins).unwrap_or_default(),
        check.in_space.as_ref().map(|found| in_space::margins(check, found)).unwrap_or_default(),
        check.inertia.as_ref().map(inertia).unwrap_or_default(),
        reach,
        advice(check),
        warnings(check),
        vec![caution(check)],
    ]
}

fn what_decides(check: &Check) -> Vec<Group> {
    let whole = check.verdict == Verdict::Equivalent;
    let part = check.proved_joint.filter(|_| !whole);
    let mut open: Vec<String> = part.map(|joint| proved_part(check, joint)).into_iter().collect();
    open.extend(
        check.undecided_joint.iter().map(|j| format!("undecided over joint {}", joints(check, *j))),
    );
    let assumed = check.in_space.iter().flat_map(in_space::assumed).map(Block::Line);
    vec![
        headline(check),
        vec![short_facts(check)],
        criteria(check),
        open.into_iter().map(Block::Line).chain(assumed).collect(),
        advice(check),
        warnings(check),
        vec![Block::Caution(short_caution(check))],
    ]
}

/// The drive, its stroke, and what stands in.
fn short_facts(check: &Check) -> Block {
    let pad = check.finger.as_ref().filter(|_| check.is_of_pad());
    let mut facts = vec![drawn(check), ("stroke", stroke(check)), stands_in(check)];
    facts.extend(pad.map(|found| finger::leading_facts(check, found)).unwrap_or_default());
    facts.extend(check.two_joints.iter().map(|pair| ("motor on", two_joints(pair))));
    Block::Facts(facts)
}

fn headline(check: &Check) -> Group {
    let verdict = Some(Cell::verdict(check.verdict));
    let rests = format!("({})", rests(check));
    vec![Block::Title(check.design.clone(), verdict, rests), Block::Line(check.reason.clone())]
}

/// What a verdict rests on.
pub(super) fn rests(check: &Check) -> String {
    match check.verdict {
        Verdict::Equivalent => held(check.basis, &check.criteria, drive_word(check)),
        Verdict::NotEquivalent => refuted(check),
        Verdict::Undecided => match check.basis {
            Basis::Nominal => "neither proved nor refuted; drawn lengths only".to_owned(),
            Basis::Tolerance => "neither proved nor refuted over the drawn tolerances".to_owned(),
        },
    }
}

fn refuted(check: &Check) -> String {
    let failing = check.criteria.iter().filter(|c| c.outcome == Outcome::Fails);
    let Some(decides) = failing.max_by(|a, b| a.load().total_cmp(&b.load())) else {
        return String::new();
    };
    let is_drawn =
        check.witness.as_ref().is_none_or(|(criterion, _)| *criterion != decides.criterion);
    match (decides.shown, check.basis) {
        (Shown::Computed | Shown::NotShown, _) => {
            "computed: no such joint has real bodies".to_owned()
        }
        (_, Basis::Tolerance) if !is_drawn => {
            format!("shown by a pose of a {} within the drawn tolerances", drive_word(check))
        }
        _ => format!("shown by a pose of the drawn {}", drive_word(check)),
    }
}

/// Joint readings over a range of joint turns.
fn joints(check: &Check, turns: [f64; 2]) -> String {
    angles(check.readings.joint_range(turns), 2)
}

/// What the joint reads at a joint turn.
pub(super) fn joint(check: &Check, turn: f64, decimals: usize) -> String {
    angle(check.readings.joint(turn), decimals)
}

/// How the ratio runs, or what the pad does.
fn motion(check: &Check) -> Group {
    let mut group = if check.is_of_pad() { Group::new() } else { ratio(check) };
    group.extend(check.finger.iter().flat_map(|found| finger::finger(check, found)));
    group
}

/// Linkage, zero pose, stroke, what stands in.
pub(super) fn facts(check: &Check) -> Block {
    let mut facts = vec![drawn(check)];
    facts.extend(zero_pose(check).map(|pose| ("zero pose", vec![pose])));
    facts.extend([("stroke", stroke(check)), stands_in(check)]);
    facts.extend(check.two_joints.iter().map(|pair| ("motor on", two_joints(pair))));
    Block::Facts(facts)
}

/// What the drive is, and its sizes.
fn drawn(check: &Check) -> (&'static str, Vec<String>) {
    let (what, kind) = match &check.linkage {
        Some(facts) => ("linkage", linkage(facts)),
        None => ("drive", check.drive.kind.title().to_owned()),
    };
    (what, [vec![kind], drive_lines(&check.drive, usize::MAX)].concat())
}

fn stands_in(check: &Check) -> (&'static str, Vec<String>) {
    match &check.finger {
        Some(found) if check.is_of_pad() => ("stand-in", finger::stand_in(check, found)),
        _ => ("direct joint", vec![direct_joint(check)]),
    }
}

/// How a motor on the carrier's parent turns and loads both joints, in what the robot reads.
fn two_joints(pair: &ParentMotor) -> Vec<String> {
    let ParentMotor { joint, parent_joint, motor_link, matrix: [_, [by_parent, by_joint]], .. } =
        pair;
    let [by_parent, by_joint] = [by_parent, by_joint].map(|share| fixed(*share, 5));
    vec![
        format!("{motor_link}, its axis that of {parent_joint}"),
        format!("motor turn = {by_parent} · {parent_joint} + {by_joint} · {joint}"),
        format!(
            "{parent_joint} bears {by_parent} times the motor's torque besides its own motor's"
        ),
    ]
}

/// What a planar four-bar is.
fn linkage(facts: &LinkageFacts) -> String {
    let assembly = match (facts.kind, facts.closure) {
        (Kind::Parallelogram | Kind::Antiparallelogram, _) => "",
        (_, Closure::Open) => ", open in the zero pose",
        (_, Closure::Crossed) => ", crossed in the zero pose",
    };
    format!("{} ({}){assembly}", facts.kind.name(), facts.class.name())
}

/// The angles that the drive has there.
fn zero_pose(check: &Check) -> Option<String> {
    let named = [("crank", check.zero.crank), ("rocker", check.zero.rocker)];
    let told = named.into_iter().filter(|(_, at)| at.is_finite());
    let told: Vec<String> =
        told.map(|(name, at)| format!("{name} {}", angle(check.readings.sense * at, 2))).collect();
    (!told.is_empty()).then(|| format!("{} from A→B", told.join(", ")))
}

fn motor_and_joint(motor: [f64; 2], joint: [f64; 2]) -> String {
    format!("motor {}, joint {}", angles(motor, 2), angles(joint, 2))
}

/// Readings of motor and joint over the stroke, the turns where they differ, and what a robot reads that counts the
/// other way.
fn stroke(check: &Check) -> Vec<String> {
    let (stroke, readings) = (&check.stroke, &check.readings);
    let [a, b] = stroke.joint;
    let read =
        motor_and_joint(readings.motor_range(stroke.motor), readings.joint_range(stroke.joint));
    let mut lines = if readings.are_turns() {
        vec![format!("{read} from the zero pose")]
    } else {
        let own = readings.own_motor_range(stroke.motor);
        let turns = motor_and_joint(own, [a.min(b), a.max(b)]);
        vec![
            format!("{read} as read, in the drawing's sense"),
            format!("turns from the zero pose: {turns}"),
        ]
    };
    let crank = || format!("crank {} from the zero pose", angles(stroke.motor, 2));
    lines.extend(readings.front().map(|_| crank()));
    for OtherWay { joint_name, motor, joint } in &check.other_way {
        let head = format!("{joint_name} counts the other way:");
        lines.extend([head, motor_and_joint(*motor, *joint)]);
    }
    lines
}

fn direct_joint(check: &Check) -> String {
    let joint = &check.direct_joint;
    if joint.ratio.is_infinite() {
        return "none: the rocker comes to no turn over the stroke".to_owned();
    }
    let found = if check.ratio_is_best { "best constant ratio" } else { "ratio as given" };
    let ratio = fixed(joint.ratio, 5);
    match degrees(check.readings.sense * joint.offset).as_str() {
        "0 deg" => format!("motor turn = {ratio} · joint turn, {found}"),
        offset => format!("motor turn = {ratio} · (joint turn − {offset}), {found}"),
    }
}

/// From where to where the ratio runs, and its mean.
pub(super) fn ratio_span(check: &Check) -> String {
    let range = check.transmission_ratio;
    let Some([low, high]) = range.ends else {
        return "unbounded: the rocker stands still inside the stroke".to_owned();
    };
    let [low, high, mean] = [low, high, range.mean].map(|i| fixed(i, 5));
    if low == high {
        format!("{low} all over the stroke")
    } else {
        format!("{low}…{high}, mean {mean}")
    }
}

/// The ratio drawn over the stroke.
fn ratio(check: &Check) -> Group {
    let reading = |joint: f64| check.readings.joint(joint).to_degrees();
    let points = check.curve.iter().map(|r| (reading(r.joint), r.transmission_ratio));
    let mut points: Vec<(f64, f64)> = points.filter(|point| point.1.is_finite()).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let limit = check.criterion(Criterion::Ratio).map_or(0.0, |c| c.limit);
    let ratio = check.direct_joint.ratio;
    let span = ratio_span(check);
    let heading = |more| Block::Heading("transmission ratio".to_owned(), more);
    if points.len() < 2 || !ratio.is_finite() || is_constant(&points) {
        return vec![heading(span)];
    }
    let band = [ratio * (1.0 - limit), ratio * (1.0 + limit)];
    let curve = Block::Characters(Characters::Curve(points, band));
    vec![heading(format!("{span}; ┄ accepted")), curve]
}

/// Nothing to see in a picture.
fn is_constant(points: &[(f64, f64)]) -> bool {
    let first = points.first().map_or(0.0, |point| point.1);
    points.iter().all(|point| (point.1 - first).abs() < 5e-6)
}

/// The criteria with limits, worst figures and what came out.
pub(super) fn criteria(check: &Check) -> Group {
    let at = if check.is_of_pad() { "at motor" } else { "at joint" };
    criteria_table(&check.criteria, at, &|c| check.worst_at(c).map(|(_, at)| angle(at, 2)))
}

/// Where a criterion is worst: `joint 40.00 deg`, or the motor's reading for a pad on the coupler.
pub(super) fn worst_place(check: &Check, c: &Assessment, decimals: usize) -> Option<String> {
    check.worst_at(c).map(|(who, at)| format!("{who} {}", angle(at, decimals)))
}

/// A criterion that fails or stays open, in a clause that stands alone; `None` for the others.
#[must_use]
pub fn open_criterion(check: &Check, c: &Assessment) -> Option<String> {
    open_clause(&check.design, c, worst_place(check, c, 2))
}

/// Over what it is proved, beyond the verdict.
pub(super) fn proved(check: &Check) -> Group {
    let mut lines = Vec::new();
    let whole = check.verdict == Verdict::Equivalent;
    if let Some(joint) = check.proved_joint.filter(|_| !whole) {
        lines.push(format!("over joint {}, a part of the stroke", joints(check, joint)));
    }
    if let Some(joint) = check.extremes.stroke_joint.filter(|_| whole) {
        lines.push(format!("over a stroke of up to joint {}", joints(check, joint)));
    }
    lines.extend(allowed(check));
    let what = if check.is_of_pad() {
        "proved to hold (tilt, shift, opening, grip and transmission angle)"
    } else if check.transmission_angle.is_none() {
        "proved to hold (angle and ratio)"
    } else {
        "proved to hold (angle, ratio and transmission angle)"
    };
    listed(what, lines)
}

fn proved_part(check: &Check, joint: [f64; 2]) -> String {
    format!("proved over joint {} only, a part of the stroke", joints(check, joint))
}

/// With which tolerance it is proved.
pub(super) fn allowed(check: &Check) -> Option<String> {
    let tolerance = check.extremes.symmetric_tolerance.filter(|t| *t > 0.0)?;
    let tolerance = millimetres(rounded_down(tolerance));
    let lengths = if check.linkage.is_some() {
        "each of the four lengths"
    } else {
        "every length but the lead, with angles as they are drawn,"
    };
    Some(format!("with ±{tolerance} on {lengths} over the stroke as it is"))
}

/// Where neither a proof nor a pose was found.
pub(super) fn undecided(check: &Check) -> Group {
    let open = check.undecided_joint.iter();
    listed("undecided", open.map(|j| format!("over joint {}", joints(check, *j))).collect())
}

/// What would make the drawn linkage equivalent.
pub(super) fn advice(check: &Check) -> Group {
    let Some(advice) = &check.advice else { return Group::new() };
    let first = advice.first_to_fail.title();
    let stroke = match advice.enough {
        Some((joint, share)) => format!(
            "a shorter stroke: joint {} ({} % of this one); beyond it the {first} fails first",
            joints(check, joint),
            fixed(100.0 * share, 0),
        ),
        None => {
            format!("no stroke around this zero pose, however short: the {first} fails at once")
        }
    };
    if check.linkage.is_none() {
        return listed(
            "what would do",
            [Some(stroke), in_space::law(check)].into_iter().flatten().collect(),
        );
    }
    let Some(change) = &advice.change else {
        let none = "no change of one length by up to 15 % helps by much".to_owned();
        return listed("what would do", vec![stroke, none]);
    };
    let verb = if change.load <= 1.0 { "all criteria hold" } else { "not enough alone" };
    let length = format!(
        "the length that helps most is the {}: {} instead of {} gives angle error {} and ratio error {} ({verb})",
        change.length.name(),
        millimetres(four_digits(change.to)),
        or_dash(check.linkage, |facts| millimetres(change.length.of(&facts.bars))),
        degrees(change.figures.angle.value),
        percent(change.figures.ratio.value),
    );
    listed("what would do", vec![stroke, length])
}

/// The linkage and the pose that break a criterion.
pub(super) fn witness(check: &Check) -> Group {
    let Some((criterion, by)) = &check.witness else { return Group::new() };
    let at = check.criterion(*criterion).and_then(|c| worst_place(check, c, 2));
    let at = at.map_or(String::new(), |at| format!(" at {at}"));
    let lengths = sizes(by);
    let line = match Figure::new(by.value()) {
        Some(value) => format!(
            "with {lengths} the {}{at} is {}, recomputed in plain arithmetic",
            criterion.title(),
            figure(*criterion, value.value())
        ),
        None => format!("with {lengths} the loop does not close{at}"),
    };
    vec![Block::heading("what refutes it"), Block::Line(line)]
}

/// What the reader should look at, and what was not.
pub(super) fn warnings(check: &Check) -> Group {
    let mut group = warned(&check.warnings);
    if !check.unused.is_empty() {
        let tables = check.unused.join(", ");
        group.push(Block::Line(format!("read and kept, not used by check yet: {tables}")));
    }
    group
}

/// Warnings, or nothing.
pub(super) fn warned(warnings: &[crate::study::Warning]) -> Group {
    if warnings.is_empty() { Group::new() } else { vec![Block::Warnings(warnings.to_vec())] }
}
