//! Where the velocity ratio is stationary: isolated by bisecting the stroke with interval arithmetic.
//!
//! A piece is done when the slope of the ratio certainly has one sign, or its curvature certainly has one, or the ratio
//! certainly stays the same to the last digits. Close to a change point the enclosures are too wide for that; there a
//! piece is done when it is short against its distance from everything that the ratio, as a function of a complex crank
//! angle, breaks down at: it is a swiftly converging power series over such a piece, and its ends tell.
//!
//! ```text
//! breaks down where   cos²(φ/2) = −T₃ Σ/4ag    sin²(φ/2) = −T₁T₂/4ag    sin²(φ/2) = −(g − a)²/4ag
//! ```
//!
//! that is, at crank limits and, off the real line, above 0 and 180 deg. Derived here.

use std::f64::consts::{PI, TAU};

use crate::numeric::{Interval, roots};

use super::branch::Branch;
use super::four_bar::FourBar;
use super::pose::{Half, PoseOf};

/// Pieces of the stroke wider than this, rad, are halved without a look.
const WIDEST: f64 = std::f64::consts::FRAC_PI_4;

/// No piece is halved that is shorter than this, rad: its ends decide.
const SHORTEST: f64 = 1e-12;

/// Nor one that is shorter than this share of its distance from where the ratio breaks down.
const SHORT: f64 = 1.0 / 128.0;

/// A change of the ratio below this is none.
const FLAT: f64 = 4e-15;

/// No stroke has more turns of the crank.
const MOST_TURNS: u32 = 201;

/// Motor turns inside the stroke at which the velocity ratio is stationary. Every turn of the crank is like the first,
/// which is looked through a little further than once, so that none is lost at the seam.
pub(super) fn stationary_turns(branch: &Branch, motor: [f64; 2]) -> Vec<f64> {
    let [from, to] = motor;
    let first = stationary_in(branch, [from, to.min(from + TAU + 1e-3)]);
    let again = |turn: f64| {
        let later = move |k: u32| turn + f64::from(k) * TAU;
        (0..MOST_TURNS).map(later).take_while(move |&later| later <= to)
    };
    first.into_iter().flat_map(again).collect()
}

fn stationary_in(branch: &Branch, [from, to]: [f64; 2]) -> Vec<f64> {
    let bars = branch.bars().exactly();
    let breaks = Breaks::of(branch.bars());
    let slope = |turn: f64| branch.pose(turn).map_or(f64::NAN, |p| p.velocity_ratio_slope());
    let mut found = Vec::new();
    let mut pieces = vec![Interval::new(from, to)];
    while let Some(piece) = pieces.pop() {
        let width = piece.hi() - piece.lo();
        let coarse = width > WIDEST;
        let shape = if coarse { Shape::Unknown } else { shape_over(branch, &bars, piece) };
        match shape {
            Shape::Monotone => {}
            Shape::Unknown if coarse || !is_short(width, breaks.distance(branch, piece)) => {
                pieces.extend(piece.halves());
            }
            Shape::Settled | Shape::Unknown => {
                if slope(piece.lo()) * slope(piece.hi()) <= 0.0 {
                    found.push(roots::bracketed(slope, piece.lo(), piece.hi()));
                }
            }
        }
    }
    found
}

fn is_short(width: f64, distance: f64) -> bool {
    width <= SHORTEST || width <= SHORT * distance
}

/// Where the ratio breaks down, as a function of a complex crank angle: real angles with their mirror images, and the
/// least height above 0 and above 180 deg.
struct Breaks {
    real: [Option<f64>; 2],
    above: [f64; 2],
}

impl Breaks {
    fn of(bars: &FourBar) -> Self {
        let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *bars;
        let [t1, t2, t3] = bars.signs();
        let four_ag = 4.0 * a * g;
        let (folded, stretched) = (-t1 * t2 / four_ag, -t3 * (a + b + c + g) / four_ag);
        let closed_up = height((g - a) * (g - a) / four_ag);
        let real = |share: f64| (share > 0.0).then(|| 2.0 * libm::asin(share.min(1.0).sqrt()));
        Self {
            real: [real(folded), real(stretched).map(|angle| PI - angle)],
            above: [height((-folded).max(0.0)).min(closed_up), height((-stretched).max(0.0))],
        }
    }

    /// From the piece of motor turns to the nearest of them, rad; never above the true distance.
    fn distance(&self, branch: &Branch, piece: Interval) -> f64 {
        let phi = branch.zero_crank() + piece.mid();
        let from = |angle: f64| libm::remainder(phi - angle, TAU).abs();
        let [at_zero, at_half_turn] = self.above;
        let complex = from(0.0).hypot(at_zero).min(from(PI).hypot(at_half_turn));
        let real = self.real.iter().flatten().map(|&angle| from(angle).min(from(-angle)));
        real.fold(complex, f64::min) - 0.5 * piece.width()
    }
}

/// y with sinh²(y/2) = `share`.
fn height(share: f64) -> f64 {
    2.0 * libm::asinh(share.sqrt())
}

/// What is certain about the velocity ratio over a piece of the stroke.
enum Shape {
    /// No stationary pose inside.
    Monotone,
    /// At most one stationary pose inside, or none that makes a difference: the ends decide.
    Settled,
    /// Neither is certain.
    Unknown,
}

fn shape_over(branch: &Branch, bars: &FourBar<Interval>, piece: Interval) -> Shape {
    let crank = |turn: Interval| Interval::point(branch.zero_crank()) + turn;
    let pose = |turn: Interval| bars.pose(Half::of_range(crank(turn)), branch.closure());
    let Some(over) = pose(piece) else {
        return Shape::Unknown;
    };
    let slope = over.velocity_ratio_slope();
    let curvature = over.velocity_ratio_curvature();
    let middle = Interval::point(piece.mid());
    let tighter = pose(middle)
        .map(|p: PoseOf<Interval>| p.velocity_ratio_slope() + curvature * (piece - middle));
    let slope = tighter.and_then(|t| t.intersection(slope)).unwrap_or(slope);
    let change = slope.magnitude() * piece.width();
    let flat = change <= FLAT * over.velocity_ratio().magnitude().max(1.0);
    if !slope.contains(0.0) {
        Shape::Monotone
    } else if flat || !curvature.contains(0.0) {
        Shape::Settled
    } else {
        Shape::Unknown
    }
}
