//! Takes a linkage out of a robot file and puts the direct joint in, with every other byte kept.
//!
//! `gone` says what goes, `stand_in::in_file` what the driven joint gets and what the links weigh then; `urdf`, `sdformat`
//! and `mjcf` turn that into edits of their format, and `mentions` finds what else in the file speaks of what goes.
//! What cannot be followed refuses the fold, each place named.

mod all;
mod beside;
mod borne;
mod coupled;
mod cut;
mod driven;
mod fault;
mod gone;
mod in_space;
mod inertial;
mod jaw;
mod mentions;
mod mimic;
mod mjcf;
mod mjcf_actuators;
mod mjcf_keys;
mod mjcf_ties;
mod numbers;
mod rehung;
mod said;
mod sdformat;
mod seen;
mod springs;
mod tendon;
mod two_joints;
mod urdf;
mod verdict;
mod visuals;

use std::ops::{Deref, Range};

use super::find::{Bodies, FoundLoop, FourBarLoop, limited_pins};
use super::stand_in::Coupled;
use super::stand_in::in_file::bodies::NewBodies;
use super::stand_in::in_file::figures::Figures;
use super::stand_in::in_file::{FileDrive, Motion};
use super::{ActuatorUnits, Form, LimitBasis};
use crate::diagnostic::Diagnostic;
use crate::dynamics::MeasuredOver;
use crate::robot::{
    Document, Edits, Element, FileJoint, Format, Inertial, JointKind, Remark, Robot,
};

use cut::{Cut, MovedMotor, Onto, Part};
use gone::{Gone, GoneBytes};
use seen::Seen;

pub use super::emit::json_text as joint_json;
pub use super::emit_two_joints::json_text as joints_json_text;
pub use all::{FoldedAll, Wanted, fold_all};
pub use beside::joints_beside;
pub use fault::FoldFault;
pub use two_joints::{FoldedTwoJoints, fold_two_joints, spoken_of_two_joints};

/// How to fold.
#[derive(Clone, Copy, Debug)]
pub struct FoldOptions {
    /// What stands in the file afterwards.
    pub model: Form,
    /// Whatever the verdict says.
    pub anyway: bool,
    /// Crank and rod stay to be seen, without mass.
    pub keep_visuals: bool,
    /// Which figures become limits.
    pub limits: LimitBasis,
    /// The units of an MJCF actuator's control signal.
    pub actuator: ActuatorUnits,
}

/// A robot file without its loop.
#[derive(Clone, Debug)]
pub struct Folded {
    /// The new text.
    pub text: String,
    /// What the user should know.
    pub notes: Vec<String>,
    /// Largest error of kinetic energy against the closed loop, as a share, and over which motions.
    pub inertia_error: Option<(MeasuredOver, f64)>,
    /// What the file says now, for the JSON beside it.
    file: beside::FileSays,
}

/// Everything that one fold knows.
struct Job<'a> {
    drive: FileDrive<'a>,
    cut: Cut<'a>,
    figures: Figures,
    /// What the file says of crank and joint, in the coupled form.
    coupled: Option<Coupled>,
    /// The tendon that a linear actuator becomes, in the coupled form.
    tendon: Option<tendon::PinTendon>,
}

/// What a format's part gives back.
#[derive(Default)]
struct Changes {
    edits: Edits,
    faults: Vec<FoldFault>,
    notes: Vec<String>,
    /// Tendons of a section that the file has none of yet.
    tendons: Vec<String>,
    /// Rest (joint reading, rad) and stiffness (N m/rad) of the driven joint's new spring.
    spring: Option<[f64; 2]>,
}

impl Changes {
    /// The new text with its notes, or all that stands against it.
    fn made(self, cut: &Cut<'_>) -> Result<(String, Vec<String>), Vec<FoldFault>> {
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        let text = self.edits.apply(cut.document).map_err(|overlap| vec![overlaps(&overlap.1)])?;
        let robot = cut.robot;
        let told = |one: &Remark| format!("{}: {}", robot.whereabouts(one.place), one.message);
        let settings = robot.settings.iter().map(told).collect();
        Ok((text, [cut.new.notes.clone(), self.notes, settings].concat()))
    }
}

