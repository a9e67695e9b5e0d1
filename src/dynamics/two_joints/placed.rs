//! Figures over a region of both joints, with their places.

use crate::drive::Region;

/// A figure and the joint turns at which it stands, rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The figure.
    pub value: f64,
    /// Pitch and roll.
    pub joints: [f64; 2],
}

/// The lowest and the highest of a figure over a region: computed, not proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// The lowest.
    pub lowest: Placed,
    /// The highest.
    pub highest: Placed,
}

/// A step of this share of a cell of the grid is the last.
const FINEST: f64 = 1.0 / 1024.0;

/// The largest value of `figure` over the region and where: of all points of its grid, then climbed up from the largest by
/// steps along both joints that are halved; not proved. A pose without a value is passed over; NaN where none has one.
pub(super) fn largest(region: &Region, figure: &dyn Fn([f64; 2]) -> f64) -> Placed {
    largest_near(&table(region, figure), region, figure)
}

/// A figure at all points of a region's grid.
fn table(region: &Region, figure: &dyn Fn([f64; 2]) -> f64) -> Vec<Placed> {
    region.turns().map(|joints| Placed { value: figure(joints), joints }).collect()
}

/// [`largest`] with what is known at the points of the grid.
fn largest_near(table: &[Placed], region: &Region, figure: &dyn Fn([f64; 2]) -> f64) -> Placed {
    let at = |joints: [f64; 2]| Placed { value: figure(joints), joints };
    let start = Placed { value: f64::NAN, joints: [region.pitch[0], region.roll[0]] };
    let best = table.iter().copied().fold(start, larger);
    let cell = |[from, to]: [f64; 2]| (to - from) / f64::from(region.pieces.max(1));
    let (cells, mut here, mut share) = ([cell(region.pitch), cell(region.roll)], best, 0.5);
    while share >= FINEST {
        let next = around(region, here.joints, cells.map(|cell| cell * share)).map(at);
        let higher = next.into_iter().fold(here, larger);
        if higher.value > here.value {
            here = higher;
        } else {
            share *= 0.5;
        }
    }
    here
}

/// The lowest and the highest, found as [`largest`].
pub(super) fn spread(region: &Region, figure: &dyn Fn([f64; 2]) -> f64) -> Spread {
    let (table, over) = (table(region, figure), |of: Placed| Placed { value: -of.value, ..of });
    let below: Vec<Placed> = table.iter().copied().map(over).collect();
    let lowest = largest_near(&below, region, &|joints| -figure(joints));
    Spread { lowest: over(lowest), highest: largest_near(&table, region, figure) }
}

fn larger(best: Placed, other: Placed) -> Placed {
    let is_larger = other.value > best.value || best.value.is_nan() && !other.value.is_nan();
    if is_larger { other } else { best }
}

/// The eight neighbours, held inside the region.
fn around(region: &Region, [pitch, roll]: [f64; 2], [by_p, by_r]: [f64; 2]) -> [[f64; 2]; 8] {
    let within = |x: f64, [from, to]: [f64; 2]| x.max(from).min(to);
    let to = |p: f64, r: f64| {
        [within(pitch + p * by_p, region.pitch), within(roll + r * by_r, region.roll)]
    };
    [
        to(1.0, 0.0),
        to(-1.0, 0.0),
        to(0.0, 1.0),
        to(0.0, -1.0),
        to(1.0, 1.0),
        to(1.0, -1.0),
        to(-1.0, 1.0),
        to(-1.0, -1.0),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_peak_between_the_points_of_a_coarse_grid_is_found() {
        let region = Region { pitch: [-1.0, 1.0], roll: [-0.5, 0.5], pieces: 6 };
        let hill = |[p, r]: [f64; 2]| 1.0 - (p - 0.217).powi(2) - 4.0 * (r + 0.133).powi(2);
        let found = largest(&region, &hill);
        assert!((found.value - 1.0).abs() < 1e-6, "{found:?}");
        let both = spread(&region, &hill);
        assert_eq!(both.lowest.joints, [-1.0, 0.5]);
    }
}
