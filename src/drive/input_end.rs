//! The input end of a rod: a crank's pin on its circle, a nut on its guide, or the rod's own length.
//!
//! Given the rod's other end Q, each tells its own place s (rad of a crank, travel of a slide or an actuator), the pin P
//! and the rod w = Q − P. With v = dP/ds and λ the rod's moment about the input, F = ½(|w|² − b²) = 0 differentiated once
//! and twice along a path of Q gives
//!
//! ```text
//! ds = w·dQ/λ        s″ = (|dQ − s′ v|² + w·Q″ − s′² σ)/λ
//!
//! crank        v = n × p    λ = w·v = −a S    σ = w·(n × v) = −w·p
//! slide        v = t        λ = w·t = ∓√…     σ = 0
//! actuator     v = 0        λ = x             σ = 1         x² + e² = |w|²,  P = A
//! ```
//!
//! S keeps its digits where crank and rod come in line, so λ does. Derived here.

use super::angular::Angular;
use super::circle::Circle;
use super::space::Vector;
use crate::numeric::{Interval, Scalar};

/// What a motor moves one end of a rod by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum InputEnd<T = f64> {
    /// A crank whose pin runs on a circle, and a rod of fixed length.
    Crank {
        /// The pin's circle; its axis is the motor's.
        circle: Circle<T>,
        /// Length of the rod between pin centres.
        rod: T,
        /// +1 where the rod's arm about the motor is negative (S > 0), else −1.
        side: f64,
    },
    /// A nut on a straight guide, and a rod of fixed length.
    Slide {
        /// Where the travel counts from.
        point: Vector<T>,
        /// The unit direction of the guide.
        direction: Vector<T>,
        /// Length of the rod between pin centres.
        rod: T,
        /// +1 where the nut is ahead of Q along the guide, −1 where it is behind.
        side: f64,
        /// Travel per turn of the screw, signed.
        lead: T,
    },
    /// A rod of variable length from a pin fixed in the carrier.
    Actuator {
        /// The pin A.
        pin: Vector<T>,
        /// Distance of the slide line from the pin, ≥ 0.
        offset: T,
        /// Travel per turn of the screw, signed.
        lead: T,
    },
}

/// The place of the input end.
#[derive(Clone, Copy, Debug)]
pub enum Place<T> {
    /// (sin, cos) of a crank's angle from its circle's datum.
    Angle(T, T),
    /// Travel of a nut from its guide's point.
    Travel(T),
    /// An actuator's length along its slide line.
    Length(T),
}

/// A rod at its input end, for a given end Q.
#[derive(Clone, Copy, Debug)]
pub struct Reached<T> {
    /// Where the input end is.
    pub place: Place<T>,
    /// The rod's pin P there.
    pub pin: Vector<T>,
    /// w, from P to Q.
    pub rod: Vector<T>,
    /// |w|.
    pub length: T,
    /// λ: the rod's length times its arm about the motor, or times dx/dL of a slide line.
    pub lever: T,
    /// v = dP/ds.
    pub velocity: Vector<T>,
    /// σ.
    pub bend: T,
}

impl<T: Scalar> Reached<T> {
    /// The rod of this length to `foot` from a crank's pin, `arm` from the centre of its circle about an axis, there at an angle
    /// of these (sin, cos).
    pub(super) fn of_crank(
        [centre, axis]: [Vector<T>; 2],
        arm: Vector<T>,
        (sine, cosine): (T, T),
        length: T,
        foot: Vector<T>,
    ) -> Self {
        let pin = centre + arm;
        let (rod, velocity) = (foot - pin, axis.cross(arm));
        let place = Place::Angle(sine, cosine);
        let (lever, bend) = (rod.dot(velocity), -rod.dot(arm));
        Self { place, pin, rod, length, lever, velocity, bend }
    }

    /// ds/dq where Q moves by `end` per unit of q.
    pub fn rate(&self, end: Vector<T>) -> T {
        self.rod.dot(end) / self.lever
    }

    /// d²s/dq dq′ where Q moves by `end` and `other`, its second derivative is `second`, and `rates` are those of s.
    pub fn second_rate(&self, ends: [Vector<T>; 2], second: Vector<T>, rates: [T; 2]) -> T {
        let [along, other] = ends;
        let [rate, its] = rates;
        let (w1, w2) = (along - self.velocity * rate, other - self.velocity * its);
        self.next_rate(second, w1.dot(w2), rate * its)
    }

    /// The next derivative of s, where `end` is that of Q, `moves` are the products of w's lower derivatives and `rates` those of
    /// s's: what F differentiated again leaves to it, but for P‴.
    pub(super) fn next_rate(&self, end: Vector<T>, moves: T, rates: T) -> T {
        (moves + self.rod.dot(end) - rates * self.bend) / self.lever
    }
}

impl Reached<f64> {
    /// 90 deg less the angle between the rod and P's path, 0…π/2 rad: 0 at a dead point; `None` for an actuator, which has
    /// none.
    #[must_use]
    pub fn crank_side(&self) -> Option<f64> {
        match self.place {
            Place::Angle(..) | Place::Travel(_) => Some(self.rod.angle_to_plane(self.velocity)),
            Place::Length(_) => None,
        }
    }
}

