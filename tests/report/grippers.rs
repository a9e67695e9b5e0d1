//! The screens of a gripper whose pad rides on the coupler: page, pictures, loads, ranges.

use std::fs;

use crate::command::{errors, output, run};
use crate::page::{page, pictures};
use serde_json::Value;
use tempfile::TempDir;

const GRIPPER: &str = "models/gripper_parallel.toml";
const ROCKER_OFF: &str = "models/gripper_rocker_off.toml";

/// The points of a moving part of the first drawing.
fn part(page: &str, name: &str) -> Vec<[f64; 2]> {
    let drawing = pictures(page).into_iter().find(|p| p.contains("class=\"drawing\"")).unwrap();
    let document = roxmltree::Document::parse(drawing).unwrap();
    let line = document.descendants().find(|n| n.attribute("data-part") == Some(name));
    let points = line.unwrap_or_else(|| panic!("{name}")).attribute("points").unwrap();
    let number = |text: &str| text.parse::<f64>().unwrap();
    let pair = |at: &str| at.split_once(',').map(|(x, y)| [number(x), number(y)]).unwrap();
    points.split(' ').map(pair).collect()
}

#[test]
fn a_gripper_shows_both_fingers_with_their_pads_as_mirror_images() {
    let page = page(&[ROCKER_OFF]);
    let (pad, other) = (part(&page, "pad"), part(&page, "pad-2"));
    // The opening between the pads is to scale: 50 mm in the zero pose, the ground 20 mm.
    let ground = part(&page, "rocker")[0][0] - part(&page, "crank")[0][0];
    let [tip, other_tip] = ["finger", "finger-2"].map(|name| part(&page, name)[1]);
    assert!((((tip[0] - other_tip[0]) / ground) - 2.5).abs() < 0.02, "{tip:?} {other_tip:?}");
    let middle = 0.5 * (tip[0] + other_tip[0]);
    for name in ["crank", "coupler", "rocker", "finger"] {
        let [mine, its] = [name.to_owned(), format!("{name}-2")].map(|name| part(&page, &name));
        for ([x, y], [u, v]) in mine.iter().zip(its) {
            assert!((x + u - 2.0 * middle).abs() < 0.11 && (y - v).abs() < 0.11, "{name}");
        }
    }
    assert!(pad[0][0] > middle && other[0][0] < middle);
}

#[test]
fn a_finger_against_a_fixed_face_is_drawn_alone() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(GRIPPER).unwrap().replace("\"mirrored\"", "\"none\"");
    let path = folder.path().join("one.toml");
    fs::write(&path, text).unwrap();
    let page = page(&[path.to_str().unwrap()]);
    assert!(page.contains("data-part=\"pad\"") && !page.contains("data-part=\"pad-2\""));
    assert!(page.contains("class=\"i-pad\"") && page.contains("one finger against a fixed face"));
}

#[test]
fn a_gripper_offers_no_joint_that_rides_on_its_rocker() {
    let page = page(&[GRIPPER]);
    assert!(page.contains("counter-turning pair"));
    for word in
        ["Joint to paste", "motor_sign", "joint torque", "id=\"d1-ratio\"", "id=\"d1-angle\""]
    {
        assert!(!page.contains(word), "{word}");
    }
    let what_first =
        ["<dt>Opening</dt>", "<dt>Tilt</dt>", "<dt>Grip</dt>", "<dt>Into the simulator</dt>"];
    let places: Vec<usize> = what_first.iter().map(|what| page.find(what).unwrap()).collect();
    assert!(places.is_sorted() && places[3] < page.find("id=\"d1-linkage\"").unwrap());
}

#[test]
fn what_a_gripper_offers_to_paste_is_what_emit_writes_and_hangs_the_pad_on_the_crank() {
    let page = page(&[GRIPPER]);
    let emitted = output(&run(&["emit", GRIPPER, "--to", "urdf", "-o", "-"]).code(0));
    let shown = emitted.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    let shown = shown.replace('"', "&quot;").replace('\'', "&#39;");
    // The joint leads; what the file says of it in its comments is folded below.
    let lines: Vec<&str> = shown.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    assert!(lines.len() > 30);
    for line in lines.into_iter().filter(|line| !line.contains("--")) {
        assert!(page.contains(line), "{line}");
    }
    let design: toml::Table = fs::read_to_string(GRIPPER).unwrap().parse().unwrap();
    let name = |key: &str| design["robot"][0][key].as_str().unwrap().to_owned();
    let driver = format!("<joint name=\"{}\"", name("joint"));
    let driver = emitted.split(&driver).nth(1).unwrap().split("</joint>").next().unwrap();
    assert!(!driver.contains(&format!("<child link=\"{}\"", name("child"))), "{driver}");
}

