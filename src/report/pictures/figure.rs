//! A figure over the stroke, whatever the drive, and how it becomes a chart.

use crate::report::drawing::{Axis, Chart, Form, Ink, Layer, Point};
use crate::report::stroke_tables::OneJointRow;
use crate::study::{Check, Located};

use super::{CHART, NOTHING, nearest_row, range};

const JOINT: &str = "joint angle from the zero pose, deg";

const JOINT_READING: &str = "joint reading, deg";

const MOTOR: &str = "motor angle from the zero pose, deg";

const MOTOR_READING: &str = "motor reading, deg";

/// What a figure of every pose comes to over the joint angle, or over the motor angle for a pad on the coupler.
pub(super) struct Figure {
    /// The name of its picture, in ids.
    name: &'static str,
    /// Reading (deg) and figure at every pose; not a number where it is not known.
    pub(super) points: Vec<Point>,
    /// A figure in words.
    shown: fn(f64) -> String,
}

impl Figure {
    /// `None` where no pose has it.
    pub(super) fn of<R: OneJointRow>(
        name: &'static str,
        rows: &[R],
        shown: fn(f64) -> String,
        height: impl Fn(&R) -> Option<f64>,
    ) -> Option<Self> {
        rows.iter().find_map(&height)?;
        let point = |row: &R| {
            let [motor, joint] = row.readings();
            let reading = if row.pad().is_some() { motor } else { joint };
            [reading.to_degrees(), height(row).unwrap_or(f64::NAN)]
        };
        Some(Self { name, points: rows.iter().map(point).collect(), shown })
    }

    /// In another unit.
    pub(super) fn times(mut self, factor: f64) -> Self {
        self.points.iter_mut().for_each(|[_, height]| *height *= factor);
        self
    }

    pub(super) fn heights(&self) -> impl Iterator<Item = f64> {
        self.points.iter().map(|point| point[1])
    }

    /// The largest in size.
    pub(super) fn largest(&self) -> f64 {
        self.heights().map(f64::abs).filter(|y| y.is_finite()).fold(0.0, f64::max)
    }

    /// The linkage's curve, or the drive's.
    pub(super) fn curve(&self, check: &Check) -> Layer {
        let who = if check.linkage.is_some() { "linkage" } else { "drive" };
        Layer(Form::Curve(self.points.clone()), Ink::Curve, who.into())
    }

    /// The accepted limits, the drive, and what stands in.
    pub(super) fn between(
        &self,
        check: &Check,
        [low, high]: [f64; 2],
        (direct, name): (f64, &'static str),
    ) -> [Layer; 4] {
        [
            Layer(Form::Level(low), Ink::Limit, "limits".into()),
            Layer(Form::Level(high), Ink::Limit, "".into()),
            self.curve(check),
            Layer(Form::Level(direct), Ink::Direct, name.into()),
        ]
    }

    /// A ring at the row nearest to where the figure is worst; one that is next to nothing has no place.
    pub(super) fn worst_spot<R: OneJointRow>(&self, rows: &[R], worst: &Located) -> Option<Layer> {
        let point = self.points.get(nearest_row(rows, worst.at_joint));
        let point = point.filter(|_| worst.value > NOTHING)?;
        Some(Layer(Form::Spot(*point), Ink::Worst, "worst".into()))
    }

    /// The chart, under a title and what goes up in it.
    pub(super) fn plot(
        self,
        check: &Check,
        [title, label]: [&str; 2],
        description: String,
        range: [f64; 2],
        layers: Vec<Layer>,
    ) -> Plot {
        let (readings, stroke) = (&check.readings, &check.stroke);
        let (along, over) = match (check.is_of_pad(), readings.are_turns()) {
            (false, true) => (JOINT, readings.joint_range(stroke.joint)),
            (false, false) => (JOINT_READING, readings.joint_range(stroke.joint)),
            (true, true) => (MOTOR, readings.motor_range(stroke.motor)),
            (true, false) => (MOTOR_READING, readings.motor_range(stroke.motor)),
        };
        let chart = Chart {
            title: title.to_owned(),
            description,
            size: CHART,
            x: Axis { label: along.to_owned(), range: over.map(f64::to_degrees) },
            y: Axis { label: label.to_owned(), range },
            layers,
        };
        Plot { name: self.name, points: self.points, shown: self.shown, chart }
    }
}

/// A curve that varies by no more than this share of its chart's height is a level line.
const LEVEL: f64 = 0.005;

/// A curve over the stroke and its chart.
#[derive(Clone, Debug)]
pub(in crate::report) struct Plot {
    /// The name of its picture, in ids.
    pub(in crate::report) name: &'static str,
    /// Reading (deg) and figure of every pose.
    pub(in crate::report) points: Vec<Point>,
    /// The figure where it is written.
    pub(in crate::report) shown: fn(f64) -> String,
    pub(in crate::report) chart: Chart,
}

impl Plot {
    /// Is there a curve to see?
    pub(in crate::report) fn varies(&self) -> bool {
        self.constant().is_none()
    }

    /// The figure in words where it is the same in every pose as it is printed, or its curve a level line to the eye.
    pub(in crate::report) fn constant(&self) -> Option<String> {
        self.points.first()?;
        let [low, high] =
            self.points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], point| {
                [low.min(point[1]), high.max(point[1])]
            });
        let [bottom, top] = self.chart.y.range;
        let is_level = self.points.iter().all(|point| point[1].is_finite())
            && high - low <= LEVEL * (top - bottom);
        let [from, to] = [low, high].map(self.shown);
        let is_same = self.points.iter().all(|point| (self.shown)(point[1]) == from);
        let told = if is_same {
            // What is nothing has no decimals.
            let is_nothing = from.parse::<f64>().is_ok_and(|figure| figure.abs() <= 0.0);
            [if is_nothing { "0" } else { from.as_str() }, "in every pose"].map(str::to_owned)
        } else if is_level {
            [format!("{from} to {to}"), "over the stroke".to_owned()]
        } else {
            return None;
        };
        let label = &self.chart.y.label;
        let (what, unit) = label.rsplit_once(", ").unwrap_or((label, ""));
        let [figure, over] = told;
        Some(format!("{what}: {figure} {unit}").trim_end().to_owned() + " " + &over)
    }

    /// Where every pose lies in the picture, px, by its name.
    pub(in crate::report) fn dots(&self) -> (&'static str, Vec<Point>) {
        let frame = self.chart.frame();
        (self.name, self.points.iter().map(|point| frame.held(*point)).collect())
    }
}

/// From zero on to whatever the figures reach, on both sides of it where they have both signs.
pub(super) fn range_with_zero(figures: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let [low, high] = range(figures.into_iter().chain([0.0]), 0.08);
    [
        if low > -0.2 * high { low.max(0.0) } else { low },
        if high < -0.2 * low { high.min(0.0) } else { high },
    ]
}
