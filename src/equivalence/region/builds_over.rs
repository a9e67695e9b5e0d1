//! All builds that a drawing allows, and what is certain of them over a rectangle of poses.
//!
//! Variables are both joint turns, the sizes of both joint axes, and those of each rod, the rods apart.

use super::super::claims::Zeroing;
use super::values::{Setting, Values, ZeroedBuild, in_zero, one_of};
use crate::drive::{
    Angular, DrawnLeg, InputEnd, OF_ROD, Place as At, Share, Shares, SizedBuild, TwoRodsPose,
};
use crate::numeric::{Interval, Jet, Scalar as _};

/// What both rods share: joint turns and sizes of the joint axes.
pub(super) const SHARED: usize = 12;

/// Sizes of its own that a rod may have.
const OWN: usize = OF_ROD - SHARED;

/// All variables.
pub(super) const ALL: usize = SHARED + 2 * OWN;

/// Slopes by all variables.
pub(super) type Slopes = [Interval; ALL];

/// Slopes of both motors' turns, by what is shared and what is each rod's own.
pub(super) type MotorSlopes = [[Interval; OF_ROD]; 2];

/// Every build.
pub(super) struct AllBuilds<'a> {
    pub(super) setting: &'a Setting<'a>,
    pub(super) wide: SizedBuild<Interval>,
    /// The build in the middle of every range; where there is but one, that one, whatever rounding made of it.
    pub(super) middle: ZeroedBuild<Interval>,
    /// There is none but the drawn one, give or take rounding.
    pub(super) is_one: bool,
    /// The ranges less their middle; nothing for the joint turns.
    away: Slopes,
    /// What the sizes do to what the motors read in the zero pose.
    read_in_zero: Box<MotorSlopes>,
    /// About how far all sizes turn each motor, rad.
    by_sizes: [f64; 2],
}

/// A pose, and what is known of it from the way there.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub(super) at: [f64; 2],
    /// What the middle build's motors read.
    pub(super) motors: [Interval; 2],
    /// What the sizes do to what the motors read.
    pub(super) reads: Box<MotorSlopes>,
}

/// Poses that every build reaches, with both rods of all builds there.
pub(super) struct Clear {
    pub(super) turns: [Interval; 2],
    pub(super) pose: TwoRodsPose<Interval>,
    pub(super) shares: Box<[Shares<Interval>; 2]>,
    /// Angles of all builds' motors from their own pins, on any sheet.
    motors: [Interval; 2],
}

impl Clear {
    /// Is the sheet of every crank told by any build in any pose of it?
    pub(super) fn has_one_sheet(&self) -> bool {
        let mut rods = self.pose.rods.iter().zip(self.motors);
        rods.all(|(rod, motor)| matches!(rod.place, At::Length(_)) || motor.width() < SHEET)
    }

    /// Another place in it, from one in it.
    pub(super) fn moved(&self, from: &Place, to: [f64; 2]) -> Place {
        let [dp, dr] =
            [0, 1].map(|k| Interval::point(one_of(to, k)) - Interval::point(one_of(from.at, k)));
        let mut place = Place { at: to, ..from.clone() };
        for (motor, [p, r]) in place.motors.iter_mut().zip(self.pose.jacobian) {
            *motor = *motor + (p * dp + r * dr);
        }
        for (reads, shares) in place.reads.iter_mut().zip(&*self.shares) {
            for (read, share) in reads.iter_mut().zip(shares).skip(2) {
                let [p, r] = share.rates;
                *read = *read + (p * dp + r * dr);
            }
        }
        place
    }
}

/// Where each size stands among all variables, in the order of the drawing's.
pub(super) fn places(parts: [usize; 3]) -> impl Iterator<Item = usize> {
    let [axes, first, second] = parts;
    (2..2 + axes).chain(SHARED..SHARED + first).chain(SHARED + OWN..SHARED + OWN + second)
}

/// A range of a size (m, rad) below this is that of its decimals.
const ROUNDING: f64 = 1e-13;

