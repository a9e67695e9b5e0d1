//! One polynomial that couples the crank's joint to the child's.
//!
//! motor turn = c₀ + c₁ x + … + c₄ x⁴ of the joint turn x, both counted from the zero pose. Value and slope are fitted
//! together, by least squares over the joint angle with the slope times half the stroke, since the slope is the torque:
//! by the values alone it would be off where it matters, at the ends. Where the ratio varies widely one quartic cannot have
//! both: [`Fit::Slope`] makes the slope's largest relative error as small as can be, and the value gets what is left. Torque,
//! reflected inertia and damping follow the slope, the pose of the crank the value. Derived here.
//!
//! # Source
//! The smallest largest error by least squares with weights that grow with the errors: C. L. Lawson, Contributions to the
//! theory of linear least maximum approximation, thesis, University of California, Los Angeles (1961) (from memory).

use nalgebra::{DMatrix, DVector};

use super::fault::DynamicsFault;
use super::monotone_stroke::MonotoneStroke;
use crate::linkage::{Extreme, Pose};

/// Coefficients.
const TERMS: usize = 5;

words! {
    /// What the fit favours.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum Fit {
        /// The crank's angle and its slope alike.
        #[default]
        Balanced = "balanced",
        /// The slope: ratio, torque and reflected inertia.
        Slope = "slope",
    }
}

impl Fit {
    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Balanced => Self::Slope,
            Self::Slope => Self::Balanced,
        }
    }
}

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

/// A pose that a coupling is held against: turns from the zero pose, rad, and motor rate per joint rate.
#[derive(Clone, Copy, Debug)]
pub struct Turned {
    /// Of the joint.
    pub joint: f64,
    /// Of the motor.
    pub motor: f64,
    /// i.
    pub ratio: f64,
}

/// A drive over a stroke along which the joint turns one way.
pub trait OneWay {
    /// Poses for means over the joint angle, with weights that add up to 1.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    fn weighted(&self) -> Result<Vec<(Turned, f64)>, DynamicsFault>;

    /// `pieces` + 1 poses from end to end, evenly.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    fn evenly(&self, pieces: u32) -> Result<Vec<Turned>, DynamicsFault>;

    /// The largest value of `figure` and the motor turn where; computed.
    fn worst(&self, figure: &dyn Fn(Turned) -> f64) -> Extreme;
}

impl MonotoneStroke<'_> {
    fn turned(&self, motor: f64, pose: &Pose) -> Result<Turned, DynamicsFault> {
        let joint = self.branch().joint_turn(motor)?;
        Ok(Turned { joint, motor, ratio: pose.transmission_ratio() })
    }
}

impl OneWay for MonotoneStroke<'_> {
    fn weighted(&self) -> Result<Vec<(Turned, f64)>, DynamicsFault> {
        let turns = self.weighted_turns()?.into_iter();
        turns.map(|(turn, pose, weight)| Ok((self.turned(turn, &pose)?, weight))).collect()
    }

    fn evenly(&self, pieces: u32) -> Result<Vec<Turned>, DynamicsFault> {
        let turns = crate::numeric::evenly(self.ends(), pieces);
        turns.map(|turn| self.turned(turn, &self.pose(turn)?)).collect()
    }

    fn worst(&self, figure: &dyn Fn(Turned) -> f64) -> Extreme {
        self.worst_by_turn(|pose, turn| self.turned(turn, pose).map_or(f64::NAN, figure))
    }
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

    /// The polynomial for `stroke`, value and slope alike.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn over(stroke: &impl OneWay) -> Result<Self, DynamicsFault> {
        Self::fitted(stroke, Fit::Balanced)
    }

    /// The polynomial for `stroke`.
    ///
    /// # Errors
    /// A pose that cannot be reached.
    pub fn fitted(stroke: &dyn OneWay, fit: Fit) -> Result<Self, DynamicsFault> {
        let ends = stroke.evenly(1)?;
        let [low, high] = [ends.first(), ends.last()].map(|end| end.map_or(f64::NAN, |e| e.joint));
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low).abs());
        let centred = match fit {
            Fit::Balanced => solve(&rows(stroke, middle, half)?),
            Fit::Slope => slope_first(stroke, middle, half)?,
        };
        Ok(Self::measured(stroke, about_zero(centred, middle, half)))
    }

    /// The straight line motor turn = `ratio` (joint turn − `offset`), both rad from the zero pose.
    #[must_use]
    pub fn straight(stroke: &dyn OneWay, ratio: f64, offset: f64) -> Self {
        Self::measured(stroke, [-ratio * offset, ratio, 0.0, 0.0, 0.0])
    }

    /// With the errors of `coefficients` over `stroke`.
    fn measured(stroke: &dyn OneWay, coefficients: [f64; TERMS]) -> Self {
        let nothing = Extreme { value: f64::NAN, turn: f64::NAN };
        let rough = Self { coefficients, angle_error: nothing, ratio_error: nothing };
        let angle_error = stroke.worst(&|at| (rough.motor_turn(at.joint) - at.motor).abs());
        let ratio_error = stroke.worst(&|at| (rough.ratio(at.joint) / at.ratio - 1.0).abs());
        Self { coefficients, angle_error, ratio_error }
    }
}

