//! Several drives on one carrier, all moving.
//!
//! ε of each drive alone does not bound them together: a motion of the carrier is charged with the errors of all. For m
//! drives the speeds are (v, ω, ψ̇₁ … ψ̇ₘ), and drive k sees (v_k, ω_k, ψ̇_k) = T_k (v, ω, ψ̇_k), as
//! `seat` says. With N the mass matrices of the moving parts,
//!
//! ```text
//! M = carrier + Σ T_kᵀ N_k T_k,     ΔM = Σ T_kᵀ ΔM_k T_k,     ε = max over all poses of max |eig(M⁻¹ ΔM)|
//! ```
//!
//! The largest ε over m poses is looked for on a grid of few poses each, then along one joint after the other.
//!
//! **A bound.** Give each drive an m-th of the carrier: then M is the sum of the N_k + carrier/m, and from |xᵀΔM_k x| ≤
//! ε_k xᵀ(N_k + carrier/m) x for each k follows |xᵀΔM x| ≤ max ε_k · xᵀM x. So the largest of the certificates of the drives
//! with [`Masses::sharing_carrier`](super::Masses::sharing_carrier) and [`Replacement::on`](super::Replacement::on) those masses holds for all of them together. Derived here.

use nalgebra::DMatrix;

use super::crank_stroke::{larger, narrow, worst_between};
use super::fidelity::{MeasuredOver, largest_share};
use super::moments::Moments;
use super::reflected::{Matrix7, add_rigid};
use super::seat::{DriveOnCarrier, Part, Seat};
use crate::linkage::Extreme;

/// How far all are from their linkages together; computed, not proved.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Which motions of the carrier.
    pub over: MeasuredOver,
    /// ε.
    pub value: f64,
    /// Motor turns of the drives where it is reached, rad, in their order.
    pub turns: Vec<f64>,
}

/// More combinations of poses than this are not tried; the search then starts from each drive's own worst pose.
const COMBINATIONS: usize = 5000;

/// Pieces that a joint's stroke is cut into on the way to its worst pose, and rounds over all joints.
const PIECES: u32 = 12;
const ROUNDS: u32 = 4;

/// A round that gains less than this share is the last.
const GAIN: f64 = 1e-9;

/// ε of all `drives` moving on one carrier; `None` for fewer than two, where the carrier is not known, or where the axes are
/// not parallel and a tensor is not known. What the carrier bears besides is left out.
#[must_use]
pub fn together(drives: &[DriveOnCarrier<'_>]) -> Option<Together> {
    let [first, _, ..] = drives else { return None };
    let carrier = Moments::from(first.masses.carrier.as_ref()?);
    let is_spatial = drives.iter().all(|drive| drive.masses.are_spatial());
    all_moving(Seat::all(drives), carrier, is_spatial)
}

/// ε of all `seats` moving on `carrier`.
pub(super) fn all_moving(
    seats: Vec<Seat<'_>>,
    carrier: Moments,
    is_spatial: bool,
) -> Option<Together> {
    if !is_spatial && !seats.iter().all(Seat::is_parallel) {
        return None;
    }
    let over = if is_spatial { MeasuredOver::Space } else { MeasuredOver::Plane };
    let link = Link { seats, carrier, over };
    let (value, turns) = link.climbed(link.start());
    Some(Together { over, value, turns })
}

/// All drives on their carrier.
struct Link<'a> {
    seats: Vec<Seat<'a>>,
    carrier: Moments,
    over: MeasuredOver,
}

