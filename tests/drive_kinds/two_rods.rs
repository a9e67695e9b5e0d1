//! Two motors on one universal joint against exact values, and its laws.

use unloop::drive::{
    Angular, Axis, BentPose, Circle, Direct, DriveFault, InputEnd, Leg, Region, RodsOnUniversal,
    TwoRods, Vector,
};
use unloop::numeric::{Interval, Jet};

use crate::known::{Case, axis, cases, vector};

fn sure(v: Vector) -> Vector<Interval> {
    v.map(Interval::point)
}

fn line(axis: Axis) -> Axis<Interval> {
    axis.map(Interval::point)
}

/// Pitch about +y through the origin, then roll about the turned +x.
fn on_ankle(roll_point: [f64; 3], legs: [Leg<Interval>; 2]) -> TwoRods {
    let pitch = axis([0.0; 3], [0.0, 1.0, 0.0]);
    let roll = axis(roll_point, [1.0, 0.0, 0.0]);
    TwoRods::new(RodsOnUniversal::new(line(pitch), line(roll), legs).unwrap()).unwrap()
}

fn crank_leg(centre: [f64; 3], about: [f64; 3], pin: [f64; 3], foot: [f64; 3]) -> Leg<Interval> {
    Leg::crank(&line(axis(centre, about)), sure(vector(pin)), sure(vector(foot)), None).unwrap()
}

fn actuator_leg(pin: [f64; 3], foot: [f64; 3], lead: f64) -> Leg<Interval> {
    let shape = [Interval::ZERO, Interval::point(lead)];
    Leg::actuator(sure(vector(pin)), sure(vector(foot)), shape)
}

fn drawn(case: &Case) -> TwoRods {
    let leg = |k: usize| {
        let point = |key: &str| case.point(&format!("{key}_{k}"));
        if case.has("carrier_pin_0") {
            let lead = case.input("lead_mm_per_turn");
            return actuator_leg(point("carrier_pin"), point("foot_pin_zero"), lead);
        }
        let (centre, about) = (point("crank_centre"), point("motor_axis"));
        crank_leg(centre, about, point("crank_pin_zero"), point("foot_pin_zero"))
    };
    on_ankle(case.point("roll_axis_point"), [leg(0), leg(1)])
}

fn named(list: &str, values: impl IntoIterator<Item = f64>) -> Vec<(String, f64)> {
    values.into_iter().enumerate().map(|(k, value)| (format!("{list}_{k}"), value)).collect()
}

fn hold(case: &Case, ours: &[(String, f64)]) {
    let ours: Vec<(&str, f64)> = ours.iter().map(|(key, value)| (key.as_str(), *value)).collect();
    case.hold(&ours);
}

/// The published drive: cranks counted from −x towards +z, rods of given length.
fn zhou(case: &Case) {
    let point = |v: [f64; 3]| sure(vector(v));
    let foot = case.point("foot_pin_left");
    let motor = case.point("motor_left");
    let circle = Circle::about(
        point(motor),
        point([0.0, 1.0, 0.0]),
        point([-1.0, 0.0, 0.0]),
        Interval::point(case.input("crank")),
    )
    .unwrap();
    let rod = Interval::point(case.input("rod"));
    let left = Leg { input: InputEnd::Crank { circle, rod, side: 1.0 }, foot: point(foot) };
    let legs = [left, left.mirrored()];
    let drive = on_ankle([0.0; 3], legs);
    let joints = [case.angle("pitch_deg"), case.angle("roll_deg")];
    // From the datum, not from the zero pose.
    let zero = drive.geometry().at([(0.0, 1.0); 2]).unwrap();
    let gamma = |k: usize| {
        let unloop::drive::Place::Angle(sine, cosine) = zero.rods[k].place else { panic!() };
        let turned = libm::atan2(sine, cosine) + drive.motor_turns(joints).unwrap()[k];
        turned.to_degrees()
    };
    let [left, right] = drive.pose(joints).unwrap().jacobian;
    let mut ours = named("gamma_deg", [gamma(0), gamma(1)]);
    ours.extend(named("J_left", left));
    ours.extend(named("J_right", right));
    hold(case, &ours);
    returns(&drive, joints);
}

