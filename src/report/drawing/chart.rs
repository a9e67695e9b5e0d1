//! A chart: axes with ticks and units, bands, levels and curves, each with its name beside it. Its title stands outside.

use std::borrow::Cow;

use crate::units::fixed;

use super::ink::Ink;
use super::labels::{BASE, Taken, along, around, rim};
use super::scale::ticks;
use super::{Anchor, Drawing, LETTERS, Point, Shape, rectangle, width_of};

/// One axis.
#[derive(Clone, Debug)]
pub(in crate::report) struct Axis {
    /// What is plotted, with its unit.
    pub(in crate::report) label: String,
    /// From left to right or from bottom to top.
    pub(in crate::report) range: [f64; 2],
}

/// What a chart is made of: form, look, and name; a layer without one stands beside a named one.
#[derive(Clone, Debug)]
pub(in crate::report) struct Layer(
    pub(in crate::report) Form,
    pub(in crate::report) Ink,
    pub(in crate::report) Cow<'static, str>,
);

/// The form of a layer.
#[derive(Clone, Debug)]
pub(in crate::report) enum Form {
    /// From one height to another over the whole width.
    Band([f64; 2]),
    /// A line at one height.
    Level(f64),
    /// A line at one place along.
    Upright(f64),
    /// A curve; a point that is not finite breaks it.
    Curve(Vec<Point>),
    /// A ring.
    Spot(Point),
    /// Filled rectangles: lower left and upper right corner.
    Cells(Vec<[Point; 2]>),
    /// Bars side by side: left, right, height.
    Columns(Vec<[f64; 3]>),
}

/// A chart before it is drawn.
#[derive(Clone, Debug)]
pub(in crate::report) struct Chart {
    /// For screen readers.
    pub(in crate::report) title: String,
    /// For who cannot see it.
    pub(in crate::report) description: String,
    /// Width and height, px.
    pub(in crate::report) size: Point,
    /// Along.
    pub(in crate::report) x: Axis,
    /// Up.
    pub(in crate::report) y: Axis,
    /// In drawing order.
    pub(in crate::report) layers: Vec<Layer>,
}

/// The plotting area: where a value lies in pixels.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct Frame {
    /// Left, top, right, bottom, px.
    corners: [f64; 4],
    x: [f64; 2],
    y: [f64; 2],
}

const LEFT: f64 = 60.0;
const RIGHT: f64 = 16.0;
const BOTTOM: f64 = 46.0;
const TOP: f64 = 10.0;
/// Half of a line's width to what is written beside it.
const THICK: f64 = 1.5;
/// From a line to the middle of words above or below it.
const BESIDE: f64 = 13.0;
/// The same between two lines.
const CLOSE: f64 = 9.0;

impl Frame {
    /// Pixels of a value; outside the area where the value is.
    pub(in crate::report) fn at(&self, [x, y]: Point) -> Point {
        [self.along(x), self.up(y)]
    }

    fn along(&self, x: f64) -> f64 {
        let [left, _, right, _] = self.corners;
        left + (x - self.x[0]) / (self.x[1] - self.x[0]) * (right - left)
    }

    fn up(&self, y: f64) -> f64 {
        let [_, top, _, bottom] = self.corners;
        bottom - (y - self.y[0]) / (self.y[1] - self.y[0]) * (bottom - top)
    }

    /// Pixels of a value, its height held inside the area.
    pub(in crate::report) fn held(&self, at: Point) -> Point {
        let [_, top, _, bottom] = self.corners;
        let [x, y] = self.at(at);
        [x, if y.is_finite() { y.clamp(top, bottom) } else { top }]
    }

    fn is_inside(&self, [x, y]: Point) -> bool {
        let [left, top, right, bottom] = self.corners;
        (left - 0.5..=right + 0.5).contains(&x) && (top - 0.5..=bottom + 0.5).contains(&y)
    }
}

impl Chart {
    /// Where values will lie.
    pub(in crate::report) fn frame(&self) -> Frame {
        let [width, height] = self.size;
        let corners = [LEFT, TOP, width - RIGHT, height - BOTTOM];
        Frame { corners, x: self.x.range, y: self.y.range }
    }

    /// The chart drawn.
    pub(in crate::report) fn draw(&self) -> Drawing {
        let mut drawing = Drawing::new(self.size, &self.title, &self.description);
        let frame = self.frame();
        grid(&mut drawing, &frame);
        for layer in &self.layers {
            draw_layer(&mut drawing, &frame, layer);
        }
        self.axes(&mut drawing, &frame);
        self.names(&mut drawing, &frame);
        drawing
    }

