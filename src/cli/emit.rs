//! `unloop emit DESIGN --to FORMAT -o FILE`

use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::handover::{self, Ask, Emission, EmitFault};
use crate::study::{self, Mechanism};

use super::arguments::EmitArguments;
use super::exit::Exit;
use super::{designs, terminal};

pub(super) fn run(arguments: &EmitArguments) -> Exit {
    let Some(design) = designs::four_bar_only(&arguments.design, "emit") else {
        return Exit::Wrong;
    };
    let found = Mechanism::of(&design).and_then(|m| Ok((study::check_on(&design, &m)?, m)));
    let (check, mechanism) = match found {
        Ok(both) => both,
        Err(faults) => {
            designs::show_faults(&design, &faults);
            return Exit::Wrong;
        }
    };
    match handover::emit_drawn(&design, &mechanism, &check, &ask(arguments)) {
        Ok(emission) => write(arguments, &emission),
        Err(faults) => refuse(&design, &faults),
    }
}

fn ask(arguments: &EmitArguments) -> Ask {
    Ask {
        format: arguments.to,
        form: arguments.model,
        whole: arguments.whole,
        anyway: arguments.anyway,
        limits: arguments.limits,
        actuator: arguments.actuator,
        engine: arguments.engine_version,
        fit: arguments.fit,
    }
}

fn write(arguments: &EmitArguments, emission: &Emission) -> Exit {
    let mut out = std::io::stdout().lock();
    match handover::write_files(emission, &arguments.output, arguments.force, &mut out) {
        Ok(written) => {
            for note in emission.notes.iter().chain(&written.notes) {
                terminal::note(note);
            }
            for file in &written.files {
                terminal::complain(&format!("wrote {}\n", file.display()));
            }
            Exit::Done
        }
        Err(fault) => {
            terminal::complain(&format!("error: {fault}\n"));
            Exit::Wrong
        }
    }
}

/// Shows all that stands against the emission; wrong input outranks the verdict.
pub(super) fn refuse(design: &Design, faults: &[EmitFault]) -> Exit {
    let shown = faults.iter().map(|fault| designs::fitted(fault.diagnostic(design)));
    let diagnostics: Vec<Diagnostic> = shown.collect();
    terminal::complain(&design.render(&diagnostics, terminal::error_colour()));
    designs::point_to_more(&diagnostics);
    let answer = |fault: &EmitFault| match fault {
        EmitFault::Refused { verdict, .. } => Exit::of(*verdict),
        EmitFault::NotLinear { .. } => Exit::NotEquivalent,
        _ => Exit::Wrong,
    };
    faults.iter().map(answer).max().unwrap_or(Exit::Wrong)
}
