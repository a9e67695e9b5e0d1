//! The verdict on one design.

use nalgebra::Vector3;

use crate::design::Design;
use crate::drive::Size;
use crate::equivalence::{
    self, Criterion, DirectJoint, Figures, Finger, Front, HungDrive, Judgement, Question, Reach,
    Weights, judge_behind,
};
use crate::linkage::{Branch, Extreme, Stroke, Sweep, classify, kind_of, nearest_special};

use crate::numeric::peaks;

use super::family::{family, limits, magnitudes, zeroing};
use super::fault::Fault;
use super::findings::{
    Advice, BrokenBuild, BrokenBy, Check, Depth, DriveFacts, Extremes, Limit, LinkageFacts,
    Located, RatioRange, StrokeRow, ZeroPose,
};
use super::inertia::{Drives, drives, inertia};
use super::mechanism::{Mechanism, end_of_branch};
use super::parent_motor::parent_motors;
use super::readings::other_way;
use super::stroke_table::stroke_table;
use super::{finger, phrases, standing, warnings};

/// Poses of the curve that pictures are drawn from.
const CURVE: usize = 121;

/// May a direct joint stand in for the linkage of `design`? No further than asked.
///
/// # Errors
/// Every fault of the design that keeps its linkage from running over its stroke.
pub(super) fn judged(
    design: &Design,
    mechanism: &Mechanism,
    depth: Depth,
) -> Result<Check, Vec<Fault>> {
    let (sweep, joint) = mechanism.sweep().map_err(|fault| vec![fault])?;
    let branch = &mechanism.branch;
    let zero = ZeroPose::new(branch);
    let drives = drives(design, &zero);
    let hung = drives.hung(design);
    let asked_finger = judged_finger(design, mechanism, &joint)?;
    let question = question(design, mechanism, (joint, asked_finger), &drives, &hung);
    let front = mechanism.front(design, design.accept.over)?;
    let judged = judge_behind(&question, front.as_ref()).map_err(|_| vec![end_of_branch()])?;
    let locate = |e: Extreme| located(branch, e);
    let joints = |turns: [f64; 2]| joint_range(branch, turns);
    // Where the rocker turns back, a range of joint angles is run through twice, and only one pass may be proved.
    let turns_back = sweep.has_dead_point();
    let mut check = Check {
        design: design.name.clone(),
        verdict: judged.verdict,
        reason: String::new(),
        basis: question.basis,
        proved: judged.proved,
        linkage: Some(facts(branch)),
        drive: drive_facts(design, branch),
        zero,
        stroke: mechanism.stroke,
        readings: mechanism.readings.clone(),
        view: view(design),
        other_way: other_way(design, &mechanism.readings, &mechanism.stroke),
        stroke_by: design.stroke.by,
        direct_joint: joint,
        ratio_is_best: mechanism.constants.ratio.is_none(),
        transmission_ratio: ratio_range(&sweep, locate(judged.figures.ratio)),
        angle_error: locate(judged.figures.angle),
        transmission_angle: Some(locate(judged.figures.transmission_angle)),
        crank_limit: None,
        change_point: None,
        rocker_limit: rocker_limit(mechanism),
        swing: branch.swing(),
        axial_offsets: design.geometry.pivots.as_ref().map(|p| p.axial_offsets),
        ratio_magnitude: magnitudes(question.basis, &sweep, &joint, judged.ratio_range),
        witness: broken_by(design, mechanism, &judged),
        proved_joint: judged.proved_turns.filter(|_| !turns_back).map(joints),
        undecided_joint: judged.undecided_turns.iter().copied().map(joints).collect(),
        inertia: inertia((design, mechanism), &joint, &drives, judged.weighing.as_ref(), depth),
        extremes: extremes(&question, branch, if front.is_some() { Depth::Verdict } else { depth }),
        advice: advice(mechanism, &judged.figures, &question),
        finger: finger::findings(design, mechanism, &question, front.as_ref()),
        in_space: None,
        criteria: judged.criteria,
        curve: stroke_table(mechanism, &joint, CURVE).iter().map(StrokeRow::from).collect(),
        warnings: Vec::new(),
        two_joints: parent_motors(design, joint.ratio),
        unused: Vec::new(),
    };
    (check.crank_limit, check.change_point) = barriers(mechanism);
    if let Some(front) = &front {
        through(front, mechanism, &mut check);
    }
    standing::ratio_without_bound(&mut check);
    check.reason = phrases::reason(&check);
    check.warnings = warnings::of(design, &check);
    check.unused = warnings::unused(design, &check);
    Ok(check)
}

