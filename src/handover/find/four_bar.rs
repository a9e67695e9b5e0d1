//! A ring of bodies as a four-bar, or what keeps it from being one.
//!
//! ```text
//!        P o---- coupler ----o Q        ring: carrier -A- crank -P- coupler -Q- child -B- carrier
//!         /                  /          every pin has a point on each of its two bodies, which the
//!   crank/                  / child     file may draw apart: the gap
//!       /                  /
//!    A o---- carrier -----o B
//! ```

use nalgebra::{Point3, Vector3};

use super::obstacle::Obstacle;
use super::pins::{LoopPin, joint_called};
use super::ring::Ring;
use super::roles::{self, Cast, Look, MotorSeat, Roles};
use super::slide_roles;
use super::springs::{self, HeldJoint, LoopSpring};
use crate::linkage::FourBar;
use crate::robot::{JointId, JointKind, LinkId, Robot};

/// Axes that differ by less count as parallel, rad: 0.1 deg changes a cosine by 1.5e-6.
const PARALLEL: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// A ring of four bodies with its parts named.
#[derive(Clone, Debug)]
pub struct FourBarLoop {
    /// Links of carrier, crank, coupler and child, as the pins' own elements name them.
    pub links: [LinkId; 4],
    /// Bodies of carrier, crank, coupler and child.
    bodies: [LinkId; 4],
    /// Pins at A (motor), P (crank), Q (rocker), B (joint); each between the body before it and the body behind it in
    /// the order carrier, crank, coupler, child, carrier.
    pub pins: [LoopPin; 4],
    /// Unit vector about which the child turns against the carrier where the driven joint's reading grows, in the
    /// model's frame.
    pub axis: Vector3<f64>,
    /// Between pin centres, the axis left out, m; zero where a pin slides.
    pub bars: FourBar,
    /// Crank angle φ₀ and rocker angle ψ₀ in the drawn pose, from A→B about the axis, rad.
    pub drawn: [f64; 2],
    /// Who drives it, what it carries, and why each was taken.
    pub roles: Roles,
    /// Springs across its four joints.
    pub springs: Vec<LoopSpring>,
    /// Further joints of the ring, which springs hold rigid.
    pub held: Vec<HeldJoint>,
}

impl FourBarLoop {
    /// Bodies of carrier, crank, coupler and child: each the first of its links.
    pub(crate) fn bodies(&self) -> [LinkId; 4] {
        self.bodies
    }

    /// The pin that a motor away from the child works at: at P where a nut slides in its housing there, else at A.
    #[must_use]
    pub fn driving_pin(&self) -> &LoopPin {
        let [a, p, ..] = &self.pins;
        if p.slide.is_some() { p } else { a }
    }

    /// The crank's joint on the carrier, or that of a nut in its housing: the motor's, unless that sits on the child.
    #[must_use]
    pub fn crank_joint(&self) -> Option<JointId> {
        self.driving_pin().joint
    }

    /// One of its pins slides: it has no bars.
    #[must_use]
    pub fn slides(&self) -> bool {
        self.pins.iter().any(|pin| pin.slide.is_some())
    }

    /// The motor's joint: the crank's, or the driven one where the motor sits on the child; the crank's where it is not
    /// known.
    #[must_use]
    pub fn motor(&self) -> Option<JointId> {
        match self.roles.seat {
            MotorSeat::Crank => self.crank_joint(),
            MotorSeat::Child => self.pins[3].joint,
        }
    }

    /// The driven joint.
    #[must_use]
    pub fn joint(&self) -> Option<JointId> {
        self.pins[3].joint
    }

    /// +1 where the crank joint's positive reading turns the crank counter-clockwise about the axis, else −1.
    #[must_use]
    pub fn motor_sign(&self) -> f64 {
        match self.pins[0].axis {
            Some(axis) if axis.dot(&self.axis) < 0.0 => -1.0,
            _ => 1.0,
        }
    }

