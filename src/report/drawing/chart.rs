//! A chart: axes with ticks and units, bands, levels, curves, and a legend of their names above.

use crate::units::fixed;

use super::ink::Ink;
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

/// What a chart is made of: form, look, and name in the legend; a layer without one stands beside a named one.
#[derive(Clone, Debug)]
pub(in crate::report) struct Layer(
    pub(in crate::report) Form,
    pub(in crate::report) Ink,
    pub(in crate::report) &'static str,
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
/// Height of a row of words.
const ROW: f64 = 19.0;
const SWATCH: f64 = 20.0;

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
        let top = ROW * (1.0 + self.legend_rows()) + 10.0;
        let corners = [LEFT, top, width - RIGHT, height - BOTTOM];
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
        self.legend(&mut drawing);
        drawing
    }

    fn axes(&self, drawing: &mut Drawing, frame: &Frame) {
        let [left, top, right, bottom] = frame.corners;
        drawing.add(Ink::Axis, Shape::Line(vec![[left, top], [left, bottom], [right, bottom]]));
        drawing.write(Ink::Text, [8.0, 16.0], Anchor::Start, &self.y.label);
        let middle = [0.5 * (left + right), self.size[1] - 8.0];
        drawing.write(Ink::Text, middle, Anchor::Middle, &self.x.label);
    }

    fn legend(&self, drawing: &mut Drawing) {
        for (layer, name, [x, y]) in self.legend_places() {
            swatch(drawing, layer, [x, y - 4.5]);
            drawing.write(Ink::Quiet, [x + SWATCH + 5.0, y], Anchor::Start, name);
        }
    }

    /// Names in rows above the plotting area, left to right.
    fn legend_places(&self) -> Vec<(&Layer, &'static str, Point)> {
        let (mut x, mut row) = (8.0, 1.0);
        let mut places = Vec::new();
        for layer in self.layers.iter().filter(|layer| !layer.2.is_empty()) {
            let name = layer.2;
            let width = SWATCH + 5.0 + width_of(name, LETTERS) + 10.0;
            if x > 8.0 && x + width > self.size[0] {
                (x, row) = (8.0, row + 1.0);
            }
            places.push((layer, name, [x, 16.0 + ROW * row]));
            x += width;
        }
        places
    }

    fn legend_rows(&self) -> f64 {
        self.legend_places().last().map_or(0.0, |(_, _, [_, y])| (y - 16.0) / ROW)
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

fn swatch(drawing: &mut Drawing, Layer(form, ink, _): &Layer, [x, y]: Point) {
    let end = [x + SWATCH, y];
    match form {
        Form::Band(_) | Form::Columns(_) => {
            drawing.add(*ink, rectangle([x, y - 5.0], [end[0], y + 5.0]));
        }
        Form::Level(_) | Form::Upright(_) | Form::Curve(_) => {
            drawing.add(*ink, Shape::Line(vec![[x, y], end]));
        }
        Form::Spot(_) => {
            drawing.add(*ink, Shape::Circle([x + 0.5 * SWATCH, y], 5.0));
        }
    }
}

/// The line and the dot that show the slider's pose in a chart of the page.
pub(in crate::report) fn cursor(drawing: &mut Drawing, frame: &Frame, at: Point) {
    let [_, top, _, bottom] = frame.corners;
    let [x, y] = frame.held(at);
    drawing.add_part("cursor", Ink::Cursor, Shape::Line(vec![[x, top], [x, bottom]]));
    drawing.add_part("dot", Ink::CursorDot, Shape::Circle([x, y], 5.5));
}
