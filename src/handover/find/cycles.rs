//! Which chains of joints come back to where they began?
//!
//! Links that cannot move against each other are one **body**. Joints and closures are edges between bodies; walked in
//! the order of the file, an edge between two bodies that hang together already closes a loop: its body and the way
//! back through the others are the loop. Each closing edge makes one loop.

use std::collections::HashMap;

use super::sets::Sets;
use crate::robot::{Closure, ClosureKind, Format, JointId, JointKind, LinkId, Robot};

/// Links that cannot move against each other, by the number of their first link.
#[derive(Clone, Debug)]
pub(crate) struct Bodies {
    body_of: Vec<LinkId>,
    /// For each body that has more than one, its links.
    members: HashMap<LinkId, Vec<LinkId>>,
}

impl Bodies {
    /// Merges links across fixed joints and active welds that close no loop of moving parts.
    pub(crate) fn new(robot: &Robot) -> Self {
        Self::held(robot, |_| true)
    }

    /// The same without the world: legs on one stand are bodies of their own.
    pub(crate) fn beside_world(robot: &Robot) -> Self {
        Self::held(robot, |link| !is_world(robot, link))
    }

    /// By what holds two links that both count.
    fn held(robot: &Robot, counts: impl Fn(LinkId) -> bool) -> Self {
        let fixed = robot.joints.iter().filter(|joint| joint.kind == JointKind::Fixed);
        let fixed = fixed.map(|joint| [joint.parent, joint.child]);
        let welds =
            robot.closures.iter().filter(|c| c.kind == ClosureKind::Weld && holds(robot, c));
        let mut sets = Sets::new(robot.links.len());
        for [a, b] in fixed.chain(welds.map(|weld| weld.links)) {
            if counts(a) && counts(b) {
                sets.join(a, b);
            }
        }
        let body_of: Vec<LinkId> = (0..robot.links.len()).map(|link| sets.first(link)).collect();
        let mut members: HashMap<LinkId, Vec<LinkId>> = HashMap::new();
        for (link, body) in body_of.iter().enumerate().filter(|(link, body)| link != *body) {
            members.entry(*body).or_insert_with(|| vec![*body]).push(link);
        }
        Self { body_of, members }
    }

    /// The body of a link.
    pub(crate) fn of_link(&self, link: LinkId) -> LinkId {
        self.body_of.get(link).copied().unwrap_or(link)
    }

    /// The links of a body, in the order of the file.
    pub(crate) fn links(&self, body: LinkId) -> impl Iterator<Item = LinkId> + '_ {
        let members = self.members.get(&body);
        let alone = members.is_none() && self.of_link(body) == body;
        members.into_iter().flatten().copied().chain(alone.then_some(body))
    }
}

/// What does not move: every format calls it so.
pub(crate) fn is_world(robot: &Robot, link: LinkId) -> bool {
    robot.links.get(link).is_some_and(|link| link.name == "world")
}

/// A constraint of the mechanism: neither switched off nor a handle that something outside pulls.
fn holds(robot: &Robot, closure: &Closure) -> bool {
    let is_handle = |link: &LinkId| robot.links.get(*link).is_some_and(|link| link.is_handle);
    closure.is_active && !closure.links.iter().any(is_handle)
}

/// What holds two bodies together.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Tie {
    /// Joints one after the other between the same two links; nearly always one.
    Joints(Vec<JointId>),
    /// Closures side by side between the same two links: two points make a hinge.
    Closures(Vec<usize>),
}

/// A tie between two bodies.
#[derive(Clone, Debug)]
pub(crate) struct Edge {
    /// The bodies.
    pub(crate) bodies: [LinkId; 2],
    /// The links that the file names.
    pub(crate) links: [LinkId; 2],
    /// What it is.
    pub(crate) tie: Tie,
}

/// Bodies in a ring: `bodies[k]` and `bodies[k + 1]` are held together by `edges[k]`, the last with the first.
#[derive(Clone, Debug)]
pub(crate) struct Ring {
    /// The bodies, the one nearest to the robot's base first.
    pub(crate) bodies: Vec<LinkId>,
    /// The edges.
    pub(crate) edges: Vec<Edge>,
    /// Which edge closes it.
    pub(crate) closing: usize,
}

/// The ties of a robot as a forest with the edges that close loops.
#[derive(Clone, Debug)]
pub(crate) struct Graph {
    edges: Vec<Edge>,
    closing: Vec<usize>,
    /// For each body: its depth from the base and the edge that leads there.
    up: Vec<Option<(usize, Option<usize>)>>,
    degree: Vec<u32>,
}

impl Graph {
    /// All moving ties of the robot.
    pub(crate) fn new(robot: &Robot, bodies: &Bodies) -> Self {
        let edges = edges(robot, bodies);
        let mut sets = Sets::new(robot.links.len());
        let (mut closing, mut adjacent) = (Vec::new(), vec![Vec::new(); robot.links.len()]);
        let mut degree = vec![0; robot.links.len()];
        for (at, edge) in edges.iter().enumerate() {
            for end in edge.bodies {
                if let Some(count) = degree.get_mut(end) {
                    *count += 1;
                }
            }
            if sets.join(edge.bodies[0], edge.bodies[1]) {
                for end in edge.bodies {
                    if let Some(list) = adjacent.get_mut(end) {
                        list.push(at);
                    }
                }
            } else {
                closing.push(at);
            }
        }
        let up = rooted(robot, bodies, &edges, &adjacent);
        Self { edges, closing, up, degree }
    }

