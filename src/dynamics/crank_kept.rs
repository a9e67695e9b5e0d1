//! The models that keep the crank as a body at A: the coupled one and the closed loop.
//!
//! The rotor turns N times as far as the crank about a parallel axis: ½ J (ω_z + N φ̇)² is J N more about z on the crank,
//! J N less on the carrier (J more where that does not hold the rotor) and an armature J (N² − N) on the crank's joint,
//! exactly. Left at that, the crank's tensor most often breaks A + B ≥ C: masses on the crank's axis are free between
//! crank and carrier, as those on the joint axis are in `balance`.
//!
//! **Loop**: coupler and child as they are. **Coupled**: crank and child joined by one polynomial; the coupler, its centre
//! at λ of the pin line, as m (1 − λ) at P on the crank and m λ at Q on the child. Both are free of each other, so that
//! ½ m |(1 − λ) Ṗ + λ Q̇|² = ½ m (1 − λ) Ṗ² + ½ m λ Q̇² − ½ m λ (1 − λ) b² ω_rod², and the last joins the coupler's own
//! inertia on the carrier: I − m λ (1 − λ) b² across the rod, exact where the rod does not turn against the carrier
//! (s = 0). A centre beside the pin line counts as on it; `fidelity` says what both cost. Derived here.

use nalgebra::{Matrix3, Vector3};

use super::balance::Pair;
use super::body::Body;
use super::course::Course;
use super::fault::DynamicsFault;
use super::fidelity::StandIn;
use super::masses::Masses;
use super::moments::{Moments, rotation};
use super::reflected::{Matrix7, add_joint, coupler_direction, mass_matrix};
use crate::linkage::{FourBar, Pose};

/// Carrier, crank and child with the rotor on the crank's joint; all real bodies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrankKept {
    /// In the carrier frame.
    pub carrier: Body,
    /// In the crank frame.
    pub crank: Body,
    /// In the coupler frame; `None` where the other bodies hold it.
    pub coupler: Option<Body>,
    /// In the child frame.
    pub child: Body,
    /// On the crank's joint, kg m².
    pub armature: f64,
}

/// Moments about B, about A, about B.
struct Parts {
    carrier: Moments,
    crank: Moments,
    child: Moments,
}

impl Parts {
    /// With the rotor's shares.
    fn of(carrier: &Body, crank: &Body, masses: &Masses) -> Self {
        let along = masses.rotor_inertia() * masses.gear_ratio();
        let beside = masses.rotor_beside_carrier();
        Self {
            carrier: Moments::from(carrier) + Moments::about_z(beside - along),
            crank: Moments::from(crank) + Moments::about_z(along),
            child: Moments::from(&masses.child),
        }
    }

    /// With the coupler shared out.
    fn add_coupler(&mut self, bars: &FourBar, rod: &Body, pose: &Pose) {
        let (share, height) = (rod.centre.x / bars.coupler, rod.centre.z);
        let at_pin =
            |part: f64, arm: f64| Moments::point(rod.mass * part, Vector3::new(arm, 0.0, height));
        self.crank += at_pin(1.0 - share, bars.crank);
        self.child += at_pin(share, bars.rocker);
        let across = rod.mass * share * (1.0 - share) * bars.coupler * bars.coupler;
        let rest = rod.tensor() - Matrix3::from_diagonal(&Vector3::new(0.0, across, across));
        let turn = rotation(coupler_direction(pose));
        self.carrier += Moments { inertia: turn * rest * turn.transpose(), ..Moments::default() };
    }

    /// Real bodies of them, mass moved along A's axis where need be.
    fn balanced(
        &self,
        bars: &FourBar,
        masses: &Masses,
        coupler: Option<Body>,
    ) -> Result<CrankKept, DynamicsFault> {
        let axis = Vector3::new(-bars.ground, 0.0, 0.0);
        let is_spatial = masses.are_spatial();
        let pair = Pair {
            carrier: self.carrier.about(axis),
            child: self.crank,
            moving: "crank",
            is_spatial,
        };
        let pair = pair.balanced()?;
        let child_alone = Pair { child: self.child, moving: "child", ..pair };
        if let Some(fault) = child_alone.fault() {
            return Err(fault);
        }
        let body = |m: Moments| if is_spatial { m.body() } else { m.planar_body() };
        let armature = armature(masses);
        Ok(CrankKept {
            carrier: body(pair.carrier.about(-axis)),
            crank: body(pair.child),
            coupler,
            child: body(self.child),
            armature,
        })
    }
}

/// J (N² − N).
fn armature(masses: &Masses) -> f64 {
    let gear = masses.gear_ratio();
    masses.rotor_inertia() * (gear * gear - gear)
}

/// Carrier and crank; `None` where either is not known.
fn carrier_and_crank(masses: &Masses) -> Result<Option<(Body, Body)>, DynamicsFault> {
    let (armature, rotor_turns) = (armature(masses), masses.gear_ratio());
    if armature < 0.0 {
        return Err(DynamicsFault::NegativeArmature { armature, rotor_turns });
    }
    Ok(masses.carrier.zip(masses.crank))
}

impl CrankKept {
    /// The bodies of the closed loop; `None` where carrier or crank is not known.
    ///
    /// # Errors
    /// [`DynamicsFault::NegativeArmature`] for a gear ratio between 0 and 1; [`DynamicsFault::NoRealBody`].
    pub fn in_loop(bars: &FourBar, masses: &Masses) -> Result<Option<Self>, DynamicsFault> {
        let Some((carrier, crank)) = carrier_and_crank(masses)? else {
            return Ok(None);
        };
        Parts::of(&carrier, &crank, masses).balanced(bars, masses, masses.coupler).map(Some)
    }

    /// The bodies of the coupled model over `course`, whose middle decides how the rod's inertia lies on the carrier;
    /// `None` where carrier or crank is not known.
    ///
    /// # Errors
    /// As [`CrankKept::in_loop`]; a pose that cannot be reached.
    pub fn coupled(course: &Course<'_>, masses: &Masses) -> Result<Option<Self>, DynamicsFault> {
        let Some((carrier, crank)) = carrier_and_crank(masses)? else {
            return Ok(None);
        };
        let bars = course.branch().bars();
        let [from, to] = course.ends();
        let mut parts = Parts::of(&carrier, &crank, masses);
        if let Some(rod) = &masses.coupler {
            parts.add_coupler(bars, rod, &course.pose(0.5 * (from + to))?);
        }
        parts.balanced(bars, masses, None).map(Some)
    }
}

impl StandIn for CrankKept {
    fn mass_matrix(&self, pose: &Pose, _turn: f64) -> Matrix7 {
        let Self { carrier, crank, coupler, child, armature } = *self;
        let still = Vector3::zeros();
        let bodies = Masses {
            crank: Some(crank),
            coupler,
            child,
            carrier: Some(carrier),
            carried: None,
            rotor: None,
        };
        let mut matrix = mass_matrix(pose, &bodies);
        add_joint(&mut matrix, &still, &still, armature * pose.transmission_ratio().powi(2));
        matrix
    }
}
