//! How far a body's shapes reach, and which of them touch.

use nalgebra::{Isometry3, Vector3};

use super::Reading;
use super::body::Part;
use super::defaults::Layers;
use crate::robot::model::{BoundingBox, LinkShape};

impl<'a> Reading<'a> {
    /// A geom with the box around it.
    pub(super) fn shape(&mut self, part: &Part<'a>) -> LinkShape {
        let layers = self.layers(part.node, part.class, &["geom"]);
        let mask = |layers: &Layers<'a>, name: &str| {
            layers.text(name).is_none_or(|text| text.trim() != "0")
        };
        let touches = mask(&layers, "contype") || mask(&layers, "conaffinity");
        let bounds = self.bounds(&layers).map(|(half, place)| BoundingBox {
            pose: part.frame * place,
            half: Vector3::from(half),
        });
        let (name, place) = (part.node.text("name"), part.node.place());
        LinkShape { place, name, touches, bounds }
    }

    /// Half sides and place of the box around a geom; `None` for a mesh and what is made from one.
    fn bounds(&mut self, layers: &Layers<'a>) -> Option<([f64; 3], Isometry3<f64>)> {
        let kind = layers.text("type").unwrap_or_else(|| "sphere".to_owned());
        if layers.value("mesh").is_some() {
            return None;
        }
        let ([a, b, c], place) = match kind.as_str() {
            "plane" => ([f64::INFINITY; 3], Isometry3::identity()),
            "sphere" | "capsule" | "ellipsoid" | "cylinder" | "box" => {
                self.size_and_place(layers, &kind)
            }
            _ => return None,
        };
        let half = match kind.as_str() {
            "sphere" => [a, a, a],
            "capsule" => [a, a, a + b],
            "cylinder" => [a, a, b],
            _ => [a, b, c],
        };
        Some((half, place))
    }
}
