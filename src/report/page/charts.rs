//! Figures over the stroke: each a chart with a caption that says what to see, and its table.

use crate::equivalence::{Basis, Criterion, Figure, Outcome};
use crate::report::blocks::{Block, Cell, Table, cells};
use crate::report::check::joint;
use crate::report::drawing::{Chart, Drawing, Place, Point, cursor, inline};
use crate::report::inertia::inertia;
use crate::report::pictures::{self, CHART, NOTHING, certified};
use crate::report::words::{prose, sentence};
use crate::study::{Check, PoseRow, Review, figure, note};
use crate::units::{self, fixed};

use super::Leaf;
use super::element::{fold, heading, table};
use super::motion::{sparse, start};

/// A chart over the stroke with all that stands around it.
pub(super) struct Plot {
    name: &'static str,
    chart: Chart,
    caption: String,
    /// What is plotted at a row, in the chart's unit, through the chart's own curve.
    height: fn(&PoseRow) -> f64,
    /// From the row's unit to the chart's.
    factor: f64,
    /// A plotted figure in the table.
    shown: fn(f64) -> String,
}

impl Plot {
    /// Its figure's id on the page.
    pub(super) fn id(&self, design: &str) -> String {
        format!("{design}-{}", self.name)
    }

    fn value(&self, row: &PoseRow) -> Point {
        [row.joint_reading.to_degrees(), self.factor * (self.height)(row)]
    }

    /// Where every row lies, px.
    pub(super) fn places(&self, rows: &[PoseRow]) -> Vec<Point> {
        let frame = self.chart.frame();
        rows.iter().map(|row| frame.held(self.value(row))).collect()
    }
}

/// Every chart of the design that follows the slider.
pub(super) fn all(leaf: &Leaf<'_>) -> Vec<Plot> {
    let mut plots = angle_plots(leaf.review);
    plots.extend(power_plots(leaf.review));
    plots.extend(rod(leaf));
    plots
}

/// The rod's force over the stroke, where it is known.
pub(super) fn rod(leaf: &Leaf<'_>) -> Option<Plot> {
    let Review { check, rows, loads, .. } = leaf.review;
    let chart = pictures::rod_force(check, rows, loads.as_ref().ok(), CHART)?;
    let height = |r: &PoseRow| r.figures.rod_force.map_or(f64::NAN, f64::abs);
    Some(described("rod", (chart, 1.0), "Every pin bears the same force.", height))
}

/// A plot whose caption is the chart's own description and `more`.
fn described(
    name: &'static str,
    (chart, factor): (Chart, f64),
    more: &str,
    height: fn(&PoseRow) -> f64,
) -> Plot {
    let caption = format!("{} {more}", chart.description);
    Plot { name, chart, caption, height, factor, shown: units::figure }
}

/// Ratio, angle error, transmission angle.
pub(super) fn angles(leaf: &Leaf<'_>) -> String {
    grid(leaf, &angle_plots(leaf.review))
}

fn angle_plots(Review { check, rows, .. }: &Review) -> Vec<Plot> {
    let plot = |name, chart, criterion, see, height, shown| {
        let caption = caption(check, criterion, see);
        Plot { name, chart, caption, height, factor: 1.0, shown }
    };
    vec![
        plot(
            "ratio",
            pictures::ratio(check, rows, CHART),
            Criterion::Ratio,
            "Speed and torque go with this curve: it must stay between the dotted lines.",
            |r| r.pose.transmission_ratio(),
            |y| fixed(y, 5),
        ),
        plot(
            "angle",
            pictures::angle_error(check, rows, CHART),
            Criterion::Angle,
            "How far the real joint runs ahead of the direct joint: the curve must stay between the dotted lines.",
            |r| r.angle_error.to_degrees(),
            |y| fixed(y, 4),
        ),
        plot(
            "transmission",
            pictures::transmission(check, rows, CHART),
            Criterion::TransmissionAngle,
            "Angle between rod and lever: the smaller, the larger pin forces and lost motion. The curve must stay above the dotted floor.",
            |r| r.pose.transmission_angle().to_degrees(),
            |y| fixed(y, 2),
        ),
    ]
}

