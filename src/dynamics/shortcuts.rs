//! What each usual shortcut costs.
//!
//! A shortcut is the replacement of a linkage that lacks something, held against the true linkage: without its rod, with
//! its crank welded to the carrier in the zero pose, with the rotor as armature n² J alone. Bodies are not asked to be
//! real here: only the figures count.

use nalgebra::{Isometry3, UnitQuaternion, Vector3};

use super::counterweight::Counterweight;
use super::fidelity::{Fidelity, fidelity};
use super::masses::{Masses, Rotor};
use super::moments::Moments;
use super::monotone_stroke::MonotoneStroke;
use super::parallel::is_parallel;
use super::tree::{Draft, Tree};
use crate::linkage::LinkageFault;

words! {
    /// A way to put a direct joint in the linkage's place.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Shortcut {
        /// Crank and rod dropped; armature n² J.
        ArmatureOnly = "crank and rod dropped, armature n²J",
        /// Rod dropped; the rest as it should be.
        RodDropped = "rod dropped",
        /// Crank a part of the carrier; the rest as it should be.
        CrankWelded = "crank welded to the carrier",
        /// Crank and rod as they should be; armature n² J without the rotor's shares of carrier and child.
        NoRotorSplit = "rotor as armature n²J alone",
        /// Nothing left out.
        Full = "everything in its place",
        /// Nothing left out, the crank counterweighted; a parallelogram alone.
        Counterweighted = "everything in its place, crank counterweighted",
    }
}

/// What a shortcut costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShortcutCost {
    /// Which one.
    pub shortcut: Shortcut,
    /// How far its tree is from the linkage.
    pub fidelity: Fidelity,
}

/// The table of shortcuts for the linkage with `masses`; `ratio` is the direct joint's, motor turn per joint turn.
/// [`Shortcut::Counterweighted`] is measured against the counterweighted linkage and left out where there is none.
///
/// # Errors
/// A pose that cannot be reached.
pub fn shortcut_table(
    stroke: &MonotoneStroke<'_>,
    masses: &Masses,
    ratio: f64,
) -> Result<Vec<ShortcutCost>, LinkageFault> {
    let mut rows = Vec::new();
    for shortcut in Shortcut::ALL {
        let Some((truth, tree)) = shortcut.applied(stroke, masses, ratio)? else {
            continue;
        };
        rows.push(ShortcutCost { shortcut, fidelity: fidelity(stroke, &truth, &tree) });
    }
    Ok(rows)
}

impl Shortcut {
    /// The linkage and the tree that is held against it.
    fn applied(
        self,
        stroke: &MonotoneStroke<'_>,
        masses: &Masses,
        ratio: f64,
    ) -> Result<Option<(Masses, Tree)>, LinkageFault> {
        let truth = match self {
            Self::Counterweighted if is_parallel(stroke) => {
                Counterweight::of(stroke.branch().bars(), masses).applied(masses)
            }
            Self::Counterweighted => None,
            _ => Some(*masses),
        };
        let Some(truth) = truth else {
            return Ok(None);
        };
        Ok(Some((truth, self.tree(stroke, &truth, ratio)?)))
    }

    /// The tree that this shortcut makes of `masses`, whether its bodies are real or not.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn tree(
        self,
        stroke: &MonotoneStroke<'_>,
        masses: &Masses,
        ratio: f64,
    ) -> Result<Tree, LinkageFault> {
        match self {
            Self::ArmatureOnly => Ok(armature_only(masses, ratio)),
            Self::NoRotorSplit => without_split(stroke, masses, ratio),
            Self::RodDropped => draft(stroke, &Masses { coupler: None, ..*masses }),
            Self::CrankWelded => draft(stroke, &welded(stroke, masses)?),
            Self::Full | Self::Counterweighted => draft(stroke, masses),
        }
    }
}

fn draft(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Tree, LinkageFault> {
    Ok(Draft::of(stroke, masses)?.tree)
}

fn plain_armature(masses: &Masses, ratio: f64) -> f64 {
    masses.rotor_inertia() * (masses.gear_ratio() * ratio).powi(2)
}

fn armature_only(masses: &Masses, ratio: f64) -> Tree {
    Tree {
        carrier: masses.carrier.as_ref().map(Moments::from).unwrap_or_default(),
        child: Moments::from(&masses.child),
        armature: plain_armature(masses, ratio),
    }
}

/// The replacement of the linkage with a rotor that has no inertia, which the armature n² J makes up for.
fn without_split(
    stroke: &MonotoneStroke<'_>,
    masses: &Masses,
    ratio: f64,
) -> Result<Tree, LinkageFault> {
    let still = masses.rotor.map(|rotor| Rotor { inertia: 0.0, ..rotor });
    let mut tree = draft(stroke, &Masses { rotor: still, ..*masses })?;
    // Without a rotor the armature is held at zero where the mid-range asks for less: the coupling has that already.
    tree.armature += plain_armature(masses, ratio);
    Ok(tree)
}

/// The masses with the crank a part of the carrier, as it stands in the zero pose.
fn welded(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Masses, LinkageFault> {
    let (Some(crank), Some(carrier)) = (masses.crank, masses.carrier) else {
        return Ok(Masses { crank: None, ..*masses });
    };
    let pose = stroke.pose(0.0)?;
    let angle = libm::atan2(pose.e[1], pose.e[0]);
    let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), angle);
    let at = Vector3::new(-pose.bars.ground, 0.0, 0.0);
    let placed = crank.seen_from(&Isometry3::from_parts(at.into(), turn));
    let both = Moments::from(&carrier) + Moments::from(&placed);
    let body = if masses.are_spatial() { both.body() } else { both.planar_body() };
    Ok(Masses { crank: None, carrier: Some(body), ..*masses })
}
