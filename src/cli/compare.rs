//! `unloop compare DESIGN ROBOT...`

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use crate::design::{AnyDesign, Design, TwoJointDesign};
use crate::diagnostic::visible_path;
use crate::handover::compare::{Answer, Comparison, compare, compare_two_joints};
use crate::handover::{EmitFault, LimitBasis};
use crate::report;
use crate::robot::Robot;
use crate::study::{self, Check, Depth, Fault, Studied, TwoMotors};

use super::exit::Exit;
use super::robot_arguments::CompareArguments;
use super::{designs, emit, output, robots, terminal};

pub(super) fn run(arguments: &CompareArguments) -> Exit {
    if let Some(fault) = twice(arguments).or_else(|| swapped(arguments)) {
        return output::wrong(&fault);
    }
    let design = designs::read(&arguments.design, &["rod"]);
    let robots = all_robots(arguments);
    let (Some(design), Some(robots)) = (design, robots) else { return Exit::Wrong };
    let compared = match &design {
        AnyDesign::FourBar(own) => of_one_joint(own, |moving, check| {
            compare(own, moving, check, &robots, arguments.limits)
        }),
        AnyDesign::OneJoint(own) => of_one_joint(own, |moving, check| {
            compare(own, moving, check, &robots, arguments.limits)
        }),
        AnyDesign::TwoJoints(own) => of_two_joints(own, &robots, arguments.limits),
    };
    let answer = compared.map(|compared| match compared {
        Ok(found) => terminal::print(&shown(arguments, &found), exit(&found)),
        Err(faults) => emit::refuse(&design, &faults),
    });
    designs::answered(&design, answer)
}

/// What was found, or what stands against a comparison; faults of the design itself first.
type Compared = Result<Result<Comparison, Vec<EmitFault>>, Vec<Fault>>;

fn of_one_joint<G: Studied>(
    design: &Design<G>,
    compare: impl Fn(&G::Moving, &Check) -> Result<Comparison, Vec<EmitFault>>,
) -> Compared {
    let moving = G::moving(design)?;
    Ok(compare(&moving, &study::check_on(design, &moving)?))
}

fn of_two_joints(design: &TwoJointDesign, robots: &[Robot], basis: Option<LimitBasis>) -> Compared {
    let motors = TwoMotors::of(design)?;
    let check = study::check_two_motors(design, &motors, Depth::Verdict)?;
    Ok(compare_two_joints(design, &motors, &check, robots, basis))
}

/// Standard input can be read once, and a file against itself says nothing.
fn twice(arguments: &CompareArguments) -> Option<String> {
    let all: Vec<&Path> = std::iter::once(&arguments.design)
        .chain(&arguments.robots)
        .map(|path| path.as_path())
        .collect();
    let is_before = |(k, path): (usize, &Path)| all.iter().take(k).any(|before| *before == path);
    let (_, path) = all.iter().copied().enumerate().find(|entry| is_before(*entry))?;
    Some(format!("{} is named twice", visible_path(path)))
}

/// A robot file where the design belongs, and something else among the robot files.
fn swapped(arguments: &CompareArguments) -> Option<String> {
    let design = arguments.robots.iter().find(|robot| is_xml(robot) == Some(false))?;
    let is_swapped = is_xml(&arguments.design) == Some(true);
    let (design, robot) = (visible_path(design), visible_path(&arguments.design));
    is_swapped.then(|| format!("the design comes first: unloop compare {design} {robot}"))
}

/// Does the file begin as XML does? Not told of what is no plain file.
fn is_xml(path: &Path) -> Option<bool> {
    let mut start = [0; 64];
    let file = File::open(path).ok().filter(|_| path.is_file());
    let read = file?.read(&mut start).ok()?;
    let start = String::from_utf8_lossy(start.get(..read)?).into_owned();
    Some(start.trim_start_matches('\u{feff}').trim_start().starts_with('<'))
}

/// All of them, with the faults of each shown; `None` where one cannot be read.
fn all_robots(arguments: &CompareArguments) -> Option<Vec<Robot>> {
    let read = |path: &std::path::PathBuf| robots::read_file(path, &arguments.include);
    let all: Vec<Option<Robot>> = arguments.robots.iter().map(read).collect();
    let mut all: Vec<Robot> = all.into_iter().collect::<Option<_>>()?;
    if let Some(loops) = &arguments.loops {
        robots::state_in_each(loops, &mut all)?;
    }
    Some(all)
}

fn shown(arguments: &CompareArguments, found: &Comparison) -> String {
    if arguments.json {
        report::json(found)
    } else if arguments.lines {
        report::compare_lines(found)
    } else {
        report::compare_text(found, terminal::output_style())
    }
}

fn exit(found: &Comparison) -> Exit {
    match found.answer() {
        Answer::InStep => Exit::Done,
        Answer::Differs => Exit::NotEquivalent,
        Answer::Undecided => Exit::Undecided,
    }
}
