//! The worst figures of many built linkages at once.
//!
//! A block of linkages runs through the same crank directions; at each node one square root and one division a
//! linkage, no trigonometry. The worst angle error is refined by the cubic through the two best neighbouring nodes
//! (its slope, velocity ratio less the direct joint's, is known for free), the worst ratio error by a parabola.
//!
//! ```text
//! u = (K h + S h⊥)/h²    r = a (w·e⊥)/(c S)    sin(error) = u_direct × u    its slope: cos(error)·(r − 1/ratio)
//! ```

use crate::equivalence::{DirectJoint, Zeroing};
use crate::linkage::Branch;
use crate::numeric::wide::widely;

/// Linkages in a block.
pub const LANES: usize = 64;

/// Nodes over the stroke.
const NODES: usize = 25;

/// One build's worst figures over the stroke.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Worst {
    /// Its loop closes in every pose of the stroke and in its zero pose.
    pub closes: bool,
    /// Largest |angle error|, rad.
    pub angle: f64,
    /// Largest |i / ratio − 1|; infinite where the rocker turns back.
    pub ratio: f64,
    /// Largest |cos| of the angle between coupler and rocker.
    pub cosine: f64,
    /// The transmission ratio that fits this build best (least squares of the joint angle).
    pub own_ratio: f64,
    /// The offset that goes with it, rad.
    pub own_offset: f64,
}

/// A block of builds: lengths and the crank's error in the zero pose, one linkage a lane.
#[derive(Clone, Debug)]
pub struct Builds {
    /// Crank, coupler, rocker, ground, each in m.
    pub lengths: [[f64; LANES]; 4],
    /// Crank angle in the zero pose less the drawn one, rad.
    pub crank_error: [f64; LANES],
}

type Lane = [f64; LANES];

/// Everything about the stroke that all builds share.
#[derive(Clone, Debug)]
pub(super) struct Course {
    sign: f64,
    slope: f64,
    ratio: f64,
    offset: f64,
    /// Direction of the rocker in the drawn zero pose, where errors count from the drawing.
    drawn_zero: Option<[f64; 2]>,
    zero: [f64; 2],
    zero_crank: f64,
    nodes: [Node; NODES],
    turns: [f64; 2],
}

#[derive(Clone, Copy, Debug, Default)]
struct Node {
    turn: f64,
    crank: [f64; 2],
    direct: [f64; 2],
    fit_slope: f64,
    fit_offset: f64,
}

impl Course {
    /// Over the motor turns `turns` of `branch` with the direct joint `joint`.
    pub(super) fn new(
        branch: &Branch,
        joint: &DirectJoint,
        zeroing: Zeroing,
        turns: [f64; 2],
    ) -> Self {
        let direction = |angle: f64| {
            let (sin, cos) = libm::sincos(angle);
            [cos, sin]
        };
        let slope = 1.0 / joint.ratio;
        let mut nodes = [Node::default(); NODES];
        for (node, turn) in nodes.iter_mut().zip(even(turns)) {
            node.turn = turn;
            node.crank = direction(branch.zero_crank() + turn);
            node.direct = direction(slope * turn + joint.offset);
        }
        fit_weights(&mut nodes);
        Self {
            sign: branch.closure().sign(),
            slope,
            ratio: joint.ratio,
            offset: joint.offset,
            drawn_zero: match zeroing {
                Zeroing::OnEachRobot => None,
                Zeroing::AsDrawn => Some(direction(branch.zero_crank() + branch.zero_lead())),
            },
            zero: direction(branch.zero_crank()),
            zero_crank: branch.zero_crank(),
            nodes,
            turns,
        }
    }
}

fn even(turns: [f64; 2]) -> impl Iterator<Item = f64> {
    let step = (turns[1] - turns[0]) / 24.0;
    (0..NODES).scan(0.0, move |k, _| {
        let turn = turns[0] + step * *k;
        *k += 1.0;
        Some(turn)
    })
}

