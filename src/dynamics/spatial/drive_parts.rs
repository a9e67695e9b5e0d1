//! The bodies of one drive and its mass matrix at one joint turn.
//!
//! A body whose frame has its origin at O, moves at O_ψ and Ω per joint rate and holds its centre at C = O + ρ has
//!
//! ```text
//! v_C = v + ω × C + C_ψ ψ̇,   C_ψ = O_ψ + Ω × ρ,   ω_C = ω + Ω ψ̇
//! (v, ψ): m C_ψ     (ω, ψ): m C × C_ψ + I Ω     (ψ, ψ): m C_ψ² + Ω·I Ω
//! ```
//!
//! with I as the joint frame sees it. The rotor turns at n = N i about the unit vector k against what bears it, and adds J n k to
//! (ω, ψ), J n² to (ψ, ψ) and, unless the bearer's figures hold it, J k kᵀ to (ω, ω): the bearer itself does not turn about
//! k. Derived here.

use nalgebra::Vector3;

use super::super::body::Body;
use super::super::masses::Masses;
use super::super::moments::Moments;
use super::super::reflected::{Matrix7, add_joint, add_rigid};
use super::joint_stroke::JointStroke;
use super::moving_frames::{MotorSpin, MovingFrame, MovingFrames};
use crate::drive::DriveFault;

/// The parts of one drive; what the drive does not have weighs nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DriveParts {
    /// The parts that every drive can have. Carrier and what it bears besides are in the joint frame; the rotor's axis is the
    /// motor's, of a screw the slide line, right-handed from carrier to lever.
    pub masses: Masses,
    /// Of a linear actuator: what turns about its pin on the carrier; of a slider what holds the guide.
    pub housing: Option<Body>,
    /// What the screw shifts.
    pub nut: Option<Body>,
}

impl From<Masses> for DriveParts {
    fn from(masses: Masses) -> Self {
        Self { masses, housing: None, nut: None }
    }
}

impl DriveParts {
    /// With every moving part but the child that is known about the axis alone taken as a slender bar.
    #[must_use]
    pub fn with_bars(&self) -> Self {
        let bar = |body: Option<Body>| body.map(|body| body.as_bar());
        Self { masses: self.masses.with_bars(), housing: bar(self.housing), nut: bar(self.nut) }
    }

    /// Are the whole tensors of all given bodies known, the carrier's among them?
    #[must_use]
    pub fn are_spatial(&self) -> bool {
        let known = |body: &Option<Body>| body.as_ref().is_none_or(Body::is_spatial);
        self.masses.are_spatial() && known(&self.housing) && known(&self.nut)
    }

    /// The moving bodies with their frames.
    fn moving<'a>(
        &'a self,
        frames: &'a MovingFrames,
    ) -> impl Iterator<Item = (&'a Body, &'a MovingFrame)> {
        let both = |(body, frame): (&'a Option<Body>, &'a Option<MovingFrame>)| {
            body.as_ref().zip(frame.as_ref())
        };
        let parts = [
            (&self.masses.crank, &frames.crank),
            (&self.masses.coupler, &frames.coupler),
            (&self.housing, &frames.housing),
            (&self.nut, &frames.nut),
        ];
        parts.into_iter().filter_map(both).chain([(&self.masses.child, &frames.child)])
    }

    /// The mass matrix with the bodies in `frames`, without what is carried besides.
    pub(super) fn matrix(&self, frames: &MovingFrames) -> Matrix7 {
        let mut matrix = Matrix7::zeros();
        for (body, frame) in self.moving(frames) {
            frame.add_to(&mut matrix, body);
        }
        if let Some(carrier) = &self.masses.carrier {
            add_rigid(&mut matrix, &carrier.into());
        }
        self.add_rotor(&mut matrix, &frames.motor);
        matrix
    }

    fn add_rotor(&self, matrix: &mut Matrix7, MotorSpin { axis, ratio }: &MotorSpin) {
        let (inertia, turns) = (self.masses.rotor_inertia(), self.masses.gear_ratio() * ratio);
        let beside = axis * axis.transpose() * self.masses.rotor_beside_carrier();
        add_rigid(matrix, &Moments { inertia: beside, ..Moments::default() });
        let along = axis * (inertia * turns);
        add_joint(matrix, &Vector3::zeros(), &along, inertia * turns * turns);
    }
}

impl MovingFrame {
    /// Adds `body` in this frame to a mass matrix.
    pub(super) fn add_to(&self, matrix: &mut Matrix7, body: &Body) {
        let placed = self.placed(body);
        let arm = self.axes * body.centre;
        let linear = body.mass * (self.way + self.spin.cross(&arm));
        let turning = placed.tensor() * self.spin;
        let velocity = self.way + self.spin.cross(&arm);
        add_rigid(matrix, &(&placed).into());
        let angular = placed.centre.cross(&linear) + turning;
        add_joint(matrix, &linear, &angular, linear.dot(&velocity) + self.spin.dot(&turning));
    }

    /// `body` in this frame as the joint frame sees it.
    pub(super) fn placed(&self, body: &Body) -> Body {
        let tensor = self.axes * body.tensor() * self.axes.transpose();
        Body {
            mass: body.mass,
            centre: self.origin + self.axes * body.centre,
            inertia: super::super::body::Inertia::Tensor(tensor),
        }
    }
}

/// The drive's mass matrix for (v, ω, ψ̇) at the joint turn `turn` (rad), all in the joint frame, without
/// [`Masses::carried`]; what is not known of a tensor counts as zero.
///
/// # Errors
/// A turn that cannot be reached.
///
/// # Examples
/// ```
/// use unloop::drive::{FixedRatio, JointDrive};
/// use unloop::dynamics::{Body, DriveParts, Inertia, JointStroke, Masses, Rotor, drive_mass_matrix};
/// let child = Body { mass: 0.9, centre: [0.03, 0.0, 0.0].into(), inertia: Inertia::AboutAxis(2e-3) };
/// let rotor = Some(Rotor { inertia: 1e-4, gear_ratio: 8.0, in_carrier: true });
/// let masses = Masses { crank: None, coupler: None, child, carrier: None, carried: None, rotor };
/// let belt = JointDrive::Ratio(FixedRatio(-2.5));
/// let stroke = JointStroke::over(&belt, [-1.0, 1.0])?;
/// let joint = drive_mass_matrix(&stroke, &DriveParts::from(masses), 0.4)?[(6, 6)];
/// assert!((joint - (2e-3 + 0.9 * 0.03_f64.powi(2) + 20.0_f64.powi(2) * 1e-4)).abs() < 1e-15);
/// # Ok::<(), unloop::dynamics::DynamicsFault>(())
/// ```
pub fn drive_mass_matrix(
    stroke: &JointStroke<'_>,
    parts: &DriveParts,
    turn: f64,
) -> Result<Matrix7, DriveFault> {
    Ok(parts.matrix(&MovingFrames::at(stroke, turn)?))
}
