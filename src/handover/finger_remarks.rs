//! What the emitted file says of a gripper's fingers.

use super::Form;
use super::finger_json::is_slide;
use super::stand_in::figures::Envelope;
use super::stand_in::jaw;
use super::stand_in::limits::JointLimit;
use super::stand_in::{ActuatorUnits, Draws, Jaw, LimitSetBy, Request, StandIn};
use crate::equivalence::PadStandIn;
use crate::robot::Format;
use crate::units::{degrees, millimetres};

/// What the file holds, for its head; `None` where a direct joint's own words do.
pub(super) fn what<G: Draws>(request: &Request<'_, G>) -> Option<&'static str> {
    jaw::asked(request)?;
    Some(match jaw::stand_in(request) {
        None => "the fingers of a parallel gripper as closed loops",
        Some(PadStandIn::Counter) => {
            "a counter-turning pair for each finger of a parallel gripper, in place of its four-bar"
        }
        Some(PadStandIn::Slide) => {
            "one slide for each finger of a parallel gripper, in place of its four-bar"
        }
        Some(PadStandIn::Hinge) => "one hinge for each finger, in place of its four-bar drive",
    })
}

/// In the place of the line on the ratio, which is the rocker's.
pub(super) fn pad_line<G: Draws>(request: &Request<'_, G>) -> Option<String> {
    let found = request.check.finger.as_ref().filter(|_| jaw::drives_itself(request))?;
    let [open, closed] = [found.opening[1].value, found.opening[0].value];
    let [weakest, strongest] = found.grip.map(|at| at.value);
    Some(format!(
        "Opening {} to {}; each pad grips with {weakest:.3} to {strongest:.3} N for each N m of the motor, without loss.",
        millimetres(closed),
        millimetres(open)
    ))
}

/// The lines above the driver; `None` where it is a direct joint.
pub(super) fn driver<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
) -> Option<Vec<String>> {
    let jaw = stand_in.jaw.as_ref().filter(|jaw| jaw.driver().is_some())?;
    let figures = &stand_in.figures;
    let (unit, force, speed) =
        if is_slide(jaw) { ("m", "N", "m/s") } else { ("rad", "N m", "rad/s") };
    let [low, high] = figures.limit.map(|end| limit(end, unit));
    let basis = request.ask.limits;
    let bound = |what, envelope: Envelope, unit| match basis.of(envelope) {
        Some(x) => format!("{what} limit {x} {unit} ({}).", basis.name()),
        None => format!("{what} not known: no limit is written."),
    };
    let mut lines =
        vec![relation(request, jaw, stand_in), format!("Limits: lower {low}; upper {high}.")];
    lines.push(bound("Effort", figures.torque, force));
    lines.push(bound("Velocity", figures.speed, speed));
    lines.push("The followers have no effort of their own: the driver moves them.".into());
    lines.extend(armature(request, stand_in, jaw));
    lines.extend(inertia(jaw));
    lines.extend(as_they_stand(request, jaw));
    if request.ask.format == Format::Mjcf {
        lines.push(signal(request, stand_in, jaw).into());
    }
    Some(lines)
}

fn relation<G: Draws>(request: &Request<'_, G>, jaw: &Jaw, stand_in: &StandIn<'_>) -> String {
    let readings = stand_in.figures.readings;
    if is_slide(jaw) {
        return format!(
            "Reading: way of each pad along the closing direction from the zero pose, m; motor reading = {} + {} * reading, in rad, by the best constant.",
            readings.motor,
            readings.gear()
        );
    }
    let front = request.check.finger.as_ref().and_then(|found| found.crank_drive);
    if let Some(front) = front {
        return format!(
            "The joint is the crank's: {}, by a constant for the drive in front of it, which is off by up to {:.2} % in its ratio and {} in its angle as drawn.",
            stand_in.figures.formula(),
            100.0 * front.ratio_error,
            degrees(front.angle_error)
        );
    }
    "The joint is the motor's: its reading is the motor's reading, in rad.".into()
}

