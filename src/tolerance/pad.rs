//! The worst figures of a pad on the coupler, build by build: each pose in closed form, at even poses of the stroke.
//!
//! ```text
//! T = a e + R(Δ) t      tilt error = Δ − κ x      place = ν·(T − T₀) − ν·m(x)      grip error = n·T′/m_n′(x) − 1
//! ```
//!
//! as in `equivalence::pad`, where the same is bounded; cos Δ and sin Δ from the coupler's direction against that of the
//! zero pose, so that no angle is needed. What lies between two poses is not seen: the figures are a little below the
//! worst, by a share of about an eighth of the square of the step. Assembly and transmission angle are exact.

use std::f64::consts::PI;

use crate::equivalence::{Finger, PadMotion, Zeroing};
use crate::linkage::{Branch, Closure, FourBar, Half, Pose, Stroke};
use crate::numeric::evenly;
use crate::numeric::sampling::Sequence;

use super::built_linkage::BuiltLinkage;
use super::constants::{Scatter, scatter};
use super::request::Request;
use super::stroke_grid::{Reach, Zero};
use super::tally::Worst;

/// Poses of a stroke at least, and the longest way from one to the next, rad.
const POSES: u32 = 65;
const LONGEST: f64 = 0.05;
const MOST: f64 = 4096.0;

/// What the stroke is to every build.
#[derive(Clone, Debug)]
pub(super) struct PadGrid {
    finger: Finger,
    closure: Closure,
    zero_crank: f64,
    zero: Zero,
    reach: Reach,
    /// Coupler vector and crank pin of the drawn zero pose, where errors count from the drawing.
    drawn: Option<[[f64; 2]; 2]>,
    nodes: Vec<Node>,
}

/// A pose of the stroke.
#[derive(Clone, Copy, Debug)]
struct Node {
    /// Crank turn, rad.
    turn: f64,
    /// Of the crank angle without any error.
    half: Half,
    /// Cosine and sine of the stand-in's tilt.
    tilt: [f64; 2],
    /// The stand-in's place along n and across it, m.
    place: [f64; 2],
    /// The stand-in's travel along n for each motor turn, m/rad.
    rate: f64,
}

impl Node {
    /// The stand-in where its crank has turned by `turn`, rad.
    fn of_model(finger: &Finger, turn: f64) -> Self {
        let model = finger.motion.at(finger.pad.closing, turn);
        let (sin, cos) = libm::sincos(model.tilt);
        Self {
            turn,
            half: Half { sin: 0.0, cos: 1.0 },
            tilt: [cos, sin],
            place: [finger.pad.closing, finger.pad.across].map(|way| dot(way, model.moved)),
            rate: model.force_rate,
        }
    }
}

/// How many poses a stroke of `turns` is looked at in.
pub(super) fn poses(turns: [f64; 2]) -> u32 {
    let wanted = ((turns[1] - turns[0]) / LONGEST).ceil().clamp(0.0, MOST);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped just before"
    )]
    POSES.max(wanted as u32 + 1)
}

fn dot(p: [f64; 2], q: [f64; 2]) -> f64 {
    p[0] * q[0] + p[1] * q[1]
}

fn less(p: [f64; 2], q: [f64; 2]) -> [f64; 2] {
    [p[0] - q[0], p[1] - q[1]]
}

fn left([x, y]: [f64; 2]) -> [f64; 2] {
    [-y, x]
}

/// `v` turned by the angle of this cosine and sine.
fn turned([x, y]: [f64; 2], [cos, sin]: [f64; 2]) -> [f64; 2] {
    [x * cos - y * sin, x * sin + y * cos]
}

fn pin(pose: &Pose) -> [f64; 2] {
    pose.e.map(|x| pose.bars.crank * x)
}

impl PadGrid {
    /// Over the stroke of `request`, for its `finger`.
    pub(super) fn new(request: &Request<'_>, finger: Finger) -> Self {
        let (branch, turns) = (request.branch, request.turns);
        let drawn = (request.zeroing == Zeroing::AsDrawn)
            .then(|| branch.pose(0.0).ok().map(|pose| [pose.coupler_vector(), pin(&pose)]))
            .flatten();
        let node = |turn: f64| Node {
            half: Half::of_angle(branch.zero_crank() + turn),
            ..Node::of_model(&finger, turn)
        };
        Self {
            finger,
            closure: branch.closure(),
            zero_crank: branch.zero_crank(),
            zero: Zero::of(branch, request.zeroing),
            reach: Reach::new(branch.zero_crank(), turns),
            drawn,
            nodes: evenly(turns, poses(turns) - 1).map(node).collect(),
        }
    }

    /// Largest tilt, shift, opening and grip error of the build `bars` whose crank is `error` (rad) off in the zero pose.
    pub(super) fn worst(&self, bars: &FourBar, error: f64) -> Worst<4> {
        self.worst_of(bars, error, self.nodes.iter().copied())
    }

