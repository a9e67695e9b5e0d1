//! The loop, or the pair of loops, that a name stands for.

use super::found::FoundLoop;
use super::two_rods::TwoJointLoops;
use crate::robot::Robot;

/// The loop of this name, or of the driven joint of this name; the only one where none is named.
///
/// # Errors
/// That there is none such, with the names that there are.
pub fn named<'a>(
    robot: &Robot,
    loops: &'a [FoundLoop],
    name: Option<&str>,
) -> Result<&'a FoundLoop, String> {
    let drives = |found: &FoundLoop, name: &str| {
        let joint =
            found.four_bar.as_ref().and_then(|f| f.joint()).and_then(|id| robot.joints.get(id));
        joint.is_some_and(|joint| joint.name == name)
    };
    let found = match name {
        Some(name) => {
            loops.iter().find(|l| l.name == name).or_else(|| loops.iter().find(|l| drives(l, name)))
        }
        None => loops.first().filter(|_| loops.len() == 1),
    };
    found.ok_or_else(|| {
        let names: Vec<&str> = loops.iter().map(|l| l.name.as_str()).collect();
        let known = match names.as_slice() {
            [] => "the file holds no closed loop".to_owned(),
            names => format!("it holds {}", names.join(", ")),
        };
        let what = name.map_or("--loop NAME is missing".to_owned(), |n| {
            format!("--loop: there is no loop {n:?}")
        });
        format!("{what}; {known}")
    })
}

/// The pair of this name, with a loop or a joint of this name; the only one where none is named and the file has no other loop.
#[must_use]
pub fn named_pair<'a>(
    loops: &[FoundLoop],
    pairs: &'a [TwoJointLoops],
    name: Option<&str>,
) -> Option<&'a TwoJointLoops> {
    let mut understood = pairs.iter().filter(|pair| pair.drive.is_some());
    let Some(name) = name else {
        let is_alone = loops.iter().all(FoundLoop::is_of_two_joints);
        return understood.next().filter(|_| is_alone && understood.next().is_none());
    };
    let each: Vec<&TwoJointLoops> = understood.collect();
    let is_of = |pair: &TwoJointLoops| {
        let mut names = pair.loops.iter().chain(&pair.joints);
        names.any(|own| own == name)
    };
    // By its own name one that is not understood is found too, so that what stands against it is told.
    let own = pairs.iter().find(|pair| pair.name == name);
    own.or_else(|| each.into_iter().find(|pair| is_of(pair)))
}
