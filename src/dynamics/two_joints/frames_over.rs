//! Where both legs' bodies and the links stand, and how they move, in any kind of number: as `both_moving` has it for one build
//! in one pose, but enclosed, with slopes or curvatures.

use super::super::frame_over::{FrameOver, beside, units};
use crate::drive::{Angular, InputEnd, Reached, RodsOnUniversal, TwoRodsPose, Vector};
use crate::numeric::Scalar;

type Frame<T> = FrameOver<T, 2>;

/// A build, or all of many, with its rods in one pose or over a rectangle of poses.
#[derive(Clone, Debug)]
pub struct TwoRodsOver<T> {
    /// In its zero pose.
    pub built: RodsOnUniversal<T>,
    /// (sin, cos) of pitch and roll from there.
    pub joints: [(T, T); 2],
    /// Its rods there, and J.
    pub pose: TwoRodsPose<T>,
}

/// The frames of one leg's bodies; `None` of those that it does not have.
pub(super) struct LegOver<T> {
    pub(super) crank: Option<Frame<T>>,
    pub(super) rod: Option<Frame<T>>,
    pub(super) housing: Option<Frame<T>>,
    pub(super) nut: Option<Frame<T>>,
    /// The motor's axis, a unit vector.
    pub(super) motor_axis: Vector<T>,
}

impl<T: Angular> TwoRodsOver<T> {
    /// The frames of middle link and child: the carrier's own in the zero pose, moved along.
    pub(super) fn links(&self) -> [Frame<T>; 2] {
        let ([pitch, roll], built) = (self.joints, &self.built);
        let ([o1, o2], [a1, a2]) =
            ([built.pitch.point, built.roll.point], [built.pitch.direction, built.roll.direction]);
        let by_pitch = |v: Vector<T>| v.turned(a1, pitch);
        let by_both = |v: Vector<T>| by_pitch(v.turned(a2, roll));
        let (still, from_o1, from_o2) = (Vector::zero(), -by_pitch(o1), -by_both(o2));
        let middle = FrameOver {
            origin: o1 + from_o1,
            axes: units().map(by_pitch),
            ways: [a1.cross(from_o1), still],
            spins: [a1, still],
        };
        let (roll_axis, between) = (by_pitch(a2), by_pitch(o2 - o1));
        let child = FrameOver {
            origin: o1 + (between + from_o2),
            axes: units().map(by_both),
            ways: [a1.cross(between + from_o2), roll_axis.cross(from_o2)],
            spins: [a1, roll_axis],
        };
        [middle, child]
    }

    /// The frames of the first (`k` = 0) or second leg; `None` where one has no certain direction, or a nut runs on a guide.
    pub(super) fn leg(&self, k: usize) -> Option<LegOver<T>> {
        let pose = &self.pose;
        let leg = Leg {
            reached: pose.rods.get(k)?,
            foot: *pose.feet.get(k)?,
            ends: *pose.ways.get(k)?,
            rates: *pose.jacobian.get(k)?,
            gain: *pose.gains.get(k)?,
            a1: self.built.pitch.direction,
        };
        leg.frames(&self.built.legs.get(k)?.input)
    }
}

/// What is known of one leg.
struct Leg<'a, T> {
    reached: &'a Reached<T>,
    foot: Vector<T>,
    ends: [Vector<T>; 2],
    rates: [T; 2],
    gain: T,
    a1: Vector<T>,
}

impl<T: Scalar> Leg<'_, T> {
    fn frames(&self, input: &InputEnd<T>) -> Option<LegOver<T>> {
        let Reached { pin, velocity, .. } = *self.reached;
        let rod = self.rod(self.rates.map(|rate| velocity * (rate / self.gain)))?;
        let with =
            |motor_axis| LegOver { crank: None, rod: None, housing: None, nut: None, motor_axis };
        match input {
            InputEnd::Crank { circle, .. } => {
                let (z, per) = (circle.axis, T::exactly(1.0) / circle.radius);
                let x = (pin - circle.centre) * per;
                let crank = FrameOver {
                    origin: circle.centre,
                    axes: [x, z.cross(x), z],
                    ways: [Vector::zero(); 2],
                    spins: self.rates.map(|rate| z * rate),
                };
                Some(LegOver { crank: Some(crank), rod: Some(rod), ..with(z) })
            }
            InputEnd::Actuator { .. } => {
                let along = rod.axes[0];
                let nut = FrameOver { origin: self.foot, ways: self.ends, ..rod };
                Some(LegOver { housing: Some(rod), nut: Some(nut), ..with(along) })
            }
            InputEnd::Slide { .. } => None,
        }
    }

    /// The rod's, which does not spin about itself.
    fn rod(&self, ways: [Vector<T>; 2]) -> Option<Frame<T>> {
        let Reached { rod: w, length, pin, .. } = *self.reached;
        let ([p0, p1], [q0, q1]) = (ways, self.ends);
        let (per, x) = (T::exactly(1.0) / length, w.map(|c| c / length));
        let spin = |change: Vector<T>| x.cross(change) * per;
        let spins = [spin(q0 - p0), spin(q1 - p1)];
        Some(FrameOver { origin: pin, axes: beside(x, self.a1)?, ways, spins })
    }
}
