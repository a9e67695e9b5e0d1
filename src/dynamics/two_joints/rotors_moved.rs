//! How far rotors weigh otherwise at the joints where J is another.
//!
//! With r a rotor's speeds per speed of each of the eight motions, its inertia about its axis is J_r r rᵀ; where r goes by δ, that
//! goes by
//!
//! ```text
//! J_r (δ (r + ½δ)ᵀ + (r + ½δ) δᵀ),   δ = gear ratio × (0, 0, 0, 0, 0, 0, change of J)
//! ```

use nalgebra::{SMatrix, SVector};

use super::super::congruent::ROOM;
use crate::drive::Vector;
use crate::numeric::Interval;

/// J, or a change of it: rows are motors, columns pitch and roll.
pub type Rates = [[Interval; 2]; 2];

type Square = SMatrix<f64, 8, 8>;
type Speeds = [Interval; 8];

/// A rotor in one pose, as Tᵀ sees its speeds.
pub(super) struct SeenRotor {
    inertia: Interval,
    gear: Interval,
    /// r + ½δ.
    speeds: Speeds,
}

impl SeenRotor {
    /// With its inertia and turns per motor turn, about `axis` (0 where the carrier stands still), where the motor's row of J is
    /// one of the first, the other one of the second.
    pub(super) fn new(
        [inertia, gear]: [Interval; 2],
        axis: Vector<Interval>,
        rows: [[Interval; 2]; 2],
        t: &Square,
    ) -> Self {
        let [[p, r], [q, s]] = rows;
        let half = gear * Interval::point(0.5);
        let (none, Vector { x, y, z }) = (Interval::ZERO, axis);
        let speeds = seen([none, none, none, x, y, z, half * (p + q), half * (r + s)], t);
        Self { inertia, gear, speeds }
    }
}

/// Tᵀv.
fn seen(v: Speeds, t: &Square) -> Speeds {
    let mut all = [Interval::ZERO; 8];
    for (sum, column) in all.iter_mut().zip(t.column_iter()) {
        for (x, by) in v.iter().zip(column.iter()).filter(|(x, _)| **x != Interval::ZERO) {
            *sum = *sum + *x * Interval::point(*by);
        }
    }
    all
}

/// The middle of each speed, and how far it may be from there.
struct Around {
    middle: SVector<f64, 8>,
    around: SVector<f64, 8>,
}

impl From<&Speeds> for Around {
    fn from(speeds: &Speeds) -> Self {
        let middle = SVector::from(speeds.map(Interval::mid));
        let around = speeds.map(|x| (x.hi() - x.mid()).max(x.mid() - x.lo()).next_up());
        // With room for what rounds a few products and sums of the middles.
        Self { middle, around: SVector::from(around) + middle.abs() * ROOM }
    }
}

/// How far any entry of TᵀRT, R the inertia of both rotors, goes at most by all these changes of J.
pub(super) fn moved_rotors(rotors: &[Option<SeenRotor>; 2], moved: &[Rates], t: &Square) -> Square {
    let speeds = rotors.each_ref().map(|rotor| rotor.as_ref().map(|own| Around::from(&own.speeds)));
    let mut sum = Square::zeros();
    for moved in moved {
        let (mut both, mut around) = (Square::zeros(), Square::zeros());
        for ((rotor, speeds), [p, r]) in rotors.iter().zip(&speeds).zip(moved) {
            let (Some(rotor), Some(speeds)) = (rotor, speeds) else { continue };
            let [p, r] = [p, r].map(|change| rotor.inertia * rotor.gear * *change);
            let none = Interval::ZERO;
            let change = Around::from(&seen([none, none, none, none, none, none, p, r], t));
            let own = change.middle * speeds.middle.transpose();
            let beside = change.middle.abs() * speeds.around.transpose()
                + change.around * (speeds.middle.abs() + speeds.around).transpose();
            both += own + own.transpose();
            around += beside + beside.transpose();
        }
        sum += both.abs() + around;
    }
    sum * (1.0 + ROOM)
}
