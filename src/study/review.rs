//! All that a design review asks of one design, put together.

use crate::design::{Design, Dimension};
use crate::linkage::Drive;

use super::check::check_on;
use super::drive_course::DriveCourse;
use super::fault::Fault;
use super::findings::Check;
use super::loads::{LoadFindings, loads};
use super::mechanism::Mechanism;
use super::stroke_table::{PoseRow, Poses, pose_rows, with_rest};
use super::tolerance::tolerance;
use super::tolerance_findings::{ToleranceFindings, ToleranceRequest};

/// Poses of a review's table over the stroke.
pub const REVIEW_POSES: usize = 121;

/// Builds drawn at random for a review; the same seed each time, so that the same design gives the same figures.
pub const REVIEW_BUILDS: u64 = 65_536;

/// The findings of one design.
#[derive(Clone, Debug)]
pub struct Review {
    /// The design file's name as given.
    pub path: String,
    /// The design file's text.
    pub text: String,
    /// The verdict.
    pub check: Check,
    /// [`REVIEW_POSES`] poses evenly spaced in motor angle, both ends included, and the zero pose where it lies between them.
    pub rows: Vec<PoseRow>,
    /// Of another kind than a planar four-bar: the same, evenly spaced in joint angle, in the rows' place.
    pub course: Option<DriveCourse>,
    /// What the drive bears, or why that has no bound over this stroke.
    pub loads: Result<LoadFindings, Vec<Fault>>,
    /// What the drawn tolerances do; `None` where none is drawn.
    pub tolerance: Option<ToleranceFindings>,
    /// What motor and joint read in the zero pose, rad.
    pub reads: [f64; 2],
}

/// The review of `design`, whose linkage is `mechanism`; `go_on` is asked as by [`tolerance`].
///
/// # Errors
/// As [`super::check`]; loads without a bound are a finding, not an error.
pub fn review(
    design: &Design,
    mechanism: &Mechanism,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<Review, Vec<Fault>> {
    let check = check_on(design, mechanism)?;
    let request = ToleranceRequest {
        samples: REVIEW_BUILDS,
        seed: 1,
        distribution: crate::tolerance::Distribution::Normal,
    };
    let found = is_toleranced(design).then(|| tolerance(design, &request, go_on)).transpose()?;
    let turns = Poses::Even(REVIEW_POSES, Drive::Motor).motor_turns(mechanism);
    let turns = with_rest(turns.unwrap_or_default());
    Ok(Review {
        path: design.source.path.clone(),
        text: design.source.text.clone(),
        rows: pose_rows(design, mechanism, &check.direct_joint, &turns),
        course: None,
        loads: loads(design),
        tolerance: found,
        reads: [design.motor_reads, design.joint_reads],
        check,
    })
}

fn is_toleranced(design: &Design) -> bool {
    let g = &design.geometry;
    let spreads = |d: &Dimension| d.tolerance.as_ref().is_some_and(|t| t.upper > t.lower);
    [&g.ground, &g.crank, &g.coupler, &g.rocker, &g.zero_crank].into_iter().any(spreads)
}