impl<'a> Deref for Job<'a> {
    type Target = FileDrive<'a>;

    fn deref(&self) -> &FileDrive<'a> {
        &self.drive
    }
}

impl Cut<'_> {
    /// Takes links and joints that go out of the file, and gives their bytes.
    fn take_out(&self, changes: &mut Changes) -> GoneBytes {
        let places = self.gone.places(self.robot);
        let elements = places.into_iter().filter_map(|place| self.robot.element(place));
        let elements = elements.filter(|element| matches!(element.name(), "link" | "joint"));
        self.gone.take_out(self.robot, elements, changes)
    }

    /// Writes what the links weigh now, in the format's own way.
    fn write_bodies(&self, write: fn(Element<'_>, &Inertial, &mut Changes), changes: &mut Changes) {
        for (id, inertial) in &self.new.links {
            let link = self.robot.links.get(*id);
            if let Some(element) = link.and_then(|link| self.robot.element(link.place)) {
                write(element, inertial, changes);
            }
        }
    }
}

/// Folds one loop of a robot file.
///
/// # Errors
/// All that stands against it, never an empty list: the verdict and its limit of inertia (unless
/// [`FoldOptions::anyway`]), obstacles of the loop, and every place that speaks of what goes and cannot be followed.
pub fn fold(
    robot: &Robot,
    found: &FoundLoop,
    options: FoldOptions,
) -> Result<Folded, Vec<FoldFault>> {
    let parts = verdict::foldable(robot, found)?;
    let against = verdict::against(robot, found, options);
    match (against, attempt(robot, found, parts, options)) {
        (None, outcome) => outcome,
        (Some(fault), outcome) => {
            let mut faults = outcome.err().unwrap_or_default();
            // The same verdict in other words.
            faults.retain(|other| other.verdict.is_none());
            let help = verdict::ways(robot, found, parts, options, &faults);
            faults.insert(0, fault.with_help(&help));
            Err(faults)
        }
    }
}

/// The fold, whatever the verdict says; its own figure of inertia is held against the limit.
fn attempt(
    robot: &Robot,
    found: &FoundLoop,
    parts: Foldable<'_>,
    options: FoldOptions,
) -> Result<Folded, Vec<FoldFault>> {
    let all = Bodies::new(robot);
    let (job, other) = jobs(robot, found, parts, &all, options)?;
    let mut changes = Changes::default();
    let each = || [Some(&job), other.as_ref()].into_iter().flatten();
    changes.faults.extend(elsewhere(&job.cut, each().flat_map(|job| [job.motor, job.driven])));
    changes.faults.extend(job.cut.masses_of_the_engine());
    for job in each() {
        changes.faults.extend(nameless(&job.cut, job.driven));
        borne::look(&job.cut, &mut changes);
        let [carrier, moving @ ..] = job.four_bar.bodies();
        borne::unread_masses(&job.cut, carrier, &moving, &mut changes);
        driven_joint(job, &mut changes);
        if job.is_jaw() {
            rehung::place(job, &mut changes);
            jaw::follow(job, &mut changes);
        }
    }
    match robot.format {
        Format::Urdf => urdf::change(&job, &mut changes),
        Format::Sdformat => sdformat::change(&job, &mut changes),
        Format::Mjcf => mjcf::change(&job, &mut changes),
    }
    each().for_each(|job| rehung::hang(job, &mut changes));
    if let Some(fault) = verdict::too_heavy(&job, found) {
        let help = verdict::ways(robot, found, parts, options, &changes.faults);
        changes.faults.insert(0, fault.with_help(&help));
    }
    let (text, mut notes) = changes.made(&job.cut)?;
    notes.extend(jaw::note(found));
    if let Motion::Space(drive, _) = parts.motion {
        let limited = limited_pins(robot, parts.four_bar, drive).into_iter();
        notes.extend(
            limited.map(|joint| {
                format!("the limits of the rod's own joint {:?} go with it", joint.name)
            }),
        );
    }
    notes.extend(shift_note(&job));
    Ok(Folded {
        text,
        notes,
        inertia_error: job.cut.new.error,
        file: beside::FileSays::of(&job, other.as_ref()),
    })
}

