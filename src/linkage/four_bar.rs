//! The four lengths.

use serde::Serialize;

use crate::numeric::{Interval, Scalar};

use super::fault::LinkageFault;

/// A planar four-bar with revolute pins: the distances between pin centres, all in one unit of length, all > 0.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FourBar<T = f64> {
    /// A–B, from the motor axis to the joint axis.
    #[serde(rename = "ground_m")]
    pub ground: T,
    /// A–P, the arm on the motor axis.
    #[serde(rename = "crank_m")]
    pub crank: T,
    /// P–Q, the push-rod.
    #[serde(rename = "coupler_m")]
    pub coupler: T,
    /// B–Q, the arm on the joint axis.
    #[serde(rename = "rocker_m")]
    pub rocker: T,
}

impl<T: Scalar> FourBar<T> {
    /// g + b − a − c, g + c − a − b and b + c − a − g: their signs are the Grashof class.
    ///
    /// # Source
    /// A. P. Murray and P. M. Larochelle, DETC98/MECH-5887, sec. 2; J. M. McCarthy and G. S. Soh, Geometric Design of
    /// Linkages, 2nd ed., sec. 2.4 (from memory).
    pub fn signs(&self) -> [T; 3] {
        let Self { ground: g, crank: a, coupler: b, rocker: c } = *self;
        [T::balance([g, b], [a, c]), T::balance([g, c], [b, a]), T::balance([b, c], [a, g])]
    }
}

impl FourBar {
    /// How far coupler and rocker are from meeting at crank angle `phi`: positive where the coupler is too short.
    #[must_use]
    pub fn missing_length(&self, phi: f64) -> f64 {
        let diagonal = self.diagonal_squared(phi).sqrt();
        let too_short = diagonal - (self.coupler + self.rocker);
        if too_short > 0.0 {
            too_short
        } else {
            -((self.coupler - self.rocker).abs() - diagonal).max(0.0)
        }
    }

    pub(super) fn cannot_close(&self, phi: f64) -> LinkageFault {
        LinkageFault::CannotClose { crank: phi, short: self.missing_length(phi) }
    }

    /// Squared distance from the crank pin P to the joint axis B.
    #[must_use]
    pub fn diagonal_squared(&self, phi: f64) -> f64 {
        let half = libm::sin(0.5 * phi);
        (self.ground - self.crank).powi(2) + 4.0 * self.crank * self.ground * half * half
    }

    /// The longest of the four lengths.
    #[must_use]
    pub fn longest(&self) -> f64 {
        self.ground.max(self.crank).max(self.coupler).max(self.rocker)
    }

    /// The same linkage, each length enclosed by itself alone.
    #[must_use]
    pub fn exactly(&self) -> FourBar<Interval> {
        FourBar {
            ground: Interval::point(self.ground),
            crank: Interval::point(self.crank),
            coupler: Interval::point(self.coupler),
            rocker: Interval::point(self.rocker),
        }
    }
}
