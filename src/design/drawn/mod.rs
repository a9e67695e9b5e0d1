//! What a design of another drive than a planar four-bar draws: its sizes with their tolerances, its screw, its stages.

mod ball_rod;
mod by_screw;
mod fixed_ratio;
mod gripper;
mod linear_actuator;
mod series;
mod slider;

use super::Draws;
use super::drawn_size::{DrawnSize, ScrewFigures};
use super::geometry::{self, Given, Sources};
use super::gripper::Finger;
use super::model::{Design, JointPlace, Parameter, Places, Source};
use super::places::InFile;
use super::robot::{MotorFrom, PlacedJoint, Placing};
use super::section::Section;
use super::sizes::Sizes;
use super::two_rods::TwoJointDesign;
use crate::diagnostic::Diagnostic;
use crate::drive::{Axis, Drawing, Kind, Size, Vector};

pub(super) use gripper::behind_stages;

/// A drive of one joint as drawn.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// Its kind and sizes.
    pub drawing: Drawing,
    /// One for each of [`Drawing::sizes`]: its tolerance about the value there, and where it stands in the file.
    pub drawn: Vec<DrawnSize>,
    /// `[screw]`, of linear drives.
    pub screw: Option<ScrewFigures>,
    /// The stages of a series in order from the motor, each a design of its own.
    pub stages: Vec<AnyDesign>,
    /// Unit vectors of the axes that bodies and robots are placed by, in the frame that the points are written in: x along the
    /// ground line made square to the joint axis, y, z along the joint axis.
    pub drawing_frame: [[f64; 3]; 3],
    /// The points were given in the carrier's own frame.
    pub is_in_carrier_frame: bool,
}

impl Drawn {
    /// Each size with what the drawing says of it.
    pub fn sizes(&self) -> impl Iterator<Item = (Size, &DrawnSize)> {
        self.drawing.sizes().into_iter().zip(&self.drawn)
    }

    /// Of a series the last stage, where it is a parallel gripper's finger.
    pub(super) fn gripper(&self) -> Option<&Design> {
        match self.stages.last()? {
            AnyDesign::FourBar(design) => design.parallel_jaw().map(|_| design.as_ref()),
            AnyDesign::OneJoint(_) | AnyDesign::TwoJoints(_) => None,
        }
    }

    /// Is any tolerance drawn?
    #[must_use]
    pub fn has_tolerance(&self) -> bool {
        self.drawn.iter().any(|size| size.tolerance.is_some())
    }
}

impl Draws for Drawn {
    fn read(sources: &Sources<'_, '_>) -> Option<Self> {
        match sources.root.faults.kind {
            Kind::BallRod => ball_rod::read(sources),
            Kind::LinearActuator => linear_actuator::read(sources),
            Kind::Slider => slider::read(sources),
            Kind::FixedRatio => fixed_ratio::read(sources),
            Kind::Series => series::read(sources),
            Kind::FourBar | Kind::TwoRods => None,
        }
    }

    fn has_tolerance(&self) -> bool {
        Self::has_tolerance(self)
    }

    fn placing(&self) -> Placing {
        if let Some(gripper) = self.gripper() {
            return gripper.geometry.placing();
        }
        let joint = self.joint_place().map(|place| PlacedJoint { place, key: "joint_axis" });
        Placing { joint, motor: self.motor_from() }
    }

    fn finger(root: &Section<'_>, drawn: Option<&Self>) -> Option<Finger> {
        let drawn = drawn?;
        let Some(gripper) = drawn.gripper() else {
            gripper::refuse_what_it_has(root);
            return None;
        };
        gripper::finger(root, gripper)
    }

    fn has_jaw(_: &Section<'_>, drawn: Option<&Self>) -> Option<bool> {
        drawn.map(|drawn| drawn.gripper().is_some())
    }

    fn add_places(&self, places: &mut Places) {
        let stand = self.drawn.iter().enumerate();
        places
            .0
            .extend(stand.filter_map(|(n, size)| Some((Parameter::Size(n), size.place.clone()?))));
    }
}

impl Drawn {
    /// What is drawn beside the drawing itself, by the sizes that were read.
    fn of(drawing: Drawing, sizes: &Sizes, drawing_frame: [[f64; 3]; 3]) -> Self {
        let drawn = sizes.of(&drawing.sizes());
        Self {
            drawing,
            drawn,
            screw: None,
            stages: Vec::new(),
            drawing_frame,
            is_in_carrier_frame: false,
        }
    }

