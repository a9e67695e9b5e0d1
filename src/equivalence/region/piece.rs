//! A rectangle of poses: every figure over it and over all builds, bounded.
//!
//! Every figure is that of the middle build in the middle pose, give or take slope × range of every variable. The norm of E is
//! half of the lengths of (a + d, b − c) and (a − d, b + c) together; a length is at most what it projects to along a
//! direction over the cosine of the angle to it, so that the norm is bounded by a few weighted sums of E's entries, each
//! with slopes of its own.

use super::builds_over::{ALL, AllBuilds, Clear, Place, Seen, Slopes, TURNS, places, spread};
use super::joint_side::JointSide;
use super::values::{Figure, Sizes, Values, one_of};
use crate::drive::{InputEnd, MarginShare, OF_ROD};
use crate::numeric::{Interval, Scalar as _};

/// A rectangle of poses, and what is known of its middle from the way there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Start {
    pub(super) turns: [Interval; 2],
    pub(super) middle: Place,
    /// No build in any pose there has a figure worse than this.
    pub(super) known: Sizes,
}

/// A rectangle with its bounds.
#[derive(Debug)]
pub(super) struct Looked {
    /// No build in any pose there has a figure worse than this.
    pub(super) upper: Sizes,
    /// Its halves, cut where E is known least.
    pub(super) halves: Option<[Start; 2]>,
}

/// What is certain over a rectangle before any margin is bounded.
pub(super) struct Over<'a> {
    builds: &'a AllBuilds<'a>,
    clear: &'a Clear,
    middle: &'a Place,
    pub(super) values: Values<Interval>,
    away: Slopes,
    rates: [[Interval; 2]; 2],
    rate_slopes: [[Slopes; 2]; 2],
    effects: Effects,
}

fn point(x: f64) -> Interval {
    Interval::point(x)
}

impl<'a> Over<'a> {
    /// `None` where E is not known at all.
    pub(super) fn of(
        builds: &'a AllBuilds<'a>,
        clear: &'a Clear,
        middle: &'a Place,
    ) -> Option<Self> {
        let values = builds.middle_at(middle)?;
        let away = builds.away(clear.turns, middle.at);
        let slopes = |row: [Interval; 2], column: usize| {
            clear.slopes(OF_ROD, |k, _, share| one_of(row, k) * one_of(share.rates, column))
        };
        let rate_slopes = builds.setting.inverse.map(|row| [slopes(row, 0), slopes(row, 1)]);
        let mut rates = values.rates;
        for (row, slopes) in rates.iter_mut().zip(&rate_slopes) {
            for (rate, slopes) in row.iter_mut().zip(slopes) {
                *rate = *rate + all_of(slopes, &away);
            }
        }
        let is_known = rates.iter().flatten().all(|rate| rate.width().is_finite());
        let effects = Effects::of(&rate_slopes, &away);
        let over = Self { builds, clear, middle, values, away, rates, rate_slopes, effects };
        is_known.then_some(over)
    }

    /// Bounds of all figures, from what is `known` of them, and made no closer than it takes to be within `enough`.
    pub(super) fn looked(&self, enough: &Sizes, known: &Sizes) -> Looked {
        let mut upper = *known;
        for ((slot, figure), enough) in upper.iter_mut().zip(Figure::ALL).zip(enough) {
            if *slot > *enough || enough.is_infinite() {
                *slot = slot.min(self.upper(figure, *enough));
            }
        }
        Looked { upper, halves: self.halves(&upper) }
    }

    fn upper(&self, figure: Figure, enough: f64) -> f64 {
        let bad = |range: Interval| {
            if figure.is_floor() { -range.mignitude() } else { range.magnitude() }
        };
        let coarse = match figure {
            Figure::Norm => return self.norm(enough),
            Figure::Rate(row, column) => bad(one_of(one_of(self.rates, row), column)),
            Figure::Angle(_) => f64::INFINITY,
            Figure::JointSide(_) | Figure::CrankSide(_) | Figure::Tilt(_) => {
                let formula = bad(self.in_all_builds(figure, &self.clear.over));
                if formula <= enough { formula } else { formula.min(bad(self.by_middle(figure))) }
            }
        };
        if coarse <= enough {
            return coarse;
        }
        let slopes = self.slopes(figure);
        let middle = self.values.signed(figure);
        let close = coarse.min(bad(middle + all_of(&slopes, &self.away)));
        // What corners may take away is not enough.
        if close <= enough || close - blur(&slopes, &self.away) > enough {
            return close;
        }
        let at_end = |side: f64| {
            self.at_corner(&slopes, side, &|values| values.signed(figure)).unwrap_or(f64::INFINITY)
        };
        let own = if !figure.is_floor() {
            at_end(1.0).max(at_end(-1.0))
        } else if middle.mid() > 0.0 {
            at_end(-1.0)
        } else {
            at_end(1.0)
        };
        close.min(own)
    }