/// Motor to joint comes back, certainly.
fn returns(drive: &TwoRods, joints: [f64; 2]) {
    let motors = drive.motor_turns(joints).unwrap();
    let back =
        drive.joint_turns(motors).unwrap_or_else(|fault| panic!("{joints:?} {motors:?} {fault}"));
    for k in [0, 1] {
        assert!((back.turns[k] - joints[k]).abs() < 1e-13, "{joints:?} {back:?}");
        assert!(back.within[k].width() < 1e-11, "{back:?}");
        assert!((back.within[k].mid() - joints[k]).abs() < 1e-11, "{back:?}");
    }
}

#[test]
fn ankles_match_the_published_closed_form_and_every_exact_pose() {
    for case in cases("ankle") {
        if case.has("motor_left") {
            zhou(&case);
            continue;
        }
        let drive = drawn(&case);
        let joints = [case.angle("pitch_deg"), case.angle("roll_deg")];
        let pose = drive.pose(joints).unwrap();
        let motors = drive.motor_turns(joints).unwrap();
        let ([first, second], [one, two]) = (pose.jacobian, pose.joint_arms());
        let mut ours = named("motor_deg", motors.map(f64::to_degrees));
        ours.extend(named("motor_rad", motors));
        ours.extend(named("J_0", first));
        ours.extend(named("J_1", second));
        ours.extend(named("arms_0_mm", one));
        ours.extend(named("arms_1_mm", two));
        ours.extend(named("crank_arm_mm", pose.motor_arms()));
        ours.extend(named("length", pose.rods.iter().map(|rod| rod.length)));
        let sides = [0, 1].map(|k| pose.crank_side(k).unwrap_or_default().to_degrees());
        ours.extend(named("crank_side_angle_deg", sides));
        hold(&case, &ours);
        returns(&drive, joints);
    }
}

/// Motor axes parallel, arms square to the rods.
fn ankle_a() -> TwoRods {
    let leg =
        |y: f64, z: f64| crank_leg([0.0, y, z], [0.0, 1.0, 0.0], [-45.0, y, z], [-45.0, y, 0.0]);
    on_ankle([0.0; 3], [leg(32.0, 280.0), leg(-32.0, 160.0)])
}

/// Motors toed in, axes apart.
fn ankle_b() -> TwoRods {
    let left = crank_leg(
        [5.0, 30.0, 270.0],
        [5_f64.to_radians().sin(), 5_f64.to_radians().cos(), 0.0],
        [-40.0, 38.0, 265.0],
        [-48.0, 36.0, -12.0],
    );
    let right = crank_leg(
        [5.0, -30.0, 150.0],
        [-5_f64.to_radians().sin(), 5_f64.to_radians().cos(), 0.0],
        [-40.0, -38.0, 145.0],
        [-48.0, -36.0, -12.0],
    );
    on_ankle([0.0, 0.0, -8.0], [left, right])
}

/// Side cranks.
fn ankle_c() -> TwoRods {
    let leg = |side: f64| {
        crank_leg(
            [-20.0, 5.0 * side, 200.0],
            [1.0, 0.0, 0.0],
            [-20.0, 60.0 * side, 200.0],
            [-42.0, 50.0 * side, 10.0],
        )
    };
    on_ankle([0.0; 3], [leg(1.0), leg(-1.0)])
}

fn ankle_linear() -> TwoRods {
    let leg =
        |side: f64| actuator_leg([-50.0, 34.0 * side, 220.0], [-44.0, 36.0 * side, -12.0], 5.0);
    on_ankle([0.0, 0.0, -8.0], [leg(1.0), leg(-1.0)])
}

/// A nut on an upright guide behind the shank.
fn ankle_nuts_left() -> Leg<Interval> {
    let [point, direction] = [[-50.0, 34.0, 40.0], [0.0, 0.0, 1.0]].map(|v| sure(vector(v)));
    let (rod, lead) = (Interval::point(180.0), Interval::point(-4.0));
    let input = InputEnd::Slide { point, direction, rod, side: 1.0, lead };
    Leg { input, foot: sure(vector([-44.0, 36.0, -12.0])) }
}

fn ankle_nuts() -> TwoRods {
    let left = ankle_nuts_left();
    on_ankle([0.0, 0.0, -8.0], [left, left.mirrored()])
}

pub(crate) fn ankles() -> [TwoRods; 5] {
    [ankle_a(), ankle_b(), ankle_c(), ankle_linear(), ankle_nuts()]
}

