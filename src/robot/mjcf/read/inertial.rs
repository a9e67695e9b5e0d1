//! Mass, centre and tensor of a body: written, or inferred from its shapes.

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use super::Reading;
use super::body::Parts;
use super::compiler::{Compiler, FromShapes};
use super::geom_mass::Lump;
use super::include::Node;
use crate::robot::properties::Inertial;

/// A body weighs something that is not read.
pub(super) struct Unread;

impl<'a> Reading<'a> {
    pub(super) fn inertial(
        &mut self,
        body: Node<'a>,
        parts: &Parts<'a>,
    ) -> Result<Option<Inertial>, Unread> {
        let written = parts.inertial.and_then(|node| self.written_inertial(node));
        let infer = match self.compiler.from_shapes {
            FromShapes::Never => false,
            FromShapes::Always => true,
            FromShapes::WhereMissing => parts.inertial.is_none(),
        };
        // Where no shape counts, what is written stands.
        let found = if infer { self.inferred(body, parts)?.or(written) } else { written };
        if self.compiler.scales_masses { Err(Unread) } else { Ok(self.bounded(found)) }
    }

    /// As the engine takes it: no lighter and no thinner than the compiler says, and balanced where it is asked to be.
    fn bounded(&self, found: Option<Inertial>) -> Option<Inertial> {
        let Compiler { least_mass, least_moment, balances, .. } = self.compiler;
        let is_bounded = least_mass > 0.0 || least_moment > 0.0;
        let nothing = || Inertial::new(0.0, Vector3::zeros(), &Matrix3::zeros());
        let found = found.or_else(|| is_bounded.then(nothing))?;
        let SymmetricEigen { eigenvectors, eigenvalues } = found.matrix().symmetric_eigen();
        let mut moments = eigenvalues.map(|moment| moment.max(least_moment));
        let sum = moments.sum();
        // A moment that is more than the two others together.
        if balances && sum < 2.0 * moments.max() {
            moments.fill(sum / 3.0);
        }
        let mass = found.mass.max(least_mass);
        if moments == eigenvalues {
            return Some(Inertial { mass, ..found });
        }
        let tensor = eigenvectors * Matrix3::from_diagonal(&moments) * eigenvectors.transpose();
        Some(Inertial::new(mass, Vector3::from(found.center), &tensor))
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

    /// Nothing where no shape has a mass.
    fn inferred(&mut self, body: Node<'a>, parts: &Parts<'a>) -> Result<Option<Inertial>, Unread> {
        let mut lumps = Vec::new();
        for geom in &parts.geoms {
            match self.lump(geom) {
                Ok(lump) => lumps.extend(lump),
                Err(unknown) => {
                    self.remark(body, unknown.to_owned());
                    return Err(Unread);
                }
            }
        }
        Ok((!lumps.is_empty()).then(|| together(&lumps)))
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
