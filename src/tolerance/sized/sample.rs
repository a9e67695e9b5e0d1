//! Builds of sizes drawn at random, as `tolerance/statistics.rs` draws those of a planar four-bar.

use crate::equivalence::Criterion;
use crate::numeric::sampling::Sequence;
use crate::tolerance::statistics::{Drawing, REPLICATES, ROUND, Statistics};
use crate::tolerance::tally::{Holds, Tally};

use super::course::Course;
use super::own::own_constants;

const OF: [Criterion; 2] = [Criterion::Angle, Criterion::Ratio];

/// Draws builds until as many as asked for are done or `go_on` says no. Histograms end at `tops`, one for the angle error,
/// one for the ratio error.
pub fn sample_sized(
    course: &Course<'_>,
    tops: [f64; 2],
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Statistics {
    let request = course.request;
    let sequences: Vec<Sequence> =
        (0..REPLICATES).map(|r| Sequence::replicate(request.seed, r)).collect();
    let holds = Holds {
        figures: [request.limits.angle, request.limits.ratio],
        cosine: request.limits.transmission_angle.cos(),
    };
    let tally = || Tally::new(holds, tops);
    let round = |sequence: &Sequence, from: u32, count: u32| {
        let mut worst = Vec::new();
        sequence.wide_points(from, count, request.spread.dimensions(), |point| {
            worst.push(course.worst(&request.spread.deviations_of(point)));
        });
        let mut tally = tally();
        tally.add_all(worst.into_iter());
        tally
    };
    let samples = request.samples;
    let drawing = Drawing { sequences: &sequences, samples, round: ROUND, of: OF };
    let drawn = drawing.run(&tally, &round, go_on);
    let own = own_constants(course, &sequences, drawn.each());
    Statistics { own, ..drawn.summary(request.seed, request.spread.distribution) }
}