/// Ratio and smallest transmission angle of all that lies between motor and joint.
fn through(front: &Front<'_>, mechanism: &Mechanism, check: &mut Check) {
    let (branch, Stroke { motor: turns, joint }) = (&mechanism.branch, mechanism.stroke);
    let ratio = |turn: f64| {
        let own = branch.pose(turn).map_or(f64::NAN, |pose| pose.transmission_ratio());
        own * front.question.joint.ratio * (1.0 + front.drawn_at(turn)[1])
    };
    let [from, to] = turns.map(|turn| mechanism.readings.own_motor_turn(turn));
    let range = &mut check.transmission_ratio;
    range.ends = range.ends.map(|_| peaks(ratio, turns).map(|(_, ratio)| ratio));
    range.mean = (to - from) / (joint[1] - joint[0]);
    let least = check.criterion(Criterion::TransmissionAngle);
    let least = least.and_then(|c| Some((c.nominal?.value(), c.worst_at_joint?)));
    if let Some((value, at_joint)) =
        least.filter(|(value, _)| check.transmission_angle.is_none_or(|own| *value < own.value))
    {
        check.transmission_angle = Some(Located { value, at_joint });
    }
}

/// What drives the joint: of a finger behind another drive both, as a series.
fn drive_facts(design: &Design, branch: &Branch) -> DriveFacts {
    let own = DriveFacts::of_bars(branch.bars());
    let Some(front) = &design.front else { return own };
    let mut all = DriveFacts::in_front(front);
    all.stages.push(own);
    all
}

/// What breaks a criterion; behind another drive with the build of that.
fn broken_by(
    design: &Design,
    mechanism: &Mechanism,
    judged: &Judgement,
) -> Option<(Criterion, BrokenBy)> {
    let Some(front) = &design.front else {
        return judged.witness.map(|(criterion, by)| (criterion, BrokenBy::Linkage(by)));
    };
    let joint = |turn: f64| mechanism.branch.joint_turn(turn).unwrap_or(f64::NAN);
    let build = |sizes: &[f64]| {
        let drawn = front.drawing.sizes();
        let sizes =
            drawn.into_iter().zip(sizes).map(|(size, value)| Size { value: *value, ..size });
        DriveFacts::in_front(front).with(&sizes.collect::<Vec<Size>>())
    };
    let of_pad =
        judged.witness.as_ref().zip(judged.front_build.as_ref()).map(|(witness, sizes)| {
            let (criterion, by) = witness;
            let mut drive = build(sizes);
            drive.stages.push(DriveFacts::of_build(by, mechanism.branch.zero_crank()));
            (*criterion, BrokenBuild { drive, joint: joint(by.turn), value: by.value })
        });
    let of_front = judged.front_witness.as_ref().map(|(criterion, by)| {
        let mut drive = build(&by.sizes);
        drive.stages.push(DriveFacts::of_bars(mechanism.branch.bars()));
        (*criterion, BrokenBuild { drive, joint: joint(by.joint), value: by.value })
    });
    let linkage = judged.witness.map(|(criterion, by)| (criterion, BrokenBy::Linkage(by)));
    let built = of_pad.or(of_front.filter(|_| linkage.is_none()));
    built.map(|(criterion, build)| (criterion, BrokenBy::Build(build))).or(linkage)
}