fn limit(end: JointLimit, unit: &str) -> String {
    let from = match end.set_by {
        LimitSetBy::Stroke => "from the stroke",
        LimitSetBy::MotorStop => "from the motor stop",
    };
    format!("{} {unit} {from}", end.angle + 0.0)
}

fn armature<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
    jaw: &Jaw,
) -> Option<String> {
    let unit = if is_slide(jaw) { "kg" } else { "kg m^2" };
    let place = if request.ask.format.holds_armature() { "written" } else { "not in this file" };
    let is_patched = request.ask.whole || request.ask.form == Form::Loop;
    if let Some(armature) = jaw.armature.filter(|_| is_patched) {
        return Some(format!(
            "Armature {armature} {unit}, {place}; it belongs to the links' figures here."
        ));
    }
    let Some(plain) = stand_in.figures.plain_armature else {
        return Some("Armature not known: needs [actuator] rotor_inertia and gear_ratio.".into());
    };
    Some(format!(
        "Armature n^2 J = {plain} {unit}, {place}. It loses the coupling n J with a swinging palm, and the rocker's share; NAME.joint.json lists what the links weigh with it, where the masses are given."
    ))
}

fn inertia(jaw: &Jaw) -> Option<String> {
    match (jaw.inertia_error, &jaw.why_no_bodies) {
        (Some((over, error)), _) => Some(format!(
            "Inertia error {:.2} % ({}), all fingers together, with the bodies that belong to it.",
            100.0 * error,
            over.name()
        )),
        (None, Some(why)) => Some(format!("No bodies are computed: {why}.")),
        (None, None) => None,
    }
}

/// What a snippet leaves off, as long as the links weigh what they do.
fn as_they_stand<G: Draws>(request: &Request<'_, G>, jaw: &Jaw) -> Option<String> {
    let is_snippet = request.ask.form == Form::Direct && !request.ask.whole;
    let (over, error) = jaw.plain_error.filter(|_| is_snippet)?;
    Some(format!(
        "Inertia error {:.2} % ({}) with the bodies as they stand.",
        100.0 * error,
        over.name()
    ))
}

fn signal<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>, jaw: &Jaw) -> &'static str {
    let is_target = stand_in.figures.position_gain.is_some();
    match (request.ask.actuator, is_target, is_slide(jaw)) {
        (ActuatorUnits::Motor, true, _) => "Control signal: target reading of the motor, rad.",
        (ActuatorUnits::Motor, false, _) => "Control signal: torque of the motor, N m.",
        (ActuatorUnits::Joint, true, true) => "Control signal: target reading of the slide, m.",
        (ActuatorUnits::Joint, true, false) => "Control signal: target reading of the joint, rad.",
        (ActuatorUnits::Joint, false, true) => "Control signal: force of both pads together, N.",
        (ActuatorUnits::Joint, false, false) => "Control signal: torque at the joint, N m.",
    }
}

/// What the followers are to those who read the file.
pub(super) fn notes<G: Draws>(request: &Request<'_, G>, stand_ins: &[StandIn<'_>]) -> Vec<String> {
    let has_followers = stand_ins
        .iter()
        .filter_map(|one| one.jaw.as_ref())
        .any(|jaw| jaw.followers().next().is_some());
    if !has_followers {
        return Vec::new();
    }
    match request.ask.format {
        Format::Mjcf => Vec::new(),
        Format::Urdf => vec![
            "some readers leave the followers free unless they are told to keep mimic joints (Pinocchio 4.1.0: nq 2 against 1 for a pair)".into(),
            "MuJoCo turns a URDF mimic into a soft joint equality: take --to mjcf for a stiff one".into(),
        ],
        Format::Sdformat => {
            vec!["some readers leave the followers free: a mimic needs SDFormat 1.11 and an engine that keeps it".into()]
        }
    }
}

/// The other finger of a pad on the rocker stands in the direct model only.
pub(super) fn left_out<G: Draws>(request: &Request<'_, G>) -> Option<String> {
    let finger = request.design.finger.as_ref()?;
    let is_pair = finger.other == crate::design::OtherFinger::Mirrored;
    (is_pair && jaw::asked(request).is_none())
        .then(|| "the other finger is not in this model: --model direct has both".into())
}
