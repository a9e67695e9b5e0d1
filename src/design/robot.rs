//! `[[robot]]`: the joints that are built from the drawing.

use super::entry::Entry;
use super::gripper::GripperNames;
use super::model::{Geometry, RobotJoint, SpatialPivots};
use super::section::Section;
use crate::diagnostic::Code;
use crate::units::{UnitKind, clipped, degrees, millimetres};
use nalgebra::Vector3;
use std::collections::BTreeSet;

/// Axes that differ by less than this angle are parallel, rad: the rounding of figures from CAD.
const PARALLEL: f64 = 1e-3;

/// `motor_at` may miss the ground length by this share of it, or by [`MISS`] where that is more.
const MISS_SHARE: f64 = 1e-3;

/// See [`MISS_SHARE`], m.
const MISS: f64 = 1e-4;

/// `[[robot]]` in the order of the file; `geometry` where it could be read.
pub(super) fn read(root: &Section<'_>, geometry: Option<&Geometry>) -> Vec<RobotJoint> {
    let tables = root.sections("robot");
    refuse_same_names(&tables);
    let is_gripper = root.get("finger").is_some();
    tables.iter().filter_map(|table| joint(table, geometry, is_gripper)).collect()
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

fn joint(table: &Section<'_>, geometry: Option<&Geometry>, is_gripper: bool) -> Option<RobotJoint> {
    let pivots = geometry.and_then(|geometry| geometry.pivots.as_ref());
    let name = |key: &str, line: &str| table.required(key, line).and_then(|entry| entry.name());
    let joint = name("joint", "joint = \"left_ankle_pitch\"");
    let parent = name("parent", "parent = \"left_shank\"");
    let child = name("child", "child = \"left_foot\"");
    refuse_own_child(table, parent.as_deref(), child.as_deref());
    let gripper = gripper_names(table, is_gripper, joint.as_deref(), child.as_deref());
    let mirrored = table.get("mirrored").map_or(Some(false), |entry| entry.boolean());
    let motor_sign = table.get("motor_sign").map_or(Some(1.0), |entry| motor_sign(&entry));
    let axis = axis(table, pivots, mirrored == Some(true));
    let origin = origin(table, pivots);
    let motor_entry = table.get("motor_at");
    let motor_at = motor_entry.as_ref().and_then(point);
    if let (Some(entry), Some(geometry)) = (&motor_entry, geometry) {
        check_distance(entry, motor_at, origin.zip(axis), geometry.ground.nominal);
    }
    if let (Some(entry), Some(true), Some(pivots), None) =
        (table.get("mirrored"), mirrored, pivots, &motor_entry)
        && let Some((origin, axis)) = origin.zip(axis)
    {
        check_mirror(&entry, pivots, origin, axis);
    }
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
        parent_joint: None,
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

fn refuse_own_child(table: &Section<'_>, parent: Option<&str>, child: Option<&str>) {
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

fn motor_sign(entry: &Entry<'_>) -> Option<f64> {
    let sign = entry.number()?;
    if (sign.abs() - 1.0).abs() > 0.0 {
        let help =
            "write 1, or -1 where the motor's positive turn is clockwise about the joint axis";
        entry.fault("is neither 1 nor -1", "only a sign", help);
        return None;
    }
    Some(sign)
}

fn point(entry: &Entry<'_>) -> Option<[f64; 3]> {
    entry.quantities::<3>(UnitKind::Length, "three lengths: [\"0 mm\", \"0 mm\", \"-300 mm\"]")
}

fn origin(table: &Section<'_>, pivots: Option<&SpatialPivots>) -> Option<[f64; 3]> {
    match (table.get("origin"), pivots) {
        (Some(entry), _) => point(&entry),
        (None, Some(pivots)) => Some(pivots.joint),
        (None, None) => {
            point(&table.required("origin", "origin = [\"0 mm\", \"0 mm\", \"-300 mm\"]")?)
        }
    }
}

fn axis(table: &Section<'_>, pivots: Option<&SpatialPivots>, mirrored: bool) -> Option<[f64; 3]> {
    let entry = table.required("axis", "axis = [0.0, 1.0, 0.0]")?;
    let axis = entry.direction()?;
    let Some(pivots) = pivots else {
        return Some(axis);
    };
    let (own, drawn) = (Vector3::from(axis), Vector3::from(pivots.axis));
    let (sine, cosine) = (own.cross(&drawn).norm(), own.dot(&drawn));
    if sine > PARALLEL {
        let label = format!("{} from `[pivots] axis`", degrees(libm::atan2(sine, cosine)));
        let help = "the linkage is taken as plane: its axes are parallel. Correct one of the two, in the parent link's frame";
        entry.coded(Code::AxesNotParallel, "is not parallel to the linkage's axis", &label, help);
        return None;
    }
    if cosine < 0.0 && !mirrored {
        let help = "the drawing is seen from the other side: turn `[pivots] axis` or this axis round, or write mirrored = true";
        entry.fault("points against the linkage's axis", "opposite to `[pivots] axis`", help);
        return None;
    }
    Some(axis)
}

/// Without `motor_at` the mirror plane must follow from the two joints.
fn check_mirror(entry: &Entry<'_>, pivots: &SpatialPivots, origin: [f64; 3], axis: [f64; 3]) {
    if pivots.mirror_normal(origin, axis).is_none() {
        let help = "add `motor_at`, the motor axis of this joint in its parent's frame. Without it `[pivots] joint` and `origin` \
                    must be mirror images in a plane through the frame's origin that takes `[pivots] axis` to this axis";
        entry.fault(
            "leaves open where the motor is",
            "no mirror plane follows from the two joints",
            help,
        );
    }
}

/// The motor axis must stand a ground length from the joint axis.
fn check_distance(
    entry: &Entry<'_>,
    motor_at: Option<[f64; 3]>,
    joint: Option<([f64; 3], [f64; 3])>,
    ground: f64,
) {
    let (Some(motor), Some((origin, axis))) = (motor_at, joint) else {
        return;
    };
    let apart = (Vector3::from(motor) - Vector3::from(origin)).cross(&Vector3::from(axis)).norm();
    if (apart - ground).abs() <= MISS.max(MISS_SHARE * ground) {
        return;
    }
    let label = format!("{} from the joint axis", millimetres(apart));
    let help = format!(
        "across the axis it must be the ground length, {} (to 0.1 mm or 0.1 %): correct `motor_at`, `origin`, `axis` or the ground length",
        millimetres(ground)
    );
    entry.coded(Code::MotorOffGround, "is not where the drawing has the motor", &label, help);
}
