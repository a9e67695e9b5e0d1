//! The fold of a parallel jaw: driver and finger stay, the passive rocker and the closure go, the finger's joint follows the
//! driver's. Both fingers that one motor moves go through it together.

use super::cut::Cut;
use super::gone::Gone;
use super::gone::Moved;
use super::{Changes, FoldFault, FoldOptions, Foldable, Job, inertial, mimic, mjcf_ties, parts_of};
use crate::diagnostic::Diagnostic;
use crate::handover::Form;
use crate::handover::find::{Bodies, FoundLoop, FourBarLoop, Jaw, Reach};
use crate::handover::stand_in::in_file::figures::Figures;
use crate::handover::stand_in::in_file::jaw::FingerLine;
use crate::handover::stand_in::in_file::{FileDrive, Motion, Plane};
use crate::robot::{FileJoint, Format, JointId, Robot};

/// The job of the loop's own finger, and that of its mirror image where the file has it.
pub(super) fn jobs<'a>(
    robot: &'a Robot,
    jaw: &'a Jaw,
    Foldable { four_bar, motion }: Foldable<'a>,
    bodies: &'a Bodies,
    options: FoldOptions,
) -> Result<(Job<'a>, Option<Job<'a>>), Vec<FoldFault>> {
    let nothing = || vec![FoldFault::of(Diagnostic::error("the loop has no hinge at its carrier"))];
    let Motion::Plane(Plane { reach, judged }) = motion else { return Err(nothing()) };
    let document = robot.documents.first().ok_or_else(nothing)?;
    let drive = |four_bar: &'a FourBarLoop, reach: &'a Reach| {
        let driven = robot.joints.get(four_bar.crank_joint()?)?;
        let (form, limits) = (options.model, options.limits);
        let motor = driven;
        let motion = Motion::Plane(Plane { reach, judged });
        Some(FileDrive { robot, bodies, four_bar, motion, driven, motor, form, limits })
    };
    let own = drive(four_bar, reach).ok_or_else(nothing)?;
    let other = jaw.other.as_ref().and_then(|other| drive(&other.four_bar, &other.reach));
    let drives: Vec<FileDrive<'_>> = [Some(own), other].into_iter().flatten().collect();
    let faults: Vec<FoldFault> =
        unfit(&own, options).into_iter().chain(drives.iter().filter_map(hangs_elsewhere)).collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let figures: Vec<Figures> = drives.iter().map(Figures::of).collect();
    let fingers: Vec<_> = drives.iter().copied().zip(&figures).collect();
    let (mut new, armatures) = FileDrive::of_fingers(&fingers).map_err(|why| {
        let help = "give palm, drivers, rockers and fingers their real masses, then fold";
        vec![FoldFault::at_place(robot, own.driven.place, why, help)]
    })?;
    new.links.iter_mut().for_each(|(_, inertial)| *inertial = inertial::rounded(inertial));
    let all: Vec<&FourBarLoop> = drives.iter().map(|drive| drive.four_bar).collect();
    let moved = drives.iter().filter_map(moved).collect();
    let gone = Gone::rockers(robot, bodies, &all, moved);
    let each = drives.iter().zip(figures).zip(armatures).map(|((drive, figures), armature)| {
        let mut new = new.clone();
        new.armature = armature;
        let cut = Cut {
            robot,
            bodies,
            document,
            options,
            gone: gone.clone(),
            new,
            parts: parts_of(drive.four_bar, &[3]),
            motors: Vec::new(),
        };
        Job { drive: *drive, cut, figures, coupled: None, tendon: None }
    });
    let mut each = each.collect::<Vec<_>>().into_iter();
    Ok((each.next().ok_or_else(nothing)?, each.next()))
}

fn at(drive: &FileDrive<'_>, message: &str, help: &str) -> FoldFault {
    FoldFault::at_place(drive.robot, drive.driven.place, message, help)
}

/// What is asked has no meaning for a jaw.
fn unfit(drive: &FileDrive<'_>, options: FoldOptions) -> Option<FoldFault> {
    match options.model {
        Form::Coupled => Some(at(
            drive,
            "a coupled crank stands beside the joint that it drives, and here the coupler itself carries the pad",
            "take --model direct, which writes the counter-turning pair",
        )),
        Form::Loop => Some(at(
            drive,
            "the file has the closed loop as it is",
            "fold it to the counter-turning pair with --model direct",
        )),
        Form::Direct => options.keep_visuals.then(|| {
            at(
                drive,
                "of a jaw driver and finger stay; its rocker alone goes, and is not kept to be seen",
                "leave --keep-visuals out",
            )
        }),
    }
}

