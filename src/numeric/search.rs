//! The largest value of a function over a box, with certainty: best-first subdivision.
//!
//! In each box every variable in whose direction the function certainly rises or falls is moved to that end. What is
//! left is bounded by the mean-value form, value at the middle + gradient × distance, and, where more than one variable
//! is left and curvatures are known, by Taylor's form of second order, whose gradients are also closer: gradient at the
//! middle + curvatures × distance. Then the variable is split whose slope is least known for its width, since that is
//! what blurs the bound. The largest value seen at a point is the other bound, so that a refuted claim comes with its
//! witness.
//!
//! # Source
//! H. Ratschek and J. Rokne, New Computer Methods for Global Optimization (1988), ch. 3 (mean-value form, monotonicity
//! test); the order of steps is our own.

use std::collections::BinaryHeap;

use super::interval::Interval;
use super::ranked::Ranked;
use super::scalar::Scalar as _;

/// A square matrix of second derivatives.
pub type Curvatures<const N: usize> = [[Interval; N]; N];

/// A function of N variables with enclosures of its value and gradient.
pub trait Objective<const N: usize> {
    /// An enclosure of the value over the box, only asked for at single points; `None` where it cannot be told.
    fn enclose(&self, at: &[Interval; N]) -> Option<Interval>;

    /// An enclosure of every partial derivative over the box; `None` where it cannot be told. What is by a variable whose range
    /// is a single number is not read.
    fn gradient(&self, over: &[Interval; N]) -> Option<[Interval; N]>;

    /// The same at one point of the box `over`, by the variables that have a width there.
    fn gradient_at(&self, at: &[f64; N], _over: &[Interval; N]) -> Option<[Interval; N]> {
        self.gradient(&at.map(Interval::point))
    }

    /// An enclosure of every second derivative over the box, symmetric; `None` where it cannot be told. What is by a
    /// variable whose range is a single number is not read.
    fn curvatures(&self, over: &[Interval; N]) -> Option<Curvatures<N>>;

    /// The value at a point in plain floats; `None` where there is no value.
    fn sample(&self, at: &[f64; N]) -> Option<f64>;

    /// What a change of each variable is measured by, > 0: which one to split where no slope is known.
    fn scale(&self) -> [f64; N];
}

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Enough when the bounds are this close, as a share of the larger.
    pub relative: f64,
    /// Enough when the bounds are this close.
    pub absolute: f64,
    /// Close is not enough while the largest value may lie on either side of one of these: (not above it, above it).
    pub decide: [[f64; 2]; 2],
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
    domain: [Interval; N],
    /// A bound of its own is known, not only that of what it is part of.
    is_bounded: bool,
}

struct Search<'a, F, const N: usize> {
    f: &'a F,
    effort: &'a Effort,
    /// Witnesses are looked for in here.
    inner: &'a [Interval; N],
    lower: f64,
    witness: [f64; N],
    boxes: u32,
}

/// For [`Effort::decide`]: nothing to be decided.
pub const NOTHING_TO_DECIDE: [[f64; 2]; 2] = [[f64::INFINITY; 2]; 2];

impl Effort {
    /// Are these bounds of the largest value close enough?
    #[must_use]
    pub fn is_enough(&self, upper: f64, lower: f64) -> bool {
        let share = if upper.is_finite() { self.relative * upper.abs() } else { 0.0 };
        let open = self.decide.iter().any(|[low, high]| lower <= *high && upper > *low);
        (upper - lower <= self.absolute.max(share) && !open)
            || upper <= self.proved_below
            || lower > self.refuted_above
    }
}

