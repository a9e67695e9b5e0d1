//! `NAME.joint.json`: what the robot's format cannot hold, one object per `[[robot]]`, always in an
//! array. Angles are readings of the robot's software; what is not known is `null`.

use super::finger_json::{FingerJson, finger_json, is_slide};
use super::stand_in::{Coupled, Draws, Request, StandIn, jaw, joint};
use serde::Serialize;

use super::patch::{ArmatureJson, PatchJson, patch};
use super::stand_in::Quartic;
use super::stand_in::bodies::{FitCost, Kept};
use super::stand_in::crank::{self, Names};
use super::stand_in::figures::{Envelope, JointRow};
use crate::robot::Format;

/// One joint. Fields end in their unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JointJson {
    /// `unloop/joint/1`.
    pub schema: &'static str,
    /// The design's name.
    pub design: String,
    /// What the file has in the linkage's place: `direct`, `coupled` or `loop`.
    pub model: &'static str,
    /// The joint's name.
    pub joint: String,
    /// The link that bears it.
    pub parent: String,
    /// The link that it turns.
    pub child: String,
    /// `equivalent`, `not_equivalent` or `undecided`.
    pub verdict: &'static str,
    /// `nominal` or `tolerance`.
    pub basis: &'static str,
    /// Whether the verdict is proved, not only computed.
    pub proved: bool,
    /// Motor turn per joint turn, signed, geometric; NaN, `null` in JSON, of a slide, as all that is in rad.
    pub ratio: f64,
    /// About the robot joint's axis.
    pub offset_rad: f64,
    /// +1 or −1; of a gripper's driver at the motor +1, as its axis is turned round instead.
    pub motor_sign: f64,
    /// In the zero pose.
    pub motor_reads_rad: f64,
    /// In the zero pose.
    pub joint_reads_rad: f64,
    /// Smallest and largest joint reading.
    #[serde(serialize_with = "known")]
    pub limit_rad: [f64; 2],
    /// `stroke` or `motor stop`, for each of the two.
    pub limit_set_by: [&'static str; 2],
    /// At the joint; the guaranteed one after friction in the pins.
    pub torque_n_m: Envelope,
    /// Of the joint.
    pub speed_rad_per_s: Envelope,
    /// At the joint.
    pub armature_kg_m2: ArmatureJson,
    /// At the joint.
    pub damping_n_m_s_per_rad: Option<f64>,
    /// At the joint.
    pub friction_n_m: Option<f64>,
    /// At the joint.
    pub gains: GainsJson,
    /// Largest error of kinetic energy of the direct joint on this robot's links, with the patch; computed.
    pub inertia_error: Option<f64>,
    /// The same of the bodies as they stand, with n²J as the armature.
    pub inertia_error_as_they_stand: Option<f64>,
    /// What to add to the two links, where the masses of crank, coupler and child and the rotor are known.
    pub patch: Option<PatchJson>,
    /// How crank and joint are coupled, in the coupled model.
    pub coupling: Option<CouplingJson>,
    /// How the loop is closed, in the loop model.
    pub closed_loop: Option<LoopJson>,
    /// A gripper's fingers.
    pub finger: Option<FingerJson>,
    /// The linkage itself over its stroke, rising joint reading.
    pub over_stroke: Vec<JointRow>,
    /// What was assumed.
    pub assumptions: Vec<String>,
}

