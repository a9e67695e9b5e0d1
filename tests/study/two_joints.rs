//! What is said of designs with two motors and two rods.

use unloop::design::{AnyDesign, TwoJointDesign, parse_any};
use unloop::equivalence::{Criterion, Outcome, Verdict};
use unloop::handover::{Ask, Form, Format, emit_design_of_two_joints};
use unloop::study::{
    Depth, RegionCheck, RegionRow, TwoMotors, check_two_joints, loads_of_two_joints, region_rows,
};

fn design(text: &str) -> TwoJointDesign {
    match parse_any("ankle.toml", text).unwrap_or_else(|rejected| panic!("{rejected}")).0 {
        AnyDesign::TwoJoints(design) => *design,
        other => panic!("{:?}", other.kind()),
    }
}

fn model(name: &str) -> String {
    std::fs::read_to_string(format!("models/drives/{name}.toml")).unwrap()
}

fn check(text: &str) -> RegionCheck {
    check_two_joints(&design(text), Depth::Whole).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn rows(text: &str, counts: [u32; 2]) -> Vec<RegionRow> {
    let design = design(text);
    let motors = TwoMotors::of(&design).unwrap_or_else(|faults| panic!("{faults:?}"));
    region_rows(&design, &motors, counts).collect()
}

/// The layout whose figures stand in `tests/data/check-values-drives.toml` as ankle-A: rods square to the arms, parallel cranks.
fn parallel(stroke: &str, more: &str) -> String {
    format!(
        "name = \"a\"\n[drive]\nkind = \"two_rods\"\n\
         [joint.pitch]\npoint = [\"0 mm\", \"0 mm\", \"0 mm\"]\naxis = [0, 1, 0]\n\
         [joint.roll]\npoint = [\"0 mm\", \"0 mm\", \"0 mm\"]\naxis = [1, 0, 0]\n\
         [motor.left]\npoint = [\"0 mm\", \"32 mm\", \"280 mm\"]\naxis = [0, 1, 0]\n\
         crank = [\"-45 mm\", \"32 mm\", \"280 mm\"]\nfoot = [\"-45 mm\", \"32 mm\", \"0 mm\"]\n\
         [motor.right]\npoint = [\"0 mm\", \"-32 mm\", \"160 mm\"]\naxis = [0, 1, 0]\n\
         crank = [\"-45 mm\", \"-32 mm\", \"160 mm\"]\nfoot = [\"-45 mm\", \"-32 mm\", \"0 mm\"]\n\
         [stroke]\n{stroke}\n[direct_joint]\nmatrix = \"zero pose\"\n{more}"
    )
}

const WIDE: &str = "pitch = [\"-35 deg\", \"25 deg\"]\nroll = [\"-15 deg\", \"15 deg\"]";

#[test]
fn a_walking_robots_whole_ankle_range_is_refused_by_the_known_rate_and_angle_error() {
    // Case ankle-A-verdict--35-15 of the check values.
    let found = check(&parallel(WIDE, ""));
    assert_eq!(found.verdict, Verdict::NotEquivalent);
    assert!((found.rate_error.drawn.norm - 0.105_103_448_484).abs() < 1e-9, "{found:?}");
    assert!((found.angle_error_rad[0].to_degrees() - 0.722_395_239_768).abs() < 1e-6);
    let ratio = found.criterion(Criterion::Ratio).unwrap();
    assert_eq!(ratio.outcome, Outcome::Fails);
    let worst = ratio.worst_at_joints.unwrap().map(f64::to_degrees);
    assert!((worst[0] + 35.0).abs() < 0.01 && (worst[1].abs() - 15.0).abs() < 0.01, "{worst:?}");
    assert!(found.reason.contains("10.51 %"), "{}", found.reason);
}

#[test]
fn the_part_that_would_pass_is_told_and_passes() {
    let stroke = "pitch = [\"-20 deg\", \"20 deg\"]\nroll = [\"-15 deg\", \"15 deg\"]";
    let found = check(&parallel(stroke, ""));
    assert_eq!(found.verdict, Verdict::NotEquivalent);
    let part = found.largest_region.unwrap().roll_shortened.unwrap();
    let [from, to] = part.roll.map(f64::to_degrees);
    assert!(to > 5.5 && to < 6.2 && (from + to).abs() < 1e-9, "{part:?}");
    let stroke = format!(
        "pitch = [\"-20 deg\", \"20 deg\"]\nroll = [\"{} rad\", \"{} rad\"]",
        part.roll[0], part.roll[1]
    );
    assert_eq!(check(&parallel(&stroke, "")).verdict, Verdict::Equivalent);
}

#[test]
fn the_table_has_the_known_angles_rates_and_arms() {
    // Case ankle-A-25-15 of the check values: the corner of the region.
    let rows = rows(&parallel(WIDE, ""), [2, 2]);
    let at = rows.iter().find(|r| r.joints[0] > 0.0 && r.joints[1] > 0.0).unwrap();
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    close(at.motors[0].to_degrees(), 36.110_326_661_32);
    close(at.motors[1].to_degrees(), 14.814_375_511_3);
    close(at.jacobian[0][0], 1.025_488_862_587);
    close(at.jacobian[1][1], -0.645_858_385_546_9);
    close(1e3 * at.arms[0][0], -37.371_140_491_22);
    close(at.crank_side[1].unwrap().to_degrees(), 75.459_781_162_7);
}

#[test]
fn readings_of_the_zero_pose_shift_the_region_and_leave_the_verdict_alone() {
    let more =
        "[zero]\nmotor_reads = [\"10 deg\", \"-5 deg\"]\njoint_reads = [\"3 deg\", \"-2 deg\"]\n";
    let shifted = "pitch = [\"-32 deg\", \"28 deg\"]\nroll = [\"-17 deg\", \"13 deg\"]";
    let (drawn, read) = (check(&parallel(WIDE, "")), check(&parallel(shifted, more)));
    assert!((drawn.rate_error.drawn.norm - read.rate_error.drawn.norm).abs() < 1e-9);
    let of = |text: &str| rows(text, [2, 2]).remove(3);
    let (one, two) = (of(&parallel(WIDE, "")), of(&parallel(shifted, more)));
    assert!((two.joint_readings[0] - one.joints[0] - 3_f64.to_radians()).abs() < 1e-12);
    assert!((two.motor_readings[1] - one.motors[1] + 5_f64.to_radians()).abs() < 1e-12);
}

#[test]
fn the_models_say_what_their_heads_promise() {
    let parallel = check(&model("ankle_parallel"));
    assert_eq!(parallel.verdict, Verdict::Equivalent, "{}", parallel.reason);
    assert!(parallel.criteria.iter().all(|c| c.outcome == Outcome::Holds));
    for name in ["ankle_toed_in", "ankle_actuators"] {
        let found = check(&model(name));
        assert_eq!(found.verdict, Verdict::NotEquivalent, "{name}");
        assert!(found.witness.is_some(), "{name}");
    }
}

#[test]
fn a_rod_that_does_not_reach_is_told_with_its_motor_and_what_is_missing() {
    let far = "pitch = [\"-100 deg\", \"25 deg\"]\nroll = [\"-15 deg\", \"15 deg\"]";
    let faults = check_two_joints(&design(&parallel(far, "")), Depth::Verdict).unwrap_err();
    let told = faults[0].to_string();
    assert!(told.contains("pitch -100.0 deg") && told.contains("narrow the stroke"), "{told}");
}

#[test]
fn an_actuator_that_is_too_long_for_its_housing_is_refused() {
    let text = model("ankle_actuators").replace("\"270 mm\"", "\"250 mm\"");
    let faults = check_two_joints(&design(&text), Depth::Verdict).unwrap_err();
    let told = faults[0].to_string();
    assert!(told.contains("the actuator left does not reach") && told.contains("250 mm"), "{told}");
}

#[test]
fn rods_bear_the_torque_over_their_arm_about_the_motor() {
    let design = design(&model("ankle_parallel"));
    let found = loads_of_two_joints(&design).unwrap();
    let duty = found.peak.unwrap();
    for rod in &duty.rods {
        assert!((rod.force_n * rod.smallest_arm_m - 60.0).abs() < 1e-6, "{rod:?}");
        assert!(rod.buckling_margin.unwrap() > 1.0);
    }
    // Twice as long between pins: a quarter of the load, Euler.
    let [left, right] = duty.rods.map(|rod| rod.buckling_margin.unwrap());
    assert!((left * (280.0_f64 / 160.0).powi(2) - right).abs() < 0.05 * right, "{left} {right}");
}

#[test]
fn joints_that_do_not_stand_in_are_not_written_and_those_that_do_are() {
    for (name, stands) in [("ankle_parallel", true), ("ankle_toed_in", false)] {
        let design = design(&model(name));
        let motors = TwoMotors::of(&design).unwrap();
        let check = check_two_joints(&design, Depth::Verdict).unwrap();
        for format in [Format::Urdf, Format::Sdformat, Format::Mjcf] {
            let ask = Ask::new(Form::Direct, format);
            let made = emit_design_of_two_joints(&design, &motors, &check, ask);
            assert_eq!(made.is_ok(), stands, "{name} {format:?}");
        }
    }
}
