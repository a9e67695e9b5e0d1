//! `--plot` of two joints: maps over pitch and roll, polygons of torque and speed, the drive from two sides.

use crate::study::{RegionCheck, RegionCourse, RegionLoads, RegionTolerance, RodDuty, at_joints};
use crate::units::fixed;

use super::blocks::Cell;
use super::criteria::worst_and_limit;
use super::drawing::{Chart, Drawing, Ink, Skeleton};
use super::pictures::{self, CHART};
use super::region::rests;
use super::region_tolerance::together;
use super::sheet::{Sheet, below, sheet, write_line};
use super::words::{capital, sentence};

/// The verdict: where it holds, the drive from two sides, torque and speed, the criteria.
#[must_use]
pub fn region_check_sheet(check: &RegionCheck, course: &RegionCourse) -> Sheet {
    let mut map = titled(&pictures::rate_map(check, course));
    check.criteria.iter().for_each(|c| {
        let outcome = Cell::outcome(c.outcome).text;
        write_line(
            &mut map,
            &format!("{}: {outcome}, {}", c.criterion.title(), worst_and_limit(c)),
        );
    });
    let views = pictures::region_views(check, course, course.nearest_zero_reached(), CHART);
    let at = course.joints(course.nearest_zero).map(|joints| at_joints(check, joints));
    let views = views.iter().map(|view| viewed(view, at.as_deref().unwrap_or_default()));
    let mut powers = pictures::powers(check).into_iter().map(|chart| titled(&chart));
    let beside = powers.next();
    let drawings = [map].into_iter().chain(beside).chain(views).chain(powers).collect();
    let heading = format!("{}: {}", check.design, Cell::verdict(check.verdict).text);
    let lines = [
        format!("{} {}", sentence(&check.reason), sentence(&capital(&rests(check)))),
        sentence(&capital(&pictures::told(check))),
    ];
    sheet(&heading, &lines, drawings)
}

/// Errors and motor readings over the region.
#[must_use]
pub fn region_stroke_sheet(check: &RegionCheck, course: &RegionCourse) -> Sheet {
    let mut maps = pictures::motor_maps(check, course);
    maps.push(pictures::rate_map(check, course));
    maps.extend(pictures::angle_maps(check, course));
    let lines = [sentence(&capital(&pictures::told(check)))];
    let drawings = maps.iter().map(titled).collect();
    sheet(&format!("{}: over pitch and roll", check.design), &lines, drawings)
}

/// What the tolerances do: how either error scatters, and which size matters.
#[must_use]
pub fn region_tolerance_sheet(found: &RegionTolerance) -> Sheet {
    let histograms = pictures::region_histograms(found);
    let bars = pictures::region_rankings(found);
    let charts = histograms.iter().map(titled);
    let drawings = charts
        .chain(bars.iter().map(|bars| below(bars.draw(), &[(Ink::Text, bars.title.as_str())])));
    let lines: Vec<String> = match found.statistics.as_ref() {
        Some(statistics) => together(statistics).into_iter().collect(),
        None => vec!["no tolerance is drawn".to_owned()],
    };
    let heading = format!("{}: what the tolerances do", found.design);
    sheet(&heading, &lines, drawings.collect())
}

/// What the rods bear over the region, and what torque and speed both joints have.
#[must_use]
pub fn region_loads_sheet(
    check: &RegionCheck,
    course: &RegionCourse,
    found: &RegionLoads,
) -> Sheet {
    let forces = pictures::rod_force_maps(check, course, found);
    let charts = forces.into_iter().chain(pictures::powers(check));
    let mut lines = vec!["worst poses computed, not proved; at rest".to_owned()];
    lines.push(match found.leading() {
        Some((name, duty)) => {
            let of = |rod: &RodDuty| format!("{} {} N", rod.motor, fixed(rod.force_n, 0));
            let [one, two] = duty.rods.each_ref().map(of);
            format!("at {name} torque the rods bear up to: {one}, {two}")
        }
        None => "the rods' forces need [actuator] peak_torque or rated_torque".to_owned(),
    });
    let drawings = charts.map(|chart| titled(&chart)).collect();
    sheet(&format!("{}: what the drive bears", found.design), &lines, drawings)
}

/// A chart under its name and what goes up in it.
fn titled(chart: &Chart) -> Drawing {
    below(chart.draw(), &[(Ink::Text, chart.title.as_str()), (Ink::Quiet, chart.y.label.as_str())])
}

/// A view under its name and its pose.
fn viewed(view: &Skeleton, pose: &str) -> Drawing {
    below(view.draw(), &[(Ink::Text, view.title.as_str()), (Ink::Quiet, pose)])
}
