//! The verdict on what was found, by its design file: one way for every kind of drive.

use super::cycles::Bodies;
use super::found::{FoundLoop, Judged, JudgedDrive};
use super::obstacle::Obstacle;
use super::{FindOptions, design_text, freedom, masses};
use crate::design::{self, AnyDesign, Rejected};
use crate::robot::Robot;
use crate::study::{self, Driven, Fault};

/// What keeps a loop from being a planar four-bar and stands against no other kind of drive.
const OF_SHAPE: [&str; 4] = ["spatial", "no_hinge", "slider", "several_joints"];

/// Judges a loop where nothing stands against that; else says why not among its obstacles.
pub(super) fn judge(robot: &Robot, bodies: &Bodies, one: &mut FoundLoop, options: FindOptions<'_>) {
    match of_four_bar(robot, bodies, one, options) {
        Some(Ok(judged)) => one.judged = Some(judged),
        Some(Err(obstacle)) => one.obstacles.push(obstacle),
        None => match of_drive(robot, one) {
            Some(Ok(judged)) => {
                one.judged_drive = Some(judged);
                of_shape(one);
            }
            Some(Err(obstacle)) => one.obstacles.push(obstacle),
            None => {}
        },
    }
}

/// What says which kind it is stands against a direct joint no more.
fn of_shape(one: &mut FoundLoop) {
    let (of_shape, others) = one.obstacles.drain(..).partition(|o| OF_SHAPE.contains(&o.code));
    one.obstacles = others;
    one.remarks.splice(0..0, Vec::<Obstacle>::into_iter(of_shape));
}

fn cannot(why: &str) -> Obstacle {
    Obstacle::new("not_judged", format!("cannot be judged: {why}"))
}

fn unread(rejected: &Rejected) -> Obstacle {
    cannot(rejected.diagnostics.first().map_or("", |fault| &fault.message))
}

fn unmoved(faults: &[Fault]) -> Obstacle {
    cannot(faults.first().map_or("", |fault| &fault.message))
}

/// Of a drive that is no planar four-bar, as drawn, whatever the lead of a screw that the file does not give: no error of
/// angle or ratio has it in it; `None` where something else than its shape stands against it.
fn of_drive(robot: &Robot, one: &FoundLoop) -> Option<Result<JudgedDrive, Obstacle>> {
    let (text, found, drive) =
        (one.drive_text.as_ref()?, one.four_bar.as_ref()?, one.drive.as_ref()?);
    if one.obstacles.iter().any(|obstacle| !OF_SHAPE.contains(&obstacle.code)) {
        return None;
    }
    // The motor works on the drive's own motor joint, not on what only follows.
    if found.roles.motor.is_none() || found.roles.motor != drive.motor {
        return None;
    }
    if let Some(why) = freedom::locked(robot, found, drive) {
        return Some(Err(Obstacle::new("over_constrained", why)));
    }
    Some(of_text(&one.name, text))
}

fn of_text(name: &str, text: &str) -> Result<JudgedDrive, Obstacle> {
    let path = format!("{name}.toml");
    let (design, _) = design::parse_any(&path, text).map_err(|rejected| unread(&rejected))?;
    let AnyDesign::OneJoint(design) = design else {
        return Err(cannot("its design is one of a planar four-bar"));
    };
    let checked =
        Driven::of(&design).and_then(|driven| Ok((study::check_on(&design, &driven)?, driven)));
    let (check, driven) = checked.map_err(|faults| unmoved(&faults))?;
    Ok(JudgedDrive { design: *design, driven, check })
}

/// The verdict, where nothing stands against having one; `None` where something does.
fn of_four_bar(
    robot: &Robot,
    bodies: &Bodies,
    one: &FoundLoop,
    options: FindOptions<'_>,
) -> Option<Result<Judged, Obstacle>> {
    let (found, reach) = (one.four_bar.as_ref()?, one.reach.as_ref()?);
    // A joint at its stop can be judged there; only a fold must not take its give away.
    if one.obstacles.iter().any(|obstacle| obstacle.code != "held_at_stop") {
        return None;
    }
    let masses = masses(robot, bodies, found);
    let parts = design_text::DesignParts {
        name: &one.name,
        robot,
        found,
        reach,
        masses: masses.as_ref(),
        preset: options.preset,
        jaw: one.jaw.as_ref(),
    };
    let text = design_text::design_text(&parts);
    Some(of_plane_text(&one.name, text))
}

fn of_plane_text(name: &str, text: String) -> Result<Judged, Obstacle> {
    let path = format!("{name}.toml");
    let (design, _) = design::parse(&path, &text).map_err(|rejected| unread(&rejected))?;
    let checked = study::Mechanism::of(&design)
        .and_then(|mechanism| Ok((study::check_on(&design, &mechanism)?, mechanism)));
    let (check, mechanism) = checked.map_err(|faults| unmoved(&faults))?;
    Ok(Judged { text, design, mechanism, check })
}
