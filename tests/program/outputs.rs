//! What a command writes, and what a call that is nearly right is told.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::command::{errors, unloop};

const DESIGN: &str = "models/ankle.toml";

fn text(path: &Path) -> String {
    path.to_str().unwrap().to_owned()
}

#[cfg(unix)]
#[test]
fn a_file_that_is_overwritten_keeps_its_permissions() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = TempDir::new().unwrap();
    let page = folder.path().join("page.html");
    fs::write(&page, "").unwrap();
    fs::set_permissions(&page, fs::Permissions::from_mode(0o600)).unwrap();
    unloop(&["report", DESIGN, "-o", &text(&page), "--force"]).assert().code(0);
    assert_eq!(fs::metadata(&page).unwrap().permissions().mode() & 0o777, 0o600);
    assert!(fs::read_to_string(&page).unwrap().contains("ankle"));
}

#[cfg(unix)]
#[test]
fn a_link_that_is_overwritten_goes_on_pointing_where_it_did() {
    let folder = TempDir::new().unwrap();
    let elsewhere = folder.path().join("pages");
    fs::create_dir(&elsewhere).unwrap();
    let (real, link) = (elsewhere.join("real.html"), folder.path().join("page.html"));
    fs::write(&real, "old").unwrap();
    std::os::unix::fs::symlink("pages/real.html", &link).unwrap();
    unloop(&["report", DESIGN, "-o", &text(&link), "--force"]).assert().code(0);
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::read_to_string(&real).unwrap().contains("ankle"));
    assert_eq!(fs::read_dir(&elsewhere).unwrap().count(), 1);
}

#[test]
fn a_file_whose_name_promises_another_format_is_not_written() {
    let folder = TempDir::new().unwrap();
    let inside = |name: &str| text(&folder.path().join(name));
    let toleranced = "models/ankle_toleranced.toml";
    let calls = [
        vec!["report".to_owned(), DESIGN.to_owned(), "-o".to_owned(), inside("page.pdf")],
        ["tolerance", toleranced, "--ranges", &inside("r.json")].map(String::from).to_vec(),
        ["emit", DESIGN, "--to", "urdf", "-o", &inside("a.sdf")].map(String::from).to_vec(),
        ["map", DESIGN, "--in", "c99", "-o", &inside("a.py")].map(String::from).to_vec(),
        ["new", "-o", &inside("a.json")].map(String::from).to_vec(),
        ["check", DESIGN, "--proof", &inside("a.toml")].map(String::from).to_vec(),
        ["fold", "models/robots/leg.xml", "-o", &inside("a.sdf")].map(String::from).to_vec(),
    ];
    for call in calls {
        let call: Vec<&str> = call.iter().map(String::as_str).collect();
        let told = errors(&unloop(&call).assert().code(2));
        assert!(told.contains("ends like"), "{call:?}\n{told}");
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn a_file_without_a_command_is_checked() {
    let alone = unloop(&[DESIGN]).assert().code(0);
    let asked = unloop(&["check", DESIGN]).assert().code(0);
    assert_eq!(alone.get_output().stdout, asked.get_output().stdout);
}

#[test]
fn no_tip_offers_what_overwrites_a_file() {
    let told = errors(&unloop(&["check", DESIGN, "--format", "json"]).assert().code(2));
    assert!(told.contains("--json") && !told.contains("--force"), "{told}");
    let told = errors(&unloop(&["check", DESIGN, "--fore"]).assert().code(2));
    assert!(!told.contains("tip"), "{told}");
}

#[test]
fn a_robot_file_before_the_design_is_told_as_swapped() {
    let robot = "models/robots/leg.urdf";
    let told = errors(&unloop(&["compare", robot, DESIGN]).assert().code(2));
    assert_eq!(told, format!("error: the design comes first: unloop compare {DESIGN} {robot}\n"));
}

#[cfg(target_os = "linux")]
#[test]
fn help_that_a_full_disk_does_not_take_is_an_error() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let program = env!("CARGO_BIN_EXE_unloop");
    let ended = std::process::Command::new(program).arg("--help").stdout(full).status().unwrap();
    assert_eq!(ended.code(), Some(2));
}
