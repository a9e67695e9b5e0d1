//! The largest value of a function over a box, with certainty: best-first subdivision.
//!
//! In each box every variable in whose direction the function certainly rises or falls is moved to that end; what is
//! left is bounded by the mean-value form, value at the middle + gradient × distance, which closes in with the square
//! of the box's width; then the variable that matters most is split. The largest value seen at a point is the other
//! bound, so that a refuted claim comes with its witness.
//!
//! # Source
//! H. Ratschek and J. Rokne, New Computer Methods for Global Optimization (1988), ch. 3 (mean-value form, monotonicity
//! test); the order of steps is our own.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::interval::Interval;

/// A function of N variables with enclosures of its value and gradient.
pub trait Objective<const N: usize> {
    /// An enclosure of the value over the box, only asked for at single points; `None` where it cannot be told.
    fn enclose(&self, at: &[Interval; N]) -> Option<Interval>;

    /// An enclosure of every partial derivative over the box; `None` where it cannot be told.
    fn gradient(&self, over: &[Interval; N]) -> Option<[Interval; N]>;

    /// The value at a point in plain floats; `None` where there is no value.
    fn sample(&self, at: &[f64; N]) -> Option<f64>;

    /// What a change of each variable is measured by, > 0: which one to split where no slope is known.
    fn scale(&self) -> [f64; N];
}

/// When to stop.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Enough when the bounds are this close, as a share of the larger.
    pub relative: f64,
    /// Enough when the bounds are this close.
    pub absolute: f64,
    /// Boxes to look at before giving up.
    pub boxes: u32,
    /// Enough when the largest value is certainly not above this.
    pub proved_below: f64,
    /// Enough when a value above this was seen.
    pub refuted_above: f64,
}

/// What a search found.
#[derive(Clone, Copy, Debug)]
pub struct Found<const N: usize> {
    /// The function is certainly nowhere above this; infinite where nothing is certain.
    pub upper: f64,
    /// The largest value seen.
    pub lower: f64,
    /// Where it was seen.
    pub witness: [f64; N],
    /// How many boxes were looked at.
    pub boxes: u32,
    /// The box with the largest bound that was left.
    pub left: [Interval; N],
}

struct Piece<const N: usize> {
    upper: f64,
    domain: [Interval; N],
    split: usize,
}

impl<const N: usize> PartialEq for Piece<N> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<const N: usize> Eq for Piece<N> {}

impl<const N: usize> PartialOrd for Piece<N> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<const N: usize> Ord for Piece<N> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.upper.total_cmp(&other.upper)
    }
}

struct Search<'a, F, const N: usize> {
    f: &'a F,
    lower: f64,
    witness: [f64; N],
    boxes: u32,
}

/// The largest value of `f` over `domain`, bounded from both sides.
pub fn largest<const N: usize, F: Objective<N>>(
    f: &F,
    domain: &[Interval; N],
    effort: &Effort,
) -> Found<N> {
    let mut search =
        Search { f, lower: f64::NEG_INFINITY, witness: domain.map(Interval::mid), boxes: 0 };
    let mut heap = BinaryHeap::from([search.bound(*domain, f64::INFINITY)]);
    // Boxes that are known to lie below what was asked are not split further; their bound still counts.
    while let Some(top) = heap.peek() {
        let share = if top.upper.is_finite() { effort.relative * top.upper.abs() } else { 0.0 };
        let close = effort.absolute.max(share);
        let enough = top.upper - search.lower <= close || top.upper <= effort.proved_below;
        if enough || search.lower > effort.refuted_above || search.boxes >= effort.boxes {
            break;
        }
        let Some(top) = heap.pop() else { break };
        let Some(halves) = halves(&top) else {
            heap.push(top);
            break;
        };
        for half in halves {
            let piece = search.bound(half, top.upper);
            heap.push(piece);
        }
    }
    let (upper, left) = heap.peek().map_or((f64::INFINITY, *domain), |top| (top.upper, top.domain));
    Found { upper, lower: search.lower, witness: search.witness, boxes: search.boxes, left }
}

/// The two halves across the piece's splitting variable; `None` where floats are too coarse to split.
fn halves<const N: usize>(piece: &Piece<N>) -> Option<[[Interval; N]; 2]> {
    let whole = *piece.domain.get(piece.split)?;
    let middle = whole.mid();
    if middle <= whole.lo() || middle >= whole.hi() {
        return None;
    }
    Some(whole.halves().map(|half| {
        let mut domain = piece.domain;
        if let Some(slot) = domain.get_mut(piece.split) {
            *slot = half;
        }
        domain
    }))
}

impl<F: Objective<N>, const N: usize> Search<'_, F, N> {
    fn try_point(&mut self, at: &[f64; N]) {
        if let Some(value) = self.f.sample(at)
            && value > self.lower
        {
            self.lower = value;
            self.witness = *at;
        }
    }

    /// The piece for `domain` with its bound, never above the bound of what it is part of.
    fn bound(&mut self, domain: [Interval; N], parent: f64) -> Piece<N> {
        self.boxes += 1;
        let mut domain = domain;
        let mut gradient = self.f.gradient(&domain);
        if let Some(known) = gradient
            && collapse(&mut domain, &known)
        {
            gradient = self.f.gradient(&domain).or(gradient);
        }
        let middle = domain.map(Interval::mid);
        self.try_point(&middle);
        let Some(gradient) = gradient else {
            return Piece { upper: parent, domain, split: self.widest(&domain) };
        };
        self.try_point(&uphill(&domain, &gradient));
        let (upper, split) = self.mean_value(&domain, &middle, &gradient);
        Piece { upper: upper.min(parent), domain, split }
    }

    /// The variable with the widest range on its scale.
    fn widest(&self, domain: &[Interval; N]) -> usize {
        let mut best = (0, -1.0);
        for (index, (over, scale)) in domain.iter().zip(self.f.scale()).enumerate() {
            let width = over.width() / scale;
            if width > best.1 {
                best = (index, width);
            }
        }
        best.0
    }

    fn mean_value(
        &self,
        domain: &[Interval; N],
        middle: &[f64; N],
        gradient: &[Interval; N],
    ) -> (f64, usize) {
        let Some(mut value) = self.f.enclose(&middle.map(Interval::point)) else {
            return (f64::INFINITY, self.widest(domain));
        };
        let (mut split, mut largest) = (0, -1.0);
        for (index, ((over, at), slope)) in domain.iter().zip(middle).zip(gradient).enumerate() {
            let change = *slope * (*over - Interval::point(*at));
            value = value + change;
            if change.width() > largest && over.width() > 0.0 {
                (split, largest) = (index, change.width());
            }
        }
        // Where no bound is known, no share of it tells the variables apart.
        (value.hi(), if value.hi() < f64::INFINITY { split } else { self.widest(domain) })
    }
}

