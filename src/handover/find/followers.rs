//! Fingers of a tree: crank, rocker and finger each follow the driver by a multiplier, and no loop holds them.
//!
//! ```text
//!      P o--- finger           as drawn, finger and rocker move alike in one point X, with crank rate 1, r and s the rates
//!       /     X                of rocker and finger:   P − A + s (X − P) = r (X − B)
//! crank/     / rocker          the linkage that the multipliers mimic has its fourth pin there; how far it tilts the
//!     /     /                  finger otherwise than they do is what they are off over the stroke
//!  A o     o B
//! ```
//!
//! In a parallelogram s = 0, r = 1, and X = B + P − A all along. Derived here.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::cycles::Bodies;
use super::drives::Drives;
use super::reach::turns;
use crate::linkage::{Branch, FourBar};
use crate::numeric::peaks;
use crate::robot::{FileJoint, JointId, JointKind, Robot};

/// Axes that differ by less are parallel, rad.
const PARALLEL: f64 = 2e-3;

/// A finger that turns by no more than this for each turn of its crank is to keep its attitude.
const KEEPS: f64 = 0.2;

/// A finger whose joints follow the driver without a loop.
#[derive(Clone, Debug, Serialize)]
pub struct UnheldJaw {
    /// The joint that leads all.
    pub driver: String,
    /// The joint of the crank on the palm.
    #[serde(rename = "crank_joint")]
    pub crank: String,
    /// The joint of the finger on the crank.
    #[serde(rename = "finger_joint")]
    pub finger: String,
    /// The joint of the rocker on the palm.
    #[serde(rename = "rocker_joint")]
    pub rocker: String,
    /// Readings of crank, finger and rocker per reading of the driver.
    pub multipliers: [f64; 3],
    /// Turn of the finger per turn of its crank, as the multipliers have it.
    pub coupler_rate: f64,
    /// Turn of the rocker per turn of the crank, likewise.
    pub rocker_rate: f64,
    /// The linkage that they mimic, its fourth pin where finger and rocker move alike as drawn, m.
    #[serde(flatten)]
    pub bars: FourBar,
    /// Smallest and largest coupler rate of that over the crank's limits; `None` without limits.
    pub drawn_coupler_rate: Option<[f64; 2]>,
    /// Largest angle by which the finger is off that there, rad.
    #[serde(rename = "tilt_error_rad")]
    pub tilt_error: Option<f64>,
}

/// What the joints of one finger are, and how they follow.
struct Parts<'a> {
    joints: [&'a FileJoint; 3],
    multipliers: [f64; 3],
}

/// Every finger whose crank is in no closed loop.
pub(super) fn unheld(robot: &Robot, is_in_loop: impl Fn(&str) -> bool) -> Vec<UnheldJaw> {
    let (bodies, drives) = (Bodies::new(robot), Drives::new(robot));
    let hinge = |joint: &&FileJoint| joint.kind == JointKind::Revolute;
    let fingers = robot.joints.iter().enumerate().filter(|(_, joint)| hinge(joint));
    let found = fingers.filter_map(|(finger, _)| {
        let (leader, parts) = parts(robot, &bodies, &drives, finger)?;
        let is_free = parts.joints.iter().all(|joint| !is_in_loop(&joint.name));
        is_free.then(|| parts.jaw(robot.joint_name(leader)))?
    });
    found.collect()
}

