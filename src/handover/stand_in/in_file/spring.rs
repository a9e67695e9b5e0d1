//! One spring of the driven joint in place of those of the joints that go, and the line along which a rod that is kept to be
//! seen follows the joint.
//!
//! At joint rate 1 a pin's joint turns at its own rate r' (i at the crank, s − i and 1 − s at the pins, s the coupler's),
//! so that a spring k at reading r gives the joint the torque −k (r − rest) r' (virtual work). Their sum over the stroke is
//! held against a straight line, which is what a joint's own spring is.

use std::f64::consts::TAU;

use super::FileDrive;
use super::figures::readings_of;
use crate::handover::Form;
use crate::handover::find::LoopSpring;
use crate::robot::JointId;

/// Poses over the stroke.
const POSES: u32 = 64;

/// The spring that takes the place of all.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct Spring {
    /// N m/rad.
    pub(in crate::handover) stiffness: f64,
    /// Joint reading, rad.
    pub(in crate::handover) rests_at: f64,
    /// Largest difference from the true torque, N m.
    pub(in crate::handover) error: f64,
    /// Largest true torque, N m.
    pub(in crate::handover) largest: f64,
}

/// The driven joint's own stays where it is, the crank's where the crank does; of a finger those of the rocker's pins go.
pub(in crate::handover) fn goes(drive: &FileDrive<'_>, spring: &LoopSpring) -> bool {
    match spring.pin {
        pin if drive.is_jaw() => pin >= 2,
        0 => drive.form == Form::Direct,
        1 | 2 => true,
        _ => false,
    }
}

/// What all pins have turned at a motor turn, in their own sense, and how fast per rate of the driven joint.
fn pins_at(drive: &FileDrive<'_>, turn: f64) -> Option<[[f64; 2]; 4]> {
    let branch = &drive.plane()?.reach.branch;
    let (pose, crank) = (branch.pose(turn).ok()?, branch.zero_crank() + turn);
    let (theta, psi) = (pose.coupler_angle(), pose.rocker_angle());
    let i = pose.transmission_ratio();
    let s = pose.coupler_rate() * i;
    let sense = |pin: usize| {
        let axis = drive.four_bar.pins.get(pin).and_then(|pin| pin.axis);
        axis.map_or(1.0, |axis| axis.dot(&drive.four_bar.axis).signum())
    };
    let signed = |angle: f64, rate: f64, pin: usize| [sense(pin) * angle, sense(pin) * rate];
    if drive.is_jaw() {
        // Per rate of the driver's reading.
        let sign = drive.four_bar.motor_sign();
        let (r, s) = (sign * pose.velocity_ratio(), sign * pose.coupler_rate());
        return Some([
            signed(crank, sign, 0),
            signed(theta - crank, s - sign, 1),
            signed(psi - theta, r - s, 2),
            [psi, r],
        ]);
    }
    Some([
        signed(crank, i, 0),
        signed(theta - crank, s - i, 1),
        signed(psi - theta, 1.0 - s, 2),
        [psi, 1.0],
    ])
}

/// Of the joint that takes the spring.
fn driven_pin(drive: &FileDrive<'_>) -> usize {
    if drive.is_jaw() { 0 } else { 3 }
}

/// The driven joint's reading at a motor turn, rad.
fn joint_at(drive: &FileDrive<'_>, turn: f64) -> Option<f64> {
    let plane = drive.plane()?;
    let readings = readings_of(drive, plane);
    if drive.is_jaw() {
        return Some(readings.motor + drive.four_bar.motor_sign() * turn);
    }
    Some(readings.joint + plane.reach.branch.joint_turn(turn).ok()?)
}

/// The best straight line through the springs' torque over the stroke.
pub(in crate::handover) fn fitted(drive: &FileDrive<'_>) -> Option<Spring> {
    let reach = drive.plane()?.reach;
    let drawn = pins_at(drive, -reach.zero)?;
    let [low, high] = reach.motor;
    let mut points: Vec<[f64; 2]> = Vec::new();
    for k in 0..=POSES {
        let turn = low + (high - low) * f64::from(k) / f64::from(POSES);
        let now = pins_at(drive, turn)?;
        let torque: f64 = drive
            .four_bar
            .springs
            .iter()
            .filter(|spring| spring.pin == driven_pin(drive) || goes(drive, spring))
            .map(|spring| {
                let ([angle, rate], [before, _]) = (now.get(spring.pin)?, drawn.get(spring.pin)?);
                let joint = drive.robot.joints.get(spring.joint)?;
                let turned = libm::remainder(angle - before, TAU);
                Some(-spring.stiffness * (joint.drawn_at + turned - spring.rests_at) * rate)
            })
            .sum::<Option<f64>>()?;
        points.push([joint_at(drive, turn)?, torque]);
    }
    line(&points)
}

