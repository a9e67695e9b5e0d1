//! The table over the stroke as text, CSV and JSON, row by row: however many rows there are, few are held.

use std::io::{self, Write};

use serde_json::{Map, Value};

use crate::diagnostic::{visible, width_of};
use crate::study::{PadRow, PoseFigures};
use crate::units::{degrees, fixed};

use super::style::Style;
use super::terminal::hanging;

/// A field of JSON and CSV, or a figure of a column; `None` where a design or a kind gives nothing for it.
pub(super) type Figure<R> = fn(&R) -> Option<f64>;

/// A column for a person: its name, its unit, decimals, and the figure.
pub(super) type Column<R> = (&'static str, &'static str, usize, Figure<R>);

/// A row of a table over the stroke.
pub trait TableRow: Sized + 'static {
    /// The fields of JSON and CSV in the order of the latter.
    #[doc(hidden)]
    const FIELDS: &'static [(&'static str, Figure<Self>)];
    /// What CSV has besides.
    #[doc(hidden)]
    const ONLY_IN_CSV: &'static [(&'static str, Figure<Self>)];
    /// For a person; of one joint the motor's reading first, the joint's second.
    #[doc(hidden)]
    const COLUMNS: &'static [Column<Self>];

    /// The schema of the JSON.
    #[doc(hidden)]
    const SCHEMA: &'static str;
    /// So many of the columns, the first, stand in every block.
    #[doc(hidden)]
    const LEADING: usize;
    /// What all rows together say.
    #[doc(hidden)]
    type Sum: Summary<Self>;

    /// What JSON has besides.
    #[doc(hidden)]
    fn add_to_json(&self, row: &mut Map<String, Value>);
}

/// What all rows of a table together say.
pub trait Summary<R>: Default {
    /// One more row.
    #[doc(hidden)]
    fn add(&mut self, row: &R);

    /// In a line; `poses` is how many, with a blank before, where there are several.
    #[doc(hidden)]
    fn answer(&self, poses: &str) -> String;

    /// How angles are counted.
    #[doc(hidden)]
    fn counted(&self) -> &'static str;
}

/// A row of a drive of one joint.
pub trait OneJointRow: TableRow {
    /// Turns of motor and joint from the zero pose, rad.
    #[doc(hidden)]
    fn turns(&self) -> [f64; 2];

    /// What they read, rad.
    #[doc(hidden)]
    fn readings(&self) -> [f64; 2];

    /// A pad that rides on the coupler.
    #[doc(hidden)]
    fn pad(&self) -> Option<&PadRow>;

    /// Ratio, and what the direct joint is off, rad.
    #[doc(hidden)]
    fn ratio_and_error(&self) -> [f64; 2];

    /// The smallest of all rods, rad; `None` where there is none.
    #[doc(hidden)]
    fn transmission_angle(&self) -> Option<f64>;

    /// What the design's motor and masses make of it.
    #[doc(hidden)]
    fn figures(&self) -> &PoseFigures;
}

/// Rows that can be gone through again and again.
pub type Rows<'a, R> = &'a dyn Fn() -> Box<dyn Iterator<Item = R> + 'a>;

/// `stroke --json`; what is infinite or not known is null.
///
/// # Errors
/// `out` cannot be written.
pub fn stroke_json<R: TableRow>(
    design: &str,
    rows: impl Iterator<Item = R>,
    out: &mut dyn Write,
) -> io::Result<()> {
    write!(out, "{{\n  \"design\": {},\n  \"rows\": [", Value::from(design))?;
    let mut is_first = true;
    for row in rows {
        let value = format!("{:#}", in_json(&row)).replace('\n', "\n    ");
        write!(out, "{}\n    {value}", if is_first { "" } else { "," })?;
        is_first = false;
    }
    let end = if is_first { "" } else { "\n  " };
    writeln!(out, "{end}],\n  \"schema\": \"{}\"\n}}", R::SCHEMA)
}

fn in_json<R: TableRow>(row: &R) -> Value {
    let field = |(key, figure): &(&str, Figure<R>)| ((*key).to_owned(), Value::from(figure(row)));
    let mut fields: Map<String, Value> = R::FIELDS.iter().map(field).collect();
    row.add_to_json(&mut fields);
    Value::Object(fields)
}

/// So many rows are looked at for columns that the design gives nothing for.
const LOOKED_AT: usize = 1000;

