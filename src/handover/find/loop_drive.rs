//! A loop, or an actuator between two links, as a drive that is no planar four-bar.
//!
//! | what the file has | kind |
//! |---|---|
//! | four hinges of which the axes are not parallel; the same with balls at the rod's ends | `ball_rod` |
//! | a slide between two bodies that hang on pins | `linear_actuator` |
//! | a slide on the carrier and a rod | `slider` |
//! | a tendon from site to site over one hinge | `linear_actuator` |
//! | an actuator with `slidersite` and `cranksite` over one hinge | `slider` |
//!
//! Points and axes are taken from the drawn pose, in the carrier link's own frame; that pose is the zero pose.

use std::f64::consts::TAU;

use nalgebra::{Isometry3, Point3, Vector3};
use serde::Serialize;

use super::four_bar::FourBarLoop;
use super::obstacle::Obstacle;
use super::pins::LoopPin;
use super::reach::{floor, turns};
use super::ring::Ring;
use crate::design::Preset;
use crate::drive::{
    Axis, BallRodPoints, Drawing, JointDrive, Kind, LinearActuator, OneJoint, Slider, Vector,
};
use crate::numeric::peaks;
use crate::robot::{DriveEnds, FileJoint, JointId, JointKind, LinkId, Robot, SharedDrive};

/// Travel for each turn where the file has no screw, m.
const NO_SCREW: f64 = 1e-3;

/// A drive of one joint read from a file.
#[derive(Clone, Debug)]
pub struct LoopDrive {
    /// Its kind and points, in the carrier link's frame.
    pub drawing: Drawing,
    /// The driven joint.
    pub joint: JointId,
    /// The motor's joint: the crank's hinge, the slide; `None` where an actuator between sites takes its place.
    pub motor: Option<JointId>,
    /// The names of the motor's joint, empty without one, and of the driven joint.
    pub joints: [String; 2],
    /// The carrier's link and the child's.
    pub links: [LinkId; 2],
    /// What motor and joint read in the drawn pose, rad.
    pub drawn_at: [f64; 2],
    /// +1, or −1 where the motor's joint counts against the drawing's motor axis, which is turned to the joint's side.
    pub motor_sign: f64,
    /// Travel per motor turn is not in the file.
    pub has_no_screw: bool,
    /// Joint turns from the drawn pose, ascending, rad.
    pub joint_turns: [f64; 2],
    /// Motor turns that belong to them, rad.
    pub motor_turns: [f64; 2],
    /// Smallest and largest transmission ratio there, signed.
    pub ratio: [f64; 2],
    /// Smallest transmission angle there, rad; infinite where there is no rod.
    pub transmission_angle: f64,
    /// Largest tilt of the rod in a ball at its ends there, rad.
    pub ball_tilt: f64,
    /// The limits of the file's joints end the stroke; else the preset's floor of the transmission angle.
    pub ended_by_limits: bool,
}

/// The parts that a file's own frame is left for.
struct Seat<'a> {
    robot: &'a Robot,
    links: [LinkId; 2],
    into: Isometry3<f64>,
    joint: JointId,
    /// About which the child turns against the carrier where the joint's reading grows, in the model's frame.
    axis: Vector3<f64>,
}

impl<'a> Seat<'a> {
    fn new(
        robot: &'a Robot,
        links: [LinkId; 2],
        (joint, axis): (JointId, Vector3<f64>),
    ) -> Option<Self> {
        let into = robot.links.get(links[0])?.pose.inverse();
        Some(Self { robot, links, into, joint, axis })
    }

    fn point(&self, at: Point3<f64>) -> Vector {
        let at = self.into * at;
        Vector::new(at.x, at.y, at.z)
    }

    fn direction(&self, of: Vector3<f64>) -> Vector {
        let of = self.into * of;
        Vector::new(of.x, of.y, of.z)
    }

    fn joint_axis(&self) -> Option<Axis> {
        let anchor = self.robot.joints.get(self.joint)?.anchor;
        Some(Axis { point: self.point(anchor), direction: self.direction(self.axis) })
    }

