//! Over which motor turns may the loop move, by its joints' limits and its own?

use serde::Serialize;

use std::f64::consts::{PI, TAU};

use super::four_bar::FourBarLoop;
use super::obstacle::Obstacle;
use crate::design::Preset;
use crate::linkage::{Branch, FourBar, Pose, Stroke};
use crate::robot::{FileJoint, Robot};

/// Between two looks along the branch, rad.
const STEP: f64 = PI / 720.0;

/// Where the file gives no limits the stroke ends this far inside the preset's floor of the transmission angle, rad, so
/// that rounding of the design's figures decides nothing.
const MARGIN: f64 = 0.01 * PI / 180.0;

/// Closer than this two angles of a file are the same, rad.
const DECIMALS: f64 = 1e-4;

/// A stroke that runs up to a dead point ends this far before it, rad.
const SHORT_OF_DEAD: f64 = 1e-6;

/// A drawn pose with a smaller transmission angle is no good zero pose, rad.
const FLAT: f64 = 15.0 * PI / 180.0;

/// The loop on its branch: the zero pose that its design has, and the stroke.
#[derive(Clone, Debug, Serialize)]
pub struct Reach {
    /// The branch through the zero pose.
    #[serde(skip)]
    pub branch: Branch,
    /// Motor turn from the drawn pose to the zero pose, about the driven joint's axis, rad; 0 where that is the drawn
    /// pose.
    #[serde(rename = "zero_turn_rad")]
    pub zero: f64,
    /// The joint turn that belongs to it, rad.
    #[serde(skip)]
    pub zero_joint: f64,
    /// Motor turns from the zero pose, ascending, rad.
    #[serde(rename = "motor_rad")]
    pub motor: [f64; 2],
    /// The joint turns that belong to them, rad.
    #[serde(rename = "joint_rad")]
    pub joint: [f64; 2],
    /// Why that zero pose was taken.
    pub zero_pose: ZeroPose,
    /// What ends the stroke.
    pub ended_by: EndedBy,
    /// The preset's floor of the transmission angle, rad, which ends a stroke without limits.
    #[serde(skip)]
    pub floor: f64,
}

impl Reach {
    /// The stroke from the zero pose.
    #[must_use]
    pub fn stroke(&self) -> Stroke {
        Stroke { motor: self.motor, joint: self.joint }
    }
}

words! {
    /// Which pose the design counts from.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum ZeroPose {
        /// The drawn one, inside the limits.
        Drawn = "drawn",
        /// The drawn one, though it lies outside the joints' limits.
        DrawnOutside = "drawn_outside_limits",
        /// The middle of the stroke, since the drawn one is flat, or nearly.
        Flat = "middle_drawn_flat",
        /// The middle of the stroke, since the drawn one is flat, or nearly, and outside the joints' limits.
        FlatOutside = "middle_drawn_flat_outside_limits",
    }
}

impl ZeroPose {
    /// As a clause.
    #[must_use]
    pub fn why(self) -> &'static str {
        match self {
            Self::Drawn => "the pose that the file draws",
            Self::DrawnOutside => "the pose that the file draws, outside its joints' limits",
            Self::Flat => "the middle of the stroke: the file draws it flat, or nearly",
            Self::FlatOutside => {
                "the middle of the stroke: the file draws it outside its joints' limits, and flat or nearly"
            }
        }
    }

    fn new(is_flat: bool, is_outside: bool) -> Self {
        match (is_flat, is_outside) {
            (false, false) => Self::Drawn,
            (false, true) => Self::DrawnOutside,
            (true, false) => Self::Flat,
            (true, true) => Self::FlatOutside,
        }
    }
}

words! {
    /// What ends the stroke of a loop.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum EndedBy {
        /// The limits that the file gives the two joints.
        Limits = "limits",
        /// No limits: the transmission angle, or that between crank and coupler, falls under the preset's floor.
        TransmissionAngle = "transmission_angle",
        /// The limits of one joint, and before they do a dead point, past which a crank without a stop is not taken.
        DeadPoint = "dead_point",
    }
}

