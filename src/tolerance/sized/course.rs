//! A build over the stroke: its worst figures.

use crate::drive::{Build, BuildPose, Builds, Counted, Drawing, DriveFault};
use crate::equivalence::{Criterion, DirectJoint, Limits, Zeroing};
use crate::numeric::evenly;
use crate::tolerance::tally::Worst;

use super::spread::SizeSpread;

/// What is asked.
#[derive(Clone, Debug)]
pub struct SizedRequest<'a> {
    /// The drive as drawn.
    pub drawing: &'a Drawing,
    /// The direct joint in its place.
    pub joint: DirectJoint,
    /// The joint's offset where it was given and not searched for, rad.
    pub given_offset: Option<f64>,
    /// How each robot gets its zero.
    pub zeroing: Zeroing,
    /// Joint turns of the stroke, ascending, rad.
    pub joints: [f64; 2],
    /// What a build is held against.
    pub limits: Limits,
    /// How the sizes scatter.
    pub spread: SizeSpread,
    /// Builds to draw; rounded up to whole rounds of all replicates.
    pub samples: u64,
    /// Same seed, same figures.
    pub seed: u64,
}

/// Pieces of the stroke at whose ends every build is looked at; its worst poses lie near the worst of them.
const PIECES: u32 = 32;

/// What all builds over one stroke share.
#[derive(Clone, Debug)]
pub struct Course<'a> {
    pub(super) request: &'a SizedRequest<'a>,
    pub(super) builds: Builds,
    /// The sizes as drawn.
    pub(super) drawn: Vec<f64>,
    nodes: Vec<Node>,
}

#[derive(Clone, Debug)]
struct Node {
    joint: f64,
    sheets: Vec<f64>,
}

/// The worst of one build over the stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Smallest and largest angle error, rad: the joint's turn less that of the direct joint.
    pub angle: [f64; 2],
    /// Smallest and largest i / ratio − 1.
    pub ratio: [f64; 2],
    /// Sine of the smallest transmission angle.
    pub sine: f64,
    /// Smallest and largest arm of the last rod about the joint, m; `None` behind a belt.
    pub arm: Option<[f64; 2]>,
}

impl Seen {
    /// The size of a figure.
    #[must_use]
    pub fn figure(&self, criterion: Criterion) -> Option<f64> {
        let size = |[low, high]: [f64; 2]| f64::max(-low, high);
        match criterion {
            Criterion::Angle => Some(size(self.angle)),
            Criterion::Ratio => Some(size(self.ratio)),
            Criterion::TransmissionAngle => Some(self.sine.clamp(0.0, 1.0).asin()),
            _ => None,
        }
    }

    /// Within what is allowed?
    #[must_use]
    pub fn holds(&self, limits: &Limits) -> bool {
        self.figure(Criterion::Angle).is_some_and(|x| x <= limits.angle)
            && self.figure(Criterion::Ratio).is_some_and(|x| x <= limits.ratio)
            && self.sine >= limits.transmission_angle.sin()
    }
}

impl<'a> Course<'a> {
    /// The stroke of `request`.
    ///
    /// # Errors
    /// A drive that does not run over it.
    pub fn new(request: &'a SizedRequest<'a>) -> Result<Self, DriveFault> {
        let builds = Builds::of(request.drawing)?;
        let node = |joint| builds.sheets(joint).map(|sheets| Node { joint, sheets });
        let nodes = evenly(request.joints, PIECES).map(node).collect::<Result<_, _>>()?;
        let drawn = request.drawing.sizes().into_iter().map(|size| size.value).collect();
        Ok(Self { request, builds, drawn, nodes })
    }

    pub(super) fn counted(&self) -> Counted {
        match self.request.zeroing {
            Zeroing::OnEachRobot => Counted::FromOwnZero,
            Zeroing::AsDrawn => Counted::AsDrawn,
        }
    }

    /// The build with these deviations from the drawing.
    pub(super) fn build(&self, deviations: &[f64], counted: Counted) -> Option<Build> {
        let sizes: Vec<f64> = self.drawn.iter().zip(deviations).map(|(x, d)| x + d).collect();
        self.builds.build(&sizes, counted)
    }

