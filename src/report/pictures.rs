//! Which picture shows which finding; the page and `--plot` share them.

use crate::dynamics::{Bounds, Duty};
use crate::equivalence::Outcome;
use crate::study::{
    Check, Criterion, InertiaFindings, LoadFindings, Located, PoseRow, ToleranceFindings,
};

use super::drawing::{Axis, Bars, Chart, Histogram, Ink, Layer, LinkagePicture, Point};
use super::words::fixed;

/// Width and height of a chart on the page, px.
pub(super) const CHART: Point = [440.0, 300.0];

const JOINT: &str = "joint angle from the zero pose, deg";

/// A figure of every pose over the joint angle, deg.
fn over_joint(rows: &[PoseRow], figure: impl Fn(&PoseRow) -> f64) -> Vec<Point> {
    rows.iter().map(|row| [row.joint.to_degrees(), figure(row)]).collect()
}

fn stroke_axis(check: &Check) -> Axis {
    let [a, b] = check.stroke.joint.map(f64::to_degrees);
    Axis { label: JOINT.to_owned(), range: [a.min(b), a.max(b)] }
}

/// From the smallest to the largest of the finite figures, with `room` of that to each side.
fn range(figures: impl IntoIterator<Item = f64>, room: f64) -> [f64; 2] {
    let finite = figures.into_iter().filter(|x| x.is_finite());
    let [low, high] =
        finite.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], x| [l.min(x), h.max(x)]);
    if low > high {
        return [0.0, 1.0];
    }
    let more = (room * (high - low)).max(1e-3 * low.abs().max(high.abs())).max(1e-9);
    [low - more, high + more]
}

/// From zero on to whatever the figures reach, on both sides of it where they have both signs.
fn range_with_zero(figures: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let [low, high] = range(figures.into_iter().chain([0.0]), 0.08);
    [
        if low > -0.2 * high { low.max(0.0) } else { low },
        if high < -0.2 * low { high.min(0.0) } else { high },
    ]
}

pub(super) fn criterion<'a>(check: &'a Check, name: &str) -> Option<&'a Criterion> {
    check.criteria.iter().find(|c| c.name == name)
}

/// A certified bound of a criterion that holds, over tolerance or over the drawn linkage.
pub(super) fn certified(check: &Check, name: &str) -> Option<f64> {
    // Where a criterion fails the bound only says where the search stopped.
    let c = criterion(check, name).filter(|c| c.outcome == Outcome::Holds)?;
    c.tolerance_bound.or(c.nominal_bound).filter(|b| b.is_finite())
}

fn certified_name(check: &Check) -> Option<String> {
    let over_tolerance = check.criteria.iter().any(|c| c.tolerance_bound.is_some());
    let what = if over_tolerance { "certified, every build" } else { "certified" };
    Some(what.to_owned())
}

/// The ratio over the stroke with the accepted band and the certified bound.
pub(super) fn ratio(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let points = over_joint(rows, |r| r.pose.transmission_ratio());
    let constant = check.direct_joint.ratio;
    let limit = criterion(check, "ratio").map_or(0.0, |c| c.limit);
    let band = |share: f64| [constant * (1.0 - share), constant * (1.0 + share)];
    // Near a dead point the curve leaves for infinity: what is far from the constant is not shown.
    let near = |y: &f64| (y - constant).abs() <= 2.0 * constant.abs();
    let y = range(points.iter().map(|p| p[1]).filter(near).chain(band(limit)), 0.06);
    let mut layers = Vec::new();
    if let Some(bound) = certified(check, "ratio") {
        layers.push(Layer::Band(band(bound), Ink::Certified, certified_name(check)));
    }
    let [low, high] = band(limit);
    layers.push(Layer::Level(low, Ink::Limit, Some("limits".to_owned())));
    layers.push(Layer::Level(high, Ink::Limit, None));
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.push(Layer::Level(constant, Ink::Direct, Some("direct joint".to_owned())));
    layers.extend(worst_spot(rows, &check.transmission_ratio.worst_error, |r| {
        r.pose.transmission_ratio()
    }));
    Chart {
        title: "Transmission ratio over the stroke".to_owned(),
        description: format!(
            "The linkage's ratio of motor rate to joint rate runs from {} to {}; the direct joint has {}, accepted within {} %.",
            fixed(check.transmission_ratio.min, 5),
            fixed(check.transmission_ratio.max, 5),
            fixed(constant, 5),
            fixed(100.0 * limit, 2)
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "transmission ratio i = dφ/dψ".to_owned(), range: y },
        layers,
    }
}

/// What no sheet could show, rad or share.
pub(super) const NOTHING: f64 = 1e-9;