const FULL: Region = Region {
    pitch: [-35.0 * PER_DEG, 25.0 * PER_DEG],
    roll: [-15.0 * PER_DEG, 15.0 * PER_DEG],
    pieces: 12,
};
const PER_DEG: f64 = std::f64::consts::PI / 180.0;

#[test]
fn constant_matrices_err_as_worked_out_and_torques_are_parallelograms() {
    let drive = ankle_a();
    let direct = Direct::zero_pose(&drive).unwrap();
    for case in cases("ankle_verdict") {
        let joints = [case.angle("pitch_deg"), case.angle("roll_deg")];
        let given = [case.list("T_0"), case.list("T_1")].concat();
        for (ours, theirs) in direct.matrix.transpose().iter().zip(given) {
            assert!((ours - theirs).abs() < 1e-12);
        }
        let pose = drive.pose(joints).unwrap();
        let error = direct.rate_error(&pose);
        let angles = direct.angle_error(&drive, joints).unwrap();
        let polygon = pose.torque_polygon([1.0; 2]);
        let [pitch, roll] = pose.torques_alone([1.0; 2]);
        let weight = pose.armature([1.0; 2]);
        let mut ours = named("E_pitch", [error.m11, error.m12]);
        ours.extend(named("E_roll", [error.m21, error.m22]));
        ours.push(("norm".to_owned(), direct.rate_error_norm(&pose)));
        ours.extend(named("angle_error_deg", angles.map(f64::to_degrees)));
        ours.extend(named("torque_corner_pp", polygon[0]));
        ours.extend(named("torque_corner_pm", polygon[1]));
        ours.push(("pitch_torque_alone".to_owned(), pitch));
        ours.push(("roll_torque_alone".to_owned(), roll));
        ours.extend(named("armature_per_rotor", [weight.m11, weight.m22, weight.m12]));
        hold(&case, &ours);
        let speeds = pose.speed_polygon([1.0; 2]).unwrap();
        let back = pose.rates() * nalgebra::Vector2::from(speeds[1]);
        assert!((back - nalgebra::Vector2::new(1.0, -1.0)).norm() < 1e-14);
    }
}

#[test]
fn the_best_constant_gains_what_was_measured_and_one_motor_a_joint_is_far_off() {
    // Largest norms of E in percent over the full range: of the zero pose's matrix, and of the best one.
    for (drive, [zero, best]) in ankles().iter().zip([[10.5, 9.7], [24.0, 18.0], [27.0, 22.0]]) {
        let worst = |direct: Direct| direct.worst_rate_error(drive, &FULL).unwrap().0;
        let of_zero = worst(Direct::zero_pose(drive).unwrap());
        let of_best = worst(Direct::best(drive, &FULL).unwrap());
        assert!((1e2 * of_zero - zero).abs() < 0.5, "{of_zero} {zero}");
        assert!((1e2 * of_best - best).abs() < 0.5, "{of_best} {best}");
        let diagonal = Direct::diagonal(drive, &FULL).unwrap();
        assert!(diagonal.matrix.m12 == 0.0 && diagonal.matrix.m21 == 0.0);
        assert!(worst(diagonal) > 0.5);
        // No other matrix near the best is better.
        let found = Direct::best(drive, &FULL).unwrap().matrix;
        for entry in 0..4 {
            for factor in [0.997, 1.003] {
                let mut other = found;
                other[entry] *= factor;
                assert!(worst(Direct::new(other).unwrap()) >= of_best - 1e-9);
            }
        }
    }
}

#[test]
fn the_best_diagonal_is_met_where_each_motor_turns_one_joint() {
    // One actuator in the middle plane before pitch, one beside roll's axis: nearly one motor a joint.
    let pitch = actuator_leg([-50.0, 0.0, 200.0], [-50.0, 0.0, 0.0], 5.0);
    let roll = actuator_leg([0.0, 40.0, 200.0], [0.0, 40.0, 0.0], 5.0);
    let drive = on_ankle([0.0; 3], [pitch, roll]);
    let small = Region { pitch: [-0.1, 0.1], roll: [-0.1, 0.1], pieces: 6 };
    let worst = |direct: Direct| direct.worst_rate_error(&drive, &small).unwrap().0;
    let diagonal = Direct::diagonal(&drive, &small).unwrap();
    let least = worst(diagonal);
    assert!(least < 0.1, "{least}");
    for entry in [0, 3] {
        for factor in [0.995, 1.005] {
            let mut other = diagonal.matrix;
            other[entry] *= factor;
            assert!(worst(Direct::new(other).unwrap()) >= least - 1e-9);
        }
    }
}

