//! What the direct joint weighs: inertia, its error, what each shortcut costs.

use crate::design::{Design, MotionEnvelope};
use crate::dynamics::{
    Certificate, Counterweight, Course, DynamicsFault, Envelope, Fidelity, MeasuredOver,
    Replacement, Shortcut, ShortcutCost, fidelity, shortcut_table, torque_error_bound,
};
use crate::equivalence::{DirectJoint, Family};
use crate::linkage::Extreme;

use super::drive::{drive, missing_for_inertia};
use super::findings::{Located, ZeroPose};
use super::mechanism::Mechanism;

/// What was found about inertia. Computed, not proved.
#[derive(Clone, Debug)]
pub struct InertiaFindings {
    /// Which motions of the carrier the headline figure allows for.
    pub over: MeasuredOver,
    /// The headline figure: the largest error of kinetic energy for any motion, as a share.
    pub error: Located,
    /// A certified bound of it over the verdict's linkages and every pose; `None` where the proof does not reach.
    pub bound: Option<f64>,
    /// All figures.
    pub fidelity: Fidelity,
    /// The direct joint with real bodies, or why there is none.
    pub replacement: Result<Replacement, DynamicsFault>,
    /// n²J: what a snippet whose bodies stay as they are may have, kg m².
    pub plain_armature: f64,
    /// What each shortcut costs, measured like the headline figure.
    pub shortcuts: Vec<ShortcutCost>,
    /// How far a parallelogram's crank is from being counterweighted exactly.
    pub counterweight: Option<Counterweight>,
    /// Bound of the joint torque's error for the motions of `[motion]`, N m.
    pub torque_error: Option<Extreme>,
    /// Tables that could not be used, named as in the file.
    pub left_out: Vec<&'static str>,
}

/// Inertia findings, or why there are none, as a clause.
pub(super) fn inertia(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    zero: &ZeroPose,
    family: &Family,
) -> Result<InertiaFindings, String> {
    let missing = missing_for_inertia(design);
    if !missing.is_empty() {
        return Err(format!("needs {}", missing.join(", ")));
    }
    let Some(drive) = drive(design, zero) else {
        return Err(
            "the child's masses stand in the robot's frame, which needs a [[robot]] with motor_at"
                .to_owned(),
        );
    };
    let fault = |fault: DynamicsFault| format!("cannot be told: {}", in_words(&fault));
    let course = Course::over(&mechanism.branch, mechanism.stroke).map_err(fault)?;
    let masses = &drive.masses;
    let replacement = Replacement::of(&course, masses);
    let tree = match &replacement {
        Ok(found) => found.tree,
        Err(_) => Shortcut::Full.tree(&course, masses, joint.ratio).map_err(|f| fault(f.into()))?,
    };
    let fidelity = fidelity(&course, masses, &tree);
    let (over, worst) = fidelity.headline();
    let bound = replacement.as_ref().ok().and_then(|replacement| {
        let branch = &mechanism.branch;
        let (bars, crank_error) = (family.bars, family.crank_error);
        Certificate { branch, masses, replacement, over, bars, crank_error }.bound(
            mechanism.stroke.motor,
            1.2 * worst.value,
            design.accept.inertia,
        )
    });
    let n = masses.gear_ratio() * joint.ratio;
    Ok(InertiaFindings {
        over,
        error: Located {
            value: worst.value,
            at_joint: mechanism.branch.joint_turn(worst.turn).unwrap_or(f64::NAN),
        },
        bound,
        fidelity,
        plain_armature: n * n * masses.rotor_inertia(),
        shortcuts: shortcut_table(&course, masses, joint.ratio).unwrap_or_default(),
        counterweight: replacement
            .as_ref()
            .is_ok_and(|r| r.is_parallel)
            .then(|| Counterweight::of(mechanism.branch.bars(), masses)),
        torque_error: design
            .motion
            .as_ref()
            .map(|m| torque_error_bound(&course, masses, &tree, &envelope(m))),
        replacement,
        left_out: drive.left_out,
    })
}

fn envelope(motion: &MotionEnvelope) -> Envelope {
    Envelope {
        joint_speed: motion.joint_speed.unwrap_or(0.0),
        joint_acceleration: motion.joint_acceleration.unwrap_or(0.0),
        carrier_speed: motion.carrier_speed.unwrap_or(0.0),
        carrier_acceleration: motion.carrier_acceleration.unwrap_or(0.0),
        base_acceleration: motion.base_acceleration.unwrap_or(0.0),
    }
}

/// A fault of the dynamics as a clause, with what can be done.
#[must_use]
pub fn in_words(fault: &DynamicsFault) -> String {
    format!("{}; {}", in_words_alone(fault), fault.remedy())
}

/// A fault of the dynamics as a clause.
#[must_use]
pub fn in_words_alone(fault: &DynamicsFault) -> String {
    match fault {
        DynamicsFault::Linkage(_) => "a pose cannot be reached".to_owned(),
        DynamicsFault::DeadPoint { turn } => {
            format!("the rocker stands still at motor turn {:.2} deg", turn.to_degrees())
        }
        DynamicsFault::NegativeArmature { armature, rotor_turns } => format!(
            "the direct joint would need a negative armature ({armature:.3e} kg m2, rotor {rotor_turns:.3} turns per joint turn)"
        ),
        DynamicsFault::NoRealBody { body, .. } => {
            format!("no mass on the joint axis makes a real body of the {body}")
        }
    }
}
