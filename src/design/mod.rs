//! The design file that the user wrote: values with their places, checked, in SI.
//!
//! [`read`] takes the bytes of a file, [`parse`] its text. Every fault is collected in one run, each with its
//! place and with what to write instead; only a file without any becomes a [`Design`].
//!
//! # Senses
//!
//! Everything in a [`Design`] is about the joint axis pointing at the reader, counter-clockwise positive. Where
//! `axis_points = "away"`, the angles of `[zero]`, `[stroke]`, `[direct_joint] offset`, `stops` and the second
//! coordinate of plane pivots are turned round on the way in (tolerances and ends of ranges change places).
//! `[stroke]` and `stops` are readings: the turn is the figure less what is read in the zero pose. Bodies in the
//! drawing frame stand as they are: that frame's z is the joint axis, not the reader's eye.

mod accept;
mod actuator;
mod bytes;
mod dimension;
mod drawn;
mod entry;
mod faults;
mod finger;
mod geometry;
mod gripper;
mod lengths;
mod mass;
mod model;
mod motion;
mod parts;
mod pin_plane;
mod pivots;
mod places;
mod robot;
mod schema;
mod section;
mod sense;
mod stroke;
mod syntax;
mod tolerances;
mod units_left_out;
mod zero;

pub use bytes::{LARGEST_FILE, bytes_of};
pub use dimension::{Dimension, Tolerance};
pub use drawn::{AnyDesign, Drawn, DrawnSize, ScrewFigures};
pub use gripper::{Finger, GripperNames, OtherFinger};
pub use model::*;

/// A design to start from: it can be judged as it stands, and every other table and key is behind a `#`.
///
/// Lines that start with `#` and no blank are settings that may be left out; `##` marks those that replace others.
pub const TEMPLATE: &str = include_str!("template.toml");

use crate::diagnostic::{Diagnostic, render};
use faults::Faults;
use section::Section;
use sense::Sense;
use std::fmt;
use toml::de::DeTable;

/// A file that is no design, and why.
#[derive(Clone, Debug)]
pub struct Rejected {
    /// The file's name and text; the text is empty where it was too large to be read.
    pub source: Source,
    /// Every fault, and the warnings that came with them, sorted by place.
    pub diagnostics: Vec<Diagnostic>,
}

impl Rejected {
    /// All messages against the user's text; `coloured` adds ANSI colours.
    #[must_use]
    pub fn render(&self, coloured: bool) -> String {
        render(&self.source.path, &self.source.text, &self.diagnostics, coloured)
    }
}

impl fmt::Display for Rejected {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.render(false))
    }
}

impl std::error::Error for Rejected {}

/// Reads a design from the bytes of a file; `path` is the name to show.
///
/// Gives the design and its warnings.
///
/// # Errors
///
/// A file over [`LARGEST_FILE`], one that is not UTF-8, and every fault of [`parse`].
pub fn read(path: &str, bytes: &[u8]) -> Result<(Design, Vec<Diagnostic>), Rejected> {
    match bytes::text(bytes) {
        Ok(text) => parse(path, text),
        Err(refused) => {
            let (text, fault) = *refused;
            let source = Source { path: path.to_owned(), text };
            Err(Rejected { source, diagnostics: vec![fault] })
        }
    }
}

/// Reads a design from its text; `path` is the name to show.
///
/// Gives the design and its warnings.
///
/// # Errors
///
/// Every fault of the text, in TOML or in what it says, in one go.
///
/// # Examples
///
/// ```
/// let text = r#"
/// name = "ankle_pitch"
/// [linkage]
/// ground  = "300 mm"
/// crank   = "45 mm"
/// coupler = "300 mm"
/// rocker  = "45 mm"
/// [zero]
/// crank  = "90 deg"
/// rocker = "90 deg"
/// [stroke]
/// joint = ["-35 deg", "40 deg"]
/// "#;
/// let (design, warnings) = unloop::design::parse("ankle.toml", text).unwrap();
/// assert_eq!(design.geometry.crank.nominal, 0.045);
/// assert!(warnings.is_empty());
/// ```
pub fn parse(path: &str, text: &str) -> Result<(Design, Vec<Diagnostic>), Rejected> {
    let source = Source { path: path.to_owned(), text: text.to_owned() };
    let (table, errors) = DeTable::parse_recoverable(text);
    let repaired = syntax::without_bare_keys(text, &errors);
    let (table, more) = match &repaired {
        Some(repaired) => DeTable::parse_recoverable(repaired),
        None => (table, Vec::new()),
    };
    let errors = [errors, more].concat();
    let syntax = syntax::faults(text, &errors);
    let faults = Faults::new(syntax.is_empty());
    let design = if syntax::loses_a_header(&errors) {
        None
    } else {
        design(&Section::root(table.get_ref(), &faults), source.clone())
    };
    let diagnostics = faults.into_sorted(text, syntax);
    match design {
        Some(design) if !diagnostics.iter().any(Diagnostic::is_error) => Ok((design, diagnostics)),
        _ => Err(Rejected { source, diagnostics }),
    }
}

/// Every table is read before the first missing one ends it, so that all faults are found.
fn design(root: &Section<'_>, source: Source) -> Option<Design> {
    let name = root.name();
    let axis_points = sense::axis_points(root);
    let sense = Sense::new(axis_points);
    let zero = zero::read(root);
    let tolerance = root.section("tolerance");
    let tolerance = tolerance.as_ref();
    let geometry = geometry::read(&geometry::Sources { root, tolerance, zero: &zero, axis_points });
    let stroke = stroke::read(root, &zero, sense);
    let direct_joint = stroke::direct_joint(root, sense);
    let drawn = geometry.as_ref().map(geometry::has_tolerance);
    zero.check_set_by(root, drawn);
    let accept = accept::read(root, drawn);
    let actuator = actuator::read(root, &zero, sense);
    let mass = mass::read(root);
    let (rod, pins) = (parts::rod(root), parts::pins(root));
    let together = tolerances::together(tolerance);
    let motion = motion::read(root);
    let finger = finger::read(root, geometry.as_ref());
    finger::refuse_stand_in(root);
    let robots = robot::read(root, geometry.as_ref());
    Some(Design {
        source,
        name: name?,
        axis_points,
        geometry: geometry?,
        motor_on: MotorOn::default(),
        motor_reads: zero.motor_reads?,
        joint_reads: zero.joint_reads?,
        set_by: zero.set_by,
        stroke: stroke?,
        direct_joint: direct_joint?,
        accept: accept?,
        actuator,
        mass,
        rod,
        pins,
        together,
        motion,
        finger,
        robots,
        places: places::collect(root),
    })
}
