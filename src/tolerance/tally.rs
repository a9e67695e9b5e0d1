//! Counts and sums over builds that merge in any order of work and in one order of adding.

use crate::numeric::lane_arithmetic::greater;

/// Bins of a histogram from 0 to its top; the last counts all beyond.
pub(super) const BINS: usize = 4096;

/// Relative error of the figures of a build, well above what the tests find.
const INTERPOLATION: f64 = 1e-4;

/// One build's worst figures over the stroke, of `N` criteria besides the transmission angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Worst<const N: usize> {
    /// Its loop closes in every pose of the stroke and in its zero pose.
    pub(super) closes: bool,
    /// Largest sizes; infinite where there is none.
    pub(super) figures: [f64; N],
    /// Largest |cos| of the angle between coupler and rocker.
    pub(super) cosine: f64,
}

/// Limits that a build is held against; a figure at its limit holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Holds<const N: usize> {
    pub(super) figures: [f64; N],
    /// Cosine of the smallest transmission angle.
    pub(super) cosine: f64,
}

/// Builds counted by the criteria they satisfy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Satisfied<const N: usize> {
    pub(super) closes: u64,
    pub(super) figures: [u64; N],
    pub(super) transmission_angle: u64,
    pub(super) all: u64,
}

#[allow(clippy::cast_precision_loss, reason = "a small number")]
const BINS_WIDE: f64 = BINS as f64;

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the number of bins first"
)]
#[inline(always)]
fn bin(place: f64) -> usize {
    place.clamp(0.0, BINS_WIDE) as u32 as usize
}

impl<const N: usize> Satisfied<N> {
    const NONE: Self = Self { closes: 0, figures: [0; N], transmission_angle: 0, all: 0 };

    #[inline(always)]
    fn add(&mut self, worst: &Worst<N>, limits: &Holds<N>) {
        let transmission_angle = worst.closes && worst.cosine <= limits.cosine;
        let mut all = transmission_angle;
        let figures = worst.figures.iter().zip(&limits.figures);
        for (count, (figure, limit)) in self.figures.iter_mut().zip(figures) {
            let holds = worst.closes && figure <= limit;
            *count += u64::from(holds);
            all &= holds;
        }
        self.closes += u64::from(worst.closes);
        self.transmission_angle += u64::from(transmission_angle);
        self.all += u64::from(all);
    }

    fn merge(&mut self, other: &Self) {
        self.closes += other.closes;
        for (count, more) in self.figures.iter_mut().zip(other.figures) {
            *count += more;
        }
        self.transmission_angle += other.transmission_angle;
        self.all += other.all;
    }
}

/// A figure's mean, spread and histogram.
#[derive(Clone, Debug)]
pub(super) struct Figure {
    pub(super) top: f64,
    pub(super) counts: Vec<u64>,
    pub(super) sum: f64,
    pub(super) largest: f64,
}

impl Figure {
    fn new(top: f64) -> Self {
        Self { top, counts: vec![0; BINS + 1], sum: 0.0, largest: 0.0 }
    }

    /// Sums are kept at hand until the last of `values`: one a build would wait for the one before in memory.
    fn add_all(&mut self, values: impl Iterator<Item = f64>) {
        let (mut sum, mut largest) = (self.sum, self.largest);
        let (room, scale) = (self.top * (1.0 + INTERPOLATION), BINS_WIDE / self.top);
        for value in values {
            // The top is certified; rounding may pass it.
            let value = if value <= room { value.min(self.top) } else { value };
            if let Some(count) = self.counts.get_mut(bin(value * scale)) {
                *count += 1;
            }
            sum += value;
            largest = greater(largest, value);
        }
        (self.sum, self.largest) = (sum, largest);
    }

    fn merge(&mut self, other: &Self) {
        for (count, more) in self.counts.iter_mut().zip(&other.counts) {
            *count += more;
        }
        self.sum += other.sum;
        self.largest = self.largest.max(other.largest);
    }

    /// The value below which the share `p` of all counted lies, linear inside its bin; infinite in the last.
    #[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
    pub(super) fn quantile(&self, p: f64) -> f64 {
        let total: u64 = self.counts.iter().sum();
        let wanted = p * total as f64;
        let mut below = 0.0;
        for (bin, count) in self.counts.iter().enumerate() {
            let count = *count as f64;
            if below + count >= wanted && count > 0.0 {
                if bin == BINS {
                    return f64::INFINITY;
                }
                return (bin as f64 + (wanted - below) / count) / BINS as f64 * self.top;
            }
            below += count;
        }
        self.largest
    }
}

/// First and second moments of pairs of figures.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Moments {
    count: f64,
    sum: [f64; 2],
    square: [f64; 2],
    product: f64,
}

impl Moments {
    /// `pairs` less a fixed centre, so that squares keep their digits.
    pub(super) fn add_all(&mut self, pairs: impl Iterator<Item = [f64; 2]>) {
        for [x, y] in pairs {
            self.count += 1.0;
            self.sum = [self.sum[0] + x, self.sum[1] + y];
            self.square = [self.square[0] + x * x, self.square[1] + y * y];
            self.product += x * y;
        }
    }

    pub(super) fn mean(&self) -> [f64; 2] {
        self.sum.map(|s| s / self.count)
    }

    pub(super) fn deviation(&self) -> [f64; 2] {
        let [m0, m1] = self.mean();
        let [s0, s1] = self.square.map(|s| s / self.count);
        [(s0 - m0 * m0).max(0.0).sqrt(), (s1 - m1 * m1).max(0.0).sqrt()]
    }

    /// Correlation of the two, 0 where one does not scatter.
    pub(super) fn correlation(&self) -> f64 {
        let ([m0, m1], [d0, d1]) = (self.mean(), self.deviation());
        let covariance = self.product / self.count - m0 * m1;
        if d0 * d1 > 0.0 { (covariance / (d0 * d1)).clamp(-1.0, 1.0) } else { 0.0 }
    }
}

/// Everything counted over some builds.
#[derive(Clone, Debug)]
pub(super) struct Tally<const N: usize> {
    holds: Holds<N>,
    pub(super) builds: u64,
    pub(super) satisfied: Satisfied<N>,
    pub(super) figures: [Figure; N],
}

impl<const N: usize> Tally<N> {
    /// Nothing yet; histograms reach from 0 to `tops`.
    pub(super) fn new(holds: Holds<N>, tops: [f64; N]) -> Self {
        Self { holds, builds: 0, satisfied: Satisfied::NONE, figures: tops.map(Figure::new) }
    }

    /// Counts these builds.
    pub(super) fn add_all(&mut self, worst: impl Iterator<Item = Worst<N>> + Clone) {
        for worst in worst.clone() {
            self.satisfied.add(&worst, &self.holds);
            self.builds += 1;
        }
        let reach = |closes: bool, figure: f64| if closes { figure } else { f64::INFINITY };
        for (k, figure) in self.figures.iter_mut().enumerate() {
            let of = |w: Worst<N>| w.figures.get(k).copied().unwrap_or(f64::NAN);
            figure.add_all(worst.clone().map(|w| reach(w.closes, of(w))));
        }
    }

    pub(super) fn merge(&mut self, other: &Self) {
        self.builds += other.builds;
        self.satisfied.merge(&other.satisfied);
        for (figure, more) in self.figures.iter_mut().zip(&other.figures) {
            figure.merge(more);
        }
    }
}
