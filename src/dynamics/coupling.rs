//! One polynomial that couples the crank's joint to the child's.
//!
//! motor turn = c₀ + c₁ x + … + c₄ x⁴ of the joint turn x, both counted from the zero pose. Value and slope are fitted
//! together, by least squares over the joint angle with the slope times half the stroke, since the slope is the torque:
//! by the values alone it would be off where it matters, at the ends. Derived here.

use nalgebra::{DMatrix, DVector};

use super::course::Course;
use super::fault::DynamicsFault;
use crate::linkage::{Extreme, Pose};

/// Coefficients.
const TERMS: usize = 5;

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

    /// The polynomial for `course`.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn over(course: &Course<'_>) -> Result<Self, DynamicsFault> {
        let branch = course.branch();
        let ends = course.ends();
        let [low, high] = [branch.joint_turn(ends[0])?, branch.joint_turn(ends[1])?];
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low).abs());
        let rows = rows(course, middle, half)?;
        let centred = solve(&rows);
        let coefficients = about_zero(centred, middle, half);
        let nothing = Extreme { value: f64::NAN, turn: ends[0] };
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
        Ok(Self { coefficients, angle_error, ratio_error })
    }
}

/// One weighted row: powers and what they should add up to.
type Row = ([f64; TERMS], f64);

/// Value and slope in y = (x − middle)/half; the slope per y.
fn rows(course: &Course<'_>, middle: f64, half: f64) -> Result<Vec<Row>, DynamicsFault> {
    let mut rows = Vec::new();
    for (turn, pose, weight) in course.weighted_turns()? {
        let [value, slope] = powers((course.branch().joint_turn(turn)? - middle) / half);
        let root = weight.sqrt();
        rows.push((value.map(|v| v * root), turn * root));
        rows.push((slope.map(|v| v * root), pose.transmission_ratio() * half * root));
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
