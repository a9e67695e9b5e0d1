//! Real bodies of a drafted tree.
//!
//! Where no real body has the share of the carrier or of what turns on it (a rotor that turns against the joint takes J n from
//! the child), inertia about the axis is moved from one to the other with the armature made up: K and W stay exact, L does
//! not, and what that costs shows in `fidelity` too. No more is moved than makes both real. Derived here.

use super::balance::Pair;
use super::fault::DynamicsFault;
use super::masses::Masses;
use super::moments::Moments;
use super::tree::{Draft, Tree};

/// What is moved beyond the least that is lacking, as shares of the giver's inertia about the axis; the first that will do.
const EASING: [f64; 8] = [0.001, 0.003, 0.01, 0.03, 0.06, 0.1, 0.2, 0.4];

impl Draft {
    /// The tree with real bodies, and what the exact one lacks where inertia had to be moved for that. `moving` is what turns
    /// on the carrier, by its name.
    ///
    /// # Errors
    /// [`DynamicsFault::NegativeArmature`] where the rotor's share asks for one; [`DynamicsFault::NoRealBody`].
    pub(super) fn real(
        &self,
        moving: &'static str,
        masses: &Masses,
    ) -> Result<(Tree, Option<DynamicsFault>), DynamicsFault> {
        if self.unbounded < 0.0 && self.rotor < 0.0 {
            return Err(DynamicsFault::NegativeArmature {
                armature: self.unbounded,
                rotor_turns: self.turns,
            });
        }
        match balanced(&self.tree, moving, masses) {
            Ok(tree) => Ok((tree, None)),
            Err(fault) => Ok((self.eased(moving, masses, fault)?, Some(fault))),
        }
    }

    /// The tree with so much inertia about the axis moved to the body of `fault` that both are real, the armature less or
    /// more by as much.
    ///
    /// # Errors
    /// `fault` where no such move does it.
    fn eased(
        &self,
        moving: &'static str,
        masses: &Masses,
        fault: DynamicsFault,
    ) -> Result<Tree, DynamicsFault> {
        let DynamicsFault::NoRealBody { body, lacks, .. } = fault else { return Err(fault) };
        let Tree { carrier, child, armature } = self.tree;
        let (to_child, giver) =
            if body == moving { (1.0, carrier.inertia.m33) } else { (-1.0, child.inertia.m33) };
        let moved = |share: f64| {
            let by = to_child * (lacks.unwrap_or(0.0) + share * giver.max(0.0));
            let more = Moments::about_z(by);
            let armature = armature - by;
            let tree = Tree { carrier: carrier - more, child: child + more, armature };
            balanced(&tree, moving, masses).ok().filter(|_| armature >= 0.0)
        };
        EASING.into_iter().find_map(moved).filter(|_| masses.carrier.is_some()).ok_or(fault)
    }
}

/// Both as real bodies, mass moved along their axis where need be; without a known carrier what turns is held to be one as it
/// is.
fn balanced(tree: &Tree, moving: &'static str, masses: &Masses) -> Result<Tree, DynamicsFault> {
    let Tree { carrier, child, armature } = *tree;
    let pair = Pair { carrier, child, moving, is_spatial: masses.are_spatial() };
    if masses.carrier.is_some() {
        let Pair { carrier, child, .. } = pair.balanced()?;
        return Ok(Tree { carrier, child, armature });
    }
    match pair.fault() {
        Some(fault @ DynamicsFault::NoRealBody { body, .. }) if body == moving => Err(fault),
        _ => Ok(*tree),
    }
}
