//! `unloop map DESIGN --in LANGUAGE -o FILE`

use std::path::Path;

use crate::design::{AnyDesign, InFile, Source};
use crate::diagnostic::render;
use crate::handover::map::{
    Language, MapAsk, MapCode, MapFault, map, map_of_sizes, map_of_two_joints,
};
use crate::study::{Driven, Fault, Mechanism, TwoMotors};

use super::arguments::MapArguments;
use super::exit::Exit;
use super::{designs, output, terminal};

pub(super) fn run(arguments: &MapArguments) -> Exit {
    if let Some(fault) = wrong_place(arguments) {
        return output::wrong(&fault);
    }
    match designs::read(&arguments.design, &["rod", "mass", "motion"]) {
        None => Exit::Wrong,
        Some(AnyDesign::FourBar(design)) => {
            let made = Mechanism::of(&design).map(|own| map(&design, &own, &ask(arguments)));
            told(arguments, &design, made)
        }
        Some(AnyDesign::OneJoint(design)) => {
            let made = Driven::of(&design).map(|own| map_of_sizes(&design, &own, &ask(arguments)));
            told(arguments, &design, made)
        }
        Some(AnyDesign::TwoJoints(design)) => {
            let made = TwoMotors::of(&design);
            let made = made.map(|own| map_of_two_joints(&design, &own, &ask(arguments)));
            told(arguments, &*design, made)
        }
    }
}

/// What was made, or what stands against it; faults of the design itself first.
type Made = Result<Result<MapCode, MapFault>, Vec<Fault>>;

fn told(arguments: &MapArguments, design: &impl InFile, made: Made) -> Exit {
    let answer = made.map(|made| match made {
        Ok(made) => write(arguments, &made),
        Err(fault) => refuse(design, &fault),
    });
    designs::answered(design, answer)
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
    let written = match arguments.language {
        Language::C99 => "C",
        Language::Rust => "Rust",
        Language::Python => "Python",
    };
    let vectors = arguments.vectors.as_deref();
    if vectors == Some(arguments.output.as_path()) {
        return Some("-o and --vectors name one file".to_owned());
    }
    output::fault(&arguments.output, &[written], arguments.force)
        .or_else(|| output::fault(vectors?, &["CSV"], arguments.force))
}

fn write(arguments: &MapArguments, made: &MapCode) -> Exit {
    let mut texts = vec![(arguments.output.as_path(), made.code.as_str())];
    texts.extend(arguments.vectors.as_deref().map(|path| (path, made.vectors.as_str())));
    let (shown, kept): (Vec<_>, Vec<_>) =
        texts.into_iter().partition(|(path, _)| is_standard_output(path));
    let written = output::write(&kept, arguments.force);
    if written != Exit::Done {
        return written;
    }
    made.notes.iter().for_each(|note| terminal::note(note));
    shown.first().map_or(Exit::Done, |(_, text)| terminal::print(text, Exit::Done))
}

fn refuse(design: &impl InFile, fault: &MapFault) -> Exit {
    let shown = designs::fitted(fault.diagnostic(design));
    let Source { path, text } = design.source();
    terminal::complain(&render(path, text, &[shown], terminal::error_colour()));
    match fault {
        MapFault::NotWithin { .. } => Exit::Undecided,
        _ => Exit::Wrong,
    }
}
