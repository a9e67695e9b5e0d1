//! Motor to joint: Newton's method, its result certified, followed from the zero pose.
//!
//! F_k = ½(|Q_k − P_k|² − L_k²), ∂F_k/∂q_j = w_k·(a_j × (Q_k − O_j)). Along the straight way of both motors from the zero
//! pose a step counts only when one interval step of Krawczyk's maps a box around it into itself for all motor turns of
//! that part of the way: then each has exactly one pose in the box, and the two ends are one assembly.
//!
//! # Source
//! R. Krawczyk, Computing 4 (1969) 187–201; the operator as in R. E. Moore, R. B. Kearfott and M. J. Cloud, Introduction to
//! Interval Analysis (2009), ch. 8 (memory).

use nalgebra::{Matrix2, Vector2};

use super::pose::{Feet, Leg, RodsOnUniversal};
use super::{SHORTEST, TwoRods};
use crate::drive::angular::Angular;
use crate::drive::fault::DriveFault;
use crate::drive::input_end::InputEnd;
use crate::drive::space::Vector;
use crate::numeric::Interval;

/// Both joints at given motor turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joints {
    /// Pitch and roll, rad from the zero pose.
    pub turns: [f64; 2],
    /// They certainly lie in here, and no other pose of the linkage does.
    pub within: [Interval; 2],
}

/// Newton's steps until two in a row no longer change anything are a handful.
const STEPS: u32 = 20;

/// What both rods ask of the foot at given motor angles: pins P and squared lengths.
#[derive(Clone, Copy, Debug)]
struct Inputs<T> {
    pins: [Vector<T>; 2],
    squared_lengths: [T; 2],
}

fn input<T: Angular>(leg: &Leg<T>, angle: T) -> (Vector<T>, T) {
    match leg.input {
        InputEnd::Crank { circle, rod, .. } => {
            (circle.centre + circle.arm(angle.sin_cos()), rod.square())
        }
        InputEnd::Slide { point, direction, rod, .. } => {
            (point + direction * (angle / leg.input.gain()), rod.square())
        }
        InputEnd::Actuator { pin, offset, .. } => {
            (pin, (angle / leg.input.gain()).square() + offset.square())
        }
    }
}

impl<T: Angular> RodsOnUniversal<T> {
    fn inputs(&self, [first, second]: [T; 2]) -> Inputs<T> {
        let [one, two] = &self.legs;
        let ((p1, l1), (p2, l2)) = (input(one, first), input(two, second));
        Inputs { pins: [p1, p2], squared_lengths: [l1, l2] }
    }

    /// F and its derivatives by pitch and roll.
    fn mismatch(&self, joints: [T; 2], inputs: &Inputs<T>) -> ([T; 2], [[T; 2]; 2]) {
        let Feet { at: feet, ways, .. } = self.feet(joints.map(T::sin_cos));
        let half = T::exactly(0.5);
        let row = |q: Vector<T>, pin: Vector<T>, squared: T, ways: [Vector<T>; 2]| {
            let w = q - pin;
            (half * (w.length_squared() - squared), ways.map(|way| w.dot(way)))
        };
        let ([p1, p2], [l1, l2]) = (inputs.pins, inputs.squared_lengths);
        let ((f1, d1), (f2, d2)) = (row(feet[0], p1, l1, ways[0]), row(feet[1], p2, l2, ways[1]));
        ([f1, f2], [d1, d2])
    }
}

impl TwoRods {
    /// Joint turns at motor turns `motors`, followed along the straight way of both motors from the zero pose.
    ///
    /// # Errors
    /// [`DriveFault::NotFollowed`] where a singular pose stands in the way, or rounding does not let one be excluded.
    pub fn joint_turns(&self, motors: [f64; 2]) -> Result<Joints, DriveFault> {
        let (mut from, mut joints, mut step) = (0.0, [0.0; 2], 1.0);
        while from < 1.0 {
            let to = if from + step >= 1.0 { 1.0 } else { from + step };
            if let Some(reached) = self.stepped(motors, [from, to], joints) {
                (from, joints, step) = (to, reached, 2.0 * step);
            } else if step <= SHORTEST {
                return Err(DriveFault::NotFollowed { share: from });
            } else {
                step *= 0.5;
            }
        }
        let around = joints.map(|turn| Interval::new(turn - 1e-9, turn + 1e-9));
        let inputs = self.inputs_over(motors, Interval::point(1.0));
        let within =
            self.certified(around, &inputs).ok_or(DriveFault::NotFollowed { share: 1.0 })?;
        Ok(Joints { turns: joints, within })
    }