/// How far the body behind one of the rod's pins may turn against the body before it.
#[derive(Clone, Copy, Debug)]
struct RodLimits {
    /// The angle between the two as drawn, rad.
    drawn: f64,
    /// Turns from there, rad.
    ends: [f64; 2],
}

impl RodLimits {
    fn hold(self, angle: f64) -> bool {
        let [low, high] = self.ends;
        (low..=high).contains(&libm::remainder(angle - self.drawn, TAU))
    }
}

/// Limits as turns from the drawn pose about the driven joint's axis.
#[derive(Clone, Copy, Debug)]
struct Limits {
    motor: Option<[f64; 2]>,
    joint: Option<[f64; 2]>,
    /// Of the rod's own pins, at crank and rocker.
    rods: [Option<RodLimits>; 2],
    /// Smallest transmission angle where there are no limits, rad.
    floor: f64,
}

/// Turns from the drawn pose about the driven joint's axis that a joint's limits allow, ascending.
pub(crate) fn turns(joint: &FileJoint, sign: f64) -> Option<[f64; 2]> {
    let [low, high] = joint.limit?.map(|end| sign * (end - joint.drawn_at));
    Some([low.min(high), low.max(high)])
}

/// The stroke of the loop.
///
/// # Errors
/// The loop does not close, is drawn flat with nothing to say how it goes on, or its joints' limits leave it no motion.
pub(super) fn reach(robot: &Robot, found: &FourBarLoop, preset: Preset) -> Result<Reach, Obstacle> {
    let bars = found.bars;
    let [phi, psi] = found.drawn;
    let joint = |id: Option<usize>| id.and_then(|id| robot.joints.get(id));
    let coupler = found.drawn_coupler();
    let rods = [(1, coupler - phi), (2, psi - coupler)].map(|(pin, drawn): (usize, f64)| {
        let pin = found.pins.get(pin)?;
        let sign = pin.axis?.dot(&found.axis).signum();
        let ends = joint(pin.joint).and_then(|joint| turns(joint, sign))?;
        Some(RodLimits { drawn, ends })
    });
    let limits = Limits {
        motor: joint(found.crank_joint()).and_then(|joint| turns(joint, found.motor_sign())),
        joint: joint(found.joint()).and_then(|joint| turns(joint, 1.0)),
        rods,
        floor: floor(preset),
    };
    let drawn = Branch::nearest_closure(&bars, phi, psi)
        .and_then(|(closure, _)| Branch::through(bars, phi, closure));
    match drawn {
        Ok(branch) => match limits.segment(&branch) {
            Some(allowed) => limits.about_zero(branch, allowed).ok_or_else(no_motion),
            None if is_flat(&branch) => limits.behind_flat(found).ok_or_else(no_motion),
            None => Err(no_motion()),
        },
        Err(_) => {
            let fault = flat_or_open(&bars, phi);
            let goes_on = (fault.code == "drawn_flat").then(|| limits.behind_flat(found)).flatten();
            goes_on.ok_or(fault)
        }
    }
}

fn is_flat(drawn: &Branch) -> bool {
    drawn.pose(0.0).is_ok_and(|pose| pose.transmission_angle() < FLAT)
}

fn flat_or_open(bars: &FourBar, phi: f64) -> Obstacle {
    let short = bars.missing_length(phi);
    if short.abs() > 1e-9 * bars.longest() {
        return Obstacle::new(
            "open",
            format!(
                "the loop does not close in the drawn pose: {:.3} mm are missing",
                short.abs() * 1e3
            ),
        );
    }
    Obstacle::new(
        "drawn_flat",
        "drawn with all four pins in line: the file does not say which way it leaves its change point",
    )
}

fn no_motion() -> Obstacle {
    Obstacle::new(
        "no_motion",
        "the limits of its joints leave the linkage no pose on the branch that is drawn",
    )
}

/// Angle between crank and coupler, folded into 0…π/2: 0 in a dead point.
fn drive_angle(branch: &Branch, pose: &Pose, turn: f64) -> f64 {
    let off = branch.zero_crank() + turn - pose.coupler_angle();
    off.sin().abs().atan2(off.cos().abs())
}

/// The preset's floor of the transmission angle, rad.
pub(super) fn floor(preset: Preset) -> f64 {
    let degrees: f64 = match preset {
        Preset::Invisible => 40.0,
        Preset::Training => 30.0,
        Preset::Coarse => 20.0,
    };
    degrees.to_radians()
}

