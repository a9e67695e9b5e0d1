//! What has to hold, as functions of a build's sizes and the joint turn, with their slopes.
//!
//! A point is (sizes in the drawing's order, nothing up to the last, joint turn). The joint turn is the turn that the robot
//! reads: from the build's own zero pose where each is zeroed there; else a crank stands at its drawn angle and the lever
//! stands where the sizes put it, or the lever at its drawn angle and a screw where they put that.

use std::cell::OnceCell;

use super::super::claims::Zeroing;
use crate::drive::{
    Angular, Built, Drawing, Measure, Place, Reached, RodDrive, RodOver, RodPose, RodShare, Size,
    Vector,
};
use crate::numeric::search::rise;
use crate::numeric::{Interval, Jet, Scalar as _};

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

/// Joint turns: all that the claim is over, and those that a witness may have.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turns {
    pub(super) all: Interval,
    pub(super) typed: Interval,
}

/// ± a figure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Claim<'a> {
    pub(super) rod: Rod<'a>,
    pub(super) figure: Figure,
    /// +1 or −1: which side is bounded.
    pub(super) side: f64,
}

/// A build, or all of a box, with how its turns are read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Read<T> {
    pub(super) built: Built<T>,
    /// How far its zero pose is ahead of where its turns are read from, where that is not the zero pose itself.
    pub(super) ahead: Option<T>,
    /// The input's angle where the motor reads zero, where that is asked for.
    zero: Option<T>,
}

impl<T: Angular> Read<T> {
    /// The turn from the build's own zero pose at the joint turn that is read.
    pub(super) fn own_turn(&self, joint: T) -> T {
        self.ahead.map_or(joint, |ahead| joint - ahead)
    }
}

impl Rod<'_> {
    /// The build of `sizes`, with its zero reading where that is wanted; `None` where it does not close.
    pub(super) fn read<T: Angular>(&self, sizes: &[T], is_zero_wanted: bool) -> Option<Read<T>> {
        let built = self.drawing.built(sizes)?;
        let is_ahead = self.zeroing == Zeroing::AsDrawn && self.is_set_by_crank;
        let lever = || Vector::constant(self.drawn.foot - self.drawn.joint.point);
        let ahead = is_ahead.then(|| built.ahead_of(lever()));
        let zero = if is_zero_wanted { Some(self.zero_reading(&built)?) } else { None };
        Some(Read { built, ahead, zero })
    }

    /// The input's angle where the motor reads zero.
    fn zero_reading<T: Angular>(&self, built: &Built<T>) -> Option<T> {
        let [_, guess] = self.drive.zero_angles();
        if self.is_zero_drawn() {
            let Reached { place, .. } = self.drawn.at(Interval::ZERO)?.0;
            return Some(T::constant(self.drawn.input.angle(place, guess)));
        }
        Some(built.input.angle(built.at(T::exactly(0.0))?.0.place, guess))
    }

    /// Is zero read where the drawn zero pose has it?
    fn is_zero_drawn(&self) -> bool {
        self.zeroing == Zeroing::AsDrawn && !self.is_set_by_crank
    }

    /// Near the input's angle at the turn `own` from the zero pose.
    fn guess(&self, own: f64) -> Option<f64> {
        self.drive.motor_angle_at(own).ok()
    }
}

