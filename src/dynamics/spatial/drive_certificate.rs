//! A bound of a drive's inertia error that holds for every pose of a stroke and every build of a box of sizes.
//!
//! As in `certificate`, with both mass matrices enclosed in mean-value form: over a short piece of the stroke and all builds, with
//! x the sizes and the turn, x₀ their middle and A a matrix, A(x) lies within A(x₀) + Σ A_k (x_k − x₀_k), the slopes A_k enclosed
//! over the whole piece. So
//!
//! ```text
//! |TᵀA(x)T − TᵀA(x₀)T| ≤ Σ |TᵀA_kT| |x_k − x₀_k|,   entry by entry
//! ```
//!
//! and what is left beside the diagonal, which is small, counts by its square but where eigenvalues are alike. ΔM is written from what the replacement adds to carrier and child, so that the
//! child itself does not enter. The parts weigh what the design says in every build. Derived here.

use nalgebra::SMatrix;

use super::super::body::Body;
use super::super::certificate::{PieceBound, bounded, share_of_norms, transform};
use super::super::enclosed::{Congruent, Enclosed, Part, Rows};
use super::super::fidelity::MeasuredOver;
use super::super::masses::Masses;
use super::super::moments::Moments;
use super::super::replacement::Replacement;
use super::drive_parts::DriveParts;
use super::pose_over::{DriveBuild, FrameOver, FramesOver};
use crate::drive::{Angular, Vector};
use crate::numeric::{Interval, Jet, Scalar};

/// Every build of a box of sizes, by N variables: of which the last is the joint turn, the others are sizes with a range.
#[derive(Clone, Debug)]
pub struct BuildsOver<const N: usize> {
    /// All of them, with slopes by the sizes with a range.
    pub all: DriveBuild<Jet<N>>,
    /// Those whose sizes with a range are in its middle.
    pub middle: DriveBuild<Interval>,
    /// How far each of these sizes goes from there, in order.
    pub reach: Vec<f64>,
}

/// What stands in for a drive.
#[derive(Clone, Copy, Debug)]
pub struct DriveCertificate<'a> {
    /// The parts.
    pub parts: &'a DriveParts,
    /// The direct joint.
    pub replacement: &'a Replacement,
    /// The motions allowed for.
    pub over: MeasuredOver,
}

impl DriveCertificate<'_> {
    /// A bound of ε over `builds` and the joint turns `turns` (rad, ascending) as they are read, sought down to `aim`; `None`
    /// where it exceeds `limit` or a build may not reach.
    #[must_use]
    pub fn bound<const N: usize>(
        &self,
        builds: &BuildsOver<N>,
        turns: [f64; 2],
        [aim, limit]: [f64; 2],
    ) -> Option<f64> {
        let (all, middle) = (builds.all.in_joint_frame()?, builds.middle.in_joint_frame()?);
        let seen = BuildsOver { all, middle, reach: builds.reach.clone() };
        let own = PartsOver::<Interval>::of(self);
        let parts = (own.map(), own);
        bounded(turns, [aim, limit], |piece| self.over_piece(&parts, &seen, piece))
    }

    fn over_piece<const N: usize>(
        &self,
        (jets, plain): &(PartsOver<Jet<N>>, PartsOver<Interval>),
        builds: &BuildsOver<N>,
        piece: Interval,
    ) -> Option<PieceBound> {
        let middle = piece.mid();
        let joint = Jet::variable(N.checked_sub(1)?, piece);
        let found = MeanValue {
            all: jets.matrices(&builds.all.frames_over(joint)?),
            middle: plain.matrices(&builds.middle.frames_over(Interval::point(middle))?),
            reach: reaches(&builds.reach, (piece - Interval::point(middle)).magnitude())?,
        };
        match self.over {
            MeasuredOver::FixedCarrier => found.bound([6]),
            MeasuredOver::Plane => found.bound([0, 1, 5, 6]),
            MeasuredOver::Space => found.bound([0, 1, 2, 3, 4, 5, 6]),
        }
    }
}

/// How far each variable goes from the middle; `None` where there are too many.
fn reaches<const N: usize>(sizes: &[f64], turn: f64) -> Option<[f64; N]> {
    let mut all = [0.0; N];
    let (last, own) = all.split_last_mut()?;
    own.get_mut(..sizes.len())?.copy_from_slice(sizes);
    *last = turn;
    Some(all)
}

/// M and ΔM over a piece.
struct MeanValue<const N: usize> {
    all: [Enclosed<Jet<N>>; 2],
    middle: [Enclosed; 2],
    reach: [f64; N],
}

