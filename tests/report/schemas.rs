//! The published schemas are true: an independent validator of JSON Schema holds every output and every design
//! against them, and each says no more than the program does.

use crate::command::unloop;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use jsonschema::Validator;
use serde_json::Value;

/// Every schema that `unloop schema` has.
const NAMES: [&str; 14] = [
    "design",
    "check",
    "check_region",
    "loads_region",
    "stroke_region",
    "proof",
    "stroke",
    "tolerance",
    "tolerance_region",
    "loads",
    "find",
    "compare",
    "joint",
    "joints",
];

fn run(arguments: &[&str], input: &str) -> assert_cmd::assert::Assert {
    unloop(arguments).write_stdin(input).assert()
}

fn printed(arguments: &[&str], input: &str) -> String {
    String::from_utf8(run(arguments, input).get_output().stdout.clone()).unwrap()
}

fn schema(name: &str) -> Value {
    serde_json::from_str(&printed(&["schema", name], "")).unwrap()
}

/// Holds an output to what its schema names: of that of an output the objects are open, for keys that come, and closed
/// here.
fn validator(name: &str) -> Validator {
    let mut schema = schema(name);
    close(&mut schema);
    jsonschema::draft202012::new(&schema).unwrap()
}

fn close(node: &mut Value) {
    match node {
        Value::Array(items) => items.iter_mut().for_each(close),
        Value::Object(entries) => {
            entries.values_mut().for_each(close);
            let is_whole = entries.get("properties").is_some_and(Value::is_object)
                && entries.get("type").is_some_and(|kind| !kind.is_object());
            let names_are_free = entries.get("additionalProperties").is_some_and(Value::is_object);
            if is_whole && !names_are_free {
                entries.insert("additionalProperties".to_owned(), Value::Bool(false));
            }
        }
        _ => {}
    }
}

fn faults(validator: &Validator, value: &Value) -> Vec<String> {
    validator.iter_errors(value).map(|e| format!("{}: {e}", e.instance_path())).collect()
}

fn files(folder: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)).unwrap();
    let paths = entries.map(|entry| entry.unwrap().path());
    let mut designs: Vec<PathBuf> =
        paths.filter(|path| path.extension().is_some_and(|ext| ext == "toml")).collect();
    designs.sort();
    designs
}

/// A crank that turns through a dead point: infinite figures.
const THROUGH_A_DEAD_POINT: &str = "name = \"turning\"\n[linkage]\nground = \"100 mm\"\ncrank = \"30 mm\"\n\
    coupler = \"90 mm\"\nrocker = \"60 mm\"\n[zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n\
    [stroke]\nmotor = [\"-170 deg\", \"200 deg\"]\n[actuator]\ngear_ratio = 6\nrotor_inertia = \"1e-5 kg m2\"\n\
    peak_torque = \"1 N m\"\nmax_speed = \"3 rad/s\"\n[mass.child]\nmass = \"1 kg\"\ncenter = [\"0 mm\", \"0 mm\"]\n\
    inertia = \"1e-3 kg m2\"\n";

/// The knee with a limit that is missed by just what still counts as met, so that no effort decides it.
fn undecided() -> String {
    let text = fs::read_to_string("models/knee_halving.toml").unwrap();
    let found: Value = serde_json::from_str(&printed(&["check", "--json", "-"], &text)).unwrap();
    let reached = found["criteria"][0]["nominal"].as_f64().unwrap();
    let limit = reached - 1e-9;
    text.replace("[accept]\n", &format!("[accept]\nangle = \"{limit:?} rad\"\n"))
}

/// Tolerances wide enough to break a criterion, drawn beside play and a motion.
fn refuted_within_tolerance() -> String {
    fs::read_to_string("tests/data/whole_design.toml").unwrap().replace("300 ±0.1 mm", "300 ±9 mm")
}

/// Both constants searched for, so that they scatter together.
fn both_searched_for() -> String {
    let text = fs::read_to_string("models/ankle_toleranced.toml").unwrap();
    text.replace("ratio = 1.0", "ratio = \"best\"\noffset = \"best\"")
}

