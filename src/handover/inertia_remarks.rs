//! What the emitted file says of inertia: the armature and what it loses, the patch list, the coupling's errors.

use super::Form;
use super::patch::patch;
use super::stand_in::bodies::{Bodies, FitCost};
use super::stand_in::coupling::Coupled;
use super::stand_in::crank::{self, Names, step};
use super::stand_in::jaw;
use super::stand_in::joint::joint_armature;
use super::stand_in::one_joint::KeptSide;
use super::stand_in::{Draws, MotorEnd, Request, StandIn};
use crate::dynamics::MeasuredOver;
use crate::equivalence::Verdict;
use crate::robot::Format;

/// The lines above one joint.
pub(super) fn joint<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Vec<String> {
    match request.ask.form {
        Form::Direct => direct(request, stand_in),
        Form::Coupled => {
            let mut lines = coupled(request, stand_in);
            lines.extend(patch_list(request, stand_in));
            lines
        }
        Form::Loop => {
            let mut lines = looped(request, stand_in);
            lines.extend(patch_list(request, stand_in));
            lines
        }
    }
}

fn direct<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Vec<String> {
    let Some(plain) = stand_in.figures.plain_armature else {
        return vec!["Armature not known: needs [actuator] rotor_inertia and gear_ratio.".into()];
    };
    let holds = request.ask.format.holds_armature();
    let place = if holds { "written as the joint's armature" } else { "not in this file" };
    let Some(bodies) = &stand_in.plan.bodies else {
        return vec![format!(
            "Armature n^2 J = {plain} kg m^2, {place}. It loses the coupling n J with a swinging parent link."
        )];
    };
    if request.ask.whole {
        let armature = joint_armature(request, stand_in).unwrap_or_default();
        return vec![format!(
            "Armature {armature} kg m^2, {place}; it belongs to the links' figures here, which hold crank, coupler and the rotor's coupling.{} With links of your own n^2 J = {plain} kg m^2 would stand alone.",
            error_words(stand_in, WITH_PATCH)
        )];
    }
    let mut lines = vec![format!(
        "Armature n^2 J = {plain} kg m^2, {place}. It loses the coupling n J with a swinging parent link, and your links lack crank and coupler.{}",
        error_words(stand_in, AS_THEY_STAND)
    )];
    lines.extend(patch_list(request, stand_in));
    lines.push(format!(
        "With these additions the armature becomes {} kg m^2.{}",
        bodies.armature,
        error_words(stand_in, WITH_PATCH)
    ));
    lines
}

/// Places of the two figures in [`super::bodies::Bodies::direct_error`].
const WITH_PATCH: usize = 0;
const AS_THEY_STAND: usize = 1;

/// ` Inertia error 12.4 % (planar).`, where it is known: this joint's own.
fn error_words(stand_in: &StandIn<'_>, which: usize) -> String {
    let error = stand_in.plan.bodies.as_ref().and_then(|bodies| bodies.direct_error);
    let figure = error.and_then(|both| both.get(which).copied());
    let words = |(over, error): (MeasuredOver, f64)| {
        format!(" Inertia error {:.2} % ({}).", 100.0 * error, over.name())
    };
    figure.map(words).unwrap_or_default()
}

/// What a snippet comes to as long as nothing is added to the bodies: the worst of its joints.
pub(super) fn as_they_stand<G: Draws>(
    request: &Request<'_, G>,
    stand_ins: &[StandIn<'_>],
) -> Option<String> {
    let ask = request.ask;
    if ask.whole || ask.form != Form::Direct {
        return None;
    }
    let plain = |one: &StandIn<'_>| {
        let of_joint = one.plan.bodies.as_ref().and_then(|bodies| bodies.direct_error);
        of_joint.map(|[_, plain]| plain).or_else(|| one.jaw.as_ref()?.plain_error)
    };
    let errors = stand_ins.iter().filter_map(plain);
    let (over, error) = errors.max_by(|a, b| a.1.total_cmp(&b.1))?;
    let limit = request.design.accept.inertia;
    let figure = format!(
        "between your bodies as they stand the joint's inertia error is {:.2} % ({} figure)",
        100.0 * error,
        over.name()
    );
    let is_jaw = stand_ins.iter().any(|one| one.jaw.is_some());
    let list = if is_jaw { "`finger` in the JSON lists" } else { "the file's comment lists" };
    Some(if error > limit {
        let limit = 100.0 * limit;
        format!("{figure}, over the limit of {limit:.2} %: add what {list}, or take --whole")
    } else {
        figure
    })
}

