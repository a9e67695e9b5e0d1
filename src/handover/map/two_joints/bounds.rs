//! What is certified of both directions over the region.
//!
//! Joints to motors: a running bound of rounding over pieces of the region, and what a few roundings of every drawn size do.
//!
//! Motors to joints: let T be J in the region's middle and ‖T⁻¹J − 1‖ ≤ ε < 1 at every pose. The region is convex, so that along the
//! straight way between two of its poses
//!
//! ```text
//! T⁻¹(θ(q) − θ(q*)) = (1 + Ē)(q − q*)     ‖Ē‖ ≤ ε     ‖q − q*‖ ≤ ‖T⁻¹‖ ‖θ(q) − θ(q*)‖/(1 − ε)
//! ```
//!
//! No two poses have the same motors, and a pose whose motors are off by no more than is told is as near as this. Derived here.

use std::f64::consts::PI;

use nalgebra::Matrix2;

use super::super::direction::FEW_ROUNDINGS;
use super::super::expression::{Numbers as _, name};
use super::super::rounding::{Bounded, Rounding};
use super::lines::{AT_RATES, JOINTS, MOTOR_READINGS};
use super::{Code, PITCH, Pair, ROLL};
use crate::design::TwoJointDesign;
use crate::drive::{Angular, Measure};
use crate::numeric::{Interval, Jet, evenly};
use crate::study::TwoMotors;

/// What certainly holds of the readings that the code gives, over the region.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Certified {
    /// Of the digits of the code's own figures, in a motor's reading, rad.
    pub(super) own_digits: f64,
    /// Of the code's arithmetic, in a motor's reading, rad.
    pub(super) rounding: f64,
    /// Of both, in an entry of the matrix.
    pub(super) rates: f64,
    /// Motor turns that are off by no more count as met, rad.
    pub(super) close: f64,
    /// In a joint's reading where they are, rad.
    pub(super) joints: f64,
    /// ε: how far the matrix changes over the region, in shares of its middle's.
    pub(super) change: f64,
}

impl Certified {
    /// In a motor's reading, rad.
    pub(super) fn motors(&self) -> f64 {
        (self.own_digits + self.rounding) * (1.0 + f64::EPSILON)
    }

    pub(super) fn largest(&self) -> f64 {
        self.motors().max(self.joints)
    }
}

/// Pieces of each range over which rounding is bounded, and those at whose corners slopes are looked at.
const PIECES: u32 = 48;
const COARSE: u32 = 8;

/// A converged step leaves the motors off by rounding alone, and hardly more; so many times its bound counts as met.
const ENOUGH: f64 = 1.25;

/// `None` where no bound is found or the matrix changes by as much as itself.
pub(super) fn certified(
    code: &Code,
    design: &TwoJointDesign,
    two: &TwoMotors,
) -> Option<Certified> {
    let pair = code.pairs.first()?;
    let middle = two.drive.pose(code.start()).ok()?.rates();
    let inverse = middle.try_inverse()?;
    let mut found = Certified::default();
    for over in pieces(code.joint_ends(pair)) {
        let here = over_piece(code, pair, over, &inverse)?;
        found.rounding = found.rounding.max(here.rounding);
        found.rates = found.rates.max(here.rates);
        found.change = found.change.max(here.change);
    }
    let [turn, rate] = own_digits(design, two)?;
    (found.own_digits, found.rates) = (turn, found.rates + rate);
    found.close = code.number.nearest(ENOUGH * found.rounding);
    found.joints = joints(code, pair, &found, &inverse);
    let all = [found.rounding, found.rates, found.joints, found.own_digits];
    (found.change < 1.0 && all.iter().all(|bound| bound.is_finite())).then_some(found)
}

fn pieces([pitch, roll]: [[f64; 2]; 2]) -> Vec<[Interval; 2]> {
    let cut = |range| -> Vec<Interval> {
        let edges: Vec<f64> = evenly(range, PIECES).collect();
        edges.iter().zip(edges.iter().skip(1)).map(|(a, b)| Interval::new(*a, *b)).collect()
    };
    let rolls = cut(roll);
    cut(pitch)
        .into_iter()
        .flat_map(|p| rolls.iter().map(move |r| [p, *r]).collect::<Vec<_>>())
        .collect()
}

