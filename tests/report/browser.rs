//! The page in a real browser: moved, read, printed, and looked at by an accessibility checker and an HTML validator.
//!
//! Needs Chromium (`UNLOOP_BROWSER`, else `/usr/bin/chromium`), Node 18.19 or later and npm; what `tests/browser/package.json`
//! names is put into `target/browser`.

use crate::command::PROGRAM;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn done(command: &mut Command) -> String {
    let output = command.output().unwrap_or_else(|e| panic!("{command:?}: {e}"));
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}\n{text}{errors}");
    text
}

/// The folder with the driver, the checker and the validator; made anew when their lock file changes.
fn tools() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap().join("browser");
    fs::create_dir_all(&folder).unwrap();
    let stamp = folder.join("installed.json");
    let wanted = fs::read(root().join("tests/browser/package-lock.json")).unwrap();
    for name in ["package.json", "package-lock.json", "page.mjs"] {
        fs::copy(root().join("tests/browser").join(name), folder.join(name)).unwrap();
    }
    if fs::read(&stamp).ok().as_ref() != Some(&wanted) {
        let arguments = ["ci", "--ignore-scripts", "--no-audit", "--no-fund"];
        done(Command::new("npm").args(arguments).current_dir(&folder));
        fs::write(&stamp, wanted).unwrap();
    }
    folder
}

fn browser() -> PathBuf {
    std::env::var_os("UNLOOP_BROWSER").map_or_else(|| "/usr/bin/chromium".into(), PathBuf::from)
}

fn models(designs: &[&str]) -> Vec<String> {
    designs.iter().map(|design| format!("models/{design}.toml")).collect()
}

/// The gripper of the models with pads that meet at the end of the stroke.
fn closing_gripper(folder: &Path) -> String {
    let text = fs::read_to_string(root().join("models/gripper_parallel.toml")).unwrap();
    let closes = text.replace("opening = \"50 mm\"", "opening = \"40 mm\"");
    assert_ne!(text, closes);
    let file = folder.join("gripper_closes.toml");
    fs::write(&file, closes).unwrap();
    file.to_str().unwrap().to_owned()
}

/// The page of design `files`, and beside it the table that one design's read-outs are held against.
fn write_page(folder: &Path, name: &str, files: &[String]) {
    let target = folder.join(format!("{name}.html"));
    done(Command::new(PROGRAM).arg("report").args(files).arg("-o").arg(target).current_dir(root()));
    if let [only] = files {
        fs::write(folder.join(format!("{name}.json")), poses(only).to_string()).unwrap();
    }
}

/// The poses of a page's slider: those of a planar four-bar evenly by its motor, those of another drive by its joint, and the
/// zero pose in its place.
fn poses(design: &str) -> Value {
    let steps = unloop::study::REVIEW_POSES.to_string();
    let over = if design.contains("drives/") { "joint" } else { "motor" };
    let mut table = stroke(design, &["--steps", &steps, "--over", over]);
    let rows = table["rows"].as_array_mut().unwrap();
    let motor = |row: &Value| row["motor_rad"].as_f64().unwrap();
    let reads = rows[0]["motor_reading_rad"].as_f64().unwrap() - motor(&rows[0]);
    let between = rows.windows(2).position(|pair| motor(&pair[0]) * motor(&pair[1]) < 0.0);
    let is_there = rows.iter().any(|row| motor(row).abs() < 1e-9);
    if let Some(before) = between.filter(|_| !is_there) {
        let at = format!("{} rad", reads);
        let zero = stroke(design, &["--at-motor", &at])["rows"][0].clone();
        rows.insert(before + 1, zero);
    }
    table
}

fn stroke(design: &str, which: &[&str]) -> Value {
    let mut stroke = Command::new(PROGRAM);
    stroke.args(["stroke", design, "--json"]).args(which).current_dir(root());
    serde_json::from_str(&done(&mut stroke)).unwrap()
}

#[test]
#[ignore = "needs Chromium, Node and npm; see \"How to add a test\" in DEVELOPERS.md"]
fn the_page_moves_reads_and_prints_as_a_reader_needs_it() {
    let tools = tools();
    let folder = tools.join("pages");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    // All tables; none but the linkage; tolerances; a negative ratio; pins; a ratio that runs away; two fingers: level pads, pads
    // that tilt, pads that meet; in two views; a nut on its guide; a screw; wheels; several on one page.
    let four_bars = ["ankle", "ankle_crossed", "ankle_toleranced", "wrist_reversed", "hip_pivots"];
    let grippers = ["gripper_finger", "gripper_parallel", "gripper_rocker_off"];
    let single = |name: &&'static str| (*name, models(&[name]));
    let drives = ["ball_rod_knee", "slider", "linear_actuator", "belt"];
    let drive = |name: &&'static str| (*name, models(&[&format!("drives/{name}")]));
    let mut pages: Vec<_> = four_bars.iter().chain(&grippers).map(single).collect();
    pages.extend(drives.iter().map(drive));
    pages.push(("gripper_closes", vec![closing_gripper(&folder)]));
    pages.push(("several", models(&["ankle_toleranced", "knee_halving", "hip_pivots"])));
    std::thread::scope(|scope| {
        for (name, files) in &pages {
            scope.spawn(|| write_page(&folder, name, files));
        }
    });
    let mut check = Command::new("node");
    check.arg("page.mjs").arg(&folder).arg(browser()).arg(PROGRAM).current_dir(&tools);
    let text = done(&mut check);
    assert!(text.contains(" 0 faults"), "{text}");
}
