//! The program as a user and a script meet it: arguments, streams, exit status, JSON, files.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::command::{PROGRAM, errors, output, run, unloop};
use assert_cmd::assert::Assert;
use serde_json::{Value, json};
use tempfile::TempDir;

fn json_of(arguments: &[&str]) -> Value {
    serde_json::from_str(&output(&run(arguments))).unwrap()
}

const EQUIVALENT: &str = "models/ankle.toml";
const NOT_EQUIVALENT: &str = "models/knee_offset.toml";
const WRONG: &str = "models/bad/decimal_comma.toml";

/// A design whose angle limit is missed by just what still counts as met, so that no effort decides it.
fn undecided(folder: &TempDir) -> String {
    let text = fs::read_to_string("models/knee_halving.toml").unwrap();
    let found = json_of(&["check", "--json", "models/knee_halving.toml"]);
    let reached = found["criteria"][0]["nominal"].as_f64().unwrap();
    let limit = format!("[accept]\nangle = \"{:?} rad\"\n", reached - 1e-9);
    write(folder, "undecided.toml", text.replace("[accept]\n", &limit).as_bytes())
}

fn write(folder: &TempDir, name: &str, bytes: &[u8]) -> String {
    let path = folder.path().join(name);
    fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_owned()
}

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

fn path_in(folder: &TempDir, name: &str) -> PathBuf {
    folder.path().join(name)
}

/// A parallelogram with its lengths in metres.
fn parallelogram(long: &str, short: &str) -> String {
    format!(
        "name = \"sized\"\n[linkage]\nground = \"{long} m\"\ncrank = \"{short} m\"\ncoupler = \"{long} m\"\n\
         rocker = \"{short} m\"\n[zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n\
         [stroke]\nmotor = [\"-20 deg\", \"20 deg\"]\n"
    )
}

// Exit status

#[test]
fn an_equivalent_design_answers_0() {
    let assert = run(&["check", EQUIVALENT]).code(0);
    assert!(output(&assert).starts_with("ankle_pitch: EQUIVALENT"));
    assert_eq!(errors(&assert), "");
}

#[test]
fn a_design_that_is_not_equivalent_answers_1() {
    let assert = run(&["check", NOT_EQUIVALENT]).code(1);
    assert!(output(&assert).starts_with("knee_offset: NOT EQUIVALENT"));
}

#[test]
fn a_faulty_design_answers_2_and_shows_its_faults_on_standard_error() {
    let assert = run(&["check", WRONG]).code(2);
    assert_eq!(output(&assert), "");
    assert!(errors(&assert).starts_with("error: "));
}

#[test]
fn an_undecided_design_answers_3() {
    let folder = folder();
    let assert = run(&["check", &undecided(&folder)]).code(3);
    assert!(output(&assert).starts_with("knee_halving: UNDECIDED"));
}

#[test]
fn of_several_designs_2_comes_before_1_before_3_before_0() {
    let folder = folder();
    let open = undecided(&folder);
    let cases: [(&[&str], i32); 5] = [
        (&[EQUIVALENT, EQUIVALENT], 0),
        (&[EQUIVALENT, &open, EQUIVALENT], 3),
        (&[&open, NOT_EQUIVALENT, EQUIVALENT], 1),
        (&[WRONG, NOT_EQUIVALENT, &open, EQUIVALENT], 2),
        (&[NOT_EQUIVALENT, "models/no_such_file.toml"], 2),
    ];
    for (designs, status) in cases {
        let arguments: Vec<&str> = ["check"].iter().chain(designs).copied().collect();
        run(&arguments).code(status);
    }
}

#[test]
fn a_table_or_a_study_answers_0_whatever_it_shows() {
    run(&["stroke", NOT_EQUIVALENT]).code(0);
    run(&["tolerance", "models/ankle_toleranced.toml", "--samples", "1000"]).code(0);
}

#[test]
fn a_wrong_call_answers_2_and_help_answers_0() {
    for wrong in [&[][..], &["check"], &["chek", EQUIVALENT], &["check", "--jsn", EQUIVALENT]] {
        assert!(!errors(&run(wrong).code(2)).is_empty(), "{wrong:?}");
    }
    let help = ["--help", "--version"].map(|option| vec![option]);
    let of_commands = ["check", "stroke", "emit"].map(|command| vec![command, "--help"]);
    for arguments in help.iter().chain(&of_commands) {
        assert!(!output(&run(arguments).code(0)).is_empty(), "{arguments:?}");
    }
}