impl<T: Angular> InputEnd<T> {
    /// The input end for the rod's other end `q`; `None` where the rod does not reach.
    #[inline(always)]
    pub fn reach(&self, q: Vector<T>) -> Option<Reached<T>> {
        match self {
            Self::Crank { circle, rod, side } => crank(circle, *rod, *side, q),
            Self::Slide { point, direction, rod, side, .. } => {
                slide(*point, *direction, [*rod, T::exactly(*side)], q)
            }
            Self::Actuator { pin, offset, .. } => actuator(*pin, *offset, q),
        }
    }

    /// Motor angle per unit of place: 1 of a crank, 2π/lead of a screw.
    pub fn gain(&self) -> T {
        match self {
            Self::Crank { .. } => T::exactly(1.0),
            Self::Slide { lead, .. } | Self::Actuator { lead, .. } => T::whole_turn() / *lead,
        }
    }

    /// Along what the bolt of the ball at P lies: the motor axis; `None` where no crank turns.
    pub fn bolt(&self) -> Option<Vector<T>> {
        match self {
            Self::Crank { circle, .. } => Some(circle.axis),
            Self::Slide { .. } | Self::Actuator { .. } => None,
        }
    }

    /// The motor's angle (rad) at `place`, a crank's on the sheet of `guess`.
    pub fn angle(&self, place: Place<T>, guess: f64) -> T {
        match place {
            Place::Angle(sine, cosine) => T::angle_near(sine, cosine, guess),
            Place::Travel(x) | Place::Length(x) => x * self.gain(),
        }
    }
}

#[inline(always)]
fn crank<T: Scalar>(circle: &Circle<T>, rod: T, side: f64, q: Vector<T>) -> Option<Reached<T>> {
    let meeting = circle.meet(q, rod, side)?;
    let arm = circle.arm(meeting.direction);
    let pin = circle.centre + arm;
    let w = q - pin;
    let (sine, cosine) = meeting.direction;
    Some(Reached {
        place: Place::Angle(sine, cosine),
        pin,
        rod: w,
        length: rod,
        lever: -(circle.radius * meeting.s),
        velocity: circle.axis.cross(arm),
        bend: -w.dot(arm),
    })
}

fn slide<T: Scalar>(
    point: Vector<T>,
    direction: Vector<T>,
    [rod, side]: [T; 2],
    q: Vector<T>,
) -> Option<Reached<T>> {
    let d = q - point;
    let along = d.dot(direction);
    // What is left of the rod beside its distance from the guide.
    let run = (rod.square() - (d - direction * along).length_squared()).root()? * side;
    let travel = along + run;
    let pin = point + direction * travel;
    Some(Reached {
        place: Place::Travel(travel),
        pin,
        rod: q - pin,
        length: rod,
        lever: -run,
        velocity: direction,
        bend: T::exactly(0.0),
    })
}

fn actuator<T: Scalar>(pin: Vector<T>, offset: T, q: Vector<T>) -> Option<Reached<T>> {
    let w = q - pin;
    let squared = w.length_squared();
    let travel = (squared - offset.square()).root()?;
    Some(Reached {
        place: Place::Length(travel),
        pin,
        rod: w,
        length: squared.root()?,
        lever: travel,
        velocity: Vector::zero(),
        bend: T::exactly(1.0),
    })
}

impl InputEnd {
    /// By how much the rod is too short (positive) or too long (negative) for its other end to be at `q`; 0 where it
    /// reaches.
    #[must_use]
    pub fn missing(&self, q: Vector) -> f64 {
        match *self {
            Self::Crank { circle, rod, .. } => circle.missing(q, rod),
            Self::Slide { point, direction, rod, .. } => {
                ((q - point).square_to(direction).length() - rod).max(0.0)
            }
            // Too near the pin for the line that runs beside it.
            Self::Actuator { pin, offset, .. } => ((q - pin).length() - offset).min(0.0),
        }
    }
}

impl<T> InputEnd<T> {
    /// The same in another kind of number.
    pub(super) fn map<U>(&self, f: impl Fn(&T) -> U + Copy) -> InputEnd<U> {
        let of = |v: &Vector<T>| Vector::new(f(&v.x), f(&v.y), f(&v.z));
        match self {
            Self::Crank { circle, rod, side } => {
                let circle = Circle {
                    centre: of(&circle.centre),
                    axis: of(&circle.axis),
                    datum: of(&circle.datum),
                    quarter: of(&circle.quarter),
                    radius: f(&circle.radius),
                };
                InputEnd::Crank { circle, rod: f(rod), side: *side }
            }
            Self::Slide { point, direction, rod, side, lead } => InputEnd::Slide {
                point: of(point),
                direction: of(direction),
                rod: f(rod),
                side: *side,
                lead: f(lead),
            },
            Self::Actuator { pin, offset, lead } => {
                InputEnd::Actuator { pin: of(pin), offset: f(offset), lead: f(lead) }
            }
        }
    }
}

impl InputEnd<Interval> {
    /// The constant input end that this one encloses.
    pub(super) fn constant<T: Angular>(&self) -> InputEnd<T> {
        let of = T::constant;
        match *self {
            Self::Crank { circle, rod, side } => {
                InputEnd::Crank { circle: circle.constant(), rod: of(rod), side }
            }
            Self::Slide { point, direction, rod, side, lead } => InputEnd::Slide {
                point: point.map(of),
                direction: direction.map(of),
                rod: of(rod),
                side,
                lead: of(lead),
            },
            Self::Actuator { pin, offset, lead } => {
                InputEnd::Actuator { pin: pin.map(of), offset: of(offset), lead: of(lead) }
            }
        }
    }
}