fn grid() -> impl Iterator<Item = [f64; 2]> {
    [-35.0, -20.0, -5.0, 0.0, 10.0, 25.0].into_iter().flat_map(|pitch| {
        [-15.0, -7.0, 0.0, 4.0, 15.0].map(|roll| [pitch * PER_DEG, roll * PER_DEG])
    })
}

#[test]
fn motor_turns_lead_back_to_the_joints_over_the_whole_range() {
    for drive in ankles() {
        for joints in grid() {
            returns(&drive, joints);
        }
    }
}

/// What a drive does in one pose.
fn bent_at(drive: &TwoRods, joints: [f64; 2]) -> BentPose {
    let pose = drive.pose_over(joints.map(Interval::point)).unwrap();
    pose.bent(&pose, [Interval::ZERO; 2])
}

#[test]
fn rates_and_second_rates_are_those_of_the_motor_turns() {
    let h = 1e-4;
    for drive in ankles() {
        for joints in [[0.2, -0.1], [-0.5, 0.2]] {
            let pose = drive.pose(joints).unwrap();
            let at =
                |dp: f64, dr: f64| drive.motor_turns([joints[0] + dp, joints[1] + dr]).unwrap();
            for k in [0, 1] {
                let by = |e: [f64; 2]| {
                    (at(h * e[0], h * e[1])[k] - at(-h * e[0], -h * e[1])[k]) / (2.0 * h)
                };
                let size = pose.jacobian[k][0].abs();
                assert!((by([1.0, 0.0]) - pose.jacobian[k][0]).abs() < 1e-6 * size);
                assert!((by([0.0, 1.0]) - pose.jacobian[k][1]).abs() < 1e-6 * size);
                let rate = |dp: f64, dr: f64, j: usize| {
                    drive.pose([joints[0] + dp, joints[1] + dr]).unwrap().jacobian[k][j]
                };
                let [pp, pr, rr] = bent_at(&drive, joints).second[k].map(Interval::mid);
                let second = [
                    (rate(h, 0.0, 0) - rate(-h, 0.0, 0), pp),
                    (rate(0.0, h, 0) - rate(0.0, -h, 0), pr),
                    (rate(h, 0.0, 1) - rate(-h, 0.0, 1), pr),
                    (rate(0.0, h, 1) - rate(0.0, -h, 1), rr),
                ];
                for (difference, ours) in second {
                    assert!((difference / (2.0 * h) - ours).abs() < 1e-6 * size, "{k} {second:?}");
                }
            }
        }
    }
}

#[test]
fn power_in_is_power_out_and_rod_forces_carry_it() {
    for drive in ankles() {
        for joints in grid() {
            let pose = drive.pose(joints).unwrap();
            let (torque, rate) = ([3.0, -1.7], nalgebra::Vector2::new(0.4, 1.1));
            let motors = pose.rates() * rate;
            let power_in = torque[0] * motors.x + torque[1] * motors.y;
            let [pitch, roll] = pose.joint_torques(torque);
            assert!(
                (power_in - (pitch * rate.x + roll * rate.y)).abs()
                    < 1e-12 * power_in.abs().max(1.0)
            );
            let (arms, own) = (pose.joint_arms(), pose.motor_arms());
            let by_rods =
                |j: usize| arms[0][j] * torque[0] / own[0] + arms[1][j] * torque[1] / own[1];
            assert!((by_rods(0) - pitch).abs() < 1e-10 * pitch.abs().max(1.0));
            assert!((by_rods(1) - roll).abs() < 1e-10 * roll.abs().max(1.0));
        }
    }
}

