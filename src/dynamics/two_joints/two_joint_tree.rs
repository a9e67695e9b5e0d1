//! Carrier, middle link and child with two direct joints between them, in place of two rods on a universal joint.
//!
//! ```text
//! to the child     of a rod its share λ m at Q, λ where its mass centre lies on P→Q (0 at P); an actuator's nut
//! to the carrier   the rest, where the zero pose has it: with all joints at rest in that pose nothing is lost
//! armatures        what the drive's (pitch, roll) block has more than the bodies', a mean over the region's grid
//! ```
//!
//! An armature is Tᵀ diag(D) T + diag(e), with one D a motor on a coupling of both joints where the file has one, else diag(e)
//! alone, which drops what couples the joints. T constant, D and e not negative.
//!
//! **The rotors' spin about the pitch axis.** Their angular momentum J n along a₁ is the pitch rate's with the carrier moving as
//! well; d = Σ J N T_kp (k·a₁) is moved from carrier to middle link and off the armature, as d times the unit matrix, since
//! what turns about a₁ alone shares inertia square to it freely. What roll does to rotors is not split: two motors side by side
//! then spin against each other. Derived here.

use nalgebra::{Matrix2, Vector3};

use super::super::fault::DynamicsFault;
use super::super::moments::Moments;
use super::both_moving::{AllFrames, BothMoving, Matrix8, TwoJointParts, vector};
use crate::drive::{Direct, DriveFault, Region, TwoRods};

words! {
    /// Where a file holds the armatures.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum ArmatureForm {
        /// On a coupling of both joints for each motor, and on the joints.
        Motors = "one for each motor",
        /// On the joints alone.
        Joints = "one for each joint",
    }
}

/// A carrier, a middle link and a child with two revolute joints between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoJointTree {
    /// About the origin of the carrier's frame, as all three; where the carrier is not known, only what is to be added to it.
    pub carrier: Moments,
    /// The link between the joints, in the carrier's frame in the zero pose. Without mass where none was given.
    pub middle: Moments,
    /// In the carrier's frame in the zero pose.
    pub child: Moments,
    /// T.
    pub matrix: Matrix2<f64>,
    /// D: inertia that each motor's rate θ̇ = T q̇ sees, kg m².
    pub motor_armatures: [f64; 2],
    /// e: inertia that each joint's rate sees alone, kg m².
    pub joint_armatures: [f64; 2],
}

impl TwoJointTree {
    /// Tᵀ diag(D) T + diag(e), kg m².
    #[must_use]
    pub fn armature(&self) -> Matrix2<f64> {
        let at_motors = Matrix2::from_diagonal(&self.motor_armatures.into());
        self.matrix.transpose() * at_motors * self.matrix
            + Matrix2::from_diagonal(&self.joint_armatures.into())
    }

    /// Its mass matrix at the joint turns `joints`, rad, on the axes of `drive`.
    ///
    /// # Errors
    /// [`DriveFault::CannotReach`].
    pub fn mass_matrix(&self, drive: &TwoRods, joints: [f64; 2]) -> Result<Matrix8, DriveFault> {
        Ok(self.in_frames(&AllFrames::at(drive, joints)?))
    }

    pub(super) fn in_frames(&self, frames: &AllFrames) -> Matrix8 {
        let mut matrix = Matrix8::zeros();
        BothMoving::still().add_moments_to(&mut matrix, &self.carrier);
        frames.middle.add_moments_to(&mut matrix, &self.middle);
        frames.child.add_moments_to(&mut matrix, &self.child);
        let mut joints = matrix.fixed_view_mut::<2, 2>(6, 6);
        joints += self.armature();
        matrix
    }

    /// The armatures of `form` that come nearest to `wanted`.
    fn with_armature(self, form: ArmatureForm, wanted: &Matrix2<f64>) -> Self {
        let joints = [wanted.m11.max(0.0), wanted.m22.max(0.0)];
        let plain = Self { motor_armatures: [0.0; 2], joint_armatures: joints, ..self };
        match form {
            ArmatureForm::Joints => plain,
            ArmatureForm::Motors => self.on_motors(wanted).unwrap_or(plain),
        }
    }

