//! The worst figures of many built linkages at once.
//!
//! A block of linkages runs through the same crank directions; at each node one square root and one division a
//! linkage, no trigonometry. The worst angle error is refined by the cubic through the two best neighbouring nodes
//! (its slope, velocity ratio less the direct joint's, is known for free), the worst ratio error by a parabola.
//!
//! ```text
//! u = (K h + S h⊥)/h²    r = a (w·e⊥)/(c S)    sin(error) = u_direct × u    its slope: cos(error)·(r − 1/ratio)
//! ```

use crate::numeric::wide::{Work, widely};

use super::course::{Course, Node};
use super::peak;

/// Linkages in a block.
pub const LANES: usize = 32;

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

/// What the nodes say of a block.
struct Readings {
    sine: Vec<Lane>,
    /// Slope of the sine per motor turn.
    sine_slope: Vec<Lane>,
    /// r at each node.
    ratio: Vec<Lane>,
    seen: Seen,
}

/// What was seen so far, lane by lane; nodes as whole numbers in floats.
#[derive(Clone, Copy)]
struct Seen {
    high_sine: Lane,
    high_sine_at: Lane,
    low_sine: Lane,
    low_sine_at: Lane,
    high_ratio: Lane,
    high_ratio_at: Lane,
    low_ratio: Lane,
    low_ratio_at: Lane,
    /// Least cosine of the angle error: at or below 0 it is beyond 90 deg.
    facing: Lane,
    fit_slope: Lane,
    fit_offset: Lane,
}

impl Seen {
    const NOTHING: Self = Self {
        high_sine: [f64::NEG_INFINITY; LANES],
        high_sine_at: [0.0; LANES],
        low_sine: [f64::INFINITY; LANES],
        low_sine_at: [0.0; LANES],
        high_ratio: [f64::NEG_INFINITY; LANES],
        high_ratio_at: [0.0; LANES],
        low_ratio: [f64::INFINITY; LANES],
        low_ratio_at: [0.0; LANES],
        facing: [1.0; LANES],
        fit_slope: [0.0; LANES],
        fit_offset: [0.0; LANES],
    };
}

/// A worker's memory, used again for every block.
pub(super) struct Bench {
    readings: Box<Readings>,
}

impl Bench {
    /// For strokes with the nodes of `course`.
    pub(super) fn new(course: &Course) -> Self {
        let table = vec![[0.0; LANES]; course.nodes.len()];
        let readings = Readings {
            sine: table.clone(),
            sine_slope: table.clone(),
            ratio: table,
            seen: Seen::NOTHING,
        };
        Self { readings: Box::new(readings) }
    }

    /// The worst figures of every build of a block.
    pub(super) fn run(&mut self, course: &Course, builds: &Builds) -> [Worst; LANES] {
        let start = Start::of(course, builds);
        let readings = &mut self.readings;
        if builds.crank_error.iter().all(|error| *error == 0.0) {
            widely(Nodes::<false> { course, builds, start: &start, readings });
        } else {
            widely(Nodes::<true> { course, builds, start: &start, readings });
        }
        let mut worst = [Worst::default(); LANES];
        for (lane, slot) in worst.iter_mut().enumerate() {
            *slot = readings.worst(course, builds, &start, lane);
        }
        worst
    }
}

/// All nodes of a block; `TURNED` where any crank is off in the zero pose.
struct Nodes<'a, const TURNED: bool> {
    course: &'a Course,
    builds: &'a Builds,
    start: &'a Start,
    readings: &'a mut Readings,
}