/// The ankle behind a reversing gearbox, with what its carrier bears besides.
fn reversing_and_laden() -> String {
    let carried = "[mass.carried]\nmass = \"8 kg\"\ncenter = [\"0 mm\", \"0 mm\", \"300 mm\"]\nframe = \"robot\"\n\
        inertia = [\"0.2 kg m2\", \"0.2 kg m2\", \"0.1 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n";
    let ankle = fs::read_to_string("models/ankle.toml").unwrap();
    format!("{}\n{carried}", ankle.replace("= 7.75", "= -7.75"))
}

/// A gripper whose fingers are to be slides.
fn gripper_of_slides() -> String {
    let text = fs::read_to_string("models/gripper_parallel.toml").unwrap();
    let losses = "[actuator]\ndamping = \"0.004 N m s/rad\"\nfriction = \"0.02 N m\"\nposition_gain = \"6 N m/rad\"\nvelocity_gain = \"0.2 N m s/rad\"";
    format!("{}\n[direct_joint]\nstand_in = \"slide\"\n", text.replacen("[actuator]", losses, 1))
}

/// A gripper with its pins, whose unpowered drive holds what peak torque grips with.
fn gripper_with_pins() -> String {
    let text = fs::read_to_string("models/gripper_parallel.toml").unwrap();
    let pin = "= { fit = \"4 mm H7/g6\", width = \"5 mm\" }\n";
    let pins: String =
        ["motor", "crank", "rocker", "joint"].map(|name| format!("{name} {pin}")).concat();
    format!("{}\n[pins]\nfriction = 0.1\n{pins}", text.replace("\"0.2 N m\"", "\"1.5 N m\""))
}

/// Texts of designs that bring out every key of the outputs.
fn designs() -> &'static [String] {
    static DESIGNS: OnceLock<Vec<String>> = OnceLock::new();
    DESIGNS.get_or_init(|| {
        let mut texts: Vec<String> =
            files("models").iter().map(|path| fs::read_to_string(path).unwrap()).collect();
        texts.push(fs::read_to_string("tests/data/whole_design.toml").unwrap());
        texts.push(fs::read_to_string("tests/data/two_hips_on_a_pelvis.toml").unwrap());
        texts.extend([THROUGH_A_DEAD_POINT.to_owned(), undecided(), refuted_within_tolerance()]);
        texts.extend([both_searched_for(), reversing_and_laden()]);
        texts.extend([gripper_of_slides(), gripper_with_pins()]);
        texts
    })
}

/// What one command prints as JSON for every design that it can answer for.
fn outputs(arguments: &[&str]) -> Vec<Value> {
    let of = |text: &String| serde_json::from_str(&printed(arguments, text)).ok();
    let found: Vec<Value> = designs().iter().filter_map(of).collect();
    assert!(found.len() + 1 >= designs().len(), "{arguments:?} gave {}", found.len());
    found
}

/// What `emit` writes beside the robot files of the designs that name a robot's joint.
fn joints() -> Vec<Value> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("robot.xml");
    let kinds = [["urdf", "direct"], ["mjcf", "direct"], ["mjcf", "coupled"], ["mjcf", "loop"]];
    let mut found = Vec::new();
    for text in designs() {
        for [format, model] in kinds {
            let output = file.to_str().unwrap();
            let arguments = [
                "emit", "-", "--to", format, "--model", model, "--anyway", "--force", "-o", output,
            ];
            let whole = [&arguments[..], &["--whole"]].concat();
            for arguments in [&arguments[..], &whole] {
                let beside = folder.path().join("robot.joint.json");
                if run(arguments, text).get_output().status.success() {
                    let text = fs::read_to_string(&beside).unwrap();
                    found.push(serde_json::from_str(&text).unwrap());
                }
            }
        }
    }
    found
}

