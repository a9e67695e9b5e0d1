//! Both rods in one pose: positions, arms, rates, margins.

use nalgebra::Matrix2;

use crate::drive::angular::Angular;
use crate::drive::circle::Circle;
use crate::drive::input_end::{InputEnd, Reached};
use crate::drive::space::{Axis, Swung, Vector};
use crate::numeric::{Interval, Scalar};

use super::singular::norm;

/// One motor's rod: its input end, and its pin on the foot in the zero pose.
#[derive(Clone, Copy, Debug)]
pub struct Leg<T = f64> {
    /// A crank, an actuator or a nut on a guide.
    pub input: InputEnd<T>,
    /// Q in the zero pose, in the carrier's frame.
    pub foot: Vector<T>,
}

impl<T: Scalar> Leg<T> {
    /// A crank about `motor` with its pin drawn at `crank`; where a rod's length is given its length wins and the crank turns
    /// from there until the rod fits. `None` where the pin may lie on the axis.
    pub fn crank(
        motor: &Axis<T>,
        crank: Vector<T>,
        foot: Vector<T>,
        rod: Option<T>,
    ) -> Option<Self> {
        let circle = Circle::through(crank, motor)?;
        let way = circle.axis.cross(crank - circle.centre);
        let side = if (foot - crank).dot(way).middle() < 0.0 { 1.0 } else { -1.0 };
        let rod = rod.unwrap_or_else(|| (foot - crank).length());
        Some(Self { input: InputEnd::Crank { circle, rod, side }, foot })
    }

    /// A linear actuator from `pin`, its slide line `offset` beside it, with a screw of `lead` per turn.
    pub fn actuator(pin: Vector<T>, foot: Vector<T>, [offset, lead]: [T; 2]) -> Self {
        Self { input: InputEnd::Actuator { pin, offset, lead }, foot }
    }

    /// The same on the other side of the plane y = 0: points to (x, −y, z), motor axes to (−x, y, −z), so that both motors
    /// turn alike in pure pitch.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let over = |v: Vector<T>| Vector::new(v.x, -v.y, v.z);
        let input = match self.input {
            InputEnd::Crank { circle, rod, side } => {
                let circle = Circle {
                    centre: over(circle.centre),
                    axis: -over(circle.axis),
                    datum: over(circle.datum),
                    quarter: over(circle.quarter),
                    radius: circle.radius,
                };
                InputEnd::Crank { circle, rod, side }
            }
            InputEnd::Slide { point, direction, rod, side, lead } => {
                let (point, direction) = (over(point), over(direction));
                InputEnd::Slide { point, direction, rod, side, lead }
            }
            InputEnd::Actuator { pin, offset, lead } => {
                InputEnd::Actuator { pin: over(pin), offset, lead }
            }
        };
        Self { input, foot: over(self.foot) }
    }
}

/// Two rods on a universal joint.
#[derive(Clone, Copy, Debug)]
pub struct RodsOnUniversal<T = f64> {
    /// Pitch: O₁ and the unit direction a₁, fixed in the carrier.
    pub pitch: Axis<T>,
    /// Roll in the zero pose: O₂ and the unit direction a₂, carried by pitch.
    pub roll: Axis<T>,
    /// First and second motor.
    pub legs: [Leg<T>; 2],
    /// O₂ from O₁ and a₂, about pitch.
    roll_about_pitch: [Swung<T>; 2],
    /// Each Q from O₂, about roll.
    feet_about_roll: [Swung<T>; 2],
}

/// Where both pins Q are, how they move per rad of pitch and roll, and where the roll axis points.
#[derive(Clone, Copy, Debug)]
pub(super) struct Feet<T> {
    pub(super) at: [Vector<T>; 2],
    pub(super) ways: [[Vector<T>; 2]; 2],
    roll_axis: Vector<T>,
}

