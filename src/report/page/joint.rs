//! The joint as text to copy, or why there is none.

use crate::handover::{EmitFault, Envelope, Format, JointJson};
use crate::report::blocks::{Block, Cell, Table, cells, dash, or_dash};
use crate::report::finger::{stand_in as words_of, stand_ins as costs};
use crate::report::words::{escaped, sentence};
use crate::study::FingerFindings;
use crate::units::{figure, fixed, number};

use super::Leaf;
use super::element::{self, list, paragraph, table};

fn id(leaf: &Leaf<'_>, format: Format) -> String {
    format!("{}-{}", leaf.id, format.id())
}

/// Links to the formats that can be copied; `None` where there is none.
pub(super) fn formats(leaf: &Leaf<'_>) -> Option<String> {
    let ready = leaf.snippets.iter().filter(|snippet| snippet.outcome.is_ok());
    let links: Vec<String> = ready
        .map(|s| format!("<a href=\"#{}\">{}</a>", id(leaf, s.format), s.format.name()))
        .collect();
    (!links.is_empty()).then(|| format!("<p class=\"formats\">{}</p>", links.join(" ")))
}

/// The card at the head of the page.
pub(super) fn card(leaf: &Leaf<'_>) -> String {
    match formats(leaf) {
        Some(below) => element::card("Joint to paste", "ready", &below),
        None => {
            let below =
                format!("<p><a href=\"#{}-criteria\">why, and what would do</a></p>", leaf.id);
            element::card("Joint to paste", "none emitted", &below)
        }
    }
}

/// The section's body.
pub(super) fn joint(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let mut out = match check.finger.as_ref().filter(|_| check.is_of_pad()) {
        Some(finger) => stand_in(leaf, finger),
        None => relation(leaf) + &limits(leaf),
    };
    let mut told: Vec<&Vec<EmitFault>> = Vec::new();
    let mut first = true;
    for snippet in leaf.snippets {
        match &snippet.outcome {
            Ok(emission) => {
                let title = snippet.format.name();
                let id = id(leaf, snippet.format);
                out.push_str(&shown(
                    &id,
                    [title, "The joint"],
                    &emission.file,
                    &emission.notes,
                    first,
                ));
                first = false;
            }
            Err(faults) if told.contains(&faults) => {}
            Err(faults) => {
                out.push_str(&refused(faults));
                told.push(faults);
            }
        }
    }
    out
}

/// What the joint gets, a row for each place where the drive is built in.
fn limits(leaf: &Leaf<'_>) -> String {
    let emitted = leaf.snippets.iter().find_map(|s| s.outcome.as_ref().ok());
    let Some(emission) = emitted else { return String::new() };
    let rows = emission.joints.iter().map(limits_of).collect();
    let names = [
        "joint",
        "limits, deg",
        "torque, N m",
        "speed, rad/s",
        "armature n²J, kg m²",
        "armature, bodies changed along, kg m²",
    ];
    let caption =
        "What the joint gets; torque and speed guaranteed over the stroke (never exceeded)";
    table(&Table::new(caption, &names, rows))
}

fn limits_of(joint: &JointJson) -> Vec<Cell> {
    let [low, high] = joint.limit_rad.map(|limit| match limit {
        limit if limit.is_nan() => dash(),
        limit => fixed(limit.to_degrees(), 2),
    });
    let both = |e: Envelope| match (e.guaranteed, e.never_exceed) {
        (Some(low), Some(high)) => format!("{} ({})", figure(low), figure(high)),
        _ => dash(),
    };
    cells([
        joint.joint.clone(),
        format!("{low}…{high}"),
        both(joint.torque_n_m),
        both(joint.speed_rad_per_s),
        or_dash(joint.armature_kg_m2.plain, number),
        or_dash(joint.armature_kg_m2.split, number),
    ])
}

/// What goes into the simulator in a finger's place, and what each stand-in costs.
fn stand_in(leaf: &Leaf<'_>, finger: &FingerFindings) -> String {
    let said = words_of(&leaf.review.check, finger).join(" ");
    let mut blocks = vec![Block::Line(said)];
    if !finger.is_alone() {
        blocks.push(Block::Line(
            "the other finger is its mirror image; every follower goes by the motor's hinge, none by another follower".to_owned(),
        ));
    }
    blocks.extend(costs(finger));
    leaf.set(&blocks)
}

/// What the robot's software needs.
fn relation(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    if check.direct_joint.ratio.is_infinite() {
        return String::new();
    }
    let [motor, joint] = leaf.review.reads;
    format!(
        "<p>For the robot's software: <code class=\"relation\">motor reading − {} = motor_sign · {} · (joint reading − {})</code>, angles in deg.</p>\n",
        short(motor.to_degrees()),
        short(check.direct_joint.ratio),
        short((joint + check.direct_joint.offset).to_degrees())
    )
}

fn short(x: f64) -> String {
    number(if x == 0.0 { 0.0 } else { x })
}

/// A snippet under its title, with what it is and what its reader should be told besides.
pub(super) fn shown(
    id: &str,
    [title, what]: [&str; 2],
    file: &str,
    notes: &[String],
    open: bool,
) -> String {
    let (joint, comments) = parted(file);
    format!(
        "<details id=\"{id}\" class=\"snippet\"{}><summary>{title}</summary>\n\
         <button type=\"button\" class=\"copy needs-script\" data-copy=\"{id}-text\">Copy {title}</button>\n\
         <pre tabindex=\"0\" role=\"region\" aria-label=\"{what} as {title}\"><code id=\"{id}-text\">{}</code></pre>\n{}{}</details>\n",
        if open { " open" } else { "" },
        escaped(&joint),
        list(notes.iter().map(|n| sentence(n))),
        if comments.is_empty() { comments } else { said_beside([title, what], &comments) }
    )
}

fn said_beside([title, what]: [&str; 2], comments: &str) -> String {
    element::fold(
        "Comments that unloop emit writes with it: limits, armature, what to add to your bodies, what is assumed",
        &format!(
            "<pre tabindex=\"0\" role=\"region\" aria-label=\"Comments on {} as {title}\"><code>{}</code></pre>\n",
            what.to_lowercase(),
            escaped(comments)
        ),
    )
}

/// A file without the comments that begin a line, and these comments.
fn parted(file: &str) -> (String, String) {
    let (mut rest, mut kept, mut comments) = (file, String::new(), String::new());
    while let Some((before, after)) = rest.split_once("<!--").filter(|_| !rest.is_empty()) {
        let starts_line = before.is_empty() || before.ends_with('\n');
        let Some((comment, after)) = after.split_once("-->").filter(|_| starts_line) else { break };
        kept.push_str(before);
        comments.push_str(comment.trim_matches('\n'));
        comments.push('\n');
        rest = after.strip_prefix('\n').unwrap_or(after);
    }
    (kept + rest, comments)
}

/// Why there is none.
pub(super) fn refused(faults: &[EmitFault]) -> String {
    let lines = faults
        .iter()
        .map(|f| format!("{} To change it: {}", sentence(&f.to_string()), sentence(&f.help())));
    let mut out = paragraph("There is no joint to paste here:") + &list(lines);
    if faults.iter().any(EmitFault::is_refusal) {
        out.push_str(&paragraph(
            "The coupled model (--model coupled) and the closed loop (--model loop) of unloop emit do not rest on the verdict.",
        ));
    }
    out
}
