//! Every language's output for every design of `models/`, in both kinds of numbers and both forms, built and run.
//!
//! A polynomial gives its vectors bit by bit; the closed form calls a mathematical library, which is not the same on every
//! machine, and is held to what the file says.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::command::run;
use crate::venv;

const NUMBERS: [&str; 2] = ["float", "double"];
const FORMS: [&str; 2] = ["polynomial", "formula"];
const BEYOND: [&str; 2] = ["hold", "tangent"];
pub(crate) const FLAGS: [&str; 9] = [
    "-std=c99",
    "-pedantic",
    "-O2",
    "-ffp-contract=off",
    "-Wall",
    "-Wextra",
    "-Wconversion",
    "-Wdouble-promotion",
    "-Werror",
];

/// One generated file.
struct Variant {
    /// Unlike every other's, a name in every language.
    name: String,
    number: &'static str,
    code: PathBuf,
    vectors: PathBuf,
    /// The names of its joints in code, in the order of the vectors.
    joints: Vec<String>,
    has_way_back: bool,
    /// How far an answer may be off its vector.
    off: f64,
}

fn designs() -> Vec<PathBuf> {
    let models = Path::new(env!("CARGO_MANIFEST_DIR")).join("models");
    let within = |folder: &Path| -> Vec<PathBuf> {
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect()
    };
    let mut designs = within(&models);
    designs.extend(within(&models.join("drives")));
    designs.retain(|path| path.extension().is_some_and(|e| e == "toml"));
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    designs.push(data.join("mirrored_seen_from_the_other_side.toml"));
    designs.push(data.join("kite_turning_back.toml"));
    // Two joints have their own tests beside this; a pad on the coupler, behind a nut or not, has no joint to be told of.
    let without = ["kind = \"two_rods\"", "pad     = \"coupler\"", "gripper_nut_finger.toml"];
    designs.retain(|path| {
        let text = fs::read_to_string(path).unwrap();
        !without.iter().any(|word| text.contains(word))
    });
    designs.sort();
    designs
}

/// Everything that can be asked for in `language`, written into `folder`.
fn variants(folder: &Path, language: &str, ending: &str) -> Vec<Variant> {
    let mut all = Vec::new();
    for design in designs() {
        for (number, form) in NUMBERS.iter().flat_map(|n| FORMS.map(|f| (*n, f))) {
            let beyond = BEYOND[all.len() % 2];
            let stem = design.file_stem().unwrap().to_str().unwrap();
            let name = format!("{stem}_{number}_{form}");
            let code = folder.join(format!("{name}.{ending}"));
            let vectors = folder.join(format!("{name}.csv"));
            run(&[
                "map",
                design.to_str().unwrap(),
                "--in",
                language,
                "--number",
                number,
                "--by",
                form,
                "--beyond",
                beyond,
                "-o",
                code.to_str().unwrap(),
                "--vectors",
                vectors.to_str().unwrap(),
            ])
            .success();
            let text = fs::read_to_string(&code).unwrap();
            let mut joints: Vec<String> = Vec::new();
            for row in fs::read_to_string(&vectors).unwrap().lines().skip(1) {
                let joint = row.split(',').next().unwrap().to_owned();
                if joints.last() != Some(&joint) {
                    joints.push(joint);
                }
            }
            let off = match (form, number) {
                ("polynomial", _) => 0.0,
                (_, "float") => 2e-5,
                _ => 1e-13,
            };
            let has_way_back = text.contains("_motor_from_joint");
            all.push(Variant { name, number, code, vectors, joints, has_way_back, off });
        }
    }
    all
}

