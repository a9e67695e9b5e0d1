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

/// Curvatures by more variables than this take more room and time than they are worth: slopes move most of them to an end
/// first.
const MOST: usize = 9;

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

    /// The slopes by the variables `open` where all are known; none by the others.
    fn slopes_by<const N: usize>(
        &self,
        over: &[Interval; N],
        open: &[usize],
    ) -> Option<[Interval; N]> {
        let slopes = match open.len() {
            0..=2 => self.slopes::<2, N>(over, open)?,
            _ => self.slopes::<N, N>(over, open)?,
        };
        slopes.iter().all(|slope| slope.width().is_finite()).then_some(slopes)
    }

    /// The slopes by the variables `open`, M at most; none by the others.
    fn slopes<const M: usize, const N: usize>(
        &self,
        over: &[Interval; N],
        open: &[usize],
    ) -> Option<[Interval; N]> {
        let mut slopes = spread(&self.value(&jets::<M, N>(over, open))?.slopes, open);
        if let (Figure::Angle(ratio, _), Zeroing::OnEachRobot) = (self.figure, self.rod.zeroing)
            && let Some(way) = self.on_the_way::<M, N>(over, open, ratio)
        {
            for (slope, by_way) in slopes.iter_mut().zip(way) {
                *slope = slope.intersection(by_way).unwrap_or(*slope);
            }
        }
        Some(slopes)
    }

    /// By each size, what the ratio's slope adds up to on the way from the zero pose, which is the closer one near it; by the
    /// joint turn, the ratio's own error.
    fn on_the_way<const M: usize, const N: usize>(
        &self,
        over: &[Interval; N],
        open: &[usize],
        ratio: f64,
    ) -> Option<[Interval; N]> {
        let joint = *over.last()?;
        let factor = -(Interval::point(self.side) / Interval::point(ratio));
        let mut way = jets::<M, N>(over, open);
        *way.last_mut()? = Jet::constant(joint.hull(Interval::ZERO));
        let by_ratio = self.rod.ratio(&way)?.slopes.map(|slope| slope * joint * factor);
        let mut slopes = spread(&by_ratio, open);
        *slopes.last_mut()? = self.rod.ratio(over)? * factor + Interval::point(self.side);
        Some(slopes)
    }

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

/// The variables whose range has a width.
fn open<const N: usize>(over: &[Interval; N]) -> Vec<usize> {
    let is_open = |(k, over): (usize, &Interval)| (over.lo() < over.hi()).then_some(k);
    over.iter().enumerate().filter_map(is_open).collect()
}

/// The variables as values with gradients by those that are `open`.
fn jets<const M: usize, const N: usize>(over: &[Interval; N], open: &[usize]) -> [Jet<M>; N] {
    let mut jets = over.map(Jet::constant);
    for (own, k) in open.iter().enumerate() {
        if let Some(jet) = jets.get_mut(*k) {
            *jet = Jet::variable(own, jet.value);
        }
    }
    jets
}

/// Slopes by the variables `open` among all; what has no width has none.
fn spread<const M: usize, const N: usize>(own: &[Interval; M], open: &[usize]) -> [Interval; N] {
    let mut all = [Interval::ZERO; N];
    for (slope, k) in own.iter().zip(open) {
        if let Some(slot) = all.get_mut(*k) {
            *slot = *slope;
        }
    }
    all
}

