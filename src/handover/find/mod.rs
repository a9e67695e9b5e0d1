//! Which loops does a robot file hold, and may a direct joint stand for each?
//!
//! `cycles` finds the rings of bodies, `ring` and `pins` say what holds them together, `four_bar` names their parts or
//! says what keeps them from being a four-bar, `reach` how far they may move, `design_text` writes each as a design,
//! and that is read and checked like any other: one way to a verdict.

mod bearing;
mod crossed;
mod cycles;
mod design_text;
mod drive_shapes;
mod drive_stroke;
mod drive_text;
mod drives;
mod file_motor;
mod followers;
mod found;
mod four_bar;
mod freedom;
mod jaw;
mod judge;
mod loop_drive;
mod losses;
mod masses;
mod motor_side;
mod named;
mod names;
mod obstacle;
mod pad_place;
mod pairs;
mod pin_freedom;
mod pins;
mod rates;
mod reach;
mod remarks;
mod restraints;
mod ring;
mod rod_bodies;
mod rod_losses;
mod roles;
mod sets;
mod shared;
mod slide_roles;
mod springs;
mod stated;
mod tied;
mod two_rods;
mod views;
mod written;

use serde::Serialize;

use std::collections::HashMap;

use crate::design::Preset;
use crate::linkage::{Kind, Sweep, classify, kind_of, nearest_special};
use crate::robot::{JointId, Robot};

pub(crate) use bearing::is_more_than_bar;
pub use drives::JointDrive;
pub use followers::UnheldJaw;
pub use found::{
    FoundLoop, Jaw, Judged, JudgedDrive, MirroredFinger, MotorCandidate, Nature, PointDrive,
};
pub use four_bar::FourBarLoop;
pub use loop_drive::LoopDrive;
pub use motor_side::MotorSide;
pub use named::{named, named_pair};
pub use obstacle::Obstacle;
pub use pairs::{MovingPair, pairs};
pub use pins::LoopPin;
pub(crate) use reach::turns;
pub use reach::{EndedBy, Reach, ZeroPose};
pub(crate) use remarks::parts_of;
pub use roles::{MotorSeat, Roles};
pub use shared::{SharedJoints, SharedMotor};
pub use springs::{HeldJoint, LoopSpring};
pub use stated::state_loops;
pub use tied::TiedLoops;
pub use two_rods::{JudgedTwoJoints, TwoJointLoops, TwoRodsInFile};

use drives::Drives;
use names::Names;
use remarks::{remarks, unseen_inertia};
use roles::Look;

pub(crate) use cycles::{Bodies, is_world};
pub(crate) use design_text::readings;
pub(crate) use losses::{Losses, means};
pub(crate) use masses::{
    DrawingFrames, as_read, beside_the_world, carrier_links, masses, unread_mass,
};
pub(crate) use rates::{PIECES, Rates};
pub(crate) use rod_bodies::{RodBodies, RodFrames};
pub(crate) use rod_losses::{limited as limited_pins, rods_own};
pub(crate) use written::GEAR;

/// What `find` says of one file.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "schema", rename = "unloop/find/1")]
pub struct Findings {
    /// The file's name, as it was given.
    pub file: String,
    /// The format's name.
    pub format: &'static str,
    /// The model's name; empty where it has none.
    pub model: String,
    /// How many links it has.
    pub links: usize,
    /// How many joints that move.
    #[serde(rename = "moving_joints")]
    pub joints: usize,
    /// The closed loops.
    pub loops: Vec<FoundLoop>,
    /// Joints that move together without a loop.
    pub pairs: Vec<MovingPair>,
    /// Fingers of a tree whose joints follow a driver, held by no loop.
    pub unheld_jaws: Vec<UnheldJaw>,
    /// Actuators between two points, which stand for linear drives without a loop.
    #[serde(serialize_with = "views::point_drives")]
    pub point_drives: Vec<PointDrive>,
    /// Motors that turn two joints together without a loop.
    pub shared_joints: Vec<SharedJoints>,
    /// Two loops each that turn one body about two joints.
    #[serde(serialize_with = "two_rods::two_joint_loops")]
    pub two_joint_loops: Vec<TwoJointLoops>,
    /// How many elements that make links were not read.
    pub unread: usize,
    /// What was not read and why: `file:line:column` and a clause.
    #[serde(serialize_with = "views::remarks")]
    pub remarks: Vec<(String, String)>,
}

