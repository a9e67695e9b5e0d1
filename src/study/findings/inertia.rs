//! What the direct joint weighs.

use serde::Serialize;

use crate::dynamics::{
    Counterweight, DynamicsFault, Fidelity, MeasuredOver, Replacement, ShortcutCost,
};
use crate::linkage::Extreme;

use super::{Located, views};

/// What was found about inertia, for one drive of every joint that is built from the drawing.
#[derive(Clone, Debug)]
pub struct InertiaFindings {
    /// In the order of the `[[robot]]` tables, one without a name where there is none; or why a drive has no model with
    /// real bodies.
    pub drives: Result<Vec<DriveInertia>, DynamicsFault>,
    /// For each link that bears several joints: their names, and the error of all moving at once with the motions it is
    /// over.
    pub together: Vec<LinkInertia>,
    /// n²J: what a snippet whose bodies stay as they are may have, kg m².
    pub plain_armature: f64,
    /// What each shortcut costs, measured like the headline figure, on the drive that decides.
    pub shortcuts: Vec<ShortcutCost>,
    /// How far a parallelogram's crank is from being counterweighted exactly.
    pub counterweight: Option<Counterweight>,
    /// Bound of the joint torque's error for the motions of `[motion]`, N m.
    pub torque_error: Option<Extreme>,
    /// Tables that could not be used, named as in the file.
    pub left_out: Vec<&'static str>,
}

/// All joints on one link.
#[derive(Clone, Debug, Serialize)]
pub struct LinkInertia {
    /// The link's name.
    pub link: String,
    /// The joints' names.
    pub joints: Vec<String>,
    /// Which motions of the link the figure allows for.
    pub over: MeasuredOver,
    /// The largest error of kinetic energy, all joints moving, as a share.
    pub error: f64,
}

/// One drive with the direct joint that stands in for it.
#[derive(Clone, Debug, Serialize)]
pub struct DriveInertia {
    /// The joint's name in its `[[robot]]` table.
    pub joint: Option<String>,
    /// Which motions of the carrier the headline figure allows for.
    #[serde(skip)]
    pub over: MeasuredOver,
    /// The headline figure: the largest error of kinetic energy for any motion, as a share.
    #[serde(serialize_with = "views::value_alone")]
    pub error: Located,
    /// A certified bound of it over the verdict's linkages and every pose; `None` where the proof does not reach.
    pub bound: Option<f64>,
    /// All figures.
    #[serde(skip)]
    pub fidelity: Fidelity,
    /// Its bodies.
    #[serde(rename = "armature_kg_m2", serialize_with = "views::armature")]
    pub replacement: Replacement,
}

impl InertiaFindings {
    /// The drive of the joint with this name.
    #[must_use]
    pub fn of_joint(&self, joint: &str) -> Option<&DriveInertia> {
        let mut drives = self.drives.as_ref().ok()?.iter();
        drives.find(|drive| drive.joint.as_deref() == Some(joint))
    }

    /// The drive with the largest error.
    #[must_use]
    pub fn decisive(&self) -> Option<&DriveInertia> {
        let drives = self.drives.as_ref().ok()?;
        drives.iter().max_by(|a, b| a.error.value.total_cmp(&b.error.value))
    }
}
