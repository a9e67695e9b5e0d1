//! The direct joint that stands in for a drive in space: the four-bar's forms, means over the joint angle and real bodies.
//!
//! A planar parallelogram has the exact form of `parallel`; every other drive that of `averaged`. The child's first guess has its
//! own tensor, the masses that ride on Q, and of the crank side's (xx − yy)/2 + 1j xy what value and slope at mid-stroke ask
//! for. For a constant ratio with the rotor's axis parallel to the joint's the means are the exact split of the rotor. Of a
//! screw n varies with the pose: W is a mean, and ε tells what that costs.

use nalgebra::{Isometry3, Vector3};

use super::super::averaged::{Sample, Samples};
use super::super::body::Body;
use super::super::crank_stroke::CrankStroke;
use super::super::fault::DynamicsFault;
use super::super::fidelity::{Fidelity, Known, Pair7, share};
use super::super::moments::Moments;
use super::super::parallel;
use super::super::reflected::Matrix7;
use super::super::replacement::Replacement;
use super::super::seat::Seat;
use super::super::together::{Together, all_moving};
use super::super::tree::{Draft, Tree, in_plane_inertia, twist_of};
use super::drive_parts::DriveParts;
use super::joint_stroke::JointStroke;
use super::moving_frames::MovingFrames;
use crate::drive::{DriveFault, OneJoint};

/// The direct joint for `parts` among `among` drives on one carrier (1: alone on it), as [`Replacement::among`]; its carrier frame
/// is the joint frame.
///
/// # Errors
/// As [`Replacement::of`].
pub fn drive_replacement(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    among: u32,
) -> Result<Replacement, DynamicsFault> {
    let parts = parts.with_bars();
    let of = |masses| {
        let draft = draft(stroke, &DriveParts { masses, ..parts })?;
        Replacement::drafted(&draft, &masses, stroke.parallelogram().is_some())
    };
    match of(parts.masses.sharing_carrier(among)) {
        Ok(sharing) => Ok(sharing.on(&parts.masses)),
        Err(_) => of(parts.masses),
    }
}

fn draft(stroke: &JointStroke<'_>, parts: &DriveParts) -> Result<Draft, DynamicsFault> {
    if let Some((branch, run)) = stroke.parallelogram() {
        return Ok(parallel::tree(&CrankStroke::over(&branch, run)?, &parts.masses));
    }
    let (mut samples, mut rotor, mut turns) = (Vec::new(), 0.0, 0.0);
    for (turn, weight) in stroke.weighted_turns()? {
        let frames = MovingFrames::at(stroke, turn)?;
        let n = parts.masses.gear_ratio() * frames.motor.ratio;
        turns += weight * n;
        rotor += weight * parts.masses.rotor_inertia() * (n * n - n * frames.motor.axis.z);
        let matrix = parts.matrix(&frames);
        samples.push(Sample { weight, direction: frames.direction(), matrix });
    }
    let (tree, unbounded) = Samples(samples).tree(&child_guess(stroke, parts)?);
    Ok(Draft { tree, unbounded, rotor, turns })
}

fn child_guess(stroke: &JointStroke<'_>, parts: &DriveParts) -> Result<Moments, DriveFault> {
    let frames = MovingFrames::at(stroke, stroke.middle()?)?;
    let at_q =
        |mass: f64, height: f64| Moments::point(mass, Vector3::new(frames.lever, 0.0, height));
    let mut child = Moments::from(&parts.masses.child);
    let mut on_pin = None;
    if let (Some(rod), Some(_)) = (&parts.masses.coupler, frames.coupler) {
        let share = rod.centre.x / frames.rod_length;
        child += at_q(rod.mass * share, rod.centre.z);
        on_pin = Some((rod.mass * (1.0 - share), rod.centre.z));
    }
    if let (Some(nut), true) = (&parts.nut, frames.coupler.is_none()) {
        child += at_q(nut.mass, nut.centre.z);
    }
    Ok(child + crank_side(&frames, parts.masses.crank.as_ref(), on_pin))
}

/// What the crank side's (xx − yy)/2 + 1j xy asks of something that turns with the child: i times it. `on_pin` is the rod's
/// mass at P, and its height over the crank's frame.
fn crank_side(frames: &MovingFrames, crank: Option<&Body>, on_pin: Option<(f64, f64)>) -> Moments {
    let (Some(frame), Some(rod)) = (&frames.crank, &frames.coupler) else {
        return Moments::default();
    };
    let radius = (rod.origin - frame.origin).norm();
    let pin = on_pin.map(|(mass, z)| Moments::point(mass, Vector3::new(radius, 0.0, z)));
    let own = crank.map(Moments::from).unwrap_or_default() + pin.unwrap_or_default();
    let inertia = frame.axes * own.inertia * frame.axes.transpose();
    let seen = Moments { inertia, ..Moments::default() };
    let back = frames.direction().conj();
    let half_trace = 0.5 * (seen.inertia.m11 + seen.inertia.m22);
    in_plane_inertia(half_trace, twist_of(&seen) * back * back * frames.motor.ratio)
}

