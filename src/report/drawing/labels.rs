//! Where names stand: beside what they name, off all lines and off each other. In a picture that moves a place is chosen once
//! for the whole stroke.

use super::{LETTERS, Point, width_of};

/// Points along a line that stand for it.
const ALONG: u32 = 14;

/// Names keep as far as this from all else where they can, px.
const WELL: f64 = 5.0;

/// What is nearer touches, px.
const CLEAR: f64 = 0.5;

/// Names closer to each other than this along their line read as one, px.
const APART: f64 = 7.0;

/// From the middle of words to their base line, px.
pub(super) const BASE: f64 = 4.5;

/// A gap of 1 px is worth as many candidates, which come nearest first.
const WORTH: f64 = 4.0;

/// What names keep away from: lines in every pose, and the names that stand already.
pub(super) struct Taken {
    /// Points along the lines of every pose.
    lines: Vec<Vec<Point>>,
    /// Half of a line's width, px.
    thick: f64,
    /// Middle and half size of every name, in every pose.
    names: Vec<Vec<(Point, Point)>>,
    /// Upper left and lower right corner of the room.
    room: [Point; 2],
}

impl Taken {
    /// Lines of every pose, as points, each half as wide as `thick`; names stay in `room`.
    pub(super) fn new(lines: Vec<Vec<Point>>, thick: f64, room: [Point; 2]) -> Self {
        let names = vec![Vec::new(); lines.len()];
        Self { lines, thick, names, room }
    }

    /// How many poses there are.
    pub(super) fn poses(&self) -> usize {
        self.lines.len()
    }

    /// Nothing else stands there, in any pose: middle and half size.
    pub(super) fn take(&mut self, place: (Point, Point)) {
        self.names.iter_mut().for_each(|names| names.push(place));
    }

    /// Of `candidates`, each the middle of the words in every pose and the best first, the one that keeps well away and comes
    /// early; taken from then on. Where the words stand on their base line, in every pose.
    pub(super) fn freest(&mut self, words: &str, candidates: Vec<Vec<Point>>) -> Vec<Point> {
        let half = half_size(words);
        let found = self.best(half, candidates).map(|(_, places)| places).unwrap_or_default();
        for (names, at) in self.names.iter_mut().zip(&found) {
            names.push((*at, half));
        }
        found.into_iter().map(|[x, y]| [x, y + BASE]).collect()
    }

    /// Would words touch nothing at the best of `candidates`?
    pub(super) fn has_room(&self, words: &str, candidates: Vec<Vec<Point>>) -> bool {
        self.best(half_size(words), candidates).is_some_and(|(gap, _)| gap >= CLEAR)
    }

    /// With how much room it has.
    fn best(&self, half: Point, candidates: Vec<Vec<Point>>) -> Option<(f64, Vec<Point>)> {
        let gap = |places: &Vec<Point>| {
            let gaps = places.iter().enumerate().map(|(pose, at)| self.gap(pose, *at, half));
            gaps.fold(f64::INFINITY, f64::min)
        };
        let mut best: Option<(f64, f64, Vec<Point>)> = None;
        for (places, late) in candidates.into_iter().zip((0_u32..).map(f64::from)) {
            let gap = gap(&places).min(WELL);
            // What touches a line is out, unless all do.
            let score = WORTH * gap - late + if gap < CLEAR { 1e4 * (gap - CLEAR) } else { 0.0 };
            if best.as_ref().is_none_or(|(most, ..)| score > *most) {
                best = Some((score, gap, places));
            }
        }
        best.map(|(_, gap, places)| (gap, places))
    }

    /// How far words with their middle at `at` are from all else in a pose; negative beyond the room.
    fn gap(&self, pose: usize, [x, y]: Point, half: Point) -> f64 {
        let off = |[u, v]: Point, more: Point| {
            let dx = (u - x).abs() - half[0] - more[0];
            let dy = (v - y).abs() - half[1] - more[1];
            if dx < 0.0 && dy < 0.0 { dx.max(dy) } else { dx.max(0.0).hypot(dy.max(0.0)) }
        };
        let thick = [self.thick; 2];
        let lines = self.lines.get(pose).into_iter().flatten().map(|p| off(*p, thick));
        let names = self.names.get(pose).into_iter().flatten();
        let names = names.map(|(p, more)| off(*p, [more[0] + APART, more[1]]));
        let [[left, top], [right, bottom]] = self.room;
        let inside =
            [x - half[0] - left, right - x - half[0], y - half[1] - top, bottom - y - half[1]];
        lines.chain(names).chain(inside).fold(f64::INFINITY, f64::min)
    }
}

fn half_size(words: &str) -> Point {
    [0.5 * width_of(words, LETTERS), 0.5 * LETTERS]
}

/// Points along a line.
pub(super) fn along([[x, y], [u, v]]: [Point; 2]) -> impl Iterator<Item = Point> {
    (0..=ALONG).map(move |k| {
        let share = f64::from(k) / f64::from(ALONG);
        [x + share * (u - x), y + share * (v - y)]
    })
}

/// Points along a circle.
pub(super) fn rim([x, y]: Point, radius: f64) -> impl Iterator<Item = Point> {
    (0..24).map(move |k| {
        let (sine, cosine) = libm::sincos(f64::from(k) * std::f64::consts::TAU / 24.0);
        [x + radius * cosine, y + radius * sine]
    })
}

/// Places around a point that moves: below, above, and further round, near and farther.
pub(super) fn around(places: Vec<Point>) -> Vec<Vec<Point>> {
    const WAYS: [Point; 8] = [
        [0.0, 1.0],
        [0.0, -1.0],
        [1.0, 0.6],
        [-1.0, 0.6],
        [1.0, -0.6],
        [-1.0, -0.6],
        [1.4, 0.0],
        [-1.4, 0.0],
    ];
    let at = |far: f64, [dx, dy]: Point| {
        places.iter().map(|[x, y]| [x + 1.4 * far * dx, y + far * dy]).collect()
    };
    [22.0, 32.0, 44.0].into_iter().flat_map(|far| WAYS.map(|way| at(far, way))).collect()
}

/// Places beside a bar that moves: either side of its middle, nearer to its ends, and beyond them.
pub(super) fn beside(ends: &[[Point; 2]], words: &str) -> Vec<Vec<Point>> {
    let half = 0.5 * width_of(words, LETTERS);
    let at = |share: f64, side: f64, away: f64| {
        let place = |[[x, y], [u, v]]: &[Point; 2]| {
            let length = (u - x).hypot(v - y).max(1e-9);
            let [nx, ny] = [-(v - y) / length, (u - x) / length];
            let off = side * (away + half * nx.abs());
            [x + share * (u - x) + off * nx, y + share * (v - y) + off * ny]
        };
        ends.iter().map(place).collect()
    };
    let mut all = Vec::new();
    for away in [14.0, 24.0, 38.0, 54.0, 72.0] {
        for share in [0.5, 0.35, 0.65, 0.2, 0.8, -0.4, 1.4, -0.9, 1.9] {
            all.extend([1.0, -1.0].map(|side| at(share, side, away)));
        }
    }
    all
}
