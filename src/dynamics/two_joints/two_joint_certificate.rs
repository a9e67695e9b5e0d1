//! A bound of the inertia error of two joints that holds for every pose of a rectangle and every build.
//!
//! ε is at most e where eM ∓ ΔM has no negative eigenvalue. Of all builds in one pose both matrices are known closely: rotors,
//! which count most, by what each size does to J, the rest by what all builds together may be. Between the corners of a
//! rectangle A, one of M and ΔM, is what they give by bilinear interpolation and a rest R that is no larger, entry by entry, than
//! |A_pp| w_p²/8 + |A_rr| w_r²/8. An interpolation is a mean of the corners: where that matrix give or take R has no negative
//! eigenvalue in any corner, it has none between them. A corner is seen by its own T of `certificate`, so that what counts is what
//! sizes and turns do in the direction in which the error is large there.
//!
//! ΔM is told by what the tree adds to each link, so that carrier, middle link and child themselves do not enter it. The parts
//! weigh what the design says in every build.
//!
//! # Source
//! Error of linear interpolation: E. W. Cheney, Introduction to Approximation Theory, 2nd ed., ch. 3 (from memory), in one variable
//! after the other. The rest is derived here.

use nalgebra::SMatrix;

use super::super::body::Body;
use super::super::certificate::transform;
use super::super::congruent::{Congruent, ROOM};
use super::super::enclosed::{Enclosed, Part, Rows};
use super::super::fidelity::MeasuredOver;
use super::super::frame_over::{FrameOver, RotorOver};
use super::super::moments::Moments;
use super::both_moving::{LegParts, TwoJointParts};
use super::frames_over::{LegOver, TwoRodsOver};
use super::rotors_moved::{Rates, SeenRotor, moved_rotors};
use super::two_joint_tree::TwoJointTree;
use crate::drive::{Angular, Vector};
use crate::numeric::{Bent, Interval, Scalar};

/// All builds in one pose.
#[derive(Clone, Debug)]
pub struct WeighedPose {
    t: Square,
    /// M and ΔM.
    both: [Congruent<8>; 2],
}

type Square = SMatrix<f64, 8, 8>;

impl WeighedPose {
    /// Is no build's error larger than this?
    #[must_use]
    pub fn is_within(&self, share: f64) -> bool {
        is_within(&self.both, share)
    }
}

/// Two joints' tree and the parts of the drive that it stands for.
pub struct TwoJointCertificate {
    parts: PartsOver<Interval>,
    by_turns: PartsOver<Bent<1>>,
    over: MeasuredOver,
}

impl TwoJointCertificate {
    /// Of `tree` in place of the drive with `parts`, for the motions `over`.
    #[must_use]
    pub fn new(parts: &TwoJointParts, tree: &TwoJointTree, over: MeasuredOver) -> Self {
        let parts = PartsOver::of(parts, tree);
        Self { by_turns: parts.map(), parts, over }
    }

    /// All builds in one pose, of which one has the `rates` J, and what each size does to J; `None` where nothing can be told.
    #[must_use]
    pub fn at(
        &self,
        all: &TwoRodsOver<Interval>,
        rates: Rates,
        moved: &[Rates],
    ) -> Option<WeighedPose> {
        let at_rates = self.allowed(self.parts.matrices(all, rates)?);
        let t = transform(&at_rates.each_ref().map(Enclosed::middle), ALL)?;
        let by_rotors = moved_rotors(&self.rotors(all, rates, &t)?, moved, &t);
        let both = at_rates.each_ref().map(|a| {
            let Congruent { middle, around } = a.congruent(|entry| *entry, &t, ALL);
            Congruent { middle, around: around + by_rotors }
        });
        Some(WeighedPose { t, both })
    }

    /// The rotors of all builds, whose J may also be `rates`.
    fn rotors(
        &self,
        all: &TwoRodsOver<Interval>,
        rates: Rates,
        t: &Square,
    ) -> Option<[Option<SeenRotor>; 2]> {
        let mut rotors = [None, None];
        let rows = rates.into_iter().zip(all.pose.jacobian).enumerate();
        for ((slot, leg), (k, (own, all_rates))) in
            rotors.iter_mut().zip(&self.parts.legs).zip(rows)
        {
            let Some([inertia, gear, _]) = leg.rotor else { continue };
            let axis = match self.over {
                MeasuredOver::FixedCarrier => Vector::zero(),
                MeasuredOver::Plane | MeasuredOver::Space => all.leg(k)?.motor_axis,
            };
            *slot = Some(SeenRotor::new([inertia, gear], axis, [own, all_rates], t));
        }
        Some(rotors)
    }

