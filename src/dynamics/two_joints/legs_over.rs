//! Where the parts of two rods on a universal joint stand, and how they move, over a rectangle of poses and every build of a box.
//!
//! As `both_moving` has it for one build in one pose, in any kind of number. What the meeting of each rod with its input end gives
//! (place, rod, row of J) comes from poses that are already enclosed, its slopes by both joint turns from the rates and their own
//! slopes; the rest is put together from these.

use super::super::frame_over::{FrameOver, beside, units};
use crate::drive::{Angular, Axis, InputEnd, Place, RodsOnUniversal, TwoRodsPose, Vector};
use crate::numeric::{Interval, Jet, Scalar};

/// All builds of a box over a rectangle of poses.
#[derive(Clone, Debug)]
pub struct TwoRodsOver {
    /// Every build, in its zero pose.
    pub built: RodsOnUniversal<Interval>,
    /// Ranges of pitch and roll, rad.
    pub turns: [Interval; 2],
    /// Every build in the pose in their middle.
    pub middle: TwoRodsPose<Interval>,
    /// Every build over all of them.
    pub over: TwoRodsPose<Interval>,
    /// Slopes of J there: of each motor, by pitch and by roll, of its rates.
    pub bends: [[[Interval; 2]; 2]; 2],
}

/// The frames of one leg's parts.
pub(super) struct LegOver<T> {
    pub(super) crank: Option<FrameOver<T, 2>>,
    pub(super) rod: Option<FrameOver<T, 2>>,
    pub(super) housing: Option<FrameOver<T, 2>>,
    pub(super) nut: Option<FrameOver<T, 2>>,
    pub(super) motor_axis: Vector<T>,
    /// Motor turns about it per turn of each joint.
    pub(super) rates: [T; 2],
}

/// The frames of all parts.
pub(super) struct AllOver<T> {
    pub(super) legs: [LegOver<T>; 2],
    pub(super) middle: FrameOver<T, 2>,
    pub(super) child: FrameOver<T, 2>,
}

/// What the meeting of a rod with its input end gives.
struct Met<T> {
    place: Place<T>,
    /// From P to Q.
    rod: Vector<T>,
    /// Its row of J.
    rates: [T; 2],
}

/// Slopes by pitch and roll.
type Slopes = [Interval; 2];

impl TwoRodsOver {
    /// In the middle pose, J in the middle of its range there.
    pub(super) fn in_middle(&self) -> Option<AllOver<Interval>> {
        self.middle_with(|_, rate| Interval::point(rate.mid()))
    }

    /// In the middle pose, with slopes by the four entries of J, row by row.
    pub(super) fn by_rates(&self) -> Option<AllOver<Jet<4>>> {
        self.middle_with(Jet::variable)
    }

    /// In the middle pose with J's entries, row by row, as `rate` makes them.
    fn middle_with<T: Angular>(&self, rate: impl Fn(usize, Interval) -> T) -> Option<AllOver<T>> {
        let met = |k: usize| {
            let (reached, [p, r]) = (self.middle.rods.get(k)?, *self.middle.jacobian.get(k)?);
            let place = match reached.place {
                Place::Angle(sine, cosine) => Place::Angle(T::constant(sine), T::constant(cosine)),
                Place::Travel(x) => Place::Travel(T::constant(x)),
                Place::Length(x) => Place::Length(T::constant(x)),
            };
            let rates = [rate(2 * k, p), rate(2 * k + 1, r)];
            Some(Met { place, rod: reached.rod.map(T::constant), rates })
        };
        let turns = self.turns.map(|turn| Interval::point(turn.mid()).sin_cos());
        let turns = turns.map(|(sine, cosine)| (T::constant(sine), T::constant(cosine)));
        all(&self.built, turns, [met(0)?, met(1)?])
    }

