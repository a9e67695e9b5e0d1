//! What has to hold, as functions of a build's sizes and the joint turn, with their slopes.
//!
//! A point is (sizes in the drawing's order, nothing up to the last, joint turn). The joint turn is the turn that the robot
//! reads: from the build's own zero pose where each is zeroed there; else a crank stands at its drawn angle and the lever
//! stands where the sizes put it, or the lever at its drawn angle and a screw where they put that.

use super::super::claims::Zeroing;
use crate::drive::{
    Angular, Built, Drawing, Measure, OneJoint as _, Reached, RodDrive, RodPose, Size, Vector,
};
use crate::numeric::search::{Curvatures, Objective};
use crate::numeric::{Bent, Interval, Jet};

/// One rod with every build that its drawing may make.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rod<'a> {
    pub(super) drawing: &'a Drawing,
    pub(super) drive: &'a RodDrive,
    /// As drawn.
    pub(super) sizes: &'a [Size],
    pub(super) zeroing: Zeroing,
    /// A crank's angle is what the zero pose is set by.
    pub(super) is_set_by_crank: bool,
    /// The drawn zero pose, from which zeros are told that are not set on each robot.
    pub(super) drawn: &'a Built<Interval>,
}

/// What is claimed of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Figure {
    /// i/ratio − 1.
    Ratio(f64),
    /// joint turn − motor turn/ratio − offset, rad: of (ratio, offset).
    Angle(f64, f64),
    /// Sine of the transmission angle, signed.
    JointSide,
    /// Sine of the angle at the motor's end, signed.
    CrankSide,
    /// Sine of the tilt of the ball at P (0) or Q (1), signed.
    Tilt(usize),
    /// Length along the slide line, or the nut's travel.
    Travel,
}

/// ± a figure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Claim<'a> {
    pub(super) rod: Rod<'a>,
    pub(super) figure: Figure,
    /// +1 or −1: which side is bounded.
    pub(super) side: f64,
}

impl Rod<'_> {
    fn built<T: Angular>(&self, at: &[T]) -> Option<(Built<T>, T)> {
        let (joint, sizes) = at.split_last()?;
        let built = self.drawing.built(sizes.get(..self.sizes.len())?)?;
        Some((built, *joint))
    }

    /// The turn from the build's own zero pose at the joint turn that is read.
    fn own_turn<T: Angular>(&self, built: &Built<T>, joint: T) -> T {
        match self.zeroing {
            Zeroing::AsDrawn if self.is_set_by_crank => {
                joint - built.ahead_of(Vector::constant(self.drawn.foot - self.drawn.joint.point))
            }
            _ => joint,
        }
    }

    fn pose<T: Angular>(&self, at: &[T]) -> Option<RodPose<T>> {
        let (built, joint) = self.built(at)?;
        built.pose(self.own_turn(&built, joint))
    }

    /// i.
    fn ratio<T: Angular>(&self, at: &[T]) -> Option<T> {
        let (built, joint) = self.built(at)?;
        Some(built.at(self.own_turn(&built, joint))?.1)
    }

    /// The motor turn that is read.
    fn motor<T: Angular>(&self, at: &[T]) -> Option<T> {
        let (built, joint) = self.built(at)?;
        let own = self.own_turn(&built, joint);
        let [_, zero] = self.drive.zero_angles();
        let guess = zero + self.drive.motor_turn(own.middle()).ok()?;
        let here = built.input.angle(built.at(own)?.0.place, guess);
        Some(here - self.zero_reading(&built, zero)?)
    }

    /// The input's angle where the motor reads zero.
    fn zero_reading<T: Angular>(&self, built: &Built<T>, guess: f64) -> Option<T> {
        if self.zeroing == Zeroing::AsDrawn && !self.is_set_by_crank {
            let Reached { place, .. } = self.drawn.at(Interval::ZERO)?.0;
            return Some(T::constant(self.drawn.input.angle(place, guess)));
        }
        Some(built.input.angle(built.at(T::exactly(0.0))?.0.place, guess))
    }
}

/// Variables of a build, at most.
const MOST: usize = 18;

