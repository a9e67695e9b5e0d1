//! What a robot file says, whatever its format: links, the joints between them, what closes loops, what drives.
//!
//! Links and joints form a graph, not a tree: in SDFormat a link may hang on two joints, and in MJCF constraints
//! close loops. All places are in one frame, the **model's**, in the **drawn** pose: the pose of the file's own
//! numbers, where every URDF and SDFormat joint reads 0 and an MJCF joint reads its `ref`. Lengths in m, angles in
//! rad, mass in kg. Every part knows which element of which file says it.

use std::ops::Deref;

use nalgebra::{Isometry3, Point3, Vector3};

use super::document::{Document, Element};
use super::format::Format;
use super::influence::{Fitting, Influence};
use super::place::{Place, Remark};
use super::properties::{ActuatorProperties, Inertial, JointProperties};

/// A robot file, read.
#[derive(Clone, Debug)]
pub struct Robot {
    /// The format.
    pub format: Format,
    /// The files: the one that was named first, then those that it includes.
    pub documents: Vec<Document>,
    /// The model's name; empty where it has none.
    pub name: String,
    /// The links, in the order of the file; in MJCF the first is the world.
    pub links: Vec<FileLink>,
    /// The joints, in the order of the file.
    pub joints: Vec<FileJoint>,
    /// What holds two links together besides joints.
    pub closures: Vec<Closure>,
    /// What ties two joints besides [`JointProperties::mimic`].
    pub couplings: Vec<JointCoupling>,
    /// What drives one joint each.
    pub actuators: Vec<FileActuator>,
    /// What drives joints otherwise: by a tendon, between two sites, several at once.
    pub shared_drives: Vec<SharedDrive>,
    /// What acts on joints as a spring, a brake or a stop that is no joint's own and no drive.
    pub restraints: Vec<Restraint>,
    /// How many elements that make links were not read, each with a remark: the robot may have more than this.
    pub unread: usize,
    /// What the file switches off or leaves out for all of it, each a sentence at a place.
    pub settings: Vec<Remark>,
    /// What the user should know: what was not read and why, each a sentence at a place.
    pub remarks: Vec<Remark>,
}

/// Index into [`Robot::links`].
pub type LinkId = usize;

/// Index into [`Robot::joints`].
pub type JointId = usize;

/// A rigid body of the robot.
#[derive(Clone, Debug)]
pub struct FileLink {
    /// Its name; SDFormat's nested models in front (`arm::hand`); in MJCF a body without a name gets none.
    pub name: String,
    /// The element.
    pub place: Place,
    /// From the link's frame to the model's, in the drawn pose.
    pub pose: Isometry3<f64>,
    /// Mass, centre and tensor in the link's own frame, about the mass centre; `None` where the file gives none.
    pub inertial: Option<Inertial>,
    /// It weighs something by its shapes or by the engine, and that is not read: `inertial` is `None` then.
    pub mass_is_unread: bool,
    /// Its shapes, in the order of the file.
    pub shapes: Vec<LinkShape>,
    /// What else it bears and what speaks of it: sensors, cameras, lights, sites that others name.
    pub fittings: Vec<Fitting>,
    /// Its named points (MJCF's `site`).
    pub sites: Vec<LinkSite>,
    /// It is moved from outside (MJCF's `mocap`): what holds on to it is a handle, no part of the mechanism.
    pub is_handle: bool,
    /// What the file does to it besides its joints, its mass and contact.
    pub influences: Vec<Influence>,
}

impl FileLink {
    /// In the model's own place, without mass, shapes or anything else.
    pub(super) fn bare(name: String, place: Place) -> Self {
        Self {
            name,
            place,
            pose: Isometry3::identity(),
            inertial: None,
            mass_is_unread: false,
            shapes: Vec::new(),
            fittings: Vec::new(),
            sites: Vec::new(),
            is_handle: false,
            influences: Vec::new(),
        }
    }
}

/// A shape of a link.
#[derive(Clone, Debug)]
pub struct LinkShape {
    /// The element.
    pub place: Place,
    /// Its name; empty where it has none.
    pub name: String,
    /// It takes part in contact; else it is only there to be seen.
    pub touches: bool,
    /// A box around it; `None` where the shape is not read, such as a mesh.
    pub bounds: Option<BoundingBox>,
}

/// A box around a shape.
#[derive(Clone, Copy, Debug)]
pub struct BoundingBox {
    /// From the box's own axes, origin in its middle, to the link's frame.
    pub pose: Isometry3<f64>,
    /// Half sides, m; infinite for a plane.
    pub half: Vector3<f64>,
}

/// A named point of a link.
#[derive(Clone, Debug)]
pub struct LinkSite {
    /// Its name.
    pub name: String,
    /// The element.
    pub place: Place,
    /// In the model's frame, in the drawn pose.
    pub at: Point3<f64>,
}

/// Which motion a joint allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointKind {
    /// None: MJCF's body without a joint too.
    Fixed,
    /// A turn about its axis, with or without limits.
    Revolute,
    /// A slide along its axis.
    Prismatic,
    /// Any turn about a point.
    Ball,
    /// Turns about two axes through one point, the first held by the parent, the second by the child.
    Universal,
    /// No motion of its own: it ties the turns of two other joints (SDFormat's `gearbox`).
    Gearbox,
    /// Everything else that is not held rigid, `free` and `planar`, `screw`, ...
    Other,
}

