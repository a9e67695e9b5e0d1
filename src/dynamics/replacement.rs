//! The direct joint's tree: carrier, child, armature.
//!
//! A tree with one direct joint turns its child with the joint, first moment H = H₀ + h e^{1j ψ}, and has K, L, W
//! constant; it is exact for every motion in the plane if and only if the linkage has the same, and then child inertia
//! about B = L, armature = W − L, carrier inertia = K − L. `parallel` makes the tree of a parallelogram, which lacks one
//! term alone; `means` that of any other ratio.
//!
//! Where no real body has the child's or the carrier's share (a rotor that turns against the joint takes J n from the child),
//! inertia about the axis is moved from one to the other with the armature made up: K and W stay exact, L does not, and what
//! that costs shows in `fidelity` too. No more is moved than makes both real.
//!
//! An armature cannot be negative. Where W < L although the rotor's own share is not negative, L is set to W, and the
//! difference shows in the figures of `fidelity`. Derived here.

use super::balance::Pair;
use super::body::Body;
use super::fault::DynamicsFault;
use super::masses::Masses;
use super::moments::Moments;
use super::monotone_stroke::MonotoneStroke;
use super::parallel::is_parallel;
use super::tree::{Draft, Tree};
use super::{averaged, parallel};
use crate::linkage::LinkageFault;

impl Draft {
    /// The tree for `masses` on `stroke`, whatever bodies come out.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub(super) fn of(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Self, LinkageFault> {
        if is_parallel(stroke) {
            Ok(parallel::tree(stroke, masses))
        } else {
            averaged::tree(stroke, masses)
        }
    }
}

/// The direct joint with real bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Replacement {
    /// Carrier, child and armature.
    pub tree: Tree,
    /// To be added to the carrier's own moments, in the carrier frame.
    pub carrier_patch: Moments,
    /// To be added to the child's own moments, in the child frame.
    pub child_patch: Moments,
    /// The parallelogram's exact form was used; else means over the stroke.
    pub is_parallel: bool,
    /// What the exact tree lacks, where inertia had to be moved between carrier and child for both to be real.
    pub lacking: Option<DynamicsFault>,
    /// Are the whole tensors known? Else only z entries and centres in the plane hold.
    pub is_spatial: bool,
}

