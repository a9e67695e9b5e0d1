//! Maps over pitch and roll: how far two direct joints are off, where the criteria of the motion hold, how far it would pass.

use crate::equivalence::{Criterion, Outcome};
use crate::report::drawing::{Axis, Chart, Form, Heights, Ink, Layer, Point};
use crate::study::{Cell, RegionCheck, RegionCourse, RegionLoads, RegionRow, RegionTurns, RodDuty};
use crate::units::{angle, fixed, percent};

use super::CHART;

/// Lines of equal height, about.
const LINES: f64 = 5.0;

/// A figure over the region.
struct Mapped {
    title: String,
    /// In the unit of the map.
    of: fn(&RegionRow) -> f64,
    unit: &'static str,
    /// The accepted limit and its words, where there is one.
    limit: Option<(f64, String)>,
}

/// The rate error of two direct joints in the drawn drive, where the criteria hold, and how far it would pass.
pub(in crate::report) fn rate_map(check: &RegionCheck, course: &RegionCourse) -> Chart {
    let limit = check.criterion(Criterion::Ratio).map(|c| c.limit);
    let rate = Mapped {
        title: "Rate error as drawn, and where the criteria of the motion hold".to_owned(),
        of: |row| 1e2 * row.rate_error,
        unit: "%",
        limit: limit.map(|limit| (1e2 * limit, format!("limit {}", percent(limit)))),
    };
    let mut layers = outcomes(check);
    layers.extend(parts(check));
    layers.extend(contours(check, course, &rate));
    layers.extend(worst(check));
    map(check, rate.title, told(check), layers)
}

/// How far each joint is off.
pub(in crate::report) fn angle_maps(check: &RegionCheck, course: &RegionCourse) -> Vec<Chart> {
    let limit = check.criterion(Criterion::Angle).map(|c| c.limit);
    let limit = limit.map(|limit| (limit.to_degrees(), format!("limit {}", angle(limit, 2))));
    let of = |joint: &str, of: fn(&RegionRow) -> f64| {
        let title = format!("Size of the {joint} error as drawn");
        plain(check, course, &Mapped { title, of, unit: "deg", limit: limit.clone() })
    };
    vec![
        of("pitch", |row| row.angle_error[0].abs().to_degrees()),
        of("roll", |row| row.angle_error[1].abs().to_degrees()),
    ]
}

/// What each motor reads.
pub(in crate::report) fn motor_maps(check: &RegionCheck, course: &RegionCourse) -> Vec<Chart> {
    let readings: [fn(&RegionRow) -> f64; 2] =
        [|row| row.motor_readings[0].to_degrees(), |row| row.motor_readings[1].to_degrees()];
    let of = |(motor, of): (&crate::study::MotorFacts, fn(&RegionRow) -> f64)| {
        let title = format!("Reading of motor {}", motor.name);
        plain(check, course, &Mapped { title, of, unit: "deg", limit: None })
    };
    check.drive.motors.iter().zip(readings).map(of).collect()
}

/// What each rod bears at the torque that is told first; no map of a rod that bears the same in every pose.
pub(in crate::report) fn rod_force_maps(
    check: &RegionCheck,
    course: &RegionCourse,
    found: &RegionLoads,
) -> Vec<Chart> {
    let Some((name, duty)) = found.leading() else { return Vec::new() };
    let forces = course.rod_forces(duty.motor_torque_n_m);
    let of = |(rod, forces): (&RodDuty, Vec<f64>)| {
        let title = format!("Force of the rod of {} at {name} torque", rod.motor);
        let largest = fixed(rod.force_n, 0);
        let description = format!(
            "Lines of equal pull or thrust over pitch and roll, N; the largest is {largest} N."
        );
        let mut layers = lines(check, course, &forces, "N", None);
        if layers.is_empty() {
            return None;
        }
        let at = read(check, rod.force_at_rad);
        layers.push(Layer(Form::Spot(at), Ink::Worst, format!("largest, {largest} N").into()));
        Some(map(check, title, description, layers))
    };
    duty.rods.iter().zip(forces).filter_map(of).collect()
}

fn plain(check: &RegionCheck, course: &RegionCourse, mapped: &Mapped) -> Chart {
    let description = format!("Lines of equal height over pitch and roll, {}.", mapped.unit);
    map(check, mapped.title.clone(), description, contours(check, course, mapped))
}

fn map(check: &RegionCheck, title: String, description: String, layers: Vec<Layer>) -> Chart {
    let [pitch, roll] = ["pitch", "roll"].map(|joint| axis_label(check, joint));
    let [low, high] = corners(check, &check.region);
    Chart {
        title,
        description,
        size: CHART,
        x: Axis { label: pitch, range: [low[0], high[0]] },
        y: Axis { label: roll, range: [low[1], high[1]] },
        layers,
    }
}

fn axis_label(check: &RegionCheck, joint: &str) -> String {
    if check.reads_turns() {
        format!("{joint} from the zero pose, deg")
    } else {
        format!("{joint} reading, deg")
    }
}

/// What both joints read there, deg.
fn read(check: &RegionCheck, joints: [f64; 2]) -> Point {
    check.readings(joints).map(f64::to_degrees)
}

fn corners(check: &RegionCheck, RegionTurns { pitch, roll }: &RegionTurns) -> [Point; 2] {
    [read(check, [pitch[0], roll[0]]), read(check, [pitch[1], roll[1]])]
}

