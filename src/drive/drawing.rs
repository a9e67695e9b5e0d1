//! A drive of one joint as drawn: its kind, its sizes by name, and the build that any set of sizes makes.
//!
//! What is drawn with tolerances, varied, proved over a box, told in JSON: all of it goes by the list of sizes. Only the
//! kind's own room knows what they mean.

use super::angular::Angular;
use super::ball_rod::{Assembly, BallRod, BallRodPoints};
use super::built::Built;
use super::circle::Circle;
use super::fault::DriveFault;
use super::fixed_ratio::FixedRatio;
use super::linear_actuator::LinearActuator;
use super::rod_drive::RodDrive;
use super::rod_pose::RodOnHinge;
use super::series::{JointDrive, Series};
use super::size::{Measure, Size};
use super::slider::Slider;
use crate::numeric::Interval;

words! {
    /// What turns the joint, as `[drive] kind` has it.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Kind {
        /// Crank, push-rod, lever in one plane.
        #[default]
        FourBar = "four_bar",
        /// Crank, push-rod with rod ends, lever; axes need not be parallel.
        BallRod = "ball_rod",
        /// A cylinder or screw between two pins.
        LinearActuator = "linear_actuator",
        /// A nut on a guide that pushes a rod.
        Slider = "slider",
        /// Two motors and two rods on a universal joint.
        TwoRods = "two_rods",
        /// Belt, gear or cable.
        FixedRatio = "fixed_ratio",
        /// Drive after drive.
        Series = "series",
    }
}

impl Kind {
    /// In words.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::FourBar => "planar four-bar",
            Self::BallRod => "push-rod with rod ends",
            Self::LinearActuator => "linear actuator between two pins",
            Self::Slider => "nut on a guide with a rod",
            Self::TwoRods => "two rods on a universal joint",
            Self::FixedRatio => "fixed ratio",
            Self::Series => "drive after drive",
        }
    }
}

/// A drive of one joint as drawn. Lengths in m, angles in rad.
#[derive(Clone, Debug, PartialEq)]
pub enum Drawing {
    /// By its seven sizes and the crank angle of its zero pose.
    BallRod {
        /// The sizes.
        sizes: BallRod,
        /// Crank angle in the zero pose from A→B.
        zero_crank: f64,
        /// Which of the two assemblies.
        assembly: Assembly,
    },
    /// By its points and axes in the zero pose.
    BallRodPoints(BallRodPoints),
    /// A linear actuator in a plane.
    PlanarActuator {
        /// From the carrier's pin to the joint axis.
        ground: f64,
        /// From the joint axis to Q.
        rocker: f64,
        /// Distance of the slide line from the carrier's pin.
        line_offset: f64,
        /// Travel per motor turn, signed.
        lead: f64,
        /// Angle of the lever in the zero pose from A→B.
        zero_rocker: f64,
        /// Shortest and longest along the slide line.
        lengths: Option<[f64; 2]>,
    },
    /// A linear actuator by its points in the zero pose.
    ActuatorPoints {
        /// The points.
        points: LinearActuator,
        /// Shortest and longest along the slide line.
        lengths: Option<[f64; 2]>,
    },
    /// A nut on a guide in a plane; the origin lies `ground` before the joint axis, x towards it.
    PlanarSlider {
        /// From the origin to the joint axis.
        ground: f64,
        /// From the nut's pin to Q.
        coupler: f64,
        /// From the joint axis to Q.
        rocker: f64,
        /// A point of the guide.
        guide: [f64; 2],
        /// Direction of the guide from x.
        direction: f64,
        /// Travel per motor turn, signed.
        lead: f64,
        /// Angle of the lever in the zero pose from x.
        zero_rocker: f64,
        /// Near the nut's travel from the guide's point in the zero pose.
        nut: f64,
    },
    /// The same by points in space.
    SliderPoints {
        /// The points.
        points: Slider,
        /// Near the nut's travel from the guide's point in the zero pose.
        nut: f64,
    },
    /// Belt, gear or cable.
    FixedRatio(FixedRatio),
    /// Stages in order from the motor.
    Series(Vec<Self>),
}

impl Drawing {
    /// Its kind.
    #[must_use]
    pub fn kind(&self) -> Kind {
        match self {
            Self::BallRod { .. } | Self::BallRodPoints(_) => Kind::BallRod,
            Self::PlanarActuator { .. } | Self::ActuatorPoints { .. } => Kind::LinearActuator,
            Self::PlanarSlider { .. } | Self::SliderPoints { .. } => Kind::Slider,
            Self::FixedRatio(_) => Kind::FixedRatio,
            Self::Series(_) => Kind::Series,
        }
    }

