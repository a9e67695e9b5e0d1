//! The direct joint's tree for any ratio, from means over the joint angle.
//!
//! ```text
//! K, L, W: their means        h = mean(−1j e^{−1j ψ} H_ψ)        H₀ = mean(H − h e^{1j ψ})
//! child's inertia about B: L      armature: W − L      carrier's: K − L      child's first moment: h      carrier's: H₀
//! ```
//!
//! H_ψ alone makes weight at the joint, so h is fitted to it and not to H. Out of the plane, the least squares of what a
//! tree can have: the child's (xz, yz) = mean(e^{−1j ψ} (M_x,ψ + 1j M_y,ψ)) from the entries between ω and the joint; all
//! else to the carrier as the mean of what is left, once the child has its own (xx − yy)/2 + 1j xy, the pin mass m₂ λ at Q
//! and its part of the crank side's. The child's mass, h_z and xx + yy are free. The rotor is in the means. Derived here.

use nalgebra::{Complex, Vector3};

use super::body::Body;
use super::masses::Masses;
use super::moments::Moments;
use super::monotone_stroke::MonotoneStroke;
use super::reflected::{Matrix7, crank_direction, mass_matrix, rocker_direction};
use super::tree::{Draft, Tree, in_plane_inertia, twist_of};
use crate::linkage::{FourBar, LinkageFault, Pose};

/// A pose with all that the means need: where the child, or what turns in its place, stands, and the mass matrix about a
/// point of its axis.
pub(super) struct Sample {
    pub(super) weight: f64,
    pub(super) direction: Complex<f64>,
    pub(super) matrix: Matrix7,
}

impl Sample {
    fn entry(&self, row: usize, column: usize) -> f64 {
        self.matrix.get((row, column)).copied().unwrap_or_default()
    }

    fn pair(&self, [re, im]: [(usize, usize); 2]) -> Complex<f64> {
        Complex { re: self.entry(re.0, re.1), im: self.entry(im.0, im.1) }
    }

    /// H_ψ.
    fn first_moment_slope(&self) -> Complex<f64> {
        self.pair([(0, 6), (1, 6)])
    }

    /// H in the plane.
    fn first_moment(&self) -> Complex<f64> {
        Complex { re: self.entry(1, 5), im: -self.entry(0, 5) }
    }

    /// (xx − yy)/2 + 1j xy of the carrier's block.
    fn twist(&self) -> Complex<f64> {
        let half = 0.5 * (self.entry(3, 3) - self.entry(4, 4));
        Complex { re: half, im: self.entry(3, 4) }
    }
}

/// Weighted poses of the stroke with their mass matrices.
pub(super) struct Samples(pub(super) Vec<Sample>);

