//! Figures over the stroke: each a chart with a caption that says what to see, and its table.

use crate::equivalence::{Basis, Criterion, Figure, Outcome};
use crate::report::drawing::{Chart, Place, Point, cursor, inline};
use crate::report::inertia_text::{SHORTCUT_HEADER, inertia_lines, shortcut_rows};
use crate::report::pictures::{self, CHART, NOTHING, certified, three_digits};
use crate::report::words::{fixed, prose};
use crate::study::{Check, PoseRow, Review, figure, note};

use super::Leaf;
use super::element::{fold, heading, list, paragraph, sentence, table};
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
}

impl Plot {
    /// Its figure's id on the page.
    pub(super) fn id(&self, design: &str) -> String {
        format!("{design}-{}", self.name)
    }

    fn value(&self, row: &PoseRow) -> Point {
        [row.joint.to_degrees(), self.factor * (self.height)(row)]
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
    let caption = format!("{} Every pin bears the same force.", chart.description);
    let height = |r: &PoseRow| r.figures.rod_force.map_or(f64::NAN, f64::abs);
    Some(Plot { name: "rod", chart, caption, height, factor: 1.0 })
}

/// Ratio, angle error, transmission angle.
pub(super) fn angles(leaf: &Leaf<'_>) -> String {
    grid(leaf, &angle_plots(leaf.review))
}

fn angle_plots(review: &Review) -> Vec<Plot> {
    let Review { check, rows, .. } = review;
    vec![
        Plot {
            name: "ratio",
            chart: pictures::ratio(check, rows, CHART),
            caption: caption(
                check,
                Criterion::Ratio,
                "Speed and torque go with this curve: it must stay between the dotted lines.",
            ),
            height: |r| r.pose.transmission_ratio(),
            factor: 1.0,
        },
        Plot {
            name: "angle",
            chart: pictures::angle_error(check, rows, CHART),
            caption: caption(
                check,
                Criterion::Angle,
                "How far the real joint runs ahead of the direct joint: the curve must stay between the dotted lines.",
            ),
            height: |r| r.angle_error.to_degrees(),
            factor: 1.0,
        },
        Plot {
            name: "transmission",
            chart: pictures::transmission(check, rows, CHART),
            caption: caption(
                check,
                Criterion::TransmissionAngle,
                "Angle between rod and lever: the smaller, the larger pin forces and lost motion. The curve must stay above the dotted floor.",
            ),
            height: |r| r.pose.transmission_angle().to_degrees(),
            factor: 1.0,
        },
    ]
}

/// What to see, how it came out, and what the shading means.
fn caption(check: &Check, criterion: Criterion, see: &str) -> String {
    let Some(c) = check.criterion(criterion) else { return see.to_owned() };
    let outcome = match c.outcome {
        Outcome::Holds => "it does",
        Outcome::Fails => "it does not",
        Outcome::Undecided => "undecided",
        Outcome::NotAssessed => "not assessed",
    };
    let tolerance = c.bound_over(Basis::Tolerance).is_some();
    let worst = c.nominal.map(Figure::value).map_or_else(String::new, |worst| {
        let at = c
            .worst_at_joint
            .filter(|_| worst > NOTHING)
            .map_or_else(String::new, |j| format!(" at joint {} deg", fixed(j.to_degrees(), 2)));
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
    format!("{see} {}{worst}{shaded}", sentence(outcome))
}

/// Torque, speed, inertia; a line for what the design does not give.
pub(super) fn power(leaf: &Leaf<'_>) -> String {
    let plots = power_plots(leaf.review);
    let has = |name: &str| plots.iter().any(|p| p.name == name);
    let missing: Vec<&str> =
        [("torque", "torque: [actuator] peak_torque"), ("speed", "speed: [actuator] max_speed")]
            .into_iter()
            .filter_map(|(name, what)| (!has(name)).then_some(what))
            .collect();
    let mut out = grid(leaf, &plots);
    if !missing.is_empty() {
        out.push_str(&paragraph(&format!(
            "Not in the design, so not shown. {}.",
            sentence(&missing.join("; ")).trim_end_matches('.')
        )));
    }
    out + &inertia(leaf)
}

fn power_plots(review: &Review) -> Vec<Plot> {
    let Review { check, rows, loads, .. } = review;
    let loads = loads.as_ref().ok();
    let torque = pictures::torque(check, rows, loads, CHART).map(|(chart, factor)| Plot {
        name: "torque",
        caption: format!(
            "{} \"Guaranteed\" is what a direct joint may promise at every pose.",
            chart.description
        ),
        height: |r| r.figures.torque.map_or(f64::NAN, f64::abs),
        factor,
        chart,
    });
    let speed = pictures::speed(check, rows, loads, CHART).map(|chart| Plot {
        name: "speed",
        caption: format!("{} Where the ratio gains torque it loses speed.", chart.description),
        height: |r| r.figures.speed.unwrap_or(f64::NAN),
        factor: 1.0,
        chart,
    });
    let inertia = pictures::inertia(check, rows, CHART).map(|(chart, factor)| Plot {
        name: "inertia",
        caption: format!(
            "{} The error for moving carriers is in the table below.",
            chart.description
        ),
        height: |r| r.figures.inertia.unwrap_or(f64::NAN),
        factor,
        chart,
    });
    [torque, speed, inertia].into_iter().flatten().collect()
}

fn inertia(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let Some(found) = &check.inertia else {
        let note = check.criterion(Criterion::Inertia).and_then(note);
        return note.map_or_else(String::new, |note| {
            paragraph(&format!("Inertia is not assessed: {note}."))
        });
    };
    let mut out = heading(leaf.rank + 2, None, "What the direct joint weighs");
    out.push_str(&table(
        "Largest error of kinetic energy for any motion, by what is kept of the linkage",
        &SHORTCUT_HEADER,
        &shortcut_rows(found),
    ));
    let lines: Vec<String> = inertia_lines(found).iter().map(|l| sentence(l)).collect();
    out + &list(&lines)
}

/// Figures side by side.
pub(super) fn grid(leaf: &Leaf<'_>, plots: &[Plot]) -> String {
    if plots.is_empty() {
        return String::new();
    }
    let figures: String = plots.iter().map(|plot| shown(leaf, plot)).collect();
    format!("<div class=\"charts\">\n{figures}</div>\n")
}

fn shown(leaf: &Leaf<'_>, plot: &Plot) -> String {
    let rows = &leaf.review.rows;
    let mut drawing = plot.chart.draw();
    if let Some(row) = rows.get(start(rows)) {
        cursor(&mut drawing, &plot.chart.frame(), plot.value(row));
    }
    let cells = sparse(rows).map(|row| {
        let [x, y] = plot.value(row);
        vec![fixed(x, 2), if y.is_finite() { figures(plot, y) } else { "unbounded".to_owned() }]
    });
    let cells: Vec<_> = cells.collect();
    let header = ["joint angle, deg", plot.chart.y.label.as_str()];
    drawn(
        leaf,
        plot.name,
        &drawing_of(leaf, plot.name, &drawing),
        &plot.chart.title,
        &plot.caption,
        &table(&plot.chart.title, &header, &cells),
    )
}

fn figures(plot: &Plot, y: f64) -> String {
    match plot.name {
        "ratio" => fixed(y, 5),
        "angle" => fixed(y, 4),
        "transmission" => fixed(y, 2),
        _ => three_digits(y),
    }
}

fn drawing_of(leaf: &Leaf<'_>, name: &str, drawing: &crate::report::drawing::Drawing) -> String {
    inline(drawing, Place { id: &format!("{}-{name}", leaf.id), class: "chart" })
}

/// A figure: heading, picture, caption, table on demand.
fn drawn(
    leaf: &Leaf<'_>,
    name: &str,
    picture: &str,
    title: &str,
    caption: &str,
    table: &str,
) -> String {
    format!(
        "<div id=\"{}-{name}\" class=\"plot\">\n{}<figure>\n{picture}\n<figcaption>{}</figcaption>\n</figure>\n{}</div>\n",
        leaf.id,
        heading(leaf.rank + 2, None, title),
        prose(caption),
        fold("Table", table)
    )
}

/// A chart that does not follow the slider.
pub(super) fn still(
    leaf: &Leaf<'_>,
    name: &str,
    drawing: &crate::report::drawing::Drawing,
    caption: &str,
    table: &str,
) -> String {
    drawn(leaf, name, &drawing_of(leaf, name, drawing), &drawing.title, caption, table)
}
