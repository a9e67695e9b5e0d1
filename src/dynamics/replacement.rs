//! The direct joint's tree: carrier, child, armature.
//!
//! A tree with one direct joint turns its child with the joint, first moment H = H₀ + h e^{1j ψ}, and has K, L, W
//! constant; it is exact for every motion in the plane if and only if the linkage has the same, and then child inertia
//! about B = L, armature = W − L, carrier inertia = K − L.
//!
//! **Parallelogram** (i = 1, s = 0). Crank and rocker are always parallel. With ω' = ω + z ψ̇ the speed of a crank point
//! is v_A + ω' × r, r from A, so that its energy is that of its mass at A on the carrier, of its inertia about A on the
//! child, and v_A·(ω' × h), h = ∫ρ r. There v_A = v + ω × A: the part with v is a first moment h on the child; the part
//! (ω × A)·(ω' × h) is the rest. The coupler does not turn against the carrier: the same holds for it with C₂ = A + ρ₂
//! for A and r = a e for r, and its own inertia on the carrier. Masses at height ζ keep it: A and the axis of the child
//! are both taken at that height. The rest, in the plane, is k ω (ω + ψ̇), k = Re(G e^{1j ψ}), G = Σ conj(R) h: its
//! mid-range k₀ goes in exactly, 2 k₀ to K and k₀ to L. In space it holds besides, on (ω_x, ω_y), k/2 and the traceless
//! part −½ Σ R h e^{1j ψ}: k₀/2 and the mean over the stroke go to the carrier.
//!
//! **Any other ratio.** Means over the joint angle of K, L, W; h = mean(−1j e^{−1j ψ} H_ψ), H₀ = mean(H − h e^{1j ψ}).
//! Out of the plane, the least squares of what the tree can have: the child's (xz, yz) = mean(e^{−1j ψ} (M_ωx,ψ + 1j
//! M_ωy,ψ)); all else to the carrier as the mean of what is left, once the child has its own tensor, the pin mass m₂ λ
//! at Q and, as value and slope at mid-stroke ask, i times the crank side's (xx − yy)/2 + 1j xy. The trace xx + yy is free.
//!
//! **Rotor**, axis parallel, n turns per joint turn: ½ J (ω_z + n ψ̇)² is J on the carrier where that does not hold it
//! already, −J n there, J n on the child and armature J (n² − n), exactly; in the means it is contained.
//!
//! An armature cannot be negative. Where W < L although the rotor's own share is not negative, L is set to W, and the
//! difference shows in the figures of `fidelity`. Derived here.

use nalgebra::{Complex, Vector3};

use super::balance::Pair;
use super::body::Body;
use super::counterweight::in_plane;
use super::course::Course;
use super::fault::DynamicsFault;
use super::masses::Masses;
use super::moments::Moments;
use super::reflected::{
    Matrix7, add_joint, add_rigid, crank_direction, mass_matrix, rocker_direction,
};
use crate::linkage::{FourBar, LinkageFault, Pose};

/// Carrier and child with one revolute joint between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tree {
    /// In the carrier frame, about B; where the carrier is not known, only what is to be added to it.
    pub carrier: Moments,
    /// In the child frame, about B.
    pub child: Moments,
    /// Inertia that only the joint's own rate sees, kg m².
    pub armature: f64,
}

impl Tree {
    /// Its mass matrix for (v, ω, ψ̇) with the child where the linkage has it at `pose`.
    #[must_use]
    pub fn mass_matrix(&self, pose: &Pose) -> Matrix7 {
        let child = self.child.turned(rocker_direction(pose));
        let mut matrix = Matrix7::zeros();
        add_rigid(&mut matrix, &(self.carrier + child));
        let linear = Vector3::new(-child.first.y, child.first.x, 0.0);
        let angular = child.inertia.column(2).into_owned();
        add_joint(&mut matrix, &linear, &angular, child.inertia.m33 + self.armature);
        matrix
    }

    /// W of the tree, the same at every pose, kg m².
    #[must_use]
    pub fn joint_inertia(&self) -> f64 {
        self.child.inertia.m33 + self.armature
    }
}

