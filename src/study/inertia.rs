//! What the direct joint weighs: inertia, its error, what each shortcut costs.

use serde::Serialize;

use crate::design::{Design, MotionEnvelope};
use crate::dynamics::{
    Counterweight, DynamicsFault, Envelope, Fidelity, Masses, MeasuredOver, MonotoneStroke,
    Replacement, ShortcutCost, Together, shortcut_table, torque_error_bound,
};
use crate::equivalence::{DirectJoint, HungDrive, WeighedDrive, Weighing};
use crate::linkage::Extreme;

use super::drive::{Drive, carrier_frame, drive_on, missing_for_inertia};
use super::findings::{Located, ZeroPose};
use super::mechanism::Mechanism;
use super::views;

/// What was found about inertia, for one drive of every joint that is built from the drawing.
#[derive(Clone, Debug)]
pub struct InertiaFindings {
    /// In the order of the `[[robot]]` tables, one without a name where there is none; or why a drive has no model with
    /// real bodies.
    pub drives: Result<Vec<DriveInertia>, DynamicsFault>,
    /// For each link that bears several joints: their names, and the error of all moving at once with the motions it is
    /// over.
    pub together: Vec<LinkInertia>,
    /// n²J: what a snippet whose bodies stay as they are may have, kg m².
    pub plain_armature: f64,
    /// What each shortcut costs, measured like the headline figure, on the drive that decides.
    pub shortcuts: Vec<ShortcutCost>,
    /// How far a parallelogram's crank is from being counterweighted exactly.
    pub counterweight: Option<Counterweight>,
    /// Bound of the joint torque's error for the motions of `[motion]`, N m.
    pub torque_error: Option<Extreme>,
    /// Tables that could not be used, named as in the file.
    pub left_out: Vec<&'static str>,
}

/// All joints on one link.
#[derive(Clone, Debug, Serialize)]
pub struct LinkInertia {
    /// The link's name.
    pub link: String,
    /// The joints' names.
    pub joints: Vec<String>,
    /// Which motions of the link the figure allows for.
    pub over: MeasuredOver,
    /// The largest error of kinetic energy, all joints moving, as a share.
    pub error: f64,
}

/// One drive with the direct joint that stands in for it.
#[derive(Clone, Debug, Serialize)]
pub struct DriveInertia {
    /// The joint's name in its `[[robot]]` table.
    pub joint: Option<String>,
    /// Which motions of the carrier the headline figure allows for.
    #[serde(skip)]
    pub over: MeasuredOver,
    /// The headline figure: the largest error of kinetic energy for any motion, as a share.
    #[serde(serialize_with = "views::value_alone")]
    pub error: Located,
    /// A certified bound of it over the verdict's linkages and every pose; `None` where the proof does not reach.
    pub bound: Option<f64>,
    /// All figures.
    #[serde(skip)]
    pub fidelity: Fidelity,
    /// Its bodies.
    #[serde(rename = "armature_kg_m2", serialize_with = "views::armature")]
    pub replacement: Replacement,
}

impl InertiaFindings {
    /// The drive of the joint with this name.
    #[must_use]
    pub fn of_joint(&self, joint: &str) -> Option<&DriveInertia> {
        let mut drives = self.drives.as_ref().ok()?.iter();
        drives.find(|drive| drive.joint.as_deref() == Some(joint))
    }

    /// The drive with the largest error.
    #[must_use]
    pub fn decisive(&self) -> Option<&DriveInertia> {
        let drives = self.drives.as_ref().ok()?;
        drives.iter().max_by(|a, b| a.error.value.total_cmp(&b.error.value))
    }
}

/// The drives of a design with what is missing to weigh them.
pub(super) struct Drives {
    pub(super) all: Vec<(Option<String>, Drive)>,
    /// Named as in the file.
    pub(super) missing: Vec<&'static str>,
}

impl Drives {
    /// Each with the link that bears it.
    pub(super) fn hung(&self, design: &Design) -> Vec<HungDrive> {
        let robots = &design.robots;
        let hung = |(k, (_, drive)): (usize, &(Option<String>, Drive))| {
            let robot = robots.get(k);
            let parent = robot.map(|r| &r.parent);
            HungDrive {
                masses: drive.masses,
                link: robots.iter().position(|r| Some(&r.parent) == parent).unwrap_or(k),
                frame: robot.and_then(|robot| carrier_frame(design, robot)),
            }
        };
        self.all.iter().enumerate().map(hung).collect()
    }
}

/// What a child in the robot's frame needs.
const UNPLACED: &str =
    "a [[robot]] with motor_at (the child's masses stand in the robot's own frame)";

