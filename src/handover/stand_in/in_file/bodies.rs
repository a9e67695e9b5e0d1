//! Which links take over what crank and coupler weighed, and what they weigh then.

use nalgebra::{Isometry3, Matrix3, Vector3};

use super::figures::Figures;
use super::{FileDrive, Motion};
use crate::dynamics::{
    Body, CrankKept, DynamicsFault, Fit, Inertia, Masses, MeasuredOver, Moments, MonotoneStroke,
    Replacement, Rotor,
};
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::handover::find::{Bodies, DrawingFrames, GEAR, carrier_links, is_world, masses};
use crate::handover::link_moments::moments;
use crate::handover::stand_in::additions::{Additions, coupled_error, headline};
use crate::handover::stand_in::coupling::held;
use crate::handover::stand_in::link_frame;
use crate::robot::{Format, Inertial, LinkId, Robot, tensor_entries};

/// New figures of links, in their own frames.
#[derive(Clone, Debug, Default)]
pub(in crate::handover) struct NewBodies {
    /// Link and what it weighs now.
    pub(in crate::handover) links: Vec<(LinkId, Inertial)>,
    /// At the driven joint, kg m², the motor's and its actuators' included; `None` where the crank keeps it.
    pub(in crate::handover) armature: Option<f64>,
    /// Largest error of kinetic energy, and over which motions.
    pub(in crate::handover) error: Option<(MeasuredOver, f64)>,
    /// What the user should know.
    pub(in crate::handover) notes: Vec<String>,
}

impl FileDrive<'_> {
    /// Crank and coupler into carrier and child; in the coupled form the coupler alone, into the crank too.
    ///
    /// # Errors
    /// No real bodies can stand for them, as a clause.
    pub(in crate::handover) fn new_bodies(&self, figures: &Figures) -> Result<NewBodies, String> {
        let reach = match self.motion {
            Motion::Plane(plane) => plane.reach,
            Motion::Space(found, judged) => return self.bodies_in_space(figures, found, judged),
        };
        let Some(masses) = self.masses(figures) else { return Ok(self.dropped(figures)) };
        let course = MonotoneStroke::over(&reach.branch, reach.stroke()).map_err(in_words)?;
        match self.form {
            Form::Coupled => self.coupled_bodies(&course, masses),
            Form::Direct | Form::Loop => self.direct_bodies(&course, &masses),
        }
    }

    fn direct_bodies(
        &self,
        course: &MonotoneStroke<'_>,
        masses: &Masses,
    ) -> Result<NewBodies, String> {
        let found = Replacement::of(course, masses).map_err(in_words)?;
        Ok(NewBodies {
            armature: Some(found.tree.armature),
            error: Some(headline(course, &self.measured(masses), &found.tree)),
            ..self.with(&Additions::direct(&found), &self.drawing_frames())?
        })
    }

    fn coupled_bodies(
        &self,
        course: &MonotoneStroke<'_>,
        masses: Masses,
    ) -> Result<NewBodies, String> {
        let ground = Body {
            mass: 1e3,
            centre: Vector3::zeros(),
            inertia: Inertia::Tensor(Matrix3::identity() * 1e3),
        };
        // One that is welded to the world moves like it, whatever it weighs.
        let carrier = masses.carrier.or(self.is_grounded().then_some(ground));
        let masses = Masses { rotor: None, carrier, ..masses };
        let kept = CrankKept::coupled(course, &masses).map_err(in_words)?;
        let kept = kept.ok_or_else(|| {
            let body = if masses.carrier.is_none() { "carrier" } else { "crank" };
            format!("a coupled crank needs the masses of all parts, and the {body} weighs nothing in the file")
        })?;
        let new = self.with(&Additions::kept(&kept, &masses), &self.drawing_frames())?;
        let joint = self.check().direct_joint;
        let coupling = held(self.robot.format, course, joint, Fit::Balanced).map_err(in_words)?;
        let error = coupled_error(course, &self.measured(&masses), &kept, &coupling);
        Ok(NewBodies { error: Some(error), ..new })
    }

    /// Without masses in the file nothing can be carried over.
    fn dropped(&self, figures: &Figures) -> NewBodies {
        NewBodies {
            armature: (self.form == Form::Direct).then(|| figures.plain_armature()),
            notes: vec![
                "the child weighs nothing in the file, so that the masses of crank and coupler are not carried over".to_owned(),
            ],
            ..NewBodies::default()
        }
    }

    /// The four bodies with what the motor's joint bears as a rotor, which alone of it is left as in the file; `None` where the
    /// child weighs nothing.
    pub(super) fn masses(&self, figures: &Figures) -> Option<Masses> {
        let mut masses = masses(self.robot, self.bodies, self.four_bar)?;
        let rotor = figures.rotor;
        masses.rotor = (rotor > 0.0).then(|| Rotor {
            inertia: rotor / (GEAR * GEAR),
            gear_ratio: GEAR * self.four_bar.motor_sign(),
            in_carrier: true,
        });
        Some(masses)
    }

    /// The figures that a motion can tell: a carrier that does not move has none.
    pub(super) fn measured(&self, masses: &Masses) -> Masses {
        Masses { carrier: masses.carrier.filter(|_| !self.is_grounded()), ..*masses }
    }

    pub(super) fn is_grounded(&self) -> bool {
        is_grounded(self.robot, self.bodies, self.four_bar.bodies()[0])
    }

    /// Of carrier, child and crank.
    fn drawing_frames(&self) -> [Isometry3<f64>; 3] {
        let frames = DrawingFrames::new(self.four_bar);
        [frames.carrier, frames.child, frames.crank]
    }

    /// Carrier, child and crank with what they take over, each in its own of `frames`.
    pub(super) fn with(
        &self,
        additions: &Additions,
        [in_carrier, in_child, in_crank]: &[Isometry3<f64>; 3],
    ) -> Result<NewBodies, String> {
        let [_, crank, _, child] = self.four_bar.bodies();
        let mut out = NewBodies::default();
        self.carrier(&additions.carrier, in_carrier, &mut out)?;
        let others = [(child, Some(additions.child), in_child), (crank, additions.crank, in_crank)];
        for (body, patch, frame) in others {
            if let Some(patch) = patch {
                let links = self.bodies.links(body).collect();
                out.links.push(patched(self.robot, links, &patch, frame)?);
            }
        }
        Ok(out)
    }

    /// What the carrier takes over. One that is fixed to the world may do without: it does not move.
    pub(super) fn carrier(
        &self,
        patch: &Moments,
        frame: &Isometry3<f64>,
        out: &mut NewBodies,
    ) -> Result<(), String> {
        let links = carrier_links(self.robot, self.bodies, self.four_bar);
        patch_carrier((self.robot, self.is_grounded()), links, patch, frame, out)
    }
}

