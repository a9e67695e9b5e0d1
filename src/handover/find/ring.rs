//! Bodies in a ring with the pins between them.

use super::cycles::{self, Bodies};
use super::pins::LoopPin;
use crate::robot::{LinkId, Robot};

/// `pins[k]` holds `bodies[k]` and `bodies[k + 1]` together, the last one `bodies[0]` again.
#[derive(Clone, Debug)]
pub(super) struct Ring {
    /// The bodies, the one nearest to the robot's base first.
    pub(super) bodies: Vec<LinkId>,
    /// The pins.
    pub(super) pins: Vec<LoopPin>,
    /// For each body, how many joints and closures it has besides the two of the ring.
    pub(super) spare: Vec<u32>,
}

impl Ring {
    pub(super) fn of(
        robot: &Robot,
        bodies: &Bodies,
        graph: &cycles::Graph,
        ring: &cycles::Ring,
    ) -> Option<Self> {
        let pin =
            |(edge, before): (&cycles::Edge, &LinkId)| LoopPin::of(robot, bodies, edge, *before);
        Some(Self {
            bodies: ring.bodies.clone(),
            pins: ring.edges.iter().zip(&ring.bodies).map(pin).collect::<Option<_>>()?,
            spare: ring.bodies.iter().map(|body| graph.degree(*body).saturating_sub(2)).collect(),
        })
    }

    /// The same ring with some pins held: the bodies on both sides become the first of them.
    pub(super) fn without(self, held: &[usize]) -> Self {
        let count = self.bodies.len();
        // Behind the last free pin all are one with the first body.
        let last_free = (0..count).rev().find(|k| !held.contains(k)).unwrap_or(0);
        let (mut bodies, mut spare) = (Vec::new(), Vec::<u32>::new());
        for (k, (body, extra)) in self.bodies.iter().zip(&self.spare).enumerate() {
            let merged = match k {
                0 => None,
                k if k > last_free => spare.first_mut(),
                k if held.contains(&(k - 1)) => spare.last_mut(),
                _ => None,
            };
            match merged {
                Some(sum) => *sum += extra,
                None => {
                    bodies.push(*body);
                    spare.push(*extra);
                }
            }
        }
        let pins = self.pins.into_iter().enumerate().filter(|(k, _)| !held.contains(k));
        Self { bodies, pins: pins.map(|(_, pin)| pin).collect(), spare }
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
        self
    }
}
