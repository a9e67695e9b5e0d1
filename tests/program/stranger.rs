//! A stranger's path, from pins in CAD to a joint that moves in a simulator: in an empty folder, with what the README says there
//! and nothing else.
#![cfg(unix)]

use std::fs;

use crate::readme::{as_it_is, root};
use crate::venv;

/// The section of the README below a heading.
fn section(heading: &str) -> String {
    let page = fs::read_to_string(root().join("README.md")).unwrap();
    let (_, rest) = page.split_once(&format!("\n## {heading}\n")).unwrap();
    rest.split("\n## ").next().unwrap().to_owned() + "\n"
}

#[test]
fn what_the_readme_says_leads_from_cad_pins_to_a_model_in_an_empty_folder() {
    let folder = tempfile::tempdir().unwrap();
    let written = section("From CAD to the simulator");
    assert_eq!(as_it_is(&written, folder.path()), written);
    let model = fs::read_to_string(folder.path().join("hip.xml")).unwrap();
    let document = roxmltree::Document::parse(&model).unwrap();
    let joints: Vec<_> = document.descendants().filter(|node| node.has_tag_name("joint")).collect();
    assert_eq!(joints.len(), 1, "{model}");
    assert_eq!(joints[0].attribute("name"), Some("left_hip_roll"));
}

#[test]
fn the_engine_moves_the_strangers_joint_over_its_stroke() {
    let folder = tempfile::tempdir().unwrap();
    as_it_is(&section("From CAD to the simulator"), folder.path());
    let moved = std::process::Command::new(venv::ready().join("bin/python"))
        .arg(root().join("tests/scripts/stranger.py"))
        .arg(folder.path().join("hip.xml"))
        .output()
        .unwrap();
    let said = String::from_utf8(moved.stdout).unwrap();
    assert!(moved.status.success(), "{}", String::from_utf8_lossy(&moved.stderr));
    // Torque from the motor's peak; the ends of the stroke as the design has them.
    assert_eq!(said, "left_hip_roll 1 80.0 -25.0 35.0\n");
}
