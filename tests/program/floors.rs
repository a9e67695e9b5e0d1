//! The floors hold: a module imports only from the floors below it, by its real path; files stay short; the one
//! exception to "no unsafe code" stays alone.
//!
//! Reads `src/` as text. Comments and strings are blanked first, so that only code counts.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Module and what it may import: the table of DEVELOPERS.md.
const FLOORS: [(u8, &str, &[&str]); 13] = [
    (0, "numeric", &[]),
    (0, "standards", &[]),
    (0, "units", &[]),
    (0, "diagnostic", &[]),
    (1, "linkage", &["numeric"]),
    (1, "robot", &["numeric", "diagnostic"]),
    (2, "dynamics", &["linkage", "numeric"]),
    (3, "equivalence", &["dynamics", "linkage", "numeric"]),
    (4, "tolerance", &["equivalence", "dynamics", "linkage", "standards", "numeric"]),
    (
        5,
        "design",
        &[
            "tolerance",
            "equivalence",
            "dynamics",
            "linkage",
            "numeric",
            "standards",
            "units",
            "diagnostic",
        ],
    ),
    (
        6,
        "study",
        &[
            "design",
            "tolerance",
            "equivalence",
            "dynamics",
            "linkage",
            "numeric",
            "standards",
            "units",
            "diagnostic",
        ],
    ),
    (
        7,
        "handover",
        &[
            "study",
            "robot",
            "design",
            "tolerance",
            "equivalence",
            "dynamics",
            "linkage",
            "numeric",
            "standards",
            "units",
            "diagnostic",
        ],
    ),
    (8, "report", &["handover", "study", "units", "diagnostic"]),
];

/// The door of the house; may import all of the above.
const TOP: &str = "cli";

/// Words that findings are made of: `report` may name these types of lower floors, and nothing else there. None of
/// them computes anything.
const WORDS: [(&str, &[&str]); 5] = [
    ("design", &["SetBy", "StrokeBy"]),
    (
        "equivalence",
        &["Assessment", "Basis", "Criterion", "Figure", "Outcome", "Shown", "Verdict", "Witness"],
    ),
    ("linkage", &["Class", "Closure", "Extreme", "FourBar", "Kind"]),
    (
        "dynamics",
        &["Bounds", "BucklingLaw", "Duty", "Fidelity", "Loads", "PinLoad", "PinPlace", "Shortcut"],
    ),
    (
        "tolerance",
        &[
            "ClassChoice",
            "Contribution",
            "Deviation",
            "Distribution",
            "Estimate",
            "Scattered",
            "Statistics",
            "Variable",
        ],
    ),
];

/// The most lines of a file before its tests.
const LONGEST: usize = 450;

/// Files with `unsafe`: the choice of the AVX2 version at run time.
const UNSAFE: [&str; 1] = ["src/numeric/wide.rs"];

struct File {
    /// From the crate's root, with `/`.
    path: String,
    text: String,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|ext| ext == "rs") {
            found.push(path);
        }
    }
}

fn files() -> Vec<File> {
    let mut paths = Vec::new();
    collect(&root().join("src"), &mut paths);
    paths.sort();
    let file = |path: PathBuf| {
        let name = path.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
        File { path: name, text: fs::read_to_string(path).unwrap() }
    };
    paths.into_iter().map(file).collect()
}

/// The modules on the way to a file: `src/design/parts.rs` → `design`, `parts`.
fn modules(path: &str) -> Vec<&str> {
    let inner = path.trim_start_matches("src/").trim_end_matches(".rs");
    let mut modules: Vec<&str> = inner.split('/').collect();
    if matches!(modules.last(), Some(&("mod" | "lib" | "main"))) {
        modules.pop();
    }
    modules
}

/// `text` with comments, strings and characters blanked, line breaks kept.
fn code(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < chars.len() {
        let end = blank_end(&chars, at);
        for c in &chars[at..end.max(at + 1)] {
            out.push(if end > at && *c != '\n' { ' ' } else { *c });
        }
        at = end.max(at + 1);
    }
    out
}

/// Where the comment, string or character that begins at `at` ends; `at` where none begins there.
fn blank_end(chars: &[char], at: usize) -> usize {
    let next = |offset: usize| chars.get(at + offset).copied().unwrap_or('\0');
    match (chars[at], next(1)) {
        ('/', '/') => at + chars[at..].iter().take_while(|c| **c != '\n').count(),
        ('/', '*') => {
            let end = chars[at + 2..].windows(2).position(|pair| pair == ['*', '/']);
            end.map_or(chars.len(), |end| at + 2 + end + 2)
        }
        ('"', _) => quote_end(chars, at),
        ('r', '"' | '#') if at == 0 || !chars[at - 1].is_alphanumeric() => raw_end(chars, at),
        ('\'', '\\') => {
            at + 3
                + chars.get(at + 3..).unwrap_or(&[]).iter().take_while(|c| **c != '\'').count()
                + 1
        }
        ('\'', _) if next(2) == '\'' => at + 3,
        _ => at,
    }
}