/// Weights of the straight line through the errors by least squares: its slope and its value at turn 0.
fn fit_weights(nodes: &mut [Node; NODES]) {
    let count = 25.0;
    let mean = nodes.iter().map(|n| n.turn).sum::<f64>() / count;
    let square: f64 = nodes.iter().map(|n| (n.turn - mean).powi(2)).sum();
    for node in nodes.iter_mut() {
        node.fit_slope = (node.turn - mean) / square;
        node.fit_offset = 1.0 / count - mean * node.fit_slope;
    }
}

/// What the nodes say of a block.
struct Readings {
    sine: [Lane; NODES],
    /// Slope of the sine per motor turn.
    sine_slope: [Lane; NODES],
    cosine: [Lane; NODES],
    /// Relative ratio error 1/(r·ratio) − 1.
    ratio: [Lane; NODES],
    /// r · ratio: at or below 0 the rocker turns the wrong way.
    sense: [Lane; NODES],
}

impl Readings {
    const fn empty() -> Self {
        let table = [[0.0; LANES]; NODES];
        Self { sine: table, sine_slope: table, cosine: table, ratio: table, sense: table }
    }
}

/// A worker's memory, used again for every block.
pub(super) struct Bench {
    readings: Box<Readings>,
}

impl Bench {
    pub(super) fn new() -> Self {
        Self { readings: Box::new(Readings::empty()) }
    }

    /// The worst figures of every build of a block.
    pub(super) fn run(&mut self, course: &Course, builds: &Builds) -> [Worst; LANES] {
        read_nodes(course, builds, &mut self.readings);
        let mut worst = [Worst::default(); LANES];
        for (lane, slot) in worst.iter_mut().enumerate() {
            *slot = self.readings.worst(course, builds, lane);
        }
        worst
    }
}

fn read_nodes(course: &Course, builds: &Builds, readings: &mut Readings) {
    let start = Start::of(course, builds);
    for (index, node) in course.nodes.iter().enumerate() {
        let (Some(sine), Some(slope), Some(cosine), Some(ratio), Some(sense)) = (
            readings.sine.get_mut(index),
            readings.sine_slope.get_mut(index),
            readings.cosine.get_mut(index),
            readings.ratio.get_mut(index),
            readings.sense.get_mut(index),
        ) else {
            return;
        };
        widely(|| {
            read_node(
                course,
                node,
                builds,
                &start,
                NodeReadings { sine, slope, cosine, ratio, sense },
            )
        });
    }
}

/// What a lane needs of its zero pose.
struct Start {
    /// Cosine and sine of the crank's error.
    turned: [Lane; 2],
    /// Where the direct joint points at turn 0 less its offset.
    zero: [Lane; 2],
}

impl Start {
    fn of(course: &Course, builds: &Builds) -> Self {
        let mut start = Self { turned: [[1.0; LANES], [0.0; LANES]], zero: [[0.0; LANES]; 2] };
        for (lane, error) in builds.crank_error.iter().enumerate() {
            if *error != 0.0 {
                let (sin, cos) = libm::sincos(*error);
                put(&mut start.turned, lane, [cos, sin]);
            }
            let crank = turned(course.zero, get(&start.turned, lane));
            let zero =
                course.drawn_zero.unwrap_or_else(|| rocker(&builds.bars(lane), crank, course.sign));
            put(&mut start.zero, lane, zero);
        }
        start
    }
}

fn put(table: &mut [Lane; 2], lane: usize, value: [f64; 2]) {
    for (row, x) in table.iter_mut().zip(value) {
        if let Some(slot) = row.get_mut(lane) {
            *slot = x;
        }
    }
}

fn get(table: &[Lane; 2], lane: usize) -> [f64; 2] {
    [0, 1].map(|row: usize| table.get(row).and_then(|r| r.get(lane)).copied().unwrap_or(f64::NAN))
}

fn turned(v: [f64; 2], by: [f64; 2]) -> [f64; 2] {
    [v[0] * by[0] - v[1] * by[1], v[1] * by[0] + v[0] * by[1]]
}

