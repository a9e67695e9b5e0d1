//! The parts of one drive.

use std::f64::consts::PI;

use nalgebra::{Isometry3, Translation3, Unit, UnitQuaternion, Vector3};

use super::body::Body;
use super::moments::Moments;

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

/// A rotor beside a body that turns with the crank, ½ J (ω_z + N φ̇)² shared out exactly.
#[derive(Clone, Copy, Debug)]
pub(super) struct RotorSplit {
    /// To the carrier: −J N, and J where that does not hold the rotor.
    pub(super) carrier: Moments,
    /// To what turns with the crank: J N.
    pub(super) turning: Moments,
    /// J (N² − N), kg m².
    pub(super) armature: f64,
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

    /// What a drive and its mirror image weigh with palm and rotor shared evenly between them, as both move by the motor's one
    /// turn: the shares add up to all. The rotor turns the other way round as the mirror image's own axis has it.
    #[must_use]
    pub fn tied_shares(pair: [&Self; 2]) -> [Self; 2] {
        let rotor = pair[0].rotor.map(|rotor| Rotor { inertia: 0.5 * rotor.inertia, ..rotor });
        let reversed = rotor.map(|rotor| Rotor { gear_ratio: -rotor.gear_ratio, ..rotor });
        let [first, second] = pair.map(|masses| masses.sharing_carrier(2));
        [Self { rotor, ..first }, Self { rotor: reversed, ..second }]
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

    /// The rotor's shares where the joint turns as the crank does.
    pub(super) fn rotor_split(&self) -> RotorSplit {
        let (inertia, gear) = (self.rotor_inertia(), self.gear_ratio());
        let along = inertia * gear;
        RotorSplit {
            carrier: Moments::about_z(self.rotor_beside_carrier() - along),
            turning: Moments::about_z(along),
            armature: inertia * (gear * gear - gear),
        }
    }

    /// The carrier's moments; none where it is not known.
    pub(super) fn carrier_moments(&self) -> Moments {
        self.carrier.as_ref().map(Moments::from).unwrap_or_default()
    }

    /// The parts of the mirror image, which stands on the same carrier and is turned by the same motor: each moving part at
    /// the other height, the carrier seen from there, no second rotor. `place` is the mirror image's carrier frame in the
    /// present one, its z axis turned round ([`mirrored_place`]).
    #[must_use]
    pub fn mirrored(&self, place: &Isometry3<f64>) -> Self {
        Self {
            crank: self.crank.map(|body| body.upside_down()),
            coupler: self.coupler.map(|body| body.upside_down()),
            child: self.child.upside_down(),
            ..self.at(place)
        }
    }

    /// The same drive once more at `place`, a carrier frame in this one's: its parts as they are, without a rotor, on the one
    /// carrier.
    #[must_use]
    pub fn at(&self, place: &Isometry3<f64>) -> Self {
        let seen = |body: Option<Body>| body.map(|body| body.seen_from(&place.inverse()));
        Self { carrier: seen(self.carrier), carried: seen(self.carried), rotor: None, ..*self }
    }
}

/// The mirror image of a carrier frame, as seen from that frame: in the plane through `point` with the normal `normal` (any
/// length, in the frame's x and y; metres and carrier frame). x and y are mirrored; z, which makes them right-handed, is turned
/// round, so that the mirror image of a drive turns counter-clockwise about its own z where the drive does about its own.
#[must_use]
pub fn mirrored_place(point: [f64; 2], normal: [f64; 2]) -> Isometry3<f64> {
    let ([x, y], [across, along]) = (point, normal);
    let twice = 2.0 * (x * across + y * along) / (across * across + along * along);
    let shift = Translation3::new(twice * across, twice * along, 0.0);
    // The half turn about the mirror's own line: it takes n to −n.
    let line = Unit::new_normalize(Vector3::new(-along, across, 0.0));
    Isometry3::from_parts(shift, UnitQuaternion::from_axis_angle(&line, PI))
}