/// Springs, limits and losses of the joint that takes them over.
fn driven_joint(job: &Job<'_>, changes: &mut Changes) {
    let Some(element) = job.robot.element(job.driven.place) else { return };
    changes.spring = None;
    springs::carry(job, element, changes);
    match job.robot.format {
        Format::Urdf => urdf::driven_joint(job, element, changes),
        Format::Sdformat => sdformat::driven_joint(job, element, changes),
        Format::Mjcf => mjcf::driven_joint(job, element, changes),
    }
}

/// What another file, such as a scene that includes the robot, says of what the fold takes out or moves: each a fault at
/// its place in `document`. Empty where the loop cannot be folded at all.
#[must_use]
pub fn spoken_of(
    robot: &Robot,
    found: &FoundLoop,
    options: FoldOptions,
    document: &Document,
) -> Vec<Diagnostic> {
    let all = Bodies::new(robot);
    let Ok(parts) = verdict::foldable(robot, found) else { return Vec::new() };
    let Ok((job, _)) = jobs(robot, found, parts, &all, options) else { return Vec::new() };
    match robot.format {
        Format::Mjcf => mjcf::spoken_of(&job.cut, document),
        Format::Urdf | Format::Sdformat => mentions::spoken_of(&job, document),
    }
}

/// The parts of a loop that can be folded.
#[derive(Clone, Copy)]
struct Foldable<'a> {
    four_bar: &'a FourBarLoop,
    motion: Motion<'a>,
}

/// What the file's other parts, and software, speak of the driven joint by.
fn nameless(cut: &Cut<'_>, driven: &FileJoint) -> Option<FoldFault> {
    if !driven.name.is_empty() {
        return None;
    }
    let line = cut.line(cut.robot.element(driven.place)?);
    let message = "the driven joint has no name for its motor and its software to speak of";
    let help = format!("give the joint on line {line} a name, then fold");
    Some(FoldFault::at_place(cut.robot, driven.place, message, &help))
}

/// The loop's own job, and that of the finger which goes with it.
fn jobs<'a>(
    robot: &'a Robot,
    found: &'a FoundLoop,
    parts: Foldable<'a>,
    bodies: &'a Bodies,
    options: FoldOptions,
) -> Result<(Job<'a>, Option<Job<'a>>), Vec<FoldFault>> {
    match &found.jaw {
        Some(jaw) => jaw::jobs(robot, jaw, parts, bodies, options),
        None => Ok((job(robot, parts, bodies, options)?, None)),
    }
}

fn job<'a>(
    robot: &'a Robot,
    Foldable { four_bar, motion }: Foldable<'a>,
    bodies: &'a Bodies,
    options: FoldOptions,
) -> Result<Job<'a>, Vec<FoldFault>> {
    let joint = |id: Option<usize>| id.and_then(|id| robot.joints.get(id));
    let nothing = || vec![FoldFault::of(Diagnostic::error("the loop has no hinge at its carrier"))];
    let document = robot.documents.first().ok_or_else(nothing)?;
    let driven = joint(four_bar.joint()).ok_or_else(nothing)?;
    let motor = match motion {
        Motion::Plane(_) => four_bar.crank_joint(),
        Motion::Space(found, _) => found.motor,
    };
    let motor = joint(motor).ok_or_else(nothing)?;
    let FoldOptions { model: form, limits, .. } = options;
    if form == Form::Loop {
        return Err(vec![is_loop(robot, driven)]);
    }
    let drive = FileDrive { robot, bodies, four_bar, motion, driven, motor, form, limits };
    let fault = |why, help| vec![FoldFault::at_place(robot, driven.place, why, help)];
    if let Some((why, help)) = in_space::unfit(&drive, options) {
        return Err(fault(why, help));
    }
    let figures = Figures::of(&drive);
    let mut new = drive.new_bodies(&figures).map_err(|why| {
        fault(why, "give carrier, crank, rod and child their real masses, then fold")
    })?;
    new.links.iter_mut().for_each(|(_, inertial)| *inertial = inertial::rounded(inertial));
    let tendon = tendon::PinTendon::of(&drive);
    let keeps_crank = form == Form::Coupled && tendon.is_none();
    let coupled = keeps_crank.then(|| drive.coupled()).transpose().map_err(|_| {
        let why = "the coupling cannot be fitted: the stroke reaches a dead point";
        fault(why.to_owned(), "shorten the stroke by the joint's limits, or keep the loop")
    })?;
    let gone = if options.keep_visuals && form == Form::Direct {
        Gone::closing(four_bar)
    } else {
        Gone::of(robot, bodies, four_bar, keeps_crank)
    };
    let motors = moved(&drive, &figures, &new, tendon).into_iter().collect();
    let parts = parts_of(four_bar, &[1, 2]);
    let cut = Cut { robot, bodies, document, options, gone, new, parts, motors };
    Ok(Job { drive, cut, figures, coupled, tendon })
}