    fn found(
        &self,
        drawing: Drawing,
        (motor, reads, motor_sign): (Option<JointId>, f64, f64),
        has_no_screw: bool,
        preset: Preset,
    ) -> Result<LoopDrive, Obstacle> {
        let lost = |why: String| Obstacle::new("not_followed", why);
        let drive = drawing.drive().map_err(|fault| {
            lost(format!("the drawn pose is no zero pose of a {}: {fault}", drawing.kind().name()))
        })?;
        let joint = self.robot.joints.get(self.joint);
        let limits = joint.and_then(|joint| turns(joint, 1.0));
        let by_motor = motor.and_then(|id| self.robot.joints.get(id)).filter(|_| !has_no_screw);
        let motor_limits = by_motor.and_then(|joint| turns(joint, motor_sign));
        let stroke = Stroke { drive: &drive, limits, motor_limits, floor: floor(preset) };
        let joint_turns = stroke.ends().ok_or_else(|| {
            lost("it cannot move from the pose that the file draws".to_owned())
        })?;
        let ratio = |turn: f64| drive.motion(turn).map_or(f64::NAN, |motion| motion.ratio);
        let [low, high] = peaks(ratio, joint_turns).map(|(_, ratio)| ratio);
        let [least, most] = [margin as fn(&JointDrive, f64) -> f64, tilt].map(|figure| {
            peaks(|turn| figure(&drive, turn), joint_turns).map(|(_, value)| value)
        });
        Ok(LoopDrive {
            joint: self.joint,
            joints: [motor.map_or("", |id| self.robot.joint_name(id)), self.robot.joint_name(self.joint)]
                .map(str::to_owned),
            motor,
            links: self.links,
            drawn_at: [reads, joint.map_or(0.0, |joint| joint.drawn_at)],
            motor_sign,
            has_no_screw,
            motor_turns: joint_turns.map(|turn| drive.motor_turn(turn).unwrap_or(f64::NAN)),
            joint_turns,
            ratio: [low, high],
            transmission_angle: least[0],
            ball_tilt: most[1],
            ended_by_limits: limits.is_some() || motor_limits.is_some(),
            drawing,
        })
    }
}

/// Smallest transmission angle of the rods, rad.
fn margin(drive: &JointDrive, turn: f64) -> f64 {
    let rods = drive.rods(turn).unwrap_or_default();
    rods.iter().map(|rod| rod.transmission_angle()).fold(f64::INFINITY, f64::min)
}

/// Largest tilt of a rod in its balls, rad.
fn tilt(drive: &JointDrive, turn: f64) -> f64 {
    let rods = drive.rods(turn).unwrap_or_default();
    rods.iter().flat_map(|rod| rod.ball_tilts()).flatten().fold(0.0, f64::max)
}

/// How far a drive may move.
struct Stroke<'a> {
    drive: &'a JointDrive,
    limits: Option<[f64; 2]>,
    motor_limits: Option<[f64; 2]>,
    floor: f64,
}

/// Between two looks, rad.
const STEP: f64 = TAU / 1440.0;