    fn axes(&self, drawing: &mut Drawing, frame: &Frame) {
        let [left, top, right, bottom] = frame.corners;
        drawing.add(Ink::Axis, Shape::Line(vec![[left, top], [left, bottom], [right, bottom]]));
        let middle = [0.5 * (left + right), self.size[1] - 8.0];
        drawing.write(Ink::Text, middle, Anchor::Middle, &self.x.label);
    }

    /// Each layer's name beside it: what is narrow first, a band last.
    fn names(&self, drawing: &mut Drawing, frame: &Frame) {
        let [left, top, right, bottom] = frame.corners;
        let lines = self.layers.iter().flat_map(|layer| outline(frame, &layer.0)).collect();
        let mut taken = Taken::new(vec![lines], THICK, [[left, top], [right, bottom]]);
        let is_band = |layer: &&Layer| matches!(layer.0, Form::Band(_) | Form::Cells(_));
        let (bands, others): (Vec<_>, Vec<_>) = self.layers.iter().partition(is_band);
        for Layer(form, _, name) in others.into_iter().chain(bands) {
            let alone = |places: Vec<Point>| places.into_iter().map(|place| vec![place]).collect();
            let near = if name.is_empty() { Vec::new() } else { places(frame, form, name) };
            let fits = name.is_empty() || taken.has_room(name, alone(near.clone()));
            let far = if fits { near } else { away(frame, form) };
            let found = taken.freest(name, alone(far));
            let Some(at) = found.first() else { continue };
            if !fits {
                leader(drawing, frame, form, *at);
            }
            drawing.write(Ink::Label, *at, Anchor::Middle, name);
        }
    }
}

/// Points that names keep away from; the edges of a band carry no line.
fn outline(frame: &Frame, form: &Form) -> Vec<Point> {
    let [left, top, right, bottom] = frame.corners;
    let sides = |y: f64| {
        let places = evenly([left, right]).map(|x| [x, y]).collect::<Vec<_>>();
        if (top..=bottom).contains(&y) { places } else { Vec::new() }
    };
    match form {
        Form::Band(_) | Form::Cells(_) => Vec::new(),
        Form::Level(y) => sides(frame.up(*y)),
        Form::Upright(x) => evenly([top, bottom]).map(|y| [frame.along(*x), y]).collect(),
        Form::Curve(points) => {
            let pieces = pieces(frame, points).into_iter();
            let between = |pair: &[Point]| match pair {
                [one, next] => along([*one, *next]).collect(),
                _ => Vec::new(),
            };
            pieces
                .flat_map(|piece| piece.windows(2).flat_map(between).collect::<Vec<_>>())
                .collect()
        }
        Form::Spot(at) => rim(frame.held(*at), 5.0).collect(),
        Form::Columns(columns) => columns.iter().flat_map(|c| filled(frame, *c)).collect(),
    }
}

/// Places for a name that has no room beside its line, the nearest to it first.
fn away(frame: &Frame, form: &Form) -> Vec<Point> {
    let [left, top, right, bottom] = frame.corners;
    let all = evenly([left, right]).flat_map(|x| evenly([top, bottom]).map(move |y| [x, y]));
    // A line is told above or below it, what is small from nearby.
    let far = |[x, y]: Point| {
        let [u, v] = nearest(frame, form, [x, y])?;
        let along = if matches!(form, Form::Spot(_) | Form::Cells(_)) { u - x } else { 0.0 };
        Some((along.hypot(v - y), [x, y]))
    };
    let mut all: Vec<(f64, Point)> = all.filter_map(far).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Of many places alike one in ten will do.
    all.into_iter().step_by(10).map(|(_, at)| at).collect()
}

/// The point of a line that is straight above or below, or nearest to it.
fn nearest(frame: &Frame, form: &Form, [x, y]: Point) -> Option<Point> {
    let off = |p: &Point| (p[0] - x).hypot(0.01 * (p[1] - y));
    let points = match form {
        Form::Cells(cells) => cells.iter().map(|cell| centre(frame, cell)).collect(),
        _ => outline(frame, form),
    };
    points.into_iter().min_by(|p, q| off(p).total_cmp(&off(q)))
}

fn centre(frame: &Frame, [low, high]: &[Point; 2]) -> Point {
    frame.at([0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])])
}

