//! What two direct joints weigh in place of a drive of two joints.

use crate::design::TwoJointDesign;
use crate::drive::TwoRods;
use crate::dynamics::{
    ArmatureForm, DynamicsFault, TwoJointFidelity, TwoJointParts, TwoJointTree, energy_error,
    two_joint_fidelity, two_joint_tree,
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
    /// A certified bound over every build and pose; `None` where the proof does not reach the limit.
    bound: Option<f64>,
    /// The figure of the worst corner of the tolerances that was looked at, where there is no bound.
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
            let (over, worst) = found.told();
            bound =
                question.inertia_bound(&parts, tree, (over, worst.value), design.accept.inertia);
            if design.accept.over == Basis::Tolerance && bound.is_none() {
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
        let worst = self.fidelity.iter().flatten().map(|found| found.told().1.joints).next();
        let figures = [self.bound, self.corner].map(|figure| figure.and_then(Figure::new));
        let found = assess_two_joints(&ask, self.fidelity.as_ref(), figures, &self.missing);
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

#[cfg(test)]
mod tests {
    use super::super::check::question;
    use super::*;
    use crate::design::{AnyDesign, parse_any};
    use proptest::prelude::*;

    const CRANKS: &str = include_str!("../../../models/drives/ankle_parallel.toml");
    const SCREWS: &str = include_str!("../../../models/drives/ankle_actuators.toml");

    fn changed(text: &str, changes: &[(&str, &str)]) -> String {
        changes.iter().fold(text.to_owned(), |text, (old, new)| {
            assert!(text.contains(old), "{old}");
            text.replacen(old, new, 1)
        })
    }

    /// Cranks side by side, cranks askew with the carrier unknown, and screws, all with these tolerances.
    fn texts(mm: f64, deg: f64) -> [String; 3] {
        let tolerance = format!("points = \"±{mm:.5} mm\"\naxes = \"±{deg:.5} deg\"\n");
        let cranks =
            changed(CRANKS, &[("points = \"±0.02 mm\"\naxes   = \"±0.02 deg\"\n", &tolerance)]);
        let (bodies, robots) = cranks.split_once("[mass.carrier]").unwrap();
        let robots = robots.split_once("[rod]").unwrap().1;
        let askew = changed(
            &format!("{bodies}[rod]{robots}"),
            &[
                (
                    "point = [\"0 mm\", \"0 mm\", \"0 mm\"]\naxis  = [1.0",
                    "point = [\"1 mm\", \"2 mm\", \"-8 mm\"]\naxis  = [1.0",
                ),
                (
                    "axis  = [0.0, 1.0, 0.0]\ncrank = [\"-45 mm\", \"32 mm\"",
                    "axis  = [0.06, 1.0, 0.03]\ncrank = [\"-42 mm\", \"38 mm\"",
                ),
                ("crank = [\"-45 mm\", \"-32 mm\"", "crank = [\"-44 mm\", \"-35 mm\""),
                ("rod   = \"280 mm\"\n", ""),
                ("rod   = \"160 mm\"\n", ""),
            ],
        );
        let screws = changed(
            SCREWS,
            &[
                (
                    "[actuator]\n",
                    &format!(
                        "[tolerance]\n{tolerance}\n[zero]\nset_by = \"jig\"\n\n[actuator]\ngear_ratio = 1.0\n"
                    ),
                ),
                ("pitch = [\"-35 deg\", \"25 deg\"]", "pitch = [\"-12 deg\", \"10 deg\"]"),
                ("roll  = [\"-15 deg\", \"15 deg\"]", "roll  = [\"-5 deg\", \"5 deg\"]"),
            ],
        );
        [cranks, askew, screws]
    }

    fn design(text: &str) -> TwoJointDesign {
        match parse_any("ankle.toml", text) {
            Ok((AnyDesign::TwoJoints(design), _)) => *design,
            Ok(_) => unreachable!(),
            Err(rejected) => panic!("{rejected:?}"),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2))]

        #[test]
        fn no_build_in_any_pose_of_the_region_weighs_further_off_than_the_bound(
            mm in 1e-4..0.05_f64,
            deg in 1e-4..0.05_f64,
            shares in proptest::collection::vec(proptest::collection::vec(0.0..1.0_f64, 36), 12),
        ) {
            for text in texts(mm, deg) {
                let design = design(&text);
                let of = TwoMotors::of(&design).unwrap();
                let question = question(&design, &of);
                let parts = two_joint_parts(&design).unwrap();
                let grid = of.grid(PIECES);
                let tree = two_joint_tree(&of.drive, &grid, &parts, &of.direct, ArmatureForm::Motors).unwrap();
                let (over, drawn) = two_joint_fidelity(&of.drive, &grid, &parts, &tree).unwrap().told();
                let bound = question.inertia_bound(&parts, &tree, (over, drawn.value), 10.0);
                prop_assert!(mm + deg > 2e-3 || bound.is_some_and(|b| b < 1.2 * drawn.value + 2e-3), "{drawn:?} {bound:?}");
                let Some(bound) = bound else { continue };
                prop_assert!(drawn.value <= bound, "{drawn:?} {bound}");
                for shares in &shares {
                    let (turns, own) = shares.split_at(2);
                    let joints = [0, 1].map(|k| of.region[k][0] + turns[k] * (of.region[k][1] - of.region[k][0]));
                    let corner = [0, 1].map(|k| of.region[k][usize::from(turns[k] > 0.5)]);
                    for (is_corner, joints) in [(false, joints), (true, joints), (true, corner)] {
                        let size = |(range, share): (&crate::numeric::Interval, &f64)| {
                            let share = if is_corner { share.round() } else { *share };
                            range.lo() + share * (range.hi() - range.lo())
                        };
                        let sizes: Vec<f64> = question.sizes.typed.iter().zip(own).map(size).collect();
                        let drive = design.drawing.drive_of(&sizes).unwrap();
                        let error = energy_error(&drive, joints, &parts, &tree).unwrap();
                        prop_assert!(error <= bound, "{sizes:?} {joints:?}: {error} {bound}");
                    }
                }
            }
        }
    }
}