/// What `read` makes of the question that the verdict on `design` answers.
///
/// # Errors
/// As [`judged`].
pub(super) fn with_question<T>(
    design: &Design,
    mechanism: &Mechanism,
    read: impl FnOnce(&Question<'_>, Option<&Front<'_>>) -> T,
) -> Result<T, Vec<Fault>> {
    let (_, joint) = mechanism.sweep().map_err(|fault| vec![fault])?;
    let drives = drives(design, &ZeroPose::new(&mechanism.branch));
    let hung = drives.hung(design);
    let finger = judged_finger(design, mechanism, &joint)?;
    let front = mechanism.front(design, design.accept.over)?;
    Ok(read(&question(design, mechanism, (joint, finger), &drives, &hung), front.as_ref()))
}

fn judged_finger(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
) -> Result<Option<Finger>, Vec<Fault>> {
    finger::judged(design, mechanism, joint).map_err(|_| vec![end_of_branch()])
}

/// What the design asks.
fn question<'a>(
    design: &Design,
    mechanism: &'a Mechanism,
    (joint, finger): (DirectJoint, Option<Finger>),
    drives: &'a Drives,
    hung: &'a [HungDrive],
) -> Question<'a> {
    let weights = match hung {
        [] => Weights::NotGiven(&drives.missing),
        given => Weights::Given(given),
    };
    Question {
        branch: &mechanism.branch,
        stroke: mechanism.stroke,
        joint,
        limits: limits(design),
        inertia_limit: design.accept.inertia,
        inertia_is_asked: design.accept.inertia_by_hand,
        basis: design.accept.over,
        family: family(design, design.accept.over),
        zeroing: zeroing(design),
        finger,
        weights,
    }
}

/// Ascending joint turns of a range of motor turns on the drawn linkage.
fn joint_range(branch: &Branch, turns: [f64; 2]) -> [f64; 2] {
    let mut joint = turns.map(|turn| branch.joint_turn(turn).unwrap_or(f64::NAN));
    joint.sort_by(f64::total_cmp);
    joint
}

/// How far it would still hold, which nothing in the verdict rests on.
fn extremes(question: &Question<'_>, branch: &Branch, depth: Depth) -> Extremes {
    if depth == Depth::Verdict {
        return Extremes { symmetric_tolerance: None, stroke_joint: None };
    }
    let Reach { symmetric_tolerance, stroke } = question.reach();
    Extremes { symmetric_tolerance, stroke_joint: stroke.map(|turns| joint_range(branch, turns)) }
}

fn located(branch: &Branch, e: Extreme) -> Located {
    Located { value: e.value, at_joint: branch.joint_turn(e.turn).unwrap_or(f64::NAN) }
}

/// As the pins are written; with three coordinates seen against the joint axis, the frame's z, else its y, upward.
fn view(design: &Design) -> [[f64; 2]; 2] {
    let [x, y, _] = design.geometry.drawing_frame;
    let Some(pivots) = &design.geometry.pivots else {
        return [x, y].map(|[right, up, _]| [right, up]);
    };
    let axis = Vector3::from(pivots.axis);
    let upward = if axis.z.abs() < 0.9 { Vector3::z() } else { Vector3::y() };
    let up = (upward - axis * axis.dot(&upward)).normalize();
    let right = up.cross(&axis);
    [x, y].map(Vector3::from).map(|one| [one.dot(&right), one.dot(&up)])
}

fn facts(branch: &Branch) -> LinkageFacts {
    let (bars, zero, closure) = (branch.bars(), branch.zero_crank(), branch.closure());
    LinkageFacts {
        bars: *bars,
        kind: kind_of(bars, zero, closure),
        near: nearest_special(bars, zero, closure),
        class: classify(bars),
        closure,
    }
}