/// Where words lie on cells alone, the nearest to the middle of all first.
fn on_cells(frame: &Frame, cells: &[[Point; 2]], half: f64) -> Vec<Point> {
    let corners: Vec<[Point; 2]> = cells.iter().map(|cell| cell.map(|at| frame.at(at))).collect();
    let is_on = |[x, y]: Point| {
        let holds = |[[left, bottom], [right, top]]: &[Point; 2]| {
            (*left..=*right).contains(&x) && (*top..=*bottom).contains(&y)
        };
        corners.iter().any(holds)
    };
    let tall = 0.6 * LETTERS;
    let fits = |[x, y]: &Point| {
        let across = [-1.0, -0.5, 0.0, 0.5, 1.0].map(|share| x + share * half);
        across.iter().all(|x| is_on([*x, y - tall]) && is_on([*x, y + tall]))
    };
    let [left, top, right, bottom] = frame.corners;
    let all = evenly([left, right]).flat_map(|x| evenly([top, bottom]).map(move |y| [x, y]));
    let mut found: Vec<Point> = all.filter(fits).collect();
    let off = |at: &Point| (at[0] - 0.5 * (left + right)).hypot(at[1] - 0.5 * (top + bottom));
    found.sort_by(|a, b| off(a).total_cmp(&off(b)));
    found
}

/// A thin line from a name's edge to what it names.
fn leader(drawing: &mut Drawing, frame: &Frame, form: &Form, [x, y]: Point) {
    let Some(end) = nearest(frame, form, [x, y]) else { return };
    let edge = y - BASE + if end[1] > y { 0.6 } else { -0.6 } * LETTERS;
    drawing.add(Ink::Axis, Shape::Line(vec![[x, edge], end]));
}

fn evenly([from, to]: [f64; 2]) -> impl Iterator<Item = f64> {
    (0..=60_u32).map(move |k| from + (to - from) * f64::from(k) / 60.0)
}

fn filled(frame: &Frame, [from, to, height]: [f64; 3]) -> Vec<Point> {
    let x = frame.along(0.5 * (from + to));
    let range = [frame.up(height), frame.corners[3]];
    let points = evenly(range).map(|y| [x, y]);
    if height > 0.0 { points.collect() } else { Vec::new() }
}

/// Where a layer's name may stand, the best first.
fn places(frame: &Frame, form: &Form, name: &str) -> Vec<Point> {
    let [left, top, right, bottom] = frame.corners;
    let half = 0.5 * width_of(name, LETTERS) + 6.0;
    let across = |share: f64| left + half + share * (right - left - 2.0 * half);
    let sides = |y: f64| {
        let shares = || (0..=20_u32).map(|k| f64::from(k) / 20.0).rev();
        let at = move |off: f64| shares().map(move |share| [across(share), y + off]);
        [-BESIDE, BESIDE, -CLOSE, CLOSE].into_iter().flat_map(at)
    };
    match form {
        Form::Band([from, to]) => {
            let [low, high] = [frame.up(*from), frame.up(*to)].map(|y| y.clamp(top, bottom));
            let (low, high) = (low.max(high), low.min(high));
            sides(high).chain(sides(low)).chain(sides(0.5 * (low + high))).collect()
        }
        Form::Level(y) => sides(frame.up(*y)).collect(),
        Form::Cells(cells) => on_cells(frame, cells, half),
        Form::Upright(x) => {
            let x = frame.along(*x);
            let heights = (0..9_u32).map(|k| top + 12.0 + f64::from(k) * 0.1 * (bottom - top));
            heights.flat_map(|y| [[x + half, y], [x - half, y]]).collect()
        }
        Form::Curve(points) => {
            let placed = pieces(frame, points).concat();
            let at = |share: usize| placed.get(placed.len() * share / 20).copied();
            let shares = [10, 14, 6, 17, 3, 12, 8, 16, 4, 19, 1, 11, 13, 7, 5, 15, 9, 18, 2];
            let shares = shares.into_iter().filter_map(at);
            let off = |[x, y]: Point| {
                [14.0, 22.0, 32.0, 10.0].into_iter().flat_map(move |far| {
                    [[x, y - far], [x, y + far], [x + half + 4.0, y], [x - half - 4.0, y]]
                })
            };
            shares.flat_map(off).collect()
        }
        Form::Spot(at) => around(vec![frame.held(*at)]).concat(),
        Form::Columns(columns) => {
            let tallest = columns.iter().max_by(|a, b| a[2].total_cmp(&b[2]));
            let tops = tallest.into_iter().chain(columns);
            tops.flat_map(|[from, to, height]| {
                let [x, y] = [frame.along(0.5 * (from + to)), frame.up(*height)];
                [[x + half, y - 8.0], [x + half + 8.0, y + 8.0], [x - half, y - 8.0]]
            })
            .collect()
        }
    }
}

