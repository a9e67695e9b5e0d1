//! `unloop report DESIGN... -o FILE.html`

use std::path::Path;

use crate::design::{AnyDesign, Design, TwoJointDesign};
use crate::handover::{self, Snippet, TwoJointSnippet, snippets};
use crate::report::{self, PageDesign, PageEntry, PageIssue, PageRegion};
use crate::study::{
    self, Check, Depth, Fault, OtherSizes, RegionCheck, RegionCourse, Review, Studied, TwoMotors,
};

use super::arguments::ReportArguments;
use super::exit::Exit;
use super::{designs, output, terminal};

pub(super) fn run(arguments: &ReportArguments) -> Exit {
    let file = arguments.output.as_path();
    let is_file = file != Path::new("-");
    // Before the work, not after it.
    if let Some(fault) = output::fault(file, &["HTML"], arguments.force) {
        return output::wrong(&fault);
    }
    // Every faulty design is told, and then no page is written.
    let found: Vec<_> = arguments.designs.iter().map(|path| one(path)).collect();
    let Some(found) = found.into_iter().collect::<Option<Vec<_>>>() else { return Exit::Wrong };
    let designs: Vec<PageEntry<'_>> =
        found.iter().map(|found| found.on_page(arguments.is_static)).collect();
    let [revision, date] = [&arguments.revision, &arguments.date].map(Option::as_deref);
    let page = report::page_html(&designs, &PageIssue { revision, date });
    if is_file {
        output::write(&[(file, &page)], arguments.force)
    } else {
        terminal::print(&page, Exit::Done)
    }
}

/// What goes on the page of one file.
enum Found {
    Joint {
        review: Box<Review>,
        snippets: Vec<Snippet>,
        /// Of a planar four-bar.
        sizes: Option<Box<OtherSizes>>,
    },
    Region {
        design: Box<TwoJointDesign>,
        check: Box<RegionCheck>,
        course: Box<RegionCourse>,
        snippets: Vec<TwoJointSnippet>,
    },
}

impl Found {
    fn on_page(&self, is_static: bool) -> PageEntry<'_> {
        match self {
            Self::Joint { review, snippets, sizes } => PageEntry::Joint(PageDesign {
                review,
                snippets,
                sizes: sizes.as_deref().filter(|_| !is_static),
            }),
            Self::Region { design, check, course, snippets } => PageEntry::Region(PageRegion {
                check,
                course,
                snippets,
                is_static,
                path: &design.source.path,
                text: &design.source.text,
            }),
        }
    }
}

fn one(path: &Path) -> Option<Found> {
    match designs::read(path, &[])? {
        AnyDesign::FourBar(design) => {
            let (review, snippets) = designs::or_told(&*design, findings(&design, snippets))?;
            let sizes = OtherSizes::of(&design, &review);
            Some(Found::Joint { review: Box::new(review), snippets, sizes: sizes.map(Box::new) })
        }
        AnyDesign::OneJoint(design) => {
            let (review, snippets) = designs::or_told(&*design, findings(&design, snippets))?;
            Some(Found::Joint { review: Box::new(review), snippets, sizes: None })
        }
        AnyDesign::TwoJoints(design) => {
            let found = designs::or_told(&*design, findings_of_region(&design));
            let (check, course, snippets) = found?;
            let (check, course) = (Box::new(check), Box::new(course));
            Some(Found::Region { design, check, course, snippets })
        }
    }
}

/// Poses in pitch and in roll that the page's sliders go through.
const POSES: [u32; 2] = [17, 13];

type OverRegion = (RegionCheck, RegionCourse, Vec<TwoJointSnippet>);

fn findings_of_region(design: &TwoJointDesign) -> Result<OverRegion, Vec<Fault>> {
    let motors = TwoMotors::of(design)?;
    let check = study::check_two_motors(design, &motors, Depth::Whole)?;
    let course = study::region_course(design, &motors, POSES);
    let snippets = handover::snippets_of_two_joints(design, &motors, &check);
    Ok((check, course, snippets))
}

fn findings<G: Studied>(
    design: &Design<G>,
    snippets: impl Fn(&Design<G>, &G::Moving, &Check) -> Vec<Snippet>,
) -> Result<(Review, Vec<Snippet>), Vec<Fault>> {
    let moving = G::moving(design)?;
    let review = reviewed(|go_on| study::review(design, &moving, go_on))?;
    let snippets = snippets(design, &moving, &review.check);
    Ok((review, snippets))
}

/// What `review` finds while it shows how many builds are done.
fn reviewed<T>(review: impl FnOnce(&(dyn Fn(u64) -> bool + Sync)) -> T) -> T {
    let progress = terminal::Progress::new(study::REVIEW_BUILDS);
    let found = review(&|done: u64| {
        progress.show(done);
        true
    });
    progress.clear();
    found
}
