//! What each variable of two rods moves of one of them while its motor stands: Q and its ways, or P and its velocity.
//!
//! A hinge about a through O carries X to O + R y₀; what it carries moves with X by R, with O by 1 − R, and with a tilt ȧ of
//! its axis as a body turned by sin φ ȧ + (1 − cos φ) a × ȧ. Derived here; checked against gradients of the closed form.

use super::drawing::OF_AXES;
use super::sized::SizedLeg;
use crate::drive::angular::Angular;
use crate::drive::circle::Circle;
use crate::drive::input_end::{Place, Reached};
use crate::drive::space::Vector;
use crate::numeric::Scalar;

/// What a variable does while the motor stands.
#[derive(Clone, Copy)]
pub(super) struct Move<T> {
    pub(super) of: Moved<T>,
    /// Half of b².
    pub(super) half_square: Option<T>,
    /// The crank's radius and the motor's axis.
    pub(super) crank: Option<(T, Vector<T>)>,
}

/// Which end of the rod moves, and how.
#[derive(Clone, Copy)]
pub(super) enum Moved<T> {
    /// Q and its ways.
    Foot(Vector<T>, [Vector<T>; 2]),
    /// P and v.
    Pin(Vector<T>, Vector<T>),
    Neither,
}

pub(super) fn units<T: Scalar>() -> [Vector<T>; 3] {
    let [one, no] = [T::exactly(1.0), T::exactly(0.0)];
    [Vector::new(one, no, no), Vector::new(no, one, no), Vector::new(no, no, one)]
}

impl<T: Scalar> Move<T> {
    pub(super) fn new(of: Moved<T>) -> Self {
        Self { of, half_square: None, crank: None }
    }

    pub(super) fn of_length(half_square: T) -> Self {
        Self { half_square: Some(half_square), ..Self::new(Moved::Neither) }
    }
}

/// A hinge in one pose: where its axis is, and how it turns what it carries.
#[derive(Clone, Copy)]
pub(super) struct Hinge<T> {
    pub(super) axis: Vector<T>,
    pub(super) turn: (T, T),
    pub(super) tilts: [Vector<T>; 2],
}

impl<T: Scalar> Hinge<T> {
    pub(super) fn turned(&self, v: Vector<T>) -> Vector<T> {
        v.turned(self.axis, self.turn)
    }

    /// By what vector each tilt turns what is carried.
    fn swings(&self) -> [Vector<T>; 2] {
        let (sine, cosine) = self.turn;
        let rest = T::exactly(1.0) - cosine;
        self.tilts.map(|tilt| tilt * sine + self.axis.cross(tilt) * rest)
    }
}

/// The two hinges in one pose, with what they carry of one rod's foot.
pub(super) struct Carried<T> {
    pub(super) pitch: Hinge<T>,
    /// Its axis and tilts as pitch carries them.
    pub(super) roll: Hinge<T>,
    /// From O₁ and from the carried O₂ to Q.
    pub(super) from: [Vector<T>; 2],
    pub(super) ways: [Vector<T>; 2],
    /// The rod's row of J.
    pub(super) rates: [T; 2],
    /// Unit vectors as pitch carries them, and as both do.
    pub(super) by_pitch: [Vector<T>; 3],
    pub(super) by_both: [Vector<T>; 3],
}

impl<T: Scalar> Carried<T> {
    /// Of both joint turns.
    pub(super) fn turn_moves(&self) -> [Move<T>; 2] {
        let ([a1, a2], [by_p, by_r]) = ([self.pitch.axis, self.roll.axis], self.ways);
        [
            of_foot(by_p, [a1.cross(by_p), a1.cross(by_r)]),
            of_foot(by_r, [a1.cross(by_r), a2.cross(by_r)]),
        ]
    }

