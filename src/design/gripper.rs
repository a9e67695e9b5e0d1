//! What a design says of a gripper: its finger, and the names of what a robot's gripper has besides a joint.

use crate::equivalence::PadStandIn;
use crate::linkage::{Branch, LinkageFault, Pad, PadOn};

words! {
    /// `[finger] other`.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum OtherFinger {
        /// Its mirror image, driven by the same motor.
        #[default]
        Mirrored = "mirrored",
        /// None: the pad closes on a fixed face.
        None = "none",
    }
}

/// `[finger]`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finger {
    /// The pad in the plane of the linkage.
    pub pad: Pad,
    /// How far the pad point stands from P (or B) along the joint axis, m.
    pub height: f64,
    /// Distance of the two pad faces (or of the pad and the fixed face) in the zero pose, m.
    pub opening: f64,
    /// The other finger.
    pub other: OtherFinger,
    /// `[direct_joint] stand_in`.
    pub stand_in: PadStandIn,
    /// `[direct_joint] ratio = "best"`: the multiplier of the counter-turning pair is looked for.
    pub best_multiplier: bool,
}

impl Finger {
    /// A point of the plane that mirrors the finger into the other one, from B in the linkage's plane, m; its normal is the
    /// closing direction.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn mirror_point(&self, branch: &Branch) -> Result<[f64; 2], LinkageFault> {
        let [x, y] = self.pad.from_joint_axis(branch)?;
        let [nx, ny] = self.pad.closing.map(|n| 0.5 * self.opening * n);
        Ok([x + nx, y + ny])
    }

    /// Where the pad rides on the coupler, which is judged by its pad; a pad on the rocker is judged as a joint.
    #[must_use]
    pub fn is_parallel_jaw(&self) -> bool {
        self.pad.on == PadOn::Coupler
    }
}

/// Names of what a gripper has besides its driver's hinge, its palm and the part with the pad; those left out are made of
/// the joint's and the child's.
#[derive(Clone, Debug, PartialEq)]
pub struct GripperNames {
    /// The hinge between crank and pad.
    pub pad_joint: String,
    /// The other finger's hinge at the palm.
    pub other_joint: String,
    /// The other finger's hinge between crank and pad.
    pub other_pad_joint: String,
    /// The crank's link.
    pub crank_link: String,
    /// The other finger's part with the pad.
    pub other_child: String,
    /// The other finger's crank.
    pub other_crank_link: String,
}

impl GripperNames {
    /// What is left out of a `[[robot]]` with this joint and child.
    #[must_use]
    pub fn of(joint: &str, child: &str) -> Self {
        Self {
            pad_joint: format!("{joint}_pad"),
            other_joint: format!("{joint}_other"),
            other_pad_joint: format!("{joint}_other_pad"),
            crank_link: format!("{joint}_crank"),
            other_child: format!("{child}_other"),
            other_crank_link: format!("{joint}_other_crank"),
        }
    }
}
