//! The pose in which pictures rest, and those that tables tell.

use crate::report::pictures::{nearest, nearest_pose};
use crate::study::{DriveRow, PoseRow, REVIEW_POSES, Review};

/// Of a planar four-bar the row nearest to the zero pose where that lies on the stroke, else the middle one.
pub(super) fn start(rows: &[PoseRow]) -> usize {
    let ends = [rows.first(), rows.last()].map(|row| row.map_or(0.0, |row| row.motor));
    or_middle(ends, rows.len(), || nearest(rows, |row| row.motor))
}

/// The same of another drive.
pub(super) fn start_of_drive(rows: &[DriveRow]) -> usize {
    let ends = [rows.first(), rows.last()].map(|row| row.map_or(0.0, |row| row.motor));
    or_middle(ends, rows.len(), || nearest_pose(rows, 0.0))
}

fn or_middle([first, last]: [f64; 2], count: usize, nearest: impl Fn() -> usize) -> usize {
    if first <= 0.0 && last >= 0.0 { nearest() } else { count / 2 }
}

/// Every tenth row of those that are evenly spaced, with its index: of all but the zero pose among them, which `is_rest` tells.
pub(super) fn sparse<R>(rows: &[R], is_rest: fn(&R) -> bool) -> impl Iterator<Item = (usize, &R)> {
    let has_rest = rows.len() > REVIEW_POSES;
    rows.iter().enumerate().filter(move |(_, row)| !has_rest || !is_rest(row)).step_by(10)
}

/// The row that pictures rest in, and those that tables tell.
pub(super) fn shown_of(review: &Review) -> (usize, Vec<usize>) {
    match &review.course {
        Some(course) => {
            let told = sparse(&course.rows, |row| row.joint == 0.0);
            (start_of_drive(&course.rows), told.map(|(k, _)| k).collect())
        }
        None => {
            let told = sparse(&review.rows, |row| row.motor == 0.0);
            (start(&review.rows), told.map(|(k, _)| k).collect())
        }
    }
}
