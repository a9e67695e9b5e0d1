//! `unloop emit DESIGN --to FORMAT -o FILE`

use crate::design::{AnyDesign, Design, InFile, Source, TwoJointDesign};
use crate::diagnostic::{Diagnostic, render, visible_path};
use crate::handover::{self, Ask, Emission, EmitFault, WriteFault, Written, emit_drawn};
use crate::study::{self, Check, Depth, Fault, Studied, TwoMotors};

use super::arguments::EmitArguments;
use super::exit::Exit;
use super::{designs, output, terminal};

pub(super) fn run(arguments: &EmitArguments) -> Exit {
    if let Some(fault) = output::misfit(&arguments.output, &[arguments.to.name()]) {
        return output::wrong(&fault);
    }
    designs::answer(&arguments.design, &["rod"], |design| match design {
        AnyDesign::FourBar(design) => of_one_joint(arguments, design, emit_drawn),
        AnyDesign::OneJoint(design) => of_one_joint(arguments, design, emit_drawn),
        AnyDesign::TwoJoints(design) => of_two_joints(arguments, design),
    })
}

/// Writes what `emit` makes of the design, or tells what stands against it; faults of the design itself first.
fn of_one_joint<G: Studied>(
    arguments: &EmitArguments,
    design: &Design<G>,
    emit: impl Fn(&Design<G>, &G::Moving, &Check, &Ask) -> Result<Emission, Vec<EmitFault>>,
) -> Result<Exit, Vec<Fault>> {
    let moving = G::moving(design)?;
    let check = study::check_on(design, &moving)?;
    Ok(match emit(design, &moving, &check, &ask(arguments)) {
        Ok(emission) => {
            let mut out = std::io::stdout().lock();
            let (target, force) = (&arguments.output, arguments.force);
            let written = handover::write_files(&emission, target, force, &mut out);
            tell_written(&emission.notes, written)
        }
        Err(faults) => refuse(design, &faults),
    })
}

fn of_two_joints(arguments: &EmitArguments, design: &TwoJointDesign) -> Result<Exit, Vec<Fault>> {
    let motors = TwoMotors::of(design)?;
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
