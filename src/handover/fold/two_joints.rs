//! The fold of two loops that turn one body about two joints: pitch and roll stay, cranks, rods and closures go, and each motor's
//! actuator pulls a tendon of its own.
//!
//! | form | the tendon |
//! |---|---|
//! | direct | a sum of both joints' readings, its figures a row of the constant matrix |
//! | coupled | from pin to pin of a linear actuator, exact |

use super::cut::{Cut, MovedMotor, Onto, Part};
use super::gone::Gone;
use super::numbers::{is_same, text};
use super::seen::Seen;
use super::tendon::{self, Properties};
use super::verdict::{cure, over_limit};
use super::{Changes, FoldFault, FoldOptions, borne, elsewhere, inertial, mjcf, nameless};
use crate::design::TwoJointRobot;
use crate::diagnostic::{Code, Diagnostic};
use crate::dynamics::MeasuredOver;
use crate::equivalence::{Criterion, Verdict};
use crate::handover::Form;
use crate::handover::find::{Bodies, JudgedTwoJoints, TwoJointLoops, TwoRodsInFile};
use crate::handover::joints_json::{JointsJson, joints_json};
use crate::handover::stand_in::two_joints::in_file::{Along, MotorTendon, Stands, TwoJointsInFile};
use crate::robot::{Document, FileJoint, Format, JointId, JointKind, LinkId, Robot};

/// A robot file without one of its double loops.
#[derive(Clone, Debug)]
pub struct FoldedTwoJoints {
    /// The new text.
    pub text: String,
    /// What the user should know.
    pub notes: Vec<String>,
    /// Largest error of kinetic energy against the closed loops, as a share, and over which motions.
    pub inertia_error: Option<(MeasuredOver, f64)>,
    /// What no format holds; `None` where the joints, motors or links have no names to speak of.
    pub joints: Option<JointsJson>,
}

/// Folds one double loop of a robot file.
///
/// # Errors
/// All that stands against it, never an empty list: obstacles, the verdict and its limit of inertia (unless
/// [`FoldOptions::anyway`]), and every place that speaks of what goes and cannot be followed.
pub fn fold_two_joints(
    robot: &Robot,
    found: &TwoJointLoops,
    options: FoldOptions,
) -> Result<FoldedTwoJoints, Vec<FoldFault>> {
    let parts = foldable(robot, found, options)?;
    let outcome = attempt(robot, found, parts, options);
    let Some(fault) = against(robot, found, options) else { return outcome };
    let mut faults = outcome.err().unwrap_or_default();
    // The same verdict in other words.
    faults.retain(|other| other.verdict.is_none());
    let help = ways(robot, found, parts, options);
    faults.insert(0, fault.with_help(help));
    Err(faults)
}

/// What another file says of what the fold takes out: each a fault at its place in `document`. Empty where the loops cannot be
/// folded at all.
#[must_use]
pub fn spoken_of_two_joints(
    robot: &Robot,
    found: &TwoJointLoops,
    options: FoldOptions,
    document: &Document,
) -> Vec<Diagnostic> {
    let Ok(parts) = foldable(robot, found, options) else { return Vec::new() };
    let bodies = Bodies::new(robot);
    let job = Job::new(robot, &bodies, parts, options);
    job.map_or_else(|_| Vec::new(), |job| mjcf::spoken_of(&job.cut, document))
}

/// What can be folded.
type Foldable<'a> = (&'a TwoRodsInFile, &'a JudgedTwoJoints);

/// The parts of the pair, where nothing but the verdict can stand against folding it.
fn foldable<'a>(
    robot: &Robot,
    found: &'a TwoJointLoops,
    options: FoldOptions,
) -> Result<Foldable<'a>, Vec<FoldFault>> {
    let each = found.obstacles.iter();
    let faults: Vec<FoldFault> = each
        .map(|o| refused(robot, found, o.code, &o.message).with_help(cure(o.code)))
        .chain(unfit(robot, found, options))
        .collect();
    match (&found.drive, &found.judged) {
        (Some(drive), Some(judged)) if faults.is_empty() => Ok((drive, judged)),
        _ if faults.is_empty() => {
            let fault = refused(robot, found, "not_judged", "it cannot be judged");
            Err(vec![fault.with_help(cure("not_judged"))])
        }
        _ => Err(faults),
    }
}

