//! `check` as text: the verdict first, then the ratio drawn, the criteria, warnings and cautions last.

use std::fmt::Write as _;

use anstyle::AnsiColor;

use crate::equivalence::{Criterion, Figure, Outcome, Verdict};
use crate::linkage::{Closure, Kind};
use crate::study::{Check, OtherWay, degrees, figure, lengths, note, percent};

use crate::units::{millimetres, rounded_down};

use super::columns::columns;
use super::inertia_text::inertia_text;
use super::picture::{Picture, draw};
use super::style::Style;
use super::words::{outcome_shown, rests, warnings_shown, wrapped};

/// One design's findings for a person.
#[must_use]
pub fn check_text(check: &Check, style: Style) -> String {
    let mut out = String::new();
    for block in [
        headline(check, style),
        facts(check),
        picture(check, style),
        criteria(check, style),
        check.inertia.as_ref().map_or_else(String::new, |found| inertia_text(found, style)),
        reach(check, style),
        advice(check, style),
        warnings(check, style),
        cautions(check, style),
    ] {
        if !block.is_empty() {
            out.push_str(&block);
            out.push('\n');
        }
    }
    style.fit(out)
}

fn headline(check: &Check, style: Style) -> String {
    let verdict = match check.verdict {
        Verdict::Equivalent => style.strong("EQUIVALENT", AnsiColor::Green),
        Verdict::NotEquivalent => style.strong("NOT EQUIVALENT", AnsiColor::Red),
        Verdict::Undecided => style.strong("UNDECIDED", AnsiColor::Yellow),
    };
    let rests = rests(check);
    let reason = wrapped(&check.reason, style.width, "  ");
    format!("{}: {verdict} ({rests})\n{reason}", style.heading(&check.design))
}

pub(super) fn pair(range: [f64; 2]) -> String {
    // no "-0.00"
    let [from, to] = range.map(|end| (end.to_degrees() * 1e2).round() / 1e2 + 0.0);
    format!("{from:.2}…{to:.2} deg")
}

/// Joint readings over a range of joint turns.
fn joints(check: &Check, turns: [f64; 2]) -> String {
    pair(check.readings.joint_range(turns))
}

pub(super) fn assembly(check: &Check) -> &'static str {
    match (check.linkage.kind, check.linkage.closure) {
        (Kind::Parallelogram | Kind::Antiparallelogram, _) => "",
        (_, Closure::Open) => ", open in the zero pose",
        (_, Closure::Crossed) => ", crossed in the zero pose",
    }
}

/// Readings of motor and joint over the stroke, and on a line of their own the turns where they differ.
pub(super) fn stroke_lines(check: &Check) -> Vec<String> {
    let (stroke, readings) = (&check.stroke, &check.readings);
    let both = |motor, joint| format!("motor {}, joint {}", pair(motor), pair(joint));
    let read = both(readings.motor_range(stroke.motor), readings.joint_range(stroke.joint));
    if readings.are_turns() {
        return vec![format!("{read} from the zero pose")];
    }
    let [a, b] = stroke.joint;
    let turns = both(stroke.motor, [a.min(b), a.max(b)]);
    vec![
        format!("{read} as read, in the drawing's sense"),
        format!("turns from the zero pose: {turns}"),
    ]
}

/// What a robot reads that counts the other way.
pub(super) fn other_way_words(robot: &OtherWay) -> String {
    format!(
        "{} counts the other way: motor {}, joint {}",
        robot.joint_name,
        pair(robot.motor),
        pair(robot.joint)
    )
}

fn facts(check: &Check) -> String {
    let (bars, facts) = (&check.linkage.bars, &check.linkage);
    let found = if check.ratio_is_best { "best constant ratio" } else { "ratio as given" };
    let drawn = |angle: f64| check.readings.sense * angle + 0.0;
    let mut out = String::new();
    let mut line = |name: &str, text: String| {
        let _ = writeln!(out, "  {name:<13}{text}");
    };
    line("linkage", format!("{} ({}){}", facts.kind.name(), facts.class.name(), assembly(check)));
    line("", lengths(bars));
    line(
        "zero pose",
        format!(
            "crank {:.2} deg, rocker {:.2} deg from A→B",
            drawn(check.zero.crank).to_degrees(),
            drawn(check.zero.rocker).to_degrees()
        ),
    );
    for (k, text) in stroke_lines(check).into_iter().enumerate() {
        line(if k == 0 { "stroke" } else { "" }, text);
    }
    for robot in &check.other_way {
        line("", format!("{} counts the other way:", robot.joint_name));
        line("", format!("motor {}, joint {}", pair(robot.motor), pair(robot.joint)));
    }
    line("direct joint", direct_joint(check, found));
    out
}

fn direct_joint(check: &Check, found: &str) -> String {
    let joint = &check.direct_joint;
    if joint.ratio.is_infinite() {
        return "none: the rocker comes to no turn over the stroke".to_owned();
    }
    let offset = degrees(check.readings.sense * joint.offset + 0.0);
    format!("motor turn = {:.6} · (joint turn − {offset}), {found}", joint.ratio)
}

fn picture(check: &Check, style: Style) -> String {
    let mut points: Vec<(f64, f64)> = check
        .curve
        .iter()
        .map(|r| (check.readings.joint(r.joint).to_degrees(), r.transmission_ratio))
        .collect();
    points.retain(|point| point.1.is_finite());
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let limit = check.criterion(Criterion::Ratio).map_or(0.0, |c| c.limit);
    let ratio = check.direct_joint.ratio;
    let band = [ratio * (1.0 - limit), ratio * (1.0 + limit)];
    let shown = points.len() > 1 && ratio.is_finite();
    let lines = if shown { draw(&Picture { points: &points, band }, style) } else { Vec::new() };
    let range = check.transmission_ratio;
    let span = range.ends.map_or_else(
        || "unbounded: the rocker stands still inside the stroke".to_owned(),
        |[low, high]| format!("{low:.5}…{high:.5}, mean {:.5}", range.mean),
    );
    let accepted = if shown { "; ┄ accepted" } else { "" };
    let mut out = format!("  {} {span}{accepted}\n", style.heading("transmission ratio"));
    for line in lines {
        let _ = writeln!(out, "{line}");
    }
    out
}

