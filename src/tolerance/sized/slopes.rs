//! What each size does to the joint, first order, and the corners of the tolerances that are worst by it.

use crate::drive::BuildPose;
use crate::equivalence::Criterion;
use crate::numeric::{Interval, Jet, evenly};
use crate::tolerance::ranking::Contribution;
use crate::tolerance::spread::Deviation;
use crate::tolerance::varied::Varied;

use super::course::{Course, Seen};
use super::spread::SizeSpread;

/// Pieces of the stroke that slopes are looked at between.
const PIECES: u32 = 90;

/// Slopes of the figures by every size over the stroke, by the closed form of the drawn drive.
#[derive(Clone, Debug)]
pub struct Slopes<'a> {
    course: &'a Course<'a>,
    names: Vec<Varied>,
    poses: Vec<Pose>,
}

/// Angle error (rad), ratio error, sine of the transmission angle, arm (m, 0 where there is none).
type Figures = [f64; 4];

#[derive(Clone, Debug)]
struct Pose {
    motor: f64,
    drawn: Figures,
    /// One for each size.
    by: Vec<Figures>,
}

/// What a corner is looked for by: which figure, and +1 for its largest, −1 for its smallest.
const SIDES: [(usize, f64); 6] = [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0), (2, -1.0), (3, -1.0)];

impl<'a> Slopes<'a> {
    /// Over the stroke of `course`; `None` where slopes have no bound.
    #[must_use]
    pub fn new(course: &'a Course<'a>) -> Option<Self> {
        let names = Varied::sizes(course.request.drawing);
        let poses = evenly(course.request.joints, PIECES).map(|joint| pose(course, joint));
        Some(Self { course, names, poses: poses.collect::<Option<_>>()? })
    }

    /// Largest share first: the sizes that scatter, or all where none does.
    #[must_use]
    pub fn ranking(&self) -> Vec<Contribution> {
        let spread = &self.course.request.spread;
        let shares = self.worst_shares(spread);
        let named = self.names.iter().enumerate().zip(shares);
        let mut ranked: Vec<Contribution> = named
            .filter(|((k, _), _)| !spread.is_any() || spread.scattering().any(|s| s == *k))
            .filter_map(|((k, name), share)| {
                let (slope, at_turn) = self.steepest(k, 0)?;
                let (ratio, _) = self.steepest(k, 1)?;
                let ratio_slope = Some(ratio);
                Some(Contribution { variable: *name, slope, at_turn, ratio_slope, share })
            })
            .collect();
        ranked.sort_by(|a, b| b.share.total_cmp(&a.share));
        ranked
    }

    /// The slope of a figure by a size where it is steepest, with the motor turn there.
    fn steepest(&self, size: usize, figure: usize) -> Option<(f64, f64)> {
        let slope = |p: &Pose| Some((*p.by.get(size)?.get(figure)?, p.motor));
        let slopes = self.poses.iter().filter_map(slope);
        slopes.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
    }

    /// Shares of the variance of the angle error in the pose where it is largest.
    fn worst_shares(&self, spread: &SizeSpread) -> Vec<f64> {
        let parts = self.poses.iter().map(|pose| variance_parts(pose, spread));
        let sum = |parts: &Vec<f64>| parts.iter().sum::<f64>();
        let worst = parts.max_by(|a, b| sum(a).total_cmp(&sum(b))).unwrap_or_default();
        let total = sum(&worst);
        worst.into_iter().map(|part| if total > 0.0 { part / total } else { 0.0 }).collect()
    }

    /// The corners of `deviations` that are worst to first order, each with its worst figures worked out; `None` for one
    /// that does not close. Computed, not proved: a corner may be missed, and the inside may be worse.
    pub fn corners(
        &self,
        deviations: &[Deviation],
    ) -> impl Iterator<Item = (Vec<f64>, Option<Seen>)> {
        SIDES.into_iter().map(move |side| {
            let corner = self.corner(side, deviations);
            let seen = self.course.seen(&corner);
            (corner, seen)
        })
    }