impl Claim<'_> {
    /// The build of `sizes`; `None` where it does not close.
    pub(super) fn read<T: Angular>(&self, sizes: &[T]) -> Option<Read<T>> {
        self.rod.read(sizes, matches!(self.figure, Figure::Angle(..)))
    }

    /// Its value for the build of `read` at the joint turn `joint`.
    pub(super) fn at<T: Angular>(&self, read: &Read<T>, joint: T) -> Option<T> {
        let own = read.own_turn(joint);
        let value = match self.figure {
            Figure::Ratio(_) | Figure::Angle(..) => {
                let (reached, ratio) = read.built.at(own)?;
                self.of_motion(reached.place, ratio, read, [joint, own])?
            }
            _ => self.of_pose(&read.built.pose(own)?)?,
        };
        Some(value * T::exactly(self.side))
    }

    /// Ratio or angle error from place and ratio, at the joint turn that is read, and that from the zero pose.
    fn of_motion<T: Angular>(
        &self,
        place: Place<T>,
        ratio: T,
        read: &Read<T>,
        [joint, own]: [T; 2],
    ) -> Option<T> {
        match self.figure {
            Figure::Ratio(constant) => Some(ratio / T::exactly(constant) - T::exactly(1.0)),
            Figure::Angle(constant, offset) => {
                let guess = self.rod.guess(own.middle())?;
                let motor = read.built.input.angle(place, guess) - read.zero?;
                Some(joint - motor / T::exactly(constant) - T::exactly(offset))
            }
            _ => None,
        }
    }

    /// A margin or the travel.
    fn of_pose<T: Angular>(&self, pose: &RodPose<T>) -> Option<T> {
        match self.figure {
            Figure::Ratio(_) | Figure::Angle(..) => None,
            Figure::JointSide => Some(pose.sin_transmission()),
            Figure::CrankSide => pose.sin_input(),
            Figure::Tilt(end) => *pose.sin_tilts().get(end)?,
            Figure::Travel => pose.travel(),
        }
    }

    /// Its value for the build of `sizes` at the joint turn `joint`, enclosed; `None` where it cannot be told.
    pub(super) fn enclosed(&self, sizes: &[Interval], joint: Interval) -> Option<Interval> {
        let value = self.at(&self.read(sizes)?, joint)?;
        value.width().is_finite().then_some(value)
    }

    /// The same in plain floats.
    pub(super) fn plain(&self, sizes: &[f64], joint: f64) -> Option<f64> {
        self.at(&self.read(sizes)?, joint).filter(|value| value.is_finite())
    }
}

/// Every build in a box of sizes.
#[derive(Clone, Debug)]
pub(super) struct Batch {
    /// In the drawing's order.
    pub(super) sizes: Vec<Interval>,
    read: Read<Interval>,
    open: Vec<OpenSize>,
}

/// A size with a range, and what it does by each unit.
#[derive(Clone, Copy, Debug)]
struct OpenSize {
    /// Its place among the sizes.
    place: usize,
    /// To the build in its zero pose.
    by: Built<Interval>,
    /// To how far that is ahead.
    ahead: Option<Interval>,
    /// To the zero reading.
    zero: Interval,
}

/// A batch over a range of joint turns.
#[derive(Clone, Debug)]
pub(super) struct Look {
    over: RodOver,
    /// Joint turns that are read, and those from the zero pose.
    turns: [Interval; 2],
    by_turn: RodShare,
    /// By each open size of the batch, once that is asked for.
    by_sizes: OnceCell<Vec<RodShare>>,
}

/// Ways from the zero pose up to this, rad, are short.
const SHORT_WAY: f64 = 0.25;

/// Ranges below this, as a share of their scale, are roundings: nothing is differentiated by them.
const ROUNDING: f64 = 1e-12;

impl Batch {
    /// All builds of `rod` whose sizes lie in `sizes`; `None` where one may not close.
    pub(super) fn new(rod: &Rod<'_>, sizes: Vec<Interval>) -> Option<Self> {
        let open = rod.open(&sizes);
        Self::by_sizes(rod, sizes, &open)
    }

    /// The same, differentiated by the sizes at these places.
    pub(super) fn by_sizes(rod: &Rod<'_>, sizes: Vec<Interval>, places: &[usize]) -> Option<Self> {
        match places.len() {
            0 => Some(Self { read: rod.read(&sizes, true)?, sizes, open: Vec::new() }),
            1..=2 => Self::by::<2>(rod, sizes, places),
            3..=4 => Self::by::<4>(rod, sizes, places),
            5..=8 => Self::by::<8>(rod, sizes, places),
            _ => Self::by::<17>(rod, sizes, places),
        }
    }

