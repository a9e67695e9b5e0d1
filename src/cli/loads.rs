//! `unloop loads DESIGN`

use crate::design::{AnyDesign, Design, TwoJointDesign};
use crate::report;
use crate::study::{self, Depth, Fault, Studied, TwoMotors};

use super::arguments::{LoadsArguments, ShownArguments};
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, terminal};

pub(super) fn run(arguments: &LoadsArguments) -> Exit {
    let plot = match plot::wanted(&arguments.plot) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    designs::answer(&arguments.design, &["mass", "motion"], |design| match design {
        AnyDesign::FourBar(design) => of_one_joint(design, plot, &arguments.shown),
        AnyDesign::OneJoint(design) => of_one_joint(design, plot, &arguments.shown),
        AnyDesign::TwoJoints(design) => of_two_joints(design, plot, &arguments.shown),
    })
}

fn of_two_joints(
    design: &TwoJointDesign,
    plot: Option<Plot<'_>>,
    shown: &ShownArguments,
) -> Result<Exit, Vec<Fault>> {
    let found = study::loads_of_two_joints(design)?;
    let drawn = plot::drawn(plot, design, || {
        let motors = TwoMotors::of(design)?;
        let check = study::check_two_motors(design, &motors, Depth::Verdict)?;
        let course = study::region_course(design, &motors, study::MAP_POSES);
        Ok(report::region_loads_sheet(&check, &course, &found))
    });
    Ok(terminal::print(&shown.text(&found, report::region_loads_text), drawn))
}

fn of_one_joint<G: Studied>(
    design: &Design<G>,
    plot: Option<Plot<'_>>,
    shown: &ShownArguments,
) -> Result<Exit, Vec<Fault>> {
    let found = study::loads(design)?;
    let drawn = plot::drawn(plot, design, || {
        let moving = G::moving(design)?;
        let check = study::check_on(design, &moving)?;
        let course = G::course(design, &moving, &check.direct_joint);
        Ok(report::loads_sheet(&check, &course, &found))
    });
    Ok(terminal::print(&shown.text(&found, report::loads_text), drawn))
}
