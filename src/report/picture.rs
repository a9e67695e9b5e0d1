//! A curve drawn with characters.

use crate::units::fixed;

use super::style::Style;

const ROWS: usize = 9;

/// Lines of the picture: the curve through `points` (x in deg ascending, y; where that is infinite the column stays
/// empty) as ●, the accepted band's edges as ┄, y at the left, x below.
pub(super) fn draw(points: &[(f64, f64)], band: [f64; 2], style: Style) -> Vec<String> {
    let columns = style.width.saturating_sub(14).clamp(20, 72);
    let Some(frame) = Frame::around(points, band, columns) else {
        return Vec::new();
    };
    let mut cells = vec![vec![' '; columns]; ROWS];
    for edge in band {
        if let Some(row) = frame.row(edge).and_then(|r| cells.get_mut(r)) {
            row.fill('┄');
        }
    }
    for column in 0..columns {
        let row = frame.value_at(points, column).and_then(|y| frame.row(y));
        if let Some(cell) = row.and_then(|r| cells.get_mut(r)).and_then(|r| r.get_mut(column)) {
            *cell = '●';
        }
    }
    frame.lines(&cells)
}

struct Frame {
    columns: usize,
    x: [f64; 2],
    y: [f64; 2],
}

impl Frame {
    fn around(points: &[(f64, f64)], band: [f64; 2], columns: usize) -> Option<Self> {
        let x = [points.first()?.0, points.last()?.0];
        // Near a dead point the curve leaves for infinity: the frame stays within three times the middle of the band.
        let middle = 0.5 * (band[0] + band[1]);
        let near = |y: &f64| (y - middle).abs() <= 2.0 * middle.abs();
        let shown = points.iter().map(|p| p.1).filter(near).chain(band);
        let (low, high) =
            shown.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
        let room = (0.06 * (high - low)).max(1e-12 * high.abs());
        (low <= high).then_some(Self { columns, x, y: [low - room, high + room] })
    }

    fn row(&self, y: f64) -> Option<usize> {
        let share = (self.y[1] - y) / (self.y[1] - self.y[0]);
        nearest_index(share, ROWS)
    }

    /// The value of the point nearest to the middle of a column.
    fn value_at(&self, points: &[(f64, f64)], column: usize) -> Option<f64> {
        let share = index_share(column, self.columns);
        let x = self.x[0] + share * (self.x[1] - self.x[0]);
        points
            .iter()
            .min_by(|a, b| (a.0 - x).abs().total_cmp(&(b.0 - x).abs()))
            .map(|p| p.1)
            .filter(|y| y.is_finite())
    }

    fn lines(&self, cells: &[Vec<char>]) -> Vec<String> {
        let mut lines: Vec<String> = cells
            .iter()
            .enumerate()
            .map(|(row, cells)| {
                let value = self.y[1] - index_share(row, ROWS) * (self.y[1] - self.y[0]);
                let label = if row % 2 == 0 { format!("{value:>11.4}") } else { " ".repeat(11) };
                format!("{label} │{}", cells.iter().collect::<String>().trim_end())
            })
            .collect();
        lines.push(format!("{:>11} └{}", "", "─".repeat(self.columns)));
        let (left, right) = (fixed(self.x[0], 1), format!("{} deg joint", fixed(self.x[1], 1)));
        let gap = (self.columns + 4).saturating_sub(left.chars().count() + right.chars().count());
        lines.push(format!("{:>9} {left}{}{right}", "", " ".repeat(gap)));
        lines
    }
}

#[allow(clippy::cast_precision_loss, reason = "a picture has few cells")]
fn index_share(index: usize, of: usize) -> f64 {
    index as f64 / (of.max(2) - 1) as f64
}

#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the share was just checked to lie in 0..=1 and a picture has few cells"
)]
fn nearest_index(share: f64, of: usize) -> Option<usize> {
    (0.0..=1.0).contains(&share).then(|| (share * (of - 1) as f64).round() as usize)
}
