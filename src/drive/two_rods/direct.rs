//! Two direct joints in place of the rods: θ = T q with a constant T.
//!
//! ```text
//! angle     e(q) = T⁻¹ θ(q) − q
//! rate      E(q) = T⁻¹ J(q) − 1       q̇ of the direct joints = (1 + E) q̇,   τ_joint = (1 + E)ᵀ τ of the direct joints
//! ```
//!
//! One bound of E covers speed and torque. For one joint E is i/ratio − 1.

use nalgebra::{Matrix2, SVector, Vector2, Vector4};

use super::TwoRods;
use super::best::lowest;
use super::pose::TwoRodsPose;
use super::singular::{directions, norm};
use crate::drive::fault::DriveFault;
use crate::numeric::evenly;

/// The constant matrix T: motor turns from joint turns; rows are motors, columns pitch and roll.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direct {
    /// T.
    pub matrix: Matrix2<f64>,
    inverse: Matrix2<f64>,
}

/// Joint turns to look at: a grid over two ranges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Region {
    /// Range of pitch, rad.
    pub pitch: [f64; 2],
    /// Range of roll, rad.
    pub roll: [f64; 2],
    /// Pieces of each range; corners are always looked at.
    pub pieces: u32,
}

impl Region {
    /// Every pair of turns of the grid.
    pub fn turns(&self) -> impl Iterator<Item = [f64; 2]> + '_ {
        let rolls = move |p: f64| evenly(self.roll, self.pieces).map(move |r| [p, r]);
        evenly(self.pitch, self.pieces).flat_map(rolls)
    }

    fn rates(&self, drive: &TwoRods) -> Result<Vec<Matrix2<f64>>, DriveFault> {
        self.turns().map(|q| Ok(drive.pose(q)?.rates())).collect()
    }
}

/// A share of the largest rate error that makes another matrix worth having.
const WORTH: f64 = 0.02;

/// How closely the best matrix is found: of the norm, and steps at most.
const CLOSE: [f64; 2] = [1e-10, 4000.0];

impl Direct {
    /// With this T; `None` where it has no inverse.
    #[must_use]
    pub fn new(matrix: Matrix2<f64>) -> Option<Self> {
        Some(Self { matrix, inverse: matrix.try_inverse()? })
    }

    fn from_inverse(inverse: Matrix2<f64>) -> Result<Self, DriveFault> {
        let none = DriveFault::Undetermined("no constant matrix stands for both motors");
        Ok(Self { matrix: inverse.try_inverse().ok_or(none)?, inverse })
    }

    /// T = J of the zero pose.
    ///
    /// # Errors
    /// [`DriveFault::Undetermined`] where J has no inverse.
    pub fn zero_pose(drive: &TwoRods) -> Result<Self, DriveFault> {
        let matrix = drive.pose([0.0; 2])?.rates();
        Self::new(matrix).ok_or(DriveFault::Undetermined("the zero pose is singular"))
    }

    /// The T whose largest norm of E over the region's grid is least: convex in T⁻¹, so that it is found for certain. The zero
    /// pose's where no other is better by as much as a fiftieth of its own: then many are as good, and that one is exact there.
    ///
    /// # Errors
    /// A pose of the grid out of reach; [`DriveFault::Undetermined`].
    pub fn best(drive: &TwoRods, region: &Region) -> Result<Self, DriveFault> {
        let zero = Self::zero_pose(drive)?;
        // In shares of the zero pose's T⁻¹: E = X (T₀⁻¹ J) − 1.
        let rates: Vec<Matrix2<f64>> =
            region.rates(drive)?.into_iter().map(|j| zero.inverse * j).collect();
        let whole = |x: &Vector4<f64>| Matrix2::new(x.x, x.y, x.z, x.w);
        let f = |x: &Vector4<f64>| {
            let (worst, slope) = steepest(&rates, &whole(x));
            (worst, Vector4::new(slope.m11, slope.m12, slope.m21, slope.m22))
        };
        let start = Vector4::new(1.0, 0.0, 0.0, 1.0);
        // ‖(X − 1) R‖ is at most twice what the start has, for every rate R; the entries together are √2 times as much.
        let least = |r: &Matrix2<f64>| r.determinant().abs() / norm(r);
        let firmest = rates.iter().map(least).fold(f64::MIN_POSITIVE, f64::max);
        let as_zero = f(&start).0;
        let radius = 2.9 * as_zero / firmest + 1e-9;
        let found = lowest(f, start, radius, CLOSE);
        if f(&found).0 > (1.0 - WORTH) * as_zero {
            return Ok(zero);
        }
        Self::from_inverse(whole(&found) * zero.inverse)
    }