/// The coupling of a crank's joint to the driven one. Errors are computed on the drawn lengths.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CouplingJson {
    /// The crank's joint, which follows.
    pub crank_joint: String,
    /// On the crank's joint.
    pub crank_armature_kg_m2: f64,
    /// Reading of the joint that the polynomial counts from.
    pub from_joint_rad: f64,
    /// Reading of the crank's joint that the polynomial counts from.
    pub from_crank_rad: f64,
    /// Powers 0 to 4 of the joint's reading less `from_joint_rad`; a straight line where the format holds no other.
    pub polynomial: Quartic,
    /// Largest error of the crank's angle for a joint angle.
    pub angle_error_rad: f64,
    /// Largest error of ratio and torque, as a share.
    pub torque_error: f64,
    /// Largest error of kinetic energy at equal joint angles, as a share, of the file as it moves: with the polynomial's own
    /// angle and slope for the crank.
    pub inertia_error: f64,
    /// What the polynomial favours, `balanced` or `slope`; MJCF only.
    pub fit: Option<&'static str>,
    /// What the other fit would cost; MJCF only.
    pub other_fit: Option<FitCost>,
    /// The rotor's joint, where the rotor is a body of its own.
    pub rotor_joint: Option<String>,
    /// Time step that the constraint is set for; MJCF only.
    pub step_s: Option<f64>,
    /// Time constant of the constraint; MJCF only.
    pub time_constant_s: Option<f64>,
}

impl CouplingJson {
    /// Of a relation that a file holds; a constraint that ties the two is set for the time step `step`, s.
    pub(super) fn of(
        coupled: &Coupled,
        crank_joint: String,
        crank_armature: f64,
        inertia_error: f64,
        step: Option<f64>,
    ) -> Self {
        let Coupled { relation, error } = coupled;
        Self {
            crank_joint,
            crank_armature_kg_m2: crank_armature,
            from_joint_rad: relation.from_joint,
            from_crank_rad: relation.from_crank,
            polynomial: relation.polynomial.map(|c| c + 0.0),
            angle_error_rad: error.angle,
            torque_error: error.torque,
            inertia_error,
            fit: None,
            other_fit: None,
            rotor_joint: None,
            step_s: step,
            time_constant_s: step.map(|step| 2.0 * step),
        }
    }
}

/// The closed loop.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoopJson {
    /// The crank's joint.
    pub crank_joint: String,
    /// On the crank's joint.
    pub crank_armature_kg_m2: f64,
    /// Motor reading less the crank joint's.
    pub crank_joint_counts_from_rad: f64,
    /// The rotor's joint, where the rotor is a body of its own.
    pub rotor_joint: Option<String>,
    /// Time step that the constraint is set for; MJCF only.
    pub step_s: Option<f64>,
    /// Time constant of the constraint; MJCF only.
    pub time_constant_s: Option<f64>,
}

/// A controller's gains at the joint.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GainsJson {
    /// N m/rad.
    pub position_n_m_per_rad: Option<f64>,
    /// N m s/rad.
    pub velocity_n_m_s_per_rad: Option<f64>,
}

shapes! {
    fn known([f64; 2] as ends) = Some(ends).filter(|ends| !ends.iter().any(|end| end.is_nan()));
}

/// The object of one joint, with the table over its stroke.
pub(super) fn joint_json<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
    over_stroke: Vec<JointRow>,
    assumptions: &[String],
) -> JointJson {
    let Request { design, check, .. } = *request;
    let StandIn { robot, figures, .. } = stand_in;
    let (readings, bodies) = (figures.readings, stand_in.plan.bodies.as_ref());
    let direct_error = bodies.and_then(|bodies| bodies.direct_error);
    let joint = joint::driven_joint(request, stand_in);
    let jaw = stand_in.jaw.as_ref();
    let own = JointJson {
        schema: "unloop/joint/1",
        design: design.name.clone(),
        model: request.ask.form.name(),
        joint: joint.name,
        parent: joint.parent,
        child: joint.child,
        verdict: check.verdict.name(),
        basis: check.basis.name(),
        proved: check.proved,
        ratio: readings.ratio,
        offset_rad: readings.offset + 0.0,
        motor_sign: readings.motor_sign,
        motor_reads_rad: readings.motor,
        joint_reads_rad: readings.joint,
        limit_rad: figures.limit.map(|l| l.angle),
        limit_set_by: figures.limit.map(|l| l.set_by.name()),
        torque_n_m: figures.torque,
        speed_rad_per_s: figures.speed,
        armature_kg_m2: ArmatureJson {
            split: split_armature(request, stand_in),
            plain: figures.plain_armature,
        },
        damping_n_m_s_per_rad: figures.damping,
        friction_n_m: figures.friction,
        gains: GainsJson {
            position_n_m_per_rad: figures.position_gain,
            velocity_n_m_s_per_rad: figures.velocity_gain,
        },
        inertia_error: direct_error
            .map(|[patched, _]| patched.1)
            .or(jaw.and_then(|jaw| jaw.inertia_error).map(|(_, error)| error)),
        inertia_error_as_they_stand: direct_error
            .map(|[_, plain]| plain.1)
            .or(jaw.and_then(|jaw| jaw.plain_error).map(|(_, error)| error)),
        patch: bodies.map(|bodies| patch(request, robot, bodies)),
        coupling: coupling_json(request, stand_in),
        closed_loop: loop_json(request, stand_in),
        finger: finger_json(request, stand_in),
        over_stroke,
        assumptions: assumptions.to_vec(),
    };
    if jaw.is_some_and(is_slide) { without_turns(own) } else { own }
}

