//! Maps of two joints that two motors turn: every language built, run and held to its vectors, and these to the drive.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use unloop::design::{AnyDesign, TwoJointDesign, read_any};
use unloop::handover::map::{
    Beyond, Language, MapAsk, MapFault, MapForm, Number, map_of_two_joints,
};
use unloop::study::TwoMotors;

use crate::command::{errors, run};
use crate::languages::{FLAGS, answer, folder};
use crate::venv;

const MODELS: [&str; 3] = ["ankle_actuators", "ankle_parallel", "ankle_toed_in"];

/// A left and a right foot whose motors count against each other, read away from zero.
const READ_ELSEWHERE: &str = "[zero]\nmotor_reads = [\"20 deg\", \"-30 deg\"]\njoint_reads = [\"5 deg\", \"-3 deg\"]\n\n[stroke]\n\
    pitch = [\"-15 deg\", \"25 deg\"]\nroll  = [\"-8 deg\", \"12 deg\"]\n";

fn texts() -> Vec<(String, String)> {
    let text = |name: &str| fs::read_to_string(format!("models/drives/{name}.toml")).unwrap();
    let mut all: Vec<(String, String)> =
        MODELS.iter().map(|name| ((*name).to_owned(), text(name))).collect();
    let toed_in = text("ankle_toed_in");
    let stroke = toed_in.find("[stroke]").unwrap();
    let behind = stroke + toed_in[stroke..].find("[direct_joint]").unwrap();
    let robot = &toed_in[toed_in.find("[[robot]]").unwrap()..];
    let other = robot
        .replace("ankle_", "right_ankle_")
        .replace("\"foot\"", "\"right foot\"")
        .replace("shank", "right_shank");
    let signs = "motor_signs = [1, -1]\n";
    let elsewhere =
        format!("{}{READ_ELSEWHERE}\n{}\n{other}{signs}", &toed_in[..stroke], &toed_in[behind..]);
    all.push((
        "ankle_elsewhere".to_owned(),
        elsewhere.replace("\"ankle_toed_in\"", "\"elsewhere\""),
    ));
    all
}

fn design(text: &str) -> TwoJointDesign {
    match read_any("test.toml", text.as_bytes()).unwrap().0 {
        AnyDesign::TwoJoints(design) => *design,
        _ => panic!("no design of two joints"),
    }
}

/// Rows of the vectors, in numbers of their own kind where these are the code's.
fn rows(vectors: &str, number: Number) -> Vec<(String, Vec<f64>)> {
    let read = |(k, cell): (usize, &str)| match cell {
        "" => f64::NAN,
        _ if number == Number::Float && k < 22 => f64::from(cell.parse::<f32>().unwrap()),
        _ => cell.parse().unwrap(),
    };
    let row = |row: &str| {
        let (link, figures) = row.split_once(',').unwrap();
        (link.to_owned(), figures.split(',').enumerate().map(read).collect())
    };
    vectors.lines().skip(1).map(row).collect()
}

/// The figure behind `before` in the line of a file's head that starts with `line`.
fn told(code: &str, line: &str, before: &str) -> f64 {
    let head: String = code.lines().take_while(|l| l.starts_with("//")).map(|l| &l[2..]).collect();
    let head: String = head.split_whitespace().collect::<Vec<_>>().join(" ");
    let behind = head.split_once("Certainly off").unwrap().1.split_once(line).unwrap().1;
    let figure = behind.split_once(before).unwrap().1.trim_start().split(' ').next().unwrap();
    figure.trim_end_matches(';').parse().unwrap()
}

