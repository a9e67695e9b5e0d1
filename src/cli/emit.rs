//! `unloop emit DESIGN --to FORMAT -o FILE`

use crate::design::{AnyDesign, Design, Drawn, InFile, Source, TwoJointDesign};
use crate::diagnostic::{Diagnostic, render, visible_path};
use crate::handover::{self, Ask, Emission, EmitFault, WriteFault, Written};
use crate::study::{self, Depth, Driven, Fault, Mechanism, TwoMotors};

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
        Some(AnyDesign::TwoJoints(design)) => of_two_joints(arguments, &design),
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
    let answer = emitted.map(|emission| match emission {
        Ok(emission) => write(arguments, &emission),
        Err(faults) => refuse(design, &faults),
    });
    designs::answered(design, answer)
}

fn of_two_joints(arguments: &EmitArguments, design: &TwoJointDesign) -> Exit {
    let answer = TwoMotors::of(design).and_then(|motors| {
        let check = study::check_two_motors(design, &motors, Depth::Verdict)?;
        let emission = handover::emit_design_of_two_joints(design, &motors, &check, ask(arguments));
        Ok(match emission {
            Ok(emission) => {
                let mut out = std::io::stdout().lock();
                let (target, force) = (&arguments.output, arguments.force);
                let written = handover::write_two_joint_files(&emission, target, force, &mut out);
                tell_written(&emission.notes, written)
            }
            Err(faults) => refuse(design, &faults),
        })
    });
    designs::answered(design, answer)
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
    let written = handover::write_files(emission, &arguments.output, arguments.force, &mut out);
    tell_written(&emission.notes, written)
}

fn tell_written(notes: &[String], written: Result<Written, WriteFault>) -> Exit {
    match written {
        Ok(written) => {
            for note in notes.iter().chain(&written.notes) {
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
pub(super) fn refuse(design: &impl InFile, faults: &[EmitFault]) -> Exit {
    let shown = faults.iter().map(|fault| designs::fitted(fault.diagnostic(design)));
    let diagnostics: Vec<Diagnostic> = shown.collect();
    let Source { path, text } = design.source();
    terminal::complain(&render(path, text, &diagnostics, terminal::error_colour()));
    designs::point_to_more(&diagnostics);
    let answer = |fault: &EmitFault| match fault {
        EmitFault::Refused { verdict, .. } => Exit::of(*verdict),
        EmitFault::NotLinear { .. } => Exit::NotEquivalent,
        _ => Exit::Wrong,
    };
    faults.iter().map(answer).max().unwrap_or(Exit::Wrong)
}
