//! What `check --proof` writes is shown by a checker that shares nothing with the program, and what is spoilt is refused.

use std::fs;
use std::path::PathBuf;
use std::thread;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::command::{errors, unloop};
use crate::venv;

const DESIGNS: [&str; 10] = [
    "models/ankle.toml",
    "models/ankle_crossed.toml",
    "models/ankle_toleranced.toml",
    "models/gripper_finger.toml",
    "models/hip_pivots.toml",
    "models/knee_halving.toml",
    "models/knee_offset.toml",
    "models/wrist_reversed.toml",
    "tests/data/kite_turning_back.toml",
    "tests/data/mirrored_seen_from_the_other_side.toml",
];

fn written(folder: &TempDir, name: &str, text: &str) -> PathBuf {
    let path = folder.path().join(name);
    fs::write(&path, text).unwrap();
    path
}

fn proof(folder: &TempDir, design: &str) -> (PathBuf, Vec<Value>) {
    let name = design.rsplit('/').next().unwrap();
    let path = folder.path().join(name).with_extension("json");
    _ = unloop(&["check", design, "--proof", path.to_str().unwrap()]).assert();
    let claims = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    (path, claims)
}

fn checked(path: &std::path::Path) -> (bool, String) {
    let output = venv::check_proof(path);
    let shown = String::from_utf8_lossy(&output.stdout).into_owned();
    (output.status.success(), shown + &String::from_utf8_lossy(&output.stderr))
}

fn claims_made(claims: &[Value]) -> impl Iterator<Item = &Value> {
    claims.iter().filter(|claim| claim.get("left_out").is_none())
}

#[test]
fn every_proof_of_the_models_is_shown_without_this_program_engine() {
    let folder = TempDir::new().unwrap();
    for design in DESIGNS {
        let (path, claims) = proof(&folder, design);
        let (accepted, told) = checked(&path);
        assert!(accepted, "{design}\n{told}");
        let made = claims_made(&claims).count();
        assert!(made >= 1, "{design}");
        assert_eq!(told.matches(": shown\n").count(), made, "{design}\n{told}");
    }
}

#[test]
fn a_proof_file_says_of_each_criterion_what_the_verdict_says() {
    let folder = TempDir::new().unwrap();
    let more = ["tests/data/kite_standing_still.toml", "tests/data/two_hips_on_a_pelvis.toml"];
    for design in DESIGNS.into_iter().chain(more) {
        let shown = unloop(&["check", "--json", design]).output().unwrap().stdout;
        let check: Value = serde_json::from_slice(&shown).unwrap();
        for criterion in check["criteria"].as_array().unwrap() {
            let claims = proof(&folder, design).1;
            let claim = claims.iter().find(|claim| claim["claim"] == criterion["name"]).unwrap();
            assert_eq!(claim["outcome"], criterion["outcome"], "{design} {}", claim["claim"]);
            let limit: f64 = claim["limit"].as_str().unwrap().parse().unwrap();
            assert_eq!(json!(limit), criterion["limit"], "{design}");
            fs::remove_file(
                folder.path().join(design.rsplit('/').next().unwrap()).with_extension("json"),
            )
            .unwrap();
        }
    }
}

/// The half-ratio knee with ±0.02 mm on each length, and its stroke.
fn toleranced(set_by: &str, stroke: &str) -> String {
    let mut text = fs::read_to_string("models/knee_halving.toml").unwrap();
    for length in ["40 mm", "75.8735 mm", "109.2644 mm"] {
        let drawn = length.replace(" mm", " ±0.02 mm");
        text = text.replace(&format!("\"{length}\""), &format!("\"{drawn}\""));
    }
    text.replace("[zero]", &format!("[zero]\nset_by = \"{set_by}\""))
        .replace("\"invisible\"", "\"training\"")
        .replace("[\"-30 deg\", \"30 deg\"]", stroke)
}

#[test]
fn a_general_four_bar_is_shown_within_its_tolerances_however_it_is_zeroed_engine() {
    let folder = TempDir::new().unwrap();
    for (set_by, stroke, trees) in [
        ("jig", "[\"-30 deg\", \"30 deg\"]", 2),
        ("drawing", "[\"-30 deg\", \"30 deg\"]", 3),
        ("jig", "[\"5 deg\", \"30 deg\"]", 3),
    ] {
        let design = written(&folder, "knee.toml", &toleranced(set_by, stroke));
        let (path, claims) = proof(&folder, design.to_str().unwrap());
        let (accepted, told) = checked(&path);
        assert!(accepted && told.contains("angle holds"), "{set_by} {stroke}\n{told}");
        // The sine on both sides, and the cosine where the error does not begin at none.
        assert_eq!(claims[0]["trees"].as_array().unwrap().len(), trees, "{set_by} {stroke}");
        let assembly = claims.iter().any(|claim| claim["claim"] == "assembly");
        assert_eq!(assembly, stroke.contains("\"5 deg\""));
        fs::remove_file(path).unwrap();
    }
}

#[test]
fn no_criterion_of_a_proof_takes_more_than_two_kilobytes() {
    let folder = TempDir::new().unwrap();
    for design in DESIGNS {
        for claim in proof(&folder, design).1 {
            assert!(claim.to_string().len() <= 2048, "{design} {}", claim["claim"]);
        }
    }
}

