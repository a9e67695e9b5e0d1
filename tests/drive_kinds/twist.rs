//! What an actuator's lever turns about its slide line.

use unloop::drive::{LinearActuator, RodDrive, Vector};

use crate::known::{axis, vector};

fn actuator(direction: [f64; 3]) -> RodDrive {
    let points = LinearActuator {
        motor: vector([0.01, 0.03, -0.04]),
        joint: axis([0.3, 0.0, 0.0], direction),
        rocker: vector([0.26, 0.045, 0.015]),
        line_offset: 0.0,
        lead: 0.005,
    };
    points.drive(None).unwrap()
}

/// `arrow` carried along as the line turns from one direction to the next, the shortest way.
fn carried(arrow: Vector, [from, to]: [Vector; 2]) -> Vector {
    let across = from.cross(to);
    let sine = across.length();
    match across.unit() {
        Some(about) if sine > 0.0 => arrow.turned(about, (sine, from.dot(to))),
        _ => arrow,
    }
}

/// The lever's turn about the line against arrows that are carried along with the line, in small steps: the mean of two at
/// right angles, whose errors of second order in a step are opposite.
fn followed(drive: &RodDrive, joint: f64) -> f64 {
    let line = drive.pose(0.0).unwrap().reached.rod;
    line.across().unwrap().map(|arrow| followed_by(arrow, drive, joint)).iter().sum::<f64>() / 2.0
}

fn followed_by(start: Vector, drive: &RodDrive, joint: f64) -> f64 {
    const STEPS: u32 = 4000;
    let line = |turn: f64| drive.pose(turn).unwrap().reached.rod.unit().unwrap();
    let about = drive.pose(0.0).unwrap().bolts[1].unwrap();
    let (mut housing, mut lever) = (start, start);
    let mut twist = 0.0;
    for k in 0..STEPS {
        let [from, to] = [k, k + 1].map(|k| joint * f64::from(k) / f64::from(STEPS));
        let lines = [line(from), line(to)];
        housing = carried(housing, lines);
        lever = lever.turned(about, libm::sincos(to - from));
        let (seen, along) = (lever.square_to(lines[1]), lines[1]);
        twist += libm::atan2(along.dot(housing.cross(seen)), housing.dot(seen));
        lever = housing;
    }
    twist
}

#[test]
fn a_nut_turns_as_far_as_the_lever_does_about_a_line_that_is_carried_along() {
    for direction in [[0.1, -0.2, 1.0], [0.3, 0.1, 1.0], [-0.05, 0.4, 1.0]] {
        let drive = actuator(direction);
        for joint in [-0.6, -0.2, 0.3, 0.5] {
            let (ours, theirs) = (drive.twist(joint), followed(&drive, joint));
            assert!((ours - theirs).abs() < 1e-6, "{direction:?} {joint}: {ours} {theirs}");
        }
    }
}

#[test]
fn a_nut_turns_no_farther_than_tilt_times_joint_turn_and_not_at_all_in_a_plane() {
    let drive = actuator([0.1, -0.2, 1.0]);
    for joint in [-0.6_f64, 0.5] {
        let tilt = |k: u32| drive.pose(joint * f64::from(k) / 200.0).unwrap().ball_tilts()[1];
        let most = (0..=200).filter_map(tilt).fold(0.0, f64::max);
        assert!(drive.twist(joint).abs() <= most * joint.abs() + 1e-12);
        assert!(drive.twist(joint).abs() > 1e-3);
    }
    let flat = LinearActuator::planar([0.3, 0.045, 0.01, 0.005], 1.75).drive(None).unwrap();
    assert!(flat.twist(0.4).abs() < 1e-15);
}
