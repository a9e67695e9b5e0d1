//! A drive in space as bars and pins, to scale, in one view or in two: along the joint axis, and square to it where not all
//! of it lies in one plane.
//!
//! Where a name stands is chosen once for the whole stroke: where it comes nearest to a bar as late as can be.

use super::ink::Ink;
use super::scale::ticks;
use super::{Anchor, Drawing, LETTERS, Point, Shape, text, width_of};

/// A line that stands still: ground, axis, guide.
#[derive(Clone, Debug)]
pub(in crate::report) struct StillLine {
    pub(in crate::report) ink: Ink,
    pub(in crate::report) name: &'static str,
    pub(in crate::report) ends: [Point; 2],
}

/// A bar that moves.
#[derive(Clone, Debug)]
pub(in crate::report) struct MovingBar {
    /// How the page's script finds it, and its name.
    pub(in crate::report) parts: [&'static str; 2],
    pub(in crate::report) ink: Ink,
    /// What is written beside it; nothing where empty.
    pub(in crate::report) name: &'static str,
    /// In every pose.
    pub(in crate::report) ends: Vec<[Point; 2]>,
}

/// A pin that moves, its path dotted.
#[derive(Clone, Debug)]
pub(in crate::report) struct MovingPin {
    pub(in crate::report) parts: [&'static str; 2],
    pub(in crate::report) name: &'static str,
    pub(in crate::report) places: Vec<Point>,
}

/// One view; lengths in m, x to the right, y up.
#[derive(Clone, Debug, Default)]
pub(in crate::report) struct Skeleton {
    /// For screen readers.
    pub(in crate::report) title: String,
    /// For who cannot see it.
    pub(in crate::report) description: String,
    pub(in crate::report) still: Vec<StillLine>,
    /// Fixed points with their names; an axis that points at the reader has two rings.
    pub(in crate::report) fixed: Vec<(Point, &'static str)>,
    /// Wheels: centre and radius.
    pub(in crate::report) wheels: Vec<(Point, f64)>,
    pub(in crate::report) bars: Vec<MovingBar>,
    pub(in crate::report) pins: Vec<MovingPin>,
    /// The pose to show.
    pub(in crate::report) shown: usize,
    /// Has lengths that a scale belongs to.
    pub(in crate::report) is_to_scale: bool,
    /// Width and greatest height, px.
    pub(in crate::report) room: Point,
}

/// Where a moving part is in every pose: the points of a line, the centre of a circle, the place of words; px.
pub(in crate::report) type PlacedPart = (&'static str, Vec<Vec<Point>>);

const MARGIN: f64 = 62.0;
/// Room above for names.
const HEADROOM: f64 = 34.0;
/// Room below for names and the scale.
const FOOT: f64 = 56.0;

struct Sheet {
    scale: f64,
    origin: Point,
    size: Point,
}

impl Sheet {
    fn at(&self, [x, y]: Point) -> Point {
        [self.origin[0] + self.scale * x, self.origin[1] - self.scale * y]
    }
}

impl Skeleton {
    fn sheet(&self) -> Sheet {
        let bars = self.bars.iter().flat_map(|bar| bar.ends.iter().flatten());
        let still = self.still.iter().flat_map(|line| &line.ends);
        let fixed = self.fixed.iter().map(|(at, _)| at);
        let rims = self.wheels.iter().flat_map(|([x, y], r)| [[x - r, y - r], [x + r, y + r]]);
        let points = bars.chain(still).chain(fixed).copied().chain(rims);
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for [x, y] in points.filter(|p| p.iter().all(|x| x.is_finite())) {
            (low[0], high[0]) = (low[0].min(x), high[0].max(x));
            (low[1], high[1]) = (low[1].min(y), high[1].max(y));
        }
        let [wide, tall] = [high[0] - low[0], high[1] - low[1]];
        let room = [self.room[0] - 2.0 * MARGIN, self.room[1] - HEADROOM - FOOT];
        let scale = (room[0] / wide.max(1e-9)).min(room[1] / tall.max(1e-9));
        let left = 0.5 * (self.room[0] - scale * wide);
        let height = (HEADROOM + scale * tall + FOOT).max(120.0);
        let above = 0.5 * (height - scale * tall - HEADROOM - FOOT) + HEADROOM;
        Sheet {
            scale,
            origin: [left - low[0] * scale, above + scale * high[1]],
            size: [self.room[0], height.ceil()],
        }
    }

    /// All that moves with the slider.
    pub(in crate::report) fn placed(&self) -> Vec<PlacedPart> {
        let sheet = self.sheet();
        let names = self.names(&sheet);
        let bars = self.bars.iter().map(|bar| {
            let ends = bar.ends.iter().map(|ends| ends.map(|p| sheet.at(p)).to_vec());
            (bar.parts[0], ends.collect())
        });
        let pins = self
            .pins
            .iter()
            .map(|pin| (pin.parts[0], pin.places.iter().map(|p| vec![sheet.at(*p)]).collect()));
        let named = names
            .moving
            .iter()
            .map(|(part, _, places)| (*part, places.iter().map(|at| vec![*at]).collect()));
        bars.chain(pins).chain(named).collect()
    }

    /// The picture drawn.
    pub(in crate::report) fn draw(&self) -> Drawing {
        let sheet = self.sheet();
        let mut drawing = Drawing::new(sheet.size, &self.title, &self.description);
        for line in &self.still {
            drawing.add(line.ink, Shape::Line(line.ends.map(|p| sheet.at(p)).to_vec()));
        }
        for (centre, radius) in &self.wheels {
            drawing.add(Ink::Support, Shape::Circle(sheet.at(*centre), sheet.scale * radius));
        }
        for pin in &self.pins {
            let path = pin.places.iter().map(|p| sheet.at(*p)).collect();
            drawing.add(Ink::Trace, Shape::Line(path));
        }
        self.ghosts(&mut drawing, &sheet);
        self.moving(&mut drawing, &sheet);
        for (at, _) in &self.fixed {
            drawing.add(Ink::Pin, Shape::Circle(sheet.at(*at), 8.0));
            drawing.add(Ink::Pin, Shape::Circle(sheet.at(*at), 3.0));
        }
        let names = self.names(&sheet);
        for (part, words, places) in names.moving {
            if let Some(at) = places.get(self.shown) {
                drawing.add_part(part, Ink::Label, text(*at, Anchor::Middle, LETTERS, words));
            }
        }
        for (words, at) in names.fixed {
            drawing.write(Ink::Label, at, Anchor::Middle, words);
        }
        if let Some(bar) = self.scale_bar(&sheet) {
            bar.draw(&mut drawing);
        }
        drawing
    }

    /// Both ends of the stroke.
    fn ghosts(&self, drawing: &mut Drawing, sheet: &Sheet) {
        for bar in &self.bars {
            for ends in [bar.ends.first(), bar.ends.last()].into_iter().flatten() {
                drawing.add(Ink::Ghost, Shape::Line(ends.map(|p| sheet.at(p)).to_vec()));
            }
        }
    }

    fn moving(&self, drawing: &mut Drawing, sheet: &Sheet) {
        for bar in &self.bars {
            if let Some(ends) = bar.ends.get(self.shown) {
                let line = Shape::Line(ends.map(|p| sheet.at(p)).to_vec());
                drawing.add_part(bar.parts[0], bar.ink, line);
            }
        }
        for pin in &self.pins {
            if let Some(at) = pin.places.get(self.shown) {
                drawing.add_part(pin.parts[0], Ink::Pin, Shape::Circle(sheet.at(*at), 5.0));
            }
        }
    }

    fn scale_bar(&self, sheet: &Sheet) -> Option<ScaleBar> {
        ScaleBar::of(sheet).filter(|_| self.is_to_scale)
    }

    /// Where every name stands.
    fn names(&self, sheet: &Sheet) -> Names {
        let mut taken = Taken::new(self, sheet);
        let mut names = Names::default();
        for (at, words) in self.fixed.iter().filter(|(_, words)| !words.is_empty()) {
            let at = sheet.at(*at);
            let poses = taken.poses;
            let place = taken.freest(words, around(vec![at; poses]));
            names.fixed.extend(place.first().map(|at| (*words, *at)));
        }
        for line in self.still.iter().filter(|line| !line.name.is_empty()) {
            let ends = line.ends.map(|p| sheet.at(p));
            let poses = taken.poses;
            let place = taken.freest(line.name, beside(&vec![ends; poses], line.name));
            names.fixed.extend(place.first().map(|at| (line.name, *at)));
        }
        for pin in self.pins.iter().filter(|pin| !pin.name.is_empty()) {
            let places = pin.places.iter().map(|p| sheet.at(*p)).collect();
            let place = taken.freest(pin.name, around(places));
            names.moving.push((pin.parts[1], pin.name, place));
        }
        for bar in self.bars.iter().filter(|bar| !bar.name.is_empty()) {
            let ends: Vec<[Point; 2]> =
                bar.ends.iter().map(|ends| ends.map(|p| sheet.at(p))).collect();
            let place = taken.freest(bar.name, beside(&ends, bar.name));
            names.moving.push((bar.parts[1], bar.name, place));
        }
        names
    }
}

#[derive(Default)]
struct Names {
    fixed: Vec<(&'static str, Point)>,
    /// Part, words, and the place in every pose.
    moving: Vec<(&'static str, &'static str, Vec<Point>)>,
}

/// What names keep away from: bars, lines and pins in every pose, and the names that stand already.
struct Taken {
    poses: usize,
    /// Points along the lines of every pose, both ends of the stroke among them.
    lines: Vec<Vec<Point>>,
    /// Middle and half size of every name, in every pose.
    names: Vec<Vec<(Point, Point)>>,
    size: Point,
}

/// Points along a bar that stand for it.
const ALONG: u32 = 14;

impl Taken {
    fn new(skeleton: &Skeleton, sheet: &Sheet) -> Self {
        let poses = skeleton.bars.iter().map(|bar| bar.ends.len()).max().unwrap_or(1);
        let still: Vec<Point> = skeleton.still.iter().flat_map(|l| along(l.ends)).collect();
        let rims = skeleton.wheels.iter().flat_map(|(at, radius)| rim(*at, *radius));
        let fixed: Vec<Point> =
            skeleton.fixed.iter().map(|(at, _)| *at).chain(still).chain(rims).collect();
        let ends = skeleton.bars.iter().flat_map(|bar| [bar.ends.first(), bar.ends.last()]);
        let ghosts: Vec<Point> = ends.flatten().flat_map(|ends| along(*ends)).collect();
        let lines = (0..poses).map(|pose| {
            let bars = skeleton.bars.iter().filter_map(|bar| bar.ends.get(pose));
            let still = fixed.iter().chain(&ghosts).copied();
            let all = bars.flat_map(|ends| along(*ends)).chain(still);
            all.map(|p| sheet.at(p)).collect()
        });
        let names: Vec<_> = skeleton.scale_bar(sheet).iter().map(ScaleBar::place).collect();
        Self { poses, lines: lines.collect(), names: vec![names; poses], size: sheet.size }
    }

    /// The first of `candidates`, each the middle of the words in every pose, that keeps well away, else the freest; taken
    /// from then on.
    fn freest(&mut self, words: &str, candidates: Vec<Vec<Point>>) -> Vec<Point> {
        const WELL: f64 = 5.0;
        let half = [0.5 * width_of(words, LETTERS), 0.5 * LETTERS];
        let gap = |places: &Vec<Point>| {
            let gaps = places.iter().enumerate().map(|(pose, at)| self.gap(pose, *at, half));
            gaps.fold(f64::INFINITY, f64::min)
        };
        let first = candidates.iter().find(|places| gap(places) >= WELL);
        let best = first.or_else(|| candidates.iter().max_by(|a, b| gap(a).total_cmp(&gap(b))));
        let found = best.cloned().unwrap_or_default();
        for (names, at) in self.names.iter_mut().zip(&found) {
            names.push((*at, half));
        }
        // Words stand on their base line.
        found.into_iter().map(|[x, y]| [x, y + 4.5]).collect()
    }

    /// How far words with their middle at `at` are from all else in a pose; negative beyond the sheet.
    fn gap(&self, pose: usize, [x, y]: Point, half: Point) -> f64 {
        let off = |[u, v]: Point, more: Point| {
            let dx = (u - x).abs() - half[0] - more[0];
            let dy = (v - y).abs() - half[1] - more[1];
            if dx < 0.0 && dy < 0.0 { dx.max(dy) } else { dx.max(0.0).hypot(dy.max(0.0)) }
        };
        let lines = self.lines.get(pose).into_iter().flatten().map(|p| off(*p, [3.5, 3.5]));
        let names = self.names.get(pose).into_iter().flatten().map(|(p, more)| off(*p, *more));
        let inside =
            [x - half[0], self.size[0] - x - half[0], y - half[1], self.size[1] - y - half[1]];
        lines.chain(names).chain(inside).fold(f64::INFINITY, f64::min)
    }
}

fn along([[x, y], [u, v]]: [Point; 2]) -> impl Iterator<Item = Point> {
    (0..=ALONG).map(move |k| {
        let share = f64::from(k) / f64::from(ALONG);
        [x + share * (u - x), y + share * (v - y)]
    })
}

fn rim([x, y]: Point, radius: f64) -> impl Iterator<Item = Point> {
    (0..24).map(move |k| {
        let (sine, cosine) = libm::sincos(f64::from(k) * std::f64::consts::TAU / 24.0);
        [x + radius * cosine, y + radius * sine]
    })
}

/// Places around a point that moves: below, above, and further round, near and farther.
fn around(places: Vec<Point>) -> Vec<Vec<Point>> {
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

/// Places beside a bar that moves: either side of its middle, and nearer to its ends.
fn beside(ends: &[[Point; 2]], words: &str) -> Vec<Vec<Point>> {
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
    for away in [14.0, 24.0, 38.0] {
        for share in [0.5, 0.35, 0.65, 0.2, 0.8] {
            all.extend([1.0, -1.0].map(|side| at(share, side, away)));
        }
    }
    all
}

/// A bar of a round length at the foot, where nothing else stands.
struct ScaleBar {
    words: String,
    wide: f64,
    right: f64,
    foot: f64,
}

impl ScaleBar {
    fn of(sheet: &Sheet) -> Option<Self> {
        // With three steps wanted there is always one.
        let (lengths, _) = ticks([0.0, 130.0 / sheet.scale], 3.0);
        let length = lengths.last().copied().filter(|l| *l > 0.0)?;
        let [right, foot] = [sheet.size[0] - 12.0, sheet.size[1] - 10.0];
        let words = crate::units::millimetres(length);
        Some(Self { words, wide: length * sheet.scale, right, foot })
    }

    /// Middle and half size of all of it.
    fn place(&self) -> (Point, Point) {
        let half = 0.5 * self.wide.max(width_of(&self.words, LETTERS)) + 6.0;
        ([self.right - 0.5 * self.wide, self.foot - 10.0], [half, 14.0])
    }

    fn draw(&self, drawing: &mut Drawing) {
        let Self { words, wide, right, foot: y } = self;
        let bar =
            vec![[right - wide, y - 4.0], [right - wide, *y], [*right, *y], [*right, y - 4.0]];
        drawing.add(Ink::Axis, Shape::Line(bar));
        drawing.write(Ink::Quiet, [right - 0.5 * wide, y - 7.0], Anchor::Middle, words);
    }
}
