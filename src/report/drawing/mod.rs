//! Pictures as a list of marks, drawn three ways: inside the page (colours from its style sheet, light or dark), as an
//! SVG that stands alone, and as a PNG.
//!
//! Coordinates are CSS pixels, x to the right, y down. A mark names what it stands for (its [`Ink`]), not how it looks;
//! the looks are one table, so that the three outputs cannot drift apart.

mod bars;
mod chart;
mod contours;
mod ink;
mod labels;
#[cfg(feature = "pictures")]
mod raster;
mod scale;
mod skeleton;
mod svg;

pub(super) use bars::Bars;
pub(super) use chart::{Axis, Chart, Form, Layer, cursor};
pub(super) use contours::Heights;
pub(super) use ink::{Ink, style_sheet};
#[cfg(feature = "pictures")]
pub(super) use raster::{letters_lacking, png};
pub(super) use skeleton::{MovingBar, MovingPin, Skeleton, StillLine};
pub(super) use svg::{Place, alone, inline};

use super::words::typeset;

/// A point in pixels.
pub(super) type Point = [f64; 2];

/// A picture.
#[derive(Clone, Debug)]
pub(super) struct Drawing {
    /// Width and height.
    pub(super) size: Point,
    /// Short name for screen readers.
    pub(super) title: String,
    /// What there is to see, for who cannot see it.
    pub(super) description: String,
    /// In drawing order.
    pub(super) marks: Vec<Mark>,
}

/// One thing drawn.
#[derive(Clone, Debug)]
pub(super) struct Mark {
    /// Its form.
    pub(super) shape: Shape,
    /// What it stands for.
    pub(super) ink: Ink,
    /// By what name a script finds it, where it moves.
    pub(super) part: Option<&'static str>,
}

/// A form.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    /// An open line through points.
    Line(Vec<Point>),
    /// A filled area.
    Area(Vec<Point>),
    /// A circle: centre and radius.
    Circle(Point, f64),
    /// Words.
    Text(Text),
}

/// Words at a place.
#[derive(Clone, Debug)]
pub(super) struct Text {
    /// On the base line.
    pub(super) at: Point,
    /// Where `at` lies in the words.
    pub(super) anchor: Anchor,
    /// Height of the letters' em.
    pub(super) size: f64,
    /// The words.
    pub(super) words: String,
}

/// Where a text's point lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    /// At its left end.
    Start,
    /// In its middle.
    Middle,
    /// At its right end.
    End,
}

/// The size of letters in charts.
pub(super) const LETTERS: f64 = 13.0;

impl Drawing {
    /// An empty sheet with its title and description.
    pub(super) fn new(size: Point, title: &str, description: &str) -> Self {
        let [title, description] = [title, description].map(str::to_owned);
        Self { size, title, description, marks: Vec::new() }
    }

    /// Adds a mark.
    pub(super) fn add(&mut self, ink: Ink, shape: Shape) {
        self.marks.push(Mark { shape, ink, part: None });
    }

    /// Adds a mark that moves.
    pub(super) fn add_part(&mut self, part: &'static str, ink: Ink, shape: Shape) {
        self.marks.push(Mark { shape, ink, part: Some(part) });
    }

    /// Adds words of the usual size.
    pub(super) fn write(&mut self, ink: Ink, at: Point, anchor: Anchor, words: &str) {
        self.add(ink, text(at, anchor, LETTERS, words));
    }

    /// Puts `other` with its upper left corner at `at`.
    pub(super) fn place(&mut self, other: Drawing, at: Point) {
        let moved =
            other.marks.into_iter().map(|mark| Mark { shape: mark.shape.moved(at), ..mark });
        self.marks.extend(moved);
    }
}

/// Words as a form, set as by [`typeset`].
pub(super) fn text(at: Point, anchor: Anchor, size: f64, words: &str) -> Shape {
    Shape::Text(Text { at, anchor, size, words: typeset(words) })
}

/// The four corners of an upright rectangle.
pub(super) fn rectangle([left, top]: Point, [right, bottom]: Point) -> Shape {
    Shape::Area(vec![[left, top], [right, top], [right, bottom], [left, bottom]])
}

/// About how wide words are in the sans-serif faces of common systems; good for layout, not for setting type.
pub(super) fn width_of(words: &str, size: f64) -> f64 {
    let of = |c: char| match c {
        'i' | 'j' | 'l' | 't' | 'f' | 'r' | '.' | ',' | ':' | ';' | '|' | '\'' | ' ' | '\u{a0}' => {
            0.36
        }
        'm' | 'w' | 'M' | 'W' | '…' | '%' => 0.9,
        c if c.is_uppercase() => 0.68,
        c if u32::from(c) >= 0x2e80 => 1.0,
        _ => 0.6,
    };
    size * words.chars().map(of).sum::<f64>()
}

impl Shape {
    fn moved(self, [dx, dy]: Point) -> Self {
        let point = |[x, y]: Point| [x + dx, y + dy];
        match self {
            Self::Line(points) => Self::Line(points.into_iter().map(point).collect()),
            Self::Area(points) => Self::Area(points.into_iter().map(point).collect()),
            Self::Circle(centre, radius) => Self::Circle(point(centre), radius),
            Self::Text(text) => Self::Text(Text { at: point(text.at), ..text }),
        }
    }
}
