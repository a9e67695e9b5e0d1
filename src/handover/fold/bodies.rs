//! Which links take over what crank and coupler weighed, and what they weigh then.

use nalgebra::{Isometry3, Matrix3, Vector3};

use super::figures::Figures;
use super::numbers::digits;
use crate::dynamics::{
    Body, Coupled, CrankKept, DynamicsFault, Fit, Inertia, Masses, MeasuredOver, Moments,
    MonotoneStroke, Replacement, Rotor,
};
use crate::equivalence::DirectJoint;
use crate::handover::fault::EmitFault;
use crate::handover::find::{
    Bodies, DrawingFrames, FourBarLoop, GEAR, Reach, carrier_links, is_world, masses,
};
use crate::handover::stand_in::bodies::headline;
use crate::handover::stand_in::coupling::held;
use crate::handover::stand_in::link_frame::{self, moments};
use crate::robot::{Format, Inertial, LinkId, Robot};

/// New figures of links, in their own frames.
#[derive(Clone, Debug, Default)]
pub(super) struct NewBodies {
    /// Link and what it weighs now.
    pub(super) links: Vec<(LinkId, Inertial)>,
    /// At the driven joint, kg m², the motor's and its actuators' included; `None` where the crank keeps it.
    pub(super) armature: Option<f64>,
    /// Largest error of kinetic energy, and over which motions.
    pub(super) error: Option<(MeasuredOver, f64)>,
    /// What the user should know.
    pub(super) notes: Vec<String>,
}

/// What the linkage is, for bodies.
#[derive(Clone, Copy)]
pub(super) struct Parts<'a> {
    pub(super) robot: &'a Robot,
    pub(super) bodies: &'a Bodies,
    pub(super) found: &'a FourBarLoop,
    pub(super) reach: &'a Reach,
    pub(super) figures: &'a Figures,
    pub(super) direct: DirectJoint,
}

impl Parts<'_> {
    /// The four bodies with what the motor's joint bears as a rotor, which alone of it is left as in the file; `None` where the
    /// child weighs nothing.
    fn masses(&self) -> Option<Masses> {
        let mut masses = masses(self.robot, self.bodies, self.found)?;
        let rotor = self.figures.rotor;
        masses.rotor = (rotor > 0.0).then(|| Rotor {
            inertia: rotor / (GEAR * GEAR),
            gear_ratio: GEAR * self.found.motor_sign(),
            in_carrier: true,
        });
        Some(masses)
    }

    /// The figures that a motion can tell: a carrier that does not move has none.
    fn measured(&self, masses: &Masses) -> Masses {
        Masses { carrier: masses.carrier.filter(|_| !self.is_grounded()), ..*masses }
    }

    /// The carrier is, or is fixed to, what does not move.
    fn is_grounded(&self) -> bool {
        let carrier = self.found.bodies()[0];
        let has_world = self.bodies.links(carrier).any(|link| link == 0);
        self.robot.format == Format::Mjcf && has_world
    }

    /// The links that can weigh something, the heaviest first; the world cannot.
    fn recipients(&self, mut links: Vec<LinkId>) -> Vec<LinkId> {
        let mass = |link: &LinkId| {
            let link = self.robot.links.get(*link).and_then(|l| l.inertial);
            link.map_or(0.0, |inertial| inertial.mass)
        };
        links.retain(|link| !is_world(self.robot, *link));
        links.sort_by(|a, b| mass(b).total_cmp(&mass(a)));
        links
    }

    /// The heaviest of `links` that is still a real one with `patch`, which stands in `frame` (as seen from the
    /// model's), added.
    ///
    /// # Errors
    /// None of them is, as a clause.
    fn patched(
        &self,
        links: Vec<LinkId>,
        patch: &Moments,
        frame: &Isometry3<f64>,
    ) -> Result<(LinkId, Inertial), String> {
        let recipients = self.recipients(links);
        let with = |id: &LinkId| {
            let link = self.robot.links.get(*id)?;
            let own = link.inertial.as_ref().map(moments).unwrap_or_default();
            let sum = own + patch.seen_from(&(link.pose.inverse() * frame));
            let inertial = link_frame::real(&sum, "inertia").ok()?;
            (inertial.mass > 0.0).then(|| (*id, rounded(&inertial)))
        };
        recipients.iter().find_map(with).ok_or_else(|| {
            let name = recipients.first().and_then(|id| self.robot.links.get(*id));
            let name = name.map_or("the carrier", |link| link.name.as_str());
            format!("no real body has the mass and inertia that link {name:?} would need")
        })
    }

    /// What the carrier takes over. One that is fixed to the world may do without: it does not move.
    fn carrier(&self, patch: &Moments, out: &mut NewBodies) -> Result<(), String> {
        let links = carrier_links(self.robot, self.bodies, self.found);
        let has_mass = links
            .iter()
            .any(|id| self.robot.links.get(*id).is_some_and(|link| link.inertial.is_some()));
        if !has_mass && !self.is_grounded() {
            return Ok(());
        }
        match self.patched(links, patch, &DrawingFrames::new(self.found).carrier) {
            Ok(link) => out.links.push(link),
            Err(_) if self.is_grounded() => out.notes.push(
                "the carrier stands still and takes over no mass: what hangs on it weighs less than before by what crank and rod rest on it".to_owned(),
            ),
            Err(why) => return Err(why),
        }
        Ok(())
    }
}

