//! What drives in space bear: the four-bar's figures where all is flat, statics by cutting free, screws, guides, series.

use crate::spatial::{ANKLE, GENERAL, KNEE, SKEW, actuator, flat, slider};

use unloop::drive::{
    Assembly, BallRod, FixedRatio, JointDrive, OneJoint, RodDrive, Screw, Series, Vector,
};
use unloop::dynamics::{
    Bearings, DriveLoadParts, JointStroke, Loads, MonotoneStroke, Motor, Parts, Pin, Rod,
    drive_loads, loads,
};
use unloop::linkage::{Branch, Closure, Drive, Extreme, Stroke};
use unloop::numeric::evenly;

const MOTOR: Motor =
    Motor { peak_torque: Some(20.0), rated_torque: Some(7.0), max_speed: Some(12.0) };

fn parts() -> Parts {
    let pin = Pin { clearance: Some([1e-5, 3e-5]), diameter: Some(6e-3), width: Some(5e-3) };
    Parts {
        motor: MOTOR,
        rod: Some(Rod { outer: 8e-3, inner: 6e-3, modulus: Some(69e9), yield_stress: Some(240e6) }),
        bearings: Bearings { motor: pin, crank: pin, rocker: pin, joint: pin, friction: Some(0.1) },
        allowed: None,
    }
}

fn rod(drive: RodDrive) -> JointDrive {
    JointDrive::Rod(Box::new(drive))
}

fn borne(drive: &JointDrive, range: [f64; 2], parts: &DriveLoadParts) -> Loads {
    drive_loads(&JointStroke::over(drive, range).unwrap(), parts)
}

fn near(got: f64, want: f64) {
    assert!((got - want).abs() <= 1e-7 * want.abs(), "{got} {want}");
}

fn same(got: Option<Extreme>, want: Option<Extreme>) {
    near(got.unwrap().value, want.unwrap().value);
}

#[test]
fn a_flat_drive_bears_what_the_four_bar_bears() {
    for (bars, zero, range) in [(ANKLE, 1.5, [-0.6, 0.7]), (GENERAL, 1.3, [-0.3, 0.4])] {
        let branch = Branch::through(bars, zero, Closure::Open).unwrap();
        let run = Stroke::on(&branch, Drive::Joint, range).unwrap();
        let want = loads(&MonotoneStroke::over(&branch, run).unwrap(), &parts());
        let drive = rod(flat(bars).drive(zero, Assembly::Open).unwrap());
        let got = borne(&drive, range, &DriveLoadParts { parts: parts(), ..Default::default() });
        same(got.smallest_arm, want.smallest_arm);
        same(got.stiffness, want.stiffness);
        same(got.efficiency, want.efficiency);
        let [got_lost, want_lost] = [&got, &want].map(|l| l.lost_motion.unwrap());
        for k in 0..2 {
            near(got_lost[k].value, want_lost[k].value);
        }
        let [got_speed, want_speed] = [&got, &want].map(|l| l.joint_speed.unwrap());
        near(got_speed.guaranteed.value, want_speed.guaranteed.value);
        near(got_speed.never_exceed.value, want_speed.never_exceed.value);
        let (got, want) = (got.peak.unwrap(), want.peak.unwrap());
        same(got.rod_force, want.rod_force);
        same(got.deflection, want.deflection);
        near(got.joint_torque.guaranteed.value, want.joint_torque.guaranteed.value);
        near(got.joint_torque.never_exceed.value, want.joint_torque.never_exceed.value);
        near(got.buckling_margin.unwrap(), want.buckling_margin.unwrap());
        assert_eq!(got.pins.len(), 4);
        for (got, want) in got.pins.iter().zip(&want.pins) {
            near(got.force, want.force);
            near(got.pressure.unwrap(), want.pressure.unwrap());
        }
    }
}

/// Torque of a force along `w` at `at` about an axis.
fn about(axis: Vector, point: Vector, at: Vector, force: Vector) -> f64 {
    (at - point).cross(force).dot(axis)
}

#[test]
fn a_cut_rod_holds_motor_and_joint_in_balance() {
    let ball = |drawing: BallRod, phi| drawing.drive(phi, Assembly::Open).unwrap();
    for (drive, range) in [(ball(SKEW, 1.2), [-0.2, 0.2]), (ball(KNEE, 1.57), [-0.6, 0.7])] {
        let geometry = *drive.geometry();
        let unloop::drive::InputEnd::Crank { circle, .. } = geometry.input else {
            panic!("no crank")
        };
        // The largest rod force by cutting the rod: the crank alone in balance under the motor's torque.
        let mut largest = 0.0_f64;
        for turn in evenly(range, 2001) {
            let pose = drive.pose(turn).unwrap();
            let w = pose.reached.rod;
            let unit = w * (1.0 / w.length());
            let per_force = about(circle.axis, circle.centre, pose.reached.pin, unit);
            let force = 20.0 / per_force;
            largest = largest.max(force.abs());
            // The joint takes what the rod brings, and no power is lost on the way.
            let joint =
                force * about(geometry.joint.axis, geometry.joint.centre, pose.joint_pin, unit);
            near(joint, drive.motion(turn).unwrap().ratio * 20.0);
        }
        let drive = rod(drive);
        let found = borne(&drive, range, &DriveLoadParts { parts: parts(), ..Default::default() });
        let force = found.peak.unwrap().rod_force.unwrap();
        assert!((force.value / largest - 1.0).abs() < 1e-5, "{force:?} {largest}");
    }
}