    /// How far J's entries and both turns go from the middle.
    pub(super) fn reach(&self) -> [f64; 6] {
        let from_middle = |range: Interval| (range - Interval::point(range.mid())).magnitude();
        let ([[a, b], [c, d]], [p, r]) = (self.middle.jacobian, self.turns);
        [a, b, c, d, p, r].map(from_middle)
    }

    /// Over all poses, with slopes by pitch and roll.
    pub(super) fn by_turns(&self) -> Option<AllOver<Jet<2>>> {
        let [pitch, roll] = self.turns;
        let turns = [Jet::variable(0, pitch), Jet::variable(1, roll)];
        all(&self.built, turns.map(Angular::sin_cos), [self.met_over(0)?, self.met_over(1)?])
    }

    fn met_over(&self, k: usize) -> Option<Met<Jet<2>>> {
        let (reached, gain) = (self.over.rods.get(k)?, *self.over.gains.get(k)?);
        let ([by_p, by_r], [p, r]) = (*self.over.jacobian.get(k)?, *self.over.ways.get(k)?);
        let [x_p, x_r] = [by_p / gain, by_r / gain];
        let [w_p, w_r] = [p - reached.velocity * x_p, r - reached.velocity * x_r];
        let along = |value, factor: Interval| Jet { value, slopes: [x_p * factor, x_r * factor] };
        let place = match reached.place {
            Place::Angle(sine, cosine) => Place::Angle(along(sine, cosine), along(cosine, -sine)),
            Place::Travel(x) => Place::Travel(along(x, Interval::point(1.0))),
            Place::Length(x) => Place::Length(along(x, Interval::point(1.0))),
        };
        let jet = |value: Interval, slopes: Slopes| Jet { value, slopes };
        let w = reached.rod;
        let rod = Vector::new(
            jet(w.x, [w_p.x, w_r.x]),
            jet(w.y, [w_p.y, w_r.y]),
            jet(w.z, [w_p.z, w_r.z]),
        );
        let [[pp, pr], [rp, rr]] = *self.bends.get(k)?;
        Some(Met { place, rod, rates: [jet(by_p, [pp, rp]), jet(by_r, [pr, rr])] })
    }
}

fn all<T: Angular>(
    built: &RodsOnUniversal<Interval>,
    [pitch, roll]: [(T, T); 2],
    [one, two]: [Met<T>; 2],
) -> Option<AllOver<T>> {
    let [first, second] = [built.pitch, built.roll].map(|axis| axis.map(T::constant));
    let carried = Carried::new(first, second, pitch, roll);
    let [left, right] = &built.legs;
    let leg = |leg: &crate::drive::Leg<Interval>, met: &Met<T>| {
        let foot = carried.foot(leg.foot.map(T::constant));
        frames(&leg.input.constant(), met, foot, first.direction)
    };
    let legs = [leg(left, &one)?, leg(right, &two)?];
    Some(AllOver { legs, middle: carried.middle(), child: carried.child() })
}

/// Both joint axes in one pose, and how they turn what they carry.
struct Carried<T> {
    pitch: Axis<T>,
    roll: Axis<T>,
    turns: [(T, T); 2],
    /// As pitch carries it.
    roll_axis: Vector<T>,
    roll_point: Vector<T>,
}

impl<T: Scalar> Carried<T> {
    fn new(pitch: Axis<T>, roll: Axis<T>, by_pitch: (T, T), by_roll: (T, T)) -> Self {
        let carried = |v: Vector<T>| v.turned(pitch.direction, by_pitch);
        let roll_axis = carried(roll.direction);
        let roll_point = pitch.point + carried(roll.point - pitch.point);
        Self { pitch, roll, turns: [by_pitch, by_roll], roll_axis, roll_point }
    }

    fn by_pitch(&self, v: Vector<T>) -> Vector<T> {
        v.turned(self.pitch.direction, self.turns[0])
    }

    fn by_both(&self, v: Vector<T>) -> Vector<T> {
        self.by_pitch(v.turned(self.roll.direction, self.turns[1]))
    }

