//! Slips of the pen: none is said of a design such as a workshop draws, most are said of one that has a slip put in.

use crate::realistic;

use realistic::{Realistic, designs};
use unloop::design::{self, Design};
use unloop::diagnostic::Code;
use unloop::study::{self, Mechanism};

const SLIPS: [Code; 6] = [
    Code::RadiansAsDegrees,
    Code::DegreesAsRadians,
    Code::UnitDiffers,
    Code::AxisDoesNotFit,
    Code::PinsSwapped,
    Code::LengthOutOfScale,
];

fn read(text: &str) -> Design {
    design::parse("slip.toml", text).unwrap_or_else(|rejected| panic!("{rejected}")).0
}

/// Slips said of a design: as warnings, or in the help of the fault that it earns.
fn said(text: &str) -> Vec<String> {
    let design = match design::parse("slip.toml", text) {
        Ok((design, _)) => design,
        Err(rejected) => return vec![rejected.render(false)],
    };
    match Mechanism::of(&design) {
        Ok(_) => {
            let slips = study::slips(&design).into_iter().filter(|w| SLIPS.contains(&w.code));
            slips.map(|w| format!("{}: {}", w.code, w.message)).collect()
        }
        Err(faults) => faults.into_iter().map(|f| f.help).filter(|h| h.contains("slip")).collect(),
    }
}

/// Motor, joint, crank pin and rocker pin in the drawing, mm, x along the ground.
fn pins(design: &Realistic) -> [[f64; 2]; 4] {
    let drawn = read(&design.text("d"));
    let mechanism = Mechanism::of(&drawn).unwrap();
    let [ground, crank, _, rocker] = design.metres().map(|one| 1e3 * one[0]);
    let (phi, psi) = (mechanism.branch.zero_crank(), mechanism.branch.zero_rocker());
    [
        [0.0, 0.0],
        [ground, 0.0],
        [crank * phi.cos(), crank * phi.sin()],
        [ground + rocker * psi.cos(), rocker * psi.sin()],
    ]
}

/// The design as pins with three coordinates: the drawing's x is z and its y is x, so that +y points at the reader.
fn pinned_text(design: &Realistic, pins: [[f64; 2]; 4], axis: &str, units: [&str; 4]) -> String {
    let [from, to] = design.motor;
    let mut text = format!("name = \"p\"\n[pivots]\naxis = {axis}\n");
    for ((key, [x, y]), unit) in ["motor", "joint", "crank", "rocker"].iter().zip(pins).zip(units) {
        // Counter-clockwise about +y takes z to x.
        text.push_str(&format!("{key} = [\"{y:.3} {unit}\", \"0 {unit}\", \"{x:.3} {unit}\"]\n"));
    }
    text.push_str(&format!("[stroke]\nmotor = [\"{from:.2} deg\", \"{to:.2} deg\"]\n"));
    text
}

const MM: [&str; 4] = ["mm"; 4];

fn some(count: usize) -> Vec<Realistic> {
    designs(20_261_126).take(count).collect()
}

#[test]
fn no_slip_is_said_of_two_thousand_designs_as_workshops_draw_them() {
    for (number, design) in some(2000).iter().enumerate() {
        let text = design.text(&format!("d{number}"));
        assert_eq!(said(&text), [""; 0], "{text}");
        let pinned = pinned_text(design, pins(design), "[0, 1, 0]", MM);
        assert_eq!(said(&pinned), [""; 0], "{pinned}");
    }
}

