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
use super::masses::Masses;
use super::moments::Moments;
use super::monotone_stroke::MonotoneStroke;
use super::tree::{Draft, Tree, in_plane_inertia};
use crate::linkage::FourBar;

/// Does the crank stay parallel to the rocker all along the stroke?
#[must_use]
pub(super) fn is_parallel(stroke: &MonotoneStroke<'_>) -> bool {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *stroke.branch().bars();
    let same = |x: f64, y: f64| (x - y).abs() <= 1e-9 * stroke.branch().bars().longest();
    let [from, _] = stroke.ends();
    let steady = stroke.pose(from).is_ok_and(|pose| pose.ratio_less_one.abs() < 1e-6);
    same(g, b) && same(a, c) && steady
}

/// Sums of the parts of a parallelogram.
struct Parts {
    carrier: Moments,
    child: Moments,
    /// Σ conj(R) h
    rest: Complex<f64>,
    /// Σ R h
    twist: Complex<f64>,
}

impl Parts {
    /// `mass` at `foot` on the carrier, at the joint axis no more; `h` is its first moment in the child frame.
    fn shift(&mut self, mass: f64, foot: Vector3<f64>, h: Complex<f64>) {
        let at = Complex { re: foot.x, im: foot.y };
        self.child += -Moments::point(mass, Vector3::new(0.0, 0.0, foot.z));
        self.rest += at.conj() * h;
        self.twist += at * h;
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

impl Parts {
    /// Carrier, child and rotor before crank and rod.
    fn of(masses: &Masses) -> Self {
        let along = masses.rotor_inertia() * masses.gear_ratio();
        let carrier = masses.carrier.as_ref().map(Moments::from).unwrap_or_default();
        Self {
            carrier: carrier + Moments::about_z(masses.rotor_beside_carrier() - along),
            child: Moments::from(&masses.child) + Moments::about_z(along),
            rest: Complex::default(),
            twist: Complex::default(),
        }
    }
}

/// The tree for a parallelogram.
pub(super) fn tree(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Draft {
    let bars = stroke.branch().bars();
    let mut parts = Parts::of(masses);
    if let Some(crank) = &masses.crank {
        parts.add_crank(bars, crank);
    }
    if let Some(rod) = &masses.coupler {
        parts.add_coupler(bars, rod);
    }
    let (inertia, turns) = (masses.rotor_inertia(), masses.gear_ratio());
    let rotor = inertia * (turns * turns - turns);
    let rest = mid_range(stroke, parts.rest);
    let to_joint = rest.min(rotor.max(0.0));
    parts.child += Moments::about_z(to_joint);
    parts.carrier += Moments::about_z(2.0 * rest - to_joint);
    parts.carrier += in_plane_rest(stroke, &parts);
    let Parts { carrier, child, .. } = parts;
    let tree = Tree { carrier, child, armature: (rotor - to_joint).max(0.0) };
    Draft { tree, unbounded: rotor - to_joint, rotor, turns }
}

/// Crank angles at both ends of the stroke, rad.
fn crank_ends(stroke: &MonotoneStroke<'_>) -> [f64; 2] {
    stroke.ends().map(|turn| stroke.branch().zero_crank() + turn)
}

fn unit(angle: f64) -> Complex<f64> {
    let (im, re) = libm::sincos(angle);
    Complex { re, im }
}

/// The mid-ranges of 2 N_xx, 2 N_yy, 2 N_xy.
fn in_plane_rest(stroke: &MonotoneStroke<'_>, parts: &Parts) -> Moments {
    let middle = |figure| mid_range(stroke, figure);
    let (xx, yy) = (middle(parts.rest - parts.twist), middle(parts.rest + parts.twist));
    let xy = middle(parts.twist * Complex::i());
    in_plane_inertia(0.5 * (xx + yy), Complex { re: 0.5 * (xx - yy), im: xy })
}

/// Half of the sum of the largest and the smallest Re(G e^{1j ψ}) over a parallelogram's stroke.
fn mid_range(stroke: &MonotoneStroke<'_>, rest: Complex<f64>) -> f64 {
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
