//! Robot files with loops under seeded damage: whatever still reads is searched, and each loop folded or refused in words.
//! A folded file reads again, and what the fold did not change stands in it byte for byte.
//!
//! The same target runs without end under `fuzz/`.

use super::fold::PLAIN;
use crate::changed_structure;
use crate::damage::Damage;
use crate::venv;

use std::fs;
use std::path::Path;

use unloop::design::Preset;
use unloop::handover::Form;
use unloop::handover::find::{FindOptions, find, state_loops};
use unloop::handover::fold::{FoldOptions, fold};
use unloop::robot::{Document, Edits, Robot, RobotRejected};

const OPTIONS: FoldOptions = FoldOptions { anyway: true, ..PLAIN };

fn models() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("models/robots")
}

fn read(bytes: &[u8]) -> Result<Robot, Box<RobotRejected>> {
    unloop::robot::read(
        "fuzz",
        bytes.to_vec(),
        &mut |_: &str| Err("nothing is included".to_owned()),
    )
}

/// How many loops were folded.
fn feed(bytes: &[u8], stated: Option<&str>, options: FoldOptions) -> usize {
    let Ok(mut robot) = read(bytes) else { return 0 };
    if let Some(stated) = stated {
        let _ = state_loops(&mut robot, stated);
    }
    let mut count = 0;
    for found in find(&robot, FindOptions::new(Preset::Coarse)) {
        match fold(&robot, &found, options) {
            Ok(folded) => {
                count += 1;
                let again = read(folded.text.as_bytes());
                assert!(again.is_ok(), "{}\n{}", again.unwrap_err(), folded.text);
            }
            Err(faults) => {
                assert!(!faults.is_empty() && faults.iter().all(|f| f.diagnostic.help.is_some()))
            }
        }
    }
    count
}

/// A digit, a sign or a piece of a line changed: much of it still reads.
fn change_a_line(damage: &mut Damage, bytes: &mut Vec<u8>) {
    let digits: Vec<usize> = (0..bytes.len()).filter(|at| bytes[*at].is_ascii_digit()).collect();
    let at = digits[damage.below(digits.len())];
    match damage.below(6) {
        0..=2 => bytes[at] = b'0' + damage.below(10) as u8,
        3 => bytes.insert(at, b'-'),
        4 => drop(bytes.drain(at..(at + damage.below(12)).min(bytes.len()))),
        _ => {
            let line = bytes[..at].iter().rposition(|b| *b == b'\n').map_or(0, |p| p + 1);
            let end =
                bytes[at..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |p| at + p + 1);
            let copy = bytes[line..end].to_vec();
            if damage.below(2) == 0 {
                bytes.drain(line..end);
            } else {
                bytes.splice(line..line, copy);
            }
        }
    }
}

#[test]
fn damaged_robots_are_folded_or_refused_and_what_is_folded_reads_again() {
    let stated = fs::read_to_string(models().join("leg.loops.toml")).unwrap();
    let mut damage = Damage(0x9e37_79b9_7f4a_7c15);
    let mut folded = 0;
    for (name, stated) in [("leg.urdf", Some(stated.as_str())), ("leg.xml", None)] {
        let text = fs::read(models().join(name)).unwrap();
        for round in 0..400 {
            let mut bytes = text.clone();
            for _ in 0..=round % 4 {
                change_a_line(&mut damage, &mut bytes);
            }
            let options = FoldOptions {
                model: if round % 3 == 0 { Form::Coupled } else { Form::Direct },
                keep_visuals: round % 3 == 1,
                ..OPTIONS
            };
            folded += feed(&bytes, stated, options);
        }
    }
    assert!(folded > 100, "the damage leaves too little to fold: {folded}");
}

#[test]
fn folding_nothing_gives_the_same_bytes() {
    for entry in fs::read_dir(models()).unwrap() {
        let path = entry.unwrap().path();
        let Ok(bytes) = fs::read(&path) else { continue };
        let Ok(document) = Document::read("x", bytes.clone()) else { continue };
        assert_eq!(Edits::default().apply(&document).unwrap().into_bytes(), bytes);
    }
}

#[test]
fn seeded_edits_change_their_own_bytes_and_no_other() {
    let text = fs::read_to_string(models().join("leg.urdf")).unwrap();
    let document = Document::read("x", text.clone().into_bytes()).unwrap();
    let elements: Vec<_> = document.root().descendants().skip(1).collect();
    let mut damage = Damage(7);
    for _ in 0..300 {
        let mut edits = Edits::default();
        let mut places = Vec::new();
        for _ in 0..4 {
            let element = elements[damage.below(elements.len())];
            match damage.below(3) {
                0 => edits.remove(element),
                1 => edits.set(element, "name", "other"),
                _ => edits.insert(element.range().end, "<new/>"),
            }
        }
        places.extend(edits.places().cloned());
        let Ok(new) = edits.apply(&document) else { continue };
        // Take the places out of the old text: what is left is a subsequence of pieces of the new one, in order.
        places.sort_by_key(|place| (place.start, place.end));
        let (mut at, mut found) = (0, 0);
        for place in places.iter().chain([&(text.len()..text.len())]) {
            let kept = text.get(at..place.start.max(at)).unwrap();
            found +=
                new[found..].find(kept).unwrap_or_else(|| panic!("{kept:?} is lost")) + kept.len();
            at = at.max(place.end);
        }
    }
}

/// A short run of `benches/fold_attack.rs`, which goes on for as long as it is told.
#[test]
fn in_the_engine_what_folds_after_an_attack_on_its_structure_still_loads() {
    let text = fs::read_to_string(models().join("leg.xml")).unwrap();
    let mut attack = changed_structure::Attack::new(5);
    let mut pairs = String::new();
    let mut kept = Vec::new();
    for round in 0..300 {
        let Some(changed) = attack.changed(&text) else { continue };
        let Ok(robot) = read(changed.as_bytes()) else { continue };
        let options = FoldOptions { anyway: round % 2 == 0, ..OPTIONS };
        for found in find(&robot, FindOptions::new(Preset::Coarse)) {
            let Ok(folded) = fold(&robot, &found, options) else { continue };
            let pair = serde_json::json!({ "closed": changed, "folded": folded.text });
            pairs.push_str(&format!("{pair}\n"));
            kept.push((changed.clone(), folded.text));
        }
    }
    let output = venv::script("loads_still.py", &pairs);
    let answers = String::from_utf8(output.stdout).unwrap();
    assert_eq!(answers.lines().count(), kept.len());
    assert!(answers.lines().filter(|answer| *answer == "ok").count() > 10, "{answers}");
    for (answer, (closed, folded)) in answers.lines().zip(kept) {
        assert!(matches!(answer, "ok" | "input"), "{answer}\n{closed}\n-----\n{folded}");
    }
}
