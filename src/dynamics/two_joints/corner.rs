//! Points of two figures with the pose of each, and their convex hull.
//!
//! # Source
//! A. M. Andrew, Information Processing Letters 9 (1979) 216–219 (memory).

/// A point with the pose near which it is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Corner {
    pub(super) at: [f64; 2],
    pub(super) joints: [f64; 2],
}

impl Corner {
    /// The corners of a box about it with these half sides.
    pub(super) fn with_room(self, [by_x, by_y]: [f64; 2]) -> [Self; 4] {
        let [x, y] = self.at;
        [[x - by_x, y - by_y], [x + by_x, y - by_y], [x + by_x, y + by_y], [x - by_x, y + by_y]]
            .map(|at| Self { at, ..self })
    }
}

/// Twice the area to the left of a→b→c.
pub(super) fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// The hull of all points and their opposites, counter-clockwise.
pub(super) fn around(mut all: Vec<Corner>) -> Vec<Corner> {
    let opposite = |corner: &Corner| Corner { at: corner.at.map(|x| -x), ..*corner };
    let opposites: Vec<Corner> = all.iter().map(opposite).collect();
    all.extend(opposites);
    hull_of(all)
}

/// The hull of all points, counter-clockwise.
pub(super) fn hull_of(mut all: Vec<Corner>) -> Vec<Corner> {
    all.sort_unstable_by(|a, b| a.at[0].total_cmp(&b.at[0]).then(a.at[1].total_cmp(&b.at[1])));
    let mut lower = chain(all.iter());
    lower.pop();
    let mut upper = chain(all.iter().rev());
    upper.pop();
    lower.append(&mut upper);
    lower
}

fn chain<'a>(sorted: impl Iterator<Item = &'a Corner>) -> Vec<Corner> {
    let mut chain: Vec<Corner> = Vec::new();
    for corner in sorted {
        while let [.., a, b] = chain.as_slice()
            && turn(a.at, b.at, corner.at) <= 0.0
        {
            chain.pop();
        }
        chain.push(*corner);
    }
    chain
}
