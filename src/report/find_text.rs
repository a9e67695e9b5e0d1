//! `find` as text: a line for the file, then a block for each loop.

use std::borrow::Cow;
use std::fmt::Write as _;

use anstyle::AnsiColor;

use crate::drive::Kind;
use crate::equivalence::Verdict;
use crate::handover::find::{
    EndedBy, Findings, FoundLoop, FourBarLoop, Jaw, LoopDrive, MotorCandidate, MotorSeat,
    MovingPair, PointDrive, Reach, UnheldJaw, ZeroPose,
};
use crate::study::{AtMotor, lengths};
use crate::units::{angle, angles, degrees, fixed, number, percent};

use super::in_space;
use super::style::Style;
use super::terminal::wrapped;

/// One file's findings for a person.
#[must_use]
pub fn find_text(found: &Findings, style: Style) -> String {
    let mut out = headline(found, style);
    for one in &found.loops {
        out.push('\n');
        out.push_str(&loop_text(one, style));
    }
    if !found.pairs.is_empty() {
        out.push('\n');
        out.push_str(&pairs(&found.pairs, style));
    }
    for one in &found.point_drives {
        out.push('\n');
        out.push_str(&point_drive(one, style));
    }
    for jaw in &found.unheld_jaws {
        out.push('\n');
        out.push_str(&unheld(jaw, style));
    }
    if !found.remarks.is_empty() {
        out.push('\n');
        for (at, message) in &found.remarks {
            let text = format!("{at}: {message}");
            out.push_str(&wrapped(&visible(&text), style.width, "  note "));
        }
    }
    if !found.loops.is_empty() {
        out.push('\n');
        out.push_str(&wrapped(&caution(found), style.width, "  caution: "));
    }
    style.fit(out)
}

const CAUTION: &str = "a verdict covers the plane, rigid linkage with the lengths that the file has, no tolerance and no play; \
    add the drawing's tolerances with --design and check. A file can be wrong: measure the real pins before a robot walks on it";

/// Of drives in space as well, where one was judged.
fn caution(found: &Findings) -> Cow<'static, str> {
    if found.loops.iter().all(|one| one.judged_drive.is_none()) {
        return Cow::Borrowed(CAUTION);
    }
    Cow::Owned(CAUTION.replace("the plane, rigid linkage", "the rigid drive"))
}

fn headline(found: &Findings, style: Style) -> String {
    let count = match found.loops.len() {
        0 if found.unread > 0 => "no closed loop in what was read of it".to_owned(),
        0 => "no closed loop".to_owned(),
        1 => "1 closed loop".to_owned(),
        n => format!("{n} closed loops"),
    };
    format!(
        "{}: {count} ({}, {} links, {} moving joints)\n",
        style.heading(&visible(&found.file)),
        found.format,
        found.links,
        found.joints
    )
}

fn loop_text(one: &FoundLoop, style: Style) -> String {
    let mut out = format!("{}: {}\n", style.heading(&visible(&one.name)), verdict(one, style));
    let mut line = |name: &str, text: String| {
        out.push_str(&wrapped(&visible(&text), style.width, &format!("  {name:<11}")));
    };
    let four_bar = one.four_bar.as_ref().zip(one.parts.as_ref());
    if let Some((found, parts)) = four_bar {
        role_lines(one, found, parts, &mut line);
    }
    if let Some(why) = why(one) {
        line("why", why);
    }
    match four_bar {
        Some((found, parts)) => four_bar_lines(one, found, parts, &mut line),
        None => line("links", one.links.join(" – ")),
    }
    if let Some(drive) = &one.drive {
        drive_lines(drive, &mut line);
        if one.check().is_none() {
            line("verdict", COMPUTED.to_owned());
        }
    }
    for (head, list) in [("obstacle", &one.obstacles), ("note", &one.remarks)] {
        for note in list {
            line(head, format!("[{}] {}", note.code, note.message));
        }
    }
    out
}

