//! The verdict on two direct joints.

use super::super::assessment::{Assessment, Shown, Why};
use super::super::criterion::{Basis, Criterion, Figure as Told};
use super::super::finding::{Aim, DOUBT};
use super::super::held::is_proved;
use super::super::outcome::{Outcome, Verdict};
use super::builds_over::AllBuilds;
use super::figures::{RegionFigures, drawn_peaks};
use super::question::{RegionQuestion, RegionWitness};
use super::search::{Asked, Found, Search, Worst};
use super::values::{Figure, Setting};
use crate::numeric::elementary;

/// The verdict and what it rests on.
#[derive(Clone, Debug)]
pub struct RegionJudgement {
    /// May both direct joints stand in?
    pub verdict: Verdict,
    /// Is the verdict proved, or shown by a pose; not only computed?
    pub proved: bool,
    /// In the order of [`Criterion::ALL`]; what is not written is not judged.
    pub criteria: Vec<Assessment>,
    /// The build and pose that break the criterion furthest over its limit, where a search found one.
    pub witness: Option<(Criterion, RegionWitness)>,
    /// The drawn drive's worst figures.
    pub figures: RegionFigures,
    /// What no build exceeds in any pose; `None` where nothing is certain.
    pub bounds: Option<RegionBounds>,
}

/// Certified bounds over all builds and poses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionBounds {
    /// |E|, entry by entry: rows read, columns moved, pitch before roll.
    pub rate_error: [[f64; 2]; 2],
    /// The norm of E.
    pub rate_error_norm: f64,
    /// |Angle errors| of pitch and roll, rad.
    pub angle_error: [f64; 2],
}

/// The criteria of two joints' motion, with whether only a crank has them.
const JUDGED: [(Criterion, bool); 5] = [
    (Criterion::Angle, false),
    (Criterion::Ratio, false),
    (Criterion::TransmissionAngle, false),
    (Criterion::BallTilt, true),
    (Criterion::CrankSide, true),
];

/// May two direct joints stand in for the drive? `inertia` is that criterion, judged elsewhere.
///
/// `None` where T has no inverse, or the drawn drive cannot be followed to every pose of the region.
#[must_use]
pub fn judge_region(question: &RegionQuestion<'_>, inertia: Assessment) -> Option<RegionJudgement> {
    judged(question, inertia, Asked::Entries)
}

/// The same for who tells the criteria alone: entries of E are bounded no closer than the verdict takes, or by its norm.
#[must_use]
pub fn region_verdict(
    question: &RegionQuestion<'_>,
    inertia: Assessment,
) -> Option<RegionJudgement> {
    judged(question, inertia, Asked::Criteria)
}

/// Do all limits of the motion hold? The answer alone: no bound is brought closer than its limit takes, so that this is several
/// times faster than a verdict with its figures.
///
/// `None` where T has no inverse, or the drawn drive cannot be followed to every pose of the region.
#[must_use]
pub fn region_outcome(question: &RegionQuestion<'_>) -> Option<Outcome> {
    let setting = Setting::of(question)?;
    let peaks = drawn_peaks(&setting)?;
    let builds = AllBuilds::of(&setting);
    let search = Search::new(&setting, builds.as_ref(), Aim::Decide);
    Some(search.outcome(question.turns, &peaks))
}

/// Entries of E are told, not judged: what is judged is the same whether they are asked for or not.
fn judged(
    question: &RegionQuestion<'_>,
    inertia: Assessment,
    closest: Asked,
) -> Option<RegionJudgement> {
    let setting = Setting::of(question)?;
    let peaks = drawn_peaks(&setting)?;
    let figures = RegionFigures::of(&setting, &peaks)?;
    let builds = AllBuilds::of(&setting);
    let search = |asked| Search::new(&setting, builds.as_ref(), Aim::Tight).asked(asked);
    let found = search(Asked::Criteria).run(question.turns, &peaks);
    let mut bounds = bounds(&found);
    if closest == Asked::Entries {
        let closer = search(Asked::Entries).run(question.turns, &peaks);
        bounds = bounds.map(|bounds| bounds.with_entries(&closer));
    }
    let judged = JUDGED
        .into_iter()
        .filter(|(_, is_of_crank)| !is_of_crank || setting.has_crank() != [false; 2]);
    let mut criteria: Vec<Assessment> =
        judged.filter_map(|(criterion, _)| assess(question, &figures, &found, criterion)).collect();
    let witness = witness(&criteria, &found);
    criteria.push(inertia);
    criteria.sort_by_key(|c| c.criterion);
    let verdict = Verdict::of(criteria.iter().map(|c| c.outcome));
    Some(RegionJudgement {
        verdict,
        proved: is_proved(verdict, &criteria),
        witness,
        criteria,
        figures,
        bounds,
    })
}

impl RegionBounds {
    /// The same with entries of E no larger than `closer` has them.
    fn with_entries(self, closer: &Found) -> Self {
        let [pp, pr, rp, rr, ..] = closer.upper;
        if closer.assembly != Outcome::Holds {
            return self;
        }
        let [[a, b], [c, d]] = self.rate_error;
        Self { rate_error: [[a.min(pp), b.min(pr)], [c.min(rp), d.min(rr)]], ..self }
    }
}

fn bounds(found: &Found) -> Option<RegionBounds> {
    let [pp, pr, rp, rr, norm, pitch, roll, ..] = found.upper;
    let all = [pp, pr, rp, rr, norm, pitch, roll];
    let is_certain = found.assembly == Outcome::Holds && all.iter().all(|x| x.is_finite());
    is_certain.then_some(RegionBounds {
        // No entry is larger than the norm.
        rate_error: [[pp, pr], [rp, rr]].map(|row| row.map(|entry| entry.min(norm))),
        rate_error_norm: norm,
        angle_error: [pitch, roll],
    })
}

