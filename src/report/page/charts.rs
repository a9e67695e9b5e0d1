//! Figures over the stroke: each a chart with a caption that says what to see, and its table.

use crate::equivalence::{Basis, Criterion, Figure, Outcome};
use crate::report::blocks::{Block, Cell, Table, cells};
use crate::report::check::worst_place;
use crate::report::drawing::{Drawing, Place, cursor, inline};
use crate::report::finger;
use crate::report::inertia::inertia;
use crate::report::pictures::{self, NOTHING, Plot, certified};
use crate::report::words::{capital, prose, sentence};
use crate::study::{Check, Review, figure, note};
use crate::units::fixed;

use super::Leaf;
use super::element::{fold, heading, table_named_above};
use super::poses_shown::shown_of;

/// Every chart of the design that follows the slider.
pub(super) fn all(leaf: &Leaf<'_>) -> Vec<Plot> {
    let all =
        [angle_plots(leaf.review), power_plots(leaf.review), Vec::from_iter(rod_plot(leaf.review))]
            .concat();
    all.into_iter().filter(Plot::varies).collect()
}

fn angle_plots(Review { check, loads, course, .. }: &Review) -> Vec<Plot> {
    pictures::angle_plots(check, course, loads.as_ref().ok())
}

fn power_plots(Review { check, loads, course, .. }: &Review) -> Vec<Plot> {
    if check.is_of_pad() {
        return Vec::new();
    }
    pictures::power_plots(check, course, loads.as_ref().ok())
}

fn rod_plot(Review { check, loads, course, .. }: &Review) -> Option<Plot> {
    pictures::rod_plot(check, course, loads.as_ref().ok())
}

/// Ratio, angle error, transmission angle and other margins; of a gripper what its pad does, opening, tilt and grip.
pub(super) fn angles(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let finger = check.finger.iter().flat_map(|found| finger::finger(check, found));
    leaf.set(&finger.collect::<Vec<_>>()) + &grid(leaf, &angle_plots(leaf.review))
}

/// The rod's force over the stroke, where it is known.
pub(super) fn rod(leaf: &Leaf<'_>) -> String {
    grid(leaf, &Vec::from_iter(rod_plot(leaf.review)))
}

/// What there is to see in a chart.
fn caption(check: &Check, plot: &Plot) -> String {
    if check.linkage.is_none() {
        return plot.chart.description.clone();
    }
    let described = |more: &str| format!("{} {more}", plot.chart.description);
    match plot.name {
        "ratio" => judged(
            check,
            Criterion::Ratio,
            "Speed and torque go with this curve: it must stay between the dotted lines.",
        ),
        "angle" => judged(
            check,
            Criterion::Angle,
            "How far the real joint runs ahead of the direct joint: the curve must stay between the dotted lines.",
        ),
        "transmission" => judged(
            check,
            Criterion::TransmissionAngle,
            "Angle between rod and lever: the smaller, the larger pin forces and lost motion. The curve must stay above the dotted floor.",
        ),
        "tilt" => judged(
            check,
            Criterion::Tilt,
            "Turn of the pad against the zero pose; a stand-in that keeps its attitude has none. The curve must stay between the dotted lines.",
        ),
        "opening" => described(
            "One motor position for each opening: this is what a command in millimetres goes by.",
        ),
        "grip" => described("The grip goes with the motor's torque and with this curve."),
        "torque" => described("\"Guaranteed\" is what a direct joint may promise at every pose."),
        "speed" => described("Where the ratio gains torque it loses speed."),
        "inertia" => described("The error for moving carriers is in the table below."),
        _ => described("Every pin bears the same force."),
    }
}

/// What to see, how it came out, and what the shading means.
fn judged(check: &Check, criterion: Criterion, see: &str) -> String {
    let Some(c) = check.criterion(criterion) else { return see.to_owned() };
    let outcome = match c.outcome {
        Outcome::Holds => "it does".to_owned(),
        Outcome::Fails => "it does not".to_owned(),
        open => Cell::outcome(open).text,
    };
    let tolerance = c.bound_over(Basis::Tolerance).is_some();
    let worst = c.nominal.map(Figure::value).map_or_else(String::new, |worst| {
        let at = worst_place(check, c, 2).filter(|_| worst > NOTHING);
        let at = at.map_or_else(String::new, |at| format!(" at {at}"));
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

/// Torque, speed and inertia, and a line for what the design does not give.
pub(super) fn power(leaf: &Leaf<'_>) -> String {
    let plots = power_plots(leaf.review);
    let names: Vec<&str> = plots.iter().map(|plot| plot.name).collect();
    let of_joint = !leaf.review.check.is_of_pad();
    let missing: Vec<&str> =
        [("torque", "torque: [actuator] peak_torque"), ("speed", "speed: [actuator] max_speed")]
            .into_iter()
            .filter(|(name, _)| of_joint && !names.contains(name))
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
        None => more.extend(check.criterion(Criterion::Inertia).and_then(|c| {
            let what = match c.nominal {
                Some(_) => "inertia error",
                None => "inertia is not assessed",
            };
            Some(Block::Line(format!("{what}: {}", note(c)?)))
        })),
    }
    grid(leaf, &plots) + &leaf.set(&more)
}

/// Charts that follow the slider, side by side, below them in words what does not vary.
fn grid(leaf: &Leaf<'_>, plots: &[Plot]) -> String {
    let pictures = plots.iter().filter(|plot| plot.varies()).map(|plot| shown(leaf, plot));
    let constants: Vec<String> = plots.iter().filter_map(Plot::constant).collect();
    let list = if constants.is_empty() { Vec::new() } else { vec![Block::List(constants)] };
    side_by_side(pictures.collect()) + &leaf.set(&list)
}

/// Figures side by side.
pub(super) fn side_by_side(figures: Vec<String>) -> String {
    let figures = figures.concat();
    if figures.is_empty() { figures } else { format!("<div class=\"charts\">\n{figures}</div>\n") }
}

fn shown(leaf: &Leaf<'_>, plot: &Plot) -> String {
    let (start, told) = shown_of(leaf.review);
    let mut drawing = plot.chart.draw();
    if let Some(at) = plot.points.get(start) {
        cursor(&mut drawing, &plot.chart.frame(), *at);
    }
    let cells = told.iter().filter_map(|k| plot.points.get(*k)).map(|[x, y]| {
        cells([fixed(*x, 2), (plot.shown)(if y.is_nan() { f64::INFINITY } else { *y })])
    });
    let along = if leaf.review.check.is_of_pad() { "motor angle, deg" } else { "joint angle, deg" };
    let label = plot.chart.y.label.as_str();
    let table = Table::new(plot.chart.title.clone(), &[along, label], cells.collect());
    still(leaf, plot.name, &drawing, label, &caption(&leaf.review.check, plot), &table)
}

/// A figure: heading, picture, caption, table on demand.
pub(super) fn still(
    leaf: &Leaf<'_>,
    name: &str,
    drawing: &Drawing,
    title: &str,
    caption: &str,
    rows: &Table,
) -> String {
    let id = format!("{}-{name}", leaf.id);
    format!(
        "<div id=\"{id}\" class=\"plot\">\n{}<figure>\n{}\n<figcaption>{}</figcaption>\n</figure>\n{}</div>\n",
        heading(leaf.rank + 2, None, &capital(title)),
        inline(drawing, Place { id: &id, class: "chart" }),
        prose(caption),
        fold("Table", &table_named_above(rows))
    )
}
