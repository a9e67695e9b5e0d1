//! `[[robot]]`: the joints that are built from the drawing.

use super::entry::Entry;
use super::gripper::GripperNames;
use super::model::{JointPlace, MotorOn, ParentJoint, RobotJoint};
use super::section::Section;
use crate::diagnostic::Code;
use crate::drive::Kind;
use crate::units::{UnitKind, clipped, degrees, millimetres};
use nalgebra::Vector3;
use std::collections::BTreeSet;

/// Axes that differ by less than this angle are parallel, rad: the rounding of figures from CAD.
const PARALLEL: f64 = 1e-3;

/// `motor_at` may miss the ground length by this share of it, or by [`MISS`] where that is more.
const MISS_SHARE: f64 = 1e-3;

/// See [`MISS_SHARE`], m.
const MISS: f64 = 1e-4;

/// What a drawing says of where its joint and motor stand in the carrier.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placing {
    /// The joint, where the drawing is made in the carrier's frame.
    pub(super) joint: Option<PlacedJoint>,
    /// Where the motor stands from it, where the drawing says so.
    pub(super) motor: Option<MotorFrom>,
}

/// A joint in the carrier's frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct PlacedJoint {
    pub(super) place: JointPlace,
    /// The key under `[pivots]` that says which way its axis points.
    pub(super) key: &'static str,
}

/// Distances of the motor from the joint, m.
#[derive(Clone, Copy, Debug)]
pub(super) struct MotorFrom {
    /// Across the joint axis.
    pub(super) across: f64,
    /// Along it, of whatever sign; where it counts.
    pub(super) along: Option<f64>,
}

/// `[[robot]]` in the order of the file; `placing` where the drawing could be read, `is_gripper` where it draws a finger.
pub(super) fn read(
    root: &Section<'_>,
    motor_on: MotorOn,
    placing: Option<&Placing>,
    is_gripper: bool,
) -> Vec<RobotJoint> {
    let tables = root.sections("robot");
    refuse_same_names(&tables);
    tables.iter().filter_map(|table| joint(table, placing, motor_on, is_gripper)).collect()
}

