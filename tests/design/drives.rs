//! Designs of drives other than a planar four-bar: each model is read, and its sizes are as drawn.

use std::fs;
use std::path::PathBuf;

use unloop::design::{AnyDesign, Design, Drawn, read_any};
use unloop::drive::Kind;
use unloop::study::Driven;

fn file(name: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/models/drives")).join(name)
}

fn any(name: &str) -> AnyDesign {
    let path = file(name);
    let (design, warnings) = read_any(path.to_str().unwrap(), &fs::read(&path).unwrap())
        .unwrap_or_else(|rejected| panic!("{rejected}"));
    assert!(warnings.is_empty(), "{name}: {}", design.render(&warnings, false));
    design
}

fn drawn(name: &str) -> Design<Drawn> {
    match any(name) {
        AnyDesign::OneJoint(design) => *design,
        AnyDesign::FourBar(_) => panic!("{name} is a planar four-bar"),
    }
}

#[test]
fn every_model_of_a_drive_is_read_and_runs_over_its_stroke() {
    let mut kinds = Vec::new();
    for entry in fs::read_dir(file("")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let design = any(&name);
        kinds.push(design.kind());
        if let AnyDesign::OneJoint(design) = design {
            Driven::of(&design).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
        }
    }
    kinds.sort_unstable();
    kinds.dedup();
    let wanted: Vec<Kind> = Kind::ALL.into_iter().filter(|kind| *kind != Kind::TwoRods).collect();
    assert_eq!(kinds, wanted);
}