/// Places that a form shared with others has and that are null or missing wherever it stands: the play of the pins does
/// not scatter, nor has the proved range of a tilt a mean, between two files there is neither a form nor a range, and no file gives a range.
const NEVER: [&str; 14] = [
    ".files[].joints[].rows[].second.guaranteed",
    ".files[].joints[].rows[].second.never_exceed",
    ".pairs[].joints[].form",
    ".pairs[].joints[].rows[].first.guaranteed",
    ".pairs[].joints[].rows[].first.never_exceed",
    ".pairs[].joints[].rows[].second.guaranteed",
    ".pairs[].joints[].rows[].second.never_exceed",
    ".ranges.play_rad.mean",
    ".ranges.play_rad.standard_deviation",
    ".ranges.tilt_rad.mean",
    ".ranges.tilt_rad.standard_deviation",
    ".point_drives[].drive.ball_tilt_rad",
    ".point_drives[].drive.motor",
    ".witness.drive",
];

/// Holds the outputs against their schema, and every place of the schema against what the outputs have there.
fn hold(name: &str, outputs: &[Value]) {
    let validator = validator(name);
    let (mut seen, mut known) = (BTreeSet::new(), BTreeSet::new());
    for output in outputs {
        let faults = faults(&validator, output);
        assert!(faults.is_empty(), "{name} of {}: {faults:#?}", output["design"]);
        written(output, "", &mut seen);
    }
    let schema = schema(name);
    described(&schema, &schema, "", &mut known);
    let never: Vec<&String> =
        known.difference(&seen).filter(|place| !NEVER.contains(&place.as_str())).collect();
    assert!(never.is_empty(), "{name}: no output has {never:#?}");
}

/// The places that are more than null: `.criteria[].name`.
fn written(value: &Value, at: &str, seen: &mut BTreeSet<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| written(item, &place(at, "[]"), seen)),
        Value::Object(entries) => {
            for (key, entry) in entries.iter().filter(|(_, entry)| !entry.is_null()) {
                let at = place(at, &format!(".{key}"));
                written(entry, &at, seen);
                seen.insert(at);
            }
        }
        _ => {}
    }
}

/// An output of several designs has the places of one.
fn place(at: &str, step: &str) -> String {
    format!("{at}{step}").trim_start_matches("[]").to_owned()
}

/// The places that `node` of the schema `root` describes.
fn described(root: &Value, node: &Value, at: &str, known: &mut BTreeSet<String>) {
    // A stage of a series, and what a witness breaks, is a drive again.
    if at.ends_with(".stages[]") || at.ends_with(".witness.drive") {
        return;
    }
    if let Some(reference) = node["$ref"].as_str() {
        let node = root.pointer(reference.trim_start_matches('#')).unwrap();
        described(root, node, at, known);
    }
    let forms = ["oneOf", "anyOf"].iter().filter_map(|key| node[*key].as_array()).flatten();
    forms.for_each(|form| described(root, form, at, known));
    if !node["items"].is_null() {
        described(root, &node["items"], &place(at, "[]"), known);
    }
    for (key, property) in node["properties"].as_object().into_iter().flatten() {
        let at = place(at, &format!(".{key}"));
        described(root, property, &at, known);
        known.insert(at);
    }
}

/// The words of each type that stands in an output.
fn words() -> Vec<Vec<&'static str>> {
    macro_rules! names {
        ($($kind:ty),+) => { vec![$(<$kind>::ALL.map(<$kind>::name).to_vec()),+] };
    }
    names![
        unloop::design::OtherFinger,
        unloop::dynamics::BucklingLaw,
        unloop::dynamics::MeasuredOver,
        unloop::dynamics::PinPlace,
        unloop::dynamics::Shortcut,
        unloop::equivalence::Basis,
        unloop::equivalence::Criterion,
        unloop::equivalence::LengthName,
        unloop::equivalence::Outcome,
        unloop::equivalence::PadStandIn,
        unloop::equivalence::Unit,
        unloop::equivalence::Verdict,
        unloop::handover::compare::Answer,
        unloop::handover::compare::Measure,
        unloop::handover::compare::RowOutcome,
        unloop::handover::find::EndedBy,
        unloop::handover::find::MotorSeat,
        unloop::handover::find::ZeroPose,
        unloop::linkage::Class,
        unloop::linkage::Closure,
        unloop::linkage::Kind,
        unloop::linkage::PadOn,
        unloop::tolerance::Distribution,
        unloop::tolerance::Variable
    ]
}

