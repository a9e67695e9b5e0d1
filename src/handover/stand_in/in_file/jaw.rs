//! What stands in for the fingers of a robot file: the driver's joint with the losses of what goes, the finger's joint as a
//! line of the driver's, the passive rocker's mass in palm and crank.
//!
//! At motor rate 1 the rocker's pins turn by r at B and by r − s at Q (r = ψ', s = θ'): a loss counts with its rate, damping
//! and armature with the square, in the mean over the stroke.

use std::f64::consts::TAU;

use nalgebra::{Isometry3, Matrix3, Point3, Translation3, Vector3};

use super::bodies::{NewBodies, in_words, patched};
use super::figures::Figures;
use super::{FileDrive, Plane};
use crate::dynamics::{Body, CounterPair, CrankStroke, Inertia, Masses, MeasuredOver, Moments};
use crate::equivalence::{Criterion, Why};
use crate::handover::find::{DrawingFrames, GEAR};
use crate::numeric::peaks;
use crate::robot::{FileJoint, JointId, JointKind, LinkId};

/// Of a rotor that turns with [`GEAR`] a millionth part goes elsewhere: none of it is meant.
fn as_written(armature: f64, rotor: f64) -> f64 {
    if (armature - rotor).abs() <= 2.0 / GEAR * rotor { rotor } else { armature }
}

/// A finger that the file hangs on the rocker, hung on the driver's link in its place.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct Rehung {
    /// Its joint.
    pub(in crate::handover) joint: JointId,
    /// Its link.
    pub(in crate::handover) link: LinkId,
    /// The driver's link.
    pub(in crate::handover) onto: LinkId,
    /// From its link's frame to the driver's, in the drawn pose.
    pub(in crate::handover) pose: Isometry3<f64>,
    /// The driver's pin in its link's frame.
    pub(in crate::handover) pin: Point3<f64>,
    /// By how much its joint reads otherwise there, rad.
    pub(in crate::handover) turns_by: f64,
}

/// How the finger's joint follows the driver's.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct FingerLine<'a> {
    pub(in crate::handover) joint: &'a FileJoint,
    /// Reading of the finger's joint per reading of the driver's.
    pub(in crate::handover) slope: f64,
    /// Reading of the finger's joint where the driver's reads 0, rad.
    pub(in crate::handover) shift: f64,
}

impl<'a> FileDrive<'a> {
    /// Turn of the finger's joint per turn of the crank.
    fn multiplier(&self) -> f64 {
        let finger = self.check().finger.as_ref();
        finger.and_then(|finger| finger.multiplier).unwrap_or(-1.0)
    }

    /// The hinge by which the file's tree hangs the finger on the crank, or else on the rocker, with its id.
    fn finger_joint(&self) -> Option<(JointId, &'a FileJoint)> {
        let [_, crank_pin, rocker_pin, _] = &self.four_bar.pins;
        let id = crank_pin.joint.or(rocker_pin.joint)?;
        let joint = self.robot.joints.get(id)?;
        let bears = self.bodies.of_link(joint.child) == self.four_bar.bodies()[2];
        (bears && joint.kind == JointKind::Revolute).then_some((id, joint))
    }

    /// Where the finger goes that the file hangs on the rocker, whose other pins are a hinge on the palm and a closure on the
    /// crank; `None` where it hangs on the crank, or elsewhere.
    pub(in crate::handover) fn rehung(&self) -> Option<Rehung> {
        let found = self.four_bar;
        let [_, closure, _, base] = &found.pins;
        let (joint, hinge) = self.finger_joint().filter(|_| closure.joints.is_empty())?;
        let on_palm = self.robot.joints.get(base.joint?)?;
        let body = |link: LinkId| self.bodies.of_link(link);
        let [palm, _, _, rocker] = found.bodies();
        let ends = [hinge.parent, on_palm.parent, on_palm.child].map(body);
        if ends != [rocker, palm, rocker] {
            return None;
        }
        let [link, onto] =
            [hinge.child, self.driven.child].map(|id| Some((id, self.robot.links.get(id)?.pose)));
        let ((link, finger), (onto, crank)) = (link?, onto?);
        let [on_crank, on_finger] = closure.points;
        // What two points are apart as drawn, they are not by a hinge; along the axis each stays where it is.
        let apart = on_crank - on_finger;
        let shift = Translation3::from(apart - found.axis * found.axis.dot(&apart));
        let pose = crank.inverse() * (shift * finger);
        let pin = finger.inverse() * on_finger;
        Some(Rehung { joint, link, onto, pose, pin, turns_by: self.turns_by() })
    }

