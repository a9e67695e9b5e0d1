//! The patch list: what to add to whose own bodies, so that the linkage's parts are in the model.

use super::stand_in::{Draws, Request};
use serde::Serialize;

use super::stand_in::bodies::Bodies;
use crate::design::RobotJoint;
use crate::dynamics::Moments;
use crate::robot::tensor_entries;

/// The two ways to give the rotor's inertia to the joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ArmatureJson {
    /// With the bodies' own inertias changed along with it.
    pub split: Option<f64>,
    /// n²J, the bodies left as they are.
    pub plain: Option<f64>,
}

/// What to add to the two links.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PatchJson {
    /// The file's own bodies have it already.
    pub is_in_file: bool,
    /// To the parent link.
    pub carrier: AdditionJson,
    /// To the child link.
    pub child: AdditionJson,
    /// The joint's armature that belongs to it; `null` where the crank is a body and has it.
    pub armature_kg_m2: Option<f64>,
}

/// To be added to one link, in its own frame. A mass of 0 with a first moment is right: what is added is no body.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AdditionJson {
    /// The link.
    pub link: String,
    /// Mass.
    pub mass_kg: f64,
    /// Mass × centre.
    pub first_moment_kg_m: [f64; 3],
    /// xx, yy, zz, xy, xz, yz about the origin of the link's frame, as entries of the tensor.
    pub inertia_about_origin_kg_m2: [f64; 6],
}

impl AdditionJson {
    pub(super) fn of(link: &str, moments: &Moments) -> Self {
        Self {
            link: link.to_owned(),
            mass_kg: clean(moments.mass),
            first_moment_kg_m: <[f64; 3]>::from(moments.first).map(clean),
            inertia_about_origin_kg_m2: tensor_entries(&moments.inertia).map(clean),
        }
    }

    fn words(&self) -> String {
        let rounded =
            |values: &[f64]| values.iter().map(|x| short(*x)).collect::<Vec<_>>().join(" ");
        format!(
            "* to \"{}\": mass {} kg, first moment {} kg m, inertia about the frame's origin (xx yy zz xy xz yz) {} kg m^2",
            self.link,
            short(self.mass_kg),
            rounded(&self.first_moment_kg_m),
            rounded(&self.inertia_about_origin_kg_m2)
        )
    }
}

/// Rounding of the sums is no figure: less than a microgram, a microgram metre, a microgram square metre.
fn clean(x: f64) -> f64 {
    if x.abs() < 1e-12 { 0.0 } else { x }
}

/// Six figures; all of them stand in the JSON.
fn short(x: f64) -> String {
    if x == 0.0 {
        return "0".to_owned();
    }
    let text = format!("{x:.5e}");
    let (digits, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let digits = digits.trim_end_matches('0').trim_end_matches('.');
    if exponent == "0" { digits.to_owned() } else { format!("{digits}e{exponent}") }
}

/// The patch of one joint.
pub(super) fn patch<G: Draws>(
    request: &Request<'_, G>,
    robot: &RobotJoint,
    bodies: &Bodies,
) -> PatchJson {
    PatchJson {
        is_in_file: request.ask.whole,
        carrier: AdditionJson::of(&robot.parent, &bodies.carrier),
        child: AdditionJson::of(&robot.child, &bodies.child),
        armature_kg_m2: (!request.ask.form.keeps_crank()).then_some(bodies.armature),
    }
}

impl PatchJson {
    /// The list for a comment, one line per link.
    pub(super) fn words(&self) -> Vec<String> {
        vec![self.carrier.words(), self.child.words()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_short_and_read_back_to_six_digits() {
        for (x, text) in
            [(0.0, "0"), (0.09, "9e-2"), (-1.234_567_89e-3, "-1.23457e-3"), (2.5, "2.5")]
        {
            assert_eq!(short(x), text);
        }
    }
}
