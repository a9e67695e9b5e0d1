//! What `[mass.*]` says of the bodies, in SI.

/// Frame in which a body's figures are given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyFrame {
    /// Origin on the body's own pin, x along its arm, z the joint axis (about the joint axis, not the drawing).
    Drawing,
    /// The robot link's own frame in the zero pose.
    Robot,
}

/// Inertia about the mass centre, kg m².
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BodyInertia {
    /// About the joint axis only.
    AboutAxis(f64),
    /// xx, yy, zz, xy, xz, yz (products of inertia as tensor entries).
    Tensor([f64; 6]),
}

/// One `[mass.*]` table.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyMass {
    /// Frame of centre and tensor.
    pub frame: BodyFrame,
    /// kg, > 0.
    pub mass: f64,
    /// Mass centre, m; z is 0 where two coordinates were given.
    pub center: [f64; 3],
    /// Three coordinates were given.
    pub center_is_spatial: bool,
    /// About the mass centre.
    pub inertia: BodyInertia,
}

/// `[mass.*]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Masses {
    /// `[mass.crank]`
    pub crank: Option<BodyMass>,
    /// `[mass.coupler]`
    pub coupler: Option<BodyMass>,
    /// `[mass.housing]`, of a linear actuator: origin on the carrier's pin, x towards the lever's.
    pub housing: Option<BodyMass>,
    /// `[mass.nut]`: of a linear actuator with its origin on the lever's pin, x as the housing's; of a slider with its origin
    /// on the nut's own pin, x along the guide.
    pub nut: Option<BodyMass>,
    /// `[mass.child]`
    pub child: Option<BodyMass>,
    /// `[mass.carrier]`
    pub carrier: Option<BodyMass>,
    /// `[mass.carried]`
    pub carried: Option<BodyMass>,
}
