//! What a gripper's parts weigh in the file: the stand-in's bodies in the frames of its links.
//!
//! The dynamics see each finger in its own carrier frame, the other one as the mirror image that the same motor turns; the
//! rotor is the first one's. Each adds to the palm.

use nalgebra::{Isometry3, Translation3, UnitQuaternion, Vector3};

use super::{Jaw, JawJoint, JawRole, Seat, driver};
use crate::design::RobotJoint;
use crate::dynamics::{
    Body, CounterPair, CrankKept, CrankStroke, DriveOnCarrier, DynamicsFault, Masses, MeasuredOver,
    Moments, MonotoneStroke, Replacement, Slide, SlideCourse, StandIn, tied,
};
use crate::equivalence::PadStandIn;
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::handover::stand_in::Request;
use crate::study;

/// The bodies of one finger, each in the drawing's frame of its part.
struct Bodies {
    crank: Option<Body>,
    pad: Option<Moments>,
    rocker: Option<Body>,
    palm: Moments,
    armature: f64,
    model: Option<Box<dyn StandIn>>,
    /// The same with the bodies as they stand.
    plain: Option<Box<dyn StandIn>>,
}

/// Puts the bodies into `jaw`, or why there are none.
///
/// # Errors
/// Where a file that cannot do without them has none.
pub(super) fn weigh(
    request: &Request<'_>,
    robot: &RobotJoint,
    seats: &[Seat<'_>],
    jaw: &mut Jaw,
) -> Result<(), EmitFault> {
    let missing = study::missing_for_inertia(request.design);
    let is_needed = request.ask.whole || request.ask.form == Form::Loop;
    let lacks: Vec<_> = missing
        .iter()
        .copied()
        .filter(|key| !is_needed || !key.starts_with("[actuator]"))
        .collect();
    let drive = study::drive_on(request.design, Some(robot), &request.check.zero);
    let found = match drive.filter(|_| lacks.is_empty()) {
        None => Err(needs(&lacks)),
        Some(drive) => {
            let masses = Masses { carried: None, ..drive.masses.with_bars() };
            if is_needed && !masses.are_spatial() {
                return Err(cannot_bear());
            }
            all(request, robot, seats, &masses).map_err(EmitFault::Dynamics)
        }
    };
    match found {
        Ok(bodies) => put(request, seats, jaw, bodies),
        Err(fault) if is_needed => Err(fault),
        Err(fault) => {
            jaw.why_no_bodies = Some(match lacks.as_slice() {
                [] => fault.to_string(),
                lacks => format!("needs {}", lacks.join(", ")),
            });
            Ok(())
        }
    }
}

fn needs(lacks: &[&'static str]) -> EmitFault {
    let key = lacks.first().copied().unwrap_or("[mass.child]");
    EmitFault::Missing {
        key,
        needed_for: "a gripper that loads by itself needs the masses of crank, coupler (finger and pad), child (the rocker) and carrier".into(),
        help: format!("add {key} with mass, center and inertia, or leave --whole out"),
    }
}

/// Every finger's, how far they are off together, and how far they would be as they stand.
type Found = (Vec<Bodies>, [Option<(MeasuredOver, f64)>; 2]);

/// Of all seats.
fn all(
    request: &Request<'_>,
    robot: &RobotJoint,
    seats: &[Seat<'_>],
    masses: &Masses,
) -> Result<Found, DynamicsFault> {
    let mechanism = request.mechanism;
    let stroke = CrankStroke::over(&mechanism.branch, mechanism.stroke)?;
    let fingers = u32::try_from(seats.len()).unwrap_or(1);
    let among = study::joints_on(request.design, Some(robot)) * fingers;
    let own: Vec<Masses> = seats.iter().map(|seat| of_seat(seat, masses)).collect();
    let each = own.iter().map(|masses| one(request, &stroke, masses, among));
    let bodies = each.collect::<Result<Vec<_>, _>>()?;
    let error = |model: fn(&Bodies) -> Option<&dyn StandIn>| {
        let each = seats.iter().zip(&own).zip(&bodies);
        let drives = each.map(|((seat, masses), bodies)| {
            let (frame, stand_in) = (seat.frame, model(bodies)?);
            Some(DriveOnCarrier { frame, stroke: &stroke, masses, stand_in })
        });
        let (over, worst) = tied(&drives.collect::<Option<Vec<_>>>()?)?.headline();
        Some((over, worst.value))
    };
    let is_exact = super::stand_in(request).is_none();
    let exact = is_exact.then_some((MeasuredOver::Space, 0.0));
    let errors = [
        exact.or_else(|| error(|bodies| bodies.model.as_deref())),
        error(|bodies| bodies.plain.as_deref()),
    ];
    Ok((bodies, errors))
}

/// Without what the rocker leaves to palm and crank, the whole rotor as armature.
fn as_they_stand(pair: &CounterPair, masses: &Masses) -> Option<CounterPair> {
    let none = Moments::default();
    Some(CounterPair {
        carrier: pair.carrier - pair.carrier_patch,
        carrier_patch: none,
        crank: masses.crank?,
        crank_patch: none,
        armature: masses.rotor_inertia() * masses.gear_ratio().powi(2),
        ..*pair
    })
}

fn of_seat(seat: &Seat<'_>, masses: &Masses) -> Masses {
    seat.other.map_or(*masses, |other| other.masses(masses))
}

/// One finger's, among so many on the palm.
fn one(
    request: &Request<'_>,
    stroke: &CrankStroke<'_>,
    masses: &Masses,
    among: u32,
) -> Result<Bodies, DynamicsFault> {
    match super::stand_in(request) {
        None => closed(request, masses, among),
        Some(PadStandIn::Counter) => pair(request, stroke, masses, among),
        Some(PadStandIn::Slide) => slide(request, stroke, masses, among),
        Some(PadStandIn::Hinge) => hinge(request, masses, among),
    }
}

fn pair(
    request: &Request<'_>,
    stroke: &CrankStroke<'_>,
    masses: &Masses,
    among: u32,
) -> Result<Bodies, DynamicsFault> {
    let multiplier = super::multiplier(request, super::stand_in(request)).unwrap_or(-1.0);
    let found = CounterPair::among(stroke, masses, multiplier, among)?;
    Ok(Bodies {
        crank: Some(found.crank),
        pad: found.coupler.as_ref().map(Moments::from),
        rocker: None,
        palm: found.carrier_patch,
        armature: found.armature,
        plain: as_they_stand(&found, masses).map(|plain| Box::new(plain) as Box<dyn StandIn>),
        model: Some(Box::new(found)),
    })
}

fn slide(
    request: &Request<'_>,
    stroke: &CrankStroke<'_>,
    masses: &Masses,
    among: u32,
) -> Result<Bodies, DynamicsFault> {
    let found = request.check.finger.as_ref().and_then(|finger| finger.travel);
    let direction = request.design.finger.as_ref().map(|finger| finger.pad.closing);
    let way = found.map_or(f64::NAN, |[way, _]| way);
    let course = SlideCourse::from_zero(stroke, direction.unwrap_or_default(), way)?;
    let sharing = Slide::of(stroke, &masses.sharing_carrier(among), course).map(|s| s.on(masses));
    let found = sharing.or_else(|_| Slide::of(stroke, masses, course))?;
    Ok(Bodies {
        crank: None,
        pad: found.slider.as_ref().map(Moments::from),
        rocker: None,
        palm: found.carrier_patch,
        armature: found.armature_mass(),
        model: Some(Box::new(found)),
        plain: None,
    })
}

fn hinge(request: &Request<'_>, masses: &Masses, among: u32) -> Result<Bodies, DynamicsFault> {
    let mechanism = request.mechanism;
    let stroke = MonotoneStroke::over(&mechanism.branch, mechanism.stroke)?;
    let found = Replacement::among(&stroke, masses, among)?;
    Ok(Bodies {
        crank: None,
        pad: Some(Moments::from(&masses.child) + found.child_patch),
        rocker: None,
        palm: found.carrier_patch,
        armature: found.tree.armature,
        model: None,
        plain: None,
    })
}

/// All parts stay; the rotor's share is the crank's.
fn closed(request: &Request<'_>, masses: &Masses, among: u32) -> Result<Bodies, DynamicsFault> {
    let bars = request.mechanism.branch.bars();
    let kept = CrankKept::among(masses, among, |share| CrankKept::in_loop(bars, share))?;
    let none = Bodies {
        crank: None,
        pad: None,
        rocker: None,
        palm: Moments::default(),
        armature: 0.0,
        model: None,
        plain: None,
    };
    let own = masses.carrier.as_ref().map(Moments::from).unwrap_or_default();
    Ok(kept.map_or(none, |kept| Bodies {
        crank: Some(kept.crank).filter(|_| kept.rotor.is_none()),
        pad: kept.coupler.as_ref().map(Moments::from),
        rocker: Some(kept.child),
        palm: Moments::from(&kept.carrier) - own,
        armature: kept.armature,
        model: None,
        plain: None,
    }))
}

/// Into the frames of the links.
fn put(
    request: &Request<'_>,
    seats: &[Seat<'_>],
    jaw: &mut Jaw,
    (bodies, [error, plain_error]): Found,
) -> Result<(), EmitFault> {
    let is_hinge = jaw.stand_in == Some(PadStandIn::Hinge);
    for (seat, own) in seats.iter().zip(&bodies) {
        let parts = jaw.joints.iter_mut().filter(|one| one.is_other == seat.is_other());
        for one in parts {
            one.body = body(seat, own, one, is_hinge);
            if one.body.is_none() && request.ask.form == Form::Loop {
                return Err(cannot_bear());
            }
        }
        let first = jaw.joints.iter_mut().find(|one| one.is_other && seat.is_other());
        if let Some(first) = first {
            first.armature = Some(own.armature).filter(|armature| *armature > 0.0);
        }
    }
    // The first finger's hinge is the driven joint itself, and adds its own as any direct joint.
    let adding = seats.iter().zip(&bodies).filter(|(seat, _)| seat.is_other() || !is_hinge);
    let palm = adding.map(|(seat, own)| own.palm.seen_from(&seat.frame));
    jaw.palm = Some(palm.fold(Moments::default(), |sum, more| sum + more));
    // A rotor in front of the crank is no body about its axis but armature alone, and its ratio varies.
    let rotor = driver::rotor_in_front(request).unwrap_or(0.0);
    jaw.armature = bodies.first().map(|first| first.armature + rotor);
    if request.design.front.is_none() {
        (jaw.inertia_error, jaw.plain_error) = (error, plain_error);
    }
    Ok(())
}

fn cannot_bear() -> EmitFault {
    EmitFault::Unfit {
        key: "[mass.crank] or [mass.carrier] inertia",
        why: "the loops of a gripper need six figures of inertia for every part, and a crank that bears the rotor's share".into(),
        help: "give [xx, yy, zz, xy, xz, yz] about the mass centre, and the crank's real inertia".into(),
    }
}

/// One part's, about the origin of its link.
fn body(seat: &Seat<'_>, own: &Bodies, one: &JawJoint, is_hinge: bool) -> Option<Moments> {
    let (moments, place) = match one.role {
        JawRole::Crank => (Moments::from(own.crank.as_ref()?), seat.crank_place()),
        JawRole::Pad if is_hinge => (own.pad?, seat.hinged_place()),
        JawRole::Pad => (own.pad?, seat.coupler_place()),
        JawRole::Rocker => (Moments::from(own.rocker.as_ref()?), seat.rocker_place()),
    };
    Some(in_link(&moments, place))
}

fn in_link(moments: &Moments, (axes, height): (UnitQuaternion<f64>, f64)) -> Moments {
    let seat = moments.about(Vector3::new(0.0, 0.0, height));
    seat.seen_from(&Isometry3::from_parts(Translation3::identity(), axes))
}
