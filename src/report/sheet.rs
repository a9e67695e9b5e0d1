//! The one picture that goes into a slide or a ticket: `--plot FILE.svg|png`.

use crate::study::{Check, Course, LoadFindings, ToleranceFindings};

use super::blocks::Cell;
use super::check::rests;
use super::criteria::worst_and_limit;
use super::drawing::{Anchor, Chart, Drawing, Ink, Point, Skeleton, alone, text, width_of};
use super::pictures::{self, CHART, Plot, nearest_row};
use super::tolerance::{all_together, allowed_alike};
use super::words::sentence;

/// A picture that stands alone.
#[derive(Clone, Debug)]
pub struct Sheet(pub(super) Drawing);

impl Sheet {
    /// As SVG, with its own colours on white.
    #[must_use]
    pub fn svg(&self) -> String {
        alone(&self.0)
    }

    /// As PNG, two pixels for one of the SVG; `None` where the image cannot be made.
    #[cfg(feature = "pictures")]
    #[must_use]
    pub fn png(&self) -> Option<Vec<u8>> {
        super::drawing::png(&self.0)
    }

    /// The letters that the PNG shows as boxes, each once, in order.
    #[cfg(feature = "pictures")]
    #[must_use]
    pub fn boxes(&self) -> String {
        super::drawing::letters_lacking(&self.0)
    }
}

const EDGE: f64 = 20.0;
const LINE: f64 = 20.0;
const SMALL: f64 = 14.0;
const LARGE: f64 = 24.0;

/// The verdict: the ratio over the stroke, the drive, the criteria.
#[must_use]
pub fn check_sheet(check: &Check, course: &Course) -> Sheet {
    let plots = pictures::angle_plots(check, course, None);
    // Of a gripper how level the pad stays says more than how far it opens.
    let leads = plots.iter().find(|plot| plot.name == "tilt").or(plots.first());
    let leads = leads.filter(|plot| plot.varies());
    let views = match course {
        Course::Linkage(rows) => {
            vec![pictures::linkage(check, rows, nearest_row(rows, 0.0), CHART).draw()]
        }
        Course::Drive(found) => {
            let views = pictures::skeletons(found, nearest_row(&found.rows, 0.0), CHART);
            views.iter().map(Skeleton::draw).collect()
        }
    };
    verdict(check, leads.map(|plot| titled(&plot.chart)), views)
}

/// The curve that leads, the drive in one view or more, the criteria below the first.
fn verdict(check: &Check, leads: Option<Drawing>, mut views: Vec<Drawing>) -> Sheet {
    if let Some(first) = views.first_mut() {
        criteria(check).iter().for_each(|line| write_line(first, line));
    }
    let drawings = leads.into_iter().chain(views).collect();
    let heading = format!("{}: {}", check.design, Cell::verdict(check.verdict).text);
    let lines = [format!("{} {}", sentence(&check.reason), sentence(&rests(check)))];
    sheet(&heading, &lines, drawings)
}

fn criteria(check: &Check) -> Vec<String> {
    let line = |c: &crate::equivalence::Assessment| {
        let outcome = Cell::outcome(c.outcome).text;
        format!("{}: {outcome}, {}", c.criterion.title(), worst_and_limit(c))
    };
    check.criteria.iter().map(line).collect()
}

/// The figures over the stroke; of a planar four-bar but one that hangs on motor and masses, so that the sheet stays square.
#[must_use]
pub fn stroke_sheet(check: &Check, course: &Course) -> Sheet {
    let mut powered = pictures::power_plots(check, course, None);
    if let Course::Linkage(_) = course {
        powered.retain(|plot| plot.name != "speed" && !check.is_of_pad());
        powered.truncate(1);
    }
    let plots = pictures::angle_plots(check, course, None).into_iter().chain(powered);
    let lines = [crate::study::drive_sizes(&check.drive)];
    sheet(&format!("{}: over the stroke", check.design), &lines, drawn(plots))
}

fn drawn(plots: impl Iterator<Item = Plot>) -> Vec<Drawing> {
    plots.map(|plot| titled(&plot.chart)).collect()
}

