//! A design of a drive that is no planar four-bar against a robot file.
//!
//! A direct joint is compared as any other's. Where the file keeps the drive, as a loop or as an actuator between two points, its
//! kind is compared, how it moves, that is motor turn per joint turn over the design's stroke, and its motor.

use nalgebra::Vector3;

use super::acting;
use super::expected::{DesignSide, Held};
use super::facts::{JointFacts, joint_named};
use super::form::{self, MotorPlace};
use super::joint;
use super::measure::Measure;
use super::missing::missing;
use super::motor_rows;
use super::row::{Line, Look, Row, number, word};
use super::spot::Spot;
use super::{ComparedJoint, Compares, coupled_note, coupled_rows, verdict_row, weight_rows};
use crate::design::{Drawn, MotorOn};
use crate::drive::{Kind, OneJoint};
use crate::handover::Form;
use crate::handover::find::{FindOptions, LoopDrive, findings};
use crate::handover::stand_in::coupling::Relation;
use crate::numeric::evenly;
use crate::robot::{JointId, Robot};

/// Poses at which the file's drive is held against the design's.
const POSES: u32 = 24;

/// What the file has of the drive.
enum Kept {
    /// A joint alone.
    Direct,
    /// A crank that is coupled to the joint, and how.
    Crank(JointId, Option<Relation>),
    /// An actuator between two points.
    Points(LoopDrive),
    /// A loop, where it is understood.
    Loop(Option<LoopDrive>),
}

impl Kept {
    fn form(&self) -> Form {
        match self {
            Self::Direct => Form::Direct,
            Self::Crank(..) | Self::Points(_) => Form::Coupled,
            Self::Loop(_) => Form::Loop,
        }
    }

    fn drive(&self) -> Option<&LoopDrive> {
        match self {
            Self::Direct | Self::Crank(..) => None,
            Self::Points(drive) => Some(drive),
            Self::Loop(drive) => drive.as_ref(),
        }
    }

    fn note(&self, robot: &Robot) -> Option<String> {
        let words = match self {
            Self::Direct => return None,
            Self::Crank(crank, _) => return Some(coupled_note(robot, *crank)),
            Self::Points(_) => {
                "the file holds the drive as an actuator between two points: its kind, its ratio over the stroke and its motor are compared, not its zero; it does not rest on the verdict"
            }
            Self::Loop(Some(_)) => {
                "the file holds the drive as a closed loop: its kind, its ratio over the stroke and its motor are compared, not its bodies and its zero; it does not rest on the verdict"
            }
            Self::Loop(None) => {
                "the joint is part of a closed loop that is not understood: the drive itself is not compared"
            }
        };
        Some(words.to_owned())
    }
}

impl Compares for Drawn {
    const GIVES: &'static str = "the drive gives";

    fn joints(side: &DesignSide<'_, Self>, robot: &Robot, look: Look<'_>) -> Vec<ComparedJoint> {
        let all = side.design.robots.iter().enumerate();
        let each = all.map(|(at, wanted)| match joint_named(robot, &wanted.joint) {
            None => missing(side, robot, at, look),
            Some(id) => present(side, robot, (at, id), look),
        });
        each.flatten().collect()
    }
}

/// What the file has of the drive of a joint.
fn kept(side: &DesignSide<'_, Drawn>, robot: &Robot, (at, id): (usize, JointId)) -> Kept {
    let found = findings(robot, FindOptions::new(side.design.accept.preset));
    let is_own = |drive: &LoopDrive| drive.joint == id;
    if let Some(one) = found.point_drives.into_iter().find(|one| is_own(&one.drive)) {
        return Kept::Points(one.drive);
    }
    let name = robot.joint_name(id);
    let within = found.loops.into_iter().find(|one| one.joints.iter().any(|joint| joint == name));
    match within {
        Some(one) => Kept::Loop(one.drive.filter(is_own)),
        None => tied_crank(side, robot, (at, id)),
    }
}

/// A crank that the file couples to the joint, else the joint alone.
fn tied_crank(side: &DesignSide<'_, Drawn>, robot: &Robot, (at, id): (usize, JointId)) -> Kept {
    let find = || {
        let wanted = side.design.robots.get(at)?;
        let crank = side.crank(at, robot.format)?;
        let [axis, origin] = [crank.axis, crank.origin].map(Vector3::from);
        let ground = (origin - Vector3::from(wanted.origin)).norm();
        let place = MotorPlace {
            parent: &wanted.parent,
            axis,
            at: Some(origin),
            within: 0.25 * ground,
            ratio: side.check.direct_joint.ratio,
        };
        let ours = side.design.robots.iter().map(|one| joint_named(robot, &one.joint));
        form::coupled(robot, id, &ours.collect::<Vec<_>>(), place)
    };
    find().map_or(Kept::Direct, |(crank, relation)| Kept::Crank(crank, relation))
}

