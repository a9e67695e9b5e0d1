//! The verdict on a design whose drive is no planar four-bar.

use std::cell::Cell;

use crate::design::{Design, Drawn};
use crate::drive::{
    Assembly, BallRod, Drawing, JointDrive, Kind, OneJoint as _, Size, Stop, StopKind,
    longest_even_stroke,
};
use crate::equivalence::{
    BuildWitness, DirectJoint, DriveFigures, DriveJudgement, DriveLimits, DriveQuestion,
    judge_drive, largest_share,
};
use crate::linkage::{Extreme, Stroke};
use crate::numeric::evenly;

use super::driven::Driven;
use super::family::{limits, size_ranges, zeroing};
use super::fault::Fault;
use super::findings::{
    Advice, BrokenBuild, BrokenBy, Check, Cost, Depth, DriveFacts, DriveFindings, Extremes, Limit,
    Located, NearStop, RatioRange, StrokeRow, ZeroPose,
};
use super::inertia_in_space::Weighed;
use super::parent_motor::parent_motors;
use super::readings::other_way;
use super::{phrases, warnings_of_drive};

/// Poses of the curve that pictures are drawn from.
const CURVE: u32 = 120;

/// May a direct joint stand in for the drive of `design`? No further than asked.
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its stroke.
pub(super) fn judged_drive(
    design: &Design<Drawn>,
    driven: &Driven,
    depth: Depth,
) -> Result<Check, Vec<Fault>> {
    let joint = driven.direct_joint();
    let question = question(design, driven, joint);
    let weighed = Weighed::of(design, driven, &question);
    let inertia = weighed.assess(design, driven);
    let judged = judge_drive(&question, inertia).ok_or_else(|| vec![Fault::no_build()])?;
    let (extremes, costs) = match depth {
        Depth::Whole => (extremes(&question), costs(&design.geometry.drawing, &question)),
        Depth::Verdict => (Extremes { symmetric_tolerance: None, stroke_joint: None }, Vec::new()),
    };
    let mut check = findings(design, driven, &question, judged, &weighed);
    check.extremes = extremes;
    if let Some(found) = &mut check.in_space {
        found.costs = costs;
    }
    Ok(check)
}

fn question<'a>(
    design: &'a Design<Drawn>,
    driven: &'a Driven,
    joint: DirectJoint,
) -> DriveQuestion<'a> {
    let accept = &design.accept;
    DriveQuestion {
        drawing: &design.geometry.drawing,
        drive: &driven.drive,
        turns: driven.joint_turns(),
        joint,
        limits: DriveLimits {
            motion: limits(design),
            ball_tilt: accept.ball_tilt,
            crank_side: accept.crank_side,
        },
        basis: accept.over,
        sizes: size_ranges(design, accept.over),
        zeroing: zeroing(design),
    }
}

fn located(extreme: Extreme) -> Located {
    Located { value: extreme.value, at_joint: extreme.turn }
}

