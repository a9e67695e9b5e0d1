//! How the lengths of built robots scatter.

use serde::Serialize;

use crate::numeric::normal;
use crate::numeric::sampling::MOST_VARIABLES;

use crate::numeric::lane_arithmetic::{LANES, Lane};

words! {
    /// A figure of the drawing that may deviate.
    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Variable {
        /// A–P
        Crank = "crank",
        /// P–Q
        Coupler = "coupler",
        /// B–Q
        Rocker = "rocker",
        /// A–B
        Ground = "ground",
        /// Crank angle in the zero pose.
        ZeroCrank = "zero crank angle",
    }
}

/// Drawn deviations of one figure from its nominal size, `lower <= upper`; m or rad.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Deviation {
    /// Lower, signed.
    pub lower: f64,
    /// Upper, signed.
    pub upper: f64,
}

impl Deviation {
    /// Half of the whole range.
    #[must_use]
    pub fn half_width(&self) -> f64 {
        0.5 * (self.upper - self.lower)
    }

    /// The same about the middle, `factor` times as wide.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let (middle, half) = (0.5 * (self.lower + self.upper), factor * self.half_width());
        Self { lower: middle - half, upper: middle + half }
    }

    pub(super) fn at(&self, place: f64) -> f64 {
        0.5 * (self.lower + self.upper) + self.half_width() * place
    }
}

words! {
    /// How a figure scatters between its limits; parts beyond them are taken to be sorted out.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum Distribution {
        /// Normal with the tolerance at ± 3 σ, cut off there.
        #[default]
        Normal = "normal",
        /// Every size equally likely.
        Uniform = "uniform",
        /// Likeliest in the middle, falling in a straight line to the limits.
        Triangular = "triangular",
    }
}

/// σ per half tolerance of the normal distribution: common practice, a process that just fills its tolerance.
const SIGMAS: f64 = 3.0;

impl Distribution {
    /// Where between the limits (−1…1) the share `u` of all parts lies below; 0 < u < 1.
    #[must_use]
    pub fn place(self, u: f64) -> f64 {
        match self {
            Self::Uniform => 2.0 * u - 1.0,
            Self::Triangular if u < 0.5 => (2.0 * u).sqrt() - 1.0,
            Self::Triangular => 1.0 - (2.0 * (1.0 - u)).sqrt(),
            Self::Normal => {
                let outside = normal::share_below(-SIGMAS);
                normal::quantile(outside + u * (1.0 - 2.0 * outside)) / SIGMAS
            }
        }
    }

    /// [`Distribution::place`] of every number of a row, the same to the last bit.
    fn place_all(self, row: &mut Lane) {
        if self != Self::Normal {
            row.iter_mut().for_each(|u| *u = self.place(*u));
            return;
        }
        let outside = normal::share_below(-SIGMAS);
        row.iter_mut().for_each(|u| *u = outside + *u * (1.0 - 2.0 * outside));
        normal::quantiles(row);
        row.iter_mut().for_each(|z| *z /= SIGMAS);
    }

    /// Standard deviation per half tolerance.
    #[must_use]
    pub fn sigma(self) -> f64 {
        match self {
            Self::Uniform => 1.0 / 3.0_f64.sqrt(),
            Self::Triangular => 1.0 / 6.0_f64.sqrt(),
            // Of the cut-off normal: σ² (1 − 2·3 φ(3)/(1 − 2Φ(−3))).
            Self::Normal => {
                let density = (-0.5 * SIGMAS * SIGMAS).exp() / std::f64::consts::TAU.sqrt();
                let inside = 1.0 - 2.0 * normal::share_below(-SIGMAS);
                (1.0 - 2.0 * SIGMAS * density / inside).sqrt() / SIGMAS
            }
        }
    }
}

/// Lengths that are made together.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Which.
    pub members: Vec<Variable>,
    /// Correlation of their deviations, 0…1.
    pub correlation: f64,
}

/// All deviations with their distribution and what is made together.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// In the order of [`Variable::ALL`].
    pub deviations: [Deviation; 5],
    /// For all of them.
    pub distribution: Distribution,
    /// Disjoint groups.
    pub groups: Vec<Group>,
}

