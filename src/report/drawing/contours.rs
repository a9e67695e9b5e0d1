//! Lines of equal height over a grid.

use std::collections::BTreeMap;

use crate::units::fixed;

use super::Point;
use super::scale::ticks;

/// Heights over a grid, x outermost; what is not a number is unknown.
pub(in crate::report) struct Heights<'a> {
    /// Rising.
    pub(in crate::report) x: &'a [f64],
    /// Rising.
    pub(in crate::report) y: &'a [f64],
    pub(in crate::report) heights: &'a [f64],
}

/// The side of a cell between two corners of the grid.
type Side = [(usize, usize); 2];

impl Heights<'_> {
    fn height(&self, (i, j): (usize, usize)) -> f64 {
        let known = self.heights.get(i * self.y.len() + j).filter(|_| j < self.y.len());
        known.copied().unwrap_or(f64::NAN)
    }

    /// Round heights and how each is written, about `wanted` of them.
    pub(in crate::report) fn levels(&self, wanted: f64) -> Vec<(f64, String)> {
        let known = self.heights.iter().filter(|height| height.is_finite());
        let range = known.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], height| {
            [low.min(*height), high.max(*height)]
        });
        // Rounding alone has no lines.
        if range[1] - range[0] <= 1e-9 * range[0].abs().max(range[1].abs()) {
            return Vec::new();
        }
        let (levels, decimals) = ticks(range, wanted);
        // At the lowest and the highest place there is no line to see.
        let room = 1e-6 * (range[1] - range[0]);
        let has_line = |level: &f64| *level > range[0] + room && *level < range[1] - room;
        levels.into_iter().filter(has_line).map(|level| (level, fixed(level, decimals))).collect()
    }

    /// Where the height is `level`, between corners by proportion: lines with a point that is not a number between them.
    pub(in crate::report) fn line(&self, level: f64) -> Vec<Point> {
        let mut next: BTreeMap<Side, Vec<Side>> = BTreeMap::new();
        for [one, other] in self.pieces(level) {
            next.entry(one).or_default().push(other);
            next.entry(other).or_default().push(one);
        }
        let mut points = Vec::new();
        // Lines that end at the edge from their ends, then those that close.
        for is_end in [true, false] {
            while let Some(start) = start(&next, is_end) {
                points.extend(walk(&mut next, start).iter().map(|side| self.at(side, level)));
                points.push([f64::NAN; 2]);
            }
        }
        points
    }

    /// Two sides of a cell for each piece of a line.
    fn pieces(&self, level: f64) -> Vec<[Side; 2]> {
        let mut found = Vec::new();
        for i in 1..self.x.len() {
            for j in 1..self.y.len() {
                let around = [(i - 1, j - 1), (i, j - 1), (i, j), (i - 1, j)];
                let heights = around.map(|corner| self.height(corner));
                if heights.iter().all(|height| height.is_finite()) {
                    found.extend(pieces_of_cell(around, heights, level));
                }
            }
        }
        found
    }

    fn at(&self, [one, other]: &Side, level: f64) -> Point {
        let [from, to] = [self.height(*one), self.height(*other)];
        let share = ((level - from) / (to - from)).clamp(0.0, 1.0);
        let between = |values: &[f64], a: usize, b: usize| match (values.get(a), values.get(b)) {
            (Some(a), Some(b)) => a + share * (b - a),
            _ => f64::NAN,
        };
        [between(self.x, one.0, other.0), between(self.y, one.1, other.1)]
    }
}

/// Corners go round the cell.
fn pieces_of_cell(
    [a, b, c, d]: [(usize, usize); 4],
    heights: [f64; 4],
    level: f64,
) -> Vec<[Side; 2]> {
    let [below, right, above, left] = [[a, b], [b, c], [d, c], [a, d]];
    let is_high = heights.map(|height| height > level);
    let crossed = [
        (below, is_high[0] != is_high[1]),
        (right, is_high[1] != is_high[2]),
        (above, is_high[2] != is_high[3]),
        (left, is_high[3] != is_high[0]),
    ];
    let crossed: Vec<Side> =
        crossed.into_iter().filter_map(|(side, is)| is.then_some(side)).collect();
    match crossed[..] {
        [one, other] => vec![[one, other]],
        [_, _, _, _] => {
            let middle_is_high = 0.25 * heights.iter().sum::<f64>() > level;
            if middle_is_high == is_high[0] {
                vec![[below, right], [above, left]]
            } else {
                vec![[below, left], [right, above]]
            }
        }
        _ => Vec::new(),
    }
}

fn start(next: &BTreeMap<Side, Vec<Side>>, is_end: bool) -> Option<Side> {
    next.iter().find(|(_, sides)| !is_end || sides.len() == 1).map(|(side, _)| *side)
}

/// From side to side until there is none left; each piece is taken.
fn walk(next: &mut BTreeMap<Side, Vec<Side>>, start: Side) -> Vec<Side> {
    let (mut line, mut at) = (vec![start], start);
    while let Some(to) = take(next, at, None) {
        take(next, to, Some(at));
        line.push(to);
        at = to;
    }
    line
}

/// Takes the way from `at` to `to`, or to any where none is named.
fn take(next: &mut BTreeMap<Side, Vec<Side>>, at: Side, to: Option<Side>) -> Option<Side> {
    let sides = next.get_mut(&at)?;
    let place = match to {
        Some(to) => sides.iter().position(|side| *side == to)?,
        None => sides.len().checked_sub(1)?,
    };
    let found = sides.swap_remove(place);
    if sides.is_empty() {
        next.remove(&at);
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(points: &[Point]) -> Vec<&[Point]> {
        points.split(|p| p[0].is_nan()).filter(|line| !line.is_empty()).collect()
    }

    #[test]
    fn a_line_of_equal_height_runs_where_that_height_is_and_closes_round_a_hill() {
        let x: Vec<f64> = (-10..=10).map(f64::from).collect();
        let of = |height: fn(f64, f64) -> f64| -> Vec<f64> {
            x.iter().flat_map(|x| (-10..=10).map(move |y| height(*x, f64::from(y)))).collect()
        };
        let hill = of(|x, y| x * x + y * y);
        let hill = Heights { x: &x, y: &x, heights: &hill }.line(30.0);
        let [round] = lines(&hill)[..] else { panic!("{hill:?}") };
        assert_eq!(round.first(), round.last());
        assert!(round.iter().all(|[x, y]| (x.hypot(*y) - 30_f64.sqrt()).abs() < 0.1), "{round:?}");
        let slope = of(|x, y| x + y);
        let slope = Heights { x: &x, y: &x, heights: &slope }.line(0.5);
        let [straight] = lines(&slope)[..] else { panic!("{slope:?}") };
        assert_eq!(straight.len(), 40);
        assert!(straight.iter().all(|[x, y]| (x + y - 0.5).abs() < 1e-12), "{straight:?}");
    }

    #[test]
    fn what_differs_by_rounding_alone_has_no_lines() {
        let heights = [0.3, 0.1 + 0.2, 0.3, 0.1 + 0.2];
        assert!(
            Heights { x: &[0.0, 1.0], y: &[0.0, 1.0], heights: &heights }.levels(5.0).is_empty()
        );
    }

    #[test]
    fn no_line_runs_through_what_is_unknown() {
        let heights = [0.0, f64::NAN, 1.0, 1.0];
        let unknown = Heights { x: &[0.0, 1.0], y: &[0.0, 1.0], heights: &heights };
        assert!(unknown.line(0.5).is_empty());
    }
}
