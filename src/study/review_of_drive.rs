//! All that a design review asks of a design of another kind than a planar four-bar.

use crate::design::{Design, Drawn};
use crate::drive::Drawing;

use super::drive_course::drive_course;
use super::driven::Driven;
use super::fault::Fault;
use super::findings::Check;
use super::loads::drive_loads_of;
use super::review::{REVIEW_BUILDS, REVIEW_POSES, Review};
use super::tolerance_findings::ToleranceRequest;
use super::tolerance_of_sizes::tolerance_of_driven;

/// The review of `design`, whose drive is `driven` and whose verdict is `check`; `go_on` is asked as by
/// [`super::tolerance`].
///
/// # Errors
/// As [`super::tolerance_of_sizes`]; loads without a bound are a finding, not an error.
pub fn review_of_drive(
    design: &Design<Drawn>,
    driven: &Driven,
    check: Check,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<Review, Vec<Fault>> {
    let request = ToleranceRequest {
        samples: builds_of(design),
        seed: 1,
        distribution: crate::tolerance::Distribution::Normal,
    };
    let is_toleranced = design.geometry.has_tolerance();
    let judged = Some(check.criteria.as_slice());
    let found = || tolerance_of_driven(design, driven, judged, &request, go_on);
    let found = is_toleranced.then(found).transpose()?;
    Ok(Review {
        path: design.source.path.clone(),
        text: design.source.text.clone(),
        rows: Vec::new(),
        course: Some(drive_course(design, driven, &check.direct_joint, REVIEW_POSES)),
        loads: drive_loads_of(design),
        tolerance: found,
        reads: [design.motor_reads, design.joint_reads],
        check,
    })
}

/// Every build of a series is as many drives as it has stages: fewer of them take the same time.
fn builds_of(design: &Design<Drawn>) -> u64 {
    match design.geometry.drawing {
        Drawing::Series(_) => REVIEW_BUILDS / 4,
        _ => REVIEW_BUILDS,
    }
}
