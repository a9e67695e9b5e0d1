//! What no robot format holds, as the JSON beside the folded file; what the file holds as well stands there as in the file.

use super::{FoldOptions, Folded, Job, mjcf_ties};
use crate::dynamics::Moments;
use crate::handover::emit::joints_drawn;
use crate::handover::find::{FoundLoop, Judged, JudgedDrive};
use crate::handover::finger_json::FollowerJson;
use crate::handover::joint_json::{CouplingJson, GainsJson, JointJson};
use crate::handover::link_moments::moments;
use crate::handover::patch::{AdditionJson, PatchJson};
use crate::handover::stand_in::Request;
use crate::handover::tie::Tie;
use crate::handover::{Ask, Envelope, Form};
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
    /// Of a motor on the child's own joint, which stays as it was.
    drive: Option<Drive>,
    inertia_error: Option<f64>,
    /// What carrier and child took over, in their own frames.
    taken: Vec<(Side, AdditionJson)>,
    coupling: Option<CouplingJson>,
    /// The motor's side stays, as a tendon.
    has_tendon: bool,
    /// Of a jaw: its pad's joint, the other driver, the other pad's joint, as far as it has them.
    followers: Vec<FollowerJson>,
}

/// What the driven joint's own motor can do, at the joint.
#[derive(Clone, Debug)]
struct Drive {
    effort: Option<f64>,
    velocity: Option<f64>,
    gains: [Option<f64>; 2],
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Carrier,
    Child,
}

impl FileSays {
    /// Of the job that leads, and of the finger that goes with it.
    pub(super) fn of(job: &Job<'_>, other: Option<&Job<'_>>) -> Self {
        let known = job.driven.limit.filter(|_| !job.figures.limit_is_new);
        let limit = known.unwrap_or(job.figures.limit);
        let [damping, friction] = job.figures.losses(job);
        Self {
            format: job.robot.format,
            limit: limit.iter().all(|end| end.is_finite()).then_some(limit),
            damping,
            friction,
            armature: armature(job),
            drive: job.is_childs().then(|| drive(job)),
            inertia_error: job.cut.new.error.map(|(_, error)| error),
            taken: taken(job),
            coupling: coupling(job),
            has_tendon: job.tendon.is_some(),
            followers: if job.is_jaw() { followers(job, other) } else { Vec::new() },
        }
    }
}

/// What actuators bring is in it, but for those that the driven joint had before.
fn armature(job: &Job<'_>) -> Option<f64> {
    let own = if job.is_childs() { job.on_actuators(|a| a.armature) } else { 0.0 };
    Some(job.cut.new.armature? + own)
}

fn drive(job: &Job<'_>) -> Drive {
    let gain = |which: fn([f64; 2]) -> f64| {
        job.actuators().find_map(|a| a.at_joint(|a| a.gains.map(which)))
    };
    let properties = job.actuators().map(|actuator| &actuator.properties);
    Drive {
        effort: job.driven.effort_with(properties),
        velocity: job.driven.velocity,
        gains: [gain(|[position, _]| position), gain(|[_, velocity]| velocity)],
    }
}

fn taken(job: &Job<'_>) -> Vec<(Side, AdditionJson)> {
    let [carrier, crank, _, rocker] = job.four_bar.bodies();
    let child = if job.is_jaw() { crank } else { rocker };
    let side = |id: LinkId| {
        let body = job.bodies.of_link(id);
        [(carrier, Side::Carrier), (child, Side::Child)].into_iter().find(|(at, _)| *at == body)
    };
    let each = job.cut.new.links.iter().filter_map(|(id, new)| {
        let link = job.robot.links.get(*id)?;
        let before = link.inertial.as_ref().map(moments).unwrap_or_default();
        let more: Moments = moments(new) - before;
        Some((side(*id)?.1, AdditionJson::of(&link.name, &more)))
    });
    each.collect()
}