/// Crank, finger and rocker, and who leads them.
fn parts<'a>(
    robot: &'a Robot,
    bodies: &Bodies,
    drives: &Drives,
    finger: JointId,
) -> Option<(JointId, Parts<'a>)> {
    let on = |id: JointId| robot.joints.get(id);
    let ends = |joint: &FileJoint| [joint.parent, joint.child].map(|link| bodies.of_link(link));
    let tip = on(finger)?;
    let all = || robot.joints.iter().enumerate().filter(|(_, j)| j.kind == JointKind::Revolute);
    let (crank, arm) = all().find(|(_, joint)| ends(joint)[1] == ends(tip)[0])?;
    let bears =
        |body| robot.joints.iter().any(|j| j.kind != JointKind::Fixed && ends(j)[0] == body);
    let is_rocker = |(id, joint): &(JointId, &FileJoint)| {
        *id != crank
            && ends(joint)[0] == ends(arm)[0]
            && !bears(ends(joint)[1])
            && [arm, tip].iter().all(|other| other.axis.cross(&joint.axis).norm() < PARALLEL)
            && drives.tied(crank, *id)
    };
    let apart = |joint: &FileJoint| (joint.anchor - arm.anchor).norm();
    let rockers = all().filter(is_rocker);
    let (rocker, other) = rockers.min_by(|a, b| apart(a.1).total_cmp(&apart(b.1)))?;
    let leads =
        |(id, joint): &(JointId, &FileJoint)| joint.mimic.is_none() && drives.tied(crank, *id);
    let leader = all().find(leads)?.0;
    let [a, f, r] = [crank, finger, rocker].map(|id| drives.slope(robot, [leader, id]));
    let parts = Parts { joints: [arm, tip, other], multipliers: [a?, f?, r?] };
    Some((leader, parts))
}

impl Parts<'_> {
    fn jaw(&self, driver: &str) -> Option<UnheldJaw> {
        let [crank, finger, rocker] = self.joints;
        let sense = |joint: &FileJoint| joint.axis.dot(&crank.axis).signum();
        let [own, tip, other] = self.multipliers;
        let s = (own + sense(finger) * tip) / own;
        let r = sense(rocker) * other / own;
        let x = self.shared_point(r, s)?;
        let bars = self.bars(&x);
        let is_linkage = s.abs() <= KEEPS
            && [bars.ground, bars.crank, bars.coupler, bars.rocker].iter().all(|l| *l > 1e-6);
        is_linkage.then(|| {
            let off = self.off(&x, s);
            UnheldJaw {
                driver: driver.to_owned(),
                crank: crank.name.clone(),
                finger: finger.name.clone(),
                rocker: rocker.name.clone(),
                multipliers: self.multipliers,
                coupler_rate: s,
                rocker_rate: r,
                bars,
                drawn_coupler_rate: off.map(|(rates, _)| rates),
                tilt_error: off.map(|(_, worst)| worst),
            }
        })
    }

    fn flat(&self, v: Vector3<f64>) -> Vector3<f64> {
        let axis = self.joints[0].axis;
        v - axis * axis.dot(&v)
    }

    /// X.
    fn shared_point(&self, r: f64, s: f64) -> Option<Point3<f64>> {
        let [a, p, b] = self.joints.map(|joint| joint.anchor.coords);
        let x = (p - a - p * s + b * r) / (r - s);
        x.iter().all(|x| x.is_finite()).then(|| Point3::from(x))
    }

    fn bars(&self, x: &Point3<f64>) -> FourBar {
        let [a, p, b] = self.joints.map(|joint| joint.anchor);
        let length = |from: Point3<f64>, to: Point3<f64>| self.flat(to - from).norm();
        FourBar {
            ground: length(a, b),
            crank: length(a, p),
            coupler: length(p, *x),
            rocker: length(b, *x),
        }
    }

    /// Coupler rates of the linkage over the crank's limits, and the largest difference in tilt.
    fn off(&self, x: &Point3<f64>, s: f64) -> Option<([f64; 2], f64)> {
        let [a, p, b] = self.joints.map(|joint| joint.anchor);
        let axis = self.joints[0].axis;
        let along = self.flat(b - a).normalize();
        let angle = |v: Vector3<f64>| v.dot(&axis.cross(&along)).atan2(v.dot(&along));
        let (bars, phi) = (self.bars(x), angle(p - a));
        let (closure, _) = Branch::nearest_closure(&bars, phi, angle(x - b)).ok()?;
        let branch = Branch::through(bars, phi, closure).ok()?;
        let range = turns(self.joints[0], 1.0)?;
        let rate = |turn: f64| branch.pose(turn).map_or(f64::NAN, |pose| pose.coupler_rate());
        let off = |turn: f64| branch.coupler_turn(turn).map_or(f64::NAN, |tilt| tilt - s * turn);
        let [low, high] = peaks(off, range).map(|peak| peak.1);
        let rates = peaks(rate, range).map(|peak| peak.1);
        let worst = low.abs().max(high.abs());
        (worst.is_finite() && rates.iter().all(|rate| rate.is_finite())).then_some((rates, worst))
    }
}