/// What a loop in space or with a slide is; its figures are computed.
fn drive_lines(found: &LoopDrive, line: &mut impl FnMut(&str, String)) {
    let figures = found.figures().into_iter().map(|(name, value)| match name.rsplit_once('_') {
        Some((name, "m")) => format!("{} {} mm", name.replace('_', " "), fixed(1e3 * value, 3)),
        Some((name, _)) => format!("{name} {}", angle(value, 3)),
        None => format!("{name} {}", number(value)),
    });
    let figures: Vec<String> = figures.collect();
    let [motor, joint] = &found.joints;
    let by = if motor.is_empty() { String::new() } else { format!(", {motor:?} drives {joint:?}") };
    line("drive", format!("kind {}{by}: {}", found.drawing.kind().name(), figures.join(", ")));
    let [low, high] = found.ratio.map(|ratio| fixed(ratio, 4));
    let why = if found.ended_by_limits {
        "the joints' limits".to_owned()
    } else {
        "no limits in the file: the preset's transmission angle or more".to_owned()
    };
    let lead =
        if found.has_no_screw { ", with a lead of 1 mm, as the file has no screw" } else { "" };
    line(
        "ratio",
        format!(
            "{low}…{high} over joint {} from the drawn pose ({why}){lead}",
            angles(found.joint_turns, 2)
        ),
    );
    if found.ball_tilt > 5e-5 {
        line(
            "ball tilt",
            format!(
                "up to {}: what rod ends must allow, or hinges give",
                angle(found.ball_tilt, 2)
            ),
        );
    }
}

/// Of a drive that is not judged.
const COMPUTED: &str = "find computes figures only: write its design with --design and check that";

/// An actuator between two points.
fn point_drive(one: &PointDrive, style: Style) -> String {
    let head = style.heading(&visible(&one.name));
    let mut out =
        format!("{head}: already folded, an actuator between two points without a loop\n");
    let mut line = |name: &str, text: String| {
        out.push_str(&wrapped(&visible(&text), style.width, &format!("  {name:<11}")));
    };
    line("drives", format!("joint {:?} ({})", one.joint, line_of(&one.whereabouts)));
    drive_lines(&one.drive, &mut line);
    line("verdict", COMPUTED.to_owned());
    out
}

/// Of a linkage that only follows the verdict is on inertia: the note says so.
fn why(one: &FoundLoop) -> Option<String> {
    let check = one.check()?;
    let follows = one.four_bar.as_ref().is_some_and(|f| f.roles.seat == MotorSeat::Child);
    let is_plain = !follows || check.verdict != Verdict::Equivalent;
    let law = in_space::law(check).map(|law| format!("; {law}"));
    is_plain.then(|| check.reason.clone() + &law.unwrap_or_default())
}

/// Control characters, which would move the cursor or forge a line, as escapes.
fn visible(text: &str) -> Cow<'_, str> {
    if !text.contains(char::is_control) {
        return Cow::Borrowed(text);
    }
    let shown = text.chars().map(|c| match c.is_control() {
        true => c.escape_default().to_string(),
        false => c.to_string(),
    });
    Cow::Owned(shown.collect())
}

fn verdict(one: &FoundLoop, style: Style) -> String {
    let has = |code: &str| one.obstacles.iter().any(|obstacle| obstacle.code == code);
    let to = if one.jaw.is_some() { "a counter-turning pair" } else { "a direct joint" };
    match one.check().map(|check| check.verdict) {
        Some(Verdict::Equivalent) => style.strong(&format!("EQUIVALENT to {to}"), AnsiColor::Green),
        Some(Verdict::NotEquivalent) => {
            style.strong(&format!("NOT EQUIVALENT to {to}"), AnsiColor::Red)
        }
        Some(Verdict::Undecided) => style.strong("UNDECIDED", AnsiColor::Yellow),
        None if one.four_bar.is_none() && one.drive.is_none() => {
            style.strong("NO FOUR-BAR", AnsiColor::Yellow)
        }
        None if has("motor_unknown") => {
            style.strong("NOT JUDGED: which joint is the motor's?", AnsiColor::Yellow)
        }
        None if has("child_unknown") => {
            style.strong("NOT JUDGED: which body is carried?", AnsiColor::Yellow)
        }
        None => style.strong("NOT JUDGED", AnsiColor::Yellow),
    }
}

/// Who drives and what is carried, each with why it was taken.
fn role_lines(
    one: &FoundLoop,
    found: &FourBarLoop,
    [_, _, coupler, child]: &[String; 4],
    line: &mut impl FnMut(&str, String),
) {
    let roles = &found.roles;
    let (crank, joint) = (found.driving_pin(), &found.pins[3]);
    let motor = match (roles.motor, roles.seat) {
        (None, _) => "not known".to_owned(),
        (_, MotorSeat::Crank) => format!("{} ({})", crank.name, line_of(&crank.whereabouts)),
        (_, MotorSeat::Child) => format!("{} ({})", joint.name, line_of(&joint.whereabouts)),
    };
    line("motor", format!("{motor}: {}", roles.motor_told_by));
    match &roles.jaw_told_by {
        Some(why) => line("carried", format!("{coupler}, the coupler: {why}")),
        None if one.obstacles.iter().any(|o| o.code == "child_unknown") => {}
        None => line("carried", format!("{child}: {}", roles.child_told_by)),
    }
    if let Some(tied) = &one.mechanism {
        line("mechanism", format!("{}: {}", tied.loops.join(", "), tied.tied_by));
    }
}

