//! What the direct joint weighs in place of a drive that is no planar four-bar.

use crate::design::{Design, Drawn, MotorOn};
use crate::drive::OneJoint as _;
use crate::dynamics::DriveParts;
use crate::equivalence::{
    self, Assessment, Basis, DirectJoint, DriveQuestion, Figure, HungDrive, InertiaAsk, SizeRanges,
    Weighing, assess_in_space, weigh_in_space,
};
use crate::numeric::evenly;

use super::driven::Driven;
use super::findings::InertiaFindings;
use super::inertia::{plain_armature, weighed};
use super::parts_in_space::PlacedParts;
use super::worst_corner::worst_corner;

/// The parts of a design's drives and what they weigh.
pub(super) struct Weighed {
    parts: PlacedParts,
    weighing: Option<Weighing>,
    /// The figure of the worst corner of the tolerances that was looked at, where the limit is not proved to be met.
    corner: Option<f64>,
}

impl Weighed {
    pub(super) fn of(
        design: &Design<Drawn>,
        driven: &Driven,
        question: &DriveQuestion<'_>,
    ) -> Self {
        let parts = PlacedParts::of(design, driven).unwrap_or_default();
        let hung = parts.hung();
        let mut weighing =
            (!hung.is_empty()).then(|| weigh_in_space(&driven.drive, driven.joint_turns(), &hung));
        let mut corner = None;
        if let Some(Ok(found)) = &mut weighing {
            // A rotor on the carrier's parent is not borne by what is weighed here.
            if design.motor_on == MotorOn::Carrier {
                question.certify(found, &hung, design.accept.inertia);
            }
            let is_proved = found.drives.iter().all(|drive| drive.bound.is_some());
            if design.accept.over == Basis::Tolerance && !is_proved {
                corner = in_worst_corner(design, driven, &question.sizes, (found, &hung));
            }
        }
        Self { parts, weighing, corner }
    }

    pub(super) fn assess(&self, design: &Design<Drawn>, driven: &Driven) -> Assessment {
        let ask = InertiaAsk {
            limit: design.accept.inertia,
            is_asked: design.accept.inertia_by_hand,
            basis: design.accept.over,
            has_rotors: self.parts.drives.iter().all(|(_, d)| d.masses.masses.rotor.is_some()),
            joint_at: &|motor| driven.drive.joint_turn(motor).ok(),
        };
        let missing =
            if self.parts.missing.is_empty() { &["masses"][..] } else { &self.parts.missing };
        assess_in_space(&ask, self.weighing.as_ref(), self.corner.and_then(Figure::new), missing)
    }

    pub(super) fn findings(
        &self,
        design: &Design<Drawn>,
        driven: &Driven,
        joint: &DirectJoint,
    ) -> Option<InertiaFindings> {
        let joints = self.parts.drives.iter().map(|(joint, _)| joint);
        let joint_turn = |turn: f64| driven.drive.joint_turn(turn).ok();
        let found = weighed(design, joints, self.weighing.as_ref()?, &joint_turn)?;
        let plain_armature = plain_armature(&self.parts.drives.first()?.1.masses.masses, joint)?;
        Some(InertiaFindings { plain_armature, left_out: self.parts.left_out.clone(), ..found })
    }
}

/// Poses that other builds are looked at in, beside the drawn one's worst.
const POSES: u32 = 16;

/// The largest error of kinetic energy, of what stands in for the drawn drives, in the corners towards which it rises and falls
/// size by size.
fn in_worst_corner(
    design: &Design<Drawn>,
    driven: &Driven,
    sizes: &SizeRanges,
    (found, hung): (&equivalence::Weighed, &[HungDrive<DriveParts>]),
) -> Option<f64> {
    let (drawing, turns) = (&design.geometry.drawing, driven.joint_turns());
    let drawn: Vec<f64> = drawing.sizes().iter().map(|size| size.value).collect();
    let worst = found.drives.iter().filter_map(|d| driven.drive.joint_turn(d.error.turn).ok());
    let poses: Vec<f64> = worst.chain(evenly(turns, POSES)).collect();
    worst_corner(&drawn, &sizes.typed, &|sizes| {
        found.error_of(hung, &drawing.drive_of(sizes)?, turns, &poses)
    })
}