#[test]
fn no_answer_over_the_region_is_further_off_the_drive_than_the_file_says() {
    for (name, text) in texts() {
        for number in Number::ALL {
            let (design, ask) = (design(&text), MapAsk { number, ..MapAsk::new(Language::C99) });
            let two = TwoMotors::of(&design).unwrap();
            let made = map_of_two_joints(&design, &two, &ask).unwrap();
            let motors = told(&made.code, "motors from joints:", "together");
            let entry = told(&made.code, "motors from joints:", "entry of the matrix");
            let joints = told(&made.code, "joints from motors:", "");
            let mut inside = 0;
            for (link, row) in rows(&made.vectors, number).iter().filter(|(_, row)| row[10] == 0.0)
            {
                inside += 1;
                assert_eq!(row[21], 0.0, "{name} {row:?}");
                for k in [0, 1] {
                    let off = (row[8 + k] - row[22 + k]).abs();
                    assert!(off <= motors, "{name} {number:?} {off:e} {motors:e}");
                    let off = (row[15 + k] - row[24 + k]).abs();
                    assert!(off <= joints, "{name} {number:?} {off:e} {joints:e}");
                }
                let of_link = design.robots.iter().find(|robot| robot.child == *link).unwrap();
                let turns = [row[0] - design.joint_reads[0], row[1] - design.joint_reads[1]];
                let jacobian = two.drive.pose(turns).unwrap().jacobian;
                for (k, rate) in jacobian.into_iter().flatten().enumerate() {
                    let off = (row[11 + k] - of_link.motor_signs[k / 2] * rate).abs();
                    assert!(off <= entry, "{name} {number:?} {off:e} {entry:e}");
                }
                // Power in is power out.
                let [into, out] =
                    [[4, 6], [17, 19]].map(|[v, t]| row[v] * row[t] + row[v + 1] * row[t + 1]);
                let close = if number == Number::Float { 1e-4 } else { 1e-12 };
                assert!((into - out).abs() <= close * 10.0, "{name} {into} {out}");
            }
            assert_eq!(inside, 525 * design.robots.len(), "{name}");
        }
    }
}

#[test]
fn out_of_the_region_and_nowhere_are_told_and_never_pass_for_joints_of_it() {
    for (name, text) in texts() {
        let design = design(&text);
        let two = TwoMotors::of(&design).unwrap();
        for beyond in Beyond::ALL {
            let ask = MapAsk { beyond, ..MapAsk::new(Language::C99) };
            let made = map_of_two_joints(&design, &two, &ask).unwrap();
            let rows = rows(&made.vectors, Number::Double);
            let (mut outside, mut nowhere) = (0, 0);
            for (_, row) in rows.iter().filter(|(_, row)| row[10] != 0.0) {
                if row[0].is_nan() {
                    nowhere += 1;
                    assert_eq!([row[10], row[21]], [2.0, 2.0], "{name}");
                    assert!(row[8].is_nan() && row[15].is_nan());
                    continue;
                }
                outside += 1;
                assert_eq!(row[10], 1.0, "{name}");
                assert!(row[8..10].iter().chain(&row[15..17]).all(|x| x.is_finite()), "{name}");
                // What passes for joints of the region drives the motors there.
                if row[21] == 0.0 {
                    let turns = [0, 1].map(|k| row[15 + k] - design.joint_reads[k]);
                    let exact = two.drive.joint_turns(two.drive.motor_turns(turns).unwrap());
                    assert!((exact.unwrap().turns[0] - turns[0]).abs() < 1e-12, "{name}");
                    assert!((row[24] - row[15]).abs() < 1e-11, "{name} {row:?}");
                }
            }
            let pairs = design.robots.len();
            assert_eq!([outside, nowhere], [3 * pairs, pairs], "{name}");
        }
    }
}

#[test]
fn what_the_closed_form_cannot_hold_is_refused_by_name() {
    let toed_in = &texts()[2].1;
    let of = |text: &str, ask: MapAsk| {
        let design = design(text);
        map_of_two_joints(&design, &TwoMotors::of(&design).unwrap(), &ask).unwrap_err()
    };
    let ask = MapAsk::new(Language::C99);
    assert_eq!(
        of(toed_in, MapAsk { form: Some(MapForm::Polynomial), ..ask }),
        MapFault::NoPolynomial
    );
    let close = of(toed_in, MapAsk { within: Some(1e-15), ..ask });
    assert!(matches!(close, MapFault::NotWithin { degree: None, .. }), "{close:?}");
    let robot = &toed_in[toed_in.find("[[robot]]").unwrap()..];
    let again = robot.replace("ankle_", "other_").replace("\"foot\"", "\"foot-\"");
    let twice = format!("{}\n{again}", toed_in.replace("\"foot\"", "\"foot_\""));
    assert!(matches!(of(&twice, ask), MapFault::SameName { robot: 1, .. }));
    let folder = tempfile::TempDir::new().unwrap();
    let file = folder.path().join("foot.c");
    let call = ["map", "models/drives/ankle_toed_in.toml", "--in", "c99", "--by", "polynomial"];
    let refused = run(&[&call[..], &["-o", file.to_str().unwrap()]].concat()).code(2);
    assert!(errors(&refused).contains("is made of drives of one joint only"));
    assert!(!file.exists());
}