    /// The same behind a drive that is off its direct joint by `errors` (angle in rad, ratio) at each pose.
    pub(super) fn worst_behind(&self, bars: &FourBar, error: f64, errors: &[[f64; 2]]) -> Worst<4> {
        let shifted = self.nodes.iter().zip(errors).map(|(node, [angle, ratio])| {
            let model = Node::of_model(&self.finger, node.turn - angle);
            Node { half: node.half, turn: node.turn, rate: model.rate * (1.0 + ratio), ..model }
        });
        self.worst_of(bars, error, shifted)
    }

    fn worst_of(&self, bars: &FourBar, error: f64, nodes: impl Iterator<Item = Node>) -> Worst<4> {
        let cosine = self.largest_cosine(bars, error);
        let figures = if cosine < 1.0 { self.figures(bars, error, nodes) } else { None };
        Worst { closes: figures.is_some(), figures: figures.unwrap_or([f64::INFINITY; 4]), cosine }
    }

    fn largest_cosine(&self, bars: &FourBar, error: f64) -> f64 {
        let (sin, cos) = libm::sincos(error);
        let lengths = [bars.crank, bars.coupler, bars.rocker, bars.ground];
        BuiltLinkage::of(lengths, [cos, sin], &self.zero).largest_cosine(&self.reach, error)
    }

    fn figures(
        &self,
        bars: &FourBar,
        error: f64,
        nodes: impl Iterator<Item = Node>,
    ) -> Option<[f64; 4]> {
        let zero = bars.at(self.zero_crank + error, self.closure).ok()?;
        let [coupler, from] = self.drawn.unwrap_or([zero.coupler_vector(), pin(&zero)]);
        let off = Half::of_angle(error);
        let mut worst = [0.0_f64; 4];
        let (mut sine, mut faces) = (0.0_f64, true);
        for node in nodes {
            let Half { sin, cos } = node.half;
            let half =
                Half { sin: sin * off.cos + cos * off.sin, cos: cos * off.cos - sin * off.sin };
            let pose = bars.pose(half, self.closure)?;
            let seen = self.seen(&pose, &node, coupler, from);
            sine = sine.max(seen.error[1].abs());
            faces &= seen.error[0] > 0.0;
            for (most, figure) in worst.iter_mut().zip(seen.figures) {
                // Where the stand-in stands still its force has no bound.
                *most = if figure.is_nan() { f64::INFINITY } else { most.max(figure) };
            }
        }
        worst[0] = if faces { libm::asin(sine.min(1.0)) } else { PI };
        Some(worst)
    }

    fn seen(&self, pose: &Pose, node: &Node, coupler: [f64; 2], from: [f64; 2]) -> Seen {
        let pad = &self.finger.pad;
        let now = pose.coupler_vector();
        let size = libm::sqrt(dot(now, now) * dot(coupler, coupler));
        let tilt = [dot(coupler, now), dot(left(coupler), now)].map(|x| x / size);
        let arm = turned(pad.point, tilt);
        let to = pin(pose);
        let moved = less(to, from);
        let moved = [moved[0] + arm[0] - pad.point[0], moved[1] + arm[1] - pad.point[1]];
        let rate = dot(pad.closing, left(to)) + pose.coupler_rate() * dot(pad.closing, left(arm));
        let [along, across] = node.place;
        let [cos, sin] = node.tilt;
        Seen {
            error: turned(tilt, [cos, -sin]),
            figures: [
                0.0,
                (dot(pad.across, moved) - across).abs(),
                pad.fingers * (dot(pad.closing, moved) - along).abs(),
                (rate / node.rate - 1.0).abs(),
            ],
        }
    }
}

/// A build in one pose.
struct Seen {
    /// Cosine and sine of its tilt less the stand-in's.
    error: [f64; 2],
    /// Shift, opening and grip error, from the second on.
    figures: [f64; 4],
}

/// How the multiplier that follows the coupler best on the mean over the stroke scatters about the emitted one, and over
/// how many builds; `None` where the stand-in has none.
pub(super) fn own_multiplier(
    request: &Request<'_>,
    sequences: &[Sequence],
    each: u32,
) -> Option<(u64, Scatter)> {
    let motion = request.finger?.motion;
    if motion.stand_in != crate::equivalence::PadStandIn::Counter {
        return None;
    }
    let drawn = mean(request.branch, request.turns)?;
    let moved = |deviations: [f64; 5]| {
        let (bars, drawn_branch) = (request.bars_with(deviations), request.branch);
        let zero = drawn_branch.zero_crank() + deviations[4];
        let branch = Branch::through(bars, zero, drawn_branch.closure()).ok()?;
        Some([mean(&branch, request.turns)? - drawn, 0.0])
    };
    let centre = [motion.multiplier(), 0.0];
    let (builds, [multiplier, _], _) = scatter(&request.spread, sequences, each, centre, &moved)?;
    Some((builds, multiplier))
}

fn mean(branch: &Branch, turns: [f64; 2]) -> Option<f64> {
    let stroke = Stroke { motor: turns, joint: [0.0; 2] };
    PadMotion::mean_multiplier(branch, &stroke).ok()
}
