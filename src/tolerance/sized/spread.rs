//! How the sizes of built robots scatter.

use crate::numeric::normal;
use crate::tolerance::spread::{Deviation, Distribution};

/// Sizes that are made together.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeGroup {
    /// Their places in the list of sizes.
    pub members: Vec<usize>,
    /// Correlation of their deviations, 0…1.
    pub correlation: f64,
}

/// All deviations with their distribution and what is made together.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeSpread {
    /// One for each size of the drawing.
    pub deviations: Vec<Deviation>,
    /// For all of them.
    pub distribution: Distribution,
    /// Disjoint groups.
    pub groups: Vec<SizeGroup>,
}

impl SizeSpread {
    /// Does anything scatter?
    #[must_use]
    pub fn is_any(&self) -> bool {
        self.deviations.iter().any(|d| d.upper > d.lower)
    }

    /// Places of the sizes that scatter.
    pub(in crate::tolerance) fn scattering(&self) -> impl Iterator<Item = usize> {
        let wide = self.deviations.iter().enumerate().filter(|(_, d)| d.upper > d.lower);
        wide.map(|(k, _)| k)
    }

    /// How many uniform numbers one build takes: one a size that scatters and one a group.
    pub(in crate::tolerance) fn dimensions(&self) -> usize {
        self.scattering().count() + self.groups.len()
    }

    /// The deviations of one build from its uniform numbers. Members of a group share a normal deviate with weight √ρ.
    pub(in crate::tolerance) fn deviations_of(&self, uniform: &[f64]) -> Vec<f64> {
        let mut own: Vec<f64> = self.deviations.iter().map(|d| d.lower).collect();
        let common = uniform.get(self.scattering().count()..).unwrap_or_default();
        for (k, u) in self.scattering().zip(uniform) {
            let tied = self.groups.iter().zip(common).find(|(g, _)| g.members.contains(&k));
            let u = tied.map_or(*u, |(group, common)| group.tied(*u, *common));
            if let Some((slot, deviation)) = own.get_mut(k).zip(self.deviations.get(k)) {
                *slot = deviation.at(self.distribution.place(u));
            }
        }
        own
    }
}

impl SizeGroup {
    fn tied(&self, own: f64, common: f64) -> f64 {
        let rest = (1.0 - self.correlation).max(0.0).sqrt();
        let z = normal::quantile(common) * self.correlation.sqrt() + rest * normal::quantile(own);
        normal::share_below(z).clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_made_together_move_by_the_same_share_and_what_does_not_scatter_stays() {
        let tolerance = |t: f64| Deviation { lower: -t, upper: t };
        let spread = SizeSpread {
            deviations: vec![
                tolerance(0.1),
                Deviation { lower: 0.02, upper: 0.02 },
                tolerance(0.2),
                tolerance(0.3),
            ],
            distribution: Distribution::Uniform,
            groups: vec![SizeGroup { members: vec![0, 3], correlation: 1.0 }],
        };
        assert_eq!(spread.dimensions(), 4);
        let drawn = spread.deviations_of(&[0.9, 0.2, 0.1, 0.8]);
        let expected = [0.06, 0.02, -0.12, 0.18];
        for (drawn, expected) in drawn.iter().zip(expected) {
            assert!((drawn - expected).abs() < 1e-12, "{drawn} {expected}");
        }
    }
}
