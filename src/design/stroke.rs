//! `[stroke]`, `stops` and `[direct_joint]`: ranges of turn, and the constants wished for.

use super::entry::Entry;
use super::model::{DirectJointWish, Stroke, StrokeBy, Wish};
use super::section::Section;
use super::sense::Sense;
use super::zero::Zero;
use crate::units::{UnitKind, clipped};
use std::f64::consts::TAU;
use toml::de::DeValue;

/// Furthest end of a stroke or stop from the zero pose, rad.
const FURTHEST: f64 = 100.0 * TAU;

/// `[stroke]`.
pub(super) fn read(root: &Section<'_>, zero: &Zero<'_>, sense: Sense) -> Option<Stroke> {
    let Some(table) = root.section("stroke") else {
        if root.get("stroke").is_none() {
            let help = "add [stroke] with the line: joint = [\"-35 deg\", \"40 deg\"]";
            root.missing("stroke", help);
        }
        return None;
    };
    match (table.get("joint"), table.get("motor")) {
        (Some(joint), None) => stroke(StrokeBy::Joint, turns(&joint, zero.joint_reads, sense)?),
        (None, Some(motor)) => stroke(StrokeBy::Motor, turns(&motor, zero.motor_reads, sense)?),
        (Some(_), Some(motor)) => {
            let help = "keep `joint` or `motor`; the other follows through the linkage";
            motor.fault("is a second stroke", "`joint` is given too", help);
            None
        }
        (None, None) => {
            table.missing("joint", "add the line: joint = [\"-35 deg\", \"40 deg\"], or motor = [..] for the motor's angle");
            None
        }
    }
}

fn stroke(by: StrokeBy, [low, high]: [f64; 2]) -> Option<Stroke> {
    Some(Stroke { by, low, high })
}

/// A pair of readings as turns from the zero pose about the joint axis, lower end first.
pub(super) fn turns(entry: &Entry<'_>, reads: Option<f64>, sense: Sense) -> Option<[f64; 2]> {
    let readings =
        entry.quantities::<2>(UnitKind::Angle, "two angles: [\"-35 deg\", \"40 deg\"]")?;
    let [first, second] = readings;
    if first > second {
        entry.fault("is reversed", "the first is the larger", turned_round(entry));
        return None;
    }
    if first >= second {
        entry.fault(
            "is empty",
            "both ends are the same",
            "write two different angles, the smaller first",
        );
        return None;
    }
    let turns = readings.map(|reading| reads.map(|reads| reading - reads));
    let turns = super::entry::all(turns)?;
    if turns.iter().any(|turn| turn.abs() > FURTHEST) {
        let help = "each end is at most 36000 deg (100 turns) from what is read in the zero pose";
        entry.fault("goes beyond a hundred turns from the zero pose", "too far", help);
        return None;
    }
    Some(sense.range(turns))
}

/// The two texts of the pair in the other order.
fn turned_round(entry: &Entry<'_>) -> String {
    let items = entry.items().unwrap_or_default();
    let texts = items.iter().rev().filter_map(Entry::text);
    let quoted: Vec<String> = texts.map(|text| format!("\"{}\"", clipped(text))).collect();
    format!("write [{}]", quoted.join(", "))
}

/// `[direct_joint]`: ratio "best" and offset 0 where they are left out.
pub(super) fn direct_joint(root: &Section<'_>, sense: Sense) -> Option<DirectJointWish> {
    let table = root.section("direct_joint");
    let get = |key: &str| table.as_ref().and_then(|table| table.get(key));
    let ratio = get("ratio").map_or(Some(Wish::Best), |entry| ratio(&entry));
    let offset = get("offset").map_or(Some(Wish::Given(0.0)), |entry| offset(&entry, sense));
    Some(DirectJointWish { ratio: ratio?, offset: offset? })
}

fn ratio(entry: &Entry<'_>) -> Option<Wish> {
    if is_best(entry) {
        return Some(Wish::Best);
    }
    if let DeValue::String(_) = entry.value {
        let help = "write a plain number, such as ratio = 1.0, or ratio = \"best\"";
        entry.fault("is neither a number nor \"best\"", "this is a text", help);
        return None;
    }
    transmission_ratio(entry).map(Wish::Given)
}

/// A motor turn per joint turn.
pub(super) fn transmission_ratio(entry: &Entry<'_>) -> Option<f64> {
    let ratio = entry.number()?;
    if ratio.abs() < 1e-6 || ratio.abs() > 1e6 {
        let help =
            "motor turn per joint turn, such as 1.0; negative where they turn against each other";
        entry.fault("is no transmission ratio", "out of range", help);
        return None;
    }
    Some(ratio)
}

fn offset(entry: &Entry<'_>, sense: Sense) -> Option<Wish> {
    if is_best(entry) {
        return Some(Wish::Best);
    }
    Some(Wish::Given(sense.angle(entry.quantity(UnitKind::Angle)?)))
}

/// Is a constant to be found?
pub(super) fn is_best(entry: &Entry<'_>) -> bool {
    matches!(entry.value, DeValue::String(text) if text == "best")
}
