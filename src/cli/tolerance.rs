//! `unloop tolerance DESIGN`

use std::path::Path;

use crate::design::{AnyDesign, TwoJointDesign};
use crate::report::{self, RangesFormat};
use crate::study::{self, ToleranceFindings, ToleranceRequest};

use super::arguments::ToleranceArguments;
use super::exit::Exit;
use super::plot::{self, Plot};
use super::{designs, interrupt, output, terminal};

pub(super) fn run(arguments: &ToleranceArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    // Before the work, not after it.
    let ranges = arguments.ranges.as_deref();
    if let Some(fault) =
        ranges.and_then(|path| output::fault(path, &["TOML", "YAML"], arguments.force))
    {
        return output::wrong(&fault);
    }
    let Some(design) = designs::read(&arguments.design, &["rod", "mass", "motion", "robot"]) else {
        return Exit::Wrong;
    };
    let request = ToleranceRequest {
        samples: arguments.samples,
        seed: arguments.seed,
        distribution: arguments.distribution,
    };
    let found = match &design {
        AnyDesign::TwoJoints(design) => return of_two_joints(design, &request, plot, arguments),
        AnyDesign::FourBar(design) => with_progress(&request, |go_on| {
            designs::or_told(&**design, study::tolerance(design, &request, go_on))
        }),
        AnyDesign::OneJoint(design) => with_progress(&request, |go_on| {
            designs::or_told(&**design, study::tolerance(design, &request, go_on))
        }),
    };
    let Some(found) = found else { return Exit::Wrong };
    let written = ranges.map_or(Exit::Done, |path| write_ranges(&found, path, arguments.force));
    let text = if arguments.json {
        report::json(&found)
    } else {
        let detail = terminal::detail(arguments.full);
        report::tolerance_text(&found, detail, terminal::output_style())
    };
    let drawn = plot.map_or(Exit::Done, |plot| plot.write(&report::tolerance_sheet(&found)));
    terminal::print(&text, written.max(drawn))
}

/// What `study` finds while it shows how many builds are done and can be stopped; `None` where it told faults.
fn with_progress<T>(
    request: &ToleranceRequest,
    study: impl FnOnce(&(dyn Fn(u64) -> bool + Sync)) -> Option<T>,
) -> Option<T> {
    interrupt::shows_what_is_done();
    let progress = terminal::Progress::new(request.samples);
    let found = study(&|done: u64| {
        progress.show(done);
        !interrupt::is_stopped()
    })?;
    progress.clear();
    Some(found)
}

fn of_two_joints(
    design: &TwoJointDesign,
    request: &ToleranceRequest,
    plot: Option<Plot<'_>>,
    arguments: &ToleranceArguments,
) -> Exit {
    let found = with_progress(request, |go_on| {
        designs::or_told(design, study::tolerance_of_two_joints(design, request, go_on))
    });
    let Some(found) = found else { return Exit::Wrong };
    let text = if arguments.json {
        report::json(&found)
    } else {
        let detail = terminal::detail(arguments.full);
        report::region_tolerance_text(&found, detail, terminal::output_style())
    };
    let written = arguments.ranges.as_deref().map_or(Exit::Done, |path| {
        let ranges = designs::or_told(design, study::ranges_of_two_joints(design, request));
        ranges.map_or(Exit::Wrong, |ranges| {
            let text = report::region_ranges_file(&ranges, ranges_format(path));
            output::write(&[(path, &text)], arguments.force)
        })
    });
    let drawn = plot.map_or(Exit::Done, |plot| plot.write(&report::region_tolerance_sheet(&found)));
    terminal::print(&text, written.max(drawn))
}

fn write_ranges(found: &ToleranceFindings, path: &Path, force: bool) -> Exit {
    output::write(&[(path, &report::ranges_file(found, ranges_format(path)))], force)
}

/// YAML where the file is named so, else TOML.
fn ranges_format(path: &Path) -> RangesFormat {
    let is_yaml = output::format_of(path) == Some("YAML");
    if is_yaml { RangesFormat::Yaml } else { RangesFormat::Toml }
}
