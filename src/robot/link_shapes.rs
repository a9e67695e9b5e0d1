//! Shapes of a link in URDF and SDFormat: how far they reach. What is faulty in them is not read, and no fault: nothing
//! else depends on it.

use nalgebra::{Isometry3, Vector3};

use super::document::Element;
use super::model::{BoundingBox, LinkShape};
use super::place::Place;

/// A figure of a shape: URDF's attribute or SDFormat's child.
fn text(shape: Element<'_>, name: &str) -> Option<String> {
    let attribute = shape.value(name).map(std::borrow::Cow::into_owned);
    attribute.or_else(|| shape.child(name).map(|child| child.text().into_owned()))
}

fn number(shape: Element<'_>, name: &str) -> Option<f64> {
    text(shape, name)?.trim().parse::<f64>().ok().filter(|figure| figure.is_finite())
}

fn three(shape: Element<'_>, name: &str) -> Option<[f64; 3]> {
    let text = text(shape, name)?;
    let figures: Option<Vec<f64>> = text.split_whitespace().map(|word| word.parse().ok()).collect();
    <[f64; 3]>::try_from(figures?).ok()
}

/// Half sides of the box around it; `None` for a mesh and what else is not read.
fn half(geometry: Element<'_>) -> Option<[f64; 3]> {
    let shape = geometry.children().next()?;
    match shape.name() {
        "box" => three(shape, "size").map(|size| size.map(|side| side / 2.0)),
        "sphere" => number(shape, "radius").map(|radius| [radius; 3]),
        "cylinder" => Some([
            number(shape, "radius")?,
            number(shape, "radius")?,
            number(shape, "length")? / 2.0,
        ]),
        "capsule" => {
            let radius = number(shape, "radius")?;
            Some([radius, radius, radius + number(shape, "length")? / 2.0])
        }
        "ellipsoid" => three(shape, "radii"),
        "plane" => Some([f64::INFINITY; 3]),
        _ => None,
    }
}

/// The collision shapes and those to be seen; `pose` gives where one stands in the link's frame.
pub(super) fn shapes(
    link: Element<'_>,
    mut pose: impl FnMut(Element<'_>) -> Isometry3<f64>,
) -> Vec<LinkShape> {
    let shapes = link.children().filter(|one| matches!(one.name(), "collision" | "visual"));
    let shape = |one: Element<'_>| {
        let bounds = one
            .child("geometry")
            .and_then(half)
            .map(|half| BoundingBox { pose: pose(one), half: Vector3::from(half) });
        LinkShape {
            place: Place::from(one),
            name: one.value("name").unwrap_or_default().into_owned(),
            touches: one.name() == "collision",
            bounds,
        }
    };
    shapes.map(shape).collect()
}