/// Does the crank stay parallel to the rocker all along the course?
#[must_use]
pub(super) fn is_parallel(course: &Course<'_>) -> bool {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *course.branch().bars();
    let same = |x: f64, y: f64| (x - y).abs() <= 1e-9 * course.branch().bars().longest();
    let [from, _] = course.ends();
    let steady = course.pose(from).is_ok_and(|pose| pose.ratio_less_one.abs() < 1e-6);
    same(g, b) && same(a, c) && steady
}

/// A tree with the armature that it would have had.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draft {
    /// The tree; its armature is never negative.
    pub(super) tree: Tree,
    /// W − L before it was held at zero, kg m².
    unbounded: f64,
    /// The rotor's share of it, kg m².
    rotor: f64,
    /// Rotor turns per joint turn.
    turns: f64,
}

impl Draft {
    /// The tree for `masses` on `course`, whatever bodies come out.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub(super) fn of(course: &Course<'_>, masses: &Masses) -> Result<Self, LinkageFault> {
        if is_parallel(course) { Ok(parallel(course, masses)) } else { of_means(course, masses) }
    }
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

fn parallel(course: &Course<'_>, masses: &Masses) -> Draft {
    let bars = course.branch().bars();
    let (inertia, turns) = (masses.rotor_inertia(), masses.gear_ratio());
    let none = Complex::default();
    let mut parts = Parts {
        carrier: masses.carrier.as_ref().map(Moments::from).unwrap_or_default(),
        child: Moments::from(&masses.child) + Moments::about_z(inertia * turns),
        rest: none,
        twist: none,
    };
    parts.carrier += Moments::about_z(masses.rotor_beside_carrier() - inertia * turns);
    if let Some(crank) = &masses.crank {
        parts.add_crank(bars, crank);
    }
    if let Some(rod) = &masses.coupler {
        parts.add_coupler(bars, rod);
    }
    let rotor = inertia * (turns * turns - turns);
    let rest = mid_range(course, parts.rest);
    let to_joint = rest.min(rotor.max(0.0));
    let twist = parts.twist * mean_direction(course) * -0.5;
    parts.child += Moments::about_z(to_joint);
    parts.carrier += Moments::about_z(2.0 * rest - to_joint) + in_plane_inertia(0.5 * rest, twist);
    let tree =
        Tree { carrier: parts.carrier, child: parts.child, armature: (rotor - to_joint).max(0.0) };
    Draft { tree, unbounded: rotor - to_joint, rotor, turns }
}

/// Moments with xx, yy, xy alone: the mean of xx and yy, and (xx − yy)/2 + 1j xy.
fn in_plane_inertia(mean: f64, twist: Complex<f64>) -> Moments {
    let mut moments = Moments::default();
    let entries = &mut moments.inertia;
    (entries.m11, entries.m22) = (mean + twist.re, mean - twist.re);
    (entries.m12, entries.m21) = (twist.im, twist.im);
    moments
}

/// Crank angles at both ends of the course, rad.
fn crank_ends(course: &Course<'_>) -> [f64; 2] {
    course.ends().map(|turn| course.branch().zero_crank() + turn)
}

fn unit(angle: f64) -> Complex<f64> {
    let (im, re) = libm::sincos(angle);
    Complex { re, im }
}

