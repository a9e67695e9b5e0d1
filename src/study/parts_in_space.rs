//! The parts of a drive that is no planar four-bar as bodies: where the robot's own frames come in.
//!
//! The joint frame has its origin B at the foot of Q on the joint axis, z along the axis as drawn and x along the ground line, as
//! [`JointStroke`] has it. Points that were given in the carrier's own frame place it there, or shifted to the robot's own joint; else
//! a `[[robot]]` does with its axis and `motor_at`, from where x points to the joint: `mirrored` there sees the drawing from its
//! other side. The mirror image of points in the carrier's own frame is not placed. A belt or a series has no ground line but `motor_at`; without that x is the parent link's own, made square to the axis
//! (its y where that lies along it).

use nalgebra::{Isometry3, Matrix3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};

use crate::design::{BodyFrame, BodyMass, Design, Drawn, RobotJoint};
use crate::drive::{InputEnd, JointDrive, Vector};
use crate::dynamics::{Body, DriveParts, DynamicsFault, JointStroke, Masses};
use crate::equivalence::HungDrive;

use super::drive::{plain, rotor_of, seen};
use super::driven::Driven;
use super::lacking::{named, of_rotor};

/// What a design says of the parts of its drives.
#[derive(Clone, Debug, Default)]
pub struct PlacedParts {
    /// One for each `[[robot]]`, or one where there is none, with the joint's name; none where a table is missing.
    pub drives: Vec<(Option<String>, HungDrive<DriveParts>)>,
    /// What an inertia figure needs and the design lacks, named as in the file.
    pub missing: Vec<&'static str>,
    /// What is left out for want of a table or a place, named as in the file.
    pub left_out: Vec<&'static str>,
}

/// What a child in the robot's frame, or a carrier, needs.
const UNPLACED: &str =
    "a [[robot]] that places the drawing (the child's masses stand in the robot's own frame)";

/// Why the bodies of a series are not weighed.
const STAGES: &str =
    "where the stages of the series stand to each other (their bodies cannot be placed)";

/// Axes that differ by less than this, rad, are parallel: the rounding of figures from CAD.
const PARALLEL: f64 = 1e-3;

/// A joint axis nearer than this to the drawn one, m, is that.
const NEAR: f64 = 1e-4;

impl PlacedParts {
    /// The parts of `design`.
    ///
    /// # Errors
    /// A stroke that cannot be followed.
    pub fn of(design: &Design<Drawn>, driven: &Driven) -> Result<Self, DynamicsFault> {
        let stroke = JointStroke::over(&driven.drive, driven.joint_turns())?;
        let missing = missing_parts(design, &driven.drive);
        if missing.iter().any(|name| !name.starts_with("[actuator]")) {
            return Ok(Self { missing, ..Self::default() });
        }
        let robots = design.robots.iter().map(Some);
        let robots: Vec<_> = if design.robots.is_empty() { vec![None] } else { robots.collect() };
        let placed = robots.into_iter().map(|robot| {
            let hung = hung(design, robot, &stroke)?;
            Some((robot.map(|robot| robot.joint.clone()), hung))
        });
        let Some(drives) = placed.collect::<Option<Vec<_>>>() else {
            return Ok(Self { missing: vec![UNPLACED], ..Self::default() });
        };
        let first = drives.first().map(|(_, hung)| hung.masses.masses);
        let lacks = |body: fn(&Masses) -> Option<Body>| first.as_ref().and_then(body).is_none();
        let carried = design.mass.carried.is_some() && lacks(|m| m.carried);
        let out = [(lacks(|m| m.carrier), "[mass.carrier]"), (carried, "[mass.carried]")];
        Ok(Self { drives, missing, left_out: named(out) })
    }

    /// The drives as the verdict asks about them.
    #[must_use]
    pub fn hung(&self) -> Vec<HungDrive<DriveParts>> {
        self.drives.iter().map(|(_, hung)| *hung).collect()
    }
}

/// The tables that an inertia figure of `drive` needs and that `design` lacks, named as in the file.
fn missing_parts(design: &Design<Drawn>, drive: &JointDrive) -> Vec<&'static str> {
    let mass = &design.mass;
    let (crank, coupler) = (mass.crank.is_none(), mass.coupler.is_none());
    let (housing, nut) = (mass.housing.is_none(), mass.nut.is_none());
    let own = match drive {
        JointDrive::Rod(rod) => match rod.geometry().input {
            InputEnd::Crank { .. } => vec![(crank, "[mass.crank]"), (coupler, "[mass.coupler]")],
            InputEnd::Slide { .. } => vec![(nut, "[mass.nut]"), (coupler, "[mass.coupler]")],
            InputEnd::Actuator { .. } => vec![(housing, "[mass.housing]"), (nut, "[mass.nut]")],
        },
        JointDrive::Ratio(_) => Vec::new(),
        JointDrive::Series(_) => vec![(true, STAGES)],
    };
    let child = (mass.child.is_none(), "[mass.child]");
    named(own.into_iter().chain([child]).chain(of_rotor(design.actuator.as_ref())))
}

