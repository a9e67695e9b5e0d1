//! `[pivots]`: the pins as read from CAD in the zero pose.

use super::entry::{Entry, all};
use super::lengths::{LONGEST, SHORTEST};
use super::model::{AxisPoints, JointPlace, SpatialPivots};
use super::pin_plane;
use super::section::Section;
use super::sense::Sense;
use crate::diagnostic::Code;
use crate::units::UnitKind;
use nalgebra::Vector3;

/// The linkage that the pins make.
#[derive(Debug)]
pub(super) struct Pinned {
    /// Ground, crank, coupler, rocker, m.
    pub(super) lengths: [f64; 4],
    /// φ₀, rad.
    pub(super) crank: f64,
    /// ψ₀, rad.
    pub(super) rocker: f64,
    /// What rounding of the coordinates may have done to each length, m.
    pub(super) rounding: f64,
    /// The linkage's axes in those that the pins are written in.
    pub(super) drawing_frame: [[f64; 3]; 3],
    /// The pins in the carrier's frame, where they have three coordinates.
    pub(super) spatial: Option<SpatialPivots>,
}

const KEYS: [&str; 4] = ["motor", "joint", "crank", "rocker"];

/// A pin as written.
struct Point<'a> {
    entry: Entry<'a>,
    at: Vector3<f64>,
    is_spatial: bool,
}

/// `[pivots]`.
pub(super) fn read(
    root: &Section<'_>,
    table: &Section<'_>,
    points_to: AxisPoints,
) -> Option<Pinned> {
    let axis_entry = table.get("axis");
    let axis = axis_entry.as_ref().map(Entry::direction);
    let points =
        KEYS.map(|key| point(&table.required(key, &format!("{key} = [\"0 mm\", \"0 mm\"]"))?));
    let [Some(motor), Some(joint), Some(crank), Some(rocker)] = points else {
        return None;
    };
    let points = [motor, joint, crank, rocker];
    match points.iter().filter(|point| point.is_spatial).count() {
        0 => plane(axis_entry.as_ref(), &points, Sense::new(points_to)),
        4 => spatial((root, table), points_to, axis, &points),
        _ => {
            let help = "give all four pins two coordinates, or all four three and an axis";
            table.fault("the pins have two and three coordinates", "not all alike", help);
            None
        }
    }
}

fn point<'a>(entry: &Entry<'a>) -> Option<Point<'a>> {
    let items = entry.items()?;
    let at: Vec<Option<f64>> = items.iter().map(|item| item.quantity(UnitKind::Length)).collect();
    let (x, y, z) = match at[..] {
        [x, y] => (x?, y?, 0.0),
        [x, y, z] => (x?, y?, z?),
        _ => {
            let help = "write [\"0 mm\", \"-300 mm\"], or three coordinates and an axis";
            entry.fault("is no point", &format!("coordinates given: {}", at.len()), help);
            return None;
        }
    };
    let far = [x, y, z].iter().any(|one| one.abs() > LONGEST);
    if far {
        entry.fault(
            "is further than 1000 km away",
            "not a pin",
            "is the unit the one that was meant?",
        );
        return None;
    }
    Some(Point { entry: entry.clone(), at: Vector3::new(x, y, z), is_spatial: at.len() == 3 })
}

fn plane(axis: Option<&Entry<'_>>, points: &[Point<'_>; 4], sense: Sense) -> Option<Pinned> {
    if let Some(axis) = axis {
        let help = "give the pins three coordinates, or take `axis` out and use axis_points";
        axis.fault("stands beside pins with two coordinates", "needs three coordinates", help);
        return None;
    }
    let at = points.each_ref().map(|point| Vector3::new(point.at.x, sense.angle(point.at.y), 0.0));
    let pinned = pinned(points, &at, &Vector3::z())?;
    let drawing_frame = pinned.drawing_frame.map(|[x, y, z]| [x, sense.angle(y), z]);
    let [x, y, _] = drawing_frame;
    Some(Pinned { drawing_frame: [x, y, [0.0, 0.0, sense.angle(1.0)]], ..pinned })
}

