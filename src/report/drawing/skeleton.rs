//! A drive as bars and pins, to scale, in one view or in two: along the joint axis, and square to it where not all of it lies
//! in one plane.

use std::borrow::Cow;

use super::ink::Ink;
use super::labels::{Taken, along, around, beside, rim};
use super::scale::ticks;
use super::{Anchor, Drawing, LETTERS, Point, Shape, text, width_of};

/// A line that stands still: ground, axis, guide.
#[derive(Clone, Debug)]
pub(in crate::report) struct StillLine {
    pub(in crate::report) ink: Ink,
    pub(in crate::report) name: &'static str,
    pub(in crate::report) ends: [Point; 2],
    /// From there to where it is drawn, px.
    pub(in crate::report) aside: Point,
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
    /// From there to where it is drawn, px.
    pub(in crate::report) aside: Point,
    /// Shown at both ends of the stroke too.
    pub(in crate::report) has_ghosts: bool,
}

/// A pin that moves, its path dotted where it has a name.
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
    pub(in crate::report) fixed: Vec<(Point, Cow<'static, str>)>,
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

/// The outer ring of a fixed point, px.
const RING: f64 = 8.0;

struct Sheet {
    scale: f64,
    origin: Point,
    size: Point,
}

impl Sheet {
    fn at(&self, [x, y]: Point) -> Point {
        [self.origin[0] + self.scale * x, self.origin[1] - self.scale * y]
    }

    fn line(&self, ends: [Point; 2], [dx, dy]: Point) -> [Point; 2] {
        ends.map(|end| self.at(end)).map(|[x, y]| [x + dx, y + dy])
    }
}

impl MovingBar {
    fn on(&self, sheet: &Sheet, pose: usize) -> Option<[Point; 2]> {
        self.ends.get(pose).map(|ends| sheet.line(*ends, self.aside))
    }

    fn on_every(&self, sheet: &Sheet) -> Vec<[Point; 2]> {
        self.ends.iter().map(|ends| sheet.line(*ends, self.aside)).collect()
    }

    /// Where it is at both ends of the stroke, if that is shown.
    fn ghosts(&self, sheet: &Sheet) -> Vec<[Point; 2]> {
        let ends = [self.ends.first(), self.ends.last()].into_iter().flatten();
        ends.filter(|_| self.has_ghosts).map(|ends| sheet.line(*ends, self.aside)).collect()
    }
}

impl MovingPin {
    /// Its path, where that is shown.
    fn path(&self, sheet: &Sheet) -> Vec<Point> {
        let places = self.places.iter().filter(|_| !self.name.is_empty());
        places.map(|place| sheet.at(*place)).collect()
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
            let ends = bar.on_every(&sheet).into_iter().map(|ends| ends.to_vec());
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
            let ends = sheet.line(line.ends, line.aside);
            drawing.add(line.ink, Shape::Line(ends.to_vec()));
        }
        for (centre, radius) in &self.wheels {
            drawing.add(Ink::Support, Shape::Circle(sheet.at(*centre), sheet.scale * radius));
        }
        for path in self.pins.iter().map(|pin| pin.path(&sheet)).filter(|path| !path.is_empty()) {
            drawing.add(Ink::Trace, Shape::Line(path));
        }
        for ghost in self.bars.iter().flat_map(|bar| bar.ghosts(&sheet)) {
            drawing.add(Ink::Ghost, Shape::Line(ghost.to_vec()));
        }
        self.moving(&mut drawing, &sheet);
        for (at, _) in &self.fixed {
            drawing.add(Ink::Pin, Shape::Circle(sheet.at(*at), RING));
            drawing.add(Ink::Pin, Shape::Circle(sheet.at(*at), 3.0));
        }
        self.write_names(&mut drawing, &sheet);
        drawing
    }

    fn moving(&self, drawing: &mut Drawing, sheet: &Sheet) {
        for bar in &self.bars {
            if let Some(ends) = bar.on(sheet, self.shown) {
                drawing.add_part(bar.parts[0], bar.ink, Shape::Line(ends.to_vec()));
            }
        }
        for pin in &self.pins {
            if let Some(at) = pin.places.get(self.shown) {
                drawing.add_part(pin.parts[0], Ink::Pin, Shape::Circle(sheet.at(*at), 5.0));
            }
        }
    }

    fn write_names(&self, drawing: &mut Drawing, sheet: &Sheet) {
        let names = self.names(sheet);
        for (part, words, places) in names.moving {
            if let Some(at) = places.get(self.shown) {
                drawing.add_part(part, Ink::Label, text(*at, Anchor::Middle, LETTERS, words));
            }
        }
        for (words, at) in names.fixed {
            drawing.write(Ink::Label, at, Anchor::Middle, words);
        }
        if let Some(bar) = self.scale_bar(sheet) {
            bar.draw(drawing);
        }
    }

    fn scale_bar(&self, sheet: &Sheet) -> Option<ScaleBar> {
        ScaleBar::of(sheet).filter(|_| self.is_to_scale)
    }

    /// What names keep away from.
    fn taken(&self, sheet: &Sheet) -> Taken {
        let poses = self.bars.iter().map(|bar| bar.ends.len()).max().unwrap_or(1);
        let fixed = self.fixed.iter().flat_map(|(at, _)| rim(sheet.at(*at), RING));
        let still = self.still.iter().flat_map(|line| along(sheet.line(line.ends, line.aside)));
        let rims =
            self.wheels.iter().flat_map(|(at, radius)| rim(sheet.at(*at), sheet.scale * radius));
        let standing: Vec<Point> = fixed.chain(still).chain(rims).collect();
        // A name that moves with its bar cannot but cross what is dashed and dotted; at rest it stands clear of that too.
        let ghosts = self.bars.iter().flat_map(|bar| bar.ghosts(sheet)).flat_map(along);
        let faint: Vec<Point> =
            ghosts.chain(self.pins.iter().flat_map(|pin| pin.path(sheet))).collect();
        let lines = (0..poses).map(|pose| {
            let bars = self.bars.iter().filter_map(|bar| bar.on(sheet, pose)).flat_map(along);
            let faint = faint.iter().filter(|_| pose == self.shown);
            bars.chain(standing.iter().chain(faint).copied()).collect()
        });
        let mut taken = Taken::new(lines.collect(), 3.5, [[0.0, 0.0], sheet.size]);
        self.scale_bar(sheet).iter().for_each(|bar| taken.take(bar.place()));
        taken
    }

    /// Where every name stands.
    fn names(&self, sheet: &Sheet) -> Names<'_> {
        let mut taken = self.taken(sheet);
        let poses = taken.poses();
        let mut names = Names::default();
        // What moves has the fewest places: it chooses first.
        for bar in self.bars.iter().filter(|bar| !bar.name.is_empty()) {
            let place = taken.freest(bar.name, beside(&bar.on_every(sheet), bar.name));
            names.moving.push((bar.parts[1], bar.name, place));
        }
        for pin in self.pins.iter().filter(|pin| !pin.name.is_empty()) {
            let places = pin.places.iter().map(|p| sheet.at(*p)).collect();
            let place = taken.freest(pin.name, around(places));
            names.moving.push((pin.parts[1], pin.name, place));
        }
        for (at, words) in self.fixed.iter().filter(|(_, words)| !words.is_empty()) {
            let place = taken.freest(words, around(vec![sheet.at(*at); poses]));
            names.fixed.extend(place.first().map(|at| (words.as_ref(), *at)));
        }
        for line in self.still.iter().filter(|line| !line.name.is_empty()) {
            let ends = sheet.line(line.ends, line.aside);
            let place = taken.freest(line.name, beside(&vec![ends; poses], line.name));
            names.fixed.extend(place.first().map(|at| (line.name, *at)));
        }
        names
    }
}

#[derive(Default)]
struct Names<'a> {
    fixed: Vec<(&'a str, Point)>,
    /// Part, words, and the place in every pose.
    moving: Vec<(&'static str, &'static str, Vec<Point>)>,
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
