//! `unloop tolerance DESIGN`

use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::handover;
use crate::report::{self, RangesFormat};
use crate::study::{self, ToleranceFindings, ToleranceRequest};

use super::arguments::ToleranceArguments;
use super::exit::Exit;
use super::{designs, plot, terminal};

/// Set by Ctrl-C: print what is done so far.
static STOP: AtomicBool = AtomicBool::new(false);

pub(super) fn run(arguments: &ToleranceArguments) -> Exit {
    let plot = match plot::wanted(arguments.plot.as_deref(), arguments.force) {
        Ok(plot) => plot,
        Err(exit) => return exit,
    };
    // Before the work, not after it.
    if let Some(Err(fault)) =
        arguments.ranges.as_deref().map(|path| handover::must_be_free(path, arguments.force))
    {
        terminal::complain(&format!("error: {fault}\n"));
        return Exit::Wrong;
    }
    let Some(design) = designs::four_bar_only(&arguments.design, "tolerance") else {
        return Exit::Wrong;
    };
    let request = ToleranceRequest {
        samples: arguments.samples,
        seed: arguments.seed,
        distribution: arguments.distribution,
    };
    // Without a handler Ctrl-C ends the program at once, which is no worse than before.
    let _ = ctrlc::set_handler(|| STOP.store(true, Ordering::Relaxed));
    let progress = terminal::Progress::new(request.samples);
    let go_on = |done: u64| {
        progress.show(done);
        !STOP.load(Ordering::Relaxed)
    };
    let found = match study::tolerance(&design, &request, &go_on) {
        Ok(found) => found,
        Err(faults) => {
            designs::show_faults(&design, &faults);
            return Exit::Wrong;
        }
    };
    progress.clear();
    let written = arguments
        .ranges
        .as_deref()
        .map_or(Exit::Done, |path| write_ranges(&found, path, arguments.force));
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
    let yaml = path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("yaml") || e.eq_ignore_ascii_case("yml"));
    let format = if yaml { RangesFormat::Yaml } else { RangesFormat::Toml };
    match handover::write_texts(&[(path, &report::ranges_file(found, format))], force) {
        Ok(()) => {
            terminal::complain(&format!("wrote {}\n", path.display()));
            Exit::Done
        }
        Err(fault) => {
            terminal::complain(&format!("error: {fault}\n"));
            Exit::Wrong
        }
    }
}
