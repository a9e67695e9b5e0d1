//! The four lengths.

use serde::Serialize;

use crate::numeric::{Interval, Scalar};

use super::pose::{Closure, Half, Pose, PoseOf};

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

/// Why a linkage cannot do what is asked of it. Angles in rad, turns from the zero pose about the joint axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LinkageFault {
    /// Coupler and rocker do not reach each other at this crank angle: `short` (unit of length) is missing.
    CannotClose {
        /// Crank angle.
        crank: f64,
        /// By how much the coupler is too short (positive) or too long (negative).
        short: f64,
    },
    /// All four pins in line in the zero pose, so that the closure cannot be told.
    FlatZeroPose,
    /// The stroke asks for a motor turn beyond a crank limit or change point.
    MotorTurnOutOfReach {
        /// The turn asked for.
        wanted: f64,
        /// The last turn that can be reached.
        reach: f64,
        /// What stands there.
        barrier: super::branch::BarrierKind,
    },
    /// The stroke asks for a joint turn that the rocker does not reach on its branch.
    JointTurnOutOfReach {
        /// The turn asked for.
        wanted: f64,
        /// The last turn that can be reached.
        reach: f64,
        /// What stands there; `None` for a dead point.
        barrier: Option<super::branch::BarrierKind>,
    },
    /// The zero pose is a dead point, so that a joint angle does not tell which way the crank goes.
    ZeroPoseIsDeadPoint,
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

    /// The pose at the crank angle of `half`; `None` where coupler and rocker do not meet.
    pub fn pose(&self, half: Half<T>, closure: Closure) -> Option<PoseOf<T>> {
        PoseOf::solve(self, half, closure)
    }
}

impl FourBar {
    /// The pose at crank angle `phi` (rad).
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`] where coupler and rocker do not meet.
    ///
    /// # Examples
    /// ```
    /// use unloop::linkage::{Closure, FourBar};
    /// let ankle = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
    /// let pose = ankle.at(1.2, Closure::Open)?;
    /// assert_eq!(pose.velocity_ratio(), 1.0);
    /// # Ok::<(), unloop::linkage::LinkageFault>(())
    /// ```
    pub fn at(&self, phi: f64, closure: Closure) -> Result<Pose, LinkageFault> {
        self.pose(Half::of_angle(phi), closure).ok_or_else(|| self.cannot_close(phi))
    }

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

    fn cannot_close(&self, phi: f64) -> LinkageFault {
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
