//! All that a design review asks of one design, put together.

use crate::design::Design;

use super::fault::Fault;
use super::findings::Check;
use super::loads::LoadFindings;
use super::studied::{Course, Studied, check_on};
use super::tolerance_findings::{ToleranceFindings, ToleranceRequest};

/// The findings of one design.
#[derive(Clone, Debug)]
pub struct Review {
    /// The design file's name as given.
    pub path: String,
    /// The design file's text.
    pub text: String,
    /// The verdict.
    pub check: Check,
    /// The drive over its stroke.
    pub course: Course,
    /// What the drive bears, or why that has no bound over this stroke.
    pub loads: Result<LoadFindings, Vec<Fault>>,
    /// What the drawn tolerances do; `None` where none is drawn.
    pub tolerance: Option<ToleranceFindings>,
    /// What motor and joint read in the zero pose, rad.
    pub reads: [f64; 2],
}

/// The review of `design`, which moves as `moving`; `go_on` is asked as by [`super::tolerance()`].
///
/// # Errors
/// As [`super::check`]; loads without a bound are a finding, not an error.
pub fn review<G: Studied>(
    design: &Design<G>,
    moving: &G::Moving,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<Review, Vec<Fault>> {
    let check = check_on(design, moving)?;
    let request = ToleranceRequest {
        samples: design.geometry.builds(),
        seed: 1,
        distribution: crate::tolerance::Distribution::Normal,
    };
    let found = || G::tolerance(design, Some(&check), &request, go_on);
    let found = design.geometry.is_toleranced().then(found).transpose()?;
    Ok(Review {
        path: design.source.path.clone(),
        text: design.source.text.clone(),
        course: G::course(design, moving, &check.direct_joint),
        loads: G::loads(design),
        tolerance: found,
        reads: [design.motor_reads, design.joint_reads],
        check,
    })
}
