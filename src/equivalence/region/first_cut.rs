//! A region's first cut into rectangles, from the zero pose outward, so that each is tied to it by continuity.

use super::builds_over::{AllBuilds, Clear, Place};
use crate::numeric::Interval;

/// A region's ends may be roots: they are told to this, rad.
const ROUNDED: f64 = 1e-12;

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
fn sides([from, to]: [f64; 2], pieces: u32) -> Vec<Vec<(f64, Part)>> {
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

/// The first cut of the poses between zero and the ends of `turns`.
pub(super) fn first_cut(
    builds: &AllBuilds<'_>,
    turns: [[f64; 2]; 2],
    pieces: u32,
) -> Result<FirstCut, Unclear> {
    let [pitch, roll] = turns.map(|[from, to]| [from - ROUNDED, to + ROUNDED]);
    let mut cut = FirstCut { inside: Vec::new() };
    for pitches in sides(pitch, pieces) {
        for rolls in sides(roll, pieces) {
            quadrant(builds, &pitches, &rolls, &mut cut)?;
        }
    }
    Ok(cut)
}

/// One quadrant of it, pieces in order away from the zero pose.
fn quadrant(
    builds: &AllBuilds<'_>,
    pitches: &[(f64, Part)],
    rolls: &[(f64, Part)],
    cut: &mut FirstCut,
) -> Result<(), Unclear> {
    let mut row = builds.at_zero();
    for (from_pitch, to_pitch) in pitches.iter().zip(pitches.iter().skip(1)) {
        let (mut corner, mut next_row) = (row.clone(), None);
        for (from_roll, to_roll) in rolls.iter().zip(rolls.iter().skip(1)) {
            let hull = |a: f64, b: f64| Interval::new(a.min(b), a.max(b));
            let turns = [hull(from_pitch.0, to_pitch.0), hull(from_roll.0, to_roll.0)];
            let clear = builds.clear(turns).ok_or(Unclear::Pose)?;
            if !builds.is_within_lengths(&clear) {
                return Err(Unclear::Length);
            }
            if next_row.is_none() {
                next_row = Some(clear.moved(&corner, [to_pitch.0, from_roll.0]));
            }
            let middle = clear.moved(&corner, turns.map(Interval::mid));
            corner = clear.moved(&corner, [from_pitch.0, to_roll.0]);
            if [to_pitch.1, to_roll.1] == [Part::Region; 2] {
                cut.inside.push((clear, middle));
            }
        }
        row = next_row.unwrap_or(row);
    }
    Ok(())
}