// Streams

#[test]
fn a_dash_is_standard_input() {
    let text = fs::read_to_string(EQUIVALENT).unwrap();
    let piped = output(&unloop(&["check", "-"]).write_stdin(text).assert().code(0));
    assert_eq!(piped, output(&run(&["check", EQUIVALENT])));
}

#[test]
fn a_closed_pipe_is_no_error() {
    let mut child = Command::new(PROGRAM)
        .args(["stroke", "--csv", "--steps", "100000", EQUIVALENT])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(output.stderr, b"");
}

#[test]
fn what_is_piped_is_plain_text() {
    for arguments in [&["check", NOT_EQUIVALENT][..], &["stroke", EQUIVALENT], &["check", WRONG]] {
        let assert = run(arguments);
        assert!(!output(&assert).contains('\u{1b}') && !errors(&assert).contains('\u{1b}'));
    }
}

/// What the program writes to a terminal, by Python's pty module.
#[cfg(unix)]
fn in_a_terminal(variable: (&str, &str)) -> String {
    let script = "import pty, sys; pty.spawn(sys.argv[1:])";
    let output = Command::new("python3")
        .args(["-c", script, PROGRAM, "check", EQUIVALENT])
        .envs([("TERM", "xterm"), ("LC_ALL", "C.UTF-8"), variable])
        .output()
        .unwrap_or_else(|e| panic!("this test needs python3: {e}"));
    String::from_utf8(output.stdout).unwrap()
}

#[cfg(unix)]
#[test]
fn a_terminal_gets_colours_unless_no_color_is_set() {
    assert!(in_a_terminal(("NO_COLOR", "")).contains("\u{1b}["));
    assert!(!in_a_terminal(("NO_COLOR", "1")).contains('\u{1b}'));
    assert!(!in_a_terminal(("TERM", "dumb")).contains('\u{1b}'));
}

#[test]
fn where_only_ascii_is_understood_only_ascii_is_written() {
    for design in designs() {
        for command in ["check", "stroke", "tolerance"] {
            let assert = unloop(&[command, &design]).env("LC_ALL", "C").assert();
            assert!(output(&assert).is_ascii(), "{command} {design}:\n{}", output(&assert));
        }
    }
}

#[test]
fn no_line_is_wider_than_a_page() {
    for design in designs() {
        let text = output(&run(&["check", &design]));
        let long: Vec<&str> = text.lines().skip(1).filter(|l| l.chars().count() > 100).collect();
        assert!(long.is_empty(), "{design}: {long:?}");
    }
}

fn designs() -> Vec<String> {
    let entries = fs::read_dir("models").unwrap().map(|entry| entry.unwrap().path());
    let mut designs: Vec<String> = entries
        .filter(|path| path.extension().is_some_and(|ext| ext == "toml"))
        .map(|path| path.to_str().unwrap().to_owned())
        .collect();
    designs.sort();
    designs
}

// JSON

/// The fields of `unloop/check/1` that scripts depend on: path, form; `?` marks a field that may be null.
const CHECK_FIELDS: &str = "
    /schema text   /design text   /verdict text   /reason text   /basis text   /proved flag
    /linkage/kind text   /linkage/class text   /linkage/closure text
    /linkage/ground_m number   /linkage/crank_m number   /linkage/coupler_m number   /linkage/rocker_m number
    /zero/crank_rad number   /zero/rocker_rad number
    /stroke/motor_rad list   /stroke/joint_rad list
    /transmission_ratio/min number   /transmission_ratio/max number   /transmission_ratio/mean number
    /transmission_ratio/worst_at_joint_rad number
    /transmission_angle/min_rad number   /transmission_angle/at_joint_rad number
    /crank_limit/motor_rad number?   /crank_limit/margin_rad number?
    /criteria list   /witness object?   /proved_joint_rad list?   /undecided_joint_rad list
    /rocker_limit/joint_rad number?   /rocker_limit/margin_rad number?
    /axial_offsets_m list?   /warnings list";

