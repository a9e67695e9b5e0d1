//! What a gripper's finger does: opening, tilt, shift, grip, and which stand-in would do.

use crate::design::{self, Design, OtherFinger};
use crate::equivalence::{DirectJoint, Finger, Front, PadMotion, PadStandIn, Prover, Question};
use crate::linkage::{Branch, LinkageFault, Pad, PadPose, Stroke};
use crate::numeric::{peaks, roots};

use super::crank_drive::{self, Between};
use super::findings::{AtMotor, FingerFindings, StandInCost, Toggle, Unpowered};
use super::mechanism::Mechanism;

/// What `stand_in` does with the pad of `finger`.
fn motion(
    finger: &design::Finger,
    mechanism: &Mechanism,
    joint: &DirectJoint,
    stand_in: PadStandIn,
) -> Result<PadMotion, LinkageFault> {
    let (branch, pad) = (&mechanism.branch, &finger.pad);
    match stand_in {
        PadStandIn::Counter if finger.best_multiplier => {
            let multiplier = PadMotion::mean_multiplier(branch, &mechanism.stroke)?;
            PadMotion::counter(branch, pad, multiplier)
        }
        PadStandIn::Counter => PadMotion::counter(branch, pad, -1.0),
        PadStandIn::Slide => PadMotion::slide(branch, pad, &mechanism.stroke),
        PadStandIn::Hinge => PadMotion::hinge(branch, pad, joint),
    }
}

/// What the verdict on `design` is about, where its pad rides on the coupler.
///
/// # Errors
/// Where rounding denies a pose at the very end of the branch.
pub(super) fn judged(
    design: &Design,
    mechanism: &Mechanism,
    joint: &DirectJoint,
) -> Result<Option<Finger>, LinkageFault> {
    let Some(finger) = design.parallel_jaw() else { return Ok(None) };
    let motion = motion(finger, mechanism, joint, finger.stand_in)?;
    let mirror = match finger.other {
        OtherFinger::Mirrored => Some(finger.mirror_point(&mechanism.branch)?),
        OtherFinger::None => None,
    };
    Ok(Some(Finger { pad: finger.pad, motion, mirror, limits: design.accept.pad }))
}

/// What the finger of `design` does, with what each stand-in would cost; `None` where it has none.
pub(super) fn findings(
    design: &Design,
    mechanism: &Mechanism,
    question: &Question<'_>,
    front: Option<&Front<'_>>,
) -> Option<FingerFindings> {
    let found = of_pad(design, mechanism, question, front)?;
    let stand_ins = stand_ins(design.finger.as_ref()?, mechanism, question, front);
    Some(FingerFindings { stand_ins, ..found })
}

/// The same without a look at other stand-ins, each of which is a proof.
pub(super) fn of_pad(
    design: &Design,
    mechanism: &Mechanism,
    question: &Question<'_>,
    front: Option<&Front<'_>>,
) -> Option<FingerFindings> {
    let finger = design.finger.as_ref()?;
    let between = &Between::of(design, mechanism);
    let (branch, stroke) = (&mechanism.branch, &mechanism.stroke);
    let over = Over { branch, stroke, pad: &finger.pad, between };
    let toggle = over.toggle();
    let mut grip = over.ends_at(|turn, pose| between.ratio(turn) * pose.grip_per_torque());
    if let Some(at) = toggle.filter(|toggle| toggle.margin <= 0.0) {
        grip[1] = AtMotor { value: f64::INFINITY, motor: at.motor };
    }
    let actuator = design.actuator.as_ref();
    let both = |factor: Option<f64>, of: [f64; 2]| factor.map(|f| of.map(|x| x * f));
    let left = design.front.as_ref().and_then(|front| front.efficiency()).unwrap_or(1.0);
    let grips = grip.map(|at| at.value * left);
    let at_peak = both(actuator.and_then(|a| a.peak_torque), grips);
    let rate = |turn: f64, pose: PadPose| pose.opening_rate.abs() / between.ratio(turn);
    let rates = over.ends_at(rate).map(|at| at.value);
    let motion = question.finger.as_ref().map(|f| f.motion);
    let counter = motion.filter(|m| m.stand_in == PadStandIn::Counter);
    let slide = motion.filter(|m| m.stand_in == PadStandIn::Slide);
    Some(FingerFindings {
        pad: finger.pad.on,
        other: finger.other,
        stand_in: finger.stand_in,
        multiplier: counter.map(|m| m.multiplier()),
        travel: slide.map(|m| [m.travel, m.force_travel]),
        opening: over.ends(|pose| finger.opening + pose.opened),
        tilt: over.ends(|pose| pose.tilt),
        shift: over.ends(|pose| pose.shift),
        grip,
        at_peak,
        speed: both(actuator.and_then(|a| a.max_speed), rates),
        unpowered: actuator
            .and_then(|a| a.holding_friction)
            .or(between.locks_itself.then_some(0.0))
            .map(|holding| over.unpowered(holding, at_peak.map(|[least, _]| least))),
        toggle,
        stand_ins: Vec::new(),
        crank_drive: crank_drive::findings(design, mechanism, front),
    })
}

