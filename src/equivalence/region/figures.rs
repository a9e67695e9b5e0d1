//! The drawn drive's worst figures over its region, each with the pose where it lies.

use super::values::{FIGURES, Figure, Setting, Values, ZeroedBuild, one_of};
use crate::numeric::evenly;

/// A figure at its worst, and where.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// The figure; signed where its size is the largest.
    pub value: f64,
    /// Pitch and roll, rad.
    pub joints: [f64; 2],
}

/// A figure of a rod at its worst.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RodPeak {
    /// Which rod, 0 or 1.
    pub rod: usize,
    /// The figure.
    pub value: f64,
    /// Pitch and roll, rad.
    pub joints: [f64; 2],
}

/// Worst figures of a drive as drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionFigures {
    /// Entries of E of the largest size, signed: rows read, columns moved, pitch before roll.
    pub rate_error: [[Peak; 2]; 2],
    /// Largest norm of E.
    pub rate_error_norm: Peak,
    /// Largest angle errors of pitch and roll, signed, rad.
    pub angle_error: [Peak; 2],
    /// Smallest angle of a rod to the path of its pin with the other motor held, rad.
    pub transmission_angle: RodPeak,
    /// Smallest angle at a crank, rad; none where no crank turns.
    pub crank_side: Option<RodPeak>,
    /// Largest tilt of a rod in the ball at its crank, rad; none where no crank turns.
    pub ball_tilt: Option<RodPeak>,
    /// Smallest arm that any direction of torque has, m.
    pub smallest_arm: Peak,
}

/// Pieces that each range is first looked at in.
const PIECES: u32 = 12;

/// A place is told to this share of a piece.
const CLOSE: f64 = 1e-5;

/// Where each figure is worst, in the order of [`Figure::ALL`].
pub(super) type Peaks = [Peak; FIGURES];

/// A pose of a build, where its motors have turned by about these.
pub(super) struct Seen {
    pub(super) joints: [f64; 2],
    pub(super) turns: [f64; 2],
    pub(super) values: Values<f64>,
}

/// A build over the region in plain floats.
pub(super) struct Plain<'a> {
    pub(super) setting: &'a Setting<'a>,
    pub(super) build: ZeroedBuild<f64>,
}

impl<'a> Plain<'a> {
    /// The build that `sizes` make.
    pub(super) fn of(setting: &'a Setting<'a>, sizes: &[f64]) -> Option<Self> {
        Some(Self { setting, build: setting.build(sizes)? })
    }

    pub(super) fn seen(&self, joints: [f64; 2], turns: [f64; 2]) -> Option<Seen> {
        let values = self.build.values(self.setting, joints, turns)?;
        Some(Seen { joints, turns: values.turned, values })
    }

    /// How bad the figure is, and where it is worst near `joints`, where the motors have turned by about `turns`.
    pub(super) fn worst(&self, figure: Figure, joints: [f64; 2], turns: [f64; 2]) -> Option<Peak> {
        self.near(figure, joints, turns, CLOSE)
    }

    /// The same to the share `close` of a piece.
    pub(super) fn near(
        &self,
        figure: Figure,
        joints: [f64; 2],
        turns: [f64; 2],
        close: f64,
    ) -> Option<Peak> {
        let mut best = self.seen(joints, turns)?;
        climb(self.setting.question.turns, joints, close, &mut |joints| {
            let Some(here) = self.seen(joints, best.turns) else { return false };
            let is_worse = figure.size(&here.values) > figure.size(&best.values);
            if is_worse {
                best = here;
            }
            is_worse
        });
        Some(Peak { value: best.values.of(figure), joints: best.joints })
    }
}

