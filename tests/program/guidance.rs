//! What shows the way: help, manual, completions, the design to start from, and the longer text of a code.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::command::{PROGRAM, errors, output, run, unloop};
use assert_cmd::assert::Assert;
use unloop::design;
use unloop::diagnostic::Code;

/// The commands that `unloop --help` lists.
fn commands() -> Vec<String> {
    let help = output(&run(&["--help"]).code(0));
    let (_, list) = help.split_once("Commands:\n").unwrap();
    let lines = list.lines().take_while(|line| !line.is_empty());
    // A line that goes on is set in further than a command.
    let rows = lines.filter_map(|line| line.strip_prefix("  ").filter(|row| !row.starts_with(' ')));
    let names = rows.filter_map(|row| row.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

// Help

#[test]
fn every_command_has_an_example_of_itself() {
    let commands = commands();
    assert!(commands.len() > 9, "{commands:?}");
    for command in commands {
        let help = output(&run(&[&command, "--help"]).code(0));
        assert!(help.contains(&format!("Example: unloop {command}")), "{command}:\n{help}");
    }
}

/// The example at the end of a command's help.
fn example(command: &str) -> String {
    let help = output(&run(&[command, "--help"]).code(0));
    let (_, example) = help.split_once("Example: ").unwrap_or_else(|| panic!("{command}:\n{help}"));
    example.lines().collect::<Vec<_>>().join(" ")
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &there);
        } else {
            fs::copy(&path, there).unwrap();
        }
    }
}

#[cfg(unix)]
#[test]
fn the_example_of_every_command_runs() {
    let folder = tempfile::tempdir().unwrap();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("models"), &folder.path().join("models"));
    fs::create_dir_all(folder.path().join(".local/share/bash-completion/completions")).unwrap();
    // robot files that an example may name
    for (format, file) in [("urdf", "robot.urdf"), ("mjcf", "robot.xml")] {
        let path = folder.path().join(file);
        let output = path.to_str().unwrap();
        run(&["emit", "models/ankle.toml", "--whole", "--to", format, "-o", output, "--force"])
            .code(0);
    }
    for command in commands() {
        let example = example(&command).replace("man ./unloop.1", "test -s unloop.1");
        let quick = example.replace("unloop ", "\"$0\" ").replace("1000000", "1000");
        let output = Command::new("sh")
            .args(["-c", &quick, PROGRAM])
            .current_dir(folder.path())
            .env("HOME", folder.path())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        // 1 is an answer too: not equivalent, or differs
        assert!(matches!(output.status.code(), Some(0 | 1)), "{example}\n{said}");
    }
}

#[test]
fn a_wrong_command_is_told_the_nearest_and_what_there_is() {
    let assert = run(&["toleranse", "models/ankle.toml"]).code(2);
    let errors = errors(&assert);
    assert!(errors.contains("'tolerance'"), "{errors}");
    for command in commands() {
        assert!(errors.contains(&command), "{command} is not in:\n{errors}");
    }
    assert_eq!(output(&assert), "");
}

#[test]
fn how_far_the_work_is_is_shown_on_a_terminal_alone() {
    let study = ["tolerance", "models/ankle_toleranced.toml", "--samples", "200000"];
    assert_eq!(errors(&run(&study).code(0)), "");
}

// Manual and completions

#[test]
fn the_manual_has_every_command_and_every_option_of_it() {
    let manual = output(&run(&["manual"]).code(0));
    assert!(manual.contains(".TH unloop 1"), "{manual}");
    for command in commands() {
        assert!(manual.contains(&format!(".SH {}\n", command.to_uppercase())), "{command}");
        let help = output(&run(&[&command, "--help"]).code(0));
        for option in help.split(|c: char| c.is_whitespace() || c == ',' || c == '.') {
            if option.starts_with("--") && option.len() > 2 {
                let set = option.replace('-', "\\-");
                assert!(manual.contains(&set), "{command} {option} is not in the manual");
            }
        }
    }
    assert!(manual.contains(".SH \"EXIT STATUS\""));
}