    /// A build at any joint turn of the stroke.
    pub(super) fn pose(&self, build: &Build, joint: f64) -> Option<BuildPose> {
        let [low, high] = self.request.joints;
        let place = (joint - low) / (high - low) * f64::from(PIECES);
        build.at(joint, &self.node(place)?.sheets)
    }

    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the number of nodes first"
    )]
    fn node(&self, place: f64) -> Option<&Node> {
        self.nodes.get(place.round().clamp(0.0, f64::from(PIECES)) as usize)
    }

    /// The worst of the build with these deviations; `None` where it does not close over the stroke.
    #[must_use]
    pub fn seen(&self, deviations: &[f64]) -> Option<Seen> {
        let build = self.build(deviations, self.counted())?;
        let at = |node: &Node| self.figures(node.joint, build.at(node.joint, &node.sheets)?);
        let figures = self.nodes.iter().map(at).collect::<Option<Vec<Figures>>>()?;
        let mut seen = Figures::all(&figures)?;
        for vertex in Figures::vertices(&figures) {
            let [low, high] = self.request.joints;
            let joint = low + (high - low) * vertex / f64::from(PIECES);
            seen.take(self.figures(joint, self.pose(&build, joint)?)?);
        }
        Some(seen)
    }

    /// Angle error (rad) and ratio error of the build with these deviations at even joint turns of the stroke.
    #[must_use]
    pub fn error_courses(&self, deviations: &[f64]) -> Option<Vec<[f64; 2]>> {
        let build = self.build(deviations, self.counted())?;
        let at = |node: &Node| {
            let figures = self.figures(node.joint, build.at(node.joint, &node.sheets)?)?;
            Some([figures.angle, figures.ratio])
        };
        self.nodes.iter().map(at).collect()
    }

    /// How many uniform numbers one build takes.
    pub(in crate::tolerance) fn dimensions(&self) -> usize {
        self.request.spread.dimensions()
    }

    /// Angle error (rad) and ratio error at the joint turns `joints` of the build of these uniform numbers, and the sine of its
    /// smallest transmission angle; `None` where it does not close there.
    pub(in crate::tolerance) fn errors_at(
        &self,
        uniform: &[f64],
        joints: &[f64],
    ) -> Option<(Vec<[f64; 2]>, f64)> {
        let deviations = self.request.spread.deviations_of(uniform);
        let build = self.build(&deviations, self.counted())?;
        let mut sine = f64::INFINITY;
        let at = |joint: &f64| {
            let figures = self.figures(*joint, self.pose(&build, *joint)?)?;
            sine = sine.min(figures.sine);
            Some([figures.angle, figures.ratio])
        };
        let errors = joints.iter().map(at).collect::<Option<Vec<_>>>()?;
        Some((errors, sine.min(1.0)))
    }

    fn figures(&self, joint: f64, pose: BuildPose) -> Option<Figures> {
        let direct = &self.request.joint;
        let figures = Figures {
            angle: joint - pose.motor / direct.ratio - direct.offset,
            ratio: pose.ratio / direct.ratio - 1.0,
            sine: pose.sine,
            arm: pose.arm,
        };
        (figures.angle + figures.ratio + figures.sine).is_finite().then_some(figures)
    }

    /// The same as a tally counts it.
    pub(super) fn worst(&self, deviations: &[f64]) -> Worst<2> {
        let Some(seen) = self.seen(deviations) else {
            return Worst { closes: false, figures: [f64::INFINITY; 2], cosine: 1.0 };
        };
        let of = |criterion| seen.figure(criterion).unwrap_or(f64::NAN);
        Worst {
            closes: true,
            figures: [Criterion::Angle, Criterion::Ratio].map(of),
            cosine: ((1.0 - seen.sine) * (1.0 + seen.sine)).max(0.0).sqrt(),
        }
    }
}

/// Of one pose.
#[derive(Clone, Copy, Debug)]
struct Figures {
    angle: f64,
    ratio: f64,
    sine: f64,
    arm: Option<f64>,
}

impl Figures {
    fn all(figures: &[Self]) -> Option<Seen> {
        let first = figures.first()?;
        let mut seen = Seen {
            angle: [first.angle; 2],
            ratio: [first.ratio; 2],
            sine: first.sine,
            arm: first.arm.map(|arm| [arm; 2]),
        };
        figures.iter().for_each(|figures| seen.take(*figures));
        Some(seen)
    }

    /// Where parabolas through the worst node of each figure and its neighbours turn, as places among the nodes.
    fn vertices(figures: &[Self]) -> impl Iterator<Item = f64> {
        let of = |pick: fn(&Self) -> f64, sense: f64| vertex(figures, pick, sense);
        let found = [
            of(|f| f.angle, 1.0),
            of(|f| f.angle, -1.0),
            of(|f| f.ratio, 1.0),
            of(|f| f.ratio, -1.0),
            of(|f| f.sine, -1.0),
        ];
        found.into_iter().flatten()
    }
}

/// Of the largest `sense` × figure.
fn vertex(figures: &[Figures], pick: fn(&Figures) -> f64, sense: f64) -> Option<f64> {
    let at = |k: usize| figures.get(k).map(|f| sense * pick(f));
    let best = (0..figures.len())
        .max_by(|a, b| at(*a).unwrap_or(f64::NAN).total_cmp(&at(*b).unwrap_or(f64::NAN)))?;
    let middle = best.clamp(1, figures.len().saturating_sub(2));
    let [before, here, after] = [at(middle - 1)?, at(middle)?, at(middle + 1)?];
    let bend = before - 2.0 * here + after;
    let off = 0.5 * (before - after) / bend;
    let node = f64::from(u32::try_from(middle).ok()?);
    (bend < 0.0 && off.abs() < 1.0).then_some(node + off)
}

impl Seen {
    fn take(&mut self, figures: Figures) {
        let wider = |[low, high]: [f64; 2], x: f64| [low.min(x), high.max(x)];
        self.angle = wider(self.angle, figures.angle);
        self.ratio = wider(self.ratio, figures.ratio);
        self.sine = self.sine.min(figures.sine);
        self.arm = self.arm.zip(figures.arm).map(|(arm, x)| wider(arm, x));
    }
}
