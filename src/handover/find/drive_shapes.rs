//! Which loops, and which actuators between two points, are drives that are no planar four-bar.
//!
//! | what the file has | kind |
//! |---|---|
//! | four hinges of which the axes are not parallel; the same with balls at the rod's ends | `ball_rod` |
//! | a slide between two bodies that hang on pins | `linear_actuator` |
//! | a slide on the carrier and a rod | `slider` |
//! | a tendon from site to site over one hinge | `linear_actuator` |
//! | an actuator with `slidersite` and `cranksite` over one hinge | `slider` |

use std::f64::consts::TAU;

use nalgebra::Vector3;

use super::four_bar::FourBarLoop;
use super::loop_drive::{LoopDrive, Seat};
use super::obstacle::Obstacle;
use super::pins::LoopPin;
use super::ring::Ring;
use crate::design::Preset;
use crate::drive::{Axis, BallRodPoints, Drawing, LinearActuator, Slider};
use crate::robot::{DriveEnds, JointId, JointKind, LinkId, Robot, SharedDrive};

/// Travel for each turn where the file has no screw, m.
const NO_SCREW: f64 = 1e-3;

/// A loop of four hinges or balls that is no plane one: the carrier is the body between two hinges across the lightest rod.
pub(super) fn ball_rod(
    robot: &Robot,
    found: &FourBarLoop,
    preset: Preset,
) -> Result<LoopDrive, Obstacle> {
    let motor = found.roles.motor;
    let ways = (0..4).filter_map(|k| Way::around(robot, found, k));
    let way = ways.min_by(|p, q| p.mass.total_cmp(&q.mass)).ok_or_else(no_hinges)?;
    let is_reversed = motor.is_some() && way.pins[3].joint == motor;
    let [a, p, q, b] = if is_reversed { way.reversed().pins } else { way.pins };
    let links = [b.links[1], b.links[0]];
    let axis = b.axis.map(|axis| -axis);
    let seat = b.joint.zip(axis).and_then(|both| Seat::new(robot, links, both));
    let crank = a.joint.and_then(|id| Some((id, robot.joints.get(id)?)));
    let (Some(seat), Some((id, crank)), Some(along)) = (seat, crank, a.axis) else {
        return Err(no_hinges());
    };
    let joint = seat.joint_axis().ok_or_else(no_hinges)?;
    let motor_sign = if along.dot(&seat.axis) < 0.0 { -1.0 } else { 1.0 };
    // Each body's own lengths: the crank's and the lever's pins as drawn on them, the rod's between its own.
    let points = BallRodPoints {
        motor: Axis {
            point: seat.point(a.points[0]),
            direction: seat.direction(along * motor_sign),
        },
        joint,
        crank: seat.point(p.points[0]),
        rocker: seat.point(q.points[1]),
        rod: Some((q.points[0] - p.points[1]).norm()),
    };
    let drawing = Drawing::BallRodPoints(points);
    seat.found(drawing, (Some(id), crank.drawn_at, [motor_sign; 2]), false, preset)
}

/// The pins of a loop from one of its bodies on: motor, crank, rocker, joint.
struct Way {
    pins: [LoopPin; 4],
    /// Of the rod, kg.
    mass: f64,
}

impl Way {
    /// From body `k` on; `None` where it hangs on something else than two hinges.
    fn around(robot: &Robot, found: &FourBarLoop, k: usize) -> Option<Self> {
        let mut pins = found.pins.clone();
        pins.rotate_left(k);
        let is_hinge = |pin: &LoopPin| pin.axis.is_some() && pin.joint.is_some();
        let links = [pins[1].links[1], pins[2].links[0]];
        let mass = |link: LinkId| robot.links.get(link)?.inertial.map(|body| body.mass);
        let mass = links.into_iter().filter_map(mass).fold(0.0, f64::max);
        (is_hinge(&pins[0]) && is_hinge(&pins[3])).then_some(Self { pins, mass })
    }

    fn reversed(self) -> Self {
        let [a, p, q, b] = self.pins.map(LoopPin::reversed);
        Self { pins: [b, q, p, a], ..self }
    }
}

fn no_hinges() -> Obstacle {
    Obstacle::new("no_hinge", "crank or child hang on the carrier by no hinge of the file")
}

/// A ring of four bodies with one slide.
pub(super) fn with_slide(
    robot: &Robot,
    ring: &Ring,
    preset: Preset,
) -> Option<Result<LoopDrive, Obstacle>> {
    let (at, is_turned) = ring.slide()?;
    let ring = if is_turned { ring.clone().reversed() } else { ring.clone() };
    let [first, second, third, last] = ring.pins.as_slice() else { return None };
    let seat = Seat::new(robot, [first.links[0], last.links[0]], (last.joint?, -last.axis?))?;
    let slide = Slide::new(robot, if at == 1 { second } else { first })?;
    Some(if at == 1 {
        actuator(&seat, &slide, [first, third], preset)
    } else {
        on_guide(&seat, &slide, [second, third], preset)
    })
}

/// The slide of a ring.
struct Slide {
    joint: JointId,
    /// In which the body behind moves where the reading grows.
    along: Vector3<f64>,
    drawn_at: f64,
    /// Travel per motor turn, m.
    lead: f64,
    has_no_screw: bool,
}

