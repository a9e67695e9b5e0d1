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

    /// By way of other followers to the driver, where an engine holds all ties at once, as equalities; a reader of `mimic`
    /// looks at one alone.
    pub(super) fn through(self, robot: &Robot, driver: &str) -> Self {
        if !robot.format.holds_polynomials() {
            return self;
        }
        let mut way = (self.leader.clone(), self.line);
        for _ in 0..robot.joints.len() {
            if way.0 == driver {
                return Self { leader: way.0, line: way.1, ..self };
            }
            let next = robot.joint_named(&way.0).and_then(|id| Self::of(robot, id));
            let Some(next) = next else { break };
            let lines = way.1.zip(next.line);
            let line = lines.map(|([slope, offset], [m, o])| [slope * m, slope * o + offset]);
            way = (next.leader, line);
        }
        self
    }
}
