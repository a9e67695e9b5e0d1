//! `unloop stroke DESIGN`

use crate::design::{AnyDesign, Design, Drawn, TwoJointDesign};
use crate::linkage::Drive;
use crate::report::{self, Rows, Sheet, TableRow};
use crate::study::{
    self, Depth, Driven, Fault, Mechanism, Poses, RegionRow, Studied, Turns, TwoMotors,
};

use super::arguments::StrokeArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, output, terminal};

pub(super) fn run(arguments: &StrokeArguments) -> Exit {
    let plot = match plot::wanted(&arguments.plot) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    designs::answer(&arguments.design, &["rod", "motion", "robot"], |design| {
        if let Some(fault) = misfit(design, arguments) {
            return Ok(output::wrong(&fault));
        }
        match design {
            AnyDesign::FourBar(design) => of_four_bar(design, plot, arguments),
            AnyDesign::OneJoint(design) => of_drive(design, plot, arguments),
            AnyDesign::TwoJoints(design) => of_two_joints(design, plot, arguments),
        }
    })
}

/// Options that say how a drive of the other number of joints is gone through.
fn misfit(design: &AnyDesign, arguments: &StrokeArguments) -> Option<String> {
    if !matches!(design, AnyDesign::TwoJoints(_)) {
        let is_region = arguments.pitch.is_some() || arguments.roll.is_some();
        return is_region.then(|| {
            "--pitch and --roll are for a drive of two joints: write --steps N".to_owned()
        });
    }
    let [steps, over] = [arguments.steps.is_some(), arguments.over.is_some()];
    let is_line = steps || over || arguments.at_motor.is_some() || arguments.at_joint.is_some();
    is_line.then(|| {
        "this drive turns two joints: write --pitch N and --roll N for the rows of its table"
            .to_owned()
    })
}

/// Rows in pitch and in roll where none are asked for.
const ROWS: u32 = 7;

fn of_two_joints(
    design: &TwoJointDesign,
    plot: Option<Plot<'_>>,
    arguments: &StrokeArguments,
) -> Result<Exit, Vec<Fault>> {
    let motors = TwoMotors::of(design)?;
    let counts = [arguments.pitch.unwrap_or(ROWS), arguments.roll.unwrap_or(ROWS)];
    let rows = || -> Box<dyn Iterator<Item = RegionRow>> {
        Box::new(study::region_rows(design, &motors, counts))
    };
    let drawn = plot::drawn(plot, design, || {
        let check = study::check_two_motors(design, &motors, Depth::Whole)?;
        let course = study::region_course(design, &motors, study::MAP_POSES);
        Ok(report::region_stroke_sheet(&check, &course))
    });
    Ok(write(&design.name, &rows, arguments, drawn))
}

fn of_drive(
    design: &Design<Drawn>,
    plot: Option<Plot<'_>>,
    arguments: &StrokeArguments,
) -> Result<Exit, Vec<Fault>> {
    let driven = Driven::of(design)?;
    let turns = || study::each_joint_turn(poses(arguments), &driven);
    if let Some(fault) = turns().find_map(Result::err) {
        return Ok(output::wrong(&fault));
    }
    let joint = driven.direct_joint();
    let rows = || by_the_chunk(turns(), |turns| study::drive_rows(design, &driven, &joint, turns));
    let drawn = plot::drawn(plot, design, || sheet(design, &driven));
    Ok(write(&design.name, &rows, arguments, drawn))
}

/// So many rows are held at once.
const CHUNK: usize = 1024;

/// The rows of turns that are known to be within reach, few at a time.
fn by_the_chunk<'a, R: 'a>(
    mut turns: Turns<'a>,
    rows: impl Fn(&[f64]) -> Vec<R> + 'a,
) -> Box<dyn Iterator<Item = R> + 'a> {
    let chunk = move || {
        let turns: Vec<f64> = turns.by_ref().take(CHUNK).flatten().collect();
        (!turns.is_empty()).then(|| rows(&turns))
    };
    Box::new(std::iter::from_fn(chunk).flatten())
}

/// The table as asked for, row by row on standard output.
fn write<R: TableRow>(
    name: &str,
    rows: Rows<'_, R>,
    arguments: &StrokeArguments,
    then: Exit,
) -> Exit {
    let style = terminal::output_style();
    terminal::print_by(then, |out| {
        if arguments.csv {
            report::stroke_csv(rows(), out)
        } else if arguments.json {
            report::stroke_json(name, rows(), out)
        } else {
            report::stroke_text(name, rows, style, out)
        }
    })
}

fn of_four_bar(
    design: &Design,
    plot: Option<Plot<'_>>,
    arguments: &StrokeArguments,
) -> Result<Exit, Vec<Fault>> {
    let mechanism = Mechanism::of(design)?;
    let (_, joint) = mechanism.sweep().map_err(|fault| vec![fault])?;
    let turns = || poses(arguments).each_motor_turn(&mechanism);
    let fault = match turns() {
        Ok(mut turns) => turns.find_map(Result::err),
        Err(fault) => Some(fault),
    };
    if let Some(fault) = fault {
        return Ok(output::wrong(&fault));
    }
    let of_turns = |turns: &[f64]| study::pose_rows(design, &mechanism, &joint, turns);
    let rows = || by_the_chunk(turns().unwrap_or_else(|_| Box::new(std::iter::empty())), of_turns);
    let drawn = plot::drawn(plot, design, || sheet(design, &mechanism));
    Ok(write(&design.name, &rows, arguments, drawn))
}

fn sheet<G: Studied>(design: &Design<G>, moving: &G::Moving) -> Result<Sheet, Vec<Fault>> {
    let check = study::check_on(design, moving)?;
    let course = G::course(design, moving, &check.direct_joint);
    Ok(report::stroke_sheet(&check, &course))
}

fn poses(arguments: &StrokeArguments) -> Poses {
    let steps = usize::try_from(arguments.steps.unwrap_or(31)).unwrap_or(usize::MAX);
    match (arguments.at_motor, arguments.at_joint) {
        (Some(reading), _) => Poses::AtMotor(reading),
        (None, Some(reading)) => Poses::AtJoint(reading),
        (None, None) => Poses::Even(steps, arguments.over.unwrap_or(Drive::Motor)),
    }
}
