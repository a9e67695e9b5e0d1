//! The inertia criterion of a finger: how far the kinetic energy of its stand-in's model is from the linkage's, both fingers of
//! one motor at once.

use nalgebra::Isometry3;

use super::super::criterion::MET_WITHIN;
use super::super::question::{HungDrive, Question, Weights};
use super::{Finger, PadStandIn};
use crate::dynamics::{
    CounterPair, CrankStroke, DriveOnCarrier, DynamicsFault, Fidelity, Masses, MeasuredOver,
    OnCarrier, PairCertificate, Slide, SlideCourse, StandIn, mirrored_place, shared_carrier, tied,
};
use crate::linkage::{Extreme, LinkageFault};

/// A finger, or both fingers of one motor, with what stands in.
#[derive(Clone, Debug)]
pub struct WeighedFinger {
    /// How far the stand-in's model is from the linkage.
    pub fidelity: Fidelity,
    /// The motions that the headline figure allows for.
    pub over: MeasuredOver,
    /// The headline figure: the largest error of kinetic energy, as a share, and the motor turn where it lies.
    pub error: Extreme,
    /// A certified bound over the verdict's linkages and every pose; `None` where the proof does not reach the limit, and for
    /// a slide.
    pub bound: Option<f64>,
    /// Armature at the motor's hinge (kg m²), or of a slide (kg).
    pub armature: f64,
}

/// Every gripper asked about, or why one has no model with real bodies; `None` where the masses are not given or the stand-in
/// has no such figure.
pub type FingerWeighing = Result<Vec<WeighedFinger>, DynamicsFault>;

/// A certified bound is sought to this much above the figure.
const AIM: f64 = 1.2;

/// Every gripper of `question`.
pub(in super::super) fn weigh(question: &Question<'_>, finger: &Finger) -> Option<FingerWeighing> {
    let Weights::Given(drives) = question.weights else { return None };
    if finger.motion.stand_in == PadStandIn::Hinge {
        return None;
    }
    Some(drives.iter().map(|drive| weigh_one(question, finger, drive)).collect())
}

fn weigh_one(
    question: &Question<'_>,
    finger: &Finger,
    drive: &HungDrive,
) -> Result<WeighedFinger, DynamicsFault> {
    let stroke = CrankStroke::over(question.branch, question.stroke)?;
    let fingers = Fingers::of(finger, drive);
    match finger.motion.stand_in {
        PadStandIn::Counter => fingers.counter(question, finger, &stroke),
        _ => fingers.slide(finger, &stroke),
    }
}

/// A finger with its mirror image, where there is one, each with its frame in the first one's.
struct Fingers(Vec<(Isometry3<f64>, Masses)>);

impl Fingers {
    fn of(finger: &Finger, drive: &HungDrive) -> Self {
        // What is not known of the bars is not judged.
        let masses = drive.masses.with_bars();
        let mut all = vec![(Isometry3::identity(), masses)];
        all.extend(finger.mirror.map(|point| {
            let place = mirrored_place(point, finger.pad.closing);
            (place, masses.mirrored(&place))
        }));
        Self(all)
    }

    fn count(&self) -> u32 {
        u32::try_from(self.0.len()).unwrap_or(u32::MAX)
    }

    fn counter(
        &self,
        question: &Question<'_>,
        finger: &Finger,
        stroke: &CrankStroke<'_>,
    ) -> Result<WeighedFinger, DynamicsFault> {
        let rate = finger.motion.multiplier();
        let pair =
            |(_, masses): &(_, Masses)| CounterPair::among(stroke, masses, rate, self.count());
        let pairs = self.0.iter().map(pair).collect::<Result<Vec<_>, _>>()?;
        let armature = pairs.first().map_or(0.0, |pair| pair.armature);
        let weighed = self.weighed(stroke, &pairs, armature)?;
        let bound = self.certified(question, &pairs, &weighed);
        Ok(WeighedFinger { bound, ..weighed })
    }

    fn slide(
        &self,
        finger: &Finger,
        stroke: &CrankStroke<'_>,
    ) -> Result<WeighedFinger, DynamicsFault> {
        // Its own frame sees the mirror image as the first frame sees the first.
        let slide = |(_, masses): &(_, Masses)| {
            let (n, travel) = (finger.pad.closing, finger.motion.travel);
            let course = SlideCourse::from_zero(stroke, n, travel)?;
            Slide::of(stroke, &masses.sharing_carrier(self.count()), course)
                .map(|slide| slide.on(masses))
        };
        let slides = self.0.iter().map(slide).collect::<Result<Vec<_>, _>>()?;
        let armature = slides.first().map_or(0.0, Slide::armature_mass);
        self.weighed(stroke, &slides, armature)
    }

    fn weighed<S: StandIn + OnCarrier>(
        &self,
        stroke: &CrankStroke<'_>,
        stand_ins: &[S],
        armature: f64,
    ) -> Result<WeighedFinger, DynamicsFault> {
        let both = || self.0.iter().zip(stand_ins);
        let palm = self.0.first().and_then(|(_, masses)| masses.carrier);
        if palm.is_some() {
            let placed: Vec<_> = both().map(|((place, m), one)| (*place, m, one)).collect();
            shared_carrier(&placed)?;
        }
        let seats: Vec<DriveOnCarrier<'_>> = both()
            .map(|((frame, masses), one)| DriveOnCarrier {
                frame: *frame,
                stroke,
                masses,
                stand_in: one,
            })
            .collect();
        let fidelity = tied(&seats).ok_or(LinkageFault::FlatZeroPose)?;
        let (over, error) = fidelity.headline();
        Ok(WeighedFinger { fidelity, over, error, bound: None, armature })
    }

    /// The largest of the fingers' bounds, each with its own share of palm and rotor.
    fn certified(
        &self,
        question: &Question<'_>,
        pairs: &[CounterPair],
        weighed: &WeighedFinger,
    ) -> Option<f64> {
        let shares = match &self.0[..] {
            [(_, first), (_, second)] => Masses::tied_shares([first, second]).to_vec(),
            all => all.iter().map(|(_, masses)| *masses).collect(),
        };
        let limit = question.inertia_limit + MET_WITHIN;
        let bounds = self.0.iter().zip(&shares).zip(pairs).map(|(((_, masses), whole), pair)| {
            let certificate = PairCertificate {
                branch: question.branch,
                masses,
                whole,
                pair,
                over: weighed.over,
                bars: question.family.bars,
                crank_error: question.family.crank_error,
            };
            certificate.bound(question.stroke.motor, AIM * weighed.error.value, limit)
        });
        bounds.collect::<Option<Vec<f64>>>().map(|all| all.into_iter().fold(0.0, f64::max))
    }
}
