//! A bound of two joints' inertia error that holds for every pose of a region and every build of a box of sizes.
//!
//! Both mass matrices over a rectangle of poses in the form of `mean_value`: by pitch and roll, and in the middle pose by the four
//! entries of J, which sizes move most of what weighs by; whatever else they move is enclosed there all at once. ΔM is
//! written from what the tree has more than the bodies that it keeps, so that these do not enter. The parts weigh what the
//! design says in every build. Derived here.

use nalgebra::Matrix2;

use super::super::body::Body;
use super::super::certificate::{PieceBound, bounded};
use super::super::enclosed::{Enclosed, Part};
use super::super::fidelity::MeasuredOver;
use super::super::frame_over::{FrameOver, RotorOver};
use super::super::masses::Rotor;
use super::super::mean_value::MeanValue;
use super::super::moments::Moments;
use super::both_moving::TwoJointParts;
use super::legs_over::{AllOver, LegOver, TwoRodsOver};
use super::two_joint_tree::TwoJointTree;
use crate::drive::Angular;
use crate::numeric::{Interval, Jet, Scalar, evenly};

/// What stands in for a drive of two joints.
#[derive(Clone, Copy, Debug)]
pub struct TwoJointCertificate<'a> {
    /// The parts.
    pub parts: &'a TwoJointParts,
    /// The two direct joints.
    pub tree: &'a TwoJointTree,
    /// The motions allowed for: the carrier still, or all of them.
    pub over: MeasuredOver,
}

/// Halvings before it is given up.
const MOST: u32 = 24;

/// The slopes of one value by the rates in the middle pose and by both turns.
fn both(rates: &Jet<4>, turns: &Jet<2>) -> Jet<6> {
    let ([a, b, c, d], [p, r]) = (rates.slopes, turns.slopes);
    Jet { value: turns.value, slopes: [a, b, c, d, p, r] }
}

/// Pieces of each range that poses are first cut into.
const PIECES: [u32; 2] = [4, 2];

impl TwoJointCertificate<'_> {
    /// A bound of ε over the region (pitch and roll, ascending, rad), sought down to `aim`; `None` where it exceeds `limit`.
    /// `builds` are all builds over a rectangle of poses, where they are known to reach it.
    #[must_use]
    pub fn bound(
        &self,
        region: [[f64; 2]; 2],
        [aim, limit]: [f64; 2],
        builds: impl Fn([Interval; 2]) -> Option<TwoRodsOver>,
    ) -> Option<f64> {
        let own = PartsOver::<Interval>::of(self);
        let (by_rates, by_turns) = (own.map::<Jet<4>>(), own.map::<Jet<2>>());
        let [pitch, roll] = [0, 1].map(|k: usize| pieces(region, k));
        let cut = pitch.iter().flat_map(|pitch| roll.iter().map(|roll| [*pitch, *roll]));
        bounded(cut, ([aim, limit], MOST), halves, |turns| {
            let found = builds(*turns)?;
            let [drive, error] = by_rates.matrices(&found.by_rates()?);
            let [drive_turned, error_turned] = by_turns.matrices(&found.by_turns()?);
            self.bound_of(&MeanValue {
                all: [drive.beside(&drive_turned, both), error.beside(&error_turned, both)],
                middle: own.matrices(&found.in_middle()?),
                reach: found.reach(),
                turns: 2,
            })
        })
    }

    fn bound_of(&self, found: &MeanValue<6, 8>) -> Option<PieceBound> {
        match self.over {
            MeasuredOver::FixedCarrier => found.bound([6, 7]),
            MeasuredOver::Space => found.bound([0, 1, 2, 3, 4, 5, 6, 7]),
            MeasuredOver::Plane => None,
        }
    }
}

/// The first pieces of pitch (0) or roll.
fn pieces([pitch, roll]: [[f64; 2]; 2], joint: usize) -> Vec<Interval> {
    let (range, count) = if joint == 0 { (pitch, PIECES[0]) } else { (roll, PIECES[1]) };
    let ends: Vec<f64> = evenly(range, count).collect();
    ends.iter().zip(ends.iter().skip(1)).map(|(from, to)| Interval::new(*from, *to)).collect()
}

/// Across the wider range.
fn halves([pitch, roll]: &[Interval; 2]) -> [[Interval; 2]; 2] {
    if pitch.width() >= roll.width() {
        pitch.halves().map(|half| [half, *roll])
    } else {
        roll.halves().map(|half| [*pitch, half])
    }
}

/// The parts of one leg.
struct LegPartsOver<T> {
    crank: Option<Part<T>>,
    rod: Option<Part<T>>,
    housing: Option<Part<T>>,
    nut: Option<Part<T>>,
    /// Inertia, turns per motor turn, inertia that the carrier's own figures do not hold.
    rotor: [T; 3],
}