/// The rocker's direction for the crank direction `e`.
fn rocker([a, b, c, g]: &[f64; 4], e: [f64; 2], sign: f64) -> [f64; 2] {
    let h = [a * e[0] - g, a * e[1]];
    let h2 = h[0] * h[0] + h[1] * h[1];
    let k = ((c - b) * (c + b) + h2) / (2.0 * c);
    let s = sign * (h2 - k * k).sqrt();
    [(k * h[0] - s * h[1]) / h2, (k * h[1] + s * h[0]) / h2]
}

struct NodeReadings<'a> {
    sine: &'a mut Lane,
    slope: &'a mut Lane,
    cosine: &'a mut Lane,
    ratio: &'a mut Lane,
    sense: &'a mut Lane,
}

#[inline(always)]
#[allow(
    clippy::indexing_slicing,
    reason = "every lane index stays below LANES, the length of every array"
)]
fn read_node(course: &Course, node: &Node, builds: &Builds, start: &Start, into: NodeReadings<'_>) {
    let [lane_a, lane_b, lane_c, lane_g] = &builds.lengths;
    let (sign, slope, ratio) = (course.sign, course.slope, course.ratio);
    let ([px, py], [tx, ty]) = (node.crank, node.direct);
    for i in 0..LANES {
        let (a, b, c, g) = (lane_a[i], lane_b[i], lane_c[i], lane_g[i]);
        let (cd, sd) = (start.turned[0][i], start.turned[1][i]);
        let (ex, ey) = (px * cd - py * sd, py * cd + px * sd);
        let (hx, hy) = (a * ex - g, a * ey);
        let h2 = hx * hx + hy * hy;
        // c times K and c times S, so that one division serves all.
        let ck = 0.5 * ((c - b) * (c + b) + h2);
        let cs = sign * (c * c * h2 - ck * ck).sqrt();
        let per = 1.0 / (h2 * cs * c);
        let (vx, vy) = (ck * hx - cs * hy, ck * hy + cs * hx);
        let (ux, uy) = (vx * cs * per, vy * cs * per);
        let (wx, wy) = (vx - h2 * hx, vy - h2 * hy);
        let r = a * (wy * ex - wx * ey) * (per * c);
        let (zx, zy) = (start.zero[0][i], start.zero[1][i]);
        let (dx, dy) = (zx * tx - zy * ty, zy * tx + zx * ty);
        let (sine, cosine) = (dx * uy - dy * ux, dx * ux + dy * uy);
        into.sine[i] = sine;
        into.cosine[i] = cosine;
        into.slope[i] = cosine * (r - slope);
        into.sense[i] = r * ratio;
        into.ratio[i] = r;
    }
}

impl Builds {
    /// Crank, coupler, rocker, ground of one lane.
    fn bars(&self, lane: usize) -> [f64; 4] {
        self.lengths.map(|row| row.get(lane).copied().unwrap_or(f64::NAN))
    }
}

impl Readings {
    fn worst(&self, course: &Course, builds: &Builds, lane: usize) -> Worst {
        let error = builds.crank_error.get(lane).copied().unwrap_or(0.0);
        let cosine = course.largest_cosine(&builds.bars(lane), error);
        if cosine >= 1.0 {
            return Worst { closes: false, cosine, ..Worst::default() };
        }
        let row =
            |table: &[Lane; NODES]| table.map(|node| node.get(lane).copied().unwrap_or(f64::NAN));
        let (sine, slope, facing) = (row(&self.sine), row(&self.sine_slope), row(&self.cosine));
        let angle = if facing.iter().all(|x| *x > 0.0) {
            largest_sine(&sine, &slope, course.step()).min(1.0).asin()
        } else {
            sine.iter().zip(facing).map(|(s, c)| libm::atan2(*s, c).abs()).fold(0.0, f64::max)
        };
        let ratio = if row(&self.sense).iter().all(|x| *x > 0.0) {
            largest_ratio_error(&row(&self.ratio), course.slope)
        } else {
            f64::INFINITY
        };
        let (own_ratio, own_offset) = course.fit(&sine);
        Worst { closes: true, angle, ratio, cosine, own_ratio, own_offset }
    }
}

