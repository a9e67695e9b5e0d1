//! The pad of a finger: where it is, how fast it closes, how far it tilts.
//!
//! ```text
//!      T  pad point            on the coupler:  T = P + R(θ − θ₀) t       T′ = a e⊥ + s (R t)⊥
//!      o--o Q                  on the rocker:   T = B + R(ψ − ψ₀) t       T′ = r (R t)⊥
//!     /P   \                   tilt = turn of what carries it, from the zero pose
//!    A      B   n ->           W = W₀ − k n·(T − T₀)    shift = n_R·(T − T₀)    grip = motor torque / (k |n·T′|)
//! ```
//!
//! k is 2 where one motor moves both fingers, which close on an object that is free to centre itself, and 1 for a finger that
//! closes on a fixed face. Derived here from the linkage's pose; the crank torque is virtual work.

use serde::Serialize;

use super::branch::Branch;
use super::fault::LinkageFault;
use super::pose::Pose;

words! {
    /// What a pad rides on.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum PadOn {
        /// The coupler: the pad of a parallel jaw.
        Coupler = "coupler",
        /// The rocker: a finger that swings.
        Rocker = "rocker",
    }
}

/// A pad, in the plane of the linkage: x along A→B, y to the left of it with the joint axis pointing at the reader.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pad {
    /// What carries it.
    pub on: PadOn,
    /// The pad point from P (on the coupler) or B (on the rocker) in the zero pose, m.
    pub point: [f64; 2],
    /// Unit vector n from the pad towards the object.
    pub closing: [f64; 2],
    /// Unit vector across n, along which a shift counts positive.
    pub across: [f64; 2],
    /// How many pads the motor closes on the object: 1 or 2.
    pub fingers: f64,
}

/// A pad in one pose.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PadPose {
    /// Turn of the pad from the zero pose, rad.
    #[serde(rename = "tilt_rad")]
    pub tilt: f64,
    /// How far the opening W has grown since the zero pose, m.
    #[serde(skip)]
    pub opened: f64,
    /// dW per motor turn, m/rad; below 0 where a rising motor turn closes.
    #[serde(rename = "opening_rate_m_per_rad")]
    pub opening_rate: f64,
    /// Travel of the pad point across n since the zero pose, m.
    #[serde(rename = "shift_m")]
    pub shift: f64,
}

impl PadPose {
    /// Force of each pad along n for each N m at the crank, without loss, N; infinite at the toggle.
    #[must_use]
    pub fn grip_per_torque(&self) -> f64 {
        1.0 / self.opening_rate.abs()
    }
}

pub(super) fn dot(p: [f64; 2], q: [f64; 2]) -> f64 {
    p[0] * q[0] + p[1] * q[1]
}

fn turned([x, y]: [f64; 2], angle: f64) -> [f64; 2] {
    let (sin, cos) = libm::sincos(angle);
    [x * cos - y * sin, x * sin + y * cos]
}

fn left([x, y]: [f64; 2]) -> [f64; 2] {
    [-y, x]
}

fn sum(p: [f64; 2], q: [f64; 2]) -> [f64; 2] {
    [p[0] + q[0], p[1] + q[1]]
}

impl Pad {
    /// The pad at motor turn `turn` (rad) on `branch`.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    ///
    /// # Examples
    /// ```
    /// use unloop::linkage::{Branch, Closure, FourBar, Pad, PadOn};
    /// let finger = FourBar { ground: 0.02, crank: 0.04, coupler: 0.02, rocker: 0.04 };
    /// let branch = Branch::through(finger, 90_f64.to_radians(), Closure::Open)?;
    /// let pad = Pad {
    ///     on: PadOn::Coupler, point: [0.01, 0.03], closing: [-1.0, 0.0], across: [0.0, 1.0], fingers: 2.0,
    /// };
    /// let at = pad.at(&branch, -30_f64.to_radians())?;
    /// assert!((at.opened - 0.04).abs() < 1e-15 && at.tilt == 0.0);
    /// # Ok::<(), unloop::linkage::LinkageFault>(())
    /// ```
    pub fn at(&self, branch: &Branch, turn: f64) -> Result<PadPose, LinkageFault> {
        let (pose, zero) = (branch.pose(turn)?, branch.pose(0.0)?);
        let (tilt, tilt_rate) = match self.on {
            PadOn::Coupler => (branch.coupler_turn(turn)?, pose.coupler_rate()),
            PadOn::Rocker => (branch.joint_turn(turn)?, pose.velocity_ratio()),
        };
        let [from, to] = [&zero, &pose].map(|pose| self.carried_at(pose));
        let arm = turned(self.point, tilt);
        let moved = sum(sum(to, [-from[0], -from[1]]), sum(arm, self.point.map(|x| -x)));
        let rate = sum(self.carried_rate(&pose), left(arm).map(|x| x * tilt_rate));
        Ok(PadPose {
            tilt,
            opened: -self.fingers * dot(self.closing, moved),
            opening_rate: -self.fingers * dot(self.closing, rate),
            shift: dot(self.across, moved),
        })
    }

    /// What the pad point is counted from: P, or B, which rests.
    fn carried_at(&self, pose: &Pose) -> [f64; 2] {
        match self.on {
            PadOn::Coupler => pose.e.map(|x| x * pose.bars.crank),
            PadOn::Rocker => [0.0; 2],
        }
    }

    fn carried_rate(&self, pose: &Pose) -> [f64; 2] {
        match self.on {
            PadOn::Coupler => left(pose.e).map(|x| x * pose.bars.crank),
            PadOn::Rocker => [0.0; 2],
        }
    }

    /// The pad point from B in the zero pose, m.
    ///
    /// # Errors
    /// [`LinkageFault::CannotClose`].
    pub fn from_joint_axis(&self, branch: &Branch) -> Result<[f64; 2], LinkageFault> {
        let pose = branch.pose(0.0)?;
        let on_b = match self.on {
            PadOn::Coupler => sum(self.carried_at(&pose), [-pose.bars.ground, 0.0]),
            PadOn::Rocker => [0.0; 2],
        };
        Ok(sum(on_b, self.point))
    }
}
