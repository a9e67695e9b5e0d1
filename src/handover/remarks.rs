//! What the emitted file says in words: from which design, which ratio, which limits, what was assumed.

use super::emit::{ActuatorUnits, EmitRequest, Format, LimitBasis};
use super::fault::EmitFault;
use super::figures::{Envelope, JointFigures};
use super::joint_json::basis_name;
use super::limits::JointLimit;
use crate::design::{Actuator, Body, BodyFrame};
use crate::equivalence::Verdict;
use crate::robot::{mjcf, sdformat, urdf};

/// The comment at the head of the file.
pub(super) fn head(request: &EmitRequest<'_>, assumptions: &[String]) -> Vec<String> {
    let design = request.design;
    let mut lines = vec![format!(
        "From the design \"{}\" ({}): one revolute joint in place of a four-bar drive.",
        design.name,
        file_name(&design.source.path)
    )];
    lines.extend(verdict(request));
    lines.push(ratio_line(request));
    lines.extend(format_remarks(request).iter().map(|line| (*line).to_owned()));
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

fn verdict(request: &EmitRequest<'_>) -> Vec<String> {
    let check = request.check;
    let word = match check.verdict {
        Verdict::Equivalent => "Verdict: equivalent",
        Verdict::NotEquivalent => "NOT EQUIVALENT",
        Verdict::Undecided => "NOT EQUIVALENT as far as is known (undecided)",
    };
    let shown = if check.proved { "proved" } else { "computed, not proved" };
    let mut lines =
        vec![format!("{word}, basis {}, {shown}: {}", basis_name(check.basis), check.reason)];
    if check.verdict != Verdict::Equivalent {
        lines.push("Emitted on request all the same: do not train or drive a robot on it.".into());
    }
    lines
}

fn ratio_line(request: &EmitRequest<'_>) -> String {
    let [smallest, largest] = request.check.ratio_magnitude;
    format!(
        "Ratio {} motor turns per joint turn; the linkage's own is {smallest:.6} to {largest:.6} in magnitude over the stroke.",
        request.check.direct_joint.ratio
    )
}

fn format_remarks(request: &EmitRequest<'_>) -> Vec<&'static str> {
    let (always, snippet) = match request.options.format {
        Format::Urdf => (urdf::REMARKS, urdf::SNIPPET_REMARKS),
        Format::Sdformat => (sdformat::REMARKS, sdformat::SNIPPET_REMARKS),
        Format::Mjcf => (mjcf::REMARKS, mjcf::SNIPPET_REMARKS),
    };
    let snippet = if request.options.whole { &[] } else { snippet };
    snippet.iter().chain(always).copied().collect()
}

/// The comment above one joint.
pub(super) fn joint(request: &EmitRequest<'_>, figures: &JointFigures) -> Vec<String> {
    let limits = request.options.limits;
    let mut lines = vec![figures.formula()];
    let [low, high] = figures.limit;
    lines.push(format!("Limits: lower {}; upper {}.", limit(low), limit(high)));
    lines.push(bound(request, "Effort", "N m", figures.torque, TORQUE_UNKNOWN));
    lines.push(bound(request, "Velocity", "rad/s", figures.speed, SPEED_UNKNOWN));
    if limits == LimitBasis::NeverExceed {
        lines.push("Somewhere on the stroke the motor does not reach these two limits.".into());
    }
    lines.push(armature(request.options.format, figures));
    lines.extend(losses(figures));
    lines.extend(gains(figures));
    if request.options.format == Format::Mjcf {
        lines.extend(actuator(request.options.actuator, figures, limits.of(figures.torque)));
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

fn bound(
    request: &EmitRequest<'_>,
    what: &str,
    unit: &str,
    envelope: Envelope,
    unknown: &str,
) -> String {
    let basis = request.options.limits;
    if envelope == Envelope::default() {
        return format!("{what} {unknown}; no limit is written.");
    }
    format!(
        "{what} limit {} ({} over the stroke); {}: {}.",
        figure(basis.of(envelope), unit),
        basis.name(),
        basis.other_name(),
        figure(basis.other(envelope), unit)
    )
}

fn figure(value: Option<f64>, unit: &str) -> String {
    value.map_or_else(|| "without bound".into(), |v| format!("{v} {unit}"))
}

fn armature(format: Format, figures: &JointFigures) -> String {
    let Some(plain) = figures.plain_armature else {
        return "Armature not known: needs [actuator] rotor_inertia and gear_ratio.".into();
    };
    let place = match format {
        Format::Mjcf => "written as the joint's armature",
        Format::Urdf | Format::Sdformat => "not in this file",
    };
    format!(
        "Armature n^2 J = {plain} kg m^2, {place}. It loses the coupling n J with a swinging parent link."
    )
}

fn losses(figures: &JointFigures) -> Option<String> {
    figures.damping.or(figures.friction)?;
    Some("Damping (x ratio^2) and friction (x |ratio|) are the motor's, taken to the joint; the pins' are not in them.".into())
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

/// What was assumed, for the JSON and the head of the file.
pub(super) fn assumptions(request: &EmitRequest<'_>) -> Vec<String> {
    let design = request.design;
    let mut lines = vec![
        "all angles are readings of the robot's software; positive about the joint's axis by the right-hand rule, child aligned with parent at reading 0".to_owned(),
        "torque and speed over the stroke are the motor's peak torque x |i| and its largest speed / |i|, without losses".to_owned(),
        "the inertia split is not computed: the bodies stay as they are, and the armature is n^2 J alone".to_owned(),
        "the pins' friction is not in damping and friction".to_owned(),
    ];
    lines.extend(mirror(request));
    if request.options.whole {
        lines.extend(whole_model(request));
    }
    let rotor = design.actuator.as_ref().filter(|a| a.rotor_inertia.is_some());
    if rotor.is_some_and(|a: &Actuator| a.rotor_in_carrier == Some(false)) {
        lines.push(
            "the parent link's own figures do not hold the rotor: its mass is not in this model"
                .into(),
        );
    }
    lines
}

fn mirror(request: &EmitRequest<'_>) -> Option<String> {
    let any = request.design.robots.iter().any(|r| r.mirrored);
    any.then(|| {
        "where mirrored, the design's axis is opposite to the joint's: turns and offset change sign, the ratio does not".into()
    })
}

fn whole_model(request: &EmitRequest<'_>) -> Vec<String> {
    let masses = &request.design.mass;
    let mut lines = vec!["the parent link is fixed to the world".to_owned()];
    let left_out: Vec<&str> =
        [("crank", &masses.crank), ("coupler", &masses.coupler), ("carried", &masses.carried)]
            .into_iter()
            .filter_map(|(name, body)| body.as_ref().map(|_| name))
            .collect();
    if !left_out.is_empty() {
        lines.push(format!("not in this model: the mass of {}", left_out.join(", ")));
    }
    if request.design.robots.len() > 1 {
        lines.push("every joint of the drawing has the same mass figures; those of the other side are not turned round".into());
    }
    lines.extend(masses.child.as_ref().and_then(child_frame));
    lines.extend([("carrier", &masses.carrier), ("child", &masses.child)].into_iter().filter_map(
        |(name, body)| {
            let flat = body.as_ref().is_some_and(|b| !b.center_is_spatial);
            flat.then(|| format!("the mass centre of [mass.{name}] has no third coordinate: 0"))
        },
    ));
    lines
}

fn child_frame(body: &Body) -> Option<String> {
    (body.frame == BodyFrame::Drawing).then(|| {
        "the child's mass figures were turned from the drawing's frame into the link's own, by the zero pose and the direction from the motor axis to the joint axis".into()
    })
}

/// URDF requires effort and velocity.
pub(super) fn urdf_faults(request: &EmitRequest<'_>, figures: &JointFigures) -> Vec<EmitFault> {
    let limits = request.options.limits;
    let needed = [
        ("[actuator] peak_torque", "effort", figures.torque, "peak_torque = \"60 N m\""),
        ("[actuator] max_speed", "velocity", figures.speed, "max_speed = \"20 rad/s\""),
    ];
    let faults = needed.into_iter().filter(|(_, _, envelope, _)| limits.of(*envelope).is_none());
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
pub(super) fn notes(request: &EmitRequest<'_>, figures: &[JointFigures]) -> Vec<String> {
    let options = request.options;
    let mut notes = Vec::new();
    if options.actuator == ActuatorUnits::Motor && options.format != Format::Mjcf {
        notes.push("this format holds no actuator: --actuator motor changes nothing".into());
    }
    if options.format == Format::Mjcf && !options.whole {
        notes.push(
            "the snippet is in radians; the format's default is degree: see the comment in it"
                .into(),
        );
    }
    let Some(first) = figures.first() else {
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