    /// The pin whose two points stand furthest apart as drawn, and by how much, m.
    #[must_use]
    pub fn gap(&self) -> (&LoopPin, f64) {
        let [first, others @ ..] = &self.pins;
        let start = (first, first.gap());
        others
            .iter()
            .map(|pin| (pin, pin.gap()))
            .fold(start, |most, next| if next.1 > most.1 { next } else { most })
    }

    /// Direction A→B, the second axis of the drawing's plane, and the joint's axis: unit vectors in the model's frame.
    #[must_use]
    pub fn directions(&self) -> [Vector3<f64>; 3] {
        let x = self.in_plane(self.pins[3].points[1] - self.pins[0].points[0]).normalize();
        [x, self.axis.cross(&x), self.axis]
    }

    /// The coupler is what is carried: the loop is a parallel jaw.
    #[must_use]
    pub fn is_jaw(&self) -> bool {
        self.roles.jaw_told_by.is_some()
    }

    /// Coupler angle θ of its own pins in the drawn pose, from A→B about the axis, rad.
    pub(crate) fn drawn_coupler(&self) -> f64 {
        let [_, crank, rocker, _] = &self.pins;
        let [x, y] = self.in_drawing(&(rocker.points[0] - crank.points[1]));
        y.atan2(x)
    }

    /// The parts of a vector of the model's frame along the drawing's axes.
    pub(super) fn in_drawing(&self, v: &Vector3<f64>) -> [f64; 2] {
        let [x, y, _] = self.directions();
        [v.dot(&x), v.dot(&y)]
    }

    /// Distance of a point from the line through the coupler's pins, seen along the axis, m.
    pub(super) fn off_coupler(&self, point: &Point3<f64>) -> f64 {
        let [_, crank, rocker, _] = &self.pins;
        let along = self.in_plane(rocker.points[0] - crank.points[1]).normalize();
        along.cross(&self.in_plane(point - crank.points[1])).norm()
    }

    /// The same linkage with crank and child exchanged; `None` where the crank is no hinge.
    pub(super) fn turned_round(&self) -> Option<Self> {
        let [a, p, q, b] = self.pins.clone();
        let [carrier, crank, coupler, child] = self.bodies;
        let ring = Ring {
            bodies: vec![carrier, child, coupler, crank],
            pins: [b, q, p, a].map(LoopPin::reversed).to_vec(),
            spare: vec![0; 4],
            held: vec![Vec::new(); 4],
        };
        ring.pins.last()?.axis?;
        let turned = measured(unmeasured(ring, self.roles.clone()).ok()?).ok()?;
        Some(Self { held: self.held.clone(), ..turned })
    }

    fn in_plane(&self, v: Vector3<f64>) -> Vector3<f64> {
        in_plane(&self.axis, v)
    }
}

fn in_plane(axis: &Vector3<f64>, v: Vector3<f64>) -> Vector3<f64> {
    v - axis * axis.dot(&v)
}

/// The four-bar of a ring, if it has four bodies; what stands against it is put into `obstacles`.
pub(super) fn four_bar(
    look: Look<'_>,
    ring: Ring,
    obstacles: &mut Vec<Obstacle>,
) -> Option<FourBarLoop> {
    let robot = look.robot;
    obstacles.extend(kinds(robot, &ring));
    let motors = roles::driven_pins(look, &ring);
    let (ring, held) = springs::hold(robot, ring, &motors, obstacles);
    let count = ring.bodies.len();
    if count != 4 {
        let has_several = ring.pins.iter().any(|pin| pin.joints.len() > 1);
        let why = match cross_of(robot, &ring) {
            Some(cross) => cross,
            None if has_several && count < 4 => too_few(count),
            None => wrong_count(count),
        };
        obstacles.push(why);
        return None;
    }
    let Cast { ring, roles, obstacles: of_roles } = match ring.slide() {
        Some(slide) => slide_roles::cast(look, ring, slide),
        None => roles::cast(look, ring),
    };
    let found = match named(robot, ring, roles, held) {
        Ok(found) => found,
        Err(obstacle) => {
            obstacles.push(obstacle);
            return None;
        }
    };
    obstacles.extend(no_hinges(&found));
    obstacles.extend(tilted(&found));
    obstacles.extend(of_roles);
    obstacles.extend(found.held.iter().filter_map(|held| springs::held_at_stop(robot, held)));
    Some(found)
}