impl Spread {
    /// The uniform numbers of one build, in the order of [`Variable::ALL`], from one a variable and one a group: members
    /// of a group are made alike.
    ///
    /// They share a normal deviate with weight √ρ (a Gaussian copula), so that ρ = 1 moves all of them by the same share
    /// of their own tolerances.
    #[inline]
    pub(super) fn tied(&self, uniform: &[f64; MOST_VARIABLES]) -> [f64; 5] {
        let [crank, coupler, rocker, ground, zero_crank, common @ ..] = *uniform;
        let mut own = [crank, coupler, rocker, ground, zero_crank];
        for (group, common) in self.groups.iter().zip(common) {
            tie(&mut own, group, common);
        }
        own
    }

    /// Deviations (m or rad), a row a variable, of no more than a block of builds from their uniform numbers.
    pub(super) fn deviations_of(&self, uniform: &[[f64; 5]]) -> [Lane; 5] {
        let mut rows = [[0.5; LANES]; 5];
        for (lane, numbers) in uniform.iter().enumerate() {
            for (row, u) in rows.iter_mut().zip(numbers) {
                row.iter_mut().skip(lane).take(1).for_each(|slot| *slot = *u);
            }
        }
        self.deviate(&mut rows);
        rows
    }

    /// Turns the uniform numbers of many builds, a row a variable, into their deviations (m or rad).
    pub(super) fn deviate(&self, rows: &mut [Lane; 5]) {
        for (row, deviation) in rows.iter_mut().zip(&self.deviations) {
            if deviation.upper > deviation.lower {
                self.distribution.place_all(row);
                row.iter_mut().for_each(|x| *x = deviation.at(*x));
            } else {
                *row = [deviation.lower; LANES];
            }
        }
    }
}

fn tie(own: &mut [f64; 5], group: &Group, common: f64) {
    let common = normal::quantile(common) * group.correlation.sqrt();
    let rest = (1.0 - group.correlation).max(0.0).sqrt();
    for (slot, variable) in own.iter_mut().zip(Variable::ALL) {
        if group.members.contains(&variable) {
            let z = common + rest * normal::quantile(*slot);
            *slot = normal::share_below(z).clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_distribution_is_centred_and_stays_within_its_limits() {
        for distribution in [Distribution::Normal, Distribution::Uniform, Distribution::Triangular]
        {
            assert!(distribution.place(0.5).abs() < 1e-15);
            for k in 1..1000 {
                let u = f64::from(k) / 1000.0;
                let (low, high) = (distribution.place(u), distribution.place(1.0 - u));
                assert!((low + high).abs() < 1e-12 && low.abs() <= 1.0);
            }
        }
    }

    #[test]
    fn a_row_is_placed_as_its_numbers_are() {
        let shares: Lane = std::array::from_fn(|k| (k as f64 + 0.5) / LANES as f64);
        for distribution in [Distribution::Normal, Distribution::Uniform, Distribution::Triangular]
        {
            let mut row = shares;
            distribution.place_all(&mut row);
            assert_eq!(row, shares.map(|u| distribution.place(u)));
        }
    }

    #[test]
    fn the_standard_deviation_is_that_of_the_places() {
        for distribution in [Distribution::Normal, Distribution::Uniform, Distribution::Triangular]
        {
            let n = 100_000_u32;
            let square = |k: u32| distribution.place((f64::from(k) + 0.5) / f64::from(n)).powi(2);
            let variance: f64 = (0..n).map(square).sum::<f64>() / f64::from(n);
            assert!((variance.sqrt() - distribution.sigma()).abs() < 1e-4, "{distribution:?}");
        }
    }

    #[test]
    fn lengths_made_together_move_by_the_same_share_of_their_tolerance() {
        let tolerance = |t: f64| Deviation { lower: -t, upper: t };
        let spread = Spread {
            deviations: [
                tolerance(0.1),
                tolerance(0.2),
                tolerance(0.3),
                Deviation::default(),
                Deviation::default(),
            ],
            distribution: Distribution::Uniform,
            groups: vec![Group {
                members: vec![Variable::Crank, Variable::Rocker],
                correlation: 1.0,
            }],
        };
        let own = spread.tied(&[0.9, 0.2, 0.1, 0.5, 0.5, 0.8, 0.5, 0.5, 0.5, 0.5]);
        let mut rows = own.map(|u| [u; LANES]);
        spread.deviate(&mut rows);
        let drawn = rows.map(|row| row[LANES - 1]);
        assert!((drawn[0] - 0.06).abs() < 1e-12 && (drawn[2] - 0.18).abs() < 1e-12);
        assert!((drawn[1] + 0.12).abs() < 1e-12);
    }
}
