//! A drawing as PNG, with a face that comes along: no system font is asked for.
//!
//! Letters are set one after the other by their advance widths, without kerning or shaping; a letter that the face lacks
//! (it has Latin, Greek and Cyrillic) is an empty box, where the SVG has the reader's own fonts.

use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, StrokeDash,
    Transform,
};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

use super::ink::{Colour, Ink, Look};
use super::{Anchor, Drawing, Mark, Point, Shape, Text};

/// Pixels of the image to one of the drawing.
const FINE: f32 = 2.0;

/// The image, or `None` where its size cannot be had.
pub(in crate::report) fn png(drawing: &Drawing) -> Option<Vec<u8>> {
    let face = Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0).ok()?;
    let [width, height] = drawing.size;
    let mut image = Pixmap::new(pixels(width)?, pixels(height)?)?;
    image.fill(Color::WHITE);
    let mut canvas = Canvas { image, face };
    for mark in &drawing.marks {
        canvas.mark(mark);
    }
    canvas.image.encode_png().ok()
}

/// Letters of the drawing that the face lacks, each once, in order.
pub(in crate::report) fn letters_lacking(drawing: &Drawing) -> String {
    let Ok(face) = Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0) else { return String::new() };
    let mut lacking = String::new();
    for mark in &drawing.marks {
        let Shape::Text(text) = &mark.shape else { continue };
        let unknown = text.words.chars().filter(|c| face.glyph_index(*c).is_none());
        for letter in unknown {
            if !lacking.contains(letter) {
                lacking.push(letter);
            }
        }
    }
    lacking
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "held to a few thousand pixels before"
)]
fn pixels(length: f64) -> Option<u32> {
    let fine = (length * f64::from(FINE)).ceil();
    (1.0..=16_000.0).contains(&fine).then_some(fine as u32)
}

#[allow(clippy::cast_possible_truncation, reason = "pixels of a picture")]
fn single(x: f64) -> f32 {
    x as f32
}

struct Canvas<'a> {
    image: Pixmap,
    face: Face<'a>,
}

impl Canvas<'_> {
    fn mark(&mut self, mark: &Mark) {
        let look = mark.ink.look();
        match &mark.shape {
            Shape::Line(points) => self.paint(through(points, false), &look),
            Shape::Area(points) => self.paint(through(points, true), &look),
            Shape::Circle([x, y], radius) => {
                let circle = PathBuilder::from_circle(single(*x), single(*y), single(*radius));
                self.paint(circle, &look);
            }
            Shape::Text(text) => self.text(text, mark.ink, &look),
        }
    }

    fn paint(&mut self, path: Option<Path>, look: &Look) {
        let Some(path) = path else { return };
        if let Some(fill) = look.fill {
            self.fill(&path, fill, look.opacity);
        }
        if let Some(stroke) = look.stroke {
            self.stroke(&path, stroke, look);
        }
    }

    fn fill(&mut self, path: &Path, colour: Colour, opacity: f64) {
        let fine = Transform::from_scale(FINE, FINE);
        let paint = paint(colour, opacity);
        self.image.fill_path(path, &paint, FillRule::Winding, fine, None);
    }

    fn stroke(&mut self, path: &Path, colour: Colour, look: &Look) {
        let dash = look.dash.iter().map(|x| single(*x)).collect::<Vec<_>>();
        let round = look.width > 4.5;
        let stroke = Stroke {
            width: single(look.width),
            line_cap: if round { LineCap::Round } else { LineCap::Butt },
            line_join: LineJoin::Round,
            dash: if dash.is_empty() { None } else { StrokeDash::new(dash, 0.0) },
            ..Stroke::default()
        };
        let fine = Transform::from_scale(FINE, FINE);
        self.image.stroke_path(path, &paint(colour, 1.0), &stroke, fine, None);
    }

    /// A rim of paper first where there is one; the face is light, so that all letters get a hair more, first rank more.
    fn text(&mut self, text: &Text, ink: Ink, look: &Look) {
        let Some(path) = self.outline(text) else { return };
        if let Some(rim) = look.stroke {
            self.stroke(&path, rim, look);
        }
        let Some(colour) = look.fill else { return };
        self.fill(&path, colour, 1.0);
        let weight = if ink.is_bold() { 0.055 } else { 0.022 };
        let hair = Look { width: weight * text.size, dash: &[], ..ink.look() };
        self.stroke(&path, colour, &hair);
    }

    fn outline(&self, text: &Text) -> Option<Path> {
        let scale = single(text.size) / f32::from(self.face.units_per_em());
        let glyphs: Vec<(GlyphId, f32)> = text.words.chars().map(|c| self.glyph(c)).collect();
        let width: f32 = glyphs.iter().map(|(_, advance)| advance * scale).sum();
        let shift = match text.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5 * width,
            Anchor::End => width,
        };
        let [x, y] = text.at.map(single);
        let mut pen = Pen { path: PathBuilder::new(), at: [x - shift, y], scale };
        for (glyph, advance) in glyphs {
            self.face.outline_glyph(glyph, &mut pen);
            pen.at[0] += advance * scale;
        }
        pen.path.finish()
    }

    fn glyph(&self, c: char) -> (GlyphId, f32) {
        let glyph = self.face.glyph_index(c).unwrap_or_default();
        (glyph, f32::from(self.face.glyph_hor_advance(glyph).unwrap_or(0)))
    }
}

fn paint(colour: Colour, opacity: f64) -> Paint<'static> {
    let [red, green, blue] = colour.light();
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    let mut mixed = Color::from_rgba8(red, green, blue, 255);
    mixed.set_alpha(single(opacity));
    paint.set_color(mixed);
    paint
}

fn through(points: &[Point], closed: bool) -> Option<Path> {
    let placed: Vec<[f32; 2]> = points.iter().map(|p| p.map(single)).collect();
    // A rectangle of no height is none to the rasteriser.
    if let ([[left, top], _, [right, bottom], _], true) = (placed.as_slice(), closed) {
        return Rect::from_ltrb(*left, *top, *right, *bottom).map(PathBuilder::from_rect);
    }
    let mut path = PathBuilder::new();
    let (first, rest) = placed.split_first()?;
    path.move_to(first[0], first[1]);
    for [x, y] in rest {
        path.line_to(*x, *y);
    }
    if closed {
        path.close();
    }
    path.finish()
}

/// Draws a letter's outline at its place, y down.
struct Pen {
    path: PathBuilder,
    at: [f32; 2],
    scale: f32,
}

impl Pen {
    fn to(&self, x: f32, y: f32) -> (f32, f32) {
        (self.at[0] + self.scale * x, self.at[1] - self.scale * y)
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.to(x, y);
        self.path.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.to(x, y);
        self.path.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.to(x1, y1), self.to(x, y));
        self.path.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.to(x1, y1), self.to(x2, y2), self.to(x, y));
        self.path.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.path.close();
    }
}
