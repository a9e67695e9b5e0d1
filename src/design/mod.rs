//! The design file that the user wrote: values with their places, checked, in SI.
//!
//! [`read_any`] takes the bytes of a file, [`parse_any`] its text; [`read`] and [`parse`] take planar four-bars only. Every fault is collected in one run, each with its
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
mod bodies;
mod bytes;
mod dimension;
mod drawn;
mod drawn_size;
mod entry;
mod faults;
mod finger;
mod front;
mod geometry;
mod gripper;
mod kind;
mod lengths;
mod machine_elements;
mod mass;
mod model;
mod motion;
mod parts;
mod pin_plane;
mod pivots;
mod places;
mod points;
mod robot;
mod schema;
mod screw;
mod section;
mod sense;
mod sizes;
mod stroke;
mod syntax;
mod templates;
mod tolerances;
mod two_rods;
mod units_left_out;
mod unused_tables;
mod zero;

pub use bodies::{BodyFrame, BodyInertia, BodyMass, Masses};
pub use bytes::{LARGEST_FILE, bytes_of};
pub use dimension::{Dimension, Tolerance, deviation};
pub use drawn::{AnyDesign, Drawn};
pub use drawn_size::{DrawnSize, ScrewFigures};
pub use front::Front;
pub use gripper::{Finger, GripperNames, OtherFinger};
pub use machine_elements::{Actuator, Pin, Pins, Rod};
pub use model::*;
pub use places::InFile;
pub use templates::{TEMPLATE, template};
pub use two_rods::{
    DrawnMotor, LegMasses, MatrixWish, TwoJointDesign, TwoJointMasses, TwoJointRobot,
};

use crate::diagnostic::{Diagnostic, render};
use crate::drive::Kind;
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
    /// Of a series the stages that are no designs themselves, each with its own faults.
    pub stages: Vec<Self>,
}

impl Rejected {
    /// All messages against the user's text; `coloured` adds ANSI colours.
    #[must_use]
    pub fn render(&self, coloured: bool) -> String {
        let own = render(&self.source.path, &self.source.text, &self.diagnostics, coloured);
        let stages = self.stages.iter().map(|stage| stage.render(coloured));
        let texts: Vec<String> = std::iter::once(own).chain(stages).collect();
        texts.join("\n")
    }
}

impl fmt::Display for Rejected {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.render(false))
    }
}

impl std::error::Error for Rejected {}

/// Reads a design of a planar four-bar from the bytes of a file; `path` is the name to show.
///
/// Gives the design and its warnings.
///
/// # Errors
///
/// As [`read_any`], and a drive of another kind.
pub fn read(path: &str, bytes: &[u8]) -> Result<(Design, Vec<Diagnostic>), Rejected> {
    four_bar(read_any(path, bytes)?)
}

/// Reads a design of a planar four-bar from its text; `path` is the name to show.
///
/// Gives the design and its warnings.
///
/// # Errors
///
/// As [`parse_any`], and a drive of another kind.
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
    four_bar(parse_any(path, text)?)
}

fn four_bar(
    (design, mut warnings): (AnyDesign, Vec<Diagnostic>),
) -> Result<(Design, Vec<Diagnostic>), Rejected> {
    let kind = design.kind().name();
    match design {
        AnyDesign::FourBar(design) => Ok((*design, warnings)),
        AnyDesign::OneJoint(_) | AnyDesign::TwoJoints(_) => {
            let fault = design
                .diagnose(Parameter::Drive, format!("a drive of kind {kind} is no planar four-bar"))
                .label("another kind")
                .help("only planar four-bars are read here");
            warnings.push(fault);
            let source = design.source().clone();
            Err(Rejected { source, diagnostics: warnings, stages: Vec::new() })
        }
    }
}

/// Reads a design of whatever kind from the bytes of a file; `path` is the name to show, and the place from which the stages of
/// a series are found.
///
/// Gives the design and its warnings.
///
/// # Errors
///
/// A file over [`LARGEST_FILE`], one that is not UTF-8, and every fault of [`parse_any`].
pub fn read_any(path: &str, bytes: &[u8]) -> Result<(AnyDesign, Vec<Diagnostic>), Rejected> {
    read_any_without(path, bytes, &[])
}

/// The same for who uses nothing of the tables `unused`, named without brackets: faults in them are warnings, and what they hold
/// is not to be relied on.
///
/// # Errors
///
/// As [`read_any`].
pub fn read_any_without(
    path: &str,
    bytes: &[u8],
    unused: &[&str],
) -> Result<(AnyDesign, Vec<Diagnostic>), Rejected> {
    from_bytes(path, bytes, Place::Whole, unused)
}

/// Reads a design of whatever kind from its text; `path` is the name to show, and the place from which the stages of a series
/// are found.
///
/// Gives the design and its warnings.
///
/// # Errors
///
/// Every fault of the text, in TOML or in what it says, and of its stages, in one go.
pub fn parse_any(path: &str, text: &str) -> Result<(AnyDesign, Vec<Diagnostic>), Rejected> {
    parsed(path, text, Place::Whole, &[])
}

/// Whether a file is a design of its own or was named as a stage of a series.
#[derive(Clone, Copy, PartialEq)]
enum Place {
    Whole,
    Stage,
}