/// By least squares; nearly constant torques get a spring that is soft and far from its rest.
fn line(points: &[[f64; 2]]) -> Option<Spring> {
    let count = points.iter().map(|_| 1.0).sum::<f64>();
    let mean = |k: usize| points.iter().filter_map(|p| p.get(k)).sum::<f64>() / count;
    let (x, y) = (mean(0), mean(1));
    let product = |f: fn(f64, f64) -> f64| {
        points.iter().map(|[joint, torque]| f(joint - x, torque - y)).sum::<f64>()
    };
    let largest = points.iter().map(|[_, torque]| torque.abs()).fold(0.0_f64, f64::max);
    let span = points.iter().map(|[joint, _]| (joint - x).abs()).fold(0.0_f64, f64::max);
    let softest = 0.01 * largest / span;
    let stiffness = (-product(|a, b| a * b) / product(|a, _| a * a)).max(softest);
    let rests_at = x + y / stiffness;
    let off = |[joint, torque]: &[f64; 2]| (torque + stiffness * (joint - rests_at)).abs();
    let error = points.iter().map(off).fold(0.0_f64, f64::max);
    let figures = [stiffness, rests_at, error, largest];
    figures.iter().all(|x| x.is_finite()).then_some(Spring { stiffness, rests_at, error, largest })
}

/// The rod's joint, how its reading follows the driven joint's: slope and shift.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct RodLine {
    pub(in crate::handover) joint: JointId,
    pub(in crate::handover) slope: f64,
    pub(in crate::handover) shift: f64,
}

/// The rod's own joint reading over the stroke as a line through its ends.
pub(in crate::handover) fn rod_line(
    drive: &FileDrive<'_>,
    is_gone: impl Fn(JointId) -> bool,
) -> Option<RodLine> {
    // Of the rod's two pins one is left: the one that the file's tree hangs it on.
    let [_, crank_pin, rocker_pin, _] = &drive.four_bar.pins;
    let on_crank = crank_pin.joint.filter(|id| !is_gone(*id));
    let joint = on_crank.or(rocker_pin.joint)?;
    let drawn_at = drive.robot.joints.get(joint)?.drawn_at;
    let pin = if on_crank.is_some() { 1 } else { 2 };
    let reading = |turn: f64| Some(pins_at(drive, turn)?.get(pin)?[0]);
    let reach = drive.plane()?.reach;
    let drawn = reading(-reach.zero)?;
    let at = |turn: f64| Some(drawn_at + libm::remainder(reading(turn)? - drawn, TAU));
    let [low, high] = reach.motor;
    let (first, last) = (at(low)?, at(high)?);
    let (a, b) = (joint_at(drive, low)?, joint_at(drive, high)?);
    let slope = (last - first) / (b - a);
    Some(RodLine { joint, slope, shift: first - slope * a })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_torques_is_its_spring_and_a_constant_one_is_off_by_a_hundredth() {
        let at = |f: fn(f64) -> f64| [-0.5, 0.0, 0.5, 1.0].map(|x| [x, f(x)]);
        let spring = line(&at(|x| -3.0 * (x - 0.2))).unwrap();
        assert!((spring.stiffness - 3.0).abs() < 1e-12 && (spring.rests_at - 0.2).abs() < 1e-12);
        let constant = line(&at(|_| 2.0)).unwrap();
        assert!(constant.error <= 0.02 + 1e-12 && constant.stiffness > 0.0, "{constant:?}");
    }

    #[test]
    fn a_torque_that_bends_is_off_its_line() {
        let bent = line(&[[-1.0, 1.0], [0.0, 0.0], [1.0, 1.0]]).unwrap();
        assert!(bent.error > 0.05 * bent.largest);
    }
}
