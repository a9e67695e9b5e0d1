//! A gripper's finger in words: opening, tilt, shift, grip, what holds without power, and which stand-in would do.

use crate::equivalence::{Basis, Criterion, Figure};
use crate::study::{
    AtMotor, Check, CrankDrive, FingerFindings, Readings, StandInCost, Toggle, Unpowered, figure,
};
use crate::units::{angle, angles, degrees, fixed, percent};

use super::blocks::{Block, Cell, Group, Holds, Table, dash, or_dash};

/// What stands in for a finger, in one line.
pub(super) fn stand_in(check: &Check, finger: &FingerFindings) -> Vec<String> {
    let mut lines = stand_in_alone(check, finger);
    if let Some(front) = finger.crank_drive {
        let found = if front.is_best { "best constant ratio" } else { "ratio as given" };
        lines.push(format!("crank turn = motor turn / {}, {found}", fixed(front.ratio, 5)));
    }
    lines
}

/// The same by the crank's turns.
fn stand_in_alone(check: &Check, finger: &FingerFindings) -> Vec<String> {
    let title = finger.stand_in.title();
    if let Some(multiplier) = finger.multiplier {
        let turn = fixed(multiplier, 5);
        let turn = if turn == "-1.00000" { "-1" } else { &turn };
        return vec![
            format!("{title}: a hinge at the {} axis,", whose(finger)),
            format!(
                "and one at the crank pin that turns {turn} times the {}'s turn",
                whose(finger)
            ),
        ];
    }
    match finger.travel {
        Some(travel) => {
            let [opening, grip] = travel.map(|x| fixed(1e3 * x, 3));
            vec![
                format!(
                    "{title} along the closing direction, for each rad of the {}:",
                    whose(finger)
                ),
                format!("{opening} mm for its place, {grip} mm for its force"),
            ]
        }
        None => vec![
            format!("{title} at the joint axis, with the pad on it,"),
            format!(
                "that turns by {} turn / {}",
                whose(finger),
                fixed(check.direct_joint.ratio, 5)
            ),
        ],
    }
}

/// Whose turns the stand-in goes by.
fn whose(finger: &FingerFindings) -> &'static str {
    if finger.crank_drive.is_some() { "crank" } else { "motor" }
}

/// What turns the crank, in a few lines.
fn crank_drive(front: &CrankDrive) -> Vec<String> {
    let [low, high] = front.ends.map(|ratio| fixed(ratio, 3));
    let mut lines = vec![
        format!("{low}…{high} turns of the motor for each turn of the crank,"),
        format!(
            "off the constant {} by up to {} and {} of the crank, as drawn",
            fixed(front.ratio, 5),
            percent(front.ratio_error),
            degrees(front.angle_error)
        ),
    ];
    lines.extend(front.efficiency.map(|share| {
        let back = if front.locks_itself { "; it locks itself" } else { "" };
        format!("its screw lets through {} of the motor's work{back}", percent(share))
    }));
    lines
}

/// What one looks for first: what, the figure, more of it.
pub(super) fn cards(check: &Check, found: &FingerFindings) -> [(&'static str, String, String); 3] {
    let [narrow, wide] = found.opening.map(|at| fixed(1e3 * at.value, 2));
    let over = check.readings.motor_range(check.stroke.motor);
    let bound = check.criterion(Criterion::Tilt).and_then(|c| c.bound).map(Figure::value);
    let worst = check.criterion(Criterion::Tilt).and_then(|c| c.worst()).map(Figure::value);
    let off = bound.or(worst).map_or_else(dash, |tilt| format!("at most {}", degrees(tilt)));
    let whose = match check.basis {
        Basis::Tolerance => "against the stand-in, every build within the drawn tolerances",
        Basis::Nominal => "against the stand-in, the drawn linkage",
    };
    let least = match (found.at_peak, found.grip[0].value) {
        (Some([least, _]), _) => {
            (format!("at least {} N", fixed(least, 1)), "of each pad at peak torque")
        }
        (None, least) => {
            (format!("at least {} N", fixed(least, 2)), "of each pad for each N m of the motor")
        }
    };
    [
        ("Opening", format!("{narrow}…{wide} mm"), format!("over motor {}", angles(over, 1))),
        ("Tilt", off, whose.to_owned()),
        ("Grip", least.0, format!("{}, the drawn linkage, {}", least.1, after_losses(found))),
    ]
}

/// What the finger does over its stroke.
pub(super) fn finger(check: &Check, found: &FingerFindings) -> Group {
    let both = if found.is_alone() {
        "(one finger against a fixed face)"
    } else {
        "(one motor, both fingers; an object that is free to centre itself)"
    };
    let shift = ("shift", vec![span(check, found.shift, |x| format!("{} mm", fixed(1e3 * x, 2)))]);
    let mut facts = leading_facts(check, found);
    facts.insert(2, shift);
    facts.extend(found.crank_drive.iter().map(|front| ("crank", crank_drive(front))));
    facts.extend(found.speed.map(|[slow, fast]| {
        let [slow, fast] = [slow, fast].map(|v| fixed(1e3 * v, 0));
        ("speed", vec![format!("closes by {slow}…{fast} mm/s at the motor's largest speed")])
    }));
    facts.extend(
        found.unpowered.as_ref().map(|held| ("unpowered", unpowered(&check.readings, held))),
    );
    facts.push(("toggle", vec![toggle(&check.readings, found.toggle)]));
    vec![Block::Heading("the pad".to_owned(), both.to_owned()), Block::Facts(facts)]
}

/// Opening, tilt and grip.
pub(super) fn leading_facts(
    check: &Check,
    found: &FingerFindings,
) -> Vec<(&'static str, Vec<String>)> {
    vec![
        ("opening", vec![span(check, found.opening, |x| format!("{} mm", fixed(1e3 * x, 2)))]),
        ("tilt", vec![tilt(check, found)]),
        ("grip", grip(found)),
    ]
}

/// `30.00 mm at motor 60.0 deg … 90.00 mm at motor 120.0 deg`
fn span(check: &Check, [low, high]: [AtMotor; 2], words: impl Fn(f64) -> String) -> String {
    let at = |end: AtMotor| format!("{} at motor {}", words(end.value), reading(check, end.motor));
    format!("{} … {}", at(low), at(high))
}

fn reading(check: &Check, motor: f64) -> String {
    angle(check.readings.motor(motor), 1)
}

fn tilt(check: &Check, found: &FingerFindings) -> String {
    let [low, high] = found.tilt;
    let worst = if -low.value > high.value { low } else { high };
    let drawn = match worst.value.abs() {
        nothing if nothing < 1e-12 => "none as drawn".to_owned(),
        _ => format!("{} as drawn, at motor {}", degrees(worst.value), reading(check, worst.motor)),
    };
    let bound = check.criterion(Criterion::Tilt).and_then(|c| {
        let bound = c.bound_over(Basis::Tolerance)?;
        (found.multiplier == Some(-1.0)).then_some(bound)
    });
    match bound.map(Figure::value) {
        Some(bound) => format!("{drawn}; at most {} within the drawn tolerances", degrees(bound)),
        None => drawn,
    }
}

fn grip(found: &FingerFindings) -> Vec<String> {
    let [least, most] = found.grip.map(|at| fixed(at.value, 2));
    let per = format!("{least}…{most} N of each pad for each N m of the motor, without loss");
    let unbounded = found.grip[1].value.is_infinite();
    let alone =
        if found.is_alone() { "" } else { "; one pad alone in contact takes up to twice that" };
    let peak = found.at_peak.filter(|_| !unbounded).map(|forces| {
        let [least, most] = forces.map(|f| fixed(f, 1));
        let left = match after_losses(found) {
            "without loss" => String::new(),
            after => format!(", {after}"),
        };
        format!("{least}…{most} N at peak torque{left}{alone}")
    });
    std::iter::once(per).chain(peak).collect()
}

/// What of losses is in the grip.
fn after_losses(found: &FingerFindings) -> &'static str {
    match found.crank_drive.and_then(|front| front.efficiency) {
        Some(_) if found.at_peak.is_some() => "after the screw's loss",
        _ => "without loss",
    }
}