fn findings(
    design: &Design<Drawn>,
    driven: &Driven,
    question: &DriveQuestion<'_>,
    judged: DriveJudgement,
    weighed: &Weighed,
) -> Check {
    let (figures, joint) = (judged.figures, question.joint);
    let (drive, stops) = (DriveFacts::of(&design.geometry), stops(driven));
    let [low, high] = figures.ratio;
    let mut check = Check {
        design: design.name.clone(),
        verdict: judged.verdict,
        reason: String::new(),
        basis: question.basis,
        proved: judged.proved,
        linkage: None,
        zero: zero_pose(&design.geometry.drawing),
        stroke: driven.stroke,
        readings: driven.readings.clone(),
        view: [[1.0, 0.0], [0.0, 1.0]],
        other_way: other_way(design, &driven.readings, &driven.stroke),
        stroke_by: driven.by,
        direct_joint: joint,
        ratio_is_best: driven.constants.ratio.is_none(),
        transmission_ratio: RatioRange {
            ends: Some([low.value, high.value]),
            mean: driven.stroke.mean_ratio(),
            worst_error: Some(located(figures.ratio_error)),
            worst_at_joint: figures.ratio_error.turn,
        },
        angle_error: located(figures.angle),
        transmission_angle: figures.transmission_angle.map(located),
        crank_limit: near(&stops, StopKind::CrankLimit, &driven.stroke).map(|(_, motor)| motor),
        change_point: None,
        rocker_limit: near(&stops, StopKind::DeadPoint, &driven.stroke).map(|(joint, _)| joint),
        swing: driven.drive.reach().map(|stop| stop.map_or(f64::INFINITY, |stop| stop.joint)),
        axial_offsets: None,
        ratio_magnitude: magnitudes(&figures, &joint, judged.ratio_range),
        witness: judged.witness.map(|(criterion, build)| {
            (criterion, BrokenBy::Build(broken(&design.geometry.drawing, &drive, &build)))
        }),
        proved_joint: judged.proved_turns,
        undecided_joint: judged.undecided_turns,
        inertia: weighed.findings(design, driven, &joint),
        extremes: Extremes { symmetric_tolerance: None, stroke_joint: None },
        advice: advice(driven, &figures, question),
        finger: None,
        in_space: Some(DriveFindings {
            crank_side: figures.crank_side.map(located),
            ball_tilt: figures.ball_tilt.map(located),
            stops,
            costs: Vec::new(),
            longest_even_stroke: (drive.kind == Kind::LinearActuator)
                .then(|| longest_even_stroke(question.limits.motion.ratio)),
            assumptions: warnings_of_drive::assumptions(design, &figures),
        }),
        criteria: judged.criteria,
        curve: curve(driven),
        warnings: Vec::new(),
        two_joints: parent_motors(design, joint.ratio),
        unused: Vec::new(),
        drive,
    };
    check.reason = phrases::reason(&check);
    check.warnings = warnings_of_drive::of(design, &check);
    check
}

fn broken(drawing: &Drawing, drive: &DriveFacts, build: &BuildWitness) -> BrokenBuild {
    let sizes = drawing.sizes().into_iter().zip(&build.sizes);
    let sizes: Vec<Size> = sizes.map(|(size, value)| Size { value: *value, ..size }).collect();
    BrokenBuild { drive: drive.with(&sizes), joint: build.joint, value: build.value }
}

/// Angles of crank and lever from A→B that the drawing has.
pub(super) fn zero_pose(drawing: &Drawing) -> ZeroPose {
    let none = f64::NAN;
    match drawing {
        Drawing::BallRod { zero_crank, .. } => {
            ZeroPose { crank: *zero_crank, rocker: lever_angle(drawing).unwrap_or(none) }
        }
        Drawing::BallRodPoints(points) => match points.drawing() {
            Ok((_, [crank, rocker])) => ZeroPose { crank, rocker },
            Err(_) => ZeroPose { crank: none, rocker: none },
        },
        Drawing::PlanarActuator { zero_rocker, .. } | Drawing::PlanarSlider { zero_rocker, .. } => {
            ZeroPose { crank: none, rocker: *zero_rocker }
        }
        _ => ZeroPose { crank: none, rocker: none },
    }
}

fn lever_angle(drawing: &Drawing) -> Option<f64> {
    match drawing.drive().ok()? {
        JointDrive::Rod(rod) => Some(rod.zero_angles()[0]),
        _ => None,
    }
}

/// The first stop to either side of the zero pose.
fn stops(driven: &Driven) -> Vec<NearStop> {
    let [from, to] = driven.joint_turns();
    let near = |stop: Stop| NearStop {
        kind: stop.kind,
        joint: stop.joint,
        motor: stop.motor,
        margin: if stop.joint < 0.0 { from - stop.joint } else { stop.joint - to },
    };
    driven.drive.reach().into_iter().flatten().map(near).collect()
}

/// The nearest stop of one kind, as joint turn and as motor turn with its margin.
fn near(stops: &[NearStop], kind: StopKind, stroke: &Stroke) -> Option<(Limit, Limit)> {
    let of_kind = stops.iter().filter(|stop| stop.kind == kind);
    let stop = of_kind.min_by(|a, b| a.margin.total_cmp(&b.margin))?;
    let away = stroke.motor.map(|end| (stop.motor - end).abs());
    let joint = Limit { at: stop.joint, margin: stop.margin };
    Some((joint, Limit { at: stop.motor, margin: away[0].min(away[1]) }))
}

