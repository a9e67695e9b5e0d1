//! A bound of a drive's inertia error that holds for every pose of a stroke and every build of a box of sizes.
//!
//! As in `certificate`, with both mass matrices in the form of `mean_value`. ΔM is written from what the replacement adds to carrier and child, so that the
//! child itself does not enter. The parts weigh what the design says in every build. Derived here.

use super::super::body::Body;
use super::super::certificate::{PieceBound, bounded};
use super::super::enclosed::{Enclosed, Part};
use super::super::fidelity::MeasuredOver;
use super::super::frame_over::RotorOver;
use super::super::masses::Masses;
use super::super::mean_value::MeanValue;
use super::super::moments::Moments;
use super::super::replacement::Replacement;
use super::drive_parts::DriveParts;
use super::pose_over::{DriveBuild, FramesOver};
use crate::drive::Angular;
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

/// Halvings before it is given up, of a bound that meets the limit and of one that does not.
const MOST: [u32; 2] = [12, 40];

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
        bounded(turns, ([aim, limit], MOST), |piece| self.over_piece(&parts, &seen, piece))
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
            turns: 1,
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
        let turns = [gear * frames.ratio];
        RotorOver { axis: frames.motor_axis, turns, inertia, beside }.add_to(matrix);
    }
}