/// Words that no type has.
const LITERAL: [&[&str]; 11] = [
    &["two_rods"],
    &["closed loop", "coupled crank", "direct joint"],
    &["MJCF", "SDFormat", "URDF"],
    &["crank", "joint", "motor", "rocker"],
    &["m", "rad"],
    &["ball_rod", "fixed_ratio", "four_bar", "linear_actuator", "series", "slider", "two_rods"],
    &["ball_rod", "linear_actuator", "slider"],
    &["crank limit", "dead point", "longest length", "shortest length"],
    &["1", "rad/m"],
    &["1", "rad", "rad/m"],
    &["1", "1/m", "1/rad"],
];

#[test]
fn a_word_that_an_output_may_have_is_in_its_schema_and_no_other() {
    let known: BTreeSet<BTreeSet<&str>> = words()
        .into_iter()
        .map(|words| words.into_iter().collect())
        .chain(LITERAL.map(|words| words.iter().copied().collect()))
        .collect();
    for name in ["check", "stroke", "tolerance", "loads", "find", "compare"] {
        each(&schema(name), &mut |node| {
            let Some(Value::Array(values)) = node.get("enum") else { return };
            let words: BTreeSet<&str> = values.iter().filter_map(Value::as_str).collect();
            assert!(words.is_empty() || known.contains(&words), "{name}: {words:?}");
        });
    }
}

/// Every value within `value`, itself first.
fn each(value: &Value, look: &mut impl FnMut(&Value)) {
    look(value);
    match value {
        Value::Array(items) => items.iter().for_each(|item| each(item, look)),
        Value::Object(entries) => entries.values().for_each(|entry| each(entry, look)),
        _ => {}
    }
}

#[test]
fn every_output_of_check_fits_its_schema() {
    hold("check", &[outputs(&["check", "--json", "-"]), of_drives(&["check"], &DRIVES)].concat());
}

/// Models of two joints.
const TWO_JOINTS: [&str; 3] = ["ankle_parallel", "ankle_toed_in", "ankle_actuators"];

/// An ankle with more roll than it can do, and one whose zero pose lies beside its region.
fn two_joints_off() -> [String; 2] {
    let text = fs::read_to_string("models/drives/ankle_parallel.toml").unwrap();
    let wide = text.replace("\"-5 deg\", \"5 deg\"", "\"-9 deg\", \"9 deg\"");
    let beside = text.replace("\"-20 deg\", \"20 deg\"", "\"5 deg\", \"20 deg\"");
    assert!(wide != text && beside != text);
    [wide, beside]
}

#[test]
fn every_output_of_two_joints_fits_its_schema() {
    for (command, name) in
        [("check", "check_region"), ("stroke", "stroke_region"), ("loads", "loads_region")]
    {
        let mut all = of_drives(&[command], &TWO_JOINTS);
        all.extend(two_joints_off().map(|text| of_text(&[command], &text)));
        hold(name, &all);
    }
}

#[test]
fn every_proof_file_fits_its_schema() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("proof.json");
    let mut outputs = Vec::new();
    for text in designs() {
        run(&["check", "-", "--force", "--proof", path.to_str().unwrap()], text);
        outputs.push(serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap());
    }
    hold("proof", &outputs);
}

#[test]
fn several_designs_at_once_fit_the_schema_of_check() {
    let text = printed(&["check", "--json", "models/ankle.toml", "models/knee_offset.toml"], "");
    let several: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(faults(&validator("check"), &several), [""; 0]);
}

#[test]
fn every_output_of_stroke_fits_its_schema() {
    let drives = of_drives(&["stroke", "--steps", "9"], &DRIVES);
    hold("stroke", &[outputs(&["stroke", "--json", "--steps", "9", "-"]), drives].concat());
}

#[test]
fn every_output_of_tolerance_fits_its_schema() {
    let mut drives = of_drives(&["tolerance", "--samples", "100"], &DRIVES);
    drives.push(of_text(&["tolerance", "--samples", "100"], &uncertain_drive()));
    hold(
        "tolerance",
        &[outputs(&["tolerance", "--json", "--samples", "500", "-"]), drives].concat(),
    );
}