pub(crate) fn folder(language: &str) -> PathBuf {
    let folder = venv::target().join("maps").join(language);
    if folder.exists() {
        fs::remove_dir_all(&folder).unwrap();
    }
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// The answers, a row of figures for each row of the vectors.
fn hold(variant: &Variant, answers: &str) {
    let text = fs::read_to_string(&variant.vectors).unwrap();
    let mut answers = answers.lines();
    // A screw's motor turns by hundreds of rad over the length that its travel is a difference of.
    let is_screw = ["linear_actuator", "slider"].iter().any(|kind| variant.name.contains(kind));
    let turns = if is_screw { 400.0 } else { 1.0 };
    for row in text.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        // Shortest decimals name the number of their own kind.
        let read = |cell: &str| match variant.number {
            "float" => f64::from(cell.parse::<f32>().unwrap()),
            _ => cell.parse::<f64>().unwrap(),
        };
        // Joint, speed, torque, ratio, status and, where there is one, the way back.
        let mut wanted: Vec<f64> = cells[4..9].iter().map(|cell| read(cell)).collect();
        wanted.extend(Some(cells[9]).filter(|cell| !cell.is_empty()).map(read));
        let got: Vec<f64> = answers.next().expect("a row too few").split(' ').map(read).collect();
        assert_eq!(got.len(), wanted.len(), "{}: {row}", variant.name);
        for (got, wanted) in got.iter().zip(&wanted) {
            let same = got == wanted || (got.is_nan() && wanted.is_nan());
            let close = (got - wanted).abs() <= variant.off * wanted.abs().max(turns);
            assert!(same || close, "{}: {got} in place of {wanted}\n{row}", variant.name);
        }
    }
    assert_eq!(answers.next(), None);
}

pub(crate) fn answer(command: &mut Command) -> String {
    let output = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}\n{errors}");
    String::from_utf8(output.stdout).unwrap()
}