fn over_piece(
    code: &Code,
    pair: &Pair,
    over: [Interval; 2],
    inverse: &Matrix2<f64>,
) -> Option<Certified> {
    let numbers = Rounding(code.number);
    let mut known: Vec<(&'static str, Bounded)> =
        JOINTS.into_iter().zip(over.map(Bounded::input)).collect();
    numbers.run(&code.joints_before(pair), &mut known)?;
    code.ask(&numbers, [PITCH, ROLL], &mut known)?;
    numbers.run(&code.motors_behind(pair), &mut known)?;
    let of = |name_of: &'static str| numbers.value(&name(name_of), &known);
    let [first, second] = MOTOR_READINGS.map(of);
    let [[a, b], [c, d]] = AT_RATES.map(|row| row.map(of));
    let rates = [[a?, b?], [c?, d?]];
    let most =
        |most: f64, of: Bounded| if of.error.is_nan() { f64::NAN } else { most.max(of.error) };
    Some(Certified {
        rounding: [first?, second?].into_iter().fold(0.0, most),
        rates: rates.into_iter().flatten().fold(0.0, most),
        change: change(rates.map(|row| row.map(|rate| rate.exact)), inverse),
        ..Certified::default()
    })
}

/// No less than the largest singular value of T⁻¹J − 1 over a piece.
fn change([[a, b], [c, d]]: [[Interval; 2]; 2], inverse: &Matrix2<f64>) -> f64 {
    let point = Interval::point;
    let entry = |row: [f64; 2], [x, y]: [Interval; 2], one: f64| {
        (point(row[0]) * x + point(row[1]) * y - point(one)).magnitude()
    };
    let (pitch, roll) = ([inverse.m11, inverse.m12], [inverse.m21, inverse.m22]);
    let all = [
        entry(pitch, [a, c], 1.0),
        entry(pitch, [b, d], 0.0),
        entry(roll, [a, c], 0.0),
        entry(roll, [b, d], 1.0),
    ];
    all.iter().map(|size| size * size).sum::<f64>().sqrt() * (1.0 + 1e-12)
}

/// How far a joint's reading may be off where both motors are met: one step of Newton's goes on from there.
fn joints(code: &Code, pair: &Pair, found: &Certified, inverse: &Matrix2<f64>) -> f64 {
    let unit = code.number.unit();
    let reading =
        |ends: [f64; 2], zero: f64| unit * (2.0 * (ends[0].abs().max(ends[1].abs()) + zero.abs()));
    let [pitch, roll] = code.joint_ends(pair);
    let read = reading(pitch, pair.joints[0].in_zero).max(reading(roll, pair.joints[1].in_zero));
    // The asked turns are the readings less those of the zero pose.
    let asked = found.rounding
        + 2.0 * unit * pair.motors[0].in_zero.abs().max(pair.motors[1].in_zero.abs());
    let off = 2.0 * found.close + found.motors() + asked;
    let steep = inverse.norm() / (1.0 - found.change);
    (steep * 2.0_f64.sqrt() * off + read) * (1.0 + 1e-9)
}

/// What a few roundings of every size do to a motor's turn, rad, and to an entry of the matrix: from slopes by every size at poses
/// of the region, and twice that for what lies between.
fn own_digits(design: &TwoJointDesign, two: &TwoMotors) -> Option<[f64; 2]> {
    let sizes = design.drawing.sizes();
    let lengths = sizes.iter().filter(|size| size.measure == Measure::Length);
    let length = lengths.map(|size| size.value.abs()).fold(0.0, f64::max);
    let constant = |x: f64| Jet::<1>::constant(Interval::point(x));
    let drawn: Vec<Jet<1>> = sizes.iter().map(|size| constant(size.value)).collect();
    let mut moved = vec![[0.0_f64; 6]; two.grid(COARSE).turns().count()];
    for (k, size) in sizes.iter().enumerate() {
        let mut varied = drawn.clone();
        let slot = varied.get_mut(k)?;
        *slot = Jet::variable(0, slot.value);
        let build = design.drawing.built(&varied)?;
        let zero = build.at([sine_and_cosine(0.0); 2])?;
        let zero = build.angles(&zero, two.drive.zero_angles());
        let scale = if size.measure == Measure::Length { length } else { PI };
        for (moved, joints) in moved.iter_mut().zip(two.grid(COARSE).turns()) {
            let pose = build.at(joints.map(sine_and_cosine))?;
            let turns = two.drive.motor_turns(joints).ok()?;
            let [one, other] = two.drive.zero_angles();
            let [first, second] = build.angles(&pose, [turns[0] + one, turns[1] + other]);
            let [[a, b], [c, d]] = pose.jacobian;
            let all = [first - zero[0], second - zero[1], a, b, c, d];
            for (moved, of) in moved.iter_mut().zip(all) {
                *moved += scale * of.slopes[0].magnitude();
            }
        }
    }
    let most = |of: &dyn Fn(&[f64; 6]) -> f64| moved.iter().map(of).fold(0.0, f64::max);
    let turn = most(&|[first, second, ..]| first.max(*second));
    let rate = most(&|[.., a, b, c, d]| a.max(*b).max(*c).max(*d));
    Some([PI + turn, 1.0 + rate].map(|moved| 2.0 * FEW_ROUNDINGS * moved))
}

fn sine_and_cosine(turn: f64) -> (Jet<1>, Jet<1>) {
    Angular::sin_cos(Jet::constant(Interval::point(turn)))
}