#[test]
fn every_output_of_tolerance_of_two_joints_fits_its_schema() {
    let of = |name: &str, from: &str, to: &str| -> Value {
        let text = fs::read_to_string(Path::new("models/drives").join(name)).unwrap();
        assert!(text.contains(from));
        let arguments = ["tolerance", "--json", "--samples", "64", "-"];
        serde_json::from_str(&printed(&arguments, &text.replace(from, to))).unwrap()
    };
    let points = "points = \"±0.02 mm\"";
    let all = [
        of("ankle_parallel.toml", "", ""),
        of("ankle_parallel.toml", points, "points = \"±1 mm\""),
        of("ankle_parallel.toml", points, "points = \"±30 mm\""),
        of("ankle_actuators.toml", "", ""),
    ];
    hold("tolerance_region", &all);
}

#[test]
fn every_output_of_loads_fits_its_schema() {
    let drives = of_drives(&["loads"], &DRIVES);
    let screw = fs::read_to_string("models/drives/linear_actuator.toml").unwrap();
    let loose = screw.replace("[actuator]", "[actuator]\nbacklash = \"0.5 deg\"\n#");
    let loose = of_text(&["loads"], &loose);
    let all = [outputs(&["loads", "--json", "-"]), drives, vec![loose]].concat();
    hold("loads", &all);
}

/// The models that are no planar four-bar: every kind.
const DRIVES: [&str; 9] = [
    "linear_actuator_long",
    "ball_rod_knee",
    "ball_rod_points",
    "belt",
    "hip_knee_belt",
    "linear_actuator",
    "series_knee",
    "gripper_nut",
    "slider",
];

/// What a command says of models that are no planar four-bar.
fn of_drives(command: &[&str], names: &[&str]) -> Vec<Value> {
    let of = |name: &&str| {
        let path = format!("models/drives/{name}.toml");
        let all = [command, &["--json", &path]].concat();
        serde_json::from_str(&printed(&all, "")).unwrap()
    };
    names.iter().map(of).collect()
}

/// What a command says of a design's text.
fn of_text(command: &[&str], text: &str) -> Value {
    serde_json::from_str(&printed(&[command, &["--json", "-"]].concat(), text)).unwrap()
}

/// A crank that may be so far off that nothing is certain over tolerance.
fn uncertain_drive() -> String {
    let text = fs::read_to_string("models/drives/ball_rod_knee.toml").unwrap();
    let wide = text.replace("45 ±0.05 mm\"\ncoupler", "45 ±9 mm\"\ncoupler");
    assert_ne!(text, wide);
    wide
}

#[test]
fn every_joint_json_fits_its_schema() {
    hold("joint", &joints());
}

/// Robot files that bring out every key of `find`, with the statement of what they cannot hold.
fn robots() -> Vec<String> {
    let leg = fs::read_to_string("models/robots/leg.urdf").unwrap();
    let tilted = leg.replacen("xyz=\"0 1 0\"/>", "xyz=\"0.1 1 0\"/>", 3);
    let longer = leg.replace("xyz=\"0 0 -0.32\"", "xyz=\"0 0 -0.321\"");
    let toe = "<link name=\"toe\"/><joint name=\"toe\" type=\"revolute\"><parent link=\"foot\"/>\
        <child link=\"toe\"/><axis xyz=\"0 1 0\"/><limit lower=\"-1\" upper=\"1\" effort=\"1\" velocity=\"1\"/>\
        <mimic joint=\"knee\" multiplier=\"0.5\"/></joint></robot>";
    let followed = leg.replace("</robot>", toe);
    vec![leg, tilted, longer, followed]
}