    /// A bound of the error of all builds over a rectangle of poses of these `widths` (rad) with these corners, and the side along
    /// which it bends more. `by_turns` are all builds over it, with slopes and curvatures by pitch, and by roll. What is close
    /// `enough` is not made closer. `None` where nothing can be told, or `limit` is not met.
    #[must_use]
    pub fn bound(
        &self,
        corners: [&WeighedPose; 4],
        by_turns: &[TwoRodsOver<Bent<1>>; 2],
        widths: [f64; 2],
        [enough, limit]: [f64; 2],
    ) -> Option<(f64, usize)> {
        let bent = |over: &TwoRodsOver<Bent<1>>| {
            Some(self.allowed(self.by_turns.matrices(over, over.pose.jacobian)?))
        };
        let [by_pitch, by_roll] = by_turns;
        let by_turns = [bent(by_pitch)?, bent(by_roll)?];
        let mut most = [0.0_f64; 2];
        let corners = corners.map(|corner| {
            let mut seen = corner.both;
            for ((most, both), width) in most.iter_mut().zip(&by_turns).zip(widths) {
                let [drive, difference] = both.each_ref().map(|a| arch(a, width, &corner.t));
                *most = most.max(difference.amax());
                seen[0].around += drive;
                seen[1].around += difference;
            }
            seen
        });
        let [pitch, roll] = most;
        let side = usize::from(roll > pitch);
        let holds = |share: f64| corners.iter().all(|both| is_within(both, share));
        if holds(enough) {
            return Some((enough, side));
        }
        if !holds(limit) {
            return None;
        }
        let [mut low, mut high] = [enough, limit];
        while high - low > CLOSE * high {
            let middle = 0.5 * (low + high);
            *(if holds(middle) { &mut high } else { &mut low }) = middle;
        }
        Some((high, side))
    }

    /// M and ΔM of the motions allowed for: with the carrier still its motions do not enter, M is 1 there.
    fn allowed<T: Scalar>(&self, both: [Enclosed<T, 8>; 2]) -> [Enclosed<T, 8>; 2] {
        match (self.over, both) {
            (MeasuredOver::FixedCarrier, [drive, difference]) => {
                [drive.with_still_carrier(1.0), difference.with_still_carrier(0.0)]
            }
            (MeasuredOver::Plane | MeasuredOver::Space, both) => both,
        }
    }
}

/// All rows.
const ALL: Rows<8> = [0, 1, 2, 3, 4, 5, 6, 7];

/// A bound is told to this share of it.
const CLOSE: f64 = 0.01;

/// Is ±ΔM certainly no more than this share of M?
fn is_within([drive, difference]: &[Congruent<8>; 2], share: f64) -> bool {
    let rounding = (drive.middle.abs() * share + difference.middle.abs()) * ROOM;
    let around = (drive.around * share + difference.around + rounding) * (1.0 + ROOM);
    [1.0, -1.0].into_iter().all(|sign| {
        let middle = drive.middle * share - difference.middle * sign;
        Congruent { middle, around }.largest_eigenvalue(-1.0) <= 0.0
    })
}

/// How far each entry of TᵀAT is at most from what both ends of this `width` give by interpolation.
fn arch(a: &Enclosed<Bent<1>, 8>, width: f64, t: &Square) -> Square {
    let eighth = (Interval::point(width).square() * Interval::point(0.125)).hi();
    let curvature = |entry: &Bent<1>| entry.curvature(0, 0).unwrap_or(Interval::ENTIRE);
    let Congruent { middle, around } = a.congruent(curvature, t, ALL);
    (middle.abs() + around) * eighth
}

/// The parts, as they are in every pose and every build, and what the tree has.
struct PartsOver<T> {
    legs: [LegPartsOver<T>; 2],
    /// Carrier, middle link and child, as far as they are known.
    links: [Option<Part<T>>; 3],
    /// What the tree adds to each that it changes.
    patches: [Option<Part<T>>; 3],
    /// (p, p), (p, r), (r, r).
    armature: [T; 3],
}

/// A leg's parts.
struct LegPartsOver<T> {
    /// Crank, rod, housing, nut.
    bodies: [Option<Part<T>>; 4],
    /// Inertia, turns per motor turn, inertia that the carrier's own figures do not hold.
    rotor: Option<[T; 3]>,
}

impl LegPartsOver<Interval> {
    fn of(leg: &LegParts) -> Self {
        let bodies = [leg.crank, leg.rod, leg.housing, leg.nut];
        let rotor = leg.rotor.map(|rotor| {
            let beside = if rotor.in_carrier { 0.0 } else { rotor.inertia };
            [rotor.inertia, rotor.gear_ratio, beside].map(Interval::point)
        });
        Self { bodies: bodies.map(|body| body.as_ref().map(part)), rotor }
    }
}