    /// The best diagonal T: the first motor turns pitch alone, the second roll alone.
    ///
    /// # Errors
    /// As [`Direct::best`].
    pub fn diagonal(drive: &TwoRods, region: &Region) -> Result<Self, DriveFault> {
        let (rates, zero) = (region.rates(drive)?, drive.pose([0.0; 2])?.rates());
        let rows = [libm::hypot(zero.m11, zero.m12), libm::hypot(zero.m21, zero.m22)];
        let whole = |x: &SVector<f64, 2>| Matrix2::new(x.x / rows[0], 0.0, 0.0, x.y / rows[1]);
        let f = |x: &SVector<f64, 2>| {
            let (worst, slope) = steepest(&rates, &whole(x));
            (worst, SVector::<f64, 2>::new(slope.m11 / rows[0], slope.m22 / rows[1]))
        };
        let sign = |x: f64| if x < 0.0 { -1.0 } else { 1.0 };
        let start = SVector::<f64, 2>::new(sign(zero.m11), sign(zero.m22));
        // T⁻¹ = 0 has the norm 1, so that no row of the best T⁻¹ J is longer than 2.
        Self::from_inverse(whole(&lowest(f, start, 4.5, CLOSE)))
    }

    /// E: pitch and roll rows, pitch and roll columns. E_pr is roll motion read as pitch.
    #[must_use]
    pub fn rate_error(&self, pose: &TwoRodsPose) -> Matrix2<f64> {
        self.inverse * pose.rates() - Matrix2::identity()
    }

    /// The largest singular value of E.
    #[must_use]
    pub fn rate_error_norm(&self, pose: &TwoRodsPose) -> f64 {
        norm(&self.rate_error(pose))
    }

    /// e: pitch and roll, rad, at the joint turns `joints`.
    ///
    /// # Errors
    /// As [`TwoRods::motor_turns`].
    pub fn angle_error(&self, drive: &TwoRods, joints: [f64; 2]) -> Result<[f64; 2], DriveFault> {
        let read = self.inverse * Vector2::from(drive.motor_turns(joints)?);
        Ok((read - Vector2::from(joints)).into())
    }

    /// The largest norm of E over the region's grid, and where.
    ///
    /// # Errors
    /// A pose of the grid out of reach.
    pub fn worst_rate_error(
        &self,
        drive: &TwoRods,
        region: &Region,
    ) -> Result<(f64, [f64; 2]), DriveFault> {
        let mut worst = (0.0, [0.0; 2]);
        for joints in region.turns() {
            let here = self.rate_error_norm(&drive.pose(joints)?);
            if here > worst.0 {
                worst = (here, joints);
            }
        }
        Ok(worst)
    }
}

/// The largest norm of M J − 1 and its subgradient by M.
fn steepest(rates: &[Matrix2<f64>], inverse: &Matrix2<f64>) -> (f64, Matrix2<f64>) {
    // Entry by entry: this is where the search for the best T spends its time.
    let (m, entry) = (inverse, |u: f64, x: f64, v: f64, y: f64, one: f64| u * x + v * y - one);
    let error = |j: &Matrix2<f64>| {
        Matrix2::new(
            entry(m.m11, j.m11, m.m12, j.m21, 1.0),
            entry(m.m11, j.m12, m.m12, j.m22, 0.0),
            entry(m.m21, j.m11, m.m22, j.m21, 0.0),
            entry(m.m21, j.m12, m.m22, j.m22, 1.0),
        )
    };
    let mut worst = (f64::NEG_INFINITY, Matrix2::identity());
    for rate in rates {
        let here = norm(&error(rate));
        if here > worst.0 {
            worst = (here, *rate);
        }
    }
    let (left, right) = directions(&error(&worst.1));
    (worst.0, left * (worst.1 * right).transpose())
}

impl TwoRodsPose {
    /// Torques on pitch and roll from those of both motors.
    #[must_use]
    pub fn joint_torques(&self, motors: [f64; 2]) -> [f64; 2] {
        (self.rates().transpose() * Vector2::from(motors)).into()
    }

    /// The corners of all torques on pitch and roll that motors of up to `motors` can give: (+,+), (+,−), (−,−), (−,+). A
    /// parallelogram, no box.
    #[must_use]
    pub fn torque_polygon(&self, motors: [f64; 2]) -> [[f64; 2]; 4] {
        let [first, second] = motors;
        [[first, second], [first, -second], [-first, -second], [-first, second]]
            .map(|corner| self.joint_torques(corner))
    }

    /// The largest torque on pitch with none on roll, and the other way round; 0 in a singular pose.
    #[must_use]
    pub fn torques_alone(&self, motors: [f64; 2]) -> [f64; 2] {
        let Some(inverse) = self.rates().try_inverse() else { return [0.0; 2] };
        let alone =
            |first: f64, second: f64| (motors[0] / first.abs()).min(motors[1] / second.abs());
        [alone(inverse.m11, inverse.m12), alone(inverse.m21, inverse.m22)]
    }

    /// The corners of all joint rates that motors of up to `motors` can give, ordered as the torques'; `None` in a singular
    /// pose.
    #[must_use]
    pub fn speed_polygon(&self, motors: [f64; 2]) -> Option<[[f64; 2]; 4]> {
        let inverse = self.rates().try_inverse()?;
        let [first, second] = motors;
        let corners = [[first, second], [first, -second], [-first, -second], [-first, second]];
        Some(corners.map(|corner| (inverse * Vector2::from(corner)).into()))
    }

    /// Jᵀ diag(rotors) J: what both rotors' inertias, each seen at its motor, weigh at pitch and roll.
    #[must_use]
    pub fn armature(&self, rotors: [f64; 2]) -> Matrix2<f64> {
        let rates = self.rates();
        rates.transpose() * Matrix2::from_diagonal(&Vector2::from(rotors)) * rates
    }
}
