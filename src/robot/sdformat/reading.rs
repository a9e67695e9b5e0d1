//! What is read of an SDFormat file so far, and the figures that all its parts are made of.

use nalgebra::Isometry3;

use crate::robot::document::Element;
use crate::robot::format::Format;
use crate::robot::model::{LinkId, Robot};
use crate::robot::place::Place;
use crate::robot::values::{Faults, Written, placed, roll_pitch_yaw, shown};

/// The newest version that is known.
const NEWEST: [u32; 2] = [1, 12];

/// What is read so far, and by which version's rules.
pub(super) struct Reading {
    /// Without its document yet.
    pub(super) robot: Robot,
    pub(super) faults: Faults,
    pub(super) version: [u32; 2],
    /// The link `world`, where a joint needed it.
    pub(super) ground: Option<LinkId>,
}

impl Reading {
    pub(super) fn new(root: Element<'_>) -> Self {
        let robot = Robot::empty(Format::Sdformat);
        let mut reading = Self { robot, faults: Faults::default(), version: NEWEST, ground: None };
        reading.read_version(root);
        reading
    }

    fn read_version(&mut self, root: Element<'_>) {
        let Some(written) = Written::attribute(root, "version") else {
            let help = "write version=\"1.9\" or another: what poses and axes mean depends on it";
            return self.faults.add(root.tag_range(), "the <sdf> has no version".to_owned(), help);
        };
        let Some(version) = version(&written.text) else {
            let message = format!("\"{}\" is no version of SDFormat", shown(&written.text));
            return self.faults.add(written.place, message, "write a version such as 1.6 or 1.12");
        };
        self.version = version;
        if version > NEWEST {
            let [major, minor] = NEWEST;
            self.remark(
                root,
                format!("version {} is read as {major}.{minor}", shown(&written.text)),
            );
        }
    }

    pub(super) fn remark(&mut self, element: Element<'_>, message: String) {
        self.robot.remark(Place::from(element), message);
    }

    /// The number inside the child of this name; `None` where there is none, or a fault.
    pub(super) fn child_number(&mut self, element: Element<'_>, name: &str) -> Option<f64> {
        let child = element.child(name)?;
        self.faults.number(name, &Written::inside(child))
    }

    /// The figures of `element`'s pose; an empty one is no shift and no turn.
    pub(super) fn pose(&mut self, element: Element<'_>) -> Isometry3<f64> {
        let pose = element.child("pose");
        pose.and_then(|pose| figures(pose, &mut self.faults)).unwrap_or_default()
    }
}

/// The way in which the format writes a truth value.
pub(super) fn is_true(text: &str) -> bool {
    matches!(text.trim(), "1" | "true" | "True" | "TRUE")
}

/// The figures of a `pose`: x y z roll pitch yaw, or x y z and a quaternion x y z w.
pub(super) fn figures(pose: Element<'_>, faults: &mut Faults) -> Option<Isometry3<f64>> {
    let written = Written::inside(pose);
    if written.text.is_empty() {
        return None;
    }
    if pose.value("rotation_format").as_deref() == Some("quat_xyzw") {
        let [x, y, z, qx, qy, qz, qw] = faults.finite("the pose", &written)?;
        return Some(placed([x, y, z], faults.quaternion(&written, [qx, qy, qz, qw], "0 0 0 1")?));
    }
    let [x, y, z, roll, pitch, yaw] = faults.finite("the pose", &written)?;
    let is_in_degrees = pose.value("degrees").is_some_and(|degrees| is_true(&degrees));
    let in_radians = |angle: f64| if is_in_degrees { angle.to_radians() } else { angle };
    Some(placed([x, y, z], roll_pitch_yaw([roll, pitch, yaw].map(in_radians))))
}

fn version(text: &str) -> Option<[u32; 2]> {
    let (major, rest) = text.trim().split_once('.')?;
    let minor = rest.split('.').next()?;
    Some([major.parse().ok()?, minor.parse().ok()?])
}