impl<const N: usize> Objective<N> for Claim<'_> {
    fn enclose(&self, at: &[Interval; N]) -> Option<Interval> {
        self.value(at).filter(|value| value.width().is_finite())
    }

    /// Slopes that are known everywhere: none where a build may not reach, or comes in line.
    fn gradient(&self, over: &[Interval; N]) -> Option<[Interval; N]> {
        self.slopes_by(over, &open(over))
    }

    fn gradient_at(&self, at: &[f64; N], over: &[Interval; N]) -> Option<[Interval; N]> {
        self.slopes_by(&at.map(Interval::point), &open(over))
    }

    fn curvatures(&self, over: &[Interval; N]) -> Option<Curvatures<N>> {
        let open = open(over);
        match open.len() {
            0..=2 => self.bends::<2, N>(over, &open),
            3..=MOST => self.bends::<MOST, N>(over, &open),
            _ => None,
        }
    }

    /// By one variable they take less than slopes by all.
    fn bends_from(&self) -> usize {
        1
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::drive::{Assembly, BallRod, JointDrive};

    const VARIABLES: usize = 9;

    fn drawings() -> [(Drawing, f64); 3] {
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
        [(rod, -0.7), (actuator, -55.0), (slider, 70.0)]
    }

    /// ±0.1 mm and ±0.1 deg on the sizes, a thousandth of it on leads, and a tenth of a radian of joint turn about `joint`.
    fn around(sizes: &[Size], joint: f64) -> [Interval; VARIABLES] {
        let mut domain = [Interval::ZERO; VARIABLES];
        for (slot, size) in domain.iter_mut().zip(sizes) {
            let by = match (size.measure, size.name) {
                (_, "lead") => 1e-7,
                (Measure::Length, _) => 1e-4,
                _ => 0.1_f64.to_radians(),
            };
            *slot = Interval::new(size.value - by, size.value + by);
        }
        domain[VARIABLES - 1] = Interval::new(joint - 0.05, joint + 0.05);
        domain
    }

    /// Does `f` hold of ratio and angle of every drawing, with either zeroing, in a box about `joint` and the point in it that
    /// `shares` tell?
    fn each(
        shares: [f64; VARIABLES],
        joint: f64,
        f: impl Fn(&Claim<'_>, &[Interval; VARIABLES], &[f64; VARIABLES], &[f64; VARIABLES]),
    ) {
        for (drawing, ratio) in drawings() {
            let JointDrive::Rod(drive) = drawing.drive().unwrap() else { unreachable!() };
            let sizes = drawing.sizes();
            let exactly: Vec<Interval> = sizes.iter().map(|s| Interval::point(s.value)).collect();
            let drawn = drawing.built(&exactly).unwrap();
            let over = around(&sizes, joint);
            let mut at = over.map(Interval::mid);
            for ((x, over), share) in at.iter_mut().zip(&over).zip(shares) {
                *x = over.lo() + share * (over.hi() - over.lo());
            }
            let steps = over.map(|over| (over.width() * 1e-2).min(1e-6));
            for zeroing in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
                let is_set_by_crank = matches!(drawing, Drawing::BallRod { .. });
                let rod = Rod {
                    drawing: &drawing,
                    drive: &drive,
                    sizes: &sizes,
                    zeroing,
                    is_set_by_crank,
                    drawn: &drawn,
                };
                for figure in [Figure::Ratio(ratio), Figure::Angle(ratio, 0.01), Figure::JointSide]
                {
                    f(&Claim { rod, figure, side: -1.0 }, &over, &at, &steps);
                }
            }
        }
    }

    fn beside<T>(
        at: &[f64; VARIABLES],
        (k, h): (usize, f64),
        f: impl Fn(&[f64; VARIABLES]) -> T,
    ) -> [T; 2] {
        [h, -h].map(|away| {
            let mut moved = *at;
            moved[k] += away;
            f(&moved)
        })
    }

    fn slopes(claim: &Claim<'_>, at: &[f64; VARIABLES]) -> [Interval; VARIABLES] {
        let all: Vec<usize> = (0..VARIABLES).collect();
        claim.slopes::<VARIABLES, VARIABLES>(&at.map(Interval::point), &all).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(16))]

        #[test]
        fn slopes_and_curvatures_by_every_size_are_those_of_differences(
            shares in prop::array::uniform9(0.0..1.0_f64), joint in -0.3..0.3_f64,
        ) {
            each(shares, joint, |claim, over, at, steps| {
                let own = slopes(claim, at);
                // A box of hardly any width, so that all variables are open.
                let narrow = at.map(|x| Interval::around(x, 1));
                let bends = claim.curvatures(&narrow).unwrap();
                for (k, (h, _)) in steps.iter().zip(over).enumerate().filter(|(_, (h, _))| **h > 0.0) {
                    let step = (k, *h);
                    let [up, down] = beside(at, step, |at| claim.sample(at).unwrap());
                    let difference = (up - down) / (2.0 * h);
                    let room = 1e-6 * own[k].magnitude() + 1e-13 / h;
                    assert!((own[k].mid() - difference).abs() < room, "{claim:?} {k} {own:?} {difference}");
                    let [up, down] = beside(at, step, |at| slopes(claim, at).map(Interval::mid));
                    for j in (0..VARIABLES).filter(|j| steps[*j] > 0.0) {
                        let difference = (up[j] - down[j]) / (2.0 * h);
                        let bend = bends[k][j];
                        let room = 1e-5 * bend.magnitude() + 1e-12 * (1.0 + own[j].magnitude()) / h;
                        assert!((bend.mid() - difference).abs() < room, "{claim:?} {k} {j} {bend:?} {difference}");
                    }
                }
            });
        }

        #[test]
        fn a_box_of_builds_holds_value_slopes_and_curvatures_of_each(
            shares in prop::array::uniform9(0.0..1.0_f64), joint in -0.3..0.3_f64,
        ) {
            each(shares, joint, |claim, over, at, _| {
                let value = claim.sample(at).unwrap();
                let point = claim.enclose(&at.map(Interval::point)).unwrap();
                assert!((value - point.mid()).abs() < 1e-12, "{claim:?} {value} {point:?}");
                if let Some(whole) = claim.enclose(over) {
                    assert!(whole.contains(value), "{claim:?} {whole:?} {value}");
                }
                let wide = claim.gradient(over).unwrap();
                for (wide, slope) in wide.iter().zip(slopes(claim, at)) {
                    assert!(wide.contains(slope.mid()), "{claim:?} {wide:?} {slope:?}");
                }
                let bends = claim.curvatures(over).unwrap();
                let narrow = claim.curvatures(&at.map(|x| Interval::around(x, 1))).unwrap();
                for (j, (wide, own)) in bends.iter().zip(narrow).enumerate() {
                    for (k, (wide, own)) in wide.iter().zip(own).enumerate() {
                        let are_open = [j, k].iter().all(|k| over[*k].width() > 0.0);
                        assert!(!are_open || wide.contains(own.mid()), "{claim:?} {wide:?} {own:?}");
                    }
                }
            });
        }
    }
}