struct Written {
    name: String,
    number: Number,
    links: Vec<String>,
    code: PathBuf,
    vectors: String,
}

/// All designs in both kinds of numbers, by turns held and going on straight beyond the region.
fn written(folder: &Path, language: Language, ending: &str) -> Vec<Written> {
    let mut all = Vec::new();
    for (name, text) in texts() {
        let design = design(&text);
        let two = TwoMotors::of(&design).unwrap();
        for number in Number::ALL {
            let name = format!("{name}_{}", number.name());
            let beyond = Beyond::ALL[all.len() / 2 % 2];
            let as_header = ending == "h";
            let ask = MapAsk { number, beyond, as_header, ..MapAsk::new(language) };
            let made = map_of_two_joints(&design, &two, &ask).unwrap();
            let code = folder.join(format!("{name}.{ending}"));
            fs::write(&code, made.code).unwrap();
            fs::write(folder.join(format!("{name}.csv")), &made.vectors).unwrap();
            let links = design.robots.iter().map(|r| r.child.replace(' ', "_")).collect();
            all.push(Written { name, number, links, code, vectors: made.vectors });
        }
    }
    all
}

/// Answers, a row of fourteen figures for each row of the vectors, against these.
fn hold(one: &Written, answers: &str) {
    let mut answers = answers.lines();
    let off = if one.number == Number::Float { 4e-5 } else { 2e-13 };
    for (_, wanted) in rows(&one.vectors, one.number) {
        let got: Vec<f64> =
            answers.next().unwrap().split(' ').map(|cell| cell.parse().unwrap()).collect();
        assert_eq!(got.len(), 14, "{}", one.name);
        for (got, wanted) in got.iter().zip(&wanted[8..22]) {
            let close = (got - wanted).abs() <= off * wanted.abs().max(1.0) * 10.0;
            let same = close || (got.is_nan() && wanted.is_nan());
            assert!(same, "{}: {got} in place of {wanted}\n{:?}", one.name, &wanted);
        }
    }
    assert_eq!(answers.next(), None, "{}", one.name);
}

/// Reads `which pair, joints, motors, speeds, torques` and prints what the file answers.
fn c_program(one: &Written) -> String {
    let (number, code) = (one.number.name(), one.code.file_name().unwrap().to_str().unwrap());
    let mut rows = String::new();
    for (k, link) in one.links.iter().enumerate() {
        _ = write!(
            rows,
            "        if (which == {k}) {{
            const int status = (int){link}_motors_from_joints(joints, there);
            const __typeof__({link}_map(motors, speeds, torques)) out = {link}_map(motors, speeds, torques);
            {link}_rates_at_joints(joints, rates);
            if ({link}_joints_from_motors(motors, joints) != out.status || (joints[0] != out.joints[0] && joints[0] == joints[0]))
                return 2;
            printf(\"%.17g %.17g %d %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %d\\n\",
                   (double)there[0], (double)there[1], status,
                   (double)rates[0][0], (double)rates[0][1], (double)rates[1][0], (double)rates[1][1],
                   (double)out.joints[0], (double)out.joints[1], (double)out.speeds[0], (double)out.speeds[1],
                   (double)out.torques[0], (double)out.torques[1], (int)out.status);
        }}
"
        );
    }
    format!(
        "#include <stdio.h>
#include <stdlib.h>
#include \"{code}\"

int main(void)
{{
    int which;
    char cells[8][100];
    while (scanf(\"%d %99s %99s %99s %99s %99s %99s %99s %99s\", &which, cells[0], cells[1], cells[2], cells[3],
                 cells[4], cells[5], cells[6], cells[7]) == 9) {{
        {number} given[8], there[2], rates[2][2];
        for (int k = 0; k < 8; ++k)
            given[k] = ({number})strtod(cells[k], NULL);
        {number} *joints = given, *motors = given + 2, *speeds = given + 4, *torques = given + 6;
{rows}    }}
    return 0;
}}
"
    )
}

/// A line for each row of the vectors: which pair, and what is given.
fn given(one: &Written) -> String {
    let mut out = String::new();
    for row in one.vectors.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let link = cells[0].replace(' ', "_");
        let which = one.links.iter().position(|own| *own == link).unwrap();
        _ = writeln!(out, "{which} {}", cells[1..9].join(" "));
    }
    out
}

fn answered(command: &mut Command, folder: &Path, input: &str) -> String {
    let path = folder.join("input");
    fs::write(&path, input).unwrap();
    answer(command.stdin(fs::File::open(path).unwrap()))
}