impl Claim<'_> {
    fn value<T: Angular>(&self, at: &[T]) -> Option<T> {
        let (rod, joint) = (&self.rod, *at.last()?);
        let value = match self.figure {
            Figure::Ratio(ratio) => rod.ratio(at)? / T::exactly(ratio) - T::exactly(1.0),
            Figure::Angle(ratio, offset) => {
                joint - rod.motor(at)? / T::exactly(ratio) - T::exactly(offset)
            }
            Figure::JointSide => rod.pose(at)?.sin_transmission(),
            Figure::CrankSide => rod.pose(at)?.sin_input()?,
            Figure::Tilt(end) => (*rod.pose(at)?.sin_tilts().get(end)?)?,
            Figure::Travel => rod.pose(at)?.travel()?,
        };
        Some(value * T::exactly(self.side))
    }

    /// By each size, what the ratio's slope adds up to on the way from the zero pose, which is the closer one near it; by the
    /// joint turn, the ratio's own error.
    fn on_the_way<const N: usize>(
        &self,
        over: &[Interval; N],
        ratio: f64,
    ) -> Option<[Interval; N]> {
        let joint = *over.last()?;
        let factor = -(Interval::point(self.side) / Interval::point(ratio));
        let mut way = jets(over);
        *way.last_mut()? = Jet::constant(joint.hull(Interval::ZERO));
        let mut slopes = self.rod.ratio(&way)?.slopes.map(|slope| slope * joint * factor);
        *slopes.last_mut()? = self.rod.ratio(over)? * factor + Interval::point(self.side);
        Some(slopes)
    }
}

impl Claim<'_> {
    /// The curvatures by the variables `open`, M at most; none by the others.
    fn bends<const M: usize, const N: usize>(
        &self,
        over: &[Interval; N],
        open: &[usize],
    ) -> Option<Curvatures<N>> {
        let mut at = over.map(Bent::<M>::constant);
        for (own, k) in open.iter().enumerate() {
            let slot = at.get_mut(*k)?;
            *slot = Bent::variable(own, slot.value);
        }
        let value = self.value(&at)?;
        let mut all = [[Interval::ZERO; N]; N];
        for (row, k) in open.iter().enumerate() {
            for (column, j) in open.iter().enumerate() {
                *all.get_mut(*k)?.get_mut(*j)? = value.curvature(row, column)?;
            }
        }
        all.iter().flatten().all(|bend| bend.width().is_finite()).then_some(all)
    }
}

/// The variables as values with gradients by themselves.
fn jets<const N: usize>(over: &[Interval; N]) -> [Jet<N>; N] {
    let mut jets = over.map(Jet::constant);
    for (k, jet) in jets.iter_mut().enumerate() {
        *jet = Jet::variable(k, jet.value);
    }
    jets
}

impl<const N: usize> Objective<N> for Claim<'_> {
    fn enclose(&self, at: &[Interval; N]) -> Option<Interval> {
        self.value(at).filter(|value| value.width().is_finite())
    }

    /// Slopes that are known everywhere: none where a build may not reach, or comes in line.
    fn gradient(&self, over: &[Interval; N]) -> Option<[Interval; N]> {
        let mut slopes = self.value(&jets(over))?.slopes;
        if let (Figure::Angle(ratio, _), Zeroing::OnEachRobot) = (self.figure, self.rod.zeroing)
            && let Some(way) = self.on_the_way(over, ratio)
        {
            for (slope, by_way) in slopes.iter_mut().zip(way) {
                *slope = slope.intersection(by_way).unwrap_or(*slope);
            }
        }
        slopes.iter().all(|slope| slope.width().is_finite()).then_some(slopes)
    }

    fn curvatures(&self, over: &[Interval; N]) -> Option<Curvatures<N>> {
        let is_open = |(k, over): (usize, &Interval)| (over.lo() < over.hi()).then_some(k);
        let open: Vec<usize> = over.iter().enumerate().filter_map(is_open).collect();
        match open.len() {
            0..=2 => self.bends::<2, N>(over, &open),
            3..=5 => self.bends::<5, N>(over, &open),
            6..=9 => self.bends::<9, N>(over, &open),
            _ => self.bends::<MOST, N>(over, &open),
        }
    }

    fn sample(&self, at: &[f64; N]) -> Option<f64> {
        self.value(at).filter(|value| value.is_finite())
    }

    fn scale(&self) -> [f64; N] {
        let mut scale = [1.0; N];
        let arm = self.rod.drive.geometry().joint.radius;
        for (one, size) in scale.iter_mut().zip(self.rod.sizes) {
            *one = if size.measure == Measure::Length { arm } else { 1.0 };
        }
        scale
    }
}
