//! `unloop stroke DESIGN`

use crate::design::{AnyDesign, Design, Drawn};
use crate::report;
use crate::study::{self, Driven, Fault, Mechanism, Poses};

use super::arguments::StrokeArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, terminal};

pub(super) fn run(arguments: &StrokeArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    match designs::read(&arguments.design) {
        Some(AnyDesign::FourBar(design)) => of_four_bar(&design, plot, arguments),
        Some(AnyDesign::OneJoint(design)) => of_drive(&design, plot, arguments),
        None => Exit::Wrong,
    }
}

fn of_drive(design: &Design<Drawn>, plot: Option<Plot<'_>>, arguments: &StrokeArguments) -> Exit {
    let driven = match Driven::of(design) {
        Ok(driven) => driven,
        Err(faults) => return refused(design, &faults),
    };
    let turns = match study::joint_turns(poses(arguments), &driven) {
        Ok(turns) => turns,
        Err(fault) => {
            terminal::complain(&format!("error: {fault}\n"));
            return Exit::Wrong;
        }
    };
    let rows = study::drive_rows(design, &driven, &driven.direct_joint(), &turns);
    let text = if arguments.csv {
        report::drive_stroke_csv(&rows)
    } else if arguments.json {
        report::drive_stroke_json(&design.name, &rows)
    } else {
        report::drive_stroke_text(&design.name, &rows, terminal::output_style())
    };
    let drawn = plot.map_or(Exit::Done, |plot| draw_drive(design, &driven, plot));
    terminal::print(&text, drawn)
}

fn draw_drive(design: &Design<Drawn>, driven: &Driven, plot: Plot<'_>) -> Exit {
    match study::check_driven(design, driven) {
        Ok(check) => {
            let course =
                study::drive_course(design, driven, &check.direct_joint, study::REVIEW_POSES);
            plot.write(&report::drive_stroke_sheet(&check, &course))
        }
        Err(faults) => refused(design, &faults),
    }
}

fn of_four_bar(design: &Design, plot: Option<Plot<'_>>, arguments: &StrokeArguments) -> Exit {
    let mechanism = match Mechanism::of(design) {
        Ok(mechanism) => mechanism,
        Err(faults) => return refused(design, &faults),
    };
    let joint = match mechanism.sweep() {
        Ok((_, joint)) => joint,
        Err(fault) => return refused(design, &[fault]),
    };
    let turns = match poses(arguments).motor_turns(&mechanism) {
        Ok(turns) => turns,
        Err(fault) => {
            terminal::complain(&format!("error: {fault}\n"));
            return Exit::Wrong;
        }
    };
    let rows = study::pose_rows(design, &mechanism, &joint, &turns);
    let zero = [mechanism.branch.zero_crank(), mechanism.branch.zero_rocker()];
    let text = if arguments.csv {
        report::stroke_csv(zero, &rows)
    } else if arguments.json {
        report::stroke_json(&design.name, zero, &rows)
    } else {
        report::stroke_text(&design.name, &rows, terminal::output_style())
    };
    let drawn = match plot {
        Some(plot) => draw(design, &mechanism, plot),
        None => Exit::Done,
    };
    terminal::print(&text, drawn)
}

fn poses(arguments: &StrokeArguments) -> Poses {
    let steps = usize::try_from(arguments.steps).unwrap_or(usize::MAX);
    match (arguments.at_motor, arguments.at_joint) {
        (Some(reading), _) => Poses::AtMotor(reading),
        (None, Some(reading)) => Poses::AtJoint(reading),
        (None, None) => Poses::Even(steps, arguments.over),
    }
}

fn draw(design: &Design, mechanism: &Mechanism, plot: Plot<'_>) -> Exit {
    match study::check_on(design, mechanism) {
        Ok(check) => {
            let rows = study::stroke(design, mechanism, &check.direct_joint, study::REVIEW_POSES);
            plot.write(&report::stroke_sheet(&check, &rows))
        }
        Err(faults) => refused(design, &faults),
    }
}

fn refused<G>(design: &Design<G>, faults: &[Fault]) -> Exit {
    designs::show_faults(design, faults);
    Exit::Wrong
}