    fn by<const M: usize>(rod: &Rod<'_>, sizes: Vec<Interval>, places: &[usize]) -> Option<Self> {
        let mut jets: Vec<Jet<M>> = sizes.iter().copied().map(Jet::constant).collect();
        for (own, place) in places.iter().enumerate() {
            let slot = jets.get_mut(*place)?;
            *slot = Jet::variable(own, slot.value);
        }
        let known = rod.read(&jets, true)?;
        let its_zero = known.zero?;
        let read = Read {
            built: known.built.map(|jet| jet.value),
            ahead: known.ahead.map(|jet| jet.value),
            zero: Some(its_zero.value),
        };
        let zero_pose = RodOver::new(&read.built, Interval::ZERO)?;
        let slope = |jet: &Jet<M>, own: usize| jet.slopes.get(own).copied();
        let open = |(own, place): (usize, &usize)| {
            let by = known.built.map(|jet| slope(jet, own).unwrap_or(Interval::ENTIRE));
            let mut zero = slope(&its_zero, own)?;
            if !rod.is_zero_drawn() {
                zero = zero.both_ways(zero_pose.motor_slope(&zero_pose.of_size(&by)));
            }
            let ahead = known.ahead.map(|jet| slope(&jet, own).unwrap_or(Interval::ENTIRE));
            Some(OpenSize { place: *place, by, ahead, zero })
        };
        let open = places.iter().enumerate().map(open).collect::<Option<_>>()?;
        Some(Self { sizes, read, open })
    }

    /// The places of the sizes with a range.
    pub(super) fn open(&self) -> impl Iterator<Item = usize> {
        self.open.iter().map(|size| size.place)
    }

    /// Over the joint turns `turns`; `None` where a rod may not reach.
    pub(super) fn look(&self, turns: Interval) -> Option<Look> {
        let own = self.read.own_turn(turns);
        let over = RodOver::new(&self.read.built, own)?;
        let by_turn = over.of_turn();
        Some(Look { over, turns: [turns, own], by_turn, by_sizes: OnceCell::new() })
    }
}

impl Look {
    /// What each open size of `batch`, which this is a look at, moves.
    fn by_sizes(&self, batch: &Batch) -> &[RodShare] {
        let by_size = |size: &OpenSize| {
            let share = self.over.of_size(&size.by);
            size.ahead.map_or(share, |ahead| share.with(&self.by_turn, -ahead))
        };
        self.by_sizes.get_or_init(|| batch.open.iter().map(by_size).collect())
    }
}

