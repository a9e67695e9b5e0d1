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

use super::four_bar::FourBarLoop;
use super::loop_drive::{LoopDrive, Seat};
use super::obstacle::Obstacle;
use super::pins::LoopPin;
use super::ring::Ring;
use crate::design::Preset;
use crate::drive::{Axis, BallRodPoints, Drawing, LinearActuator, Slider};
use crate::robot::{DriveEnds, FileJoint, JointId, JointKind, LinkId, Robot, SharedDrive};

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
    let slides = |ring: &Ring| -> Vec<usize> {
        let is_slide =
            |pin: &LoopPin| joint_of(robot, pin).is_some_and(|j| j.kind == JointKind::Prismatic);
        let all = ring.pins.iter().enumerate();
        all.filter(|(_, pin)| is_slide(pin)).map(|(k, _)| k).collect()
    };
    let one = match slides(ring).as_slice() {
        [0 | 1] if ring.bodies.len() == 4 => ring.clone(),
        [2 | 3] if ring.bodies.len() == 4 => ring.clone().reversed(),
        _ => return None,
    };
    let at = slides(&one).first().copied()?;
    let [first, second, third, last] = one.pins.as_slice() else { return None };
    let seat = Seat::new(robot, [first.links[0], last.links[0]], (last.joint?, -last.axis?))?;
    Some(if at == 1 {
        actuator(&seat, [first, second, third], preset)
    } else {
        on_guide(&seat, [first, second, third], preset)
    })
}

fn joint_of<'a>(robot: &'a Robot, pin: &LoopPin) -> Option<&'a FileJoint> {
    robot.joints.get(pin.joint?)
}

/// Travel per motor turn, by the gear of the actuator on a slide; whether it is not in the file.
fn lead(robot: &Robot, slide: JointId) -> (f64, bool) {
    let gear = robot.actuators.iter().find(|one| one.joint == slide).map(|one| one.gear);
    lead_of(gear)
}

fn lead_of(gear: Option<f64>) -> (f64, bool) {
    match gear.filter(|gear| gear.is_normal() && (gear.abs() - 1.0).abs() > 1e-12) {
        Some(gear) => (TAU / gear, false),
        None => (NO_SCREW, true),
    }
}

/// A slide between two bodies on pins; it lengthens where its reading grows, or shortens.
fn actuator(
    seat: &Seat<'_>,
    [a, slide, q]: [&LoopPin; 3],
    preset: Preset,
) -> Result<LoopDrive, Obstacle> {
    let robot = seat.robot;
    let (Some(id), Some(joint), Some(file)) =
        (slide.joint, seat.joint_axis(), joint_of(robot, slide))
    else {
        return Err(no_hinges());
    };
    let between = q.points[0] - a.points[0];
    // The nut moves along the file's axis against the housing, or the housing against the nut.
    let is_along = file.child == slide.links[1];
    let along = if is_along { file.axis } else { -file.axis };
    let line_offset = (between - along * along.dot(&between)).norm();
    let grows = along.dot(&between).signum();
    let (lead, has_no_screw) = lead(robot, id);
    let line_offset = if line_offset < 1e-9 * between.norm() { 0.0 } else { line_offset };
    let points = LinearActuator {
        motor: seat.point(a.points[0]),
        joint,
        rocker: seat.point(q.points[1]),
        line_offset,
        lead: lead * grows,
    };
    let drawing = Drawing::ActuatorPoints { points, lengths: None };
    seat.found(drawing, (Some(id), file.drawn_at, [1.0, TAU / lead]), has_no_screw, preset)
}

/// A slide on the carrier and a rod from there to the child.
fn on_guide(
    seat: &Seat<'_>,
    [slide, p, q]: [&LoopPin; 3],
    preset: Preset,
) -> Result<LoopDrive, Obstacle> {
    let robot = seat.robot;
    let (Some(id), Some(joint), Some(file)) =
        (slide.joint, seat.joint_axis(), joint_of(robot, slide))
    else {
        return Err(no_hinges());
    };
    let is_along = file.child == slide.links[1];
    let along = if is_along { file.axis } else { -file.axis };
    let (lead, has_no_screw) = lead(robot, id);
    let points = Slider {
        guide: seat.point(p.points[0]),
        direction: seat.direction(along),
        coupler: (q.points[0] - p.points[1]).norm(),
        joint,
        rocker: seat.point(q.points[1]),
        lead,
    };
    // The nut's pin in the drawn pose is the guide's own point.
    let drawing = Drawing::SliderPoints { points, nut: 0.0 };
    seat.found(drawing, (Some(id), file.drawn_at, [1.0, TAU / lead]), has_no_screw, preset)
}

/// An actuator between two points over one hinge; `None` where it is none.
pub(super) fn between_points(
    robot: &Robot,
    drive: &SharedDrive,
    preset: Preset,
) -> Option<Result<LoopDrive, Obstacle>> {
    let (ends, [(joint, _)]) = (drive.ends.as_ref()?, drive.joints.as_slice()) else { return None };
    let hinge = robot.joints.get(*joint).filter(|one| one.kind == JointKind::Revolute)?;
    let DriveEnds { links, points, slide, gear } = ends;
    // The second point moves with the child.
    let is_below = hangs(robot, links[1], hinge.child);
    let seat = Seat::new(robot, [hinge.parent, hinge.child], (*joint, hinge.axis))?;
    let (lead, has_no_screw) = lead_of(Some(*gear));
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
    Some(seat.found(drawing, (None, 0.0, [1.0; 2]), has_no_screw, preset))
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
