//! A drive in space whose motor stays in the file: what its other bodies leave to the links, and how far off that is.
//!
//! **Crank coupled by a polynomial**: the rod, its centre at λ of the line between its balls, is m (1 − λ) at P on the crank and
//! m λ at Q on the child, as in the plane (`crank_kept`); what is left of its tensor stands on the carrier as it is at mid-stroke.
//! **Tendon from pin to pin**: housing and nut as in the direct joint, the rotor apart from them, exact but for its
//! coupling with a turning carrier. Derived here.

use nalgebra::{Rotation3, Unit, Vector3};

use super::super::body::Body;
use super::super::coupling::Coupling;
use super::super::fault::DynamicsFault;
use super::super::fidelity::Fidelity;
use super::super::masses::Masses;
use super::super::moments::Moments;
use super::super::reflected::{Matrix7, add_joint, add_rigid};
use super::super::tree::Tree;
use super::direct_tree::fidelity_of;
use super::drive_parts::DriveParts;
use super::joint_stroke::JointStroke;
use super::moving_frames::{MovingFrame, MovingFrames};

/// What the rod of a coupled crank leaves to the bodies that stay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RodAtPins {
    /// In the crank's frame: origin on the motor axis, z along it, x to P.
    pub crank: Body,
    /// In the child's frame: origin B, z the joint axis, x to Q.
    pub child: Body,
    /// In the joint frame; no mass.
    pub carrier: Moments,
}

impl RodAtPins {
    /// Of `rod` in its own frame: origin P, x to Q; `None` of a drive without crank and rod.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn of(stroke: &JointStroke<'_>, rod: &Body) -> Result<Option<Self>, DynamicsFault> {
        let frames = MovingFrames::at(stroke, stroke.middle()?)?;
        let rod = rod.as_bar();
        let Some((crank, frame)) = frames.crank.zip(frames.coupler) else { return Ok(None) };
        let share = rod.centre.x / frames.rod_length;
        let radius = (frame.origin - crank.origin).norm();
        let at = |share: f64, reach: f64| Body::point(rod.mass * share, Vector3::x() * reach);
        let (on_crank, on_child) = (at(1.0 - share, radius), at(share, frames.lever));
        let held = [(&crank, on_crank), (&frames.child, on_child)];
        let held = held.map(|(frame, body)| Moments::from(&frame.placed(&body)));
        let carrier =
            held.into_iter().fold(Moments::from(&frame.placed(&rod)), |rest, one| rest - one);
        Ok(Some(Self { crank: on_crank, child: on_child, carrier }))
    }

    /// The mass matrix of the file: the crank at the polynomial's angle, with its slope.
    fn matrix(
        &self,
        parts: &DriveParts,
        coupling: &Coupling,
        (turn, motor): (f64, f64),
        frames: &MovingFrames,
    ) -> Matrix7 {
        let rate = coupling.ratio(turn);
        let crank =
            frames.crank.map(|crank| turned(&crank, coupling.motor_turn(turn) - motor, rate));
        let frames = MovingFrames { crank, ..*frames };
        let masses = Masses { coupler: None, rotor: None, ..parts.masses };
        let mut matrix = DriveParts { masses, ..*parts }.matrix(&frames);
        if let Some(crank) = &frames.crank {
            crank.add_to(&mut matrix, &self.crank);
        }
        frames.child.add_to(&mut matrix, &self.child);
        add_rigid(&mut matrix, &self.carrier);
        add_armature(&mut matrix, parts, rate);
        matrix
    }
}

/// A crank turned further by `by`, rad, and at the rate `rate` per joint turn.
fn turned(crank: &MovingFrame, by: f64, rate: f64) -> MovingFrame {
    let axis = crank.axes.column(2).into_owned();
    let turn = Rotation3::from_axis_angle(&Unit::new_unchecked(axis), by);
    MovingFrame { axes: turn.into_inner() * crank.axes, spin: axis * rate, ..*crank }
}

/// n²J of the rotor alone, at `ratio` motor turns per joint turn.
fn add_armature(matrix: &mut Matrix7, parts: &DriveParts, ratio: f64) {
    let turns = parts.masses.gear_ratio() * ratio;
    let armature = parts.masses.rotor_inertia() * turns * turns;
    add_joint(matrix, &Vector3::zeros(), &Vector3::zeros(), armature);
}

/// How far a file is from the drive that holds crank and child with `rod` at its pins, tied by `coupling`, the rotor as the
/// armature of the crank's joint; the places are motor turns.
#[must_use]
pub fn coupled_fidelity(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    (rod, coupling): (&RodAtPins, &Coupling),
) -> Fidelity {
    fidelity_of(stroke, parts, &|parts, turn, frames| {
        let motor = stroke.motor_turn(turn);
        rod.matrix(parts, coupling, (turn, motor), frames)
    })
}

/// How far a file is from the drive that holds `tree` for all but the rotor, and the rotor on a tendon at the drive's own
/// ratio; the places are motor turns.
#[must_use]
pub fn tendon_fidelity(stroke: &JointStroke<'_>, parts: &DriveParts, tree: &Tree) -> Fidelity {
    fidelity_of(stroke, parts, &|parts, _, frames| {
        let mut matrix = tree.mass_matrix_towards(frames.direction());
        add_armature(&mut matrix, parts, frames.motor.ratio);
        matrix
    })
}