impl Claim<'_> {
    /// Its value anywhere in a look; `None` where it cannot be told.
    pub(super) fn over(&self, batch: &Batch, look: &Look) -> Option<Interval> {
        let pose = &look.over.pose;
        let value = match self.figure {
            Figure::Ratio(_) | Figure::Angle(..) => {
                self.of_motion(pose.reached.place, pose.ratio, &batch.read, look.turns)?
            }
            _ => self.of_pose(pose)?,
        };
        let value = value * Interval::point(self.side);
        value.width().is_finite().then_some(value)
    }

    /// Its value at one joint turn and, of an angle error, its slope by that; `None` where it cannot be told.
    pub(super) fn at_turn(
        &self,
        read: &Read<Interval>,
        joint: f64,
    ) -> Option<(Interval, Option<Interval>)> {
        let (joint, side) = (Interval::point(joint), Interval::point(self.side));
        let (value, slope) = match self.figure {
            Figure::Angle(constant, _) => {
                let own = read.own_turn(joint);
                let (reached, ratio) = read.built.at(own)?;
                let value = self.of_motion(reached.place, ratio, read, [joint, own])?;
                (value * side, Some(off(ratio, constant) * side))
            }
            _ => (self.at(read, joint)?, None),
        };
        value.width().is_finite().then_some((value, slope))
    }

    /// Its slopes by the open sizes of a batch.
    pub(super) fn slopes(&self, batch: &Batch, look: &Look) -> Option<Vec<Interval>> {
        let side = Interval::point(self.side);
        let way = self.on_the_way(batch, look);
        let all =
            batch.open.iter().zip(look.by_sizes(batch)).enumerate().map(|(k, (size, share))| {
                let slope = match self.figure {
                    Figure::Angle(ratio, _) => {
                        let motor = look.over.motor_slope(share) - size.zero;
                        let closer = way.as_ref().and_then(|way| way.get(k)).copied();
                        let motor = motor.both_ways(closer.unwrap_or(Interval::ENTIRE));
                        -(motor / Interval::point(ratio))
                    }
                    _ => self.slope_by(&look.over, share)?,
                };
                Some(slope * side)
            });
        all.collect()
    }

    /// By each open size of a batch, what the ratio's slope adds up to on the way from the zero pose: near it that is closer to
    /// what the motor turn gains than the difference of both places. `None` where it is not.
    fn on_the_way(&self, batch: &Batch, look: &Look) -> Option<Vec<Interval>> {
        let is_asked = matches!(self.figure, Figure::Angle(..))
            && self.rod.zeroing == Zeroing::OnEachRobot
            && !batch.open.is_empty();
        let [turns, _] = look.turns;
        let way = turns.hull(Interval::ZERO);
        if !is_asked || way.width() > SHORT_WAY {
            return None;
        }
        let way = batch.look(way)?;
        let gain = |share: &RodShare| way.over.ratio_slope(share) * turns;
        Some(way.by_sizes(batch).iter().map(gain).collect())
    }

    /// Its slope by the joint turn.
    pub(super) fn turn_slope(&self, look: &Look) -> Option<Interval> {
        let slope = match self.figure {
            Figure::Angle(ratio, _) => off(look.over.pose.ratio, ratio),
            _ => self.slope_by(&look.over, &look.by_turn)?,
        };
        Some(slope * Interval::point(self.side))
    }

    /// Its slope by the joint turn in every build of a batch `here`, at one turn. Where that of one build is known, `anchor`, those
    /// of the others are no further off than the slopes of the ratio by their sizes allow.
    pub(super) fn turn_slope_about(
        &self,
        batch: &Batch,
        here: &Look,
        (anchor, own): (&[Interval], Option<Interval>),
    ) -> Option<Interval> {
        let slope = self.turn_slope(here)?;
        let (Figure::Angle(ratio, _), Some(own)) = (self.figure, own) else { return Some(slope) };
        let side = Interval::point(self.side) / Interval::point(ratio);
        let mut closer = own;
        for (size, share) in batch.open.iter().zip(here.by_sizes(batch)) {
            let away = *batch.sizes.get(size.place)? - *anchor.get(size.place)?;
            closer = closer - here.over.ratio_slope(share) * away * side;
        }
        Some(slope.both_ways(closer))
    }

    /// The most by which it may rise from where it has this slope by the joint turn, anywhere in a look as far as `away`: by its
    /// curvature where that is known, else without bound.
    pub(super) fn turn_rise(&self, slope: Interval, look: &Look, away: Interval) -> f64 {
        let bend = self.turn_bend(look).filter(|bend| bend.width().is_finite());
        let rise = |bend: Interval| rise(slope.magnitude(), bend.hi(), away.magnitude());
        bend.map_or(f64::INFINITY, rise)
    }

    /// The most by which it may be above its larger end over all turns of a look, which are so wide: no more than curvature × width²/8
    /// above the straight line between both; infinite where its curvature is not known.
    pub(super) fn arch(&self, look: &Look, width: Interval) -> f64 {
        let bend = self.turn_bend(look).filter(|bend| bend.width().is_finite());
        let most = |bend: Interval| Interval::point((-bend.lo()).max(0.0));
        bend.map_or(f64::INFINITY, |bend| (most(bend) * width.square() / Interval::point(8.0)).hi())
    }

    /// Its curvature by the joint turn, where it has one.
    fn turn_bend(&self, look: &Look) -> Option<Interval> {
        let over = &look.over;
        let bend = match self.figure {
            Figure::Ratio(ratio) => over.bends()[1] / Interval::point(ratio),
            Figure::Angle(ratio, _) => -(over.bends()[0] / Interval::point(ratio)),
            Figure::JointSide => over.transmission_bend(),
            Figure::CrankSide => over.input_bend(),
            Figure::Tilt(end) => over.tilt_bend(end)?,
            Figure::Travel => over.place_bend(),
        };
        Some(bend * Interval::point(self.side))
    }

    fn slope_by(&self, over: &RodOver, share: &RodShare) -> Option<Interval> {
        Some(match self.figure {
            Figure::Ratio(ratio) => over.ratio_slope(share) / Interval::point(ratio),
            Figure::Angle(ratio, _) => -(over.motor_slope(share) / Interval::point(ratio)),
            Figure::JointSide => over.transmission_slope(share),
            Figure::CrankSide => over.input_slope(share),
            Figure::Tilt(end) => over.tilt_slope(end, share)?,
            Figure::Travel => share.place,
        })
    }
}

