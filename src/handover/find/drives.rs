//! Which joints does the file drive, which move together, and where does it say so?

use std::collections::HashMap;

use super::pairs::{JointTie, ties};
use super::sets::Sets;
use crate::robot::{DriveThrough, JointId, Place, Robot};

/// What drives a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointDrive {
    /// One of [`Robot::actuators`], on this joint alone.
    Actuator(usize),
    /// One of [`Robot::shared_drives`].
    Shared(usize),
}

impl JointDrive {
    /// What it is and where, as a clause: `actuator "m" (line 12)`.
    #[must_use]
    pub fn called(self, robot: &Robot) -> String {
        let (kind, name, place) = match self {
            Self::Actuator(at) => match robot.actuators.get(at) {
                Some(found) => ("actuator", &found.name, found.place),
                None => return String::new(),
            },
            Self::Shared(at) => match robot.shared_drives.get(at) {
                Some(found) => (through(found.through), &found.name, found.place),
                None => return String::new(),
            },
        };
        let name = if name.is_empty() { String::new() } else { format!(" {name:?}") };
        format!("{kind}{name} ({})", line(robot, place))
    }
}

fn through(kind: DriveThrough) -> &'static str {
    match kind {
        DriveThrough::FixedTendon | DriveThrough::SpatialTendon => "the tendon's actuator",
        DriveThrough::Sites => "the actuator between sites",
        DriveThrough::Transmission => "transmission",
    }
}

/// `line 12`, with the file's name where it is not the first file.
pub(super) fn line(robot: &Robot, place: Place) -> String {
    let whereabouts = robot.whereabouts(place);
    let (file, rest) =
        whereabouts.rsplit_once(':').and_then(|(at, _)| at.rsplit_once(':')).unwrap_or_default();
    if place.document == 0 { format!("line {rest}") } else { format!("{file}:{rest}") }
}

/// The drives of a robot that are not switched off, by joint.
#[derive(Debug)]
pub(super) struct Drives {
    by_joint: HashMap<JointId, Vec<JointDrive>>,
    ties: Vec<JointTie>,
    /// Joints that are tied, together.
    tied: Vec<JointId>,
    /// Joints that are tied or share a drive, together.
    together: Vec<JointId>,
    /// Of every group of tied joints one that is driven.
    leaders: HashMap<JointId, JointId>,
}

impl Drives {
    pub(super) fn new(robot: &Robot) -> Self {
        let by_joint = by_joint(robot);
        let ties = ties(robot);
        let count = robot.joints.len();
        let mut sets = Sets::new(count);
        ties.iter().for_each(|tie| {
            sets.join(tie.joints[0], tie.joints[1]);
        });
        let tied: Vec<JointId> = (0..count).map(|joint| sets.first(joint)).collect();
        for drive in &robot.shared_drives {
            for pair in drive.joints.windows(2) {
                if let [(a, _), (b, _)] = pair {
                    sets.join(*a, *b);
                }
            }
        }
        let together = (0..count).map(|joint| sets.first(joint)).collect();
        let mut driven: Vec<JointId> = by_joint.keys().copied().collect();
        driven.sort_unstable_by(|a, b| b.cmp(a));
        let leaders =
            driven.into_iter().filter_map(|joint| Some((*tied.get(joint)?, joint))).collect();
        Self { by_joint, ties, tied, together, leaders }
    }

    /// What drives this joint itself.
    pub(super) fn on(&self, joint: JointId) -> &[JointDrive] {
        self.by_joint.get(&joint).map_or(&[], Vec::as_slice)
    }

    /// The driven joint that this one is tied to, where nothing drives it itself.
    pub(super) fn leader(&self, joint: JointId) -> Option<JointId> {
        let leader = *self.leaders.get(self.tied.get(joint)?)?;
        (leader != joint && self.on(joint).is_empty()).then_some(leader)
    }

    /// Where the file ties this joint to another.
    pub(super) fn tie_of(&self, joint: JointId) -> Option<Place> {
        self.ties.iter().find(|tie| tie.joints.contains(&joint)).map(|tie| tie.place)
    }

    /// Reading of the second joint per reading of the first, by the file's straight ties; where only a fixed tendon pulls
    /// both, as it moves them where nothing else holds one back.
    pub(super) fn slope(&self, robot: &Robot, [from, to]: [JointId; 2]) -> Option<f64> {
        self.tied_slope(from, to).or_else(|| {
            let tendons = robot.shared_drives.iter();
            let tendons = tendons.filter(|drive| drive.through == DriveThrough::FixedTendon);
            tendons.into_iter().find_map(|drive| {
                let of = |id| drive.joints.iter().find(|(joint, _)| *joint == id)?.1;
                Some(of(from)? / of(to)?)
            })
        })
    }

    pub(super) fn tied_slope(&self, from: JointId, to: JointId) -> Option<f64> {
        let mut reached = vec![(from, 1.0)];
        let mut at = 0;
        while let Some((joint, slope)) = reached.get(at).copied() {
            if joint == to {
                return Some(slope);
            }
            for (next, by) in self.ties.iter().filter_map(|tie| tie.across(joint)) {
                if reached.iter().all(|(known, _)| *known != next) {
                    reached.push((next, slope * by));
                }
            }
            at += 1;
        }
        None
    }

    /// Whether straight ties of the file move both.
    pub(super) fn tied(&self, a: JointId, b: JointId) -> bool {
        self.tied_slope(a, b).is_some()
    }

    /// The group of joints that move together, or that one drive pulls.
    pub(super) fn group(&self, joint: JointId) -> JointId {
        self.together.get(joint).copied().unwrap_or(joint)
    }
}

fn by_joint(robot: &Robot) -> HashMap<JointId, Vec<JointDrive>> {
    let mut found: HashMap<JointId, Vec<JointDrive>> = HashMap::new();
    for (at, actuator) in robot.actuators.iter().enumerate().filter(|(_, one)| !one.is_off) {
        found.entry(actuator.joint).or_default().push(JointDrive::Actuator(at));
    }
    let shared = robot.shared_drives.iter().enumerate();
    for (at, drive) in shared.filter(|(_, one)| !one.actuator.is_off) {
        for (joint, _) in &drive.joints {
            found.entry(*joint).or_default().push(JointDrive::Shared(at));
        }
    }
    found
}