/// The largest value of `f` over `domain`, bounded from both sides; from below by points of `inner`, a part of it.
pub fn largest<const N: usize, F: Objective<N>>(
    f: &F,
    domain: &[Interval; N],
    inner: &[Interval; N],
    effort: &Effort,
) -> Found<N> {
    let witness = inner.map(Interval::mid);
    let mut search = Search { f, effort, inner, lower: f64::NEG_INFINITY, witness, boxes: 0 };
    let mut heap = BinaryHeap::from([search.bound(*domain, f64::INFINITY)]);
    // Boxes that are known to lie below what was asked are not split further; their bound still counts.
    while let Some(top) = heap.peek() {
        if effort.is_enough(top.bound, search.lower) || search.boxes >= effort.boxes {
            break;
        }
        let Some(top) = heap.pop() else { break };
        let Some(halves) = halves(&top.of.domain, search.split(&top.of)) else {
            heap.push(top);
            break;
        };
        for half in halves {
            let piece = search.bound(half, top.bound);
            heap.push(piece);
        }
    }
    let (upper, left) =
        heap.peek().map_or((f64::INFINITY, *domain), |top| (top.bound, top.of.domain));
    Found { upper, lower: search.lower, witness: search.witness, boxes: search.boxes, left }
}

/// The two halves across the variable `split`; `None` where floats are too coarse to split.
pub(super) fn halves<const N: usize>(
    domain: &[Interval; N],
    split: usize,
) -> Option<[[Interval; N]; 2]> {
    let whole = *domain.get(split)?;
    let middle = whole.mid();
    if middle <= whole.lo() || middle >= whole.hi() {
        return None;
    }
    Some(whole.halves().map(|half| {
        let mut domain = *domain;
        if let Some(slot) = domain.get_mut(split) {
            *slot = half;
        }
        domain
    }))
}

/// What is known of a box: where the function was looked at, its slopes there and over the box, its curvatures.
struct Local<const N: usize> {
    middle: [f64; N],
    at: [Interval; N],
    gradient: [Interval; N],
    curvatures: Curvatures<N>,
}

impl<F: Objective<N>, const N: usize> Search<'_, F, N> {
    fn try_point(&mut self, at: &[f64; N]) {
        let mut inside = *at;
        for (x, range) in inside.iter_mut().zip(self.inner) {
            *x = x.clamp(range.lo(), range.hi());
        }
        if let Some(value) = self.f.sample(&inside)
            && value > self.lower
        {
            self.lower = value;
            self.witness = inside;
        }
    }

    /// The piece for `domain` with its bound, never above the bound of what it is part of.
    fn bound(&mut self, domain: [Interval; N], parent: f64) -> Ranked<Piece<N>> {
        self.boxes += 1;
        let mut domain = domain;
        let mut gradient = self.f.gradient(&domain);
        if let Some(known) = gradient
            && collapse(&mut domain, &known)
        {
            gradient = self.f.gradient(&domain).or(gradient);
        }
        let Some(gradient) = gradient else {
            self.try_point(&domain.map(Interval::mid));
            return Ranked { bound: parent, of: Piece { domain, is_bounded: false } };
        };
        let value = self.at_middle(&domain);
        let mut upper = self.by_slopes(value, &domain, &gradient);
        // What is enough already is never split.
        if open(&domain) >= 2 && !self.effort.is_enough(upper.min(parent), self.lower) {
            let whole = domain;
            if let Some(local) = look(self.f, &mut domain, &gradient) {
                let value = if domain == whole { value } else { self.at_middle(&domain) };
                let by_slopes = self.by_slopes(value, &domain, &local.gradient);
                let bent = value.map_or(upper, |value| taylor(value, &domain, &local));
                upper = upper.min(by_slopes).min(bent);
            }
        }
        Ranked { bound: upper.min(parent), of: Piece { domain, is_bounded: upper < f64::INFINITY } }
    }

    /// The value at the middle of the box, which is looked at.
    fn at_middle(&mut self, domain: &[Interval; N]) -> Option<Interval> {
        let middle = domain.map(Interval::mid);
        self.try_point(&middle);
        self.f.enclose(&middle.map(Interval::point))
    }

    /// The mean-value bound by the value at the middle; the corner uphill is looked at.
    fn by_slopes(
        &mut self,
        value: Option<Interval>,
        domain: &[Interval; N],
        gradient: &[Interval; N],
    ) -> f64 {
        self.try_point(&uphill(domain, gradient));
        let middle = domain.map(Interval::mid);
        value.map_or(f64::INFINITY, |value| mean_value(value, domain, &middle, gradient))
    }

    /// The variable to split; where no bound is known, no slope tells the variables apart.
    fn split(&self, piece: &Piece<N>) -> usize {
        if piece.is_bounded { self.blurring(&piece.domain) } else { self.widest(&piece.domain) }
    }

    /// The variable that blurs the bound most. A slope's own width does not tell, since another variable's may be behind
    /// it: of the variable whose slope times width is least known, and the widest, the one with half of which less is
    /// unknown of all of them together.
    fn blurring(&self, domain: &[Interval; N]) -> usize {
        let widest = self.widest(domain);
        if open(domain) == 1 {
            return widest;
        }
        let Some(gradient) = self.f.gradient(domain) else { return widest };
        let unknown =
            blurs(domain, &gradient).map(|(over, blur)| if over > 0.0 { blur } else { -1.0 });
        let least_known = index_of_largest(unknown);
        let without = |index: usize| {
            let mut half = *domain;
            let slot = half.get_mut(index)?;
            *slot = slot.halves()[0];
            let gradient = self.f.gradient(&half)?;
            Some(blurs(&half, &gradient).map(|(_, blur)| blur).sum::<f64>())
        };
        let is_behind = least_known != widest
            && without(widest).unwrap_or(f64::INFINITY)
                < without(least_known).unwrap_or(f64::INFINITY);
        if is_behind { widest } else { least_known }
    }

    /// The variable with the widest range on its scale.
    fn widest(&self, domain: &[Interval; N]) -> usize {
        let widths = domain.iter().zip(self.f.scale()).map(|(over, scale)| over.width() / scale);
        index_of_largest(widths)
    }
}