/// What is asked has no meaning for two joints, or the file has no place for it.
fn unfit(robot: &Robot, found: &TwoJointLoops, options: FoldOptions) -> Option<FoldFault> {
    let (why, help) = if robot.format != Format::Mjcf {
        (
            "two loops that turn one body are folded in MJCF files only".to_owned(),
            "write its design with find --design, and emit its joints".to_owned(),
        )
    } else if options.keep_visuals {
        (
            "its rods follow no line of one joint, and are not kept to be seen".to_owned(),
            "leave --keep-visuals out".to_owned(),
        )
    } else if options.model == Form::Loop {
        (
            "the file has the closed loops as they are".to_owned(),
            "fold them with --model direct".to_owned(),
        )
    } else {
        let judged = found.judged.as_ref()?;
        held(judged, options)?
    };
    Some(refused(robot, found, "two_rods", &why).with_help(&help))
}

/// Why no element of the file holds the drive in this form, and what to do.
fn held(judged: &JudgedTwoJoints, options: FoldOptions) -> Option<(String, String)> {
    use crate::handover::stand_in::{Ask, TwoJointsAsked};
    let JudgedTwoJoints { design, of, check } = judged;
    let ask = Ask::new(options.model, Format::Mjcf);
    let asked = TwoJointsAsked::of_design(design, of, check, (None, &[]), ask);
    let why = asked.unheld()?;
    let help = "take --model direct, which writes a tendon a motor for a constant matrix, or keep both loops";
    Some((why.to_owned(), help.to_owned()))
}

fn refused(robot: &Robot, found: &TwoJointLoops, code: &str, message: &str) -> FoldFault {
    let diagnostic = Diagnostic::error(format!("loops of {:?}: {message}", found.name));
    let pitch = robot.joint_named(&found.joints[0]).and_then(|id| robot.joints.get(id));
    let place = pitch.map(|joint| joint.place);
    FoldFault::placed(robot, place, diagnostic.code(Code::named(code)))
}

/// The verdict, where it stands against two direct joints.
fn against(robot: &Robot, found: &TwoJointLoops, options: FoldOptions) -> Option<FoldFault> {
    let check = &found.judged.as_ref()?.check;
    let stands = check.verdict == Verdict::Equivalent || options.model != Form::Direct;
    if stands || options.anyway {
        return None;
    }
    let mut fault = refused(robot, found, "verdict", &check.reason);
    fault.verdict = Some(check.verdict);
    Some(fault)
}

/// What would do instead, each tried: what is said here works.
fn ways(
    robot: &Robot,
    found: &TwoJointLoops,
    parts: Foldable<'_>,
    options: FoldOptions,
) -> &'static str {
    let coupled = FoldOptions { model: Form::Coupled, ..options };
    let keeps = options.model == Form::Direct
        && foldable(robot, found, coupled).is_ok()
        && attempt(robot, found, parts, coupled).is_ok();
    let anyway = attempt(robot, found, parts, FoldOptions { anyway: true, ..options }).is_ok();
    match (anyway, keeps) {
        (true, true) => {
            "--anyway folds it all the same, --model coupled writes both actuators as tendons from pin to pin, exact"
        }
        (true, false) => "--anyway folds it all the same; else keep both loops",
        (false, true) => {
            "--model coupled writes both actuators as tendons from pin to pin, exact; else keep both loops"
        }
        (false, false) => {
            "keep both loops; mend what is named below as well before --anyway can fold them"
        }
    }
}

