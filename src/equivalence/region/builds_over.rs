//! All builds that a drawing allows, and what is certain of them over a rectangle of poses.
//!
//! Variables are both joint turns, the sizes of both joint axes, and those of each rod, the rods apart. From the middle build in
//! the middle pose the way to any build in any pose first changes the sizes, then turns the joints: slopes by the sizes are
//! needed in the middle pose alone, where they are known far closer than over a rectangle, those by the joint turns over the
//! rectangle for all builds, where they keep near those in its middle by slopes of their own.

use std::cell::OnceCell;

use super::super::claims::Zeroing;
use super::values::{Setting, Values, ZeroedBuild, in_zero, one_of};
use crate::drive::{
    Angular, BentPose, DrawnLeg, InputEnd, MarginShare, MarginShares, OF_ROD, Place as At, Share,
    Shares, SizedBuild, TwoRodsPose,
};
use crate::dynamics::Rates;
use crate::numeric::{Interval, Jet, Scalar as _};

/// Joint turns, the first of all variables.
pub(super) const TURNS: usize = 2;

/// What both rods share: joint turns and sizes of the joint axes.
pub(super) const SHARED: usize = 12;

/// Sizes of its own that a rod may have.
const OWN: usize = OF_ROD - SHARED;

/// All variables.
pub(super) const ALL: usize = SHARED + 2 * OWN;

/// Slopes by all variables.
pub(super) type Slopes = [Interval; ALL];

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
    /// What the sizes do to what the motors read beside what they do to the motors' angles.
    read_beside: Box<[[Interval; OF_ROD]; 2]>,
    /// About the middle build, in plain floats.
    plain: SizedBuild<f64>,
}

/// A pose, and what is known of it from the way there, which begins where nothing has turned.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) at: [f64; 2],
    /// What the middle build's motors read.
    pub(super) motors: [Interval; 2],
}

/// All builds in one pose or over a rectangle of poses.
pub(super) struct Seen {
    pub(super) pose: TwoRodsPose<Interval>,
    /// Angles of the motors from their own pins, on any sheet.
    pub(super) motors: [Interval; 2],
}

/// All builds in one pose.
pub(super) struct InPose {
    pub(super) seen: Seen,
    /// What each variable does to each motor there.
    pub(super) shares: Box<[Shares<Interval>; 2]>,
    /// J of the middle build.
    pub(super) rates: Rates,
}

/// Poses that every build reaches, with both rods of all builds there.
pub(super) struct Clear {
    pub(super) turns: [Interval; 2],
    pub(super) over: Seen,
    /// Third derivatives of each motor's turn by the joint turns.
    pub(super) third: [[Interval; 4]; 2],
    /// In the middle pose.
    pub(super) middle: Seen,
    /// What the joint turns do to each motor over the rectangle, and the sizes in its middle.
    pub(super) shares: Box<[Shares<Interval>; 2]>,
    /// The same of margins, once one is asked for.
    by_turns: OnceCell<[[MarginShare<Interval>; TURNS]; 2]>,
    by_sizes: OnceCell<Box<[MarginShares<Interval>; 2]>>,
}

impl Clear {
    /// Is the sheet of every crank told by any build in any pose of it?
    pub(super) fn has_one_sheet(&self) -> bool {
        let mut rods = self.over.pose.rods.iter().zip(self.over.motors);
        rods.all(|(rod, motor)| matches!(rod.place, At::Length(_)) || motor.width() < SHEET)
    }

    /// Another place in it, from one in it.
    pub(super) fn moved(&self, from: &Place, to: [f64; 2]) -> Place {
        let [dp, dr] =
            [0, 1].map(|k| Interval::point(one_of(to, k)) - Interval::point(one_of(from.at, k)));
        let mut place = Place { at: to, ..*from };
        for (motor, [p, r]) in place.motors.iter_mut().zip(self.over.pose.jacobian) {
            *motor = *motor + (p * dp + r * dr);
        }
        place
    }

    /// Slopes by each of the first `count` variables of a rod, `of` of the rod's number, the variable's, and its share of that
    /// rod's motor: by the joint turns over the rectangle, by the sizes in its middle.
    pub(super) fn slopes(
        &self,
        count: usize,
        of: impl Fn(usize, usize, &Share<Interval>) -> Interval,
    ) -> Slopes {
        let mut all = [Interval::ZERO; ALL];
        let [one, two] = &*self.shares;
        for (index, (one, two)) in one.iter().zip(two).enumerate().take(count) {
            let slopes = [of(0, index, one), of(1, index, two)];
            let slots = [index, if index < SHARED { index } else { index + OWN }];
            for (slot, slope) in slots.into_iter().zip(slopes) {
                if let Some(slot) = all.get_mut(slot) {
                    *slot = *slot + slope;
                }
            }
        }
        all
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
        let read_beside = Box::new(read_beside(setting, &wide)?);
        let middles: Vec<f64> = ranges.iter().map(|range| range.mid()).collect();
        let plain = drawing.sized(&middles)?;
        Some(Self { setting, wide, middle, is_one, away, read_beside, plain })
    }

