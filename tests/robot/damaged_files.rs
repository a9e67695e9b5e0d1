//! The readers of robot files under bytes that nobody would write: the fuzzer's corpus and the bad files, cut short
//! anywhere, and with seeded damage. They never panic, every message can be shown, and what is read points at links
//! that exist.
//!
//! The same targets run without end under `fuzz/`.

use crate::byte_damage::Tools;
use crate::damage::Damage;
use std::fs;
use std::path::Path;

use unloop::robot::Robot;

/// What the fuzz targets do; whether the file was read.
fn feed(bytes: &[u8]) -> bool {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    match unloop::robot::read("fuzz", bytes.to_vec(), none) {
        Ok(robot) => {
            must_hold_together(&robot);
            true
        }
        Err(rejected) => {
            assert!(rejected.render(false).contains("error"), "rejected without a word");
            assert!(rejected.diagnostics.iter().all(|fault| fault.help.is_some()));
            false
        }
    }
}

fn must_hold_together(robot: &Robot) {
    for joint in &robot.joints {
        assert!(joint.parent < robot.links.len() && joint.child < robot.links.len());
        let length = joint.axis.norm();
        assert!(length.abs() < 1e-9 || (length - 1.0).abs() < 1e-9, "{}: {length}", joint.name);
        assert!(joint.limit.is_none_or(|[low, high]| low <= high));
    }
    for closure in &robot.closures {
        assert!(closure.links.iter().all(|link| *link < robot.links.len()));
    }
    for coupling in &robot.couplings {
        let mut joints = coupling.leader.into_iter().chain([coupling.follower]);
        assert!(joints.all(|joint| joint < robot.joints.len()));
    }
    for actuator in &robot.actuators {
        assert!(actuator.joint < robot.joints.len());
    }
    for remark in &robot.remarks {
        assert!(robot.whereabouts(remark.place).starts_with("fuzz:"));
    }
}

const FOLDERS: [&str; 5] = [
    "tests/corpus/urdf",
    "tests/corpus/sdformat",
    "tests/corpus/mjcf",
    "models/robots",
    "models/robots/bad",
];

fn seeds() -> Vec<Vec<u8>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    for folder in FOLDERS {
        let entries = fs::read_dir(root.join(folder)).unwrap().map(|entry| entry.unwrap().path());
        paths.extend(entries.filter(|p| {
            p.extension().is_some_and(|e| ["urdf", "sdf", "xml"].iter().any(|s| e == *s))
        }));
    }
    paths.sort();
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// What one attribute says goes into another: the file stays well-formed and means something else.
fn exchange_values(damage: &mut Damage, bytes: &mut Vec<u8>) {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let mut parts: Vec<&str> = text.split('"').collect();
    let values = parts.len() / 2;
    let (from, to) = (2 * damage.below(values) + 1, 2 * damage.below(values) + 1);
    if from < parts.len() && to < parts.len() {
        parts[to] = parts[from];
    }
    *bytes = parts.join("\"").into_bytes();
}

const WORDS: [&str; 37] = [
    "\"",
    "'",
    "<",
    ">",
    "/>",
    "</",
    "<!--",
    "-->",
    "<![CDATA[",
    "]]>",
    "<?",
    "?>",
    "&amp;",
    "&x;",
    "=",
    "::",
    " ",
    "\n",
    "\r\n",
    "\u{feff}",
    "±",
    "1e400",
    "-0",
    "nan",
    "inf",
    "1e-320",
    "<link name=\"a\"/>",
    " name=\"a\"",
    "world",
    "__model__",
    "<pose>",
    "${x}",
    "<default class=\"a\">",
    " class=\"a\"",
    "<frame>",
    "<include file=\"a\"/>",
    "-1e200",
];

#[test]
fn no_robot_file_cut_short_makes_the_reader_panic() {
    for seed in seeds() {
        let step = 1 + seed.len() / 200;
        for end in (0..=seed.len()).step_by(step) {
            feed(&seed[..end]);
            feed(&seed[end..]);
        }
    }
}

#[test]
fn no_damaged_robot_file_makes_the_reader_panic() {
    let seeds = seeds();
    let mut damage = Damage(0x9e37_79b9_7f4a_7c15);
    let tools = Tools { words: &WORDS, seeds: &seeds, most: 120 };
    let mut read = 0;
    for seed in &seeds {
        for _ in 0..100 {
            let mut bytes = seed.clone();
            for _ in 0..=damage.below(3) {
                damage.apply(&mut bytes, &tools, &[exchange_values]);
            }
            read += usize::from(feed(&bytes));
        }
    }
    assert!(read > 50, "{read} are still read: the damage reaches past the XML");
}

#[test]
fn a_mebibyte_of_anything_is_no_robot_and_no_panic() {
    let units = [
        "<a>",
        "<a/>",
        "<",
        "<!-- ",
        "<robot",
        "<robot name=\"a\">",
        "&amp;",
        "\u{0}",
        "±",
        "=",
        "\"",
        "</a>",
        "<link name=\"a\"/>",
        "<?x ?>",
        "<![CDATA[",
        "]]>",
        "<body name=\"a\"/>",
        "<body><frame>",
        "<body><joint axis=\"0 1 0\"/></body>",
    ];
    for unit in units {
        let many = unit.repeat((1 << 20) / unit.len());
        feed(many.as_bytes());
        feed(format!("<mujoco>{many}</mujoco>").as_bytes());
        feed(format!("<mujoco><worldbody>{many}</worldbody></mujoco>").as_bytes());
        feed(format!("<robot>{many}</robot>").as_bytes());
        feed(format!("<sdf version=\"1.9\"><model name=\"m\">{many}</model></sdf>").as_bytes());
    }
}