    /// Its sizes, in the order that [`Drawing::built`] takes them.
    #[must_use]
    pub fn sizes(&self) -> Vec<Size> {
        let length = |name, value| Size { stage: 0, name, measure: Measure::Length, value };
        let angle = |name, value| Size { stage: 0, name, measure: Measure::Angle, value };
        match self {
            Self::BallRod { sizes, zero_crank, .. } => vec![
                length("ground", sizes.ground),
                length("crank", sizes.crank),
                length("coupler", sizes.coupler),
                length("rocker", sizes.rocker),
                length("axial", sizes.axial),
                angle("twist", sizes.twist),
                angle("lean", sizes.lean),
                angle("zero_crank", *zero_crank),
            ],
            Self::BallRodPoints(points) => points.sizes(),
            Self::PlanarActuator { ground, rocker, line_offset, lead, zero_rocker, .. } => vec![
                length("ground", *ground),
                length("rocker", *rocker),
                length("line_offset", *line_offset),
                length("lead", *lead),
                angle("zero_rocker", *zero_rocker),
            ],
            Self::ActuatorPoints { points, .. } => points.sizes(),
            Self::PlanarSlider {
                ground,
                coupler,
                rocker,
                guide: [x, y],
                direction,
                lead,
                zero_rocker,
                ..
            } => vec![
                length("ground", *ground),
                length("coupler", *coupler),
                length("rocker", *rocker),
                length("guide_x", *x),
                length("guide_y", *y),
                angle("guide_direction", *direction),
                length("lead", *lead),
                angle("zero_rocker", *zero_rocker),
            ],
            Self::SliderPoints { points, .. } => points.sizes(),
            Self::FixedRatio(FixedRatio(ratio)) => {
                vec![Size { stage: 0, name: "ratio", measure: Measure::Number, value: *ratio }]
            }
            Self::Series(stages) => {
                let of_stage = |(stage, drawing): (usize, &Self)| {
                    drawing.sizes().into_iter().map(move |size| Size { stage, ..size })
                };
                stages.iter().enumerate().flat_map(of_stage).collect()
            }
        }
    }

    /// The build that `sizes` make, in its zero pose; `None` where they do not close, where a datum is lost, and for kinds
    /// without a rod of their own.
    pub fn built<T: Angular>(&self, sizes: &[T]) -> Option<Built<T>> {
        match self {
            Self::BallRod { assembly, sizes: drawn, zero_crank } => {
                let side = drawn.motor_side(*zero_crank, *assembly).ok()?;
                BallRod::built(sizes, *assembly, side)
            }
            Self::BallRodPoints(points) => points.built(sizes),
            Self::PlanarActuator { .. } => LinearActuator::built_in_plane(sizes),
            Self::ActuatorPoints { points, .. } => points.built(sizes),
            Self::PlanarSlider { nut, .. } => {
                let side = self.planar_slider()?.side(*nut)?;
                Slider::built_in_plane(sizes, side)
            }
            Self::SliderPoints { points, nut } => points.built(sizes, points.side(*nut)?),
            Self::FixedRatio(_) | Self::Series(_) => None,
        }
    }

    /// The drive with one rod that `sizes` build; `None` as [`Drawing::built`].
    #[must_use]
    pub fn drive_of(&self, sizes: &[f64]) -> Option<JointDrive> {
        if let (Self::FixedRatio(_), [ratio]) = (self, sizes) {
            return Some(JointDrive::Ratio(FixedRatio(*ratio)));
        }
        let exactly: Vec<Interval> = sizes.iter().map(|size| Interval::point(*size)).collect();
        let built = self.built(&exactly)?;
        let joint = Circle::through(built.foot, &built.joint)?;
        let drive = RodDrive::new(RodOnHinge { joint, input: built.input }, 0.0, None).ok()?;
        Some(JointDrive::Rod(Box::new(drive)))
    }

    /// The points of a planar slider.
    fn planar_slider(&self) -> Option<Slider> {
        let Self::PlanarSlider {
            ground, coupler, rocker, guide, direction, lead, zero_rocker, ..
        } = self
        else {
            return None;
        };
        let lengths = [*ground, *coupler, *rocker, *lead];
        Some(Slider::planar(lengths, *guide, [*direction, *zero_rocker]))
    }

    /// The drive whose zero pose is as drawn.
    ///
    /// # Errors
    /// As the kinds' own; a series without stages is undetermined.
    pub fn drive(&self) -> Result<JointDrive, DriveFault> {
        const NO_PLACE: DriveFault =
            DriveFault::Undetermined("the lever's pin lies on the joint axis");
        let rod = match self {
            Self::BallRod { sizes, zero_crank, assembly } => sizes.drive(*zero_crank, *assembly)?,
            Self::BallRodPoints(points) => points.drive()?,
            Self::PlanarActuator { ground, rocker, line_offset, lead, zero_rocker, lengths } => {
                let sizes = [*ground, *rocker, *line_offset, *lead];
                LinearActuator::planar(sizes, *zero_rocker).drive(*lengths)?
            }
            Self::ActuatorPoints { points, lengths } => points.drive(*lengths)?,
            Self::PlanarSlider { nut, .. } => self.planar_slider().ok_or(NO_PLACE)?.drive(*nut)?,
            Self::SliderPoints { points, nut } => points.drive(*nut)?,
            Self::FixedRatio(ratio) => return Ok(JointDrive::Ratio(*ratio)),
            Self::Series(stages) => {
                let stage = |(k, drawing): (usize, &Self)| {
                    drawing.drive().map_err(|fault| fault.of_stage(k))
                };
                let stages = stages.iter().enumerate().map(stage).collect::<Result<_, _>>()?;
                return Ok(JointDrive::Series(Series(stages)));
            }
        };
        Ok(JointDrive::Rod(Box::new(rod)))
    }
}