#[test]
fn a_mirrored_ankle_turns_its_right_motor_as_its_left_at_opposite_roll() {
    let left = crank_leg(
        [5.0, 30.0, 270.0],
        [0.0872, 0.9962, 0.0],
        [-40.0, 38.0, 265.0],
        [-48.0, 36.0, -12.0],
    );
    let line = actuator_leg([-50.0, 34.0, 220.0], [-44.0, 36.0, -12.0], 5.0);
    let nut = ankle_nuts_left();
    for leg in [left, line, nut] {
        let drive = on_ankle([0.0, 0.0, -8.0], [leg, leg.mirrored()]);
        for [p, r] in grid() {
            let [_, right] = drive.motor_turns([p, r]).unwrap();
            let [other, _] = drive.motor_turns([p, -r]).unwrap();
            assert!((right - other).abs() < 1e-12, "{p} {r}");
            let [_, row] = drive.pose([p, r]).unwrap().jacobian;
            let [mirrored, _] = drive.pose([p, -r]).unwrap().jacobian;
            let size = row[0].abs();
            assert!((row[0] - mirrored[0]).abs() < 1e-12 * size);
            assert!((row[1] + mirrored[1]).abs() < 1e-12 * size);
        }
    }
}

#[test]
fn roll_reads_as_pitch_by_the_law_of_the_foot_alone() {
    // E_pr ≈ (y/a)² roll tan(pitch), whatever the rods' lengths: within 10 % from 10 deg of pitch on, 0.008 elsewhere.
    for (a, y, rods) in [(45.0, 32.0, [280.0, 160.0]), (40.0, 20.0, [350.0, 250.0])] {
        let leg =
            |y: f64, z: f64| crank_leg([0.0, y, z], [0.0, 1.0, 0.0], [-a, y, z], [-a, y, 0.0]);
        let drive = on_ankle([0.0; 3], [leg(y, rods[0]), leg(-y, rods[1])]);
        let direct = Direct::zero_pose(&drive).unwrap();
        assert!(direct.rate_error_norm(&drive.pose([0.0; 2]).unwrap()) < 1e-15);
        for [p, r] in grid() {
            let error = direct.rate_error(&drive.pose([p, r]).unwrap()).m12;
            let law = (y / a) * (y / a) * r * libm::tan(p);
            let room = if p.abs() >= 10.0 * PER_DEG { 0.1 * law.abs() + 1e-12 } else { 0.008 };
            assert!((error - law).abs() <= room, "{p} {r}: {error} {law}");
        }
    }
}

#[test]
fn scale_changes_no_turn_and_no_rate() {
    let leg = |f: f64| {
        let left = crank_leg(
            [5.0 * f, 30.0 * f, 270.0 * f],
            [0.0872, 0.9962, 0.0],
            [-40.0 * f, 38.0 * f, 265.0 * f],
            [-48.0 * f, 36.0 * f, -12.0 * f],
        );
        on_ankle([0.0, 0.0, -8.0 * f], [left, left.mirrored()])
    };
    let (drive, scaled) = (leg(1.0), leg(7e-4));
    for joints in grid() {
        let (ours, theirs) = (drive.pose(joints).unwrap(), scaled.pose(joints).unwrap());
        for (row, other) in ours.jacobian.iter().zip(theirs.jacobian) {
            assert!((row[0] - other[0]).abs() + (row[1] - other[1]).abs() < 1e-12);
        }
        let (p, q) = (drive.motor_turns(joints).unwrap(), scaled.motor_turns(joints).unwrap());
        assert!((p[0] - q[0]).abs() + (p[1] - q[1]).abs() < 1e-12);
    }
}

#[test]
fn a_common_factor_on_all_lengths_leaves_every_rate_alone() {
    let factor = Jet::<1>::variable(0, Interval::point(1.0));
    let scaled = |v: [f64; 3]| vector(v).map(|x| Jet::constant(Interval::point(x)) * factor);
    let fixed = |v: [f64; 3]| vector(v).map(|x| Jet::<1>::constant(Interval::point(x)));
    let line = |point, along| Axis { point: scaled(point), direction: fixed(along) };
    let motor = line([5.0, 30.0, 270.0], [0.0872, 0.9962, 0.0]);
    let crank =
        Leg::crank(&motor, scaled([-40.0, 38.0, 265.0]), scaled([-48.0, 36.0, -12.0]), None);
    let lead = Jet::constant(Interval::point(5.0)) * factor;
    let none = Jet::constant(Interval::ZERO);
    let (pin, foot) = (scaled([-50.0, 34.0, 220.0]), scaled([-44.0, 36.0, -12.0]));
    for leg in [crank.unwrap(), Leg::actuator(pin, foot, [none, lead])] {
        let pitch = line([0.0; 3], [0.0, 1.0, 0.0]);
        let roll = line([0.0, 0.0, -8.0], [1.0, 0.0, 0.0]);
        let drive = RodsOnUniversal::new(pitch, roll, [leg, leg.mirrored()]).unwrap();
        let turn = |x: f64| Jet::<1>::constant(Interval::point(x)).sin_cos();
        let pose = drive.at([turn(0.3), turn(-0.2)]).unwrap();
        for rate in pose.jacobian.concat() {
            let size = rate.value.magnitude();
            assert!(size > 0.1 && rate.slopes[0].magnitude() < 1e-11 * size, "{rate:?}");
        }
        // An arm in mm grows as the factor.
        let arm = pose.joint_arms()[0][0];
        assert!((arm.slopes[0].mid() - arm.value.mid()).abs() < 1e-10 * arm.value.magnitude());
    }
}