/// What holds without power.
pub(super) fn unpowered(readings: &Readings, held: &Unpowered) -> Vec<String> {
    let [least, most] =
        held.holds.map(|f| if f.is_finite() { fixed(f, 1) } else { "any".to_owned() });
    let is_any = held.holds.iter().all(|f| f.is_infinite());
    let mut lines = vec![if is_any {
        "holds any force: the screw locks itself".to_owned()
    } else {
        format!("holds {least}…{most} N on each pad")
    }];
    if is_any {
        return lines;
    }
    if let Some(grip) = held.grip {
        let over = held.over.iter().map(|turns| {
            let [from, to] = readings.motor_range(*turns).map(|t| angle(t, 1));
            format!("{from} to {to}")
        });
        let over: Vec<String> = over.collect();
        let grip = fixed(grip, 1);
        lines.push(match over[..] {
            [] => format!("nowhere the {grip} N that peak torque grips with at least"),
            _ => format!("the {grip} N of peak torque over motor {}", over.join(", ")),
        });
    }
    lines
}

/// Where the pad stands still.
pub(super) fn toggle(readings: &Readings, toggle: Option<Toggle>) -> String {
    let reading = |turn: f64| angle(readings.motor(turn), 1);
    let of = if readings.front().is_some() { " of crank angle" } else { "" };
    match toggle {
        None if readings.front().is_some() => {
            "none within half a turn of the crank beyond the stroke".to_owned()
        }
        None => "none within half a turn beyond the stroke".to_owned(),
        Some(Toggle { motor, margin }) if margin <= 0.0 => format!(
            "inside the stroke, at motor {}: behind it a load opens the gripper",
            reading(motor)
        ),
        Some(Toggle { motor, margin }) if readings.motor(motor).is_nan() => format!(
            "beyond the reach of what turns the crank, {} of crank angle past the stroke",
            angle(margin, 1)
        ),
        Some(Toggle { motor, margin }) => format!(
            "at motor {}, {}{of} beyond the stroke; behind it a load opens the gripper",
            reading(motor),
            angle(margin, 1)
        ),
    }
}

/// Every stand-in with what it costs.
pub(super) fn stand_ins(found: &FingerFindings) -> Group {
    if found.stand_ins.is_empty() {
        return Group::new();
    }
    let names = ["stand-in", "tilt", "shift", "opening", "grip"];
    let rows = found.stand_ins.iter().map(|cost| row(found, cost)).collect();
    let table = Table::new("", &names, rows).and(Holds::Words, "motion");
    let more = "(worst differences of the drawn linkage; whether all of its motion holds)";
    vec![Block::Heading("what may stand in".to_owned(), more.to_owned()), Block::Table(table)]
}

fn row(found: &FingerFindings, cost: &StandInCost) -> Vec<Cell> {
    let asked = if cost.stand_in == found.stand_in { " (asked)" } else { "" };
    let mut cells = vec![format!("{}{asked}", cost.stand_in.title()).into()];
    cells.extend(Criterion::OF_PAD.map(|criterion| {
        let value = cost.figures.of(criterion).and_then(|e| Figure::new(e.value));
        Cell::from(or_dash(value, |x| figure(criterion, x.value())))
    }));
    cells.push(Cell::outcome(cost.outcome));
    cells
}