impl<'a> AllBuilds<'a> {
    /// `None` where there is a build whose rods' assembly, or zero pose, is not certain.
    pub(super) fn of(setting: &'a Setting<'a>) -> Option<Self> {
        let question = setting.question;
        let (drawing, ranges) = (question.drawing, question.sizes.all.as_slice());
        let wide = drawing.sized(ranges)?;
        let points: Vec<Interval> = ranges.iter().map(|r| Interval::point(r.mid())).collect();
        let is_one = ranges.iter().all(|range| range.width() < ROUNDING);
        let middle = setting.build(if is_one { ranges } else { &points })?;
        let mut away = [Interval::ZERO; ALL];
        for (place, range) in places(drawing.parts()).zip(ranges).filter(|_| !is_one) {
            *away.get_mut(place)? = *range - Interval::point(range.mid());
        }
        if !assembly_is_certain(&wide) {
            return None;
        }
        let read_in_zero = Box::new(read_in_zero(setting, &wide)?);
        let by_sizes = [0.0; 2];
        let mut builds = Self { setting, wide, middle, is_one, away, read_in_zero, by_sizes };
        builds.by_sizes = builds.by_sizes_in_zero()?;
        Some(builds)
    }

    /// About how far all sizes turn each motor in the zero pose, rad.
    fn by_sizes_in_zero(&self) -> Option<[f64; 2]> {
        if self.is_one {
            return Some([0.0; 2]);
        }
        let shares = self.wide.shares(in_zero(), &self.middle.built.at(in_zero())?);
        let of = |rod: usize| {
            let own = |k: usize, _: usize, share: &Share<Interval>| {
                if k == rod { share.motor } else { Interval::ZERO }
            };
            spread(&gathered(&shares, own), &self.away).hi()
        };
        Some([of(0), of(1)])
    }

    /// Where the way to every pose begins: nothing has turned.
    pub(super) fn at_zero(&self) -> Place {
        Place { at: [0.0; 2], motors: [Interval::ZERO; 2], reads: self.read_in_zero.clone() }
    }

    /// A rectangle of poses over which it is certain that every build reaches and comes to no stop; `None` where it is not.
    ///
    /// An interval step of Newton's from the middle build's motor angles that maps a range into its inside shows that every
    /// build has one pose there; further steps only narrow it.
    pub(super) fn clear(&self, turns: [Interval; 2]) -> Option<Clear> {
        let joints = turns.map(Interval::sin_cos);
        let middle = turns.map(|turn| Interval::point(turn.mid()));
        let away = self.away(turns, middle.map(Interval::mid));
        let at = self.middle.built.at(middle.map(Interval::sin_cos))?;
        let angles = self.middle.built.angles(&at, at.rods.each_ref().map(|rod| sheet(rod.place)));
        let [dp, dr] = turns.map(|turn| 0.5 * turn.width());
        let reach_of = |[p, r]: [Interval; 2], by_sizes: f64| {
            ROOMY * (p.magnitude() * dp + r.magnitude() * dr) + 2.0 * by_sizes + LEAST_REACH
        };
        let ([one, two], [first, second]) = (at.jacobian, self.by_sizes);
        let mut reach = [reach_of(one, first), reach_of(two, second)];
        for _ in 0..WIDENINGS {
            let [one, two] = [0, 1].map(|rod| {
                one_of(angles, rod) + Interval::new(-one_of(reach, rod), one_of(reach, rod))
            });
            let pose = self.wide.posed(joints, [one, two])?;
            let step = Step { at: &at, angles, away: &away };
            if !is_clear(&pose) {
                return None;
            }
            let motors = step.motors(&if self.is_one {
                self.wide.turn_shares(joints, &pose)
            } else {
                self.wide.motor_shares(joints, &pose)
            });
            let is_inside = |rod: usize, range: Interval| {
                let (motor, place) = (one_of(motors, rod), one_of(pose.rods, rod).place);
                matches!(place, At::Length(_))
                    || (range.lo() < motor.lo() && motor.hi() < range.hi())
            };
            if is_inside(0, one) && is_inside(1, two) {
                return self.narrowed(turns, &pose, motors, &step);
            }
            reach = [0, 1].map(|rod| {
                let widest = one_of(motors, rod) - one_of(angles, rod);
                (1.5 * widest.magnitude()).max(one_of(reach, rod))
            });
        }
        None
    }

    /// The pose met with what the motors tell of it, and J with its own slopes.
    fn narrowed(
        &self,
        turns: [Interval; 2],
        pose: &TwoRodsPose<Interval>,
        motors: [Interval; 2],
        step: &Step<'_>,
    ) -> Option<Clear> {
        let joints = turns.map(Interval::sin_cos);
        let closer = pose.both_ways(&self.wide.posed(joints, motors)?, pose.jacobian);
        let shares = Box::new(self.known_shares(joints, &closer)?);
        let pose = closer.both_ways(&closer, step.rates(&shares));
        let motors = step.motors(&shares);
        Some(Clear { turns, pose, shares, motors })
    }

