//! One drive of a chain with every build that its drawing allows: the largest value of a claim over a range of joint turns.

use std::cell::RefCell;

use super::super::claims::Zeroing;
use super::super::criterion::MET_WITHIN;
use super::claims::{Claim, Figure, Rod, Turns};
use super::poses;
use super::question::SizeRanges;
use super::shared::Shared;
use crate::drive::{Built, Drawing, FixedRatio, JointDrive, OneJoint as _, RodDrive, Size};
use crate::numeric::Interval;
use crate::numeric::search::Effort;

/// A drive that is no chain itself.
#[derive(Clone, Debug)]
pub(super) enum Stage<'a> {
    /// With one rod.
    Rod(Box<RodStage<'a>>),
    /// A belt or gear.
    Ratio(f64),
}

/// A drive with one rod and the ranges of its sizes.
#[derive(Clone, Debug)]
pub(super) struct RodStage<'a> {
    drawing: &'a Drawing,
    drive: &'a RodDrive,
    sizes: Vec<Size>,
    drawn: Built<Interval>,
    pub(super) ranges: SizeRanges,
    zeroing: Zeroing,
    shared: Shared,
    ranges_over: RefCell<Vec<(Asked, Option<Ends>)>>,
}

/// Which figure, over which joint turns, how hard looked for.
type Asked = (Figure, Interval, Effort);

/// What a figure lies between, and the sizes that are worst, upward and downward.
pub(super) type Ends = (Interval, [Vec<f64>; 2]);

/// The largest value of a claim.
#[derive(Clone, Debug)]
pub(super) struct Largest {
    /// It is certainly not above this; infinite where nothing is certain.
    pub(super) upper: f64,
    /// The largest seen.
    pub(super) seen: f64,
    /// Where it was seen.
    pub(super) sizes: Vec<f64>,
    pub(super) joint: f64,
    /// Encloses the value there, whichever way its decimals became floats.
    pub(super) at: Interval,
    pub(super) boxes: u32,
}

/// Roundings between a decimal and its float in SI, at most.
const DECIMALS: u32 = 4;

impl<'a> Stage<'a> {
    /// The stages of `drive`, in order from the motor; `None` where a drawing has no build.
    pub(super) fn all(
        drawing: &'a Drawing,
        drive: &'a JointDrive,
        ranges: &SizeRanges,
        zeroing: Zeroing,
    ) -> Option<Vec<Self>> {
        let mut left = (ranges.all.as_slice(), ranges.typed.as_slice());
        let mut stages = Vec::new();
        let parts: Vec<(&Drawing, &JointDrive)> = match (drawing, drive) {
            (Drawing::Series(drawings), JointDrive::Series(drives)) => {
                drawings.iter().zip(&drives.0).collect()
            }
            _ => vec![(drawing, drive)],
        };
        for (drawing, drive) in parts {
            let count = drawing.sizes().len();
            let ranges = SizeRanges {
                all: left.0.get(..count)?.to_vec(),
                typed: left.1.get(..count)?.to_vec(),
            };
            left = (left.0.get(count..)?, left.1.get(count..)?);
            stages.push(Self::of(drawing, drive, ranges, zeroing)?);
        }
        Some(stages)
    }

    fn of(
        drawing: &'a Drawing,
        drive: &'a JointDrive,
        ranges: SizeRanges,
        zeroing: Zeroing,
    ) -> Option<Self> {
        match drive {
            JointDrive::Ratio(FixedRatio(ratio)) => Some(Self::Ratio(*ratio)),
            JointDrive::Rod(drive) => {
                let sizes = drawing.sizes();
                let exactly: Vec<Interval> =
                    sizes.iter().map(|size| Interval::point(size.value)).collect();
                let drawn = drawing.built(&exactly)?;
                let shared = Shared::default();
                let ranges_over = RefCell::default();
                let stage =
                    RodStage { drawing, drive, sizes, drawn, ranges, zeroing, shared, ranges_over };
                Some(Self::Rod(Box::new(stage)))
            }
            JointDrive::Series(_) => None,
        }
    }
}