/// The joints that follow the driver, by its own reading, as the folded file has them.
fn followers(job: &Job<'_>, other: Option<&Job<'_>>) -> Vec<FollowerJson> {
    let follower = |joint: &str, [multiplier, offset]: [f64; 2]| FollowerJson {
        joint: joint.to_owned(),
        multiplier,
        offset: offset + 0.0,
    };
    let pad = |job: &Job<'_>, [slope, shift]: [f64; 2]| {
        let line = job.finger_line()?;
        let along = [line.slope * slope, line.slope * shift + line.shift];
        Some(follower(&line.joint.name, along))
    };
    let driver = other.and_then(|other| {
        let tie = Tie::to(job.robot, other.four_bar.crank_joint()?, &job.driven.name)?;
        tie.line.filter(|_| tie.leader == job.driven.name)
    });
    // Where the file ties them otherwise, as the mirror image has it.
    let driver = driver.unwrap_or([1.0, 0.0]);
    let others =
        other.map(|other| [Some(follower(&other.driven.name, driver)), pad(other, driver)]);
    std::iter::once(pad(job, [1.0, 0.0])).chain(others.into_iter().flatten()).flatten().collect()
}

fn coupling(job: &Job<'_>) -> Option<CouplingJson> {
    let step = job.robot.format.holds_polynomials().then(|| mjcf_ties::step(&job.cut));
    let armature = job.motor.armature.unwrap_or(0.0) + job.on_actuators(|a| a.armature);
    let error = job.cut.new.error.map_or(f64::NAN, |(_, error)| error);
    Some(CouplingJson::of(job.coupled.as_ref()?, job.motor.name.clone(), armature, error, step))
}

/// What `NAME.joint.json` holds; `None` where the loop's parts have no names to speak of, or its slide no screw.
#[must_use]
pub fn joints_beside(
    found: &FoundLoop,
    folded: &Folded,
    options: FoldOptions,
) -> Option<Vec<JointJson>> {
    // The direct joint's figures, which need no bodies; what a coupled file holds comes from the fold itself.
    let wanted = Ask {
        anyway: true,
        limits: options.limits,
        actuator: options.actuator,
        ..Ask::new(Form::Direct, folded.file.format)
    };
    let mut joints = match (&found.judged, &found.judged_drive) {
        (Some(Judged { design, mechanism, check, .. }), _) => {
            joints_drawn(&Request { design, mechanism, check, ask: wanted })
        }
        // Its ratio would be one of a lead that nobody gave.
        (None, _) if found.drive.as_ref().is_some_and(|drive| drive.has_no_screw) => return None,
        (None, Some(JudgedDrive { design, driven, check })) => {
            joints_drawn(&Request { design, mechanism: driven, check, ask: wanted })
        }
        (None, None) => return None,
    }
    .ok()?;
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
        } else if self.has_tendon {
            joint.model = "coupled";
        } else {
            joint.armature_kg_m2.split = self.armature.or(joint.armature_kg_m2.split);
        }
        if let Some(finger) = joint.finger.as_mut().filter(|_| !self.followers.is_empty()) {
            finger.followers.clone_from(&self.followers);
        }
        if let Some(drive) = &self.drive {
            drive.tell(joint);
        }
        joint.patch = self.patch(joint);
    }

    fn patch(&self, joint: &JointJson) -> Option<PatchJson> {
        let is_in_file = !self.taken.is_empty();
        let of = |side: Side, link: &str| {
            let taken = self.taken.iter().find(|(at, _)| *at == side);
            taken.map_or_else(|| AdditionJson::of(link, &Moments::default()), |(_, t)| t.clone())
        };
        (is_in_file || joint.patch.is_some()).then(|| PatchJson {
            is_in_file,
            carrier: of(Side::Carrier, &joint.parent),
            child: of(Side::Child, &joint.child),
            armature_kg_m2: self.armature,
        })
    }
}

impl Drive {
    fn tell(&self, joint: &mut JointJson) {
        let both = |x| Envelope { guaranteed: x, never_exceed: x };
        joint.torque_n_m = both(self.effort);
        joint.speed_rad_per_s = both(self.velocity);
        joint.gains = GainsJson {
            position_n_m_per_rad: self.gains[0],
            velocity_n_m_s_per_rad: self.gains[1],
        };
    }
}