/// The parts, as they are in every pose and every build.
struct PartsOver<T> {
    legs: [LegPartsOver<T>; 2],
    middle: Part<T>,
    child: Part<T>,
    carrier: Part<T>,
    /// What the tree has more: of middle link, child and carrier, and as armature (pp, pr, rr).
    more: [Part<T>; 3],
    armature: [T; 3],
}

impl PartsOver<Interval> {
    fn of(certificate: &TwoJointCertificate<'_>) -> Self {
        let (parts, tree) = (certificate.parts.with_bars(), certificate.tree);
        let part = |body: &Body| Part::from(&Moments::from(body));
        let given = |body: &Option<Body>| body.as_ref().map(part);
        let held =
            |body: &Option<Body>| given(body).unwrap_or_else(|| Part::rounded(&Moments::default()));
        let rotor = |rotor: Option<Rotor>| {
            let Rotor { inertia, gear_ratio, in_carrier } = rotor?;
            Some([inertia, gear_ratio, if in_carrier { 0.0 } else { inertia }])
        };
        let (middle, child, carrier) =
            (held(&parts.middle), part(&parts.child), held(&parts.carrier));
        let more = [(&tree.middle, &middle), (&tree.child, &child), (&tree.carrier, &carrier)];
        Self {
            legs: parts.legs.map(|leg| LegPartsOver {
                crank: given(&leg.crank),
                rod: given(&leg.rod),
                housing: given(&leg.housing),
                nut: given(&leg.nut),
                rotor: rotor(leg.rotor).unwrap_or([0.0; 3]).map(Interval::point),
            }),
            more: more.map(|(all, own)| Part::rounded(all).less(own)),
            middle,
            child,
            carrier,
            armature: armature(&tree.matrix, tree.motor_armatures, tree.joint_armatures),
        }
    }

    /// The same in another kind of number.
    fn map<T: Angular>(&self) -> PartsOver<T> {
        let part = |part: &Part| part.map(T::constant);
        let given = |own: &Option<Part>| own.as_ref().map(part);
        PartsOver {
            legs: self.legs.each_ref().map(|leg| LegPartsOver {
                crank: given(&leg.crank),
                rod: given(&leg.rod),
                housing: given(&leg.housing),
                nut: given(&leg.nut),
                rotor: leg.rotor.map(T::constant),
            }),
            middle: part(&self.middle),
            child: part(&self.child),
            carrier: part(&self.carrier),
            more: self.more.each_ref().map(part),
            armature: self.armature.map(T::constant),
        }
    }
}

/// Tᵀ diag(D) T + diag(e): (pp, pr, rr).
fn armature(matrix: &Matrix2<f64>, motors: [f64; 2], joints: [f64; 2]) -> [Interval; 3] {
    let t = matrix.map(Interval::point);
    let ([d, f], [e, g]) = (motors.map(Interval::point), joints.map(Interval::point));
    [
        t.m11.square() * d + t.m21.square() * f + e,
        t.m11 * t.m12 * d + t.m21 * t.m22 * f,
        t.m12.square() * d + t.m22.square() * f + g,
    ]
}

impl<T: Scalar> PartsOver<T> {
    /// M of the drive and ΔM, the tree's less the drive's.
    fn matrices(&self, frames: &AllOver<T>) -> [Enclosed<T, 8>; 2] {
        let mut legs = Enclosed::zero();
        for (own, frames) in self.legs.iter().zip(&frames.legs) {
            own.add_to(&mut legs, frames);
        }
        let (mut drive, mut difference) = (legs, legs.negative());
        frames.middle.add_to(&mut drive, &self.middle);
        frames.child.add_to(&mut drive, &self.child);
        drive.add_fixed(&self.carrier);
        let [middle, child, carrier] = &self.more;
        frames.middle.add_to(&mut difference, middle);
        frames.child.add_to(&mut difference, child);
        difference.add_fixed(carrier);
        for (value, at) in self.armature.into_iter().zip([(6, 6), (6, 7), (7, 7)]) {
            difference.add(at.0, at.1, value);
        }
        [drive, difference]
    }
}

impl<T: Scalar> LegPartsOver<T> {
    fn add_to(&self, matrix: &mut Enclosed<T, 8>, frames: &LegOver<T>) {
        let pairs: [(&Option<Part<T>>, &Option<FrameOver<T, 2>>); 4] = [
            (&self.crank, &frames.crank),
            (&self.rod, &frames.rod),
            (&self.housing, &frames.housing),
            (&self.nut, &frames.nut),
        ];
        for (part, frame) in pairs {
            if let (Some(part), Some(frame)) = (part, frame) {
                frame.add_to(matrix, part);
            }
        }
        let [inertia, gear, beside] = self.rotor;
        let turns = frames.rates.map(|rate| gear * rate);
        RotorOver { axis: frames.motor_axis, turns, inertia, beside }.add_to(matrix);
    }
}
