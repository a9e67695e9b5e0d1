//! What the hand-over writes, says and refuses.

use crate::scenario;

use std::fs;
use std::path::Path;

use scenario::{Expected, Scenario, in_motor_units, options};
use serde_json::Value;
use unloop::design::{BodyInertia, Parameter, SpatialPivots};
use unloop::equivalence::Verdict;
use unloop::handover::{
    Ask, Emission, EmitFault, Format, LimitBasis, WriteFault, joint_json_path, write_files,
};

const FORMATS: [Format; 3] = [Format::Urdf, Format::Sdformat, Format::Mjcf];

fn emitted(scenario: &Scenario, options: &Ask) -> Emission {
    scenario.emit(options).unwrap_or_else(|faults| panic!("{}: {faults:?}", scenario.name))
}

fn only_fault(scenario: &Scenario, options: &Ask) -> EmitFault {
    let mut faults = scenario.emit(options).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults.remove(0)
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * b.abs().max(1.0)
}

fn assert_number(found: &Value, expected: Option<f64>, what: &str) {
    match expected {
        None => assert!(found.is_null(), "{what}: {found}"),
        Some(x) => assert!(close(found.as_f64().unwrap(), x), "{what}: {found}, expected {x}"),
    }
}

#[test]
fn the_json_holds_one_object_per_joint_with_the_figures_worked_out_by_hand() {
    for scenario in scenario::all() {
        let emission = emitted(&scenario, &options(Format::Sdformat, false));
        let json: Value = serde_json::from_str(&emission.joint_json).unwrap();
        let joints = json.as_array().unwrap();
        assert_eq!(joints.len(), scenario.expected.len());
        for (joint, expected) in joints.iter().zip(&scenario.expected) {
            assert_json(joint, expected);
        }
    }
}

fn assert_json(joint: &Value, e: &Expected) {
    assert_eq!(joint["schema"], "unloop/joint/1");
    assert_eq!(joint["joint"], e.joint);
    assert_eq!(joint["verdict"], "equivalent");
    assert_eq!(joint["basis"], "nominal");
    let set_by = joint["limit_set_by"].as_array().unwrap();
    assert_eq!(set_by, &e.limit_set_by);
    for (side, limit) in e.limit.into_iter().enumerate() {
        assert_number(&joint["limit_rad"][side], Some(limit), "limit");
    }
    assert_number(&joint["torque_n_m"]["guaranteed"], e.effort, "torque");
    assert_number(&joint["speed_rad_per_s"]["guaranteed"], e.velocity, "speed");
    assert_number(&joint["armature_kg_m2"]["plain"], e.armature, "armature");
    assert!(joint["armature_kg_m2"]["split"].is_null());
    assert_number(&joint["damping_n_m_s_per_rad"], e.damping, "damping");
    assert_number(&joint["friction_n_m"], e.friction, "friction");
    assert_number(&joint["gains"]["position_n_m_per_rad"], e.position_gain, "position gain");
    assert_number(&joint["gains"]["velocity_n_m_s_per_rad"], e.velocity_gain, "velocity gain");
    let [ratio, sign] = ["ratio", "motor_sign"].map(|key| joint[key].as_f64().unwrap());
    assert!(close(ratio * sign, e.gear));
    assert_number(&joint["joint_reads_rad"], Some(e.zero), "joint_reads");
    let motor = joint["motor_reads_rad"].as_f64().unwrap();
    let offset = joint["offset_rad"].as_f64().unwrap();
    assert!(close(motor + ratio * sign * (0.0 - offset), e.motor_at_zero));
}