impl Samples {
    fn over(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Self, LinkageFault> {
        let sample = |(pose, weight): (Pose, f64)| Sample {
            weight,
            direction: rocker_direction(&pose),
            matrix: mass_matrix(&pose, masses),
        };
        Ok(Self(stroke.weighted_poses()?.into_iter().map(sample).collect()))
    }

    fn mean(&self, figure: impl Fn(&Sample) -> Complex<f64>) -> Complex<f64> {
        self.0.iter().map(|s| figure(s) * s.weight).sum()
    }

    pub(super) fn mean_entry(&self, row: usize, column: usize) -> f64 {
        self.0.iter().map(|s| s.entry(row, column) * s.weight).sum()
    }

    /// The tree whose child is `guess` in all that the means leave free, and W − L before that was held at zero.
    pub(super) fn tree(&self, guess: &Moments) -> (Tree, f64) {
        let turn_back = |s: &Sample| s.direction.conj();
        let h = self.mean(|s| s.first_moment_slope() * turn_back(s) * -Complex::<f64>::i());
        let lift = self.mean(|s| s.pair([(3, 6), (4, 6)]) * turn_back(s));
        let (coupling, joint) = (self.mean_entry(5, 6), self.mean_entry(6, 6));
        let mut child = *guess;
        (child.first.x, child.first.y) = (h.re, h.im);
        let inertia = &mut child.inertia;
        inertia.m33 = coupling.min(joint);
        (inertia.m13, inertia.m31, inertia.m23, inertia.m32) = (lift.re, lift.re, lift.im, lift.im);
        let armature = (joint - coupling).max(0.0);
        (Tree { carrier: self.left_of(&child), child, armature }, joint - coupling)
    }

    /// What the carrier must have besides `child`, as the mean of what is left.
    pub(super) fn left_of(&self, child: &Moments) -> Moments {
        let mean = |row, column| self.mean_entry(row, column);
        let h = Complex { re: child.first.x, im: child.first.y };
        let still = self.mean(|s| s.first_moment() - h * s.direction);
        let (twist, lift) =
            (twist_of(child), Complex { re: child.inertia.m13, im: child.inertia.m23 });
        let twist = self.mean(|s| s.twist() - twist * s.direction * s.direction);
        let lift = self.mean(|s| s.pair([(3, 5), (4, 5)]) - lift * s.direction);
        let trace = mean(3, 3) + mean(4, 4) - child.inertia.m11 - child.inertia.m22;
        let mut carrier = in_plane_inertia(0.5 * trace, twist);
        carrier.mass = mean(0, 0) - child.mass;
        carrier.first = Vector3::new(still.re, still.im, mean(0, 4) - child.first.z);
        let inertia = &mut carrier.inertia;
        inertia.m33 = mean(5, 5) - child.inertia.m33;
        (inertia.m13, inertia.m31, inertia.m23, inertia.m32) = (lift.re, lift.re, lift.im, lift.im);
        carrier
    }
}

/// The pin mass m₂ λ at Q, seen in the child frame.
fn pin_mass_at_q(bars: &FourBar, rod: &Body) -> Moments {
    let share = rod.centre.x / bars.coupler;
    Moments::point(rod.mass * share, Vector3::new(bars.rocker, 0.0, rod.centre.z))
}

/// The child's first guess: its own tensor, the rod's pin mass, and of the crank side's (xx − yy)/2 + 1j xy, which turns by
/// e^{2j φ}, what value and slope at mid-stroke ask of something that turns by e^{2j ψ}: i times it.
fn child_guess(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Moments, LinkageFault> {
    let bars = stroke.branch().bars();
    let [from, to] = stroke.ends();
    let pose = stroke.pose(0.5 * (from + to))?;
    let mut child = Moments::from(&masses.child);
    let mut crank_side = masses.crank.as_ref().map(Moments::from).unwrap_or_default();
    if let Some(rod) = &masses.coupler {
        child += pin_mass_at_q(bars, rod);
        let left = rod.mass * (1.0 - rod.centre.x / bars.coupler);
        crank_side += Moments::point(left, Vector3::new(bars.crank, 0.0, rod.centre.z));
    }
    let ahead = crank_direction(&pose) / rocker_direction(&pose);
    let twist = twist_of(&crank_side) * ahead * ahead * pose.transmission_ratio();
    let half_trace = 0.5 * (crank_side.inertia.m11 + crank_side.inertia.m22);
    Ok(child + in_plane_inertia(half_trace, twist))
}

/// The tree from means over the stroke.
///
/// # Errors
/// A pose that cannot be reached.
pub(super) fn tree(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<Draft, LinkageFault> {
    let samples = Samples::over(stroke, masses)?;
    let (tree, unbounded) = samples.tree(&child_guess(stroke, masses)?);
    let (rotor, turns) = rotor_share(stroke, masses)?;
    Ok(Draft { tree, unbounded, rotor, turns })
}

/// The mean of J (n² − n) and of n.
fn rotor_share(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Result<(f64, f64), LinkageFault> {
    let (inertia, gear) = (masses.rotor_inertia(), masses.gear_ratio());
    let share = |(pose, weight): &(Pose, f64)| {
        let n = gear * pose.transmission_ratio();
        (weight * inertia * (n * n - n), weight * n)
    };
    let poses = stroke.weighted_poses()?;
    Ok(poses.iter().map(share).fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1)))
}
