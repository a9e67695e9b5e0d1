//! The joint as text to copy, or why there is none.

use crate::handover::{EmitFault, Format, Snippet};
use crate::report::words::escaped;

use super::Leaf;
use super::element::{list, paragraph, sentence};
use super::verdict;

fn name(format: Format) -> (&'static str, &'static str) {
    match format {
        Format::Urdf => ("urdf", "URDF"),
        Format::Sdformat => ("sdformat", "SDFormat"),
        Format::Mjcf => ("mjcf", "MJCF"),
    }
}

/// The card at the head of the page.
pub(super) fn card(leaf: &Leaf<'_>) -> String {
    let ready: Vec<String> = leaf
        .snippets
        .iter()
        .filter(|s| s.outcome.is_ok())
        .map(|s| {
            let (id, title) = name(s.format);
            format!("<a href=\"#{}-{id}\">{title}</a>", leaf.id)
        })
        .collect();
    if ready.is_empty() {
        let below = format!("<p><a href=\"#{}-joint\">why, and what can be done</a></p>", leaf.id);
        return verdict::card("Joint to paste", "none emitted", &below);
    }
    verdict::card(
        "Joint to paste",
        "ready",
        &format!("<p class=\"formats\">{}</p>", ready.join(" ")),
    )
}

/// The section's body.
pub(super) fn joint(leaf: &Leaf<'_>) -> String {
    let mut out = relation(leaf);
    let mut told: Vec<&Vec<EmitFault>> = Vec::new();
    let mut first = true;
    for snippet in leaf.snippets {
        match &snippet.outcome {
            Ok(_) => {
                out.push_str(&shown(leaf, snippet, first));
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

/// What the robot's software needs.
fn relation(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let [motor, joint] = leaf.review.reads;
    format!(
        "<p>For the robot's software: <code class=\"relation\">motor reading − {} = motor_sign · {} · (joint reading − {})</code>, angles in deg.</p>\n",
        short(motor.to_degrees()),
        short(check.direct_joint.ratio),
        short((joint + check.direct_joint.offset).to_degrees())
    )
}

fn short(x: f64) -> String {
    crate::units::number(if x == 0.0 { 0.0 } else { x })
}

fn shown(leaf: &Leaf<'_>, snippet: &Snippet, open: bool) -> String {
    let Ok(emission) = &snippet.outcome else { return String::new() };
    let (id, title) = name(snippet.format);
    let id = format!("{}-{id}", leaf.id);
    format!(
        "<details id=\"{id}\" class=\"snippet\"{}><summary>{title}</summary>\n\
         <button type=\"button\" class=\"copy\" data-copy=\"{id}-text\" hidden>Copy {title}</button>\n\
         <pre tabindex=\"0\" role=\"region\" aria-label=\"The joint as {title}\"><code id=\"{id}-text\">{}</code></pre>\n{}</details>\n",
        if open { " open" } else { "" },
        escaped(&emission.file),
        list(&emission.notes.iter().map(|n| sentence(n)).collect::<Vec<_>>())
    )
}

fn refused(faults: &[EmitFault]) -> String {
    let lines: Vec<String> = faults
        .iter()
        .map(|f| format!("{} To change it: {}", sentence(&f.to_string()), sentence(&f.help())))
        .collect();
    let mut out = paragraph("There is no joint to paste here:");
    out.push_str(&list(&lines));
    if faults.iter().any(EmitFault::is_refusal) {
        out.push_str(&paragraph(
            "The coupled model (--model coupled) and the closed loop (--model loop) of unloop emit do not rest on the verdict.",
        ));
    }
    out
}