impl RodStage<'_> {
    fn claim(&self, figure: Figure, side: f64) -> Claim<'_> {
        Claim { rod: self.rod(), figure, side }
    }

    pub(super) fn rod(&self) -> Rod<'_> {
        let Self { drawing, drive, sizes, drawn, zeroing, .. } = self;
        let is_set_by_crank = sizes.iter().any(|size| size.name == "zero_crank");
        Rod { drawing, drive, sizes, zeroing: *zeroing, is_set_by_crank, drawn }
    }

    /// The largest value of `side` × `figure` over `turns`.
    pub(super) fn largest(
        &self,
        figure: Figure,
        side: f64,
        turns: Turns,
        effort: &Effort,
    ) -> Largest {
        let claim = self.claim(figure, side);
        let found = poses::largest(&claim, &self.ranges, turns, effort, &self.shared);
        let around = |x: &f64| Interval::around(*x, DECIMALS);
        let sizes: Vec<Interval> = found.sizes.iter().map(around).collect();
        let at = claim.enclosed(&sizes, around(&found.joint));
        Largest {
            upper: found.upper,
            seen: found.lower,
            sizes: found.sizes,
            joint: found.joint,
            at: at.unwrap_or(Interval::ENTIRE),
            boxes: found.boxes,
        }
    }

    /// What `figure` lies between over `turns`, known from before where it was asked for; `None` where nothing is certain.
    pub(super) fn range(&self, figure: Figure, turns: Interval, effort: &Effort) -> Option<Ends> {
        let asked = (figure, turns, *effort);
        if let Some((_, known)) = self.ranges_over.borrow().iter().find(|(of, _)| *of == asked) {
            return known.clone();
        }
        let over = Turns { all: turns, typed: turns };
        let [up, down] = [1.0, -1.0].map(|side| self.largest(figure, side, over, effort));
        let range = Interval::new(-down.upper, up.upper);
        let ends = range.width().is_finite().then_some((range, [up.sizes, down.sizes]));
        self.ranges_over.borrow_mut().push((asked, ends.clone()));
        ends
    }

    /// `figure` of one build at one joint turn, enclosed whichever way its decimals became floats.
    pub(super) fn enclosed(
        &self,
        figure: Figure,
        sizes: &[f64],
        joint: Interval,
    ) -> Option<Interval> {
        let sizes: Vec<Interval> = sizes.iter().map(|x| Interval::around(*x, DECIMALS)).collect();
        self.claim(figure, 1.0).enclosed(&sizes, joint)
    }

    /// The same in plain floats; `None` where it has no value.
    pub(super) fn plain(&self, figure: Figure, sizes: &[f64], joint: f64) -> Option<f64> {
        self.claim(figure, 1.0).plain(sizes, joint)
    }

    /// Is there a bolt to tell the tilt of the ball from at this end?
    pub(super) fn has_bolt(&self, end: usize) -> bool {
        self.plain(Figure::Tilt(end), &self.drawn(), 0.0).is_some()
    }

    /// An actuator's shortest and longest, where they are given.
    pub(super) fn lengths(&self) -> Option<[f64; 2]> {
        match self.drawing {
            Drawing::PlanarActuator { lengths, .. } | Drawing::ActuatorPoints { lengths, .. } => {
                *lengths
            }
            _ => None,
        }
    }

    /// The drawn drive's motor turn; NaN where it cannot be told.
    pub(super) fn drawn_motor(&self, joint: f64) -> f64 {
        self.drive.motor_turn(joint).unwrap_or(f64::NAN)
    }

    /// Is there a build in the corners of the box, in a pose of `turns`, whose rod certainly does not reach?
    pub(super) fn fails_to_reach(&self, turns: Interval) -> bool {
        self.corners(turns).any(|(joint, corner)| {
            let side = self.enclosed(Figure::JointSide, &corner, Interval::point(joint));
            side.is_none() && self.plain(Figure::JointSide, &corner, joint).is_none()
        })
    }

    /// Is there one among them whose actuator is certainly beyond its own ends?
    pub(super) fn exceeds_lengths(&self, turns: Interval) -> bool {
        let Some([shortest, longest]) = self.lengths() else { return false };
        self.corners(turns).any(|(joint, corner)| {
            let travel = self.enclosed(Figure::Travel, &corner, Interval::point(joint));
            travel.is_some_and(|x| x.lo() > longest + MET_WITHIN || x.hi() < shortest - MET_WITHIN)
        })
    }

    /// The worst corners of the box at the ends of `turns` and in the zero pose.
    fn corners(&self, turns: Interval) -> impl Iterator<Item = (f64, Vec<f64>)> {
        let poses = [turns.lo(), turns.hi(), 0.0].into_iter();
        poses.flat_map(|joint| [1.0, -1.0].map(|way| (joint, self.corner(joint, way))))
    }

    /// The corner of the box towards which the travel, else the sine at the joint's side, rises (+1) or falls.
    fn corner(&self, joint: f64, way: f64) -> Vec<f64> {
        let drawn = self.drawn();
        let of = |sizes: &[f64]| {
            let travel =
                self.plain(Figure::Travel, sizes, joint).filter(|_| self.lengths().is_some());
            travel.or_else(|| self.plain(Figure::JointSide, sizes, joint)).unwrap_or(0.0)
        };
        let before = of(&drawn);
        let end = |(k, range): (usize, &Interval)| {
            let mut moved = drawn.clone();
            if let Some(size) = moved.get_mut(k) {
                *size = range.hi();
            }
            if way * (of(&moved) - before) >= 0.0 { range.hi() } else { range.lo() }
        };
        self.ranges.typed.iter().enumerate().map(end).collect()
    }

    /// How many sizes it has.
    pub(super) fn count(&self) -> usize {
        self.sizes.len()
    }

    /// The sizes as drawn.
    pub(super) fn drawn(&self) -> Vec<f64> {
        self.sizes.iter().map(|size| size.value).collect()
    }

    /// Does a crank or nut, which can have a dead point, stand at its motor's end?
    pub(super) fn has_motor_side(&self) -> bool {
        self.plain(Figure::CrankSide, &self.drawn(), 0.0).is_some()
    }
}