/// Where several joints stand between two bodies they may be a drive all the same.
fn too_few(count: usize) -> Obstacle {
    Obstacle::new(
        "not_four_joints",
        format!(
            "a loop of {count} bodies, two of them with several joints between them: give each joint a body of its own to have the loop judged"
        ),
    )
}

fn wrong_count(count: usize) -> Obstacle {
    let name = match count {
        0..=3 => "is rigid or turns about one line",
        5 => "is a five-bar: one motor does not fix its pose",
        _ => {
            "has more joints than a four-bar: one motor does not fix its pose, unless the joints act in pairs"
        }
    };
    let code = if count == 5 { "five_bar" } else { "not_four_joints" };
    Obstacle::new(code, format!("a loop of {count} bodies {name}"))
}

/// In a ring of five the body that only holds two crossed hinges apart.
fn cross_of(robot: &Robot, ring: &Ring) -> Option<Obstacle> {
    let pairs = ring.pins.windows(2).zip(ring.spare.iter().skip(1));
    let mut pairs = pairs.filter(|(_, spare)| ring.bodies.len() == 5 && **spare == 0);
    pairs.find_map(|(pair, _)| {
        let [before, behind] = pair else { return None };
        let meet = (behind.points[0] - before.points[1]).norm() < 1e-6;
        let crossed = before.axis?.cross(&behind.axis?).norm() > 0.1;
        (meet && crossed && before.joint.is_some() && behind.joint.is_some()).then(|| {
            Obstacle::new(
                "cross_body",
                format!(
                    "{:?} only holds two crossed hinges of a rod's end: write both as joints of the rod's own body, with this mass on it, to have the loop judged",
                    robot.link_name(before.links[1])
                ),
            )
        })
    })
}

/// Joints that no plane four-bar has.
fn kinds(robot: &Robot, ring: &Ring) -> Vec<Obstacle> {
    let mut found = Vec::new();
    for pin in &ring.pins {
        let joints = pin.joints.iter().filter_map(|id| robot.joints.get(*id));
        for joint in joints {
            match joint.kind {
                JointKind::Prismatic => found.push(Obstacle::new(
                    "slider",
                    format!("{} slides: a slider is no four-bar", joint_called(robot, joint)),
                )),
                JointKind::Other => found.push(Obstacle::new(
                    "other_joint",
                    format!("{} is neither hinge nor ball", joint_called(robot, joint)),
                )),
                JointKind::Fixed
                | JointKind::Revolute
                | JointKind::Ball
                | JointKind::Universal
                | JointKind::Gearbox => {}
            }
        }
        if pin.joints.len() > 1 {
            found.push(Obstacle::new(
                "several_joints",
                format!("{} has several joints, one after the other", pin.name),
            ));
        }
    }
    found
}

fn named(
    robot: &Robot,
    ring: Ring,
    roles: Roles,
    held: Vec<HeldJoint>,
) -> Result<FourBarLoop, Obstacle> {
    let found = unmeasured(ring, roles)?;
    let springs = springs::springs(robot, &found.pins);
    measured(FourBarLoop { springs, held, ..found })
}

