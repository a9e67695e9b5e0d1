//! `unloop check DESIGN...`

use std::path::Path;

use crate::design::{AnyDesign, Design, Drawn};
use crate::handover::write_texts;
use crate::report;
use crate::study::{self, Check, Driven, Fault, Mechanism, Proof};

use super::arguments::CheckArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, output, terminal};

pub(super) fn run(arguments: &CheckArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(Some(_)) if arguments.designs.len() > 1 => {
            terminal::complain("error: --plot draws one design at a time\n");
            return Exit::Wrong;
        }
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    if let Some(fault) = wrong_place(arguments) {
        return output::wrong(&fault);
    }
    let mut exit = Exit::Done;
    let mut found = Vec::new();
    for path in &arguments.designs {
        match one(path, plot, arguments) {
            Some((check, drawn)) => {
                exit = exit.max(Exit::of(check.verdict)).max(drawn);
                found.push(check);
            }
            None => exit = Exit::Wrong,
        }
    }
    let text = if arguments.json_list {
        report::json(&found)
    } else if arguments.json {
        json(&found, arguments.designs.len())
    } else {
        text(&found)
    };
    terminal::print(&text, exit)
}

/// What stands against the file of the proof, before any work.
fn wrong_place(arguments: &CheckArguments) -> Option<String> {
    let path = arguments.proof.as_deref()?;
    if arguments.designs.len() > 1 {
        return Some("--proof writes of one design at a time".to_owned());
    }
    if path == Path::new("-") {
        return Some("--proof writes a file: standard output has the findings".to_owned());
    }
    output::fault(path, &["JSON"], arguments.force)
}

fn one(path: &Path, plot: Option<Plot<'_>>, arguments: &CheckArguments) -> Option<(Check, Exit)> {
    match designs::read(path)? {
        AnyDesign::FourBar(design) => judged(&design, plot, arguments)
            .map_err(|faults| designs::show_faults(&design, &faults))
            .ok(),
        AnyDesign::OneJoint(design) => of_drive(&design, plot, arguments),
    }
}

/// A drive that is no planar four-bar: no file of its proof is made yet.
fn of_drive(
    design: &Design<Drawn>,
    plot: Option<Plot<'_>>,
    arguments: &CheckArguments,
) -> Option<(Check, Exit)> {
    if arguments.proof.is_some() {
        designs::refuse_kind(design, "check --proof");
        return None;
    }
    let judged = || {
        let driven = Driven::of(design)?;
        let check = study::check_driven(design, &driven)?;
        let drawn = plot.map_or(Exit::Done, |plot| {
            let course =
                study::drive_course(design, &driven, &check.direct_joint, study::REVIEW_POSES);
            plot.write(&report::drive_check_sheet(&check, &course))
        });
        Ok((check, drawn))
    };
    judged().map_err(|faults: Vec<Fault>| designs::show_faults(design, &faults)).ok()
}

fn judged(
    design: &Design,
    plot: Option<Plot<'_>>,
    arguments: &CheckArguments,
) -> Result<(Check, Exit), Vec<Fault>> {
    let mechanism = Mechanism::of(design)?;
    let check = study::check_on(design, &mechanism)?;
    let drawn = plot.map_or(Exit::Done, |plot| {
        let rows = study::stroke(design, &mechanism, &check.direct_joint, study::REVIEW_POSES);
        plot.write(&report::check_sheet(&check, &rows))
    });
    let written = match arguments.proof.as_deref() {
        Some(path) => prove(path, &study::proof(design, &mechanism, &check)?, arguments.force),
        None => Exit::Done,
    };
    Ok((check, drawn.max(written)))
}

fn prove(path: &Path, proof: &[Proof], force: bool) -> Exit {
    match write_texts(&[(path, &report::json(&proof))], force) {
        Ok(()) => Exit::Done,
        Err(fault) => output::wrong(&fault.to_string()),
    }
}

fn text(found: &[Check]) -> String {
    let style = terminal::output_style();
    found.iter().map(|check| report::check_text(check, style)).collect::<Vec<_>>().join("\n")
}

/// One design: an object; several: an array of those that could be read.
fn json(found: &[Check], asked: usize) -> String {
    match (asked, found) {
        (1, [only]) => report::json(only),
        (1, _) => String::new(),
        _ => report::json(&found),
    }
}
