//! What stands in for the fingers of a robot file: the driver's joint with the losses of what goes, the finger's joint as a
//! line of the driver's, the passive rocker's mass in palm and crank.
//!
//! At motor rate 1 the rocker's pins turn by r at B and by r − s at Q (r = ψ', s = θ'): a loss counts with its rate, damping
//! and armature with the square, in the mean over the stroke.

use std::f64::consts::TAU;

use nalgebra::{Isometry3, Matrix3, Vector3};

use super::FileDrive;
use super::bodies::{NewBodies, in_words};
use super::figures::Figures;
use crate::dynamics::{Body, CounterPair, CrankStroke, Inertia, Masses, MeasuredOver, Moments};
use crate::equivalence::{Criterion, Why};
use crate::handover::find::{DrawingFrames, GEAR};
use crate::robot::FileJoint;

/// Of a rotor that turns with [`GEAR`] a millionth part goes elsewhere: none of it is meant.
fn as_written(armature: f64, rotor: f64) -> f64 {
    if (armature - rotor).abs() <= 2.0 / GEAR * rotor { rotor } else { armature }
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
        let finger = self.judged.check.finger.as_ref();
        finger.and_then(|finger| finger.multiplier).unwrap_or(-1.0)
    }

    /// The line through the zero pose; `None` where the finger does not hang on the crank by a hinge.
    pub(in crate::handover) fn finger_line(&self) -> Option<FingerLine<'a>> {
        let found = self.four_bar;
        let pin = &found.pins[1];
        let joint = self.robot.joints.get(pin.joint?)?;
        let sense = pin.axis?.dot(&found.axis).signum();
        let pose = self.reach.branch.pose(0.0).ok()?;
        let zero = pose.coupler_angle() - self.reach.branch.zero_crank();
        let drawn = found.drawn_coupler() - found.drawn[0];
        let reads = joint.drawn_at + sense * libm::remainder(zero - drawn, TAU);
        let slope = sense * found.motor_sign() * self.multiplier();
        let shift = reads - slope * super::figures::readings_of(self).motor;
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
            out.links.push(drive.patched(crank, &pair.crank_patch, &frames.crank)?);
            palm += pair.carrier_patch.seen_from(&frames.carrier);
            armatures.push(Some(as_written(pair.armature, figures.rotor)));
        }
        first.carrier(&palm, &Isometry3::identity(), &mut out)?;
        out.armature = armatures.first().copied().flatten();
        out.error = first.error_of_verdict();
        Ok((out, armatures))
    }

    fn pair(&self, masses: &Masses, among: u32) -> Result<CounterPair, String> {
        let stroke = CrankStroke::over(&self.reach.branch, self.reach.stroke())
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
        let found = self.judged.check.criterion(Criterion::Inertia)?;
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
