//! Double loops as JSON.

use serde_json::{Map, Value, json};

use super::TwoJointLoops;
use crate::drive::Kind;

shapes! {
    pub(in super::super) fn two_joint_loops([TwoJointLoops] as all) =
        all.iter().map(told).collect::<Value>();
}

fn told(one: &TwoJointLoops) -> Value {
    let drive = one.drive.as_ref();
    let check = one.judged.as_ref().map(|judged| &judged.check);
    let leg = |k: usize| -> Map<String, Value> {
        let figures = drive.map_or_else(Vec::new, |drive| drive.figures(k)).into_iter();
        figures.map(|(name, value)| (name.to_owned(), value.into())).collect()
    };
    let region = drive.map(|drive| {
        let [pitch, roll] = drive.region;
        json!({ "pitch_rad": pitch, "roll_rad": roll })
    });
    json!({
        "name": one.name,
        "at": one.whereabouts,
        "loops": one.loops,
        "joints": one.joints,
        "motors": one.motors,
        "kind": drive.map(|_| Kind::TwoRods),
        "region": region,
        "legs": drive.map_or_else(Vec::new, |_| vec![leg(0), leg(1)]),
        "verdict": check.map(|check| check.verdict),
        "matrix": check.map(|check| check.direct_joints.matrix),
        "rate_error": check.map(|check| check.rate_error),
        "angle_error_rad": check.map(|check| check.angle_error_rad),
        "obstacles": one.obstacles,
        "remarks": one.remarks,
    })
}