fn patch_list<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Vec<String> {
    let Some(bodies) = stand_in.plan.bodies.as_ref().filter(|_| !request.ask.whole) else {
        return Vec::new();
    };
    let mut lines = vec!["Add to your own bodies, in each link's own frame (where one link bears several joints, add all; a patch may hold a first moment without mass):".to_owned()];
    lines.extend(patch(request, stand_in.robot, bodies).words());
    lines
}

fn coupled<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Vec<String> {
    let (line, bodies) = (stand_in.coupled(request), stand_in.plan.bodies.as_ref());
    let mut lines = line.iter().flat_map(|line| followed(stand_in, line)).collect::<Vec<_>>();
    lines.extend(bodies.and_then(|bodies| own_error(stand_in, bodies)));
    let Some((line, bodies)) = line.zip(bodies) else {
        lines.extend(bodies.and_then(|bodies| with_additions(request, stand_in, bodies)));
        return lines;
    };
    lines.extend(fits(request, &line, bodies));
    lines.push(crank_armature(request, stand_in));
    lines.extend(own_rotor(stand_in));
    if !request.ask.format.holds_polynomials() {
        lines.push(
            "Several engines drop mimic joints without a word: look before you trust it.".into(),
        );
    }
    lines
}

/// How the crank follows, and how far that is from the linkage.
fn followed(stand_in: &StandIn<'_>, line: &Coupled) -> [String; 2] {
    let crank = Names::of(stand_in.robot).crank;
    [
        format!("Joint \"{crank}\" follows this one: {}.", relation(line)),
        format!(
            "Off the linkage by at most {} deg of the crank's angle and {} % of ratio and torque (computed).",
            few_digits(line.error.angle.to_degrees()),
            few_digits(100.0 * line.error.torque)
        ),
    ]
}

/// How far off the kinetic energy of the file is, and why.
fn own_error(stand_in: &StandIn<'_>, bodies: &Bodies) -> Option<String> {
    let (over, error) = bodies.own_error?;
    let loses = match stand_in.motor.as_ref().map(MotorEnd::side) {
        Some(KeptSide::Crank) => {
            "the coupler's pin masses, the coupling's slope and the rotor's coupling with a swinging parent link"
        }
        Some(KeptSide::Tendon) => {
            "the shares of housing and nut and the rotor's coupling with a swinging parent link"
        }
        Some(KeptSide::Slide) => {
            "the shares of nut, rod and rotor, which do not vary with the pose,"
        }
        _ => "the coupler's pin masses and the coupling's slope",
    };
    Some(format!(
        "Inertia error {} % ({}) of this file{} as it moves: what {loses} lose.",
        few_digits(100.0 * error),
        over.name(),
        if stand_in.motor.is_some() { " with these bodies" } else { "" }
    ))
}

/// The armature that belongs to the additions, where the file has the bodies as they are.
fn with_additions<G: Draws>(
    request: &Request<'_, G>,
    stand_in: &StandIn<'_>,
    bodies: &Bodies,
) -> Option<String> {
    let own = joint_armature(request, stand_in).unwrap_or_default();
    (own - bodies.armature != 0.0).then(|| {
        format!(
            "With the additions below the armature of this joint becomes {} kg m^2.",
            bodies.armature
        )
    })
}

/// Two digits that count; rounding is 0.
fn few_digits(x: f64) -> String {
    match x {
        x if x < 1e-7 => "0".to_owned(),
        x if x < 1e-3 => format!("{x:.1e}"),
        x if x < 1.0 => format!("{x:.4}"),
        x => format!("{x:.2}"),
    }
}

fn relation(line: &Coupled) -> String {
    let counted = |what: &str, from: f64| match from {
        0.0 => what.to_owned(),
        from => format!("({what} - {from})"),
    };
    let x = counted("joint reading", line.relation.from_joint);
    let powers = [String::new(), x.clone(), format!("{x}^2"), format!("{x}^3"), format!("{x}^4")];
    let terms = line.relation.polynomial.iter().zip(powers).filter(|(c, _)| **c != 0.0);
    let terms: Vec<String> = terms
        .map(|(c, power)| (c.to_string(), power))
        .map(|(c, power)| match (c == "1", power.is_empty()) {
            (_, true) => c,
            (true, false) => power,
            (false, false) => format!("{c} * {power}"),
        })
        .collect();
    format!(
        "{} = {}, in rad",
        counted("motor reading", line.relation.from_crank),
        terms.join(" + ")
    )
}

