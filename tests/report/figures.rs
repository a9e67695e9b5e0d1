//! Every figure that a person reads is the JSON's to the printed digits, and the page says what the terminal says.

use crate::command::run;
use crate::page::{every_design, page};
use serde_json::Value;

/// A figure as printed: its value, what its last digit is worth, its unit, and whether it may be rounded down.
#[derive(Debug)]
pub(crate) struct Printed {
    pub(crate) value: f64,
    pub(crate) digit: f64,
    pub(crate) unit: String,
    rounded_down: bool,
}

const UNITS: [(&str, &[&str]); 14] = [
    ("mN m", &["mN", "m"]),
    ("deg", &["deg"]),
    ("mm/s", &["mm/s"]),
    ("mm", &["mm"]),
    ("um", &["um"]),
    ("%", &["%"]),
    ("MPa", &["MPa"]),
    ("rad/s", &["rad/s"]),
    ("N m/rad", &["N", "m/rad"]),
    ("N m", &["N", "m"]),
    ("kg m2", &["kg", "m2"]),
    ("kg mm", &["kg", "mm"]),
    ("N", &["N"]),
    ("kg", &["kg"]),
];

/// All figures of a text; a range's first end may leave its unit to the second.
pub(crate) fn figures(text: &str) -> Vec<Printed> {
    let text = text.replace('…', " … ");
    let apart = |c: char| c.is_whitespace() || "(),;:".contains(c);
    let words: Vec<&str> = text
        .split(apart)
        .map(|word| word.trim_end_matches('.'))
        .filter(|word| !word.is_empty())
        .collect();
    let unit_behind = |at: usize| {
        let after = words.get(at + 1..).unwrap_or_default();
        UNITS.iter().find(|(_, parts)| after.starts_with(parts)).map(|(unit, _)| *unit)
    };
    let mut found = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let figure = word.trim_start_matches('±');
        let Ok(value) = figure.parse::<f64>() else { continue };
        let ends_later = words.get(at + 1) == Some(&"…");
        let unit = if ends_later { unit_behind(at + 2) } else { unit_behind(at) };
        let unit = unit.unwrap_or_default().to_owned();
        let (mantissa, power) = figure.split_once('e').unwrap_or((figure, "0"));
        let decimals = mantissa.split_once('.').map_or(0, |(_, d)| d.len());
        let digit = 10_f64.powi(power.parse::<i32>().unwrap() - i32::try_from(decimals).unwrap());
        let rounded_down = word.starts_with('±') || (unit == "%" && decimals == 3);
        found.push(Printed { value, digit, unit, rounded_down });
    }
    found
}

/// The unit in which a person reads what stands under a key, and the factor to it.
const SUFFIXES: [(&str, &str, f64); 11] = [
    ("_n_per_n_m", "N", 1.0),
    ("_m_per_s", "mm/s", 1e3),
    ("_n_m_per_rad", "N m/rad", 1.0),
    ("_rad_per_s", "rad/s", 1.0),
    ("_kg_m2", "kg m2", 1.0),
    ("_kg_m", "kg mm", 1e3),
    ("_n_m", "N m", 1.0),
    ("_rad", "deg", 180.0 / std::f64::consts::PI),
    ("_pa", "MPa", 1e-6),
    ("_n", "N", 1.0),
    ("_m", "mm", 1e3),
];

/// Every figure of the JSON as a person would read it; `unit` is what the keys above say.
fn known(value: &Value, key: &str, unit: (&'static str, f64), all: &mut Vec<(&'static str, f64)>) {
    let by_suffix = SUFFIXES.iter().find(|(suffix, ..)| key.ends_with(suffix));
    let unit = by_suffix.map_or(unit, |(_, unit, factor)| (*unit, *factor));
    match value {
        Value::Number(x) => {
            let x = x.as_f64().unwrap();
            match (key, unit) {
                ("angle_slope" | "tilt_slope", _) => all.push(("deg", (1e-4 * x).to_degrees())),
                ("ratio_slope", _) => all.push(("%", 1e-2 * x)),
                (_, ("", _)) => all.extend([("", x), ("%", 100.0 * x)]),
                (_, (unit, factor)) => all.push((unit, factor * x)),
            }
            match unit.0 {
                "mm" => all.push(("um", 1e3 * unit.1 * x)),
                "N m" => all.push(("mN m", 1e3 * x)),
                _ => {}
            }
        }
        Value::Array(items) => items.iter().for_each(|item| known(item, key, unit, all)),
        Value::Object(fields) => {
            let said = ["unit", "name"].map(|field| fields.get(field).and_then(Value::as_str));
            let unit = match said {
                [Some("rad"), _] => ("deg", 1f64.to_degrees()),
                [Some("m"), _] => ("mm", 1e3),
                [None, Some("angle" | "transmission_angle")] if fields.contains_key("bound") => {
                    ("deg", 1f64.to_degrees())
                }
                _ => unit,
            };
            fields.iter().for_each(|(key, field)| known(field, key, unit, all));
        }
        _ => {}
    }
}

fn is_known(printed: &Printed, all: &[(&str, f64)]) -> bool {
    all.iter().filter(|(unit, _)| *unit == printed.unit).any(|(_, x)| {
        let off = (x - printed.value) / printed.digit;
        off.abs() <= 0.5001 || (printed.rounded_down && (-1e-6..1.0).contains(&off))
    })
}

