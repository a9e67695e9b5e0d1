//! `find` of two loops that turn one body about two joints, and of motors that do so without, as text.

use crate::equivalence::Verdict;
use crate::handover::find::{SharedJoints, SharedMotor, TwoJointLoops};
use crate::units::{fixed, percent};

use super::blocks::{Block, Cell, Group, Tone};
use super::find_tree::line_of;
use super::style::Detail;

/// Two loops that turn one body about two joints.
pub(super) fn two_joints(one: &TwoJointLoops, detail: Detail) -> Group {
    let check = one.judged.as_ref().map(|judged| &judged.check);
    let [pitch, roll] = &one.joints;
    let (word, more) = match check.map(|check| check.verdict) {
        Some(Verdict::Undecided) => (Cell::toned("undecided", Tone::Open), String::new()),
        Some(verdict) => (Cell::verdict(verdict), format!("to two joints, {pitch} and {roll}")),
        None => (Cell::toned("not judged", Tone::Open), String::new()),
    };
    let mut said: Vec<(&'static str, Vec<String>)> = Vec::new();
    let mut line = |name: &'static str, text: String| said.push((name, vec![text]));
    line("loops", format!("{} on {pitch} and {roll}", one.loops.join(" and ")));
    for (k, motor) in one.motors.iter().enumerate() {
        let figures = one.drive.as_ref().map_or_else(Vec::new, |drive| drive.figures(k));
        let figure = |(name, value): &(&str, f64)| {
            format!(
                "{} {} mm",
                name.trim_end_matches("_m").replace('_', " "),
                fixed(1e3 * value, 3)
            )
        };
        if !figures.is_empty() {
            let figures: Vec<String> = figures.iter().map(figure).collect();
            line("motor", format!("{motor}: {}", figures.join(", ")));
        }
    }
    if let Some(check) = check {
        line("why", check.reason.clone());
        if detail.is_full() {
            for (motor, [of_pitch, of_roll]) in one.motors.iter().zip(check.direct_joints.matrix) {
                let [of_pitch, of_roll] = [of_pitch, of_roll].map(|x| fixed(x, 5));
                line("matrix", format!("{motor}: {of_pitch} of pitch, {of_roll} of roll"));
            }
            line("ratio", format!("off by up to {}", percent(check.rate_error.drawn.norm)));
        }
    }
    let remarks = one.remarks.iter().filter(|_| detail.is_full()).map(|note| ("note", note));
    for (head, note) in one.obstacles.iter().map(|note| ("obstacle", note)).chain(remarks) {
        line(head, format!("[{}] {}", note.code, note.message));
    }
    vec![Block::Title(one.name.clone(), Some(word), more), Block::Facts(said)]
}

/// Motors that turn two joints together without a loop.
pub(super) fn shared_joints(one: &SharedJoints) -> Group {
    let [first, second] = &one.joints;
    let line = |motor: &SharedMotor| {
        let what = match motor.row {
            Some([p, r]) => format!("{} of {first}, {} of {second}", fixed(p, 5), fixed(r, 5)),
            None => "by no constant of the file".to_owned(),
        };
        format!("{} ({}): {what}", motor.name, line_of(&motor.whereabouts))
    };
    let lines = one.motors.iter().map(|motor| ("motor", vec![line(motor)]));
    let told = "find computes no more of it: compare holds it against its design";
    let lines = lines.chain([("verdict", vec![told.to_owned()])]);
    let what = match one.motors.len() {
        1 => "a motor turns both without a loop".to_owned(),
        n => format!("already folded, {n} motors turn both without a loop"),
    };
    let name = format!("{first} and {second}");
    vec![Block::Title(name, None, what), Block::Facts(lines.collect())]
}
