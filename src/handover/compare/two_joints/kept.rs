//! As what does a robot file have two motors on two joints?

use super::pairing::{furthest, named, order, scale, shares, sorted_points};
use super::{DesignSide, Seen};
use crate::design::TwoJointRobot;
use crate::handover::Form;
use crate::handover::find::{TwoJointLoops, TwoRodsInFile, measured_names};
use crate::handover::stand_in::two_joints::MotorRow;
use crate::robot::{DriveEnds, DriveThrough, FileActuator, JointId, Robot, SharedDrive};

/// What the file has of both motors, each in the design's order.
pub(super) enum Kept<'a> {
    /// An actuator on each joint, or none.
    Joints,
    /// A tendon a motor, whose length is a sum of both readings.
    Readings([&'a SharedDrive; 2]),
    /// A tendon a motor from point to point.
    Points([(&'a SharedDrive, &'a DriveEnds); 2]),
    /// The loops, and whether the file's second motor is the design's first.
    Loops(&'a TwoRodsInFile, [usize; 2]),
    /// Something else, in words.
    Other(String),
}

impl<'a> Kept<'a> {
    pub(super) fn of(
        side: &DesignSide<'_>,
        seen: &Seen<'a>,
        wanted: &TwoJointRobot,
        loops: &'a [TwoJointLoops],
    ) -> Self {
        let robot = seen.robot;
        let names = seen.ids.map(|id| robot.joint_name(id));
        let is_ours =
            |pair: &&TwoJointLoops| pair.joints.iter().any(|own| names.contains(&own.as_str()));
        if let Some(pair) = loops.iter().find(is_ours) {
            return match &pair.drive {
                Some(drive) if drive.joints == seen.ids => {
                    Self::Loops(drive, order(side, robot, drive, wanted))
                }
                Some(_) => Self::Other("two loops turn these joints in another order".to_owned()),
                None => Self::Other(unknown(pair)),
            };
        }
        if let Some(name) = measured_names(robot)
            .into_iter()
            .find(|(_, joints)| joints.iter().any(|own| names.contains(&own.as_str())))
        {
            return Self::Other(format!(
                "one closed loop, {:?}, turns one of these joints",
                name.0
            ));
        }
        Self::pulled(side, seen, wanted)
    }

    /// What pulls both joints besides actuators of their own.
    fn pulled(side: &DesignSide<'_>, seen: &Seen<'a>, wanted: &TwoJointRobot) -> Self {
        let robot: &'a Robot = seen.robot;
        let is_ours = |joint: &(JointId, Option<f64>)| seen.ids.contains(&joint.0);
        let shared: Vec<&SharedDrive> =
            robot.shared_drives.iter().filter(|one| one.joints.iter().any(is_ours)).collect();
        let own: Vec<&FileActuator> =
            robot.actuators.iter().filter(|one| seen.ids.contains(&one.joint)).collect();
        let [first, second] = match shared.as_slice() {
            [] if own.len() <= 2 => return Self::Joints,
            [] => return Self::Other("more than one actuator drives one joint".to_owned()),
            [first, second] if own.is_empty() => [*first, *second],
            all => {
                let count = all.len();
                return Self::Other(format!(
                    "{count} tendons or transmissions act on both joints besides {} actuators of their own",
                    own.len()
                ));
            }
        };
        let both = [first, second];
        let on_ours = both.iter().all(|one| one.joints.iter().all(is_ours));
        let through = both.map(|one| one.through);
        if on_ours && through == [DriveThrough::FixedTendon; 2] {
            return Self::Readings(sorted_readings(side, seen, both, wanted));
        }
        match both.map(|one| one.ends.as_ref().filter(|ends| ends.slide.is_none())) {
            [Some(a), Some(b)] if on_ours && through == [DriveThrough::SpatialTendon; 2] => {
                let both = [(first, a), (second, b)];
                Self::Points(sorted_points(side, seen, both, wanted))
            }
            _ => Self::Other("what pulls both joints is no tendon a motor".to_owned()),
        }
    }

    pub(super) fn form(&self) -> Form {
        match self {
            Self::Joints | Self::Readings(_) => Form::Direct,
            Self::Points(_) => Form::Coupled,
            Self::Loops(..) | Self::Other(_) => Form::Loop,
        }
    }

    pub(super) fn note(&self) -> Option<String> {
        let words = match self {
            Self::Joints | Self::Readings(_) | Self::Other(_) => return None,
            Self::Points(_) => {
                "the file holds both actuators as tendons from pin to pin: their pins and motors are compared, and they do not rest on the verdict"
            }
            Self::Loops(..) => {
                "the file holds the drive as two closed loops: how they move, what cranks and rods weigh and the motors are compared, not the centres and inertias of cranks and rods; they do not rest on the verdict; fold puts two joints in their place"
            }
        };
        Some(words.to_owned())
    }
}

fn unknown(pair: &TwoJointLoops) -> String {
    let why = pair.obstacles.first().map_or("", |one| one.message.as_str());
    format!("two closed loops that are not understood turn these joints: {why}")
}

/// Both in the order of the design's motors.
fn sorted_readings<'a>(
    side: &DesignSide<'_>,
    seen: &Seen<'a>,
    both: [&'a SharedDrive; 2],
    wanted: &TwoJointRobot,
) -> [&'a SharedDrive; 2] {
    let rows = side.as_kept(&Kept::Readings(both), false).rows(wanted);
    let off = |row: &MotorRow, drive: &SharedDrive| {
        let shares = shares(seen, drive);
        let scale = scale(row, shares, drive.actuator.gear);
        furthest(row.figures, shares.map(|share| scale * share))
    };
    let [first, second] = both;
    let is_swapped = named(both.map(|drive| drive.name.as_str()), wanted).unwrap_or_else(|| {
        let straight = off(&rows[0], first) + off(&rows[1], second);
        off(&rows[0], second) + off(&rows[1], first) < straight
    });
    if is_swapped { [second, first] } else { both }
}