impl Slide {
    fn new(robot: &Robot, pin: &LoopPin) -> Option<Self> {
        let (joint, along) = (pin.joint?, pin.slide?);
        let gear = robot.actuator_of(joint).map(|one| one.gear);
        let (lead, has_no_screw) = lead_of(gear);
        let drawn_at = robot.joints.get(joint)?.drawn_at;
        Some(Self { joint, along, drawn_at, lead, has_no_screw })
    }

    fn found(
        &self,
        seat: &Seat<'_>,
        drawing: Drawing,
        preset: Preset,
    ) -> Result<LoopDrive, Obstacle> {
        let motor = (Some(self.joint), self.drawn_at, [1.0, TAU / self.lead]);
        seat.found(drawing, motor, self.has_no_screw, preset)
    }
}

pub(super) fn lead_of(gear: Option<f64>) -> (f64, bool) {
    match gear.filter(|gear| gear.is_normal() && (gear.abs() - 1.0).abs() > 1e-12) {
        Some(gear) => (TAU / gear, false),
        None => (NO_SCREW, true),
    }
}

/// A slide between two bodies on pins; it lengthens where its reading grows, or shortens.
fn actuator(
    seat: &Seat<'_>,
    slide: &Slide,
    [a, q]: [&LoopPin; 2],
    preset: Preset,
) -> Result<LoopDrive, Obstacle> {
    let (between, along) = (q.points[0] - a.points[0], slide.along);
    let line_offset = (between - along * along.dot(&between)).norm();
    let line_offset = if line_offset < 1e-9 * between.norm() { 0.0 } else { line_offset };
    let points = LinearActuator {
        motor: seat.point(a.points[0]),
        joint: seat.joint_axis().ok_or_else(no_hinges)?,
        rocker: seat.point(q.points[1]),
        line_offset,
        lead: slide.lead * along.dot(&between).signum(),
    };
    slide.found(seat, Drawing::ActuatorPoints { points, lengths: None }, preset)
}

/// A slide on the carrier and a rod from there to the child.
fn on_guide(
    seat: &Seat<'_>,
    slide: &Slide,
    [p, q]: [&LoopPin; 2],
    preset: Preset,
) -> Result<LoopDrive, Obstacle> {
    let points = Slider {
        guide: seat.point(p.points[0]),
        direction: seat.direction(slide.along),
        coupler: (q.points[0] - p.points[1]).norm(),
        joint: seat.joint_axis().ok_or_else(no_hinges)?,
        rocker: seat.point(q.points[1]),
        lead: slide.lead,
    };
    // The nut's pin in the drawn pose is the guide's own point.
    slide.found(seat, Drawing::SliderPoints { points, nut: 0.0 }, preset)
}

/// An actuator between two points over one hinge; `None` where it is none.
pub(super) fn between_points(
    robot: &Robot,
    drive: &SharedDrive,
    preset: Preset,
) -> Option<Result<LoopDrive, Obstacle>> {
    let (ends, [(joint, _)]) = (drive.ends.as_ref()?, drive.joints.as_slice()) else { return None };
    let hinge = robot.joints.get(*joint).filter(|one| one.kind == JointKind::Revolute)?;
    let DriveEnds { links, points, slide } = ends;
    // The second point moves with the child.
    let is_below = hangs(robot, links[1], hinge.child);
    let seat = Seat::new(robot, [hinge.parent, hinge.child], (*joint, hinge.axis))?;
    let (lead, has_no_screw) = lead_of(Some(drive.actuator.gear));
    let axis = seat.joint_axis()?;
    let drawing = match slide {
        None => {
            let [motor, rocker] =
                if is_below { [points[0], points[1]] } else { [points[1], points[0]] };
            let points = LinearActuator {
                motor: seat.point(motor),
                joint: axis,
                rocker: seat.point(rocker),
                line_offset: 0.0,
                lead,
            };
            Drawing::ActuatorPoints { points, lengths: None }
        }
        // The slide would move with the child: the carrier's pin is then the driven one.
        Some(_) if !is_below => return None,
        Some((direction, rod)) => {
            let (guide, direction) = (seat.point(points[0]), seat.direction(*direction));
            let points = Slider {
                guide,
                direction,
                coupler: *rod,
                joint: axis,
                rocker: seat.point(points[1]),
                lead,
            };
            // The engine's slide is the one behind the point.
            let beside = points.rocker - points.guide;
            let level = beside.dot(points.direction);
            let half = rod * rod - beside.square_to(points.direction).length_squared();
            Drawing::SliderPoints { points, nut: level - half.max(0.0).sqrt() }
        }
    };
    Some(seat.found(drawing, (None, 0.0, [1.0, TAU / lead]), has_no_screw, preset))
}

/// Whether a link is `root` or hangs on it.
fn hangs(robot: &Robot, link: LinkId, root: LinkId) -> bool {
    let mut at = link;
    for _ in 0..=robot.links.len() {
        if at == root {
            return true;
        }
        let Some(up) = robot.joints.iter().find(|joint| joint.child == at) else { return false };
        at = up.parent;
    }
    false
}