fn part(body: &Body) -> Part {
    Part::from(&Moments::from(body))
}

impl PartsOver<Interval> {
    fn of(parts: &TwoJointParts, tree: &TwoJointTree) -> Self {
        let parts = parts.with_bars();
        let links = [parts.carrier, parts.middle, Some(parts.child)];
        let stand_ins = [&tree.carrier, &tree.middle, &tree.child];
        let mut patches = [None, None, None];
        for ((slot, own), stand_in) in patches.iter_mut().zip(&links).zip(stand_ins) {
            let own = own.as_ref().map_or_else(Moments::default, Moments::from);
            if *stand_in != own {
                *slot = Some(Part::rounded(stand_in).less(&Part::from(&own)));
            }
        }
        let links = links.map(|body| body.as_ref().map(part));
        let legs = parts.legs.each_ref().map(LegPartsOver::of);
        Self { legs, links, patches, armature: armature(tree) }
    }

    /// The same in another kind of number.
    fn map<T: Angular>(&self) -> PartsOver<T> {
        let given = |own: &Option<Part>| own.as_ref().map(|part| part.map(T::constant));
        let leg = |leg: &LegPartsOver<Interval>| LegPartsOver {
            bodies: leg.bodies.each_ref().map(given),
            rotor: leg.rotor.map(|rotor| rotor.map(T::constant)),
        };
        PartsOver {
            legs: self.legs.each_ref().map(leg),
            links: self.links.each_ref().map(given),
            patches: self.patches.each_ref().map(given),
            armature: self.armature.map(T::constant),
        }
    }
}

impl<T: Angular> PartsOver<T> {
    /// M of the drive and ΔM, the tree's less the drive's, with rotors that turn at these rates.
    fn matrices(&self, over: &TwoRodsOver<T>, rates: [[T; 2]; 2]) -> Option<[Enclosed<T, 8>; 2]> {
        let mut light = Enclosed::zero();
        for (k, (leg, rates)) in self.legs.iter().zip(rates).enumerate() {
            leg.add_to(&mut light, &over.leg(k)?, rates);
        }
        let (mut drive, mut difference, frames) = (light, light.negative(), over.links());
        add_links(&mut drive, &frames, self.links.each_ref().map(Option::as_ref));
        self.add_patches(&mut difference, &frames);
        Some([drive, difference])
    }

    fn add_patches(&self, matrix: &mut Enclosed<T, 8>, frames: &[FrameOver<T, 2>; 2]) {
        add_links(matrix, frames, self.patches.each_ref().map(Option::as_ref));
        let [pp, pr, rr] = self.armature;
        for (row, column, armature) in [(6, 6, pp), (6, 7, pr), (7, 7, rr)] {
            matrix.add(row, column, armature);
        }
    }
}

/// Adds parts of carrier, middle link and child.
fn add_links<T: Scalar>(
    matrix: &mut Enclosed<T, 8>,
    frames: &[FrameOver<T, 2>; 2],
    [fixed, moving @ ..]: [Option<&Part<T>>; 3],
) {
    if let Some(part) = fixed {
        matrix.add_fixed(part);
    }
    for (part, frame) in moving.into_iter().zip(frames) {
        if let Some(part) = part {
            frame.add_to(matrix, part);
        }
    }
}

impl<T: Angular> LegPartsOver<T> {
    fn add_to(&self, matrix: &mut Enclosed<T, 8>, frames: &LegOver<T>, rates: [T; 2]) {
        let places = [&frames.crank, &frames.rod, &frames.housing, &frames.nut];
        for (part, frame) in self.bodies.iter().zip(places) {
            if let (Some(part), Some(frame)) = (part, frame) {
                frame.add_to(matrix, part);
            }
        }
        if let Some([inertia, gear, beside]) = self.rotor {
            let turns = rates.map(|rate| rate * gear);
            RotorOver { axis: frames.motor_axis, turns, inertia, beside }.add_to(matrix);
        }
    }
}

/// Tᵀ diag(D) T + diag(e): (p, p), (p, r), (r, r).
fn armature(tree: &TwoJointTree) -> [Interval; 3] {
    let point = Interval::point;
    let (t, [one, two], [pitch, roll]) =
        (tree.matrix.map(point), tree.motor_armatures.map(point), tree.joint_armatures.map(point));
    let pp = t.m11.square() * one + t.m21.square() * two + pitch;
    let pr = t.m11 * t.m12 * one + t.m21 * t.m22 * two;
    let rr = t.m12.square() * one + t.m22.square() * two + roll;
    [pp, pr, rr]
}