#[test]
fn ranges_of_both_joints_hold_every_motor_turn_and_rate_in_them() {
    for drive in ankles() {
        for [p, r] in grid() {
            let (wide, high) = (Interval::new(p, p + 0.02), Interval::new(r, r + 0.015));
            let motors = drive.motors([wide, high]).unwrap();
            let over = drive.pose_over([wide, high]).unwrap();
            let middle = [wide, high].map(|turn| Interval::point(turn.mid()));
            let turned = [wide - middle[0], high - middle[1]];
            let bent = over.bent(&drive.pose_over(middle).unwrap(), turned);
            for share in [0.0, 0.3, 1.0] {
                let joints = [p + 0.02 * share, r + 0.015 * (1.0 - share)];
                let turns = drive.motor_turns(joints).unwrap();
                assert!(motors[0].contains(turns[0]) && motors[1].contains(turns[1]));
                let plain = drive.motors(joints).unwrap();
                assert!((plain[0] - turns[0]).abs() < 1e-13 * turns[0].abs().max(1.0));
                let pose = drive.pose(joints).unwrap();
                let held = |over: Interval, at: f64| over.contains(at);
                for k in [0, 1] {
                    assert!(held(over.motor_arms()[k], pose.motor_arms()[k]));
                    for j in [0, 1] {
                        assert!(held(over.jacobian[k][j], pose.jacobian[k][j]));
                        assert!(held(over.joint_arms()[k][j], pose.joint_arms()[k][j]));
                    }
                    let at = bent_at(&drive, joints);
                    let second = bent.second[k].into_iter().zip(at.second[k]);
                    let third = bent.third[k].into_iter().zip(at.third[k]);
                    for (range, at) in second.chain(third) {
                        assert!(held(range, at.mid()));
                    }
                    for (range, at) in bent.pose.jacobian[k].into_iter().zip(pose.jacobian[k]) {
                        assert!(held(range, at));
                    }
                }
            }
        }
    }
}

#[test]
fn what_a_rod_does_not_reach_is_told_with_the_missing_length() {
    let drive = ankle_a();
    let fault = drive.motor_turns([1.5, 0.9]).unwrap_err();
    let DriveFault::CannotReach { missing, .. } = fault else { panic!("{fault}") };
    assert!(missing.abs() > 0.1 && missing.abs() < 100.0, "{fault}");
    assert!(drive.joint_turns([2.5, -2.5]).is_err());
}

#[test]
fn margins_vanish_where_a_rod_meets_its_axis() {
    let drive = ankle_a();
    let zero = drive.pose([0.0; 2]).unwrap();
    assert!((zero.crank_side(0).unwrap() - 90.0 * PER_DEG).abs() < 1e-12);
    assert!((zero.joint_side(0) - 90.0 * PER_DEG).abs() < 1e-12);
    assert!((zero.smallest_arm() - 2_f64.sqrt() * 32.0).abs() < 1e-12);
    assert!(zero.crank_tilt(0).unwrap() < 1e-12);
    // Pitched until the feet stand above the rods' line, less and less arm is left.
    let arms = [0.0, 30.0, 60.0, 80.0].map(|pitch: f64| {
        drive.pose([-pitch * PER_DEG, 0.0]).map_or(0.0, |pose| pose.smallest_arm())
    });
    assert!(arms.windows(2).all(|pair| pair[1] < pair[0]), "{arms:?}");
}