/// Half of the sum of the largest and the smallest Re(G e^{1j ψ}) over a parallelogram's course.
fn mid_range(course: &Course<'_>, rest: Complex<f64>) -> f64 {
    let [from, to] = crank_ends(course);
    let at = |angle: f64| (rest * unit(angle)).re;
    let size = rest.norm();
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

/// The mean of e^{1j ψ} over a parallelogram's course.
fn mean_direction(course: &Course<'_>) -> Complex<f64> {
    let [from, to] = crank_ends(course);
    let half = 0.5 * (to - from);
    let share = if half.abs() < 1e-8 { 1.0 } else { libm::sin(half) / half };
    unit(0.5 * (from + to)) * share
}

/// A pose with all that the means need.
struct Sample {
    weight: f64,
    direction: Complex<f64>,
    matrix: Matrix7,
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

/// Weighted poses of the course with their mass matrices.
struct Samples(Vec<Sample>);

impl Samples {
    fn over(course: &Course<'_>, masses: &Masses) -> Result<Self, LinkageFault> {
        let sample = |(pose, weight): (Pose, f64)| Sample {
            weight,
            direction: rocker_direction(&pose),
            matrix: mass_matrix(&pose, masses),
        };
        Ok(Self(course.weighted_poses()?.into_iter().map(sample).collect()))
    }

    fn mean(&self, figure: impl Fn(&Sample) -> Complex<f64>) -> Complex<f64> {
        self.0.iter().map(|s| figure(s) * s.weight).sum()
    }

    fn mean_entry(&self, row: usize, column: usize) -> f64 {
        self.0.iter().map(|s| s.entry(row, column) * s.weight).sum()
    }
}

/// The pin mass m₂ λ at Q, seen in the child frame.
fn pin_mass_at_q(bars: &FourBar, rod: &Body) -> Moments {
    let share = rod.centre.x / bars.coupler;
    Moments::point(rod.mass * share, Vector3::new(bars.rocker, 0.0, rod.centre.z))
}

/// (xx − yy)/2 + 1j xy.
fn twist_of(moments: &Moments) -> Complex<f64> {
    let i = &moments.inertia;
    Complex { re: 0.5 * (i.m11 - i.m22), im: i.m12 }
}

/// The child's first guess: its own tensor, the rod's pin mass, and the crank side's share of (xx − yy)/2 + 1j xy.
fn child_guess(course: &Course<'_>, masses: &Masses) -> Result<Moments, LinkageFault> {
    let bars = course.branch().bars();
    let [from, to] = course.ends();
    let pose = course.pose(0.5 * (from + to))?;
    let mut child = Moments::from(&masses.child);
    let mut crank_side = masses.crank.as_ref().map(Moments::from).unwrap_or_default();
    if let Some(rod) = &masses.coupler {
        child += pin_mass_at_q(bars, rod);
        let left = rod.mass * (1.0 - rod.centre.x / bars.coupler);
        crank_side += Moments::point(left, Vector3::new(bars.crank, 0.0, rod.centre.z));
    }
    let to_child = crank_direction(&pose) / rocker_direction(&pose);
    let twist = twist_of(&crank_side) * to_child * to_child * pose.transmission_ratio();
    let half_trace = 0.5 * (crank_side.inertia.m11 + crank_side.inertia.m22);
    Ok(child + in_plane_inertia(half_trace, twist))
}

fn of_means(course: &Course<'_>, masses: &Masses) -> Result<Draft, LinkageFault> {
    let samples = Samples::over(course, masses)?;
    let turn_back = |s: &Sample| s.direction.conj();
    let h = samples.mean(|s| s.first_moment_slope() * turn_back(s) * -Complex::<f64>::i());
    let lift = samples.mean(|s| s.pair([(3, 6), (4, 6)]) * turn_back(s));
    let (coupling, joint) = (samples.mean_entry(5, 6), samples.mean_entry(6, 6));
    let mut child = child_guess(course, masses)?;
    (child.first.x, child.first.y) = (h.re, h.im);
    let inertia = &mut child.inertia;
    inertia.m33 = coupling.min(joint);
    (inertia.m13, inertia.m31, inertia.m23, inertia.m32) = (lift.re, lift.re, lift.im, lift.im);
    let carrier = carrier_left(&samples, &child);
    let (rotor, turns) = rotor_share(course, masses)?;
    let armature = (joint - coupling).max(0.0);
    let tree = Tree { carrier, child, armature };
    Ok(Draft { tree, unbounded: joint - coupling, rotor, turns })
}

/// What the carrier must have besides `child`, as the mean of what is left.
fn carrier_left(samples: &Samples, child: &Moments) -> Moments {
    let mean = |row, column| samples.mean_entry(row, column);
    let h = Complex { re: child.first.x, im: child.first.y };
    let still = samples.mean(|s| s.first_moment() - h * s.direction);
    let (twist, lift) = (twist_of(child), Complex { re: child.inertia.m13, im: child.inertia.m23 });
    let twist = samples.mean(|s| s.twist() - twist * s.direction * s.direction);
    let lift = samples.mean(|s| s.pair([(3, 5), (4, 5)]) - lift * s.direction);
    let trace = mean(3, 3) + mean(4, 4) - child.inertia.m11 - child.inertia.m22;
    let mut carrier = in_plane_inertia(0.5 * trace, twist);
    carrier.mass = mean(0, 0) - child.mass;
    carrier.first = Vector3::new(still.re, still.im, mean(0, 4) - child.first.z);
    let inertia = &mut carrier.inertia;
    inertia.m33 = mean(5, 5) - child.inertia.m33;
    (inertia.m13, inertia.m31, inertia.m23, inertia.m32) = (lift.re, lift.re, lift.im, lift.im);
    carrier
}

/// The mean of J (n² − n) and of n.
fn rotor_share(course: &Course<'_>, masses: &Masses) -> Result<(f64, f64), LinkageFault> {
    let (inertia, gear) = (masses.rotor_inertia(), masses.gear_ratio());
    let share = |(pose, weight): &(Pose, f64)| {
        let n = gear * pose.transmission_ratio();
        (weight * inertia * (n * n - n), weight * n)
    };
    let poses = course.weighted_poses()?;
    Ok(poses.iter().map(share).fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1)))
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
    /// Are the whole tensors known? Else only z entries and centres in the plane hold.
    pub is_spatial: bool,
}

