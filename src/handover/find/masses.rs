//! What the four bodies of a loop weigh, in the frames of the drawing.

use nalgebra::{Isometry3, Matrix3, Rotation3, Translation3, UnitQuaternion, Vector3};

use super::cycles::{Bodies, is_world};
use super::four_bar::FourBarLoop;
use crate::dynamics::{Masses, Moments};
use crate::handover::link_moments::moments;
use crate::robot::{FileLink, LinkId, Robot};

/// The frames of the drawing in the model's frame, in the drawn pose.
///
/// Carrier: origin on the joint axis at the driven joint's pin, x along A→B. Crank: origin on the motor axis, x along
/// the crank. Coupler: origin at P, x towards Q. Child: origin on the joint axis, x towards Q. All have z along the
/// axis and their origin at the height of the driven joint's pin.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DrawingFrames {
    /// Of the carrier.
    pub(crate) carrier: Isometry3<f64>,
    /// Of the crank.
    pub(crate) crank: Isometry3<f64>,
    /// Of the coupler.
    pub(crate) coupler: Isometry3<f64>,
    /// Of the child.
    pub(crate) child: Isometry3<f64>,
}

impl DrawingFrames {
    pub(crate) fn new(found: &FourBarLoop) -> Self {
        let [x, y, z] = found.directions();
        let [a, p, q, b] = &found.pins;
        let base = b.points[1];
        let level = |point: nalgebra::Point3<f64>| point - z * z.dot(&(point - base));
        let frame = |origin: nalgebra::Point3<f64>, along: Vector3<f64>| {
            let (cosine, sine) = (along.dot(&x), along.dot(&y));
            let x = (x * cosine + y * sine).normalize();
            let axes = Matrix3::from_columns(&[x, z.cross(&x), z]);
            let turn =
                UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(axes));
            Isometry3::from_parts(Translation3::from(level(origin).coords), turn)
        };
        Self {
            carrier: frame(base, x),
            crank: frame(a.points[1], p.points[0] - a.points[1]),
            coupler: frame(p.points[1], q.points[0] - p.points[1]),
            child: frame(b.points[0], q.points[1] - b.points[0]),
        }
    }
}

/// Links that are one body, together in `frame`; `None` where none of them weighs anything, or one something that is not read.
pub(crate) fn together(
    robot: &Robot,
    links: impl IntoIterator<Item = LinkId>,
    frame: &Isometry3<f64>,
) -> Option<Moments> {
    let links: Vec<LinkId> = links.into_iter().collect();
    let is_unread = |id: &LinkId| robot.links.get(*id).is_some_and(|link| link.mass_is_unread);
    if links.iter().any(is_unread) { None } else { as_read(robot, links, frame) }
}

/// The same of what is read of them. What a carrier weighs besides takes no part in what is judged.
pub(crate) fn as_read(
    robot: &Robot,
    links: impl IntoIterator<Item = LinkId>,
    frame: &Isometry3<f64>,
) -> Option<Moments> {
    let weighed = links.into_iter().filter_map(|id| {
        let link = robot.links.get(id)?;
        let inertial = link.inertial.as_ref().filter(|inertial| inertial.mass > 0.0)?;
        Some(moments(inertial).seen_from(&(frame.inverse() * link.pose)))
    });
    weighed.reduce(|sum, moments| sum + moments)
}

/// The carrier's links: those that are one body with the driven joint's also without the world, to which other legs may
/// be fixed.
pub(crate) fn carrier_links(robot: &Robot, bodies: &Bodies, found: &FourBarLoop) -> Vec<LinkId> {
    beside_the_world(robot, bodies, found.pins[3].links[1])
}

/// The links that are one body with a link, without the world where that is one of them.
pub(crate) fn beside_the_world(robot: &Robot, bodies: &Bodies, link: LinkId) -> Vec<LinkId> {
    let all: Vec<LinkId> = bodies.links(bodies.of_link(link)).collect();
    if !all.iter().any(|link| is_world(robot, *link)) {
        return all;
    }
    let apart = Bodies::beside_world(robot);
    apart.links(apart.of_link(link)).collect()
}

/// The first link whose mass is not read, of the bodies that move on the carrier, or of a carrier of which no mass is; what is
/// fixed to the world moves like it, whatever it weighs.
pub(crate) fn unread_mass<'a>(
    robot: &'a Robot,
    bodies: &Bodies,
    carrier: LinkId,
    moving: &[LinkId],
) -> Option<&'a FileLink> {
    let of = |body: LinkId| bodies.links(body).filter_map(|id| robot.links.get(id));
    let is_fixed = |body: LinkId| bodies.links(body).any(|link| is_world(robot, link));
    let is_read = of(carrier).any(|link| link.inertial.is_some());
    let carrier = Some(carrier).filter(|_| !is_read);
    let all = moving.iter().copied().chain(carrier).filter(|body| !is_fixed(*body));
    all.flat_map(of).find(|link| link.mass_is_unread)
}

/// The four bodies' figures; `None` where the child weighs nothing, or a mass of one is not read. The rotor is not among them: a
/// robot file gives an armature at most.
pub(crate) fn masses(robot: &Robot, bodies: &Bodies, found: &FourBarLoop) -> Option<Masses> {
    let [carrier, moving @ ..] = found.bodies();
    if !found.held.is_empty() || unread_mass(robot, bodies, carrier, &moving).is_some() {
        return None;
    }
    let frames = DrawingFrames::new(found);
    let [crank, coupler, child] = moving;
    let of = |part, frame| Some(as_read(robot, bodies.links(part), frame)?.body());
    Some(Masses {
        crank: of(crank, &frames.crank),
        coupler: of(coupler, &frames.coupler),
        child: of(child, &frames.child)?,
        carrier: as_read(robot, carrier_links(robot, bodies, found), &frames.carrier)
            .map(|moments| moments.body()),
        carried: None,
        rotor: None,
    })
}
