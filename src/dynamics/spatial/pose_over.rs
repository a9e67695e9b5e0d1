//! Where a drive's parts stand, and how they move, in every pose of a range and every build of a box.
//!
//! As `moving_frames` has it for one build in one pose, but in any kind of number: enclosures, and enclosures with slopes by
//! sizes and turn. A build is first seen from its own joint frame, which only its sizes move: there the joint axis is z itself and
//! the lever turns in the plane. What the meeting of rod and input end gives (place, rod, rate) and its slopes come from
//! [`RodOver`]; the rest is put together from these.

use super::super::frame_over::{FrameOver, beside, direction_of, units};
use crate::drive::{Angular, Axis, Built, InputEnd, Place, RodOver, Vector};
use crate::numeric::{Interval, Jet, Scalar};

/// A build in its zero pose, or every one in a box.
#[derive(Clone, Copy, Debug)]
pub enum DriveBuild<T> {
    /// With one rod.
    Rod {
        /// The build.
        built: Built<T>,
        /// How far its zero pose is ahead of where its turns are read from, rad; `None` where that is the zero pose itself.
        ahead: Option<T>,
    },
    /// A belt or gear of this ratio.
    Ratio(T),
}

/// The frames of all parts that a drive can have.
pub(super) struct FramesOver<T> {
    pub(super) crank: Option<FrameOver<T>>,
    pub(super) coupler: Option<FrameOver<T>>,
    pub(super) housing: Option<FrameOver<T>>,
    pub(super) nut: Option<FrameOver<T>>,
    pub(super) child: FrameOver<T>,
    /// The rotor's axis, a unit vector.
    pub(super) motor_axis: Vector<T>,
    /// Motor turns about it per joint turn.
    pub(super) ratio: T,
}

/// What the meeting of rod and input end gives.
pub(super) struct Met<T> {
    place: Place<T>,
    /// From P to Q.
    rod: Vector<T>,
    /// Of the place, per joint turn.
    rate: T,
}

fn unit_z<T: Scalar>() -> Vector<T> {
    let [_, _, z] = units();
    z
}

impl<T: Angular> DriveBuild<T> {
    /// The same seen from its joint frame (see the head of `spatial`); `None` where that has no certain direction.
    pub(super) fn in_joint_frame(&self) -> Option<Self> {
        match self {
            Self::Rod { built, ahead } => Some(Self::Rod { built: seen(built)?, ahead: *ahead }),
            Self::Ratio(ratio) => Some(Self::Ratio(*ratio)),
        }
    }

    /// The turn from the build's own zero pose at the joint turn that is read.
    pub(super) fn own_turn(&self, joint: T) -> T {
        match self {
            Self::Rod { ahead: Some(ahead), .. } => joint - *ahead,
            _ => joint,
        }
    }

    /// Every frame at the turn `own` from the zero pose; `met` is what is known of the rod there. `None` where one has no certain
    /// direction.
    pub(super) fn frames(&self, own: T, met: Option<Met<T>>) -> Option<FramesOver<T>> {
        let turn = own.sin_cos();
        match (self, met) {
            (Self::Ratio(ratio), _) => {
                Some(FramesOver::without_rod(turn_about_z([turn.1, turn.0]), unit_z(), *ratio))
            }
            (Self::Rod { built, .. }, Some(met)) => with_rod(built, turn, &met),
            (Self::Rod { .. }, None) => None,
        }
    }
}

