//! Mass, centre and tensor of a body: written, or inferred from its shapes.

use nalgebra::{Matrix3, Vector3};

use super::Reading;
use super::body::Parts;
use super::compiler::FromShapes;
use super::geom_mass::Lump;
use super::include::Node;
use crate::robot::properties::Inertial;

impl<'a> Reading<'a> {
    pub(super) fn inertial(&mut self, body: Node<'a>, parts: &Parts<'a>) -> Option<Inertial> {
        let written = parts.inertial.and_then(|node| self.written_inertial(node));
        let infer = match self.compiler.from_shapes {
            FromShapes::Never => false,
            FromShapes::Always => true,
            FromShapes::WhereMissing => parts.inertial.is_none(),
        };
        if infer { self.inferred(body, parts) } else { written }
    }

    fn written_inertial(&mut self, node: Node<'a>) -> Option<Inertial> {
        if node.figures("pos").is_none() {
            let message = "the <inertial> has no pos".to_owned();
            let help = "write pos=\"x y z\", the mass centre in the body's frame, into the tag";
            self.fault_at(node, message, help);
        }
        let place = self.own_placement(node);
        let mass = self.mass(node);
        let principal: Option<[f64; 3]> = self.own_numbers(node, "diaginertia");
        let full: Option<[f64; 6]> = self.own_numbers(node, "fullinertia");
        let [a, b, c] = principal.unwrap_or_default();
        let tensor = full.unwrap_or([a, b, c, 0.0, 0.0, 0.0]);
        Some(Inertial::placed(mass?, &place, tensor))
    }

    fn mass(&mut self, node: Node<'a>) -> Option<f64> {
        let Some(value) = node.own("mass") else {
            self.fault_at(
                node,
                "the <inertial> has no mass".to_owned(),
                "write mass=\"...\" into the tag",
            );
            return None;
        };
        self.faults(value.document).mass(&value.written)
    }

    fn inferred(&mut self, body: Node<'a>, parts: &Parts<'a>) -> Option<Inertial> {
        let mut lumps = Vec::new();
        for geom in &parts.geoms {
            match self.lump(geom) {
                Ok(lump) => lumps.extend(lump),
                Err(unknown) => {
                    self.remark(body, unknown.to_owned());
                    return None;
                }
            }
        }
        (!lumps.is_empty()).then(|| together(&lumps))
    }
}

/// Several lumps as one.
fn together(lumps: &[Lump]) -> Inertial {
    let mass: f64 = lumps.iter().map(|lump| lump.mass).sum();
    let moment: Vector3<f64> = lumps.iter().map(|lump| lump.center * lump.mass).sum();
    let center = if mass > 0.0 { moment / mass } else { Vector3::zeros() };
    let about = |lump: &Lump| {
        let r = lump.center - center;
        lump.tensor + (Matrix3::identity() * r.norm_squared() - r * r.transpose()) * lump.mass
    };
    Inertial::new(mass, center, &lumps.iter().map(about).sum())
}