/// Everything that `find` says of a robot.
#[must_use]
pub fn findings(robot: &Robot, options: FindOptions<'_>) -> Findings {
    let file = robot.documents.first().map_or(String::new(), |d| d.path.clone());
    let moving = |joint: &&crate::robot::FileJoint| joint.kind != crate::robot::JointKind::Fixed;
    let remark = |r: &crate::robot::Remark| (robot.whereabouts(r.place), r.message.clone());
    let loops = find(robot, options);
    Findings {
        file,
        format: robot.format.name(),
        model: robot.name.clone(),
        links: robot.links.len(),
        joints: robot.joints.iter().filter(moving).count(),
        pairs: pairs::pairs_beside(robot, &loops),
        shared_joints: shared::shared(robot, &loops),
        unheld_jaws: followers::unheld(robot, |name| {
            loops.iter().any(|one| one.joints.iter().any(|joint| joint == name))
        }),
        loops,
        point_drives: point_drives(robot, options.preset),
        two_joint_loops: find_two_joints(robot, options),
        unread: robot.unread,
        remarks: robot.remarks.iter().chain(&robot.settings).map(remark).collect(),
    }
}

/// The actuators between two points over one hinge.
fn point_drives(robot: &Robot, preset: Preset) -> Vec<PointDrive> {
    let mut names = Names::default();
    let each = robot.shared_drives.iter().filter_map(|shared| {
        let mut drive = drive_shapes::between_points(robot, shared, preset)?.ok()?;
        drive.motor_side = Some(file_motor::of_points(robot, shared, &drive));
        let joint = robot.joint_name(drive.joint).to_owned();
        let name = if shared.name.is_empty() { joint.clone() } else { shared.name.clone() };
        let name = names.unique(name);
        Some(PointDrive {
            text: drive_text::drive_text(&drive_text::DriveParts {
                robot,
                name: &name,
                found: &drive,
                rod: None,
                preset,
            }),
            whereabouts: robot.whereabouts(shared.place),
            name,
            joint,
            drive,
        })
    });
    each.collect()
}

/// How to look.
#[derive(Clone, Copy, Debug)]
pub struct FindOptions<'a> {
    /// The limits of the verdict.
    pub preset: Preset,
    /// Joints that are motors' joints, by name: they overrule the file.
    pub motors: &'a [String],
    /// Links that are carried, by name: they overrule what their shapes say.
    pub children: &'a [String],
}

impl FindOptions<'_> {
    /// With nothing told.
    #[must_use]
    pub fn new(preset: Preset) -> Self {
        Self { preset, motors: &[], children: &[] }
    }

    /// A name that the robot does not have, as a message.
    #[must_use]
    pub fn unknown(&self, robot: &Robot) -> Option<String> {
        let joint = self.motors.iter().find(|name| robot.joint_named(name).is_none());
        let link = self.children.iter().find(|name| robot.link_named(name).is_none());
        joint
            .map(|name| format!("--motor: the robot has no joint {name:?}"))
            .or_else(|| link.map(|name| format!("--child: the robot has no link {name:?}")))
    }
}

/// Every closed loop of the robot, in the order in which the file closes them.
#[must_use]
pub fn find(robot: &Robot, options: FindOptions<'_>) -> Vec<FoundLoop> {
    let bodies = Bodies::new(robot);
    let mut found = measured(robot, options);
    for one in &mut found {
        judge::judge(robot, &bodies, one, options);
        one.remarks.extend(unseen_inertia(one));
    }
    found
}

/// The same, measured and not judged.
pub(crate) fn measured(robot: &Robot, options: FindOptions<'_>) -> Vec<FoundLoop> {
    let bodies = Bodies::new(robot);
    let drives = Drives::new(robot);
    let look = Look { robot, bodies: &bodies, drives: &drives, told: options };
    let (mut found, pairs) = walked(look);
    two_rods::mark(&mut found, &pairs);
    tied::group(robot, &drives, &mut found);
    jaw::place(robot, &bodies, &drives, &mut found);
    found
}

/// The names of every closed loop and of its joints.
pub(crate) fn measured_names(robot: &Robot) -> Vec<(String, Vec<String>)> {
    let found = measured(robot, FindOptions::new(Preset::Training));
    found.into_iter().map(|one| (one.name, one.joints)).collect()
}

/// Every two loops that turn one body about two joints, judged where they are a drive of kind `two_rods`.
#[must_use]
pub fn find_two_joints(robot: &Robot, options: FindOptions<'_>) -> Vec<TwoJointLoops> {
    let (bodies, mut pairs) = (Bodies::new(robot), measured_two_joints(robot, options));
    pairs.iter_mut().for_each(|one| two_rods::judge(robot, &bodies, one, options));
    pairs
}

