//! `[motor.*]`: both motors, each with its crank or actuator, its rod and its pin on the foot.

use super::DrawnMotor;
use crate::design::lengths::SHORTEST;
use crate::design::points::Points;
use crate::design::schema;
use crate::design::screw;
use crate::design::section::Section;
use crate::design::sizes::Sizes;
use crate::diagnostic::Diagnostic;
use crate::drive::{Axis, DrawnLeg, Vector};
use crate::units::{clipped, millimetres};

/// A rod's length may differ from the distance of its two pins by so much, m: further off one of the three is wrong.
const OFF: f64 = 1e-4;

#[derive(Clone, Copy, PartialEq)]
enum Input {
    Crank,
    Actuator,
}

/// What is read of both: names and screws, legs, and the sizes with those of the joints before.
pub(super) type Read = ([DrawnMotor; 2], [DrawnLeg; 2], Sizes);

pub(super) fn read<'a>(
    root: &Section<'a>,
    tolerance: Option<&Section<'a>>,
    mut sizes: Sizes,
) -> Option<Read> {
    let help = "add two tables, such as [motor.left] and [motor.right], each with point, axis, crank and foot";
    let Some(table) = root.section("motor") else {
        if root.get("motor").is_none() {
            root.missing("motor", help);
        }
        return None;
    };
    let names = table.names();
    let [(first, _), (second, _)] = names.as_slice() else {
        table.fault(
            format!("[motor] has {} instead of two motors", names.len()),
            "two are needed",
            help,
        );
        return None;
    };
    let tables = [*first, *second].map(|name| table.section(name));
    // The names stand beside those of the links in [mass].
    if let Some((name, place)) = names.iter().find(|(name, _)| schema::SHARED_PARTS.contains(name))
    {
        let fault = Diagnostic::error(format!("a motor cannot be called {name}"));
        let help = format!("[mass.{name}] is a link: give the motor another name");
        root.faults.push(fault.at(place.clone()).label("taken").help(help));
        return None;
    }
    let [first_table, second_table] = tables;
    let (one, two) = (first_table?, second_table?);
    let mut leg = |stage: usize, of: &Section<'a>, as_named: &str| {
        sizes.at_stage(stage);
        let (read, with) = leg(of, tolerance, std::mem::take(&mut sizes), as_named);
        sizes = with;
        read
    };
    let pair = match (mirror(&one, second), mirror(&two, first)) {
        (None, None) => leg(0, &one, first).zip(leg(1, &two, second)),
        (None, Some(fits)) => {
            let drawn = leg(0, &one, first);
            let again = leg(1, &one, second).map(|(motor, leg)| (motor, leg.mirrored()));
            fits.then(|| drawn.zip(again)).flatten()
        }
        (Some(fits), None) => {
            let again = leg(0, &two, first).map(|(motor, leg)| (motor, leg.mirrored()));
            let drawn = leg(1, &two, second);
            fits.then(|| again.zip(drawn)).flatten()
        }
        (Some(_), Some(_)) => {
            let help = "give one of the two its points";
            two.fault("both motors mirror each other", "no point is given", help);
            None
        }
    };
    let ((one, first), (two, second)) = pair?;
    Some(([one, two], [first, second], sizes))
}

/// Whether `mirror` names the other motor and stands alone; `None` where the table has none.
fn mirror(table: &Section<'_>, other: &str) -> Option<bool> {
    let entry = table.get("mirror")?;
    let Some(name) = entry.text() else { return Some(false) };
    if name != other {
        let help = format!("write mirror = \"{}\"", clipped(other));
        entry.fault("names no other motor", "the one that is drawn", help);
        return Some(false);
    }
    for (key, _) in table.names().into_iter().filter(|(key, _)| *key != "mirror") {
        if let Some(entry) = table.get(key) {
            let help = "take this line out, or `mirror`";
            entry.fault("stands beside `mirror`", "follows from the other motor", help);
        }
    }
    Some(true)
}

