//! What editors, logs and scripts read: a line each, as many rows and builds as were asked for, and only faults that matter.

use std::fs;

use crate::command::{errors, output, run, unloop};

const TOLERANCED: &str = "models/ankle_toleranced.toml";

fn ankle() -> String {
    fs::read_to_string("models/ankle.toml").unwrap()
}

/// Every line is `FILE:LINE: MESSAGE`.
fn all_have_places(lines: &str, file: &str) -> bool {
    let has_place = |line: &str| {
        let rest = line.strip_prefix(file).and_then(|rest| rest.strip_prefix(':'));
        let number = rest.and_then(|rest| rest.split_once(": "));
        number.is_some_and(|(number, message)| number.parse::<u32>().is_ok() && !message.is_empty())
    };
    lines.lines().all(has_place)
}

#[test]
fn check_tells_a_line_for_each_criterion_that_fails_and_none_where_all_hold() {
    let held = run(&["check", "models/ankle.toml", "--lines"]).code(0);
    assert_eq!((output(&held), errors(&held)), (String::new(), String::new()));
    let refuted = run(&["check", "models/knee_offset.toml", "--lines"]).code(1);
    let lines = output(&refuted);
    assert_eq!(lines.lines().count(), 2, "{lines}");
    assert!(all_have_places(&lines, "models/knee_offset.toml"), "{lines}");
    assert!(
        lines.contains("the ratio error fails: 25.65 % (limit 2.00 %) at joint 45.00 deg"),
        "{lines}"
    );
}

#[test]
fn check_tells_each_fault_of_a_design_on_a_line() {
    for name in ["several_faults", "misspelt_keys", "wrong_unit"] {
        let file = format!("models/bad/{name}.toml");
        let refused = run(&["check", &file, "--lines"]).code(2);
        let lines = output(&refused);
        assert!(!lines.is_empty() && all_have_places(&lines, &file), "{lines}");
        assert_eq!(errors(&refused), "");
    }
}

#[test]
fn find_with_lines_answers_as_check_does_and_without_0_as_ever() {
    for (robot, status) in [("leg.xml", 0), ("two_jaws.xml", 1), ("adaptive_finger.xml", 3)] {
        let file = format!("models/robots/{robot}");
        let told = run(&["find", &file, "--lines"]).code(status);
        let lines = output(&told);
        assert_eq!(lines.is_empty(), status == 0, "{lines}");
        assert!(all_have_places(&lines, &file), "{lines}");
        run(&["find", &file]).code(0);
    }
}

#[test]
fn a_list_of_findings_is_a_list_even_of_none() {
    for (design, count) in [("models/ankle.toml", 1), ("models/bad/empty.toml", 0)] {
        let told = output(&run(&["check", design, "--json-list"]));
        let told: serde_json::Value = serde_json::from_str(&told).unwrap();
        assert_eq!(told.as_array().unwrap().len(), count, "{design}");
    }
}

#[test]
fn as_many_builds_are_drawn_as_were_asked_for() {
    for design in [TOLERANCED, "models/gripper_parallel.toml", "models/drives/ball_rod_knee.toml"] {
        for samples in ["1", "7", "1000", "1601"] {
            let told = run(&["tolerance", design, "--samples", samples, "--json"]).code(0);
            let told: serde_json::Value = serde_json::from_str(&output(&told)).unwrap();
            assert_eq!(told["statistics"]["samples"].to_string(), samples, "{design}");
        }
    }
}

#[test]
fn bare_numbers_of_pins_have_the_unit_that_their_table_names() {
    let design = |points: &str| {
        format!("name = \"a\"\n[pivots]\n{points}\n[stroke]\njoint = [\"-20 deg\", \"20 deg\"]\n")
    };
    let words = "motor = [\"0 mm\", \"0 mm\"]\njoint = [\"0 mm\", \"-150.3 mm\"]\n\
        crank = [\"3 cm\", \"0 mm\"]\nrocker = [\"30 mm\", \"-150.3 mm\"]";
    let bare = "unit = \"mm\"\nmotor = [0, 0]\njoint = [0, -150.3]\ncrank = [\"3 cm\", 0]\nrocker = [30.0, -150.3]";
    let told = |text: String| output(&unloop(&["check", "-", "--json"]).write_stdin(text).assert());
    let by_words = told(design(words));
    assert!(by_words.contains("\"crank_m\": 0.03"), "{by_words}");
    assert_eq!(by_words, told(design(bare)));
    let wrong = design(&bare.replace("\"mm\"", "\"kg\""));
    let refused = unloop(&["check", "-"]).write_stdin(wrong).assert().code(2);
    assert!(errors(&refused).starts_with("error: `[pivots] unit` is no unit of length"));
    assert_eq!(errors(&refused).matches("error").count(), 1, "{}", errors(&refused));
}

#[test]
fn a_fault_in_a_table_stops_only_who_uses_it() {
    let faulty = ankle().replacen("outer   = \"12 mm\"", "outer   = \"12 N\"", 1);
    assert_ne!(faulty, ankle());
    for (command, status) in [("check", 0), ("stroke", 0), ("tolerance", 0), ("loads", 2)] {
        let told = unloop(&[command, "-"]).write_stdin(faulty.clone()).assert().code(status);
        let word = if status == 0 { "warning: `[rod] outer`" } else { "error: `[rod] outer`" };
        assert!(errors(&told).contains(word), "{command}: {}", errors(&told));
        let sound = output(&unloop(&[command, "-"]).write_stdin(ankle()).assert());
        assert!(status != 0 || output(&told) == sound, "{command}");
    }
}

/// Largest memory of a call, kilobytes.
#[cfg(target_os = "linux")]
fn memory(arguments: &[&str]) -> u64 {
    let script = "import resource, subprocess, sys\n\
        subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True)\n\
        print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)";
    let mut call = std::process::Command::new("python3");
    let told = call.args(["-c", script, crate::command::PROGRAM]).args(arguments).output().unwrap();
    String::from_utf8(told.stdout).unwrap().trim().parse().unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn memory_does_not_grow_with_the_rows_of_a_table() {
    for design in ["models/ankle.toml", "models/drives/belt.toml"] {
        for form in ["--csv", "--json"] {
            let of = |rows: &str| memory(&["stroke", design, form, "--steps", rows]);
            let (few, many) = (of("2000"), of("60000"));
            // The rows themselves would take more than 6 MB.
            assert!(many < few + 2000, "{design} {form}: {few} and {many} kB");
        }
    }
}