/// What to see, how it came out, and what the shading means.
fn caption(check: &Check, criterion: Criterion, see: &str) -> String {
    let Some(c) = check.criterion(criterion) else { return see.to_owned() };
    let outcome = match c.outcome {
        Outcome::Holds => "it does".to_owned(),
        Outcome::Fails => "it does not".to_owned(),
        open => Cell::outcome(open).text,
    };
    let tolerance = c.bound_over(Basis::Tolerance).is_some();
    let worst = c.nominal.map(Figure::value).map_or_else(String::new, |worst| {
        let at = c.worst_at_joint.filter(|_| worst > NOTHING);
        let at = at.map_or_else(String::new, |turn| format!(" at joint {}", joint(check, turn, 2)));
        let of = if tolerance || c.seen.is_some() { " of the drawn linkage" } else { "" };
        format!(" Worst {}{of}: {}{at}.", criterion.title(), figure(criterion, worst))
    });
    let whose =
        if tolerance { "no pose of any linkage within the drawn tolerances" } else { "no pose" };
    let shaded = certified(check, criterion).map_or_else(String::new, |bound| {
        let bound =
            if bound < NOTHING { "next to nothing".to_owned() } else { figure(criterion, bound) };
        format!(" Shaded: {whose} leaves it ({bound}, proved).")
    });
    format!("{see} {}{worst}{shaded}", sentence(&outcome))
}

/// Torque, speed, inertia; a line for what the design does not give.
pub(super) fn power(leaf: &Leaf<'_>) -> String {
    let plots = power_plots(leaf.review);
    let missing: Vec<&str> =
        [("torque", "torque: [actuator] peak_torque"), ("speed", "speed: [actuator] max_speed")]
            .into_iter()
            .filter(|(name, _)| plots.iter().all(|plot| plot.name != *name))
            .map(|(_, what)| what)
            .collect();
    let mut more = Vec::new();
    if !missing.is_empty() {
        let missing = missing.join("; ");
        more.push(Block::Line(format!("not in the design, so not shown: {missing}")));
    }
    let check = &leaf.review.check;
    match &check.inertia {
        Some(found) => more.extend(inertia(found)),
        None => more.extend(
            check
                .criterion(Criterion::Inertia)
                .and_then(note)
                .map(|note| Block::Line(format!("inertia is not assessed: {note}"))),
        ),
    }
    grid(leaf, &plots) + &leaf.set(&more)
}

fn power_plots(Review { check, rows, loads, .. }: &Review) -> Vec<Plot> {
    let loads = loads.as_ref().ok();
    let torque = pictures::torque(check, rows, loads, CHART).map(|chart| {
        let more = "\"Guaranteed\" is what a direct joint may promise at every pose.";
        described("torque", chart, more, |r| r.figures.torque.map_or(f64::NAN, f64::abs))
    });
    let speed = pictures::speed(check, rows, loads, CHART).map(|chart| {
        let more = "Where the ratio gains torque it loses speed.";
        described("speed", (chart, 1.0), more, |r| r.figures.speed.unwrap_or(f64::NAN))
    });
    let inertia = pictures::inertia(check, rows, CHART).map(|chart| {
        let more = "The error for moving carriers is in the table below.";
        described("inertia", chart, more, |r| r.figures.inertia.unwrap_or(f64::NAN))
    });
    [torque, speed, inertia].into_iter().flatten().collect()
}

/// Charts that follow the slider, side by side.
pub(super) fn grid(leaf: &Leaf<'_>, plots: &[Plot]) -> String {
    side_by_side(plots.iter().map(|plot| shown(leaf, plot)).collect())
}

/// Figures side by side.
pub(super) fn side_by_side(figures: Vec<String>) -> String {
    let figures = figures.concat();
    if figures.is_empty() { figures } else { format!("<div class=\"charts\">\n{figures}</div>\n") }
}

fn shown(leaf: &Leaf<'_>, plot: &Plot) -> String {
    let rows = &leaf.review.rows;
    let mut drawing = plot.chart.draw();
    if let Some(row) = rows.get(start(rows)) {
        cursor(&mut drawing, &plot.chart.frame(), plot.value(row));
    }
    let cells = sparse(rows).map(|row| {
        let [x, y] = plot.value(row);
        cells([fixed(x, 2), if y.is_nan() { fixed(f64::INFINITY, 0) } else { (plot.shown)(y) }])
    });
    let names = ["joint angle, deg", plot.chart.y.label.as_str()];
    let table = Table::new(plot.chart.title.clone(), &names, cells.collect());
    still(leaf, plot.name, &drawing, &plot.caption, &table)
}

/// A figure: heading, picture, caption, table on demand.
pub(super) fn still(
    leaf: &Leaf<'_>,
    name: &str,
    drawing: &Drawing,
    caption: &str,
    rows: &Table,
) -> String {
    let id = format!("{}-{name}", leaf.id);
    format!(
        "<div id=\"{id}\" class=\"plot\">\n{}<figure>\n{}\n<figcaption>{}</figcaption>\n</figure>\n{}</div>\n",
        heading(leaf.rank + 2, None, &drawing.title),
        inline(drawing, Place { id: &id, class: "chart" }),
        prose(caption),
        fold("Table", &table(rows))
    )
}