/// The largest |sine|: at a node, or where the cubic of a neighbouring cell turns.
fn largest_sine(sine: &[f64; NODES], slope: &[f64; NODES], step: f64) -> f64 {
    let best = sine.iter().map(|s| s.abs()).fold(0.0, f64::max);
    let cells = sine.windows(2).zip(slope.windows(2));
    cells
        .filter_map(|(s, d)| match (s, d) {
            // Only a cell whose ends slope against each other next to a high node can hold a higher top.
            ([s0, s1], [d0, d1]) if d0 * d1 < 0.0 && s0.abs().max(s1.abs()) > 0.8 * best => {
                Some(top_of_cubic(*s0, *s1, d0 * step, d1 * step).abs())
            }
            _ => None,
        })
        .fold(best, f64::max)
}

/// The value of the cubic with end values and end slopes (per cell) where its slope is 0.
fn top_of_cubic(s0: f64, s1: f64, d0: f64, d1: f64) -> f64 {
    let rise = s1 - s0;
    let (cubic, square) = (d0 + d1 - 2.0 * rise, 3.0 * rise - 2.0 * d0 - d1);
    // 3 cubic t² + 2 square t + d0 = 0, by the stable form.
    let root = (square * square - 3.0 * cubic * d0).max(0.0).sqrt();
    let q = -(square + square.signum() * root);
    let inside = |t: f64| (0.0..=1.0).contains(&t);
    let candidates = [q / (3.0 * cubic), d0 / q];
    let t = candidates.into_iter().find(|t| inside(*t)).unwrap_or(0.0);
    s0 + t * (d0 + t * (square + t * cubic))
}

/// The largest |slope/r − 1|: at a node or at the top of the parabola through three.
fn largest_ratio_error(r: &[f64; NODES], slope: f64) -> f64 {
    let error = |r: f64| (slope / r - 1.0).abs();
    let best = r.iter().map(|r| error(*r)).fold(0.0, f64::max);
    let turns = |a: f64, b: f64, c: f64| (b - a) * (c - b) < 0.0;
    let inner = r.windows(5).filter_map(|w| match *w {
        [a, b, c, d, e] if turns(b, c, d) => Some(top_of_five([a, b, c, d, e])),
        _ => None,
    });
    let [first, second, third, .., x, y, z] = *r;
    let ends = [[first, second, third], [x, y, z]];
    let outer = ends.into_iter().filter(|[a, b, c]| turns(*a, *b, *c)).map(top_of_three);
    inner.chain(outer).map(error).fold(best, f64::max)
}

/// The extreme of the parabola through three even values.
fn top_of_three([a, b, c]: [f64; 3]) -> f64 {
    let (first, second) = (0.5 * (c - a), c + a - 2.0 * b);
    b - 0.5 * first * first / second
}

/// The extreme near the middle of five even values: one step from the parabola's top on the quartic through all.
fn top_of_five([a, b, c, d, e]: [f64; 5]) -> f64 {
    let first = (8.0 * (d - b) - (e - a)) / 12.0;
    let second = (16.0 * (d + b) - (e + a) - 30.0 * c) / 12.0;
    let third = (e - a - 2.0 * (d - b)) / 2.0;
    let fourth = e + a - 4.0 * (d + b) + 6.0 * c;
    let slope = |t: f64| first + t * (second + t * (third / 2.0 + t * fourth / 6.0));
    let bend = |t: f64| second + t * (third + t * fourth / 2.0);
    let mut t = (-first / second).clamp(-1.0, 1.0);
    t = (t - slope(t) / bend(t)).clamp(-1.0, 1.0);
    c + t * (first + t * (second / 2.0 + t * (third / 6.0 + t * fourth / 24.0)))
}