impl Stroke<'_> {
    /// Joint turns from the drawn pose, ascending; `None` where there are none.
    fn ends(&self) -> Option<[f64; 2]> {
        let [low, high] = [-1.0, 1.0].map(|direction| self.end(direction));
        (high - low > 1e-6).then_some([low, high])
    }

    fn end(&self, direction: f64) -> f64 {
        let mut inside = 0.0;
        while inside < TAU / 2.0 {
            let next: f64 = inside + STEP;
            if !self.allows(direction * next) {
                return direction * self.bisected(direction, inside, next);
            }
            inside = next;
        }
        direction * inside
    }

    fn bisected(&self, direction: f64, mut inside: f64, mut outside: f64) -> f64 {
        for _ in 0..50 {
            let middle = f64::midpoint(inside, outside);
            if self.allows(direction * middle) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        inside
    }

    fn allows(&self, turn: f64) -> bool {
        let within = |limits: Option<[f64; 2]>, x: f64| {
            limits.is_none_or(|[low, high]| (low - 1e-12..=high + 1e-12).contains(&x))
        };
        let Ok(motor) = self.drive.motor_turn(turn) else { return false };
        let is_free = self.limits.is_none() && self.motor_limits.is_none();
        within(self.limits, turn)
            && within(self.motor_limits, motor)
            && (!is_free || margin(self.drive, turn) >= self.floor)
    }
}

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
        motor: Axis { point: seat.point(a.points[0]), direction: seat.direction(along * motor_sign) },
        joint,
        crank: seat.point(p.points[0]),
        rocker: seat.point(q.points[1]),
        rod: Some((q.points[0] - p.points[1]).norm()),
    };
    let drawing = Drawing::BallRodPoints(points);
    seat.found(drawing, (Some(id), crank.drawn_at, motor_sign), false, preset)
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
pub(super) fn with_slide(robot: &Robot, ring: &Ring, preset: Preset) -> Option<Result<LoopDrive, Obstacle>> {
    let slides = |ring: &Ring| -> Vec<usize> {
        let is_slide = |pin: &LoopPin| joint_of(robot, pin).is_some_and(|j| j.kind == JointKind::Prismatic);
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
    match gear.filter(|gear| gear.is_normal() && gear.abs() != 1.0) {
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
    seat.found(drawing, (Some(id), file.drawn_at, 1.0), has_no_screw, preset)
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
    seat.found(drawing, (Some(id), file.drawn_at, 1.0), has_no_screw, preset)
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
            let [motor, rocker] = if is_below { [points[0], points[1]] } else { [points[1], points[0]] };
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
            let points = Slider { guide, direction, coupler: *rod, joint: axis, rocker: seat.point(points[1]), lead };
            // The engine's slide is the one behind the point.
            let beside = points.rocker - points.guide;
            let level = beside.dot(points.direction);
            let half = rod * rod - beside.square_to(points.direction).length_squared();
            Drawing::SliderPoints { points, nut: level - half.max(0.0).sqrt() }
        }
    };
    Some(seat.found(drawing, (None, 0.0, 1.0), has_no_screw, preset))
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

/// What `find --json` says of it.
#[derive(Serialize)]
pub(super) struct DriveView {
    kind: Kind,
    motor: Option<String>,
    joint: String,
    sizes: serde_json::Map<String, serde_json::Value>,
    stroke: StrokeView,
    transmission_ratio: [f64; 2],
    transmission_angle_rad: Option<f64>,
    ball_tilt_rad: Option<f64>,
    lead_known: bool,
}

#[derive(Serialize)]
struct StrokeView {
    motor_rad: [f64; 2],
    joint_rad: [f64; 2],
    ended_by_limits: bool,
}

impl DriveView {
    pub(super) fn of(found: &LoopDrive) -> Self {
        let sizes = found.figures().into_iter();
        Self {
            kind: found.drawing.kind(),
            motor: found.motor.map(|_| found.joints[0].clone()),
            joint: found.joints[1].clone(),
            sizes: sizes.map(|(name, value)| (name.to_owned(), value.into())).collect(),
            stroke: StrokeView {
                motor_rad: found.motor_turns,
                joint_rad: found.joint_turns,
                ended_by_limits: found.ended_by_limits,
            },
            transmission_ratio: found.ratio,
            transmission_angle_rad: Some(found.transmission_angle).filter(|x| x.is_finite()),
            ball_tilt_rad: (found.drawing.kind() == Kind::BallRod).then_some(found.ball_tilt),
            lead_known: !found.has_no_screw,
        }
    }
}

impl LoopDrive {
    /// Travel per motor turn, m; `None` where there is no screw.
    #[must_use]
    pub fn lead(&self) -> Option<f64> {
        match &self.drawing {
            Drawing::ActuatorPoints { points, .. } => Some(points.lead),
            Drawing::SliderPoints { points, .. } => Some(points.lead),
            _ => None,
        }
    }

    /// The lengths and angles that an engineer names it by, each with its unit in its name.
    #[must_use]
    pub fn figures(&self) -> Vec<(&'static str, f64)> {
        match &self.drawing {
            Drawing::BallRodPoints(points) => {
                let Ok((sizes, _)) = points.drawing() else { return Vec::new() };
                vec![
                    ("ground_m", sizes.ground),
                    ("crank_m", sizes.crank),
                    ("coupler_m", sizes.coupler),
                    ("rocker_m", sizes.rocker),
                    ("axial_m", sizes.axial),
                    ("twist_rad", sizes.twist),
                    ("lean_rad", sizes.lean),
                ]
            }
            Drawing::ActuatorPoints { points, .. } => {
                let [ground, rocker] =
                    [points.motor, points.rocker].map(|at| off_axis(&points.joint, at));
                vec![
                    ("ground_m", ground),
                    ("rocker_m", rocker),
                    ("line_offset_m", points.line_offset),
                    ("length_m", (points.rocker - points.motor).length()),
                    ("lead_m", points.lead),
                ]
            }
            Drawing::SliderPoints { points, .. } => vec![
                ("coupler_m", points.coupler),
                ("rocker_m", off_axis(&points.joint, points.rocker)),
                ("guide_to_joint_m", off_axis(&points.joint, points.guide)),
                ("lead_m", points.lead),
            ],
            _ => Vec::new(),
        }
    }
}

/// Distance of a point from an axis.
fn off_axis(axis: &Axis, at: Vector) -> f64 {
    axis.foot(at).map_or(0.0, |foot| (at - foot).length())
}