    /// Where both joints carry the point `at`, and its ways.
    fn foot(&self, at: Vector<T>) -> (Vector<T>, [Vector<T>; 2]) {
        let place = self.roll_point + self.by_both(at - self.roll.point);
        (place, self.ways(place))
    }

    fn ways(&self, at: Vector<T>) -> [Vector<T>; 2] {
        let by_pitch = self.pitch.direction.cross(at - self.pitch.point);
        [by_pitch, self.roll_axis.cross(at - self.roll_point)]
    }

    /// The carrier's own frame in the zero pose, as pitch carries it.
    fn middle(&self) -> FrameOver<T, 2> {
        let origin = self.pitch.point - self.by_pitch(self.pitch.point);
        let [way, _] = self.ways(origin);
        let none = Vector::zero();
        let axes = units().map(|v| self.by_pitch(v));
        FrameOver { origin, axes, ways: [way, none], spins: [self.pitch.direction, none] }
    }

    /// The same as both joints carry it.
    fn child(&self) -> FrameOver<T, 2> {
        let (origin, ways) = self.foot(Vector::zero());
        let axes = units().map(|v| self.by_both(v));
        FrameOver { origin, axes, ways, spins: [self.pitch.direction, self.roll_axis] }
    }
}

/// The frames of the leg with this input end, whose pin Q stands and moves as `foot` says.
fn frames<T: Angular>(
    input: &InputEnd<T>,
    met: &Met<T>,
    (q, q_ways): (Vector<T>, [Vector<T>; 2]),
    pitch: Vector<T>,
) -> Option<LegOver<T>> {
    let gain = input.gain();
    let places = met.rates.map(|rate| rate / gain);
    let ways_along = |velocity: Vector<T>| places.map(|rate| velocity * rate);
    let still = [Vector::zero(); 2];
    let rod = |pin: Vector<T>, ways: [Vector<T>; 2], length: T| {
        let w = (q - pin).both_ways(met.rod);
        let ([p0, p1], [q0, q1]) = (ways, q_ways);
        let spins = [q0 - p0, q1 - p1].map(|moved| w.cross(moved).map(|x| x / length.square()));
        let axes = beside(w.map(|x| x / length), pitch)?;
        Some(FrameOver { origin: pin, axes, ways, spins })
    };
    let with = |motor_axis| LegOver {
        crank: None,
        rod: None,
        housing: None,
        nut: None,
        motor_axis,
        rates: met.rates,
    };
    match (*input, met.place) {
        (InputEnd::Crank { circle, rod: length, .. }, Place::Angle(sine, cosine)) => {
            let outward = circle.datum * cosine + circle.quarter * sine;
            let across = circle.axis.cross(outward);
            let spins = places.map(|rate| circle.axis * rate);
            let axes = [outward, across, circle.axis];
            let crank = FrameOver { origin: circle.centre, axes, ways: still, spins };
            let pin = circle.centre + outward * circle.radius;
            let rod = rod(pin, ways_along(across * circle.radius), length)?;
            Some(LegOver { crank: Some(crank), rod: Some(rod), ..with(circle.axis) })
        }
        (InputEnd::Slide { point, direction, rod: length, .. }, Place::Travel(travel)) => {
            let rod = rod(point + direction * travel, ways_along(direction), length)?;
            let axes = beside(direction, pitch)?;
            let housing = FrameOver { origin: point, axes, ways: still, spins: still };
            let nut = FrameOver { origin: rod.origin, ways: rod.ways, ..housing };
            let [rod, housing, nut] = [rod, housing, nut].map(Some);
            Some(LegOver { rod, housing, nut, ..with(direction) })
        }
        (InputEnd::Actuator { pin, .. }, Place::Length(_)) => {
            let housing = rod(pin, still, met.rod.length())?;
            let nut = FrameOver { origin: q, ways: q_ways, ..housing };
            let along = housing.axes[0];
            Some(LegOver { housing: Some(housing), nut: Some(nut), ..with(along) })
        }
        _ => None,
    }
}
