//! The pose in which pictures rest, and those that tables tell.

use crate::report::pictures::nearest;
use crate::report::stroke_tables::OneJointRow;
use crate::study::{Course, REVIEW_POSES, Review};

/// The row nearest to the zero pose where that lies on the stroke, else the middle one.
pub(super) fn start<R: OneJointRow>(rows: &[R]) -> usize {
    let motor = |row: Option<&R>| row.map_or(0.0, |row| row.turns()[0]);
    if motor(rows.first()) <= 0.0 && motor(rows.last()) >= 0.0 {
        nearest(rows, |row| row.turns()[0])
    } else {
        rows.len() / 2
    }
}

/// Every tenth row of those that are evenly spaced, with its index: of all but the zero pose among them.
pub(super) fn sparse<R: OneJointRow>(rows: &[R]) -> impl Iterator<Item = (usize, &R)> {
    let has_rest = rows.len() > REVIEW_POSES;
    let is_rest = |row: &R| row.turns().contains(&0.0);
    rows.iter().enumerate().filter(move |(_, row)| !has_rest || !is_rest(row)).step_by(10)
}

/// The row that pictures rest in, and those that tables tell.
pub(super) fn shown_of(review: &Review) -> (usize, Vec<usize>) {
    fn of<R: OneJointRow>(rows: &[R]) -> (usize, Vec<usize>) {
        (start(rows), sparse(rows).map(|(k, _)| k).collect())
    }
    match &review.course {
        Course::Linkage(rows) => of(rows),
        Course::Drive(course) => of(&course.rows),
    }
}