fn leg<'a>(
    table: &Section<'a>,
    tolerance: Option<&Section<'a>>,
    sizes: Sizes,
    name: &str,
) -> (Option<(DrawnMotor, DrawnLeg)>, Sizes) {
    let words = [("crank", Input::Crank), ("linear_actuator", Input::Actuator)];
    let input = table.get("input").map_or(Some(Input::Crank), |entry| entry.choice(&words));
    let mut points = Points::in_space(table, tolerance, sizes);
    let motor = |screw| DrawnMotor { name: name.to_owned(), screw };
    let read = match input {
        Some(Input::Crank) => crank(&mut points).map(|leg| (motor(None), leg)),
        Some(Input::Actuator) => {
            actuator(&mut points).map(|(figures, leg)| (motor(Some(figures)), leg))
        }
        None => None,
    };
    (read, points.sizes)
}

fn refuse(table: &Section<'_>, keys: &[&str], what: &str) {
    for entry in keys.iter().filter_map(|key| table.get(key)) {
        let help = "take this line out, or correct `input`";
        entry.fault(&format!("is of no use to {what}"), "belongs to another input", help);
    }
}

fn crank(points: &mut Points<'_, '_>) -> Option<DrawnLeg> {
    refuse(points.table, &["screw", "line_offset"], "a crank");
    let centre = points.point("point", ["motor_x", "motor_y", "motor_z"]);
    let direction = points.direction("axis", None);
    points.tilts(["motor_axis_u", "motor_axis_v"]);
    let crank = points.point("crank", ["crank_x", "crank_y", "crank_z"]);
    let foot = foot(points);
    let rod = match points.table.get("rod") {
        Some(entry) => Some((points.sizes.length("rod", &entry)?, entry)),
        None => None,
    };
    let motor = Axis { point: centre?, direction: direction? };
    let (crank, foot) = (crank?, foot?);
    points.must_stand_off("crank", crank, &motor)?;
    let apart = (foot - crank).length();
    if apart < SHORTEST {
        let entry = points.table.get("foot")?;
        entry.fault("is the crank's pin", "no rod is left", "correct one of the two points");
        return None;
    }
    if let Some((rod, entry)) = &rod
        && (rod - apart).abs() > OFF
    {
        let label = format!("the pins stand {} apart", millimetres(apart));
        let help = "correct the length or one of the points: within 0.1 mm the rod's length wins and the crank turns until it fits";
        entry.fault("does not fit between crank and foot", &label, help);
        return None;
    }
    Some(DrawnLeg::Crank { motor, crank, foot, rod: rod.map(|(rod, _)| rod) })
}

fn actuator(points: &mut Points<'_, '_>) -> Option<(crate::design::ScrewFigures, DrawnLeg)> {
    refuse(points.table, &["crank", "rod", "axis"], "a linear actuator");
    let pin = points.point("point", ["motor_x", "motor_y", "motor_z"]);
    let foot = foot(points);
    let line_offset = match points.table.get("line_offset") {
        Some(entry) => points.sizes.offset("line_offset", &entry)?,
        None => 0.0,
    };
    let (figures, lengths) = screw::read(points.table, &mut points.sizes)?;
    let (pin, foot) = (pin?, foot?);
    let apart = (foot - pin).length();
    if apart <= line_offset.abs().max(SHORTEST) {
        let entry = points.table.get("foot")?;
        let label = format!("{} from the carrier's pin", millimetres(apart));
        entry.fault("leaves the actuator no length", &label, "correct one of the two points");
        return None;
    }
    Some((figures, DrawnLeg::Actuator { pin, foot, line_offset, lead: figures.lead, lengths }))
}

fn foot(points: &mut Points<'_, '_>) -> Option<Vector> {
    points.point("foot", ["foot_x", "foot_y", "foot_z"])
}