/// Both rods in one pose. Rows are motors, columns pitch and roll.
#[derive(Clone, Copy, Debug)]
pub struct TwoRodsPose<T = f64> {
    /// The rods at their input ends: pins P, rods w, levers λ.
    pub rods: [Reached<T>; 2],
    /// Q of each.
    pub feet: [Vector<T>; 2],
    /// a_j × (Q_k − O_j): Q's way per rad of pitch and roll.
    pub ways: [[Vector<T>; 2]; 2],
    /// Motor angle per unit of the input end's place.
    pub gains: [T; 2],
    /// J: motor rate per joint rate.
    pub jacobian: [[T; 2]; 2],
    /// Along what the bolt of the ball at P of each lies: the motor axis; `None` where no crank turns.
    pub bolts: [Option<Vector<T>>; 2],
    pub(super) axes: [Vector<T>; 2],
}

impl<T: Angular> RodsOnUniversal<T> {
    /// With both axes' directions brought to length 1; `None` where one may have none.
    pub fn new(pitch: Axis<T>, roll: Axis<T>, legs: [Leg<T>; 2]) -> Option<Self> {
        let unit = |axis: Axis<T>| Some(Axis { point: axis.point, direction: axis.unit()? });
        Some(Self::about(unit(pitch)?, unit(roll)?, legs))
    }

    /// About axes with directions of length 1.
    fn about(pitch: Axis<T>, roll: Axis<T>, legs: [Leg<T>; 2]) -> Self {
        let about_pitch = |of: Vector<T>| of.about(pitch.direction);
        let roll_about_pitch = [roll.point - pitch.point, roll.direction].map(about_pitch);
        let feet_about_roll = legs.map(|leg| (leg.foot - roll.point).about(roll.direction));
        Self { pitch, roll, legs, roll_about_pitch, feet_about_roll }
    }

    /// At joint turns of these (sin, cos).
    #[inline(always)]
    pub(super) fn feet(&self, [pitch, roll]: [(T, T); 2]) -> Feet<T> {
        let Axis { point, direction } = self.pitch;
        let [offset, axis] = &self.roll_about_pitch;
        let (offset, roll_axis) = (offset.turned(pitch), axis.turned(pitch));
        let foot = |about_roll: &Swung<T>| {
            let rolled = about_roll.turned(roll).turned(direction, pitch);
            let from_pitch = offset + rolled;
            (point + from_pitch, [direction.cross(from_pitch), roll_axis.cross(rolled)])
        };
        let [one, two] = &self.feet_about_roll;
        let ((first, its), (second, other)) = (foot(one), foot(two));
        Feet { at: [first, second], ways: [its, other], roll_axis }
    }

    /// The pose at joint turns of these (sin, cos); `None` where a rod does not reach.
    // Inlined whole, down to the meeting of rod and circle: copies of what each step returns take a third of a pose.
    #[inline(always)]
    pub fn at(&self, joints: [(T, T); 2]) -> Option<TwoRodsPose<T>> {
        let ([one, two], feet) = (&self.legs, self.feet(joints));
        let rods = [one.input.reach(feet.at[0])?, two.input.reach(feet.at[1])?];
        Some(self.with(&feet, rods))
    }

    /// The same with each rod, by its number and leg, as `reach` finds it for its pin Q.
    pub(super) fn reached_by(
        &self,
        joints: [(T, T); 2],
        reach: impl Fn(usize, &Leg<T>, Vector<T>) -> Option<Reached<T>>,
    ) -> Option<TwoRodsPose<T>> {
        let ([one, two], feet) = (&self.legs, self.feet(joints));
        let rods = [reach(0, one, feet.at[0])?, reach(1, two, feet.at[1])?];
        Some(self.with(&feet, rods))
    }

    /// With both rods in place.
    #[inline(always)]
    fn with(&self, feet: &Feet<T>, rods: [Reached<T>; 2]) -> TwoRodsPose<T> {
        let ([one, two], Feet { at: feet, ways, roll_axis }) = (&self.legs, *feet);
        let gains = [one.input.gain(), two.input.gain()];
        let row =
            |rod: &Reached<T>, gain: T, ways: [Vector<T>; 2]| ways.map(|way| gain * rod.rate(way));
        let jacobian = [row(&rods[0], gains[0], ways[0]), row(&rods[1], gains[1], ways[1])];
        TwoRodsPose {
            rods,
            feet,
            ways,
            gains,
            jacobian,
            bolts: [one.input.bolt(), two.input.bolt()],
            axes: [self.pitch.direction, roll_axis],
        }
    }