    /// Largest difference between what the finger's joint reads on the rocker and what it reads as it follows the driver,
    /// over the stroke, rad.
    fn turns_by(&self) -> f64 {
        let Some(Plane { reach, .. }) = self.plane() else { return f64::NAN };
        let branch = &reach.branch;
        let [phi, psi] = self.four_bar.drawn;
        let leads =
            |turn: f64| Some(branch.joint_turn(turn).ok()? - branch.coupler_turn(turn).ok()?);
        let zero = branch.pose(0.0).map_or(f64::NAN, |pose| pose.rocker_angle());
        let drawn = libm::remainder(branch.zero_crank() - zero - (phi - psi), TAU);
        let off = |turn: f64| {
            leads(turn).map_or(f64::NAN, |lead| drawn - lead - self.multiplier() * turn)
        };
        let [low, high] = peaks(off, reach.motor).map(|peak| peak.1.abs());
        low.max(high)
    }

    /// The line through the zero pose; `None` where the finger hangs neither on the crank nor on the rocker by a hinge.
    pub(in crate::handover) fn finger_line(&self) -> Option<FingerLine<'a>> {
        let found = self.four_bar;
        let (_, joint) = self.finger_joint()?;
        let sense = joint.axis.dot(&found.axis).signum();
        let plane = self.plane()?;
        let pose = plane.reach.branch.pose(0.0).ok()?;
        let zero = pose.coupler_angle() - plane.reach.branch.zero_crank();
        let drawn = found.drawn_coupler() - found.drawn[0];
        let reads = joint.drawn_at + sense * libm::remainder(zero - drawn, TAU);
        let slope = sense * found.motor_sign() * self.multiplier();
        let shift = reads - slope * super::figures::readings_of(self, plane).motor;
        Some(FingerLine { joint, slope, shift })
    }

    /// The rocker of every finger into the palm that they share and into its own crank, with the armature of each driver.
    ///
    /// # Errors
    /// No real bodies can stand for them, as a clause.
    pub(in crate::handover) fn of_fingers(
        fingers: &[(Self, &Figures)],
    ) -> Result<(NewBodies, Vec<Option<f64>>), String> {
        let mut out = NewBodies::default();
        let Some((first, _)) = fingers.first() else { return Ok((out, Vec::new())) };
        let among = u32::try_from(fingers.len()).unwrap_or(u32::MAX);
        let (mut palm, mut armatures) = (Moments::default(), Vec::new());
        for (drive, figures) in fingers {
            let Some(masses) = drive.masses(figures) else {
                return Ok((Self::not_carried(), fingers.iter().map(|_| None).collect()));
            };
            let pair = drive.pair(&masses, among)?;
            let frames = DrawingFrames::new(drive.four_bar);
            let crank = drive.bodies.links(drive.four_bar.bodies()[1]).collect();
            out.links.push(patched(drive.robot, crank, &pair.crank_patch, &frames.crank)?);
            palm += pair.carrier_patch.seen_from(&frames.carrier);
            armatures.push(Some(as_written(pair.armature, figures.rotor)));
        }
        first.carrier(&palm, &Isometry3::identity(), &mut out)?;
        out.armature = armatures.first().copied().flatten();
        out.error = first.error_of_verdict();
        Ok((out, armatures))
    }

    fn pair(&self, masses: &Masses, among: u32) -> Result<CounterPair, String> {
        let plane = self.plane().ok_or("a jaw moves in a plane")?;
        let stroke = CrankStroke::over(&plane.reach.branch, plane.reach.stroke())
            .map_err(|fault| in_words(fault.into()))?;
        // One that is welded to the world moves like it, whatever it weighs.
        let ground = Body {
            mass: 1e3,
            centre: Vector3::zeros(),
            inertia: Inertia::Tensor(Matrix3::identity() * 1e3),
        };
        let carrier = if self.is_grounded() { Some(ground) } else { masses.carrier };
        let masses = Masses { carrier, ..*masses };
        CounterPair::among(&stroke, &masses, self.multiplier(), among).map_err(in_words)
    }

    /// What the verdict says of kinetic energy, of both fingers at once.
    fn error_of_verdict(&self) -> Option<(MeasuredOver, f64)> {
        let found = self.check().criterion(Criterion::Inertia)?;
        let over = match found.why.as_ref()? {
            Why::Energy { over, .. } | Why::WithoutRotor(over) => *over,
            _ => return None,
        };
        Some((over, found.nominal?.value()))
    }

    fn not_carried() -> NewBodies {
        NewBodies {
            notes: vec![
                "the rocker weighs nothing in the file, so that no mass is carried over".to_owned(),
            ],
            ..NewBodies::default()
        }
    }
}
