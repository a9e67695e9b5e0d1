//! One polynomial that couples the crank's joint to the child's.
//!
//! motor turn = c₀ + c₁ x + … + c₄ x⁴ of the joint turn x, both counted from the zero pose. Value and slope are fitted
//! together, by least squares over the joint angle with the slope times half the stroke, since the slope is the torque:
//! by the values alone it would be off where it matters, at the ends. Where the ratio varies widely one quartic cannot have
//! both: [`Fit::Slope`] weighs the slope's relative error a hundred times more, so that the value gets what is left. Torque,
//! reflected inertia and damping follow the slope, the pose of the crank the value. Derived here.

use nalgebra::{DMatrix, DVector};

use super::course::Course;
use super::fault::DynamicsFault;
use crate::linkage::{Extreme, Pose};

/// Coefficients.
const TERMS: usize = 5;

/// What the fit favours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fit {
    /// The crank's angle and its slope alike.
    #[default]
    Balanced,
    /// The slope: ratio, torque and reflected inertia.
    Slope,
}

impl Fit {
    /// `balanced` or `slope`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Balanced => "balanced",
            Self::Slope => "slope",
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Balanced => Self::Slope,
            Self::Slope => Self::Balanced,
        }
    }

    /// Weight of the slope beside the value, where the ratio is `ratio` and `mean` on the whole.
    fn slope_weight(self, ratio: f64, mean: f64) -> f64 {
        match self {
            Self::Balanced => 1.0,
            Self::Slope => SLOPE_FIRST * (mean / ratio).abs(),
        }
    }
}

/// How much more the slope weighs where it is favoured.
const SLOPE_FIRST: f64 = 100.0;

/// The fitted polynomial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coupling {
    /// c₀ … c₄: rad per rad to the power.
    pub coefficients: [f64; TERMS],
    /// The largest error of the motor turn, rad, as a size; computed.
    pub angle_error: Extreme,
    /// The largest |slope / i − 1|; computed.
    pub ratio_error: Extreme,
}

/// Powers of x, and their slopes.
fn powers(x: f64) -> [[f64; TERMS]; 2] {
    let value = [1.0, x, x * x, x * x * x, x * x * x * x];
    [value, [0.0, 1.0, 2.0 * x, 3.0 * x * x, 4.0 * x * x * x]]
}

fn sum(coefficients: &[f64; TERMS], powers: &[f64; TERMS]) -> f64 {
    coefficients.iter().zip(powers).map(|(c, p)| c * p).sum()
}

impl Coupling {
    /// The motor turn at a joint turn, rad.
    #[must_use]
    pub fn motor_turn(&self, joint: f64) -> f64 {
        sum(&self.coefficients, &powers(joint)[0])
    }

    /// Motor turn per joint turn.
    #[must_use]
    pub fn ratio(&self, joint: f64) -> f64 {
        sum(&self.coefficients, &powers(joint)[1])
    }

    /// The polynomial for `course`, value and slope alike.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn over(course: &Course<'_>) -> Result<Self, DynamicsFault> {
        Self::fitted(course, Fit::Balanced)
    }

    /// The polynomial for `course`.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn fitted(course: &Course<'_>, fit: Fit) -> Result<Self, DynamicsFault> {
        let branch = course.branch();
        let ends = course.ends();
        let [low, high] = [branch.joint_turn(ends[0])?, branch.joint_turn(ends[1])?];
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low).abs());
        let mean = (ends[1] - ends[0]) / (high - low);
        let rows = rows(course, middle, half, |ratio| fit.slope_weight(ratio, mean))?;
        Ok(Self::measured(course, about_zero(solve(&rows), middle, half)))
    }

    /// The straight line motor turn = `ratio` (joint turn − `offset`), both rad from the zero pose.
    #[must_use]
    pub fn straight(course: &Course<'_>, ratio: f64, offset: f64) -> Self {
        Self::measured(course, [-ratio * offset, ratio, 0.0, 0.0, 0.0])
    }

    /// With the errors of `coefficients` over `course`.
    fn measured(course: &Course<'_>, coefficients: [f64; TERMS]) -> Self {
        let branch = course.branch();
        let nothing = Extreme { value: f64::NAN, turn: course.ends()[0] };
        let rough = Self { coefficients, angle_error: nothing, ratio_error: nothing };
        let joint_of = |pose: &Pose, turn: f64| {
            (branch.joint_turn(turn).unwrap_or(f64::NAN), pose.transmission_ratio())
        };
        let angle_error = course
            .worst_by_turn(|pose, turn| (rough.motor_turn(joint_of(pose, turn).0) - turn).abs());
        let ratio_error = course.worst_by_turn(|pose, turn| {
            let (joint, ratio) = joint_of(pose, turn);
            (rough.ratio(joint) / ratio - 1.0).abs()
        });
        Self { coefficients, angle_error, ratio_error }
    }
}

/// One weighted row: powers and what they should add up to.
type Row = ([f64; TERMS], f64);

/// Value and slope in y = (x − middle)/half; the slope per y, with its weight at the pose's ratio.
fn rows(
    course: &Course<'_>,
    middle: f64,
    half: f64,
    weight_of: impl Fn(f64) -> f64,
) -> Result<Vec<Row>, DynamicsFault> {
    let mut rows = Vec::new();
    for (turn, pose, weight) in course.weighted_turns()? {
        let [value, slope] = powers((course.branch().joint_turn(turn)? - middle) / half);
        let root = weight.sqrt();
        rows.push((value.map(|v| v * root), turn * root));
        let ratio = pose.transmission_ratio();
        let root = root * weight_of(ratio);
        rows.push((slope.map(|v| v * root), ratio * half * root));
    }
    Ok(rows)
}

/// Least squares by orthogonal triangles.
fn solve(rows: &[Row]) -> [f64; TERMS] {
    let matrix = DMatrix::from_row_iterator(
        rows.len(),
        TERMS,
        rows.iter().flat_map(|(powers, _)| powers.iter().copied()),
    );
    let wanted = DVector::from_iterator(rows.len(), rows.iter().map(|(_, y)| *y));
    let qr = matrix.qr();
    let solved = qr.r().solve_upper_triangular(&(qr.q().transpose() * wanted));
    let coefficient = |k: usize| solved.as_ref().and_then(|s| s.get(k)).copied();
    std::array::from_fn(|k| coefficient(k).unwrap_or(f64::NAN))
}

/// The same polynomial in x: Horner's rule on polynomials, y = (x − middle)/half.
fn about_zero(centred: [f64; TERMS], middle: f64, half: f64) -> [f64; TERMS] {
    centred.iter().rev().fold([0.0; TERMS], |sum, c| {
        let shifted = [0.0, sum[0], sum[1], sum[2], sum[3]];
        let mut next: [f64; TERMS] =
            std::array::from_fn(|k| (at(&shifted, k) - middle * at(&sum, k)) / half);
        next[0] += c;
        next
    })
}

fn at(values: &[f64; TERMS], k: usize) -> f64 {
    values.get(k).copied().unwrap_or(0.0)
}