fn contours(check: &RegionCheck, course: &RegionCourse, mapped: &Mapped) -> Vec<Layer> {
    let heights = course.figures(mapped.of);
    lines(check, course, &heights, mapped.unit, mapped.limit.as_ref())
}

/// Lines of equal height, and that of a limit with its words.
fn lines(
    check: &RegionCheck,
    course: &RegionCourse,
    heights: &[f64],
    unit: &str,
    limit: Option<&(f64, String)>,
) -> Vec<Layer> {
    let x: Vec<f64> = course.pitches.iter().map(|turn| read(check, [*turn, 0.0])[0]).collect();
    let y: Vec<f64> = course.rolls.iter().map(|turn| read(check, [0.0, *turn])[1]).collect();
    let heights = Heights { x: &x, y: &y, heights };
    let is_limit = |level: f64| limit.is_some_and(|(limit, _)| (limit - level).abs() < 1e-9);
    let limit = limit.map(|(level, name)| {
        Layer(Form::Curve(heights.line(*level)), Ink::Limit, name.clone().into())
    });
    let levels = heights.levels(LINES).into_iter().filter(|(level, _)| !is_limit(*level));
    let levels = levels.map(|(level, name)| {
        Layer(Form::Curve(heights.line(level)), Ink::Curve, format!("{name} {unit}").into())
    });
    let is_drawn = |layer: &Layer| !matches!(&layer.0, Form::Curve(points) if points.is_empty());
    levels.chain(limit).filter(is_drawn).collect()
}

/// Where the criteria of the motion hold, are broken, or stay open.
fn outcomes(check: &RegionCheck) -> Vec<Layer> {
    let layer = |(outcome, ink, name): (Outcome, Ink, &'static str)| {
        let cells: Vec<[Point; 2]> = check
            .cells()
            .iter()
            .filter(|cell| cell.outcome == outcome)
            .map(|cell| corners(check, &cell.turns))
            .collect();
        (!cells.is_empty()).then(|| Layer(Form::Cells(cells), ink, name.into()))
    };
    OUTCOMES.into_iter().filter_map(layer).collect()
}

const OUTCOMES: [(Outcome, Ink, &str); 3] = [
    (Outcome::Holds, Ink::Certified, "all hold"),
    (Outcome::Fails, Ink::Broken, "fails"),
    (Outcome::Undecided, Ink::Open, "undecided"),
];

/// What of the region holds, fails or stays open.
pub(in crate::report) fn told(check: &RegionCheck) -> String {
    let cells = check.cells();
    if cells.is_empty() {
        return "where the criteria hold is not mapped: not every build reaches all of the region"
            .to_owned();
    }
    if let [Cell { outcome: Outcome::Holds, .. }] = cells[..] {
        return "all criteria of the motion hold all over the region".to_owned();
    }
    let area =
        |turns: &RegionTurns| (turns.pitch[1] - turns.pitch[0]) * (turns.roll[1] - turns.roll[0]);
    let all: f64 = cells.iter().map(|cell| area(&cell.turns)).sum();
    let share = |(outcome, word): (Outcome, &str)| {
        let of: f64 = cells.iter().filter(|c| c.outcome == outcome).map(|c| area(&c.turns)).sum();
        (of > 0.0).then(|| format!("{word} {} of the region", percent(of / all)))
    };
    let words = [
        (Outcome::Holds, "all criteria of the motion hold in cells over"),
        (Outcome::Fails, "cells in which one fails somewhere cover"),
        (Outcome::Undecided, "undecided cells cover"),
    ];
    let words: Vec<String> = words.into_iter().filter_map(share).collect();
    words.join("; ")
}

/// Edges of the largest parts that would pass.
fn parts(check: &RegionCheck) -> Vec<Layer> {
    let Some(largest) = &check.largest_region else { return Vec::new() };
    let edge = |turns: &Option<RegionTurns>, name: &'static str| {
        let part = corners(check, turns.as_ref()?);
        let [[left, low], [right, high]] = part;
        let edge = closed(&[[left, low], [right, low], [right, high], [left, high]]);
        // A cell that fails may hold in part: what would pass is shown to hold.
        Some([
            Layer(Form::Cells(vec![part]), Ink::Paper, "".into()),
            Layer(Form::Cells(vec![part]), Ink::Certified, "".into()),
            Layer(Form::Curve(edge), Ink::Direct, name.into()),
        ])
    };
    let both = edge(&largest.both_shortened, "would pass, both shortened");
    let roll = edge(&largest.roll_shortened, "would pass, roll shortened");
    both.into_iter().chain(roll).flatten().collect()
}

fn worst(check: &RegionCheck) -> Option<Layer> {
    let at = check.criterion(Criterion::Ratio)?.worst_at_joints?;
    Some(Layer(Form::Spot(read(check, at)), Ink::Worst, "worst rate".into()))
}

/// A closed line through corners, with points along its sides.
pub(super) fn closed(corners: &[Point]) -> Vec<Point> {
    let ends = corners.iter().zip(corners.iter().cycle().skip(1));
    let side = |(from, to): (&Point, &Point)| {
        let [a, b] = [*from, *to];
        (0..12_u32).map(move |k| {
            let share = f64::from(k) / 12.0;
            [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
        })
    };
    ends.flat_map(side).chain(corners.first().copied()).collect()
}