#[test]
fn the_json_names_every_field_of_the_contract() {
    let emission = emitted(&scenario::pitch(), &options(Format::Urdf, false));
    let json: Value = serde_json::from_str(&emission.joint_json).unwrap();
    let keys = "schema joint verdict basis ratio offset_rad motor_sign motor_reads_rad joint_reads_rad \
        limit_rad limit_set_by torque_n_m speed_rad_per_s armature_kg_m2 damping_n_m_s_per_rad \
        friction_n_m gains inertia_error over_stroke assumptions";
    for key in keys.split_whitespace() {
        assert!(json[0].get(key).is_some(), "{key}");
    }
    let row = json[0]["over_stroke"][0].as_object().unwrap();
    for key in
        ["joint_rad", "motor_rad", "ratio", "torque_n_m", "speed_rad_per_s", "armature_kg_m2"]
    {
        assert!(row.contains_key(key), "{key}");
    }
}

#[test]
fn the_table_over_the_stroke_is_in_readings_and_rises_with_the_joint() {
    let scenario = scenario::mirrored_roll();
    let emission = emitted(&scenario, &options(Format::Mjcf, false));
    let rows = &emission.joints[0].over_stroke;
    let limit = scenario.expected[0].limit;
    assert!(close(rows[0].joint_rad, limit[0]) && close(rows[4].joint_rad, limit[1]));
    assert!(rows.windows(2).all(|w| w[0].joint_rad < w[1].joint_rad));
    // motor sign −1 and mirrored: the motor's reading is 0.3 + turn, the largest joint turn reads lowest
    assert!(close(rows[0].motor_rad, 0.3 + 45.0_f64.to_radians()));
    assert!(close(rows[0].torque_n_m.unwrap(), 90.0));
    assert!(close(rows[0].speed_rad_per_s.unwrap(), 20.0 / 1.5));
}

#[test]
fn a_row_at_a_dead_point_holds_null_and_not_infinity() {
    let mut scenario = scenario::pitch();
    scenario.through = [0.0, 0.0];
    let emission = emitted(&scenario, &options(Format::Mjcf, false));
    let row = emission.joints[0].over_stroke[0];
    assert_eq!((row.ratio, row.torque_n_m, row.armature_kg_m2), (None, None, None));
    assert!(emission.joint_json.contains("\"ratio\": null"));
}

#[test]
fn never_exceed_takes_the_largest_ratio_for_torque_and_the_smallest_for_speed() {
    let scenario = scenario::mirrored_roll();
    let options = Ask { limits: LimitBasis::NeverExceed, ..options(Format::Urdf, false) };
    let file = emitted(&scenario, &options).file;
    let text = format!("effort=\"{}\" velocity=\"{}\"", 60.0 * 1.52, 20.0 / 1.48);
    assert!(file.contains(&text), "{file}");
    assert!(file.contains("guaranteed: 88.8 N m"), "{file}");
    assert!(file.contains("the motor does not reach these two limits"), "{file}");
}