    /// The joint axis by its points, where the drive is drawn by points.
    fn joint_axis(&self) -> Option<Axis> {
        match &self.drawing {
            Drawing::BallRodPoints(points) => Some(points.joint),
            Drawing::ActuatorPoints { points, .. } => Some(points.joint),
            Drawing::SliderPoints { points, .. } => Some(points.joint),
            _ => None,
        }
    }

    /// Where the drawn joint stands in the carrier's frame, where the drawing is made in it.
    #[must_use]
    pub fn joint_place(&self) -> Option<JointPlace> {
        let Axis { point, direction } = self.joint_axis().filter(|_| self.is_in_carrier_frame)?;
        let unit = direction.unit()?;
        Some(JointPlace { axis: array(unit), joint: array(point) })
    }

    /// Where the motor, the carrier's pin, or the origin of a slider's drawing stands from the joint.
    fn motor_from(&self) -> Option<MotorFrom> {
        let across = |across: f64| Some(MotorFrom { across, along: None });
        match &self.drawing {
            Drawing::BallRod { sizes, .. } => {
                let [_, joint] = sizes.circles()?;
                let (across, along) =
                    (joint.centre.cross(joint.axis).length(), joint.centre.dot(joint.axis));
                Some(MotorFrom { across, along: Some(along) })
            }
            Drawing::PlanarActuator { ground, .. } | Drawing::PlanarSlider { ground, .. } => {
                across(*ground)
            }
            Drawing::ActuatorPoints { points, .. } => {
                let apart = points.motor - points.joint.point;
                across(apart.cross(points.joint.unit()?).length())
            }
            _ => None,
        }
    }
}

/// `[linkage]` or `[pivots]`; tolerances of points are for the latter.
fn given<'a>(sources: &Sources<'_, 'a>, help: &str) -> Option<Given<'a>> {
    let given = geometry::given(sources.root, help)?;
    if let (Given::Lengths(_), Some(tolerance)) = (&given, sources.tolerance) {
        for entry in ["points", "axes"].into_iter().filter_map(|key| tolerance.get(key)) {
            let help =
                "write the tolerance behind each figure of [linkage], such as \"45 ±0.05 mm\"";
            entry.fault("needs [pivots]", "no points are given", help);
        }
    }
    Some(given)
}

/// The axes that bodies and robots are placed by: x as close to `along` as a joint axis `axis` allows, in a drawing that shows
/// itself turned round by `sense`.
fn frame(along: Vector, axis: Vector, sense: f64) -> Option<[[f64; 3]; 3]> {
    let z = axis.unit()?;
    let x = along.square_to(z).unit()?;
    let seen = |at: Vector| [at.x, sense * at.y + 0.0, sense * at.z + 0.0];
    Some([x, z.cross(x), z].map(seen))
}

fn array(at: Vector) -> [f64; 3] {
    [at.x, at.y, at.z]
}

/// A design of whatever drive.
#[derive(Clone, Debug)]
pub enum AnyDesign {
    /// A planar four-bar.
    FourBar(Box<Design>),
    /// Another drive of one joint.
    OneJoint(Box<Design<Drawn>>),
    /// Two motors with a rod each on a universal joint.
    TwoJoints(Box<TwoJointDesign>),
}

impl AnyDesign {
    /// The file that it was read from.
    #[must_use]
    pub fn source(&self) -> &Source {
        self.in_file().source()
    }

    /// An error about a parameter, underlining the user's own line where it stands in the file.
    #[must_use]
    pub fn diagnose(&self, parameter: Parameter, message: impl Into<String>) -> Diagnostic {
        self.in_file().places().diagnose(parameter, message)
    }

    /// Messages against the text of this design; `coloured` adds ANSI colours.
    #[must_use]
    pub fn render(&self, diagnostics: &[Diagnostic], coloured: bool) -> String {
        let Source { path, text } = self.source();
        crate::diagnostic::render(path, text, diagnostics, coloured)
    }

    /// The kind of its drive.
    #[must_use]
    pub fn kind(&self) -> Kind {
        match self {
            Self::FourBar(_) => Kind::FourBar,
            Self::OneJoint(design) => design.geometry.drawing.kind(),
            Self::TwoJoints(_) => Kind::TwoRods,
        }
    }

    fn in_file(&self) -> &dyn InFile {
        match self {
            Self::FourBar(design) => &**design,
            Self::OneJoint(design) => &**design,
            Self::TwoJoints(design) => &**design,
        }
    }
}

impl InFile for AnyDesign {
    fn source(&self) -> &Source {
        self.source()
    }

    fn places(&self) -> &Places {
        self.in_file().places()
    }
}
