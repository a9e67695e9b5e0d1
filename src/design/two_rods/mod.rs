//! `kind = "two_rods"`: two motors with a rod each on a body that hangs on pitch and roll.
//!
//! Every point and axis is in the carrier's own frame, in the zero pose.

mod masses;
mod motors;
mod robots;
mod zero;

pub use masses::{LegMasses, TwoJointMasses};
pub use robots::TwoJointRobot;

use super::accept;
use super::actuator;
use super::drawn_size::{DrawnSize, ScrewFigures};
use super::machine_elements::{Actuator, Rod};
use super::model::{Accept, Parameter, Places, SetBy, Source};
use super::places::InFile;
use super::points::Points;
use super::section::Section;
use super::sense::Sense;
use super::sizes::Sizes;
use super::stroke::turns;
use super::{AxisPoints, parts, places};
use crate::diagnostic::Diagnostic;
use crate::drive::{Axis, Size, TwoRodsDrawing};

/// A design of two motors with a rod each on a universal joint: an ankle or a wrist.
#[derive(Clone, Debug)]
pub struct TwoJointDesign {
    /// The file's name as given on the command line and its text, for messages.
    pub source: Source,
    /// `name`.
    pub name: String,
    /// Both joint axes and both legs, in the carrier's frame in the zero pose.
    pub drawing: TwoRodsDrawing,
    /// One for each of [`TwoRodsDrawing::sizes`].
    pub drawn: Vec<DrawnSize>,
    /// `[motor.*]` in the order of the file.
    pub motors: [DrawnMotor; 2],
    /// `[zero] motor_reads`, rad, in the order of the motors.
    pub motor_reads: [f64; 2],
    /// `[zero] joint_reads`, rad: pitch, roll.
    pub joint_reads: [f64; 2],
    /// `[zero] set_by`; always given where a tolerance is drawn.
    pub set_by: Option<SetBy>,
    /// `[stroke]` as turns from the zero pose: pitch and roll, rad, each ascending.
    pub region: [[f64; 2]; 2],
    /// `[direct_joint] matrix`.
    pub matrix: MatrixWish,
    /// `[accept]`.
    pub accept: Accept,
    /// `[actuator]`, the same for both motors.
    pub actuator: Option<Actuator>,
    /// `[mass.*]`.
    pub masses: TwoJointMasses,
    /// `[rod]`, the same for both.
    pub rod: Option<Rod>,
    /// `[[robot]]`, in the order of the file.
    pub robots: Vec<TwoJointRobot>,
    /// Where each parameter stands in the file.
    pub places: Places,
}

/// What one `[motor.*]` says besides where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnMotor {
    /// Its name in the file.
    pub name: String,
    /// `[motor.*.screw]` of a linear actuator.
    pub screw: Option<ScrewFigures>,
}

/// `[direct_joint] matrix`: motor turns from joint turns; rows are motors in the order of the file, columns pitch and roll.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum MatrixWish {
    /// The one with the smallest largest rate error over the stroke.
    #[default]
    Best,
    /// That of the zero pose.
    ZeroPose,
    /// The best in which each motor turns one joint.
    Diagonal,
    /// These figures.
    Given([[f64; 2]; 2]),
}

impl TwoJointDesign {
    /// Each size with what the drawing says of it.
    pub fn sizes(&self) -> impl Iterator<Item = (Size, &DrawnSize)> {
        self.drawing.sizes().into_iter().zip(&self.drawn)
    }

    /// An error about a parameter, underlining the user's own line where it stands in the file.
    #[must_use]
    pub fn diagnose(&self, parameter: Parameter, message: impl Into<String>) -> Diagnostic {
        self.places.diagnose(parameter, message)
    }
}

impl InFile for TwoJointDesign {
    fn source(&self) -> &Source {
        &self.source
    }

    fn places(&self) -> &Places {
        &self.places
    }
}

/// Every table is read before the first missing one ends it, so that all faults are found.
pub(super) fn read(root: &Section<'_>, source: &Source) -> Option<TwoJointDesign> {
    let name = root.name();
    let sense = Sense::new(AxisPoints::Toward);
    // `[drive]` has no key of its own here; unknown ones are told.
    root.section("drive");
    let zero = zero::read(root);
    let tolerance = root.section("tolerance");
    let (axes, sizes) = joints(root, tolerance.as_ref());
    let legs = motors::read(root, tolerance.as_ref(), sizes);
    let is_drawn = legs.as_ref().map(|(.., sizes)| sizes.has_tolerance());
    zero.check_set_by(root, is_drawn);
    let region = region(root, zero.joint_reads, sense);
    let matrix = matrix(root);
    let accept = accept::read(root, is_drawn, Some(false));
    let actuator = actuator::read(root, Some(0.0), sense);
    let motors = legs.as_ref().map(|(motors, ..)| motors);
    let masses = masses::read(root, motors);
    let rod = parts::rod(root);
    let robots = robots::read(root);
    let ([pitch, roll], (motors, legs, sizes)) = (axes?, legs?);
    let drawing = TwoRodsDrawing { pitch, roll, legs };
    let drawn = sizes.of(&drawing.sizes());
    let mut places = places::collect(root);
    let stand = drawn.iter().enumerate();
    places.0.extend(stand.filter_map(|(n, size)| Some((Parameter::Size(n), size.place.clone()?))));
    Some(TwoJointDesign {
        source: source.clone(),
        name: name?,
        drawing,
        drawn,
        motors,
        motor_reads: zero.motor_reads?,
        joint_reads: zero.joint_reads?,
        set_by: zero.set_by,
        region: region?,
        matrix: matrix?,
        accept: accept?,
        actuator,
        masses: masses?,
        rod,
        robots,
        places,
    })
}