#[test]
fn the_manual_by_pages_is_never_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("man1");
    let arguments = ["manual", "--dir", pages.to_str().unwrap()];
    run(&arguments).code(0);
    assert!(fs::read_to_string(pages.join("unloop-emit.1")).unwrap().contains("actuator"));
    assert_eq!(fs::read_dir(&pages).unwrap().count(), commands().len() + 1);
    assert!(errors(&run(&arguments).code(2)).contains("--force"));
    run(&[&arguments[..], &["--force"]].concat()).code(0);
}

/// What a checker of syntax says of a text; none where it is not installed.
fn said_by(program: &str, arguments: &[&str], text: &str) -> Option<String> {
    let mut child = Command::new(program)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .ok()?;
    std::io::Write::write_all(&mut child.stdin.take()?, text.as_bytes()).unwrap();
    Some(String::from_utf8(child.wait_with_output().unwrap().stderr).unwrap())
}

#[test]
fn groff_has_nothing_to_say_against_the_manual_where_it_is_installed() {
    let manual = output(&run(&["manual"]));
    if let Some(said) = said_by("groff", &["-man", "-Tutf8", "-ww"], &manual) {
        assert_eq!(said, "");
    }
}

#[test]
fn the_completions_of_every_shell_name_every_command() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = output(&run(&["completions", shell]).code(0));
        for command in commands() {
            assert!(script.contains(&command), "{shell} does not know {command}");
        }
    }
    assert!(errors(&run(&["completions", "csh"]).code(2)).contains("possible values"));
}

#[test]
fn each_shell_that_is_installed_reads_its_completions() {
    for shell in ["bash", "zsh", "fish"] {
        let script = output(&run(&["completions", shell]));
        if let Some(said) = said_by(shell, &["-n"], &script) {
            assert_eq!(said, "", "{shell}");
        }
    }
}

// A design to start from

fn judged(text: &str) -> Assert {
    unloop(&["check", "-"]).write_stdin(text).assert()
}