/// One weighted row: powers and what they should add up to.
type Row = ([f64; TERMS], f64);

/// Value and slope in y = (x − middle)/half; the slope per y.
fn rows(stroke: &dyn OneWay, middle: f64, half: f64) -> Result<Vec<Row>, DynamicsFault> {
    let mut rows = Vec::new();
    for (at, weight) in stroke.weighted()? {
        let [value, slope] = powers((at.joint - middle) / half);
        let root = weight.sqrt();
        rows.push((value.map(|v| v * root), at.motor * root));
        rows.push((slope.map(|v| v * root), at.ratio * half * root));
    }
    Ok(rows)
}

/// Pieces between the poses that the slope is fitted at, both ends among them, and rounds of weighing them anew.
const POSES: u32 = 64;
const ROUNDS: usize = 60;

/// What the value weighs beside the slope: as good as nothing, so that it settles the constant alone.
const VALUE_LAST: f64 = 1e-5;

/// The slope is as good as exact.
const EXACT: f64 = 1e-12;

/// The polynomial in y with the smallest largest relative error of its slope.
fn slope_first(stroke: &dyn OneWay, middle: f64, half: f64) -> Result<[f64; TERMS], DynamicsFault> {
    let sample = |at: Turned| (powers((at.joint - middle) / half), at.motor, at.ratio * half);
    let samples: Vec<_> = stroke.evenly(POSES)?.into_iter().map(sample).collect();
    let mut weights = vec![1.0; samples.len()];
    let mut best = (f64::INFINITY, [f64::NAN; TERMS]);
    for _ in 0..ROUNDS {
        let rows = samples.iter().zip(&weights).flat_map(|(([value, slope], turn, wanted), w)| {
            let (last, first) = (VALUE_LAST, f64::sqrt(*w) / wanted);
            [(value.map(|v| v * last), turn * last), (slope.map(|v| v * first), wanted * first)]
        });
        let found = solve(&rows.collect::<Vec<Row>>());
        let error = |([_, slope], _, wanted): &([[f64; TERMS]; 2], f64, f64)| {
            (sum(&found, slope) / wanted - 1.0).abs()
        };
        let errors: Vec<f64> = samples.iter().map(error).collect();
        let largest = errors.iter().copied().fold(0.0, f64::max);
        if largest < best.0 {
            best = (largest, found);
        }
        let mean: f64 =
            weights.iter().zip(&errors).map(|(w, e)| w * e).sum::<f64>() / f64::from(POSES);
        if largest < EXACT || mean <= 0.0 {
            break;
        }
        weights.iter_mut().zip(&errors).for_each(|(w, e)| *w *= e / mean);
    }
    Ok(best.1)
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