/// |dφ/dψ| on the verdict's basis: from the certified range of i / ratio, where there is one.
fn magnitudes(
    figures: &DriveFigures,
    joint: &DirectJoint,
    certified: Option<[f64; 2]>,
) -> [f64; 2] {
    if let Some(range) = certified {
        return range.map(|share| joint.ratio.abs() * share);
    }
    let [a, b] = figures.ratio.map(|ratio| ratio.value.abs());
    [a.min(b), a.max(b)]
}

fn extremes(question: &DriveQuestion<'_>) -> Extremes {
    let reach = question.reach();
    Extremes { symmetric_tolerance: reach.symmetric_tolerance, stroke_joint: reach.stroke }
}

/// What would make the drawn drive equivalent; nothing where it is.
fn advice(driven: &Driven, now: &DriveFigures, question: &DriveQuestion<'_>) -> Option<Advice> {
    let limits = &question.limits;
    let first_to_fail = Cell::new(now.broken(limits)?);
    let holds = |turns: [f64; 2]| {
        let joint = driven.over(turns).direct_joint();
        let broken = DriveFigures::of(&driven.drive, turns, &joint).broken(limits);
        // The last one is that of the shortest stroke that does not hold.
        broken.inspect(|criterion| first_to_fail.set(*criterion)).is_none()
    };
    let stroke = Stroke { motor: question.turns, joint: question.turns };
    let enough = largest_share(&stroke, holds);
    Some(Advice { first_to_fail: first_to_fail.get(), enough, change: None })
}

/// What is left without twist, without lean, and with a rod as long as its balls are apart in a parallelogram.
fn costs(drawing: &Drawing, question: &DriveQuestion<'_>) -> Vec<Cost> {
    let drawn = match drawing {
        Drawing::BallRod { sizes, zero_crank, assembly } => Some((*sizes, *zero_crank, *assembly)),
        Drawing::BallRodPoints(points) => points.drawing().ok().and_then(|(sizes, [crank, _])| {
            let arm = question.drive.rods(0.0).ok()?.first()?.joint_arm();
            let assembly = if arm < 0.0 { Assembly::Open } else { Assembly::Crossed };
            Some((sizes, crank, assembly))
        }),
        _ => None,
    };
    let Some((sizes, crank, assembly)) = drawn else { return Vec::new() };
    let rod = libm::hypot(sizes.ground, sizes.axial);
    let others = [
        ("nothing", sizes),
        ("twist", BallRod { twist: 0.0, ..sizes }),
        ("lean", BallRod { lean: 0.0, ..sizes }),
        ("rod length", BallRod { coupler: rod, ..sizes }),
    ];
    let told = others.into_iter().filter(|(name, other)| *name == "nothing" || *other != sizes);
    let cost = |(without, sizes): (&'static str, BallRod)| {
        let drive = JointDrive::Rod(Box::new(sizes.drive(crank, assembly).ok()?));
        let figures = DriveFigures::of(&drive, question.turns, &question.joint);
        let tilt = figures.ball_tilt.map(|tilt| tilt.value);
        let (angle, ratio) = (figures.angle.value, figures.ratio_error.value);
        ratio.is_finite().then_some(Cost { without, angle, ratio, tilt })
    };
    let told: Vec<Cost> = told.filter_map(cost).collect();
    if told.len() > 1 { told } else { Vec::new() }
}

fn curve(driven: &Driven) -> Vec<StrokeRow> {
    let row = |joint: f64| {
        let motion = driven.drive.motion(joint).ok()?;
        Some(StrokeRow { motor: motion.motor, joint, transmission_ratio: motion.ratio, left: 1.0 })
    };
    let mut rows: Vec<StrokeRow> = evenly(driven.joint_turns(), CURVE).filter_map(row).collect();
    rows.sort_by(|a, b| a.motor.total_cmp(&b.motor));
    rows
}