#[test]
fn every_output_of_find_fits_its_schema() {
    let (find, check) = (validator("find"), validator("check"));
    let loops = ["find", "--json", "-", "--loops", "models/robots/leg.loops.toml"];
    let mut outputs: Vec<Value> =
        robots().iter().map(|r| serde_json::from_str(&printed(&loops, r)).unwrap()).collect();
    let remarks = ["find", "--json", "models/robots/bad/urdf_remarks.urdf"];
    outputs.push(serde_json::from_str(&printed(&remarks, "")).unwrap());
    for file in ["adaptive_finger", "two_jaws", "driven_foot", "two_rod_ankles"] {
        let path = format!("models/robots/{file}.xml");
        outputs.push(serde_json::from_str(&printed(&["find", "--json", &path], "")).unwrap());
    }
    // An actuator between two points, and motors on tendons of two joints, as the engine has them.
    let coupled = ["linear_actuator", "--model", "coupled"];
    for [design, option, value] in [coupled, ["ankle_parallel", "--actuator", "motor"]] {
        let path = format!("models/drives/{design}.toml");
        let emit = ["emit", &path, option, value, "--to", "mjcf", "--whole", "-o", "-"];
        let driven = printed(&emit, "");
        outputs.push(serde_json::from_str(&printed(&["find", "--json", "-"], &driven)).unwrap());
    }
    let files = [
        "gripper.xml",
        "gripper_tree.urdf",
        "ball_rod_leg.xml",
        "slider_leg.xml",
        "linear_actuator_leg.xml",
    ];
    for file in files {
        let path = format!("models/robots/{file}");
        outputs.push(serde_json::from_str(&printed(&["find", "--json", &path], "")).unwrap());
    }
    // Of two ankles the one without a range, the other with a loss that its design does not hold.
    let ankles = fs::read_to_string("models/robots/two_rod_ankles.xml").unwrap();
    let ankles = ankles.replace("range=\"-0.09 0.09\"", "");
    let lossy =
        ankles.replace("name=\"right_ankle_roll\"", "name=\"right_ankle_roll\" damping=\"0.1\"");
    outputs.push(serde_json::from_str(&printed(&["find", "--json", "-"], &lossy)).unwrap());
    let leg = fs::read_to_string("models/robots/leg.urdf").unwrap();
    let (before, behind) = leg.split_once("<transmission").unwrap();
    let (_, behind) = behind.split_once("</transmission>").unwrap();
    let undriven = printed(&loops, &format!("{before}{behind}"));
    outputs.push(serde_json::from_str(&undriven).unwrap());
    for output in &outputs {
        for one in output["loops"].as_array().unwrap().iter().filter(|one| !one["check"].is_null())
        {
            assert_eq!(faults(&check, &one["check"]), [""; 0]);
        }
        assert_eq!(faults(&find, output), [""; 0], "{output:#}");
    }
    hold("find", &outputs);
}

#[test]
fn every_output_of_compare_fits_its_schema() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (urdf, edited, mjcf) = (path("a.urdf"), path("b.urdf"), path("c.xml"));
    let ankle = "models/ankle.toml";
    run(&["emit", ankle, "--to", "urdf", "--whole", "-o", &urdf], "").success();
    run(&["emit", ankle, "--to", "mjcf", "--whole", "-o", &mjcf], "").success();
    let text = fs::read_to_string(&urdf).unwrap();
    fs::write(&edited, text.replacen("effort=\"60\"", "effort=\"50\"", 1)).unwrap();
    // A limit with two bounds needs a ratio that changes.
    let wrist = path("wrist.urdf");
    fs::write(
        &wrist,
        "<robot name=\"w\"><link name=\"forearm\"/><link name=\"hand\"/><joint name=\"wrist_flexion\" type=\"revolute\">\
         <parent link=\"forearm\"/><child link=\"hand\"/><origin xyz=\"0.09 0 0\"/><axis xyz=\"0 0 1\"/>\
         <limit lower=\"-0.26\" upper=\"0.26\" effort=\"9\" velocity=\"9\"/></joint></robot>",
    )
    .unwrap();
    let calls: [(&str, &[&str]); 4] = [
        (ankle, &[&urdf]),
        (ankle, &[&edited, &mjcf]),
        (ankle, &["models/robots/leg.urdf"]),
        ("models/wrist_reversed.toml", &[&wrist]),
    ];
    let outputs: Vec<Value> = calls
        .iter()
        .map(|(design, files)| {
            let arguments = [&["compare", "--json", design], *files].concat();
            let output = run(&arguments, "").get_output().stdout.clone();
            serde_json::from_slice(&output).unwrap()
        })
        .collect();
    hold("compare", &outputs);
}