fn criteria(check: &Check, style: Style) -> String {
    let header = ["  criterion", "limit", "worst", "margin", "at joint", "outcome"];
    let show = |criterion, value: Option<f64>| {
        value.map_or_else(|| "–".to_owned(), |v| figure(criterion, v))
    };
    let rows = check.criteria.iter().map(|c| {
        let at = c
            .worst_at_joint
            .map(|turn| check.readings.joint(turn))
            .map_or_else(|| "–".to_owned(), |j| format!("{:.2} deg", j.to_degrees()));
        vec![
            format!("  {}", c.criterion.title()),
            figure(c.criterion, c.limit),
            show(c.criterion, c.worst().map(Figure::value)),
            show(c.criterion, c.margin().filter(|_| c.outcome != Outcome::Undecided)),
            at,
            outcome_shown(c.outcome, style),
        ]
    });
    let mut out = columns(&header, &rows.collect::<Vec<_>>(), |at| at == 0 || at == 5);
    for c in &check.criteria {
        if let Some(note) = note(c) {
            out.push_str(&wrapped(
                &format!("{}: {note}", c.criterion.title()),
                style.width,
                "    ",
            ));
        }
    }
    out
}

/// How far it would still hold, and over which part of the stroke it is proved where not over all.
fn reach(check: &Check, style: Style) -> String {
    let undecided: Vec<String> = check
        .undecided_joint
        .iter()
        .map(|joint| format!("over joint {}", joints(check, *joint)))
        .collect();
    let rests = "angle, ratio and transmission angle";
    block(&format!("proved to hold ({rests})"), &proved_lines(check), style)
        + &block("undecided", &undecided, style)
}

/// Over what it is proved, beyond the verdict.
pub(super) fn proved_lines(check: &Check) -> Vec<String> {
    let mut proved = Vec::new();
    let whole = check.verdict == Verdict::Equivalent;
    if let Some(joint) = check.proved_joint.filter(|_| !whole) {
        proved.push(format!("over joint {}, a part of the stroke", joints(check, joint)));
    }
    if let Some(joint) = check.extremes.stroke_joint.filter(|_| whole) {
        proved.push(format!("over a stroke of up to joint {}", joints(check, joint)));
    }
    if let Some(tolerance) = check.extremes.symmetric_tolerance.filter(|t| *t > 0.0) {
        proved.push(format!(
            "with ±{} on each of the four lengths over the stroke as it is",
            millimetres(rounded_down(tolerance))
        ));
    }
    proved
}

fn block(heading: &str, lines: &[String], style: Style) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let mut out = format!("  {}\n", style.heading(heading));
    for line in lines {
        let _ = writeln!(out, "  - {line}");
    }
    out
}

fn advice(check: &Check, style: Style) -> String {
    let lines = advice_lines(check);
    if lines.is_empty() {
        return String::new();
    }
    let mut out = format!("  {}\n", style.heading("what would do"));
    for line in lines {
        out.push_str(&wrapped(&line, style.width, "  - "));
    }
    out
}

/// What would make the drawn linkage equivalent.
pub(super) fn advice_lines(check: &Check) -> Vec<String> {
    let mut lines = Vec::new();
    let Some(advice) = &check.advice else {
        return lines;
    };
    let mut say = |text: String| lines.push(text);
    match advice.enough {
        Some((joint, share)) => say(format!(
            "a shorter stroke: joint {} ({:.0} % of this one); beyond it the {} fails first",
            joints(check, joint),
            100.0 * share,
            advice.first_to_fail.title()
        )),
        None => say(format!(
            "no stroke around this zero pose, however short: the {} fails at once",
            advice.first_to_fail.title()
        )),
    }
    if let Some(change) = &advice.change {
        let verb = if change.load <= 1.0 { "all criteria hold" } else { "not enough alone" };
        say(format!(
            "the length that helps most is the {}: {} instead of {} gives angle error {} and ratio error {} ({verb})",
            change.length.name(),
            millimetres(four_digits(change.to)),
            millimetres(change.length.of(&check.linkage.bars)),
            degrees(change.figures.angle.value),
            percent(change.figures.ratio.value),
        ));
    } else {
        say("no change of one length by up to 15 % helps by much".to_owned());
    }
    lines
}

fn warnings(check: &Check, style: Style) -> String {
    let mut out = warnings_shown(&check.warnings, style);
    if !check.unused.is_empty() {
        let tables = check.unused.join(", ");
        out.push_str(&wrapped(
            &format!("read and kept, not used by check yet: {tables}"),
            style.width,
            "  ",
        ));
    }
    out
}

fn cautions(check: &Check, style: Style) -> String {
    let mut text = String::from(
        "caution: planar, rigid, without play; loads, strength and control are not covered. Keep hands out of crank and \
         rod (pinch points); a raised or sprung leg stores energy after power-off. Local codes and a licensed engineer decide.",
    );
    if check.change_point.is_some() {
        text.push_str(" This linkage has a change point: stops must keep it away from there, also when power fails.");
    }
    style.faint(&wrapped(&text, style.width, "  "))
}

/// `x` > 0 with four significant digits: what a drawing can use.
fn four_digits(x: f64) -> f64 {
    let scale = 10_f64.powf(3.0 - x.log10().floor());
    (x * scale).round() / scale
}
