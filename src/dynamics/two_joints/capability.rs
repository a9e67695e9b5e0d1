//! Which torques, and which speeds, two motors give on pitch and roll.
//!
//! At one pose the torques are a parallelogram, Jᵀ(±τ₁, ±τ₂): all τ with |n_k·τ| ≤ 1, n_k column k of J⁻¹ over τ_k. So are the
//! speeds, J⁻¹(±ω₁, ±ω₂), n_k row k of J over ω_k. What is there at every pose of a region is the polygon that all these n
//! bound together, and a box (P, R) lies in it where P|n_p| + R|n_r| ≤ 1 for all n. **These figures are certain between the points
//! of any grid**: n is enclosed over rectangles that cover the region. Friction in pins and screws is left out. Derived here.

use std::sync::OnceLock;

use super::super::fault::DynamicsFault;
use super::corner::{Corner, around};
use super::hull::{Hull, INSIDE};
use super::most::{Asked, Known};
use super::placed::{Placed, Spread, spread};
use super::power::Power;
use crate::drive::{DriveFault, Region, TwoRods, TwoRodsPose};

/// The torques (N m) or the speeds (rad/s) of pitch and roll over a region, as sizes: both directions are meant.
#[derive(Clone, Debug)]
pub struct Capability {
    /// The parallelogram of the zero pose: corners of motors (+,+), (+,−), (−,−), (−,+).
    pub zero_pose: [[f64; 2]; 4],
    /// The largest box of the proportion asked for that every pose gives, pitch and roll at once; certain.
    pub guaranteed: [f64; 2],
    /// Near which pose that box touches.
    pub tightest: [f64; 2],
    /// Each axis alone, with nothing asked of the other, over the region: computed, not proved.
    pub alone: [Spread; 2],
    /// What a file with each motor's own figure on each axis promises.
    pub promise: Promise,
    /// What the rest is made of, once it is asked for.
    of: Box<(TwoRods, Region, Power)>,
    outlines: OnceLock<Outlines>,
}

/// What is told of all poses together beside boxes.
#[derive(Clone, Debug, PartialEq)]
struct Outlines {
    common: Vec<[f64; 2]>,
    guaranteed_alone: [f64; 2],
    never_exceed: [Placed; 2],
}

impl PartialEq for Capability {
    fn eq(&self, other: &Self) -> bool {
        let figures = |of: &Self| (of.zero_pose, of.guaranteed, of.tightest, of.alone, of.promise);
        figures(self) == figures(other) && self.outlines() == other.outlines()
    }
}

/// What a box on pitch and roll promises and what there is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Promise {
    /// The largest share of the box that every pose gives with both axes at once; below 1 it promises too much.
    pub at_once: Placed,
    /// What each axis alone gives over what the box allows it, lowest and highest over the region; above 1 it hides that.
    pub alone: [[f64; 2]; 2],
}

impl Capability {
    /// A polygon, counter-clockwise, of what every pose of the region gives; certain. The box guaranteed lies in it.
    #[must_use]
    pub fn common(&self) -> &[[f64; 2]] {
        &self.outlines().common
    }

    /// Each axis alone at every pose: certain, and so no more than the lowest of `alone`.
    #[must_use]
    pub fn guaranteed_alone(&self) -> [f64; 2] {
        self.outlines().guaranteed_alone
    }

    /// What no pose exceeds on either axis; certain, infinite where nothing is. The place is near where it is reached.
    #[must_use]
    pub fn never_exceed(&self) -> [Placed; 2] {
        self.outlines().never_exceed
    }

    fn outlines(&self) -> &Outlines {
        self.outlines.get_or_init(|| {
            let (drive, region, power) = &*self.of;
            let [p, r] = self.guaranteed;
            match Hull::over(drive, region, power) {
                Some(hulls) => outlines(&hulls, [p, r]),
                None => Outlines {
                    common: vec![[p, -r], [p, r], [-p, r], [-p, -r]],
                    guaranteed_alone: [p, r],
                    never_exceed: [Placed { value: f64::INFINITY, joints: [f64::NAN; 2] }; 2],
                },
            }
        })
    }
}

fn outlines([bounds, reached]: &[Hull; 2], [p, r]: [f64; 2]) -> Outlines {
    let polygon = bounds.polar();
    // What is certain of the box may be a little more than what is of the polygon.
    let is_outside = |x: &[f64; 2]| bounds.reach(*x) > EDGE;
    let outside: Vec<[f64; 2]> = [[p, r], [p, -r]].into_iter().filter(is_outside).collect();
    let common = if outside.is_empty() {
        polygon
    } else {
        let points = polygon.into_iter().chain(outside);
        let corners = points.map(|at| Corner { at, joints: [0.0; 2] }).collect();
        around(corners).into_iter().map(|corner| corner.at).collect()
    };
    let alone = |at: fn([f64; 2]) -> f64| bounds.largest(at).value.recip() * INSIDE;
    Outlines {
        common,
        guaranteed_alone: [alone(|[p, _]| p.abs()).max(p), alone(|[_, r]| r.abs()).max(r)],
        never_exceed: [reached.largest(|[p, _]| p.abs()), reached.largest(|[_, r]| r.abs())],
    }
}

/// A point beyond the polygon by no more than rounding is no corner of it.
const EDGE: f64 = 1.0 + 1e-9;