fn spatial(
    (root, table): (&Section<'_>, &Section<'_>),
    points_to: AxisPoints,
    axis: Option<Option<[f64; 3]>>,
    points: &[Point<'_>; 4],
) -> Option<Pinned> {
    if points_to == AxisPoints::Away
        && let Some(entry) = root.get("axis_points")
    {
        let help =
            "take this line out: with three coordinates `[pivots] axis` says where the axis points";
        entry.fault("has no meaning here", "no drawing view is involved", help);
    }
    if axis.is_none() {
        let help =
            "pins with three coordinates need the joint axis: add the line: axis = [0, 1, 0]";
        table.missing("axis", help);
    }
    let axis = axis??;
    let unit = Vector3::from(axis);
    let at = points.each_ref().map(|point| point.at);
    let [motor, joint, crank, rocker] = at;
    if sees_two_as_one(&at, &unit) {
        refuse_axis(table, &at);
        return None;
    }
    let flat = pinned(points, &at, &unit)?;
    let along = |pin: Vector3<f64>| (pin - joint).dot(&unit);
    let axial_offsets = [along(motor), along(crank), along(rocker)];
    let [motor, joint, crank, rocker] = [motor, joint, crank, rocker].map(Into::into);
    Some(Pinned {
        spatial: Some(SpatialPivots { axis, motor, joint, crank, rocker, axial_offsets }),
        ..flat
    })
}

/// Whether pins of one bar that stand apart coincide when seen along the axis.
fn sees_two_as_one(at: &[Vector3<f64>; 4], axis: &Vector3<f64>) -> bool {
    let [motor, joint, crank, rocker] = *at;
    let bars = [joint - motor, crank - motor, rocker - crank, rocker - joint];
    bars.iter().any(|bar| bar.norm() >= SHORTEST && across(*bar, axis).norm() < SHORTEST)
}

fn refuse_axis(table: &Section<'_>, at: &[Vector3<f64>; 4]) {
    let Some(entry) = table.get("axis") else { return };
    let help = match pin_plane::normal(at) {
        Some(normal) => format!(
            "the four pins lie in the plane across axis = {}, or the same with all signs turned: the joint turns about that",
            SpatialPivots::written(&normal.into())
        ),
        None => "write the direction of the joint axis in the frame of the pins".to_owned(),
    };
    let label = "seen along it, two pins of one bar are one point";
    entry.coded(Code::AxisDoesNotFit, "does not fit the pins", label, help);
}

impl SpatialPivots {
    /// The joint among them.
    #[must_use]
    pub fn joint_place(&self) -> JointPlace {
        JointPlace { axis: self.axis, joint: self.joint }
    }

    /// See [`JointPlace::mirror_normal`].
    #[must_use]
    pub fn mirror_normal(&self, origin: [f64; 3], axis: [f64; 3]) -> Option<[f64; 3]> {
        self.joint_place().mirror_normal(origin, axis)
    }
}

impl JointPlace {
    /// The unit normal of the plane through the frame's origin that mirrors the drawn joint into one at `origin` (m) with the
    /// unit vector `axis`; `None` where the two points name no such plane, or where it does not take the drawn axis to
    /// `axis`: then only the motor's place says where the mirror image stands.
    #[must_use]
    pub fn mirror_normal(&self, origin: [f64; 3], axis: [f64; 3]) -> Option<[f64; 3]> {
        let (there, here) = (Vector3::from(origin), Vector3::from(self.joint));
        let apart = there - here;
        if apart.norm() < OFF_CENTRE {
            return None;
        }
        let normal = apart.normalize();
        let off_centre = (0.5 * (there + here)).dot(&normal).abs();
        let drawn = Vector3::from(self.axis);
        let image = drawn - normal * (2.0 * normal.dot(&drawn));
        let is_mirror = off_centre <= OFF_CENTRE && (image - Vector3::from(axis)).norm() <= TURNED;
        is_mirror.then(|| normal.into())
    }
}

/// A mirror plane passes through the frame's origin within this, m: a hundredth of a millimetre, what CAD rounds.
const OFF_CENTRE: f64 = 1e-5;

/// It takes the drawn axis to the joint's within this, rad: the rounding of figures from CAD.
const TURNED: f64 = 1e-3;

/// The linkage in the plane across the unit vector `axis`.
fn pinned(points: &[Point<'_>; 4], at: &[Vector3<f64>; 4], axis: &Vector3<f64>) -> Option<Pinned> {
    let [motor, joint, crank, rocker] = *at;
    let [a, b, p, q] = points;
    let ground = across(joint - motor, axis);
    let (arm, rod, lever) =
        (across(crank - motor, axis), across(rocker - crank, axis), across(rocker - joint, axis));
    let lengths =
        all([link(a, b, &ground), link(a, p, &arm), link(p, q, &rod), link(b, q, &lever)])?;
    let angle = |to: &Vector3<f64>| libm::atan2(axis.dot(&ground.cross(to)), ground.dot(to));
    let furthest = at.iter().fold(0.0_f64, |most, pin| most.max(pin.amax()));
    let rounding = 16.0 * f64::EPSILON * furthest;
    let x = ground.normalize();
    let drawing_frame = [x, axis.cross(&x), *axis].map(Into::into);
    let (crank, rocker) = (angle(&arm), angle(&lever));
    Some(Pinned { lengths, crank, rocker, rounding, drawing_frame, spatial: None })
}

/// The part of a vector across the axis.
fn across(vector: Vector3<f64>, axis: &Vector3<f64>) -> Vector3<f64> {
    vector - axis * vector.dot(axis)
}

/// The distance of two pins; a fault where they are the same.
fn link(from: &Point<'_>, to: &Point<'_>, apart: &Vector3<f64>) -> Option<f64> {
    let length = libm::hypot(libm::hypot(apart.x, apart.y), apart.z);
    if length < SHORTEST {
        let label = format!("the same place as `{}`", from.entry.name);
        let help = "two pins of one link stand apart; seen along the axis where there is one";
        to.entry.fault("coincides with another pin", &label, help);
        return None;
    }
    Some(length)
}