/// The mass matrix of what stands in, for parts at a joint turn, the drive's frames there.
pub(super) type ModelMatrix<'a> = dyn Fn(&DriveParts, f64, &MovingFrames) -> Matrix7 + 'a;

fn matrices(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    model: &ModelMatrix<'_>,
    turn: f64,
) -> Option<Pair7> {
    let frames = MovingFrames::at(stroke, turn).ok()?;
    let whole = parts.matrix(&frames);
    Some([whole, model(parts, turn, &frames) - whole])
}

fn of_tree(tree: &Tree) -> impl Fn(&DriveParts, f64, &MovingFrames) -> Matrix7 {
    move |_, _, frames| tree.mass_matrix_towards(frames.direction())
}

/// ε at one joint turn (rad) with `tree` in place of the drive with `parts`, for the motions that the headline figure allows for;
/// `None` where the turn cannot be reached.
#[must_use]
pub fn drive_error_at(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    tree: &Tree,
    turn: f64,
) -> Option<f64> {
    let over = known(parts).over();
    let found = matrices(stroke, &parts.with_bars(), &of_tree(tree), turn)?;
    Some(share(over, &found)).filter(|error| error.is_finite())
}

fn known(parts: &DriveParts) -> Known {
    Known { is_spatial: parts.are_spatial(), ..Known::of(&parts.masses) }
}

/// How far `tree` is from the drive with `parts` over its stroke; the places are motor turns.
#[must_use]
pub fn drive_fidelity(stroke: &JointStroke<'_>, parts: &DriveParts, tree: &Tree) -> Fidelity {
    fidelity_of(stroke, parts, &of_tree(tree))
}

/// How far `model` is from the drive with `parts`.
pub(super) fn fidelity_of(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    model: &ModelMatrix<'_>,
) -> Fidelity {
    let known = known(parts);
    let parts = &parts.with_bars();
    let found = known.figures(stroke.turns(), |turn| matrices(stroke, parts, model, turn));
    let placed = |figure| stroke.by_motor(figure);
    Fidelity {
        fixed: placed(found.fixed),
        planar: found.planar.map(placed),
        spatial: found.spatial.map(placed),
        planar_carried: found.planar_carried.map(placed),
        spatial_carried: found.spatial_carried.map(placed),
        gravity_torque: placed(found.gravity_torque),
    }
}

/// One of several drives on one carrier.
#[derive(Clone, Copy, Debug)]
pub struct PartsOnCarrier<'a> {
    /// Its joint frame in the frame of the link that bears them all.
    pub frame: Isometry3<f64>,
    /// Its stroke.
    pub stroke: &'a JointStroke<'a>,
    /// Its parts; each drive holds the same carrier, in its own joint frame.
    pub parts: &'a DriveParts,
    /// What stands in for it, the whole carrier in it.
    pub tree: &'a Tree,
}

/// ε of all `drives` moving on one carrier, as [`together`](super::super::together::together).
#[must_use]
pub fn drives_together(drives: &[PartsOnCarrier<'_>]) -> Option<Together> {
    let [first, _, ..] = drives else { return None };
    let carrier = Moments::from(first.parts.masses.carrier.as_ref()?);
    let is_spatial = drives.iter().all(|drive| drive.parts.are_spatial());
    let seats = drives.iter().map(|drive| seat(drive, &first.frame)).collect();
    let found = all_moving(seats, carrier, is_spatial)?;
    let by_motor = |(drive, turn): (&PartsOnCarrier<'_>, &f64)| {
        drive.stroke.drive().motor_turn(*turn).unwrap_or(f64::NAN)
    };
    let turns = drives.iter().zip(&found.turns).map(by_motor).collect();
    Some(Together { turns, ..found })
}

fn seat<'a>(drive: &PartsOnCarrier<'a>, first: &Isometry3<f64>) -> Seat<'a> {
    let PartsOnCarrier { frame, stroke, parts, tree } = *drive;
    let whole = parts.with_bars();
    let bare = without_carrier(&whole);
    let told = move |turn: f64| {
        let moving = bare.matrix(&MovingFrames::at(stroke, turn).ok()?);
        let [_, error] = matrices(stroke, &whole, &of_tree(tree), turn)?;
        Some([moving, error])
    };
    Seat::new(stroke.turns(), Box::new(told), &(first.inverse() * frame))
}

fn without_carrier(parts: &DriveParts) -> DriveParts {
    let masses = super::super::masses::Masses { carrier: None, ..parts.masses };
    DriveParts { masses, ..*parts }
}