#[test]
fn a_gripper_has_curves_over_its_motor_and_none_of_a_constant() {
    let [exact, off] = [GRIPPER, ROCKER_OFF].map(|design| page(&[design]));
    for name in ["opening", "grip", "transmission"] {
        assert!(exact.contains(&format!("id=\"d1-{name}\"")), "{name}");
    }
    assert!(!exact.contains("id=\"d1-tilt\"") && off.contains("id=\"d1-tilt\""));
    assert!(
        exact.contains("Worst tilt of every build")
            && exact.contains("motor angle from the zero pose, deg")
    );
    assert!(!exact.contains("joint angle from the zero pose"));
}

#[test]
fn every_picture_of_a_gripper_is_one_of_its_page() {
    let folder = tempfile::tempdir().unwrap();
    let page = page(&[ROCKER_OFF]);
    for (command, titles) in [
        ("check", &["Tilt over the stroke"][..]),
        ("stroke", &["Opening over the stroke", "Tilt over the stroke", "Grip over the stroke"]),
        ("tolerance", &["worst tilt over the stroke, deg"]),
        ("loads", &["Grip over the stroke"]),
    ] {
        let file = folder.path().join(format!("{command}.svg"));
        run(&[command, ROCKER_OFF, "--plot", file.to_str().unwrap()]).code(0);
        let svg = fs::read_to_string(file).unwrap();
        for title in titles {
            assert!(page.contains(title), "{title}");
        }
        for wrong in ["transmission ratio", "joint torque", "angle error", "rod force"] {
            assert!(!svg.contains(wrong), "{command}: {wrong}");
        }
    }
}

// Loads

/// The parallel gripper with some of its text replaced, as a file in `folder`.
fn changed(folder: &TempDir, changes: &[(&str, &str)], more: &str) -> String {
    let mut text = fs::read_to_string(GRIPPER).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let path = folder.path().join("changed.toml");
    fs::write(&path, format!("{text}\n{more}")).unwrap();
    path.to_str().unwrap().to_owned()
}

fn loads(design: &str) -> Value {
    serde_json::from_str(&output(&run(&["loads", design, "--json"]).code(0))).unwrap()
}

fn figure(found: &Value, at: &str) -> f64 {
    found.pointer(at).unwrap_or_else(|| panic!("{at}")).as_f64().unwrap()
}

const PINS: &str = "[pins]\nmotor = { fit = \"4 mm H7/g6\", width = \"5 mm\" }\ncrank = { fit = \"4 mm H7/g6\", width = \"5 mm\" }\n";

#[test]
fn loads_of_a_gripper_tell_its_grip_and_nothing_of_a_driven_rocker() {
    let found = loads(GRIPPER);
    // τ/(2 a cos α) at crank 90 and 60 deg; one pad alone bears both.
    assert!((figure(&found, "/finger/peak/grip_guaranteed_n/value") - 1.2 / 0.08).abs() < 1e-9);
    let best = 1.2 / (0.08 * 30_f64.to_radians().cos());
    assert!((figure(&found, "/finger/peak/grip_at_best_n/value") - best).abs() < 1e-9);
    assert!((figure(&found, "/finger/peak/one_pad_alone_n/value") - 2.0 * best).abs() < 1e-9);
    assert!((figure(&found, "/finger/rated/grip_guaranteed_n/value") - 0.5 / 0.08).abs() < 1e-9);
    for key in ["smallest_rod_arm_m", "peak", "rated", "joint_speed_rad_per_s", "buckling"] {
        assert!(found[key].is_null(), "{key}");
    }
    let text = output(&run(&["loads", GRIPPER]).code(0));
    for words in
        ["each pad grips with at least 15.00 N at motor 0.0 deg", "one pad alone", "toggle"]
    {
        assert!(text.contains(words), "{words}\n{text}");
    }
    for words in ["joint torque", "rod force", "at joint"] {
        assert!(!text.contains(words), "{words}");
    }
    assert!(loads("models/ankle.toml")["finger"].is_null());
}

#[test]
fn every_build_within_tolerance_grips_between_what_is_told() {
    let found = loads(GRIPPER);
    let [low, high] =
        [0, 1].map(|k| figure(&found, &format!("/finger/peak/grip_within_tolerances_n/{k}")));
    // Both arms longest or shortest leave a parallelogram.
    for (crank, alpha) in [(40.02e-3, 0.0_f64), (39.98e-3, 30.0)] {
        let grip = 1.2 / (2.0 * crank * alpha.to_radians().cos());
        assert!(low <= grip && grip <= high, "{low} {grip} {high}");
    }
    assert!(low > 0.99 * 15.0 && high < 1.01 * 17.3206, "{low} {high}");
}