/// `stroke --csv`: the fields of the JSON, comma separated, a header line, shortest exact decimals; a figure that is
/// infinite is left empty, a column that the design gives nothing for is left out.
///
/// # Errors
/// `out` cannot be written.
pub fn stroke_csv<R: TableRow>(
    mut rows: impl Iterator<Item = R>,
    out: &mut dyn Write,
) -> io::Result<()> {
    let head: Vec<R> = rows.by_ref().take(LOOKED_AT).collect();
    let known = |(_, figure): &&(&str, Figure<R>)| head.iter().any(|row| figure(row).is_some());
    let (names, figures): (Vec<&str>, Vec<Figure<R>>) =
        R::FIELDS.iter().chain(R::ONLY_IN_CSV).filter(known).copied().unzip();
    writeln!(out, "{}", names.join(","))?;
    for row in head.iter() {
        write_cells(row, &figures, out)?;
    }
    rows.try_for_each(|row| write_cells(&row, &figures, out))
}

fn write_cells<R>(row: &R, figures: &[Figure<R>], out: &mut dyn Write) -> io::Result<()> {
    let cell = |figure: &Figure<R>| {
        figure(row).filter(|x| x.is_finite()).map_or_else(String::new, |x| format!("{x:?}"))
    };
    writeln!(out, "{}", figures.iter().map(cell).collect::<Vec<_>>().join(","))
}

/// `stroke` for a person: what the table says in a line, then its columns, those that the screen has no room for below; degrees,
/// torque and rod force for the motor's peak torque, columns that the design gives nothing for left out.
///
/// # Errors
/// `out` cannot be written.
pub fn stroke_text<R: TableRow>(
    design: &str,
    rows: Rows<'_, R>,
    style: Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let seen = Seen::of(rows(), style);
    let design = visible(design);
    let poses = if seen.count == 1 { String::new() } else { format!(" in {} poses", seen.count) };
    let answer = hanging(&format!("{design}: {}", seen.sum.answer(&poses)), style.width);
    let answer = answer.replacen(&*design, &style.heading(&design), 1);
    write!(out, "{}", style.fit(answer + &hanging(seen.sum.counted(), style.width)))?;
    for block in seen.blocks(style.width) {
        writeln!(out)?;
        write_block(&block, rows(), style, out)?;
    }
    Ok(())
}

fn write_block<R: TableRow>(
    block: &[Shown<R>],
    rows: impl Iterator<Item = R>,
    style: Style,
    out: &mut dyn Write,
) -> io::Result<()> {
    let line = |cell: &dyn Fn(&Column<R>) -> String| {
        let cells = block.iter().map(|shown| {
            let text = cell(shown.column);
            format!("{}{text}", " ".repeat(shown.width.saturating_sub(width_of(&text))))
        });
        cells.collect::<Vec<_>>().join(" ").trim_end().to_owned()
    };
    writeln!(out, "{}", line(&|column| style.fit(column.0.to_owned())))?;
    writeln!(out, "{}", line(&|column| style.fit(column.1.to_owned())))?;
    for row in rows {
        writeln!(out, "{}", line(&|column| shown_in(column, &row)))?;
    }
    Ok(())
}

fn shown_in<R>(column: &Column<R>, row: &R) -> String {
    (column.3)(row).map_or_else(String::new, |x| fixed(x, column.2))
}

/// A column and what it takes.
struct Shown<R: 'static> {
    column: &'static Column<R>,
    width: usize,
}

impl<R> Clone for Shown<R> {
    fn clone(&self) -> Self {
        Self { column: self.column, width: self.width }
    }
}

/// What is known of all rows before the first is written.
struct Seen<R: TableRow> {
    columns: Vec<Shown<R>>,
    count: usize,
    sum: R::Sum,
}

impl<R: TableRow> Seen<R> {
    fn of(rows: impl Iterator<Item = R>, style: Style) -> Self {
        let width = |text: &str| width_of(&style.fit(text.to_owned()));
        let named = |column: &&Column<R>| width(column.0).max(width(column.1));
        let mut widths: Vec<(usize, bool)> =
            R::COLUMNS.iter().map(|column| (named(&column), false)).collect();
        let mut seen = Self { columns: Vec::new(), count: 0, sum: R::Sum::default() };
        for row in rows {
            seen.sum.add(&row);
            seen.count += 1;
            for (column, (wide, given)) in R::COLUMNS.iter().zip(&mut widths) {
                *given |= (column.3)(&row).is_some();
                *wide = (*wide).max(width_of(&shown_in(column, &row)));
            }
        }
        let given = R::COLUMNS.iter().zip(widths).filter(|(_, (_, given))| *given);
        seen.columns = given.map(|(column, (width, _))| Shown { column, width }).collect();
        seen
    }