impl<const TURNED: bool> Work for Nodes<'_, TURNED> {
    #[inline(always)]
    fn run(self) {
        read_nodes::<TURNED>(self.course, self.builds, self.start, self.readings);
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

fn get([x, y]: &[Lane; 2], lane: usize) -> [f64; 2] {
    [of(x, lane), of(y, lane)]
}

fn of(row: &Lane, lane: usize) -> f64 {
    row.get(lane).copied().unwrap_or(f64::NAN)
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

#[inline(always)]
fn read_nodes<const TURNED: bool>(
    course: &Course,
    builds: &Builds,
    start: &Start,
    readings: &mut Readings,
) {
    let mut seen = Seen::NOTHING;
    let tables = readings.sine.iter_mut().zip(&mut readings.sine_slope).zip(&mut readings.ratio);
    let mut index = 0.0;
    for (node, ((sine, slope), ratio)) in course.nodes.iter().zip(tables) {
        read_node::<TURNED>(course, node, builds, start, [sine, slope, ratio], (&mut seen, index));
        index += 1.0;
    }
    readings.seen = seen;
}

#[inline(always)]
#[allow(
    clippy::indexing_slicing,
    reason = "every lane index stays below LANES, the length of every array"
)]
fn read_node<const TURNED: bool>(
    course: &Course,
    node: &Node,
    builds: &Builds,
    start: &Start,
    [sines, slopes, ratios]: [&mut Lane; 3],
    (seen, index): (&mut Seen, f64),
) {
    let [lane_a, lane_b, lane_c, lane_g] = &builds.lengths;
    let (sign, slope) = (course.sign, course.slope);
    let ([px, py], [tx, ty]) = (node.crank, node.direct);
    for i in 0..LANES {
        let (a, b, c, g) = (lane_a[i], lane_b[i], lane_c[i], lane_g[i]);
        let (ex, ey) = if TURNED {
            let (cd, sd) = (start.turned[0][i], start.turned[1][i]);
            (px * cd - py * sd, py * cd + px * sd)
        } else {
            (px, py)
        };
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
        sines[i] = sine;
        slopes[i] = cosine * (r - slope);
        ratios[i] = r;
        let higher = sine > seen.high_sine[i];
        seen.high_sine[i] = if higher { sine } else { seen.high_sine[i] };
        seen.high_sine_at[i] = if higher { index } else { seen.high_sine_at[i] };
        let lower = sine < seen.low_sine[i];
        seen.low_sine[i] = if lower { sine } else { seen.low_sine[i] };
        seen.low_sine_at[i] = if lower { index } else { seen.low_sine_at[i] };
        let faster = r > seen.high_ratio[i];
        seen.high_ratio[i] = if faster { r } else { seen.high_ratio[i] };
        seen.high_ratio_at[i] = if faster { index } else { seen.high_ratio_at[i] };
        let slower = r < seen.low_ratio[i];
        seen.low_ratio[i] = if slower { r } else { seen.low_ratio[i] };
        seen.low_ratio_at[i] = if slower { index } else { seen.low_ratio_at[i] };
        seen.facing[i] = if cosine < seen.facing[i] { cosine } else { seen.facing[i] };
    }
    if node.fit_slope != 0.0 || node.fit_offset != 0.0 {
        add_to_fit(node, sines, seen);
    }
}

/// Adds a node's errors to the straight line through them.
#[inline(always)]
fn add_to_fit(node: &Node, sines: &Lane, seen: &mut Seen) {
    let sums = seen.fit_slope.iter_mut().zip(&mut seen.fit_offset);
    for (sine, (slope, offset)) in sines.iter().zip(sums) {
        // asin to 1e-9 for errors below 10 deg.
        let s2 = sine * sine;
        let error = sine * (1.0 + s2 * (1.0 / 6.0 + s2 * (0.075 + s2 * (15.0 / 336.0))));
        *slope += node.fit_slope * error;
        *offset += node.fit_offset * error;
    }
}

impl Builds {
    /// Crank, coupler, rocker, ground of one lane.
    fn bars(&self, lane: usize) -> [f64; 4] {
        let [a, b, c, g] = &self.lengths;
        [of(a, lane), of(b, lane), of(c, lane), of(g, lane)]
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a node's index, kept in a float, is a small whole number"
)]
fn node(at: f64) -> usize {
    at as usize
}

impl Readings {
    fn worst(&self, course: &Course, builds: &Builds, start: &Start, lane: usize) -> Worst {
        let turned = get(&start.turned, lane);
        let error = of(&builds.crank_error, lane);
        let cosine = course.reach.largest_cosine(&builds.bars(lane), error, turned);
        if cosine >= 1.0 {
            return Worst { closes: false, cosine, ..Worst::default() };
        }
        let fit = course.slope + of(&self.seen.fit_slope, lane);
        Worst {
            closes: true,
            angle: self.angle(course, lane),
            ratio: self.ratio(course.slope, lane),
            cosine,
            own_ratio: 1.0 / fit,
            own_offset: course.offset + of(&self.seen.fit_offset, lane),
        }
    }

    fn at(table: &[Lane], node: usize, lane: usize) -> f64 {
        table.get(node).map_or(f64::NAN, |row| of(row, lane))
    }

    /// Largest |angle error|; beyond 90 deg only that it is so.
    fn angle(&self, course: &Course, lane: usize) -> f64 {
        if of(&self.seen.facing, lane) <= 0.0 {
            return std::f64::consts::PI;
        }
        let top = |side: f64, at: f64| {
            let sine = |k| side * Self::at(&self.sine, k, lane);
            let slope = |k| side * Self::at(&self.sine_slope, k, lane) * course.step;
            peak::of_sloped(self.sine.len(), sine, slope, node(at))
        };
        let high = top(1.0, of(&self.seen.high_sine_at, lane));
        let low = top(-1.0, of(&self.seen.low_sine_at, lane));
        high.max(low).min(1.0).asin()
    }

    /// Largest |slope/r − 1|; infinite where the rocker turns back or the wrong way.
    fn ratio(&self, slope: f64, lane: usize) -> f64 {
        let top = |side: f64, at: f64| {
            side * peak::of_plain(
                self.ratio.len(),
                |k| side * Self::at(&self.ratio, k, lane),
                node(at),
            )
        };
        let high = top(1.0, of(&self.seen.high_ratio_at, lane));
        let low = top(-1.0, of(&self.seen.low_ratio_at, lane));
        if high * slope <= 0.0 || low * slope <= 0.0 {
            return f64::INFINITY;
        }
        (slope / high - 1.0).abs().max((slope / low - 1.0).abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equivalence::{Constants, Figures, Zeroing};
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
        let worst = Bench::new(&course).run(&course, &builds);
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
