//! The direct joint's tree: carrier, child, armature.
//!
//! A tree with one direct joint turns its child with the joint, first moment H = H₀ + h e^{1j ψ}, and has K, L, W
//! constant; it is exact for every motion in the plane if and only if the linkage has the same, and then child inertia
//! about B = L, armature = W − L, carrier inertia = K − L. `parallel` makes the tree of a parallelogram, which lacks one
//! term alone; `means` that of any other ratio.
//!
//! Both are made real bodies as `real_bodies` says.
//!
//! An armature cannot be negative. Where W < L although the rotor's own share is not negative, L is set to W, and the
//! difference shows in the figures of `fidelity`. Derived here.

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
        Self::drafted(&Draft::of(stroke, masses)?, masses, is_parallel(stroke))
    }

    /// The draft with real bodies.
    ///
    /// # Errors
    /// As [`Replacement::of`].
    pub(super) fn drafted(
        draft: &Draft,
        masses: &Masses,
        is_parallel: bool,
    ) -> Result<Self, DynamicsFault> {
        let (tree, lacking) = draft.real("child", masses)?;
        let own = masses.carrier_moments();
        Ok(Self {
            tree,
            carrier_patch: tree.carrier - own,
            child_patch: tree.child - Moments::from(&masses.child),
            is_parallel,
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
        let own = masses.carrier_moments();
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
