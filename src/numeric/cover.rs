//! A claim over a box as a tree of halvings that anyone can check: f is nowhere above a limit.
//!
//! In each box every variable in whose direction f certainly rises or falls is moved to that end; what is left is bounded
//! by the mean-value form, value at the middle + slope × distance. A box whose **own** bound is within the limit is a leaf;
//! any other is halved. Nothing of a bound is kept, so that whoever checks the tree makes each by itself.
//!
//! # Source
//! H. Ratschek and J. Rokne, New Computer Methods for Global Optimization (1988), ch. 3 (mean-value form, monotonicity
//! test).

use super::interval::Interval;
use super::jet::Jet;
use super::search::{collapse, halves, mean_value};

/// Boxes and variables of a claim.
type Domain<const N: usize> = [Interval; N];

/// A tree in preorder: a digit halves the box in that variable, the lower half first; a dot is a box that holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tree(pub String);

/// Covers `domain` with boxes over which `f` is certainly not above `limit`; `None` where `most` boxes were not enough.
///
/// `f` tells value and slopes over a box, `None` where it has no value everywhere; `scale` is what a width of each variable
/// is measured by there.
///
/// # Examples
/// ```
/// use unloop::numeric::{Interval, Jet, Scalar, cover::cover};
/// let hill = |over: &[Interval; 1]| {
///     let x = Jet::variable(0, over[0]);
///     Some(x - x.square())
/// };
/// let tree = cover(&hill, &[Interval::new(0.0, 1.0)], &[1.0], 0.5, 100).map(|tree| tree.0);
/// assert_eq!(tree.as_deref(), Some("0.."));
/// ```
pub fn cover<const N: usize>(
    f: &dyn Fn(&Domain<N>) -> Option<Jet<N>>,
    domain: &Domain<N>,
    scale: &[f64; N],
    limit: f64,
    most: usize,
) -> Option<Tree> {
    let mut tree = String::new();
    let mut open = vec![*domain];
    while let Some(here) = open.pop() {
        if tree.len() >= most {
            return None;
        }
        let found = f(&here);
        if found.is_some_and(|jet| bound(f, &here, &jet) <= limit) {
            tree.push('.');
            continue;
        }
        let variable = widest(&here, found.as_ref(), scale)?;
        tree.push(char::from_digit(u32::try_from(variable).ok()?, 10)?);
        open.extend(halves(&here, variable)?.into_iter().rev());
    }
    Some(Tree(tree))
}

/// The largest value over the box, bounded.
fn bound<const N: usize>(
    f: &dyn Fn(&Domain<N>) -> Option<Jet<N>>,
    over: &Domain<N>,
    jet: &Jet<N>,
) -> f64 {
    let mut moved = *over;
    collapse(&mut moved, &jet.slopes);
    let middle = moved.map(Interval::mid);
    let at = f(&middle.map(Interval::point));
    let mean = at.map_or(f64::INFINITY, |at| mean_value(at.value, &moved, &middle, &jet.slopes));
    mean.min(jet.value.hi())
}

/// The variable to halve: where the slope is least known for its width; without slopes the widest.
fn widest<const N: usize>(
    here: &Domain<N>,
    found: Option<&Jet<N>>,
    scale: &[f64; N],
) -> Option<usize> {
    let width = |k: usize| Some(here.get(k)?.width() / scale.get(k)?);
    let blur = |k: usize| Some(here.get(k)?.width() * found?.slopes.get(k)?.width());
    let weight = |k: usize| {
        let finite = blur(k).filter(|x| x.is_finite());
        let can_be_halved = here.get(k).is_some_and(|range| {
            let middle = range.mid();
            range.lo() < middle && middle < range.hi()
        });
        if can_be_halved { finite.or_else(|| width(k)) } else { None }
    };
    (0..N).filter_map(|k| Some((k, weight(k)?))).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(k, _)| k)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Scalar as _;

    fn saddle(over: &[Interval; 2]) -> Option<Jet<2>> {
        let [x, y] = [0, 1].map(|k| Jet::variable(k, over[k]));
        Some(x * y + x.square())
    }

    #[test]
    fn a_claim_that_holds_gets_a_tree_and_one_that_does_not_gets_none() {
        let square = [Interval::new(-1.0, 1.0); 2];
        assert!(cover(&saddle, &square, &[1.0; 2], 2.0 + 1e-9, 500).is_some());
        assert_eq!(cover(&saddle, &square, &[1.0; 2], 1.99, 500), None);
    }

    #[test]
    fn every_box_of_a_tree_is_reached_and_together_they_are_the_whole() {
        let whole = [Interval::new(-1.0, 1.0), Interval::new(-2.0, 1.0)];
        let tree = cover(&saddle, &whole, &[1.0; 2], 3.0 + 1e-9, 500).unwrap().0;
        let (mut open, mut area) = (vec![whole], 0.0);
        for step in tree.chars() {
            let here = open.pop().unwrap();
            match step.to_digit(10) {
                None => area += here[0].width() * here[1].width(),
                Some(k) => {
                    let [lower, upper] = here[k as usize].halves();
                    let (mut a, mut b) = (here, here);
                    (a[k as usize], b[k as usize]) = (lower, upper);
                    open.extend([b, a]);
                }
            }
        }
        assert!(open.is_empty() && (area - 6.0).abs() < 1e-12, "{tree} {area}");
    }
}