/// Comments are wrapped: every run of white space as one blank.
fn in_one_line(file: &str) -> String {
    file.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_relation_of_the_readings_leaves_out_what_changes_nothing() {
    let formula = |scenario: &Scenario| {
        let file = emitted(scenario, &options(Format::Sdformat, false)).file;
        let line = file.lines().find(|line| line.contains("motor reading =")).unwrap();
        line.trim().to_owned()
    };
    let mut pitch = scenario::pitch();
    assert_eq!(formula(&pitch), "motor reading = joint reading, in rad");
    pitch.robot().motor_sign = -1.0;
    assert_eq!(formula(&pitch), "motor reading = -1 * joint reading, in rad");
    pitch.design.joint_reads = -0.25;
    assert_eq!(formula(&pitch), "motor reading = -1 * (joint reading + 0.25), in rad");
}

#[test]
fn every_file_says_from_which_design_which_relation_and_which_limits() {
    for format in FORMATS {
        for whole in [false, true] {
            let file = emitted(&scenario::negative_oblique(), &options(format, whole)).file;
            for text in [
                "From the design \"knee\" (knee.toml)",
                "motor reading = 0.2 + 2 * (joint reading - 0.1 - 0.01), in rad",
                "from the stroke; upper",
                "from the motor stop, through the linkage",
                "computed, not proved",
                "Ratio -2 motor turns per joint turn",
                "It loses the coupling n J",
            ] {
                let file = in_one_line(&file);
                assert!(file.contains(text), "{format:?} {whole}: {text}\n{file}");
            }
        }
    }
}

#[test]
fn every_file_is_well_formed_and_a_snippet_is_a_well_formed_fragment() {
    for scenario in scenario::all() {
        for format in [Format::Sdformat, Format::Mjcf] {
            for whole in [false, true] {
                let file = emitted(&scenario, &in_motor_units(format, whole)).file;
                assert_eq!(file.starts_with("<?xml"), whole);
                let text = if whole { file } else { format!("<fragment>{file}</fragment>") };
                assert!(roxmltree::Document::parse(&text).is_ok(), "{text}");
            }
        }
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for format in FORMATS {
        let [a, b] = [0, 1].map(|_| emitted(&scenario::yaw_pair(), &options(format, true)));
        assert_eq!(a, b);
    }
}

#[test]
fn an_mjcf_snippet_says_that_it_is_in_radians_and_gives_the_degrees() {
    let emission = emitted(&scenario::pitch(), &options(Format::Mjcf, false));
    assert!(emission.file.contains("IN RADIANS"));
    assert!(emission.file.contains("compiler angle is degree: range=\"-35 40\""));
    assert!(emission.notes.iter().any(|n| n.contains("radians")));
}

#[test]
fn a_motor_without_gains_is_driven_by_torque() {
    let mut scenario = scenario::mirrored_roll();
    scenario.actuator().position_gain = None;
    let file = emitted(&scenario, &in_motor_units(Format::Mjcf, false)).file;
    let document = format!("<f>{file}</f>");
    let document = roxmltree::Document::parse(&document).unwrap();
    let motor = document.descendants().find(|n| n.has_tag_name("motor")).unwrap();
    assert_eq!(motor.attribute("gear"), Some("-1.5"));
    // guaranteed joint torque 60 · 1.48, before a gear of 1.5
    let largest = 60.0 * 1.48 / 1.5;
    let expected = format!("{} {largest}", -largest);
    assert_eq!(motor.attribute("forcerange"), Some(expected.as_str()));
    assert_eq!(motor.attribute("ctrlrange"), Some(expected.as_str()));
}

#[test]
fn what_is_not_known_is_left_out_and_said() {
    let scenario = scenario::without_a_motor();
    let sdf = emitted(&scenario, &options(Format::Sdformat, true));
    assert!(!sdf.file.contains("<effort>") && !sdf.file.contains("<velocity>"));
    assert!(!sdf.file.contains("<dynamics"));
    assert!(sdf.file.contains("needs [actuator] peak_torque"));
    let mjcf = emitted(&scenario, &options(Format::Mjcf, true));
    assert!(!mjcf.file.contains("forcerange") && !mjcf.file.contains("armature="));
    assert!(mjcf.notes.iter().any(|n| n.contains("max_speed")));
}

#[test]
fn urdf_needs_effort_and_velocity_and_both_keys_are_named() {
    let faults = scenario::without_a_motor().emit(&options(Format::Urdf, false)).unwrap_err();
    let text: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert_eq!(text.len(), 2);
    assert!(text[0].starts_with("[actuator] peak_torque is missing: URDF requires"));
    assert!(text[1].starts_with("[actuator] max_speed is missing: URDF requires"));
    assert!(faults[0].help().contains("peak_torque = "));
    assert!(!faults[0].is_refusal());
}

#[test]
fn urdf_refuses_a_limit_without_a_bound() {
    let mut scenario = scenario::pitch();
    scenario.check.ratio_magnitude = [0.5, f64::INFINITY];
    let fault = only_fault(&scenario, &options(Format::Urdf, false));
    assert!(fault.to_string().contains("no bound over the stroke"), "{fault}");
    let file = emitted(&scenario, &options(Format::Mjcf, false)).file;
    assert!(file.contains("Velocity limit without bound"), "{file}");
}

#[test]
fn a_verdict_other_than_equivalent_is_refused_with_its_reason() {
    for verdict in [Verdict::NotEquivalent, Verdict::Undecided] {
        let mut scenario = scenario::pitch();
        scenario.check.verdict = verdict;
        scenario.check.reason = "the ratio errs by 3 %".into();
        let fault = only_fault(&scenario, &options(Format::Mjcf, false));
        assert!(fault.is_refusal());
        assert!(fault.to_string().contains("the ratio errs by 3 %"));
        let anyway = Ask { anyway: true, ..options(Format::Mjcf, false) };
        let emission = emitted(&scenario, &anyway);
        assert!(emission.file.contains("NOT EQUIVALENT"));
        assert_ne!(emission.joints[0].verdict, "equivalent");
    }
}

#[test]
fn what_is_missing_comes_before_the_verdict() {
    let mut scenario = scenario::pitch();
    scenario.design.robots.clear();
    scenario.check.verdict = Verdict::NotEquivalent;
    let faults = scenario.emit(&options(Format::Mjcf, false)).unwrap_err();
    assert!(faults[0].to_string().starts_with("[[robot]] is missing"));
    assert!(faults[1].is_refusal());
}

#[test]
fn a_whole_model_needs_both_masses_and_names_them() {
    let mut scenario = scenario::pitch();
    (scenario.design.mass.child, scenario.design.mass.carrier) = (None, None);
    let faults = scenario.emit(&options(Format::Urdf, true)).unwrap_err();
    let text: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert!(text[0].starts_with("[mass.carrier] is missing"), "{text:?}");
    assert!(text[1].starts_with("[mass.child] is missing"), "{text:?}");
    assert!(scenario.emit(&options(Format::Urdf, false)).is_ok());
}

#[test]
fn a_whole_model_needs_six_figures_of_inertia_of_a_body_that_can_be() {
    let mut scenario = scenario::pitch();
    scenario.design.mass.child.as_mut().unwrap().inertia = BodyInertia::AboutAxis(1e-3);
    let fault = only_fault(&scenario, &options(Format::Mjcf, true));
    assert!(fault.to_string().starts_with("[mass.child] inertia cannot be used"), "{fault}");
    let impossible = BodyInertia::Tensor([1.0, 1.0, 3.0, 0.0, 0.0, 0.0]);
    scenario.design.mass.child.as_mut().unwrap().inertia = impossible;
    let fault = only_fault(&scenario, &options(Format::Mjcf, true));
    assert!(fault.to_string().contains("no body has these moments"), "{fault}");
}

#[test]
fn figures_in_the_drawings_frame_need_the_motors_place() {
    let mut scenario = scenario::pitch();
    scenario.robot().motor_at = None;
    let fault = only_fault(&scenario, &options(Format::Mjcf, true));
    assert!(fault.to_string().starts_with("[[robot]] motor_at is missing"), "{fault}");
    assert!(scenario.emit(&options(Format::Mjcf, false)).is_ok());
}

#[test]
fn pins_in_three_coordinates_place_the_drawings_frame_as_well() {
    let mut scenario = scenario::pitch();
    let by_motor = emitted(&scenario, &options(Format::Mjcf, true)).file;
    scenario.robot().motor_at = None;
    // The motor stands 20 mm aside along the axis, which must not matter.
    scenario.design.geometry.pivots = Some(SpatialPivots {
        axis: [0.0, 1.0, 0.0],
        motor: [0.0, 0.02, 0.0],
        joint: [0.0, 0.0, -0.3],
        crank: [-0.045, 0.0, 0.0],
        rocker: [-0.045, 0.0, -0.3],
        axial_offsets: [0.02, 0.0, 0.0],
    });
    assert_eq!(emitted(&scenario, &options(Format::Mjcf, true)).file, by_motor);
}

#[test]
fn stops_beyond_the_stroke_change_nothing_and_stops_outside_it_are_a_fault() {
    let mut scenario = scenario::pitch();
    scenario.actuator().stops = Some([-2.0, 2.0]);
    let emission = emitted(&scenario, &options(Format::Urdf, false));
    assert_eq!(emission.joints[0].limit_set_by, ["stroke", "stroke"]);
    scenario.actuator().stops = Some([1.0, 2.0]);
    let fault = only_fault(&scenario, &options(Format::Urdf, false));
    assert_eq!(fault.parameter(), Some(Parameter::Stops));
}

#[test]
fn names_that_clash_are_a_fault_at_their_table() {
    let mut scenario = scenario::yaw_pair();
    scenario.design.robots[1].joint = "left_yaw".into();
    let fault = only_fault(&scenario, &options(Format::Urdf, false));
    assert_eq!(fault.parameter(), Some(Parameter::Robot(1)));
    let mut scenario = scenario::pitch();
    scenario.robot().parent = "world".into();
    let fault = only_fault(&scenario, &options(Format::Urdf, true));
    assert_eq!(fault.parameter(), Some(Parameter::Robot(0)));
    assert!(scenario.emit(&options(Format::Urdf, false)).is_ok());
    scenario.robot().parent = "a\nb".into();
    assert!(scenario.emit(&options(Format::Urdf, false)).is_err());
}

fn text() -> Emission {
    emitted(&scenario::pitch(), &options(Format::Urdf, false))
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<_> =
        entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn both_files_are_written_side_by_side() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("ankle.urdf");
    let written = write_files(&text(), &target, false, &mut Vec::new()).unwrap();
    assert_eq!(written.files, [target.clone(), joint_json_path(&target)]);
    assert_eq!(names_in(folder.path()), ["ankle.joint.json", "ankle.urdf"]);
    assert_eq!(fs::read_to_string(&target).unwrap(), text().file);
}

#[test]
fn an_existing_file_of_the_two_keeps_both_from_being_written() {
    for existing in ["ankle.urdf", "ankle.joint.json"] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(existing), "mine").unwrap();
        let target = folder.path().join("ankle.urdf");
        let fault = write_files(&text(), &target, false, &mut Vec::new()).unwrap_err();
        assert!(matches!(fault, WriteFault::Exists(_)), "{fault}");
        assert!(fault.to_string().contains("--force"));
        assert_eq!(names_in(folder.path()), [existing]);
        assert_eq!(fs::read_to_string(folder.path().join(existing)).unwrap(), "mine");
        write_files(&text(), &target, true, &mut Vec::new()).unwrap();
        assert_eq!(fs::read_to_string(&target).unwrap(), text().file);
    }
}

#[test]
fn a_folder_in_the_way_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let fault = write_files(&text(), folder.path(), true, &mut Vec::new()).unwrap_err();
    assert!(matches!(fault, WriteFault::NotAFile(_)), "{fault}");
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("none/ankle.urdf");
    let fault = write_files(&text(), &target, false, &mut Vec::new()).unwrap_err();
    assert!(fault.to_string().contains("ankle.urdf cannot be written"), "{fault}");
}

#[test]
fn a_dash_is_standard_output_and_the_json_is_not_written() {
    let mut out = Vec::new();
    let written = write_files(&text(), Path::new("-"), false, &mut out).unwrap();
    assert_eq!(out, text().file.as_bytes());
    assert!(written.files.is_empty() && written.notes[0].contains("joint.json"));
}

#[cfg(unix)]
#[test]
fn what_is_written_is_as_readable_as_any_new_file() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("ankle.urdf");
    write_files(&text(), &target, false, &mut Vec::new()).unwrap();
    let plain = folder.path().join("plain");
    fs::write(&plain, "").unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode();
    assert_eq!(mode(&target), mode(&plain));
}