/// By how much a ratio is below this one, as a share of it: the slope of the angle error.
fn off(ratio: Interval, constant: f64) -> Interval {
    Interval::point(1.0) - ratio / Interval::point(constant)
}

impl Rod<'_> {
    /// The places of the sizes with a range.
    pub(super) fn open(&self, sizes: &[Interval]) -> Vec<usize> {
        let is_open = |(place, range): (usize, &Interval)| {
            (range.width() > ROUNDING * self.scale(place)).then_some(place)
        };
        sizes.iter().enumerate().filter_map(is_open).collect()
    }

    /// What a change of a size is measured by.
    pub(super) fn scale(&self, place: usize) -> f64 {
        let is_length = |size: &Size| size.measure == Measure::Length;
        let is_length = self.sizes.get(place).is_some_and(is_length);
        if is_length { self.drive.geometry().joint.radius } else { 1.0 }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::part::Part;
    use super::*;
    use crate::drive::{
        Assembly, Axis, BallRod, BallRodPoints, JointDrive, LinearActuator, Slider,
    };
    use crate::numeric::search::{Curvatures, Objective as _};

    fn drawings() -> [(Drawing, f64); 6] {
        let sizes = BallRod {
            ground: 0.3,
            crank: 0.045,
            coupler: 0.31,
            rocker: 0.06,
            axial: 0.01,
            twist: 0.08,
            lean: 0.03,
        };
        let rod = Drawing::BallRod { sizes, zero_crank: 1.5, assembly: Assembly::Open };
        let actuator = Drawing::PlanarActuator {
            ground: 0.3,
            rocker: 0.045,
            line_offset: 0.01,
            lead: 0.005,
            zero_rocker: 1.75,
            lengths: None,
        };
        let slider = Drawing::PlanarSlider {
            ground: 0.3,
            coupler: 0.09,
            rocker: 0.045,
            guide: [0.0, 0.0675],
            direction: 0.02,
            lead: 0.004,
            zero_rocker: 1.5,
            nut: 0.2,
        };
        let at = Vector::new;
        let axis = Axis { point: at(0.01, 0.3, 0.002), direction: at(0.08, -0.04, 1.0) };
        let rocker = at(0.05, 0.32, 0.012);
        let rod_points = Drawing::BallRodPoints(BallRodPoints {
            motor: Axis { point: at(0.0, 0.0, 0.01), direction: at(0.02, 0.05, 1.0) },
            joint: axis,
            crank: at(0.045, 0.01, 0.005),
            rocker,
            rod: Some(0.311),
        });
        let motor = at(0.05, -0.01, 0.004);
        let points = LinearActuator { motor, joint: axis, rocker, line_offset: 0.01, lead: 0.005 };
        let actuator_points = Drawing::ActuatorPoints { points, lengths: None };
        let direction = at(0.02, 1.0, -0.03);
        let points =
            Slider { guide: motor, direction, coupler: 0.09, joint: axis, rocker, lead: -0.004 };
        let slider_points = Drawing::SliderPoints { points, nut: 0.24 };
        [
            (rod, -0.7),
            (actuator, -55.0),
            (slider, 70.0),
            (rod_points, 0.8),
            (actuator_points, -50.0),
            (slider_points, 60.0),
        ]
    }

    /// ±0.1 mm and ±0.1 deg on the sizes, a thousandth of it on leads.
    fn around(sizes: &[Size]) -> Vec<Interval> {
        let range = |size: &Size| {
            let by = match (size.measure, size.name) {
                (_, "lead") => 1e-7,
                (Measure::Length, _) => 1e-4,
                _ => 0.1_f64.to_radians(),
            };
            Interval::new(size.value - by, size.value + by)
        };
        sizes.iter().map(range).collect()
    }

    const FIGURES: [Figure; 6] = [
        Figure::Ratio(0.7),
        Figure::Angle(0.7, 0.01),
        Figure::JointSide,
        Figure::CrankSide,
        Figure::Tilt(0),
        Figure::Tilt(1),
    ];

    /// Does `f` hold of every figure of every drawing, with either zeroing, over a box of builds and in the point of it that
    /// `share` tells?
    fn each(share: f64, f: impl Fn(&Claim<'_>, &[Interval], &[f64])) {
        for (drawing, ratio) in drawings() {
            let JointDrive::Rod(drive) = drawing.drive().unwrap() else { unreachable!() };
            let sizes = drawing.sizes();
            let exactly: Vec<Interval> = sizes.iter().map(|s| Interval::point(s.value)).collect();
            let drawn = drawing.built(&exactly).unwrap();
            let over = around(&sizes);
            // Not the same share of each range.
            let at = over.iter().zip(1_u8..).map(|(over, k)| {
                let share = (share * f64::from(k)).fract();
                over.lo() + share * (over.hi() - over.lo())
            });
            let at: Vec<f64> = at.collect();
            for zeroing in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
                let is_set_by_crank = matches!(drawing, Drawing::BallRod { .. });
                let (drive, sizes, drawn) = (&drive, sizes.as_slice(), &drawn);
                let rod = Rod { drawing: &drawing, drive, sizes, zeroing, is_set_by_crank, drawn };
                for figure in FIGURES {
                    let figure = match figure {
                        Figure::Ratio(_) => Figure::Ratio(ratio),
                        Figure::Angle(_, offset) => Figure::Angle(ratio, offset),
                        other => other,
                    };
                    let claim = Claim { rod, figure, side: -1.0 };
                    if claim.plain(&at, 0.1).is_some() {
                        f(&claim, &over, &at);
                    }
                }
            }
        }
    }

    fn beside(at: &[f64], (k, h): (usize, f64), f: impl Fn(&[f64]) -> f64) -> f64 {
        let [up, down] = [h, -h].map(|away| {
            let mut moved = at.to_vec();
            moved[k] += away;
            f(&moved)
        });
        (up - down) / (2.0 * h)
    }

    /// One build, differentiated by all of its sizes.
    fn point_batch(claim: &Claim<'_>, at: &[f64]) -> Batch {
        let places: Vec<usize> = (0..at.len()).collect();
        let sizes = at.iter().copied().map(Interval::point).collect();
        Batch::by_sizes(&claim.rod, sizes, &places).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]

        #[test]
        fn slopes_by_every_size_and_the_turn_are_those_of_differences(
            share in 0.0..1.0_f64, joint in -0.3..0.3_f64,
        ) {
            each(share, |claim, over, at| {
                let batch = point_batch(claim, at);
                let look = batch.look(Interval::point(joint)).unwrap();
                let slopes = claim.slopes(&batch, &look).unwrap();
                assert_eq!(slopes.len(), at.len());
                for (k, slope) in slopes.iter().enumerate() {
                    let h = (over[k].width() * 1e-2).min(1e-6);
                    let difference = beside(at, (k, h), |at| claim.plain(at, joint).unwrap());
                    let room = 1e-6 * slope.magnitude() + 2e-13 / h;
                    assert!((slope.mid() - difference).abs() < room, "{claim:?} {k} {slope:?} {difference}");
                }
                let of_turn = |joint: f64| {
                    claim.turn_slope(&batch.look(Interval::point(joint)).unwrap()).unwrap()
                };
                let by_turn = |f: &dyn Fn(f64) -> f64| (f(joint + 1e-5) - f(joint - 1e-5)) / 2e-5;
                let (slope, difference) =
                    (of_turn(joint), by_turn(&|joint| claim.plain(at, joint).unwrap()));
                assert!((slope.mid() - difference).abs() < 1e-7 * (1.0 + slope.magnitude()), "{claim:?} {slope:?} {difference}");
                {
                    let bend = claim.turn_bend(&look).unwrap();
                    let difference = by_turn(&|joint| of_turn(joint).mid());
                    assert!((bend.mid() - difference).abs() < 1e-6 * (1.0 + bend.magnitude()), "{claim:?} {bend:?} {difference}");
                }
            });
        }

        #[test]
        fn a_box_of_builds_over_a_range_of_turns_holds_value_and_slopes_of_each(
            share in 0.0..1.0_f64, joint in -0.3..0.3_f64, off in -0.05..0.05_f64,
        ) {
            each(share, |claim, over, at| {
                let batch = Batch::new(&claim.rod, over.to_vec()).unwrap();
                let look = batch.look(Interval::new(joint - 0.05, joint + 0.05)).unwrap();
                let joint = joint + off;
                let one = point_batch(claim, at);
                let here = one.look(Interval::point(joint)).unwrap();
                let value = claim.plain(at, joint).unwrap();
                assert!((claim.over(&one, &here).unwrap().mid() - value).abs() < 1e-12);
                if let Some(whole) = claim.over(&batch, &look) {
                    assert!(whole.contains(value), "{claim:?} {whole:?} {value}");
                }
                let (wide, own) = (claim.slopes(&batch, &look).unwrap(), claim.slopes(&one, &here).unwrap());
                for (wide, own) in wide.iter().zip(own) {
                    assert!(wide.contains(own.mid()), "{claim:?} {wide:?} {own:?}");
                }
                let [wide, own] = [&look, &here].map(|look| claim.turn_slope(look).unwrap());
                assert!(wide.contains(own.mid()), "{claim:?} {wide:?} {own:?}");
                let [wide, own] = [&look, &here].map(|look| claim.turn_bend(look).unwrap());
                assert!(wide.contains(own.mid()), "{claim:?} {wide:?} {own:?}");
                let whole = batch.look(Interval::point(joint)).unwrap();
                let anchor: Vec<Interval> =
                    over.iter().map(|range| Interval::point(range.mid())).collect();
                let known = claim.at_turn(&claim.read(&anchor).unwrap(), joint).unwrap().1;
                let about = claim.turn_slope_about(&batch, &whole, (&anchor, known)).unwrap();
                let own = claim.turn_slope(&here).unwrap();
                assert!(about.contains(own.mid()), "{claim:?} {about:?} {own:?}");
            });
        }

        #[test]
        fn curvatures_by_sizes_and_turn_are_those_of_differences_of_slopes(
            share in 0.0..1.0_f64, joint in -0.3..0.3_f64,
        ) {
            each(share, |claim, over, at| {
                let sizes: Vec<Interval> = at.iter().copied().map(Interval::point).collect();
                let places = [1, 4];
                let part = Part { claim, sizes: &sizes, places: &places };
                let point = [at[1], at[4], joint, 0.0];
                let narrow = point.map(|x| Interval::around(x, 1));
                let bends: Curvatures<4> = part.curvatures(&narrow).unwrap();
                let slopes = |at: &[f64]| -> [Interval; 4] {
                    part.gradient_at(&[at[0], at[1], at[2], 0.0], &narrow).unwrap()
                };
                for (k, row) in bends.iter().enumerate().take(3) {
                    let h = places.get(k).map_or(1e-6, |k| (over[*k].width() * 1e-2).min(1e-6));
                    for (j, bend) in row.iter().enumerate().take(3) {
                        let difference = beside(&point, (k, h), |at| slopes(at)[j].mid());
                        let slope = slopes(&point)[j];
                        let room = 1e-5 * bend.magnitude() + 2e-12 * (1.0 + slope.magnitude()) / h;
                        assert!((bend.mid() - difference).abs() < room, "{claim:?} {k} {j} {bend:?} {difference}");
                    }
                }
            });
        }
    }
}
