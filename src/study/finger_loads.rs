//! What a gripper grips with, and what the pins of a finger bear.

use serde::Serialize;

use crate::design::{Design, Parameter};
use crate::diagnostic::Code;
use crate::dynamics::{Jaw, JawDuty, PinPlace};
use crate::equivalence::{Basis, Criterion, Front, Prover, Question};
use crate::linkage::Extreme;
use crate::numeric::{Interval, peaks};
use crate::units::angle;

use super::bearing_parts::bearings;
use super::check::with_question;
use super::crank_drive::Between;
use super::fault::Fault;
use super::findings::{FingerFindings, Toggle, Unpowered};
use super::finger;
use super::lacking::{named, of_motor, of_pins};
use super::mechanism::Mechanism;

/// What one motor torque does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FingerDuty {
    /// Of the drawn linkage.
    #[serde(flatten)]
    pub jaw: JawDuty,
    /// The grip of each pad, N, lies between these in every pose of every linkage within the drawn tolerances, without
    /// friction in the pins; `None` where the verdict is over the drawn lengths, or no bound is known.
    #[serde(rename = "grip_within_tolerances_n")]
    pub within_tolerances: Option<[f64; 2]>,
}

/// Grip and pins over the stroke. All worst poses are computed, not proved.
#[derive(Clone, Debug, Serialize)]
pub struct FingerLoads {
    /// At the motor's peak torque.
    pub peak: Option<FingerDuty>,
    /// At the motor's rated torque.
    pub rated: Option<FingerDuty>,
    /// Smallest and largest closing speed at the motor's largest, m/s, where that is given.
    #[serde(rename = "closing_speed_m_per_s")]
    pub speed: Option<[f64; 2]>,
    /// What the unpowered drive holds, where that is given.
    pub unpowered: Option<Unpowered>,
    /// The nearest pose in which the pad does not close however the motor turns.
    pub toggle: Option<Toggle>,
    /// Share of the motor's torque that friction in the pins leaves, where it is lowest; at or below 0 the drive locks.
    #[serde(rename = "pin_efficiency")]
    pub efficiency: Option<Extreme>,
    /// Pins without a known diameter, which the efficiency leaves out.
    #[serde(skip)]
    pub without_diameter: Vec<PinPlace>,
    /// Share of the motor's work that screws in front of the crank let through, where one is told.
    #[serde(skip)]
    pub screw_efficiency: Option<f64>,
    /// Another drive turns the crank.
    #[serde(skip)]
    pub is_behind: bool,
    /// `[rod]` is given: read and not used.
    #[serde(skip)]
    pub has_rod: bool,
}

/// Of `design`, where its pad rides on the coupler.
///
/// # Errors
/// As [`super::loads`]; a toggle inside the stroke, where no force has a bound.
pub(super) fn finger_loads(
    design: &Design,
    mechanism: &Mechanism,
) -> Result<Option<FingerLoads>, Vec<Fault>> {
    let Some(finger) = design.parallel_jaw() else { return Ok(None) };
    let (found, per_torque) = with_question(design, mechanism, |question, front| {
        let found = finger::of_pad(design, mechanism, question, front);
        (found, within_tolerances(question, front))
    })?;
    let Some(FingerFindings { speed, unpowered, toggle, .. }) = found else { return Ok(None) };
    if let Some(toggle) = toggle.filter(|toggle| toggle.margin <= 0.0) {
        return Err(vec![inside(mechanism, toggle)]);
    }
    let (bearings, actuator) = (bearings(design), design.actuator.as_ref());
    let (branch, turns) = (&mechanism.branch, mechanism.stroke.motor);
    let between = Between::of(design, mechanism);
    let jaw = Jaw { branch, turns, pad: &finger.pad, bearings: &bearings };
    let duty = |torque: Option<f64>| {
        let torque = torque?.abs();
        let within_tolerances = per_torque.map(|range| range.map(|grip| grip * torque));
        let crank = |turn: f64| [between.torque(turn), between.ratio(turn), between.on_axis(turn)];
        Some(FingerDuty { jaw: jaw.duty_through(torque, &crank), within_tolerances })
    };
    Ok(Some(FingerLoads {
        peak: duty(actuator.and_then(|a| a.peak_torque)),
        rated: duty(actuator.and_then(|a| a.rated_torque)),
        speed,
        unpowered,
        toggle,
        efficiency: jaw.efficiency(),
        without_diameter: jaw.without_diameter(),
        screw_efficiency: design.front.as_ref().and_then(|front| front.efficiency()),
        is_behind: design.front.is_some(),
        has_rod: design.rod.is_some(),
    }))
}

/// Between which the grip of each pad lies for each N m of the motor, N/(N m).
///
/// The stand-in's force is that of the linkage times 1 + f, and f is certainly not above the first side of the criterion
/// nor below minus the second.
fn within_tolerances(question: &Question<'_>, front: Option<&Front<'_>>) -> Option<[f64; 2]> {
    let finger = question.finger.as_ref().filter(|_| question.basis == Basis::Tolerance)?;
    let prover = Prover::new(question.branch, &question.joint, question.zeroing, question.limits);
    let turns = question.stroke.motor;
    let found = prover.of_pad(Some(finger)).behind(front).judge(&question.family, turns);
    let [above, below] = found.of(Criterion::Grip)?.sides;
    // The stand-in's crank turns by the motor's turn over the constant of what is in front.
    let (ratio, [from, to]) = match front {
        None => (1.0, turns),
        Some(front) => {
            let off = front.over(Interval::new(turns[0], turns[1]))?.angle.magnitude();
            (front.question.joint.ratio.abs(), [turns[0] - off, turns[1] + off])
        }
    };
    let force = |turn: f64| {
        let rate = finger.motion.at(finger.pad.closing, turn).force_rate;
        ratio / (finger.pad.fingers * rate.abs())
    };
    let [low, high] = peaks(force, [from, to]).map(|peak| peak.1);
    let range = [low / (1.0 + above), high / (1.0 - below)];
    (range[0] > 0.0 && below < 1.0 && range[1].is_finite()).then_some(range)
}

fn inside(mechanism: &Mechanism, toggle: Toggle) -> Fault {
    let at = angle(mechanism.readings.motor(toggle.motor), 2);
    Fault {
        parameter: Parameter::StrokeFirst,
        code: Code::NearToggle,
        message: "the grip has no bound over this stroke".to_owned(),
        label: format!("the gripper's toggle lies inside it, at motor {at}"),
        help: "end the stroke short of it".to_owned(),
    }
}

fn locks_itself(design: &Design) -> bool {
    design.front.as_ref().is_some_and(|front| front.locks_itself())
}

/// What the design does not give and more could be told with, named as in the file.
pub(super) fn missing(design: &Design) -> Vec<&'static str> {
    let actuator = design.actuator.as_ref();
    let holds = actuator.and_then(|a| a.holding_friction).is_some() || locks_itself(design);
    let motor = of_motor(actuator).into_iter().chain([(!holds, "[actuator] holding_friction")]);
    named(motor.chain(of_pins(&design.pins)))
}
