//! Which links take over what crank and coupler weighed, and what they weigh then.

use nalgebra::{Isometry3, Matrix3, Vector3};

use super::figures::Figures;
use crate::dynamics::{
    Coupled, Coupling, Course, CrankKept, DynamicsFault, Masses, MeasuredOver, Moments,
    Replacement, Rotor, fidelity,
};
use crate::equivalence::DirectJoint;
use crate::handover::fault::EmitFault;
use crate::handover::find::{Bodies, DrawingFrames, FourBarLoop, Reach, masses, moments};
use crate::handover::frames::seen_from;
use crate::handover::link_frame;
use crate::robot::{Inertial, LinkId, Robot, RobotFormat};

/// Rotor turns per motor turn that make an armature alone: the rotor's coupling with the carrier, a millionth of it,
/// is what no engine's armature has.
const ARMATURE_ALONE: f64 = 1e6;

/// New figures of links, in their own frames.
#[derive(Clone, Debug, Default)]
pub(super) struct NewBodies {
    /// Link and what it weighs now.
    pub(super) links: Vec<(LinkId, Inertial)>,
    /// Armature of the driven joint, kg m², the motor's included; `None` where the crank keeps it.
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
    /// The four bodies with the motor's armature as a rotor; `None` where the child weighs nothing.
    fn masses(&self) -> Option<Masses> {
        let mut masses = masses(self.robot, self.bodies, self.found)?;
        if self.is_grounded() {
            masses.carrier = None;
        }
        let armature = self.figures.motor_armature;
        masses.rotor = (armature > 0.0).then(|| Rotor {
            inertia: armature / (ARMATURE_ALONE * ARMATURE_ALONE),
            gear_ratio: ARMATURE_ALONE * self.found.motor_sign(),
            in_carrier: true,
        });
        Some(masses)
    }

    /// The carrier is, or is fixed to, what does not move.
    fn is_grounded(&self) -> bool {
        let carrier = self.found.bodies()[0];
        let has_world = self.bodies.links(carrier).any(|link| link == 0);
        self.robot.format == RobotFormat::Mjcf && has_world
    }

    /// The heaviest link of a body.
    fn recipient(&self, body: LinkId) -> Option<LinkId> {
        let mass = |link: &LinkId| {
            self.robot
                .links
                .get(*link)
                .and_then(|l| l.inertial)
                .map_or(0.0, |inertial| inertial.mass)
        };
        self.bodies.links(body).max_by(|a, b| mass(a).total_cmp(&mass(b)))
    }

    /// The recipient with `patch`, which stands in `frame` (as seen from the model's), added.
    fn patched(
        &self,
        body: LinkId,
        patch: &Moments,
        frame: &Isometry3<f64>,
    ) -> Result<(LinkId, Inertial), String> {
        let link = self.recipient(body).and_then(|id| Some((id, self.robot.links.get(id)?)));
        let (id, link) = link.ok_or_else(|| "the carrier is not in the file".to_owned())?;
        let own = link.inertial.as_ref().map(moments).unwrap_or_default();
        let sum = own + seen_from(patch, &(link.pose.inverse() * frame));
        let inertial = link_frame::real(&sum, "inertia").map_err(|_| {
            format!("no real body has the mass and inertia that link {:?} would need", link.name)
        })?;
        Ok((id, rounded(&inertial)))
    }
}

/// Twelve digits: what lies behind them is rounding of the sums.
fn rounded(inertial: &Inertial) -> Inertial {
    let round = |x: f64| format!("{x:.11e}").parse::<f64>().unwrap_or(x) + 0.0;
    Inertial {
        mass: round(inertial.mass),
        center: inertial.center.map(round),
        tensor: inertial.tensor.map(round),
    }
}

fn in_words(fault: &DynamicsFault) -> String {
    EmitFault::Dynamics(*fault).to_string()
}

/// Crank and coupler into carrier and child.
///
/// # Errors
/// No real bodies can stand for them, as a clause.
pub(super) fn direct(parts: &Parts<'_>) -> Result<NewBodies, String> {
    let Some(masses) = parts.masses() else {
        return Ok(dropped(parts));
    };
    let course = Course::over(&parts.reach.branch, parts.reach.stroke())
        .map_err(|fault| in_words(&fault))?;
    let found = Replacement::of(&course, &masses).map_err(|fault| in_words(&fault))?;
    let frames = DrawingFrames::of(parts.found);
    let [carrier, _, _, child] = parts.found.bodies();
    let mut links = Vec::new();
    if masses.carrier.is_some() {
        links.push(parts.patched(carrier, &found.carrier_patch, &frames.carrier)?);
    }
    links.push(parts.patched(child, &found.child_patch, &frames.child)?);
    let pins = parts.figures.armature - parts.figures.motor_armature * parts.figures.slope.powi(2);
    let (over, worst) = fidelity(&course, &masses, &found.tree).headline();
    Ok(NewBodies {
        links,
        armature: Some(found.tree.armature + pins),
        error: Some((over, worst.value)),
        notes: Vec::new(),
    })
}

/// Without masses in the file nothing can be carried over.
fn dropped(parts: &Parts<'_>) -> NewBodies {
    NewBodies {
        armature: Some(parts.figures.armature),
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
    let masses = Masses { rotor: None, ..masses };
    let course = Course::over(&parts.reach.branch, parts.reach.stroke())
        .map_err(|fault| in_words(&fault))?;
    let kept = CrankKept::coupled(&course, &masses).map_err(|fault| in_words(&fault))?;
    let kept = kept.ok_or_else(|| {
        "a coupled crank needs the masses of carrier, crank, coupler and child".to_owned()
    })?;
    let frames = DrawingFrames::of(parts.found);
    let [carrier, crank, _, child] = parts.found.bodies();
    let own =
        |body: &Option<crate::dynamics::Body>| body.as_ref().map(Moments::from).unwrap_or_default();
    let mut links = Vec::new();
    let changes = [
        (carrier, Moments::from(&kept.carrier) - own(&masses.carrier), frames.carrier),
        (child, Moments::from(&kept.child) - Moments::from(&masses.child), frames.child),
        (crank, Moments::from(&kept.crank) - own(&masses.crank), frames.crank),
    ];
    for (body, patch, frame) in changes {
        if body != carrier || !parts.is_grounded() {
            links.push(parts.patched(body, &patch, &frame)?);
        }
    }
    let coupling = match parts.robot.format {
        RobotFormat::Mjcf => Coupling::over(&course).map_err(|fault| in_words(&fault))?,
        RobotFormat::Urdf | RobotFormat::Sdformat => {
            let joint = parts.direct;
            Coupling::straight(&course, joint.ratio, joint.offset)
        }
    };
    let moving = Coupled { bodies: &kept, coupling: &coupling, branch: &parts.reach.branch };
    let (over, worst) = fidelity(&course, &masses, &moving).headline();
    Ok(NewBodies { links, armature: None, error: Some((over, worst.value)), notes: Vec::new() })
}

/// A body that weighs next to nothing, for engines that refuse a moving body without mass.
pub(super) fn featherweight() -> Inertial {
    let tensor = Matrix3::from_diagonal(&Vector3::repeat(1e-9));
    Inertial { mass: 1e-6, center: [0.0; 3], tensor: link_frame::entries(&tensor) }
}
