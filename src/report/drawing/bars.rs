//! Counts side by side, and shares one below the other.

use super::chart::{Axis, Chart, Form, Layer};
use super::ink::Ink;
use super::{Anchor, Drawing, Point, Shape, rectangle};

/// How often a figure falls into each of some even bins.
#[derive(Clone, Debug)]
pub(in crate::report) struct Histogram {
    /// For screen readers.
    pub(in crate::report) title: String,
    /// For who cannot see it.
    pub(in crate::report) description: String,
    /// What is counted, with its unit.
    pub(in crate::report) label: String,
    /// From, to and share of all, per cent.
    pub(in crate::report) bins: Vec<[f64; 3]>,
    /// The accepted limit.
    pub(in crate::report) limit: f64,
    /// The certified worst case.
    pub(in crate::report) certified: Option<f64>,
}

impl Histogram {
    /// As a chart of `size`.
    pub(in crate::report) fn chart(self, size: Point) -> Chart {
        let tallest = self.bins.iter().map(|b| b[2]).fold(0.0, f64::max);
        let last = self.bins.last().map_or(0.0, |b| b[1]);
        let right = last.max(self.limit).max(self.certified.unwrap_or(0.0)) * 1.04;
        let (beyond, inside): (Vec<_>, Vec<_>) =
            self.bins.iter().copied().partition(|b| b[0] >= self.limit);
        let mut layers = vec![Layer(Form::Columns(inside), Ink::Bar, "builds")];
        if beyond.iter().any(|b| b[2] > 0.0) {
            layers.push(Layer(Form::Columns(beyond), Ink::BarBeyond, "beyond the limit"));
        }
        let certified = self.certified.filter(|c| c.is_finite());
        layers.extend(
            certified.map(|worst| {
                Layer(Form::Upright(worst), Ink::Direct, "no build is worse (proved)")
            }),
        );
        layers.push(Layer(Form::Upright(self.limit), Ink::Limit, "limit"));
        Chart {
            title: self.title,
            description: self.description,
            size,
            x: Axis { label: self.label, range: [0.0, right] },
            y: Axis { label: "builds, %".to_owned(), range: [0.0, 1.08 * tallest.max(1e-9)] },
            layers,
        }
    }
}

/// Shares one below the other, each with its name and figure.
#[derive(Clone, Debug)]
pub(in crate::report) struct Bars {
    /// For screen readers.
    pub(in crate::report) title: String,
    /// For who cannot see it.
    pub(in crate::report) description: String,
    /// Name, share 0…1, figure.
    pub(in crate::report) rows: Vec<(String, f64, String)>,
    /// Width of the picture, px.
    pub(in crate::report) width: f64,
}

const ROW: f64 = 38.0;

impl Bars {
    /// The bars drawn.
    pub(in crate::report) fn draw(&self) -> Drawing {
        let mut drawing = Drawing::new([self.width, 8.0]);
        drawing.title.clone_from(&self.title);
        drawing.description.clone_from(&self.description);
        for (name, share, figure) in &self.rows {
            let top = drawing.size[1];
            let right = self.width - 8.0;
            drawing.write(Ink::Text, [8.0, top + 12.0], Anchor::Start, name);
            drawing.write(Ink::Quiet, [right, top + 12.0], Anchor::End, figure);
            let bottom = top + 18.0;
            drawing.add(Ink::Grid, Shape::Line(vec![[8.0, bottom + 6.0], [right, bottom + 6.0]]));
            let end = 8.0 + (right - 8.0) * share.clamp(0.0, 1.0);
            drawing.add(Ink::Bar, rectangle([8.0, bottom], [end.max(9.0), bottom + 12.0]));
            drawing.size[1] += ROW;
        }
        drawing
    }
}