/// The same, measured and not judged.
pub(crate) fn measured_two_joints(robot: &Robot, options: FindOptions<'_>) -> Vec<TwoJointLoops> {
    let (bodies, drives) = (Bodies::new(robot), Drives::new(robot));
    walked(Look { robot, bodies: &bodies, drives: &drives, told: options }).1
}

/// Each loop by itself, and the pairs that share two joints.
fn walked(look: Look<'_>) -> (Vec<FoundLoop>, Vec<TwoJointLoops>) {
    let Look { robot, bodies, told, .. } = look;
    let graph = cycles::Graph::new(robot, bodies);
    let rings = graph.rings();
    let shares = shares(&rings);
    let mut names = Names::default();
    let (mut found, mut walked) = (Vec::new(), Vec::new());
    for ring in &rings {
        let Some(one) = ring::Ring::new(robot, bodies, &graph, ring) else { continue };
        walked.push(one.clone());
        let mut one = found_loop(look, one);
        if ring.edges.iter().any(|edge| shares.get(&edge.tie).is_some_and(|rings| *rings > 1)) {
            one.obstacles.insert(0, shares_pins());
        }
        one.name = names.unique(closing_name(robot, ring).unwrap_or(one.name));
        write_drive(robot, bodies, &mut one, told.preset);
        found.push(one);
    }
    let pairs = two_rods::pairs(look, &walked, &found);
    (found, pairs)
}

/// What the file says of the motor of a drive that is no planar four-bar, and the drive's design file.
fn write_drive(robot: &Robot, bodies: &Bodies, one: &mut FoundLoop, preset: Preset) {
    let Some(found) = &mut one.drive else { return };
    let ring = one.four_bar.as_ref().filter(|ring| found.is_in_order(bodies, ring));
    found.motor_side = ring.and_then(|ring| file_motor::of_loop(robot, ring, found));
    let rod = ring.map(|ring| (bodies, ring));
    let parts = drive_text::DriveParts { robot, name: &one.name, found, rod, preset };
    one.drive_text = Some(drive_text::drive_text(&parts));
}

/// In how many rings each tie is.
fn shares(rings: &[cycles::Ring]) -> HashMap<&cycles::Tie, usize> {
    let mut counts = HashMap::new();
    for edge in rings.iter().flat_map(|ring| &ring.edges) {
        *counts.entry(&edge.tie).or_default() += 1;
    }
    counts
}

fn shares_pins() -> Obstacle {
    Obstacle::new("shares_joints", "another loop shares joints with it: the two move together")
}

fn closing_name(robot: &Robot, ring: &cycles::Ring) -> Option<String> {
    let name = match &ring.edges.get(ring.closing)?.tie {
        cycles::Tie::Joints(joints) => &robot.joints.get(*joints.first()?)?.name,
        cycles::Tie::Closures(closures) => &robot.closures.get(*closures.first()?)?.name,
    };
    (!name.is_empty()).then(|| name.clone())
}

fn found_loop(look: Look<'_>, ring: ring::Ring) -> FoundLoop {
    let Look { robot, bodies, told, .. } = look;
    let [link_name, joint_name] =
        [Robot::link_name, Robot::joint_name].map(|name| move |id| name(robot, id).to_owned());
    let links = ring.bodies.iter().copied().map(link_name).collect();
    let pins = ring.pins.iter().map(|pin| pin.name.clone()).collect();
    let own: Vec<JointId> = ring.pins.iter().flat_map(|pin| &pin.joints).copied().collect();
    let mut obstacles = restraints::restraints(robot, &own);
    let slide = drive_shapes::with_slide(robot, &ring, told.preset);
    let four_bar = four_bar::four_bar(look, ring, &mut obstacles);
    let drive = slide.or_else(|| in_space(robot, four_bar.as_ref(), &obstacles, told.preset));
    let drive = drive.and_then(|drive| drive.map_err(|why| obstacles.push(why)).ok());
    if let Some(drive) = &drive {
        name_kind(drive, &mut obstacles);
    }
    let plane = !obstacles.iter().any(|o| matches!(o.code, "slider" | "other_joint"));
    let reach = four_bar.as_ref().filter(|_| plane).and_then(|found| {
        // Of a drive in space it is the shadow on a plane, and what stands against that says nothing.
        let shadow = |why: Obstacle| {
            if drive.is_none() {
                obstacles.push(why)
            }
        };
        reach::reach(robot, found, told.preset).map_err(shadow).ok()
    });
    let nature = reach.as_ref().map(nature);
    let mut remarks: Vec<Obstacle> =
        four_bar.iter().flat_map(|found| remarks(robot, bodies, found, nature)).collect();
    remarks.extend(four_bar.iter().zip(&drive).flat_map(|(f, drive)| rod_stops(robot, f, drive)));
    let ratio = reach.as_ref().and_then(ratio);
    let tied = four_bar.as_ref().zip(ratio).filter(|_| drive.is_none());
    obstacles.extend(tied.and_then(|(f, ratio)| restraints::tied_otherwise(robot, f, ratio)));
    let joint = four_bar.as_ref().and_then(FourBarLoop::joint);
    let name = joint.map(joint_name).unwrap_or_default();
    let is_open =
        plane && obstacles.iter().any(|o| matches!(o.code, "motor_unknown" | "driven_twice"));
    let asked = four_bar.as_ref().filter(|_| is_open);
    FoundLoop {
        name,
        links,
        pins,
        joints: own.into_iter().map(joint_name).collect(),
        parts: four_bar.as_ref().map(|found| found.links.map(link_name)),
        jaw: None,
        mechanism: None,
        motor: four_bar.as_ref().and_then(|found| found.roles.motor).map(joint_name),
        tied_to: four_bar.as_ref().and_then(|found| found.roles.tied_to).map(joint_name),
        zero_readings: four_bar.as_ref().zip(reach.as_ref()).map(|(f, r)| readings(robot, f, r)),
        candidates: asked.map_or_else(Vec::new, |found| candidates(robot, found, told.preset)),
        ratio,
        four_bar,
        nature,
        reach,
        obstacles,
        remarks,
        drive,
        drive_text: None,
        judged: None,
        judged_drive: None,
    }
}