fn stand_ins(
    finger: &design::Finger,
    mechanism: &Mechanism,
    question: &Question<'_>,
    front: Option<&Front<'_>>,
) -> Vec<StandInCost> {
    let Some(asked) = &question.finger else { return Vec::new() };
    let cost = |stand_in| {
        let motion = motion(finger, mechanism, &question.joint, stand_in).ok()?;
        let other = Finger { motion, ..*asked };
        let prover =
            Prover::new(question.branch, &question.joint, question.zeroing, question.limits)
                .of_pad(Some(&other))
                .behind(front);
        let outcome = prover.decide(&question.family, question.stroke.motor);
        Some(StandInCost { stand_in, outcome, figures: prover.pad_figures(&question.stroke)? })
    };
    PadStandIn::ALL.into_iter().filter_map(cost).collect()
}

/// A pad over a stroke.
struct Over<'a> {
    branch: &'a Branch,
    stroke: &'a Stroke,
    pad: &'a Pad,
    between: &'a Between,
}

/// Steps in which a toggle is looked for beyond the stroke, rad.
const STEP: f64 = 0.02;

/// How far beyond the stroke, rad.
const FURTHEST: f64 = std::f64::consts::PI;

/// A rate that goes towards less than this share of that at the stroke's end is none at the barrier.
const FADED: f64 = 1e-5;

/// How far short of a barrier a rate still has its digits, as a share of the way: two lengths that should be equal differ by
/// their rounding, which is divided by the square of this.
const SHORT: f64 = 1e-4;

/// Pieces of a stroke by what the drive holds.
const PIECES: u32 = 512;

impl Over<'_> {
    fn at(&self, turn: f64) -> Option<PadPose> {
        self.pad.at(self.branch, turn).ok()
    }

    fn ends(&self, figure: impl Fn(PadPose) -> f64) -> [AtMotor; 2] {
        self.ends_at(|_, pose| figure(pose))
    }

    fn ends_at(&self, figure: impl Fn(f64, PadPose) -> f64) -> [AtMotor; 2] {
        let value = |turn: f64| self.at(turn).map_or(f64::NAN, |pose| figure(turn, pose));
        peaks(value, self.stroke.motor).map(|(motor, value)| AtMotor { value, motor })
    }

    fn rate(&self, turn: f64) -> f64 {
        self.at(turn).map_or(f64::NAN, |pose| pose.opening_rate)
    }

    /// The pose nearest to the stroke, or the first inside it, in which the pad does not close.
    fn toggle(&self) -> Option<Toggle> {
        let [from, to] = self.stroke.motor;
        let inside = self.change_of_sign(from, to);
        if let Some(motor) = inside {
            return Some(Toggle { motor, margin: 0.0 });
        }
        let beyond = [(from, -1.0, self.branch.below), (to, 1.0, self.branch.above)];
        let found = beyond.into_iter().filter_map(|(end, direction, barrier)| {
            let room = barrier.map_or(FURTHEST, |b| (b.turn - end).abs().min(FURTHEST));
            let short = |share: f64| end + direction * room * (1.0 - share);
            let motor = self.change_of_sign(end, short(1e-9)).or_else(|| {
                let barrier = barrier.filter(|b| (b.turn - end).abs() <= FURTHEST)?;
                let [near, far] = [SHORT, 2.0 * SHORT].map(|share| self.rate(short(share)));
                let fades = (2.0 * near - far).abs() < FADED * self.rate(end).abs();
                fades.then_some(barrier.turn)
            })?;
            Some(Toggle { motor, margin: (motor - end).abs() })
        });
        found.min_by(|a, b| a.margin.total_cmp(&b.margin))
    }

    /// The first motor turn from `start` to `end` at which the rate of the opening changes its sign.
    fn change_of_sign(&self, start: f64, end: f64) -> Option<f64> {
        let steps = ((end - start).abs() / STEP).ceil().clamp(1.0, 2000.0);
        let mut before = (start, self.rate(start));
        let mut step = 0.0;
        while step < steps {
            step += 1.0;
            let turn = start + (end - start) * (step / steps);
            let now = (turn, self.rate(turn));
            if before.1 * now.1 <= 0.0 {
                return Some(roots::bracketed(|turn| self.rate(turn), before.0, now.0));
            }
            before = now;
        }
        None
    }

    /// What `holding` (N m at the output shaft) holds: a pad's force pushes the crank with torque = force / grip per torque.
    fn unpowered(&self, holding: f64, wanted: Option<f64>) -> Unpowered {
        let [from, to] = self.stroke.motor;
        let edge = |k: u32| from + (to - from) * f64::from(k) / f64::from(PIECES);
        // Nothing holds nothing, also where a little would hold any force; but a screw that locks itself needs no help.
        let locks = self.between.locks_itself;
        let held = |turn: f64, pose: PadPose| match (locks, holding > 0.0) {
            (true, _) => f64::INFINITY,
            (false, true) => pose.grip_per_torque() * self.between.held(turn) * holding,
            (false, false) => 0.0,
        };
        let holds = |turn: f64| self.at(turn).map_or(f64::NAN, |pose| held(turn, pose));
        let mut over: Vec<[f64; 2]> = Vec::new();
        for k in 0..PIECES {
            let (low, high) = (edge(k), edge(k + 1));
            if !wanted.is_some_and(|f| holds(low) >= f && holds(high) >= f) {
                continue;
            }
            match over.last_mut() {
                Some(last) if last[1] >= low => last[1] = high,
                _ => over.push([low, high]),
            }
        }
        let mut ends =
            if locks { [f64::INFINITY; 2] } else { self.ends_at(held).map(|at| at.value) };
        if !locks && holding > 0.0 && self.toggle().is_some_and(|toggle| toggle.margin <= 0.0) {
            ends[1] = f64::INFINITY;
        }
        Unpowered { holds: ends, grip: wanted, over }
    }
}