/// A ring at the row nearest to where the figure is worst.
fn worst_spot(
    rows: &[PoseRow],
    worst: &Located,
    figure: impl Fn(&PoseRow) -> f64,
) -> Option<Layer> {
    // A worst figure that is next to nothing has no place.
    let row = nearest(rows, worst.at_joint).filter(|_| worst.value > NOTHING)?;
    let at = [row.joint.to_degrees(), figure(row)];
    Some(Layer::Spot(at, Ink::Worst, Some("worst".to_owned())))
}

fn nearest(rows: &[PoseRow], joint: f64) -> Option<&PoseRow> {
    rows.iter().min_by(|a, b| (a.joint - joint).abs().total_cmp(&(b.joint - joint).abs()))
}

/// The index of the row nearest to a joint turn.
pub(super) fn nearest_row(rows: &[PoseRow], joint: f64) -> usize {
    let indexed = rows.iter().enumerate();
    let nearest =
        indexed.min_by(|a, b| (a.1.joint - joint).abs().total_cmp(&(b.1.joint - joint).abs()));
    nearest.map_or(0, |(index, _)| index)
}

/// The angle error over the stroke with its band.
pub(super) fn angle_error(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let points = over_joint(rows, |r| r.angle_error.to_degrees());
    let limit = criterion(check, "angle").map_or(0.0, |c| c.limit.to_degrees());
    let y = range(points.iter().map(|p| p[1]).chain([-limit, limit]), 0.06);
    let mut layers = Vec::new();
    if let Some(bound) = certified(check, "angle").map(f64::to_degrees) {
        layers.push(Layer::Band([-bound, bound], Ink::Certified, certified_name(check)));
    }
    layers.push(Layer::Level(-limit, Ink::Limit, Some("limits".to_owned())));
    layers.push(Layer::Level(limit, Ink::Limit, None));
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.push(Layer::Level(0.0, Ink::Direct, Some("direct joint".to_owned())));
    layers.extend(worst_spot(rows, &check.angle_error, |r| r.angle_error.to_degrees()));
    Chart {
        title: "Angle error over the stroke".to_owned(),
        description: format!(
            "Joint angle of the linkage less that of the direct joint: at most {} in size; accepted within {} deg.",
            crate::study::degrees(check.angle_error.value),
            fixed(limit, 2)
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "angle error, deg".to_owned(), range: y },
        layers,
    }
}

/// The transmission angle over the stroke with its floor.
pub(super) fn transmission(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let floor = criterion(check, "transmission_angle").map_or(0.0, |c| c.limit.to_degrees());
    let points = over_joint(rows, |r| r.pose.transmission_angle().to_degrees());
    let mut layers = Vec::new();
    if let Some(bound) = certified(check, "transmission_angle").map(f64::to_degrees) {
        layers.push(Layer::Band([bound, 90.0], Ink::Certified, certified_name(check)));
    }
    layers.push(Layer::Level(floor, Ink::Limit, Some("floor".to_owned())));
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.extend(worst_spot(rows, &check.transmission_angle, |r| {
        r.pose.transmission_angle().to_degrees()
    }));
    Chart {
        title: "Transmission angle over the stroke".to_owned(),
        description: format!(
            "Angle between rod and lever: never below {}; the floor is {} deg.",
            crate::study::degrees(check.transmission_angle.value),
            fixed(floor, 0)
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "transmission angle, deg".to_owned(), range: [0.0, 90.0] },
        layers,
    }
}

