//! What the emitted file says in words: from which design, which ratio, which limits, what was assumed.

use super::Form;
use super::fault::EmitFault;
use super::stand_in::figures::{Envelope, JointFigures};
use super::stand_in::limits::JointLimit;
use super::stand_in::{ActuatorUnits, Draws, LimitBasis, Request, StandIn};
use super::{finger_remarks, inertia_remarks};
use crate::design::{MotorOn, Pin};
use crate::equivalence::Verdict;
use crate::robot::Format;

/// The comment at the head of the file.
pub(super) fn head<G: Draws>(request: &Request<'_, G>, assumptions: &[String]) -> Vec<String> {
    let design = request.design;
    let what = match request.ask.form {
        Form::Direct => format!("one revolute joint in place of a {}", design.geometry.title()),
        Form::Coupled => design.geometry.coupled_title(),
        Form::Loop => format!("a {} as a closed loop", design.geometry.title()),
    };
    let what = finger_remarks::what(request).map_or(what, str::to_owned);
    let mut lines = vec![format!(
        "From the design \"{}\" ({}): {what}.",
        design.name,
        file_name(&design.source.path)
    )];
    lines.extend(verdict(request));
    lines.push(finger_remarks::pad_line(request).unwrap_or_else(|| ratio_line(request)));
    lines.extend(format_remarks(request).iter().map(|line| (*line).to_owned()));
    if request.ask.format == Format::Mjcf {
        lines.push(format!("For MuJoCo {} and later.", request.engine()));
    }
    lines.extend(inertia_remarks::held_together(request));
    lines.push("Assumed:".into());
    lines.extend(assumptions.iter().map(|a| format!("* {a}")));
    lines
}

fn file_name(path: &str) -> &str {
    match path.rsplit(['/', '\\']).next() {
        Some("-") | None => "standard input",
        Some(name) => name,
    }
}

fn verdict<G: Draws>(request: &Request<'_, G>) -> Vec<String> {
    let check = request.check;
    let word = match check.verdict {
        Verdict::Equivalent => "Verdict: equivalent",
        Verdict::NotEquivalent => "NOT EQUIVALENT",
        Verdict::Undecided => "NOT EQUIVALENT as far as is known (undecided)",
    };
    let shown = if check.proved { "proved" } else { "computed, not proved" };
    let mut lines =
        vec![format!("{word}, basis {}, {shown}: {}", check.basis.name(), check.reason)];
    if request.ask.form.keeps_crank() {
        lines.push("The verdict is about a direct joint; this model does not rest on it.".into());
    } else if check.verdict != Verdict::Equivalent {
        lines.push("Emitted on request all the same: do not train or drive a robot on it.".into());
    }
    lines
}

fn ratio_line<G: Draws>(request: &Request<'_, G>) -> String {
    let [smallest, largest] = request.check.ratio_magnitude;
    format!(
        "Ratio {} motor turns per joint turn; the linkage's own is {smallest:.6} to {largest:.6} in magnitude over the stroke.",
        request.check.direct_joint.ratio
    )
}

