//! The direct joint's tree for a parallelogram (i = 1, s = 0).
//!
//! Crank and rocker are always parallel. With ω' = ω + z ψ̇ the speed of a crank point is v_A + ω' × r, r from A, so that
//! the crank's energy is that of its mass at A on the carrier, of its inertia about A on the child, and v_A·(ω' × h),
//! h = ∫ρ r. There v_A = v + ω × A: the part with v is a first moment h on the child, the part (ω × A)·(ω' × h) is the
//! rest. The coupler does not turn against the carrier: the same holds for it with C₂ = A + ρ₂ for A and a e for r, and
//! its own inertia is the carrier's. Masses keep their height ζ: A and the child's axis are both taken there. The rest is
//!
//! ```text
//! ωᵀ N ω + ω_z ψ̇ k,   N_zz = k = Re(G e^{1j ψ}),   G = Σ conj(R) h
//!                     N_xx + N_yy = k,   (N_xx − N_yy)/2 + 1j N_xy = −½ Σ R h e^{1j ψ}
//! ```
//!
//! with R = A, C₂ from B and h in the child frame; the mass matrix holds 2 N. Of k the mid-range k₀ goes in exactly: 2 k₀ to
//! K, k₀ to L, nothing to W. N_xx, N_yy and N_xy only show in space; the carrier takes their mid-ranges as well. (A child turning by e^{2j ψ}
//! could follow N_xy more closely, but not N_xx, which is zero where A and C₂ are on the ground line.) In the plane nothing else is lost: all masses, all weight, the carrier at rest and every term with
//! the speed of B are exact.
//!
//! The rotor, axis parallel, n turns per joint turn, ½ J (ω_z + n ψ̇)²: J on the carrier where that does not hold it
//! already, −J n there, J n on the child, armature J (n² − n), exactly. Derived here.

use nalgebra::{Complex, Vector3};

use super::body::Body;
use super::counterweight::in_plane;
use super::crank_stroke::CrankStroke;
use super::masses::Masses;
use super::moments::Moments;
use super::tree::{Draft, Tree, in_plane_inertia};
use crate::linkage::FourBar;

/// Does the crank stay parallel to the rocker all along the stroke?
#[must_use]
pub(super) fn is_parallel(stroke: &CrankStroke<'_>) -> bool {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *stroke.branch().bars();
    let same = |x: f64, y: f64| (x - y).abs() <= 1e-9 * stroke.branch().bars().longest();
    let [from, _] = stroke.ends();
    let steady = stroke.pose(from).is_ok_and(|pose| pose.ratio_less_one.abs() < 1e-6);
    same(g, b) && same(a, c) && steady
}

/// What a parallelogram's tree lacks, with the levers R and first moments h that it comes from.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Rest {
    /// G = Σ conj(R) h
    joint: Complex<f64>,
    /// Σ R h
    twist: Complex<f64>,
}

impl Rest {
    /// One more lever (carrier frame) and first moment (frame of what turns).
    pub(super) fn add(&mut self, lever: Complex<f64>, h: Complex<f64>) {
        self.joint += lever.conj() * h;
        self.twist += lever * h;
    }

    /// The tree of `carrier` and what turns on it, rotor shares among them, with the mid-range of the rest put in.
    pub(super) fn into_tree(
        self,
        stroke: &CrankStroke<'_>,
        masses: &Masses,
        carrier: Moments,
        turning: Moments,
    ) -> Draft {
        let (rotor, turns) = (masses.rotor_split().armature, masses.gear_ratio());
        let rest = mid_range(stroke, self.joint);
        let to_joint = rest.min(rotor.max(0.0));
        let about = Moments::about_z(2.0 * rest - to_joint);
        let tree = Tree {
            carrier: carrier + about + self.in_plane(stroke),
            child: turning + Moments::about_z(to_joint),
            armature: (rotor - to_joint).max(0.0),
        };
        Draft { tree, unbounded: rotor - to_joint, rotor, turns }
    }