impl Replacement {
    /// The direct joint that stands in for the linkage with `masses` over `course`.
    ///
    /// Where the carrier is not known, mass cannot be moved between the two; the child alone is held to be a real body.
    ///
    /// # Errors
    /// [`DynamicsFault::NegativeArmature`] where the rotor's share asks for one; [`DynamicsFault::NoRealBody`].
    ///
    /// # Examples
    /// ```
    /// use unloop::dynamics::{Body, Course, Inertia, Masses, Replacement, Rotor};
    /// use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};
    /// let bars = FourBar { ground: 0.3, crank: 0.04, coupler: 0.3, rocker: 0.04 };
    /// let branch = Branch::through(bars, 1.5, Closure::Open)?;
    /// let stroke = Stroke::on(&branch, Drive::Joint, [-0.6, 0.6])?;
    /// let course = Course::over(&branch, stroke)?;
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
    /// let direct = Replacement::of(&course, &masses)?;
    /// assert!(direct.is_parallel && direct.tree.armature > 0.0);
    /// # Ok::<(), unloop::dynamics::DynamicsFault>(())
    /// ```
    pub fn of(course: &Course<'_>, masses: &Masses) -> Result<Self, DynamicsFault> {
        let draft = Draft::of(course, masses)?;
        if draft.unbounded < 0.0 && draft.rotor < 0.0 {
            return Err(DynamicsFault::NegativeArmature {
                armature: draft.unbounded,
                rotor_turns: draft.turns,
            });
        }
        let tree = balanced(&draft.tree, masses)?;
        let own = masses.carrier.as_ref().map(Moments::from).unwrap_or_default();
        Ok(Self {
            tree,
            carrier_patch: tree.carrier - own,
            child_patch: tree.child - Moments::from(&masses.child),
            is_parallel: is_parallel(course),
            is_spatial: masses.are_spatial(),
        })
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

fn balanced(tree: &Tree, masses: &Masses) -> Result<Tree, DynamicsFault> {
    let Tree { carrier, child, armature } = *tree;
    let pair = Pair { carrier, child, is_spatial: masses.are_spatial() };
    if masses.carrier.is_some() {
        let Pair { carrier, child, .. } = pair.balanced()?;
        return Ok(Tree { carrier, child, armature });
    }
    match pair.fault() {
        Some(fault @ DynamicsFault::NoRealBody { body: "child", .. }) => Err(fault),
        _ => Ok(*tree),
    }
}
