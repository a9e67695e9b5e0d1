//! Where else the file speaks of what goes.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::ops::Range;

use super::cut::Cut;
use super::gone::GoneBytes;
use super::{Changes, FoldFault, Job};
use crate::diagnostic::Diagnostic;
use crate::robot::{Document, Element};

/// Elements of the document outside everything that goes, in order.
pub(super) fn survivors<'a>(
    root: Element<'a>,
    gone: &'a GoneBytes,
) -> impl Iterator<Item = Element<'a>> + 'a {
    root.descendants().filter(|element| !gone.hold(*element))
}

/// Names that are searched for: of what goes, and of the motor's joint, whose part the driven joint takes.
pub(super) struct Names<'a> {
    /// Of what goes.
    pub(super) gone: BTreeSet<&'a str>,
    /// The motor's joint, where its part moves.
    pub(super) motor: Option<&'a str>,
}

/// A name, what holds it, and the places of that and of all that says it.
type Mention<'a> = (&'a str, Cow<'a, str>, [Range<usize>; 2]);

impl<'a> Names<'a> {
    /// Links and joints in one: formats whose names share one space.
    pub(super) fn of(job: &Job<'a>) -> Self {
        let mut gone = job.cut.gone.link_names(job.robot);
        gone.extend(job.cut.gone.joint_names(job.robot));
        let motor = job.motor_moves().then_some(job.motor.name.as_str()).filter(|n| !n.is_empty());
        if let Some(motor) = motor {
            gone.remove(motor);
        }
        Self { gone, motor }
    }

    /// The motor's joint goes like the others, where what speaks of it means more than its readings.
    pub(super) fn without_motor(&self) -> Self {
        Self { gone: self.gone.iter().copied().chain(self.motor).collect(), motor: None }
    }

    /// In attributes and text of an element.
    fn mentions(&self, element: Element<'a>) -> Vec<Mention<'a>> {
        let attributes = element.attributes();
        let attributes = attributes.map(|a| (a.value(), [a.value_range(), a.range()]));
        let is_leaf = element.children().next().is_none();
        let text = is_leaf.then(|| (element.text(), [element.text_range(), element.text_range()]));
        let all = attributes.chain(text);
        all.filter_map(|(said, at)| Some((self.found_in(&said)?, said, at))).collect()
    }

    fn found_in(&self, text: &str) -> Option<&'a str> {
        words(text).find_map(|word| self.name(word)).or_else(|| self.name(text.trim()))
    }

    fn name(&self, word: &str) -> Option<&'a str> {
        self.gone.get(word).copied().or_else(|| self.motor.filter(|motor| *motor == word))
    }
}

/// The pieces of a text that may be names: what stands between blanks, slashes, colons, quotes and brackets.
fn words(text: &str) -> impl Iterator<Item = &str> {
    let breaks = |c: char| {
        c.is_whitespace() || matches!(c, '/' | ':' | ',' | ';' | '"' | '\'' | '(' | ')' | '[' | ']')
    };
    // Most attributes of a robot file are numbers.
    let is_figures =
        text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'.' | b'-' | b'+' | b' ' | b'e'));
    let text = if is_figures { "" } else { text };
    text.split(breaks).filter(|word| !word.is_empty())
}

/// What another file says of what goes or moves.
pub(super) fn spoken_of(job: &Job<'_>, document: &Document) -> Vec<Diagnostic> {
    let names = Names::of(job);
    let elements = document.root().descendants();
    let mentions = elements.flat_map(|element| {
        names.mentions(element).into_iter().map(move |mention| (element, mention))
    });
    let fault = |(element, (name, _, [_, place])): (Element<'_>, (&str, _, [_; 2]))| {
        let what = format!("<{}> speaks of {name:?}", element.name());
        Diagnostic::error(format!("{what}, which goes or moves with the linkage"))
            .at(place)
            .help("rewrite or remove this line, then fold")
    };
    mentions.map(fault).collect()
}