/// What the tolerances do: how the worst error scatters, and which length matters.
#[must_use]
pub fn tolerance_sheet(found: &ToleranceFindings) -> Sheet {
    let drawings: Vec<Drawing> = [
        pictures::histogram(found).map(|chart| titled(&chart)),
        pictures::ranking(found).map(|bars| bars.draw()),
    ]
    .into_iter()
    .flatten()
    .collect();
    let mut lines: Vec<String> = all_together(found).into_iter().collect();
    if drawings.is_empty() {
        lines.push("no tolerance is drawn".to_owned());
    }
    let how = if found.budget.is_some() { "proved" } else { "computed" };
    lines.push(format!("{how} to be allowed: {}", allowed_alike(found)));
    sheet(&format!("{}: what the tolerances do", found.design), &lines, drawings)
}

/// What the drive bears over the stroke.
#[must_use]
pub fn loads_sheet(check: &Check, course: &Course, found: &LoadFindings) -> Sheet {
    let powered = pictures::power_plots(check, course, Some(found)).into_iter();
    let powered = powered.filter(|plot| plot.name != "inertia");
    let rod = pictures::rod_plot(check, course, Some(found));
    let margins = pictures::angle_plots(check, course, Some(found)).into_iter();
    let moves = ["ratio", "angle", "travel", "opening", "tilt"];
    let margins = margins.filter(|plot| !moves.contains(&plot.name));
    let lines = ["worst poses computed, not proved; slow, steady load".to_owned()];
    let heading = format!("{}: what the drive bears", found.design);
    sheet(&heading, &lines, drawn(powered.chain(rod).chain(margins)))
}

/// A chart under what it shows.
fn titled(chart: &Chart) -> Drawing {
    below(chart.draw(), &[(Ink::Text, chart.y.label.as_str())])
}

/// A drawing under lines of words.
pub(super) fn below(drawn: Drawing, lines: &[(Ink, &str)]) -> Drawing {
    let mut all = Drawing::new([drawn.size[0], 0.0], &drawn.title, &drawn.description);
    for (ink, line) in lines {
        all.write(*ink, [8.0, all.size[1] + SMALL], Anchor::Start, line);
        all.size[1] += LINE;
    }
    let at = [0.0, all.size[1]];
    all.size[1] += drawn.size[1];
    all.place(drawn, at);
    all
}

/// A heading, lines below it, drawings two abreast.
pub(super) fn sheet(heading: &str, lines: &[String], drawings: Vec<Drawing>) -> Sheet {
    let wide = 3.0 * EDGE + 2.0 * CHART[0];
    let mut sheet = Drawing::new([wide, EDGE], heading, &lines.join(". "));
    sheet.add(Ink::Strong, text([EDGE, EDGE + LARGE], Anchor::Start, LARGE, heading));
    sheet.size[1] += LARGE + 14.0;
    for line in lines.iter().flat_map(|line| broken(line, wide - 2.0 * EDGE)) {
        write_line(&mut sheet, &line);
    }
    sheet.size[1] += 14.0;
    for pair in pairs(drawings) {
        let tall = pair.iter().map(|d| d.size[1]).fold(0.0, f64::max);
        for (drawing, left) in pair.into_iter().zip([EDGE, 2.0 * EDGE + CHART[0]]) {
            let at: Point = [left, sheet.size[1]];
            sheet.place(drawing, at);
        }
        sheet.size[1] += tall + 14.0;
    }
    sheet.size[1] += EDGE - 14.0;
    Sheet(sheet)
}

pub(super) fn write_line(sheet: &mut Drawing, line: &str) {
    let at = [EDGE, sheet.size[1] + SMALL];
    sheet.add(Ink::Quiet, text(at, Anchor::Start, SMALL, line));
    sheet.size[1] += LINE;
}

fn pairs(drawings: Vec<Drawing>) -> Vec<Vec<Drawing>> {
    let mut pairs: Vec<Vec<Drawing>> = Vec::new();
    for drawing in drawings {
        match pairs.last_mut().filter(|pair| pair.len() < 2) {
            Some(pair) => pair.push(drawing),
            None => pairs.push(vec![drawing]),
        }
    }
    pairs
}

/// `line` broken at spaces to a width in pixels.
fn broken(line: &str, wide: f64) -> Vec<String> {
    let (mut lines, mut row) = (Vec::new(), String::new());
    for word in line.split_whitespace() {
        if !row.is_empty() && width_of(&row, SMALL) + width_of(word, SMALL) + SMALL > wide {
            lines.push(std::mem::take(&mut row));
        }
        if !row.is_empty() {
            row.push(' ');
        }
        row.push_str(word);
    }
    lines.push(row);
    lines
}
