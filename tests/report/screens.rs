//! Screens fit the terminal that they are for: no line is wider, no figure is lost, the answer comes first.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use crate::command::{errors, output, run, unloop};
use crate::figures::figures;
use crate::page::every_design;
use unloop::design::{AnyDesign, read_any};
use unloop::handover::find::{FindOptions, findings};
use unloop::report::{self, Detail, Style};
use unloop::robot::IncludeFolders;
use unloop::study::{self, ToleranceRequest};
use unloop::tolerance::Distribution;

const WIDTHS: [usize; 3] = [40, 80, 200];

/// What a command says of one design or file, for a screen.
struct Screen {
    of: String,
    text: Text,
}

type Text = Box<dyn Fn(Detail, Style) -> String + Send + Sync>;

/// Of every design and robot file of ours; of designs first.
static SCREENS: LazyLock<Vec<Screen>> = LazyLock::new(|| {
    let drives = std::fs::read_dir("models/drives").unwrap();
    let drives = drives.map(|entry| entry.unwrap().path().to_str().unwrap().to_owned());
    let drives = drives.filter(|path| path.ends_with(".toml"));
    let mut screens: Vec<Screen> =
        every_design().into_iter().chain(drives).flat_map(|path| screens_of(&path)).collect();
    screens.extend(screens_of_robots());
    screens
});

/// The screens of designs.
fn of_designs() -> impl Iterator<Item = &'static Screen> {
    SCREENS.iter().filter(|screen| !screen.of.starts_with("find"))
}

fn screens_of(path: &str) -> Vec<Screen> {
    let bytes = std::fs::read(path).unwrap();
    let (design, _) = read_any(path, &bytes).unwrap();
    let request = ToleranceRequest { samples: 200, seed: 1, distribution: Distribution::Normal };
    let (check, loads, tolerance) = match &design {
        AnyDesign::FourBar(design) => (
            study::check(design),
            study::loads(design),
            study::tolerance(design, &request, &|_| true),
        ),
        AnyDesign::OneJoint(design) => (
            study::check(design),
            study::loads(design),
            study::tolerance(design, &request, &|_| true),
        ),
        AnyDesign::TwoJoints(design) => {
            let found = study::check_two_joints(design, study::Depth::Whole).unwrap();
            let text = move |detail, style| report::region_text(&found, detail, style);
            return vec![Screen { of: format!("check {path}"), text: Box::new(text) }];
        }
    };
    let mut screens: Vec<Screen> = Vec::new();
    let mut add = |command: &str, text: Text| {
        screens.push(Screen { of: format!("{command} {path}"), text });
    };
    if let Ok(found) = check {
        add("check", Box::new(move |detail, style| report::check_text(&found, detail, style)));
    }
    if let Ok(found) = loads {
        add("loads", Box::new(move |detail, style| report::loads_text(&found, detail, style)));
    }
    if let Ok(found) = tolerance {
        let text = move |detail, style| report::tolerance_text(&found, detail, style);
        add("tolerance", Box::new(text));
    }
    screens
}

fn screens_of_robots() -> Vec<Screen> {
    let folder = std::fs::read_dir("models/robots").unwrap();
    let files = folder.map(|entry| entry.unwrap().path());
    let files = files.filter(|path| path.extension().is_some_and(|e| e != "toml"));
    let screen = |path: std::path::PathBuf| {
        let bytes = std::fs::read(&path).unwrap();
        let robot = IncludeFolders { roots: &[], anywhere: false }.read(&path, bytes).ok()?;
        let found = findings(&robot, FindOptions::new(unloop::design::Preset::Training));
        let of = format!("find {}", path.display());
        let text = move |detail, style| report::find_text(&found, detail, style);
        Some(Screen { of, text: Box::new(text) })
    };
    files.filter_map(screen).collect()
}

/// What is told, without curves made of characters: each figure with its digits and its unit.
fn figures_of(text: &str) -> BTreeSet<String> {
    let is_curve = |line: &&str| line.contains(['│', '└']) || line.ends_with(" deg joint");
    let told: Vec<&str> = text.lines().filter(|line| !is_curve(line)).collect();
    let figure = |printed: &crate::figures::Printed| {
        format!("{} {} {}", printed.value, printed.digit, printed.unit)
    };
    // Headings of columns in which nothing stands go where the rows are told one by one.
    let words: Vec<&str> = told.iter().flat_map(|line| line.split_whitespace()).collect();
    let told = words.join(" ").replace("95 % below", "").replace("99.9 % below", "");
    figures(&told).iter().map(figure).collect()
}

