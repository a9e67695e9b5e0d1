//! Bodies in a ring with the pins between them.

use nalgebra::{Point3, Rotation3, Vector3};

use super::cycles::{self, Bodies};
use super::pins::LoopPin;
use crate::robot::{LinkId, Robot, StatedRoles};

/// `pins[k]` holds `bodies[k]` and `bodies[k + 1]` together, the last one `bodies[0]` again.
#[derive(Clone, Debug)]
pub(super) struct Ring {
    /// The bodies, the one nearest to the robot's base first.
    pub(super) bodies: Vec<LinkId>,
    /// The pins.
    pub(super) pins: Vec<LoopPin>,
    /// For each body, how many joints and closures it has besides the two of the ring.
    pub(super) spare: Vec<u32>,
    /// For each body, the bodies that were made one with it by holding a pin.
    pub(super) held: Vec<Vec<LinkId>>,
}

/// A pin that is held, and how far the body behind it is turned against the body before it from the drawn pose.
#[derive(Clone, Copy, Debug)]
pub(super) struct HeldPin {
    pub(super) pin: usize,
    /// Unit vector, and rad about it.
    pub(super) turn: (Vector3<f64>, f64),
}

impl Ring {
    pub(super) fn new(
        robot: &Robot,
        bodies: &Bodies,
        graph: &cycles::Graph,
        ring: &cycles::Ring,
    ) -> Option<Self> {
        let pin =
            |(edge, before): (&cycles::Edge, &LinkId)| LoopPin::new(robot, bodies, edge, *before);
        Some(Self {
            bodies: ring.bodies.clone(),
            pins: ring.edges.iter().zip(&ring.bodies).map(pin).collect::<Option<_>>()?,
            spare: ring.bodies.iter().map(|body| graph.degree(*body).saturating_sub(2)).collect(),
            held: vec![Vec::new(); ring.bodies.len()],
        })
    }

    /// Which pin of four bodies is the only slide, where the ring is walked so that the child comes last: 0 of a nut on the
    /// carrier, 1 of one in its housing; and whether it is to be turned round for that.
    pub(super) fn slide(&self) -> Option<(usize, bool)> {
        let mut slides = self.pins.iter().enumerate().filter(|(_, pin)| pin.slide.is_some());
        let (at, _) = slides.next().filter(|_| self.bodies.len() == 4)?;
        if slides.next().is_some() {
            return None;
        }
        Some(if at > 1 { (3 - at, true) } else { (at, false) })
    }

    /// All bodies that are one with body `k`, whose first is `body`.
    pub(super) fn members(&self, k: usize, body: LinkId) -> impl Iterator<Item = LinkId> + '_ {
        let held = self.held.get(k).into_iter().flatten().copied();
        [body].into_iter().chain(held)
    }

    /// What the statement of one of its closures says.
    pub(super) fn stated(&self, robot: &Robot) -> StatedRoles {
        let closures = self.pins.iter().flat_map(|pin| &pin.closures);
        let stated = closures.filter_map(|id| robot.closures.get(*id)).map(|one| one.roles);
        stated.fold(StatedRoles::default(), |sum, one| StatedRoles {
            motor: sum.motor.or(one.motor),
            child: sum.child.or(one.child),
        })
    }

    /// The same ring with some pins held: the bodies on both sides become the first of them.
    pub(super) fn without(mut self, pins: &[HeldPin]) -> Self {
        pins.iter().for_each(|pin| self.turn(*pin));
        let held = |k: usize| pins.iter().any(|one| one.pin == k);
        let count = self.bodies.len();
        // Behind the last free pin all are one with the first body.
        let last_free = (0..count).rev().find(|k| !held(*k)).unwrap_or(0);
        let mut merged =
            Self { bodies: Vec::new(), pins: Vec::new(), spare: Vec::new(), held: Vec::new() };
        for (k, (body, extra)) in self.bodies.iter().zip(&self.spare).enumerate() {
            let into = match k {
                0 => None,
                k if k > last_free => Some(0),
                k if held(k - 1) => merged.bodies.len().checked_sub(1),
                _ => None,
            };
            merged.take(*body, *extra, into);
        }
        let free = self.pins.into_iter().enumerate().filter(|(k, _)| !held(*k));
        merged.pins = free.map(|(_, pin)| pin).collect();
        merged
    }

    fn take(&mut self, body: LinkId, spare: u32, into: Option<usize>) {
        let slot = into.and_then(|at| Some((self.spare.get_mut(at)?, self.held.get_mut(at)?)));
        if let Some((sum, held)) = slot {
            *sum += spare;
            return held.push(body);
        }
        self.bodies.push(body);
        self.spare.push(spare);
        self.held.push(Vec::new());
    }

    /// Turns the body behind a pin that is held, or where that is the carrier the body before it.
    fn turn(&mut self, HeldPin { pin, turn: (axis, angle) }: HeldPin) {
        let Some(about) = self.pins.get(pin).map(|pin| pin.points[0].coords) else { return };
        let is_last = pin + 1 == self.pins.len();
        let turn = Rotation3::new(axis * if is_last { -angle } else { angle });
        let turned = |point: Point3<f64>| Point3::from(about + turn * (point.coords - about));
        if is_last {
            let before = pin.checked_sub(1).and_then(|k| self.pins.get_mut(k));
            before.into_iter().for_each(|pin| pin.points[1] = turned(pin.points[1]));
        } else if let Some(behind) = self.pins.get_mut(pin + 1) {
            behind.points[0] = turned(behind.points[0]);
        }
    }

    /// The same ring walked the other way round from the same first body.
    pub(super) fn reversed(mut self) -> Self {
        self.pins = self.pins.into_iter().rev().map(LoopPin::reversed).collect();
        if let Some(others) = self.bodies.get_mut(1..) {
            others.reverse();
        }
        if let Some(others) = self.spare.get_mut(1..) {
            others.reverse();
        }
        if let Some(others) = self.held.get_mut(1..) {
            others.reverse();
        }
        self
    }
}
