//! The constants of the direct joint from build to build, by the rule of `tolerance/constants.rs`.

use crate::drive::{Build, Counted};
use crate::equivalence::{Constants, DirectJoint, Zeroing};
use crate::numeric::parallel;
use crate::numeric::sampling::Sequence;
use crate::tolerance::constants::{EACH, OwnConstants, scattered};

use super::course::Course;

/// Corners looked at, at most; all of them where there are no more.
const CORNERS: u32 = 64;

/// Over the first builds of each of `sequences` and over corners; `None` where the drawn drive has no best constants or
/// no build closes.
pub(super) fn own_constants(
    course: &Course<'_>,
    sequences: &[Sequence],
    each: u32,
) -> Option<OwnConstants> {
    let spread = &course.request.spread;
    let still = vec![0.0; spread.deviations.len()];
    let drawn = best(course, &course.build(&still, Counted::FromOwnZero)?)?;
    let moved = |deviations: &[f64]| moved(course, &drawn, deviations);
    let of_builds = parallel::each(sequences, |sequence| {
        let mut found = Vec::new();
        sequence.wide_points(0, each.min(EACH), spread.dimensions(), |point| {
            found.extend(moved(&spread.deviations_of(point)));
        });
        found
    });
    let corners: Vec<[f64; 2]> = corners(course).filter_map(|corner| moved(&corner)).collect();
    let centre = [course.request.joint.ratio, course.request.joint.offset];
    let (builds, [ratio, offset], correlation) = scattered(&of_builds, &corners, centre)?;
    Some(OwnConstants { builds, ratio, offset, correlation })
}

/// Every corner of the tolerances, or [`CORNERS`] of them that differ in most sizes.
fn corners(course: &Course<'_>) -> impl Iterator<Item = Vec<f64>> {
    let spread = &course.request.spread;
    let count = 1_u32.checked_shl(u32::try_from(spread.scattering().count()).unwrap_or(32));
    let count = count.unwrap_or(CORNERS).clamp(1, CORNERS);
    (0..count).map(move |corner| {
        let mut deviations: Vec<f64> = spread.deviations.iter().map(|d| d.lower).collect();
        for (bit, k) in spread.scattering().enumerate() {
            // Beyond the sixth size the pattern of bits goes on, turned by the corner's own.
            let bit = u32::try_from(bit).unwrap_or(0);
            let is_upper = (corner.rotate_left(bit / 6) ^ corner) >> (bit % 6) & 1 == 1;
            let is_upper = if bit < 6 { corner >> bit & 1 == 1 } else { is_upper };
            if let Some((slot, d)) = deviations.get_mut(k).zip(spread.deviations.get(k)) {
                *slot = if is_upper { d.upper } else { d.lower };
            }
        }
        deviations
    })
}

/// What the constants of a build are off the emitted ones.
fn moved(course: &Course<'_>, drawn: &DirectJoint, deviations: &[f64]) -> Option<[f64; 2]> {
    let joint = course.request.joint;
    let own = best(course, &course.build(deviations, Counted::FromOwnZero)?)?;
    let off = match course.request.zeroing {
        Zeroing::OnEachRobot => 0.0,
        Zeroing::AsDrawn => {
            let build = course.build(deviations, Counted::AsDrawn)?;
            -course.pose(&build, 0.0)?.motor / joint.ratio
        }
    };
    let share = own.ratio / drawn.ratio - 1.0;
    let moved = [joint.ratio * share, own.offset - drawn.offset + off];
    moved.iter().all(|x| x.is_finite()).then_some(moved)
}

fn best(course: &Course<'_>, build: &Build) -> Option<DirectJoint> {
    let motor = |joint: f64| course.pose(build, joint).map_or(f64::NAN, |pose| pose.motor);
    let constants = Constants { ratio: None, offset: course.request.given_offset };
    constants.over_joint_turns(&motor, course.request.joints)
}
