//! Drives of one joint against worked examples and exact values.

use std::f64::consts::TAU;

use unloop::drive::{
    Angular, Assembly, BallRod, BallRodPoints, Coaxial, FixedRatio, InputEnd, JointDrive,
    LinearActuator, OneJoint, RodDrive, Series, Slider, StopKind, Vector,
};

use unloop::numeric::{Interval, Jet};

use crate::known::{Case, axis, cases, vector};

fn ball_rod(case: &Case) -> BallRod {
    BallRod {
        ground: case.input("ground"),
        crank: case.input("crank"),
        coupler: case.input("coupler"),
        rocker: case.input("rocker"),
        axial: case.input("axial"),
        twist: case.angle("twist_deg"),
        lean: case.angle("lean_deg"),
    }
}

/// What the cases ask of one assembly at crank angle φ, which is its zero pose.
fn at_crank(drive: &RodDrive) -> [(&'static str, f64); 7] {
    let pose = drive.pose(0.0).unwrap();
    let [p, q] = pose.ball_tilts().map(|tilt| tilt.unwrap().to_degrees());
    [
        ("psi_deg", drive.zero_angles()[0].to_degrees()),
        ("transmission_ratio", pose.ratio),
        ("mu_deg", pose.transmission_angle().to_degrees()),
        ("ball_tilt_crank_deg", p),
        ("ball_tilt_rocker_deg", q),
        ("arm_joint_mm", pose.joint_arm()),
        ("arm_motor_mm", pose.motor_arm()),
    ]
}

fn with_angles(case: &Case) {
    let (drawing, phi) = (ball_rod(case), case.angle("phi_deg"));
    let open = drawing.drive(phi, Assembly::Open).unwrap();
    let crossed = drawing.drive(phi, Assembly::Crossed).unwrap();
    assert!((open.zero_angles()[1] - phi).abs() < 1e-13);
    let mut ours = at_crank(&open).to_vec();
    let other = at_crank(&crossed);
    let names = ["other_psi_deg", "other_transmission_ratio", "other_mu_deg"];
    ours.extend(names.into_iter().zip(other).map(|(name, (_, value))| (name, value)));
    ours.push(("velocity_ratio", 1.0 / open.pose(0.0).unwrap().ratio));
    let effective = (drawing.coupler.powi(2) - drawing.axial.powi(2)).sqrt();
    let planar = BallRod { coupler: effective, axial: 0.0, ..drawing };
    let planar = planar.drive(phi, Assembly::Open).unwrap().pose(0.0).unwrap();
    ours.push(("coupler_effective", effective));
    ours.push(("planar_velocity_ratio", 1.0 / planar.ratio));
    ours.push(("planar_mu_deg", planar.transmission_angle().to_degrees()));
    case.hold(&ours);
}

/// The published drive with axes at a large angle, by its points.
fn coelho(case: &Case) {
    let [a, b, c, d] = ["A", "B", "C", "D"].map(|key| case.input(key));
    let (sine, cosine) = libm::sincos(case.angle("theta_deg"));
    let motor = axis([0.0; 3], case.point("e1_prime"));
    let turn = libm::sincos(case.angle("alpha_deg"));
    let crank = (vector(case.point("A0_unit")) * a).turned(motor.unit().unwrap(), turn);
    let centre = vector(case.point("D_unit")) * d - Vector::new(c * sine, 0.0, 0.0);
    let lever = c * cosine;
    let joint = axis([centre.x, centre.y, centre.z], [1.0, 0.0, 0.0]);
    // The lever's pin follows from the crank's: the two places on its circle a rod away.
    let at = |psi: f64| centre + Vector::new(0.0, lever * libm::cos(psi), lever * libm::sin(psi));
    let short = |psi: f64| (at(psi) - crank).length() - b;
    let steps: Vec<f64> = unloop::numeric::evenly([-TAU / 2.0, TAU / 2.0], 720).collect();
    let found = steps.windows(2).filter(|ends| short(ends[0]) * short(ends[1]) < 0.0);
    let roots = found.map(|ends| unloop::numeric::roots::bracketed(short, ends[0], ends[1]));
    let drives = roots.map(|psi| {
        let points = BallRodPoints { motor, joint, crank, rocker: at(psi), rod: Some(b) };
        (psi, points.drive().unwrap())
    });
    let [mut open, mut other]: [(f64, RodDrive); 2] =
        drives.collect::<Vec<_>>().try_into().unwrap();
    if open.1.pose(0.0).unwrap().joint_arm() > 0.0 {
        std::mem::swap(&mut open, &mut other);
    }
    // Close to a dead point the crank's angle, which is given, keeps the digits: the same drive from its other end.
    let given = BallRodPoints {
        motor: joint,
        joint: motor,
        crank: at(open.0),
        rocker: crank,
        rod: Some(b),
    };
    let exchanged = given.drive().unwrap().pose(0.0).unwrap();
    case.hold(&[
        ("psi_rad", open.0),
        ("other_psi_rad", other.0),
        ("velocity_ratio", exchanged.ratio),
        ("transmission_ratio", 1.0 / exchanged.ratio),
        ("mu_deg", exchanged.crank_side().unwrap().to_degrees()),
        ("rod_force_per_motor_torque_per_mm", 1.0 / exchanged.joint_arm().abs()),
    ]);
    let pose = open.1.pose(0.0).unwrap();
    assert!((pose.ratio * exchanged.ratio - 1.0).abs() < 1e-11, "{}", pose.ratio);
}

/// All joint angles at which the joint stops, from x.
fn limits(case: &Case) {
    let drive = ball_rod(case).drive(1.0, Assembly::Open).unwrap();
    let (stops, zero) = (drive.stops(), drive.zero_angles()[0]);
    let end = |joint: f64| libm::remainder(joint + zero, TAU).to_degrees();
    let mut ends: Vec<f64> = stops.iter().map(|stop| end(stop.joint)).collect();
    ends.sort_by(f64::total_cmp);
    assert!(stops.iter().all(|stop| stop.kind == StopKind::DeadPoint), "the crank turns fully");
    assert_eq!(ends.len(), 4, "{ends:?}");
    let names = ["joint_ends_deg_0", "joint_ends_deg_1", "joint_ends_deg_2", "joint_ends_deg_3"];
    case.hold(&names.into_iter().zip(ends).collect::<Vec<_>>());
}

#[test]
fn rods_in_space_match_the_published_drive_and_every_exact_pose() {
    for case in cases("rssr") {
        match (case.has("A0_unit"), case.has("phi_deg")) {
            (true, _) => coelho(&case),
            (_, true) => with_angles(&case),
            _ => limits(&case),
        }
    }
}

#[test]
fn linear_actuators_match_every_exact_length_arm_and_turn() {
    for case in cases("telescope") {
        if !case.has("motor_pin") {
            largest_arm(&case);
            continue;
        }
        let actuator = LinearActuator {
            motor: vector(case.point("motor_pin")),
            joint: axis(case.point("joint"), case.point("axis")),
            rocker: vector(case.point("rocker_pin_zero")),
            line_offset: case.input("line_offset"),
            lead: case.input("lead_mm_per_turn"),
        };
        let drive = actuator.drive(None).unwrap();
        let joint = case.angle("joint_deg");
        let (zero, pose) = (drive.pose(0.0).unwrap(), drive.pose(joint).unwrap());
        let motion = drive.motion(joint).unwrap();
        let (length, length_zero) = (pose.travel().unwrap(), zero.travel().unwrap());
        case.hold(&[
            ("length_zero", length_zero),
            ("length", length),
            ("travel", length - length_zero),
            ("arm_mm_per_rad", motion.ratio * actuator.lead / TAU),
            ("motor_turn_rad", motion.motor),
            ("transmission_ratio", motion.ratio),
            ("mu_deg", pose.transmission_angle().to_degrees()),
        ]);
    }
}

fn largest_arm(case: &Case) {
    let lengths = [case.input("ground"), case.input("rocker"), 0.0, 5.0];
    let actuator = LinearActuator::planar(lengths, 1.0);
    let [negative, positive] = actuator.largest_arms().unwrap();
    let drive = actuator.drive(None).unwrap();
    let at = |joint: f64| drive.geometry().at(libm::sincos(joint)).unwrap();
    let arm = |joint: f64| at(joint).ratio * 5.0 / TAU;
    assert!((arm(positive.joint) - positive.arm).abs() < 1e-12 * positive.arm);
    assert!(at(negative.joint).slope.abs() < 1e-10);
    // The slope's own slope, as a value with its gradient.
    let jets = actuator.map(|x| Jet::<1>::constant(Interval::point(x))).geometry().unwrap();
    let turn = Jet::variable(0, Interval::point(negative.joint));
    let second = jets.at(turn.sin_cos()).unwrap().slope.slopes[0].mid() * 5.0 / TAU;
    case.hold(&[
        ("psi_deg", (negative.joint + 1.0).to_degrees()),
        ("arm_mm", arm(negative.joint)),
        ("second_derivative_over_arm", second / negative.arm),
    ]);
}

#[test]
fn sliders_match_every_exact_travel() {
    for case in cases("slide") {
        let slider = Slider {
            guide: vector(case.point("guide_point")),
            direction: vector(case.point("guide")),
            coupler: case.input("rod"),
            joint: axis(case.point("joint"), case.point("axis")),
            rocker: vector(case.point("rocker_pin_zero")),
            lead: TAU,
        };
        let drive = slider.drive(170.0).unwrap();
        let joint = case.angle("joint_deg");
        let (zero, pose) = (drive.pose(0.0).unwrap(), drive.pose(joint).unwrap());
        let along = pose.crank_side().unwrap();
        case.hold(&[
            ("x", pose.travel().unwrap()),
            ("x_zero", zero.travel().unwrap()),
            ("dx_dpsi_mm_per_rad", pose.ratio),
            ("mu_deg", pose.transmission_angle().to_degrees()),
            ("guide_pressure_angle_deg", 90.0 - along.to_degrees()),
        ]);
    }
}

#[test]
fn two_four_bars_in_series_multiply_their_ratios() {
    let stage = |lengths: [f64; 4], crank: f64| {
        let [ground, crank_length, coupler, rocker] = lengths;
        let drawing = BallRod {
            ground,
            crank: crank_length,
            coupler,
            rocker,
            axial: 0.0,
            twist: 0.0,
            lean: 0.0,
        };
        drawing.drive(crank, Assembly::Open).unwrap()
    };
    for case in cases("series") {
        // The first stage is the textbook's crank-rocker of `data/check-values.toml`, "norton-4-1".
        let first = stage([100.0, 40.0, 120.0, 80.0], 40_f64.to_radians());
        let middle = first.zero_angles()[0] + case.angle("stage2_crank_minus_stage1_rocker_deg");
        let lengths = ["ground", "crank", "coupler", "rocker"].map(|key| case.input(key));
        let second = stage(lengths, middle);
        let psi = second.zero_angles()[0];
        let series =
            Series(vec![JointDrive::Rod(Box::new(first)), JointDrive::Rod(Box::new(second))]);
        let JointDrive::Rod(first) = &series.0[0] else { panic!() };
        let JointDrive::Rod(second) = &series.0[1] else { panic!() };
        case.hold(&[
            ("stage2_psi_deg", psi.to_degrees()),
            ("ratio_1", first.motion(0.0).unwrap().ratio),
            ("ratio_2", second.motion(0.0).unwrap().ratio),
            ("ratio", series.motion(0.0).unwrap().ratio),
        ]);
    }
}

#[test]
fn a_knee_motor_at_the_hip_moves_and_loads_both_joints() {
    for case in cases("coaxial") {
        let knee = Coaxial(FixedRatio(1.0));
        let (hip, turn) = (case.angle("hip_deg"), case.angle("knee_deg"));
        let [first, second] = knee.motor_turns([hip, turn]).unwrap();
        let back = knee.joint_turns([first, second]).unwrap();
        assert!((back[0] - hip).abs() < 1e-15 && (back[1] - turn).abs() < 1e-15);
        let [[a, b], [c, d]] = knee.matrix(turn).unwrap();
        let torque = case.list("motor_torque").try_into().unwrap();
        let [on_hip, on_knee] = knee.joint_torques(turn, torque).unwrap();
        case.hold(&[
            ("motor_deg_0", first.to_degrees()),
            ("motor_deg_1", second.to_degrees()),
            ("T_0_0", a),
            ("T_0_1", b),
            ("T_1_0", c),
            ("T_1_1", d),
            ("joint_torque_0", on_hip),
            ("joint_torque_1", on_knee),
        ]);
    }
}

#[test]
fn a_drawing_by_points_is_the_drawing_by_figures() {
    let drawing = BallRod {
        ground: 0.3,
        crank: 0.045,
        coupler: 0.29,
        rocker: 0.052,
        axial: 0.012,
        twist: 0.1,
        lean: -0.06,
    };
    for assembly in Assembly::ALL {
        let drive = drawing.drive(1.4, assembly).unwrap();
        let pose = drive.pose(0.0).unwrap();
        let geometry = drive.geometry();
        let InputEnd::Crank { circle, .. } = geometry.input else { panic!() };
        // Any other points on the axes, and a frame of its own.
        let moved = |v: Vector| {
            v.turned(Vector::new(0.6, 0.0, 0.8), libm::sincos(0.7)) + Vector::new(0.2, -0.1, 0.4)
        };
        let line = |at: Vector, along: Vector| {
            let to = moved(at + along * 0.37);
            let ahead = moved(at + along) - moved(at);
            axis([to.x, to.y, to.z], [3.0 * ahead.x, 3.0 * ahead.y, 3.0 * ahead.z])
        };
        let points = BallRodPoints {
            motor: line(circle.centre, circle.axis),
            joint: line(geometry.joint.centre, geometry.joint.axis),
            crank: moved(pose.reached.pin),
            rocker: moved(pose.joint_pin),
            rod: None,
        };
        let (read, [phi, psi]) = points.drawing().unwrap();
        let pairs = [
            (read.ground, drawing.ground),
            (read.crank, drawing.crank),
            (read.coupler, drawing.coupler),
            (read.rocker, drawing.rocker),
            (read.axial, drawing.axial),
            (read.twist, drawing.twist),
            (read.lean, drawing.lean),
            (phi, 1.4),
            (psi, drive.zero_angles()[0]),
        ];
        assert!(pairs.iter().all(|(a, b)| (a - b).abs() < 1e-14), "{pairs:?}");
        let (ours, theirs) =
            (drive.motion(0.3).unwrap(), points.drive().unwrap().motion(0.3).unwrap());
        assert!((ours.motor - theirs.motor).abs() < 1e-13);
        assert!((ours.slope - theirs.slope).abs() < 1e-12);
    }
}