fn quote_end(chars: &[char], at: usize) -> usize {
    let mut end = at + 1;
    while end < chars.len() && chars[end] != '"' {
        end += if chars[end] == '\\' { 2 } else { 1 };
    }
    (end + 1).min(chars.len())
}

fn raw_end(chars: &[char], at: usize) -> usize {
    let hashes = chars[at + 1..].iter().take_while(|c| **c == '#').count();
    if chars.get(at + 1 + hashes) != Some(&'"') {
        return at;
    }
    let close: Vec<char> = std::iter::once('"').chain(std::iter::repeat_n('#', hashes)).collect();
    let body = at + 2 + hashes;
    let end = chars[body..].windows(close.len()).position(|window| window == close);
    end.map_or(chars.len(), |end| body + end + close.len())
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// The first word of `rest`, and what comes after it and a `::`.
fn step(rest: &str) -> (&str, Option<&str>) {
    let rest = rest.trim_start();
    let end = rest.find(|c| !is_word(c)).unwrap_or(rest.len());
    let (word, after) = rest.split_at(end);
    (word, after.trim_start().strip_prefix("::"))
}

/// The branches of a path: those in braces, or the one that stands there.
fn branches(rest: &str) -> Vec<&str> {
    let trimmed = rest.trim_start();
    let Some(inner) = trimmed.strip_prefix('{') else { return vec![trimmed] };
    let (mut depth, mut from, mut found) = (0_usize, 0, Vec::new());
    for (at, c) in inner.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                found.push(&inner[from..at]);
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                found.push(&inner[from..at]);
                from = at + 1;
            }
            _ => {}
        }
    }
    found.retain(|branch| !branch.trim().is_empty());
    found
}

/// A path from the crate's root: the line, the first name, and the names below it where the code tells.
#[derive(Debug, PartialEq)]
struct Import {
    line: usize,
    module: String,
    items: Vec<String>,
}

fn imports(text: &str, depth: usize) -> Vec<Import> {
    let code = code(text);
    let tests = code.find("#[cfg(test)]").unwrap_or(code.len());
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::").chain(code.match_indices("super::")) {
        if code[..at].chars().next_back().is_some_and(|c| is_word(c) || c == ':' || c == '$') {
            continue;
        }
        let depth = depth + usize::from(at > tests);
        if let Some(rest) = below_the_root(&code[at..], depth) {
            let line = 1 + code[..at].matches('\n').count();
            found.extend(branches(rest).into_iter().map(|branch| import(branch, line)));
        }
    }
    found
}

/// What follows `crate::`, or as many `super::` as lead to the root from `depth` modules down.
fn below_the_root(path: &str, depth: usize) -> Option<&str> {
    if let Some(rest) = path.strip_prefix("crate::") {
        return Some(rest);
    }
    let (mut rest, mut left) = (path, depth);
    while left > 0 {
        rest = rest.trim_start().strip_prefix("super::")?;
        left -= 1;
    }
    Some(rest)
}

fn import(branch: &str, line: usize) -> Import {
    let (module, rest) = step(branch);
    let items = rest.map(|rest| branches(rest).into_iter().map(|b| step(b).0.to_owned()).collect());
    Import { line, module: module.to_owned(), items: items.unwrap_or_default() }
}

/// Why `module` may not import that, if so.
fn fault(module: &str, import: &Import) -> Option<String> {
    let target = import.module.as_str();
    let known = target == TOP || FLOORS.iter().any(|floor| floor.1 == target);
    if !known {
        return Some(format!("`{module}` names `crate::{target}`: use the real path"));
    }
    if module == target || module == TOP {
        return None;
    }
    let Some((_, _, allowed)) = FLOORS.iter().find(|floor| floor.1 == module) else {
        return Some(format!("`{module}` has no floor; it imports `{target}`"));
    };
    if allowed.contains(&target) || (module == "report" && is_word_of(target, &import.items)) {
        return None;
    }
    Some(format!("`{module}` may not import `{target}`"))
}

fn is_word_of(target: &str, items: &[String]) -> bool {
    let words = WORDS.iter().find(|words| words.0 == target).map_or(&[][..], |words| words.1);
    !items.is_empty() && items.iter().all(|item| words.contains(&item.as_str()))
}

fn faults(path: &str, text: &str) -> Vec<String> {
    let modules = modules(path);
    // lib.rs and main.rs stand above the floors
    let Some(module) = modules.first() else { return Vec::new() };
    let imports = imports(text, modules.len());
    let found = imports.iter().filter_map(|i| Some((i.line, fault(module, i)?)));
    found.map(|(line, what)| format!("{path}:{line}: {what}")).collect()
}