/// Closer slopes over the box from its curvatures; moves what they show to rise or fall all over it.
fn look<const N: usize, F: Objective<N>>(
    f: &F,
    domain: &mut [Interval; N],
    gradient: &[Interval; N],
) -> Option<Local<N>> {
    let curvatures = f.curvatures(domain)?;
    let mut gradient = *gradient;
    loop {
        let middle = domain.map(Interval::mid);
        let at = f.gradient_at(&middle, domain)?;
        let away = distances(domain, &middle);
        for ((slope, at), row) in gradient.iter_mut().zip(at).zip(&curvatures) {
            let closer = row.iter().zip(&away).fold(at, |sum, (c, d)| sum + *c * *d);
            *slope = slope.intersection(closer).unwrap_or(*slope);
        }
        if !collapse(domain, &gradient) {
            return Some(Local { middle, at, gradient, curvatures });
        }
    }
}

/// The bound of second order over `domain`, of which `gradient` is known, with the slopes that are left; what is shown to rise or
/// fall is moved to its end. `None` where curvatures cannot be told.
pub fn by_curvatures<const N: usize, F: Objective<N>>(
    f: &F,
    domain: &mut [Interval; N],
    gradient: &[Interval; N],
) -> Option<(f64, [Interval; N])> {
    let local = look(f, domain, gradient)?;
    let value = f.enclose(&domain.map(Interval::mid).map(Interval::point))?;
    let middle = domain.map(Interval::mid);
    let upper = mean_value(value, domain, &middle, &local.gradient);
    Some((upper.min(taylor(value, domain, &local)), local.gradient))
}

fn index_of_largest(figures: impl Iterator<Item = f64>) -> usize {
    figures.enumerate().max_by(|p, q| p.1.total_cmp(&q.1)).map_or(0, |(index, _)| index)
}

/// Of each variable its width, and what is unknown of slope times width.
fn blurs<const N: usize>(
    domain: &[Interval; N],
    gradient: &[Interval; N],
) -> impl Iterator<Item = (f64, f64)> {
    domain.iter().zip(gradient).map(|(over, slope)| (over.width(), over.width() * slope.width()))
}

fn open<const N: usize>(domain: &[Interval; N]) -> usize {
    domain.iter().filter(|over| over.lo() < over.hi()).count()
}

fn distances<const N: usize>(domain: &[Interval; N], middle: &[f64; N]) -> [Interval; N] {
    let mut away = *domain;
    for (over, at) in away.iter_mut().zip(middle) {
        *over = *over - Interval::point(*at);
    }
    away
}