/// Limits of a rod's own pins, which the stroke of a drive in space does not look at.
fn rod_stops(robot: &Robot, found: &FourBarLoop, drive: &LoopDrive) -> Vec<Obstacle> {
    let limited = rod_losses::limited(robot, found, drive).into_iter();
    let told = limited.map(|joint| {
        let called = pins::joint_called(robot, joint);
        Obstacle::new(
            "left_out",
            format!("the limits of {called}, a rod's own, are not looked at: they may end the motion before"),
        )
    });
    told.collect()
}

/// Says of which kind of drive a design of the loop is.
fn name_kind(drive: &LoopDrive, obstacles: &mut [Obstacle]) {
    let kind = drive.drawing.kind().name();
    for one in obstacles.iter_mut().filter(|one| matches!(one.code, "spatial" | "slider")) {
        one.message.push_str("; as a design it is of kind ");
        one.message.push_str(kind);
    }
}

/// A loop of four bodies that is no plane one, where crank and rod drive the child.
fn in_space(
    robot: &Robot,
    found: Option<&FourBarLoop>,
    obstacles: &[Obstacle],
    preset: Preset,
) -> Option<Result<LoopDrive, Obstacle>> {
    let found = found.filter(|found| found.roles.seat == MotorSeat::Crank)?;
    let is_in_space = obstacles.iter().any(|one| matches!(one.code, "spatial" | "no_hinge"));
    is_in_space.then(|| drive_shapes::ball_rod(robot, found, preset))
}

/// Both ways round, where each can move.
fn candidates(robot: &Robot, found: &FourBarLoop, preset: Preset) -> Vec<MotorCandidate> {
    let name = |id: Option<usize>| id.map_or("", |id| robot.joint_name(id)).to_owned();
    let candidate = |found: &FourBarLoop| {
        let reach = reach::reach(robot, found, preset).ok()?;
        let ratio = ratio(&reach);
        Some(MotorCandidate {
            motor: name(found.crank_joint()),
            driven: name(found.joint()),
            reach,
            ratio,
        })
    };
    let turned = found.turned_round();
    [Some(found.clone()), turned].into_iter().flatten().filter_map(|one| candidate(&one)).collect()
}

/// Found, not sampled.
fn ratio(reach: &Reach) -> Option<[f64; 2]> {
    let sweep = Sweep::over(&reach.branch, reach.stroke()).ok()?;
    match sweep.transmission_ratio() {
        Some(extremes) => Some(extremes.map(|extreme| extreme.value)),
        None => Some([f64::NEG_INFINITY, f64::INFINITY]),
    }
}

fn nature(reach: &Reach) -> Nature {
    let (bars, closure) = (reach.branch.bars(), reach.branch.closure());
    let phi = reach.branch.zero_crank();
    let kind = kind_of(bars, phi, closure);
    let near = nearest_special(bars, phi, closure).filter(|_| kind == Kind::General);
    Nature { kind, near, class: classify(bars), closure }
}
