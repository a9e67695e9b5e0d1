//! A drive of another kind than a planar four-bar, its stages beside each other, which a slider moves over the stroke where
//! scripts run.

use crate::report::drawing::Point;
use crate::report::pictures;
use crate::study::{DriveCourse, DriveRow};
use crate::units::fixed;

use super::Leaf;
use super::motion::{Moved, Read};
use super::poses_shown::start;

/// Width and greatest height of a view, px.
const ROOM: Point = [480.0, 340.0];

const CAPTION: &str = "Dashed: the drive at both ends of its stroke; dotted: the paths of the pins. The carrier, which holds \
    motor and joint, stands still.";

/// The section's body.
pub(super) fn drive(leaf: &Leaf<'_>, course: &DriveCourse) -> String {
    let rows = &course.rows;
    let views = pictures::skeletons(course, start(rows), ROOM);
    let table = "Poses evenly spaced in joint angle";
    Moved::of(leaf, rows, read, (views, CAPTION), table).shown(leaf)
}

/// Name, unit and figure of what is read out, as far as the drive has it.
fn read(row: &DriveRow) -> Vec<Read> {
    let deg = |x: f64| fixed(x.to_degrees(), 2);
    let all = [
        ("motor angle", "deg", Some(deg(row.motor_reading))),
        ("joint angle", "deg", Some(deg(row.joint_reading))),
        ("ratio i", "", Some(fixed(row.ratio, 5))),
        ("transmission angle", "deg", row.transmission_angle.map(deg)),
        ("margin to the dead point", "deg", row.crank_side.map(deg)),
        ("ball tilt", "deg", row.largest_tilt.map(deg)),
        ("travel", "mm", row.travel.map(|x| fixed(1e3 * x, 3))),
    ];
    all.into_iter().filter_map(|(name, unit, figure)| Some((name, unit, figure?))).collect()
}