/// A unit in which a figure has a digit or two before the point: name and factor.
fn handy(largest: f64, units: &[(&'static str, f64)]) -> (&'static str, f64) {
    let fits = units.iter().find(|(_, factor)| largest * factor >= 1.0);
    fits.or(units.last()).copied().unwrap_or(("", 1.0))
}

fn largest(points: &[Point]) -> f64 {
    points.iter().map(|p| p[1].abs()).filter(|y| y.is_finite()).fold(0.0, f64::max)
}

const TORQUES: [(&str, f64); 2] = [("N m", 1.0), ("mN m", 1e3)];

/// The joint's torque at the motor's peak.
pub(super) fn torque(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
    size: Point,
) -> Option<Chart> {
    rows.iter().find_map(|r| r.figures.torque)?;
    let mut points = over_joint(rows, |r| r.figures.torque.map_or(f64::NAN, f64::abs));
    let bounds = loads.and_then(|l| l.loads.peak.as_ref()).map(|d: &Duty| d.joint_torque);
    let top = bounds.map_or_else(|| largest(&points), |b| b.never_exceed.value);
    let (unit, factor) = handy(top, &TORQUES);
    scale(&mut points, factor);
    Some(Chart {
        title: "Torque available at the joint".to_owned(),
        description: format!(
            "The joint's torque at the motor's peak, without losses; {}.",
            bounds_in_words(bounds, factor, unit)
        ),
        size,
        x: stroke_axis(check),
        y: axis_from_zero(
            &points,
            bounds,
            factor,
            &format!("joint torque at peak motor torque, {unit}"),
        ),
        layers: bounded(points, bounds, factor),
    })
}

/// The joint's speed at the motor's largest.
pub(super) fn speed(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
    size: Point,
) -> Option<Chart> {
    rows.iter().find_map(|r| r.figures.speed)?;
    let points = over_joint(rows, |r| r.figures.speed.unwrap_or(f64::NAN));
    let bounds = loads.and_then(|l| l.loads.joint_speed);
    Some(Chart {
        title: "Speed available at the joint".to_owned(),
        description: format!(
            "The joint's speed at the motor's largest; {}.",
            bounds_in_words(bounds, 1.0, "rad/s")
        ),
        size,
        x: stroke_axis(check),
        y: axis_from_zero(&points, bounds, 1.0, "joint speed at full motor speed, rad/s"),
        layers: bounded(points, bounds, 1.0),
    })
}

fn scale(points: &mut [Point], factor: f64) {
    for point in points {
        point[1] *= factor;
    }
}

fn axis_from_zero(points: &[Point], bounds: Option<Bounds>, factor: f64, label: &str) -> Axis {
    let top = bounds.map(|b| b.never_exceed.value * factor);
    let range = range_with_zero(points.iter().map(|p| p[1]).chain(top));
    Axis { label: label.to_owned(), range }
}

fn bounded(points: Vec<Point>, bounds: Option<Bounds>, factor: f64) -> Vec<Layer> {
    let mut layers = vec![Layer::Curve(points, Ink::Curve, Some("linkage".to_owned()))];
    if let Some(b) = bounds {
        let [low, high] = [b.guaranteed.value * factor, b.never_exceed.value * factor];
        layers.push(Layer::Level(low, Ink::Direct, Some("guaranteed".to_owned())));
        layers.push(Layer::Level(high, Ink::Limit, Some("never exceeded".to_owned())));
    }
    layers
}

fn bounds_in_words(bounds: Option<Bounds>, factor: f64, unit: &str) -> String {
    bounds.map_or_else(
        || "no bound over this stroke".to_owned(),
        |b| {
            format!(
                "at least {} and at most {} {unit} over the stroke",
                three_digits(b.guaranteed.value * factor),
                three_digits(b.never_exceed.value * factor)
            )
        },
    )
}

/// A figure with about three significant digits.
pub(super) fn three_digits(x: f64) -> String {
    match x.abs() {
        size if size >= 100.0 => fixed(x, 0),
        size if size >= 10.0 => fixed(x, 1),
        size if size >= 1.0 => fixed(x, 2),
        _ => crate::units::number(x),
    }
}

/// The rod's force at the motor's peak torque, with what the rod bears.
pub(super) fn rod_force(
    check: &Check,
    rows: &[PoseRow],
    loads: Option<&LoadFindings>,
    size: Point,
) -> Option<Chart> {
    rows.iter().find_map(|r| r.figures.rod_force)?;
    let points = over_joint(rows, |r| r.figures.rod_force.map_or(f64::NAN, f64::abs));
    let critical = loads.and_then(|l| l.loads.buckling).map(|b| b.load);
    let top = largest(&points);
    // A rod that bears many times the force would press the curve flat.
    let shown = critical.filter(|c| *c <= 4.0 * top);
    let mut layers = vec![Layer::Curve(
        points.clone(),
        Ink::Curve,
        Some("pull or thrust in the rod".to_owned()),
    )];
    layers.extend(shown.map(|c| Layer::Level(c, Ink::Limit, Some("the rod buckles".to_owned()))));
    let aside = match (critical, shown) {
        (Some(c), None) => format!(" The rod buckles at {} N, beyond the chart.", fixed(c, 0)),
        (Some(c), Some(_)) => format!(" The rod buckles at {} N.", fixed(c, 0)),
        (None, _) => String::new(),
    };
    Some(Chart {
        title: "Rod force over the stroke".to_owned(),
        description: format!(
            "Force in the rod and on every pin at the motor's peak torque: up to {} N.{aside}",
            fixed(top, 0)
        ),
        size,
        x: stroke_axis(check),
        y: Axis {
            label: "rod force at peak motor torque, N".to_owned(),
            range: range_with_zero(points.iter().map(|p| p[1]).chain(shown)),
        },
        layers,
    })
}

const INERTIAS: [(&str, f64); 3] = [("kg m²", 1.0), ("g m²", 1e3), ("g cm²", 1e7)];

/// The inertia at the joint, carrier fixed, and the direct joint's constant.
pub(super) fn inertia(check: &Check, rows: &[PoseRow], size: Point) -> Option<Chart> {
    rows.iter().find_map(|r| r.figures.inertia)?;
    let mut points = over_joint(rows, |r| r.figures.inertia.unwrap_or(f64::NAN));
    let constant = check.inertia.as_ref().and_then(joint_inertia);
    let (unit, factor) = handy(largest(&points), &INERTIAS);
    scale(&mut points, factor);
    let constant = constant.map(|c| c * factor);
    let [low, high] = range(points.iter().map(|p| p[1]).chain(constant), 0.25);
    // No less than ±5 %, so that a hair does not look like a mountain.
    let middle = 0.5 * (low + high);
    let y = [low.min(0.95 * middle), high.max(1.05 * middle)];
    let mut layers = Vec::new();
    layers.push(Layer::Curve(points, Ink::Curve, Some("linkage".to_owned())));
    layers.extend(constant.map(|c| Layer::Level(c, Ink::Direct, Some("direct joint".to_owned()))));
    Some(Chart {
        title: "Inertia at the joint over the stroke".to_owned(),
        description: format!(
            "Inertia that the joint feels with the carrier held, rotor included; the direct joint has {}.",
            constant.map_or_else(
                || "no constant".to_owned(),
                |c| format!("{} {unit}", three_digits(c))
            )
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: format!("inertia at the joint, {unit}"), range: y },
        layers,
    })
}

fn joint_inertia(found: &InertiaFindings) -> Option<f64> {
    found.replacement.as_ref().ok().map(|r| r.tree.joint_inertia())
}

/// The worst angle error of every build.
pub(super) fn histogram(found: &ToleranceFindings, size: Point) -> Option<Chart> {
    let statistics = found.statistics.as_ref()?;
    let worst = found.worst.iter().find(|w| w.name == "angle").and_then(|w| w.bound);
    let histogram = Histogram {
        title: "Worst angle error of every build".to_owned(),
        description: format!(
            "How the worst angle error over the stroke scatters over {} builds drawn at random; no build is worse than {}, the limit is {}.",
            statistics.samples,
            worst.map_or_else(|| "not known".to_owned(), crate::study::degrees),
            crate::study::degrees(found.limits.angle)
        ),
        label: "worst angle error over the stroke, deg".to_owned(),
        bins: histogram_bins(found),
        limit: found.limits.angle.to_degrees(),
        certified: worst.map(f64::to_degrees),
    };
    Some(histogram.chart(size))
}

/// From and to (deg), and the share of builds in between, per cent.
pub(super) fn histogram_bins(found: &ToleranceFindings) -> Vec<[f64; 3]> {
    let Some(statistics) = &found.statistics else { return Vec::new() };
    let inside = statistics.angle_histogram.get(..32).unwrap_or_default();
    let width = found.histogram_top.to_degrees() / 32.0;
    let all = share_base(statistics.samples).max(1.0);
    let bin = |(k, count): (u32, &u64)| {
        let from = f64::from(k) * width;
        [from, from + width, 100.0 * share_base(*count) / all]
    };
    (0..32).zip(inside).map(bin).collect()
}

#[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
fn share_base(count: u64) -> f64 {
    count as f64
}

/// Which length matters most.
pub(super) fn ranking(found: &ToleranceFindings, width: f64) -> Option<Bars> {
    let any = found.ranking.iter().any(|c| c.share > 0.0);
    let rows = found.ranking.iter().map(|c| {
        let drawn = super::tolerance_text::deviation(found, c.variable);
        (
            format!("{} {drawn}", c.variable.name()),
            c.share,
            format!("{} % of the spread", fixed(100.0 * c.share, 0)),
        )
    });
    let rows: Vec<_> = rows.collect();
    let first = rows.first().map_or(String::new(), |r| format!("{}: {}", r.0, r.2));
    any.then(|| Bars {
        title: "Which length matters most".to_owned(),
        description: format!("Share of the angle error's spread, largest first. {first}."),
        rows,
        width,
    })
}

/// The linkage over its stroke, shown at one row.
pub(super) fn linkage(
    check: &Check,
    rows: &[PoseRow],
    shown: usize,
    room: Point,
) -> LinkagePicture {
    let pins = rows.iter().map(|row| {
        let (p, q) = (row.pose.crank_pin(), row.pose.rocker_pin());
        [[p.x, p.y], [q.x, q.y]]
    });
    LinkagePicture {
        title: "The linkage, to scale".to_owned(),
        description: format!(
            "A four-bar linkage with its joint axis pointing at the reader. Motor axis A at the left and joint axis B at the right on the carrier; crank from A to pin P, coupler from P to pin Q, rocker from B to Q, rigid with the child. {}. The ends of the stroke are dashed, the paths of P and Q dotted.",
            crate::study::lengths(&check.linkage.bars)
        ),
        ground: check.linkage.bars.ground,
        pins: pins.collect(),
        shown,
        room,
    }
}
