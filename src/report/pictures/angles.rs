//! Ratio, angle error and transmission angle over the stroke.

use crate::equivalence::{Basis, Criterion};
use crate::report::drawing::{Axis, Chart, Form, Ink, Layer, Point};
use crate::report::words::ratio_shown;
use crate::study::{Check, Located, PoseRow};
use crate::units::{angle, degrees, fixed, percent};

use super::{NOTHING, certified, over_joint, range, stroke_axis};

/// What a criterion bounds over the stroke, in the chart's unit.
struct Bounded<'a> {
    check: &'a Check,
    rows: &'a [PoseRow],
    criterion: Criterion,
    /// From the criterion's unit to the chart's.
    factor: f64,
    /// What is plotted at a row.
    height: fn(&PoseRow) -> f64,
    /// What the direct joint has.
    direct: Option<f64>,
    /// Where it is worst.
    worst: Option<Located>,
}

impl Bounded<'_> {
    fn points(&self) -> Vec<Point> {
        over_joint(self.rows, self.height)
    }

    /// The accepted limit.
    fn limit(&self) -> f64 {
        self.check.criterion(self.criterion).map_or(0.0, |c| self.factor * c.limit)
    }

    /// Certified band, limits, curve, direct joint and worst pose; `band` gives a bound's edges, `limits` what the
    /// legend calls the first `count` of them.
    fn layers(
        &self,
        band: impl Fn(f64) -> [f64; 2],
        limits: &'static str,
        count: usize,
    ) -> Vec<Layer> {
        let over_tolerance =
            self.check.criteria.iter().any(|c| c.bound_over(Basis::Tolerance).is_some());
        let certified_name = if over_tolerance { "certified, every build" } else { "certified" };
        let bound = certified(self.check, self.criterion).map(|bound| self.factor * bound);
        let bound =
            bound.map(|bound| Layer(Form::Band(band(bound)), Ink::Certified, certified_name));
        let edges = band(self.limit()).into_iter().zip([limits, ""]).take(count);
        let edges = edges.map(|(edge, name)| Layer(Form::Level(edge), Ink::Limit, name));
        let mut layers: Vec<Layer> = bound.into_iter().chain(edges).collect();
        layers.push(Layer(Form::Curve(self.points()), Ink::Curve, "linkage"));
        layers.extend(self.direct.map(|y| Layer(Form::Level(y), Ink::Direct, "direct joint")));
        layers.extend(self.worst_spot());
        layers
    }

    /// A ring at the row nearest to where the figure is worst; one that is next to nothing has no place.
    fn worst_spot(&self) -> Option<Layer> {
        let Located { at_joint, .. } = self.worst.filter(|worst| worst.value > NOTHING)?;
        let row = self.rows.get(super::nearest_row(self.rows, at_joint))?;
        let at = [row.joint_reading.to_degrees(), (self.height)(row)];
        Some(Layer(Form::Spot(at), Ink::Worst, "worst"))
    }
}

fn ratio_in_words(check: &Check, limit: f64) -> String {
    let found = &check.transmission_ratio;
    let runs = found.ends.map_or_else(
        || "has no bound, because the rocker stands still in the stroke".to_owned(),
        |[low, high]| format!("runs from {} to {}", fixed(low, 5), fixed(high, 5)),
    );
    format!(
        "The linkage's ratio of motor rate to joint rate {runs}; the direct joint has {}, accepted within {}.",
        ratio_shown(check.direct_joint.ratio),
        percent(limit)
    )
}

/// The ratio over the stroke with the accepted band and the certified bound.
pub(in crate::report) fn ratio(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let constant = Some(check.direct_joint.ratio).filter(|i| i.is_finite()).unwrap_or(0.0);
    let shown = Bounded {
        check,
        rows,
        criterion: Criterion::Ratio,
        factor: 1.0,
        height: |r| r.pose.transmission_ratio(),
        direct: Some(constant),
        worst: check.transmission_ratio.worst_error,
    };
    let limit = shown.limit();
    let band = |share: f64| [constant * (1.0 - share), constant * (1.0 + share)];
    // Near a dead point the curve leaves for infinity: what is far from the constant is not shown.
    let near = |y: &f64| (y - constant).abs() <= 2.0 * constant.abs();
    let y = range(shown.points().iter().map(|p| p[1]).filter(near).chain(band(limit)), 0.06);
    Chart {
        title: "Transmission ratio over the stroke".to_owned(),
        description: ratio_in_words(check, limit),
        size,
        x: stroke_axis(check),
        y: Axis { label: "transmission ratio i = dφ/dψ".to_owned(), range: y },
        layers: shown.layers(band, "limits", 2),
    }
}

/// The angle error over the stroke with its band.
pub(in crate::report) fn angle_error(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let shown = Bounded {
        check,
        rows,
        criterion: Criterion::Angle,
        factor: 1f64.to_degrees(),
        height: |r| r.angle_error.to_degrees(),
        direct: Some(0.0),
        worst: Some(check.angle_error),
    };
    let limit = shown.limit();
    let y = range(shown.points().iter().map(|p| p[1]).chain([-limit, limit]), 0.06);
    Chart {
        title: "Angle error over the stroke".to_owned(),
        description: format!(
            "Joint angle of the linkage less that of the direct joint: at most {} in size; accepted within {}.",
            degrees(check.angle_error.value),
            degrees(limit.to_radians())
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "angle error, deg".to_owned(), range: y },
        layers: shown.layers(|bound| [-bound, bound], "limits", 2),
    }
}

/// The transmission angle over the stroke with its floor.
pub(in crate::report) fn transmission(check: &Check, rows: &[PoseRow], size: Point) -> Chart {
    let shown = Bounded {
        check,
        rows,
        criterion: Criterion::TransmissionAngle,
        factor: 1f64.to_degrees(),
        height: |r| r.pose.transmission_angle().to_degrees(),
        direct: None,
        worst: Some(check.transmission_angle),
    };
    Chart {
        title: "Transmission angle over the stroke".to_owned(),
        description: format!(
            "Angle between rod and lever: never below {}; the floor is {}.",
            degrees(check.transmission_angle.value),
            angle(shown.limit().to_radians(), 2)
        ),
        size,
        x: stroke_axis(check),
        y: Axis { label: "transmission angle, deg".to_owned(), range: [0.0, 90.0] },
        layers: shown.layers(|bound| [bound, 90.0], "floor", 1),
    }
}
