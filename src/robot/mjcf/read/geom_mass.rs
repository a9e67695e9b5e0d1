//! The mass of a shape: of spheres, capsules, cylinders, boxes and ellipsoids, solid and even.

use std::f64::consts::PI;

use nalgebra::{Isometry3, Matrix3, Point3, Translation3, Vector3};

use super::Reading;
use super::body::Part;
use super::defaults::Layers;
use super::orientation::from_z;

/// A mass in its body's frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lump {
    pub(super) mass: f64,
    pub(super) center: Vector3<f64>,
    /// About the centre.
    pub(super) tensor: Matrix3<f64>,
}

/// Water's, kg/m³: the format's default.
const DENSITY: f64 = 1000.0;

const MESH: &str = "mass comes from a mesh, which is not read";
const SHELL: &str = "mass comes from a shell, which is not read";
const TYPES: [&str; 9] =
    ["plane", "hfield", "sphere", "capsule", "ellipsoid", "cylinder", "box", "mesh", "sdf"];

/// A solid along its own axes.
struct Solid {
    volume: f64,
    /// Principal moments per mass, m².
    moments: [f64; 3],
}

impl<'a> Reading<'a> {
    /// Nothing where the shape has no mass; an error says why the mass is not known.
    pub(super) fn lump(&mut self, part: &Part<'a>) -> Result<Option<Lump>, &'static str> {
        let layers = self.layers(part.node, part.class, &["geom"]);
        let group = self.number(&layers, "group").unwrap_or(0.0);
        let [low, high] = self.compiler.groups;
        let mass = self.positive(&layers, "mass");
        let density = self.positive(&layers, "density").unwrap_or(DENSITY);
        let weighs = mass.unwrap_or(density) > 0.0;
        if group < low || group > high || !weighs {
            return Ok(None);
        }
        let kind = layers.value("type").and_then(|value| self.one_of(&value, "type", &TYPES));
        let kind = kind.unwrap_or_else(|| "sphere".to_owned());
        if matches!(kind.as_str(), "mesh" | "sdf") || layers.value("mesh").is_some() {
            return Err(MESH);
        }
        if layers.text("shellinertia").as_deref() == Some("true") {
            return Err(SHELL);
        }
        let (size, place) = self.size_and_place(&layers, &kind);
        let Some(solid) = solid(&kind, size) else { return Ok(None) };
        let mass = mass.unwrap_or(density * solid.volume);
        let place = part.frame * place;
        let turn = place.rotation.to_rotation_matrix();
        let own = Matrix3::from_diagonal(&Vector3::from(solid.moments)) * mass;
        let tensor = turn.matrix() * own * turn.matrix().transpose();
        Ok(Some(Lump { mass, center: place.translation.vector, tensor }))
    }

    fn positive(&mut self, layers: &Layers<'a>, name: &str) -> Option<f64> {
        let value = layers.value(name)?;
        let figure = self.faults(value.document).number(name, &value.written)?;
        if figure < 0.0 {
            let message = format!("a {name} of {figure}");
            self.fault(&value, &message, "it is 0 or more");
        }
        Some(figure)
    }

    /// Half sizes, and where the shape is; its ends may say both.
    pub(super) fn size_and_place(
        &mut self,
        layers: &Layers<'a>,
        kind: &str,
    ) -> ([f64; 3], Isometry3<f64>) {
        let size = self.leading_of(layers, "size", [0.0; 3]);
        let ends: Option<[f64; 6]> = self.numbers(layers, "fromto");
        let Some([a, b, c, d, e, f]) = ends else { return (size, self.placement(layers)) };
        let (from, to) = (Point3::new(a, b, c), Point3::new(d, e, f));
        let along = from - to;
        let half = along.norm() / 2.0;
        let turn = if half > 0.0 { from_z(along / (2.0 * half)) } else { Default::default() };
        let [radius, ..] = size;
        let size = if matches!(kind, "box" | "ellipsoid") {
            [radius, radius, half]
        } else {
            [radius, half, 0.0]
        };
        let middle = nalgebra::center(&from, &to);
        (size, Isometry3::from_parts(Translation3::from(middle.coords), turn))
    }
}

fn solid(kind: &str, size: [f64; 3]) -> Option<Solid> {
    let [a, b, c] = size;
    let solid = match kind {
        "sphere" => ellipsoid([a, a, a]),
        "ellipsoid" => ellipsoid(size),
        "box" => {
            Solid { volume: 8.0 * a * b * c, moments: squares(size).map(|square| square / 3.0) }
        }
        "cylinder" => {
            let across = a * a / 4.0 + b * b / 3.0;
            Solid { volume: 2.0 * PI * a * a * b, moments: [across, across, a * a / 2.0] }
        }
        "capsule" => capsule(a, b),
        _ => return None,
    };
    (solid.volume > 0.0).then_some(solid)
}

fn ellipsoid(size: [f64; 3]) -> Solid {
    let [a, b, c] = size;
    Solid { volume: 4.0 / 3.0 * PI * a * b * c, moments: squares(size).map(|square| square / 5.0) }
}

/// y² + z², x² + z², x² + y².
fn squares([x, y, z]: [f64; 3]) -> [f64; 3] {
    [y * y + z * z, x * x + z * z, x * x + y * y]
}

/// A cylinder of this radius and half length with half a ball at each end: a half ball's own mass centre is 3/8 of the
/// radius from its flat side, and its moment about a diameter there is (2/5 − 9/64) m r².
fn capsule(radius: f64, half: f64) -> Solid {
    let square = radius * radius;
    let barrel = 2.0 * PI * square * half;
    let ball = 4.0 / 3.0 * PI * square * radius;
    let volume = barrel + ball;
    let out = half + 3.0 / 8.0 * radius;
    let across = barrel * (square / 4.0 + half * half / 3.0)
        + ball * ((2.0 / 5.0 - 9.0 / 64.0) * square + out * out);
    let along = barrel * square / 2.0 + ball * 2.0 / 5.0 * square;
    Solid { volume, moments: [across / volume, across / volume, along / volume] }
}
