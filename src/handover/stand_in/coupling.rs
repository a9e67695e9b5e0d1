//! The relation of crank and driven joint that a file of the coupled form holds.

use super::figures::{JointFigures, Readings};
use super::{Draws, Form, Request};
use crate::design::Accept;
use crate::dynamics::{Coupling, DynamicsFault, Fit, MonotoneStroke};
use crate::equivalence::DirectJoint;
use crate::handover::fault::EmitFault;
use crate::robot::Format;
use crate::study::Check;
use crate::units::percent;

/// Coefficients of powers 0…4.
pub type Quartic = [f64; 5];

/// How a crank's reading follows from the joint's, rad: crank = `from_crank` + Σ aₖ (joint − `from_joint`)ᵏ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::handover) struct Relation {
    pub(in crate::handover) from_joint: f64,
    pub(in crate::handover) from_crank: f64,
    pub(in crate::handover) polynomial: Quartic,
}

impl Relation {
    pub(in crate::handover) fn crank(&self, joint: f64) -> f64 {
        let x = joint - self.from_joint;
        self.from_crank + self.polynomial.iter().rev().fold(0.0, |sum, a| sum * x + a)
    }

    pub(in crate::handover) fn line(slope: f64, constant: f64) -> Self {
        Self { from_joint: 0.0, from_crank: 0.0, polynomial: [constant, slope, 0.0, 0.0, 0.0] }
    }

    /// The line that turns `slope` · x + `constant` round.
    pub(in crate::handover) fn inverse(slope: f64, constant: f64) -> Option<Self> {
        slope.is_normal().then(|| Self::line(1.0 / slope, -constant / slope))
    }
}

/// The relation that a file holds.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct Coupled {
    pub(in crate::handover) relation: Relation,
    pub(in crate::handover) error: CouplingError,
}

/// How far a relation of crank and joint is off the linkage, as sizes.
#[derive(Clone, Copy, Debug)]
pub(in crate::handover) struct CouplingError {
    /// Of the crank's angle, rad.
    pub(in crate::handover) angle: f64,
    /// Of its slope, as a share; infinite where the rocker stands still.
    pub(in crate::handover) torque: f64,
}

impl Coupled {
    /// As `emit` writes it.
    pub(in crate::handover) fn new<G: Draws>(
        request: &Request<'_, G>,
        figures: &JointFigures,
        coupling: &Coupling,
    ) -> Self {
        if request.ask.format.holds_polynomials() {
            let from = [request.joint_drawn_at(), figures.readings.motor];
            Self::curved(request.check, figures.readings, coupling, from)
        } else {
            Self::straight(request.check, figures.readings)
        }
    }

    /// The fitted polynomial, counted from the readings `from` of joint and crank.
    pub(in crate::handover) fn curved(
        check: &Check,
        readings: Readings,
        coupling: &Coupling,
        [from_joint, from_crank]: [f64; 2],
    ) -> Self {
        let mut signed = without_rounding(check, coupling);
        let mut sign = readings.motor_sign * readings.sense;
        for coefficient in &mut signed {
            *coefficient *= sign;
            sign *= readings.sense;
        }
        let mut polynomial = moved(signed, from_joint - readings.joint);
        polynomial[0] += readings.motor - from_crank;
        let relation = Relation { from_joint, from_crank, polynomial };
        Self { relation, error: CouplingError::of(coupling) }
    }

    /// The direct joint's own line, which is all that a format without polynomials holds.
    pub(in crate::handover) fn straight(check: &Check, readings: Readings) -> Self {
        let relation = Relation::line(readings.gear(), readings.motor_at(0.0));
        Self { relation, error: CouplingError::of_line(check) }
    }
}

impl CouplingError {
    fn of(coupling: &Coupling) -> Self {
        Self { angle: coupling.angle_error.value, torque: coupling.ratio_error.value }
    }

    /// Of the direct joint's own line.
    pub(in crate::handover) fn of_line(check: &Check) -> Self {
        let torque = check.transmission_ratio.worst_error;
        Self {
            angle: check.angle_error.value * check.direct_joint.ratio.abs(),
            torque: torque.map_or(f64::INFINITY, |error| error.value),
        }
    }

