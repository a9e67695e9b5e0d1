//! Where one rod stops: dead points, crank limits, and an actuator's own ends.
//!
//! Both kinds of limit are S = 0, seen from the one end of the rod or from the other. As a function of the pin's angle S² is
//! a wave of two harmonics, so that there are up to four of each, not symmetric to anything; of a nut's travel it is a
//! quartic. Derived here.

use std::f64::consts::{PI, TAU};

use super::circle::Circle;
use super::input_end::InputEnd;
use super::real_roots::{Wave, of_polynomial};
use super::rod_pose::RodOnHinge;
use super::space::Vector;
use super::stop::{Stop, StopKind};
use super::zero_pose::Zero;

/// A stop by its angles from the data of joint and motor, rad.
#[derive(Clone, Copy, Debug)]
pub(super) struct Found {
    pub(super) kind: StopKind,
    joint: f64,
    pub(super) motor: f64,
    /// λ of the pose there, zero at a dead point.
    lever: f64,
}

/// Angles of `pin`'s circle at which the rod from it lies in line with the arm of the circle `by`.
fn in_line_angles(pin: &Circle, by: &Circle, rod: f64) -> Vec<f64> {
    let s_squared = |angle: f64| {
        let [x, y, z] = by.seen(pin.pin(angle));
        let (h2, k) = (x * x + y * y, by.along(x * x + y * y + z * z, rod));
        h2 - k * k
    };
    Wave::of(s_squared).zeros()
}

/// The angle on `circle` at which a rod from `point` is in line with the arm.
fn angle_in_line(circle: &Circle, point: Vector, rod: f64) -> f64 {
    let (sine, cosine) = circle.in_line(point, rod);
    libm::atan2(sine, cosine)
}

/// Every stop, in whatever assembly.
pub(super) fn all(drive: &RodOnHinge, lengths: Option<[f64; 2]>) -> Vec<Found> {
    let joint = &drive.joint;
    let mut found = match drive.input {
        InputEnd::Crank { circle, rod, .. } => of_crank(joint, &circle, rod),
        InputEnd::Slide { point, direction, rod, .. } => of_slide(drive, point, direction, rod),
        InputEnd::Actuator { pin, .. } => of_actuator(drive, pin, lengths),
    };
    found.retain(|stop| stop.joint.is_finite() && stop.motor.is_finite());
    found
}

fn of_crank(joint: &Circle, crank: &Circle, rod: f64) -> Vec<Found> {
    let dead = in_line_angles(joint, crank, rod).into_iter().map(|at| {
        let motor = angle_in_line(crank, joint.pin(at), rod);
        Found { kind: StopKind::DeadPoint, joint: at, motor, lever: 0.0 }
    });
    let limits = in_line_angles(crank, joint, rod).into_iter().map(|at| {
        let (arm, pin) = (crank.pin(at) - crank.centre, crank.pin(at));
        let angle = angle_in_line(joint, pin, rod);
        let lever = (joint.pin(angle) - pin).dot(crank.axis.cross(arm));
        Found { kind: StopKind::CrankLimit, joint: angle, motor: at, lever }
    });
    dead.chain(limits).collect()
}

fn of_slide(drive: &RodOnHinge, point: Vector, direction: Vector, rod: f64) -> Vec<Found> {
    let (joint, gain) = (&drive.joint, drive.input.gain());
    let left_of_rod = |angle: f64| {
        let d = joint.pin(angle) - point;
        rod * rod - d.square_to(direction).length_squared()
    };
    let dead = Wave::of(left_of_rod).zeros().into_iter().map(|at| {
        let motor = gain * (joint.pin(at) - point).dot(direction);
        Found { kind: StopKind::DeadPoint, joint: at, motor, lever: 0.0 }
    });
    let limits = travels_in_line(joint, point, direction, rod).into_iter().map(|travel| {
        let pin = point + direction * travel;
        let angle = angle_in_line(joint, pin, rod);
        let lever = (joint.pin(angle) - pin).dot(direction);
        Found { kind: StopKind::CrankLimit, joint: angle, motor: gain * travel, lever }
    });
    dead.chain(limits).collect()
}

/// Travels of a nut at which the rod lies in line with the joint's lever: S² = |d|² − z² − K² with d = d₀ + x t.
fn travels_in_line(joint: &Circle, point: Vector, direction: Vector, rod: f64) -> Vec<f64> {
    let d = point - joint.centre;
    let (r, z0, z1) = (joint.radius, d.dot(joint.axis), direction.dot(joint.axis));
    let squared = [d.length_squared(), 2.0 * d.dot(direction), 1.0];
    let k = [(squared[0] + (r - rod) * (r + rod)) / (2.0 * r), squared[1] / (2.0 * r), 0.5 / r];
    of_polynomial(&[
        squared[0] - z0 * z0 - k[0] * k[0],
        squared[1] - 2.0 * z0 * z1 - 2.0 * k[0] * k[1],
        squared[2] - z1 * z1 - 2.0 * k[0] * k[2] - k[1] * k[1],
        -2.0 * k[1] * k[2],
        -k[2] * k[2],
    ])
}