#[test]
fn the_joint_json_of_fold_fits_the_schema() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("tree.urdf");
    let loops = "models/robots/leg.loops.toml";
    let leg = "models/robots/leg.urdf";
    let output = file.to_str().unwrap();
    run(&["fold", leg, "--loops", loops, "-o", output], "").success();
    let text = fs::read_to_string(file.with_extension("joint.json")).unwrap();
    let found: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(faults(&validator("joint"), &found), [""; 0]);
}

#[test]
fn a_key_that_is_not_described_or_has_gone_is_told() {
    let text = fs::read_to_string("models/ankle.toml").unwrap();
    let found: Value = serde_json::from_str(&printed(&["check", "--json", "-"], &text)).unwrap();
    let validator = validator("check");
    let mut more = found.clone();
    more["linkage"]["colour"] = Value::from("red");
    let mut less = found;
    less["stroke"].as_object_mut().unwrap().remove("motor_rad");
    assert!(!validator.is_valid(&more) && !validator.is_valid(&less));
}

#[test]
fn every_key_is_described_and_the_designs_objects_alone_are_closed() {
    for name in NAMES {
        let schema = schema(name);
        assert!(jsonschema::meta::is_valid(&schema), "{name}");
        each(&schema, &mut |node| {
            let Some(Value::Object(properties)) = node.get("properties") else { return };
            let is_whole = node.get("type").is_some();
            // Under names of the user's own stands what has a schema too.
            let beside = &node["additionalProperties"];
            let is_closed = *beside == false || (name == "design" && beside.is_object());
            assert!(!is_whole || is_closed == (name == "design"), "{name}: {node:#}");
            for (key, property) in properties.iter().filter(|_| is_whole) {
                let described = property["description"].as_str().is_some_and(|d| d.len() > 2);
                assert!(described, "{name}: `{key}` is not described");
            }
        });
    }
}

#[test]
fn every_schema_of_the_folder_can_be_printed() {
    let entries = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("schemas")).unwrap();
    for entry in entries {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().replace(".schema.json", "");
        assert!(
            NAMES.contains(&name.as_str()),
            "{name}: add it to src/cli/guidance/schema.rs and here"
        );
        assert_eq!(printed(&["schema", &name], ""), fs::read_to_string(path).unwrap());
    }
}

// The design file

/// The text as JSON; none where it is no TOML.
fn as_json(path: &Path) -> Option<Value> {
    let text = fs::read_to_string(path).ok()?;
    serde_json::to_value(toml::from_str::<toml::Table>(&text).ok()?).ok()
}

#[test]
fn every_sound_design_fits_the_schema() {
    let validator = validator("design");
    let whole = [PathBuf::from("tests/data/whole_design.toml")];
    for path in files("models").iter().chain(&files("models/drives")).chain(&whole) {
        let faults = faults(&validator, &as_json(path).unwrap());
        assert!(faults.is_empty(), "{}: {faults:#?}", path.display());
    }
}

/// Spellings that a reader of quantities meets: key of the design below, value.
const SPELLINGS: [(&str, &str); 49] = [
    ("crank", "45mm"),
    ("crank", " 45\tmm "),
    ("crank", "4.5e1 mm"),
    ("crank", "+45. mm"),
    ("crank", ".045 m"),
    ("crank", "45000 µm"),
    ("crank", "45000 \u{3bc}m"),
    ("crank", "1.8 in"),
    ("crank", "45 ±0.05 mm"),
    ("crank", "45±0.05mm"),
    ("crank", "45 mm ±0.05 mm"),
    ("crank", "45 mm +/- 50 um"),
    ("crank", "45 +0.02/-0.05 mm"),
    ("crank", "45 -0.05 / +0.02 mm"),
    ("crank", "45 mm 0/-0.05 mm"),
    ("crank", "45 0/\u{2212}0.05 mm"),
    ("crank", "45 mm ISO 2768-f"),
    ("crank", "45 mm ISO2768 m"),
    ("crank", "45 mm IT9"),
    ("crank", "45 mm IT12"),
    ("turn", "\u{2212}35 deg"),
    ("turn", "-0.6 rad"),
    ("turn", "-600 mrad"),
    ("turn", "-35°"),
    ("inertia", "1e-5 kg m2"),
    ("inertia", "1e-5 kg·m²"),
    ("inertia", "1e-5 kg*m^2"),
    ("inertia", "10000 g mm2"),
    ("inertia", "0.9 kg cm2"),
    ("inertia", "0.9 kgcm²"),
    ("inertia", "150 kg mm2"),
    ("inertia", "1500 g cm2"),
    ("inertia", "1e-5 kgm2"),
    ("turn", "-2100 arcmin"),
    ("torque", "60 N m"),
    ("torque", "60 Nm"),
    ("torque", "14000 N mm"),
    ("torque", "14000 N·mm"),
    ("torque", "250 mNm"),
    ("torque", "250 mN m"),
    ("damping", "0.02 Nms/rad"),
    ("damping", "0.02 Nm s/rad"),
    ("stiffness", "80 Nm/rad"),
    ("speed", "30 rpm"),
    ("speed", "30 1/min"),
    ("speed", "4 rev/s"),
    ("speed", "1000 deg/s"),
    ("speed", "1000 °/s"),
    ("share", "2%"),
];

