//! The constants of two direct joints from build to build: what a training run randomises.
//!
//! Each build gets its own: its matrix is the mean of its rates over the region, and its zero offsets are what is left of the
//! mean error of its angles. What they differ from the drawn drive's own is put on the constants that are emitted. With
//! J = T(1 + E) at every node and q̄ the middle of the region, Δ build less drawn,
//!
//! ```text
//! ΔT = T mean(ΔE)     Δ offset = −(mean(Δe) − mean(ΔE) q̄)     q = T⁻¹ θ + offset
//! ```
//!
//! Derived here.

use nalgebra::{Matrix2, SMatrix, SVector, Vector2};

use crate::equivalence::{RegionBuilds, RegionErrors};
use crate::numeric::sampling::Sequence;

use super::sized::SizeSpread;
use super::statistics::REPLICATES;

/// How the constants of two direct joints scatter: the matrix row by row (first motor by pitch and by roll, then the second),
/// then the offsets of pitch and of roll, rad. All less the drawn drive's own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RegionConstants {
    /// Builds that reach all of the region.
    pub builds: u64,
    /// Smallest and largest of each.
    pub bounds: [[f64; 2]; 6],
    /// Mean and standard deviation of each.
    pub normal: [[f64; 2]; 6],
    /// How they go with each other, −1…1; not a number with one that does not scatter.
    pub correlation: [[f64; 6]; 6],
}

/// Builds that are looked at, at most: each in hundreds of poses.
const MOST: u64 = 4096;

/// What scatters below this share of the matrix, or rad, is rounding.
const NONE: f64 = 1e-13;

type Constants = SVector<f64, 6>;

/// The constants of up to `samples` builds about those of the drawn drive, whose matrix is `direct`; `None` where the drawn
/// drive or every build does not reach.
#[must_use]
pub fn region_constants(
    builds: &RegionBuilds<'_>,
    spread: &SizeSpread,
    (direct, middle): (&Matrix2<f64>, [f64; 2]),
    [samples, seed]: [u64; 2],
) -> Option<RegionConstants> {
    let as_drawn = builds.drawn_sizes();
    let own = |sizes: &[f64]| Some(constants(&builds.errors(sizes)?, direct, middle));
    let drawn = own(&as_drawn)?;
    let each = u32::try_from(samples.min(MOST).div_ceil(u64::from(REPLICATES))).ok()?;
    let mut found: Vec<Constants> = Vec::new();
    for replicate in 0..REPLICATES {
        let sequence = Sequence::replicate(seed, replicate);
        sequence.wide_points(0, each, spread.dimensions(), |point| {
            let deviations = spread.deviations_of(point);
            let sizes: Vec<f64> = as_drawn.iter().zip(&deviations).map(|(x, d)| x + d).collect();
            found.extend(own(&sizes).map(|own| own - drawn));
        });
    }
    (!found.is_empty()).then(|| summary(&found))
}

fn constants(errors: &[RegionErrors], direct: &Matrix2<f64>, middle: [f64; 2]) -> Constants {
    let (mut rates, mut angles) = (Matrix2::zeros(), Vector2::zeros());
    for RegionErrors { rates: [[a, b], [c, d]], angles: [pitch, roll] } in errors {
        rates += Matrix2::new(*a, *b, *c, *d);
        angles += Vector2::new(*pitch, *roll);
    }
    let count = errors.iter().map(|_| 1.0).sum::<f64>().max(1.0);
    let (rates, angles) = (rates / count, angles / count);
    let matrix = direct * rates;
    let offset = rates * Vector2::from(middle) - angles;
    Constants::from([matrix.m11, matrix.m12, matrix.m21, matrix.m22, offset.x, offset.y])
}

fn summary(found: &[Constants]) -> RegionConstants {
    let count = found.iter().map(|_| 1.0).sum::<f64>();
    let mean = found.iter().sum::<Constants>() / count;
    let spread = found.iter().fold(SMatrix::<f64, 6, 6>::zeros(), |sum, one| {
        let off = one - mean;
        sum + off * off.transpose()
    });
    let covariance = spread / (count - 1.0).max(1.0);
    let deviation = covariance.diagonal().map(f64::sqrt);
    let lowest = found.iter().fold(mean, |low, one| low.inf(one));
    let highest = found.iter().fold(mean, |high, one| high.sup(one));
    let kept = deviation.map(|sigma| if sigma > NONE { sigma } else { f64::NAN });
    let correlation = covariance.component_div(&(kept * kept.transpose()));
    let pairs = |one: &Constants, other: &Constants| {
        let mut pairs = [[0.0; 2]; 6];
        for (pair, (a, b)) in pairs.iter_mut().zip(one.iter().zip(other)) {
            *pair = [*a, *b];
        }
        pairs
    };
    RegionConstants {
        builds: u64::try_from(found.len()).unwrap_or(u64::MAX),
        bounds: pairs(&lowest, &highest),
        normal: pairs(&mean, &deviation),
        correlation: correlation.transpose().into(),
    }
}