fn widest(text: &str) -> usize {
    text.lines().map(|line| line.chars().count()).max().unwrap_or(0)
}

#[test]
fn on_every_width_no_line_runs_over_and_no_figure_is_lost() {
    assert!(SCREENS.len() > 80, "{}", SCREENS.len());
    let mut faults = Vec::new();
    for screen in SCREENS.iter() {
        for detail in [Detail::Short, Detail::Full] {
            let wide = (screen.text)(detail, Style { width: 400, ..Style::PLAIN });
            for width in WIDTHS {
                let text = (screen.text)(detail, Style { width, ..Style::PLAIN });
                if widest(&text) > width {
                    faults.push(format!("{} at {width}: {}", screen.of, widest(&text)));
                }
                let (all, here) = (figures_of(&wide), figures_of(&text));
                let lost: Vec<_> = all.symmetric_difference(&here).collect();
                if !lost.is_empty() {
                    faults.push(format!("{} at {width}: {lost:?}", screen.of));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_screen_is_short_and_leads_with_the_answer() {
    let answers = [
        "EQUIVALENT",
        "UNDECIDED",
        "margin",
        "gets at least",
        "grips with",
        "HOLDS",
        "% of builds",
        "hold as drawn",
        "no direct joint",
        "no margin",
        "no grip",
    ];
    for screen in of_designs() {
        let text = (screen.text)(Detail::Short, Style { width: 100, ..Style::PLAIN });
        let first = text.lines().next().unwrap();
        assert!(answers.iter().any(|answer| first.contains(answer)), "{}: {first}", screen.of);
        let lines = text.trim_end().lines().count();
        assert!(lines <= 36, "{}: {lines} lines", screen.of);
    }
}

#[test]
fn the_short_screen_says_nothing_that_the_full_one_contradicts() {
    for screen in of_designs() {
        let [short, full] = [Detail::Short, Detail::Full]
            .map(|detail| figures_of(&(screen.text)(detail, Style { width: 400, ..Style::PLAIN })));
        let unknown: Vec<_> = short.difference(&full).collect();
        assert!(unknown.is_empty(), "{}: {unknown:?}", screen.of);
    }
}

#[test]
fn without_a_terminal_the_width_is_what_columns_says_or_100() {
    let at = |columns: &str| {
        let asked =
            unloop(&["stroke", "models/drives/slider.toml"]).env("COLUMNS", columns).assert();
        widest(&output(&asked))
    };
    assert!(at("40") <= 40 && at("10") <= 40);
    assert!(at("200") > 100 && at("200") <= 200 && at("4000") <= 200);
    assert!(widest(&output(&run(&["stroke", "models/drives/slider.toml"]))) <= 100);
    assert_eq!(at("wide"), at("100"));
}

#[test]
fn a_ratio_that_is_constant_is_said_and_not_drawn() {
    let full = |design: &str| output(&run(&["check", design, "--full"]));
    let constant = full("models/ankle.toml");
    assert!(constant.contains("transmission ratio 1.00000 all over the stroke"), "{constant}");
    assert!(!constant.contains('●') && full("models/knee_offset.toml").contains('●'));
}

#[test]
fn a_histogram_has_no_empty_end() {
    let shown = output(&run(&["tolerance", "models/ankle_toleranced.toml", "--full"]));
    let bars: Vec<&str> =
        shown.lines().skip_while(|line| !line.ends_with("(builds)")).skip(1).collect();
    let bars: Vec<&str> =
        bars.into_iter().take_while(|line| !line.contains("no build beyond")).collect();
    assert!(bars.len() > 4, "{shown}");
    for end in [bars.first(), bars.last()] {
        assert_ne!(end.unwrap().split_whitespace().last(), Some("0"), "{shown}");
    }
}

/// Builds above an angle, deg, as the histogram of the screen has them and as the JSON's.
#[test]
fn a_histogram_counts_builds_where_they_are() {
    for design in ["models/ankle_toleranced.toml", "models/gripper_parallel.toml"] {
        let json = run(&["tolerance", design, "--json"]);
        let json: serde_json::Value = serde_json::from_slice(&json.get_output().stdout).unwrap();
        let found = &json["statistics"];
        let known = [&found["angle_histogram"], &found["tilt_histogram"]];
        let known = known.into_iter().find(|one| one.is_object()).unwrap();
        let width = known["top_rad"].as_f64().unwrap().to_degrees() / 32.0;
        let counts: Vec<u64> =
            known["counts"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect();
        let shown = output(&run(&["tolerance", design, "--full"]));
        let bars = shown.lines().skip_while(|line| !line.ends_with("(builds)")).skip(1);
        let bars: Vec<(f64, u64)> = bars
            .take_while(|line| !line.contains("no build beyond"))
            .map(|line| {
                let words: Vec<&str> = line.split_whitespace().collect();
                let count = words.iter().rev().find_map(|word| word.parse().ok()).unwrap();
                (words[0].parse().unwrap(), count)
            })
            .collect();
        assert_eq!(bars.iter().map(|bar| bar.1).sum::<u64>(), counts.iter().sum::<u64>());
        for (from, _) in &bars {
            let above = bars.iter().filter(|bar| bar.0 >= *from).map(|bar| bar.1).sum::<u64>();
            let at = |k: &u32| (from - f64::from(*k) * width).abs() < 6e-4;
            let first = (0..32).find(at).unwrap_or_else(|| panic!("{design}: {from}"));
            let counted = counts.iter().skip(usize::try_from(first).unwrap()).sum::<u64>();
            assert_eq!(above, counted, "{design}: above {from}");
        }
    }
}

#[test]
fn what_is_exactly_zero_is_0() {
    let shown = output(&run(&["check", "models/ankle.toml"]));
    assert!(
        shown.contains("angle error at\n  most 0 deg (limit 0.50 deg), ratio error at most 0 %"),
        "{shown}"
    );
}

#[test]
fn no_screen_has_an_exponent() {
    for screen in of_designs() {
        let text = (screen.text)(Detail::Full, Style { width: 200, ..Style::PLAIN });
        let exponent = |word: &str| {
            let word = word.trim_matches(|c: char| "(),;:".contains(c));
            word.contains('e') && word.parse::<f64>().is_ok()
        };
        let found = text.split_whitespace().find(|word| exponent(word));
        assert_eq!(found, None, "{}", screen.of);
    }
}

#[test]
fn a_name_that_would_move_the_cursor_is_shown_as_written() {
    let text = std::fs::read_to_string("models/ankle.toml").unwrap();
    let text = text.replacen("name = \"ankle_pitch\"", "name = \"knee\\u202eeenk\"", 1);
    let asked = unloop(&["check", "-"]).write_stdin(text.clone()).assert();
    assert!(output(&asked).starts_with("knee\\u{202e}eenk: EQUIVALENT"), "{}", output(&asked));
    let folder = tempfile::tempdir().unwrap();
    for plain in ["page.html", "plot.svg"] {
        let (command, flag) =
            if plain == "page.html" { ("report", "-o") } else { ("check", "--plot") };
        let file = folder.path().join(plain);
        let call = [command, "-", flag, file.to_str().unwrap()];
        unloop(&call).write_stdin(text.clone()).assert().success();
        let written = std::fs::read_to_string(file).unwrap();
        // The design file itself stands at the end of the page as written.
        let said = written.split("class=\"file\"").next().unwrap();
        assert!(!said.contains('\u{202e}') && said.contains("knee\\u{202e}eenk"), "{plain}");
    }
}

#[test]
fn a_file_name_that_would_forge_a_line_is_shown_as_written() {
    let asked = run(&["loads", "no\nmargin 9.00"]).code(2);
    assert_eq!(
        errors(&asked),
        "error: no\\nmargin 9.00 cannot be read: there is no such file or folder\n"
    );
    let asked = run(&["find", "no\u{1b}[2Jrobot.xml"]).code(2);
    assert!(errors(&asked).contains("no\\u{1b}[2Jrobot.xml"), "{}", errors(&asked));
}