/// Of what has a direct joint, which a pad on the coupler has not.
const JOINT_FIELDS: &str = "
    /direct_joint/ratio number   /direct_joint/offset_rad number   /transmission_ratio/worst_error number
    /angle_error/max_rad number   /angle_error/at_joint_rad number";

const NO_JOINT_FIELDS: &str = "
    /direct_joint object?   /transmission_ratio/worst_error number?   /angle_error object?
    /finger/opening_m/min number   /finger/tilt_rad/max number   /finger/grip_n_per_n_m/min number";

const CRITERION_FIELDS: &str = "
    /name text   /unit text   /limit number   /nominal number?   /tolerance_bound number?
    /outcome text   /proved flag";

fn has_form(value: &Value, form: &str) -> bool {
    match form.trim_end_matches('?') {
        _ if value.is_null() => form.ends_with('?'),
        "text" => value.is_string(),
        "number" => value.is_number(),
        "flag" => value.is_boolean(),
        "list" => value.is_array(),
        _ => value.is_object(),
    }
}

fn assert_fields(found: &Value, fields: &str, of: &str) {
    let words: Vec<&str> = fields.split_whitespace().collect();
    for field in words.chunks(2) {
        let value = found.pointer(field[0]).unwrap_or_else(|| panic!("{of}: {} is gone", field[0]));
        assert!(has_form(value, field[1]), "{of}: {} is {value}, not a {}", field[0], field[1]);
    }
}

#[test]
fn the_json_of_check_has_every_field_with_its_form() {
    for design in designs() {
        let found = json_of(&["check", "--json", &design]);
        assert_fields(&found, CHECK_FIELDS, &design);
        assert_eq!(found["schema"], "unloop/check/1");
        let criteria = found["criteria"].as_array().unwrap();
        let of = |key: &str| -> Vec<&str> {
            criteria.iter().map(|criterion| criterion[key].as_str().unwrap()).collect()
        };
        if is_jaw(&found) {
            assert_fields(&found, NO_JOINT_FIELDS, &design);
            let names = ["tilt", "shift", "opening", "grip", "inertia", "transmission_angle"];
            assert_eq!(of("name"), names);
            assert_eq!(of("unit"), ["rad", "m", "m", "1", "1", "rad"]);
        } else {
            assert_fields(&found, JOINT_FIELDS, &design);
            assert_eq!(of("name"), ["angle", "ratio", "inertia", "transmission_angle"]);
            assert_eq!(of("unit"), ["rad", "1", "1", "rad"]);
        }
        for criterion in criteria {
            assert_fields(criterion, CRITERION_FIELDS, &design);
        }
        for warning in found["warnings"].as_array().unwrap() {
            assert_fields(warning, "/code text /message text", &design);
        }
    }
}

fn is_jaw(found: &Value) -> bool {
    found["finger"]["pad"] == "coupler"
}

#[test]
fn the_words_of_the_json_are_those_agreed() {
    let one_of = |value: &Value, words: &[&str]| {
        let word = value.as_str().unwrap();
        assert!(words.contains(&word), "{word}");
    };
    for design in designs() {
        let found = json_of(&["check", "--json", &design]);
        one_of(&found["verdict"], &["equivalent", "not_equivalent", "undecided"]);
        one_of(&found["basis"], &["nominal", "tolerance"]);
        one_of(&found["linkage"]["closure"], &["open", "crossed"]);
        one_of(
            &found["linkage"]["kind"],
            &["parallelogram", "antiparallelogram", "kite", "general"],
        );
        for criterion in found["criteria"].as_array().unwrap() {
            one_of(&criterion["outcome"], &["holds", "fails", "undecided", "not_assessed"]);
        }
    }
}

#[test]
fn the_motor_angles_rise_and_the_joint_angles_stand_beside_them() {
    for design in designs() {
        let found = json_of(&["check", "--json", &design]);
        let pair = |name: &str| [0, 1].map(|end| found["stroke"][name][end].as_f64().unwrap());
        let ([m0, m1], [j0, j1]) = (pair("motor_rad"), pair("joint_rad"));
        let ratio = found["transmission_ratio"]["mean"].as_f64().unwrap();
        assert!(m0 < m1 && (j0 < j1) == (ratio > 0.0), "{design}");
    }
}

