//! Poses between the nodes where a figure of a build turns, one of each lane at a time.
//!
//! Every loop over the lanes is short, so that the processor works on many lanes at once while it waits for divisions.

use super::peak::Quartic;
use super::stroke_grid::{CELLS, NODES, Segment};
use crate::numeric::lane_arithmetic::{
    Direction, LANES, Lane, greater, lesser, small_direction, turned,
};

/// Nodes beside which all five nodes of a quartic lie in the segment, first and last.
pub(super) const MIDDLES: [usize; 2] = [2, NODES - 3];

/// Steps of Newton's method: from a start within half a cell the place is right to a thousandth of a cell, and what the
/// figure misses there goes with its square.
const STEPS: usize = 2;

/// What lies about a place of each lane.
pub(super) struct InteriorExtremes {
    /// Through r at five nodes about it.
    quartic: [Lane; 5],
    /// The marked node, in cells from the middle one of the five.
    from: Lane,
    /// The place, in cells from the middle one of the five.
    place: Lane,
    crank: [Lane; 2],
    direct: [Lane; 2],
}

/// r at the five nodes about `middle`.
#[inline(always)]
#[allow(clippy::indexing_slicing, reason = "callers stay between the middles")]
pub(super) fn five(ratios: &[Lane; NODES], middle: usize, lane: usize) -> [f64; 5] {
    std::array::from_fn(|k| ratios[middle + k - 2][lane])
}

#[allow(clippy::indexing_slicing, reason = "lanes stay below LANES, nodes below NODES")]
impl InteriorExtremes {
    pub(super) const EMPTY: Self = Self {
        quartic: [[0.0; LANES]; 5],
        from: [0.0; LANES],
        place: [0.0; LANES],
        crank: [[0.0; LANES]; 2],
        direct: [[0.0; LANES]; 2],
    };

    /// Takes the first mark off each lane; a lane without any gets the last cell, which does no harm.
    #[inline(always)]
    #[allow(clippy::cast_precision_loss, reason = "numbers of nodes are small")]
    pub(super) fn gather(
        &mut self,
        segment: &Segment,
        ratios: &[Lane; NODES],
        marks: &mut [u64; LANES],
    ) {
        for i in 0..LANES {
            let first = marks[i].trailing_zeros() as usize;
            let at = if first > CELLS { CELLS - 1 } else { first };
            marks[i] &= marks[i].wrapping_sub(1);
            let middle = at.clamp(MIDDLES[0], MIDDLES[1]);
            for (row, r) in self.quartic.iter_mut().zip(five(ratios, middle, i)) {
                row[i] = r;
            }
            self.from[i] = at as f64 - middle as f64;
            let node = &segment[at];
            for k in 0..2 {
                self.crank[k][i] = node.crank[k];
                self.direct[k][i] = node.direct[k];
            }
        }
        for i in 0..LANES {
            let through = Quartic::through(std::array::from_fn(|k| self.quartic[k][i]));
            for (row, c) in self.quartic.iter_mut().zip(through.0) {
                row[i] = c;
            }
        }
    }

    /// Goes to where r passes `level` in the cell after the marked node.
    #[inline(always)]
    pub(super) fn pass(&mut self, level: f64) {
        for i in 0..LANES {
            self.place[i] = self.from[i] + 0.5;
        }
        for _ in 0..STEPS {
            for i in 0..LANES {
                let from = self.from[i];
                self.place[i] = self.quartic(i).nearer(level, self.place[i], [from, from + 1.0]);
            }
        }
    }

    /// Goes to where r turns beside the marked node.
    #[inline(always)]
    pub(super) fn turn(&mut self) {
        self.place = self.from;
        for _ in 0..STEPS {
            for i in 0..LANES {
                let from = self.from[i];
                let range = [greater(from - 1.0, -2.0), lesser(from + 1.0, 2.0)];
                self.place[i] = self.quartic(i).nearer_its_turn(self.place[i], range);
            }
        }
    }

    /// Turns crank and direct joint to the place.
    #[inline(always)]
    pub(super) fn go(&mut self, step: f64, slope: f64) {
        for (rows, rate) in [(&mut self.crank, step), (&mut self.direct, slope * step)] {
            let [x, y] = rows;
            for i in 0..LANES {
                let by = small_direction((self.place[i] - self.from[i]) * rate);
                [x[i], y[i]] = turned([x[i], y[i]], by);
            }
        }
    }

    /// Of crank and direct joint at the place of a lane.
    #[inline(always)]
    pub(super) fn directions(&self, lane: usize) -> [Direction; 2] {
        [&self.crank, &self.direct].map(|[x, y]| [x[lane], y[lane]])
    }

    #[inline(always)]
    fn quartic(&self, lane: usize) -> Quartic {
        Quartic(std::array::from_fn(|k| self.quartic[k][lane]))
    }
}
