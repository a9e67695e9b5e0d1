//! `[[robot]]` of a drive of two joints.

use std::collections::BTreeSet;

use crate::design::entry::{Entry, all};
use crate::design::robot::{refuse_own_child, sign};
use crate::design::section::Section;
use crate::units::clipped;

/// One `[[robot]]`: two joints one behind the other, and the motors that turn them. Axes and points are those of the drawing,
/// in the parent link's frame.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoJointRobot {
    /// Names of pitch and roll.
    pub joints: [String; 2],
    /// Names of the motors, in the order of the drawing's.
    pub motors: [String; 2],
    /// +1 or −1: whether each motor counts about its drawn axis.
    pub motor_signs: [f64; 2],
    /// The carrier.
    pub parent: String,
    /// The link between pitch and roll.
    pub middle: String,
    /// The foot.
    pub child: String,
}

pub(super) fn read(root: &Section<'_>) -> Vec<TwoJointRobot> {
    let mut seen = BTreeSet::new();
    root.sections("robot").iter().filter_map(|table| robot(table, &mut seen)).collect()
}

fn robot(table: &Section<'_>, seen: &mut BTreeSet<String>) -> Option<TwoJointRobot> {
    let name = |key: &str, line: &str| table.required(key, line).and_then(|entry| entry.name());
    let joints =
        names(table, "joints", "joints = [\"left_ankle_pitch\", \"left_ankle_roll\"]", seen);
    let motors = names(table, "motors", "motors = [\"left_ankle_a\", \"left_ankle_b\"]", seen);
    let help = "write 1, or -1 where the motor's positive turn is clockwise about its drawn axis";
    let signs = table.get("motor_signs").map_or(Some([1.0; 2]), |entry| {
        all(entry.items_of::<2>("two signs: [1, -1]")?.map(|item| sign(&item, help)))
    });
    let parent = name("parent", "parent = \"left_shank\"");
    let child = name("child", "child = \"left_foot\"");
    refuse_own_child(table, parent.as_deref(), child.as_deref());
    let middle = match table.get("middle") {
        Some(entry) => {
            entry.name().filter(|middle| is_link_of_its_own(&entry, middle, [&parent, &child]))
        }
        None => child.as_ref().map(|child| format!("{child}_cross")),
    };
    Some(TwoJointRobot {
        joints: joints?,
        motors: motors?,
        motor_signs: signs?,
        parent: parent?,
        middle: middle?,
        child: child?,
    })
}

fn is_link_of_its_own(entry: &Entry<'_>, middle: &str, others: [&Option<String>; 2]) -> bool {
    let taken = others.into_iter().any(|other| other.as_deref() == Some(middle));
    if taken {
        let help = "name the link between the two hinges, or take the line out";
        entry.fault("is the parent or the child", "the cross is a link of its own", help);
    }
    !taken
}

/// Two names that nothing else has.
fn names(
    table: &Section<'_>,
    key: &str,
    line: &str,
    seen: &mut BTreeSet<String>,
) -> Option<[String; 2]> {
    let items = table.required(key, line)?.items_of::<2>(&format!("two names: {line}"))?;
    let [first, second] = items.map(|entry| {
        let name = entry.name()?;
        if !seen.insert(name.clone()) {
            let label = format!("\"{}\" names another joint or motor", clipped(&name));
            entry.fault("has a name twice", &label, "give each joint and motor its own name");
            return None;
        }
        Some(name)
    });
    Some([first?, second?])
}