fn screw(efficiency: f64) -> DriveLoadParts {
    let screw = Screw { lead: 0.005, efficiency, mean_diameter: 0.012 };
    DriveLoadParts {
        parts: Parts { motor: MOTOR, ..Parts::default() },
        screw_efficiency: Some(efficiency),
        back_efficiency: Some(screw.back_efficiency()),
        backlash: Some(0.02),
    }
}

#[test]
fn an_actuator_thrusts_alike_everywhere_and_its_screw_takes_its_share() {
    let drive = rod(actuator().drive(None).unwrap());
    let range = [-0.7, 0.5];
    let (found, lossless) = (borne(&drive, range, &screw(0.9)), borne(&drive, range, &screw(1.0)));
    let beside = found.in_space.unwrap().screw.unwrap();
    let duty = beside.peak.unwrap();
    near(duty.thrust, 20.0 * std::f64::consts::TAU / 0.005);
    let (some, all) = (found.peak.unwrap(), lossless.peak.unwrap());
    near(some.rod_force.unwrap().value, duty.thrust);
    near(some.joint_torque.guaranteed.value, 0.9 * all.joint_torque.guaranteed.value);
    near(some.joint_torque.never_exceed.value, all.joint_torque.never_exceed.value);
    // A load turns the motor back only with more than what the motor would bring.
    let back = duty.back_driving.unwrap().value;
    assert!(back > some.joint_torque.guaranteed.value / 0.9, "{back}");
    assert_eq!(beside.locks_itself, Some(false));
    let locked = borne(&drive, range, &screw(0.3)).in_space.unwrap().screw.unwrap();
    assert_eq!((locked.locks_itself, locked.peak.unwrap().back_driving), (Some(true), None));
    assert_eq!(some.pins.len(), 3);
}

#[test]
fn a_sliders_guide_holds_what_of_the_rods_force_is_not_along_it() {
    let slider = slider();
    let drive = slider.drive(0.17).unwrap();
    let along = slider.direction.unit().unwrap();
    let range = [-0.6, 0.6];
    let thrust = 20.0 * std::f64::consts::TAU / 0.004;
    let side = |turn: f64| {
        let w = drive.pose(turn).unwrap().reached.rod;
        let force = w * (thrust / w.dot(along));
        force.square_to(along).length()
    };
    let largest = evenly(range, 4001).map(side).fold(0.0, f64::max);
    let found = borne(&rod(drive.clone()), range, &screw(0.9)).in_space.unwrap();
    let told = found.screw.unwrap().peak.unwrap().side_force.unwrap();
    assert!((told.value / largest - 1.0).abs() < 1e-5, "{told:?} {largest}");
    assert!(found.ball_tilt.crank.is_none() && found.ball_tilt.rocker.is_some());
}

#[test]
fn a_belt_bears_no_rod_and_a_series_the_torque_that_comes_through() {
    let belt = JointDrive::Ratio(FixedRatio(-2.5));
    let parts = DriveLoadParts { parts: parts(), backlash: Some(0.02), ..Default::default() };
    let found = borne(&belt, [-1.0, 1.0], &parts);
    let duty = found.peak.as_ref().unwrap();
    assert!(found.smallest_arm.is_none() && duty.rod_force.is_none() && duty.pins.is_empty());
    near(duty.joint_torque.guaranteed.value, 50.0);
    near(found.joint_speed.unwrap().guaranteed.value, 12.0 / 2.5);
    near(found.in_space.unwrap().backlash.unwrap().value, 0.02 / 2.5);
    // Behind a belt the rod sees 2.5 times the motor's torque; before it, the torque itself.
    let knee = || rod(KNEE.drive(1.57, Assembly::Open).unwrap());
    let range = [-0.2, 0.25];
    let alone = borne(&knee(), range, &parts).peak.unwrap().rod_force.unwrap().value;
    let behind = JointDrive::Series(Series(vec![belt.clone(), knee()]));
    let force = |drive: &JointDrive| borne(drive, range, &parts).peak.unwrap().rod_force.unwrap();
    near(force(&behind).value, 2.5 * alone);
    let before = JointDrive::Series(Series(vec![knee(), JointDrive::Ratio(FixedRatio(0.5))]));
    let half = borne(&knee(), [-0.1, 0.125], &parts).peak.unwrap().rod_force.unwrap();
    near(force(&before).value, half.value);
}
