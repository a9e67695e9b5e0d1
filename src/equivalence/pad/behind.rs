//! A finger whose crank another drive turns: what that drive's errors do to what is claimed of the pad.
//!
//! With x the crank's turn, y = x − e that of the stand-in's crank at the same motor turn, e and ε the angle error and the ratio
//! error of the drive in front, each claim is the one for the same crank turn, and what comes to it:
//!
//! ```text
//! tilt:   Δ − κ y                     = (Δ − κ x) + κ e
//! place:  ν·(T − T₀) − ν·m(y)         = (… − ν·m(x)) + e ν·m′(ξ),  ξ between y and x
//! grip:   n·T′/(m_n′(y) (1 + ε)) − 1  = (1 + f) (1 + e m_n″(ξ)/m_n′(y))/(1 + ε) − 1
//! ```
//!
//! f is the grip's error at the same crank turn. Losses in the drive are the same in both models and fall out. The sizes of
//! finger and drive are independent, so that the two are bounded apart, in short stretches of the crank's turns.

use super::super::boxes::Boxes;
use super::super::builds::{Front, FrontErrors};
use super::super::claims::{Point, Setting, TURN};
use super::super::criterion::Criterion;
use super::super::finding::{Finding, OneSide, Witness};
use super::{Finger, PadClaim};
use crate::numeric::search::{Effort, Objective as _};
use crate::numeric::{Interval, even_pieces};

/// A stretch of crank turns has at most this width, rad.
const STRETCH: f64 = 0.15;

/// So many stretches at most.
const MOST: u32 = 24;

/// Roundings between a decimal and its float in SI, at most.
const DECIMALS: u32 = 4;

/// What `criterion` of `finger` comes to behind a drive that is off by `errors` (angle, ratio) at the crank turns `turns`, where
/// it is `own` for the same crank turn; `None` where it has no bound.
pub(in super::super) fn behind(
    finger: &Finger,
    criterion: Criterion,
    own: Interval,
    turns: Interval,
    [angle, ratio]: [Interval; 2],
) -> Option<Interval> {
    let (motion, pad) = (&finger.motion, &finger.pad);
    let of_model = turns - angle;
    let between = turns.hull(of_model);
    let place = |along: [f64; 2], count: f64| {
        let [rate, _] = motion.rates(along, pad.closing, between);
        own + Interval::point(count) * (angle * rate)
    };
    let found = match criterion {
        Criterion::Tilt => own + Interval::point(motion.tilt_rate) * angle,
        Criterion::Opening => place(pad.closing, pad.fingers),
        Criterion::Grip => {
            let one = Interval::point(1.0);
            let [_, bend] = motion.rates(pad.closing, pad.closing, between);
            let force = motion.force_rates(pad.closing, of_model);
            if force.contains(0.0) || (one + ratio).contains(0.0) {
                return None;
            }
            (one + own) * ((one + angle * bend / force) / (one + ratio)) - one
        }
        _ => place(pad.across, 1.0),
    };
    found.magnitude().is_finite().then_some(found)
}

/// A finger with every build of the drive in front of it, over a stroke of crank turns.
pub(in super::super) struct Behind<'a> {
    finger: &'a Finger,
    front: &'a Front<'a>,
    setting: Setting<'a>,
    /// With what the drive in front is off there.
    stretches: Vec<(Boxes, Option<FrontErrors>)>,
}

/// A finding with the build of the drive in front that goes with its witness.
pub(in super::super) type Found = (Finding, Vec<f64>);

impl<'a> Behind<'a> {
    /// Over the stretches of `turns`, each as `boxes` has it.
    pub(in super::super) fn new(
        finger: &'a Finger,
        front: &'a Front<'a>,
        setting: Setting<'a>,
        [from, to]: [f64; 2],
        boxes: impl Fn([f64; 2]) -> Boxes,
    ) -> Self {
        let count = (1..MOST).find(|n| (to - from) <= STRETCH * f64::from(*n)).unwrap_or(MOST);
        let stretches = even_pieces([from, to], count).map(|stretch| {
            let boxes = boxes([stretch.lo(), stretch.hi()]);
            let errors = front.over(boxes.outer[TURN]);
            (boxes, errors)
        });
        Self { finger, front, setting, stretches: stretches.collect() }
    }

