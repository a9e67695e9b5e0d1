//! A drive of two joints at poses over its region, for who draws it.

use crate::design::TwoJointDesign;
use crate::drive::{RodsOnUniversal, TwoRodsPose};
use crate::numeric::evenly;

use super::region_rows::row;
use super::{RegionRow, TwoMotors};

/// Poses in pitch and in roll that a map is drawn from.
pub const MAP_POSES: [u32; 2] = [41, 41];

/// A drive over its region.
#[derive(Clone, Debug)]
pub struct RegionCourse {
    /// Where axes, motors and pins are in the zero pose, carrier frame, m.
    pub geometry: RodsOnUniversal,
    /// Rising turns of pitch from the zero pose, rad.
    pub pitches: Vec<f64>,
    /// Rising turns of roll from the zero pose, rad.
    pub rolls: Vec<f64>,
    /// A pose for every pitch and roll, pitch outermost; `None` where it is not reached.
    pub poses: Vec<Option<CoursePose>>,
    /// Index of the pose nearest to the zero pose.
    pub nearest_zero: usize,
}

/// Figures and places of one pose.
#[derive(Clone, Debug)]
pub struct CoursePose {
    /// Its figures.
    pub row: RegionRow,
    /// Where rods and pins are.
    pub places: TwoRodsPose,
}

impl RegionCourse {
    /// Pitch and roll of a pose that is reached, turns from the zero pose, rad.
    #[must_use]
    pub fn joints(&self, pose: usize) -> Option<[f64; 2]> {
        self.poses.get(pose)?.as_ref().map(|pose| pose.row.joints)
    }

    /// The place of the pose nearest to the zero pose among those that are reached.
    #[must_use]
    pub fn nearest_zero_reached(&self) -> usize {
        self.poses.iter().take(self.nearest_zero).flatten().count()
    }

    /// The size of the force of each rod in every pose, N, pitch outermost, at a torque of both motors, N m; not a number where
    /// it is not reached.
    #[must_use]
    pub fn rod_forces(&self, motor_torque: f64) -> [Vec<f64>; 2] {
        let arms = |k: usize| {
            let arm = |pose: &CoursePose| pose.places.motor_arms().get(k).copied();
            let force = move |pose: &Option<CoursePose>| {
                pose.as_ref().and_then(arm).map_or(f64::NAN, |arm| (motor_torque / arm).abs())
            };
            self.poses.iter().map(force).collect()
        };
        [arms(0), arms(1)]
    }

    /// A figure of every pose, pitch outermost; not a number where it is not reached.
    pub fn figures(&self, of: impl Fn(&RegionRow) -> f64) -> Vec<f64> {
        let figure = |pose: &Option<CoursePose>| pose.as_ref().map_or(f64::NAN, |p| of(&p.row));
        self.poses.iter().map(figure).collect()
    }
}

/// The drive of `design` at about `counts` poses in pitch and in roll, both ends among them, and the zero pose where it lies in
/// the region.
#[must_use]
pub fn region_course(design: &TwoJointDesign, of: &TwoMotors, counts: [u32; 2]) -> RegionCourse {
    let [pitch, roll] = of.region;
    let [pitches, rolls] = [turns(pitch, counts[0]), turns(roll, counts[1])];
    let at = |joints: [f64; 2]| {
        let (row, places) = (row(design, of, joints)?, of.drive.pose(joints).ok()?);
        Some(CoursePose { row, places })
    };
    let poses = pitches.iter().flat_map(|p| rolls.iter().map(|r| [*p, *r])).map(at).collect();
    RegionCourse {
        geometry: *of.drive.geometry(),
        nearest_zero: nearest_zero(&pitches) * rolls.len() + nearest_zero(&rolls),
        pitches,
        rolls,
        poses,
    }
}

/// Evenly spaced, the turn nearest to zero moved there where zero lies inside.
fn turns(range: [f64; 2], count: u32) -> Vec<f64> {
    let mut turns: Vec<f64> = evenly(range, count.max(3) - 1).collect();
    let (last, nearest) = (turns.len().saturating_sub(1), nearest_zero(&turns));
    if let Some(turn) = turns.get_mut(nearest).filter(|_| nearest > 0 && nearest < last) {
        *turn = 0.0;
    }
    turns
}

fn nearest_zero(turns: &[f64]) -> usize {
    let sizes = turns.iter().map(|turn| turn.abs()).enumerate();
    sizes.min_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(index, _)| index)
}