    /// What all variables move over a rectangle where every build's rods reach and come to no stop.
    fn known_shares(
        &self,
        joints: [(Interval, Interval); 2],
        pose: &TwoRodsPose<Interval>,
    ) -> Option<[Shares<Interval>; 2]> {
        if !is_clear(pose) {
            return None;
        }
        let shares = if self.is_one {
            self.wide.turn_shares(joints, pose)
        } else {
            self.wide.shares(joints, pose)
        };
        let is_known = |share: &Share<Interval>| {
            share.rates.iter().all(|rate| rate.width().is_finite())
                && share.motor.width().is_finite()
        };
        shares.iter().flatten().all(is_known).then_some(shares)
    }

    /// A pose that the middle build's motors are known to have turned by about `turns` in; what the sizes do there to what is
    /// read is no closer than slopes there less those in the zero pose.
    pub(super) fn place_near(&self, clear: &Clear, at: [f64; 2], turns: [f64; 2]) -> Option<Place> {
        let zero = self.clear([Interval::ZERO; 2])?;
        let mut reads = self.read_in_zero.clone();
        let each = reads.iter_mut().zip(clear.shares.iter().zip(&*zero.shares));
        for (reads, (here, there)) in each {
            for (read, (here, there)) in reads.iter_mut().zip(here.iter().zip(there)).skip(2) {
                *read = *read + (here.motor - there.motor);
            }
        }
        Some(Place { at, motors: turns.map(Interval::point), reads })
    }

    /// The middle build at a place.
    pub(super) fn middle_at(&self, place: &Place) -> Option<Values<Interval>> {
        let is_told = place.motors.iter().all(|motor| motor.width() < SHEET) || !self.has_crank();
        let turns = place.motors.map(Interval::mid);
        let values = self.middle.values(self.setting, place.at.map(Interval::point), turns);
        values.filter(|_| is_told)
    }

    /// Ranges of all variables less their middle.
    pub(super) fn away(&self, turns: [Interval; 2], middle: [f64; 2]) -> Slopes {
        let mut away = self.away;
        for ((slot, turn), middle) in away.iter_mut().zip(turns).zip(middle) {
            *slot = turn - Interval::point(middle);
        }
        away
    }

    fn has_crank(&self) -> bool {
        self.wide.built.legs.iter().any(|leg| matches!(leg.input, InputEnd::Crank { .. }))
    }

    /// Does every actuator stay between its own ends?
    pub(super) fn is_within_lengths(&self, clear: &Clear) -> bool {
        let mut legs = self.setting.question.drawing.legs.iter().zip(&clear.pose.rods);
        legs.all(|(leg, rod)| match (leg, rod.place) {
            (DrawnLeg::Actuator { lengths: Some([shortest, longest]), .. }, At::Length(travel)) => {
                travel.lo() >= *shortest && travel.hi() <= *longest
            }
            _ => true,
        })
    }
}

/// A crank's turn is told this closely before its sheet is, rad.
const SHEET: f64 = 3.0;

/// From the middle build in the middle pose to all builds over a rectangle.
struct Step<'a> {
    at: &'a TwoRodsPose<Interval>,
    angles: [Interval; 2],
    away: &'a Slopes,
}

impl Step<'_> {
    fn of_rod(
        &self,
        shares: &[Shares<Interval>; 2],
        rod: usize,
        of: impl Fn(&Share<Interval>) -> Interval,
    ) -> Interval {
        let own = |k: usize, _: usize, share: &Share<Interval>| {
            if k == rod { of(share) } else { Interval::ZERO }
        };
        spread(&gathered(shares, own), self.away)
    }

    /// Motor angles from their own pins.
    fn motors(&self, shares: &[Shares<Interval>; 2]) -> [Interval; 2] {
        let [one, two] = self.angles;
        let of = |rod: usize| self.of_rod(shares, rod, |share| share.motor);
        [one + of(0), two + of(1)]
    }

    /// J.
    fn rates(&self, shares: &[Shares<Interval>; 2]) -> [[Interval; 2]; 2] {
        let of = |rod: usize, joint: usize| {
            let middle = one_of(one_of(self.at.jacobian, rod), joint);
            middle + self.of_rod(shares, rod, |share| one_of(share.rates, joint))
        };
        [[of(0, 0), of(0, 1)], [of(1, 0), of(1, 1)]]
    }
}