    fn corner(&self, (figure, sense): (usize, f64), deviations: &[Deviation]) -> Vec<f64> {
        let towards = |by: &Figures, d: &Deviation| {
            let slope = sense * by.get(figure).copied().unwrap_or(0.0);
            if slope >= 0.0 { (d.upper, slope * d.upper) } else { (d.lower, slope * d.lower) }
        };
        let reached = |p: &Pose| {
            let drawn = sense * p.drawn.get(figure).copied().unwrap_or(0.0);
            drawn + p.by.iter().zip(deviations).map(|(by, d)| towards(by, d).1).sum::<f64>()
        };
        let worst = self.poses.iter().max_by(|a, b| reached(a).total_cmp(&reached(b)));
        let corner =
            |p: &Pose| p.by.iter().zip(deviations).map(|(by, d)| towards(by, d).0).collect();
        worst.map(corner).unwrap_or_default()
    }

    /// The worst figure of a criterion among the corners; `None` where one does not close.
    #[must_use]
    pub fn worst(&self, criterion: Criterion, deviations: &[Deviation]) -> Option<f64> {
        let figures = self.corners(deviations).map(|(_, seen)| seen?.figure(criterion));
        let figures = figures.collect::<Option<Vec<f64>>>()?.into_iter();
        match criterion {
            Criterion::TransmissionAngle => figures.reduce(f64::min),
            _ => figures.reduce(f64::max),
        }
    }

    /// Smallest and largest arm of the last rod about the joint among the corners of what is drawn, m.
    #[must_use]
    pub fn arms(&self) -> Option<[f64; 2]> {
        let arms = self.corners(&self.course.request.spread.deviations).map(|(_, seen)| seen?.arm);
        let arms = arms.collect::<Option<Vec<[f64; 2]>>>()?.into_iter();
        arms.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])])
    }

    pub(super) fn course(&self) -> &'a Course<'a> {
        self.course
    }

    pub(super) fn names(&self) -> &[Varied] {
        &self.names
    }
}

/// Each size's covariance with the whole angle error.
fn variance_parts(pose: &Pose, spread: &SizeSpread) -> Vec<f64> {
    let sigma = spread.distribution.sigma();
    let effects = pose.by.iter().zip(&spread.deviations);
    let effects: Vec<f64> = effects.map(|(by, d)| by[0] * d.half_width() * sigma).collect();
    let mut parts: Vec<f64> = effects.iter().map(|x| x * x).collect();
    for group in &spread.groups {
        let of = |k: &usize| effects.get(*k).copied().unwrap_or(0.0);
        let all: f64 = group.members.iter().map(of).sum();
        for k in &group.members {
            if let Some(part) = parts.get_mut(*k) {
                *part += group.correlation * of(k) * (all - of(k));
            }
        }
    }
    parts
}

fn pose(course: &Course<'_>, joint: f64) -> Option<Pose> {
    let sheets = course.builds.sheets(joint).ok()?;
    let sizes: Vec<Jet<1>> =
        course.drawn.iter().map(|x| Jet::constant(Interval::point(*x))).collect();
    let at = |sizes: &[Jet<1>]| {
        let joint = Jet::constant(Interval::point(joint));
        course.builds.build(sizes, course.counted())?.at(joint, &sheets)
    };
    let (drawn, motor) = (at(&sizes)?, |pose: &BuildPose<Jet<1>>| pose.motor.value.mid());
    let direct = course.request.joint;
    let by = |k: usize| {
        let mut sizes = sizes.clone();
        let slot = sizes.get_mut(k)?;
        *slot = Jet::variable(0, slot.value);
        let pose = at(&sizes)?;
        let slope = |x: Jet<1>| x.slopes[0].mid();
        let arm = pose.arm.map_or(0.0, slope);
        let [motor, ratio] = [pose.motor, pose.ratio].map(|x| slope(x) / direct.ratio);
        Some([-motor, ratio, slope(pose.sine), arm])
    };
    let value = |x: Jet<1>| x.value.mid();
    let figures = [
        joint - motor(&drawn) / direct.ratio - direct.offset,
        value(drawn.ratio) / direct.ratio - 1.0,
        value(drawn.sine),
        drawn.arm.map_or(0.0, value),
    ];
    let by = (0..course.drawn.len()).map(by).collect::<Option<Vec<Figures>>>()?;
    let is_known = by.iter().flatten().chain(&figures).all(|x| x.is_finite());
    is_known.then_some(Pose { motor: motor(&drawn), drawn: figures, by })
}
