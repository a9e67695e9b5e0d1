//! The linkage to scale, its parts named.
//!
//! ```text
//!        P o-------- coupler --------o Q
//!   crank /                         / rocker
//!   motor o-------- ground --------o joint        the ends of the stroke dashed, the paths of P and Q dotted
//! ```

use super::ink::Ink;
use super::jaw::{JawPicture, PlacedJaw};
use super::scale::ticks;
use super::{Anchor, Drawing, LETTERS, Mark, Point, Shape, text};

const MARGIN: Point = [78.0, 40.0];
/// Room below for the names of pins and the scale.
const FOOT: f64 = 58.0;

/// The linkage over its stroke; lengths in m, A at the origin, B on +x, y up.
#[derive(Clone, Debug)]
pub(in crate::report) struct LinkagePicture {
    /// For screen readers.
    pub(in crate::report) title: String,
    /// For who cannot see it.
    pub(in crate::report) description: String,
    /// Ground length.
    pub(in crate::report) ground: f64,
    /// P and Q over the stroke.
    pub(in crate::report) pins: Vec<[Point; 2]>,
    /// A finger's pad, where it rides on the coupler.
    pub(in crate::report) jaw: Option<JawPicture>,
    /// The pose to show.
    pub(in crate::report) shown: usize,
    /// Width and greatest height of the picture, px.
    pub(in crate::report) room: Point,
}

/// From metres to pixels.
struct Sheet {
    scale: f64,
    /// Of A.
    origin: Point,
    size: Point,
}

impl Sheet {
    fn at(&self, [x, y]: Point) -> Point {
        [self.origin[0] + self.scale * x, self.origin[1] - self.scale * y]
    }
}

impl LinkagePicture {
    fn sheet(&self) -> Sheet {
        let own = self.pins.iter().flatten().copied().chain([[0.0, 0.0], [self.ground, 0.0]]);
        let mut all: Vec<Point> = own.collect();
        let pads = self.jaw.as_ref().map(|jaw| jaw.outermost(&all));
        all.extend(pads.into_iter().flatten());
        let (mut low, mut high) = ([0.0_f64; 2], [0.0_f64; 2]);
        for [x, y] in all {
            (low[0], high[0]) = (low[0].min(x), high[0].max(x));
            (low[1], high[1]) = (low[1].min(y), high[1].max(y));
        }
        let (wide, tall) = (high[0] - low[0], high[1] - low[1]);
        let room = [self.room[0] - 2.0 * MARGIN[0], self.room[1] - MARGIN[1] - FOOT];
        let scale = (room[0] / wide).min(room[1] / tall.max(1e-12));
        let left = 0.5 * (self.room[0] - scale * wide);
        // A support needs its room below even where nothing else lies below the ground line.
        let below = (-low[1] * scale).max(34.0);
        let height = MARGIN[1] + scale * high[1] + below + FOOT;
        Sheet {
            scale,
            origin: [left - low[0] * scale, MARGIN[1] + scale * high[1]],
            size: [self.room[0], height.ceil()],
        }
    }

    /// P and Q of every pose, px.
    pub(in crate::report) fn pins_placed(&self) -> Vec<[Point; 2]> {
        let sheet = self.sheet();
        self.pins.iter().map(|pins| pins.map(|p| sheet.at(p))).collect()
    }

    /// The pads of every pose, px.
    pub(in crate::report) fn jaw_placed(&self) -> Option<PlacedJaw> {
        let sheet = self.sheet();
        self.jaw.as_ref().map(|jaw| jaw.placed(|p| sheet.at(p)))
    }

    /// The picture drawn.
    pub(in crate::report) fn draw(&self) -> Drawing {
        let sheet = self.sheet();
        let mut drawing = Drawing::new(sheet.size, &self.title, &self.description);
        let placed = self.pins_placed();
        let ends = [sheet.at([0.0, 0.0]), sheet.at([self.ground, 0.0])];
        let jaw = self.jaw_placed();
        ground(&mut drawing, ends, placed.get(self.shown));
        if let Some(jaw) = &jaw {
            jaw.still(&mut drawing, ends);
        }
        for pin in [0, 1] {
            let path = placed.iter().filter_map(|pins| pins.get(pin).copied()).collect();
            drawing.add(Ink::Trace, Shape::Line(path));
        }
        for [p, q] in [placed.first(), placed.last()].into_iter().flatten() {
            drawing.add(Ink::Ghost, Shape::Line(vec![ends[0], *p, *q, ends[1]]));
        }
        if let Some(pins) = placed.get(self.shown) {
            if let Some(jaw) = &jaw {
                jaw.moving(&mut drawing, ends, *pins, self.shown);
            }
            moving(&mut drawing, ends, *pins);
        }
        let joint = if jaw.is_some() { "B" } else { "B joint" };
        axes_named(&mut drawing, ends, &placed, joint);
        scale_bar(&mut drawing, &sheet);
        drawing
    }
}

/// The ground line and its two supports.
fn ground(drawing: &mut Drawing, [a, b]: [Point; 2], shown: Option<&[Point; 2]>) {
    drawing.add(Ink::Ground, Shape::Line(vec![a, b]));
    for [x, y] in [a, b] {
        let foot = y + 20.0;
        let triangle = vec![[x, y], [x - 13.0, foot], [x + 13.0, foot], [x, y]];
        drawing.add(Ink::Support, Shape::Line(triangle));
        for k in -1..3_i32 {
            let at = x + 8.0 * f64::from(k);
            drawing.add(Ink::Support, Shape::Line(vec![[at - 3.0, foot], [at - 9.0, foot + 6.0]]));
        }
    }
    // Out of the way of a coupler that crosses the ground line in the middle.
    let crosses = shown.is_some_and(|[p, q]| (0.5 * (p[1] + q[1]) - a[1]).abs() < 45.0);
    let along = if crosses { 0.3 } else { 0.5 };
    let at = [a[0] + along * (b[0] - a[0]), a[1] + 18.0];
    drawing.write(Ink::Label, at, Anchor::Middle, "ground");
}