/// By how much more than its middle rates a motor first counts as turned, and at least, rad; how often that is tried wider.
const ROOMY: f64 = 1.4;
const LEAST_REACH: f64 = 1e-6;
const WIDENINGS: u32 = 4;

/// An angle of a crank there, on the sheet next to 0.
fn sheet(place: At<Interval>) -> f64 {
    match place {
        At::Angle(sine, cosine) => libm::atan2(sine.mid(), cosine.mid()),
        At::Travel(_) | At::Length(_) => 0.0,
    }
}

/// All that slopes × ranges of all variables come to, either way.
pub(super) fn spread(slopes: &Slopes, away: &Slopes) -> Interval {
    let each = slopes.iter().zip(away).filter(|(_, away)| **away != Interval::ZERO);
    let sum = each.fold(Interval::ZERO, |sum, (slope, away)| {
        sum + Interval::point(slope.magnitude()) * Interval::point(away.magnitude())
    });
    Interval::new(-sum.hi(), sum.hi())
}

/// Slopes by each variable from what it moves of each rod.
pub(super) fn gathered(
    shares: &[Shares<Interval>; 2],
    of: impl Fn(usize, usize, &Share<Interval>) -> Interval,
) -> Slopes {
    let mut all = [Interval::ZERO; ALL];
    let [first, second] = shares;
    for (index, (one, two)) in first.iter().zip(second).enumerate() {
        let slopes = [of(0, index, one), of(1, index, two)];
        let places = [index, if index < SHARED { index } else { index + OWN }];
        for (place, slope) in places.into_iter().zip(slopes) {
            if let Some(slot) = all.get_mut(place) {
                *slot = *slot + slope;
            }
        }
    }
    all
}

fn is_clear(pose: &TwoRodsPose<Interval>) -> bool {
    let [[a, b], [c, d]] = pose.jacobian;
    let has_lever = pose
        .rods
        .iter()
        .all(|rod| rod.lever.is_certainly_nonzero() && rod.length.is_certainly_nonzero());
    has_lever && (a * d - b * c).is_certainly_nonzero()
}

/// Is the side on which each rod meets its crank the same in every build?
fn assembly_is_certain(wide: &SizedBuild<Interval>) -> bool {
    wide.built.legs.iter().all(|leg| match leg.input {
        InputEnd::Crank { circle, .. } => {
            let pin = circle.centre + circle.datum * circle.radius;
            (leg.foot - pin).dot(circle.quarter).is_certainly_nonzero()
        }
        InputEnd::Slide { .. } | InputEnd::Actuator { .. } => true,
    })
}

/// Slopes of what the motors read in the zero pose: nothing where each robot is zeroed there, else those of their angles and
/// of their pins about them.
fn read_in_zero(setting: &Setting<'_>, wide: &SizedBuild<Interval>) -> Option<MotorSlopes> {
    let mut slopes = [[Interval::ZERO; OF_ROD]; 2];
    if setting.question.zeroing == Zeroing::OnEachRobot {
        return Some(slopes);
    }
    let pose = wide.built.at(in_zero())?;
    let shares = wide.shares(in_zero(), &pose);
    for (k, (slopes, shares)) in slopes.iter_mut().zip(&shares).enumerate() {
        let ahead = ahead_slopes(setting, k)?;
        for (slope, share) in slopes.iter_mut().zip(shares).skip(2) {
            *slope = share.motor;
        }
        for (slope, ahead) in slopes.iter_mut().skip(SHARED).zip(ahead) {
            *slope = *slope + ahead;
        }
    }
    Some(slopes)
}

/// Slopes of the angle of rod `k`'s crank pin about its motor by the rod's own sizes.
fn ahead_slopes(setting: &Setting<'_>, k: usize) -> Option<[Interval; OWN]> {
    let (drawing, ranges) = (setting.question.drawing, &setting.question.sizes.all);
    let [axes, first, _] = drawing.parts();
    let from = if k == 0 { axes } else { axes + first };
    let jet = |(index, range): (usize, &Interval)| match index.checked_sub(from) {
        Some(own) if own < OWN => Jet::<OWN>::variable(own, *range),
        _ => <Jet<OWN> as Angular>::constant(*range),
    };
    let sizes: Vec<Jet<OWN>> = ranges.iter().enumerate().map(jet).collect();
    let [one, two] = setting.ahead(&drawing.built(&sizes)?);
    let slopes = if k == 0 { one.slopes } else { two.slopes };
    slopes.iter().all(|slope| slope.width().is_finite()).then_some(slopes)
}
