//! Shares one below the other.

use super::ink::Ink;
use super::{Anchor, Drawing, Shape, rectangle};

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
        let mut drawing = Drawing::new([self.width, 8.0], &self.title, &self.description);
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
