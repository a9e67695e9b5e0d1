//! `unloop tolerance DESIGN`

use std::path::Path;

use crate::design::{AnyDesign, Design, TwoJointDesign};
use crate::report::{self, RangesFormat};
use crate::study::{self, Fault, Studied, ToleranceRequest};

use super::arguments::ToleranceArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, interrupt, output, terminal};

pub(super) fn run(arguments: &ToleranceArguments) -> Exit {
    let plot = match plot::wanted(&arguments.plot) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    // Before the work, not after it.
    let against = |path| output::fault(path, &["TOML", "YAML"], arguments.plot.force);
    if let Some(fault) = arguments.ranges.as_deref().and_then(against) {
        return output::wrong(&fault);
    }
    let unused = ["rod", "mass", "motion", "robot"];
    designs::answer(&arguments.design, &unused, |design| match design {
        AnyDesign::FourBar(design) => of_one_joint(design, plot, arguments),
        AnyDesign::OneJoint(design) => of_one_joint(design, plot, arguments),
        AnyDesign::TwoJoints(design) => of_two_joints(design, plot, arguments),
    })
}

impl ToleranceArguments {
    fn request(&self) -> ToleranceRequest {
        let Self { samples, seed, distribution, .. } = *self;
        ToleranceRequest { samples, seed, distribution }
    }
}

/// What `study` finds while it shows how many builds are done and can be stopped.
fn with_progress<T>(
    request: &ToleranceRequest,
    study: impl FnOnce(&(dyn Fn(u64) -> bool + Sync)) -> Result<T, Vec<Fault>>,
) -> Result<T, Vec<Fault>> {
    interrupt::shows_what_is_done();
    let progress = terminal::Progress::new(request.samples);
    let found = study(&|done: u64| {
        progress.show(done);
        !interrupt::is_stopped()
    })?;
    progress.clear();
    Ok(found)
}

fn of_one_joint<G: Studied>(
    design: &Design<G>,
    plot: Option<Plot<'_>>,
    arguments: &ToleranceArguments,
) -> Result<Exit, Vec<Fault>> {
    let request = arguments.request();
    let found = with_progress(&request, |go_on| study::tolerance(design, &request, go_on))?;
    let written = arguments.ranges.as_deref().map_or(Exit::Done, |path| {
        let text = report::ranges_file(&found, ranges_format(path));
        output::write(&[(path, &text)], arguments.plot.force)
    });
    let text = arguments.shown.text(&found, report::tolerance_text);
    let drawn = plot.map_or(Exit::Done, |plot| plot.write(&report::tolerance_sheet(&found)));
    Ok(terminal::print(&text, written.max(drawn)))
}

fn of_two_joints(
    design: &TwoJointDesign,
    plot: Option<Plot<'_>>,
    arguments: &ToleranceArguments,
) -> Result<Exit, Vec<Fault>> {
    let request = arguments.request();
    let found =
        with_progress(&request, |go_on| study::tolerance_of_two_joints(design, &request, go_on))?;
    let text = arguments.shown.text(&found, report::region_tolerance_text);
    let written = match arguments.ranges.as_deref() {
        Some(path) => {
            let ranges = study::ranges_of_two_joints(design, &request)?;
            let text = report::region_ranges_file(&ranges, ranges_format(path));
            output::write(&[(path, &text)], arguments.plot.force)
        }
        None => Exit::Done,
    };
    let drawn = plot.map_or(Exit::Done, |plot| plot.write(&report::region_tolerance_sheet(&found)));
    Ok(terminal::print(&text, written.max(drawn)))
}

/// YAML where the file is named so, else TOML.
fn ranges_format(path: &Path) -> RangesFormat {
    let is_yaml = output::format_of(path) == Some("YAML");
    if is_yaml { RangesFormat::Yaml } else { RangesFormat::Toml }
}