/// A joint between two links.
#[derive(Clone, Debug)]
pub struct FileJoint {
    /// Its name; empty where it has none.
    pub name: String,
    /// The element: in MJCF the `joint`, or the `body` itself where it has none.
    pub place: Place,
    /// The motion.
    pub kind: JointKind,
    /// The link on the one side.
    pub parent: LinkId,
    /// The link on the other side; its motion against the parent is positive about `axis`.
    pub child: LinkId,
    /// A point on the axis, in the model's frame.
    pub anchor: Point3<f64>,
    /// Unit vector of the axis in the model's frame; zero where the kind has none.
    pub axis: Vector3<f64>,
    /// The second of two axes likewise; zero where the kind has one alone.
    pub second_axis: Vector3<f64>,
    /// What it allows and what resists it: read as the joint's own.
    pub properties: JointProperties,
    /// Stiffness of a spring across the joint, N m/rad; `None` where there is none.
    pub stiffness: Option<f64>,
    /// The reading at which that spring rests, rad.
    pub spring_reference: f64,
    /// Largest torque each way, low and high, N m, where the file gives both; `effort` is the smaller of the two.
    pub effort_ends: Option<[f64; 2]>,
    /// What acts at it by more figures than are read, in the format's words; empty where nothing does.
    pub unread: String,
    /// Between which readings a controller is to keep it, rad (m): URDF's `safety_controller`.
    pub soft_limits: Option<[f64; 2]>,
    /// By how much the ends of `limit` stand inside those that the file writes, rad (m).
    pub limit_margin: f64,
    /// What makes its limits give way further than by the engine's defaults, in the format's words; empty where nothing does.
    pub soft: String,
}

/// How a closure holds its two links.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClosureKind {
    /// A point of the one on a point of the other.
    Connect,
    /// Rigidly.
    Weld,
}

/// A constraint that closes a loop.
#[derive(Clone, Debug)]
pub struct Closure {
    /// Its name; empty where it has none.
    pub name: String,
    /// The element.
    pub place: Place,
    /// What is held.
    pub kind: ClosureKind,
    /// The two links.
    pub links: [LinkId; 2],
    /// The point of each link that is pulled to the other's, in the model's frame in the drawn pose. Where the format
    /// names one point only, as an anchor, both are that point.
    pub points: [Point3<f64>; 2],
    /// The points are two named sites, of which the file says where each is.
    pub by_sites: bool,
    /// The file switches it off.
    pub is_active: bool,
    /// How far it gives way to a load, times what the engine's own default would; `None` where the file does not say.
    pub softness: Option<f64>,
    /// Who drives its loop and what it carries, where it was stated with that.
    pub roles: StatedRoles,
}

/// Who drives a loop and what it carries, as the statement of the loop says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct StatedRoles {
    /// The motor's joint.
    pub motor: Option<JointId>,
    /// The link that is carried.
    pub child: Option<LinkId>,
}

/// One joint as a polynomial of another: y − y₀ = Σ aₖ (x − x₀)ᵏ, with x₀, y₀ the joints' `drawn_at`.
#[derive(Clone, Debug)]
pub struct JointCoupling {
    /// The element.
    pub place: Place,
    /// y: the joint that follows.
    pub follower: JointId,
    /// x: the joint that leads; `None` where the follower is held at a constant.
    pub leader: Option<JointId>,
    /// a₀…a₄.
    pub polynomial: [f64; 5],
    /// The file switches it off.
    pub is_active: bool,
}

/// What drives joints otherwise than one alone.
#[derive(Clone, Debug)]
pub struct SharedDrive {
    /// The actuator's or transmission's name; empty where it has none.
    pub name: String,
    /// Its element.
    pub place: Place,
    /// How it reaches them.
    pub through: DriveThrough,
    /// The joints, each with its torque per force of the tendon where that is a constant of the file.
    pub joints: Vec<(JointId, Option<f64>)>,
    /// Its two points, where it acts between two alone.
    pub ends: Option<DriveEnds>,
    /// What it does, by the length that it pulls: of its tendon, between the points or along the slide. Nothing of a
    /// transmission.
    pub actuator: ActuatorProperties,
    /// What its tendon allows and what resists it, by its length: m, N, N s/m, kg, or as of a joint where readings make the
    /// length; nothing without one.
    pub tendon: JointProperties,
}

/// A tendon that pulls, brakes or stops joints without being a drive.
#[derive(Clone, Debug)]
pub struct Restraint {
    /// Its name; empty where it has none.
    pub name: String,
    /// Its element.
    pub place: Place,
    /// By which of its properties, as a list in the format's words.
    pub by: String,
    /// The joints that its length depends on.
    pub joints: Vec<JointId>,
}

