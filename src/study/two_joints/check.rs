//! The verdict on a drive of two joints.

use crate::design::{MatrixWish, TwoJointDesign};
use crate::diagnostic::Code;
use crate::drive::{DrawnLeg, Region};
use crate::dynamics::{Capabilities, rotor_inertia};
use crate::equivalence::{
    Criterion, Outcome, RegionJudgement, RegionLimits, RegionQuestion, SizeRanges, Verdict,
    judge_region, largest_region, region_map, region_verdict,
};
use crate::units::{angle, degrees, fixed};

use super::super::drive::rotor_of;
use super::super::family::{drawn_ranges, zeroed_by};
use super::super::fault::Fault;
use super::super::findings::{
    BothAxes, BrokenRegion, Cell, Depth, DirectJoints, LargestPart, MatrixOrigin, MotorFacts,
    RateError, Reflected, RegionCheck, RegionMargins, TwoRodsFacts, Warning,
};
use super::inertia::Weighed;
use super::words;
use super::{PIECES, TwoMotors};

/// May two direct joints stand in for the drive of `design`?
///
/// # Errors
/// Every fault of the design that keeps its drive from running over its region.
pub fn check_two_joints(design: &TwoJointDesign, depth: Depth) -> Result<RegionCheck, Vec<Fault>> {
    check_two_motors(design, &TwoMotors::of(design)?, depth)
}

/// The same for a design whose drive already moves.
///
/// # Errors
/// As [`check_two_joints`].
pub fn check_two_motors(
    design: &TwoJointDesign,
    of: &TwoMotors,
    depth: Depth,
) -> Result<RegionCheck, Vec<Fault>> {
    let question = question(design, of);
    let weighed = Weighed::of(design, of, &question);
    let judge = if depth == Depth::Whole { judge_region } else { region_verdict };
    let judged = judge(&question, weighed.assess(design));
    let judged = judged.ok_or_else(|| vec![Fault::no_build()])?;
    let is_whole = judged.verdict == Verdict::Equivalent;
    let fails_by_motion = judged.criteria.iter().any(|c| {
        c.criterion != Criterion::Inertia
            && matches!(c.outcome, Outcome::Fails | Outcome::Undecided)
    });
    let largest = (!is_whole && fails_by_motion).then(|| {
        let found = largest_region(&question)?;
        let cells = if depth == Depth::Whole { region_map(&question) } else { Vec::new() };
        let cell = |cell: crate::equivalence::MapCell| Cell {
            turns: cell.turns.into(),
            outcome: cell.outcome,
        };
        Some(LargestPart {
            roll_shortened: found.roll.map(Into::into),
            both_shortened: found.both.map(Into::into),
            cells: cells.into_iter().map(cell).collect(),
        })
    });
    let mut check = findings(design, of, judged);
    check.largest_region = largest.flatten();
    check.reason = words::reason(&check);
    check.warnings = warnings(design, &check);
    Ok(check)
}

/// What is asked of the drive over its region.
pub(super) fn question<'a>(design: &'a TwoJointDesign, of: &'a TwoMotors) -> RegionQuestion<'a> {
    let accept = &design.accept;
    RegionQuestion {
        drawing: &design.drawing,
        drive: &of.drive,
        turns: of.region,
        direct: of.direct,
        limits: RegionLimits {
            angle: accept.angle,
            ratio: accept.ratio,
            transmission_angle: accept.transmission_angle,
            ball_tilt: accept.ball_tilt,
        },
        basis: accept.over,
        sizes: sizes(design),
        zeroing: zeroed_by(design.set_by),
    }
}

fn sizes(design: &TwoJointDesign) -> SizeRanges {
    drawn_ranges(|| design.sizes(), design.accept.over)
}

fn findings(design: &TwoJointDesign, of: &TwoMotors, judged: RegionJudgement) -> RegionCheck {
    let drive = facts(design);
    let figures = &judged.figures;
    let grid = of.grid(PIECES);
    let [torque, speed] = powers(design, of);
    let matrix = of.direct.matrix;
    let witness = judged.witness.map(|(criterion, build)| BrokenRegion {
        criterion,
        drive: drive.with(&build.sizes),
        joints: build.joints,
        value: build.value,
    });
    RegionCheck {
        design: design.name.clone(),
        verdict: judged.verdict,
        reason: String::new(),
        basis: design.accept.over,
        proved: judged.proved,
        region: of.region.into(),
        direct_joints: DirectJoints {
            matrix: [[matrix.m11, matrix.m12], [matrix.m21, matrix.m22]],
            matrix_is: match design.matrix {
                MatrixWish::Best => MatrixOrigin::Best,
                MatrixWish::ZeroPose => MatrixOrigin::ZeroPose,
                MatrixWish::Diagonal => MatrixOrigin::Diagonal,
                MatrixWish::Given(_) => MatrixOrigin::Given,
            },
            motor_reads: design.motor_reads,
            joint_reads: design.joint_reads,
        },
        rate_error: RateError::of(figures, judged.bounds.as_ref()),
        angle_error_rad: figures.angle_error.map(|peak| peak.value.abs()),
        margins: RegionMargins::of(figures),
        largest_region: None,
        torque,
        speed,
        reflected_inertia: reflected(design, of, &grid),
        criteria: judged.criteria,
        witness,
        assumptions: assumptions(design),
        warnings: Vec::new(),
        joint_reads: design.joint_reads,
        drive,
    }
}

