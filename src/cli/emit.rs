//! `unloop emit DESIGN --to FORMAT -o FILE`

use crate::design::{AnyDesign, Design, Drawn};
use crate::diagnostic::{Diagnostic, visible_path};
use crate::handover::{self, Ask, Emission, EmitFault};
use crate::study::{self, Driven, Fault, Mechanism};

use super::arguments::EmitArguments;
use super::exit::Exit;
use super::{designs, output, terminal};

pub(super) fn run(arguments: &EmitArguments) -> Exit {
    if let Some(fault) = output::misfit(&arguments.output, &[arguments.to.name()]) {
        return output::wrong(&fault);
    }
    match designs::read(&arguments.design, &["rod"]) {
        Some(AnyDesign::FourBar(design)) => {
            told(arguments, &design, of_four_bar(arguments, &design))
        }
        Some(AnyDesign::OneJoint(design)) => told(arguments, &design, of_drive(arguments, &design)),
        Some(AnyDesign::TwoJoints(design)) => designs::refuse_two_joints(&design, "emit"),
        None => Exit::Wrong,
    }
}

/// What is to be written, or what stands against it; faults of the design itself first.
type Emitted = Result<Result<Emission, Vec<EmitFault>>, Vec<Fault>>;

fn of_four_bar(arguments: &EmitArguments, design: &Design) -> Emitted {
    let mechanism = Mechanism::of(design)?;
    let check = study::check_on(design, &mechanism)?;
    Ok(handover::emit_drawn(design, &mechanism, &check, &ask(arguments)))
}

fn of_drive(arguments: &EmitArguments, design: &Design<Drawn>) -> Emitted {
    let driven = Driven::of(design)?;
    let check = study::check_driven(design, &driven)?;
    Ok(handover::emit_one_joint(design, &driven, &check, &ask(arguments)))
}

fn told<G>(arguments: &EmitArguments, design: &Design<G>, emitted: Emitted) -> Exit {
    match emitted {
        Ok(Ok(emission)) => write(arguments, &emission),
        Ok(Err(faults)) => refuse(design, &faults),
        Err(faults) => {
            designs::show_faults(design, &faults);
            Exit::Wrong
        }
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
                terminal::complain(&format!("wrote {}\n", visible_path(file)));
            }
            Exit::Done
        }
        Err(fault) => output::wrong(&fault.to_string()),
    }
}

/// Shows all that stands against the emission; wrong input outranks the verdict.
pub(super) fn refuse<G>(design: &Design<G>, faults: &[EmitFault]) -> Exit {
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
