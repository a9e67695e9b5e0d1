//! Files that a command writes: looked at before the work, written whole after it, and told.
//!
//! A name promises a format by its ending: one that belongs to another format is refused; none, an unknown one and `.xml`
//! pass.

use std::path::Path;

use crate::diagnostic::{visible, visible_path};
use crate::handover;

use super::exit::Exit;
use super::terminal;

/// Endings and the format that each belongs to.
const KNOWN: [(&str, &str); 19] = [
    ("c", "C"),
    ("csv", "CSV"),
    ("h", "C"),
    ("htm", "HTML"),
    ("html", "HTML"),
    ("json", "JSON"),
    ("mjcf", "MJCF"),
    ("pdf", "PDF"),
    ("png", "PNG"),
    ("py", "Python"),
    ("rs", "Rust"),
    ("sdf", "SDFormat"),
    ("svg", "SVG"),
    ("toml", "TOML"),
    ("txt", "plain text"),
    ("urdf", "URDF"),
    ("xacro", "Xacro"),
    ("yaml", "YAML"),
    ("yml", "YAML"),
];

/// The format that the name of `path` promises, where it promises one.
pub(super) fn format_of(path: &Path) -> Option<&'static str> {
    let ending = path.extension()?.to_str()?;
    KNOWN.iter().find(|(known, _)| ending.eq_ignore_ascii_case(known)).map(|(_, format)| *format)
}

/// What stands against writing one of the formats `written` to `path`: its ending, or what is there already. Standard output
/// takes all.
pub(super) fn fault(path: &Path, written: &[&'static str], force: bool) -> Option<String> {
    if path == Path::new("-") {
        return None;
    }
    let taken = || handover::must_be_free(path, force).err().map(|fault| fault.to_string());
    misfit(path, written).or_else(taken)
}

/// Writes all of the files or none, and says so.
pub(super) fn write(files: &[(&Path, &str)], force: bool) -> Exit {
    write_after(files, force, || ())
}

/// The same, with what is to be told first of files that could be written.
pub(super) fn write_after(files: &[(&Path, &str)], force: bool, tell: impl FnOnce()) -> Exit {
    match handover::write_texts(files, force) {
        Ok(()) => {
            tell();
            for (path, _) in files {
                terminal::complain(&format!("wrote {}\n", visible_path(path)));
            }
            Exit::Done
        }
        Err(fault) => wrong(&fault.to_string()),
    }
}

/// Says what is wrong with the call.
pub(super) fn wrong(message: &str) -> Exit {
    let told: Vec<_> = message.split('\n').map(visible).collect();
    terminal::complain(&format!("error: {}\n", told.join("\n")));
    Exit::Wrong
}

/// What stands against the ending of `path` for one of the formats `written`.
pub(super) fn misfit(path: &Path, written: &[&'static str]) -> Option<String> {
    let promised = format_of(path).filter(|promised| !written.contains(promised))?;
    let endings = KNOWN.iter().filter(|(_, format)| written.contains(format));
    let endings: Vec<String> = endings.map(|(ending, _)| format!(".{ending}")).collect();
    let (file, written) = (visible_path(path), written.join(" or "));
    Some(format!(
        "{file} ends like {promised}, and {written} is written there: name it {}",
        endings.join(" or ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_not_written_into_a_file_that_a_reader_would_open_as_something_else() {
        let against = |name: &str| misfit(Path::new(name), &["HTML"]);
        let told = against("review.pdf").unwrap();
        assert_eq!(
            told,
            "review.pdf ends like PDF, and HTML is written there: name it .htm or .html"
        );
        for good in ["review.html", "review.HTM", "review", "review.xml", "review.page", "-"] {
            assert_eq!(against(good), None, "{good}");
        }
    }
}
