//! How a joint of a robot file follows another: by `mimic`, or by an equality.

use crate::robot::{JointId, Mimic, Place, Robot};

/// What a file says of how a joint follows another.
#[derive(Clone, Debug)]
pub(super) struct Tie {
    /// The joint that leads.
    pub(super) leader: String,
    /// Slope and offset of the follower's reading; `None` where it is no straight line.
    pub(super) line: Option<[f64; 2]>,
    /// Where the file says it.
    pub(super) place: Place,
}

impl Tie {
    /// Of a joint that follows.
    pub(super) fn of(robot: &Robot, id: JointId) -> Option<Self> {
        let joint = robot.joints.get(id)?;
        if let Some(Mimic { leader, multiplier, offset }) = &joint.mimic {
            let line = Some([*multiplier, *offset]);
            return Some(Self { leader: leader.clone(), line, place: joint.place });
        }
        let mut active = robot.couplings.iter().filter(|c| c.is_active);
        let found = active.find(|c| c.follower == id && c.leader.is_some())?;
        let leader = robot.joints.get(found.leader?)?;
        let [constant, slope, higher @ ..] = found.polynomial;
        let offset = joint.drawn_at + constant - slope * leader.drawn_at;
        let is_line = higher.iter().all(|a| a.abs() <= 0.0);
        let line = is_line.then_some([slope, offset]);
        Some(Self { leader: leader.name.clone(), line, place: found.place })
    }

    /// By way of other joints to the driver, where an engine holds all ties at once, as equalities, whichever of both joints
    /// they call the leader; a reader of `mimic` looks at one alone.
    pub(super) fn to(robot: &Robot, id: JointId, driver: &str) -> Option<Self> {
        let own = Self::of(robot, id);
        if !robot.format.holds_polynomials() || own.as_ref().is_some_and(|own| own.leader == driver)
        {
            return own;
        }
        let driver_id = robot.joint_named(driver)?;
        let (root, line) = from_root(robot, id);
        let (driver_root, driver_line) = from_root(robot, driver_id);
        if root != driver_root {
            return own;
        }
        let place = own.or_else(|| Self::of(robot, driver_id))?.place;
        let lines = line.zip(driver_line);
        let line = lines.map(|([slope, offset], [m, o])| [slope / m, offset - slope / m * o]);
        Some(Self { leader: driver.to_owned(), line, place })
    }
}

/// The joint at the head of all that it follows, and its reading by that one's.
fn from_root(robot: &Robot, id: JointId) -> (JointId, Option<[f64; 2]>) {
    let mut way = (id, Some([1.0, 0.0]));
    for _ in 0..robot.joints.len() {
        let Some(tie) = Tie::of(robot, way.0) else { break };
        let Some(leader) = robot.joint_named(&tie.leader) else { break };
        let lines = way.1.zip(tie.line);
        way = (leader, lines.map(|([slope, offset], [m, o])| [slope * m, slope * o + offset]));
    }
    way
}