#[test]
fn units_may_be_mixed_without_a_word_as_long_as_the_sizes_fit() {
    for design in some(400) {
        let metres = design.metres().map(|one| one[0]);
        for (odd, (unit, factor)) in
            (0..4).flat_map(|k| [("m", 1.0), ("cm", 1e2), ("in", 1.0 / 0.0254)].map(|u| (k, u)))
        {
            let lengths =
                ["ground", "crank", "coupler", "rocker"].iter().enumerate().map(|(k, key)| {
                    if k == odd {
                        format!("{key} = \"{:.7} {unit}\"\n", metres[k] * factor)
                    } else {
                        format!("{key} = \"{:.4} mm\"\n", metres[k] * 1e3)
                    }
                });
            let text = format!(
                "name = \"m\"\n[linkage]\n{}[zero]\ncrank = \"{:.2} deg\"\nrocker = \"{:.2} deg\"\n\
                 [stroke]\nmotor = [\"{:.2} deg\", \"{:.2} deg\"]\n",
                lengths.collect::<String>(),
                design.zero[0],
                design.zero[1],
                design.motor[0],
                design.motor[1]
            );
            assert_eq!(said(&text), [""; 0], "{text}");
        }
    }
}

#[test]
fn pins_that_stand_apart_along_the_axis_are_no_slip() {
    for design in some(400) {
        let at = pins(&design);
        for apart in [5.0, 14.0, 40.0] {
            let mut text = pinned_text(&design, at, "[0, 1, 0]", MM);
            for key in ["crank", "rocker"] {
                let line = text.lines().find(|line| line.starts_with(key)).unwrap().to_owned();
                text = text.replace(&line, &line.replace("\"0 mm\"", &format!("\"{apart} mm\"")));
            }
            // an arm that stands further apart than it is long is the shape of another axis
            let arm = design.metres()[1][0].min(design.metres()[3][0]) * 1e3;
            if apart < 3.0 * arm {
                assert_eq!(said(&text), [""; 0], "{text}");
            }
        }
    }
}

#[test]
fn no_slip_is_said_of_the_designs_of_this_repository() {
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/models")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ext| ext == "toml") {
            let text = std::fs::read_to_string(&path).unwrap();
            assert_eq!(said(&text), [""; 0], "{}", path.display());
        }
    }
}

/// How many of the texts have a slip said with all of the words.
fn caught(texts: impl Iterator<Item = String>, words: &[&str]) -> (usize, usize) {
    let mut counts = (0, 0);
    for text in texts {
        let all = said(&text).join("\n");
        counts.1 += 1;
        if words.iter().all(|word| all.contains(word)) {
            counts.0 += 1;
        }
    }
    counts
}

fn hold(what: &str, (caught, of): (usize, usize), floor_percent: usize) {
    assert!(
        100 * caught >= floor_percent * of,
        "{what}: {caught} of {of}, floor {floor_percent} %"
    );
}

/// The line of `key` with its figures multiplied and under another unit.
fn angles(text: &str, keys: &[(&str, &str)], factor: f64, unit: &str) -> String {
    let mut table = "";
    let mut out = String::new();
    for line in text.lines() {
        table = if line.starts_with('[') { line } else { table };
        let hit = keys.iter().any(|(t, key)| table == *t && line.starts_with(key));
        if !hit {
            out.push_str(line);
        } else {
            let (head, tail) = line.split_once('=').unwrap();
            let figures = tail.split('"').filter_map(|part| part.strip_suffix(" deg"));
            let figures: Vec<String> = figures
                .map(|figure| format!("\"{:.4} {unit}\"", figure.parse::<f64>().unwrap() * factor))
                .collect();
            let value = if figures.len() > 1 {
                format!("[{}]", figures.join(", "))
            } else {
                figures[0].clone()
            };
            out.push_str(&format!("{head}= {value}"));
        }
        out.push('\n');
    }
    out
}

const STROKE: &[(&str, &str)] = &[("[stroke]", "motor")];
const ZERO: &[(&str, &str)] = &[("[zero]", "crank"), ("[zero]", "rocker")];
const RAD: f64 = std::f64::consts::PI / 180.0;

#[test]
fn a_stroke_in_radians_under_deg_is_caught() {
    let texts = some(500).into_iter().map(|d| angles(&d.text("d"), STROKE, RAD, "deg"));
    hold("stroke: radians under deg", caught(texts, &["if radians were meant, write"]), 99);
}

#[test]
fn a_stroke_in_degrees_under_rad_is_caught() {
    let texts = some(500).into_iter().map(|d| angles(&d.text("d"), STROKE, 1.0, "rad"));
    hold("stroke: degrees under rad", caught(texts, &["if degrees were meant, write"]), 95);
}