/// A size in the criterion's unit: rods' sines as the angle that certainly bounds them.
fn told(criterion: Criterion, size: f64) -> f64 {
    match criterion {
        Criterion::TransmissionAngle | Criterion::CrankSide => elementary::arc_sine(-size).lo(),
        Criterion::BallTilt => elementary::arc_sine(size).hi(),
        _ => size,
    }
}

/// The worst seen of all figures of a criterion, those that certainly break it first.
fn worst(found: &Found, criterion: Criterion) -> Option<&Worst> {
    let own = Figure::ALL.iter().zip(&found.worst);
    let own = own.filter(|(figure, _)| figure.criterion() == Some(criterion));
    own.filter_map(|(_, worst)| worst.as_ref())
        .max_by(|a, b| a.is_broken.cmp(&b.is_broken).then(a.size.total_cmp(&b.size)))
}

fn assess(
    question: &RegionQuestion<'_>,
    figures: &RegionFigures,
    found: &Found,
    criterion: Criterion,
) -> Option<Assessment> {
    let limit = question.limits.of(criterion)?;
    let (drawn, drawn_at) = drawn(figures, criterion)?;
    let nominal = Told::new(drawn);
    let own = || {
        let all = Figure::ALL.iter().zip(found.upper);
        all.filter(|(figure, _)| figure.criterion() == Some(criterion))
    };
    let is_clear = found.assembly == Outcome::Holds;
    let holds = is_clear
        && own().all(|(figure, upper)| {
            figure.limit(&question.limits).is_none_or(|[holds, _]| upper <= holds)
        });
    let worst = worst(found, criterion);
    let drawn_breaks = nominal
        .is_none_or(|figure| criterion.margin(figure, limit) < -(criterion.met_within() + DOUBT));
    let is_lost = criterion == Criterion::TransmissionAngle && found.lost.is_some();
    let is_broken = worst.is_some_and(|worst| worst.is_broken);
    let outcome = if is_broken || drawn_breaks || is_lost {
        Outcome::Fails
    } else if holds {
        Outcome::Holds
    } else {
        Outcome::Undecided
    };
    let upper = own().map(|(_, upper)| upper).fold(f64::NEG_INFINITY, f64::max);
    let bound =
        if is_clear && upper.is_finite() { Told::new(told(criterion, upper)) } else { None };
    let seen = worst.filter(|_| is_broken).and_then(|worst| Told::new(told(criterion, worst.size)));
    let by_build = worst.filter(|_| question.basis == Basis::Tolerance);
    Some(Assessment {
        criterion,
        limit,
        basis: question.basis,
        nominal,
        bound,
        seen: seen.or(nominal.filter(|_| drawn_breaks)),
        worst_at_motor: None,
        worst_at_joint: None,
        worst_at_joints: Some(by_build.map_or(drawn_at, |worst| worst.joints)),
        outcome,
        shown: match outcome {
            Outcome::Holds => Shown::Proved,
            Outcome::Fails => Shown::ByPose,
            Outcome::Undecided | Outcome::NotAssessed => Shown::NotShown,
        },
        why: match outcome {
            Outcome::Fails if is_lost && !is_broken && !drawn_breaks => Some(Why::DoesNotClose),
            Outcome::Undecided if is_clear => Some(Why::OutOfBoxes(found.boxes)),
            Outcome::Undecided if found.lost.is_some() => Some(Why::DoesNotClose),
            Outcome::Undecided if found.is_beyond_lengths => Some(Why::BeyondLengths),
            Outcome::Undecided => Some(Why::NearlyFlat),
            Outcome::Holds | Outcome::Fails | Outcome::NotAssessed => None,
        },
    })
}

/// The drawn drive's worst figure of a criterion, and where.
fn drawn(figures: &RegionFigures, criterion: Criterion) -> Option<(f64, [f64; 2])> {
    let rod = |peak: super::RodPeak| (peak.value, peak.joints);
    match criterion {
        Criterion::Angle => {
            let worst = figures.angle_error.into_iter();
            let worst = worst.max_by(|a, b| a.value.abs().total_cmp(&b.value.abs()))?;
            Some((worst.value.abs(), worst.joints))
        }
        Criterion::Ratio => {
            let peak = figures.rate_error_norm;
            Some((peak.value, peak.joints))
        }
        Criterion::TransmissionAngle => Some(rod(figures.transmission_angle)),
        Criterion::CrankSide => figures.crank_side.map(rod),
        Criterion::BallTilt => figures.ball_tilt.map(rod),
        _ => None,
    }
}

/// The build of the failing criterion that is furthest over its limit.
fn witness(criteria: &[Assessment], found: &Found) -> Option<(Criterion, RegionWitness)> {
    let failing = criteria.iter().filter(|c| c.outcome == Outcome::Fails);
    let shown = failing.filter_map(|c| {
        let worst = worst(found, c.criterion).filter(|worst| worst.is_broken)?;
        let value = told(c.criterion, worst.size);
        let build = RegionWitness { sizes: worst.sizes.clone(), joints: worst.joints, value };
        Some((c, build))
    });
    let worst = shown.max_by(|(a, _), (b, _)| a.load().total_cmp(&b.load()));
    let lost = || found.lost.clone().map(|lost| (Criterion::TransmissionAngle, lost));
    worst.map(|(c, build)| (c.criterion, build)).or_else(lost)
}