fn present(
    side: &DesignSide<'_, Drawn>,
    robot: &Robot,
    (at, id): (usize, JointId),
    look: Look<'_>,
) -> Option<ComparedJoint> {
    let kept = kept(side, robot, (at, id));
    let form = kept.form();
    let expected = side.driven(at, form, robot.format)?;
    let facts = JointFacts::of(robot, id, &expected.robot.parent)?;
    let held = Held { look, expected: &expected, facts: &facts };
    let mut rows = joint::joint_rows(&held, form);
    let mut notes: Vec<String> = kept.note(robot).into_iter().collect();
    if side.design.motor_on == MotorOn::Parent {
        notes.push(
            "the motor sits on the carrier's parent: its hold on that joint is not compared"
                .to_owned(),
        );
    }
    if facts.moves_as(&expected.joint) {
        if let Kept::Crank(crank, relation) = &kept {
            rows.extend(coupled_rows(&held, *crank, relation.as_ref()));
        }
        let plans = side.driven_plans(form, robot.format);
        let jaws = vec![None; plans.len()];
        let (more, of_links) = weight_rows(&held, (at, form), (&plans, &jaws));
        rows.extend(more);
        notes.extend(of_links);
    }
    if let Some(drive) = kept.drive() {
        let line = facts.line(Spot::Joint);
        rows.extend(motion_rows(side, at, drive, (look, line.clone())));
        rows.extend(motor_rows::rows(&expected, drive, (look, line, robot.format)));
    }
    if form == Form::Direct {
        if side.design.motor_on == MotorOn::Carrier {
            rows.extend(acting::rows(&facts));
        }
        rows.extend(verdict_row(side.check, &facts));
    }
    let joint = expected.robot.joint.clone();
    Some(ComparedJoint { joint, form: Some(form), at: facts.line(Spot::Joint), rows, notes })
}

/// The kinds, and the ratio where the two are furthest apart.
fn motion_rows(
    side: &DesignSide<'_, Drawn>,
    at: usize,
    found: &LoopDrive,
    (look, line): (Look<'_>, Option<Line>),
) -> Vec<Row> {
    let kinds = [&side.design.geometry.drawing, &found.drawing].map(|one| one.kind().name());
    let row = |quantity, measure| Row::new(quantity, measure).at(line.clone());
    let mut rows = vec![word(row("drive", Measure::Name), kinds, look.sides)];
    if let Some([wanted, own]) = furthest_off(side, at, found) {
        let both = [Some(wanted), Some(own)];
        rows.extend(number(row("ratio", Measure::Ratio), both, look.sides, true));
    }
    rows
}

/// Motor reading per joint reading by the design and by the file, at the pose where they differ most. Of a file without a screw
/// both are for the file's own travel, positive where an actuator grows; a nut's way along its guide has no sign then.
fn furthest_off(side: &DesignSide<'_, Drawn>, at: usize, found: &LoopDrive) -> Option<[f64; 2]> {
    let robot = side.design.robots.get(at)?;
    let sense = crate::handover::stand_in::figures::sense(robot);
    let file = found.drawing.drive().ok()?;
    let [low, high] = side.mechanism.joint_turns();
    let lead = side.design.geometry.screw.map(|screw| screw.lead);
    let travel = found.lead().filter(|_| found.has_no_screw).zip(lead);
    let [by_design, by_file] = match travel {
        Some((own, lead)) => [sense * lead / own.abs(), own.signum()],
        None => [robot.motor_sign, found.motor_sign],
    };
    let has_sign = travel.is_none() || found.kind() != Kind::Slider;
    let signed = |ratio: f64| if has_sign { ratio } else { ratio.abs() };
    let poses = evenly([low, high], POSES).filter_map(|turn| {
        let ours = by_design * side.mechanism.drive.motion(turn).ok()?.ratio;
        let reading = side.design.joint_reads + sense * turn;
        let theirs = file.motion(reading - found.drawn_at[1]).map_or(f64::NAN, |pose| pose.ratio);
        Some([signed(ours), signed(by_file * theirs)])
    });
    let off = |[a, b]: &[f64; 2]| if b.is_nan() { f64::INFINITY } else { (b / a - 1.0).abs() };
    poses.max_by(|p, q| off(p).total_cmp(&off(q)))
}
