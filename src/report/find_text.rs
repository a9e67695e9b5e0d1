//! `find` as text: a line for the file, then one for each loop and what it rests on; in full all that is known of each.

use std::fmt::Write as _;

use crate::equivalence::Verdict;
use crate::handover::find::{
    EndedBy, Findings, FoundLoop, FourBarLoop, Jaw, LoopDrive, MotorCandidate, MotorSeat,
    PointDrive, Reach, ZeroPose, parts_of,
};
use crate::study::{AtMotor, lengths};
use crate::units::{angle, angles, degrees, fixed, number, percent};

use super::blocks::{Block, Cell, Group, Tone};
use super::find_tree::{line_of, pairs, unheld};
use super::find_two_joints::{shared_joints, two_joints};
use super::in_space;
use super::style::{Detail, Style};
use super::terminal;

/// One file's findings for a person.
#[must_use]
pub fn find_text(found: &Findings, detail: Detail, style: Style) -> String {
    let mut groups = vec![vec![headline(found)]];
    // What is said of two loops on two joints is said of both together.
    let told = found.loops.iter().filter(|one| detail.is_full() || !one.is_of_two_joints());
    groups.extend(told.map(|one| loop_group(one, detail)));
    groups.extend(found.two_joint_loops.iter().map(|one| two_joints(one, detail)));
    groups.extend((!found.pairs.is_empty()).then(|| pairs(&found.pairs)));
    groups.extend(found.point_drives.iter().map(|one| point_drive(one, detail)));
    groups.extend(found.shared_joints.iter().map(shared_joints));
    groups.extend(found.unheld_jaws.iter().map(|jaw| unheld(jaw, detail)));
    let notes = found.remarks.iter().map(|(at, message)| format!("{at}: {message}"));
    groups.push(notes.map(|note| Block::Line(format!("note {note}"))).collect());
    if !found.loops.is_empty() {
        groups.push(vec![Block::Caution(caution(found, detail))]);
    }
    terminal::text(&groups, style)
}

const CAUTION: &str = "a verdict covers the plane, rigid linkage with the lengths that the file has, no tolerance and no play; \
    add the drawing's tolerances with --design and check. A file can be wrong: measure the real pins before a robot walks on it";

/// What a verdict of `find` is about, in a line.
const FILE_AS_IT_IS: &str =
    "with the lengths that the file has, without tolerance and play (--full)";

/// Of drives in space as well, where one was judged.
fn caution(found: &Findings, detail: Detail) -> String {
    let in_space = found.loops.iter().any(|one| one.judged_drive.is_some())
        || found.two_joint_loops.iter().any(|one| one.judged.is_some());
    match (detail, in_space) {
        (Detail::Full, true) => CAUTION.replace("the plane, rigid linkage", "the rigid drive"),
        (Detail::Full, false) => CAUTION.to_owned(),
        (Detail::Short, true) => format!("rigid, {FILE_AS_IT_IS}"),
        (Detail::Short, false) => format!("planar, rigid, {FILE_AS_IT_IS}"),
    }
}

fn headline(found: &Findings) -> Block {
    let count = match found.loops.len() {
        0 if found.unread > 0 => "no closed loop in what was read of it".to_owned(),
        0 => "no closed loop".to_owned(),
        1 => "1 closed loop".to_owned(),
        n => format!("{n} closed loops"),
    };
    let (format, links, joints) = (found.format, found.links, found.joints);
    let words =
        format!("{count}{} ({format}, {links} links, {joints} moving joints)", tally(found));
    Block::Title(found.file.clone(), None, words)
}

/// How many of several loops came out how.
fn tally(found: &Findings) -> String {
    if found.loops.len() < 2 {
        return String::new();
    }
    // The two loops of a drive of two joints come out together.
    let alone = found.loops.iter().filter(|one| !one.is_of_two_joints());
    let alone = alone.map(|one| one.check().map(|check| check.verdict));
    let pairs = found.two_joint_loops.iter().filter(|one| one.drive.is_some());
    let pairs = pairs.map(|one| one.judged.as_ref().map(|judged| judged.check.verdict));
    let verdicts: Vec<Option<Verdict>> = alone.chain(pairs).collect();
    let outcomes = [
        (Some(Verdict::Equivalent), "equivalent"),
        (Some(Verdict::NotEquivalent), "not equivalent"),
        (Some(Verdict::Undecided), "undecided"),
        (None, "not judged"),
    ];
    let count = |(wanted, word): (Option<Verdict>, &str)| {
        let count = verdicts.iter().filter(|verdict| **verdict == wanted).count();
        (count > 0).then(|| format!("{count} {word}"))
    };
    format!(": {}", outcomes.into_iter().filter_map(count).collect::<Vec<_>>().join(", "))
}