impl Replacement {
    /// The direct joint that stands in for the linkage with `masses` over `stroke`.
    ///
    /// Where the carrier is not known, mass cannot be moved between the two; the child alone is held to be a real body.
    ///
    /// # Errors
    /// [`DynamicsFault::NegativeArmature`] where the rotor's share asks for one; [`DynamicsFault::NoRealBody`].
    ///
    /// # Examples
    /// ```
    /// use unloop::dynamics::{Body, MonotoneStroke, Inertia, Masses, Replacement, Rotor};
    /// use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};
    /// let bars = FourBar { ground: 0.3, crank: 0.04, coupler: 0.3, rocker: 0.04 };
    /// let branch = Branch::through(bars, 1.5, Closure::Open)?;
    /// let stroke = Stroke::on(&branch, Drive::Joint, [-0.6, 0.6])?;
    /// let stroke = MonotoneStroke::over(&branch, stroke)?;
    /// let bar = |mass, x: f64, about| Body {
    ///     mass, centre: [x, 0.0, 0.0].into(), inertia: Inertia::AboutAxis(about),
    /// };
    /// let masses = Masses {
    ///     crank: Some(bar(0.08, 0.02, 2e-5)),
    ///     coupler: Some(bar(0.12, 0.15, 1e-3)),
    ///     child: bar(0.9, 0.03, 3e-3),
    ///     carrier: Some(bar(2.5, -0.15, 0.03)),
    ///     carried: None,
    ///     rotor: Some(Rotor { inertia: 1.5e-4, gear_ratio: 7.75, in_carrier: true }),
    /// };
    /// let direct = Replacement::of(&stroke, &masses)?;
    /// assert!(direct.is_parallel && direct.tree.armature > 0.0);
    /// # Ok::<(), unloop::dynamics::DynamicsFault>(())
    /// ```
    pub fn of(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Self, DynamicsFault> {
        let draft = Draft::of(stroke, masses)?;
        if draft.unbounded < 0.0 && draft.rotor < 0.0 {
            return Err(DynamicsFault::NegativeArmature {
                armature: draft.unbounded,
                rotor_turns: draft.turns,
            });
        }
        let (tree, lacking) = match balanced(&draft.tree, masses) {
            Ok(tree) => (tree, None),
            Err(fault) => (eased(&draft, masses, fault)?, Some(fault)),
        };
        let own = masses.carrier.as_ref().map(Moments::from).unwrap_or_default();
        Ok(Self {
            tree,
            carrier_patch: tree.carrier - own,
            child_patch: tree.child - Moments::from(&masses.child),
            is_parallel: is_parallel(stroke),
            lacking,
            is_spatial: masses.are_spatial(),
        })
    }

    /// The same among `among` drives on one carrier, each of which takes mass from its own share of it where that will do:
    /// then what is left of the carrier is a real body with the patches of all.
    ///
    /// # Errors
    /// As [`Replacement::of`].
    pub fn among(
        stroke: &MonotoneStroke<'_>,
        masses: &Masses,
        among: u32,
    ) -> Result<Self, DynamicsFault> {
        match Self::of(stroke, &masses.sharing_carrier(among)) {
            Ok(sharing) => Ok(sharing.on(masses)),
            Err(_) => Self::of(stroke, masses),
        }
    }

    /// The same patches on another carrier, that of `masses`.
    #[must_use]
    pub fn on(&self, masses: &Masses) -> Self {
        let own = masses.carrier.as_ref().map(Moments::from).unwrap_or_default();
        Self { tree: Tree { carrier: own + self.carrier_patch, ..self.tree }, ..*self }
    }

    /// The carrier as a body, in the carrier frame.
    #[must_use]
    pub fn carrier(&self) -> Body {
        self.body(&self.tree.carrier)
    }

    /// The child as a body, in the child frame.
    #[must_use]
    pub fn child(&self) -> Body {
        self.body(&self.tree.child)
    }

    fn body(&self, moments: &Moments) -> Body {
        if self.is_spatial { moments.body() } else { moments.planar_body() }
    }
}

/// What is moved beyond the least that is lacking, as shares of the giver's inertia about the axis; the first that will do.
const EASING: [f64; 8] = [0.001, 0.003, 0.01, 0.03, 0.06, 0.1, 0.2, 0.4];

/// The tree with so much inertia about the axis moved to the body of `fault` that both are real, the armature less or more by
/// as much.
///
/// # Errors
/// `fault` where no such move does it.
fn eased(draft: &Draft, masses: &Masses, fault: DynamicsFault) -> Result<Tree, DynamicsFault> {
    let DynamicsFault::NoRealBody { body, lacks, .. } = fault else { return Err(fault) };
    let Tree { carrier, child, armature } = draft.tree;
    let (to_child, giver) = match body {
        "child" => (1.0, carrier.inertia.m33),
        _ => (-1.0, child.inertia.m33),
    };
    let moved = |share: f64| {
        let by = to_child * (lacks.unwrap_or(0.0) + share * giver.max(0.0));
        let more = Moments::about_z(by);
        let armature = armature - by;
        let tree = Tree { carrier: carrier - more, child: child + more, armature };
        balanced(&tree, masses).ok().filter(|_| armature >= 0.0)
    };
    EASING.into_iter().find_map(moved).filter(|_| masses.carrier.is_some()).ok_or(fault)
}

fn balanced(tree: &Tree, masses: &Masses) -> Result<Tree, DynamicsFault> {
    let Tree { carrier, child, armature } = *tree;
    let pair = Pair { carrier, child, moving: "child", is_spatial: masses.are_spatial() };
    if masses.carrier.is_some() {
        let Pair { carrier, child, .. } = pair.balanced()?;
        return Ok(Tree { carrier, child, armature });
    }
    match pair.fault() {
        Some(fault @ DynamicsFault::NoRealBody { body: "child", .. }) => Err(fault),
        _ => Ok(*tree),
    }
}