    /// How many moving ties a body has.
    pub(crate) fn degree(&self, body: LinkId) -> u32 {
        self.degree.get(body).copied().unwrap_or(0)
    }

    /// The loops, in the order of their closing edges.
    pub(crate) fn rings(&self) -> Vec<Ring> {
        self.closing.iter().filter_map(|at| self.ring(*at)).collect()
    }

    fn step_up(&self, body: LinkId) -> Option<(usize, usize, LinkId)> {
        let (depth, edge) = self.up.get(body).copied().flatten()?;
        let edge = edge?;
        let [a, b] = self.edges.get(edge)?.bodies;
        Some((depth, edge, if a == body { b } else { a }))
    }

    /// The way up from both ends of the closing edge to where they meet.
    fn ring(&self, closing: usize) -> Option<Ring> {
        let closes = self.edges.get(closing)?;
        let depth = |body: LinkId| self.up.get(body).copied().flatten().map_or(0, |(d, _)| d);
        let ([mut left, mut right], mut down, mut back) = (closes.bodies, Vec::new(), Vec::new());
        while left != right {
            let is_left = depth(left) >= depth(right);
            let (_, edge, above) = self.step_up(if is_left { left } else { right })?;
            if is_left {
                down.push((left, edge));
                left = above;
            } else {
                back.push((right, edge));
                right = above;
            }
        }
        Some(self.assembled(left, &down, &back, closing))
    }

    fn assembled(
        &self,
        base: LinkId,
        down: &[(LinkId, usize)],
        back: &[(LinkId, usize)],
        closing: usize,
    ) -> Ring {
        let mut bodies = vec![base];
        let mut edges = Vec::new();
        for (body, edge) in down.iter().rev() {
            edges.push(*edge);
            bodies.push(*body);
        }
        let at = edges.len();
        edges.push(closing);
        for (body, edge) in back {
            bodies.push(*body);
            edges.push(*edge);
        }
        let edges = edges.iter().filter_map(|edge| self.edges.get(*edge).cloned()).collect();
        Ring { bodies, edges, closing: at }
    }
}

fn edges(robot: &Robot, bodies: &Bodies) -> Vec<Edge> {
    let mut edges: Vec<Edge> = Vec::new();
    let edge = |links: [LinkId; 2], tie| {
        let ends = links.map(|link| bodies.of_link(link));
        Edge { bodies: ends, links, tie }
    };
    for (id, joint) in robot.joints.iter().enumerate() {
        let links = [joint.parent, joint.child];
        let is_serial = robot.format == Format::Mjcf;
        match edges.last_mut().filter(|last| is_serial && last.links == links) {
            Some(Edge { tie: Tie::Joints(joints), .. }) => joints.push(id),
            _ if matches!(joint.kind, JointKind::Fixed | JointKind::Gearbox) => {}
            _ => edges.push(edge(links, Tie::Joints(vec![id]))),
        }
    }
    let mut known: HashMap<[LinkId; 2], usize> = HashMap::new();
    let connects = robot.closures.iter().enumerate();
    let connects = connects.filter(|(_, c)| c.kind == ClosureKind::Connect && holds(robot, c));
    for (id, closure) in connects {
        let new = edge(closure.links, Tie::Closures(vec![id]));
        let [a, b] = new.bodies;
        let at = *known.entry([a.min(b), a.max(b)]).or_insert(edges.len());
        match edges.get_mut(at) {
            Some(Edge { tie: Tie::Closures(closures), .. }) => closures.push(id),
            _ => edges.push(new),
        }
    }
    edges
}

/// Depth and edge towards the base of every body: breadth first from the bodies that hang on no joint.
fn rooted(
    robot: &Robot,
    bodies: &Bodies,
    edges: &[Edge],
    adjacent: &[Vec<usize>],
) -> Vec<Option<(usize, Option<usize>)>> {
    let mut hangs = vec![false; robot.links.len()];
    for joint in &robot.joints {
        if let Some(hangs) = hangs.get_mut(bodies.of_link(joint.child)) {
            *hangs |= bodies.of_link(joint.child) != bodies.of_link(joint.parent);
        }
    }
    let hangs = |body: &LinkId| hangs.get(*body).copied().unwrap_or(false);
    let (mut order, late): (Vec<LinkId>, Vec<LinkId>) =
        (0..robot.links.len()).partition(|body| !hangs(body));
    order.extend(late);
    let mut up = vec![None; robot.links.len()];
    for root in order {
        let root = bodies.of_link(root);
        if up.get(root).is_some_and(Option::is_some) {
            continue;
        }
        spread(root, edges, adjacent, &mut up);
    }
    up
}

fn spread(
    root: LinkId,
    edges: &[Edge],
    adjacent: &[Vec<usize>],
    up: &mut [Option<(usize, Option<usize>)>],
) {
    let mut queue = std::collections::VecDeque::from([(root, 0, None)]);
    while let Some((body, depth, edge)) = queue.pop_front() {
        match up.get_mut(body) {
            Some(entry @ None) => *entry = Some((depth, edge)),
            _ => continue,
        }
        for at in adjacent.get(body).into_iter().flatten() {
            if let Some(found) = edges.get(*at) {
                let [a, b] = found.bodies;
                queue.push_back((if a == body { b } else { a }, depth + 1, Some(*at)));
            }
        }
    }
}
