//! What the direct joint weighs on each `[[robot]]` by itself, and on each link for all that hang on it.
//!
//! The drawing is one, but each joint stands on its own links: mirrored, turned, or one of several on one parent.

use nalgebra::Isometry3;

use crate::design::{Design, RobotJoint};
use crate::dynamics::{
    Body, DriveOnCarrier, DynamicsFault, Fidelity, Masses, MeasuredOver, MonotoneStroke,
    Replacement, Shortcut, Together, fidelity, shared_carrier, together,
};
use crate::equivalence::DirectJoint;
use crate::linkage::{Extreme, LinkageFault};

use super::drive::{carrier_frame, drive_on};
use super::findings::ZeroPose;

/// The direct joint's inertia on one `[[robot]]`. Computed, not proved.
#[derive(Clone, Debug)]
pub struct RobotInertia {
    /// The carrier frame in the parent link's frame, where something places it.
    pub frame: Option<Isometry3<f64>>,
    /// The parts in the frames of this robot.
    pub masses: Masses,
    /// Tables that could not be used, named as in the file.
    pub left_out: Vec<&'static str>,
    /// The direct joint with real bodies, or why there is none.
    pub replacement: Result<Replacement, DynamicsFault>,
    /// Of it, or where there is none of the same tree with bodies that are not real.
    pub fidelity: Fidelity,
    /// Of the bodies as they stand, with n²J as the armature.
    pub as_they_stand: Fidelity,
}

impl RobotInertia {
    /// The figure that decides, with the motor turn (rad) where it lies, and which motions it allows for.
    #[must_use]
    pub fn headline(&self) -> (MeasuredOver, Extreme) {
        self.fidelity.headline()
    }

    /// Parts and replacement with one of `among` equal shares of the carrier: what a certificate is asked for so that the
    /// largest of them bounds all drives on one link together.
    ///
    /// # Errors
    /// Where there is no replacement.
    pub fn sharing_carrier(&self, among: u32) -> Result<(Masses, Replacement), DynamicsFault> {
        let masses = self.masses.sharing_carrier(among);
        self.replacement.map(|found| (masses, found.on(&masses)))
    }
}

/// All that hangs on one parent link.
#[derive(Clone, Debug)]
pub struct LinkInertia {
    /// The link's name.
    pub parent: String,
    /// Which `[[robot]]` tables, counted from 0.
    pub robots: Vec<usize>,
    /// The figure for all of them moving together; `None` where the carrier is not known, or its tensor where axes are not
    /// parallel.
    pub together: Option<Together>,
    /// The link with what all of them add to it, in the carrier frame of the first; `None` where the carrier is not known.
    pub carrier: Option<Result<Body, DynamicsFault>>,
}

/// How many `[[robot]]` tables name the parent of `robot`, itself among them; 1 without a robot.
#[must_use]
pub fn joints_on(design: &Design, robot: Option<&RobotJoint>) -> u32 {
    let same = |other: &&RobotJoint| robot.is_some_and(|robot| robot.parent == other.parent);
    u32::try_from(design.robots.iter().filter(same).count()).unwrap_or(1).max(1)
}

/// The direct joint's inertia on `robot`; `None` where the child's masses are not given or cannot be placed. Crank, coupler
/// and rotor may be missing and then weigh nothing.
///
/// # Errors
/// A pose that cannot be reached.
pub fn on_robot(
    design: &Design,
    stroke: &MonotoneStroke<'_>,
    joint: &DirectJoint,
    zero: &ZeroPose,
    robot: Option<&RobotJoint>,
) -> Result<Option<RobotInertia>, LinkageFault> {
    let Some(drive) = drive_on(design, robot, zero) else { return Ok(None) };
    let masses = drive.masses;
    let replacement = Replacement::among(stroke, &masses.with_bars(), joints_on(design, robot));
    let tree = match &replacement {
        Ok(found) => found.tree,
        Err(_) => Shortcut::Full.tree(stroke, &masses, joint.ratio)?,
    };
    let plain = Shortcut::ArmatureOnly.tree(stroke, &masses, joint.ratio)?;
    Ok(Some(RobotInertia {
        frame: robot.and_then(|robot| carrier_frame(design, robot)),
        masses,
        left_out: drive.left_out,
        replacement,
        fidelity: fidelity(stroke, &masses, &tree),
        as_they_stand: fidelity(stroke, &masses, &plain),
    }))
}

/// [`on_robot`] for each `[[robot]]` in the order of the file; one without a robot where there is none.
///
/// # Errors
/// A pose that cannot be reached.
pub fn on_each_robot(
    design: &Design,
    stroke: &MonotoneStroke<'_>,
    joint: &DirectJoint,
    zero: &ZeroPose,
) -> Result<Vec<Option<RobotInertia>>, LinkageFault> {
    if design.robots.is_empty() {
        return Ok(vec![on_robot(design, stroke, joint, zero, None)?]);
    }
    let robots = design.robots.iter();
    robots.map(|robot| on_robot(design, stroke, joint, zero, Some(robot))).collect()
}

/// The parent links that bear more than one joint, in the order of the file, with what hangs on them; `found` as from
/// [`on_each_robot`]. A link with a joint that has no replacement or no place is left out.
#[must_use]
pub fn on_each_link(
    design: &Design,
    stroke: &MonotoneStroke<'_>,
    found: &[Option<RobotInertia>],
) -> Vec<LinkInertia> {
    let mut links: Vec<LinkInertia> = Vec::new();
    for robot in &design.robots {
        if links.iter().any(|link| link.parent == robot.parent) {
            continue;
        }
        let on = |(k, other): (usize, &RobotJoint)| (other.parent == robot.parent).then_some(k);
        let robots: Vec<usize> = design.robots.iter().enumerate().filter_map(on).collect();
        if robots.len() > 1 {
            links.extend(on_link(&robot.parent, robots, stroke, found));
        }
    }
    links
}

fn on_link(
    parent: &str,
    robots: Vec<usize>,
    stroke: &MonotoneStroke<'_>,
    found: &[Option<RobotInertia>],
) -> Option<LinkInertia> {
    let placed = robots.iter().map(|k| {
        let inertia = found.get(*k)?.as_ref()?;
        Some((inertia.frame?, &inertia.masses, inertia.replacement.as_ref().ok()?))
    });
    let placed: Vec<(Isometry3<f64>, &Masses, &Replacement)> = placed.collect::<Option<_>>()?;
    let drives: Vec<DriveOnCarrier<'_>> = placed
        .iter()
        .map(|(frame, masses, found)| DriveOnCarrier {
            frame: *frame,
            stroke,
            masses,
            stand_in: &found.tree,
        })
        .collect();
    let is_known = placed.iter().all(|(_, masses, _)| masses.carrier.is_some());
    Some(LinkInertia {
        parent: parent.to_owned(),
        together: together(&drives),
        carrier: is_known.then(|| shared_carrier(&placed)),
        robots,
    })
}
