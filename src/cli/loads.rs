//! `unloop loads DESIGN`

use serde::Serialize;

use crate::design::{AnyDesign, Design, Drawn, TwoJointDesign};
use crate::report::{self, Detail, Style};
use crate::study::{self, Depth, Driven, Fault, Mechanism, TwoMotors};

use super::arguments::LoadsArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, terminal};

pub(super) fn run(arguments: &LoadsArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    match designs::read(&arguments.design, &["mass", "motion"]) {
        None => Exit::Wrong,
        Some(AnyDesign::FourBar(design)) => {
            designs::answered(&design, of_four_bar(&design, plot, arguments))
        }
        Some(AnyDesign::OneJoint(design)) => {
            designs::answered(&design, of_drive(&design, plot, arguments))
        }
        Some(AnyDesign::TwoJoints(design)) => {
            designs::answered(&*design, of_two_joints(&design, plot, arguments))
        }
    }
}

fn of_two_joints(
    design: &TwoJointDesign,
    plot: Option<Plot<'_>>,
    arguments: &LoadsArguments,
) -> Result<Exit, Vec<Fault>> {
    let found = study::loads_of_two_joints(design)?;
    let drawn = plot::drawn(plot, design, || {
        let motors = TwoMotors::of(design)?;
        let check = study::check_two_motors(design, &motors, Depth::Verdict)?;
        let course = study::region_course(design, &motors, study::MAP_POSES);
        Ok(report::region_loads_sheet(&check, &course, &found))
    });
    Ok(shown(&found, report::region_loads_text, arguments, drawn))
}

fn of_four_bar(
    design: &Design,
    plot: Option<Plot<'_>>,
    arguments: &LoadsArguments,
) -> Result<Exit, Vec<Fault>> {
    let found = study::loads(design)?;
    let drawn = plot::drawn(plot, design, || {
        let mechanism = Mechanism::of(design)?;
        let check = study::check_on(design, &mechanism)?;
        let rows = study::stroke(design, &mechanism, &check.direct_joint, study::REVIEW_POSES);
        Ok(report::loads_sheet(&check, &rows, &found))
    });
    Ok(shown(&found, report::loads_text, arguments, drawn))
}

fn of_drive(
    design: &Design<Drawn>,
    plot: Option<Plot<'_>>,
    arguments: &LoadsArguments,
) -> Result<Exit, Vec<Fault>> {
    let found = study::drive_loads_of(design)?;
    let drawn = plot::drawn(plot, design, || {
        let driven = Driven::of(design)?;
        let check = study::check_driven(design, &driven)?;
        let course = study::drive_course(design, &driven, &check.direct_joint, study::REVIEW_POSES);
        Ok(report::drive_loads_sheet(&check, &course, &found))
    });
    Ok(shown(&found, report::loads_text, arguments, drawn))
}

/// The findings as asked for.
fn shown<F: Serialize>(
    found: &F,
    text: fn(&F, Detail, Style) -> String,
    arguments: &LoadsArguments,
    then: Exit,
) -> Exit {
    let text = if arguments.json {
        report::json(found)
    } else {
        text(found, terminal::detail(arguments.full), terminal::output_style())
    };
    terminal::print(&text, then)
}