    /// The most of `side` × a function of the figures: in the middle pose every size by which it certainly rises or falls stands
    /// at its end, the others are given or taken, and so are the joint turns from there.
    fn at_corner(
        &self,
        slopes: &Slopes,
        side: f64,
        of: &dyn Fn(&Values<Interval>) -> Interval,
    ) -> Option<f64> {
        if self.builds.is_one {
            return None;
        }
        let (setting, mut left) = (self.builds.setting, *slopes);
        let end = |slope: Option<&mut Interval>, range: Interval| {
            let Some(slope) = slope else { return Interval::point(range.mid()) };
            let rises = if side > 0.0 { *slope } else { -*slope };
            let end = if rises.lo() >= 0.0 {
                range.hi()
            } else if rises.hi() <= 0.0 {
                range.lo()
            } else {
                return Interval::point(range.mid());
            };
            *slope = Interval::ZERO;
            Interval::point(end)
        };
        let question = setting.question;
        let ranges = places(question.drawing.parts()).zip(&question.sizes.all);
        let sizes: Vec<Interval> =
            ranges.map(|(place, range)| end(left.get_mut(place), *range)).collect();
        let joints = self.clear.turns.map(|turn| point(turn.mid()));
        let turns = self.values.turned.map(Interval::mid);
        let values = setting.build(&sizes)?.values(setting, joints, turns)?;
        let most = point(side) * of(&values) + all_of(&left, &self.away);
        (self.clear.has_one_sheet() && most.width().is_finite()).then(|| most.hi())
    }

    /// A margin over the rectangle from that of all builds in its middle.
    fn by_middle(&self, figure: Figure) -> Interval {
        let slopes = self.margin_slopes(figure, TURNS);
        self.in_all_builds(figure, &self.clear.middle) + all_of(&slopes, &self.away)
    }

    /// A margin as its formula tells it of all builds at once.
    fn in_all_builds(&self, figure: Figure, seen: &Seen) -> Interval {
        let (rods, legs) = (&seen.pose.rods, &self.builds.wide.built.legs);
        let rod = |k: usize| if k == 0 { &rods[0] } else { &rods[1] };
        let circle = |k: usize| match if k == 0 { legs[0].input } else { legs[1].input } {
            InputEnd::Crank { circle, .. } => Some(circle),
            InputEnd::Slide { .. } | InputEnd::Actuator { .. } => None,
        };
        match figure {
            Figure::JointSide(k) => JointSide::of(&seen.pose, k).sine,
            Figure::CrankSide(k) => circle(k)
                .map_or(point(1.0), |circle| rod(k).lever / (rod(k).length * circle.radius)),
            Figure::Tilt(k) => circle(k)
                .map_or(Interval::ZERO, |circle| rod(k).rod.dot(circle.axis) / rod(k).length),
            Figure::Rate(..) | Figure::Norm | Figure::Angle(_) => Interval::ENTIRE,
        }
    }

    /// Slopes of a figure over the rectangle and all builds; of the norm, along its steepest direction in the middle.
    pub(super) fn slopes(&self, figure: Figure) -> Slopes {
        match figure {
            Figure::Rate(row, column) => *self.rate_slopes_of(row, column),
            Figure::Norm => {
                let [[a, b], [c, d]] = self.values.rates.map(|row| row.map(Interval::mid));
                let (same, mixed) = (libm::atan2(b - c, a + d), libm::atan2(b + c, a - d));
                self.weighted(&weights([same, mixed], [point(0.5); 2]))
            }
            Figure::Angle(joint) => self.angle_slopes(joint),
            Figure::JointSide(_) | Figure::CrankSide(_) | Figure::Tilt(_) => {
                self.margin_slopes(figure, OF_ROD)
            }
        }
    }

    fn rate_slopes_of(&self, row: usize, column: usize) -> &Slopes {
        let [[a, b], [c, d]] = &self.rate_slopes;
        one_of(one_of([[a, b], [c, d]], row), column)
    }

    /// Slopes of a margin by the first `count` variables of each rod.
    fn margin_slopes(&self, figure: Figure, count: usize) -> Slopes {
        let of_rod = |rod: usize, of: fn(&Margin) -> Interval| {
            self.clear.slopes(count, |k, index, _| {
                if k == rod {
                    of(&self.builds.margin(self.clear, k, index))
                } else {
                    Interval::ZERO
                }
            })
        };
        match figure {
            Figure::JointSide(rod) => self.joint_side_slopes(rod, count),
            Figure::CrankSide(rod) => of_rod(rod, |margin| margin.crank_sine),
            Figure::Tilt(rod) => of_rod(rod, |margin| margin.tilt_sine),
            Figure::Rate(..) | Figure::Norm | Figure::Angle(_) => [Interval::ENTIRE; ALL],
        }
    }