fn four_bar_lines(
    one: &FoundLoop,
    found: &FourBarLoop,
    [carrier, crank, coupler, child]: &[String; 4],
    line: &mut impl FnMut(&str, String),
) {
    let [first, second] = part_names(one);
    line("parts", format!("carrier {carrier}, {first} {crank}, {second} {coupler}, child {child}"));
    let (crank, joint) = (found.driving_pin(), &found.pins[3]);
    let sense = match found.motor_sign() {
        _ if found.slides() => "",
        sign if sign < 0.0 => ", turns against it",
        _ => ", turns the same way",
    };
    line(
        "pins",
        format!(
            "driven {} ({}); {} {} ({}){sense}",
            joint.name,
            line_of(&joint.whereabouts),
            if found.slides() { "slide" } else { "crank" },
            crank.name,
            line_of(&crank.whereabouts)
        ),
    );
    // Of a drive in space these would be its shadow's.
    let is_plane = one.drive.is_none() && !found.slides();
    if is_plane {
        line("lengths", lengths(&found.bars));
    }
    if let Some(nature) = one.nature.filter(|_| is_plane) {
        let near = nature.near.map_or(String::new(), |(kind, off)| {
            format!(", {} from a {}", percent(off), kind.name())
        });
        line("linkage", format!("{} ({}){near}", nature.kind.name(), nature.class.name()));
    }
    if !found.slides() {
        line("axes", axes(found));
    }
    let figures = one.reach.as_ref().zip(one.ratio).filter(|_| is_plane);
    if let (Some((reach, ratio)), true) = (figures, one.candidates.is_empty()) {
        line("ratio", stroke(reach, ratio));
    }
    for candidate in &one.candidates {
        let MotorCandidate { motor, driven, reach, ratio } = candidate;
        let figures = ratio.map_or(String::new(), |ratio| stroke(reach, ratio));
        line("if", format!("{motor:?} is the motor's, driving {driven:?}: ratio {figures}"));
    }
    if let Some(jaw) = &one.jaw {
        jaw_lines(one, jaw, line);
    }
    let is_moved = |reach: &&Reach| is_plane && reach.zero_pose != ZeroPose::Drawn;
    if let Some(reach) = one.reach.as_ref().filter(is_moved) {
        line("zero pose", zero_pose(one, reach));
    }
}

/// What crank and coupler are called in this kind of drive.
fn part_names(one: &FoundLoop) -> [&'static str; 2] {
    match one.drive.as_ref().map(LoopDrive::kind) {
        Some(Kind::LinearActuator) => ["housing", "nut"],
        Some(Kind::Slider) => ["nut", "rod"],
        _ => ["crank", "coupler"],
    }
}

/// Where the pad is, and what it does over the stroke.
fn jaw_lines(one: &FoundLoop, jaw: &Jaw, line: &mut impl FnMut(&str, String)) {
    line("jaw", format!("a parallel jaw; pad at {}", jaw.point_told_by));
    line("closes", jaw.closing_told_by.clone());
    let Some(found) = one.judged.as_ref().and_then(|judged| judged.check.finger.as_ref()) else {
        return;
    };
    let mm = |ends: [AtMotor; 2]| {
        let [low, high] = ends.map(|at| fixed(1e3 * at.value, 2));
        format!("{low}…{high} mm")
    };
    let radius = one.four_bar.as_ref().map_or(0.0, |found| found.bars.crank);
    let [least, most] = found.tilt.map(|at| degrees(at.value));
    line("tilt", format!("{least} to {most}; on an arc of {} mm radius", fixed(1e3 * radius, 2)));
    line(
        "opening",
        match jaw.opening {
            Some(_) => mm(found.opening),
            None => "not told: the file has no second pad that it closes on".to_owned(),
        },
    );
    line("shift", mm(found.shift));
    let [least, most] = found.grip.map(|at| at.value);
    let is_bounded = found.toggle.is_none_or(|toggle| toggle.margin > 0.0) && most.is_finite();
    let most = if is_bounded { format!("…{}", fixed(most, 2)) } else { String::new() };
    let toggle =
        if is_bounded { "" } else { " or more, without bound at the toggle in its stroke" };
    line(
        "grip",
        format!(
            "{}{most} N of each pad for each N m of the motor, without loss{toggle}",
            fixed(least, 2)
        ),
    );
}