#[test]
fn every_module_imports_only_from_the_floors_below() {
    let found: Vec<String> = files().iter().flat_map(|f| faults(&f.path, &f.text)).collect();
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn an_import_upward_is_told_with_file_line_and_both_names() {
    let text = "//! A module.\nuse std::fmt;\nuse crate::report::Style;\n";
    assert_eq!(
        faults("src/linkage/pose.rs", text),
        ["src/linkage/pose.rs:3: `linkage` may not import `report`"]
    );
    assert_eq!(
        faults("src/units/number.rs", "fn f() {\n    super::super::diagnostic::render()\n}"),
        ["src/units/number.rs:2: `units` may not import `diagnostic`"]
    );
    assert_eq!(
        faults("src/units.rs", "use super::{\n    units::Fault, linkage::{FourBar, Pose},\n};"),
        ["src/units.rs:1: `units` may not import `linkage`"]
    );
}

#[test]
fn a_floor_may_not_import_its_neighbour() {
    let found = faults("src/robot/urdf.rs", "use crate::linkage::FourBar;");
    assert_eq!(found, ["src/robot/urdf.rs:1: `robot` may not import `linkage`"]);
}

#[test]
fn a_name_re_exported_through_the_root_is_told() {
    let found = faults("src/study/check.rs", "use crate::FourBar;");
    assert_eq!(found, ["src/study/check.rs:1: `study` names `crate::FourBar`: use the real path"]);
}

#[test]
fn the_report_may_name_words_of_lower_floors_but_call_nothing_there() {
    assert!(faults("src/report/a.rs", "use crate::equivalence::{Outcome, Verdict};").is_empty());
    for bad in ["use crate::equivalence::{Outcome, Prover};", "use crate::linkage;"] {
        assert_eq!(faults("src/report/a.rs", bad).len(), 1, "{bad}");
    }
}

#[test]
fn comments_strings_and_what_lies_below_are_no_fault() {
    let text = "/* crate::cli */ // crate::cli\nconst A: &str = \"crate::cli \\\" crate::cli\";\n\
        const B: &str = r#\"crate::cli \" crate::cli\"#; const C: [char; 2] = ['\"', '\\''];\n\
        use crate::numeric::Interval;\n\
        #[cfg(test)]\nmod tests {\n    use super::super::four_bar::FourBar;\n}\n";
    assert_eq!(faults("src/linkage/pose.rs", text), [""; 0]);
}

#[test]
fn every_module_has_its_floor() {
    let lib = code(&fs::read_to_string(root().join("src/lib.rs")).unwrap());
    for line in lib.lines().filter_map(|line| line.trim().strip_prefix("pub mod ")) {
        let name = line.trim_end_matches(';');
        assert!(name == TOP || FLOORS.iter().any(|floor| floor.1 == name), "{name} has no floor");
    }
    assert!(!lib.contains("use "), "lib.rs re-exports nothing");
}

#[test]
fn a_floor_lies_below_those_that_stand_on_it() {
    let height: BTreeMap<&str, u8> =
        FLOORS.iter().map(|(floor, name, _)| (*name, *floor)).collect();
    for (floor, name, allowed) in FLOORS {
        for below in allowed {
            assert!(height[below] < floor, "{name} stands on {below}");
        }
    }
}

#[test]
fn the_table_of_the_developers_is_this_one() {
    let text = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for (floor, name, allowed) in FLOORS {
        let row = text.lines().find(|line| {
            line.starts_with(&format!("| {floor} ")) && line.contains(&format!("`{name}`"))
        });
        let row = row.unwrap_or_else(|| panic!("no row for `{name}`"));
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let written: Vec<&str> = cells[4].split(", ").filter(|name| *name != "–").collect();
        assert_eq!(written, allowed, "{row}");
    }
}

#[test]
fn no_file_is_long_before_its_tests() {
    for File { path, text } in files() {
        let length = text.lines().take_while(|line| line.trim() != "#[cfg(test)]").count();
        assert!(length <= LONGEST, "{path}: {length} lines before its tests");
    }
}

#[test]
fn the_exception_to_no_unsafe_code_stays_alone() {
    for File { path, text } in files() {
        let code = code(&text);
        let has = code.split(|c: char| !is_word(c)).any(|word| word == "unsafe");
        assert!(!has || UNSAFE.contains(&path.as_str()), "{path} has unsafe code");
    }
}

#[test]
fn no_file_is_a_drawer() {
    const DRAWERS: [&str; 6] = ["utils", "util", "helpers", "helper", "common", "misc"];
    for File { path, .. } in files() {
        assert!(!modules(&path).iter().any(|name| DRAWERS.contains(name)), "{path}");
    }
}
