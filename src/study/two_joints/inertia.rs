//! What two direct joints weigh in place of a drive of two joints.

use crate::design::TwoJointDesign;
use crate::drive::TwoRods;
use crate::dynamics::{
    ArmatureForm, DynamicsFault, TwoJointCertificate, TwoJointFidelity, TwoJointParts,
    TwoJointTree, energy_error, two_joint_fidelity, two_joint_tree,
};
use crate::equivalence::{
    Assessment, Basis, Figure, InertiaAsk, RegionQuestion, SizeRanges, assess_two_joints,
};

use super::super::worst_corner::worst_corner;
use super::TwoMotors;
use super::parts::two_joint_parts;

/// Pieces of each range over which bodies are weighed.
const PIECES: u32 = 8;

/// The parts of a design and what they weigh.
pub(super) struct Weighed {
    missing: Vec<&'static str>,
    fidelity: Option<Result<TwoJointFidelity, DynamicsFault>>,
    /// What no build exceeds in any pose, where that is proved.
    bound: Option<f64>,
    /// Where it is not, the figure of the worst corner of the tolerances that was looked at.
    corner: Option<f64>,
}

impl Weighed {
    pub(super) fn of(
        design: &TwoJointDesign,
        of: &TwoMotors,
        question: &RegionQuestion<'_>,
    ) -> Self {
        let parts = match two_joint_parts(design) {
            Ok(parts) => parts,
            Err(missing) => return Self { missing, fidelity: None, bound: None, corner: None },
        };
        let grid = of.grid(PIECES);
        let tree = two_joint_tree(&of.drive, &grid, &parts, &of.direct, ArmatureForm::Motors);
        let fidelity =
            tree.and_then(|tree| Ok((tree, two_joint_fidelity(&of.drive, &grid, &parts, &tree)?)));
        let (mut bound, mut corner) = (None, None);
        if let Ok((tree, found)) = &fidelity {
            let TwoJointFidelity { over, worst } = *found;
            let (certificate, limit) =
                (TwoJointCertificate::new(&parts, tree, over), design.accept.inertia);
            if worst.value <= limit {
                bound = question.certify(&certificate, worst.value, limit);
            }
            if bound.is_none() && design.accept.over == Basis::Tolerance {
                let poses = poses(of, worst.joints);
                corner = Corner { design, parts: &parts, tree, poses }.worst(&question.sizes);
            }
        }
        let fidelity = Some(fidelity.map(|(_, found)| found));
        Self { missing: Vec::new(), fidelity, bound, corner }
    }

    pub(super) fn assess(&self, design: &TwoJointDesign) -> Assessment {
        let ask = InertiaAsk {
            limit: design.accept.inertia,
            is_asked: design.accept.inertia_by_hand,
            basis: design.accept.over,
            has_rotors: self.missing.is_empty(),
            joint_at: &|_| None,
        };
        let worst = self.fidelity.iter().flatten().map(|found| found.worst.joints).next();
        let corner = self.corner.and_then(Figure::new);
        let found =
            assess_two_joints(&ask, self.fidelity.as_ref(), self.bound, corner, &self.missing);
        Assessment { worst_at_joints: worst, ..found }
    }
}

/// The worst pose of the drawn drive and the corners of the region.
fn poses(of: &TwoMotors, worst: [f64; 2]) -> Vec<[f64; 2]> {
    let [[p, q], [r, s]] = of.region;
    vec![worst, [p, r], [p, s], [q, r], [q, s]]
}

/// The model of the drawn drive against other builds.
struct Corner<'a> {
    design: &'a TwoJointDesign,
    parts: &'a TwoJointParts,
    tree: &'a TwoJointTree,
    poses: Vec<[f64; 2]>,
}

impl Corner<'_> {
    fn error(&self, sizes: &[f64]) -> Option<f64> {
        let drive: TwoRods = self.design.drawing.drive_of(sizes).ok()?;
        let errors = self.poses.iter().map(|joints| {
            energy_error(&drive, *joints, self.parts, self.tree).ok().filter(|e| e.is_finite())
        });
        errors.collect::<Option<Vec<f64>>>()?.into_iter().max_by(f64::total_cmp)
    }

    fn worst(&self, sizes: &SizeRanges) -> Option<f64> {
        let drawn: Vec<f64> = self.design.drawing.sizes().iter().map(|size| size.value).collect();
        worst_corner(&drawn, &sizes.typed, &|sizes| self.error(sizes))
    }
}