/// Uphill from `start` by steps that halve where none leads higher, as `is_higher` tells, down to the share `close` of a piece.
fn climb(
    turns: [[f64; 2]; 2],
    start: [f64; 2],
    close: f64,
    is_higher: &mut dyn FnMut([f64; 2]) -> bool,
) {
    let [pitch, roll] = turns;
    let [dp, dr] = turns.map(|[from, to]| (to - from) / f64::from(PIECES));
    let (mut at, mut share) = (start, 1.0);
    while share > close {
        let ways = [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)];
        let beside = ways.map(|(p, r)| {
            let [x, y] = at;
            let within = |x: f64, [from, to]: [f64; 2]| x.clamp(from, to);
            [within(x + p * share * dp, pitch), within(y + r * share * dr, roll)]
        });
        match beside.into_iter().find(|joints| is_higher(*joints)) {
            Some(next) => at = next,
            None => share *= 0.5,
        }
    }
}

/// Where every figure of the drawn drive is worst; `None` where a rod does not reach somewhere in the region.
pub(super) fn drawn_peaks(setting: &Setting<'_>) -> Option<Peaks> {
    let question = setting.question;
    let plain = Plain::of(setting, &setting.drawn_sizes())?;
    let [pitch, roll] = question.turns;
    let mut seen: Vec<Seen> = Vec::new();
    for p in evenly(pitch, PIECES) {
        for r in evenly(roll, PIECES) {
            // The straight ways to the edges pass every part of the region; inside, a node's neighbour tells the sheet.
            let is_at_edge = pitch.contains(&p) || roll.contains(&r);
            let before = seen.last().filter(|_| !is_at_edge).map(|seen| seen.turns);
            let turns = before.or_else(|| question.drive.motor_turns([p, r]).ok())?;
            seen.push(plain.seen([p, r], turns)?);
        }
    }
    let mut peaks = [Peak { value: 0.0, joints: [0.0; 2] }; FIGURES];
    for (slot, figure) in peaks.iter_mut().zip(Figure::ALL) {
        let size = |seen: &&Seen| figure.size(&seen.values);
        let start = seen.iter().max_by(|a, b| size(a).total_cmp(&size(b)))?;
        *slot = plain.worst(figure, start.joints, start.turns)?;
    }
    Some(peaks)
}

impl RegionFigures {
    pub(super) fn of(setting: &Setting<'_>, peaks: &Peaks) -> Option<Self> {
        let [pp, pr, rp, rr, norm, pitch, roll, sides @ ..] = *peaks;
        let [joint_0, joint_1, crank_0, crank_1, tilt_0, tilt_1] = sides;
        let has_crank = setting.has_crank();
        let worst = |pair: [Peak; 2], is_floor: bool| {
            let rods = [0, 1].map(|rod| {
                let Peak { value, joints } = one_of(pair, rod);
                RodPeak { rod, value: libm::asin(value.abs().min(1.0)), joints }
            });
            let cranks = rods.into_iter().filter(|p| is_floor || one_of(has_crank, p.rod));
            let side = if is_floor { 1.0 } else { -1.0 };
            cranks.min_by(|a, b| (side * a.value).total_cmp(&(side * b.value)))
        };
        let some_crank = has_crank != [false; 2];
        Some(Self {
            rate_error: [[pp, pr], [rp, rr]],
            rate_error_norm: norm,
            angle_error: [pitch, roll],
            transmission_angle: worst([joint_0, joint_1], true)?,
            crank_side: worst([crank_0, crank_1], true).filter(|_| some_crank),
            ball_tilt: worst([tilt_0, tilt_1], false),
            smallest_arm: smallest_arm(setting)?,
        })
    }
}

fn smallest_arm(setting: &Setting<'_>) -> Option<Peak> {
    let question = setting.question;
    let arm = |joints: [f64; 2]| Some(question.drive.pose(joints).ok()?.smallest_arm());
    let [pitch, roll] = question.turns;
    let mut best: Option<Peak> = None;
    for p in evenly(pitch, PIECES) {
        for r in evenly(roll, PIECES) {
            let value = arm([p, r])?;
            if best.is_none_or(|best| value < best.value) {
                best = Some(Peak { value, joints: [p, r] });
            }
        }
    }
    let mut best = best?;
    climb(question.turns, best.joints, CLOSE, &mut |joints| {
        let Some(value) = arm(joints) else { return false };
        let is_smaller = value < best.value;
        if is_smaller {
            best = Peak { value, joints };
        }
        is_smaller
    });
    Some(best)
}