/// Moves every variable with a certain sign of slope to its upper-value end; says whether any moved.
fn collapse<const N: usize>(domain: &mut [Interval; N], gradient: &[Interval; N]) -> bool {
    let mut moved = false;
    for (over, slope) in domain.iter_mut().zip(gradient) {
        let end = if slope.lo() >= 0.0 {
            over.hi()
        } else if slope.hi() <= 0.0 {
            over.lo()
        } else {
            continue;
        };
        moved |= over.lo() < over.hi();
        *over = Interval::point(end);
    }
    moved
}

/// The corner towards which the middle slopes rise.
fn uphill<const N: usize>(domain: &[Interval; N], gradient: &[Interval; N]) -> [f64; N] {
    let mut corner = domain.map(Interval::hi);
    for ((at, over), slope) in corner.iter_mut().zip(domain).zip(gradient) {
        if slope.mid() < 0.0 {
            *at = over.lo();
        }
    }
    corner
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Scalar as _;

    const EFFORT: Effort = Effort {
        relative: 1e-6,
        absolute: 1e-9,
        boxes: 20_000,
        proved_below: f64::NEG_INFINITY,
        refuted_above: f64::INFINITY,
    };

    /// (x² + y − 11)² + (x + y² − 7)² with minus sign: its largest value is 0, at four places.
    struct Himmelblau;

    impl Objective<2> for Himmelblau {
        fn enclose(&self, [x, y]: &[Interval; 2]) -> Option<Interval> {
            let n = Interval::point;
            Some(-((x.square() + *y - n(11.0)).square() + (*x + y.square() - n(7.0)).square()))
        }
        fn gradient(&self, [x, y]: &[Interval; 2]) -> Option<[Interval; 2]> {
            let n = Interval::point;
            let (p, q) = (x.square() + *y - n(11.0), *x + y.square() - n(7.0));
            Some([-(n(4.0) * *x * p + n(2.0) * q), -(n(2.0) * p + n(4.0) * *y * q)])
        }
        fn sample(&self, &[x, y]: &[f64; 2]) -> Option<f64> {
            Some(-((x * x + y - 11.0).powi(2) + (x + y * y - 7.0).powi(2)))
        }
        fn scale(&self) -> [f64; 2] {
            [1.0, 1.0]
        }
    }

    #[test]
    fn the_top_of_himmelblaus_function_is_enclosed() {
        // D. M. Himmelblau, Applied Nonlinear Programming (1972): four minima with value 0, one at (3, 2).
        let found =
            largest(&Himmelblau, &[Interval::new(-5.0, 5.0), Interval::new(-5.0, 5.0)], &EFFORT);
        assert!(found.upper >= 0.0 && found.upper < 1e-6, "{found:?}");
        assert!(found.lower <= 0.0 && found.lower > -1e-6);
    }

    #[test]
    fn a_claim_is_refuted_with_a_witness_before_the_search_is_done() {
        let effort = Effort { refuted_above: -50.0, ..EFFORT };
        let found =
            largest(&Himmelblau, &[Interval::new(-5.0, 5.0), Interval::new(-5.0, 5.0)], &effort);
        assert!(found.lower > -50.0 && Himmelblau.sample(&found.witness) == Some(found.lower));
    }

    /// −x/y, whose slopes have no bound where y reaches 0.
    struct Pole;

    impl Objective<2> for Pole {
        fn scale(&self) -> [f64; 2] {
            [1.0; 2]
        }
        fn enclose(&self, [x, y]: &[Interval; 2]) -> Option<Interval> {
            Some(-(*x / *y))
        }
        fn gradient(&self, [x, y]: &[Interval; 2]) -> Option<[Interval; 2]> {
            Some([-(Interval::point(1.0) / *y), *x / y.square()])
        }
        fn sample(&self, &[x, y]: &[f64; 2]) -> Option<f64> {
            Some(-x / y)
        }
    }

    #[test]
    fn slopes_without_bound_do_not_hold_the_search_to_one_variable() {
        let domain = [Interval::new(0.5, 1.0), Interval::new(0.0, 64.0)];
        let found = largest(&Pole, &domain, &Effort { boxes: 200, ..EFFORT });
        assert!(found.upper > found.lower && found.left[1].width() < 1e-2, "{found:?}");
    }

    #[test]
    fn running_out_of_boxes_leaves_a_valid_bound() {
        let effort = Effort { boxes: 5, ..EFFORT };
        let found =
            largest(&Himmelblau, &[Interval::new(-5.0, 5.0), Interval::new(-5.0, 5.0)], &effort);
        assert!(found.upper >= 0.0);
    }
}