/// One fold of a double loop.
struct Job<'a> {
    file: TwoJointsInFile<'a>,
    cut: Cut<'a>,
    stands: Stands,
    pitch_and_roll: [&'a FileJoint; 2],
    motors: [&'a FileJoint; 2],
}

impl<'a> Job<'a> {
    fn new(
        robot: &'a Robot,
        bodies: &'a Bodies,
        (found, judged): Foldable<'a>,
        options: FoldOptions,
    ) -> Result<Self, Vec<FoldFault>> {
        let nothing = || vec![FoldFault::of(Diagnostic::error("the loops have no joints"))];
        let document = robot.documents.first().ok_or_else(nothing)?;
        let joints = |ids: [JointId; 2]| -> Option<[&'a FileJoint; 2]> {
            Some([robot.joints.get(ids[0])?, robot.joints.get(ids[1])?])
        };
        let pitch_and_roll = joints(found.joints).ok_or_else(nothing)?;
        let motors = joints(found.motors).ok_or_else(nothing)?;
        let (form, limits) = (options.model, options.limits);
        let names = [names(robot, found)];
        let file = TwoJointsInFile { robot, bodies, found, judged, form, limits, names };
        let mut stands = file.stands().map_err(|why| {
            let help = "give carrier, cranks, rods and child their real masses, then fold";
            vec![FoldFault::at_place(robot, pitch_and_roll[0].place, why, help)]
        })?;
        let new = std::mem::take(&mut stands.new);
        let mut cut = Cut {
            robot,
            bodies,
            document,
            options,
            gone: gone(robot, bodies, found),
            new,
            parts: parts(robot, bodies, found),
            motors: Vec::new(),
        };
        cut.new.links.iter_mut().for_each(|(_, own)| *own = inertial::rounded(own));
        let each = stands.tendons.iter().zip(found.motors).zip(motors).enumerate();
        let moved = each.map(|(k, ((tendon, id), joint))| MovedMotor {
            id,
            joint,
            onto: Onto::Tendon(tendon.name.clone()),
            seen: Seen {
                line: tendon.line,
                share: 1.0,
                armature_share: actuators_share(tendon.armature, file.on_actuators(k)),
            },
        });
        cut.motors = moved.collect();
        Ok(Self { file, cut, stands, pitch_and_roll, motors })
    }

    /// Each motor's tendon and what the motor's joint was.
    fn tendons(&self) -> impl Iterator<Item = (&MotorTendon, &'a FileJoint)> {
        self.stands.tendons.iter().zip(self.motors)
    }
}

/// The share of their armature that the motor's actuators keep: all, but where that is more than the whole.
fn actuators_share(whole: f64, own: f64) -> f64 {
    if whole < own { whole / own } else { 1.0 }
}

fn names(robot: &Robot, found: &TwoRodsInFile) -> TwoJointRobot {
    let [joints, motors] =
        [found.joints, found.motors].map(|ids| ids.map(|id| robot.joint_name(id).to_owned()));
    let link = |id: usize| robot.link_name(id).to_owned();
    TwoJointRobot {
        joints,
        motors,
        motor_signs: [1.0; 2],
        parent: link(found.parent),
        middle: link(found.middle.unwrap_or(found.child)),
        child: link(found.child),
    }
}

/// Cranks and rods, and what holds them.
fn gone(robot: &Robot, bodies: &Bodies, found: &TwoRodsInFile) -> Gone {
    let each = found.bodies.as_flattened().iter();
    let links = each.flat_map(|body| bodies.links(bodies.of_link(*body))).collect();
    Gone::hanging_on(robot, links)
}

/// Both bodies of both loops.
fn parts<'a>(robot: &Robot, bodies: &Bodies, found: &'a TwoRodsInFile) -> Vec<Part<'a>> {
    let each = found.bodies.iter().zip(&found.pins).flat_map(|(own, pins)| {
        own.iter().zip(pins).zip(1..).map(|((body, before), at)| Part {
            at,
            body: bodies.of_link(*body),
            pins,
            bar: Some(before.links[1]).filter(|link| robot.links.get(*link).is_some()),
        })
    });
    each.collect()
}

