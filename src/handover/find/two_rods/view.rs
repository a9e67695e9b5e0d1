//! Double loops as JSON.

use serde::{Serialize, Serializer};
use serde_json::{Map, Value};

use super::{Obstacle, TwoJointLoops};
use crate::drive::Kind;
use crate::equivalence::Verdict;
use crate::study::RateError;

#[derive(Serialize)]
struct Told<'a> {
    name: &'a str,
    at: &'a str,
    loops: &'a [String; 2],
    joints: &'a [String; 2],
    motors: &'a [String; 2],
    kind: Option<Kind>,
    region: Option<Region>,
    legs: Vec<Map<String, Value>>,
    verdict: Option<Verdict>,
    matrix: Option<[[f64; 2]; 2]>,
    rate_error: Option<RateError>,
    angle_error_rad: Option<[f64; 2]>,
    obstacles: &'a [Obstacle],
    remarks: &'a [Obstacle],
}

#[derive(Serialize)]
struct Region {
    pitch_rad: [f64; 2],
    roll_rad: [f64; 2],
}

pub(in super::super) fn two_joint_loops<S: Serializer>(
    all: &[TwoJointLoops],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(all.iter().map(told))
}

fn told(one: &TwoJointLoops) -> Told<'_> {
    let drive = one.drive.as_ref();
    let check = one.judged.as_ref().map(|judged| &judged.check);
    let leg = |k: usize| {
        let figures = drive.map_or_else(Vec::new, |drive| drive.figures(k)).into_iter();
        figures.map(|(name, value)| (name.to_owned(), value.into())).collect()
    };
    Told {
        name: &one.name,
        at: &one.whereabouts,
        loops: &one.loops,
        joints: &one.joints,
        motors: &one.motors,
        kind: drive.map(|_| Kind::TwoRods),
        region: drive.map(|drive| {
            let [pitch_rad, roll_rad] = drive.region;
            Region { pitch_rad, roll_rad }
        }),
        legs: drive.map_or_else(Vec::new, |_| vec![leg(0), leg(1)]),
        verdict: check.map(|check| check.verdict),
        matrix: check.map(|check| check.direct_joints.matrix),
        rate_error: check.map(|check| check.rate_error),
        angle_error_rad: check.map(|check| check.angle_error_rad),
        obstacles: &one.obstacles,
        remarks: &one.remarks,
    }
}
