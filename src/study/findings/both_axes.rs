//! Torque and speed of two joints at once, as findings.

use serde::{Serialize, Serializer};

use crate::dynamics::{Capability, Promise, Spread};

/// A range of a figure over the region.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct OverRegion {
    /// The smallest.
    pub lowest: f64,
    /// The largest.
    pub highest: f64,
}

impl From<&Spread> for OverRegion {
    fn from(spread: &Spread) -> Self {
        Self { lowest: spread.lowest.value, highest: spread.highest.value }
    }
}

/// Torques (N m) or speeds (rad/s) of pitch and roll, both directions alike.
#[derive(Clone, Debug, PartialEq)]
pub struct BothAxes {
    /// All that is known of them.
    pub capability: Capability,
    /// What each motor gives.
    pub of_motor: f64,
    /// Each axis alone, over the region: computed.
    pub alone: [OverRegion; 2],
    /// The share of "motor figure × 1 on each axis" that is there with both axes at once, and of each axis alone from lowest to
    /// highest; none of linear actuators, whose figures are of another size.
    pub of_motor_figure: Option<Promised>,
}

/// The same as JSON.
#[derive(Serialize)]
struct BothAxesJson {
    of_motor: f64,
    /// The parallelogram of the zero pose: corners of motors (+,+), (+,−), (−,−), (−,+).
    zero_pose: [[f64; 2]; 4],
    /// A polygon of what every pose gives; certain.
    common: Vec<[f64; 2]>,
    /// The box that every pose gives with both axes at once, in the proportion of the zero pose; certain.
    guaranteed: [f64; 2],
    alone: [OverRegion; 2],
    /// What no pose exceeds; certain.
    never_exceed: [f64; 2],
    of_motor_figure: Option<Promised>,
}

impl Serialize for BothAxes {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { capability, of_motor, alone, of_motor_figure } = self;
        let told = BothAxesJson {
            of_motor: *of_motor,
            zero_pose: capability.zero_pose,
            common: capability.common(),
            guaranteed: capability.guaranteed,
            alone: *alone,
            never_exceed: capability.never_exceed().map(|most| most.value),
            of_motor_figure: *of_motor_figure,
        };
        told.serialize(serializer)
    }
}

/// What a file that gives each axis its motor's own figure promises.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Promised {
    /// With both axes at once; below 1 the file promises too much.
    pub at_once: f64,
    /// Of each axis alone; above 1 the file hides it.
    pub alone: [OverRegion; 2],
}

impl BothAxes {
    pub(in crate::study) fn of(found: Capability, of_motor: f64, has_cranks: bool) -> Self {
        let Promise { at_once, alone } = found.promise;
        let [pitch, roll] = &found.alone;
        Self {
            of_motor,
            alone: [pitch.into(), roll.into()],
            of_motor_figure: has_cranks.then(|| Promised {
                at_once: at_once.value,
                alone: alone.map(|[lowest, highest]| OverRegion { lowest, highest }),
            }),
            capability: found,
        }
    }
}