impl Limits {
    fn ended_by(&self, branch: &Branch, [low, high]: [f64; 2]) -> EndedBy {
        let near = |end: f64| {
            !branch.dead_turns(end - 2.0 * SHORT_OF_DEAD, end + 2.0 * SHORT_OF_DEAD).is_empty()
        };
        if !self.is_bounded() {
            EndedBy::TransmissionAngle
        } else if (near(low) && !self.is_stopped(-1.0)) || (near(high) && !self.is_stopped(1.0)) {
            EndedBy::DeadPoint
        } else {
            EndedBy::Limits
        }
    }

    /// The stroke counted from the drawn pose, or from its own middle where the drawn pose is nearly flat.
    fn about_zero(&self, drawn: Branch, [low, high]: [f64; 2]) -> Option<Reach> {
        let is_flat = is_flat(&drawn);
        let zero = if is_flat { 0.5 * (low + high) } else { 0.0 };
        let zero_joint = drawn.joint_turn(zero).ok()?;
        let branch = if is_flat {
            let pose = drawn.pose(zero).ok()?;
            let bars = *drawn.bars();
            let phi = libm::remainder(drawn.zero_crank() + zero, TAU);
            let (closure, _) = Branch::nearest_closure(&bars, phi, pose.rocker_angle()).ok()?;
            Branch::through(bars, phi, closure).ok()?
        } else {
            drawn
        };
        let motor = [low - zero, high - zero];
        let ended_by = self.ended_by(&branch, motor);
        self.reach(branch, [zero, zero_joint], motor, is_flat, ended_by)
    }

    fn reach(
        &self,
        branch: Branch,
        [zero, zero_joint]: [f64; 2],
        motor: [f64; 2],
        is_flat: bool,
        ended_by: EndedBy,
    ) -> Option<Reach> {
        let joint = [branch.joint_turn(motor[0]).ok()?, branch.joint_turn(motor[1]).ok()?];
        let zero_pose = ZeroPose::new(is_flat, !self.hold_drawn());
        let floor = self.floor;
        Some(Reach { branch, zero, zero_joint, motor, joint, zero_pose, ended_by, floor })
    }

    /// The stroke of a loop that is drawn flat, or nearly, outside its joints' limits: of the two ways on, the one that
    /// brings both joints into the middle of their limits.
    fn behind_flat(&self, found: &FourBarLoop) -> Option<Reach> {
        let middle = |range: Option<[f64; 2]>| {
            range.map(|[low, high]| 0.5 * (low + high)).filter(|x| x.is_finite())
        };
        let (zero, wanted) = (middle(self.motor)?, middle(self.joint)?);
        let [phi, psi] = found.drawn;
        let phi = libm::remainder(phi + zero, TAU);
        let (closure, solved) = Branch::nearest_closure(&found.bars, phi, psi + wanted).ok()?;
        let nearest = |angle: f64| libm::remainder(angle - psi - wanted, TAU);
        let off = solved.into_iter().map(nearest).min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
        let zero_joint = wanted + off;
        let branch = Branch::through(found.bars, phi, closure).ok()?;
        let shifted = Self {
            motor: self.motor.map(|range| range.map(|end| end - zero)),
            joint: self.joint.map(|range| range.map(|end| end - zero_joint)),
            ..*self
        };
        let motor = shifted.segment(&branch)?;
        self.reach(branch, [zero, zero_joint], motor, true, EndedBy::Limits)
    }

    /// Whether both turns from the drawn pose are within the limits.
    fn hold(&self, motor: f64, joint: f64) -> bool {
        let inside = |range: Option<[f64; 2]>, turn: f64| {
            range.is_none_or(|[low, high]| (low..=high).contains(&turn))
        };
        inside(self.motor, motor) && inside(self.joint, joint)
    }

    /// Whether the drawn pose is within the limits, but for the file's decimals.
    fn hold_drawn(&self) -> bool {
        let wider =
            |range: Option<[f64; 2]>| range.map(|[low, high]| [low - DECIMALS, high + DECIMALS]);
        Self { motor: wider(self.motor), joint: wider(self.joint), ..*self }.hold(0.0, 0.0)
    }

