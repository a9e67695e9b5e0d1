//! Builds of a gripper's finger and of the drive that turns its crank, both drawn at random and independent of each other.
//!
//! At each pose of the finger the build of the drive is off the direct joint by an angle e and a ratio ε there: the stand-in
//! stands at the crank turn less e, and the grip is divided by 1 + ε.

use crate::equivalence::Criterion;
use crate::linkage::FourBar;
use crate::numeric::evenly;
use crate::numeric::sampling::{MOST_VARIABLES, Sequence};

use super::pad::{self, PadGrid, own_multiplier};
use super::request::Request;
use super::sized::Course;
use super::statistics::{Drawing, REPLICATES, ROUND, Statistics};
use super::tally::{Holds, Tally, Worst};

/// Draws builds of the finger of `request` and of the drive `front` until as many as asked for are done or `go_on` says no;
/// `None` where no pad rides on the coupler.
pub fn sample_behind(
    request: &Request<'_>,
    front: &Course<'_>,
    go_on: &(dyn Fn(u64) -> bool + Sync),
) -> Option<Statistics> {
    let builds = Builds {
        request,
        front,
        grid: PadGrid::new(request, request.finger?),
        turns: evenly(request.turns, pad::poses(request.turns) - 1).collect(),
    };
    let sequences: Vec<Sequence> =
        (0..REPLICATES).map(|r| Sequence::replicate(request.seed, r)).collect();
    let of = Criterion::OF_PAD;
    let holds = Holds {
        figures: of.map(|criterion| request.limit(criterion)),
        cosine: request.limits.transmission_angle.cos(),
    };
    let tally = || Tally::new(holds, of.map(|criterion| request.top(criterion)));
    let round = |sequence: &Sequence, from: u32, count: u32| {
        let (mut worst, mut tally) = (Vec::new(), tally());
        sequence.wide_points(from, count, builds.dimensions(), |point| {
            worst.push(builds.worst(point));
        });
        tally.add_all(worst.into_iter());
        tally
    };
    let samples = request.samples;
    let drawn = Drawing { sequences: &sequences, samples, round: ROUND, of };
    let drawn = drawn.run(&tally, &round, go_on);
    let own_multiplier = own_multiplier(request, &sequences, drawn.each());
    let poses = Some(pad::poses(request.turns));
    let summary = drawn.summary(request.seed, request.spread.distribution);
    Some(Statistics { own_multiplier, poses, ..summary })
}

struct Builds<'a> {
    request: &'a Request<'a>,
    front: &'a Course<'a>,
    grid: PadGrid,
    /// Crank turns at which a build is looked at.
    turns: Vec<f64>,
}

impl Builds<'_> {
    /// The finger's numbers first, then those of the drive.
    fn dimensions(&self) -> usize {
        MOST_VARIABLES + self.front.dimensions()
    }

    /// The worst figures of the build with these uniform numbers.
    fn worst(&self, uniform: &[f64]) -> Worst<4> {
        let (own, front) = uniform.split_at(MOST_VARIABLES.min(uniform.len()));
        let mut numbers = [0.5; MOST_VARIABLES];
        numbers.iter_mut().zip(own).for_each(|(slot, u)| *slot = *u);
        let rows = self.request.spread.deviations_of(&[self.request.spread.tied(&numbers)]);
        let deviations = rows.map(|row| row.first().copied().unwrap_or(f64::NAN));
        let errors = self.front.errors_at(front, &self.turns);
        let none = Worst { closes: false, figures: [f64::INFINITY; 4], cosine: 1.0 };
        errors.map_or(none, |(errors, sine)| {
            self.of_build(&self.request.bars_with(deviations), deviations[4], &errors, sine)
        })
    }

    fn of_build(&self, bars: &FourBar, error: f64, errors: &[[f64; 2]], sine: f64) -> Worst<4> {
        let worst = self.grid.worst_behind(bars, error, errors);
        let in_front = ((1.0 - sine) * (1.0 + sine)).max(0.0).sqrt();
        Worst { cosine: worst.cosine.max(in_front), ..worst }
    }
}
