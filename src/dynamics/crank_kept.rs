//! The models that keep the crank as a body at A: the coupled one and the closed loop.
//!
//! The rotor turns N times as far as the crank about a parallel axis: ½ J (ω_z + N φ̇)² is J N more about z on the crank,
//! J N less on the carrier (J more where that does not hold the rotor) and an armature J (N² − N) on the crank's joint,
//! exactly. Left at that, the crank's tensor most often breaks A + B ≥ C: masses on the crank's axis are free between
//! crank and carrier, as those on the joint axis are in `balance`.
//!
//! Where that makes no real bodies (a reversing gearbox takes J |N| from a light crank; 0 < N < 1 asks for a negative
//! armature) the rotor is a body of its own on the crank's axis, its hinge tied to the crank's with slope N. It turns about a
//! principal axis of its own through its centre, so that it adds J N to (ω_z, φ̇) and J N² to (φ̇, φ̇), whatever it weighs; its
//! mass and the rest of its tensor are taken from the carrier, so that all sums stay exact. How heavy a rotor is the design
//! does not say: a twentieth of the carrier is taken, or what `balance` makes real bodies of.
//!
//! **Loop**: coupler and child as they are. **Coupled**: crank and child joined by one polynomial; the coupler, its centre
//! at λ of the pin line, as m (1 − λ) at P on the crank and m λ at Q on the child. Both are free of each other, so that
//! ½ m |(1 − λ) Ṗ + λ Q̇|² = ½ m (1 − λ) Ṗ² + ½ m λ Q̇² − ½ m λ (1 − λ) b² ω_rod², and the last joins the coupler's own
//! inertia on the carrier: I − m λ (1 − λ) b² across the rod, exact where the rod does not turn against the carrier
//! (s = 0). A centre beside the pin line counts as on it; `fidelity` says what both cost, with the angle and the slope that
//! the polynomial gives the crank ([`Coupled`]). Derived here.

use nalgebra::{Complex, Matrix3, Vector3};

use super::balance::Pair;
use super::body::{Body, Inertia};
use super::coupling::Coupling;
use super::fault::DynamicsFault;
use super::fidelity::StandIn;
use super::masses::{Masses, Rotor};
use super::moments::{Moments, rotation};
use super::monotone_stroke::MonotoneStroke;
use super::reflected::{Matrix7, Placement, add_joint, add_rigid, coupler_direction, mass_matrix};
use crate::linkage::{Branch, FourBar, Pose};

/// Carrier, crank and child with the rotor on the crank's joint or beside it; all real bodies.
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
    /// The rotor, where it is a body of its own.
    pub rotor: Option<OwnRotor>,
}

/// A rotor on a hinge of its own on the crank's axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OwnRotor {
    /// In the frame with its origin on the motor axis A, z along it; the same however it is turned about z.
    pub body: Body,
    /// Its turns per crank turn, signed.
    pub turns: f64,
}

impl OwnRotor {
    /// J, kg m².
    fn inertia(&self) -> f64 {
        self.body.tensor().m33
    }

    /// Adds the rotor to a mass matrix, the crank turning at `rate` per joint turn.
    fn add_to(&self, matrix: &mut Matrix7, ground: f64, rate: f64) {
        add_rigid(matrix, &Moments::from(&self.body).about(Vector3::new(ground, 0.0, 0.0)));
        let turns = self.turns * rate;
        let along = Vector3::new(0.0, 0.0, self.inertia() * turns);
        add_joint(matrix, &Vector3::zeros(), &along, self.inertia() * turns * turns);
    }
}

/// What a rotor is taken to weigh, as a share of its carrier.
const ROTOR_MASS: f64 = 0.05;

/// Its inertia across its axis, as a share of that about it: a disc of little thickness.
const ROTOR_ACROSS: f64 = 0.55;

/// Moments about B, about A, about B; the rotor's about A.
struct Parts {
    carrier: Moments,
    crank: Moments,
    child: Moments,
    rotor: Option<Moments>,
}

