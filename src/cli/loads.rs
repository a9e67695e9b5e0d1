//! `unloop loads DESIGN`

use crate::design::Design;
use crate::report;
use crate::study::{self, Fault, LoadFindings, Mechanism};

use super::arguments::LoadsArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, terminal};

pub(super) fn run(arguments: &LoadsArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    let Some(design) = designs::four_bar_only(&arguments.design, "loads") else {
        return Exit::Wrong;
    };
    match study::loads(&design) {
        Ok(found) => {
            let drawn = plot.map_or(Exit::Done, |plot| draw(&design, &found, plot));
            terminal::print(&text(&found, arguments.json), drawn)
        }
        Err(faults) => refused(&design, &faults),
    }
}

fn text(found: &LoadFindings, json: bool) -> String {
    if json { report::json(found) } else { report::loads_text(found, terminal::output_style()) }
}

fn draw(design: &Design, found: &LoadFindings, plot: Plot<'_>) -> Exit {
    let sheet = Mechanism::of(design).and_then(|mechanism| {
        let check = study::check_on(design, &mechanism)?;
        let rows = study::stroke(design, &mechanism, &check.direct_joint, study::REVIEW_POSES);
        Ok(report::loads_sheet(&check, &rows, found))
    });
    match sheet {
        Ok(sheet) => plot.write(&sheet),
        Err(faults) => refused(design, &faults),
    }
}

fn refused(design: &Design, faults: &[Fault]) -> Exit {
    designs::show_faults(design, faults);
    Exit::Wrong
}