#[test]
fn a_zero_pose_in_the_other_unit_is_caught() {
    let wrong = some(500).into_iter().map(|d| angles(&d.text("d"), ZERO, RAD, "deg"));
    hold("zero: radians under deg", caught(wrong, &["if radians were meant, write"]), 95);
    let wrong = some(500).into_iter().map(|d| angles(&d.text("d"), ZERO, 1.0, "rad"));
    hold("zero: degrees under rad", caught(wrong, &["if degrees were meant, write"]), 95);
}

#[test]
fn a_pin_in_another_unit_is_caught() {
    for (unit, floor) in [("m", 95), ("cm", 60)] {
        let texts = some(400).into_iter().enumerate().map(|(k, d)| {
            let mut units = MM;
            units[2 + k % 2] = unit;
            pinned_text(&d, pins(&d), "[0, 1, 0]", units)
        });
        hold(&format!("pin in {unit}"), caught(texts, &["where all else is in mm"]), floor);
    }
}

#[test]
fn a_length_in_another_unit_is_caught() {
    for (unit, floor) in [("m", 95), ("cm", 90)] {
        let texts = some(400).into_iter().enumerate().map(|(k, d)| {
            let key = ["ground", "crank", "coupler", "rocker"][k % 4];
            let text = d.text("d");
            let line = text.lines().find(|line| line.starts_with(key)).unwrap();
            text.replacen(line, &line.replace(" mm", &format!(" {unit}")), 1)
        });
        // A tolerance in metres may leave no length at all: that is a fault of its own, at its line.
        let texts = texts.filter(|text| design::parse("t", text).is_ok());
        hold(&format!("length in {unit}"), caught(texts, &["where all else is in mm"]), floor);
    }
}

fn same(one: realistic::Drawn, other: realistic::Drawn) -> bool {
    (one.nominal - other.nominal).abs() < 1e-9
}

#[test]
fn two_pins_of_a_parallelogram_in_each_others_place_are_caught() {
    let parallelograms: Vec<Realistic> = some(1500)
        .into_iter()
        .filter(|d| same(d.ground, d.coupler) && same(d.crank, d.rocker))
        .collect();
    assert!(parallelograms.len() > 300);
    for (a, b, said) in [
        (0, 2, "motor and crank"),
        (0, 1, "motor and joint"),
        (2, 3, "crank and rocker"),
        (1, 3, "joint and rocker"),
    ] {
        let texts = parallelograms.iter().map(|d| {
            let mut at = pins(d);
            at.swap(a, b);
            pinned_text(d, at, "[0, 1, 0]", MM)
        });
        hold(said, caught(texts, &["parallelogram to 0.1 %", said]), 95);
    }
}

#[test]
fn an_axis_along_another_coordinate_is_caught_and_the_right_one_named() {
    for axis in ["[1, 0, 0]", "[0, 0, 1]"] {
        let texts = some(400).into_iter().map(|d| pinned_text(&d, pins(&d), axis, MM));
        hold(axis, caught(texts, &["axis", "[0, 1, 0]"]), 99);
    }
}

#[test]
fn lengths_of_metres_in_a_leg_are_caught() {
    for (unit, floor) in [("m", 100), ("um", 95)] {
        let texts = some(500).into_iter().map(|d| d.text("d").replace(" mm", &format!(" {unit}")));
        hold(
            &format!("all in {unit}"),
            caught(texts, &["is the unit the one that was meant"]),
            floor,
        );
    }
}

const PINNED: &str = "name = \"x\"\n[pivots]\naxis   = [0.0, 1.0, 0.0]\nmotor  = [\"0 mm\", \"0 mm\", \"0 mm\"]\n\
    joint  = [\"0 mm\", \"0 mm\", \"-300 mm\"]\ncrank  = [\"-45 mm\", \"0 mm\", \"0 mm\"]\n\
    rocker = [\"-45 mm\", \"0 mm\", \"-300 mm\"]\n[stroke]\njoint = [\"-35 deg\", \"40 deg\"]\n";

