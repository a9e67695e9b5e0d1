//! One joint between two links, what follows it and what drives it, without any file format.

use super::properties::{ActuatorProperties, Inertial, JointProperties};

/// The motion that a joint allows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Motion {
    /// A turn about its axis, rad.
    #[default]
    Turn,
    /// A way along its axis, m.
    Slide,
    /// Any turn about its origin; it has no axis and no reading.
    Ball,
}

/// A hinge or a slide with limits.
///
/// At reading 0 the child link's frame is aligned with the parent's and its origin lies at `origin`; a
/// positive reading turns the child about `axis` by the right-hand rule, or moves it along it.
#[derive(Clone, Debug, PartialEq)]
pub struct TreeJoint {
    /// The joint's name.
    pub name: String,
    /// The link that bears the joint.
    pub parent: String,
    /// The link that the joint turns.
    pub child: String,
    /// The motion.
    pub motion: Motion,
    /// Unit vector of the joint axis in the parent link's frame.
    pub axis: [f64; 3],
    /// A point on the joint axis in the parent link's frame, m: the child frame's origin.
    pub origin: [f64; 3],
    /// What it allows and what resists it; a mimic in formats that hold a straight line only.
    pub properties: JointProperties,
    /// Lines for the comment above the joint.
    pub remarks: Vec<String>,
}

/// A link and its mass properties.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// The link's name.
    pub name: String,
    /// Mass, centre and inertia.
    pub inertial: Inertial,
}

/// What drives a joint, in the units of its own control signal; without gains that signal is the force.
///
/// With gains: force = position gain · (target − reading) − velocity gain · speed, where
/// reading = gear · joint reading + shift.
#[derive(Clone, Debug, PartialEq)]
pub struct JointActuator {
    /// The joint that it drives.
    pub joint: String,
    /// How it reaches that joint, and others.
    pub through: Through,
    /// Armature and damping in engines that know them; else `None` and the joint has them.
    pub properties: ActuatorProperties,
}

/// How an actuator reaches what it drives; its gear is per length where that is one.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Through {
    /// It acts on its joint.
    #[default]
    Joint,
    /// A tendon whose length is the sum of readings, each times its figure.
    Readings(Tendon, Vec<(String, f64)>),
    /// A tendon between two points.
    Points(Tendon, [Site; 2]),
    /// A slide that pushes a point by a rod: its length is the way of the slide, behind the point along the slide's
    /// direction.
    Slide {
        /// Where the way counts from.
        slide: Site,
        /// Unit vector of the slide in the frame of its link.
        direction: [f64; 3],
        /// What is pushed.
        point: Site,
        /// Length of the rod, m.
        rod: f64,
    },
}

/// A tendon's name and what stands on it, per length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tendon {
    /// Its name.
    pub name: String,
    /// Armature, kg (kg m² where readings are turns).
    pub armature: Option<f64>,
    /// Viscous damping, N s/m.
    pub damping: Option<f64>,
    /// Coulomb friction, N.
    pub friction: Option<f64>,
}

/// A named point of a link.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// The link.
    pub link: String,
    /// The point's name.
    pub name: String,
    /// In the link's frame, m.
    pub at: [f64; 3],
}

impl Through {
    /// The points that it needs, each with the direction of its z axis where that counts.
    pub(super) fn sites(&self) -> Vec<(&Site, Option<[f64; 3]>)> {
        match self {
            Self::Joint | Self::Readings(..) => Vec::new(),
            Self::Points(_, ends) => ends.iter().map(|end| (end, None)).collect(),
            Self::Slide { slide, direction, point, .. } => {
                vec![(slide, Some(*direction)), (point, None)]
            }
        }
    }
}

/// One joint with what belongs to it.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivenJoint {
    /// The joint.
    pub joint: TreeJoint,
    /// What drives it.
    pub actuator: JointActuator,
    /// The child link; needed for a whole model only.
    pub child: Option<Link>,
    /// The motor's side, where the model keeps it.
    pub motor_side: Option<MotorSide>,
    /// What else moves with it: a gripper's further joints, each after the one that bears it.
    pub others: Vec<BorneJoint>,
    /// What closes loops among them.
    pub pins: Vec<ClosingPin>,
}

/// A further joint with the link that it bears. Where it follows the driven joint its `mimic` says how, in every format.
#[derive(Clone, Debug, PartialEq)]
pub struct BorneJoint {
    /// The joint.
    pub joint: TreeJoint,
    /// The link; needed for a whole model and where a loop is closed.
    pub link: Option<Link>,
}

/// A pin that closes a loop: a second joint of its child.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosingPin {
    /// From the link that bears it to its child; the origin in the first one's frame.
    pub end: TreeJoint,
    /// The same pin in the child's frame, m.
    pub on_child: [f64; 3],
}

/// The crank as a body of its own, and what ties it to the joint.
#[derive(Clone, Debug, PartialEq)]
pub struct MotorSide {
    /// The motor's joint; its parent is the driven joint's.
    pub crank: TreeJoint,
    /// The crank.
    pub link: Link,
    /// How crank and joint move together.
    pub tie: Tie,
    /// The rotor, where it is a body of its own.
    pub rotor: Option<TiedRotor>,
}

/// A rotor beside the crank, its joint tied to the crank's.
#[derive(Clone, Debug, PartialEq)]
pub struct TiedRotor {
    /// On the parent of the crank's joint, about the same axis.
    pub joint: TreeJoint,
    /// The rotor.
    pub link: Link,
    /// rotor reading = `turns` · (crank reading − its `drawn_at`); in formats without equalities the rotor's mimic alone.
    pub turns: f64,
}

/// How crank and joint move together.
#[derive(Clone, Debug, PartialEq)]
pub enum Tie {
    /// crank reading − its `drawn_at` = Σ aₖ (joint reading − its `drawn_at`)ᵏ, k = 0…4; in formats without
    /// polynomials the crank's mimic alone.
    Coupling([f64; 5]),
    /// A rod closes the loop.
    Rod(Box<ClosingRod>),
}

/// The rod of a closed loop.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosingRod {
    /// The joint at the crank's pin: from the crank to the rod.
    pub joint: TreeJoint,
    /// The rod.
    pub link: Link,
    /// The joint that closes the loop: from the rod to the driven joint's child, its origin in the rod's frame.
    pub end: TreeJoint,
    /// The same pin in the child's frame, m.
    pub pin_on_child: [f64; 3],
}

/// Everything that one file holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Model {
    /// The model's name.
    pub name: String,
    /// Lines for the comment at the head of the file.
    pub head: Vec<String>,
    /// The joints, in the order of the file.
    pub joints: Vec<DrivenJoint>,
    /// The links that bear the joints, each once; needed for a whole model only.
    pub carriers: Vec<Link>,
    /// What holds coupled joints and closed loops together in MJCF.
    pub tie: TieSettings,
}

/// How MJCF holds coupled joints and closed loops together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TieSettings {
    /// The time step that the constraints are set for, s.
    pub step: f64,
    /// Loops are closed from site to site, which older engines do not know; else by an anchor in the drawn pose.
    pub by_sites: bool,
}