/// What a drive between two points acts on.
#[derive(Clone, Debug)]
pub struct DriveEnds {
    /// The links of the points.
    pub links: [LinkId; 2],
    /// The points in the model's frame, in the drawn pose.
    pub points: [Point3<f64>; 2],
    /// The first point's slide behind a rod to the second: unit direction in the model's frame and length of the rod, m;
    /// `None` where the force acts along the line between the points.
    pub slide: Option<(Vector3<f64>, f64)>,
}

/// How a drive reaches its joints.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DriveThrough {
    /// A tendon whose length is a sum of joint readings.
    FixedTendon,
    /// A tendon along a path between sites.
    SpatialTendon,
    /// A force between two sites: a cylinder, or a crank with a rod.
    Sites,
    /// A transmission of several joints.
    Transmission,
}

/// What drives a joint: an MJCF actuator, a URDF transmission.
#[derive(Clone, Debug)]
pub struct FileActuator {
    /// Its name; empty where it has none.
    pub name: String,
    /// The element.
    pub place: Place,
    /// The joint.
    pub joint: JointId,
    /// What it does: read as the actuator's own.
    pub properties: ActuatorProperties,
}

impl Deref for FileJoint {
    type Target = JointProperties;

    fn deref(&self) -> &JointProperties {
        &self.properties
    }
}

impl Deref for FileActuator {
    type Target = ActuatorProperties;

    fn deref(&self) -> &ActuatorProperties {
        &self.properties
    }
}

impl FileJoint {
    /// In the model's own place, with nothing known but its kind and its links.
    pub(super) fn bare(place: Place, kind: JointKind, [parent, child]: [LinkId; 2]) -> Self {
        Self {
            name: String::new(),
            place,
            kind,
            parent,
            child,
            anchor: Point3::origin(),
            axis: Vector3::zeros(),
            second_axis: Vector3::zeros(),
            properties: JointProperties::default(),
            stiffness: None,
            spring_reference: 0.0,
            effort_ends: None,
            unread: String::new(),
            soft_limits: None,
            limit_margin: 0.0,
            soft: String::new(),
        }
    }

    /// How many numbers its position and its speed take: a free joint 7 and 6, a ball 4 and 3.
    #[must_use]
    pub fn coordinates(&self) -> [usize; 2] {
        match self.kind {
            JointKind::Fixed | JointKind::Gearbox => [0, 0],
            JointKind::Revolute | JointKind::Prismatic => [1, 1],
            JointKind::Ball => [4, 3],
            JointKind::Universal => [2, 2],
            JointKind::Other => [7, 6],
        }
    }
}

impl Robot {
    /// Without anything.
    pub(super) fn empty(format: Format) -> Self {
        Self {
            format,
            documents: Vec::new(),
            name: String::new(),
            links: Vec::new(),
            joints: Vec::new(),
            closures: Vec::new(),
            couplings: Vec::new(),
            actuators: Vec::new(),
            shared_drives: Vec::new(),
            restraints: Vec::new(),
            unread: 0,
            settings: Vec::new(),
            remarks: Vec::new(),
        }
    }

    /// One more sentence that the user should know.
    pub(super) fn remark(&mut self, place: Place, message: String) {
        self.remarks.push(Remark { place, message });
    }

    /// The file of a place.
    #[must_use]
    pub fn document(&self, place: Place) -> Option<&Document> {
        self.documents.get(place.document)
    }

    /// The element at a place.
    #[must_use]
    pub fn element(&self, place: Place) -> Option<Element<'_>> {
        self.document(place).map(|document| document.element(place.element))
    }

    /// A link's name; empty where it has none.
    #[must_use]
    pub fn link_name(&self, id: LinkId) -> &str {
        self.links.get(id).map_or("", |link| &link.name)
    }

    /// A joint's name; empty where it has none.
    #[must_use]
    pub fn joint_name(&self, id: JointId) -> &str {
        self.joints.get(id).map_or("", |joint| &joint.name)
    }

    /// The link of this name.
    #[must_use]
    pub fn link_named(&self, name: &str) -> Option<LinkId> {
        self.links.iter().position(|link| link.name == name)
    }

    /// What drives this joint alone: the first that is not switched off, else the first.
    #[must_use]
    pub fn actuator_of(&self, joint: JointId) -> Option<&FileActuator> {
        self.actuators_of(joint).next()
    }

    /// All that drive this joint alone and are not switched off; all of them where each is.
    pub fn actuators_of(&self, joint: JointId) -> impl Iterator<Item = &FileActuator> {
        let own = move |one: &&FileActuator| one.joint == joint;
        let any_acts = self.actuators.iter().filter(own).any(|one| !one.is_off);
        self.actuators.iter().filter(own).filter(move |one| !(any_acts && one.is_off))
    }

    /// The joint of this name.
    #[must_use]
    pub fn joint_named(&self, name: &str) -> Option<JointId> {
        self.joints.iter().position(|joint| joint.name == name)
    }

    /// `file:line:column` of a place.
    #[must_use]
    pub fn whereabouts(&self, place: Place) -> String {
        let Some(element) = self.element(place) else { return String::new() };
        let document = element.document();
        let (line, column) = document.line_column(element.range().start);
        format!("{}:{line}:{column}", document.path)
    }
}
