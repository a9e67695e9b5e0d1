//! `unloop check DESIGN...`

use std::path::Path;

use serde::Serialize;

use crate::design::{AnyDesign, Design, Parameter, TwoJointDesign};
use crate::diagnostic::{Diagnostic, Severity};
use crate::equivalence::{Assessment, Criterion, Outcome, Verdict};
use crate::handover::write_texts;
use crate::report;
use crate::study::{self, Check, Depth, Fault, Proof, RegionCheck, Studied, TwoMotors};

use super::arguments::CheckArguments;
use super::designs::Told;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, output, terminal};

pub(super) fn run(arguments: &CheckArguments) -> Exit {
    let plot = match plot::wanted(&arguments.plot) {
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
                exit = exit.max(Exit::of(check.verdict())).max(drawn);
                found.push(check);
            }
            None => exit = Exit::Wrong,
        }
    }
    let text = if arguments.lines {
        String::new()
    } else if arguments.json_list {
        report::json(&found)
    } else if arguments.json {
        json(&found, arguments.designs.len())
    } else {
        text(&found, arguments)
    };
    terminal::print(&text, exit)
}

fn told(arguments: &CheckArguments) -> Told {
    if arguments.lines { Told::InLines } else { Told::AtLength }
}

/// What the screen leaves out is not worked out, unless a picture or a file of it is asked for.
fn depth(arguments: &CheckArguments) -> Depth {
    let is_short = !(arguments.full || arguments.json || arguments.json_list);
    let is_alone = arguments.plot.file.is_none() && arguments.proof.is_none();
    if is_short && is_alone { Depth::Verdict } else { Depth::Whole }
}

/// A line for each criterion that fails or stays open.
fn open_criteria<G>(design: &Design<G>, check: &Check) -> Vec<Diagnostic> {
    let at = |wanted: Parameter, message: String| {
        let stands = |parameter: &Parameter| design.places.of(*parameter).is_some();
        let places = [wanted, Parameter::StrokeSecond, Parameter::Drive];
        design.diagnose(places.into_iter().find(stands).unwrap_or(wanted), message)
    };
    let one = |c: &Assessment| {
        let message = report::open_criterion(check, c)?;
        let mut told = at(place_of(c.criterion), message);
        if c.outcome == Outcome::Undecided {
            told.severity = Severity::Warning;
        }
        Some(told)
    };
    let told: Vec<Diagnostic> = check.criteria.iter().filter_map(one).collect();
    if told.is_empty() && check.verdict != Verdict::Equivalent {
        let mut whole = at(Parameter::StrokeSecond, format!("{}: {}", check.design, check.reason));
        if check.verdict == Verdict::Undecided {
            whole.severity = Severity::Warning;
        }
        return vec![whole];
    }
    told
}

/// What of the design a criterion is about.
fn place_of(criterion: Criterion) -> Parameter {
    match criterion {
        Criterion::Angle | Criterion::Ratio => Parameter::Ratio,
        Criterion::Inertia => Parameter::AcceptInertia,
        Criterion::Tilt | Criterion::Shift | Criterion::Opening | Criterion::Grip => {
            Parameter::FingerPad
        }
        Criterion::TransmissionAngle | Criterion::BallTilt | Criterion::CrankSide => {
            Parameter::StrokeSecond
        }
    }
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
    output::fault(path, &["JSON"], arguments.plot.force)
}

/// What is found of one design.
#[derive(Serialize)]
#[serde(untagged)]
enum Found {
    OneJoint(Box<Check>),
    TwoJoints(Box<RegionCheck>),
}

impl Found {
    fn verdict(&self) -> Verdict {
        match self {
            Self::OneJoint(check) => check.verdict,
            Self::TwoJoints(check) => check.verdict,
        }
    }
}

/// What is found, and what became of files; or the faults of the design.
type Judged = Result<(Found, Exit), Vec<Fault>>;