/// A program that answers every row of the vectors, with the generated file in it.
fn c_program(variant: &Variant) -> String {
    let (number, code) = (variant.number, variant.code.file_name().unwrap().to_str().unwrap());
    let mut rows = String::new();
    for joint in &variant.joints {
        let back = if variant.has_way_back {
            format!(
                "printf(\" %.17g\", (double){joint}_motor_from_joint({joint}_joint_from_motor(m)));"
            )
        } else {
            String::new()
        };
        _ = write!(
            rows,
            "        if (strcmp(joint, \"{joint}\") == 0) {{
            const {number} m = ({number})motor;
            const __typeof__({joint}_map(m, m, m)) out = {joint}_map(m, ({number})speed, ({number})torque);
            printf(\"%.17g %.17g %.17g %.17g %d\", (double){joint}_joint_from_motor(m), (double)out.speed,
                   (double)out.torque, (double){joint}_ratio_at_motor(m), (int)out.status);
            {back}
            printf(\"\\n\");
        }}
"
        );
    }
    format!(
        "#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include \"{code}\"

int main(int count, char **names)
{{
    char joint[200];
    char motor_text[100];
    double speed, torque;
    FILE *rows = count > 1 ? fopen(names[1], \"r\") : NULL;
    if (!rows || fscanf(rows, \"%*[^\\n]\") == EOF)
        return 1;
    while (fscanf(rows, \" %199[^,],%99[^,],%lf,%lf%*[^\\n]\", joint, motor_text, &speed, &torque) == 4) {{
        const double motor = strtod(motor_text, NULL);
{rows}    }}
    return 0;
}}
"
    )
}

#[test]
fn c_compiles_without_a_warning_and_gives_its_vectors() {
    for (ending, alone) in [("c", true), ("h", false)] {
        let folder = folder(&format!("c99-{ending}"));
        for variant in variants(&folder, "c99", ending) {
            if alone {
                let object = variant.code.with_extension("o");
                answer(
                    Command::new("cc")
                        .args(FLAGS)
                        .arg("-c")
                        .arg(&variant.code)
                        .arg("-o")
                        .arg(object),
                );
            } else if variant.number == "float" {
                continue;
            }
            let main = folder.join(format!("{}_main.c", variant.name));
            fs::write(&main, c_program(&variant)).unwrap();
            let program = folder.join(&variant.name);
            // The program around it uses an extension, the file itself none.
            let flags = FLAGS.iter().filter(|flag| **flag != "-pedantic" && **flag != "-std=c99");
            answer(Command::new("cc").args(flags).arg(&main).arg("-o").arg(&program).arg("-lm"));
            hold(&variant, &answer(Command::new(&program).arg(&variant.vectors)));
        }
    }
}

/// A program with all files as modules, for `core` alone but for the program around them.
fn rust_project(folder: &Path, variants: &[Variant]) {
    let mut library = "#![no_std]\n#![deny(warnings)]\n".to_owned();
    let mut main = "use maps::*;\n\nfn main() {\n    let mut line = String::new();\n    while std::io::stdin().read_line(&mut line).unwrap() > 0 {\n        let cells: Vec<&str> = line.trim().split(',').collect();\n        let n = |k: usize| cells[k].parse::<f64>().unwrap();\n        match (cells[0], cells[1]) {\n".to_owned();
    for variant in variants {
        let (name, kind) = (&variant.name, if variant.number == "float" { "f32" } else { "f64" });
        _ = writeln!(library, "pub mod {name};");
        for joint in &variant.joints {
            let back = if variant.has_way_back {
                format!("print!(\" {{:?}}\", {name}::{joint}_motor_from_joint(j));")
            } else {
                String::new()
            };
            _ = write!(
                main,
                "            (\"{name}\", \"{joint}\") => {{
                let m = n(2) as {kind};
                let out = {name}::{joint}_map(m, n(3) as {kind}, n(4) as {kind});
                let j = {name}::{joint}_joint_from_motor(m);
                print!(\"{{:?}} {{:?}} {{:?}} {{:?}} {{}}\", j, out.speed, out.torque, {name}::{joint}_ratio_at_motor(m), out.status as u8);
                {back}
                println!();
            }}
"
            );
        }
    }
    main +=
        "            other => panic!(\"{other:?}\"),\n        }\n        line.clear();\n    }\n}\n";
    rust_files(folder, &library, &main);
}

/// The files of a program around a library that needs the crate `libm`.
pub(crate) fn rust_files(folder: &Path, library: &str, main: &str) {
    let manifest = "[package]\nname = \"maps\"\nversion = \"0.0.0\"\nedition = \"2024\"\n\n[workspace]\n\n[dependencies]\nlibm = \"0.2\"\n";
    fs::write(folder.join("Cargo.toml"), manifest).unwrap();
    fs::write(folder.join("src/lib.rs"), library).unwrap();
    fs::write(folder.join("src/main.rs"), main).unwrap();
    let lock = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.lock");
    // The version of the library that is here already.
    let lock = fs::read_to_string(lock).unwrap();
    let found = lock.find("name = \"libm\"").unwrap();
    let start = lock[..found].rfind("[[package]]").unwrap();
    let end = lock[found..].find("\n\n").unwrap() + found;
    let own =
        "[[package]]\nname = \"maps\"\nversion = \"0.0.0\"\ndependencies = [\n \"libm\",\n]\n";
    fs::write(folder.join("Cargo.lock"), format!("version = 4\n\n{}\n\n{own}", &lock[start..end]))
        .unwrap();
}

#[test]
fn rust_compiles_without_std_and_gives_its_vectors() {
    let folder = folder("rust");
    fs::create_dir(folder.join("src")).unwrap();
    let variants = variants(&folder.join("src"), "rust", "rs");
    rust_project(&folder, &variants);
    let mut input = String::new();
    for variant in &variants {
        for row in fs::read_to_string(&variant.vectors).unwrap().lines().skip(1) {
            let cells: Vec<&str> = row.split(',').collect();
            _ = writeln!(input, "{},{},{}", variant.name, cells[0], cells[1..4].join(","));
        }
    }
    fs::write(folder.join("input"), input).unwrap();
    let mut cargo = Command::new(env!("CARGO"));
    cargo
        .args(["run", "--quiet", "--offline", "--locked", "--target-dir"])
        .arg(folder.join("target"));
    cargo.current_dir(&folder).stdin(fs::File::open(folder.join("input")).unwrap());
    let answers = answer(&mut cargo);
    let mut answers = answers.lines();
    for variant in &variants {
        let rows = fs::read_to_string(&variant.vectors).unwrap().lines().count() - 1;
        let own: Vec<&str> = answers.by_ref().take(rows).collect();
        hold(variant, &own.join("\n"));
    }
}

#[test]
fn python_gives_its_vectors_and_its_gradient_is_the_coded_ratio_engine() {
    let folder = folder("python");
    let variants = variants(&folder, "python", "py");
    let list: String = variants
        .iter()
        .map(|v| format!("{} {} {}\n", v.name, v.number, v.joints.join(" ")))
        .collect();
    let output = venv::maps("maps.py", &format!("{}\n{list}", folder.display()));
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    let answers = String::from_utf8(output.stdout).unwrap();
    let mut parts = answers.split("end\n");
    for variant in &variants {
        hold(variant, parts.next().unwrap().trim_end_matches('\n'));
    }
}