fn from_bytes(
    path: &str,
    bytes: &[u8],
    place: Place,
    unused: &[&str],
) -> Result<(AnyDesign, Vec<Diagnostic>), Rejected> {
    match bytes::text(bytes) {
        Ok(text) => parsed(path, text, place, unused),
        Err(refused) => {
            let (text, fault) = *refused;
            let source = Source { path: path.to_owned(), text };
            Err(Rejected { source, diagnostics: vec![fault], stages: Vec::new() })
        }
    }
}

fn parsed(
    path: &str,
    text: &str,
    place: Place,
    unused: &[&str],
) -> Result<(AnyDesign, Vec<Diagnostic>), Rejected> {
    let source = Source { path: path.to_owned(), text: text.to_owned() };
    let (table, errors) = DeTable::parse_recoverable(text);
    let repaired = syntax::without_bare_keys(text, &errors);
    let (table, more) = match &repaired {
        Some(repaired) => DeTable::parse_recoverable(repaired),
        None => (table, Vec::new()),
    };
    let errors = [errors, more].concat();
    let syntax = syntax::faults(text, &errors);
    let kind = kind::named(table.get_ref());
    let faults = Faults::new(syntax.is_empty(), kind.unwrap_or_default());
    let design = if syntax::loses_a_header(&errors) {
        None
    } else {
        of_kind(kind, table.get_ref(), &faults, &source, place)
    };
    let stages = faults.take_stages();
    let is_sound = syntax.is_empty();
    let mut diagnostics = faults.into_sorted(text, syntax);
    if is_sound {
        unused_tables::pass_over(text, &mut diagnostics, unused);
    }
    match design {
        Some(design) if !diagnostics.iter().any(Diagnostic::is_error) => Ok((design, diagnostics)),
        _ => Err(Rejected { source, diagnostics, stages }),
    }
}

/// The design of the kind that is named, `None` where there is none or it could not be read.
fn of_kind(
    kind: Option<Kind>,
    table: &DeTable<'_>,
    faults: &Faults,
    source: &Source,
    place: Place,
) -> Option<AnyDesign> {
    match kind {
        None => {
            kind::refuse(table, faults);
            None
        }
        Some(kind @ (Kind::Series | Kind::TwoRods)) if place == Place::Stage => {
            kind::refuse_stage(kind, table, faults);
            None
        }
        Some(Kind::FourBar) => {
            let design = design(&Section::root(table, faults), source)?;
            Some(AnyDesign::FourBar(Box::new(design)))
        }
        Some(Kind::TwoRods) => {
            let design = two_rods::read(&Section::root(table, faults), source)?;
            Some(AnyDesign::TwoJoints(Box::new(design)))
        }
        Some(_) => {
            let design = design::<Drawn>(&Section::root(table, faults), source)?;
            Some(drawn::behind_stages(design))
        }
    }
}

/// What a design may draw: how it is read, and what the rest of the design goes by.
trait Draws: Sized {
    /// From the tables that say it.
    fn read(sources: &geometry::Sources<'_, '_>) -> Option<Self>;

    /// Whether any tolerance is drawn.
    fn has_tolerance(&self) -> bool;

    /// Where joint and motor stand in the carrier.
    fn placing(&self) -> robot::Placing;

    /// `[finger]`, where such a drive may have one; `drawn` where it could be read.
    fn finger(root: &Section<'_>, drawn: Option<&Self>) -> Option<Finger>;

    /// Does the pad of a finger ride on its coupler? `None` where that cannot be told.
    fn has_jaw(root: &Section<'_>, drawn: Option<&Self>) -> Option<bool>;

    /// Where the sizes of its own stand in the file.
    fn add_places(&self, places: &mut Places);
}

/// Every table is read before the first missing one ends it, so that all faults are found.
fn design<G: Draws>(root: &Section<'_>, source: &Source) -> Option<Design<G>> {
    let name = root.name();
    let axis_points = sense::axis_points(root);
    let sense = Sense::new(axis_points);
    let drive = root.section("drive");
    let motor_on = kind::motor_on(drive.as_ref());
    let zero = zero::read(root);
    let tolerance = root.section("tolerance");
    let (drive, tolerance) = (drive.as_ref(), tolerance.as_ref());
    let path = &source.path;
    let geometry =
        G::read(&geometry::Sources { root, path, drive, tolerance, zero: &zero, axis_points });
    let stroke = stroke::read(root, &zero, sense);
    let direct_joint = stroke::direct_joint(root, sense);
    let drawn = geometry.as_ref().map(G::has_tolerance);
    zero.check_set_by(root, drawn);
    let has_jaw = G::has_jaw(root, geometry.as_ref());
    let accept = accept::read(root, drawn, has_jaw);
    let actuator = actuator::read(root, zero.motor_reads, sense);
    let mass = mass::read(root);
    let (rod, pins) = (parts::rod(root), parts::pins(root));
    let together = tolerances::together(tolerance);
    let motion = motion::read(root);
    let finger = G::finger(root, geometry.as_ref());
    let placing = geometry.as_ref().map(G::placing);
    let is_gripper = has_jaw != Some(false) || root.get("finger").is_some();
    let robots = robot::read(root, motor_on, placing.as_ref(), is_gripper);
    let geometry = geometry?;
    let mut places = places::collect(root);
    geometry.add_places(&mut places);
    Some(Design {
        source: source.clone(),
        name: name?,
        axis_points,
        geometry,
        motor_on,
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
        front: None,
        robots,
        places,
    })
}
