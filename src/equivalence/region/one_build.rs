//! Builds one by one over the region in plain floats, for who draws them at random: seen over a grid, each figure followed
//! uphill from its worst node. Computed, not proved.

use super::super::criterion::Criterion;
use super::figures::{Peak, Plain, Seen};
use super::question::RegionQuestion;
use super::values::{Figure, Setting, Values, norm};
use crate::numeric::evenly;

/// Pieces of each range at whose ends every build is looked at.
const PIECES: u32 = 8;

/// Steps uphill end at this share of the first one, which is a twelfth of the region.
const CLOSE: f64 = 0.05;

/// What all builds over one region share.
#[derive(Clone, Debug)]
pub struct RegionBuilds<'a> {
    setting: Setting<'a>,
    nodes: Vec<Node>,
    /// Which of the sines that may not change their sign are positive in the drawn drive.
    sides: [bool; 4],
}

/// A pose, and what both motors of the drawn drive turn there.
#[derive(Clone, Copy, Debug)]
struct Node {
    joints: [f64; 2],
    turns: [f64; 2],
}

/// The errors of one build in one pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionErrors {
    /// E: rows read, columns moved, pitch before roll.
    pub rates: [[f64; 2]; 2],
    /// Angle errors of pitch and roll, rad.
    pub angles: [f64; 2],
}

impl RegionErrors {
    /// The largest singular value of E.
    #[must_use]
    pub fn norm(&self) -> f64 {
        norm(self.rates)
    }
}

/// The worst of one build over the region: a figure for each of [`RegionBuilds::CRITERIA`], not negative, in its unit; `None`
/// for the ends of a crank where none turns.
pub type RegionWorst = [Option<Peak>; 5];

impl<'a> RegionBuilds<'a> {
    /// What a build is held against.
    pub const CRITERIA: [Criterion; 5] = [
        Criterion::Ratio,
        Criterion::Angle,
        Criterion::TransmissionAngle,
        Criterion::CrankSide,
        Criterion::BallTilt,
    ];

    /// The builds that `question` is about; `None` where the drawn one cannot be followed over the region.
    #[must_use]
    pub fn of(question: &'a RegionQuestion<'a>) -> Option<Self> {
        let setting = Setting::of(question)?;
        let [pitch, roll] = question.turns;
        let mut nodes = Vec::new();
        for p in evenly(pitch, PIECES) {
            for r in evenly(roll, PIECES) {
                let joints = [p, r];
                nodes.push(Node { joints, turns: question.drive.motor_turns(joints).ok()? });
            }
        }
        let zero = Plain::of(&setting, &setting.drawn_sizes())?.seen([0.0; 2], [0.0; 2])?;
        let sides = sides(&zero.values);
        Some(Self { setting, nodes, sides })
    }

    /// The sizes as drawn.
    #[must_use]
    pub fn drawn_sizes(&self) -> Vec<f64> {
        self.setting.drawn_sizes()
    }

    /// The build that `sizes` make, in every node; `None` where it does not reach one or the zero pose, or gets there only
    /// through a singular pose.
    fn seen(&self, plain: &Plain<'_>) -> Option<Vec<Seen>> {
        let at = |joints, turns| {
            let seen = plain.seen(joints, turns)?;
            (sides(&seen.values) == self.sides).then_some(seen)
        };
        at([0.0; 2], [0.0; 2])?;
        self.nodes.iter().map(|node| at(node.joints, node.turns)).collect()
    }

    /// The worst of the build that `sizes` make; `None` where it does not reach all of the region.
    #[must_use]
    pub fn worst(&self, sizes: &[f64]) -> Option<RegionWorst> {
        let plain = Plain::of(&self.setting, sizes)?;
        let seen = self.seen(&plain)?;
        let mut worst = [None; 5];
        for (slot, criterion) in worst.iter_mut().zip(Self::CRITERIA) {
            if self.is_there(criterion) {
                *slot = Some(worst_of(&plain, &seen, criterion)?);
            }
        }
        Some(worst)
    }

    /// Has the drive any figure of `criterion`?
    #[must_use]
    pub fn is_there(&self, criterion: Criterion) -> bool {
        let is_of_crank = matches!(criterion, Criterion::CrankSide | Criterion::BallTilt);
        !is_of_crank || self.setting.has_crank() != [false; 2]
    }

    /// The errors in every node of the build that `sizes` make; `None` as for [`RegionBuilds::worst`].
    #[must_use]
    pub fn errors(&self, sizes: &[f64]) -> Option<Vec<RegionErrors>> {
        let seen = self.seen(&Plain::of(&self.setting, sizes)?)?;
        let errors =
            |seen: &Seen| RegionErrors { rates: seen.values.rates, angles: seen.values.angles };
        Some(seen.iter().map(errors).collect())
    }
}

/// Which of the sines at both ends of both rods are positive: none may pass 0 between the zero pose and any other.
fn sides(values: &Values<f64>) -> [bool; 4] {
    let all =
        [Figure::JointSide(0), Figure::JointSide(1), Figure::CrankSide(0), Figure::CrankSide(1)];
    all.map(|figure| values.of(figure) > 0.0)
}

fn worst_of(plain: &Plain<'_>, seen: &[Seen], criterion: Criterion) -> Option<Peak> {
    let own = Figure::ALL.into_iter().filter(|figure| figure.criterion() == Some(criterion));
    let all = own.flat_map(|figure| seen.iter().map(move |seen| (figure, seen)));
    let size = |(figure, seen): &(Figure, &Seen)| figure.size(&seen.values);
    let (figure, start) = all.max_by(|a, b| size(a).total_cmp(&size(b)))?;
    let Peak { value, joints } = plain.near(figure, start.joints, start.turns, CLOSE)?;
    let value = match criterion {
        Criterion::Angle | Criterion::Ratio => value.abs(),
        _ => libm::asin(value.abs().min(1.0)),
    };
    Some(Peak { value, joints })
}
