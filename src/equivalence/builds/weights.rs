//! How far what stands in for a drive is from it in kinetic energy, bounded over every build and every pose.

use super::super::criterion::MET_WITHIN;
use super::super::question::HungDrive;
use super::super::weighing::{Weighed, count};
use super::question::DriveQuestion;
use super::stage::{RodStage, Stage};
use super::worst::ROUNDED;
use crate::drive::Angular;
use crate::dynamics::{BuildsOver, DriveBuild, DriveCertificate, DriveParts};
use crate::numeric::{Interval, Jet};

/// A certified bound is sought to this much above the figure of the drawn drive.
const AIM: f64 = 1.05;

impl DriveQuestion<'_> {
    /// Bounds the errors of `weighed`, which are those of `drives` as drawn, over all builds and poses that are asked about; where
    /// the proof does not reach `limit`, or the drive is a chain, there is none.
    pub fn certify(&self, weighed: &mut Weighed, drives: &[HungDrive<DriveParts>], limit: f64) {
        let Some(builds) = self.builds() else { return };
        let off = |end: f64| ROUNDED * end.abs().max(1.0);
        let [from, to] = self.turns;
        let turns = [from - off(from), to + off(to)];
        weighed.certify(drives, |parts, own, among, together| {
            let masses = parts.masses.sharing_carrier(count(among));
            let certificate = DriveCertificate {
                parts: &DriveParts { masses, ..*parts },
                replacement: &own.replacement.on(&masses),
                over: own.over,
            };
            let aim = AIM * own.error.value.max(together);
            builds.bound(&certificate, turns, [aim, limit + MET_WITHIN])
        });
    }

    /// Every build; `None` of a chain, and where one may not close.
    fn builds(&self) -> Option<Builds> {
        let stages = Stage::all(self.drawing, self.drive, &self.sizes, self.zeroing)?;
        match stages.as_slice() {
            [Stage::Rod(stage)] => Builds::of_rod(stage),
            [Stage::Ratio(_)] => {
                let ratio = *self.sizes.all.first()?;
                let all = DriveBuild::Ratio(Jet::constant(ratio));
                let middle = DriveBuild::Ratio(ratio);
                Some(Builds::One(Box::new(BuildsOver { all, middle, reach: Vec::new() })))
            }
            _ => None,
        }
    }
}

/// By as many variables as there are.
enum Builds {
    One(Box<BuildsOver<1>>),
    Few(Box<BuildsOver<8>>),
    Some(Box<BuildsOver<10>>),
    Many(Box<BuildsOver<18>>),
}

impl Builds {
    fn of_rod(stage: &RodStage<'_>) -> Option<Self> {
        let open = stage.rod().open(&stage.ranges.all);
        match open.len() {
            0 => builds_over(stage, &open).map(Self::One),
            1..=7 => builds_over(stage, &open).map(Self::Few),
            8..=9 => builds_over(stage, &open).map(Self::Some),
            10..=17 => builds_over(stage, &open).map(Self::Many),
            _ => None,
        }
    }

    fn bound(
        &self,
        certificate: &DriveCertificate<'_>,
        turns: [f64; 2],
        sought: [f64; 2],
    ) -> Option<f64> {
        match self {
            Self::One(builds) => certificate.bound(builds, turns, sought),
            Self::Few(builds) => certificate.bound(builds, turns, sought),
            Self::Some(builds) => certificate.bound(builds, turns, sought),
            Self::Many(builds) => certificate.bound(builds, turns, sought),
        }
    }
}

/// The builds of a rod's drive by its `open` sizes, of which there are fewer than N.
fn builds_over<const N: usize>(stage: &RodStage<'_>, open: &[usize]) -> Option<Box<BuildsOver<N>>> {
    let mut all: Vec<Jet<N>> = stage.ranges.all.iter().copied().map(Jet::constant).collect();
    let (mut middle, mut reach) = (stage.ranges.all.clone(), Vec::new());
    for (own, place) in open.iter().enumerate() {
        let range = *stage.ranges.all.get(*place)?;
        let at = Interval::point(range.mid());
        *all.get_mut(*place)? = Jet::variable(own, range);
        *middle.get_mut(*place)? = at;
        reach.push((range - at).magnitude());
    }
    let (all, middle) = (of_sizes(stage, &all)?, of_sizes(stage, &middle)?);
    Some(Box::new(BuildsOver { all, middle, reach }))
}