impl Course {
    fn step(&self) -> f64 {
        (self.turns[1] - self.turns[0]) / 24.0
    }

    /// Largest |cos| of the angle at Q from the zero pose over the stroke: the diagonal is monotone between the poses
    /// in which the crank lies along the ground line.
    fn largest_cosine(&self, [a, b, c, g]: &[f64; 4], error: f64) -> f64 {
        let zero = self.zero_crank + error;
        let (from, to) = (zero + self.turns[0].min(0.0), zero + self.turns[1].max(0.0));
        let at = |cos: f64| {
            let h2 = a * a + g * g - 2.0 * a * g * cos;
            ((b * b + c * c - h2) / (2.0 * b * c)).abs()
        };
        let crossing = |cos: f64, phase: f64| {
            let turns = ((from - phase) / std::f64::consts::TAU).ceil();
            if turns * std::f64::consts::TAU + phase <= to { at(cos) } else { 0.0 }
        };
        at(libm::cos(from))
            .max(at(libm::cos(to)))
            .max(crossing(1.0, 0.0))
            .max(crossing(-1.0, std::f64::consts::PI))
    }

    /// Ratio and offset of the straight line through this build's joint angles.
    fn fit(&self, sine: &[f64; NODES]) -> (f64, f64) {
        let (mut slope, mut offset) = (self.slope, self.offset);
        for (node, s) in self.nodes.iter().zip(sine) {
            // asin to 1e-9 for errors below 10 deg.
            let s2 = s * s;
            let error = s * (1.0 + s2 * (1.0 / 6.0 + s2 * (0.075 + s2 * 15.0 / 336.0)));
            slope += node.fit_slope * error;
            offset += node.fit_offset * error;
        }
        (1.0 / slope, offset)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equivalence::{Constants, Figures};
    use crate::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};

    #[test]
    fn a_block_agrees_with_the_exact_extremes_of_each_build() {
        let drawn = FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 };
        let branch = Branch::through(drawn, 1.4, Closure::Open).unwrap();
        let turns = [-0.6, 0.8];
        let stroke = Stroke::on(&branch, Drive::Motor, turns).unwrap();
        let joint = Constants { ratio: None, offset: Some(0.0) }
            .resolve(&Sweep::over(&branch, stroke).unwrap());
        let course = Course::new(&branch, &joint, Zeroing::OnEachRobot, turns);
        let mut builds = Builds { lengths: [[0.0; LANES]; 4], crank_error: [0.0; LANES] };
        for lane in 0..LANES {
            let off = |k: f64| 1.0 + 2e-3 * (k * (lane as f64 + 1.0)).sin();
            for (row, nominal) in [(0, 0.05), (1, 0.21), (2, 0.06), (3, 0.2)] {
                builds.lengths[row][lane] = nominal * off(row as f64 + 1.3);
            }
            builds.crank_error[lane] = 1e-3 * (lane as f64).cos();
        }
        let worst = Bench::new().run(&course, &builds);
        for (lane, ours) in worst.iter().enumerate() {
            let [crank, coupler, rocker, ground] = builds.bars(lane);
            let bars = FourBar { ground, crank, coupler, rocker };
            let branch =
                Branch::through(bars, 1.4 + builds.crank_error[lane], Closure::Open).unwrap();
            let stroke = Stroke::on(&branch, Drive::Motor, turns).unwrap();
            let exact = Figures::of(&Sweep::over(&branch, stroke).unwrap(), &joint);
            assert!(ours.closes);
            assert!(
                (ours.angle / exact.angle.value - 1.0).abs() < 5e-6,
                "{lane}: {} {}",
                ours.angle,
                exact.angle.value
            );
            assert!(
                (ours.ratio / exact.ratio.value - 1.0).abs() < 5e-6,
                "{lane}: {} {}",
                ours.ratio,
                exact.ratio.value
            );
            assert!((ours.cosine.acos() - exact.transmission_angle.value).abs() < 1e-9);
        }
    }
}