/// One drive for each `[[robot]]`, or one where there is none.
pub(super) fn drives(design: &Design, zero: &ZeroPose) -> Drives {
    let missing = missing_for_inertia(design);
    let rotor_alone = missing.iter().all(|name| name.starts_with("[actuator]"));
    if !rotor_alone {
        return Drives { all: Vec::new(), missing };
    }
    let robots = design.robots.iter().map(Some);
    let robots: Vec<_> = if design.robots.is_empty() { vec![None] } else { robots.collect() };
    let found: Option<Vec<_>> = robots
        .into_iter()
        .map(|robot| Some((robot.map(|r| r.joint.clone()), drive_on(design, robot, zero)?)))
        .collect();
    match found {
        Some(all) => Drives { all, missing: Vec::new() },
        None => Drives { all: Vec::new(), missing: vec![UNPLACED] },
    }
}

/// Inertia findings from what the verdict weighed; `None` where the masses or the rotor are not given.
pub(super) fn inertia(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    drives: &Drives,
    weighing: Option<&Weighing>,
) -> Option<InertiaFindings> {
    let found = match weighing? {
        Ok(found) => {
            Ok(drives.all.iter().zip(&found.drives).map(|(d, w)| one(mechanism, d, w)).collect())
        }
        Err(DynamicsFault::DeadPoint { .. } | DynamicsFault::Linkage(_)) => return None,
        Err(fault) => Err(*fault),
    };
    let findings = InertiaFindings {
        drives: found,
        together: weighing?.iter().flat_map(|w| &w.together).map(|l| on_link(design, l)).collect(),
        plain_armature: 0.0,
        shortcuts: Vec::new(),
        counterweight: None,
        torque_error: None,
        left_out: drives.all.first()?.1.left_out.clone(),
    };
    completed(findings, design, mechanism, joint, drives)
}

fn on_link(design: &Design, (on_it, all): &(Vec<usize>, Together)) -> LinkInertia {
    let robots = || on_it.iter().filter_map(|k| design.robots.get(*k));
    LinkInertia {
        link: robots().next().map(|r| r.parent.clone()).unwrap_or_default(),
        joints: robots().map(|r| r.joint.clone()).collect(),
        over: all.over,
        error: all.value,
    }
}

fn one(
    mechanism: &Mechanism,
    drive: &(Option<String>, Drive),
    weighed: &WeighedDrive,
) -> DriveInertia {
    let WeighedDrive { replacement, fidelity, over, error, bound } = *weighed;
    let at_joint = mechanism.branch.joint_turn(error.turn).unwrap_or(f64::NAN);
    DriveInertia {
        joint: drive.0.clone(),
        over,
        error: Located { value: error.value, at_joint },
        bound,
        fidelity,
        replacement,
    }
}

/// With what is told of the drive that decides.
fn completed(
    findings: InertiaFindings,
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    drives: &Drives,
) -> Option<InertiaFindings> {
    let decisive = findings.decisive();
    let named = |name: &Option<String>| drives.all.iter().find(|d| d.0 == *name);
    let masses = &decisive.and_then(|d| named(&d.joint)).or(drives.all.first())?.1.masses;
    masses.rotor?;
    let stroke = MonotoneStroke::over(&mechanism.branch, mechanism.stroke).ok()?;
    let n = masses.gear_ratio() * joint.ratio;
    Some(InertiaFindings {
        plain_armature: n * n * masses.rotor_inertia(),
        shortcuts: shortcut_table(&stroke, masses, joint.ratio).unwrap_or_default(),
        counterweight: decisive
            .filter(|d| d.replacement.is_parallel)
            .map(|_| Counterweight::of(mechanism.branch.bars(), masses)),
        torque_error: decisive.and_then(|d| torque_error(design, &stroke, masses, d)),
        ..findings
    })
}

fn torque_error(
    design: &Design,
    stroke: &MonotoneStroke<'_>,
    masses: &Masses,
    decisive: &DriveInertia,
) -> Option<Extreme> {
    let envelope = envelope(design.motion.as_ref()?);
    Some(torque_error_bound(stroke, masses, &decisive.replacement.tree, &envelope))
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
            format!("the rocker stands still at motor turn {}", crate::units::angle(*turn, 2))
        }
        DynamicsFault::NegativeArmature { armature, rotor_turns } => format!(
            "the direct joint would need a negative armature ({armature:.3e} kg m2, rotor {rotor_turns:.3} turns per joint turn)"
        ),
        DynamicsFault::NoRealBody { body, .. } => {
            format!("no mass on the joint axis makes a real body of the {body}")
        }
    }
}
