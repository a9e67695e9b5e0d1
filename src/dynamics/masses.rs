//! The parts of one drive.

use super::body::{Body, BodyFault};

/// The motor's rotor; its axis is parallel to the joint axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rotor {
    /// About its axis, kg m².
    pub inertia: f64,
    /// Rotor turns per crank turn, signed: negative for a reversing gearbox.
    pub gear_ratio: f64,
    /// The carrier's own figures hold the rotor at rest, its inertia about the axis included.
    pub in_carrier: bool,
}

/// The parts that move with the joint, and what carries them. A part that is `None` weighs nothing, but for the
/// carrier: without it only figures with the carrier fixed can be told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Masses {
    /// In the crank frame.
    pub crank: Option<Body>,
    /// In the coupler frame.
    pub coupler: Option<Body>,
    /// In the child frame: the rocker and all that is rigid with it.
    pub child: Body,
    /// In the carrier frame.
    pub carrier: Option<Body>,
    /// What moves with the carrier besides, in the carrier frame.
    pub carried: Option<Body>,
    /// The rotor, where the actuator is known.
    pub rotor: Option<Rotor>,
}

impl Masses {
    /// Every body by its name.
    fn bodies(&self) -> [(&'static str, Option<&Body>); 5] {
        [
            ("crank", self.crank.as_ref()),
            ("coupler", self.coupler.as_ref()),
            ("child", Some(&self.child)),
            ("carrier", self.carrier.as_ref()),
            ("carried", self.carried.as_ref()),
        ]
    }

    /// The bodies that no real part can be, by name.
    #[must_use]
    pub fn faults(&self) -> Vec<(&'static str, BodyFault)> {
        let fault = |(name, body): (&'static str, Option<&Body>)| {
            body?.check().err().map(|fault| (name, fault))
        };
        self.bodies().into_iter().filter_map(fault).collect()
    }

    /// With a crank or coupler that is known about the axis alone taken as a slender bar, so that a model of them can be
    /// written.
    #[must_use]
    pub fn with_bars(&self) -> Self {
        let bar = |body: Option<Body>| body.map(|body| body.as_bar());
        Self { crank: bar(self.crank), coupler: bar(self.coupler), ..*self }
    }

    /// Are the whole tensors of all given bodies known, the carrier's among them?
    #[must_use]
    pub fn are_spatial(&self) -> bool {
        let known = |(_, body): (_, Option<&Body>)| body.is_none_or(Body::is_spatial);
        self.carrier.is_some() && self.bodies().into_iter().all(known)
    }

    /// One of `among` equal shares of the carrier in the carrier's place, what is carried left out: with shares summed up
    /// the drives on one carrier are whole again.
    #[must_use]
    pub fn sharing_carrier(&self, among: u32) -> Self {
        let share = 1.0 / f64::from(among.max(1));
        let carrier = self.carrier.map(|carrier| carrier.scaled(share));
        Self { carrier, carried: self.carried.filter(|_| among <= 1), ..*self }
    }

    /// Rotor inertia, kg m²; 0 where no actuator is known.
    #[must_use]
    pub fn rotor_inertia(&self) -> f64 {
        self.rotor.map_or(0.0, |r| r.inertia)
    }

    /// Rotor turns per crank turn; 0 where no actuator is known.
    #[must_use]
    pub fn gear_ratio(&self) -> f64 {
        self.rotor.map_or(0.0, |r| r.gear_ratio)
    }

    /// What the carrier's own figures leave out of the rotor's inertia, kg m².
    #[must_use]
    pub fn rotor_beside_carrier(&self) -> f64 {
        self.rotor.filter(|r| !r.in_carrier).map_or(0.0, |r| r.inertia)
    }
}