    /// Tᵀ diag(D) T + diag(e) = A exactly, e of one joint alone, where that can be; else D alone, its own fit.
    fn on_motors(&self, wanted: &Matrix2<f64>) -> Option<Self> {
        let t = self.matrix;
        let coupled = [t.m11 * t.m12, t.m21 * t.m22];
        let squares = [[t.m11 * t.m11, t.m21 * t.m21], [t.m12 * t.m12, t.m22 * t.m22]];
        let diagonal = [wanted.m11, wanted.m22];
        let exact = |joint: usize| {
            let (on, off) = (squares.get(joint)?, squares.get(1 - joint)?);
            let rows = Matrix2::new(on[0], on[1], coupled[0], coupled[1]);
            let d = rows.try_inverse()? * nalgebra::Vector2::new(*diagonal.get(joint)?, wanted.m12);
            let rest = diagonal.get(1 - joint)? - (off[0] * d.x + off[1] * d.y);
            // What rounding leaves is none.
            let none = -1e-12 * wanted.norm();
            let is_real = d.x >= 0.0 && d.y >= 0.0 && rest >= none;
            let mut e = [0.0; 2];
            *e.get_mut(1 - joint)? = rest.max(0.0);
            is_real.then_some(Self { motor_armatures: d.into(), joint_armatures: e, ..*self })
        };
        let fitted = || {
            let inverse = t.try_inverse()?;
            let seen = inverse.transpose() * wanted * inverse;
            let d = [seen.m11.max(0.0), seen.m22.max(0.0)];
            Some(Self { motor_armatures: d, joint_armatures: [0.0; 2], ..*self })
        };
        exact(0).or_else(|| exact(1)).or_else(fitted)
    }
}

/// Differences of both matrices, drive less tree, as means over the region's grid.
struct Left {
    /// (pitch, roll) block.
    joints: Matrix2<f64>,
    /// Along a₁: (ω about O₁, pitch).
    pitch_spin: f64,
}

/// The tree for `parts` that moves as `direct`, its armatures held as `form` says.
///
/// # Errors
/// A pose of the grid out of reach.
pub fn two_joint_tree(
    drive: &TwoRods,
    region: &Region,
    parts: &TwoJointParts,
    direct: &Direct,
    form: ArmatureForm,
) -> Result<TwoJointTree, DynamicsFault> {
    let parts = parts.with_bars();
    let mut tree = rigid_shares(drive, &parts, direct)?;
    let spin = left(drive, region, &parts, &tree)?.pitch_spin;
    if let Some(split) = tree.spin_split(spin, &parts) {
        tree = split;
    }
    let wanted = left(drive, region, &parts, &tree)?.joints;
    Ok(tree.with_armature(form, &wanted))
}

/// All bodies in their places, no armature.
fn rigid_shares(
    drive: &TwoRods,
    parts: &TwoJointParts,
    direct: &Direct,
) -> Result<TwoJointTree, DynamicsFault> {
    let zero = AllFrames::at(drive, [0.0; 2])?;
    let mut carrier = parts.carrier.as_ref().map(Moments::from).unwrap_or_default();
    let mut child = Moments::from(&parts.child);
    for (frames, own) in zero.legs.iter().zip(&parts.legs) {
        let [on_child, all] = frames.shares(own);
        child += on_child;
        carrier += all - on_child;
        if let Some(rotor) = own.rotor.filter(|rotor| !rotor.in_carrier) {
            let axis = frames.motor_axis();
            let inertia = axis * axis.transpose() * rotor.inertia;
            carrier += Moments { inertia, ..Moments::default() };
        }
    }
    let middle = parts.middle.as_ref().map(Moments::from).unwrap_or_default();
    let (matrix, none) = (direct.matrix, [0.0; 2]);
    Ok(TwoJointTree {
        carrier,
        middle,
        child,
        matrix,
        motor_armatures: none,
        joint_armatures: none,
    })
}

fn left(
    drive: &TwoRods,
    region: &Region,
    parts: &TwoJointParts,
    tree: &TwoJointTree,
) -> Result<Left, DynamicsFault> {
    let pitch = drive.geometry().pitch;
    let (o1, a1) = (vector(pitch.point), vector(pitch.direction));
    let mut sum = Left { joints: Matrix2::zeros(), pitch_spin: 0.0 };
    let mut count = 0.0;
    for joints in region.turns() {
        let frames = AllFrames::at(drive, joints)?;
        let error = frames.matrix(parts) - tree.in_frames(&frames);
        let linear = Vector3::from(error.fixed_view::<3, 1>(0, 6));
        let angular = Vector3::from(error.fixed_view::<3, 1>(3, 6));
        sum.joints += error.fixed_view::<2, 2>(6, 6);
        sum.pitch_spin += a1.dot(&(angular - o1.cross(&linear)));
        count += 1.0;
    }
    Ok(Left { joints: sum.joints / count, pitch_spin: sum.pitch_spin / count })
}

impl TwoJointTree {
    /// With `spin` moved from carrier to middle link; `None` where that would leave no real body.
    fn spin_split(&self, spin: f64, parts: &TwoJointParts) -> Option<Self> {
        parts.carrier?;
        let moved = Moments { inertia: nalgebra::Matrix3::identity() * spin, ..Moments::default() };
        let split = Self { carrier: self.carrier - moved, middle: self.middle + moved, ..*self };
        let is_real = spin > 0.0 && split.carrier.body().check().is_ok();
        is_real.then_some(split)
    }
}