    /// Which limit of the verdict it breaks, as a clause; `form` is what it is called.
    pub(in crate::handover) fn beyond(
        &self,
        accept: &Accept,
        joint: DirectJoint,
        form: &str,
    ) -> Option<String> {
        let angle = self.angle / joint.ratio.abs();
        if angle.is_nan() || angle > accept.angle {
            return Some(format!(
                "the linkage's angle is {:.3} deg off {form} (limit {:.3} deg)",
                angle.to_degrees(),
                accept.angle.to_degrees()
            ));
        }
        if !self.torque.is_finite() {
            return Some("the rocker stands still inside the stroke".to_owned());
        }
        (self.torque > accept.ratio).then(|| {
            format!(
                "the linkage's ratio is {} off the slope of {form} (limit {})",
                percent(self.torque),
                percent(accept.ratio)
            )
        })
    }
}

/// The polynomial over the stroke, in the coupled form.
///
/// # Errors
/// A dead point inside the stroke.
pub(in crate::handover) fn fitted(request: &Request<'_>) -> Result<Option<Coupling>, EmitFault> {
    match request.ask.form {
        Form::Coupled => fit(request, request.ask.fit).map(Some),
        Form::Direct | Form::Loop => Ok(None),
    }
}

/// What the format holds of it over the stroke: the polynomial, or the direct joint's own line.
///
/// # Errors
/// A dead point inside the stroke.
pub(in crate::handover) fn held(
    format: Format,
    course: &MonotoneStroke<'_>,
    joint: DirectJoint,
    fit: Fit,
) -> Result<Coupling, DynamicsFault> {
    if format.holds_polynomials() {
        Coupling::fitted(course, fit)
    } else {
        Ok(Coupling::straight(course, joint.ratio, joint.offset))
    }
}

/// # Errors
/// A dead point inside the stroke.
pub(in crate::handover) fn fit(request: &Request<'_>, fit: Fit) -> Result<Coupling, EmitFault> {
    course(request).and_then(|course| Coupling::fitted(&course, fit)).map_err(EmitFault::of_kept)
}

/// # Errors
/// A dead point inside the stroke.
pub(super) fn course<'a>(request: &Request<'a>) -> Result<MonotoneStroke<'a>, DynamicsFault> {
    MonotoneStroke::over(&request.mechanism.branch, request.mechanism.stroke)
}

/// What turns the crank by less than this over the stroke is the fit's rounding, rad.
const ROUNDING: f64 = 1e-12;

/// The coefficients that count; a straight line with the direct joint's ratio has that ratio to the last digit.
fn without_rounding(check: &Check, coupling: &Coupling) -> Quartic {
    let [a, b] = check.stroke.joint;
    let (furthest, ratio) = (a.abs().max(b.abs()), check.direct_joint.ratio);
    let mut power = 1.0;
    let [c0, c1, c2, c3, c4] = coupling.coefficients.map(|c| {
        let counts = c.abs() * power >= ROUNDING;
        power *= furthest;
        if counts { c } else { 0.0 }
    });
    let is_line = [c2, c3, c4].iter().all(|c| *c == 0.0) && (c1 - ratio).abs() < ROUNDING;
    [c0, if is_line { ratio } else { c1 }, c2, c3, c4]
}

/// The polynomial p(y + `by`) in powers of y, by Horner's scheme.
fn moved(coefficients: Quartic, by: f64) -> Quartic {
    let mut moved = coefficients;
    for first in 0..4 {
        let mut above = 0.0;
        for (k, coefficient) in moved.iter_mut().enumerate().rev() {
            if k >= first {
                *coefficient += by * above;
                above = *coefficient;
            }
        }
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_turned_round_gives_back_what_went_in() {
        let line = Relation::line(-2.0, 0.3);
        let back = Relation::inverse(-2.0, 0.3).unwrap();
        for x in [-1.0, 0.0, 0.7] {
            assert!((back.crank(line.crank(x)) - x).abs() < 1e-15);
        }
        assert_eq!(Relation::inverse(0.0, 1.0), None);
    }

    #[test]
    fn a_moved_polynomial_has_the_same_values() {
        let value = |c: &Quartic, x: f64| c.iter().rev().fold(0.0, |sum, c| sum * x + c);
        let p = [0.3, -1.2, 0.5, 0.25, -0.125];
        let q = moved(p, 0.75);
        for y in [-1.0, 0.0, 0.4] {
            assert!((value(&q, y) - value(&p, y + 0.75)).abs() < 1e-15);
        }
    }
}