    /// Columns side by side in `width`, the leading ones first in each block.
    fn blocks(&self, width: usize) -> Vec<Vec<Shown<R>>> {
        let (leading, others) = self.columns.split_at(R::LEADING.min(self.columns.len()));
        let taken = leading.iter().map(|column| column.width + 1).sum::<usize>();
        let mut blocks = vec![leading.to_vec()];
        let mut filled = taken;
        for column in others {
            if filled + column.width > width && filled > taken {
                blocks.push(leading.to_vec());
                filled = taken;
            }
            if let Some(block) = blocks.last_mut() {
                block.push(column.clone());
            }
            filled += column.width + 1;
        }
        blocks
    }
}

/// What a table over the stroke of one joint says.
pub struct OverStroke {
    are_turns: bool,
    /// Motor's and joint's readings, opening and ratio: smallest, largest.
    motor: [f64; 2],
    joint: [f64; 2],
    ratio: [f64; 2],
    opening: Option<[f64; 2]>,
    /// Largest tilt of a pad, or error of the direct joint, rad.
    worst: f64,
}

const NONE: [f64; 2] = [f64::INFINITY, f64::NEG_INFINITY];

/// A range with one more figure in it.
pub(super) fn wider([low, high]: [f64; 2], x: f64) -> [f64; 2] {
    [low.min(x), high.max(x)]
}

impl Default for OverStroke {
    fn default() -> Self {
        let (motor, joint, ratio) = (NONE, NONE, NONE);
        Self { are_turns: true, motor, joint, ratio, opening: None, worst: 0.0 }
    }
}

impl<R: OneJointRow> Summary<R> for OverStroke {
    fn add(&mut self, row: &R) {
        let mut readings =
            R::COLUMNS.iter().map(|column| (column.3)(row).map_or(f64::NAN, f64::to_radians));
        self.motor = wider(self.motor, readings.next().unwrap_or(f64::NAN));
        self.joint = wider(self.joint, readings.next().unwrap_or(f64::NAN));
        let [ratio, error] = row.ratio_and_error();
        self.ratio = wider(self.ratio, ratio);
        let pad = row.pad();
        self.opening = pad.map(|pad| wider(self.opening.unwrap_or(NONE), pad.opening));
        let off = pad.map_or(error, |pad| pad.pose.tilt);
        self.worst = self.worst.max(off.abs());
        let mut both = row.readings().into_iter().zip(row.turns());
        self.are_turns &= both.all(|(reading, turn)| (reading - turn).abs() < 1e-12);
    }

    fn answer(&self, poses: &str) -> String {
        let what = match self.opening {
            Some(opening) => {
                let opening = opening.map(|x| fixed(1e3 * x, 2));
                format!("opening {} mm, {}", span(&opening), worst("tilt", self.worst))
            }
            None => {
                let ratio = self.ratio.map(|ratio| fixed(ratio, 5));
                format!("ratio {}, {}", span(&ratio), worst("angle error", self.worst))
            }
        };
        let [motor, joint] = [self.motor, self.joint].map(in_degrees);
        format!("{what}{poses}, motor {motor} deg, joint {joint} deg")
    }

    fn counted(&self) -> &'static str {
        if self.are_turns {
            "angles in deg, motor and joint counted from the zero pose"
        } else {
            "angles in deg, motor and joint as read, in the drawing's sense"
        }
    }
}

/// "angle error up to 0.3 deg", or that there is none.
pub(super) fn worst(what: &str, angle: f64) -> String {
    match degrees(angle).as_str() {
        "0 deg" => format!("no {what}"),
        worst => format!("{what} up to {worst}"),
    }
}

/// A range of angles (rad) in degrees.
pub(super) fn in_degrees(range: [f64; 2]) -> String {
    span(&range.map(|x| fixed(x.to_degrees(), 2)))
}

fn span([low, high]: &[String; 2]) -> String {
    if low == high { low.clone() } else { format!("{low}…{high}") }
}
