//! One rod in every build that its tolerances allow: how far ratio and angle stray from a constant, for the search that
//! bounds them with certainty.
//!
//! Eleven variables: the joint turn, and ten deviations from the drawing. Joint axis and zero pose are what a build is
//! measured from; its motor reads 0 where its joint does.
//!
//! | deviation | crank | nut on a guide | actuator |
//! |---|---|---|---|
//! | 0 | crank | rod | line offset |
//! | 1 | rod | lead | lead |
//! | 2, 3, 4 | Q in the zero pose, along x, y, z | likewise | likewise |
//! | 5, 6, 7 | centre of the crank pin's circle | a point of the guide | pin A |
//! | 8, 9 | tilts of the motor axis, rad | of the guide | nothing |

use super::angular::Angular;
use super::circle::Circle;
use super::input_end::{InputEnd, Reached};
use super::one_joint::OneJoint as _;
use super::rod_drive::RodDrive;
use super::space::Vector;
use crate::numeric::search::{Curvatures, Objective};
use crate::numeric::{Interval, Jet, Scalar};

/// Deviations of a build from the drawing.
const DEVIATIONS: usize = 10;

/// The joint turn and the deviations.
const VARIABLES: usize = DEVIATIONS + 1;

/// A drive as drawn, of which builds are made.
#[derive(Clone, Debug)]
pub struct RodFamily<'a> {
    drive: &'a RodDrive,
    input: InputEnd<Interval>,
    foot: Vector<Interval>,
    /// A point of the joint axis and its direction.
    joint: [Vector<Interval>; 2],
}

/// One build, or a box of them.
struct Build<T> {
    input: InputEnd<T>,
    foot: Vector<T>,
    joint: [Vector<T>; 2],
}

impl<T: Angular> Build<T> {
    /// The rod at its input end, and the input's rate per joint rate.
    fn at(&self, joint: T) -> Option<(Reached<T>, T)> {
        let [point, axis] = self.joint;
        let arm = (self.foot - point).turned(axis, joint.sin_cos());
        let reached = self.input.reach(point + arm)?;
        let rate = reached.rate(axis.cross(arm));
        Some((reached, rate * self.input.gain()))
    }
}

/// Two directions square to the unit vector `axis` and to each other.
fn across<T: Scalar>(axis: Vector<T>) -> Option<[Vector<T>; 2]> {
    let [zero, one] = [0.0, 1.0].map(T::exactly);
    let size = [axis.x, axis.y, axis.z].map(|x| x.middle().abs());
    let aside = if size[0] <= size[1] && size[0] <= size[2] {
        Vector::new(one, zero, zero)
    } else if size[1] <= size[2] {
        Vector::new(zero, one, zero)
    } else {
        Vector::new(zero, zero, one)
    };
    let first = aside.square_to(axis).unit()?;
    Some([first, axis.cross(first)])
}

/// The input end with the deviations of its own: two sizes, a shift, two tilts.
fn deviating<T: Angular>(
    input: &InputEnd<T>,
    [first, second]: [T; 2],
    shift: Vector<T>,
    [tilt, other]: [T; 2],
) -> Option<InputEnd<T>> {
    Some(match *input {
        InputEnd::Crank { circle, rod, side } => {
            let axis = circle.axis + circle.datum * tilt + circle.quarter * other;
            let (centre, radius) = (circle.centre + shift, circle.radius + first);
            let circle = Circle::about(centre, axis, circle.datum, radius)?;
            InputEnd::Crank { circle, rod: rod + second, side }
        }
        InputEnd::Slide { point, direction, rod, side, lead } => {
            let [u, v] = across(direction)?;
            let direction = (direction + u * tilt + v * other).unit()?;
            let (point, rod, lead) = (point + shift, rod + first, lead + second);
            InputEnd::Slide { point, direction, rod, side, lead }
        }
        InputEnd::Actuator { pin, offset, lead } => {
            let (pin, offset, lead) = (pin + shift, offset + first, lead + second);
            InputEnd::Actuator { pin, offset, lead }
        }
    })
}

impl<'a> RodFamily<'a> {
    /// Builds of `drive`.
    #[must_use]
    pub fn new(drive: &'a RodDrive) -> Self {
        let sure = drive.enclosed();
        let [zero, _] = drive.zero_angles();
        let arm = sure.joint.arm(Angular::sin_cos(Interval::point(zero)));
        Self {
            drive,
            input: sure.input,
            foot: sure.joint.centre + arm,
            joint: [sure.joint.centre, sure.joint.axis],
        }
    }

    fn build<T: Angular>(&self, off: [T; DEVIATIONS]) -> Option<Build<T>> {
        let [first, second, qx, qy, qz, x, y, z, tilt, other] = off;
        let input = self.input.constant();
        let shift = Vector::new(x, y, z);
        Some(Build {
            input: deviating(&input, [first, second], shift, [tilt, other])?,
            foot: Vector::constant(self.foot) + Vector::new(qx, qy, qz),
            joint: self.joint.map(Vector::constant),
        })
    }

    /// i of the builds over the joint turns.
    fn ratio<T: Angular>(&self, [joint, off @ ..]: [T; VARIABLES]) -> Option<T> {
        Some(self.build(off)?.at(joint)?.1)
    }