/// The finger that the file hangs on the rocker.
fn moved(drive: &FileDrive<'_>) -> Option<Moved> {
    let (seat, line) = (drive.rehung()?, drive.finger_line()?);
    let driver = drive.four_bar.crank_joint()?;
    Some(Moved { seat, driver, line: [line.slope, line.shift] })
}

/// A finger that the file's tree hangs on the rocker would go with it, where the format has no place to hang it elsewhere:
/// URDF's hinges stand at the origin of the link that they bear.
fn hangs_elsewhere(drive: &FileDrive<'_>) -> Option<FoldFault> {
    let found = drive.four_bar;
    let [_, crank, ..] = found.bodies();
    let hangs =
        drive.finger_line().is_some_and(|line| drive.bodies.of_link(line.joint.parent) == crank);
    let is_moved = drive.robot.format == Format::Mjcf && drive.rehung().is_some();
    (!hangs && !is_moved).then(|| {
        FoldFault::at_place(
            drive.robot,
            found.pins[1].place,
            "the finger does not hang on the driver's link by a hinge of the file, and would go with the rocker",
            "hang the finger on the driver's link and close the loop at the rocker's pin, then fold",
        )
    })
}

/// Has the finger's joint follow the driver's.
pub(super) fn follow(job: &Job<'_>, changes: &mut Changes) {
    let Some(line) = job.finger_line() else { return };
    changes.faults.extend(follows_already(job, &line));
    if line.joint.name.is_empty() {
        let message = "the finger's joint needs a name, to follow the driver's";
        let help = "give the joint a name, then fold";
        return changes.faults.push(FoldFault::at_place(
            job.robot,
            line.joint.place,
            message,
            help,
        ));
    }
    match job.robot.format {
        Format::Mjcf => by_equality(job, &line, changes),
        Format::Urdf | Format::Sdformat => {
            let (leader, along) = leader(job.driven, [line.slope, line.shift]);
            mimic::follow(job, line.joint, leader, along, changes);
        }
    }
}

/// A driver that follows another is passed over: many readers follow no chain.
fn leader(driver: &FileJoint, [slope, shift]: [f64; 2]) -> (&str, [f64; 2]) {
    match &driver.mimic {
        Some(led) => (&led.leader, [slope * led.multiplier, slope * led.offset + shift]),
        None => (&driver.name, [slope, shift]),
    }
}

/// The finger follows its own driver, also where that follows the other one's: an engine holds all equalities at once, so
/// that no chain is lost, and each gives way a little under load. As the rocker does, the finger's then holds it against
/// its own crank. Tied to the leading driver, it would turn by what the tie of the two drivers gives way: in a public
/// gripper at 47 N the second pad was off by 0.07 deg and not by 0.04 deg as the first.
fn by_equality(job: &Job<'_>, line: &FingerLine<'_>, changes: &mut Changes) {
    // The engine's polynomial counts from both joints' drawn readings.
    let drawn = line.shift + line.slope * job.driven.drawn_at - line.joint.drawn_at;
    let drawn = if drawn.abs() < DUST { 0.0 } else { drawn };
    let polynomial = [drawn, line.slope, 0.0, 0.0, 0.0];
    mjcf_ties::couple(&job.cut, [&line.joint.name, &job.driven.name], &polynomial, changes);
    let step = 1e3 * mjcf_ties::step(&job.cut);
    changes.notes.push(format!(
        "{:?} follows {:?} by an equality, set for the file's time step of {} ms (solref is twice that): change both together",
        line.joint.name, job.driven.name, super::numbers::text(step)
    ));
}

/// Rounding of poses, rad.
const DUST: f64 = 1e-12;

/// Two ties of one joint fight each other.
fn follows_already(job: &Job<'_>, line: &FingerLine<'_>) -> Option<FoldFault> {
    let of =
        |id: JointId| job.robot.joints.get(id).is_some_and(|joint| joint.place == line.joint.place);
    let tie = job.robot.couplings.iter().find(|tie| tie.is_active && of(tie.follower))?;
    let message = format!("the finger's joint {:?} is tied to another already", line.joint.name);
    let help = "take this line out, then fold";
    Some(FoldFault::at_place(job.robot, tie.place, message, help))
}

/// That the other finger went too.
pub(super) fn note(found: &FoundLoop) -> Option<String> {
    let other = found.jaw.as_ref()?.other.as_ref()?;
    Some(format!(
        "loop {:?}, the other finger of the same motor, is folded with it: one half of a pair is not folded alone",
        other.name
    ))
}