    fn angle_slopes(&self, joint: usize) -> Slopes {
        let row = one_of(self.builds.setting.inverse, joint);
        let mut slopes = self
            .clear
            .slopes(OF_ROD, |k, index, share| one_of(row, k) * self.builds.read(k, index, share));
        // By the joint turns its slope is E's row.
        for (slot, rate) in slopes.iter_mut().zip(one_of(self.rates, joint)) {
            *slot = rate;
        }
        slopes
    }

    fn joint_side_slopes(&self, rod: usize, count: usize) -> Slopes {
        let Clear { over, middle, .. } = self.clear;
        let [over, middle] = [over, middle].map(|seen| JointSide::of(&seen.pose, rod));
        self.clear.slopes(count, |k, index, share| {
            let side = if index < TURNS { &over } else { &middle };
            if k == rod {
                side.by_own(&self.builds.margin(self.clear, k, index))
            } else {
                side.by_other(share)
            }
        })
    }

    /// Slopes of a weighted sum of E's entries.
    fn weighted(&self, weights: &[[Interval; 2]; 2]) -> Slopes {
        let [[a, b], [c, d]] = &self.rate_slopes;
        let [[u, v], [s, t]] = *weights;
        let mut slopes = [Interval::ZERO; ALL];
        let all = a.iter().zip(b).zip(c.iter().zip(d)).zip(&self.away);
        for (slot, (((a, b), (c, d)), away)) in slopes.iter_mut().zip(all) {
            if *away != Interval::ZERO {
                *slot = (u * *a + v * *b) + (s * *c + t * *d);
            }
        }
        slopes
    }

    /// The largest norm of E.
    fn norm(&self, enough: f64) -> f64 {
        let [[a, b], [c, d]] = self.rates;
        let lengths = [[a + d, b - c], [a - d, b + c]];
        let longest = lengths.map(|[x, y]| {
            let square = point(x.magnitude()).square() + point(y.magnitude()).square();
            square.root().map_or(f64::INFINITY, Interval::hi)
        });
        let coarse = (point(0.5) * (point(longest[0]) + point(longest[1]))).hi();
        if coarse <= enough {
            return coarse;
        }
        let [same, mixed] = lengths.map(directions);
        let half = point(0.5);
        let pair = |(first, stretch): &(f64, Interval), (second, its): &(f64, Interval)| {
            let weights = weights([*first, *second], [half * *stretch, half * *its]);
            let most = sum(&weights, &self.values.rates) + point(self.effects.most(&weights));
            (most.hi(), weights)
        };
        let mut pairs: Vec<(f64, Weights)> =
            same.iter().flat_map(|one| mixed.iter().map(move |two| pair(one, two))).collect();
        pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut most = f64::NEG_INFINITY;
        for (close, weights) in pairs {
            // What may be no more than is known already changes nothing.
            if close <= most {
                break;
            }
            let own = if close <= enough || close - self.effects.blur(&weights) > enough {
                close
            } else {
                let value = |values: &Values<Interval>| sum(&weights, &values.rates);
                let own = self.at_corner(&self.weighted(&weights), 1.0, &value);
                own.map_or(close, |own| own.min(close))
            };
            most = most.max(own);
        }
        coarse.min(most)
    }

    /// Both halves across the joint turn by which E is known least.
    fn halves(&self, known: &Sizes) -> Option<[Start; 2]> {
        let mut unknown = [0.0; 2];
        for slopes in self.rate_slopes.iter().flatten() {
            for ((slot, slope), away) in unknown.iter_mut().zip(slopes).zip(&self.away) {
                *slot += slope.width() * away.magnitude();
            }
        }
        let [by_pitch, by_roll] = unknown;
        let across = if by_pitch >= by_roll { 0 } else { 1 };
        let [pitch, roll] = self.clear.turns;
        let cut = one_of(self.clear.turns, across);
        if cut.mid() <= cut.lo() || cut.mid() >= cut.hi() {
            return None;
        }
        let halves =
            cut.halves().map(|half| if across == 0 { [half, roll] } else { [pitch, half] });
        let from = Place { motors: self.values.turned, ..*self.middle };
        Some(halves.map(|turns| Start {
            turns,
            middle: self.clear.moved(&from, turns.map(Interval::mid)),
            known: *known,
        }))
    }
}

type Margin = MarginShare<Interval>;

/// Weights of E's entries.
type Weights = [[Interval; 2]; 2];

