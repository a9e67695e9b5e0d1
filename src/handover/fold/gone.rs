//! What goes with the linkage: its crank and coupler, the joints and constraints that held them.

use std::collections::BTreeSet;
use std::ops::Range;

use super::Changes;
use crate::handover::find::{Bodies, FourBarLoop};
use crate::handover::stand_in::in_file::jaw::Rehung;
use crate::robot::{Element, JointId, LinkId, Place, Robot};

/// Closer than this a joint reads the same, rad: 0.006 deg, what a file's decimals leave.
const DECIMALS: f64 = 1e-4;

/// One finger that goes from its rocker to its driver.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moved {
    pub(super) seat: Rehung,
    /// The joint that its own follows.
    pub(super) driver: JointId,
    /// Slope and shift of its reading.
    pub(super) line: [f64; 2],
}

impl Moved {
    /// What counts its joint's reading would count another.
    pub(super) fn reads_otherwise(&self) -> bool {
        self.seat.turns_by.is_nan() || self.seat.turns_by > DECIMALS
    }
}

/// Parts of the robot that go.
#[derive(Clone, Debug, Default)]
pub(super) struct Gone {
    /// Links of crank and coupler.
    pub(super) links: BTreeSet<LinkId>,
    /// Joints that held them, fixed ones among them.
    pub(super) joints: BTreeSet<JointId>,
    /// Closures of the loop.
    pub(super) closures: BTreeSet<usize>,
    /// Joints that stay and whose tie to one that goes says what the stand-in says.
    pub(super) ends: BTreeSet<JointId>,
    /// Fingers that stand inside of what goes, and stay elsewhere.
    pub(super) moved: Vec<Moved>,
}

/// The bytes of what goes, but for what moves out of it.
#[derive(Clone, Debug, Default)]
pub(super) struct GoneBytes {
    goes: Vec<Range<usize>>,
    stays: Vec<Range<usize>>,
}

impl GoneBytes {
    pub(super) fn hold(&self, element: Element<'_>) -> bool {
        let own = element.range();
        let is_in = |places: &[Range<usize>]| {
            places.iter().any(|place| place.start <= own.start && own.end <= place.end)
        };
        is_in(&self.goes) && !is_in(&self.stays)
    }
}

impl Gone {
    /// With one direct joint in place of the linkage; the crank stays where `keeps_crank`.
    pub(super) fn of(
        robot: &Robot,
        bodies: &Bodies,
        found: &FourBarLoop,
        keeps_crank: bool,
    ) -> Self {
        let [_, crank, coupler, _] = found.bodies();
        let mut links: BTreeSet<LinkId> = bodies.links(coupler).collect();
        if !keeps_crank {
            links.extend(bodies.links(crank));
        }
        Self {
            ends: [found.crank_joint(), found.joint()].into_iter().flatten().collect(),
            ..Self::hanging_on(robot, links)
        }
    }

    /// The passive rockers of jaws, with what closes their loops: at the rocker, or where the finger hangs on that, at the crank.
    pub(super) fn rockers(
        robot: &Robot,
        bodies: &Bodies,
        fingers: &[&FourBarLoop],
        moved: Vec<Moved>,
    ) -> Self {
        let links = fingers.iter().flat_map(|found| bodies.links(found.bodies()[3])).collect();
        let ends = fingers.iter().filter_map(|found| found.crank_joint()).collect();
        let mut gone = Self { ends, ..Self::hanging_on(robot, links) };
        gone.joints.retain(|id| moved.iter().all(|one| one.seat.joint != *id));
        gone.closures.extend(fingers.iter().flat_map(|found| &found.pins[1].closures));
        Self { moved, ..gone }
    }

    /// These links, and what holds them.
    pub(super) fn hanging_on(robot: &Robot, links: BTreeSet<LinkId>) -> Self {
        let touches = |ends: [LinkId; 2]| ends.iter().any(|link| links.contains(link));
        let joints = robot.joints.iter().enumerate();
        let joints =
            joints.filter(|(_, j)| touches([j.parent, j.child])).map(|(id, _)| id).collect();
        let closures = robot.closures.iter().enumerate();
        let closures = closures.filter(|(_, c)| touches(c.links)).map(|(id, _)| id).collect();
        Self { links, joints, closures, ..Self::default() }
    }

    /// What closes the loop alone: crank and coupler stay to be seen, the coupler on the one of its pins that it has a
    /// joint at; on the crank's where both are joints.
    pub(super) fn closing(found: &FourBarLoop) -> Self {
        let [_, crank, rocker, _] = &found.pins;
        let closing = if crank.joints.is_empty() { None } else { Some(&rocker.joints) };
        let joints = closing.into_iter().flatten().copied().collect();
        let closures = found.pins.iter().flat_map(|pin| pin.closures.iter().copied()).collect();
        let ends = [found.crank_joint(), found.joint()].into_iter().flatten().collect();
        Self { links: BTreeSet::new(), joints, closures, ends, moved: Vec::new() }
    }

    /// Takes elements out of the file, and gives their bytes.
    pub(super) fn take_out<'a>(
        &self,
        robot: &'a Robot,
        elements: impl Iterator<Item = Element<'a>>,
        changes: &mut Changes,
    ) -> GoneBytes {
        let moved = self.moved.iter().filter_map(|moved| robot.links.get(moved.seat.link));
        let stays = moved.filter_map(|link| Some(robot.element(link.place)?.range())).collect();
        let mut goes = Vec::new();
        for element in elements {
            changes.edits.remove(element);
            goes.push(element.range());
        }
        GoneBytes { goes, stays }
    }

    /// Names of the links that go.
    pub(super) fn link_names<'a>(&self, robot: &'a Robot) -> BTreeSet<&'a str> {
        named(
            self.links.iter().filter_map(|id| robot.links.get(*id)).map(|link| link.name.as_str()),
        )
    }

    /// Names of the joints that go.
    pub(super) fn joint_names<'a>(&self, robot: &'a Robot) -> BTreeSet<&'a str> {
        let joints = self.joints.iter().filter_map(|id| robot.joints.get(*id));
        named(joints.map(|joint| joint.name.as_str()))
    }

    /// Places of all of them.
    pub(super) fn places(&self, robot: &Robot) -> Vec<Place> {
        let links = self.links.iter().filter_map(|id| robot.links.get(*id)).map(|link| link.place);
        let joints =
            self.joints.iter().filter_map(|id| robot.joints.get(*id)).map(|joint| joint.place);
        // A loop that is stated beside the file has no element of its own.
        let is_constraint = |place: &Place| {
            robot.element(*place).is_some_and(|element| !matches!(element.name(), "link" | "body"))
        };
        let closures = self.closures.iter().filter_map(|id| robot.closures.get(*id));
        let closures = closures.map(|closure| closure.place).filter(is_constraint);
        links.chain(joints).chain(closures).collect()
    }
}

fn named<'a>(names: impl Iterator<Item = &'a str>) -> BTreeSet<&'a str> {
    names.filter(|name| !name.is_empty()).collect()
}