/// `text` with the part that `key` names in quotes changed by `change`.
fn with(claim: &Value, key: &str, change: impl Fn(&str) -> String) -> Value {
    let mut other = claim.clone();
    let place = other.pointer_mut(key).unwrap_or_else(|| panic!("{key}"));
    *place = json!(change(place.as_str().unwrap()));
    other
}

fn times(factor: f64) -> impl Fn(&str) -> String {
    move |text| format!("{:?}", text.parse::<f64>().unwrap() * factor)
}

fn without(place: usize) -> impl Fn(&str) -> String {
    move |tree| tree.char_indices().filter(|(k, _)| *k != place).map(|(_, c)| c).collect()
}

/// Copies of a claim that holds of which none is shown by its trees.
fn spoilt_proofs(claim: &Value) -> Vec<Value> {
    let mut all = Vec::new();
    for k in 0..2 {
        let tree = format!("/trees/{k}");
        let length = claim.pointer(&tree).unwrap().as_str().unwrap().len();
        all.extend([0, length / 2, length - 1].map(|place| with(claim, &tree, without(place))));
        all.push(with(claim, &tree, |text| format!("{text}.")));
        if length > 1 {
            all.push(with(claim, &tree, |text| format!(".{}", &text[1..])));
            all.push(with(claim, &tree, |_| ".".to_owned()));
        }
    }
    let mut one_tree = claim.clone();
    one_tree["trees"].as_array_mut().unwrap().truncate(1);
    all.push(one_tree);
    all.push(with(claim, "/domain/rocker/0", times(0.1)));
    all.push(with(claim, "/domain/coupler/1", times(3.0)));
    if claim["claim"] == "transmission_angle" {
        all.push(with(claim, "/limit", |_| "1.57".to_owned()));
    } else {
        all.push(with(claim, "/limit", times(1e-3)));
        all.push(with(claim, "/slope", times(1.3)));
    }
    all
}

/// Copies of a claim that fails of which none shows that it does.
fn spoilt_witnesses(claim: &Value) -> Vec<Value> {
    let mut all = vec![
        with(claim, "/witness/crank", times(1.1)),
        with(claim, "/witness/coupler", times(1.1)),
        with(claim, "/witness/rocker", times(0.9)),
        with(claim, "/witness/ground", times(0.9)),
        with(claim, "/witness/motor_turn", |text| {
            format!("{:?}", text.parse::<f64>().unwrap() + 0.1)
        }),
        with(claim, "/witness/half_tangent", times(1.01)),
        with(&with(claim, "/witness/figure/0", |_| "-9.0".into()), "/witness/figure/1", |_| {
            "9.0".into()
        }),
        with(claim, "/zero_crank", |text| format!("{:?}", text.parse::<f64>().unwrap() + 0.05)),
    ];
    let far = claim["witness"]["figure"].as_array().unwrap().iter();
    let far =
        far.map(|end| end.as_str().unwrap().parse::<f64>().unwrap().abs()).fold(0.0, f64::max);
    if claim["claim"] != "transmission_angle" {
        all.push(with(claim, "/limit", |_| format!("{:?}", far.min(1.0).asin().max(far) + 1e-6)));
        all.push(with(claim, "/slope", times(1.1)));
    }
    let mut turned = claim.clone();
    turned["outcome"] = json!("holds");
    all.push(turned);
    let mut both = claim.clone();
    for end in 0..2 {
        both = with(&both, &format!("/witness/figure/{end}"), times(1.5));
    }
    all.push(both);
    all
}

#[test]
fn twenty_and_more_spoilt_copies_of_each_proof_are_refused_with_a_word_engine() {
    let folder = TempDir::new().unwrap();
    thread::scope(|scope| {
        for half in DESIGNS.chunks(5) {
            scope.spawn(|| half.iter().for_each(|design| spoil(&folder, design)));
        }
    });
}

fn spoil(folder: &TempDir, design: &str) {
    let (path, claims) = proof(folder, design);
    let mut refused = 0;
    for claim in claims_made(&claims) {
        let copies = match claim["outcome"].as_str().unwrap() {
            "holds" => spoilt_proofs(claim),
            _ => spoilt_witnesses(claim),
        };
        for copy in copies {
            let stem = path.file_stem().unwrap().to_str().unwrap();
            let file = written(folder, &format!("{stem}_spoilt.json"), &json!([copy]).to_string());
            let (accepted, told) = checked(&file);
            assert!(!accepted && told.contains("REFUSED: "), "{design}\n{copy:#}\n{told}");
            refused += 1;
        }
    }
    assert!(refused >= 20, "{design}: {refused}");
}

#[test]
fn a_proof_is_never_written_over_a_file_or_of_two_designs() {
    let folder = TempDir::new().unwrap();
    let old = written(&folder, "old.json", "mine");
    let call = ["check", "models/ankle.toml", "--proof", old.to_str().unwrap()];
    assert!(errors(&unloop(&call).assert().code(2)).contains("exists and was left as it is"));
    assert_eq!(fs::read_to_string(&old).unwrap(), "mine");
    let new = folder.path().join("new.json");
    let two = ["check", "models/ankle.toml", "models/knee_offset.toml", "--proof"];
    let two = unloop(&two).arg(&new).assert().code(2);
    assert!(errors(&two).contains("one design at a time") && !new.exists());
}