impl<const N: usize> MeanValue<N> {
    /// The bounds of ε for the speeds of these rows; `None` where they cannot be told.
    fn bound<const R: usize>(&self, rows: Rows<R>) -> Option<PieceBound> {
        let [drive, difference] = &self.middle;
        let t = &transform(&[drive.middle(), difference.middle()], rows)?;
        let [whole, off] = &self.all;
        let seen = |middle: &Enclosed, all: &Enclosed<Jet<N>>| {
            let mut here = middle.congruent(|entry| *entry, t, rows);
            let away = |k: usize, reach: f64| {
                let slope = |jet: &Jet<N>| jet.slopes.get(k).copied().unwrap_or(Interval::ENTIRE);
                let Congruent { middle, around } = all.congruent(slope, t, rows);
                (middle.abs() + around) * reach
            };
            let mut reaches = self.reach.into_iter().enumerate();
            let by_turn = reaches.next_back().map(|(k, reach)| away(k, reach))?;
            for (k, reach) in reaches.filter(|(_, reach)| *reach > 0.0) {
                here.around += away(k, reach);
            }
            Some([Congruent { around: here.around + by_turn, ..here }, here])
        };
        let ([over, here], [off_over, off_here]) = (seen(drive, whole)?, seen(difference, off)?);
        let bound = share_of_norms(short_of_one(over), size(&off_over))?;
        Some(PieceBound { bound, at_middle: share_of_norms(short_of_one(here), size(&off_here))? })
    }
}

/// How far the eigenvalues of TᵀMT are below 1 at most.
fn short_of_one<const R: usize>(mut seen: Congruent<R>) -> f64 {
    seen.middle -= SMatrix::<f64, R, R>::identity();
    seen.largest_eigenvalue(-1.0)
}

/// How far the eigenvalues of TᵀΔMT are from 0 at most.
fn size<const R: usize>(seen: &Congruent<R>) -> f64 {
    seen.largest_eigenvalue(1.0).max(seen.largest_eigenvalue(-1.0))
}

/// The parts, as they are in every pose and every build.
struct PartsOver<T> {
    crank: Option<Part<T>>,
    coupler: Option<Part<T>>,
    housing: Option<Part<T>>,
    nut: Option<Part<T>>,
    child: Part<T>,
    carrier: Option<Part<T>>,
    carrier_patch: Part<T>,
    child_patch: Part<T>,
    armature: T,
    /// Inertia, turns per motor turn, inertia that the carrier's own figures do not hold.
    rotor: [T; 3],
}

impl PartsOver<Interval> {
    fn of(certificate: &DriveCertificate<'_>) -> Self {
        let DriveCertificate { parts, replacement, .. } = certificate;
        let DriveParts { masses, housing, nut } = parts.with_bars();
        let part = |body: &Body| Part::from(&Moments::from(body));
        let rotor = |masses: &Masses| {
            [masses.rotor_inertia(), masses.gear_ratio(), masses.rotor_beside_carrier()]
        };
        Self {
            crank: masses.crank.as_ref().map(part),
            coupler: masses.coupler.as_ref().map(part),
            housing: housing.as_ref().map(part),
            nut: nut.as_ref().map(part),
            child: part(&masses.child),
            carrier: masses.carrier.as_ref().map(part),
            carrier_patch: Part::rounded(&replacement.carrier_patch),
            child_patch: Part::rounded(&replacement.child_patch),
            armature: Interval::point(replacement.tree.armature),
            rotor: rotor(&masses).map(Interval::point),
        }
    }

    /// The same in another kind of number.
    fn map<T: Angular>(&self) -> PartsOver<T> {
        let part = |part: &Part| part.map(T::constant);
        let given = |own: &Option<Part>| own.as_ref().map(part);
        PartsOver {
            crank: given(&self.crank),
            coupler: given(&self.coupler),
            housing: given(&self.housing),
            nut: given(&self.nut),
            child: part(&self.child),
            carrier: given(&self.carrier),
            carrier_patch: part(&self.carrier_patch),
            child_patch: part(&self.child_patch),
            armature: T::constant(self.armature),
            rotor: self.rotor.map(T::constant),
        }
    }
}

