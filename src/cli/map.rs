//! `unloop map DESIGN --in LANGUAGE -o FILE`

use std::path::Path;

use crate::design::{AnyDesign, Source};
use crate::diagnostic::render;
use crate::handover::map::{
    Language, MapAsk, MapCode, MapFault, map, map_of_sizes, map_of_two_joints,
};
use crate::study::{Driven, Mechanism, TwoMotors};

use super::arguments::MapArguments;
use super::exit::Exit;
use super::{designs, output, terminal};

pub(super) fn run(arguments: &MapArguments) -> Exit {
    if let Some(fault) = wrong_place(arguments) {
        return output::wrong(&fault);
    }
    designs::answer(&arguments.design, &["rod", "mass", "motion"], |design| {
        let ask = ask(arguments);
        let made = match design {
            AnyDesign::FourBar(own) => map(own, &Mechanism::of(own)?, &ask),
            AnyDesign::OneJoint(own) => map_of_sizes(own, &Driven::of(own)?, &ask),
            AnyDesign::TwoJoints(own) => map_of_two_joints(own, &TwoMotors::of(own)?, &ask),
        };
        Ok(match made {
            Ok(made) => write(arguments, &made),
            Err(fault) => refuse(design, &fault),
        })
    })
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

fn refuse(design: &AnyDesign, fault: &MapFault) -> Exit {
    let shown = designs::fitted(fault.diagnostic(design));
    let Source { path, text } = design.source();
    terminal::complain(&render(path, text, &[shown], terminal::error_colour()));
    match fault {
        MapFault::NotWithin { .. } => Exit::Undecided,
        _ => Exit::Wrong,
    }
}