fn stroke(reach: &Reach, [low, high]: [f64; 2]) -> String {
    let why = match reach.ended_by {
        EndedBy::Limits => "the joints' limits".to_owned(),
        EndedBy::TransmissionAngle => format!(
            "no limits in the file: transmission angle and that between crank and coupler {} or more",
            angle(reach.floor, 0)
        ),
        EndedBy::DeadPoint => {
            "the joints' limits, and short of a dead point: the crank has no stop".to_owned()
        }
    };
    let ratio = if low.is_finite() && high.is_finite() {
        format!("{}…{}", fixed(low, 4), fixed(high, 4))
    } else {
        "without bound, across a dead point,".to_owned()
    };
    format!(
        "{ratio} over motor {}, joint {} from the zero pose ({why})",
        angles(reach.motor, 2),
        angles(reach.joint, 2)
    )
}

/// Which pose the figures count from, where that is not plainly the drawn one.
fn zero_pose(one: &FoundLoop, reach: &Reach) -> String {
    let readings = one.zero_readings.map_or(String::new(), |[crank, joint]| {
        format!(
            ", where the crank's joint reads {} and the driven one {}",
            angle(crank, 2),
            angle(joint, 2)
        )
    });
    format!("{}{readings}", reach.zero_pose.why())
}

/// `line 12` of `path/to/file:12:5`.
fn line_of(whereabouts: &str) -> String {
    whereabouts.rsplit(':').nth(1).map_or(String::new(), |line| format!("line {line}"))
}

fn axes(found: &FourBarLoop) -> String {
    let worst = found.pins.iter().filter_map(|pin| pin.tilt).fold(0.0_f64, f64::max);
    let mut out = if worst < 5e-5 {
        "parallel".to_owned()
    } else {
        format!("parallel within {}", angle(worst, 3))
    };
    let offsets = found.pins.iter().map(|pin| pin.axial * 1e3);
    if offsets.clone().any(|x| x.abs() >= 5e-4) {
        let [a, p, q, _] =
            [0, 1, 2, 3].map(|k| found.pins.get(k).map_or(0.0, |pin| pin.axial * 1e3));
        let _ = write!(
            out,
            "; along the axis the pins stand {a:.2} (motor), {p:.2} (crank), {q:.2} mm (rocker) from the joint"
        );
    }
    out
}

/// A finger of a tree, its multipliers beside the linkage's own rate.
fn unheld(jaw: &UnheldJaw, style: Style) -> String {
    let head = style.heading(&visible(&jaw.crank));
    let mut out = format!("{head}: parallel jaw, followers not held by a loop\n");
    let mut line = |name: &str, text: String| {
        out.push_str(&wrapped(&visible(&text), style.width, &format!("  {name:<11}")));
    };
    let UnheldJaw { driver, crank, finger, rocker, bars, .. } = jaw;
    let [own, tip, other] = jaw.multipliers.map(number);
    line(
        "driver",
        format!(
            "{driver}: crank {crank} turns {own} times, finger {finger} {tip} times, rocker {rocker} {other} times"
        ),
    );
    line(
        "lengths",
        format!(
            "{}, the rocker's pin where finger and rocker move alike as drawn: it is not in the file",
            lengths(bars)
        ),
    );
    let turns = format!("by the multipliers {} per turn of the crank", fixed(jaw.coupler_rate, 4));
    match (jaw.drawn_coupler_rate, jaw.tilt_error) {
        (Some([least, most]), Some(error)) => line(
            "finger",
            format!(
                "{turns}; that linkage turns it {}…{} over the crank's limits, up to {} otherwise",
                fixed(least, 4),
                fixed(most, 4),
                degrees(error)
            ),
        ),
        _ => line("finger", format!("{turns}; the crank has no limits over which to compare")),
    }
    line(
        "note",
        "state the rocker's pin with --loops to have it judged as the linkage that it is"
            .to_owned(),
    );
    out
}

fn pairs(pairs: &[MovingPair], style: Style) -> String {
    let mut out = String::from("joints that move together without a loop\n");
    for pair in pairs {
        let curve = if pair.is_curved { ", a polynomial with this slope as drawn" } else { "" };
        let parent = if pair.same_parent {
            "; both hang on one link, as crank and rocker do: state the last pin with --loops to have it judged"
        } else {
            ""
        };
        let text = format!(
            "{} follows {} times {}{curve} ({}){parent}",
            pair.follower,
            pair.leader,
            number(pair.multiplier),
            pair.whereabouts
        );
        out.push_str(&wrapped(&visible(&text), style.width, "  "));
    }
    out
}