    /// Both motor angles from their data, those of cranks on the sheets of `guess`.
    pub fn angles(&self, pose: &TwoRodsPose<T>, guess: [f64; 2]) -> [T; 2] {
        let [first, second] = &self.legs;
        [
            first.input.angle(pose.rods[0].place, guess[0]),
            second.input.angle(pose.rods[1].place, guess[1]),
        ]
    }
}

impl RodsOnUniversal {
    /// By how much each rod is too short (positive) or too long (negative) for its pin to be there.
    pub(super) fn missing(&self, feet: [Vector; 2]) -> [f64; 2] {
        let [first, second] = &self.legs;
        [first.input.missing(feet[0]), second.input.missing(feet[1])]
    }
}

impl RodsOnUniversal<Interval> {
    /// The constant drive that this one encloses.
    pub(super) fn constant<T: Angular>(&self) -> RodsOnUniversal<T> {
        let leg = |leg: Leg<Interval>| Leg {
            input: leg.input.constant(),
            foot: leg.foot.map(T::constant),
        };
        let [pitch, roll] = [self.pitch, self.roll].map(|axis| axis.map(T::constant));
        RodsOnUniversal::about(pitch, roll, self.legs.map(leg))
    }
}

impl<T: Scalar> TwoRodsPose<T> {
    /// W: the arm of each rod about pitch and roll.
    pub fn joint_arms(&self) -> [[T; 2]; 2] {
        let [first, second] = self.ways;
        let row =
            |rod: &Reached<T>, ways: [Vector<T>; 2]| ways.map(|way| rod.rod.dot(way) / rod.length);
        [row(&self.rods[0], first), row(&self.rods[1], second)]
    }

    /// g: the arm of each rod about its motor; of a screw, dx/dL · lead/2π.
    pub fn motor_arms(&self) -> [T; 2] {
        let [first, second] = &self.rods;
        [
            first.lever / (first.length * self.gains[0]),
            second.lever / (second.length * self.gains[1]),
        ]
    }
}

impl TwoRodsPose {
    /// J as a matrix.
    #[must_use]
    pub fn rates(&self) -> Matrix2<f64> {
        let [[a, b], [c, d]] = self.jacobian;
        Matrix2::new(a, b, c, d)
    }

    /// The margin of rod `k` at its input end: [`Reached::crank_side`].
    #[must_use]
    pub fn crank_side(&self, k: usize) -> Option<f64> {
        self.rods.get(k)?.crank_side()
    }

    /// 90 deg less the angle of rod `k` to the path of its pin Q with the other motor held, 0…π/2 rad: 0 where the body is
    /// loose about one axis.
    ///
    /// # Source
    /// The output transmission index of J. Wang, C. Wu and X.-J. Liu, Mech. Mach. Theory 45 (2010) (memory).
    #[must_use]
    pub fn joint_side(&self, k: usize) -> f64 {
        let [first, second] = self.joint_arms();
        let [held_p, held_r] = if k == 0 { second } else { first };
        let (Some(rod), Some([p, r])) = (self.rods.get(k), self.ways.get(k)) else { return 0.0 };
        rod.rod.angle_to_plane(*p * held_r - *r * held_p)
    }

    /// The smallest singular value of W: how much arm, in the unit of length, the worst direction of torque has.
    #[must_use]
    pub fn smallest_arm(&self) -> f64 {
        let [[a, b], [c, d]] = self.joint_arms();
        let largest = norm(&Matrix2::new(a, b, c, d));
        if largest > 0.0 { (a * d - b * c).abs() / largest } else { 0.0 }
    }

    /// Tilt of the ball at P of rod `k` against the plane square to its bolt, 0…π/2 rad; `None` where no crank turns.
    #[must_use]
    pub fn crank_tilt(&self, k: usize) -> Option<f64> {
        let bolt = (*self.bolts.get(k)?)?;
        Some(self.rods.get(k)?.rod.angle_to_plane(bolt))
    }
}
