//! `unloop loads DESIGN`

use serde::Serialize;

use crate::design::{AnyDesign, Design, TwoJointDesign};
use crate::report::{self, Detail, Style};
use crate::study::{self, Depth, Fault, Studied, TwoMotors};

use super::arguments::LoadsArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, terminal};

pub(super) fn run(arguments: &LoadsArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    designs::answer(&arguments.design, &["mass", "motion"], |design| match design {
        AnyDesign::FourBar(design) => of_one_joint(design, plot, arguments),
        AnyDesign::OneJoint(design) => of_one_joint(design, plot, arguments),
        AnyDesign::TwoJoints(design) => of_two_joints(design, plot, arguments),
    })
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

fn of_one_joint<G: Studied>(
    design: &Design<G>,
    plot: Option<Plot<'_>>,
    arguments: &LoadsArguments,
) -> Result<Exit, Vec<Fault>> {
    let found = study::loads(design)?;
    let drawn = plot::drawn(plot, design, || {
        let moving = G::moving(design)?;
        let check = study::check_on(design, &moving)?;
        let course = G::course(design, &moving, &check.direct_joint);
        Ok(report::loads_sheet(&check, &course, &found))
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