pub(super) fn facts(design: &TwoJointDesign) -> TwoRodsFacts {
    let sizes = design.drawing.sizes();
    let [axes, first, _] = design.drawing.parts();
    let (axes, legs) = sizes.split_at(axes.min(sizes.len()));
    let (one, two) = legs.split_at(first.min(legs.len()));
    let motor = |k: usize, sizes: &[crate::drive::Size]| MotorFacts {
        name: design.motors.get(k).map(|motor| motor.name.clone()).unwrap_or_default(),
        is_actuator: matches!(design.drawing.legs.get(k), Some(DrawnLeg::Actuator { .. })),
        sizes: sizes.to_vec(),
    };
    TwoRodsFacts { axes: axes.to_vec(), motors: [motor(0, one), motor(1, two)] }
}

/// The share of a motor's torque that reaches the rod: a screw's efficiency.
fn efficiencies(design: &TwoJointDesign) -> [f64; 2] {
    design.motors.each_ref().map(|motor| motor.screw.and_then(|s| s.efficiency).unwrap_or(1.0))
}

/// The torques and speeds of both joints, told.
pub(super) fn powers(design: &TwoJointDesign, of: &TwoMotors) -> [Option<BothAxes>; 2] {
    let grid = of.grid(PIECES);
    let (Some(actuator), Ok(over)) =
        (design.actuator.as_ref(), Capabilities::over(&of.drive, &grid))
    else {
        return [None, None];
    };
    let has_cranks = design.motors.iter().all(|motor| motor.screw.is_none());
    let told = |found, of_motor| BothAxes::of(found, of_motor, has_cranks);
    let torque = |peak: f64| {
        let motors = efficiencies(design).map(|share| share * peak);
        Some(told(over.torque(motors, None).ok()?, peak))
    };
    let speed = |most: f64| Some(told(over.speed([most; 2], None).ok()?, most));
    [actuator.peak_torque.and_then(torque), actuator.max_speed.and_then(speed)]
}

fn reflected(design: &TwoJointDesign, of: &TwoMotors, grid: &Region) -> Option<Reflected> {
    let rotor = rotor_of(design.actuator.as_ref())?;
    let seen = rotor.inertia * rotor.gear_ratio * rotor.gear_ratio;
    let found = rotor_inertia(&of.drive, grid, [seen; 2], &of.direct).ok()?;
    Some((&found).into())
}

/// What was taken for granted.
fn assumptions(design: &TwoJointDesign) -> Vec<String> {
    let mut told = vec!["both ends of both rods are balls".to_owned()];
    let screws = design.motors.iter().filter_map(|motor| motor.screw.map(|s| (motor, s)));
    for (motor, screw) in screws {
        told.push(match screw.efficiency {
            Some(share) => format!(
                "the screw of {} passes on {} % of its motor's torque",
                motor.name,
                fixed(1e2 * share, 0)
            ),
            None => format!("the screw of {} passes on all of its motor's torque", motor.name),
        });
        if !screw.is_twist_guided {
            told.push(format!(
                "the nut of {} turns with neither its housing nor the foot: what the end joints twist counts as travel, and is left out",
                motor.name
            ));
        }
    }
    told
}

/// What a reader should know besides the verdict.
fn warnings(design: &TwoJointDesign, check: &RegionCheck) -> Vec<Warning> {
    let mut told = Vec::new();
    let near = 10.0_f64.to_radians();
    let of = |motor: usize| design.motors.get(motor).map_or("", |motor| motor.name.as_str());
    let margin = check.margins.transmission_angle;
    if margin.angle < near {
        told.push(Warning {
            code: Code::NearCrankLimit,
            message: format!(
                "the rod of {} stands {} to the path of its pin on the foot at {}: beyond it the foot is loose and pin forces grow without bound",
                of(margin.motor),
                degrees(margin.angle),
                words::at(check, margin.at)
            ),
        });
    }
    if let Some(margin) = check.margins.crank_side.filter(|margin| margin.angle < near) {
        told.push(Warning {
            code: Code::NearDeadPoint,
            message: format!(
                "the rod of {} stands {} to its crank at {}: in line with it the joints cannot drive the motor",
                of(margin.motor),
                degrees(margin.angle),
                words::at(check, margin.at)
            ),
        });
    }
    told.extend(design.motors.iter().filter_map(|motor| {
        let screw = motor.screw?.screw()?;
        screw.locks_itself().then(|| Warning {
            code: Code::ScrewLocksItself,
            message: format!(
                "the screw of {} locks itself: the foot never turns its motor, which no direct joint shows",
                motor.name
            ),
        })
    }));
    let outside = |[from, to]: [f64; 2]| from > 0.0 || to < 0.0;
    if outside(check.region.pitch) || outside(check.region.roll) {
        let [pitch, roll] = check.readings([0.0; 2]).map(|reads| angle(reads, 1));
        told.push(Warning {
            code: Code::ZeroOutsideStroke,
            message: format!("the zero pose (pitch {pitch}, roll {roll}) is outside the stroke"),
        });
    }
    told
}
