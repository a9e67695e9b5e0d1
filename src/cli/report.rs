//! `unloop report DESIGN... -o FILE.html`

use std::path::Path;

use crate::design::Design;
use crate::handover::{self, Snippet};
use crate::report::{self, PageDesign};
use crate::study::{self, Fault, Mechanism, Review};

use super::arguments::ReportArguments;
use super::exit::Exit;
use super::{designs, terminal};

pub(super) fn run(arguments: &ReportArguments) -> Exit {
    let output = arguments.output.as_path();
    let is_file = output != Path::new("-");
    // Before the work, not after it.
    if is_file && let Err(fault) = handover::must_be_free(output, arguments.force) {
        terminal::complain(&format!("error: {fault}\n"));
        return Exit::Wrong;
    }
    // Every faulty design is told, and then no page is written.
    let found: Vec<_> = arguments.designs.iter().map(|path| one(path)).collect();
    let Some(found) = found.into_iter().collect::<Option<Vec<_>>>() else { return Exit::Wrong };
    let designs: Vec<PageDesign<'_>> =
        found.iter().map(|(review, snippets)| PageDesign { review, snippets }).collect();
    let page = report::page_html(&designs);
    if is_file { write(output, &page, arguments.force) } else { terminal::print(&page, Exit::Done) }
}

fn one(path: &Path) -> Option<(Review, Vec<Snippet>)> {
    let design = designs::four_bar_only(path, "report")?;
    let found = findings(&design);
    found.map_err(|faults| designs::show_faults(&design, &faults)).ok()
}

fn findings(design: &Design) -> Result<(Review, Vec<Snippet>), Vec<Fault>> {
    let mechanism = Mechanism::of(design)?;
    let progress = terminal::Progress::new(study::REVIEW_BUILDS);
    let go_on = |done: u64| {
        progress.show(done);
        true
    };
    let review = study::review(design, &mechanism, &go_on);
    progress.clear();
    let review = review?;
    let snippets = handover::snippets(design, &mechanism, &review.check);
    Ok((review, snippets))
}

fn write(output: &Path, page: &str, force: bool) -> Exit {
    match handover::write_texts(&[(output, page)], force) {
        Ok(()) => {
            terminal::complain(&format!("wrote {}\n", output.display()));
            Exit::Done
        }
        Err(fault) => {
            terminal::complain(&format!("error: {fault}\n"));
            Exit::Wrong
        }
    }
}