    fn allow(&self, branch: &Branch, turn: f64) -> bool {
        let (Ok(()), Ok(joint)) = (branch.reach(turn), branch.joint_turn(turn)) else {
            return false;
        };
        self.hold(turn, joint)
            && self.hold_rod(branch, turn)
            && (self.is_bounded() || self.is_usable(branch, turn))
    }

    fn is_bounded(&self) -> bool {
        self.motor.is_some() || self.joint.is_some() || self.rods.iter().any(Option::is_some)
    }

    /// Whether the rod's own pins let it stand as it does then.
    fn hold_rod(&self, branch: &Branch, turn: f64) -> bool {
        let [at_crank, at_rocker] = self.rods;
        if at_crank.is_none() && at_rocker.is_none() {
            return true;
        }
        branch.pose(turn).is_ok_and(|pose| {
            let coupler = pose.coupler_angle();
            at_crank.is_none_or(|rod| rod.hold(coupler - branch.zero_crank() - turn))
                && at_rocker.is_none_or(|rod| rod.hold(pose.rocker_angle() - coupler))
        })
    }

    /// Far enough from crank limits and dead points.
    fn is_usable(&self, branch: &Branch, turn: f64) -> bool {
        branch.pose(turn).is_ok_and(|pose| {
            pose.transmission_angle().min(drive_angle(branch, &pose, turn)) >= self.floor + MARGIN
        })
    }

    /// Whether the crank's own limits end the stroke on this side.
    fn is_stopped(&self, direction: f64) -> bool {
        self.motor.is_some_and(|[low, high]| if direction > 0.0 { high } else { low }.is_finite())
    }

    /// The allowed motor turns nearest to the drawn pose, ascending; within one turn to each side.
    fn segment(&self, branch: &Branch) -> Option<[f64; 2]> {
        let start = self.nearest(branch)?;
        let [low, high] = [-1.0, 1.0].map(|direction| self.end(branch, start, direction));
        // Off what ends the branch by a little, where rounding may deny the pose itself.
        let inset = 1e-7_f64.min(1e-3 * (high - low));
        let free = |end: f64, inside: f64| {
            if branch.reach(end + (end - inside)).is_err() { inside } else { end }
        };
        let ends = [free(low, low + inset), free(high, high - inset)];
        (ends[1] - ends[0] > 1e-6).then_some(ends)
    }

    fn nearest(&self, branch: &Branch) -> Option<f64> {
        let mut turn = 0.0;
        let mut open = [true; 2];
        while turn <= TAU && open.contains(&true) {
            for (side, is_open) in [1.0, -1.0].into_iter().zip(&mut open) {
                let at = side * turn;
                *is_open = *is_open && branch.reach(at).is_ok();
                if *is_open && self.allow(branch, at) {
                    return Some(at);
                }
            }
            turn += STEP;
        }
        None
    }

    fn end(&self, branch: &Branch, start: f64, direction: f64) -> f64 {
        let end = self.walked(branch, start, direction);
        if self.is_stopped(direction) {
            return end;
        }
        // A crank without a stop is never taken past a dead point: nobody says that the linkage goes there.
        let dead = branch.dead_turns(start.min(end), start.max(end));
        let past = |turn: &f64| (turn - start) * direction > STEP;
        let first = dead
            .into_iter()
            .filter(past)
            .min_by(|a, b| ((a - start) * direction).total_cmp(&((b - start) * direction)));
        first.map_or(end, |turn| turn - direction * SHORT_OF_DEAD)
    }

    fn walked(&self, branch: &Branch, start: f64, direction: f64) -> f64 {
        let mut inside = start;
        while (inside - start).abs() < TAU {
            let next = inside + direction * STEP;
            if !self.allow(branch, next) {
                return self.bisected(branch, inside, next);
            }
            inside = next;
        }
        start + direction * TAU
    }

    fn bisected(&self, branch: &Branch, mut inside: f64, mut outside: f64) -> f64 {
        for _ in 0..80 {
            let middle = 0.5 * (inside + outside);
            if self.allow(branch, middle) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        inside
    }
}
