//! Which torques, and which speeds, two motors give on pitch and roll.
//!
//! At one pose the torques are a parallelogram, Jᵀ(±τ₁, ±τ₂): all τ with |n_k·τ| ≤ 1, n_k column k of J⁻¹ over τ_k. So are the
//! speeds, J⁻¹(±ω₁, ±ω₂), n_k row k of J over ω_k. What is there at every pose of a region is the polygon that all these n
//! bound together, and a box (P, R) lies in it where P|n_p| + R|n_r| ≤ 1 for all n. **These figures are certain between the points
//! of any grid**: n is enclosed over rectangles that cover the region. Friction in pins and screws is left out. Derived here.

use std::sync::OnceLock;

use super::super::fault::DynamicsFault;
use super::hull::{Hull, INSIDE};
use super::patch::Patches;
use super::placed::{Placed, Spread, spread};
use super::power::{Made, Power, Vectors};
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
    /// Each axis alone at every pose: certain, and so no more than the lowest of `alone`.
    pub guaranteed_alone: [f64; 2],
    /// What a file with each motor's own figure on each axis promises.
    pub promise: Promise,
    bounds: Hull,
    /// What is reached is made of these, once it is asked for.
    of: Box<(TwoRods, Region, Power)>,
    reached: OnceLock<[Placed; 2]>,
}

impl PartialEq for Capability {
    fn eq(&self, other: &Self) -> bool {
        let figures = |of: &Self| (of.zero_pose, of.guaranteed, of.tightest, of.alone, of.promise);
        figures(self) == figures(other)
            && self.bounds == other.bounds
            && self.never_exceed() == other.never_exceed()
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
    /// A polygon, counter-clockwise, of what every pose of the region gives; certain.
    #[must_use]
    pub fn common(&self) -> Vec<[f64; 2]> {
        self.bounds.polar()
    }

    /// What no pose exceeds on either axis; certain, infinite where nothing is. The place is near where it is reached.
    #[must_use]
    pub fn never_exceed(&self) -> [Placed; 2] {
        *self.reached.get_or_init(|| {
            let (drive, region, power) = &*self.of;
            let made = Made { power: *power, vectors: Vectors::Corners };
            let nowhere = Placed { value: f64::INFINITY, joints: [f64::NAN; 2] };
            Hull::over(&Patches::of(drive), region, &made).map_or([nowhere; 2], |reached| {
                [reached.largest(|[p, _]| p.abs()), reached.largest(|[_, r]| r.abs())]
            })
        })
    }
}

/// What both motors of a drive give over a region.
pub struct Capabilities<'a> {
    drive: &'a TwoRods,
    region: &'a Region,
    patches: Patches<'a>,
}

impl<'a> Capabilities<'a> {
    /// Of a drive over a region.
    ///
    /// # Errors
    /// A pose of the grid out of reach.
    ///
    /// # Examples
    /// ```
    /// use unloop::drive::{Axis, DrawnLeg, Region, TwoRodsDrawing, Vector};
    /// use unloop::dynamics::Capabilities;
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
    /// let torque = Capabilities::over(&ankle, &region)?.torque([10.0, 10.0], None)?;
    /// assert!((torque.zero_pose[0][0] - 20.0).abs() < 1e-9);
    /// // Both at once: half of each alone, and somewhat less away from the zero pose.
    /// assert!(torque.guaranteed[0] > 9.0 && torque.guaranteed[0] < 10.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn over(drive: &'a TwoRods, region: &'a Region) -> Result<Self, DynamicsFault> {
        for joints in region.turns() {
            drive.pose(joints)?;
        }
        Ok(Self { drive, region, patches: Patches::of(drive) })
    }

    /// Torques of motors with up to `motors` N m each; the box guaranteed has `proportion` (pitch, roll), or that of each axis
    /// alone in the zero pose.
    ///
    /// # Errors
    /// [`DriveFault::Undetermined`] where a singular pose may lie in the region.
    pub fn torque(
        &self,
        motors: [f64; 2],
        proportion: Option<[f64; 2]>,
    ) -> Result<Capability, DynamicsFault> {
        let alone = |pose: &TwoRodsPose| pose.torques_alone(motors);
        let zero = self.drive.pose([0.0; 2])?.torque_polygon(motors);
        self.of(Power::Torque(motors), zero, proportion, &alone)
    }

    /// The same of the speeds of motors with up to `motors` rad/s each.
    ///
    /// # Errors
    /// As [`Capabilities::torque`].
    pub fn speed(
        &self,
        motors: [f64; 2],
        proportion: Option<[f64; 2]>,
    ) -> Result<Capability, DynamicsFault> {
        let alone = |pose: &TwoRodsPose| speeds_alone(pose, motors);
        let zero = self.drive.pose([0.0; 2])?.speed_polygon(motors).ok_or(SINGULAR)?;
        self.of(Power::Speed(motors), zero, proportion, &alone)
    }

    fn of(
        &self,
        power: Power,
        zero_pose: [[f64; 2]; 4],
        proportion: Option<[f64; 2]>,
        alone: &dyn Fn(&TwoRodsPose) -> [f64; 2],
    ) -> Result<Capability, DynamicsFault> {
        let Self { drive, region, patches } = self;
        let made = Made { power, vectors: Vectors::Normals };
        let bounds = Hull::over(patches, region, &made).ok_or(SINGULAR)?;
        let [p, r] = match proportion {
            Some(proportion) => proportion,
            None => alone(&drive.pose([0.0; 2])?),
        };
        let most = most(&bounds, [p, r]);
        let axis = |pick: fn([f64; 2]) -> f64| {
            let at = |joints| drive.pose(joints).map_or(f64::NAN, |pose| pick(alone(&pose)));
            spread(region, &at)
        };
        let alone = [axis(|[p, _]| p), axis(|[_, r]| r)];
        Ok(Capability {
            zero_pose,
            guaranteed: [p, r].map(|side| side / most.value * INSIDE),
            tightest: most.joints,
            guaranteed_alone: [
                bounds.largest(|[p, _]| p.abs()).value.recip() * INSIDE,
                bounds.largest(|[_, r]| r.abs()).value.recip() * INSIDE,
            ],
            promise: promise(&bounds, &alone, power.of_motors()),
            alone,
            bounds,
            of: Box::new(((*drive).clone(), **region, power)),
            reached: OnceLock::new(),
        })
    }
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

/// What a box of these sides asks of the hull's vectors: no more than 1 where every pose gives it.
fn most(bounds: &Hull, [p, r]: [f64; 2]) -> Placed {
    bounds.largest(|n| p * n[0].abs() + r * n[1].abs())
}

fn promise(bounds: &Hull, alone: &[Spread; 2], claimed: [f64; 2]) -> Promise {
    let most = most(bounds, claimed);
    let share = |spread: &Spread, claimed: f64| {
        [spread.lowest.value / claimed, spread.highest.value / claimed]
    };
    let ([pitch, roll], [of_pitch, of_roll]) = (alone, claimed);
    Promise {
        at_once: Placed { value: most.value.recip(), ..most },
        alone: [share(pitch, of_pitch), share(roll, of_roll)],
    }
}
