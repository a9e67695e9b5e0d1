//! What a body of a ring bears besides its two pins: is it more than a bar?

use nalgebra::{
    Isometry3, Point3, Rotation3, SymmetricEigen, Translation3, UnitQuaternion, Vector3,
};

use super::cycles::Bodies;
use super::drives::line;
use super::pins::LoopPin;
use super::ring::Ring;
use crate::robot::{BoundingBox, FileLink, Inertial, LinkId, LinkShape, Robot};

/// A bar stays within so many of its own diameters of the line between its pins, ...
const DIAMETERS: f64 = 2.0;

/// ... and within this share of that line's length.
const SHARE: f64 = 0.75;

/// What a body bears, the first that was met of each strength, as clauses.
#[derive(Clone, Debug, Default)]
pub(super) struct Bearing {
    /// It touches things, bears joints, links or sensors.
    pub(super) strong: Option<String>,
    /// It is drawn as more than a bar.
    pub(super) weak: Option<String>,
    /// kg.
    pub(super) mass: f64,
}

/// Of body `k` of a ring, which hangs between pins `k − 1` and `k`.
pub(super) fn bearing(robot: &Robot, bodies: &Bodies, ring: &Ring, k: usize) -> Bearing {
    let Some(bar) = Bar::between(&ring.pins, k) else { return Bearing::default() };
    let Some(body) = ring.bodies.get(k).copied() else { return Bearing::default() };
    let spare = ring.spare.get(k).copied().unwrap_or(0);
    let further = (spare > 0).then(|| "it bears further joints".to_owned());
    let mut found = Bearing { strong: further, ..Bearing::default() };
    for member in ring.members(k, body).flat_map(|body| bodies.links(body)) {
        let Some(link) = robot.links.get(member) else { continue };
        found.mass += link.inertial.map_or(0.0, |inertial| inertial.mass);
        found.strong = found.strong.or_else(|| touching(robot, link, &bar));
        found.strong = found.strong.or_else(|| fitted(robot, link));
        found.strong = found.strong.or_else(|| welded(robot, ring, k, member));
        found.weak = found.weak.or_else(|| seen(robot, link, &bar));
    }
    found
}

fn shape_called(robot: &Robot, link: &FileLink, shape: &LinkShape) -> String {
    let at = line(robot, shape.place);
    if shape.name.is_empty() {
        format!("a shape of {:?} ({at})", link.name)
    } else {
        format!("{:?} ({at})", shape.name)
    }
}

fn touching(robot: &Robot, link: &FileLink, bar: &Bar) -> Option<String> {
    let is_more = |shape: &&LinkShape| shape.touches && bar.is_more(link, shape) != Some(false);
    let shape = link.shapes.iter().find(is_more)?;
    Some(format!("it touches things with {}", shape_called(robot, link, shape)))
}

fn seen(robot: &Robot, link: &FileLink, bar: &Bar) -> Option<String> {
    let is_more = |shape: &&LinkShape| !shape.touches && bar.is_more(link, shape) == Some(true);
    let shape = link.shapes.iter().find(is_more)?;
    Some(format!("{} is more than a bar", shape_called(robot, link, shape)))
}

fn fitted(robot: &Robot, link: &FileLink) -> Option<String> {
    let fitting = link.fittings.first()?;
    Some(format!("it bears {} ({})", fitting.what, line(robot, fitting.place)))
}

/// A link that is welded on and weighs something: not one that the pins themselves name.
fn welded(robot: &Robot, ring: &Ring, k: usize, member: LinkId) -> Option<String> {
    let pins = [ring.pins.get(k.checked_sub(1)?)?, ring.pins.get(k)?];
    let is_named = pins.iter().any(|pin| pin.links.contains(&member));
    let link = robot.links.get(member).filter(|_| !is_named)?;
    let weighs = link.inertial.is_some_and(|inertial| inertial.mass > 0.0);
    weighs.then(|| format!("{:?} is welded to it ({})", link.name, line(robot, link.place)))
}

/// Whether a shape of crank (1) or coupler (2) between a four-bar's pins reaches further than a bar between its own two pins; `None` where that
/// cannot be told.
pub(crate) fn is_more_than_bar(
    pins: &[LoopPin],
    part: usize,
    link: &FileLink,
    shape: &LinkShape,
) -> Option<bool> {
    Bar::between(pins, part)?.is_more(link, shape)
}

/// The line between a body's two pins, seen along the axis.
struct Bar {
    ends: [Point3<f64>; 2],
    axis: Vector3<f64>,
}

impl Bar {
    /// Of the body between pins `k − 1` and `k`.
    fn between(pins: &[LoopPin], k: usize) -> Option<Self> {
        let (before, behind) = (pins.get(k.checked_sub(1)?)?, pins.get(k)?);
        let axis = pins.iter().find_map(|pin| pin.axis)?;
        Some(Self { ends: [before.points[1], behind.points[0]], axis })
    }

