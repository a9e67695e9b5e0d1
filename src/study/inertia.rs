//! What the direct joint weighs: inertia, its error, what each shortcut costs.

use crate::design::{Design, MotionEnvelope, MotorOn};
use crate::dynamics::{
    Counterweight, DynamicsFault, Envelope, Masses, MonotoneStroke, Together, shortcut_table,
    torque_error_bound,
};
use crate::equivalence::{DirectJoint, HungDrive, WeighedDrive, Weighing};
use crate::linkage::Extreme;

use super::drive::{Drive, carrier_frame, drive_on, missing_for_inertia};
use super::findings::{Depth, DriveInertia, InertiaFindings, LinkInertia, Located, ZeroPose};
use super::mechanism::Mechanism;

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

/// Whose rotor turns with neither carrier nor crank.
const ON_PARENT: &str =
    "motor_on = \"carrier\" (a rotor on the carrier's parent is not weighed with a four-bar)";

/// What weighs beside a finger whose crank another drive turns.
const IN_FRONT: &str =
    "a motor that turns the crank itself (what is in front of the finger is not weighed)";

/// One drive for each `[[robot]]`, or one where there is none.
pub(super) fn drives(design: &Design, zero: &ZeroPose) -> Drives {
    if design.motor_on == MotorOn::Parent {
        return Drives { all: Vec::new(), missing: vec![ON_PARENT] };
    }
    if design.front.is_some() {
        return Drives { all: Vec::new(), missing: vec![IN_FRONT] };
    }
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
    (design, mechanism): (&Design, &Mechanism),
    joint: &DirectJoint,
    drives: &Drives,
    weighing: Option<&Weighing>,
    depth: Depth,
) -> Option<InertiaFindings> {
    let joints = drives.all.iter().map(|(joint, _)| joint);
    let joint_turn = |turn: f64| mechanism.branch.joint_turn(turn).ok();
    let first = &drives.all.first()?.1;
    let plain = plain_armature(&first.masses, joint)?;
    let findings = weighed(design, joints, weighing?, &joint_turn)?;
    let left_out = first.left_out.clone();
    let findings = InertiaFindings { plain_armature: plain, left_out, ..findings };
    completed(findings, (design, mechanism), joint, drives, depth)
}

/// n²J, kg m²; `None` without a rotor.
pub(super) fn plain_armature(masses: &Masses, joint: &DirectJoint) -> Option<f64> {
    masses.rotor?;
    let n = masses.gear_ratio() * joint.ratio;
    Some(n * n * masses.rotor_inertia())
}

/// What the verdict weighed of the drives of `joints`, and no more; `None` where the stroke cannot be followed.
pub(super) fn weighed<'a, G>(
    design: &Design<G>,
    joints: impl Iterator<Item = &'a Option<String>>,
    weighing: &Weighing,
    joint_turn: &dyn Fn(f64) -> Option<f64>,
) -> Option<InertiaFindings> {
    let drives = match weighing {
        Ok(found) => {
            let each = joints.zip(&found.drives);
            Ok(each.map(|(joint, drive)| one(joint, drive, joint_turn)).collect())
        }
        Err(
            DynamicsFault::DeadPoint { .. } | DynamicsFault::Linkage(_) | DynamicsFault::Drive(_),
        ) => return None,
        Err(fault) => Err(*fault),
    };
    let together = weighing.iter().flat_map(|found| &found.together);
    Some(InertiaFindings {
        drives,
        together: together.map(|all| on_link(design, all)).collect(),
        plain_armature: 0.0,
        shortcuts: Vec::new(),
        counterweight: None,
        torque_error: None,
        left_out: Vec::new(),
    })
}

fn on_link<G>(design: &Design<G>, (on_it, all): &(Vec<usize>, Together)) -> LinkInertia {
    let robots = || on_it.iter().filter_map(|k| design.robots.get(*k));
    LinkInertia {
        link: robots().next().map(|r| r.parent.clone()).unwrap_or_default(),
        joints: robots().map(|r| r.joint.clone()).collect(),
        over: all.over,
        error: all.value,
    }
}

fn one(
    joint: &Option<String>,
    weighed: &WeighedDrive,
    joint_turn: &dyn Fn(f64) -> Option<f64>,
) -> DriveInertia {
    let WeighedDrive { replacement, fidelity, over, error, bound } = *weighed;
    let at_joint = joint_turn(error.turn).unwrap_or(f64::NAN);
    DriveInertia {
        joint: joint.clone(),
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
    (design, mechanism): (&Design, &Mechanism),
    joint: &DirectJoint,
    drives: &Drives,
    depth: Depth,
) -> Option<InertiaFindings> {
    let decisive = findings.decisive();
    let named = |name: &Option<String>| drives.all.iter().find(|d| d.0 == *name);
    let masses = &decisive.and_then(|d| named(&d.joint)).or(drives.all.first())?.1.masses;
    let stroke = MonotoneStroke::over(&mechanism.branch, mechanism.stroke).ok()?;
    Some(InertiaFindings {
        shortcuts: match depth {
            Depth::Whole => shortcut_table(&stroke, masses, joint.ratio).unwrap_or_default(),
            Depth::Verdict => Vec::new(),
        },
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