/// `built` from its joint frame; there the lever has no height and the ground line no y, exactly.
fn seen<T: Angular>(built: &Built<T>) -> Option<Built<T>> {
    let Axis { point, direction: z } = built.joint;
    let origin = point + z * (built.foot - point).dot(z);
    let ground = match built.input {
        InputEnd::Crank { circle, .. } => origin - circle.centre,
        InputEnd::Actuator { pin, .. } => origin - pin,
        InputEnd::Slide { direction, .. } => direction,
    };
    let x = direction_of(ground.square_to(z), ground.length().middle())?;
    let y = z.cross(x);
    let way = |v: Vector<T>| Vector::new(v.dot(x), v.dot(y), v.dot(z));
    let at = |p: Vector<T>| way(p - origin);
    let none = T::exactly(0.0);
    let on_ground = |p: Vector<T>| Vector { y: none, ..at(p) };
    let input = match built.input {
        InputEnd::Crank { mut circle, rod, side } => {
            circle.centre = on_ground(circle.centre);
            circle.axis = way(circle.axis);
            circle.datum = way(circle.datum);
            circle.quarter = way(circle.quarter);
            InputEnd::Crank { circle, rod, side }
        }
        InputEnd::Slide { point, direction, rod, side, lead } => {
            let direction = Vector { y: none, ..way(direction) };
            InputEnd::Slide { point: at(point), direction, rod, side, lead }
        }
        InputEnd::Actuator { pin, offset, lead } => {
            InputEnd::Actuator { pin: on_ground(pin), offset, lead }
        }
    };
    let foot = Vector { z: none, ..at(built.foot) };
    Some(Built { input, foot, joint: Axis { point: Vector::zero(), direction: unit_z() } })
}

impl Met<Interval> {
    /// Of `built`, seen from its joint frame, at the turns `own` from its zero pose; `None` where it may not reach.
    fn of(built: &Built<Interval>, own: Interval) -> Option<Self> {
        let over = RodOver::new(built, own)?;
        let rate = over.pose.ratio / over.pose.gain;
        Some(Self { place: over.pose.reached.place, rod: over.pose.reached.rod, rate })
    }
}

impl<const N: usize> Met<Jet<N>> {
    /// The same with its slopes by the variables of `built` and `own`.
    fn of(built: &Built<Jet<N>>, own: Jet<N>) -> Option<Self> {
        let over = RodOver::new(&built.map(|jet| jet.value), own.value)?;
        let met = Met::<Interval> {
            place: over.pose.reached.place,
            rod: over.pose.reached.rod,
            rate: over.pose.ratio / over.pose.gain,
        };
        let by_turn = over.of_turn();
        let (mut place, mut rate) = ([Interval::ZERO; N], [Interval::ZERO; N]);
        let mut rod = met.rod.map(Jet::constant);
        for k in 0..N {
            let slope = |jet: &Jet<N>| jet.slopes.get(k).copied().unwrap_or(Interval::ENTIRE);
            let share = over.of_size(&built.map(slope)).with(&by_turn, slope(&own));
            *place.get_mut(k)? = share.place;
            *rate.get_mut(k)? = share.rate;
            *rod.x.slopes.get_mut(k)? = share.rod.x;
            *rod.y.slopes.get_mut(k)? = share.rod.y;
            *rod.z.slopes.get_mut(k)? = share.rod.z;
        }
        let along = |value, factor| Jet { value, slopes: place.map(|slope| slope * factor) };
        let one = Interval::point(1.0);
        let place = match met.place {
            Place::Angle(sine, cosine) => Place::Angle(along(sine, cosine), along(cosine, -sine)),
            Place::Travel(x) => Place::Travel(along(x, one)),
            Place::Length(x) => Place::Length(along(x, one)),
        };
        Some(Self { place, rod, rate: Jet { value: met.rate, slopes: rate } })
    }
}

impl DriveBuild<Interval> {
    /// Every frame at the joint turns `joint`, as they are read.
    pub(super) fn frames_over(&self, joint: Interval) -> Option<FramesOver<Interval>> {
        let own = self.own_turn(joint);
        let met = match self {
            Self::Rod { built, .. } => Some(Met::<Interval>::of(built, own)?),
            Self::Ratio(_) => None,
        };
        self.frames(own, met)
    }
}

