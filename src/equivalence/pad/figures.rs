//! The drawn finger's worst figures, and what they are held against.

use serde::Serialize;

use super::super::builds::Front;
use super::super::claims::{Point, Setting};
use super::super::criterion::Criterion;
use super::behind::behind;
use super::{Finger, PadClaim};
use crate::linkage::{Extreme, Stroke};
use crate::numeric::search::Objective as _;
use crate::numeric::{Interval, peaks};

/// What the pad's motion is held against.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PadLimits {
    /// Largest difference of attitude, rad.
    #[serde(rename = "tilt_rad")]
    pub tilt: f64,
    /// Largest difference of place across n, m.
    #[serde(rename = "shift_m")]
    pub shift: f64,
    /// Largest difference of opening, m.
    #[serde(rename = "opening_m")]
    pub opening: f64,
    /// Largest |force of the model / force of the linkage − 1|.
    pub grip: f64,
}

/// The worst differences between a stand-in's pad and the linkage's over a stroke, each with the motor turn where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PadFigures {
    /// Largest |difference of attitude|, rad.
    #[serde(rename = "tilt_rad", serialize_with = "Extreme::value_alone")]
    pub tilt: Extreme,
    /// Largest |difference of place across n|, m.
    #[serde(rename = "shift_m", serialize_with = "Extreme::value_alone")]
    pub shift: Extreme,
    /// Largest |difference of opening|, m.
    #[serde(rename = "opening_m", serialize_with = "Extreme::value_alone")]
    pub opening: Extreme,
    /// Largest |force of the model / force of the linkage − 1|; infinite where the model's pad stands still.
    #[serde(serialize_with = "Extreme::value_alone")]
    pub grip: Extreme,
}

impl PadFigures {
    /// Of `finger` for the drawn linkage of `setting` over `stroke`, behind the drawn drive `front` where there is one.
    pub(in super::super) fn over(
        setting: Setting<'_>,
        finger: &Finger,
        front: Option<&Front<'_>>,
        stroke: &Stroke,
    ) -> Self {
        let worst =
            |criterion| worst(&PadClaim { setting, finger, criterion, side: 1.0 }, front, stroke);
        Self {
            tilt: worst(Criterion::Tilt),
            shift: worst(Criterion::Shift),
            opening: worst(Criterion::Opening),
            grip: worst(Criterion::Grip),
        }
    }

    /// The figure of `criterion`; `None` where it is none of the pad's.
    #[must_use]
    pub fn of(&self, criterion: Criterion) -> Option<Extreme> {
        match criterion {
            Criterion::Tilt => Some(self.tilt),
            Criterion::Shift => Some(self.shift),
            Criterion::Opening => Some(self.opening),
            Criterion::Grip => Some(self.grip),
            _ => None,
        }
    }
}

impl PadLimits {
    /// The limit of `criterion`; `None` where it is none of the pad's.
    #[must_use]
    pub fn of(&self, criterion: Criterion) -> Option<f64> {
        match criterion {
            Criterion::Tilt => Some(self.tilt),
            Criterion::Shift => Some(self.shift),
            Criterion::Opening => Some(self.opening),
            Criterion::Grip => Some(self.grip),
            _ => None,
        }
    }
}

fn worst(claim: &PadClaim<'_>, front: Option<&Front<'_>>, stroke: &Stroke) -> Extreme {
    let bars = claim.setting.branch.bars();
    let at =
        |turn: f64| -> Point { [bars.crank, bars.coupler, bars.rocker, bars.ground, 0.0, turn] };
    let figure = |turn: f64| {
        let own = claim.sample(&at(turn))?;
        let Some(front) = front else { return Some(own) };
        let errors = front.drawn_at(turn);
        if errors.iter().any(|error| error.is_nan()) {
            return None;
        }
        let [own, turn] = [own, turn].map(Interval::point);
        let errors = errors.map(Interval::point);
        Some(behind(claim.finger, claim.criterion, own, turn, errors)?.mid())
    };
    let [low, high] = peaks(|turn| figure(turn).unwrap_or(f64::NAN), stroke.motor);
    let (turn, value) = if -low.1 > high.1 { low } else { high };
    let is_none = claim.criterion == Criterion::Grip && value.abs() > NO_FORCE;
    Extreme { value: if is_none { f64::INFINITY } else { value.abs() }, turn }
}

/// A force error above this is that of a stand-in whose pad stands still somewhere: how large it is seen is chance.
const NO_FORCE: f64 = 1e4;