impl Link<'_> {
    /// Rows of the mass matrix that the motions allowed for have.
    fn rows(&self) -> Vec<usize> {
        let carrier: &[usize] = match self.over {
            MeasuredOver::Space => &[0, 1, 2, 3, 4, 5],
            MeasuredOver::Plane | MeasuredOver::FixedCarrier => &[0, 1, 5],
        };
        let joints = 6..6 + self.seats.len();
        carrier.iter().copied().chain(joints).collect()
    }

    /// ε with each drive at one pose.
    fn share(&self, parts: &[Part]) -> f64 {
        let rows = self.rows();
        let mut carrier = Matrix7::zeros();
        add_rigid(&mut carrier, &self.carrier);
        let sum = |matrix: fn(&Part) -> &Matrix7, rigid: &Matrix7| {
            DMatrix::from_fn(rows.len(), rows.len(), |i, j| match (rows.get(i), rows.get(j)) {
                (Some(&i), Some(&j)) => entry_of(parts, matrix, rigid, i, j),
                _ => f64::NAN,
            })
        };
        largest_share(&sum(|p| &p.error, &Matrix7::zeros()), &sum(|p| &p.moving, &carrier))
    }

    /// The worst of a grid of few poses each: both ends, the middle and where each drive alone is worst.
    fn start(&self) -> Vec<Part> {
        let alone = self.seats.iter().map(|seat| self.alone(seat));
        let choices: Vec<Vec<Part>> = alone
            .zip(&self.seats)
            .map(|(worst, seat)| {
                let [from, to] = seat.ends;
                let turns = [worst.turn, from, 0.5 * (from + to), to];
                turns.into_iter().filter_map(|turn| seat.part(turn)).collect()
            })
            .collect();
        let worst_alone = || choices.iter().filter_map(|c| c.first().copied()).collect();
        let count = choices.iter().try_fold(1_usize, |n, c| n.checked_mul(c.len()));
        let Some(count) = count.filter(|n| *n <= COMBINATIONS) else { return worst_alone() };
        let combination = |mut k: usize| -> Vec<Part> {
            let pick = |c: &Vec<Part>| {
                let part = c.get(k.checked_rem(c.len())?).copied();
                k = k.checked_div(c.len())?;
                part
            };
            choices.iter().filter_map(pick).collect()
        };
        let all = (0..count).map(combination).map(|parts| (self.share(&parts), parts));
        let worst = all.filter(|(share, _)| !share.is_nan()).max_by(|a, b| a.0.total_cmp(&b.0));
        worst.map_or_else(worst_alone, |(_, parts)| parts)
    }

    /// Where one drive alone is worst on this carrier.
    fn alone(&self, seat: &Seat<'_>) -> Extreme {
        let single = |turn: f64| {
            let Some(part) = seat.part(turn) else { return f64::NAN };
            let mut whole = part.moving;
            add_rigid(&mut whole, &self.carrier);
            let rows: Vec<usize> = self.rows().into_iter().filter(|row| *row < 7).collect();
            let pick = |m: &Matrix7| {
                DMatrix::from_fn(rows.len(), rows.len(), |i, j| match (rows.get(i), rows.get(j)) {
                    (Some(&i), Some(&j)) => m.get((i, j)).copied().unwrap_or(f64::NAN),
                    _ => f64::NAN,
                })
            };
            largest_share(&pick(&part.error), &pick(&whole))
        };
        worst_between(seat.ends, &single)
    }

    /// ε and the motor turns, from `parts` on along one joint after the other.
    fn climbed(&self, mut parts: Vec<Part>) -> (f64, Vec<f64>) {
        let mut best = self.share(&parts);
        for _ in 0..ROUNDS {
            let before = best;
            for (k, seat) in self.seats.iter().enumerate() {
                let found = self.along(k, seat, &parts);
                if found.value > best
                    && let (Some(slot), Some(part)) = (parts.get_mut(k), seat.part(found.turn))
                {
                    (*slot, best) = (part, found.value);
                }
            }
            if best <= before * (1.0 + GAIN) {
                break;
            }
        }
        (best, parts.iter().map(|part| part.turn).collect())
    }

    /// The worst pose of drive `k`, the others where they are.
    fn along(&self, k: usize, seat: &Seat<'_>, parts: &[Part]) -> Extreme {
        let at = |turn: f64| {
            let mut moved = parts.to_vec();
            let value = match (moved.get_mut(k), seat.part(turn)) {
                (Some(slot), Some(part)) => {
                    *slot = part;
                    self.share(&moved)
                }
                _ => f64::NAN,
            };
            Extreme { value, turn }
        };
        let [from, to] = seat.ends;
        let step = (to - from) / f64::from(PIECES);
        let grid =
            (0..=PIECES).map(|n| at(if n == PIECES { to } else { from + step * f64::from(n) }));
        let best = grid.reduce(larger).unwrap_or(Extreme { value: f64::NAN, turn: from });
        larger(best, narrow(&at, (best.turn - step).max(from), (best.turn + step).min(to)))
    }
}

/// Entry (i, j) of the sum over all drives; rows from 6 on are the joints'.
fn entry_of(
    parts: &[Part],
    matrix: fn(&Part) -> &Matrix7,
    rigid: &Matrix7,
    i: usize,
    j: usize,
) -> f64 {
    let get = |m: &Matrix7, row: usize, column: usize| m.get((row, column)).copied();
    let joint = |row: usize| row.checked_sub(6);
    let of = |k: usize, row, column| parts.get(k).and_then(|p| get(matrix(p), row, column));
    let value = match (joint(i), joint(j)) {
        (None, None) => {
            let borne: f64 = parts.iter().filter_map(|p| get(matrix(p), i, j)).sum();
            get(rigid, i, j).map(|own| own + borne)
        }
        (Some(k), None) => of(k, 6, j),
        (None, Some(k)) => of(k, i, 6),
        (Some(k), Some(l)) if k == l => of(k, 6, 6),
        (Some(_), Some(_)) => Some(0.0),
    };
    value.unwrap_or(f64::NAN)
}
