//! How much the tolerances may grow before the worst corners break a limit.

use serde::{Serialize, Serializer};

use crate::tolerance::spread::Deviation;
use crate::tolerance::varied::Varied;

use super::slopes::Slopes;

/// What tolerances may become; computed by the corners that are worst to first order, not proved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Growth {
    /// All drawn tolerances times this, about the middles of their limits; `None` where not even the middles hold.
    #[serde(rename = "factor")]
    pub all: Option<f64>,
    /// Each size that scatters, the others as drawn.
    pub alone: Vec<Alone>,
}

impl Growth {
    /// No more than this many times what is drawn was looked at.
    pub const MOST: f64 = 64.0;
}

/// What one size may have alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alone {
    /// Which.
    pub size: Varied,
    /// ± about the middle of its limits, m or rad; `None` where the others alone are too much.
    pub half_width: Option<f64>,
}

#[derive(Serialize)]
struct Keys {
    #[serde(flatten)]
    size: Varied,
    unit: &'static str,
    half_width: Option<f64>,
}

impl Serialize for Alone {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { size, half_width } = *self;
        Keys { size, unit: size.unit(), half_width }.serialize(serializer)
    }
}

/// Halvings of the range of the factor.
const STEPS: u32 = 24;

/// How much the drawn tolerances may grow, or must shrink; `None` where none is drawn.
#[must_use]
pub fn growth(slopes: &Slopes<'_>) -> Option<Growth> {
    let drawn = &slopes.course().request.spread.deviations;
    let holds = |deviations: &[Deviation]| {
        let limits = &slopes.course().request.limits;
        slopes.corners(deviations).all(|(_, seen)| seen.is_some_and(|s| s.holds(limits)))
    };
    let all = largest(|factor| {
        holds(&drawn.iter().map(|d| d.scaled(factor)).collect::<Vec<Deviation>>())
    });
    let alone = |k: usize| {
        let with = |factor: f64| {
            let mut all = drawn.clone();
            if let Some(own) = all.get_mut(k) {
                *own = own.scaled(factor);
            }
            all
        };
        let half_width = drawn.get(k)?.half_width();
        let size = *slopes.names().get(k)?;
        let half_width = largest(|factor| holds(&with(factor))).map(|f| f * half_width);
        Some(Alone { size, half_width })
    };
    let spread = &slopes.course().request.spread;
    let found = Growth { all, alone: spread.scattering().filter_map(alone).collect() };
    spread.is_any().then_some(found)
}

/// The largest factor up to [`Growth::MOST`] that holds, by halving on the way from 0.
fn largest(holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(0.0) {
        return None;
    }
    if holds(Growth::MOST) {
        return Some(Growth::MOST);
    }
    let [mut good, mut bad] = [0.0, Growth::MOST];
    for _ in 0..STEPS {
        let middle = 0.5 * (good + bad);
        if holds(middle) { good = middle } else { bad = middle }
    }
    Some(good)
}