    /// The largest |`criterion`| against a limit that is met up to `most`; each finger's search goes as far as `effort`.
    pub(in super::super) fn find(&self, criterion: Criterion, effort: &Effort, most: f64) -> Found {
        let mut sides = [1.0, -1.0].map(|side| OneSide {
            upper: f64::NEG_INFINITY,
            seen: f64::NEG_INFINITY,
            witness: (self.nowhere(), self.front.drawn()),
            at: Interval::ENTIRE,
            boxes: u32::from(side > 0.0),
        });
        for (boxes, errors) in &self.stretches {
            self.look(criterion, effort, (boxes, errors.as_ref()), &mut sides);
        }
        let found = Finding::of_sides(sides, most);
        let Finding { outcome, bound, sides, witness: (witness, build), boxes } = found;
        (Finding { outcome, bound, sides, witness, boxes }, build)
    }

    fn look(
        &self,
        criterion: Criterion,
        effort: &Effort,
        (boxes, errors): (&Boxes, Option<&FrontErrors>),
        sides: &mut [OneSide<(Witness, Vec<f64>)>; 2],
    ) {
        let claim = |side| PadClaim { setting: self.setting, finger: self.finger, criterion, side };
        let [up, down] = [1.0, -1.0].map(|side| boxes.largest(&claim(side), effort).0);
        let own = Interval::new(-down.upper, up.upper);
        let turns = boxes.outer[TURN];
        let all = errors.filter(|_| own.magnitude().is_finite()).and_then(|errors| {
            behind(self.finger, criterion, own, turns, [errors.angle, errors.ratio])
        });
        let points = [up.witness, down.witness];
        let builds = self.builds(criterion, errors);
        let pairs = points.iter().flat_map(|point| builds.iter().map(move |build| (point, build)));
        let seen: Vec<_> = pairs
            .filter_map(|(point, build)| Some((point, build, self.at(criterion, point, build)?)))
            .collect();
        for (side, found) in [1.0, -1.0].into_iter().zip(sides) {
            let sided = |value: Interval| value * Interval::point(side);
            found.upper = found.upper.max(all.map_or(f64::INFINITY, |all| sided(all).hi()));
            found.boxes += up.boxes.max(down.boxes);
            for (point, build, value) in &seen {
                let value = sided(*value);
                if value.mid() > found.seen {
                    (found.seen, found.at) = (value.mid(), value);
                    found.witness = (Witness::at(point, value.mid()), (*build).clone());
                }
            }
        }
    }

    /// Of one finger with one build of the drive in front.
    fn at(&self, criterion: Criterion, point: &Point, build: &[f64]) -> Option<Interval> {
        let claim = PadClaim { setting: self.setting, finger: self.finger, criterion, side: 1.0 };
        let around = point.map(|x| Interval::around(x, DECIMALS));
        let errors = self.front.at(build, point[TURN])?;
        behind(self.finger, criterion, claim.enclose(&around)?, around[TURN], errors)
    }

    /// Builds of the drive in front that may be worst: the drawn one among them.
    fn builds(&self, criterion: Criterion, errors: Option<&FrontErrors>) -> Vec<Vec<f64>> {
        let mut builds = vec![self.front.drawn()];
        let which = usize::from(criterion == Criterion::Grip);
        let worst = errors.and_then(|errors| errors.worst.get(which)).into_iter().flatten();
        builds.extend(worst.filter(|build| build.len() == self.front.drawn().len()).cloned());
        builds
    }

    fn nowhere(&self) -> Witness {
        let middle = self.stretches.first().map(|(boxes, _)| boxes.inner.map(Interval::mid));
        let bars = self.setting.branch.bars();
        let drawn = [bars.crank, bars.coupler, bars.rocker, bars.ground, 0.0, 0.0];
        Witness::at(&middle.unwrap_or(drawn), f64::NAN)
    }
}