#[test]
fn one_design_gives_an_object_and_several_an_array() {
    assert!(json_of(&["check", "--json", EQUIVALENT]).is_object());
    let both = json_of(&["check", "--json", EQUIVALENT, NOT_EQUIVALENT]);
    let names: Vec<&Value> = both.as_array().unwrap().iter().map(|one| &one["design"]).collect();
    assert_eq!(names, ["ankle_pitch", "knee_offset"]);
}

#[test]
fn of_several_designs_a_faulty_one_spoils_the_status_but_not_the_json_of_the_others() {
    let assert = run(&["check", "--json", WRONG, EQUIVALENT]).code(2);
    let found: Value = serde_json::from_str(&output(&assert)).unwrap();
    assert_eq!(found.as_array().unwrap().len(), 1);
    assert_eq!(found[0]["design"], "ankle_pitch");
}

const ROW: [&str; 12] = [
    "motor_rad",
    "joint_rad",
    "crank_rad",
    "rocker_rad",
    "coupler_rad",
    "velocity_ratio",
    "transmission_ratio",
    "velocity_ratio_slope",
    "transmission_angle_rad",
    "angle_error_rad",
    "motor_reading_rad",
    "joint_reading_rad",
];

#[test]
fn the_rows_of_stroke_are_evenly_spaced_and_hold_both_ends() {
    let ends = json_of(&["check", "--json", "models/wrist_reversed.toml"]);
    let found = json_of(&["stroke", "--json", "--steps", "7", "models/wrist_reversed.toml"]);
    assert_eq!(found["schema"], "unloop/stroke/1");
    assert_eq!(found["design"], "wrist_reversed");
    let rows = found["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 7);
    let motor = |row: usize| rows[row]["motor_rad"].as_f64().unwrap();
    assert_eq!(json!([motor(0), motor(6)]), ends["stroke"]["motor_rad"]);
    for row in 1..6 {
        let even = motor(0) + (motor(6) - motor(0)) * f64::from(u32::try_from(row).unwrap()) / 6.0;
        assert!((motor(row) - even).abs() < 1e-12);
    }
    for row in rows {
        assert!(ROW.iter().all(|name| row[name].is_number()), "{row}");
    }
}

#[test]
fn rows_of_stroke_are_evenly_spaced_in_the_joints_angle_where_that_is_asked() {
    let design = "models/wrist_reversed.toml";
    let found = json_of(&["stroke", "--json", "--steps", "7", "--over", "joint", design]);
    let ends = json_of(&["check", "--json", design]);
    let rows = found["rows"].as_array().unwrap();
    let of = |k: usize, key: &str| rows[k][key].as_f64().unwrap();
    assert_eq!(json!([of(0, "motor_rad"), of(6, "motor_rad")]), ends["stroke"]["motor_rad"]);
    for k in 1..7 {
        let step = of(k, "joint_rad") - of(k - 1, "joint_rad");
        assert!((step - (of(6, "joint_rad") - of(0, "joint_rad")) / 6.0).abs() < 1e-12);
        assert!(of(k, "motor_rad") > of(k - 1, "motor_rad"));
    }
}

#[test]
fn one_pose_is_found_by_either_reading() {
    let design = "models/hip_pivots.toml"; // the motor reads 90 deg in the zero pose
    let one = |more: [&str; 2]| {
        let found = json_of(&["stroke", "--json", more[0], more[1], design]);
        let rows = found["rows"].as_array().unwrap().clone();
        assert_eq!(rows.len(), 1);
        rows[0].clone()
    };
    let by_motor = one(["--at-motor", "80 deg"]);
    assert!((by_motor["motor_rad"].as_f64().unwrap() + 10_f64.to_radians()).abs() < 1e-12);
    let by_joint = one(["--at-joint", "-10 deg"]);
    for key in ["motor_reading_rad", "joint_reading_rad", "transmission_ratio"] {
        let [a, b] = [&by_motor, &by_joint].map(|row| row[key].as_f64().unwrap());
        assert!((a - b).abs() < 1e-9, "{key}: {a} {b}");
    }
}

#[test]
fn a_pose_that_the_linkage_does_not_reach_is_told_with_where_it_stops() {
    let far = run(&["stroke", "--at-motor", "170 deg", EQUIVALENT]).code(2);
    let told = errors(&far);
    assert!(
        told.contains("motor angle 170.00 deg is out of reach: the linkage stops at"),
        "{told}"
    );
    let far = run(&["stroke", "--at-joint", "-170 deg", "models/knee_offset.toml"]).code(2);
    assert!(errors(&far).contains("joint angle -170.00 deg is out of reach"), "{}", errors(&far));
    let back = ["stroke", "--over", "joint", "tests/data/kite_turning_back.toml"];
    assert!(errors(&run(&back).code(2)).contains("take --over motor"));
    run(&["stroke", "--at-motor", "1 deg", "--steps", "3", EQUIVALENT]).code(2);
    run(&["stroke", "--at-motor", "3", EQUIVALENT]).code(2);
}

#[test]
fn one_design_is_a_list_too_where_a_list_is_asked() {
    let found = json_of(&["check", "--json-list", EQUIVALENT]);
    assert_eq!(found.as_array().unwrap().len(), 1);
    assert_eq!(found[0], json_of(&["check", "--json", EQUIVALENT]));
}

#[test]
fn a_proof_goes_into_a_file_and_not_between_the_findings() {
    let refused = run(&["check", EQUIVALENT, "--proof", "-"]).code(2);
    assert!(errors(&refused).contains("--proof writes a file"));
}

#[test]
fn the_csv_of_stroke_holds_the_figures_of_its_json() {
    let arguments = ["stroke", "--csv", "--steps", "5", NOT_EQUIVALENT];
    let csv = output(&run(&arguments).code(0));
    let mut lines = csv.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    // What the design's motor makes of each pose comes after what every design has.
    let names: Vec<&str> =
        ROW.into_iter().chain(["torque_n_m", "speed_rad_per_s", "rod_force_n"]).collect();
    assert_eq!(header, names);
    let found = json_of(&["stroke", "--json", "--steps", "5", NOT_EQUIVALENT]);
    for row in found["rows"].as_array().unwrap() {
        let cells = lines.next().unwrap().split(',').map(|cell| cell.parse::<f64>().unwrap());
        // this test's own reader of JSON rounds the last digit
        let near = |cell: f64, name: &str| {
            let value = row[name].as_f64().unwrap();
            (cell - value).abs() < 1e-15 * 8.0 * value.abs().max(1.0)
        };
        assert!(cells.zip(&names).all(|(cell, name)| near(cell, name)), "{row}");
    }
    assert_eq!(lines.next(), None);
}

#[test]
fn fewer_than_two_rows_or_two_forms_at_once_are_a_wrong_call() {
    run(&["stroke", "--steps", "1", EQUIVALENT]).code(2);
    run(&["stroke", "--json", "--csv", EQUIVALENT]).code(2);
}

// Emission

fn emit<'a>(design: &'a str, to: &'a str, file: &'a str, more: &[&'a str]) -> Assert {
    let arguments = ["emit", design, "--to", to, "-o", file];
    run(&arguments.iter().chain(more).copied().collect::<Vec<&str>>())
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn emit_writes_the_joint_in_each_format_and_its_json_beside_it() {
    let folder = folder();
    for to in ["urdf", "sdformat", "mjcf"] {
        let file = path_in(&folder, to).with_extension("xml");
        emit(EQUIVALENT, to, file.to_str().unwrap(), &[]).code(0);
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.contains("left_ankle_pitch") && text.contains("right_ankle_pitch"), "{to}");
        let beside = fs::read_to_string(file.with_extension("joint.json")).unwrap();
        let joints: Value = serde_json::from_str(&beside).unwrap();
        assert_eq!(joints.as_array().unwrap().len(), 2);
        assert_eq!(joints[0]["schema"], "unloop/joint/1");
    }
    assert_eq!(names_in(folder.path()).len(), 6);
}

#[test]
fn the_same_design_gives_the_same_bytes() {
    let twice = [(); 2].map(|()| output(&emit(EQUIVALENT, "mjcf", "-", &["--whole"]).code(0)));
    assert_eq!(twice[0], twice[1]);
}

#[test]
fn a_dash_is_standard_output() {
    let text = output(&emit(EQUIVALENT, "urdf", "-", &["--whole"]).code(0));
    assert!(roxmltree::Document::parse(&text).unwrap().root_element().has_tag_name("robot"));
    assert!(!Path::new("-").exists());
}

#[test]
fn emit_refuses_what_is_not_equivalent_with_1_and_what_is_undecided_with_3() {
    let folder = folder();
    let file = path_in(&folder, "joint.urdf");
    let file = file.to_str().unwrap();
    let refused = emit(NOT_EQUIVALENT, "urdf", file, &[]).code(1);
    assert!(errors(&refused).contains("not equivalent") && errors(&refused).contains("--anyway"));
    assert!(names_in(folder.path()).is_empty());
    let open = undecided(&folder);
    let with_robot = fs::read_to_string(&open).unwrap()
        + "[[robot]]\njoint = \"knee\"\nparent = \"thigh\"\nchild = \"shank\"\naxis = [0.0, 0.0, 1.0]\n\
           origin = [\"40 mm\", \"0 mm\", \"0 mm\"]\nmotor_at = [\"0 mm\", \"0 mm\", \"0 mm\"]\n";
    fs::write(&open, with_robot).unwrap();
    let file = path_in(&folder, "joint.sdf");
    emit(&open, "sdformat", file.to_str().unwrap(), &[]).code(3);
    assert_eq!(names_in(folder.path()), ["undecided.toml"]);
}

#[test]
fn the_models_that_keep_the_crank_do_not_ask_for_the_verdict_but_for_what_they_need() {
    for model in ["coupled", "loop"] {
        let text = output(&emit(EQUIVALENT, "mjcf", "-", &["--model", model, "--whole"]).code(0));
        assert!(text.is_ascii() && roxmltree::Document::parse(&text).is_ok(), "{text}");
        let missing = emit(NOT_EQUIVALENT, "mjcf", "-", &["--model", model]).code(2);
        assert!(errors(&missing).contains("[mass.crank] is missing"), "{}", errors(&missing));
        assert!(!errors(&missing).contains("--anyway"), "{}", errors(&missing));
    }
    let looped = emit(EQUIVALENT, "urdf", "-", &["--model", "loop"]).code(2);
    assert!(errors(&looped).contains("URDF is a tree"), "{}", errors(&looped));
}

#[test]
fn a_line_that_is_not_enough_answers_1() {
    let folder = folder();
    let knee = fs::read_to_string(NOT_EQUIVALENT).unwrap();
    let parts = ["crank", "coupler", "child", "carrier"].map(|part| {
        let frame = if part == "carrier" { "frame = \"robot\"\n" } else { "" };
        format!(
            "[mass.{part}]\nmass = \"1 kg\"\ncenter = [\"10 mm\", \"0 mm\", \"0 mm\"]\n{frame}\
             inertia = [\"1 kg m2\", \"1 kg m2\", \"1 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n"
        )
    });
    let file = write(&folder, "heavy.toml", (knee + &parts.concat()).as_bytes());
    let refused = emit(&file, "sdformat", "-", &["--model", "coupled"]).code(1);
    assert!(errors(&refused).contains("[coupling_not_linear]"), "{}", errors(&refused));
    emit(&file, "mjcf", "-", &["--model", "coupled"]).code(0);
}

#[test]
fn a_version_that_is_none_is_a_wrong_call() {
    for version in ["", "3", "new", "2.3"] {
        emit(EQUIVALENT, "mjcf", "-", &["--engine-version", version]).code(2);
    }
    let text = output(&emit(EQUIVALENT, "mjcf", "-", &["--engine-version", "4.0"]).code(0));
    assert!(text.contains("For MuJoCo 4.0 and later."));
}

#[test]
fn what_emit_says_beside_the_file_is_no_wider_than_a_page() {
    let refused = [
        emit(NOT_EQUIVALENT, "urdf", "-", &["--whole"]).code(2),
        emit(EQUIVALENT, "urdf", "-", &["--model", "loop"]).code(2),
        emit(EQUIVALENT, "mjcf", "-", &[]).code(0),
    ];
    for assert in refused {
        let wide =
            errors(&assert).lines().find(|line| line.chars().count() > 100).map(str::to_owned);
        assert_eq!(wide, None);
    }
}

#[test]
fn with_anyway_the_file_itself_says_that_it_is_not_equivalent() {
    let text = output(&emit(NOT_EQUIVALENT, "urdf", "-", &["--anyway"]).code(0));
    assert!(text.contains("NOT EQUIVALENT"));
}

#[test]
fn an_existing_file_is_left_as_it_is_without_force() {
    let folder = folder();
    let file = write(&folder, "ankle.urdf", b"mine");
    let refused = emit(EQUIVALENT, "urdf", &file, &[]).code(2);
    assert!(errors(&refused).contains("--force"));
    assert_eq!(fs::read(&file).unwrap(), b"mine");
    assert_eq!(names_in(folder.path()), ["ankle.urdf"]);
    emit(EQUIVALENT, "urdf", &file, &["--force"]).code(0);
    assert_ne!(fs::read(&file).unwrap(), b"mine");
    assert_eq!(names_in(folder.path()), ["ankle.joint.json", "ankle.urdf"]);
}

#[test]
fn an_existing_json_beside_it_keeps_both_from_being_written() {
    let folder = folder();
    let beside = write(&folder, "ankle.joint.json", b"mine");
    let file = path_in(&folder, "ankle.urdf");
    emit(EQUIVALENT, "urdf", file.to_str().unwrap(), &[]).code(2);
    assert_eq!(fs::read(beside).unwrap(), b"mine");
    assert!(!file.exists());
}

#[test]
fn a_folder_that_is_not_there_is_told() {
    let refused = emit(EQUIVALENT, "urdf", "target/no_such_folder/ankle.urdf", &[]).code(2);
    assert!(errors(&refused).contains("target/no_such_folder/ankle.urdf cannot be written"));
}

// Input that is no design

#[test]
fn a_missing_file_and_a_folder_are_told_by_name() {
    for path in ["models/no_such_file.toml", "models"] {
        for command in ["check", "stroke"] {
            let assert = run(&[command, path]).code(2);
            assert!(errors(&assert).starts_with(&format!("error: {path} cannot be read")));
            assert_eq!(output(&assert), "");
        }
    }
}

#[test]
fn a_file_that_is_not_utf_8_is_told_with_its_line() {
    let folder = folder();
    let file = write(&folder, "latin.toml", b"name = \"x\"\n# 45 \xb10.1 mm\n");
    assert!(errors(&run(&["check", &file]).code(2)).contains("not UTF-8"));
    let message = errors(&unloop(&["check", "-"]).write_stdin(&b"\xff\xfe"[..]).assert().code(2));
    assert!(message.contains("UTF-16"), "{message}");
}

/// 100 MB of zeros that take no room on the disk.
fn huge(folder: &TempDir) -> PathBuf {
    let path = path_in(folder, "huge.toml");
    File::create(&path).unwrap().set_len(100_000_000).unwrap();
    path
}

#[test]
fn a_file_of_100_mb_is_refused_at_once() {
    let folder = folder();
    let path = huge(&folder);
    let begin = Instant::now();
    let assert = run(&["check", path.to_str().unwrap()]).code(2);
    assert!(errors(&assert).contains("1048576 bytes"), "{}", errors(&assert));
    assert!(begin.elapsed() < Duration::from_secs(2), "{:?}", begin.elapsed());
}

/// The shell holds the program to 64 MB of address space, less than the file.
#[cfg(target_os = "linux")]
#[test]
fn a_file_of_100_mb_is_not_read_into_memory() {
    let folder = folder();
    let path = huge(&folder);
    for from in ["\"$1\"", "- < \"$1\""] {
        let script = format!("ulimit -v 65536 && exec \"$0\" check {from}");
        let output = Command::new("sh").args(["-c", &script, PROGRAM]).arg(&path).output().unwrap();
        let message = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{message}");
        assert!(message.contains("1048576 bytes"), "{message}");
    }
}

// Sizes

#[test]
fn lengths_of_a_nanometre_and_of_ten_kilometres_work_and_can_be_read() {
    let folder = folder();
    for (long, short, shown) in [("3e-9", "1e-9", "crank 0.001 um"), ("1e4", "1e3", "crank 1000 m")]
    {
        let file = write(&folder, "sized.toml", parallelogram(long, short).as_bytes());
        let text = output(&run(&["check", &file]).code(0));
        assert!(text.contains(shown), "{text}");
        assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
        let found = json_of(&["check", "--json", &file]);
        assert_eq!(found["linkage"]["kind"], "parallelogram");
        assert_eq!(found["linkage"]["crank_m"].as_f64(), short.parse().ok());
        assert_eq!(found["direct_joint"]["ratio"], 1.0);
    }
}
