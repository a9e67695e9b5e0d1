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
                Some(Builds::One(BuildsOver { all, middle, reach: Vec::new() }))
            }
            _ => None,
        }
    }
}

/// By as many variables as there are.
enum Builds {
    One(BuildsOver<1>),
    Few(BuildsOver<4>),
    Some(BuildsOver<9>),
    Many(BuildsOver<18>),
}

impl Builds {
    fn of_rod(stage: &RodStage<'_>) -> Option<Self> {
        let open = stage.rod().open(&stage.ranges.all);
        match open.len() {
            0 => builds_over(stage, &open).map(Self::One),
            1..=3 => builds_over(stage, &open).map(Self::Few),
            4..=8 => builds_over(stage, &open).map(Self::Some),
            9..=17 => builds_over(stage, &open).map(Self::Many),
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
fn builds_over<const N: usize>(stage: &RodStage<'_>, open: &[usize]) -> Option<BuildsOver<N>> {
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
    Some(BuildsOver { all, middle, reach })
}

fn of_sizes<T: Angular>(stage: &RodStage<'_>, sizes: &[T]) -> Option<DriveBuild<T>> {
    let read = stage.rod().read(sizes, false)?;
    Some(DriveBuild::Rod { built: read.built, ahead: read.ahead })
}
