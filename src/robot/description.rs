//! One revolute joint between two links, and what drives it, without any file format.

/// A revolute joint with limits.
///
/// At reading 0 the child link's frame is aligned with the parent's and its origin lies at `origin`; a
/// positive reading turns the child about `axis` by the right-hand rule.
#[derive(Clone, Debug, PartialEq)]
pub struct RevoluteJoint {
    /// The joint's name.
    pub name: String,
    /// The link that bears the joint.
    pub parent: String,
    /// The link that the joint turns.
    pub child: String,
    /// Unit vector of the joint axis in the parent link's frame.
    pub axis: [f64; 3],
    /// A point on the joint axis in the parent link's frame, m: the child frame's origin.
    pub origin: [f64; 3],
    /// Smallest and largest reading, rad; `None` where the joint turns freely.
    pub limit: Option<[f64; 2]>,
    /// The reading in the pose in which MJCF draws the two links, rad; the other formats draw them at reading 0.
    pub drawn_at: f64,
    /// The joint that this one follows, in formats that hold a straight line only.
    pub mimic: Option<Mimic>,
    /// Largest torque at the joint, N m; `None` where not known.
    pub effort: Option<f64>,
    /// Largest speed of the joint, rad/s; `None` where not known.
    pub velocity: Option<f64>,
    /// Viscous damping, N m s/rad.
    pub damping: Option<f64>,
    /// Coulomb friction, N m.
    pub friction: Option<f64>,
    /// Armature, kg m², as seen at the joint.
    pub armature: Option<f64>,
    /// Lines for the comment above the joint.
    pub remarks: Vec<String>,
}

/// reading = `multiplier` · the leader's reading + `offset`.
#[derive(Clone, Debug, PartialEq)]
pub struct Mimic {
    /// The name of the joint that leads.
    pub leader: String,
    /// Reading per reading of the leader.
    pub multiplier: f64,
    /// rad.
    pub offset: f64,
}

/// A link and its mass properties.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// The link's name.
    pub name: String,
    /// Mass, centre and inertia.
    pub inertial: Inertial,
}

/// Mass properties of a link, in the link's own frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inertial {
    /// kg.
    pub mass: f64,
    /// Mass centre, m.
    pub center: [f64; 3],
    /// xx, yy, zz, xy, xz, yz about the mass centre, kg m², as entries of the tensor.
    pub tensor: [f64; 6],
}

/// What drives a joint, in the units of its own control signal.
#[derive(Clone, Debug, PartialEq)]
pub struct Actuator {
    /// The joint that it drives.
    pub joint: String,
    /// Joint torque per actuator force, signed; 1 in joint units.
    pub gear: f64,
    /// Largest force before the gear, N m; `None` where not known.
    pub force: Option<f64>,
    /// A position controller, where gains are known; else the control signal is the force.
    pub servo: Option<Servo>,
    /// Armature before the gear, kg m²; in engines that know it, else `None` and the joint has it.
    pub armature: Option<f64>,
    /// Damping before the gear, N m s/rad; likewise.
    pub damping: Option<f64>,
}

/// A proportional controller with damping, before the gear:
/// force = `position_gain` · (target − reading) − `velocity_gain` · speed, where
/// reading = gear · joint reading + `shift`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Servo {
    /// N m/rad before the gear.
    pub position_gain: f64,
    /// N m s/rad before the gear.
    pub velocity_gain: f64,
    /// What the controlled angle reads where the joint reads 0, rad.
    pub shift: f64,
    /// Smallest and largest target, rad.
    pub target: [f64; 2],
}

/// One joint with what belongs to it.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivenJoint {
    /// The joint.
    pub joint: RevoluteJoint,
    /// What drives it.
    pub actuator: Actuator,
    /// The child link; needed for a whole model only.
    pub child: Option<Link>,
    /// The motor's side, where the model keeps it.
    pub motor_side: Option<MotorSide>,
}

/// The crank as a body of its own, and what ties it to the joint.
#[derive(Clone, Debug, PartialEq)]
pub struct MotorSide {
    /// The motor's joint; its parent is the driven joint's.
    pub crank: RevoluteJoint,
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
    pub joint: RevoluteJoint,
    /// The rotor.
    pub link: Link,
    /// rotor reading = `turns` · (crank reading − its `drawn_at`); in formats without equalities the rotor's [`Mimic`] alone.
    pub turns: f64,
}

/// How crank and joint move together.
#[derive(Clone, Debug, PartialEq)]
pub enum Tie {
    /// crank reading − its `drawn_at` = Σ aₖ (joint reading − its `drawn_at`)ᵏ, k = 0…4; in formats without
    /// polynomials the crank's [`Mimic`] alone.
    Coupling([f64; 5]),
    /// A rod closes the loop.
    Rod(Box<Rod>),
}

/// The rod of a closed loop.
#[derive(Clone, Debug, PartialEq)]
pub struct Rod {
    /// The joint at the crank's pin: from the crank to the rod.
    pub joint: RevoluteJoint,
    /// The rod.
    pub link: Link,
    /// The joint that closes the loop: from the rod to the driven joint's child, its origin in the rod's frame.
    pub end: RevoluteJoint,
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