    /// Of the sizes of both joint axes.
    pub(super) fn axis_moves(&self) -> [Move<T>; OF_AXES] {
        let ([a1, a2], [_, by_r]) = ([self.pitch.axis, self.roll.axis], self.ways);
        let [from_pitch, from_roll] = self.from;
        let of_pitch_point = |own: Vector<T>, carried: Vector<T>| {
            of_foot(own - carried, [-a1.cross(carried), Vector::zero()])
        };
        let of_roll_point = |carried: Vector<T>, turned: Vector<T>| {
            let foot = carried - turned;
            of_foot(foot, [a1.cross(foot), -a2.cross(turned)])
        };
        let of_pitch_tilt = |swing: Vector<T>, tilt: Vector<T>| {
            let foot = swing.cross(from_pitch);
            of_foot(foot, [tilt.cross(from_pitch) + a1.cross(foot), swing.cross(by_r)])
        };
        let of_roll_tilt = |swing: Vector<T>, tilt: Vector<T>| {
            let foot = swing.cross(from_roll);
            of_foot(foot, [a1.cross(foot), tilt.cross(from_roll) + a2.cross(foot)])
        };
        let ([x, y, z], [px, py, pz], [bx, by, bz]) = (units(), self.by_pitch, self.by_both);
        let ([p1, p2], [s1, s2]) = (self.pitch.tilts, self.pitch.swings());
        let ([r1, r2], [t1, t2]) = (self.roll.tilts, self.roll.swings());
        [
            of_pitch_point(x, px),
            of_pitch_point(y, py),
            of_pitch_point(z, pz),
            of_pitch_tilt(s1, p1),
            of_pitch_tilt(s2, p2),
            of_roll_point(px, bx),
            of_roll_point(py, by),
            of_roll_point(pz, bz),
            of_roll_tilt(t1, r1),
            of_roll_tilt(t2, r2),
        ]
    }

    /// Of the foot's own coordinates.
    pub(super) fn foot_moves(&self) -> [Move<T>; 3] {
        let axes = [self.pitch.axis, self.roll.axis];
        self.by_both.map(|turned| of_foot(turned, axes.map(|axis| axis.cross(turned))))
    }
}

fn of_foot<T: Scalar>(foot: Vector<T>, ways: [Vector<T>; 2]) -> Move<T> {
    Move::new(Moved::Foot(foot, ways))
}

/// Of a crank's motor axis, its pin, the foot, and the rod's length where it is given.
pub(super) fn crank_moves<T: Angular>(
    circle: &Circle<T>,
    length: T,
    foot: Vector<T>,
    sized: &SizedLeg<T>,
    rod: &Reached<T>,
    carried: &Carried<T>,
) -> Vec<Move<T>> {
    let (SizedLeg::Crank { motor, tilts, pin, is_rod_given }, Place::Angle(sine, cosine)) =
        (sized, rod.place)
    else {
        return Vec::new();
    };
    let axis = circle.axis;
    let hinge = Hinge { axis, turn: (sine, cosine), tilts: *tilts };
    let from = rod.pin - *motor;
    let apart = foot - *pin;
    let half_squares =
        if *is_rod_given { [None; 3] } else { [apart.x, apart.y, apart.z].map(Some) };
    let outward = [circle.datum.x, circle.datum.y, circle.datum.z];
    let turned = units().map(|v| hinge.turned(v));
    let along = axis.dot(*pin - *motor);
    let mut moves = Vec::with_capacity(12);
    for ((own, turned), outward) in units().into_iter().zip(turned).zip(outward) {
        let (pin, velocity) = (own - turned, -axis.cross(turned));
        let crank = Some((-outward, Vector::zero()));
        moves.push(Move { crank, ..Move::new(Moved::Pin(pin, velocity)) });
    }
    for (tilt, swing) in tilts.iter().zip(hinge.swings()) {
        let pin = swing.cross(from);
        let velocity = tilt.cross(from) + axis.cross(pin);
        let radius = -(circle.datum.dot(*tilt) * along);
        let crank = Some((radius, *tilt));
        moves.push(Move { crank, ..Move::new(Moved::Pin(pin, velocity)) });
    }
    for ((turned, outward), half) in turned.into_iter().zip(outward).zip(half_squares) {
        let of = Moved::Pin(turned, axis.cross(turned));
        let crank = Some((outward, Vector::zero()));
        moves.push(Move { of, half_square: half.map(|half| -half), crank });
    }
    for (by, half_square) in carried.foot_moves().into_iter().zip(half_squares) {
        moves.push(Move { half_square, ..by });
    }
    if *is_rod_given {
        moves.push(Move::of_length(length));
    }
    moves
}