/// Looks through one element: what speaks of the motor's joint alone is followed to the driven joint where both read
/// the same; every other mention is a fault.
pub(super) fn follow_or_refuse(
    job: &Job<'_>,
    names: &Names<'_>,
    element: Element<'_>,
    changes: &mut Changes,
) {
    follow_or_refuse_meant((job, names), element, |_, _| true, changes);
}

/// The same of what is said where that means the name.
pub(super) fn follow_or_refuse_meant(
    (job, names): (&Job<'_>, &Names<'_>),
    element: Element<'_>,
    is_meant: impl Fn(&str, &str) -> bool,
    changes: &mut Changes,
) {
    let mentions = names.mentions(element).into_iter();
    for (name, said, [bytes, place]) in mentions.filter(|(name, said, _)| is_meant(said, name)) {
        let fate = if names.motor == Some(name) { Fate::Driven } else { Fate::Gone };
        settle(&job.cut, element, (name, fate), (&said, bytes, place), changes);
    }
}

/// Has the element speak of the driven joint, where that reads the same as the motor's did; else it is a fault.
pub(super) fn settle(
    cut: &Cut<'_>,
    element: Element<'_>,
    (name, fate): (&str, Fate),
    (value, bytes, place): (&str, Range<usize>, Range<usize>),
    changes: &mut Changes,
) {
    let is_it = |motor: &str| motor == name || last(motor) == name;
    let taken = cut.on_joints().find(|(motor, _)| fate == Fate::Driven && is_it(&motor.joint.name));
    let same = taken.filter(|(motor, _)| value.trim() == name && motor.reads_the_same());
    if let Some((_, driven)) = same {
        // A name that is said without the models around it is so where it is said.
        let is_whole = cut.on_joints().any(|(motor, _)| motor.joint.name == name);
        let new = if is_whole { &driven.name } else { last(&driven.name) };
        let new = crate::robot::escaped(new).into_owned();
        changes.edits.replace(bytes, value.replace(name, &new));
        let (line, _) = cut.document.line_column(place.start);
        changes.notes.push(format!(
            "line {line}: <{}> speaks of {:?} now, which reads the same as {name:?} did",
            element.name(),
            driven.name
        ));
        return;
    }
    let is_pulled =
        cut.motors.iter().any(|motor| motor.driven().is_none() && motor.joint.name == name);
    let help = match fate {
        Fate::Gone if is_pulled => {
            "an <actuatorpos>, <actuatorvel> or <actuatorfrc> of its actuator goes along with that: rewrite or remove this line, then fold"
        }
        Fate::Driven => {
            "the driven joint reads otherwise than the motor's did: rewrite or remove this line, then fold"
        }
        Fate::Gone | Fate::Rehung => "rewrite or remove this line, then fold",
    };
    changes.faults.push(FoldFault::of(speaks(element, name, fate).at(place).help(help)));
}

/// A name without those of the models around it.
pub(super) fn last(name: &str) -> &str {
    name.rsplit("::").next().unwrap_or(name)
}

/// What becomes of that which a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    /// It goes.
    Gone,
    /// The motor's joint: the driven joint takes its part.
    Driven,
    /// A finger's joint that reads otherwise on the driver than on the rocker.
    Rehung,
}

/// That an element speaks of what has this fate.
pub(super) fn speaks(element: Element<'_>, name: &str, fate: Fate) -> Diagnostic {
    let what = match fate {
        Fate::Gone => "goes with the linkage",
        Fate::Driven => "moves to the driven joint",
        Fate::Rehung => "reads otherwise on the driver's link than on the rocker",
    };
    Diagnostic::error(format!("<{}> speaks of {name:?}, which {what}", element.name()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_found_as_a_word_and_not_inside_another() {
        for (text, found) in [
            ("crank", true),
            ("robot::crank", true),
            ("model/crank/x", true),
            ("a crank b", true),
            ("crank_2", false),
            ("left-crank", false),
            ("left_crank", false),
        ] {
            assert_eq!(words(text).any(|word| word == "crank"), found, "{text}");
        }
    }
}