fn refuse_same_names(tables: &[Section<'_>]) {
    let mut seen = BTreeSet::new();
    for entry in tables.iter().filter_map(|table| table.get("joint")) {
        if let toml::de::DeValue::String(name) = entry.value
            && !seen.insert(name.as_ref())
        {
            let label = format!("\"{}\" is already the joint of another [[robot]]", clipped(name));
            entry.fault("is used twice", &label, "give each joint its own name");
        }
    }
}

fn joint(
    table: &Section<'_>,
    placing: Option<&Placing>,
    motor_on: MotorOn,
    is_gripper: bool,
) -> Option<RobotJoint> {
    let placed = placing.and_then(|placing| placing.joint.as_ref());
    let name = |key: &str, line: &str| table.required(key, line).and_then(|entry| entry.name());
    let joint = name("joint", "joint = \"left_ankle_pitch\"");
    let parent = name("parent", "parent = \"left_shank\"");
    let child = name("child", "child = \"left_foot\"");
    refuse_own_child(table, parent.as_deref(), child.as_deref());
    let gripper = gripper_names(table, is_gripper, joint.as_deref(), child.as_deref());
    let mirrored = table.get("mirrored").map_or(Some(false), |entry| entry.boolean());
    let motor_sign = table.get("motor_sign").map_or(Some(1.0), |entry| {
        sign(
            &entry,
            "write 1, or -1 where the motor's positive turn is clockwise about the joint axis",
        )
    });
    let axis = axis(table, placed, mirrored == Some(true));
    let origin = origin(table, placed);
    let motor_entry = table.get("motor_at");
    let motor_at = motor_entry.as_ref().and_then(point);
    if let (Some(entry), Kind::Series, false) = (&motor_entry, table.faults.kind, is_gripper) {
        let help = "name a gripper's finger as the last stage, or take this line out";
        entry.fault("needs a gripper's finger", "no stage has one", help);
    }
    if let (Some(entry), Some(drawn)) = (&motor_entry, placing.and_then(|drawn| drawn.motor)) {
        check_distance(entry, motor_at, origin.zip(axis), drawn);
    }
    if let (Some(entry), Some(true), Some(placed), None) =
        (table.get("mirrored"), mirrored, placed, &motor_entry)
        && let Some((origin, axis)) = origin.zip(axis)
    {
        check_mirror(&entry, placed, origin, axis);
    }
    let parent_joint = parent_joint(table, motor_on);
    Some(RobotJoint {
        joint: joint?,
        parent: parent?,
        child: child?,
        axis: axis?,
        origin: origin?,
        motor_at,
        mirrored: mirrored?,
        motor_sign: motor_sign?,
        gripper: gripper?,
        parent_joint: parent_joint?,
    })
}

/// What a gripper's further parts are called; without a finger there are none to name.
fn gripper_names(
    table: &Section<'_>,
    is_gripper: bool,
    joint: Option<&str>,
    child: Option<&str>,
) -> Option<GripperNames> {
    let mut names = GripperNames::of(joint?, child?);
    let slots: [(&str, &mut String); 6] = [
        ("pad_joint", &mut names.pad_joint),
        ("other_joint", &mut names.other_joint),
        ("other_pad_joint", &mut names.other_pad_joint),
        ("crank_link", &mut names.crank_link),
        ("other_child", &mut names.other_child),
        ("other_crank_link", &mut names.other_crank_link),
    ];
    for (key, slot) in slots {
        let Some(entry) = table.get(key) else { continue };
        if is_gripper {
            *slot = entry.name()?;
        } else {
            let help = "add [finger], or take this line out";
            entry.fault("needs [finger]", "only a gripper has it", help);
        }
    }
    refuse_same_parts(table, joint?, child?, &names);
    Some(names)
}

/// Joints among themselves and links among themselves have names of their own.
fn refuse_same_parts(table: &Section<'_>, joint: &str, child: &str, names: &GripperNames) {
    let joints = [
        ("joint", joint),
        ("pad_joint", &names.pad_joint),
        ("other_joint", &names.other_joint),
        ("other_pad_joint", &names.other_pad_joint),
    ];
    let links = [
        ("child", child),
        ("crank_link", &names.crank_link),
        ("other_child", &names.other_child),
        ("other_crank_link", &names.other_crank_link),
    ];
    for all in [joints, links] {
        for (k, (key, name)) in all.iter().enumerate() {
            let taken = all.iter().take(k).any(|(_, other)| other == name);
            if let Some(entry) = table.get(key).filter(|_| taken) {
                entry.fault(
                    "is used twice",
                    "another part of this gripper has that name",
                    "give each part its own name",
                );
            }
        }
    }
}

/// A joint joins two links.
pub(super) fn refuse_own_child(table: &Section<'_>, parent: Option<&str>, child: Option<&str>) {
    if parent.is_some()
        && parent == child
        && let Some(entry) = table.get("child")
    {
        entry.fault(
            "is the parent too",
            "a joint joins two links",
            "name the link that the rocker turns",
        );
    }
}

/// 1 or −1.
pub(super) fn sign(entry: &Entry<'_>, help: &str) -> Option<f64> {
    let sign = entry.number()?;
    if (sign.abs() - 1.0).abs() > 0.0 {
        entry.fault("is neither 1 nor -1", "only a sign", help);
        return None;
    }
    Some(sign)
}

fn point(entry: &Entry<'_>) -> Option<[f64; 3]> {
    entry.quantities::<3>(UnitKind::Length, "three lengths: [\"0 mm\", \"0 mm\", \"-300 mm\"]")
}

fn origin(table: &Section<'_>, placed: Option<&PlacedJoint>) -> Option<[f64; 3]> {
    match (table.get("origin"), placed) {
        (Some(entry), _) => point(&entry),
        (None, Some(placed)) => Some(placed.place.joint),
        (None, None) => {
            point(&table.required("origin", "origin = [\"0 mm\", \"0 mm\", \"-300 mm\"]")?)
        }
    }
}

fn axis(table: &Section<'_>, placed: Option<&PlacedJoint>, mirrored: bool) -> Option<[f64; 3]> {
    let entry = table.required("axis", "axis = [0.0, 1.0, 0.0]")?;
    let axis = entry.direction()?;
    let Some(PlacedJoint { place, key }) = placed else {
        return Some(axis);
    };
    let (own, drawn) = (Vector3::from(axis), Vector3::from(place.axis));
    let (sine, cosine) = (own.cross(&drawn).norm(), own.dot(&drawn));
    if sine > PARALLEL {
        let label = format!("{} from `[pivots] {key}`", degrees(libm::atan2(sine, cosine)));
        let help = match table.faults.kind {
            Kind::FourBar => {
                "the linkage is taken as plane: its axes are parallel. Correct one of the two, in the parent link's frame; where \
                 motor and joint axis really differ and the rod has ball ends, write [drive] kind = \"ball_rod\" and both axes"
            }
            _ => "both are the joint axis: correct one of the two, in the parent link's frame",
        };
        entry.coded(Code::AxesNotParallel, "is not parallel to the linkage's axis", &label, help);
        return None;
    }
    if cosine < 0.0 && !mirrored {
        let help = format!(
            "the drawing is seen from the other side: turn `[pivots] {key}` or this axis round, or write mirrored = true"
        );
        let label = format!("opposite to `[pivots] {key}`");
        entry.fault("points against the linkage's axis", &label, help);
        return None;
    }
    Some(axis)
}

/// Without `motor_at` the mirror plane must follow from the two joints.
fn check_mirror(entry: &Entry<'_>, placed: &PlacedJoint, origin: [f64; 3], axis: [f64; 3]) {
    if placed.place.mirror_normal(origin, axis).is_none() {
        let help = format!(
            "add `motor_at`, the motor axis of this joint in its parent's frame. Without it `[pivots] joint` and `origin` \
             must be mirror images in a plane through the frame's origin that takes `[pivots] {}` to this axis",
            placed.key
        );
        entry.fault(
            "leaves open where the motor is",
            "no mirror plane follows from the two joints",
            help,
        );
    }
}

/// The motor axis must stand from the joint axis as drawn.
fn check_distance(
    entry: &Entry<'_>,
    motor_at: Option<[f64; 3]>,
    joint: Option<([f64; 3], [f64; 3])>,
    drawn: MotorFrom,
) {
    let (Some(motor), Some((origin, axis))) = (motor_at, joint) else {
        return;
    };
    let (apart, axis) = (Vector3::from(motor) - Vector3::from(origin), Vector3::from(axis));
    let within = MISS.max(MISS_SHARE * drawn.across);
    let across = apart.cross(&axis).norm();
    if (across - drawn.across).abs() > within {
        let label = format!("{} from the joint axis", millimetres(across));
        let help = format!(
            "across the axis it must be the ground length, {} (to 0.1 mm or 0.1 %): correct `motor_at`, `origin`, `axis` or the ground length",
            millimetres(drawn.across)
        );
        entry.coded(Code::MotorOffGround, "is not where the drawing has the motor", &label, help);
        return;
    }
    let along = apart.dot(&axis).abs();
    if let Some(wanted) = drawn.along
        && (along - wanted.abs()).abs() > within
    {
        let label = format!("{} from `origin` along the joint axis", millimetres(along));
        let help = format!(
            "with these lengths, twist and lean it must be {}: both are the centres of the circles that the two balls run on",
            millimetres(wanted.abs())
        );
        entry.coded(Code::MotorOffGround, "is not where the drawing has the motor", &label, help);
    }
}

/// The joint that a motor on the parent is coaxial with; without such a motor there is none to name.
fn parent_joint(table: &Section<'_>, motor_on: MotorOn) -> Option<Option<ParentJoint>> {
    let keys = ["parent_joint", "motor_link", "parent_joint_reads", "parent_joint_sign"];
    if motor_on == MotorOn::Carrier {
        for entry in keys.iter().filter_map(|key| table.get(key)) {
            let help = "add motor_on = \"parent\" under [drive], or take this line out";
            entry.fault("needs motor_on = \"parent\"", "the motor is on the carrier", help);
        }
        return Some(None);
    }
    let name = |key: &str, line: &str| table.required(key, line).and_then(|entry| entry.name());
    let joint = name("parent_joint", "parent_joint = \"left_hip_pitch\"  # coaxial with the motor");
    let motor_link =
        name("motor_link", "motor_link = \"pelvis\"  # the parent's parent, which bears the motor");
    let reads =
        table.get("parent_joint_reads").map_or(Some(0.0), |entry| entry.quantity(UnitKind::Angle));
    let sign = table.get("parent_joint_sign").map_or(Some(1.0), |entry| {
        sign(&entry, "write 1, or -1 where that joint counts against the driven joint's axis")
    });
    Some(Some(ParentJoint { joint: joint?, motor_link: motor_link?, reads: reads?, sign: sign? }))
}
