//! What no robot format holds, as the JSON beside the folded file; what the file holds as well stands there as in the file.

use super::{FoldOptions, Folded, Job, coupled};
use crate::dynamics::Moments;
use crate::handover::Form;
use crate::handover::emit::{EmitOptions, emit_drawn, json_text};
use crate::handover::find::{FoundLoop, Judged, moments};
use crate::handover::joint_json::{CouplingJson, JointJson};
use crate::handover::patch::AdditionJson;
use crate::robot::{Format, LinkId};

/// What one folded file says of its joint.
#[derive(Clone, Debug)]
pub(super) struct FileSays {
    format: Format,
    /// Smallest and largest joint reading, rad, where the file has both.
    limit: Option<[f64; 2]>,
    damping: f64,
    friction: f64,
    armature: Option<f64>,
    inertia_error: Option<f64>,
    /// What carrier and child took over, in their own frames.
    taken: Vec<(Side, AdditionJson)>,
    coupling: Option<CouplingJson>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Carrier,
    Child,
}

impl FileSays {
    pub(super) fn of(job: &Job<'_>) -> Self {
        let known = job.driven.limit.filter(|_| !job.figures.limit_is_new);
        let limit = known.unwrap_or(job.figures.limit);
        Self {
            format: job.robot.format,
            limit: limit.iter().all(|end| end.is_finite()).then_some(limit),
            damping: job.figures.damping,
            friction: job.figures.friction,
            armature: job.new.armature,
            inertia_error: job.new.error.map(|(_, error)| error),
            taken: taken(job),
            coupling: coupling(job),
        }
    }
}

fn taken(job: &Job<'_>) -> Vec<(Side, AdditionJson)> {
    let all = crate::handover::find::Bodies::new(job.robot);
    let [carrier, _, _, child] = job.four_bar.bodies();
    let side = |id: LinkId| {
        let body = all.of_link(id);
        [(carrier, Side::Carrier), (child, Side::Child)].into_iter().find(|(at, _)| *at == body)
    };
    let each = job.new.links.iter().filter_map(|(id, new)| {
        let link = job.robot.links.get(*id)?;
        let before = link.inertial.as_ref().map(moments).unwrap_or_default();
        let more: Moments = moments(new) - before;
        Some((side(*id)?.1, AdditionJson::of(&link.name, &more)))
    });
    each.collect()
}

fn coupling(job: &Job<'_>) -> Option<CouplingJson> {
    if job.options.model != Form::Coupled {
        return None;
    }
    let holds_polynomials = job.robot.format.holds_polynomials();
    let coupled = coupled::relation(job).ok()?;
    let step = holds_polynomials.then(|| super::mjcf::step(job));
    Some(CouplingJson {
        crank_joint: job.motor.name.clone(),
        crank_armature_kg_m2: job.motor.armature.unwrap_or(0.0),
        from_joint_rad: coupled.from_joint,
        from_crank_rad: coupled.from_crank,
        polynomial: coupled.polynomial.map(|a| a + 0.0),
        angle_error_rad: coupled.error.angle,
        torque_error: coupled.error.torque,
        inertia_error: job.new.error.map_or(f64::NAN, |(_, error)| error),
        fit: None,
        other_fit: None,
        rotor_joint: None,
        step_s: step,
        time_constant_s: step.map(|step| 2.0 * step),
    })
}

/// The text of `NAME.joint.json`.
#[must_use]
pub fn joint_json(joints: &[JointJson]) -> String {
    json_text(joints)
}

/// What `NAME.joint.json` holds; `None` where the loop's parts have no names to speak of.
#[must_use]
pub fn joints_beside(
    found: &FoundLoop,
    folded: &Folded,
    options: FoldOptions,
) -> Option<Vec<JointJson>> {
    let judged = found.judged.as_ref()?;
    let Judged { design, mechanism, check, .. } = judged;
    // The direct joint's figures, which need no bodies; what a coupled file holds comes from the fold itself.
    let wanted = EmitOptions {
        anyway: true,
        limits: options.limits,
        actuator: options.actuator,
        ..EmitOptions::new(Form::Direct, folded.file.format)
    };
    let emission = emit_drawn(design, mechanism, check, &wanted);
    let mut joints = emission.ok()?.joints;
    joints.iter_mut().for_each(|joint| folded.file.tell(joint));
    Some(joints)
}

impl FileSays {
    /// Puts the file's figures in the place of the design's.
    fn tell(&self, joint: &mut JointJson) {
        joint.limit_rad = self.limit.unwrap_or(joint.limit_rad);
        joint.damping_n_m_s_per_rad = Some(self.damping);
        joint.friction_n_m = Some(self.friction);
        joint.inertia_error = self.inertia_error.or(joint.inertia_error);
        if let Some(coupling) = &self.coupling {
            joint.model = "coupled";
            joint.coupling = Some(coupling.clone());
        } else {
            joint.armature_kg_m2.split = self.armature.or(joint.armature_kg_m2.split);
        }
        let Some(patch) = joint.patch.as_mut() else { return };
        patch.is_in_file = !self.taken.is_empty();
        patch.armature_kg_m2 = self.armature;
        let nothing = Moments::default();
        for (side, place) in [(Side::Carrier, &mut patch.carrier), (Side::Child, &mut patch.child)]
        {
            let taken = self.taken.iter().find(|(at, _)| *at == side);
            *place =
                taken.map_or_else(|| AdditionJson::of(&place.link, &nothing), |(_, t)| t.clone());
        }
    }
}