impl<T: Scalar> PartsOver<T> {
    /// M of the drive and ΔM, the tree's less the drive's.
    fn matrices(&self, frames: &FramesOver<T>) -> [Enclosed<T>; 2] {
        let mut light = Enclosed::zero();
        let moving = [
            (&self.crank, &frames.crank),
            (&self.coupler, &frames.coupler),
            (&self.housing, &frames.housing),
            (&self.nut, &frames.nut),
        ];
        for (part, frame) in moving {
            if let (Some(part), Some(frame)) = (part, frame) {
                frame.add_to(&mut light, part);
            }
        }
        self.add_rotor(&mut light, frames);
        let (mut drive, mut difference) = (light, light.negative());
        frames.child.add_to(&mut drive, &self.child);
        if let Some(carrier) = &self.carrier {
            drive.add_fixed(carrier);
        }
        difference.add_fixed(&self.carrier_patch);
        frames.child.add_to(&mut difference, &self.child_patch);
        difference.add(6, 6, self.armature);
        [drive, difference]
    }

    fn add_rotor(&self, matrix: &mut Enclosed<T>, frames: &FramesOver<T>) {
        let [inertia, gear, beside] = self.rotor;
        let (axis, turns) = (coordinates(frames.motor_axis), gear * frames.ratio);
        let none = T::exactly(0.0);
        matrix.add_joint([none; 3], axis.map(|x| x * (inertia * turns)), inertia * turns.square());
        for (i, p) in axis.into_iter().enumerate() {
            for (j, q) in axis.into_iter().enumerate().filter(|(j, _)| *j >= i) {
                matrix.add(3 + i, 3 + j, if i == j { p.square() } else { p * q } * beside);
            }
        }
    }
}

fn coordinates<T>(v: Vector<T>) -> [T; 3] {
    [v.x, v.y, v.z]
}

impl<T: Scalar> FrameOver<T> {
    /// Adds a part in this frame: with h its first moment and I its inertia about the frame's own origin O, both turned, a mass
    /// element at O + ρ moves at O_ψ + Ω × ρ, summed up.
    fn add_to(&self, matrix: &mut Enclosed<T>, part: &Part<T>) {
        let (o, way, spin, m) = (self.origin, self.way, self.spin, part.mass);
        let h = self.turned(part.first);
        let own = self.tensor(&part.inertia);
        let turning = Vector::new(own[0].dot(spin), own[1].dot(spin), own[2].dot(spin));
        let swept = spin.cross(h);
        let linear = way * m + swept;
        let angular = o.cross(linear) + h.cross(way) + turning;
        let joint = m * way.length_squared() + T::exactly(2.0) * way.dot(swept) + spin.dot(turning);
        let first = coordinates(o * m + h);
        matrix.add_fixed(&Part { mass: m, first, inertia: about(&own, m, h, o) });
        matrix.add_joint(coordinates(linear), coordinates(angular), joint);
    }

    fn turned(&self, [x, y, z]: [T; 3]) -> Vector<T> {
        self.axes[0] * x + self.axes[1] * y + self.axes[2] * z
    }

    /// R I Rᵀ, by rows.
    fn tensor(&self, inertia: &[[T; 3]; 3]) -> [Vector<T>; 3] {
        // I is symmetric: its rows are its columns.
        let half = inertia.map(|row| self.turned(row));
        let entry = |p: fn(Vector<T>) -> T, q: fn(Vector<T>) -> T| {
            let [a, b, c] = [0, 1, 2].map(|k: usize| match (half.get(k), self.axes.get(k)) {
                (Some(half), Some(axis)) => p(*half) * q(*axis),
                _ => T::exactly(f64::NAN),
            });
            a + b + c
        };
        let (x, y, z) = (|v: Vector<T>| v.x, |v: Vector<T>| v.y, |v: Vector<T>| v.z);
        let (xy, xz, yz) = (entry(x, y), entry(x, z), entry(y, z));
        [
            Vector::new(entry(x, x), xy, xz),
            Vector::new(xy, entry(y, y), yz),
            Vector::new(xz, yz, entry(z, z)),
        ]
    }
}

/// Inertia about B of a part whose own origin is at O: I + (2 h·O + m O²) 1 − (h Oᵀ + O hᵀ + m O Oᵀ).
fn about<T: Scalar>(own: &[Vector<T>; 3], m: T, h: Vector<T>, o: Vector<T>) -> [[T; 3]; 3] {
    let two = T::exactly(2.0);
    let squares = [
        two * h.x * o.x + m * o.x.square(),
        two * h.y * o.y + m * o.y.square(),
        two * h.z * o.z + m * o.z.square(),
    ];
    let [xx, yy, zz] = squares;
    let xy = own[0].y - (h.x * o.y + h.y * o.x + m * o.x * o.y);
    let xz = own[0].z - (h.x * o.z + h.z * o.x + m * o.x * o.z);
    let yz = own[1].z - (h.y * o.z + h.z * o.y + m * o.y * o.z);
    [[own[0].x + yy + zz, xy, xz], [xy, own[1].y + xx + zz, yz], [xz, yz, own[2].z + xx + yy]]
}