impl<const N: usize> DriveBuild<Jet<N>> {
    /// The same with slopes by the variables of build and turn.
    pub(super) fn frames_over(&self, joint: Jet<N>) -> Option<FramesOver<Jet<N>>> {
        let own = self.own_turn(joint);
        let met = match self {
            Self::Rod { built, .. } => Some(Met::<Jet<N>>::of(built, own)?),
            Self::Ratio(_) => None,
        };
        self.frames(own, met)
    }
}

/// The frame at the origin whose x is this direction in the plane and that turns with the joint.
fn turn_about_z<T: Scalar>([x, y]: [T; 2]) -> FrameOver<T> {
    let none = T::exactly(0.0);
    FrameOver {
        origin: Vector::zero(),
        axes: [Vector::new(x, y, none), Vector::new(-y, x, none), unit_z()],
        ways: [Vector::zero()],
        spins: [unit_z()],
    }
}

impl<T: Scalar> FramesOver<T> {
    fn without_rod(child: FrameOver<T>, motor_axis: Vector<T>, ratio: T) -> Self {
        let [crank, coupler, housing, nut] = [None, None, None, None];
        Self { crank, coupler, housing, nut, child, motor_axis, ratio }
    }
}

fn with_rod<T: Angular>(
    built: &Built<T>,
    (sine, cosine): (T, T),
    met: &Met<T>,
) -> Option<FramesOver<T>> {
    let none = T::exactly(0.0);
    let lever = built.foot.length();
    let Vector { x, y, .. } = built.foot;
    let q = Vector::new(x * cosine - y * sine, x * sine + y * cosine, none);
    let q_way = Vector::new(-q.y, q.x, none);
    let child = turn_about_z([q.x / lever, q.y / lever]);
    let rate = met.rate;
    let ratio = rate * built.input.gain();
    let rod = |pin: Vector<T>, way: Vector<T>, length: T| {
        let w = (q - pin).both_ways(met.rod);
        let spin = w.cross(q_way - way).map(|x| x / length.square());
        let axes = beside(w.map(|x| x / length), unit_z())?;
        Some(FrameOver { origin: pin, axes, ways: [way], spins: [spin] })
    };
    match (built.input, met.place) {
        (InputEnd::Crank { circle, rod: length, .. }, Place::Angle(sine, cosine)) => {
            let outward = circle.datum * cosine + circle.quarter * sine;
            let across = circle.axis.cross(outward);
            let way = across * (circle.radius * rate);
            let crank = FrameOver {
                origin: circle.centre,
                axes: [outward, across, circle.axis],
                ways: [Vector::zero()],
                spins: [circle.axis * rate],
            };
            let coupler = rod(circle.centre + outward * circle.radius, way, length)?;
            let still = FramesOver::without_rod(child, circle.axis, ratio);
            Some(FramesOver { crank: Some(crank), coupler: Some(coupler), ..still })
        }
        (InputEnd::Slide { point, direction, rod: length, .. }, Place::Travel(travel)) => {
            let coupler = rod(point + direction * travel, direction * rate, length)?;
            let axes = beside(direction, unit_z())?;
            let (ways, spins) = ([Vector::zero()], [Vector::zero()]);
            let nut = FrameOver { origin: coupler.origin, axes, ways: coupler.ways, spins };
            let housing = FrameOver { origin: point, axes, ways, spins };
            let still = FramesOver::without_rod(child, direction, ratio);
            let [coupler, housing, nut] = [coupler, housing, nut].map(Some);
            Some(FramesOver { coupler, housing, nut, ..still })
        }
        (InputEnd::Actuator { pin, .. }, Place::Length(_)) => {
            let housing = rod(pin, Vector::zero(), met.rod.length())?;
            let nut = FrameOver { origin: q, ways: [q_way], ..housing };
            let still = FramesOver::without_rod(child, housing.axes[0], ratio);
            Some(FramesOver { housing: Some(housing), nut: Some(nut), ..still })
        }
        _ => None,
    }
}
