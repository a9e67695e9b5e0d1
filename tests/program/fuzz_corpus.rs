//! The reader of design files under bytes that nobody would write: the fuzzer's corpus and the bad designs, cut
//! short anywhere, and with seeded damage. It never panics, and every message can be shown.
//!
//! The same target runs without end under `fuzz/`.

use crate::byte_damage::Tools;
use crate::damage::Damage;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// What the fuzz target does.
fn feed(bytes: &[u8]) {
    match unloop::design::read("fuzz.toml", bytes) {
        Ok((design, warnings)) => {
            assert!(design.geometry.ground.nominal > 0.0 && design.stroke.low < design.stroke.high);
            std::hint::black_box(design.render(&warnings, true));
        }
        Err(rejected) => {
            assert!(rejected.render(false).contains("error"), "rejected without a word")
        }
    }
}

fn seeds() -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    for folder in ["tests/corpus/design", "models/bad"] {
        let entries = fs::read_dir(root.join(folder)).unwrap().map(|entry| entry.unwrap().path());
        paths.extend(entries.filter(|path| path.extension().is_some_and(|ext| ext == "toml")));
    }
    paths.sort();
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

const WORDS: [&str; 30] = [
    "\"",
    "'",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "=",
    ",",
    ".",
    "\n",
    "\r\n",
    "\t",
    "#",
    "±",
    "+/-",
    "µ",
    "1e400",
    "-0",
    "nan",
    "inf",
    "[robot]",
    "[linkage]",
    "true",
    "\\",
    " mm",
    " deg",
    "\u{feff}",
];

#[test]
fn no_seed_cut_short_makes_the_reader_panic() {
    for seed in seeds() {
        let step = 1 + seed.len() / 200;
        for end in (0..=seed.len()).step_by(step) {
            feed(&seed[..end]);
            feed(&seed[end..]);
        }
    }
}

#[test]
fn no_damaged_seed_makes_the_reader_panic() {
    let seeds = seeds();
    let mut damage = Damage(0x9e37_79b9_7f4a_7c15);
    let tools = Tools { words: &WORDS, seeds: &seeds, most: 80 };
    for seed in &seeds {
        for _ in 0..60 {
            let mut bytes = seed.clone();
            for _ in 0..=damage.below(6) {
                damage.apply(&mut bytes, &tools, &[]);
            }
            feed(&bytes);
        }
    }
}

#[test]
fn a_mebibyte_of_anything_is_answered_within_seconds() {
    let units = [
        "[",
        "{a=",
        "a.",
        "a\n",
        "a=\n",
        "=",
        "\"",
        "\"x\" ",
        "x",
        "[a]\n",
        "[[robot]]\n",
        "[[robot]]\njoint=\"j\"\n",
        "a = [1,\n",
        "\u{0}",
        "±",
        "\r",
        "'''",
        "# x\n",
        "[robot.a]\n",
        "x=[[[[]]]] ",
        "1,",
        ", ",
        "]",
    ];
    let numbered: String = (0..60_000).map(|n| format!("key{n} = {n}\n")).collect();
    let texts = units.iter().map(|unit| unit.repeat((1 << 20) / unit.len()));
    let figures = ["\"1", "[1", "[\"1 mm\"", "\"1 "]
        .map(|head| format!("name = {head}{}", "0,".repeat(1 << 18)));
    for text in texts.chain([numbered]).chain(figures) {
        let start = Instant::now();
        feed(text.as_bytes());
        let took = start.elapsed();
        assert!(
            took < Duration::from_secs(20),
            "{took:?} for {:?}",
            &text.chars().take(12).collect::<String>()
        );
    }
}