impl Parts {
    /// With the rotor's shares on crank and carrier.
    fn split(carrier: &Body, crank: &Body, masses: &Masses) -> Self {
        let rotor = masses.rotor_split();
        Self {
            carrier: Moments::from(carrier) + rotor.carrier,
            crank: Moments::from(crank) + rotor.turning,
            child: Moments::from(&masses.child),
            rotor: None,
        }
    }

    /// With the rotor as a body of its own, at the crank's height.
    fn apart(bars: &FourBar, carrier: &Body, crank: &Body, masses: &Masses) -> Self {
        let about = masses.rotor_inertia();
        let across = ROTOR_ACROSS * about;
        let tensor = Matrix3::from_diagonal(&Vector3::new(across, across, about));
        let rotor = Moments::from(&Body {
            mass: ROTOR_MASS * carrier.mass,
            centre: Vector3::new(0.0, 0.0, crank.centre.z),
            inertia: Inertia::Tensor(tensor),
        });
        let held = rotor.about(Vector3::new(bars.ground, 0.0, 0.0));
        let beside = Moments::about_z(masses.rotor_beside_carrier());
        Self {
            carrier: Moments::from(carrier) + beside - held,
            crank: Moments::from(crank),
            child: Moments::from(&masses.child),
            rotor: Some(rotor),
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

    /// Real bodies of them, mass moved along A's axis where need be: between the carrier and the crank, or the rotor where
    /// that is a body.
    fn balanced(
        &self,
        bars: &FourBar,
        masses: &Masses,
        coupler: Option<Body>,
    ) -> Result<CrankKept, DynamicsFault> {
        let axis = Vector3::new(-bars.ground, 0.0, 0.0);
        let (on_axis, moving) = match self.rotor {
            Some(rotor) => (rotor, "rotor"),
            None => (self.crank, "crank"),
        };
        let is_spatial = masses.are_spatial();
        let carrier = self.carrier.about(axis);
        let pair = Pair { carrier, child: on_axis, moving, is_spatial }.balanced()?;
        for (moments, moving) in [(self.child, "child"), (self.crank, "crank")] {
            let alone = Pair { child: moments, moving, ..pair };
            let is_moved = moving == pair.moving;
            if let Some(fault) = alone.fault().filter(|_| !is_moved) {
                return Err(fault);
            }
        }
        let body = |m: Moments| if is_spatial { m.body() } else { m.planar_body() };
        let rotor =
            self.rotor.map(|_| OwnRotor { body: body(pair.child), turns: masses.gear_ratio() });
        Ok(CrankKept {
            carrier: body(pair.carrier.about(-axis)),
            crank: body(if rotor.is_some() { self.crank } else { pair.child }),
            coupler,
            child: body(self.child),
            armature: if rotor.is_some() { 0.0 } else { masses.rotor_split().armature },
            rotor,
        })
    }
}

/// What `bodies` makes of the parts with the rotor shared out between carrier, crank and armature, or where that gives no
/// real bodies with the rotor as one of its own.
fn either(
    bars: &FourBar,
    masses: &Masses,
    bodies: impl Fn(Parts) -> Result<CrankKept, DynamicsFault>,
) -> Result<Option<CrankKept>, DynamicsFault> {
    let Some((carrier, crank)) = masses.carrier.zip(masses.crank) else { return Ok(None) };
    let (armature, rotor_turns) = (masses.rotor_split().armature, masses.gear_ratio());
    let split = if armature < 0.0 {
        Err(DynamicsFault::NegativeArmature { armature, rotor_turns })
    } else {
        bodies(Parts::split(&carrier, &crank, masses))
    };
    match split {
        Err(_) if masses.rotor_inertia() > 0.0 => {
            bodies(Parts::apart(bars, &carrier, &crank, masses)).map(Some)
        }
        found => found.map(Some),
    }
}

impl CrankKept {
    /// The bodies of the closed loop; `None` where carrier or crank is not known.
    ///
    /// # Errors
    /// [`DynamicsFault::NoRealBody`].
    pub fn in_loop(bars: &FourBar, masses: &Masses) -> Result<Option<Self>, DynamicsFault> {
        either(bars, masses, |parts| parts.balanced(bars, masses, masses.coupler))
    }

    /// The bodies of the coupled model over `stroke`, whose middle decides how the rod's inertia lies on the carrier;
    /// `None` where carrier or crank is not known.
    ///
    /// # Errors
    /// As [`CrankKept::in_loop`]; a pose that cannot be reached.
    pub fn coupled(
        stroke: &MonotoneStroke<'_>,
        masses: &Masses,
    ) -> Result<Option<Self>, DynamicsFault> {
        let bars = stroke.branch().bars();
        let [from, to] = stroke.ends();
        let middle = stroke.pose(0.5 * (from + to))?;
        either(bars, masses, |mut parts| {
            if let Some(rod) = &masses.coupler {
                parts.add_coupler(bars, rod, &middle);
            }
            parts.balanced(bars, masses, None)
        })
    }

    /// What `make` finds for one of `among` drives on one carrier: each takes from its own share of it where that will do,
    /// so that what is left of the carrier is a real body with what all of them add.
    ///
    /// # Errors
    /// As `make`.
    pub fn among(
        masses: &Masses,
        among: u32,
        make: impl Fn(&Masses) -> Result<Option<Self>, DynamicsFault>,
    ) -> Result<Option<Self>, DynamicsFault> {
        let share = masses.sharing_carrier(among);
        let rest = masses.carrier_moments() - share.carrier_moments();
        match make(&share) {
            Ok(found) => Ok(found.map(|kept| Self {
                carrier: (Moments::from(&kept.carrier) + rest).body(),
                ..kept
            })),
            Err(_) => make(masses),
        }
    }

    /// Carrier and child, and what else is given, without a rotor.
    fn bodies(&self, crank: Option<Body>, coupler: Option<Body>) -> Masses {
        let (carrier, rotor) = (Some(self.carrier), None::<Rotor>);
        Masses { crank, coupler, child: self.child, carrier, carried: None, rotor }
    }

    /// Adds what stands on the crank's joint.
    fn add_drive(&self, matrix: &mut Matrix7, ground: f64, rate: f64) {
        let still = Vector3::zeros();
        add_joint(matrix, &still, &still, self.armature * rate * rate);
        if let Some(rotor) = &self.rotor {
            rotor.add_to(matrix, ground, rate);
        }
    }
}

/// The bodies on a closed linkage: the crank where that has it.
impl StandIn for CrankKept {
    fn mass_matrix(&self, pose: &Pose, _turn: f64) -> Matrix7 {
        let mut matrix = mass_matrix(pose, &self.bodies(Some(self.crank), self.coupler));
        self.add_drive(&mut matrix, pose.bars.ground, pose.transmission_ratio());
        matrix
    }
}

/// The bodies of a coupled model as they move in the file: the crank at the polynomial's angle, with its slope.
#[derive(Clone, Copy, Debug)]
pub struct Coupled<'a> {
    /// The bodies.
    pub bodies: &'a CrankKept,
    /// What couples crank and joint.
    pub coupling: &'a Coupling,
    /// The linkage's branch, which tells the joint turn.
    pub branch: &'a Branch,
}

impl StandIn for Coupled<'_> {
    fn mass_matrix(&self, pose: &Pose, turn: f64) -> Matrix7 {
        let (bodies, ground) = (self.bodies, pose.bars.ground);
        let joint = self.branch.joint_turn(turn).unwrap_or(f64::NAN);
        let rate = self.coupling.ratio(joint);
        let angle = self.branch.zero_crank() + self.coupling.motor_turn(joint);
        let (im, re) = libm::sincos(angle);
        let mut matrix = mass_matrix(pose, &bodies.bodies(None, None));
        Placement::crank(ground, Complex { re, im }, rate).add_to(&mut matrix, &bodies.crank);
        bodies.add_drive(&mut matrix, ground, rate);
        matrix
    }
}
