//! A drawing as SVG: inside a page, where classes carry the looks, or alone, with its looks and white paper in it.

use std::fmt::Write as _;

use crate::report::words::{escaped, prose};

use super::ink::Ink;
use super::{Anchor, Drawing, Mark, Point, Shape, Text};

/// Where a drawing stands in a page.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct Place<'a> {
    /// The start of the ids of its title and description, one of its own on the page.
    pub(in crate::report) id: &'a str,
    /// A class for the style sheet.
    pub(in crate::report) class: &'a str,
}

/// The drawing for a page, with a name and a description that a screen reader reads out.
pub(in crate::report) fn inline(drawing: &Drawing, place: Place<'_>) -> String {
    let Place { id, class } = place;
    let [width, height] = drawing.size;
    format!(
        "<svg class=\"{class}\" viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\">\n\
         <title id=\"{id}-t\">{}</title><desc id=\"{id}-d\">{}</desc>\n{}</svg>",
        figure(width),
        figure(height),
        escaped(&drawing.title),
        prose(&drawing.description),
        marks(drawing)
    )
}

/// The drawing as a file of its own.
pub(in crate::report) fn alone(drawing: &Drawing) -> String {
    let [width, height] = drawing.size.map(figure);
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" font-family=\"system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif\">\n\
         <title>{}</title>\n<desc>{}</desc>\n<style>\n{}</style>\n\
         <rect class=\"i-paper\" width=\"{width}\" height=\"{height}\"/>\n{}</svg>\n",
        escaped(&drawing.title),
        prose(&drawing.description),
        Ink::rules_alone(),
        marks(drawing)
    )
}

fn marks(drawing: &Drawing) -> String {
    drawing.marks.iter().map(mark).collect()
}

fn mark(mark: &Mark) -> String {
    let mut head = format!("class=\"{}\"", mark.ink.look().class);
    if let Some(part) = mark.part {
        let _ = write!(head, " data-part=\"{part}\"");
    }
    match &mark.shape {
        Shape::Line(points) => format!("<polyline {head} points=\"{}\"/>\n", listed(points)),
        Shape::Area(points) => format!("<polygon {head} points=\"{}\"/>\n", listed(points)),
        Shape::Circle([x, y], radius) => format!(
            "<circle {head} cx=\"{}\" cy=\"{}\" r=\"{}\"/>\n",
            figure(*x),
            figure(*y),
            figure(*radius)
        ),
        Shape::Text(text) => words(&head, text),
    }
}

fn words(head: &str, text: &Text) -> String {
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let [x, y] = text.at.map(figure);
    format!(
        "<text {head} x=\"{x}\" y=\"{y}\"{anchor} font-size=\"{}\">{}</text>\n",
        figure(text.size),
        escaped(&text.words)
    )
}

fn listed(points: &[Point]) -> String {
    let pairs: Vec<String> =
        points.iter().map(|[x, y]| format!("{},{}", figure(*x), figure(*y))).collect();
    pairs.join(" ")
}

/// A coordinate to a tenth of a pixel, as short as it goes.
pub(in crate::report) fn figure(x: f64) -> String {
    let text = format!("{x:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