    /// What the rods ask for at every share of the way to `motors`.
    fn inputs_over(&self, motors: [f64; 2], share: Interval) -> Inputs<Interval> {
        let ([first, second], [zero, other]) = (motors, self.sure_zero);
        let at = |turn: f64, zero: Interval| zero + Interval::point(turn) * share;
        self.sure.inputs([at(first, zero), at(second, other)])
    }

    /// The joints at the end of a part of the way, from those at its beginning.
    fn stepped(
        &self,
        motors: [f64; 2],
        [from, to]: [f64; 2],
        joints: [f64; 2],
    ) -> Option<[f64; 2]> {
        let at = |k: usize| Some(self.zero.get(k)? + motors.get(k)? * to);
        let reached = self.newton(joints, &self.plain.inputs([at(0)?, at(1)?]))?;
        // Either motor may be anywhere in this part of its way: half of what both move the joints, and half as much again.
        let inverse = self.pose(joints).ok()?.rates().try_inverse()?;
        let moved = Vector2::from(motors).abs() * (to - from);
        let room = inverse.abs() * moved * 0.75;
        let around = |a: f64, b: f64, room: f64| {
            let middle = 0.5 * (a + b);
            let room = room.max((b - a).abs()) + 1e-9;
            Interval::new(middle - room, middle + room)
        };
        let over = [around(joints[0], reached[0], room.x), around(joints[1], reached[1], room.y)];
        let inputs = self.inputs_over(motors, Interval::new(from, to));
        self.certified(over, &inputs).map(|_| reached)
    }

    fn newton(&self, from: [f64; 2], inputs: &Inputs<f64>) -> Option<[f64; 2]> {
        let mut joints = Vector2::from(from);
        let mut last = f64::INFINITY;
        for _ in 0..STEPS {
            let ([f1, f2], [[a, b], [c, d]]) = self.plain.mismatch(joints.into(), inputs);
            let step = Matrix2::new(a, b, c, d).try_inverse()? * Vector2::new(f1, f2);
            joints -= step;
            let size = step.norm();
            if size.is_nan() || size >= 4.0 {
                return None;
            }
            if size >= last && size < 1e-12 {
                break;
            }
            last = size;
        }
        (last < 1e-9).then(|| joints.into())
    }

    /// Krawczyk's operator on the box: where it maps the box into its inside, there is exactly one pose in it for each of
    /// `inputs`, and it lies in what is returned.
    fn certified(&self, over: [Interval; 2], inputs: &Inputs<Interval>) -> Option<[Interval; 2]> {
        let middle = over.map(Interval::mid);
        let ([f1, f2], _) = self.sure.mismatch(middle.map(Interval::point), inputs);
        let (_, [[a, b], [c, d]]) = self.sure.mismatch(over, inputs);
        let inverse = Matrix2::new(a.mid(), b.mid(), c.mid(), d.mid()).try_inverse()?;
        let point = Interval::point;
        let away = [over[0] - point(middle[0]), over[1] - point(middle[1])];
        let row = |y1: f64, y2: f64, unit: [f64; 2], middle: f64| {
            let (y1, y2) = (point(y1), point(y2));
            let left = [point(unit[0]) - (y1 * a + y2 * c), point(unit[1]) - (y1 * b + y2 * d)];
            point(middle) - (y1 * f1 + y2 * f2) + (left[0] * away[0] + left[1] * away[1])
        };
        let mapped = [
            row(inverse.m11, inverse.m12, [1.0, 0.0], middle[0]),
            row(inverse.m21, inverse.m22, [0.0, 1.0], middle[1]),
        ];
        let is_inside = |k: Interval, x: Interval| x.lo() < k.lo() && k.hi() < x.hi();
        let all = is_inside(mapped[0], over[0]) && is_inside(mapped[1], over[1]);
        all.then_some(mapped)
    }
}
