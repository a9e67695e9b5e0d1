//! What is found out about one figure over a family, who shows it, and how hard that is looked for.

use serde::Serialize;

use super::outcome::Outcome;
use crate::linkage::FourBar;
use crate::numeric::Interval;
use crate::numeric::search::Effort;

/// A member of a family in one pose, by the figure that it shows.
pub trait Shows {
    /// The figure there; NaN where its loop does not close, infinite where it has none.
    fn value(&self) -> f64;

    /// The turn of the pose by which the family's poses are told, rad.
    fn turn(&self) -> f64;
}

/// One linkage in one pose.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Witness {
    /// Its lengths.
    #[serde(flatten)]
    pub bars: FourBar,
    /// Its crank angle in the zero pose less the drawn one, rad.
    #[serde(rename = "zero_crank_error_rad")]
    pub crank_error: f64,
    /// Motor turn, rad.
    #[serde(rename = "motor_rad")]
    pub turn: f64,
    /// The figure there: angle error, ratio error or transmission angle; NaN where its loop does not close, infinite
    /// where its rocker stands still and has no ratio.
    pub value: f64,
}

impl Shows for Witness {
    fn value(&self) -> f64 {
        self.value
    }

    fn turn(&self) -> f64 {
        self.turn
    }
}

/// What was found out about one figure over a family.
#[derive(Clone, Copy, Debug)]
pub struct Finding<W = Witness> {
    /// Holds: the bound is within the limit. Fails: the witness certainly breaks it. Both but for [`MET_WITHIN`](super::criterion::MET_WITHIN).
    pub outcome: Outcome,
    /// No linkage of the family in any pose has a worse figure than this; `None` where nothing is certain.
    pub bound: Option<f64>,
    /// The same for the signed figure: it is certainly not above the first nor below minus the second; infinite where
    /// nothing is certain.
    pub sides: [f64; 2],
    /// The worst figure seen, recomputed in plain arithmetic.
    pub witness: W,
    /// How many boxes were looked at.
    pub boxes: u32,
}

/// How hard to try, in boxes for each of the searches; a box costs about a microsecond.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget(pub u32);

impl Default for Budget {
    fn default() -> Self {
        Self(4000)
    }
}

/// What plain arithmetic may be off where a witness is looked for.
pub(super) const DOUBT: f64 = 1e-11;

/// A figure this many times over its limit is not bounded any closer.
const FAR_OFF: f64 = 20.0;

/// Bounds to be printed, or an answer only.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Aim {
    Tight,
    Decide,
}

impl Aim {
    /// To decide whether the largest value is within the limit (surely not above `holds`, surely above `breaks`), and where
    /// that is the aim to bound it within `close`: as a share of itself, and no closer than a share of `size`.
    pub(super) fn effort(
        self,
        [holds, breaks]: [f64; 2],
        [relative, least]: [f64; 2],
        size: f64,
        Budget(boxes): Budget,
    ) -> Effort {
        let decide = Effort {
            relative: 0.0,
            absolute: 0.0,
            decide: [[holds, breaks + DOUBT]; 2],
            boxes,
            proved_below: holds,
            refuted_above: breaks + DOUBT,
        };
        match self {
            Self::Decide => decide,
            Self::Tight => Effort {
                relative,
                absolute: least * size,
                proved_below: f64::NEG_INFINITY,
                refuted_above: breaks + FAR_OFF * size,
                ..decide
            },
        }
    }
}

/// What was found of one side of a signed figure.
pub(super) struct OneSide<W> {
    /// It is certainly not above this.
    pub(super) upper: f64,
    /// The largest seen.
    pub(super) seen: f64,
    /// Who has it.
    pub(super) witness: W,
    /// Encloses the value there.
    pub(super) at: Interval,
    pub(super) boxes: u32,
}

impl<W> Finding<W> {
    /// Of a figure that may be up to `most` either way.
    pub(super) fn of_sides([up, down]: [OneSide<W>; 2], most: f64) -> Self {
        let bound = up.upper.max(down.upper);
        let breaks = |side: &OneSide<W>| side.at.lo() > most && side.at.hi().is_finite();
        let outcome = if bound <= most {
            Outcome::Holds
        } else if breaks(&up) || breaks(&down) {
            Outcome::Fails
        } else {
            Outcome::Undecided
        };
        let (sides, boxes) = ([up.upper, down.upper], up.boxes + down.boxes);
        let witness = if up.seen >= down.seen { up.witness } else { down.witness };
        Self { outcome, bound: bound.is_finite().then_some(bound), sides, witness, boxes }
    }
}