/// Its parts, without lengths and angles yet.
fn unmeasured(ring: Ring, roles: Roles) -> Result<FourBarLoop, Obstacle> {
    let (Ok(bodies), Ok(pins)) =
        (<[LinkId; 4]>::try_from(ring.bodies), <[LoopPin; 4]>::try_from(ring.pins))
    else {
        return Err(wrong_count(0));
    };
    // A ball at the driven joint leaves the motor's axis, which the linkage's plane needs.
    let Some(axis) = pins[3].axis.map(|axis| -axis).or(pins[0].axis) else {
        return Err(Obstacle::new("no_hinge", "neither pin on the carrier is a hinge"));
    };
    let links = [pins[0].links[0], pins[0].links[1], pins[1].links[1], pins[3].links[0]];
    let pins = pins.map(|pin| LoopPin {
        tilt: pin.axis.map(|other| other.cross(&axis).norm().atan2(other.dot(&axis).abs())),
        ..pin
    });
    Ok(FourBarLoop {
        links,
        bodies,
        pins,
        axis,
        bars: FourBar { ground: 0.0, crank: 0.0, coupler: 0.0, rocker: 0.0 },
        drawn: [0.0; 2],
        roles,
        springs: Vec::new(),
        held: Vec::new(),
    })
}

/// Lengths and angles of the drawn pose; of a loop with a slide there are none.
fn measured(mut found: FourBarLoop) -> Result<FourBarLoop, Obstacle> {
    if found.slides() {
        return Ok(found);
    }
    let [a, p, q, b] = &found.pins;
    let bar = |from: Point3<f64>, to: Point3<f64>| in_plane(&found.axis, to - from);
    let bars = [
        bar(a.points[0], b.points[1]),
        bar(a.points[1], p.points[0]),
        bar(p.points[1], q.points[0]),
        bar(b.points[0], q.points[1]),
    ];
    let lengths = bars.map(|bar| bar.norm());
    let longest = lengths.iter().fold(0.0_f64, |most, x| most.max(*x));
    let names = [
        "motor axis and joint axis",
        "both ends of the crank",
        "both ends of the coupler",
        "both ends of the rocker",
    ];
    for (length, name) in lengths.iter().zip(names) {
        if length.is_nan() || *length <= 1e-6 * longest {
            return Err(Obstacle::new(
                "pins_coincide",
                format!("{name} lie in one line along the axis"),
            ));
        }
    }
    let x = bars[0] / lengths[0];
    let y = found.axis.cross(&x);
    let angle = |bar: &Vector3<f64>| bar.dot(&y).atan2(bar.dot(&x));
    found.drawn = [angle(&bars[1]), angle(&bars[3])];
    let [ground, crank, coupler, rocker] = lengths;
    found.bars = FourBar { ground, crank, coupler, rocker };
    let base = b.points[1];
    let axis = found.axis;
    for pin in &mut found.pins {
        pin.axial = axis.dot(&(pin.points[1] - base));
    }
    Ok(found)
}

/// The motor's side hangs on a hinge, or is moved by a slide; the child hangs on a hinge.
fn no_hinges(found: &FourBarLoop) -> Vec<Obstacle> {
    let [motor, _, _, joint] = &found.pins;
    let ends = [(motor, "crank"), (joint, "child")];
    let ends = ends.into_iter().filter(|(_, body)| *body == "child" || !found.slides());
    let open = ends.filter(|(pin, _)| pin.axis.is_none() || pin.joint.is_none());
    open.map(|(pin, body)| {
        Obstacle::new(
            "no_hinge",
            format!("{} holds the {body} to the carrier and is no hinge of the file", pin.name),
        )
    })
    .collect()
}

fn tilted(found: &FourBarLoop) -> Option<Obstacle> {
    let tilts = found.pins.iter().filter_map(|pin| Some((pin, pin.tilt?)));
    let (pin, tilt) = tilts.fold(None, |most: Option<(&LoopPin, f64)>, next| match most {
        Some(known) if known.1 >= next.1 => Some(known),
        _ => Some(next),
    })?;
    (tilt > PARALLEL).then(|| {
        Obstacle::new(
            "spatial",
            format!(
                "the axis of {} is tilted {:.2} deg against the driven joint's: not a plane linkage",
                pin.name,
                tilt.to_degrees()
            ),
        )
    })
}