fn spelt(key: &str, value: &str) -> String {
    let or = |name: &str, usual: &'static str| {
        if key == name { value.to_owned() } else { usual.to_owned() }
    };
    format!(
        "name = \"spelt\"\n[linkage]\nground = \"300 mm\"\ncrank = \"{}\"\ncoupler = \"300 mm\"\n\
         rocker = \"45 mm\"\n[zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\nset_by = \"jig\"\n\
         [stroke]\njoint = [\"{}\", \"40 deg\"]\n[accept]\nratio = \"{}\"\n\
         [actuator]\nrotor_inertia = \"{}\"\nmax_speed = \"{}\"\npeak_torque = \"{}\"\n\
         damping = \"{}\"\nposition_gain = \"{}\"\n",
        or("crank", "45 mm"),
        or("turn", "-35 deg"),
        or("share", "2 %"),
        or("inertia", "1e-5 kg m2"),
        or("speed", "20 rad/s"),
        or("torque", "60 N m"),
        or("damping", "0.02 N m s/rad"),
        or("stiffness", "80 N m/rad"),
    )
}

#[test]
fn the_schema_is_no_stricter_than_the_reader() {
    let validator = validator("design");
    for (key, value) in SPELLINGS {
        let text = spelt(key, value);
        let read = unloop::design::parse("spelt.toml", &text);
        assert!(read.is_ok(), "the reader refuses {value:?}: {}", read.unwrap_err());
        let json = serde_json::to_value(toml::from_str::<toml::Table>(&text).unwrap()).unwrap();
        assert_eq!(faults(&validator, &json), [""; 0], "{value:?}");
    }
}

/// Faulty designs whose fault is in figures that belong together, which no schema sees.
const UNSEEN: [&str; 24] = [
    "actuator_length_of_other_lever",
    "actuator_length_toleranced",
    "actuator_out_of_reach",
    "ball_rod_axis_elsewhere",
    "ball_rod_fits_neither",
    "ball_rod_motor_elsewhere",
    "ball_rod_pin_on_its_axis",
    "gripper_without_a_finger",
    "mirrored_without_motor",
    "outside_the_standard",
    "over_tolerance_without_one",
    "pivots_axis_away",
    "pivots_coincide",
    "rated_over_peak",
    "robot_axis_not_parallel",
    "set_by_missing",
    "slider_nut_elsewhere",
    "stroke_beyond_a_hundred_turns",
    "stroke_empty",
    "stroke_reversed",
    "two_rods_mirror",
    "two_rods_pin_on_its_axis",
    "two_rods_rod_does_not_fit",
    "two_rods_roll_is_pitch",
];

#[test]
fn a_design_that_is_bad_in_its_structure_does_not_fit_the_schema() {
    let validator = validator("design");
    let mut fitting = BTreeSet::new();
    for path in files("models/bad") {
        // What is no TOML never comes before a schema.
        if as_json(&path).is_some_and(|design| validator.is_valid(&design)) {
            fitting.insert(path.file_stem().unwrap().to_str().unwrap().to_owned());
        }
    }
    assert_eq!(fitting, UNSEEN.map(str::to_owned).into());
}