fn format_remarks<G: Draws>(request: &Request<'_, G>) -> Vec<&'static str> {
    let format = request.ask.format;
    let snippet = if request.ask.whole { &[] } else { format.snippet_remarks() };
    snippet.iter().chain(format.remarks()).copied().collect()
}

/// The comment above one joint.
pub(super) fn joint<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Vec<String> {
    if let Some(lines) = finger_remarks::driver(request, stand_in) {
        return lines;
    }
    let (limits, figures) = (request.ask.limits, &stand_in.figures);
    let is_kept = request.ask.form.keeps_crank();
    let end = stand_in.motor.as_ref();
    let by_ratio = match (end, request.design.motor_on) {
        (_, MotorOn::Parent) => "With the parent's joint in its zero pose: ",
        (Some(_), MotorOn::Carrier) if is_kept => "By the direct joint: ",
        _ => "",
    };
    let mut lines = vec![format!("{by_ratio}{}", figures.formula())];
    let [low, high] = figures.limit;
    lines.push(format!("Limits: lower {}; upper {}.", limit(low), limit(high)));
    let after = if rubbing(request).is_some() { ", after friction in the pins" } else { "" };
    lines.push(bound(request, "Effort", "N m", figures.torque, [TORQUE_UNKNOWN, after]));
    lines.push(bound(request, "Velocity", "rad/s", figures.speed, [SPEED_UNKNOWN, ""]));
    if limits == LimitBasis::NeverExceed {
        lines.push("Somewhere on the stroke the motor does not reach these two limits.".into());
    }
    if let Some(end) = end {
        lines.extend(end.remarks.iter().cloned());
        if request.ask.form == Form::Coupled {
            lines.extend(inertia_remarks::joint(request, stand_in));
        }
    } else {
        lines.extend(inertia_remarks::joint(request, stand_in));
        lines.extend(losses(request, figures));
    }
    lines.extend(gains(figures).filter(|_| !is_kept));
    if request.ask.format == Format::Mjcf && end.is_some() {
        lines.extend(actuator(ActuatorUnits::Motor, figures, None));
    } else if request.ask.format == Format::Mjcf && is_kept {
        lines.push(crank_signal(figures));
    } else if request.ask.format == Format::Mjcf {
        lines.extend(actuator(request.ask.actuator, figures, limits.of(figures.torque)));
    }
    lines
}

fn limit(limit: JointLimit) -> String {
    let through = match limit.set_by {
        super::LimitSetBy::Stroke => "from the stroke",
        super::LimitSetBy::MotorStop => "from the motor stop, through the linkage",
    };
    format!("{} rad ({:.3} deg) {through}", limit.angle + 0.0, limit.angle.to_degrees())
}

const TORQUE_UNKNOWN: &str = "not known: needs [actuator] peak_torque";
const SPEED_UNKNOWN: &str = "not known: needs [actuator] max_speed";

fn bound<G: Draws>(
    request: &Request<'_, G>,
    what: &str,
    unit: &str,
    envelope: Envelope,
    [unknown, after]: [&str; 2],
) -> String {
    let basis = request.ask.limits;
    let [own, other] = match basis {
        LimitBasis::Guaranteed => [after, ""],
        LimitBasis::NeverExceed => ["", after],
    };
    if envelope == Envelope::default() {
        return format!("{what} {unknown}; no limit is written.");
    }
    format!(
        "{what} limit {} ({} over the stroke{own}); {}{other}: {}.",
        figure(basis.of(envelope), unit),
        basis.name(),
        basis.other_name(),
        figure(basis.other(envelope), unit)
    )
}

fn figure(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(|| "without bound".into(), |v| format!("{v} {unit}"))
}

fn losses<G: Draws>(request: &Request<'_, G>, figures: &JointFigures) -> Option<String> {
    figures.damping.or(figures.friction)?;
    let text = match (request.ask.form, request.ask.format) {
        (Form::Loop, _) => {
            "Damping and friction are the motor's and stand on the crank; the pins' are not in them."
        }
        (Form::Coupled, Format::Mjcf) => {
            "Damping is the motor's and stands on the crank. Its friction (x |ratio|) stands on this joint: on the crank, which follows, it would fight the coupling. The pins' are not in them."
        }
        _ => {
            "Damping (x ratio^2) and friction (x |ratio|) are the motor's, taken to the joint; the pins' are not in them."
        }
    };
    Some(text.into())
}

fn crank_signal(figures: &JointFigures) -> String {
    let signal = match figures.position_gain {
        Some(_) => "target reading of the motor, rad",
        None => "torque of the motor, N m",
    };
    format!("The actuator drives the crank, in the motor's units. Control signal: {signal}.")
}

fn gains(figures: &JointFigures) -> Option<String> {
    figures.position_gain.or(figures.velocity_gain)?;
    Some(format!(
        "Gains at the joint (motor's x ratio^2): position {}, velocity {}.",
        known(figures.position_gain, "N m/rad"),
        known(figures.velocity_gain, "N m s/rad")
    ))
}

fn known(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(|| "not known".into(), |v| format!("{v} {unit}"))
}

fn actuator(units: ActuatorUnits, figures: &JointFigures, effort: Option<f64>) -> Vec<String> {
    let servo = figures.position_gain.is_some();
    let signal = match (units, servo) {
        (ActuatorUnits::Joint, true) => "Control signal: target reading of the joint, rad.",
        (ActuatorUnits::Joint, false) => "Control signal: torque at the joint, N m.",
        (ActuatorUnits::Motor, true) => "Control signal: target reading of the motor, rad.",
        (ActuatorUnits::Motor, false) => "Control signal: torque of the motor, N m.",
    };
    let mut lines = vec![signal.to_owned()];
    if let (ActuatorUnits::Motor, Some(effort)) = (units, effort) {
        lines.push(format!(
            "Force range in motor units: the joint's effort limit {effort} N m / |ratio|."
        ));
    }
    lines
}

/// The coefficient of friction in the pins and the pins that it is known for; `None` where it takes nothing off.
pub(super) fn rubbing<G: Draws>(request: &Request<'_, G>) -> Option<(f64, Vec<&'static str>)> {
    let pins =
        Some(&request.design.pins).filter(|_| request.design.geometry.counts_pin_friction())?;
    let named = [
        ("motor", &pins.motor),
        ("crank", &pins.crank),
        ("rocker", &pins.rocker),
        ("joint", &pins.joint),
    ];
    let has_diameter = |pin: &Option<Pin>| pin.as_ref().is_some_and(|p| p.diameter.is_some());
    let known: Vec<_> =
        named.into_iter().filter(|(_, pin)| has_diameter(pin)).map(|(name, _)| name).collect();
    pins.friction.filter(|_| !known.is_empty()).map(|coefficient| (coefficient, known))
}

/// A limit of 0 means none to some readers.
pub(super) fn locked<G: Draws>(
    request: &Request<'_, G>,
    figures: &JointFigures,
) -> Option<EmitFault> {
    let Envelope { guaranteed, never_exceed } = figures.torque;
    let is_locked = guaranteed.is_none() && never_exceed.is_some();
    let asked = request.ask.limits == LimitBasis::Guaranteed;
    (is_locked && asked && rubbing(request).is_some()).then(|| EmitFault::Unfit {
        key: "[pins] friction",
        why: "the pins lock the drive somewhere on the stroke, so that no torque is guaranteed there".into(),
        help: "keep the stroke away from small transmission angles, take thinner or smoother pins, or --limits never-exceed".into(),
    })
}

/// URDF requires effort and velocity.
pub(super) fn urdf_faults<G: Draws>(
    request: &Request<'_, G>,
    figures: &JointFigures,
) -> Vec<EmitFault> {
    let limits = request.ask.limits;
    let needed = [
        ("[actuator] peak_torque", "effort", figures.torque, "peak_torque = \"60 N m\""),
        ("[actuator] max_speed", "velocity", figures.speed, "max_speed = \"20 rad/s\""),
    ];
    let told = locked(request, figures).is_some();
    let faults = needed
        .into_iter()
        .filter(|(_, _, envelope, _)| limits.of(*envelope).is_none())
        .filter(|(_, what, ..)| *what != "effort" || !told);
    faults.map(|(key, what, envelope, line)| urdf_fault(key, what, envelope, line)).collect()
}

fn urdf_fault(key: &'static str, what: &str, envelope: Envelope, line: &str) -> EmitFault {
    if envelope == Envelope::default() {
        return EmitFault::Missing {
            key,
            needed_for: format!("URDF requires the {what} limit of a revolute joint"),
            help: format!("add your motor's figure at the gearbox output, e.g. {line}"),
        };
    }
    EmitFault::Unfit {
        key,
        why: format!(
            "the linkage's ratio has no bound over the stroke, so the {what} limit has none"
        ),
        help: "shorten the stroke away from the dead point".into(),
    }
}

/// What the user should be told besides.
pub(super) fn notes<G: Draws>(request: &Request<'_, G>, stand_ins: &[StandIn<'_>]) -> Vec<String> {
    let ask = request.ask;
    let mut notes = Vec::new();
    notes.extend(inertia_remarks::as_they_stand(request, stand_ins));
    notes.extend(inertia_remarks::rough_fit(request, stand_ins));
    notes.extend(finger_remarks::notes(request, stand_ins));
    notes.extend(finger_remarks::left_out(request));
    if ask.engine.is_some() && ask.format != Format::Mjcf {
        notes.push("--engine-version is about MJCF: it changes nothing here".into());
    }
    if ask.actuator == ActuatorUnits::Motor && !ask.format.holds_actuators() {
        notes.push("this format holds no actuator: --actuator motor changes nothing".into());
    }
    if ask.format == Format::Mjcf && !ask.whole {
        notes.push(
            "the snippet is in radians; the format's default is degree: see the comment in it"
                .into(),
        );
    }
    let Some(first) = stand_ins.first().map(|one| &one.figures) else {
        return notes;
    };
    let unknown =
        [(first.torque, TORQUE_UNKNOWN, "effort"), (first.speed, SPEED_UNKNOWN, "velocity")];
    for (envelope, why, what) in unknown {
        if envelope == Envelope::default() {
            notes.push(format!("{what} {why}"));
        }
    }
    notes
}