/// `[joint.pitch]` and `[joint.roll]`.
fn joints<'a>(root: &Section<'a>, tolerance: Option<&Section<'a>>) -> (Option<[Axis; 2]>, Sizes) {
    let help =
        "add [joint.pitch] and [joint.roll], each with its point and axis in the carrier's frame";
    let Some(table) = root.section("joint") else {
        if root.get("joint").is_none() {
            root.missing("joint", help);
        }
        return (None, Sizes::default());
    };
    let keys = [
        ("pitch", ["pitch_x", "pitch_y", "pitch_z"], ["pitch_axis_u", "pitch_axis_v"]),
        ("roll", ["roll_x", "roll_y", "roll_z"], ["roll_axis_u", "roll_axis_v"]),
    ];
    let mut sizes = Sizes::default();
    let axes = keys.map(|(key, names, tilts)| {
        if table.get(key).is_none() {
            table.missing(key, help);
        }
        let joint = table.section(key)?;
        let mut points = Points::in_space(&joint, tolerance, std::mem::take(&mut sizes));
        let point = points.point("point", names);
        let direction = points.direction("axis", None);
        points.tilts(tilts);
        sizes = points.sizes;
        Some(Axis { point: point?, direction: direction? })
    });
    let [pitch, roll] = axes;
    let axes = pitch.zip(roll).map(|(pitch, roll)| [pitch, roll]);
    (axes.filter(|axes| are_apart(&table, axes)), sizes)
}

/// Two joints about one axis are one joint.
fn are_apart(table: &Section<'_>, [pitch, roll]: &[Axis; 2]) -> bool {
    let along = pitch.unit().zip(roll.unit()).map(|(p, r)| p.cross(r).length());
    let apart = along.is_some_and(|sine| sine > 1e-3);
    if !apart && let Some(roll) = table.section("roll").and_then(|roll| roll.get("axis")) {
        let help = "roll is carried by pitch and turns about another axis, usually square to it";
        roll.fault("is pitch's axis", "no second joint is left", help);
    }
    apart
}

/// `[stroke]` as turns from the zero pose.
fn region(root: &Section<'_>, reads: Option<[f64; 2]>, sense: Sense) -> Option<[[f64; 2]; 2]> {
    let lines = ["pitch = [\"-35 deg\", \"25 deg\"]", "roll = [\"-15 deg\", \"15 deg\"]"];
    let Some(table) = root.section("stroke") else {
        if root.get("stroke").is_none() {
            root.missing(
                "stroke",
                &format!("add [stroke] with the lines: {}, {}", lines[0], lines[1]),
            );
        }
        return None;
    };
    let [pitch, roll] = [("pitch", lines[0], 0), ("roll", lines[1], 1)].map(|(key, line, at)| {
        let reads = reads.and_then(|reads| reads.get(at).copied());
        turns(&table.required(key, line)?, reads, sense)
    });
    Some([pitch?, roll?])
}

/// `[direct_joint] matrix`: "best" where it is left out.
fn matrix(root: &Section<'_>) -> Option<MatrixWish> {
    let table = root.section("direct_joint");
    let Some(entry) = table.as_ref().and_then(|table| table.get("matrix")) else {
        return Some(MatrixWish::Best);
    };
    let words = [
        ("best", MatrixWish::Best),
        ("zero pose", MatrixWish::ZeroPose),
        ("diagonal", MatrixWish::Diagonal),
    ];
    if let toml::de::DeValue::String(_) = entry.value {
        return entry.choice(&words);
    }
    let what = "two rows of two numbers, a motor each: [[1.0, 0.71], [1.0, -0.71]]";
    let [first, second] = entry.items_of::<2>(what)?.map(|row| row.numbers::<2>(what));
    let rows = [first?, second?];
    let [[a, b], [c, d]] = rows;
    let size = a.hypot(b) * c.hypot(d);
    if size <= 0.0 || (a * d - b * c).abs() < 1e-6 * size {
        let help = "each motor must turn the joints in its own way: motor = matrix · (pitch, roll)";
        entry.fault("has no inverse", "both rows say the same", help);
        return None;
    }
    Some(MatrixWish::Given(rows))
}
