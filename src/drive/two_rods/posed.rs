//! A pose from what its cranks are known to stand at, to be met with what its rods tell.

use super::pose::{Leg, TwoRodsPose};
use super::sized::{SizedBuild, SizedLeg};
use crate::drive::angular::Angular;
use crate::drive::input_end::{InputEnd, Reached};
use crate::drive::space::Vector;
use crate::numeric::Scalar;

impl<T: Angular> SizedBuild<T> {
    /// The pose at joint turns of these (sin, cos) with its cranks at the angles `motors` from their own pins, whether or not the
    /// rods fit; `None` where an actuator's does not.
    pub fn posed(&self, joints: [(T, T); 2], motors: [T; 2]) -> Option<TwoRodsPose<T>> {
        let ([first, second], [one, two]) = (&self.legs, motors);
        self.built.reached_by(joints, |rod, leg, foot| {
            let (sized, angle) = if rod == 0 { (first, one) } else { (second, two) };
            turned_to(leg, sized, angle, foot).or_else(|| leg.input.reach(foot))
        })
    }
}

/// The rod to `foot` from a crank at an angle from its own pin; `None` where no crank turns.
fn turned_to<T: Angular>(
    leg: &Leg<T>,
    sized: &SizedLeg<T>,
    angle: T,
    foot: Vector<T>,
) -> Option<Reached<T>> {
    let (InputEnd::Crank { circle, rod: length, .. }, SizedLeg::Crank { motor, pin: drawn, .. }) =
        (leg.input, sized)
    else {
        return None;
    };
    let (sine, cosine) = angle.sin_cos();
    let (axis, drawn) = (circle.axis, *drawn - *motor);
    let along = axis * axis.dot(drawn);
    let arm = (drawn - along) * cosine + axis.cross(drawn) * sine;
    Some(Reached::of_crank([*motor + along, axis], arm, (sine, cosine), length, foot))
}

impl<T: Scalar> TwoRodsPose<T> {
    /// The same pose, worked out in two ways: what both tell of it, and of J what `rates` does.
    #[must_use]
    pub fn both_ways(&self, other: &Self, rates: [[T; 2]; 2]) -> Self {
        let mut both = *other;
        for (own, its) in both.rods.iter_mut().zip(&self.rods) {
            own.rod = own.rod.both_ways(its.rod);
            own.velocity = own.velocity.both_ways(its.velocity);
            own.lever = own.lever.both_ways(its.lever);
            own.bend = own.bend.both_ways(its.bend);
        }
        for (row, rates) in both.jacobian.iter_mut().zip(rates) {
            for (own, rate) in row.iter_mut().zip(rates) {
                *own = own.both_ways(rate);
            }
        }
        both
    }
}