fn one(path: &Path, plot: Option<Plot<'_>>, arguments: &CheckArguments) -> Option<(Found, Exit)> {
    let design = designs::read_and_tell(path, &["rod", "pins"], told(arguments))?;
    let found = match &design {
        AnyDesign::FourBar(own) => {
            of_one_joint(own, plot, arguments, |moving, check| study::proof(own, moving, check))
        }
        // No file of the proof is made yet of others.
        _ if arguments.proof.is_some() => {
            designs::refuse_kind(&design, "check --proof");
            return None;
        }
        AnyDesign::OneJoint(own) => of_one_joint(own, plot, arguments, |_, _| Ok(Vec::new())),
        AnyDesign::TwoJoints(own) => of_two_joints(own, plot, arguments),
    };
    found.map_err(|faults| designs::tell_faults(&design, &faults, told(arguments))).ok()
}

fn of_two_joints(
    design: &TwoJointDesign,
    plot: Option<Plot<'_>>,
    arguments: &CheckArguments,
) -> Judged {
    let motors = TwoMotors::of(design)?;
    let check = study::check_two_motors(design, &motors, depth(arguments))?;
    if arguments.lines {
        designs::tell(&design.source, &open_over_region(design, &check), Told::InLines);
    }
    let drawn = plot.map_or(Exit::Done, |plot| {
        let course = study::region_course(design, &motors, study::MAP_POSES);
        plot.write(&report::region_check_sheet(&check, &course))
    });
    Ok((Found::TwoJoints(Box::new(check)), drawn))
}

/// A line for each criterion of a region that fails or stays open.
fn open_over_region(design: &TwoJointDesign, check: &RegionCheck) -> Vec<Diagnostic> {
    let one = |c: &Assessment| {
        let message = report::open_over_region(check, c)?;
        let place = match c.criterion {
            Criterion::Angle | Criterion::Ratio => Parameter::Matrix,
            Criterion::Inertia => Parameter::AcceptInertia,
            _ => Parameter::StrokePitch,
        };
        let stands = design.places.of(place).map_or(Parameter::StrokePitch, |_| place);
        let mut told = design.diagnose(stands, message);
        if c.outcome == Outcome::Undecided {
            told.severity = Severity::Warning;
        }
        Some(told)
    };
    check.criteria.iter().filter_map(one).collect()
}

/// The verdict; `prove` is what is proved of it, for the file that was asked for.
fn of_one_joint<G: Studied>(
    design: &Design<G>,
    plot: Option<Plot<'_>>,
    arguments: &CheckArguments,
    prove: impl FnOnce(&G::Moving, &Check) -> Result<Vec<Proof>, Vec<Fault>>,
) -> Judged {
    let moving = G::moving(design)?;
    let check = G::judged(design, &moving, depth(arguments))?;
    if arguments.lines {
        designs::tell(&design.source, &open_criteria(design, &check), Told::InLines);
    }
    let drawn = plot.map_or(Exit::Done, |plot| {
        let course = G::course(design, &moving, &check.direct_joint);
        plot.write(&report::check_sheet(&check, &course))
    });
    let written = match arguments.proof.as_deref() {
        Some(path) => write_proof(path, &prove(&moving, &check)?, arguments.plot.force),
        None => Exit::Done,
    };
    Ok((Found::OneJoint(Box::new(check)), drawn.max(written)))
}

fn write_proof(path: &Path, proof: &[Proof], force: bool) -> Exit {
    match write_texts(&[(path, &report::json(&proof))], force) {
        Ok(()) => Exit::Done,
        Err(fault) => output::wrong(&fault.to_string()),
    }
}

fn text(found: &[Found], arguments: &CheckArguments) -> String {
    let (detail, style) = (terminal::detail(arguments.full), terminal::output_style());
    let texts = found.iter().map(|found| match found {
        Found::OneJoint(check) => report::check_text(check, detail, style),
        Found::TwoJoints(check) => report::region_text(check, detail, style),
    });
    texts.collect::<Vec<_>>().join("\n")
}

/// One design: an object; several: an array of those that could be read.
fn json(found: &[Found], asked: usize) -> String {
    match (asked, found) {
        (1, [only]) => report::json(only),
        (1, _) => String::new(),
        _ => report::json(&found),
    }
}
