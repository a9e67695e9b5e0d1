//! `unloop loads DESIGN`

use crate::design::{AnyDesign, Design, Drawn, InFile, TwoJointDesign};
use crate::report::{self, Sheet};
use crate::study::{self, Depth, Driven, Fault, LoadFindings, Mechanism, RegionLoads, TwoMotors};

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
            let plotted = |found: &_| plot.map_or(Exit::Done, |plot| draw(&design, found, plot));
            told(&design, study::loads(&design), arguments, plotted)
        }
        Some(AnyDesign::OneJoint(design)) => {
            let plotted =
                |found: &_| plot.map_or(Exit::Done, |plot| draw_drive(&design, found, plot));
            told(&design, study::drive_loads_of(&design), arguments, plotted)
        }
        Some(AnyDesign::TwoJoints(design)) => of_two_joints(&design, plot, arguments),
    }
}

fn of_two_joints(
    design: &TwoJointDesign,
    plot: Option<Plot<'_>>,
    arguments: &LoadsArguments,
) -> Exit {
    let found = match study::loads_of_two_joints(design) {
        Ok(found) => found,
        Err(faults) => return refused(design, &faults),
    };
    let drawn = plot.map_or(Exit::Done, |plot| draw_region(design, &found, plot));
    let text = if arguments.json {
        report::json(&found)
    } else {
        let (detail, style) = (terminal::detail(arguments.full), terminal::output_style());
        report::region_loads_text(&found, detail, style)
    };
    terminal::print(&text, drawn)
}

fn draw_region(design: &TwoJointDesign, found: &RegionLoads, plot: Plot<'_>) -> Exit {
    let sheet = TwoMotors::of(design).and_then(|motors| {
        let check = study::check_two_motors(design, &motors, Depth::Verdict)?;
        let course = study::region_course(design, &motors, study::MAP_POSES);
        Ok(report::region_loads_sheet(&check, &course, found))
    });
    match sheet {
        Ok(sheet) => plot.write(&sheet),
        Err(faults) => refused(design, &faults),
    }
}

/// Shows what was found, and draws it.
fn told<G>(
    design: &Design<G>,
    found: Result<LoadFindings, Vec<Fault>>,
    arguments: &LoadsArguments,
    plotted: impl Fn(&LoadFindings) -> Exit,
) -> Exit {
    match found {
        Ok(found) => terminal::print(&text(&found, arguments), plotted(&found)),
        Err(faults) => refused(design, &faults),
    }
}

fn text(found: &LoadFindings, arguments: &LoadsArguments) -> String {
    if arguments.json {
        return report::json(found);
    }
    report::loads_text(found, terminal::detail(arguments.full), terminal::output_style())
}

fn draw(design: &Design, found: &LoadFindings, plot: Plot<'_>) -> Exit {
    let sheet = Mechanism::of(design).and_then(|mechanism| {
        let check = study::check_on(design, &mechanism)?;
        let rows = study::stroke(design, &mechanism, &check.direct_joint, study::REVIEW_POSES);
        Ok(report::loads_sheet(&check, &rows, found))
    });
    drawn(design, sheet, plot)
}

fn draw_drive(design: &Design<Drawn>, found: &LoadFindings, plot: Plot<'_>) -> Exit {
    let sheet = Driven::of(design).and_then(|driven| {
        let check = study::check_driven(design, &driven)?;
        let course = study::drive_course(design, &driven, &check.direct_joint, study::REVIEW_POSES);
        Ok(report::drive_loads_sheet(&check, &course, found))
    });
    drawn(design, sheet, plot)
}

fn drawn<G>(design: &Design<G>, sheet: Result<Sheet, Vec<Fault>>, plot: Plot<'_>) -> Exit {
    match sheet {
        Ok(sheet) => plot.write(&sheet),
        Err(faults) => refused(design, &faults),
    }
}

fn refused(design: &impl InFile, faults: &[Fault]) -> Exit {
    designs::show_faults(design, faults);
    Exit::Wrong
}