/// Torques of motors with up to `motors` N m each; the box guaranteed has `proportion` (pitch, roll), or that of each axis
/// alone in the zero pose.
///
/// # Errors
/// A pose of the grid out of reach; [`DriveFault::Undetermined`] where a singular pose may lie in the region.
///
/// # Examples
/// ```
/// use unloop::drive::{Axis, DrawnLeg, Region, TwoRodsDrawing, Vector};
/// use unloop::dynamics::torque_capability;
///
/// let y = Vector::new(0.0, 1.0, 0.0);
/// let left = DrawnLeg::Crank {
///     motor: Axis { point: Vector::new(0.0, 0.032, 0.28), direction: y },
///     crank: Vector::new(-0.045, 0.032, 0.28),
///     foot: Vector::new(-0.045, 0.032, 0.0),
///     rod: None,
/// };
/// let pitch = Axis { point: Vector::zero(), direction: y };
/// let roll = Axis { point: Vector::zero(), direction: Vector::new(1.0, 0.0, 0.0) };
/// let ankle = TwoRodsDrawing { pitch, roll, legs: [left, left.mirrored()] }.drive()?;
/// let region = Region { pitch: [-0.4, 0.3], roll: [-0.1, 0.1], pieces: 12 };
/// let torque = torque_capability(&ankle, &region, [10.0, 10.0], None)?;
/// assert!((torque.zero_pose[0][0] - 20.0).abs() < 1e-9);
/// // Both at once: half of each alone, and somewhat less away from the zero pose.
/// assert!(torque.guaranteed[0] > 9.0 && torque.guaranteed[0] < 10.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn torque_capability(
    drive: &TwoRods,
    region: &Region,
    motors: [f64; 2],
    proportion: Option<[f64; 2]>,
) -> Result<Capability, DynamicsFault> {
    let alone = |pose: &TwoRodsPose| pose.torques_alone(motors);
    let zero = drive.pose([0.0; 2])?.torque_polygon(motors);
    Given { drive, region, power: Power::Torque(motors), known: Known::default() }
        .capability(zero, proportion, &alone)
}

/// The same of the speeds of motors with up to `motors` rad/s each.
///
/// # Errors
/// As [`torque_capability`].
pub fn speed_capability(
    drive: &TwoRods,
    region: &Region,
    motors: [f64; 2],
    proportion: Option<[f64; 2]>,
) -> Result<Capability, DynamicsFault> {
    let alone = |pose: &TwoRodsPose| speeds_alone(pose, motors);
    let zero = drive.pose([0.0; 2])?.speed_polygon(motors).ok_or(SINGULAR)?;
    Given { drive, region, power: Power::Speed(motors), known: Known::default() }
        .capability(zero, proportion, &alone)
}

const SINGULAR: DriveFault = DriveFault::Undetermined(
    "a singular pose may lie in the region: there the joints are loose or a rod is in line with its crank",
);

/// The largest rate of pitch with roll held, and the other way round.
fn speeds_alone(pose: &TwoRodsPose, [one, two]: [f64; 2]) -> [f64; 2] {
    let [[a, b], [c, d]] = pose.jacobian;
    let alone = |first: f64, second: f64| (one / first.abs()).min(two / second.abs());
    [alone(a, c), alone(b, d)]
}

struct Given<'a> {
    drive: &'a TwoRods,
    region: &'a Region,
    power: Power,
    known: Known,
}

impl Given<'_> {
    /// The largest |a x| + |b y| of the vectors that bound it over the region.
    fn most(&self, weights: [f64; 2]) -> Result<Placed, DynamicsFault> {
        let Self { drive, region, power, known } = self;
        Ok(Asked { drive, region, power, known, weights }.most().ok_or(SINGULAR)?)
    }

    fn capability(
        &self,
        zero_pose: [[f64; 2]; 4],
        proportion: Option<[f64; 2]>,
        alone: &dyn Fn(&TwoRodsPose) -> [f64; 2],
    ) -> Result<Capability, DynamicsFault> {
        for joints in self.region.turns() {
            self.drive.pose(joints)?;
        }
        let [p, r] = match proportion {
            Some(proportion) => proportion,
            None => alone(&self.drive.pose([0.0; 2])?),
        };
        let box_asks = self.most([p, r])?;
        let axis = |pick: fn([f64; 2]) -> f64| {
            let at = |joints| self.drive.pose(joints).map_or(f64::NAN, |pose| pick(alone(&pose)));
            spread(self.region, &at)
        };
        let alone = [axis(|[p, _]| p), axis(|[_, r]| r)];
        Ok(Capability {
            zero_pose,
            guaranteed: [p, r].map(|side| side / box_asks.value * INSIDE),
            tightest: box_asks.joints,
            promise: self.promise(&alone)?,
            alone,
            of: Box::new((self.drive.clone(), *self.region, self.power)),
            outlines: OnceLock::new(),
        })
    }

    fn promise(&self, alone: &[Spread; 2]) -> Result<Promise, DynamicsFault> {
        let claimed = self.power.of_motors();
        let most = self.most(claimed)?;
        let share = |spread: &Spread, claimed: f64| {
            [spread.lowest.value / claimed, spread.highest.value / claimed]
        };
        let [pitch, roll] = alone;
        Ok(Promise {
            at_once: Placed { value: most.value.recip(), ..most },
            alone: [share(pitch, claimed[0]), share(roll, claimed[1])],
        })
    }
}