    /// Ranges less their middle of the variables of one rod, in their order.
    pub(super) fn away_of(&self, rod: usize) -> impl Iterator<Item = &Interval> {
        let own = self.away.iter().skip(if rod == 0 { SHARED } else { SHARED + OWN });
        self.away.iter().take(SHARED).chain(own.take(OWN))
    }

    /// A rectangle of poses over which it is certain that every build reaches and comes to no stop; `None` where it is not.
    ///
    /// In the middle pose an interval step of Newton's from the middle build's motor angles that maps a range into its inside
    /// shows that every build has one pose there. From it each build's motors turn with the joints by J, and where J over a range
    /// of motor angles keeps them in its inside, they never leave it.
    pub(super) fn clear(&self, turns: [Interval; 2]) -> Option<Clear> {
        let InPose { seen: middle, mut shares, .. } = self.all_at(turns.map(Interval::mid))?;
        let (bent, motors) = self.all_over(turns, &middle)?;
        let by_turns = bent.pose.jacobian.into_iter().zip(bent.second);
        for (shares, ([by_p, by_r], [pp, pr, rr])) in shares.iter_mut().zip(by_turns) {
            let [p, r, ..] = shares;
            *p = Share { motor: by_p, rates: [pp, pr] };
            *r = Share { motor: by_r, rates: [pr, rr] };
            if ![p, r].into_iter().all(|share| is_finite(share)) {
                return None;
            }
        }
        let (by_turns, by_sizes) = (OnceCell::new(), OnceCell::new());
        let (over, third) = (Seen { pose: bent.pose, motors }, bent.third);
        Some(Clear { turns, over, third, middle, shares, by_turns, by_sizes })
    }

    /// What variable `index` of rod `k` does to its margins: a joint turn over the rectangle, a size in its middle.
    pub(super) fn margin(&self, clear: &Clear, k: usize, index: usize) -> MarginShare<Interval> {
        let turns = |turns: [Interval; 2]| turns.map(Interval::sin_cos);
        let share = if index < TURNS {
            let all = clear
                .by_turns
                .get_or_init(|| self.wide.turn_margins(turns(clear.turns), &clear.over.pose));
            one_of(all.each_ref(), k).get(index)
        } else {
            let all = clear.by_sizes.get_or_init(|| {
                let middle = turns(clear.turns.map(|turn| Interval::point(turn.mid())));
                Box::new(self.wide.margin_shares(middle, &clear.middle.pose))
            });
            one_of(all.each_ref(), k).get(index)
        };
        share.copied().unwrap_or_else(MarginShare::none)
    }

    /// All builds at these joint turns.
    pub(super) fn all_at(&self, joints: [f64; 2]) -> Option<InPose> {
        let plain = joints.map(libm::sincos);
        let joints = joints.map(|turn| Interval::point(turn).sin_cos());
        let at = self.middle.built.at(joints)?;
        let angles = self.middle.built.angles(&at, at.rods.each_ref().map(|rod| sheet(rod.place)));
        let rates = at.jacobian;
        if self.is_one {
            let shares = Box::new([[Share::none(); OF_ROD]; 2]);
            let seen = Seen { pose: at, motors: angles };
            return is_clear(&seen.pose).then_some(InPose { seen, shares, rates });
        }
        let reach = self.about(plain)?.map(|moved| ROOMY * moved + LEAST_REACH);
        let (pose, motors, shares) = self.held(joints, angles, reach, |pose| {
            let shares = Box::new(self.wide.shares(joints, pose));
            let [one, two] = [0, 1].map(|rod| {
                let own = one_of(shares.each_ref(), rod).iter().map(|share| share.motor);
                one_of(angles, rod) + spread(own.zip(self.away_of(rod)).skip(TURNS))
            });
            is_clear(pose).then_some(([one, two], shares))
        })?;
        let own = self.rates_at(rates, &pose, &shares);
        let pose = pose.both_ways(&self.wide.posed(joints, motors)?, own);
        let is_known = shares.iter().flatten().all(is_finite);
        is_known.then_some(InPose { seen: Seen { pose, motors }, shares, rates })
    }

    /// About how far all sizes together turn each motor, rad.
    fn about(&self, joints: [(f64, f64); 2]) -> Option<[f64; 2]> {
        let shares = self.plain.shares(joints, &self.plain.built.at(joints)?);
        Some([0, 1].map(|rod| {
            let own = one_of(shares.each_ref(), rod).iter().zip(self.away_of(rod));
            own.map(|(share, away)| share.motor.abs() * away.magnitude()).sum()
        }))
    }