/// The parts on one `[[robot]]`; `None` where the child cannot be placed.
fn hung(
    design: &Design<Drawn>,
    robot: Option<&RobotJoint>,
    stroke: &JointStroke<'_>,
) -> Option<HungDrive<DriveParts>> {
    let frame = robot.and_then(|robot| joint_frame_on(design, robot, stroke));
    let drawn = |body: &Option<BodyMass>| body.as_ref().map(plain);
    let in_carrier = |body: &Option<BodyMass>| Some(seen(body.as_ref()?, &frame?));
    let mass = &design.mass;
    let child = mass.child.as_ref().and_then(|body| match body.frame {
        BodyFrame::Drawing => Some(plain(body)),
        BodyFrame::Robot => Some(seen(body, &child_frame_on(design, robot?, stroke)?)),
    })?;
    let masses = Masses {
        crank: drawn(&mass.crank),
        coupler: drawn(&mass.coupler),
        child,
        carrier: in_carrier(&mass.carrier),
        carried: in_carrier(&mass.carried),
        rotor: rotor_of(design.actuator.as_ref()),
    };
    let parts = DriveParts { masses, housing: drawn(&mass.housing), nut: drawn(&mass.nut) };
    let parent = robot.map(|robot| &robot.parent);
    let link = design.robots.iter().position(|other| Some(&other.parent) == parent).unwrap_or(0);
    Some(HungDrive { masses: parts, link, frame })
}

fn vector(v: Vector) -> Vector3<f64> {
    Vector3::new(v.x, v.y, v.z)
}

/// The joint frame of `stroke` in the parent link's frame on `robot`; `None` where nothing places it.
#[must_use]
pub fn joint_frame_on(
    design: &Design<Drawn>,
    robot: &RobotJoint,
    stroke: &JointStroke<'_>,
) -> Option<Isometry3<f64>> {
    let drawn = &design.geometry;
    let (z, origin) = (Vector3::from(robot.axis), Vector3::from(robot.origin));
    let along = stroke.frame() * Vector3::z();
    if drawn.is_in_carrier_frame {
        let shift =
            origin + z * height_of_foot(drawn, stroke, &along) - stroke.frame().translation.vector;
        let is_turned = robot.mirrored || (along - z).norm() > PARALLEL;
        let shift = if z.cross(&shift).norm() < NEAR { Vector3::zeros() } else { shift };
        return (!is_turned).then(|| Translation3::from(shift) * stroke.frame());
    }
    let sense = if robot.mirrored { -1.0 } else { 1.0 };
    let z = Unit::try_new(z * sense, 1e-12)?;
    let ground = match robot.motor_at {
        Some(motor) => origin - Vector3::from(motor),
        None if matches!(stroke.drive(), JointDrive::Rod(_)) => return None,
        None => any_square_to(&z),
    };
    let turn = axes(&z, &ground)?
        * ground_axes(design, stroke, along)?.inverse()
        * stroke.frame().rotation;
    let height = height_of_foot(drawn, stroke, &along);
    Some(Isometry3::from_parts((origin + z.into_inner() * height).into(), turn))
}

/// The axes that `motor_at` places, where the points are written: z the joint axis, x from motor to joint; of a slider and of
/// what has no rod the drawing's own.
fn ground_axes(
    design: &Design<Drawn>,
    stroke: &JointStroke<'_>,
    along: Vector3<f64>,
) -> Option<UnitQuaternion<f64>> {
    let input = match stroke.drive() {
        JointDrive::Rod(rod) => Some(rod.geometry().input),
        JointDrive::Ratio(_) | JointDrive::Series(_) => None,
    };
    if let Some(InputEnd::Crank { .. } | InputEnd::Actuator { .. }) = input {
        return Some(stroke.frame().rotation);
    }
    let [x, y, z] = design.geometry.drawing_frame[0];
    let sense = design.drawing_sense();
    axes(&Unit::new_normalize(along), &Vector3::new(x, sense * y, sense * z))
}

/// How far B lies beyond the point that the drawing gives of the joint axis, along it, m.
fn height_of_foot(drawn: &Drawn, stroke: &JointStroke<'_>, along: &Vector3<f64>) -> f64 {
    let sizes: Vec<f64> = drawn.drawing.sizes().iter().map(|size| size.value).collect();
    let Some(built) = drawn.drawing.built::<f64>(&sizes) else { return 0.0 };
    (stroke.frame().translation.vector - vector(built.joint.point)).dot(along)
}

fn axes(z: &Unit<Vector3<f64>>, ground: &Vector3<f64>) -> Option<UnitQuaternion<f64>> {
    let z = z.into_inner();
    let x = (ground - z * z.dot(ground)).try_normalize(1e-12)?;
    let axes = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[x, z.cross(&x), z]));
    Some(UnitQuaternion::from_rotation_matrix(&axes))
}

/// A direction across the axis where the drive has no ground line.
fn any_square_to(axis: &Vector3<f64>) -> Vector3<f64> {
    if axis.x.abs() < 0.9 { Vector3::x() } else { Vector3::y() }
}

/// The drawing's child frame (origin B, x towards Q) in the child link's frame, which stands at the joint's origin, aligned with
/// the parent's where the joint reads 0. `None` where nothing places the drawing.
#[must_use]
pub fn child_frame_on(
    design: &Design<Drawn>,
    robot: &RobotJoint,
    stroke: &JointStroke<'_>,
) -> Option<Isometry3<f64>> {
    let frame = joint_frame_on(design, robot, stroke)?;
    let lever = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), stroke.child_angle(0.0).ok()?);
    let back = UnitQuaternion::from_scaled_axis(Vector3::from(robot.axis) * -design.joint_reads);
    let apart = frame.translation.vector - Vector3::from(robot.origin);
    Some(Isometry3::from_parts(Translation3::from(back * apart), back * frame.rotation * lever))
}