/// The fold, whatever the verdict says; its own figure of inertia is held against the limit.
fn attempt(
    robot: &Robot,
    found: &TwoJointLoops,
    parts: Foldable<'_>,
    options: FoldOptions,
) -> Result<FoldedTwoJoints, Vec<FoldFault>> {
    let bodies = Bodies::new(robot);
    let job = Job::new(robot, &bodies, parts, options)?;
    let mut changes = Changes::default();
    let joints = job.pitch_and_roll.iter().chain(&job.motors).copied();
    changes.faults.extend(elsewhere(&job.cut, joints));
    changes.faults.extend(job.cut.masses_of_the_engine());
    let TwoRodsInFile { parent, middle, child, bodies: rods, .. } = parts.0;
    let links = [*middle, Some(*child)].into_iter().flatten();
    let links = links.chain(rods.as_flattened().iter().copied());
    let own: Vec<LinkId> = links.map(|link| bodies.of_link(link)).collect();
    borne::unread_masses(&job.cut, bodies.of_link(*parent), &own, &mut changes);
    changes.faults.extend(job.pitch_and_roll.iter().filter_map(|joint| nameless(&job.cut, joint)));
    borne::look(&job.cut, &mut changes);
    losses_of_pins(&job, &mut changes);
    armatures(&job, &mut changes);
    tendons(&job, &mut changes);
    mjcf::take_out(&job.cut, &mut changes);
    if let Some(fault) = too_heavy(&job, robot, found) {
        let help = "--anyway folds it all the same; else keep both loops";
        changes.faults.insert(0, fault.with_help(help));
    }
    let (text, notes) = changes.made(&job.cut)?;
    Ok(FoldedTwoJoints { text, notes, inertia_error: job.cut.new.error, joints: beside(&job) })
}

fn beside(job: &Job<'_>) -> Option<JointsJson> {
    let [names] = &job.file.names;
    let all = names.joints.iter().chain(&names.motors).chain([&names.parent, &names.child]);
    let are_named = all.into_iter().all(|name| !name.is_empty());
    let has_screws = job.file.found.has_no_screw.iter().all(|lacks| !lacks);
    (are_named && has_screws)
        .then(|| joints_json(&job.file.asked(), names, job.stands.tree.as_ref()))
}

/// What the fold's own bodies do to the kinetic energy, over the limit that the verdict has for it.
fn too_heavy(job: &Job<'_>, robot: &Robot, found: &TwoJointLoops) -> Option<FoldFault> {
    let limit = job.file.judged.check.criterion(Criterion::Inertia)?.limit;
    let message = over_limit(job.cut.new.error.filter(|_| !job.cut.options.anyway)?, limit)?;
    let mut fault = refused(robot, found, "verdict", &message);
    fault.verdict = Some(Verdict::NotEquivalent);
    Some(fault)
}

/// What the rods' own pins lose and how far they may turn: no element of what stands in has a place for it.
fn losses_of_pins(job: &Job<'_>, changes: &mut Changes) {
    let found = job.file.found;
    let own = job.cut.gone.joints.iter().filter(|id| !found.motors.contains(id));
    for joint in own.filter_map(|id| job.file.joint(*id)) {
        let figures = [
            ("damping", joint.damping),
            ("friction", joint.friction),
            ("armature", joint.armature),
        ];
        let lost = figures.into_iter().filter(|(_, figure)| figure.is_some_and(|x| x.abs() > 0.0));
        let lost: Vec<&str> = lost.map(|(name, _)| name).collect();
        if !lost.is_empty() {
            let what = format!("{} of joint {:?}", lost.join(", "), joint.name);
            let why =
                format!("{what} counts at a rod's own pin, and has no place on pitch and roll");
            borne::lose(&job.cut, joint.place, &what, (why, "set it to 0"), changes);
        }
        if joint.limit.is_some() {
            let why = format!("the limits of the rod's own joint {:?} go with it", joint.name);
            changes.notes.push(why);
        }
    }
}