/// The two toggles, where the joint axis lies in the plane of pins and rod, and the actuator's own ends on either side.
fn of_actuator(drive: &RodOnHinge, pin: Vector, lengths: Option<[f64; 2]>) -> Vec<Found> {
    let joint = &drive.joint;
    let InputEnd::Actuator { offset, .. } = drive.input else { return Vec::new() };
    let [x, y, _] = joint.seen(pin);
    let towards = libm::atan2(y, x);
    let at = |kind, joint_angle: f64| {
        let length = (joint.pin(joint_angle) - pin).length();
        let travel = ((length - offset) * (length + offset)).max(0.0).sqrt();
        let motor = travel * drive.input.gain();
        Found { kind, joint: libm::remainder(joint_angle, TAU), motor, lever: 1.0 }
    };
    let toggles = [towards, towards + PI].map(|angle| at(StopKind::CrankLimit, angle));
    let ends = lengths.into_iter().flat_map(|[shortest, longest]| {
        [(StopKind::Shortest, shortest), (StopKind::Longest, longest)]
    });
    let ends = ends.flat_map(|(kind, travel)| {
        let rod = libm::hypot(travel, offset);
        let met = [-1.0, 1.0].map(|side| joint.meet(pin, rod, side));
        let motor = travel * drive.input.gain();
        met.into_iter().flatten().map(move |meeting| {
            let (sine, cosine) = meeting.direction;
            Found { kind, joint: libm::atan2(sine, cosine), motor, lever: 1.0 }
        })
    });
    toggles.into_iter().chain(ends).collect()
}

/// `angle` as a turn in (0, 2π].
fn turn_up(angle: f64) -> f64 {
    let turn = angle.rem_euclid(TAU);
    if turn <= 0.0 { TAU } else { turn }
}

/// The first stop below and above the zero pose by joint turn, with that turn: every dead point and end of an actuator,
/// and the crank limits of the zero pose's own assembly.
pub(super) fn nearest_by_joint(
    found: &[Found],
    drive: &RodOnHinge,
    zero: &Zero,
) -> [Option<(f64, Found)>; 2] {
    let is_actuator = matches!(drive.input, InputEnd::Actuator { .. });
    let on_the_way = |stop: &&Found| {
        stop.kind != StopKind::CrankLimit || is_actuator || stop.lever * zero.lever > 0.0
    };
    [-1.0, 1.0].map(|direction| {
        let turn = |stop: &Found| direction * turn_up(direction * (stop.joint - zero.joint));
        let turns = found.iter().filter(on_the_way).map(|stop| (turn(stop), *stop));
        turns.min_by(|p, q| p.0.abs().total_cmp(&q.0.abs()))
    })
}

/// The first crank limit or end of an actuator below and above the zero pose by motor turn, with that turn.
pub(super) fn nearest_by_motor(
    found: &[Found],
    drive: &RodOnHinge,
    zero: &Zero,
) -> [Option<(f64, StopKind)>; 2] {
    let is_crank = matches!(drive.input, InputEnd::Crank { .. });
    [-1.0, 1.0].map(|direction| {
        let ahead = |stop: &Found| {
            let away = direction * (stop.motor - zero.motor);
            if is_crank { turn_up(away) } else { away }
        };
        let limits = found.iter().filter(|stop| stop.kind != StopKind::DeadPoint);
        let turns = limits.map(|stop| (ahead(stop), stop.kind)).filter(|(turn, _)| *turn > 0.0);
        let nearest = turns.min_by(|p, q| p.0.total_cmp(&q.0));
        nearest.map(|(turn, kind)| (direction * turn, kind))
    })
}

/// Every stop as turns from the zero pose, those of cranks and joints in (−π, π].
pub(super) fn told(found: &[Found], drive: &RodOnHinge, zero: &Zero) -> Vec<Stop> {
    let is_crank = matches!(drive.input, InputEnd::Crank { .. });
    let stop = |at: &Found| {
        let motor = at.motor - zero.motor;
        Stop {
            kind: at.kind,
            joint: libm::remainder(at.joint - zero.joint, TAU),
            motor: if is_crank { libm::remainder(motor, TAU) } else { motor },
        }
    };
    found.iter().map(stop).collect()
}