#[test]
fn one_pin_in_metres_is_named_where_the_stroke_fails_and_the_lengths_are_shown() {
    let help = said(&PINNED.replace("rocker = [\"-45 mm\"", "rocker = [\"-45 m\"")).join("\n");
    assert!(help.contains("`[pivots] rocker` has -45 m where all else is in mm"), "{help}");
    assert!(help.contains("write \"-45 mm\"") && help.contains("coupler 44.956 m"), "{help}");
}

#[test]
fn an_axis_that_sees_two_pins_as_one_is_named_first_with_the_one_that_fits() {
    let help = said(&PINNED.replace("[0.0, 1.0, 0.0]", "[1.0, 0.0, 0.0]")).join("\n");
    assert!(help.starts_with("error[axis_does_not_fit]: `[pivots] axis` does not fit"), "{help}");
    assert!(help.contains("axis = [0, 1, 0]") && help.matches("error").count() == 1, "{help}");
}

#[test]
fn units_left_out_everywhere_are_one_message_that_counts_the_places() {
    let bare = PINNED.replace(" mm\"", "\"").replace(" deg\"", "\"");
    let help = said(&bare).join("\n");
    assert!(help.contains("14 of 14 quantities have no unit"), "{help}");
    assert!(help.contains("lines 4, 5, 6, 7") && help.contains("line 9"), "{help}");
    assert!(help.lines().count() < 16, "{help}");
}

#[test]
fn a_few_units_left_out_are_told_one_by_one() {
    let bare = PINNED.replace("\"-35 deg\", \"40 deg\"", "\"-35\", \"40\"");
    assert_eq!(said(&bare).join("\n").matches("error[unit_missing]").count(), 2);
}

/// Kites whose rocker stands still: at a dead point inside the stroke, and over the whole of it.
const TURNING_KITE: &str = include_str!("../data/kite_turning_back.toml");
const STANDING_KITE: &str = include_str!("../data/kite_standing_still.toml");

fn run(arguments: &[&str], input: &str) -> (Option<i32>, String) {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_unloop"));
    let output =
        command.args(arguments).env("LC_ALL", "C.UTF-8").write_stdin(input).output().unwrap();
    let all = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    (output.status.code(), all.concat())
}

/// The longest run of digits before a point, and exponents.
fn absurd(text: &str) -> Option<String> {
    let figures = text.split(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | 'e' | '+' | '-'));
    let figures = figures.filter_map(|word| word.parse::<f64>().ok().map(|x| (word, x)));
    figures.filter(|(_, x)| x.abs() > 1e5).map(|(word, _)| word.to_owned()).next()
}

#[test]
fn a_rocker_that_stands_still_is_told_in_words_and_no_figure_without_bound_is_printed() {
    for kite in [TURNING_KITE, STANDING_KITE] {
        for command in ["tolerance", "check", "loads"] {
            let (status, said) = run(&[command, "-"], kite);
            assert!(said.contains("stands still"), "{command}:\n{said}");
            assert_eq!(absurd(&said), None, "{command} ({status:?}):\n{said}");
            assert!(!said.contains("NaN") && !said.contains("inf "), "{command}:\n{said}");
        }
        let (status, said) = run(&["tolerance", "-"], kite);
        assert!(status == Some(0) && !said.contains("per 0.1 mm"), "{said}");
        let (status, said) = run(&["check", "-"], kite);
        assert!(status == Some(1) && said.contains("NOT EQUIVALENT"), "{said}");
    }
    let (_, said) = run(&["stroke", "-"], STANDING_KITE);
    assert!(said.contains("unbounded") && absurd(&said).is_none(), "{said}");
    for command in ["check", "tolerance"] {
        let (_, said) = run(&[command, "--json", "-"], STANDING_KITE);
        let found: serde_json::Value = serde_json::from_str(&said).unwrap();
        assert!(found["direct_joint"]["ratio"].is_null() && absurd(&said).is_none(), "{said}");
    }
}
