//! `unloop tolerance DESIGN`

use std::path::Path;

use crate::report::{self, RangesFormat};
use crate::study::{self, ToleranceFindings, ToleranceRequest};

use super::arguments::ToleranceArguments;
use super::exit::Exit;
use super::{designs, interrupt, output, plot, terminal};

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
    let Some(design) = designs::four_bar_only(&arguments.design, "tolerance") else {
        return Exit::Wrong;
    };
    let request = ToleranceRequest {
        samples: arguments.samples,
        seed: arguments.seed,
        distribution: arguments.distribution,
    };
    interrupt::shows_what_is_done();
    let progress = terminal::Progress::new(request.samples);
    let go_on = |done: u64| {
        progress.show(done);
        !interrupt::is_stopped()
    };
    let found = match study::tolerance(&design, &request, &go_on) {
        Ok(found) => found,
        Err(faults) => {
            designs::show_faults(&design, &faults);
            return Exit::Wrong;
        }
    };
    progress.clear();
    let written = ranges.map_or(Exit::Done, |path| write_ranges(&found, path, arguments.force));
    let text = if arguments.json {
        report::json(&found)
    } else {
        report::tolerance_text(&found, terminal::output_style())
    };
    let drawn = plot.map_or(Exit::Done, |plot| plot.write(&report::tolerance_sheet(&found)));
    terminal::print(&text, written.max(drawn))
}

/// YAML where the file is named so, else TOML.
fn write_ranges(found: &ToleranceFindings, path: &Path, force: bool) -> Exit {
    let is_yaml = output::format_of(path) == Some("YAML");
    let format = if is_yaml { RangesFormat::Yaml } else { RangesFormat::Toml };
    output::write(&[(path, &report::ranges_file(found, format))], force)
}