    /// The mid-ranges of 2 N_xx, 2 N_yy, 2 N_xy.
    fn in_plane(&self, stroke: &CrankStroke<'_>) -> Moments {
        let middle = |figure| mid_range(stroke, figure);
        let (xx, yy) = (middle(self.joint - self.twist), middle(self.joint + self.twist));
        let xy = middle(self.twist * Complex::i());
        in_plane_inertia(0.5 * (xx + yy), Complex { re: 0.5 * (xx - yy), im: xy })
    }
}

/// Sums of the parts of a parallelogram.
struct Parts {
    carrier: Moments,
    child: Moments,
    rest: Rest,
}

impl Parts {
    /// Carrier, child and rotor before crank and rod.
    fn of(masses: &Masses) -> Self {
        let rotor = masses.rotor_split();
        Self {
            carrier: masses.carrier_moments() + rotor.carrier,
            child: Moments::from(&masses.child) + rotor.turning,
            rest: Rest::default(),
        }
    }

    /// `mass` at `foot` on the carrier, at the joint axis no more; `h` is its first moment in the child frame.
    fn shift(&mut self, mass: f64, foot: Vector3<f64>, h: Complex<f64>) {
        self.child += -Moments::point(mass, Vector3::new(0.0, 0.0, foot.z));
        self.rest.add(Complex { re: foot.x, im: foot.y }, h);
    }

    fn add_crank(&mut self, bars: &FourBar, crank: &Body) {
        let foot = Vector3::new(-bars.ground, 0.0, crank.centre.z);
        self.carrier += Moments::point(crank.mass, foot);
        self.child += Moments::from(crank);
        self.shift(crank.mass, foot, in_plane(crank) * crank.mass);
    }

    fn add_coupler(&mut self, bars: &FourBar, rod: &Body) {
        let foot = rod.centre - Vector3::new(bars.ground, 0.0, 0.0);
        self.carrier += Moments::from(&Body { centre: foot, ..*rod });
        self.child += Moments::point(rod.mass, Vector3::new(bars.crank, 0.0, foot.z));
        self.shift(rod.mass, foot, Complex::from(rod.mass * bars.crank));
    }
}

/// The tree for a parallelogram.
pub(super) fn tree(stroke: &CrankStroke<'_>, masses: &Masses) -> Draft {
    let bars = stroke.branch().bars();
    let mut parts = Parts::of(masses);
    if let Some(crank) = &masses.crank {
        parts.add_crank(bars, crank);
    }
    if let Some(rod) = &masses.coupler {
        parts.add_coupler(bars, rod);
    }
    parts.rest.into_tree(stroke, masses, parts.carrier, parts.child)
}

/// Crank angles at both ends of the stroke, rad.
fn crank_ends(stroke: &CrankStroke<'_>) -> [f64; 2] {
    stroke.ends().map(|turn| stroke.branch().zero_crank() + turn)
}

fn unit(angle: f64) -> Complex<f64> {
    let (im, re) = libm::sincos(angle);
    Complex { re, im }
}

/// Half of the sum of the largest and the smallest Re(G e^{1j ψ}) over a parallelogram's stroke.
fn mid_range(stroke: &CrankStroke<'_>, rest: Complex<f64>) -> f64 {
    let [from, to] = crank_ends(stroke);
    let at = |angle: f64| (rest * unit(angle)).re;
    let size = libm::hypot(rest.re, rest.im);
    // Stationary where the angle of G e^{1j ψ} is a multiple of π.
    let lead = libm::atan2(rest.im, rest.re);
    let first = ((from + lead) / std::f64::consts::PI).ceil();
    let inner = [0.0, 1.0, 2.0]
        .map(|k| first + k)
        .into_iter()
        .filter(|turns| turns * std::f64::consts::PI <= to + lead)
        .map(|turns| if libm::fmod(turns, 2.0) == 0.0 { size } else { -size });
    let (low, high) = inner
        .chain([at(from), at(to)])
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
    0.5 * (low + high)
}
