//! A region's first cut into rectangles, from the zero pose outward, so that each is tied to it by continuity.

use super::builds_over::{AllBuilds, Clear, Place};
use crate::numeric::Interval;

/// A region's ends may be roots: they are told to this, rad.
pub(super) const ROUNDED: f64 = 1e-12;

/// Whether a rectangle belongs to the region, or only to the way there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Region,
    Way,
}

/// Why nothing is certain over a region: a pose that some build may not reach, or an actuator beyond its ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unclear {
    Pose,
    Length,
}

/// The first cut of a region: rectangles with what is known of their middles.
pub(super) struct FirstCut {
    pub(super) inside: Vec<(Clear, Place)>,
}

/// Ends of pieces from 0 outward, on either side, with a mark on those pieces that lie in `range`.
fn sides([from, to]: [f64; 2], pieces: u32) -> Vec<Vec<Node>> {
    let whole = to.max(0.0) - from.min(0.0);
    let side = |near: f64, far: f64| {
        let mut nodes = vec![(0.0, Part::Way)];
        for (start, end, part) in [(0.0, near, Part::Way), (near, far, Part::Region)] {
            let length: f64 = (end - start).abs();
            let share = length / whole * f64::from(pieces);
            let count = if length > 0.0 { share.ceil().max(1.0) } else { 0.0 };
            let mut k = 0.0;
            while k < count {
                k += 1.0;
                let at = if k < count { start + (end - start) * k / count } else { end };
                nodes.push((at, part));
            }
        }
        nodes
    };
    let mut all = Vec::new();
    if to > 0.0 {
        all.push(side(from.max(0.0), to));
    }
    if from < 0.0 {
        all.push(side(to.min(0.0), from));
    }
    if all.is_empty() {
        all.push(vec![(0.0, Part::Way), (0.0, Part::Region)]);
    }
    all
}

/// Where a piece of one side ends, and whether that piece belongs to the region.
type Node = (f64, Part);

/// The first cut of the poses between zero and the ends of `turns`; a rectangle that is not clear is quartered so often.
pub(super) fn first_cut(
    builds: &AllBuilds<'_>,
    turns: [[f64; 2]; 2],
    pieces: u32,
    quarterings: u32,
) -> Result<FirstCut, Unclear> {
    let [pitch, roll] = turns.map(|[from, to]| [from - ROUNDED, to + ROUNDED]);
    let mut cutting = Cutting { builds, cut: FirstCut { inside: Vec::new() } };
    let zero = Place { at: [0.0; 2], motors: [Interval::ZERO; 2] };
    for pitches in sides(pitch, pieces) {
        for rolls in sides(roll, pieces) {
            cutting.grid(&pitches, &rolls, zero, quarterings)?;
        }
    }
    Ok(cutting.cut)
}

struct Cutting<'a, 'b> {
    builds: &'a AllBuilds<'b>,
    cut: FirstCut,
}

impl Cutting<'_, '_> {
    /// All rectangles between these ends from `start` on, in order away from it; the places at the other end of roll and at that
    /// of pitch.
    fn grid(
        &mut self,
        pitches: &[Node],
        rolls: &[Node],
        start: Place,
        quarterings: u32,
    ) -> Result<[Place; 2], Unclear> {
        let (mut row, mut along_roll) = (start, None);
        for pitch in pitches.windows(2) {
            let (mut corner, mut next_row) = (row, None);
            for roll in rolls.windows(2) {
                let [beside, ahead] = self.rectangle([pitch, roll], corner, quarterings)?;
                next_row.get_or_insert(ahead);
                corner = beside;
            }
            along_roll.get_or_insert(corner);
            row = next_row.unwrap_or(row);
        }
        Ok([along_roll.unwrap_or(start), row])
    }

    /// One rectangle from its corner next to the zero pose, or its quarters.
    fn rectangle(
        &mut self,
        [pitch, roll]: [&[Node]; 2],
        corner: Place,
        quarterings: u32,
    ) -> Result<[Place; 2], Unclear> {
        let ([(p, _), (to_p, of_pitch)], [(r, _), (to_r, of_roll)]) = (pitch, roll) else {
            return Err(Unclear::Pose);
        };
        let hull = |a: f64, b: f64| Interval::new(a.min(b), a.max(b));
        let turns = [hull(*p, *to_p), hull(*r, *to_r)];
        match self.clear(turns) {
            Ok(clear) => {
                let places = [[*p, *to_r], [*to_p, *r]].map(|to| clear.moved(&corner, to));
                if [*of_pitch, *of_roll] == [Part::Region; 2] {
                    let middle = clear.moved(&corner, turns.map(Interval::mid));
                    self.cut.inside.push((clear, middle));
                }
                Ok(places)
            }
            Err(unclear) if quarterings == 0 => Err(unclear),
            Err(_) => {
                let halved = |from: f64, to: f64, part: Part| {
                    [(from, part), (0.5 * (from + to), part), (to, part)]
                };
                let (pitches, rolls) = (halved(*p, *to_p, *of_pitch), halved(*r, *to_r, *of_roll));
                self.grid(&pitches, &rolls, corner, quarterings - 1)
            }
        }
    }

    fn clear(&self, turns: [Interval; 2]) -> Result<Clear, Unclear> {
        let clear = self.builds.clear(turns).ok_or(Unclear::Pose)?;
        if self.builds.is_within_lengths(&clear) { Ok(clear) } else { Err(Unclear::Length) }
    }
}