/// All that moves with the slider; the page's script puts these parts where a pose has them by the same rules.
fn moving(drawing: &mut Drawing, [a, b]: [Point; 2], [p, q]: [Point; 2]) {
    let mut part = |name, ink, shape| drawing.marks.push(Mark { shape, ink, part: Some(name) });
    part("coupler", Ink::Coupler, Shape::Line(vec![p, q]));
    part("crank", Ink::Crank, Shape::Line(vec![a, p]));
    part("rocker", Ink::Rocker, Shape::Line(vec![b, q]));
    part("pin-p", Ink::Pin, Shape::Circle(p, 5.0));
    part("pin-q", Ink::Pin, Shape::Circle(q, 5.0));
    for (part_name, words, [from, to], toward, half) in [
        ("name-crank", "crank", [a, p], [-1.0, -0.01], 18.0),
        ("name-coupler", "coupler", [p, q], [0.0, -1.0], 24.0),
        ("name-rocker", "rocker", [b, q], [1.0, -0.01], 20.0),
    ] {
        let at = beside([from, to], toward, half);
        part(part_name, Ink::Label, text(at, Anchor::Middle, LETTERS, words));
    }
    part("name-p", Ink::Label, text(beyond(a, p), Anchor::Middle, LETTERS, "P"));
    part("name-q", Ink::Label, text(beyond(b, q), Anchor::Middle, LETTERS, "Q"));
}

/// Where a name of half width `half` stands beside the middle of a bar, on the side of `toward`.
fn beside([from, to]: [Point; 2], toward: Point, half: f64) -> Point {
    let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    let length = dx.hypot(dy).max(1e-9);
    let (nx, ny) = (-dy / length, dx / length);
    let side = if nx * toward[0] + ny * toward[1] < 0.0 { -1.0 } else { 1.0 };
    let away = side * (11.0 + half * nx.abs());
    [0.5 * (from[0] + to[0]) + away * nx, 0.5 * (from[1] + to[1]) + away * ny + 4.5]
}

/// A little further than `pin` seen from `axis`.
fn beyond(axis: Point, pin: Point) -> Point {
    let [dx, dy] = [pin[0] - axis[0], pin[1] - axis[1]];
    let length = dx.hypot(dy).max(1e-9);
    [pin[0] + 19.0 * dx / length, pin[1] + 19.0 * dy / length + 4.5]
}

fn axes_named(drawing: &mut Drawing, [a, b]: [Point; 2], poses: &[[Point; 2]], joint: &str) {
    drawing.add(Ink::Pin, Shape::Circle(a, 9.0));
    drawing.add(Ink::Pin, Shape::Circle(a, 3.0));
    drawing.add(Ink::Pin, Shape::Circle(b, 6.0));
    let taken: Vec<Point> = poses.iter().flat_map(|[p, q]| along_bars([a, *p, *q, b])).collect();
    for (axis, outward, words) in [(a, -1.0, "A motor"), (b, 1.0, joint)] {
        let [dx, dy] = free_side(axis, outward, &taken);
        let at = [axis[0] + dx, axis[1] + dy + 4.5];
        drawing.write(Ink::Label, at, Anchor::Middle, words);
    }
}

/// Where a name stands from its axis: below, outward, above, inward, the first that no bar comes near, else the freest.
fn free_side([x, y]: Point, outward: f64, taken: &[Point]) -> Point {
    let places = [[0.0, 38.0], [48.0 * outward, 0.0], [0.0, -26.0], [-48.0 * outward, 20.0]];
    let room = |[dx, dy]: Point| {
        // A name is three times as wide as it is high.
        let gaps = taken.iter().map(|[u, v]| ((u - x - dx) / 2.2).hypot(v - y - dy));
        gaps.fold(f64::INFINITY, f64::min)
    };
    let free = places.into_iter().find(|place| room(*place) > 13.0);
    let freest = places.into_iter().max_by(|p, q| room(*p).total_cmp(&room(*q)));
    free.or(freest).unwrap_or([0.0, 38.0])
}

/// Points along the three bars.
fn along_bars(joints: [Point; 4]) -> Vec<Point> {
    let between = |([x, y], [u, v]): (Point, Point)| {
        (1..9).map(move |k| {
            let share = f64::from(k) / 8.0;
            [x + share * (u - x), y + share * (v - y)]
        })
    };
    let bars = joints.into_iter().zip(joints.into_iter().skip(1));
    bars.flat_map(between).collect()
}

/// A bar of a round length.
fn scale_bar(drawing: &mut Drawing, sheet: &Sheet) {
    let widest = 130.0 / sheet.scale;
    let (lengths, _) = ticks([0.0, widest], 2.0);
    let Some(length) = lengths.last().copied().filter(|l| *l > 0.0) else { return };
    let wide = length * sheet.scale;
    let [right, y] = [sheet.size[0] - 12.0, sheet.size[1] - 14.0];
    let bar = vec![[right - wide, y - 4.0], [right - wide, y], [right, y], [right, y - 4.0]];
    drawing.add(Ink::Axis, Shape::Line(bar));
    let words = crate::units::millimetres(length);
    drawing.write(Ink::Quiet, [right - 0.5 * wide, y - 7.0], Anchor::Middle, &words);
}
