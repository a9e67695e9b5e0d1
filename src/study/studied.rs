//! What is found of every design whose drive turns one joint, whatever draws it.

use crate::design::{Design, Dimension, Drawn, Geometry};
use crate::drive::Drawing;
use crate::equivalence::DirectJoint;
use crate::linkage::Drive;

use super::check::judged;
use super::check_drive::judged_drive;
use super::drive_course::{DriveCourse, drive_course};
use super::driven::Driven;
use super::fault::Fault;
use super::findings::{Check, Depth};
use super::loads::{LoadFindings, loads_of_drive, loads_of_linkage};
use super::mechanism::Mechanism;
use super::stroke_table::{PoseRow, Poses, pose_rows, with_rest};
use super::tolerance::tolerance_of_linkage;
use super::tolerance_findings::{ToleranceFindings, ToleranceRequest};
use super::tolerance_of_sizes::tolerance_of_sizes;

/// Poses of a design's course.
pub const REVIEW_POSES: usize = 121;

/// Builds drawn at random for a review; the same seed each time, so that the same design gives the same figures.
pub const REVIEW_BUILDS: u64 = 65_536;

/// A drive of one joint over its stroke, for curves and pictures: at [`REVIEW_POSES`] poses, both ends included, and in the
/// zero pose where that lies between them.
#[derive(Clone, Debug)]
pub enum Course {
    /// A planar four-bar, evenly spaced in motor angle.
    Linkage(Vec<PoseRow>),
    /// Another, evenly spaced in joint angle.
    Drive(DriveCourse),
}

/// A drawing of a drive of one joint: a planar four-bar's, or the sizes of another.
pub trait Studied: Sized {
    /// The design turned into what moves.
    type Moving;

    /// What the design draws, on its stroke.
    ///
    /// # Errors
    /// Every fault that keeps it from running over its stroke.
    fn moving(design: &Design<Self>) -> Result<Self::Moving, Vec<Fault>>;

    /// The verdict, no further than asked.
    ///
    /// # Errors
    /// As [`Studied::moving`].
    fn judged(
        design: &Design<Self>,
        moving: &Self::Moving,
        depth: Depth,
    ) -> Result<Check, Vec<Fault>>;

    /// The drive over its stroke, against `joint`.
    fn course(design: &Design<Self>, moving: &Self::Moving, joint: &DirectJoint) -> Course;

    /// What it bears.
    ///
    /// # Errors
    /// As [`Studied::moving`], a dead point in the stroke included.
    fn loads(design: &Design<Self>) -> Result<LoadFindings, Vec<Fault>>;

    /// What the drawn tolerances do; `check` is the verdict, where it is known: what that has proved is not proved again.
    ///
    /// # Errors
    /// As [`Studied::moving`].
    fn tolerance(
        design: &Design<Self>,
        check: Option<&Check>,
        request: &ToleranceRequest,
        go_on: &(dyn Fn(u64) -> bool + Sync),
    ) -> Result<ToleranceFindings, Vec<Fault>>;

    /// Is any tolerance drawn?
    fn is_toleranced(&self) -> bool;

    /// How many builds a review draws at random.
    fn builds(&self) -> u64 {
        REVIEW_BUILDS
    }
}

impl Studied for Geometry {
    type Moving = Mechanism;

    fn moving(design: &Design) -> Result<Mechanism, Vec<Fault>> {
        Mechanism::of(design)
    }

    fn judged(design: &Design, moving: &Mechanism, depth: Depth) -> Result<Check, Vec<Fault>> {
        judged(design, moving, depth)
    }

    fn course(design: &Design, moving: &Mechanism, joint: &DirectJoint) -> Course {
        let turns = Poses::Even(REVIEW_POSES, Drive::Motor).motor_turns(moving);
        Course::Linkage(pose_rows(design, moving, joint, &with_rest(turns.unwrap_or_default())))
    }

    fn loads(design: &Design) -> Result<LoadFindings, Vec<Fault>> {
        loads_of_linkage(design)
    }

    fn tolerance(
        design: &Design,
        _: Option<&Check>,
        request: &ToleranceRequest,
        go_on: &(dyn Fn(u64) -> bool + Sync),
    ) -> Result<ToleranceFindings, Vec<Fault>> {
        tolerance_of_linkage(design, request, go_on)
    }

    fn is_toleranced(&self) -> bool {
        let sizes = [&self.ground, &self.crank, &self.coupler, &self.rocker, &self.zero_crank];
        let spreads = |d: &Dimension| d.tolerance.as_ref().is_some_and(|t| t.upper > t.lower);
        sizes.into_iter().any(spreads)
    }
}

impl Studied for Drawn {
    type Moving = Driven;

    fn moving(design: &Design<Self>) -> Result<Driven, Vec<Fault>> {
        Driven::of(design)
    }

    fn judged(design: &Design<Self>, moving: &Driven, depth: Depth) -> Result<Check, Vec<Fault>> {
        judged_drive(design, moving, depth)
    }

    fn course(design: &Design<Self>, moving: &Driven, joint: &DirectJoint) -> Course {
        Course::Drive(drive_course(design, moving, joint, REVIEW_POSES))
    }

    fn loads(design: &Design<Self>) -> Result<LoadFindings, Vec<Fault>> {
        loads_of_drive(design)
    }

    fn tolerance(
        design: &Design<Self>,
        check: Option<&Check>,
        request: &ToleranceRequest,
        go_on: &(dyn Fn(u64) -> bool + Sync),
    ) -> Result<ToleranceFindings, Vec<Fault>> {
        tolerance_of_sizes(design, check.map(|check| check.criteria.as_slice()), request, go_on)
    }

    fn is_toleranced(&self) -> bool {
        self.has_tolerance()
    }

    /// Every build of a series is as many drives as it has stages: fewer of them take the same time.
    fn builds(&self) -> u64 {
        match self.drawing {
            Drawing::Series(_) => REVIEW_BUILDS / 4,
            _ => REVIEW_BUILDS,
        }
    }
}

/// May a direct joint stand in for the drive of `design`?
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its stroke.
pub fn check<G: Studied>(design: &Design<G>) -> Result<Check, Vec<Fault>> {
    check_on(design, &G::moving(design)?)
}

/// The same for a design whose drive already moves.
///
/// # Errors
/// As [`check`].
pub fn check_on<G: Studied>(design: &Design<G>, moving: &G::Moving) -> Result<Check, Vec<Fault>> {
    G::judged(design, moving, Depth::Whole)
}

/// The loads of `design`.
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its stroke, a dead point inside it included.
pub fn loads<G: Studied>(design: &Design<G>) -> Result<LoadFindings, Vec<Fault>> {
    G::loads(design)
}

/// The tolerance study of `design`; `go_on` is asked between rounds with the number of builds drawn.
///
/// # Errors
/// As [`check`].
pub fn tolerance<G: Studied>(
    design: &Design<G>,
    request: &ToleranceRequest,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Result<ToleranceFindings, Vec<Fault>> {
    G::tolerance(design, None, request, go_on)
}