/// Slope × range of each variable on E's four entries, as a middle and what it may be off by, for sums of entries in plain
/// floats.
struct Effects {
    middles: Vec<[f64; 4]>,
    off: [f64; 4],
    /// More than floats may have lost of such a sum, for weights up to 2.
    lost: f64,
}

/// All that slopes × ranges of all variables come to, either way.
fn all_of(slopes: &Slopes, away: &Slopes) -> Interval {
    spread(slopes.iter().copied().zip(away))
}

/// How far apart all slopes × ranges lie, about.
fn blur(slopes: &Slopes, away: &Slopes) -> f64 {
    let each = slopes.iter().zip(away).filter(|(_, away)| **away != Interval::ZERO);
    each.map(|(slope, away)| slope.width() * away.magnitude()).sum()
}

/// Far more than a few dozen roundings lose, as a share.
const ROUNDINGS: f64 = 1e-13;

impl Effects {
    fn of([[a, b], [c, d]]: &[[Slopes; 2]; 2], away: &Slopes) -> Self {
        let mut effects = Self { middles: Vec::new(), off: [0.0; 4], lost: 0.0 };
        let all = a.iter().zip(b).zip(c.iter().zip(d)).zip(away);
        for (((a, b), (c, d)), away) in all.filter(|(_, away)| **away != Interval::ZERO) {
            let (by, slopes) = (away.magnitude(), [*a, *b, *c, *d]);
            let middles = slopes.map(|slope| slope.mid() * by);
            effects.lost += ROUNDINGS * middles.iter().map(|x| x.abs()).sum::<f64>();
            for (off, slope) in effects.off.iter_mut().zip(slopes) {
                *off += slope.width() * by * (0.5 + ROUNDINGS);
            }
            effects.middles.push(middles);
        }
        effects
    }

    /// By how much less it may be, about.
    fn blur(&self, weights: &Weights) -> f64 {
        let each = weights.iter().flatten().zip(self.off);
        2.0 * each.map(|(weight, off)| weight.magnitude() * off).sum::<f64>()
    }

    /// More than all variables do to the sum of entries times `weights`, either way.
    fn most(&self, weights: &Weights) -> f64 {
        let [[u, v], [s, t]] = *weights;
        let [u, v, s, t] = [u, v, s, t].map(Interval::mid);
        let each = self.middles.iter().map(|[a, b, c, d]| (u * a + v * b + s * c + t * d).abs());
        let off = [u, v, s, t].into_iter().zip(self.off).map(|(weight, off)| weight.abs() * off);
        (each.sum::<f64>() + off.sum::<f64>()) * (1.0 + ROUNDINGS)
            + ROUNDINGS * self.off.iter().sum::<f64>()
            + 4.0 * self.lost
            + f64::MIN_POSITIVE
    }
}

/// Weights of E's entries in (a + d, b − c) along the first direction and (a − d, b + c) along the second, times `stretches`.
fn weights([same, mixed]: [f64; 2], [one, two]: [Interval; 2]) -> [[Interval; 2]; 2] {
    let along = |angle: f64, stretch: Interval| {
        let (sine, cosine) = libm::sincos(angle);
        [point(cosine) * stretch, point(sine) * stretch]
    };
    let ([x, y], [u, v]) = (along(same, one), along(mixed, two));
    [[x + u, y + v], [v - y, x - u]]
}

fn sum([[u, v], [s, t]]: &[[Interval; 2]; 2], [[a, b], [c, d]]: &[[Interval; 2]; 2]) -> Interval {
    (*u * *a + *v * *b) + (*s * *c + *t * *d)
}

/// The half angle of a fan that a direction stands for, rad: its vectors are longer than they project by 0.3 % at most.
const FAN: f64 = 0.08;

/// Directions, with what a projection is to be stretched by, one of which bounds the length of any vector in a box.
fn directions([x, y]: [Interval; 2]) -> Vec<(f64, Interval)> {
    let middle = libm::atan2(y.mid(), x.mid());
    let (sine, cosine) = libm::sincos(middle);
    let ahead = (x * point(cosine) + y * point(sine)).lo();
    let across = (y * point(cosine) - x * point(sine)).magnitude();
    let is_pointed = ahead > 0.0 && across < 2.0 * ahead;
    let reach = if is_pointed { libm::atan(across / ahead) + 1e-9 } else { std::f64::consts::PI };
    let count = (reach / FAN).ceil().clamp(1.0, 8.0);
    let half = reach / count;
    // A vector at most `half` away from a direction is 1/cos of it longer than it projects; a hair for rounding.
    let stretch = Interval::new(1.0, (1.0 + 1e-12) / libm::cos(half));
    let mut fan = Vec::new();
    let mut k = 0.0;
    while k < count {
        fan.push((middle - reach + (2.0 * k + 1.0) * half, point(stretch.hi())));
        k += 1.0;
    }
    fan
}