/// What of the bodies' inertia no link and no tendon has.
fn armatures(job: &Job<'_>, changes: &mut Changes) {
    for (joint, more) in job.pitch_and_roll.into_iter().zip(job.stands.armatures) {
        let new = joint.armature.unwrap_or(0.0) + more;
        let Some(element) = job.cut.robot.element(joint.place) else { continue };
        if !is_same(joint.armature, new) {
            changes.edits.set(element, "armature", &text(new));
        }
    }
}

/// A tendon for each motor, with what the motor's joint had.
fn tendons(job: &Job<'_>, changes: &mut Changes) {
    let made: Vec<&str> = job.tendons().flat_map(|(tendon, _)| names_of(tendon)).collect();
    if let Some(fault) = tendon::refused(&job.cut, &made) {
        return changes.faults.push(fault);
    }
    for (k, (tendon, motor)) in job.tendons().enumerate() {
        let [slope, shift] = tendon.line;
        let own = (tendon.armature - job.file.on_actuators(k)).max(0.0);
        let mut range = motor.limit.filter(|ends| ends.iter().all(|end| end.is_finite()));
        if let Some(ends) = &mut range {
            *ends = ends.map(|end| (end - shift) / slope);
            ends.sort_by(f64::total_cmp);
        }
        let properties = match Properties::of(&job.cut, &tendon.name, motor) {
            Ok(as_it_was) => Properties { armature: Some(own), range, ..as_it_was },
            Err(fault) => return changes.faults.push(fault),
        };
        match &tendon.along {
            Along::Readings(joints) => tendon::fixed(&job.cut, &properties, joints, changes),
            Along::Points(ends) => {
                for (name, link, at) in ends {
                    tendon::site(&job.cut, (*link, *at), name, changes);
                }
                let names = ends.each_ref().map(|(name, ..)| name.clone());
                tendon::spatial(&job.cut, &properties, &names, changes);
            }
        }
        changes.notes.push(told(tendon, motor));
    }
    if job.stands.tendons.iter().any(|tendon| tendon.armature > 0.0) {
        changes.notes.push(tendon::version_note());
    }
    changes.notes.push(
        "the motors act through tendons: other engines that read this format may leave them out, and then nothing drives the joints".to_owned(),
    );
}

fn names_of(tendon: &MotorTendon) -> Vec<&str> {
    let own = std::iter::once(tendon.name.as_str());
    match &tendon.along {
        Along::Readings(_) => own.collect(),
        Along::Points(ends) => own.chain(ends.iter().map(|(name, ..)| name.as_str())).collect(),
    }
}

/// What software that knew the motor's readings must know.
fn told(tendon: &MotorTendon, motor: &FileJoint) -> String {
    let name = &tendon.name;
    let [_, shift] = tendon.line;
    let Along::Readings(joints) = &tendon.along else {
        return format!(
            "tendon {name:?} runs from pin to pin and is as long as the actuator of {:?}: exact at every pose",
            motor.name
        );
    };
    let sum = joints.iter().enumerate().map(|(at, (joint, share))| {
        let sign = match (at, *share < 0.0) {
            (0, true) => "−",
            (0, false) => "",
            (_, true) => " − ",
            (_, false) => " + ",
        };
        format!("{sign}{} · {joint:?}", text(share.abs()))
    });
    let unit = if motor.kind == JointKind::Prismatic { "m" } else { "rad" };
    let shift = match shift {
        x if x > 0.0 => format!(" + {} {unit}", text(x)),
        x if x < 0.0 => format!(" − {} {unit}", text(-x)),
        _ => String::new(),
    };
    format!(
        "what {:?} read is now {}{shift}, the length of tendon {name:?}: a constant matrix in place of the rods'",
        motor.name,
        sum.collect::<String>()
    )
}