/// Both fits, where the slope of this one is off by more than a tenth of a per cent.
fn fits<G: Draws>(request: &Request<'_, G>, line: &Coupled, bodies: &Bodies) -> Option<String> {
    let other = bodies.other_fit.filter(|_| line.error.torque > 1e-3)?;
    let (this, that) = (request.ask.fit.name(), other_fit_words(&other));
    Some(format!("This fit is \"{this}\"; the other, {that}."))
}

fn other_fit_words(other: &FitCost) -> String {
    format!(
        "\"{}\", would be off by {} deg of the crank's angle, {} % of ratio and torque, {} % of inertia",
        other.fit,
        few_digits(other.angle_error_rad.to_degrees()),
        few_digits(100.0 * other.torque_error),
        few_digits(100.0 * other.inertia_error)
    )
}

/// The rotor as a body of its own.
fn own_rotor(stand_in: &StandIn<'_>) -> Option<String> {
    let rotor = stand_in.plan.bodies.as_ref()?.kept.as_ref()?.rotor.as_ref()?;
    let names = Names::of(stand_in.robot);
    Some(format!(
        "The rotor is a body of its own, \"{}\", {} turns per turn of the crank: the crank cannot bear its share. Its mass is assumed and taken from the parent link, so that all sums are right.",
        names.rotor_link, rotor.turns
    ))
}

fn crank_armature<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> String {
    let armature = crank::armature(stand_in).unwrap_or_default();
    let actuator = request.design.actuator.as_ref();
    if actuator.is_none_or(|a| a.rotor_inertia.is_none() || a.gear_ratio.is_none()) {
        return "Armature of the crank's joint not known: needs [actuator] rotor_inertia and gear_ratio.".into();
    }
    let holds = request.ask.format.holds_armature();
    let place = if holds { "in this file" } else { "not in this file" };
    format!("Armature of the crank's joint: {armature} kg m^2, {place}.")
}

fn looped<G: Draws>(request: &Request<'_, G>, stand_in: &StandIn<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    if stand_in.plan.bodies.is_some() {
        lines.push(crank_armature(request, stand_in));
        lines.extend(own_rotor(stand_in));
    }
    lines.extend(request.ask.format.loop_remarks().iter().map(|line| (*line).to_owned()));
    lines
}

/// How constraints hold, at the head of an MJCF file.
pub(super) fn held_together<G: Draws>(request: &Request<'_, G>) -> Vec<String> {
    let ask = request.ask;
    let is_tied = ask.form.keeps_crank() || jaw::asked(request).is_some();
    if ask.format != Format::Mjcf || !is_tied {
        return Vec::new();
    }
    let step = step(request);
    let mut lines = vec![format!(
        "The constraint's time constant is {} s, for a time step of {step} s or less. With a longer step set solref to two steps; a softer one lets the crank lag by degrees.",
        2.0 * step
    )];
    if ask.form == Form::Loop {
        lines.push(
            "Start from a pose in which the loop is closed; a whole model is drawn in one.".into(),
        );
    }
    lines
}

/// A note where the polynomial is further off than the design allows.
pub(super) fn rough_fit<G: Draws>(
    request: &Request<'_, G>,
    stand_ins: &[StandIn<'_>],
) -> Option<String> {
    let accept = &request.design.accept;
    let coupling = stand_ins.first()?.coupling?;
    let bodies: Vec<&Bodies> =
        stand_ins.iter().filter_map(|one| one.plan.bodies.as_ref()).collect();
    let errors = bodies.iter().filter_map(|bodies| Some(bodies.own_error?.1));
    let inertia = errors.reduce(f64::max).unwrap_or(0.0);
    let is_rough = coupling.angle_error.value > accept.angle
        || coupling.ratio_error.value > accept.ratio
        || inertia > accept.inertia;
    let other = bodies.iter().filter_map(|bodies| bodies.other_fit);
    let other = other.reduce(|a, b| if b.inertia_error > a.inertia_error { b } else { a });
    let other = other
        .map(|other| format!("; the other --fit, {}", other_fit_words(&other)))
        .unwrap_or_default();
    let verdict = request.check.verdict;
    is_rough.then(|| {
        let beside = if verdict == Verdict::Equivalent { "" } else { ", as the direct joint is" };
        format!(
            "the coupling is off the linkage by {:.3} deg of the crank's angle, {:.2} % of torque and {:.2} % of inertia, more than [accept] allows{beside}{other}",
            coupling.angle_error.value.to_degrees(),
            100.0 * coupling.ratio_error.value,
            100.0 * inertia
        )
    })
}