    /// All builds over a rectangle of poses, from those in its middle, and their motors' angles.
    fn all_over(&self, turns: [Interval; 2], middle: &Seen) -> Option<(BentPose, [Interval; 2])> {
        let joints = turns.map(Interval::sin_cos);
        let [dp, dr] = turns.map(|turn| turn - Interval::point(turn.mid()));
        let step = |pose: &TwoRodsPose<Interval>| {
            let [one, two] = middle.motors;
            let [first, second] = pose.jacobian.map(|[p, r]| p * dp + r * dr);
            is_clear(pose).then_some(([one + first, two + second], ()))
        };
        let reach = middle.pose.jacobian.map(|[p, r]| {
            ROOMY * (p.magnitude() * dp.magnitude() + r.magnitude() * dr.magnitude()) + LEAST_REACH
        });
        let (pose, motors, ()) = self.held(joints, middle.motors, reach, step)?;
        let closer = pose.both_ways(&self.wide.posed(joints, motors)?, pose.jacobian);
        let bent = closer.bent(&middle.pose, [dp, dr]);
        let (motors, ()) = step(&bent.pose)?;
        Some((bent, motors))
    }

    /// A pose over `joints` for a range of motor angles around `angles` that `step` maps into its own inside, and what it maps it
    /// to, with what it found out on the way.
    fn held<S>(
        &self,
        joints: [(Interval, Interval); 2],
        angles: [Interval; 2],
        mut reach: [f64; 2],
        step: impl Fn(&TwoRodsPose<Interval>) -> Option<([Interval; 2], S)>,
    ) -> Option<(TwoRodsPose<Interval>, [Interval; 2], S)> {
        for _ in 0..WIDENINGS {
            let [one, two] = [0, 1].map(|rod| {
                one_of(angles, rod) + Interval::new(-one_of(reach, rod), one_of(reach, rod))
            });
            let pose = self.wide.posed(joints, [one, two])?;
            let (motors, found) = step(&pose)?;
            let is_inside = |rod: usize, range: Interval| {
                let (motor, place) = (one_of(motors, rod), one_of(pose.rods, rod).place);
                matches!(place, At::Length(_))
                    || (range.lo() < motor.lo() && motor.hi() < range.hi())
            };
            if is_inside(0, one) && is_inside(1, two) {
                return Some((pose, motors, found));
            }
            reach = [0, 1].map(|rod| {
                let widest = one_of(motors, rod) - one_of(angles, rod);
                (1.5 * widest.magnitude()).max(one_of(reach, rod))
            });
        }
        None
    }

    /// What size `index` of rod `k` does to what its motor reads, where `share` is what it moves.
    pub(super) fn read(&self, k: usize, index: usize, share: &Share<Interval>) -> Interval {
        let [first, second] = &*self.read_beside;
        let beside = if k == 0 { first } else { second }.get(index);
        share.motor + beside.copied().unwrap_or(Interval::ENTIRE)
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
        let mut legs = self.setting.question.drawing.legs.iter().zip(&clear.over.pose.rods);
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

/// All that slopes × ranges of variables come to, either way.
pub(super) fn spread<'a>(each: impl Iterator<Item = (Interval, &'a Interval)>) -> Interval {
    let moving = each.filter(|(_, away)| **away != Interval::ZERO);
    let sum = moving.fold(Interval::ZERO, |sum, (slope, away)| {
        sum + Interval::point(slope.magnitude()) * Interval::point(away.magnitude())
    });
    Interval::new(-sum.hi(), sum.hi())
}

fn is_finite(share: &Share<Interval>) -> bool {
    let [p, r] = share.rates;
    [p, r, share.motor].iter().all(|slope| slope.width().is_finite())
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

/// Slopes of what each motor reads less those of its angle: where each robot is zeroed in its zero pose, its angle's there are
/// taken away, else those of its pin about it come to it.
fn read_beside(
    setting: &Setting<'_>,
    wide: &SizedBuild<Interval>,
) -> Option<[[Interval; OF_ROD]; 2]> {
    let mut slopes = [[Interval::ZERO; OF_ROD]; 2];
    if setting.question.zeroing == Zeroing::OnEachRobot {
        let shares = wide.shares(in_zero(), &wide.built.at(in_zero())?);
        for (slope, share) in slopes.iter_mut().flatten().zip(shares.iter().flatten()) {
            *slope = -share.motor;
        }
        return Some(slopes);
    }
    for (k, slopes) in slopes.iter_mut().enumerate() {
        for (slope, ahead) in slopes.iter_mut().skip(SHARED).zip(ahead_slopes(setting, k)?) {
            *slope = ahead;
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