fn grid(drawing: &mut Drawing, frame: &Frame) {
    let [left, top, right, bottom] = frame.corners;
    let (values, decimals) = ticks(frame.y, ((bottom - top) / 40.0).clamp(2.0, 6.0));
    for value in values {
        let y = frame.up(value);
        drawing.add(Ink::Grid, Shape::Line(vec![[left, y], [right, y]]));
        let at = [left - 7.0, y + 4.5];
        drawing.write(Ink::Quiet, at, Anchor::End, &fixed(value, decimals));
    }
    let (values, decimals) = ticks(frame.x, ((right - left) / 42.0).clamp(2.0, 10.0));
    for value in values {
        let x = frame.along(value);
        drawing.add(Ink::Axis, Shape::Line(vec![[x, bottom], [x, bottom + 4.0]]));
        let at = [x, bottom + 18.0];
        drawing.write(Ink::Quiet, at, Anchor::Middle, &fixed(value, decimals));
    }
}

fn draw_layer(drawing: &mut Drawing, frame: &Frame, Layer(form, ink, _): &Layer) {
    let [left, top, right, bottom] = frame.corners;
    match form {
        Form::Band([from, to]) => {
            let [y0, y1] = [frame.up(*from), frame.up(*to)].map(|y| y.clamp(top, bottom));
            // A certified bound that is next to nothing still shows as a hair.
            let spread = (1.5 - (y0 - y1).abs()).max(0.0) * 0.5;
            let (low, high) = (y0.max(y1) + spread, y0.min(y1) - spread);
            drawing.add(*ink, rectangle([left, high], [right, low]));
        }
        Form::Level(y) => {
            let y = frame.up(*y);
            if (top - 0.5..=bottom + 0.5).contains(&y) {
                drawing.add(*ink, Shape::Line(vec![[left, y], [right, y]]));
            }
        }
        Form::Upright(x) => {
            let x = frame.along(*x);
            if (left - 0.5..=right + 0.5).contains(&x) {
                drawing.add(*ink, Shape::Line(vec![[x, top], [x, bottom]]));
            }
        }
        Form::Curve(points) => {
            for piece in pieces(frame, points) {
                drawing.add(*ink, Shape::Line(piece));
            }
        }
        Form::Spot(at) => {
            let at = frame.held(*at);
            drawing.add(*ink, Shape::Circle(at, 5.0));
        }
        Form::Cells(cells) => {
            for cell in cells {
                // On whole pixels, so that no seam shows between two.
                let [low, high] = cell.map(|at| frame.at(at).map(f64::round));
                drawing.add(*ink, rectangle([low[0], high[1]], [high[0], low[1]]));
            }
        }
        Form::Columns(columns) => {
            for [from, to, height] in columns.iter().filter(|c| c[2] > 0.0) {
                let corner = [frame.along(*from) + 0.5, frame.up(*height).max(top)];
                drawing.add(*ink, rectangle(corner, [frame.along(*to) - 0.5, bottom]));
            }
        }
    }
}

/// The curve in pixels, cut where it leaves the area.
fn pieces(frame: &Frame, points: &[Point]) -> Vec<Vec<Point>> {
    let placed: Vec<Point> = points.iter().map(|p| frame.at(*p)).collect();
    let pieces = placed.split(|p| !frame.is_inside(*p));
    pieces.filter(|piece| piece.len() > 1).map(<[Point]>::to_vec).collect()
}

/// The line and the dot that show the slider's pose in a chart of the page, below the names.
pub(in crate::report) fn cursor(drawing: &mut Drawing, frame: &Frame, at: Point) {
    let [_, top, _, bottom] = frame.corners;
    let [x, y] = frame.held(at);
    let names = drawing.marks.iter().position(|mark| mark.ink == Ink::Label);
    let names = drawing.marks.split_off(names.unwrap_or(drawing.marks.len()));
    drawing.add_part("cursor", Ink::Cursor, Shape::Line(vec![[x, top], [x, bottom]]));
    drawing.add_part("dot", Ink::CursorDot, Shape::Circle([x, y], 5.5));
    drawing.marks.extend(names);
}