fn of_sizes<T: Angular>(stage: &RodStage<'_>, sizes: &[T]) -> Option<DriveBuild<T>> {
    let read = stage.rod().read(sizes, false)?;
    Some(DriveBuild::Rod { built: read.built, ahead: read.ahead })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::{
        Assembly, Axis, BallRod, BallRodPoints, Drawing, FixedRatio, JointDrive, LinearActuator,
        Measure, OneJoint as _, Slider, Vector,
    };
    use crate::dynamics::{Body, Inertia, JointStroke, Masses, Rotor, drive_error_at};
    use crate::equivalence::{
        Basis, DirectJoint, DriveLimits, Limits, SizeRanges, Weighed, WeighedDrive, Zeroing,
        weigh_in_space,
    };
    use nalgebra::Matrix3;
    use proptest::prelude::*;

    fn drawings() -> Vec<Drawing> {
        let sizes = BallRod {
            ground: 0.3,
            crank: 0.045,
            coupler: 0.301,
            rocker: 0.047,
            axial: 0.01,
            twist: 0.08,
            lean: 0.03,
        };
        let at = Vector::new;
        let axis = Axis { point: at(0.01, 0.3, 0.002), direction: at(0.08, -0.04, 1.0) };
        let rocker = at(0.05, 0.32, 0.012);
        let motor = at(0.05, -0.01, 0.004);
        let direction = at(0.02, 1.0, -0.03);
        let points =
            Slider { guide: motor, direction, coupler: 0.09, joint: axis, rocker, lead: -0.004 };
        vec![
            Drawing::BallRod { sizes, zero_crank: 1.5, assembly: Assembly::Open },
            Drawing::PlanarActuator {
                ground: 0.3,
                rocker: 0.045,
                line_offset: 0.01,
                lead: 0.005,
                zero_rocker: 1.75,
                lengths: None,
            },
            Drawing::PlanarSlider {
                ground: 0.3,
                coupler: 0.09,
                rocker: 0.045,
                guide: [0.0, 0.0675],
                direction: 0.02,
                lead: 0.004,
                zero_rocker: 1.5,
                nut: 0.2,
            },
            Drawing::BallRodPoints(BallRodPoints {
                motor: Axis { point: at(0.0, 0.0, 0.01), direction: at(0.02, 0.05, 1.0) },
                joint: axis,
                crank: at(0.045, 0.01, 0.005),
                rocker,
                rod: Some(0.311),
            }),
            Drawing::ActuatorPoints {
                points: LinearActuator {
                    motor,
                    joint: axis,
                    rocker,
                    line_offset: 0.0,
                    lead: 0.005,
                },
                lengths: None,
            },
            Drawing::SliderPoints { points, nut: 0.24 },
            Drawing::FixedRatio(FixedRatio(-2.5)),
        ]
    }

    fn bar(mass: f64, centre: [f64; 3], about: f64) -> Body {
        let tensor = Matrix3::new(0.4, 0.02, 0.01, 0.02, 0.8, -0.03, 0.01, -0.03, 1.0) * about;
        Body { mass, centre: centre.into(), inertia: Inertia::Tensor(tensor) }
    }

    /// What a drive of its kind can have: a rotor of a screw turns fast and is light.
    fn parts(drive: &JointDrive, with_carrier: bool) -> DriveParts {
        let is_screw = matches!(drive, JointDrive::Rod(_)) && !has_crank(drive);
        let (inertia, gear_ratio) = if is_screw { (6e-6, 1.0) } else { (1.5e-4, 7.75) };
        let masses = Masses {
            crank: Some(bar(0.08, [0.012, 0.004, 0.002], 3e-5)),
            coupler: Some(bar(0.05, [0.04, -0.006, 0.01], 2e-4)),
            child: bar(0.9, [0.03, -0.04, 0.005], 3e-3),
            carrier: with_carrier.then(|| bar(2.5, [-0.15, 0.01, 0.02], 0.03)),
            carried: None,
            rotor: Some(Rotor { inertia, gear_ratio, in_carrier: false }),
        };
        let (housing, nut) =
            (bar(0.3, [0.06, 0.003, 0.001], 4e-4), bar(0.1, [-0.03, 0.002, 0.004], 5e-5));
        DriveParts { masses, housing: Some(housing), nut: Some(nut) }
    }

    fn has_crank(drive: &JointDrive) -> bool {
        let JointDrive::Rod(rod) = drive else { return false };
        matches!(rod.geometry().input, crate::drive::InputEnd::Crank { .. })
    }

    /// Sizes of every kind, `tolerance` (m, rad) to both sides of what is drawn; of leads and ratios a thousandth of that share.
    fn ranges(drawing: &Drawing, tolerance: f64) -> SizeRanges {
        let range = |size: &crate::drive::Size| {
            let by = match (size.measure, size.name) {
                (_, "lead") => 1e-3 * tolerance,
                (Measure::Angle, _) => 10.0 * tolerance,
                _ => tolerance,
            };
            Interval::new(size.value - by, size.value + by)
        };
        let all: Vec<Interval> = drawing.sizes().iter().map(range).collect();
        SizeRanges { typed: all.clone(), all }
    }

    const TURNS: [f64; 2] = [-0.3, 0.35];

    /// What is asked, with the drive as drawn weighed and bounded, of one or of two drives on a link.
    struct Weighing {
        zeroing: Zeroing,
        sizes: SizeRanges,
        drives: Vec<HungDrive<DriveParts>>,
        weighed: Weighed,
    }

    impl Weighing {
        fn of(
            drawing: &Drawing,
            tolerance: f64,
            zeroing: Zeroing,
            with_carrier: bool,
        ) -> Option<Self> {
            let drive = drawing.drive().unwrap();
            let masses = parts(&drive, with_carrier);
            let drives = vec![HungDrive { masses, link: 0, frame: None }];
            let mut weighed = weigh_in_space(&drive, TURNS, &drives).ok()?;
            let sizes = ranges(drawing, tolerance);
            let ratio = drive.motion(0.0).unwrap().ratio;
            let question = DriveQuestion {
                drawing,
                drive: &drive,
                turns: TURNS,
                joint: DirectJoint { ratio, offset: 0.0 },
                limits: DriveLimits {
                    motion: Limits { angle: 1.0, ratio: 1.0, transmission_angle: 0.0 },
                    ball_tilt: None,
                    crank_side: None,
                },
                basis: Basis::Tolerance,
                sizes: sizes.clone(),
                zeroing,
            };
            question.certify(&mut weighed, &drives, 10.0);
            Some(Self { zeroing, sizes, drives, weighed })
        }

        /// ε of the build at these shares of each range and of the stroke, as that build reads its turns.
        fn error(&self, drawing: &Drawing, shares: &[f64], at: f64) -> Option<f64> {
            let inside =
                |(range, share): (&Interval, &f64)| range.lo() + share * (range.hi() - range.lo());
            let sizes: Vec<f64> = self.sizes.typed.iter().zip(shares).map(inside).collect();
            let built = drawing.drive_of(&sizes)?;
            let read = TURNS[0] + at * (TURNS[1] - TURNS[0]);
            let drawn = drawing.sizes();
            let own = if self.zeroing == Zeroing::AsDrawn
                && drawn.iter().any(|s| s.name == "zero_crank")
            {
                let drawn: Vec<f64> = drawn.iter().map(|size| size.value).collect();
                let [from, own] = [drawn, sizes].map(|sizes| drawing.built::<f64>(&sizes).unwrap());
                read - own.ahead_of(from.foot - from.joint.point)
            } else {
                read
            };
            let stroke = JointStroke::over(&built, [own, own]).ok()?;
            let [weighed] = self.weighed.drives.as_slice() else { return None };
            drive_error_at(&stroke, &self.drives[0].masses, &weighed.replacement.tree, own)
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6))]

        #[test]
        fn no_build_of_the_box_weighs_further_off_than_the_bound(
            tolerance in 0.0..3e-4_f64,
            shares in proptest::collection::vec(proptest::collection::vec(0.0..1.0_f64, 18), 8),
            as_drawn in any::<bool>(),
            with_carrier in any::<bool>(),
        ) {
            let zeroing = if as_drawn { Zeroing::AsDrawn } else { Zeroing::OnEachRobot };
            for drawing in drawings() {
                let Some(found) = Weighing::of(&drawing, tolerance, zeroing, with_carrier) else { continue };
                let [WeighedDrive { error, bound, .. }] = found.weighed.drives.as_slice() else { unreachable!() };
                let drawn = error.value;
                prop_assert!(tolerance > 1e-5 || bound.is_some_and(|b| b < 1.15 * drawn + 1e-3), "{drawing:?} {drawn} {bound:?}");
                let Some(bound) = *bound else { continue };
                prop_assert!(drawn <= bound, "{drawing:?} {drawn} {bound}");
                for shares in &shares {
                    let (at, own) = shares.split_last().unwrap();
                    let corner: Vec<f64> = own.iter().map(|share| share.round()).collect();
                    for (own, at) in [(own, *at), (&corner, *at), (&corner, at.round())] {
                        let error = found.error(&drawing, own, at).unwrap_or(0.0);
                        prop_assert!(error <= bound, "{drawing:?} {zeroing:?} {own:?} {at}: {error} {bound}");
                    }
                }
            }
        }
    }
}