/// The most that value + gradient × distance can be.
pub(super) fn mean_value<const N: usize>(
    value: Interval,
    domain: &[Interval; N],
    middle: &[f64; N],
    gradient: &[Interval; N],
) -> f64 {
    let away = distances(domain, middle);
    gradient.iter().zip(away).fold(value, |sum, (slope, away)| sum + *slope * away).hi()
}

/// The most that value + slopes at the middle × distance + half of distance × curvature × distance can be.
fn taylor<const N: usize>(value: Interval, domain: &[Interval; N], local: &Local<N>) -> f64 {
    let away = distances(domain, &local.middle);
    let mut sum = value;
    for (i, (row, (d, slope))) in local.curvatures.iter().zip(away.iter().zip(local.at)).enumerate()
    {
        for (j, (curvature, other)) in row.iter().zip(&away).enumerate() {
            if j > i {
                sum = sum + *curvature * (*d * *other);
            } else if j == i {
                sum = sum + Interval::point(rise(slope.magnitude(), curvature.hi(), d.magnitude()));
            }
        }
    }
    sum.hi()
}

/// The most that slope·x + ½ curvature·x² can be for |x| ≤ reach, slope ≥ 0.
#[must_use]
pub fn rise(slope: f64, curvature: f64, reach: f64) -> f64 {
    let [slope, curvature, reach] = [slope, curvature, reach].map(Interval::point);
    let half = Interval::point(0.5);
    let at_end = slope * reach + half * curvature * reach.square();
    let falls_before = (slope + curvature * reach).lo() < 0.0;
    if falls_before && curvature.hi() < 0.0 {
        // The crest, wherever it lies.
        (half * slope.square() / -curvature).hi()
    } else {
        at_end.hi()
    }
}

/// Moves every variable with a certain sign of slope to its upper-value end; says whether any moved.
pub(super) fn collapse<const N: usize>(
    domain: &mut [Interval; N],
    gradient: &[Interval; N],
) -> bool {
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

    const EFFORT: Effort = Effort {
        relative: 1e-6,
        absolute: 1e-9,
        decide: NOTHING_TO_DECIDE,
        boxes: 20_000,
        proved_below: f64::NEG_INFINITY,
        refuted_above: f64::INFINITY,
    };

    /// (x² + y − 11)² + (x + y² − 7)² with minus sign: its largest value is 0, at four places.
    struct Himmelblau;

    fn square() -> [Interval; 2] {
        [Interval::new(-5.0, 5.0); 2]
    }

    impl Objective<2> for Himmelblau {
        fn curvatures(&self, [x, y]: &[Interval; 2]) -> Option<Curvatures<2>> {
            let n = Interval::point;
            let mixed = -(n(4.0) * (*x + *y));
            let by_x = -(n(12.0) * x.square() + n(4.0) * *y - n(42.0));
            let by_y = -(n(12.0) * y.square() + n(4.0) * *x - n(26.0));
            Some([[by_x, mixed], [mixed, by_y]])
        }
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
        let found = largest(&Himmelblau, &square(), &square(), &EFFORT);
        assert!(found.upper >= 0.0 && found.upper < 1e-6, "{found:?}");
        assert!(found.lower <= 0.0 && found.lower > -1e-6);
    }

    #[test]
    fn a_claim_is_refuted_with_a_witness_before_the_search_is_done() {
        let effort = Effort { refuted_above: -50.0, ..EFFORT };
        let found = largest(&Himmelblau, &square(), &square(), &effort);
        assert!(found.lower > -50.0 && Himmelblau.sample(&found.witness) == Some(found.lower));
    }

    /// −x/y, whose slopes have no bound where y reaches 0.
    struct Pole;

    impl Objective<2> for Pole {
        fn curvatures(&self, _: &[Interval; 2]) -> Option<Curvatures<2>> {
            None
        }
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
        let found = largest(&Pole, &domain, &domain, &Effort { boxes: 200, ..EFFORT });
        assert!(found.upper > found.lower && found.left[1].width() < 1e-2, "{found:?}");
    }

    #[test]
    fn running_out_of_boxes_leaves_a_valid_bound() {
        let effort = Effort { boxes: 5, ..EFFORT };
        let found = largest(&Himmelblau, &square(), &square(), &effort);
        assert!(found.upper >= 0.0);
    }
}
