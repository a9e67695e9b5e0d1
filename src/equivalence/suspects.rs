//! Points at which a limit is likely to be broken first: the worst corner of the box in each of many poses, in plain
//! floats. They show where a proof cannot succeed; nothing rests on them.

use std::f64::consts::TAU;

use crate::linkage::FourBar;
use crate::numeric::Interval;
use crate::numeric::search::Objective as _;

use super::claims::{AngleError, CosineAtQ, Domain, Point, RatioError, Setting, TURN, Zeroing};
use super::criterion::{Criterion, MET_WITHIN};
use super::nominal::Limits;
use super::pad::{Finger, PadClaim};

/// A member of a family by its place between its limits (0…1 for each variable but the motor turn), in one pose.
#[derive(Clone, Copy, Debug)]
pub(super) struct Suspect {
    pub(super) shares: [f64; 5],
    pub(super) turn: f64,
}

/// Poses of a stroke.
const POSES: u32 = 17;

impl Suspect {
    /// The member of `family` at `at`.
    pub(super) fn of(at: &Point, family: &Domain) -> Self {
        let mut shares = [0.5; 5];
        for (share, (x, range)) in shares.iter_mut().zip(at.iter().zip(family)) {
            let width = range.hi() - range.lo();
            if width > 0.0 {
                *share = (x - range.lo()) / width;
            }
        }
        Self { shares, turn: at[TURN] }
    }

    fn at(&self, family: &Domain) -> Point {
        let mut point = family.map(Interval::mid);
        for (x, (share, range)) in point.iter_mut().zip(self.shares.iter().zip(family)) {
            *x = range.lo() + share * (range.hi() - range.lo());
        }
        point[TURN] = self.turn;
        point
    }
}

/// Of `family` (its motor turns are the stroke): where each figure rises with the lengths in each of many poses.
pub(super) fn suspects(
    setting: Setting<'_>,
    finger: Option<&Finger>,
    family: &Domain,
) -> Vec<Suspect> {
    let (turns, last) = (family[TURN], f64::from(POSES - 1));
    let width = turns.hi() - turns.lo();
    let poses = if width > 0.0 { POSES } else { 1 };
    (0..poses)
        .map(|k| turns.lo() + width * (f64::from(k) / last))
        .flat_map(|turn| at_turn(setting, finger, family, turn))
        .collect()
}

fn at_turn(
    setting: Setting<'_>,
    finger: Option<&Finger>,
    family: &Domain,
    turn: f64,
) -> Vec<Suspect> {
    let mut middle = family.map(|range| Interval::point(range.mid()));
    middle[TURN] = Interval::point(turn);
    let side = 1.0;
    let mut slopes = vec![CosineAtQ { setting, side }.gradient(&middle)];
    match finger {
        Some(finger) => slopes.extend(
            Criterion::OF_PAD
                .map(|criterion| PadClaim { setting, finger, criterion, side }.gradient(&middle)),
        ),
        None => slopes.extend([
            AngleError { setting, side }.gradient(&middle),
            RatioError { setting, side }.gradient(&middle),
        ]),
    }
    let corner = |slopes: &Domain, side: f64| {
        let mut shares = [0.0; 5];
        for (share, slope) in shares.iter_mut().zip(slopes) {
            *share = if side * slope.mid() > 0.0 { 1.0 } else { 0.0 };
        }
        Suspect { shares, turn }
    };
    slopes.iter().flatten().flat_map(|s| [corner(s, 1.0), corner(s, -1.0)]).collect()
}

/// Does any of them break a limit, as a member of `family`, by more than it counts as met within?
pub(super) fn any_breaks(
    setting: Setting<'_>,
    limits: &Limits,
    finger: Option<&Finger>,
    family: &Domain,
    suspects: &[Suspect],
) -> bool {
    let slack = MET_WITHIN;
    let cosine = libm::cos(limits.transmission_angle - slack);
    suspects.iter().any(|suspect| {
        let at = suspect.at(family);
        figures(setting, &at).is_none_or(|[angle, ratio, at_q]| {
            let joint = angle > limits.angle + slack || ratio > limits.ratio + slack;
            at_q > cosine || finger.map_or(joint, |finger| pad_breaks(setting, finger, &at))
        })
    })
}

fn pad_breaks(setting: Setting<'_>, finger: &Finger, at: &Point) -> bool {
    Criterion::OF_PAD.into_iter().any(|criterion| {
        let figure = PadClaim { setting, finger, criterion, side: 1.0 }.sample(at);
        let limit = finger.limits.of(criterion).unwrap_or(f64::INFINITY);
        figure.is_none_or(|figure| figure.abs() > limit + criterion.met_within())
    })
}

/// |angle error|, |ratio error| and |cosine at Q| at one point; `None` where the loop does not close.
fn figures(setting: Setting<'_>, at: &Point) -> Option<[f64; 3]> {
    let [crank, coupler, rocker, ground, error, turn] = *at;
    let bars = FourBar { ground, crank, coupler, rocker };
    let (branch, slope) = (setting.branch, setting.slope.mid());
    let zero_crank = branch.zero_crank() + error;
    let pose = bars.at(zero_crank + turn, branch.closure()).ok()?;
    let zero_lead = match setting.zeroing {
        Zeroing::OnEachRobot => bars.at(zero_crank, branch.closure()).ok()?.rocker_lead(),
        Zeroing::AsDrawn => branch.zero_lead() - error,
    };
    let lead = libm::remainder(pose.rocker_lead() - zero_lead, TAU);
    let angle = lead + (1.0 - slope) * turn - setting.offset;
    let ratio = slope / pose.velocity_ratio() - 1.0;
    Some([angle.abs(), ratio.abs(), pose.cosine_at_q().abs()])
}
