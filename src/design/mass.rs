//! `[mass.*]`: what the bodies weigh and how they turn.

use super::bodies::{BodyFrame, BodyInertia, BodyMass, Masses};
use super::entry::{Entry, all};
use super::section::Section;
use crate::diagnostic::Code;
use crate::units::UnitKind;
use nalgebra::Matrix3;
use toml::de::DeValue;

/// Rounding of the figures, as a share of the largest moment, that a tensor is forgiven.
const ROUNDING: f64 = 1e-3;

/// In which frames a body may be given; the first is the default.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Frames {
    Drawing,
    Either,
    Robot,
}

/// `[mass.*]`, each where it is given.
pub(super) fn read(root: &Section<'_>) -> Masses {
    let Some(table) = root.section("mass") else {
        return Masses::default();
    };
    let body = |key: &str, frames| table.section(key).and_then(|table| body(&table, frames));
    Masses {
        crank: body("crank", Frames::Drawing),
        coupler: body("coupler", Frames::Drawing),
        housing: body("housing", Frames::Drawing),
        nut: body("nut", Frames::Drawing),
        child: body("child", Frames::Either),
        carrier: body("carrier", Frames::Robot),
        carried: body("carried", Frames::Robot),
    }
}

/// One body.
pub(super) fn body(table: &Section<'_>, frames: Frames) -> Option<BodyMass> {
    let frame = frame(table, frames);
    let mass = table
        .required("mass", "mass = \"0.08 kg\"")
        .and_then(|entry| entry.positive(UnitKind::Mass));
    let example = match frame {
        Some(BodyFrame::Robot) => "center = [\"0 mm\", \"0 mm\", \"-120 mm\"]",
        _ => "center = [\"22 mm\", \"0 mm\"]",
    };
    let center = table.required("center", example);
    let center = center.and_then(|entry| center_of(&entry, frame));
    let inertia = table.required("inertia", "inertia = \"2.0e-5 kg m2\"  # about the mass centre");
    let inertia = inertia.and_then(|entry| inertia_of(&entry));
    let (center, center_is_spatial) = center?;
    Some(BodyMass { frame: frame?, mass: mass?, center, center_is_spatial, inertia: inertia? })
}

fn frame(table: &Section<'_>, frames: Frames) -> Option<BodyFrame> {
    let default = if frames == Frames::Robot { BodyFrame::Robot } else { BodyFrame::Drawing };
    let Some(entry) = table.get("frame") else {
        return Some(default);
    };
    let frame = entry.choice(&[("drawing", BodyFrame::Drawing), ("robot", BodyFrame::Robot)])?;
    let help = match (frames, frame) {
        (Frames::Robot, BodyFrame::Drawing) => {
            "the carrier is not in the drawing: write frame = \"robot\""
        }
        (Frames::Drawing, BodyFrame::Robot) => {
            "origin on the body's own pin, x along its arm: take the line out. Only child, carrier and carried are robot links"
        }
        _ => return Some(frame),
    };
    entry.fault("does not fit this body", "not this frame", help);
    None
}

/// The mass centre, and whether three coordinates were given.
fn center_of(entry: &Entry<'_>, frame: Option<BodyFrame>) -> Option<([f64; 3], bool)> {
    let items = entry.items()?;
    let figures: Vec<Option<f64>> =
        items.iter().map(|item| item.quantity(UnitKind::Length)).collect();
    match figures[..] {
        [x, y] if frame != Some(BodyFrame::Robot) => Some(([x?, y?, 0.0], false)),
        [x, y, z] => Some(([x?, y?, z?], true)),
        [_, _] => {
            let help =
                "in the robot link's own frame write three: [\"0 mm\", \"0 mm\", \"-120 mm\"]";
            entry.fault("has two coordinates", "three are needed", help);
            None
        }
        _ => {
            let label = format!("coordinates given: {}", figures.len());
            entry.fault(
                "is no point",
                &label,
                "write two or three coordinates: [\"22 mm\", \"0 mm\"]",
            );
            None
        }
    }
}

fn inertia_of(entry: &Entry<'_>) -> Option<BodyInertia> {
    if !matches!(entry.value, DeValue::Array(_)) {
        return entry.not_negative(UnitKind::Inertia).map(BodyInertia::AboutAxis);
    }
    let what = "one figure about the joint axis, or six: [xx, yy, zz, xy, xz, yz]";
    let tensor = all(entry.items_of::<6>(what)?.map(|item| item.quantity(UnitKind::Inertia)))?;
    check_tensor(entry, tensor).then_some(BodyInertia::Tensor(tensor))
}

/// Whether a body can have this tensor about its mass centre: no principal moment negative, none over the sum
/// of the others (to 0.1 % of the largest, for rounded figures).
fn check_tensor(entry: &Entry<'_>, [xx, yy, zz, xy, xz, yz]: [f64; 6]) -> bool {
    let largest = [xx, yy, zz, xy, xz, yz].iter().fold(0.0_f64, |most, one| most.max(one.abs()));
    if largest <= 0.0 {
        return true;
    }
    let scaled = Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz) / largest;
    let moments = scaled.symmetric_eigenvalues();
    let (least, most) = (moments.min(), moments.max());
    let (summary, label) = if least < -ROUNDING {
        ("is no inertia of a body", "a principal moment is negative")
    } else if moments.sum() - 2.0 * most < -ROUNDING {
        ("is no inertia of a body", "one principal moment is over the sum of the other two")
    } else {
        return true;
    };
    entry.coded(Code::NoRealBody, summary, label, TENSOR_HELP);
    false
}

const TENSOR_HELP: &str = "write [xx, yy, zz, xy, xz, yz] about the mass centre, products as tensor entries (xy = -∫xy dm)";
