//! What a file of code says of itself, and what the user is told beside it.

use super::super::head::{CAUTIONS, marked, rounded_up, rules};
use super::super::{Beyond, Language};
use super::{Code, Pair};

/// The comment at the head of the file, each line behind `mark`.
pub(super) fn comment(code: &Code, language: Language, mark: &str) -> String {
    let mut lines = vec![
        format!(
            "{:?}: angles, speeds and torques of both motors to those of both joints and back.",
            code.design
        ),
        format!("Written by unloop {} from {:?}.", env!("CARGO_PKG_VERSION"), code.source),
        String::new(),
        "Readings of the robot's software: rad, rad/s, N m; pairs are pitch and roll, or both motors in this order. The region that the code follows:".into(),
    ];
    lines.extend(code.pairs.iter().map(|pair| region(code, pair)));
    lines.push(String::new());
    lines.push(format!("In {}. {} {}", code.number.name(), FORTH, back(code)));
    lines.push("Certainly off the drawn drive by no more than, over the region:".into());
    lines.push(format!("  motors from joints: {}", of_motors(code)));
    lines.push(format!("  joints from motors: {}", of_joints(code)));
    lines.extend(rules(code.number, true, language));
    lines.push(String::new());
    lines.push(beyond(code.beyond).into());
    lines.extend(CAUTIONS.map(str::to_owned));
    marked(&lines, mark)
}

fn region(code: &Code, pair: &Pair) -> String {
    let [pitch, roll] = code.joint_ends(pair).map(|[low, high]| {
        format!("{:.3} to {:.3} deg ({low:?} to {high:?} rad)", low.to_degrees(), high.to_degrees())
    });
    let ([first, second], [one, two]) = (&pair.joint_names, &pair.motor_names);
    format!(
        "  {:?}: joints {first:?} {pitch} and {second:?} {roll}; motors {one:?} and {two:?}",
        pair.link
    )
}

const FORTH: &str = "Motors from joints: the closed form, without iteration.";

fn back(code: &Code) -> String {
    format!(
        "Joints from motors: {} of Newton's steps from the middle of the region at every call; the status is 0 where they end with both motors within {} rad of what is asked, as at all poses of the vectors within the region. No two poses of the region have the same motors: their matrix changes by no more than {} of that in the middle.",
        code.steps,
        rounded_up(code.certified.close),
        rounded_up(code.certified.change)
    )
}

fn of_motors(code: &Code) -> String {
    let of = &code.certified;
    format!(
        "figures {} rad, rounding {} rad, together {} rad ({} deg); an entry of the matrix {}",
        rounded_up(of.own_digits),
        rounded_up(of.rounding),
        rounded_up(of.motors()),
        rounded_up(of.motors().to_degrees()),
        rounded_up(of.rates)
    )
}

fn of_joints(code: &Code) -> String {
    let off = code.certified.joints;
    format!("{} rad ({} deg) where the status is 0", rounded_up(off), rounded_up(off.to_degrees()))
}

fn beyond(beyond: Beyond) -> &'static str {
    match beyond {
        Beyond::Hold => {
            "Beyond the region the joints are held at its edge and so are the rates, where motors are given by the last of Newton's steps and without a bound; the status tells."
        }
        Beyond::Tangent => {
            "Beyond the region the angles go on straight with the rates at its edge, where motors are given by the last of Newton's steps and without a bound; the status tells."
        }
    }
}

/// What the user is told when the file is written.
pub(super) fn notes(code: &Code) -> Vec<String> {
    vec![
        format!(
            "{FORTH} Joints from motors: {} of Newton's steps, and a status that tells where they did not end",
            code.steps
        ),
        format!("motors from joints: {}", of_motors(code)),
        format!("joints from motors: {}", of_joints(code)),
    ]
}