    fn flat(&self, v: Vector3<f64>) -> Vector3<f64> {
        v - self.axis * self.axis.dot(&v)
    }

    /// Whether a shape reaches further than a bar between the pins does. Of a shape that is not read the body's own mass
    /// and tensor tell; `None` where there are none.
    fn is_more(&self, link: &FileLink, shape: &LinkShape) -> Option<bool> {
        let bounds = shape.bounds.or_else(|| link.inertial.as_ref().and_then(even_box))?;
        let mut sides: [f64; 3] = (bounds.half * 2.0).into();
        sides.sort_by(f64::total_cmp);
        let [_, diameter, _] = sides;
        let length = self.flat(self.ends[1] - self.ends[0]).norm();
        let allowed = (DIAMETERS * diameter).min(SHARE * length);
        let reach = corners(&bounds).map(|corner| self.distance(link.pose * corner));
        Some(reach.into_iter().any(|distance| distance.is_nan() || distance > allowed))
    }

    /// Distance of a point from the line between the pins, seen along the axis, m.
    fn distance(&self, point: Point3<f64>) -> f64 {
        let (along, to) = (self.flat(self.ends[1] - self.ends[0]), self.flat(point - self.ends[0]));
        let share = (to.dot(&along) / along.norm_squared()).clamp(0.0, 1.0);
        (to - along * if share.is_nan() { 0.0 } else { share }).norm()
    }
}

pub(super) fn corners(bounds: &BoundingBox) -> [Point3<f64>; 8] {
    let signs = [0_u8, 1, 2, 3, 4, 5, 6, 7];
    signs.map(|bits| {
        let side = |bit: u8| if bits & bit == 0 { -1.0 } else { 1.0 };
        let at = Vector3::new(side(1), side(2), side(4)).component_mul(&bounds.half);
        bounds.pose * Point3::from(at)
    })
}

/// The even box with the mass and tensor of a body: half side² along an axis is 3/(2 m) of the two other moments less its
/// own (a box has I_x = m (b² + c²)/3 for half sides a, b, c).
fn even_box(inertial: &Inertial) -> Option<BoundingBox> {
    let tensor = inertial.matrix();
    if inertial.mass <= 0.0 || !tensor.iter().all(|entry| entry.is_finite()) {
        return None;
    }
    let SymmetricEigen { eigenvectors, eigenvalues } = SymmetricEigen::new(tensor);
    let sum = eigenvalues.sum();
    let half = eigenvalues.map(|own| {
        let square = 1.5 / inertial.mass * (sum - 2.0 * own);
        square.max(0.0).sqrt()
    });
    // A box looks the same in a mirror: of the two senses of an axis the one that makes the three right-handed.
    let mut axes = eigenvectors;
    if axes.determinant() < 0.0 {
        axes.column_mut(2).neg_mut();
    }
    let turn = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(axes));
    let place = Translation3::from(Vector3::from(inertial.center));
    Some(BoundingBox { pose: Isometry3::from_parts(place, turn), half })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_even_box_of_a_box_is_the_box() {
        // half sides 0.1, 0.02, 0.03, 2 kg: I_x = m (b² + c²)/3
        let tensor = [2.0 * 0.0013 / 3.0, 2.0 * 0.0109 / 3.0, 2.0 * 0.0104 / 3.0, 0.0, 0.0, 0.0];
        let found = even_box(&Inertial { mass: 2.0, center: [0.0; 3], tensor }).unwrap();
        let mut half: [f64; 3] = found.half.into();
        half.sort_by(f64::total_cmp);
        for (side, wanted) in half.into_iter().zip([0.02, 0.03, 0.1]) {
            assert!((side - wanted).abs() < 1e-12, "{half:?}");
        }
    }

    #[test]
    fn the_axes_of_an_even_box_are_a_turn_whatever_order_its_moments_come_in() {
        for [x, y, z] in [[1.0, 2.0, 2.5], [2.5, 1.0, 2.0], [2.0, 2.5, 1.0], [2.5, 2.0, 1.0]] {
            let tensor = [x, y, z, 0.1, -0.2, 0.05];
            let found = even_box(&Inertial { mass: 2.0, center: [0.0; 3], tensor }).unwrap();
            let axes = found.pose.rotation.to_rotation_matrix();
            let squares = found.half.map(|half| half * half);
            // of a box: I = m/3 (sum of all half sides² − each along its own axis)
            let own =
                nalgebra::Matrix3::from_diagonal(&squares.map(|s| squares.sum() - s)) * (2.0 / 3.0);
            let back = axes.matrix() * own * axes.matrix().transpose();
            assert!((back.m11 - x).abs() < 1e-9 && (back.m13 + 0.2).abs() < 1e-9, "{back}");
        }
    }
}