#[test]
fn friction_in_the_pins_takes_off_the_guaranteed_grip_and_pins_are_told_their_pressure() {
    let folder = tempfile::tempdir().unwrap();
    let more = format!("{PINS}friction = 0.1\n[rod]\nouter = \"6 mm\"\n");
    let design = changed(&folder, &[], &more);
    let found = loads(&design);
    let guaranteed = figure(&found, "/finger/peak/grip_guaranteed_n/value");
    let left = figure(&found, "/finger/pin_efficiency/value");
    assert!(guaranteed < 15.0 && guaranteed > 13.0 && left < 1.0, "{guaranteed} {left}");
    assert!((figure(&found, "/finger/peak/grip_at_best_n/value") - 17.320_508).abs() < 1e-5);
    let [force, pressure] = ["force_n", "bearing_pressure_pa"]
        .map(|key| figure(&found, &format!("/finger/peak/pins/0/{key}")));
    assert!((pressure / (force / (4e-3 * 5e-3)) - 1.0).abs() < 1e-9);
    let text = output(&run(&["loads", &design]).code(0));
    for words in
        ["[rod] is read and not used", "rocker pin Q, joint pin B", "of the motor's torque arrives"]
    {
        assert!(text.contains(words), "{words}\n{text}");
    }
}

#[test]
fn one_finger_against_a_face_has_the_whole_torque_and_no_other_pad() {
    let folder = tempfile::tempdir().unwrap();
    let design = changed(&folder, &[("\"mirrored\"", "\"none\"")], "");
    let found = loads(&design);
    assert!((figure(&found, "/finger/peak/grip_guaranteed_n/value") - 1.2 / 0.04).abs() < 1e-9);
    assert!(found["finger"]["peak"]["one_pad_alone_n"].is_null());
    assert!(!output(&run(&["loads", &design]).code(0)).contains("one pad alone"));
}

#[test]
fn a_toggle_inside_the_stroke_is_told_at_the_users_own_line_and_not_as_a_force() {
    let folder = tempfile::tempdir().unwrap();
    // Cranks that stand square to the closing direction in the middle of the stroke.
    let design = changed(&folder, &[("closing = [-1.0, 0.0]", "closing = [0.0, 1.0]")], "");
    let refused = run(&["loads", &design]).code(2);
    assert!(errors(&refused).contains("toggle lies inside"), "{}", errors(&refused));
    assert!(errors(&refused).contains("motor = [\"-30 deg\""));
    assert_eq!(output(&refused), "");
    let page = page(&[&design]);
    assert!(page.contains("toggle lies inside") && !page.contains("NaN") && !page.contains(" inf"));
}

// Readings and ranges

#[test]
fn every_screen_of_a_gripper_is_told_at_motor_readings() {
    let folder = tempfile::tempdir().unwrap();
    let reads = ("set_by = \"jig\"", "set_by = \"jig\"\nmotor_reads = \"100 deg\"");
    let stroke = ("[\"-30 deg\", \"30 deg\"]", "[\"70 deg\", \"130 deg\"]");
    let design = changed(&folder, &[reads, stroke], "");
    let text = output(&run(&["loads", &design]).code(0));
    for words in ["15.00 N at motor 100.0 deg", "at motor 10.0 deg, 60.0 deg beyond the stroke"] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let page = page(&[&design]).replace('\u{a0}', " ");
    for words in ["motor reading, deg", "over motor 70.0…130.0 deg", "15.00 N at motor 100.0 deg"]
    {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn ranges_of_a_gripper_are_those_of_its_stand_in() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ranges.toml");
    let target = file.to_str().unwrap();
    run(&["tolerance", GRIPPER, "--samples", "2000", "--ranges", target]).code(0);
    let ranges: toml::Table = fs::read_to_string(&file).unwrap().parse().unwrap();
    let number = |table: &str, key: &str| ranges[table][key].as_float().unwrap();
    assert!(number("multiplier", "low_seen") < -1.0 && number("multiplier", "high_seen") > -1.0);
    assert!(
        number("tilt_rad", "low_certified") < 0.0 && number("tilt_rad", "high_certified") > 0.0
    );
    assert!(!ranges.contains_key("ratio") && !ranges.contains_key("armature_kg_m2"));
}