/// As the file gets it.
fn rounded(inertial: &Inertial) -> Inertial {
    let Inertial { mass, center, tensor } = *inertial;
    Inertial { mass: digits(mass), center: center.map(digits), tensor: tensor.map(digits) }
}

fn in_words(fault: &DynamicsFault) -> String {
    let text = EmitFault::Dynamics(*fault).to_string();
    text.strip_prefix("no model emitted: ").map_or(text.clone(), str::to_owned)
}

/// Crank and coupler into carrier and child.
///
/// # Errors
/// No real bodies can stand for them, as a clause.
pub(super) fn direct(parts: &Parts<'_>) -> Result<NewBodies, String> {
    let Some(masses) = parts.masses() else {
        return Ok(dropped(parts));
    };
    let course = MonotoneStroke::over(&parts.reach.branch, parts.reach.stroke())
        .map_err(|fault| in_words(&fault))?;
    let found = Replacement::of(&course, &masses).map_err(|fault| in_words(&fault))?;
    let child = parts.found.bodies()[3];
    let mut out = NewBodies::default();
    parts.carrier(&found.carrier_patch, &mut out)?;
    out.links.push(parts.patched(
        parts.bodies.links(child).collect(),
        &found.child_patch,
        &DrawingFrames::new(parts.found).child,
    )?);
    out.armature = Some(found.tree.armature);
    out.error = Some(headline(&course, &parts.measured(&masses), &found.tree));
    Ok(out)
}

/// Without masses in the file nothing can be carried over.
fn dropped(parts: &Parts<'_>) -> NewBodies {
    let figures = parts.figures;
    NewBodies {
        armature: Some(figures.at_joint.squared(figures.rotor)),
        notes: vec![
            "the child weighs nothing in the file, so that the masses of crank and coupler are not carried over".to_owned(),
        ],
        ..NewBodies::default()
    }
}

/// The coupler into crank, carrier and child; the crank stays a body.
///
/// # Errors
/// No real bodies can stand for it, as a clause.
pub(super) fn coupled(parts: &Parts<'_>) -> Result<NewBodies, String> {
    let Some(masses) = parts.masses() else {
        return Ok(NewBodies { armature: None, ..dropped(parts) });
    };
    let ground = Body {
        mass: 1e3,
        centre: Vector3::zeros(),
        inertia: Inertia::Tensor(Matrix3::identity() * 1e3),
    };
    // One that is welded to the world moves like it, whatever it weighs.
    let carrier = masses.carrier.or(parts.is_grounded().then_some(ground));
    let masses = Masses { rotor: None, carrier, ..masses };
    let course = MonotoneStroke::over(&parts.reach.branch, parts.reach.stroke())
        .map_err(|fault| in_words(&fault))?;
    let kept = CrankKept::coupled(&course, &masses).map_err(|fault| in_words(&fault))?;
    let kept = kept.ok_or_else(|| {
        let body = if masses.carrier.is_none() { "carrier" } else { "crank" };
        format!("a coupled crank needs the masses of all parts, and the {body} weighs nothing in the file")
    })?;
    let frames = DrawingFrames::new(parts.found);
    let [_, crank, _, child] = parts.found.bodies();
    let own = |body: &Option<Body>| body.as_ref().map(Moments::from).unwrap_or_default();
    let mut out = NewBodies::default();
    parts.carrier(&(Moments::from(&kept.carrier) - own(&masses.carrier)), &mut out)?;
    let changes = [
        (child, Moments::from(&kept.child) - Moments::from(&masses.child), frames.child),
        (crank, Moments::from(&kept.crank) - own(&masses.crank), frames.crank),
    ];
    for (body, patch, frame) in changes {
        out.links.push(parts.patched(parts.bodies.links(body).collect(), &patch, &frame)?);
    }
    let coupling = held(parts.robot.format, &course, parts.direct, Fit::Balanced);
    let coupling = coupling.map_err(|fault| in_words(&fault))?;
    let moving = Coupled { bodies: &kept, coupling: &coupling, branch: &parts.reach.branch };
    out.error = Some(headline(&course, &parts.measured(&masses), &moving));
    Ok(out)
}

/// A body that weighs next to nothing, for engines that refuse a moving body without mass.
pub(super) fn featherweight() -> Inertial {
    let tensor = Matrix3::from_diagonal(&Vector3::repeat(1e-9));
    Inertial { mass: 1e-6, center: [0.0; 3], tensor: link_frame::entries(&tensor) }
}