    /// Motor turns of the builds over the joint turns, each from its own zero pose.
    fn motor<T: Angular>(&self, [joint, off @ ..]: [T; VARIABLES]) -> Option<T> {
        let build = self.build(off)?;
        let [_, zero] = self.drive.zero_angles();
        let guess = self.drive.motor_turn(joint.middle()).ok()?;
        let (here, there) = (build.at(joint)?.0, build.at(T::exactly(0.0))?.0);
        Some(build.input.angle(here.place, zero + guess) - build.input.angle(there.place, zero))
    }
}

/// The variables as values with gradients by themselves.
fn jets(over: &[Interval; VARIABLES]) -> [Jet<VARIABLES>; VARIABLES] {
    let mut jets = over.map(Jet::constant);
    for (k, jet) in jets.iter_mut().enumerate() {
        *jet = Jet::variable(k, jet.value);
    }
    jets
}

/// What one unit of each variable is measured by in the search, by the size of the drive: what lengths are of it.
fn scale(family: &RodFamily<'_>) -> [f64; VARIABLES] {
    let arm = (family.foot - family.joint[0]).length().mid();
    [1.0, arm, arm, arm, arm, arm, arm, arm, arm, 1.0, 1.0]
}

/// ± the relative ratio error i/ratio − 1 of every build.
#[derive(Clone, Debug)]
pub struct RodRatioError<'a> {
    /// The builds.
    pub family: RodFamily<'a>,
    /// The direct joint's ratio, motor turn / joint turn.
    pub ratio: f64,
    /// +1 or −1.
    pub side: f64,
}

impl RodRatioError<'_> {
    fn error<T: Angular>(&self, at: [T; VARIABLES]) -> Option<T> {
        let relative = self.family.ratio(at)? / T::exactly(self.ratio) - T::exactly(1.0);
        Some(relative * T::exactly(self.side))
    }
}

impl Objective<VARIABLES> for RodRatioError<'_> {
    fn enclose(&self, at: &[Interval; VARIABLES]) -> Option<Interval> {
        self.error(*at).filter(|value| value.width().is_finite())
    }

    fn gradient(&self, over: &[Interval; VARIABLES]) -> Option<[Interval; VARIABLES]> {
        bounded(self.error(jets(over))?.slopes)
    }

    fn curvatures(&self, _: &[Interval; VARIABLES]) -> Option<Curvatures<VARIABLES>> {
        None
    }

    fn sample(&self, at: &[f64; VARIABLES]) -> Option<f64> {
        self.error(*at).filter(|value| value.is_finite())
    }

    fn scale(&self) -> [f64; VARIABLES] {
        scale(&self.family)
    }
}

/// ± the angle error of every build, rad of the joint: motor turn / ratio − joint turn − offset.
#[derive(Clone, Debug)]
pub struct RodAngleError<'a> {
    /// The builds.
    pub family: RodFamily<'a>,
    /// The direct joint's ratio, motor turn / joint turn.
    pub ratio: f64,
    /// What the direct joint reads in the zero pose, rad.
    pub offset: f64,
    /// +1 or −1.
    pub side: f64,
}

impl RodAngleError<'_> {
    fn error<T: Angular>(&self, at: [T; VARIABLES]) -> Option<T> {
        let read = self.family.motor(at)? / T::exactly(self.ratio);
        Some((read - at[0] - T::exactly(self.offset)) * T::exactly(self.side))
    }
}

impl Objective<VARIABLES> for RodAngleError<'_> {
    fn enclose(&self, at: &[Interval; VARIABLES]) -> Option<Interval> {
        self.error(*at).filter(|value| value.width().is_finite())
    }

    /// By each deviation, what both poses differ by, and what the ratio's slope adds up to on the way from the zero pose,
    /// which is the closer one near it; by the joint turn, the ratio's own error.
    fn gradient(&self, over: &[Interval; VARIABLES]) -> Option<[Interval; VARIABLES]> {
        let mut slopes = bounded(self.error(jets(over))?.slopes)?;
        let [joint, off @ ..] = *over;
        let mut on_the_way = jets(over);
        on_the_way[0] = Jet::constant(joint.hull(Interval::ZERO));
        let factor = Interval::point(self.side) / Interval::point(self.ratio);
        if let Some(ratio) = self.family.ratio(on_the_way) {
            for (slope, by_way) in slopes.iter_mut().zip(ratio.slopes).skip(1) {
                *slope = slope.both_ways(by_way * joint * factor);
            }
        }
        let rate = self.family.build(off)?.at(joint)?.1 * factor;
        slopes[0] = slopes[0].both_ways(rate - Interval::point(self.side));
        Some(slopes)
    }

    fn curvatures(&self, _: &[Interval; VARIABLES]) -> Option<Curvatures<VARIABLES>> {
        None
    }

    fn sample(&self, at: &[f64; VARIABLES]) -> Option<f64> {
        self.error(*at).filter(|value| value.is_finite())
    }

    fn scale(&self) -> [f64; VARIABLES] {
        scale(&self.family)
    }
}

/// Slopes that are known everywhere: without bound where a build may not reach, or comes in line.
fn bounded(slopes: [Interval; VARIABLES]) -> Option<[Interval; VARIABLES]> {
    slopes.iter().all(|slope| slope.width().is_finite()).then_some(slopes)
}