/// Without the pictures made of characters, and without words whose figures are no findings; one line.
fn told(text: &str) -> String {
    const NO_FINDINGS: [&str; 7] = [
        "per 0.1 mm",
        "95 % below",
        "99.9 % below",
        "95 % interval",
        "up to 15 %",
        "± = 3 σ",
        "(e.g. 0.072 kg 20 mm behind the axis)",
    ];
    let findings = text.split("\n\n").map(|paragraph| match paragraph.split_once('\n') {
        Some((first, _)) if first.starts_with("  transmission ratio") => first,
        _ if first_is_of_builds(paragraph) => "",
        _ => paragraph,
    });
    let text = findings.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ");
    let text = NO_FINDINGS.iter().fold(text, |text, words| text.replace(words, " "));
    // What stands in quotes is an example of what to write.
    text.split('"').step_by(2).collect::<Vec<_>>().join(" ")
}

/// Is it the histogram made of characters?
fn first_is_of_builds(paragraph: &str) -> bool {
    let first = paragraph.lines().next().unwrap_or_default();
    first.starts_with("  worst ") && first.ends_with(" over the stroke (builds)")
}

/// Without what a robot reads that counts the other way: `tests/study/readings.rs` holds that against its joint.
fn of_the_drawing(told: &str) -> String {
    let mut pieces = told.split("counts the other way:");
    let first = pieces.next().unwrap_or_default();
    // "motor 55.00…115.00 deg, joint -35.00…25.00 deg"
    let rest = pieces.flat_map(|piece| piece.split(' ').skip(7));
    std::iter::once(first).chain(rest).collect::<Vec<_>>().join(" ")
}

/// The text of a page as plain as a terminal's, without its scripts and what stands there as written elsewhere.
fn plain(page: &str) -> String {
    let body = &page[page.find("<body>").unwrap()..];
    let (mut text, mut is_copied) = (String::new(), false);
    for piece in body.split('<') {
        let (tag, words) = piece.split_once('>').unwrap_or(("", piece));
        let is = |names: &[&str]| {
            names.contains(&tag.trim_start_matches('/').split(' ').next().unwrap())
        };
        if is(&["script", "pre"]) {
            is_copied = !tag.starts_with('/');
        }
        if !is_copied {
            text.push_str(if is(&["span", "a", "code"]) { "" } else { "\n" });
            text.push_str(words);
        }
    }
    let signs = [("&quot;", "\""), ("&#39;", "'"), ("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&")];
    let text = signs.iter().fold(text, |text, (sign, plain)| text.replace(sign, plain));
    text.replace('\u{a0}', " ").replace('−', "-")
}

const COMMANDS: [&str; 3] = ["check", "tolerance", "loads"];

/// The text of a command where it has something to tell.
fn text_of(command: &str, design: &str) -> Option<String> {
    let asked = run(&[command, design, "--full"]);
    let shown = String::from_utf8(asked.get_output().stdout.clone()).unwrap();
    (!shown.is_empty()).then_some(shown)
}

#[test]
fn every_figure_shown_as_text_is_the_jsons_to_the_printed_digits() {
    let (mut seen, mut faults) = (0, Vec::new());
    for design in every_design() {
        for command in COMMANDS {
            let Some(text) = text_of(command, &design) else { continue };
            let json = run(&[command, &design, "--json"]);
            let json: Value = serde_json::from_slice(&json.get_output().stdout).unwrap();
            let mut all = Vec::new();
            known(&json, "", ("", 1.0), &mut all);
            for printed in figures(&of_the_drawing(&told(&text))) {
                seen += 1;
                if !is_known(&printed, &all) {
                    faults.push(format!("{command} {design}: {printed:?}"));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(seen > 400, "{seen}");
}

#[test]
fn the_page_shows_the_figures_and_the_findings_of_the_terminal_in_the_same_words() {
    let (mut seen, mut faults) = (0, Vec::new());
    for design in every_design() {
        let page = plain(&page(&[&design]));
        let on_page = figures(&page);
        for command in COMMANDS {
            // No page shows a tolerance study of a design without tolerances.
            let Some(text) = text_of(command, &design) else { continue };
            if command == "tolerance" && !page.contains("builds drawn at random") {
                continue;
            }
            for figure in figures(&told(&text)) {
                let same = |other: &Printed| {
                    (other.value, other.digit, &other.unit)
                        == (figure.value, figure.digit, &figure.unit)
                };
                if !on_page.iter().any(same) {
                    faults.push(format!("{command} {design}: {figure:?}"));
                }
            }
            for finding in listed(&text) {
                seen += 1;
                if !page.contains(&finding.replace('−', "-")[1..]) {
                    faults.push(format!("{command} {design}: {finding}"));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(seen > 20, "{seen}");
}

/// The clauses behind dashes, each on one line.
fn listed(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in text.lines() {
        if let Some(first) = line.strip_prefix("  - ") {
            found.push(first.to_owned());
        } else if let (Some(more), Some(last)) = (continued(line), found.last_mut()) {
            last.push_str(&format!(" {}", more.trim()));
        }
    }
    found
}

/// A line that goes on with the clause above it.
fn continued(line: &str) -> Option<&str> {
    line.strip_prefix("    ").filter(|more| !more.starts_with(' '))
}
