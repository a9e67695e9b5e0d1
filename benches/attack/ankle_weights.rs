//! What stands in for two motors on a universal joint, weighed against builds that go uphill to its bound.

use nalgebra::{Matrix3, Vector3};
use unloop::drive::{Direct, DrawnLeg, Region, TwoRods};
use unloop::dynamics::{
    ArmatureForm, Body, Inertia, LegParts, Rotor, TwoJointCertificate, TwoJointParts, TwoJointTree,
    energy_error, two_joint_fidelity, two_joint_tree,
};
use unloop::equivalence::RegionQuestion;
use unloop::numeric::Interval;

use super::random::Random;

/// What came of one question.
pub struct Weighing {
    /// Builds looked at.
    pub builds: u64,
    /// The largest error of a build, and the bound.
    pub reached: [f64; 2],
}

fn body(random: &mut Random, mass: f64, along: f64, size: f64) -> Body {
    let mut near = |by: f64| random.within(-by, by);
    let centre = Vector3::new(along, near(0.005), near(0.005));
    let (xy, xz, yz) = (near(0.05), near(0.05), near(0.05));
    let tensor = Matrix3::new(0.5, xy, xz, xy, 0.9, yz, xz, yz, 1.0) * (mass * size * size);
    Body { mass, centre, inertia: Inertia::Tensor(tensor) }
}

fn leg(random: &mut Random, leg: &DrawnLeg) -> LegParts {
    let heavy = random.log_within(0.1, 3.0);
    let (gear, in_carrier) = (random.sign(), random.chance(0.5));
    if matches!(leg, DrawnLeg::Crank { .. }) {
        LegParts {
            crank: Some(body(random, 0.05 * heavy, 0.02, 0.015)),
            rod: Some(body(random, 0.08 * heavy, 0.1, 0.08)),
            rotor: Some(Rotor { inertia: 1.5e-4, gear_ratio: 7.75 * gear, in_carrier }),
            ..LegParts::default()
        }
    } else {
        LegParts {
            housing: Some(body(random, 0.2 * heavy, 0.05, 0.04)),
            nut: Some(body(random, 0.06 * heavy, -0.03, 0.02)),
            rotor: Some(Rotor { inertia: 4e-6, gear_ratio: gear, in_carrier }),
            ..LegParts::default()
        }
    }
}

fn parts(random: &mut Random, legs: &[DrawnLeg; 2]) -> TwoJointParts {
    TwoJointParts {
        legs: [leg(random, &legs[0]), leg(random, &legs[1])],
        middle: random.chance(0.5).then(|| body(random, 0.1, 0.0, 0.02)),
        child: body(random, 0.9, 0.03, 0.06),
        carrier: random.chance(0.6).then(|| body(random, 2.5, 0.01, 0.1)),
    }
}

/// A drive, the tree that stands for it, and where builds of it are looked for.
struct Climb<'a> {
    question: &'a RegionQuestion<'a>,
    parts: TwoJointParts,
    tree: TwoJointTree,
    weighing: Weighing,
}

impl Climb<'_> {
    fn look(&mut self, sizes: &[f64], joints: [f64; 2]) -> Option<f64> {
        let exactly: Vec<Interval> = sizes.iter().map(|x| Interval::point(*x)).collect();
        let drive = TwoRods::new(self.question.drawing.built(&exactly)?).ok()?;
        let error = energy_error(&drive, joints, &self.parts, &self.tree).ok()?;
        self.weighing.builds += 1;
        self.weighing.reached[0] = self.weighing.reached[0].max(error);
        Some(error)
    }

    /// Uphill from the middle, a size at a time, then along both joints.
    fn climb(&mut self, mut joints: [f64; 2]) -> Option<()> {
        let typed = self.question.sizes.typed.clone();
        let mut sizes: Vec<f64> = typed.iter().map(|range| range.mid()).collect();
        let mut best = self.look(&sizes, joints)?;
        for (k, range) in typed.iter().enumerate() {
            for end in [range.lo(), range.hi()] {
                let kept = std::mem::replace(&mut sizes[k], end);
                match self.look(&sizes, joints) {
                    Some(error) if error > best => best = error,
                    _ => sizes[k] = kept,
                }
            }
        }
        let mut step = 0.1;
        while step > 0.01 {
            let mut is_better = false;
            for (joint, way) in [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)] {
                let mut moved = joints;
                let [from, to] = self.question.turns[joint];
                moved[joint] = (moved[joint] + way * step * (to - from)).clamp(from, to);
                if let Some(error) = self.look(&sizes, moved).filter(|error| *error > best) {
                    (best, joints, is_better) = (error, moved, true);
                }
            }
            step = if is_better { step } else { 0.5 * step };
        }
        Some(())
    }
}

/// The bound of a random foot on the drive that is asked about, where there is one, and the worst that was found of it.
pub fn weighed(
    question: &RegionQuestion<'_>,
    direct: &Direct,
    random: &mut Random,
) -> Option<Weighing> {
    let parts = parts(random, &question.drawing.legs);
    let [pitch, roll] = question.turns;
    let region = Region { pitch, roll, pieces: 6 };
    let tree =
        two_joint_tree(question.drive, &region, &parts, direct, ArmatureForm::Motors).ok()?;
    let found = two_joint_fidelity(question.drive, &region, &parts, &tree).ok()?;
    let worst = found.worst;
    let limit = worst.value * random.log_within(1.05, 4.0) + random.within(0.0, 0.05);
    let certificate = TwoJointCertificate::new(&parts, &tree, found.over);
    let bound = question.certify(&certificate, worst.value, limit)?;
    let weighing = Weighing { builds: 0, reached: [0.0, bound] };
    let mut climb = Climb { question, parts, tree, weighing };
    let anywhere = [pitch, roll].map(|[from, to]| random.within(from, to));
    for joints in [worst.joints, anywhere, [random.pick(&pitch), random.pick(&roll)]] {
        let _ = climb.climb(joints);
    }
    Some(climb.weighing)
}
