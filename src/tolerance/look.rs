//! What is looked at in every build, block by block.

use crate::equivalence::Criterion;
use crate::linkage::FourBar;
use crate::numeric::lane_arithmetic::{LANES, Lane};

use super::build::{Bench, Builds};
use super::pad::PadGrid;
use super::stroke_grid::StrokeGrid;
use super::tally::{Tally, Worst};

/// What is looked at in every build: the worst of `N` figures besides the transmission angle.
pub(super) trait Look<const N: usize>: Sync {
    /// Which, the one to lead with first.
    const OF: [Criterion; N];
    /// Where a block of builds is worked on.
    type Bench;

    fn bench() -> Self::Bench;

    /// Counts the first `filled` of the builds that have these deviations from `drawn`.
    fn count(
        &self,
        bench: &mut Self::Bench,
        drawn: &FourBar,
        rows: [Lane; 5],
        filled: usize,
        tally: &mut Tally<N>,
    );
}

/// Angle and ratio error of a joint.
pub(super) struct OfJoint(pub(super) StrokeGrid);

impl Look<2> for OfJoint {
    const OF: [Criterion; 2] = [Criterion::Angle, Criterion::Ratio];
    type Bench = Bench;

    fn bench() -> Bench {
        Bench::new()
    }

    fn count(
        &self,
        bench: &mut Bench,
        drawn: &FourBar,
        rows: [Lane; 5],
        filled: usize,
        tally: &mut Tally<2>,
    ) {
        bench.run(&self.0, &builds(drawn, rows));
        tally.add_all((0..filled).map(|lane| bench.worst(lane)));
    }
}

/// Tilt, shift, opening and grip error of a pad.
pub(super) struct OfPad(pub(super) PadGrid);

impl Look<4> for OfPad {
    const OF: [Criterion; 4] = Criterion::OF_PAD;
    type Bench = ();

    fn bench() {}

    fn count(
        &self,
        (): &mut (),
        drawn: &FourBar,
        rows: [Lane; 5],
        filled: usize,
        tally: &mut Tally<4>,
    ) {
        let Builds { lengths, crank_error } = builds(drawn, rows);
        let worst: Vec<Worst<4>> = (0..filled)
            .map(|lane| {
                let [crank, coupler, rocker, ground] =
                    lengths.map(|row| row.get(lane).copied().unwrap_or(f64::NAN));
                let bars = FourBar { ground, crank, coupler, rocker };
                self.0.worst(&bars, crank_error.get(lane).copied().unwrap_or(f64::NAN))
            })
            .collect();
        tally.add_all(worst.into_iter());
    }
}

/// The drawn linkage with the deviations of many builds.
pub(super) fn builds(drawn: &FourBar, rows: [Lane; 5]) -> Builds {
    let [crank, coupler, rocker, ground, crank_error] = rows;
    let deviations = [crank, coupler, rocker, ground];
    let mut lengths = [drawn.crank, drawn.coupler, drawn.rocker, drawn.ground].map(|x| [x; LANES]);
    for (length, deviation) in lengths.as_flattened_mut().iter_mut().zip(deviations.as_flattened())
    {
        *length += deviation;
    }
    Builds { lengths, crank_error }
}