fn ratio_range(sweep: &Sweep<'_>, worst: Located) -> RatioRange {
    let ends = sweep.transmission_ratio().map(|[low, high]| [low.value, high.value]);
    let is_one = |ratio: f64| ratio.abs() <= standing::NO_RATIO;
    let mean = sweep.stroke().mean_ratio();
    RatioRange {
        ends: ends.filter(|[low, high]| is_one(*low) && is_one(*high)),
        mean: if is_one(mean) { mean } else { f64::INFINITY },
        worst_error: worst.value.is_finite().then_some(worst),
        worst_at_joint: worst.at_joint,
    }
}

/// The nearest crank limit and the nearest change point, each only where it is the next barrier.
fn barriers(mechanism: &Mechanism) -> (Option<Limit>, Option<Limit>) {
    use crate::linkage::BarrierKind::{ChangePoint, CrankLimit};
    let [from, to] = mechanism.stroke.motor;
    let nearest = |kind| {
        [(mechanism.branch.below, from), (mechanism.branch.above, to)]
            .into_iter()
            .filter_map(|(barrier, end)| barrier.filter(|b| b.kind == kind).map(|b| (b, end)))
            .map(|(b, end)| Limit { at: b.turn, margin: (b.turn - end).abs() })
            .min_by(|a, b| a.margin.total_cmp(&b.margin))
    };
    (nearest(CrankLimit), nearest(ChangePoint))
}

/// The nearest dead point beside or inside the stroke, as a joint turn.
fn rocker_limit(mechanism: &Mechanism) -> Option<Limit> {
    let Stroke { motor: [from, to], joint } = mechanism.stroke;
    let branch = &mechanism.branch;
    let joint_at = |turn: f64| branch.joint_turn(turn).ok();
    if let Some(&inside) = branch.dead_turns(from, to).first() {
        return joint_at(inside).map(|at| Limit { at, margin: 0.0 });
    }
    let beside = |turn: f64, direction: f64, end: f64| {
        let at = joint_at(branch.next_dead_turn(turn, direction)?)?;
        Some(Limit { at, margin: (at - end).abs() })
    };
    [beside(from, -1.0, joint[0]), beside(to, 1.0, joint[1])]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.margin.total_cmp(&b.margin))
}

/// What would make the drawn linkage equivalent; nothing where it is.
fn advice(mechanism: &Mechanism, now: &Figures, question: &Question<'_>) -> Option<Advice> {
    let limits = &question.limits;
    if question.finger.is_some() || now.hold(limits) {
        return None;
    }
    let branch = &mechanism.branch;
    let figures = |motor: [f64; 2]| {
        let joint = [branch.joint_turn(motor[0]).ok()?, branch.joint_turn(motor[1]).ok()?];
        let sweep = Sweep::over(branch, Stroke { motor, joint }).ok()?;
        Some(Figures::of(&sweep, &mechanism.constants.resolve(&sweep)))
    };
    let share = |holds: &dyn Fn(&Figures) -> bool| {
        equivalence::largest_share(&mechanism.stroke, |motor| {
            figures(motor).is_some_and(|f| holds(&f))
        })
    };
    let alone = [
        (Criterion::Angle, share(&|f| f.angle.value <= limits.angle)),
        (Criterion::Ratio, share(&|f| f.ratio.value <= limits.ratio)),
        (
            Criterion::TransmissionAngle,
            share(&|f| f.transmission_angle.value >= limits.transmission_angle),
        ),
    ]
    .map(|(criterion, part)| (criterion, part.map_or(0.0, |p| p.1)));
    let first = alone.into_iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let enough = share(&|f| f.hold(limits)).map(|(motor, part)| {
        let mut joint = motor.map(|turn| branch.joint_turn(turn).unwrap_or(f64::NAN));
        joint.sort_by(f64::total_cmp);
        (joint, part)
    });
    let change = equivalence::most_helpful_change(
        branch,
        mechanism.drive,
        mechanism.range,
        &mechanism.constants,
        limits,
    );
    Some(Advice { first_to_fail: first.0, enough, change })
}
