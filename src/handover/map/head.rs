//! What a file of code says of itself, and what the user is told beside it.

use super::code::Code;
use super::direction::{Certified, Direction};
use super::{Beyond, Language, Number};
use crate::diagnostic::rows;
use crate::units::degrees;

/// Columns of a comment, what marks it aside.
const WIDTH: usize = 100;

/// The comment at the head of the file, each line behind `mark`.
pub(super) fn comment(code: &Code, language: Language, mark: &str) -> String {
    marked(&lines(code, language), mark)
}

/// Lines as a comment.
pub(super) fn marked(lines: &[String], mark: &str) -> String {
    let rows = lines.iter().flat_map(|line| rows(line.split(' '), WIDTH, "", "  "));
    rows.map(|row| format!("{mark} {row}").trim_end().to_owned() + "\n").collect()
}

fn lines(code: &Code, language: Language) -> Vec<String> {
    let mut lines = vec![
        format!("{:?}: motor angle, speed and torque to the joint's and back.", code.design),
        format!("Written by unloop {} from {:?}.", env!("CARGO_PKG_VERSION"), code.source),
        String::new(),
        "Readings of the robot's software: rad, rad/s, N m. The stroke that the code follows:"
            .into(),
    ];
    for (joint, there, _) in code.wrapped() {
        let mut reached = code.motor_turns.map(|turn| joint.motor.reading(turn));
        reached.sort_by(f64::total_cmp);
        lines.push(format!(
            "  joint {:?}: motor {:.3} to {:.3} deg ({:?} to {:?} rad)",
            joint.joint_name,
            reached[0].to_degrees(),
            reached[1].to_degrees(),
            there.within[0],
            there.within[1]
        ));
    }
    lines.push(String::new());
    lines.push(format!("In {}. {}", code.number().name(), what(code)));
    lines.push("Certainly off the drawn linkage by no more than, over the stroke:".into());
    lines.push(format!("  joint from motor: {}", certified(&code.to_joint.certified)));
    match &code.to_motor {
        Some(back) => lines.push(format!("  motor from joint: {}", certified(&back.certified))),
        None => lines.push(format!("  {}", no_way_back(code))),
    }
    lines.extend(rules(code.number(), code.needs_library(), language));
    lines.push(String::new());
    lines.push(beyond(code.choice.beyond).into());
    lines.extend(code.is_motor_on_parent.then(|| ON_PARENT.to_owned()));
    lines.extend(CAUTIONS.map(str::to_owned));
    lines
}

/// What the code does not cover.
pub(super) const CAUTIONS: [&str; 2] = [
    "Torque is without loss. Tolerances, play, bending and friction are not in it; unloop tolerance and unloop loads tell.",
    "Try it on the machine at low torque first, clear of its pinch points; local codes and a licensed engineer decide.",
];

/// What a motor on another link is to the code.
const ON_PARENT: &str = "The motor sits on the carrier's parent, coaxial with the carrier's own joint: what is called motor here is its reading less that joint's turn, its speed less that joint's; that joint bears the motor's torque besides.";

fn what(code: &Code) -> String {
    if code.is_same {
        return "A parallelogram: the joint turns as the motor does.".into();
    }
    match (code.to_joint.degree, code.to_motor.as_ref().and_then(|back| back.degree)) {
        (Some(there), Some(back)) => format!(
            "Polynomials that are exact in the zero pose, of degree {there} there and {back} back; ratio and angle come from one, so that power in is power out."
        ),
        (Some(there), None) => format!(
            "A polynomial of degree {there} that is exact in the zero pose; ratio and angle come from it, so that power in is power out."
        ),
        (None, _) => "The closed form, without iteration.".into(),
    }
}

fn certified(of: &Certified) -> String {
    let share = of.rate.map_or_else(
        || "no bound for its ratio".to_owned(),
        |rate| format!("its ratio {} of itself", rounded_up(rate)),
    );
    format!(
        "approximation {} rad, rounding {} rad, together {} rad ({} deg); {share}",
        rounded_up(of.approximation),
        rounded_up(of.rounding),
        rounded_up(of.total()),
        rounded_up(of.total().to_degrees())
    )
}

/// Two digits, never less than `value`.
pub(super) fn rounded_up(value: f64) -> String {
    if value <= 0.0 {
        return "0".into();
    }
    let nearest = format!("{value:.1e}");
    let is_less = nearest.parse::<f64>().is_ok_and(|read| read < value);
    if is_less {
        format!("{:.1e}", value + 0.05 * 10_f64.powf(value.log10().floor()))
    } else {
        nearest
    }
}

/// The rules of the compiler under which this holds.
pub(super) fn rules(number: Number, needs_library: bool, language: Language) -> Vec<String> {
    let mut lines = vec![match language {
        Language::C99 => {
            "This holds where every operation is rounded by itself, to its own type: -ffp-contract=off, no -ffast-math, FLT_EVAL_METHOD 0.".to_owned()
        }
        Language::Rust => "This holds as Rust works floats out: every operation is rounded by itself.".to_owned(),
        Language::Python => format!(
            "This holds for arrays of {}, every operation rounded by itself.",
            match number {
                Number::Float => "32-bit floats",
                Number::Double => "64-bit floats",
            }
        ),
    }];
    if needs_library {
        lines.push(
            "Sine, cosine and arc tangent of the library are taken to be right to one unit in the last place."
                .into(),
        );
    }
    lines
}

fn beyond(beyond: Beyond) -> &'static str {
    match beyond {
        Beyond::Hold => {
            "Beyond the stroke the angle is held at its end and the ratio stays the end's; the status tells."
        }
        Beyond::Tangent => {
            "Beyond the stroke the angle goes on straight with the end's ratio; the status tells."
        }
    }
}

fn no_way_back(code: &Code) -> String {
    let joint = code.joints.first();
    let at = code.dead_at.map_or_else(String::new, |turn| {
        degrees(joint.map_or(turn, |joint| joint.motor.reading(turn)))
    });
    format!(
        "no motor from joint: the rocker stands still at motor {at}, and two motor angles belong to one joint angle"
    )
}

/// What the user is told when the file is written.
pub(super) fn notes(code: &Code) -> Vec<String> {
    let mut notes =
        vec![what(code), format!("joint from motor: {}", certified(&code.to_joint.certified))];
    let back =
        |direction: &Direction| format!("motor from joint: {}", certified(&direction.certified));
    notes.extend(code.is_motor_on_parent.then(|| ON_PARENT.to_owned()));
    notes.push(code.to_motor.as_ref().map_or_else(|| no_way_back(code), back));
    notes
}

#[cfg(test)]
mod tests {
    use super::rounded_up;

    #[test]
    fn a_bound_is_never_printed_smaller_than_it_is() {
        for value in [1.04e-7, 1.05e-7, 9.96e-7, 2.0e-16, 3.333e-5, 9.9999e-3] {
            let read: f64 = rounded_up(value).parse().unwrap();
            assert!(read >= value && read <= 1.11 * value, "{value:e} {read:e}");
        }
        assert_eq!(rounded_up(0.0), "0");
    }
}