/// What is said of something found, by names.
#[derive(Default)]
struct Said(Vec<(&'static str, Vec<String>)>);

impl Said {
    fn line(&mut self, name: &'static str, text: String) {
        self.0.push((name, vec![text]));
    }
}

fn loop_group(one: &FoundLoop, detail: Detail) -> Group {
    let (word, more) = verdict(one);
    let title = Block::Title(one.name.clone(), Some(word), more);
    let mut said = Said::default();
    if detail.is_full() {
        everything(one, &mut said)
    } else {
        what_decides(one, &mut said)
    }
    vec![title, Block::Facts(said.0)]
}

/// Which joint is the motor's and what is carried, which a verdict rests on; why not; what stands against it.
fn what_decides(one: &FoundLoop, said: &mut Said) {
    match one.four_bar.as_ref().zip(one.parts.as_ref()) {
        Some((found, parts)) => role_lines(one, found, parts, said),
        None => said.line("links", one.links.join(" – ")),
    }
    if one.check().is_some_and(|check| check.verdict != Verdict::Equivalent) {
        why(one).into_iter().for_each(|why| said.line("why", why));
    }
    if one.drive.is_some() && one.check().is_none() {
        said.line("verdict", COMPUTED.to_owned());
    }
    for note in &one.obstacles {
        said.line("obstacle", format!("[{}] {}", note.code, note.message));
    }
}

fn everything(one: &FoundLoop, said: &mut Said) {
    let four_bar = one.four_bar.as_ref().zip(one.parts.as_ref());
    if let Some((found, parts)) = four_bar {
        role_lines(one, found, parts, said);
    }
    if let Some(why) = why(one) {
        said.line("why", why);
    }
    match four_bar {
        Some((found, parts)) => four_bar_lines(one, found, parts, said),
        None => said.line("links", one.links.join(" – ")),
    }
    if let Some(drive) = &one.drive {
        drive_lines(drive, said);
        if one.check().is_none() {
            said.line("verdict", COMPUTED.to_owned());
        }
    }
    for (head, list) in [("obstacle", &one.obstacles), ("note", &one.remarks)] {
        for note in list {
            said.line(head, format!("[{}] {}", note.code, note.message));
        }
    }
}

/// What a loop in space or with a slide is; its figures are computed.
fn drive_lines(found: &LoopDrive, said: &mut Said) {
    let figures = found.figures().into_iter().map(|(name, value)| match name.rsplit_once('_') {
        Some((name, "m")) => format!("{} {} mm", name.replace('_', " "), fixed(1e3 * value, 3)),
        Some((name, _)) => format!("{name} {}", angle(value, 3)),
        None => format!("{name} {}", number(value)),
    });
    let figures: Vec<String> = figures.collect();
    let [motor, joint] = &found.joints;
    let by = if motor.is_empty() { String::new() } else { format!(", {motor:?} drives {joint:?}") };
    said.line("drive", format!("kind {}{by}: {}", found.drawing.kind().name(), figures.join(", ")));
    let [low, high] = found.ratio.map(|ratio| fixed(ratio, 4));
    let why = if found.ended_by_limits {
        "the joints' limits".to_owned()
    } else {
        "no limits in the file: the preset's transmission angle or more".to_owned()
    };
    let lead =
        if found.has_no_screw { ", with a lead of 1 mm, as the file has no screw" } else { "" };
    said.line(
        "ratio",
        format!(
            "{low}…{high} over joint {} from the drawn pose ({why}){lead}",
            angles(found.joint_turns, 2)
        ),
    );
    if found.ball_tilt > 5e-5 {
        said.line(
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
fn point_drive(one: &PointDrive, detail: Detail) -> Group {
    let what = "already folded, an actuator between two points without a loop".to_owned();
    let mut said = Said::default();
    said.line("drives", format!("joint {:?} ({})", one.joint, line_of(&one.whereabouts)));
    if detail.is_full() {
        drive_lines(&one.drive, &mut said);
    }
    said.line("verdict", COMPUTED.to_owned());
    vec![Block::Title(one.name.clone(), None, what), Block::Facts(said.0)]
}

/// Of a linkage that only follows the verdict is on inertia: the note says so.
fn why(one: &FoundLoop) -> Option<String> {
    let check = one.check()?;
    let follows = one.four_bar.as_ref().is_some_and(|f| f.roles.seat == MotorSeat::Child);
    let is_plain = !follows || check.verdict != Verdict::Equivalent;
    let law = in_space::law(check).map(|law| format!("; {law}"));
    is_plain.then(|| check.reason.clone() + &law.unwrap_or_default())
}

/// The verdict as a word, and to what, or what is not known.
fn verdict(one: &FoundLoop) -> (Cell, String) {
    let has = |code: &str| one.obstacles.iter().any(|obstacle| obstacle.code == code);
    let stands_in = match (&one.jaw, one.check()) {
        (Some(_), _) => "to a counter-turning pair".to_owned(),
        (None, Some(check)) => {
            format!("to a direct joint with ratio {}", fixed(check.direct_joint.ratio, 5))
        }
        (None, None) => "to a direct joint".to_owned(),
    };
    let open = |word: &str, more: &str| (Cell::toned(word, Tone::Open), more.to_owned());
    match one.check().map(|check| check.verdict) {
        Some(Verdict::Undecided) => open("undecided", ""),
        Some(verdict) => (Cell::verdict(verdict), stands_in),
        None if has("two_rods") => open("one of two", "loops on two joints"),
        None if one.four_bar.is_none() && one.drive.is_none() => open("no four-bar", ""),
        None if has("motor_unknown") => open("not judged:", "which joint is the motor's?"),
        None if has("child_unknown") => open("not judged:", "which body is carried?"),
        None => open("not judged", ""),
    }
}

/// Who drives and what is carried, each with why it was taken.
fn role_lines(
    one: &FoundLoop,
    found: &FourBarLoop,
    [_, _, coupler, child]: &[String; 4],
    said: &mut Said,
) {
    let roles = &found.roles;
    let (crank, joint) = (found.driving_pin(), &found.pins[3]);
    let motor = match (roles.motor, roles.seat) {
        (None, _) => "not known".to_owned(),
        (_, MotorSeat::Crank) => format!("{} ({})", crank.name, line_of(&crank.whereabouts)),
        (_, MotorSeat::Child) => format!("{} ({})", joint.name, line_of(&joint.whereabouts)),
    };
    said.line("motor", format!("{motor}: {}", roles.motor_told_by));
    match &roles.jaw_told_by {
        Some(why) => said.line("carried", format!("{coupler}, the coupler: {why}")),
        None if one.obstacles.iter().any(|o| o.code == "child_unknown") => {}
        None => said.line("carried", format!("{child}: {}", roles.child_told_by)),
    }
    if let Some(tied) = &one.mechanism {
        said.line("mechanism", format!("{}: {}", tied.loops.join(", "), tied.tied_by));
    }
}

fn four_bar_lines(
    one: &FoundLoop,
    found: &FourBarLoop,
    [carrier, crank, coupler, child]: &[String; 4],
    said: &mut Said,
) {
    let [first, second] = parts_of(one.drive.as_ref().map(LoopDrive::kind));
    said.line(
        "parts",
        format!("carrier {carrier}, {first} {crank}, {second} {coupler}, child {child}"),
    );
    let (crank, joint) = (found.driving_pin(), &found.pins[3]);
    let sense = match found.motor_sign() {
        _ if found.slides() => "",
        sign if sign < 0.0 => ", turns against it",
        _ => ", turns the same way",
    };
    said.line(
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
        said.line("lengths", lengths(&found.bars));
    }
    if let Some(nature) = one.nature.filter(|_| is_plane) {
        let near = nature.near.map_or(String::new(), |(kind, off)| {
            format!(", {} from a {}", percent(off), kind.name())
        });
        said.line("linkage", format!("{} ({}){near}", nature.kind.name(), nature.class.name()));
    }
    if !found.slides() {
        said.line("axes", axes(found));
    }
    let figures = one.reach.as_ref().zip(one.ratio).filter(|_| is_plane);
    if let (Some((reach, ratio)), true) = (figures, one.candidates.is_empty()) {
        said.line("ratio", stroke(reach, ratio));
    }
    for candidate in &one.candidates {
        let MotorCandidate { motor, driven, reach, ratio } = candidate;
        let figures = ratio.map_or(String::new(), |ratio| stroke(reach, ratio));
        said.line("if", format!("{motor:?} is the motor's, driving {driven:?}: ratio {figures}"));
    }
    if let Some(jaw) = &one.jaw {
        jaw_lines(one, jaw, said);
    }
    let is_moved = |reach: &&Reach| is_plane && reach.zero_pose != ZeroPose::Drawn;
    if let Some(reach) = one.reach.as_ref().filter(is_moved) {
        said.line("zero pose", zero_pose(one, reach));
    }
}

/// Where the pad is, and what it does over the stroke.
fn jaw_lines(one: &FoundLoop, jaw: &Jaw, said: &mut Said) {
    said.line("jaw", format!("a parallel jaw; pad at {}", jaw.point_told_by));
    said.line("closes", jaw.closing_told_by.clone());
    let Some(found) = one.judged.as_ref().and_then(|judged| judged.check.finger.as_ref()) else {
        return;
    };
    let mm = |ends: [AtMotor; 2]| {
        let [low, high] = ends.map(|at| fixed(1e3 * at.value, 2));
        format!("{low}…{high} mm")
    };
    let radius = one.four_bar.as_ref().map_or(0.0, |found| found.bars.crank);
    let [least, most] = found.tilt.map(|at| degrees(at.value));
    said.line(
        "tilt",
        format!("{least} to {most}; on an arc of {} mm radius", fixed(1e3 * radius, 2)),
    );
    said.line(
        "opening",
        match jaw.opening {
            Some(_) => mm(found.opening),
            None => "not told: the file has no second pad that it closes on".to_owned(),
        },
    );
    said.line("shift", mm(found.shift));
    let [least, most] = found.grip.map(|at| at.value);
    let is_bounded = found.toggle.is_none_or(|toggle| toggle.margin > 0.0) && most.is_finite();
    let most = if is_bounded { format!("…{}", fixed(most, 2)) } else { String::new() };
    let toggle =
        if is_bounded { "" } else { " or more, without bound at the toggle in its stroke" };
    said.line(
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