/// The body is, or is fixed to, what does not move.
pub(in crate::handover) fn is_grounded(robot: &Robot, bodies: &Bodies, body: LinkId) -> bool {
    let has_world = bodies.links(body).any(|link| link == 0);
    robot.format == Format::Mjcf && has_world
}

/// The links that can weigh something, the heaviest first; the world cannot.
fn recipients(robot: &Robot, mut links: Vec<LinkId>) -> Vec<LinkId> {
    let mass = |link: &LinkId| {
        let link = robot.links.get(*link).and_then(|l| l.inertial);
        link.map_or(0.0, |inertial| inertial.mass)
    };
    links.retain(|link| !is_world(robot, *link));
    links.sort_by(|a, b| mass(b).total_cmp(&mass(a)));
    links
}

/// The heaviest of `links` that is still a real one with `patch`, which stands in `frame` (as seen from the
/// model's), added.
///
/// # Errors
/// None of them is, as a clause.
pub(in crate::handover) fn patched(
    robot: &Robot,
    links: Vec<LinkId>,
    patch: &Moments,
    frame: &Isometry3<f64>,
) -> Result<(LinkId, Inertial), String> {
    let recipients = recipients(robot, links);
    let with = |id: &LinkId| {
        let link = robot.links.get(*id)?;
        let own = link.inertial.as_ref().map(moments).unwrap_or_default();
        let sum = own + patch.seen_from(&(link.pose.inverse() * frame));
        let inertial = link_frame::real(&sum, "inertia").ok()?;
        (inertial.mass > 0.0).then_some((*id, inertial))
    };
    recipients.iter().find_map(with).ok_or_else(|| {
        let name = recipients.first().and_then(|id| robot.links.get(*id));
        let name = name.map_or("the carrier", |link| link.name.as_str());
        format!("no real body has the mass and inertia that link {name:?} would need")
    })
}

/// What the links of a carrier take over. One that is fixed to the world may do without: it does not move.
///
/// # Errors
/// As [`patched`].
pub(in crate::handover) fn patch_carrier(
    (robot, is_grounded): (&Robot, bool),
    links: Vec<LinkId>,
    patch: &Moments,
    frame: &Isometry3<f64>,
    out: &mut NewBodies,
) -> Result<(), String> {
    let weighs = |id: &LinkId| robot.links.get(*id).is_some_and(|link| link.inertial.is_some());
    if !links.iter().any(weighs) && !is_grounded {
        return Ok(());
    }
    match patched(robot, links, patch, frame) {
        Ok(link) => out.links.push(link),
        Err(_) if is_grounded => out.notes.push(
            "the carrier stands still and takes over no mass: what hangs on it weighs less than before by what crank and rod rest on it".to_owned(),
        ),
        Err(why) => return Err(why),
    }
    Ok(())
}

pub(in crate::handover) fn in_words(fault: DynamicsFault) -> String {
    let text = EmitFault::Dynamics(fault).to_string();
    text.strip_prefix("no model emitted: ").map_or(text.clone(), str::to_owned)
}

/// A body that weighs next to nothing, for engines that refuse a moving body without mass.
pub(in crate::handover) fn featherweight() -> Inertial {
    let tensor = Matrix3::from_diagonal(&Vector3::repeat(1e-9));
    Inertial { mass: 1e-6, center: [0.0; 3], tensor: tensor_entries(&tensor) }
}