/// The bodies of these numbers.
fn parts_of<'a>(four_bar: &'a FourBarLoop, which: &[usize]) -> Vec<Part<'a>> {
    let bodies = four_bar.bodies();
    let each = which.iter().filter_map(|at| {
        let bar = four_bar.links.get(*at).copied();
        Some(Part { at: *at, body: *bodies.get(*at)?, pins: &four_bar.pins, bar })
    });
    each.collect()
}

/// What the motor's actuators act on now: the tendon of a linear actuator, else the driven joint; `None` where the motor
/// stays.
fn moved<'a>(
    drive: &FileDrive<'a>,
    figures: &Figures,
    new: &NewBodies,
    tendon: Option<tendon::PinTendon>,
) -> Option<MovedMotor<'a>> {
    let (onto, seen) = match tendon {
        Some(tendon) => (Onto::Tendon(tendon::name(drive.driven)), tendon.seen()),
        None if drive.motor_moves() => {
            let seen = Seen {
                line: figures.line(),
                share: figures.torque_share,
                armature_share: figures.actuators_share(new.armature),
            };
            (Onto::Joint(drive.driven), seen)
        }
        None => return None,
    };
    Some(MovedMotor { id: drive.motor_joint()?, joint: drive.motor, onto, seen })
}

fn is_loop(robot: &Robot, driven: &FileJoint) -> FoldFault {
    let help = "fold it to the direct joint or to the coupled crank";
    FoldFault::at_place(robot, driven.place, "the file has the closed loop as it is", help)
}

/// What goes or changes must stand in the file itself: an included one may serve other robots too.
fn elsewhere<'a>(cut: &Cut<'_>, joints: impl Iterator<Item = &'a FileJoint>) -> Vec<FoldFault> {
    let Cut { robot, gone, new, .. } = cut;
    let mut places = gone.places(robot);
    places.extend(joints.map(|joint| joint.place));
    let moved = gone.moved.iter().flat_map(|moved| [moved.seat.link, moved.seat.onto]);
    let links = new.links.iter().map(|(id, _)| *id).chain(moved);
    places.extend(links.filter_map(|id| robot.links.get(id)).map(|link| link.place));
    places.sort();
    places.dedup();
    places.retain(|place| place.document != 0);
    let help = "put the included file's text into the robot file, or fold where it stands";
    places
        .into_iter()
        .map(|place| {
            FoldFault::at_place(
                robot,
                place,
                "what the fold changes stands in an included file",
                help,
            )
        })
        .collect()
}

fn overlaps(place: &Range<usize>) -> FoldFault {
    FoldFault::of(
        Diagnostic::error("two changes want the same place of the file")
            .at(place.clone())
            .help("write each element on its own"),
    )
}

/// What software that knew the motor's readings must do.
fn shift_note(job: &Job<'_>) -> Option<String> {
    if !job.motor_moves() || job.figures.is_identity() {
        return None;
    }
    let unit = if job.motor.kind == JointKind::Prismatic { "m" } else { "rad" };
    let shift = match job.figures.shift {
        x if x > 0.0 => format!(" + {} {unit}", numbers::text(x)),
        x if x < 0.0 => format!(" − {} {unit}", numbers::text(-x)),
        _ => String::new(),
    };
    Some(format!(
        "what {:?} read is now {} · the reading of {:?}{shift}",
        job.motor.name,
        numbers::text(job.figures.slope),
        job.driven.name,
    ))
}