/// What has no meaning where the joint reads metres; `finger.slide` has the figures.
fn without_turns(own: JointJson) -> JointJson {
    JointJson {
        ratio: f64::NAN,
        offset_rad: f64::NAN,
        joint_reads_rad: f64::NAN,
        limit_rad: [f64::NAN; 2],
        torque_n_m: Envelope::default(),
        speed_rad_per_s: Envelope::default(),
        armature_kg_m2: ArmatureJson { split: None, plain: None },
        damping_n_m_s_per_rad: None,
        friction_n_m: None,
        gains: GainsJson { position_n_m_per_rad: None, velocity_n_m_s_per_rad: None },
        ..own
    }
}

/// The direct joint's, also beside a model that keeps the crank.
fn split_armature<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Option<f64> {
    if jaw::drives_itself(request) {
        return stand_in.jaw.as_ref()?.armature;
    }
    if request.ask.form.keeps_crank() {
        let own = request.check.inertia.as_ref()?.of_joint(&stand_in.robot.joint)?;
        return Some(own.replacement.tree.armature);
    }
    Some(stand_in.plan.bodies.as_ref()?.armature)
}

fn tie_step<G: Draws>(request: &Request<'_, G>) -> Option<f64> {
    (request.ask.format == Format::Mjcf).then_some(crank::STEP)
}

fn coupling_json<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> Option<CouplingJson> {
    let StandIn { robot, plan, .. } = stand_in;
    let bodies = plan.bodies.as_ref()?;
    let (_, error) = bodies.own_error?;
    let coupled = stand_in.coupled(request)?;
    let (names, step) = (Names::of(robot), tie_step(request));
    let kept = bodies.kept.as_ref();
    Some(CouplingJson {
        fit: bodies.other_fit.map(|_| request.ask.fit.name()),
        other_fit: bodies.other_fit,
        rotor_joint: kept.and_then(|kept| kept.rotor.as_ref()).map(|_| names.rotor),
        ..CouplingJson::of(&coupled, names.crank, crank::armature(stand_in)?, error, step)
    })
}

fn loop_json<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Option<LoopJson> {
    let bodies = stand_in.plan.bodies.as_ref()?;
    let kept: &Kept = bodies.kept.as_ref().filter(|_| stand_in.coupling.is_none())?;
    let step = tie_step(request);
    Some(LoopJson {
        crank_joint: Names::of(stand_in.robot).crank,
        crank_armature_kg_m2: bodies.armature,
        crank_joint_counts_from_rad: crank::crank_shift(&stand_in.figures, kept) + 0.0,
        rotor_joint: kept.rotor.as_ref().map(|_| Names::of(stand_in.robot).rotor),
        step_s: step,
        time_constant_s: step.map(|step| 2.0 * step),
    })
}
