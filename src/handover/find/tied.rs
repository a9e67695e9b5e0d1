//! Loops that one motor moves together: the two sides of a gripper, a pair of legs.

use serde::Serialize;

use std::collections::BTreeMap;

use super::FoundLoop;
use super::drives::Drives;
use crate::robot::Robot;

/// Loops of one mechanism.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TiedLoops {
    /// The names of its loops, in the order of the file.
    pub loops: Vec<String>,
    /// What makes one of them, as a clause.
    pub tied_by: String,
}

/// Tells each loop the mechanism that it is a part of.
pub(super) fn group(robot: &Robot, drives: &Drives, found: &mut [FoundLoop]) {
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, one) in found.iter().enumerate() {
        if let Some(group) = group_of(drives, one) {
            groups.entry(group).or_default().push(at);
        }
    }
    for members in groups.into_values().filter(|members| members.len() > 1) {
        let names = |at: &usize| found.get(*at).map(|one| one.name.clone());
        let loops: Vec<String> = members.iter().filter_map(names).collect();
        let tied_by = tied_by(robot, drives, found, &members);
        for at in members {
            let mechanism = TiedLoops { loops: loops.clone(), tied_by: tied_by.clone() };
            found.get_mut(at).into_iter().for_each(|one| one.mechanism = Some(mechanism.clone()));
        }
    }
}

/// The group of the joints on its carrier.
fn group_of(drives: &Drives, one: &FoundLoop) -> Option<usize> {
    let four_bar = one.four_bar.as_ref()?;
    let motor = four_bar.roles.motor.or(four_bar.crank_joint())?;
    Some(drives.group(motor))
}

fn tied_by(robot: &Robot, drives: &Drives, found: &[FoundLoop], members: &[usize]) -> String {
    let motors = members.iter().filter_map(|at| found.get(*at)?.four_bar.as_ref()?.motor());
    let motors: Vec<usize> = motors.collect();
    let names = motors
        .iter()
        .map(|id| format!("{:?}", robot.joint_name(*id)))
        .collect::<Vec<_>>()
        .join(" and ");
    match motors.iter().find_map(|motor| drives.tie_of(*motor)) {
        Some(place) => format!("{names} are tied ({})", super::drives::line(robot, place)),
        None => format!("one drive moves {names}"),
    }
}
