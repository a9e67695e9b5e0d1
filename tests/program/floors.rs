//! The floors hold: a module imports only from the floors below it, by its real path; no files of a floor import each
//! other in a circle; files stay short; the one exception to "no unsafe code" stays alone.
//!
//! Reads `src/` as text. Comments and strings are blanked first, so that only code counts.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Module and what it may import: the table of DEVELOPERS.md.
const FLOORS: [(u8, &str, &[&str]); 14] = [
    (0, "numeric", &[]),
    (0, "standards", &[]),
    (0, "units", &[]),
    (0, "diagnostic", &[]),
    (1, "linkage", &["numeric"]),
    (1, "drive", &["numeric"]),
    (1, "robot", &["numeric", "diagnostic"]),
    (2, "dynamics", &["drive", "linkage", "numeric"]),
    (3, "equivalence", &["dynamics", "drive", "linkage", "numeric"]),
    (4, "tolerance", &["equivalence", "dynamics", "drive", "linkage", "standards", "numeric"]),
    (
        5,
        "design",
        &[
            "tolerance",
            "equivalence",
            "dynamics",
            "drive",
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
            "drive",
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
            "drive",
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
/// them computes anything; vectors add up.
const WORDS: [(&str, &[&str]); 6] = [
    ("design", &["SetBy", "StrokeBy"]),
    (
        "equivalence",
        &["Assessment", "Basis", "Criterion", "Figure", "Outcome", "Shown", "Verdict", "Witness"],
    ),
    (
        "drive",
        &[
            "Axis",
            "Circle",
            "InputEnd",
            "Kind",
            "Leg",
            "Measure",
            "RodOnHinge",
            "RodPose",
            "Size",
            "Vector",
        ],
    ),
    ("linkage", &["Class", "Closure", "Extreme", "FourBar", "Kind"]),
    (
        "dynamics",
        &[
            "BallTilts",
            "Bounds",
            "BucklingLaw",
            "Duty",
            "Fidelity",
            "InSpace",
            "JawDuty",
            "Loads",
            "PinLoad",
            "PinPlace",
            "ScrewDuty",
            "ScrewLoads",
            "Shortcut",
        ],
    ),
    (
        "tolerance",
        &[
            "Alone",
            "Budget",
            "ClassChoice",
            "Contribution",
            "Deviation",
            "Distribution",
            "Estimate",
            "Growth",
            "Histogram",
            "Scattered",
            "Statistics",
            "Variable",
            "Varied",
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

/// The modules that a file names, whole paths from the root, its tests left out; `known` are all files' modules.
fn named_modules(path: &str, text: &str, known: &BTreeSet<String>) -> BTreeSet<String> {
    let (own, code) = (modules(path), code(text));
    let code = code.split("#[cfg(test)]").next().unwrap_or_default();
    let mut found = BTreeSet::new();
    for (at, word) in code.match_indices("crate::").chain(code.match_indices("super::")) {
        if code[..at].chars().next_back().is_some_and(|c| is_word(c) || c == ':' || c == '$') {
            continue;
        }
        let (mut from, mut rest) = (own.clone(), &code[at..]);
        if word == "crate::" {
            (from, rest) = (Vec::new(), &rest[word.len()..]);
        }
        while let Some(above) = rest.trim_start().strip_prefix("super::") {
            from.pop();
            rest = above;
        }
        let from: Vec<String> = from.into_iter().map(str::to_owned).collect();
        leaves(&from, rest, &mut |leaf| {
            let longest = (1..=leaf.len()).rev().map(|n| leaf[..n].join("/"));
            found.extend(longest.into_iter().find(|path| known.contains(path)));
        });
    }
    found.remove(&own.join("/"));
    found
}

/// Every path that branches off `from` in `rest`.
fn leaves(from: &[String], rest: &str, take: &mut dyn FnMut(&[String])) {
    for branch in branches(rest) {
        let (word, more) = step(branch);
        let path = [from, &[word.to_owned()]].concat();
        match more {
            Some(more) => leaves(&path, more, take),
            None => take(&path),
        }
    }
}

/// Which modules lead to which; a folder's `mod.rs` and the files in it are a type and its parts, and no circle.
fn roads(files: &[File]) -> BTreeMap<String, BTreeSet<String>> {
    let known: BTreeSet<String> = files.iter().map(|f| modules(&f.path).join("/")).collect();
    let road = |file: &File| {
        let own = modules(&file.path).join("/");
        let mut named = named_modules(&file.path, &file.text, &known);
        named.retain(|other| !is_part(&own, other) && floor_of(other) == floor_of(&own));
        (own, named)
    };
    files.iter().map(road).filter(|(own, _)| !own.is_empty() && floor_of(own) != TOP).collect()
}

fn floor_of(module: &str) -> &str {
    module.split('/').next().unwrap_or_default()
}

/// Whether `other` is the folder that `module` lies in.
fn is_part(module: &str, other: &str) -> bool {
    module.strip_prefix(other).is_some_and(|rest| rest.starts_with('/'))
}

/// The files that lead to each other, in order.
fn circles(files: &[File]) -> Vec<Vec<String>> {
    let roads = roads(files);
    let reached: BTreeMap<&String, BTreeSet<&String>> = roads
        .keys()
        .map(|start| {
            let (mut seen, mut open) = (BTreeSet::new(), vec![start]);
            while let Some(at) = open.pop() {
                open.extend(roads.get(at).into_iter().flatten().filter(|next| seen.insert(*next)));
            }
            (start, seen)
        })
        .collect();
    let together = |a: &String, b: &String| {
        let leads = |from, to| reached.get(from).is_some_and(|seen| seen.contains(to));
        leads(a, b) && leads(b, a)
    };
    let circle = |a: &String| roads.keys().filter(|b| together(a, b)).cloned().collect();
    let all: BTreeSet<Vec<String>> = roads.keys().map(circle).collect();
    all.into_iter().filter(|circle: &Vec<String>| circle.len() > 1).collect()
}

#[test]
fn files_of_a_floor_import_each_other_in_no_circle() {
    let found = circles(&files());
    assert!(found.is_empty(), "files that import each other in a circle: {found:#?}");
}

#[test]
fn a_circle_is_told_and_a_folder_with_its_parts_is_none() {
    let file = |path: &str, text: &str| File { path: path.to_owned(), text: text.to_owned() };
    let round = [
        file("src/linkage/a.rs", "use super::{b::{B, Other}, mod_d};"),
        file("src/linkage/b.rs", "use crate::linkage::c::C;"),
        file("src/linkage/c.rs", "fn f() { super::a::g() }"),
    ];
    assert_eq!(circles(&round), [["linkage/a", "linkage/b", "linkage/c"].map(str::to_owned)]);
    let parts = [
        file("src/linkage/a/mod.rs", "use crate::linkage::a::part::Part;"),
        file("src/linkage/a/part.rs", "use super::A;\nuse super::super::b::B;"),
        file("src/linkage/b.rs", "#[cfg(test)]\nmod tests { use crate::linkage::a::A; }"),
    ];
    assert!(circles(&parts).is_empty());
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

/// The cells of `module`'s row in a table of floors.
fn row(text: &str, floor: u8, module: &str) -> Vec<String> {
    let cells = |line: &str| line.split('|').map(|cell| cell.trim().to_owned()).collect();
    let rows = text.lines().map(cells).filter(|cells: &Vec<String>| {
        let name = cells.get(2).map(|name| name.trim_matches(['[', ']', '`']));
        cells.get(1) == Some(&floor.to_string()) && name == Some(module)
    });
    let rows: Vec<Vec<String>> = rows.collect();
    assert!(rows.len() == 1, "{} rows for `{module}` on floor {floor}", rows.len());
    rows.concat()
}

#[test]
fn the_tables_of_the_developers_and_of_the_library_are_this_one() {
    let developers = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let library = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    let library = library.replace("//! ", "");
    for (floor, name, allowed) in FLOORS {
        let told = row(&developers, floor, name);
        let written: Vec<&str> = told[4].split(", ").filter(|name| *name != "–").collect();
        assert_eq!(written, allowed, "{name}");
        assert_eq!(row(&library, floor, name)[3], told[3], "{name} in src/lib.rs");
    }
    let floors = library.lines().filter(|line| line.starts_with("| ") && line.contains("| [`"));
    assert_eq!(floors.count(), FLOORS.len(), "src/lib.rs has a floor that there is not");
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
