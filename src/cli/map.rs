//! `unloop map DESIGN --in LANGUAGE -o FILE`

use std::path::Path;

use crate::design::Design;
use crate::handover::map::{Language, MapAsk, MapCode, MapFault, map};
use crate::handover::{must_be_free, write_texts};
use crate::study::Mechanism;

use super::arguments::MapArguments;
use super::exit::Exit;
use super::{designs, terminal};

pub(super) fn run(arguments: &MapArguments) -> Exit {
    if let Some(fault) = wrong_place(arguments) {
        terminal::complain(&format!("error: {fault}\n"));
        return Exit::Wrong;
    }
    let Some(design) = designs::four_bar_only(&arguments.design, "map") else { return Exit::Wrong };
    let mechanism = match Mechanism::of(&design) {
        Ok(mechanism) => mechanism,
        Err(faults) => {
            designs::show_faults(&design, &faults);
            return Exit::Wrong;
        }
    };
    match map(&design, &mechanism, &ask(arguments)) {
        Ok(made) => write(arguments, &made),
        Err(fault) => refuse(&design, &fault),
    }
}

fn ask(arguments: &MapArguments) -> MapAsk {
    MapAsk {
        language: arguments.language,
        number: arguments.number,
        form: arguments.form,
        within: arguments.within,
        beyond: arguments.beyond,
        as_header: ending(&arguments.output) == Some("h"),
    }
}

fn ending(path: &Path) -> Option<&str> {
    path.extension().and_then(|ending| ending.to_str())
}

fn is_standard_output(path: &Path) -> bool {
    path == Path::new("-")
}

/// What stands against the files that are to be written, before any work.
fn wrong_place(arguments: &MapArguments) -> Option<String> {
    let of = match ending(&arguments.output) {
        Some("c" | "h") => Some(Language::C99),
        Some("rs") => Some(Language::Rust),
        Some("py") => Some(Language::Python),
        _ => None,
    };
    let language = arguments.language.name();
    if let Some(other) = of.filter(|of| *of != arguments.language) {
        let (file, other) = (arguments.output.display(), other.name());
        return Some(format!("{file} ends like {other}, and --in {language} was asked for"));
    }
    let vectors = arguments.vectors.as_deref();
    if vectors == Some(arguments.output.as_path()) {
        return Some("-o and --vectors name one file".to_owned());
    }
    [Some(arguments.output.as_path()), vectors]
        .into_iter()
        .flatten()
        .filter(|path| !is_standard_output(path))
        .find_map(|path| must_be_free(path, arguments.force).err())
        .map(|fault| fault.to_string())
}

fn write(arguments: &MapArguments, made: &MapCode) -> Exit {
    let mut texts = vec![(arguments.output.as_path(), made.code.as_str())];
    texts.extend(arguments.vectors.as_deref().map(|path| (path, made.vectors.as_str())));
    let (shown, kept): (Vec<_>, Vec<_>) =
        texts.into_iter().partition(|(path, _)| is_standard_output(path));
    if let Err(fault) = write_texts(&kept, arguments.force) {
        terminal::complain(&format!("error: {fault}\n"));
        return Exit::Wrong;
    }
    made.notes.iter().for_each(|note| terminal::note(note));
    for (path, _) in kept {
        terminal::complain(&format!("wrote {}\n", path.display()));
    }
    shown.first().map_or(Exit::Done, |(_, text)| terminal::print(text, Exit::Done))
}

fn refuse(design: &Design, fault: &MapFault) -> Exit {
    let shown = designs::fitted(fault.diagnostic(design));
    terminal::complain(&design.render(&[shown], terminal::error_colour()));
    match fault {
        MapFault::NotWithin { .. } => Exit::Undecided,
        _ => Exit::Wrong,
    }
}