/// The text with `mark` taken from the settings behind it.
fn with(text: &str, mark: &str) -> String {
    let lines = text.lines().map(|line| match line.strip_prefix(mark) {
        Some(rest) if !rest.is_empty() && !rest.starts_with([' ', '#']) => rest,
        _ => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn a_new_design_can_be_judged_as_it_stands() {
    let text = output(&run(&["new"]).code(0));
    assert!(text.is_ascii(), "a shell that writes another encoding must not spoil it");
    assert!(text.lines().all(|line| line.len() <= 110));
    let assert = judged(&text).code(0);
    assert!(output(&assert).contains("EQUIVALENT"));
    assert_eq!(errors(&assert), "");
}

#[test]
fn a_new_design_can_be_judged_with_every_setting_taken_in() {
    let text = with(&output(&run(&["new"])), "#");
    let assert = judged(&text).code(0);
    assert_eq!(errors(&assert), "");
    let (design, warnings) = design::parse("new.toml", &text).unwrap();
    assert!(warnings.is_empty() && design.robots.len() == 1 && design.mass.carried.is_some());
    assert!(design.motion.is_some() && !design.together.is_empty() && design.rod.is_some());
}

#[test]
fn a_new_design_can_be_judged_with_the_settings_that_replace_others() {
    let text = with(&output(&run(&["new"])), "##");
    let mut table = "";
    let kept = text.lines().filter(|line| {
        table = if line.starts_with('[') { line } else { table };
        let replaced = table == "[linkage]"
            || (table == "[zero]" && (line.starts_with("crank") || line.starts_with("rocker")))
            || (table == "[stroke]" && line.starts_with("joint"));
        !replaced || line.starts_with('#')
    });
    let text = kept.collect::<Vec<_>>().join("\n");
    assert!(text.contains("\n[pivots]") && text.contains("\nmotor = [\"-35 deg\""));
    assert_eq!(errors(&judged(&text).code(0)), "");
}

#[test]
fn a_new_design_can_be_judged_as_a_grippers_finger() {
    let text = with(&with(&output(&run(&["new"])), "###"), "#");
    let of_joint = ["ratio  =", "offset =", "angle  ="];
    let kept = text.lines().filter(|line| !of_joint.iter().any(|key| line.starts_with(key)));
    let text = kept.collect::<Vec<_>>().join("\n");
    let (design, warnings) = design::parse("new.toml", &text).unwrap();
    assert!(warnings.is_empty() && design.parallel_jaw().is_some());
    // Its masses are a leg's, so that the inertia decides.
    let assert = judged(&text).code(1);
    assert_eq!(errors(&assert), "");
    assert!(output(&assert).contains("counter-turning pair"));
}

#[test]
fn a_new_design_is_never_written_over_an_old_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("knee.toml");
    let arguments = ["new", "-o", path.to_str().unwrap()];
    run(&arguments).code(0);
    assert_eq!(fs::read_to_string(&path).unwrap(), output(&run(&["new", "-o", "-"])));
    fs::write(&path, "mine").unwrap();
    assert!(errors(&run(&arguments).code(2)).contains("--force"));
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    run(&[&arguments[..], &["--force"]].concat()).code(0);
    assert!(fs::read_to_string(&path).unwrap().len() > 1000);
}

// Codes

#[test]
fn every_code_has_its_text_and_its_line_in_the_list() {
    let list = output(&run(&["explain"]).code(0));
    for code in Code::ALL {
        let text = output(&run(&["explain", code.name()]).code(0));
        assert!(text.starts_with(&format!("{code}: ")) && text.contains("What to do"), "{text}");
        assert!(list.contains(&format!("  {code} ")), "{code}");
    }
}

#[test]
fn several_codes_are_told_one_after_the_other() {
    let text = output(&run(&["explain", "unit_missing", "[flat_zero_pose]"]).code(0));
    let at = |word: &str| text.find(word).unwrap();
    assert!(at("unit_missing: ") < at("\nflat_zero_pose: "));
}

#[test]
fn an_unknown_code_is_told_the_nearest() {
    let assert = run(&["explain", "flat-zero-pos"]).code(2);
    assert!(errors(&assert).contains("did you mean flat_zero_pose?"), "{}", errors(&assert));
    let assert = run(&["explain", "xyz"]).code(2);
    assert!(!errors(&assert).contains("did you mean"));
}

/// Every source text of the program.
fn source(folder: &Path) -> String {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let text = |path: std::path::PathBuf| {
        if path.is_dir() { source(&path) } else { fs::read_to_string(path).unwrap() }
    };
    entries.map(text).collect()
}

#[test]
fn every_code_is_given_by_some_message() {
    let text = source(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
    for code in Code::ALL {
        // once where its word is told, once or more where the message is made, by its variant or its word
        let by_variant = text.matches(&format!("Code::{code:?}")).count();
        let by_word = text.matches(&format!("\"{code}\"")).count();
        let in_tests = usize::from(code == Code::FlatZeroPose);
        assert!(by_variant + by_word > 1 + in_tests, "{code} is given by no message");
    }
}

#[test]
fn every_word_beside_a_loop_of_a_robot_file_is_a_code() {
    let text = source(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/handover"));
    let mut count = 0;
    for (at, call) in text.match_indices("Obstacle::new(") {
        let arguments = text[at + call.len()..].trim_start();
        let Some(word) = arguments.strip_prefix('"').and_then(|rest| rest.split('"').next()) else {
            continue;
        };
        assert!(Code::named(word).is_some(), "`unloop explain {word}` has nothing to say");
        count += 1;
    }
    assert!(count > 10, "the obstacles are made elsewhere now");
}

#[test]
fn a_message_with_a_code_says_how_to_ask_more() {
    let text = fs::read_to_string("models/ankle_crossed.toml").unwrap();
    let flat = text.replace("crank  = \"90 deg\"", "crank = \"180 deg\"");
    let said = errors(&judged(&flat.replace("-107 deg", "180 deg")).code(2));
    assert!(said.contains("error[flat_zero_pose]: "), "{said}");
    assert!(said.ends_with("\nmore: unloop explain flat_zero_pose\n"), "{said}");
}

#[test]
fn a_message_without_a_code_says_no_more() {
    let said = errors(&run(&["check", "models/bad/decimal_comma.toml"]).code(2));
    assert!(said.starts_with("error: ") && !said.contains("unloop explain"), "{said}");
}