#[test]
fn c_of_two_joints_compiles_without_a_warning_and_gives_its_vectors() {
    for ending in ["c", "h"] {
        let folder = folder(&format!("two-joints-c99-{ending}"));
        for one in written(&folder, Language::C99, ending) {
            if ending == "c" {
                let object = one.code.with_extension("o");
                answer(
                    Command::new("cc").args(FLAGS).arg("-c").arg(&one.code).arg("-o").arg(object),
                );
            }
            let main = folder.join(format!("{}_main.c", one.name));
            fs::write(&main, c_program(&one)).unwrap();
            let program = folder.join(&one.name);
            let flags = FLAGS.iter().filter(|flag| !["-pedantic", "-std=c99"].contains(flag));
            answer(Command::new("cc").args(flags).arg(&main).arg("-o").arg(&program).arg("-lm"));
            hold(&one, &answered(&mut Command::new(&program), &folder, &given(&one)));
        }
    }
}

#[test]
fn rust_of_two_joints_compiles_without_std_and_gives_its_vectors() {
    let folder = folder("two-joints-rust");
    fs::create_dir(folder.join("src")).unwrap();
    let all = written(&folder.join("src"), Language::Rust, "rs");
    let mut library = "#![no_std]\n#![deny(warnings)]\n".to_owned();
    let mut arms = String::new();
    for (k, one) in all.iter().enumerate() {
        _ = writeln!(library, "pub mod {};", one.name);
        let kind = if one.number == Number::Float { "f32" } else { "f64" };
        for (which, link) in one.links.iter().enumerate() {
            let own = format!("maps::{}::{link}", one.name);
            _ = write!(
                arms,
                "            ({k}, {which}) => {{
                let g = |k: usize| [cells[k].parse::<{kind}>().unwrap(), cells[k + 1].parse::<{kind}>().unwrap()];
                let (m, status) = {own}_motors_from_joints(g(2));
                let [[a, b], [c, d]] = {own}_rates_at_joints(g(2));
                let out = {own}_map(g(4), g(6), g(8));
                assert_eq!({own}_joints_from_motors(g(4)).1, out.status);
                println!(\"{{:?}} {{:?}} {{}} {{:?}} {{:?}} {{:?}} {{:?}} {{:?}} {{:?}} {{:?}} {{:?}} {{:?}} {{:?}} {{}}\", m[0], m[1], status as u8,
                    a, b, c, d, out.joints[0], out.joints[1], out.speeds[0], out.speeds[1], out.torques[0], out.torques[1], out.status as u8);
            }}
"
            );
        }
    }
    let main = format!(
        "fn main() {{\n    let mut line = String::new();\n    while std::io::stdin().read_line(&mut line).unwrap() > 0 {{\n        \
         let cells: Vec<&str> = line.trim().split(' ').collect();\n        match (cells[0].parse::<usize>().unwrap(), cells[1].parse::<usize>().unwrap()) {{\n{arms}            \
         other => panic!(\"{{other:?}}\"),\n        }}\n        line.clear();\n    }}\n}}\n"
    );
    crate::languages::rust_files(&folder, &library, &main);
    let input: String = all
        .iter()
        .enumerate()
        .flat_map(|(k, one)| {
            given(one).lines().map(|row| format!("{k} {row}\n")).collect::<Vec<_>>()
        })
        .collect();
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["run", "--quiet", "--offline", "--locked", "--target-dir"]);
    cargo.arg(folder.join("target")).current_dir(&folder);
    let answers = answered(&mut cargo, &folder, &input);
    let mut answers = answers.lines();
    for one in &all {
        let count = one.vectors.lines().count() - 1;
        hold(one, &answers.by_ref().take(count).collect::<Vec<_>>().join("\n"));
    }
}

#[test]
fn python_of_two_joints_gives_its_vectors_and_its_gradients_are_the_coded_matrix_engine() {
    let folder = folder("two-joints-python");
    let all = written(&folder, Language::Python, "py");
    let mut list = format!("{}\n", folder.display());
    for one in &all {
        _ = writeln!(list, "{} {} {}", one.name, one.number.name(), one.links.join(" "));
    }
    let output = venv::maps("maps_two_joints.py", &list);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    let answers = String::from_utf8(output.stdout).unwrap();
    let mut parts = answers.split("end\n");
    for one in &all {
        hold(one, parts.next().unwrap().trim_end_matches('\n'));
    }
}
