//! A pad on the coupler under load: what grips, and what every pin of the finger bears.
//!
//! Weightless parts at rest, the pad pressed back by the object with F against n at the pad point, r = R t from P. The
//! rocker is a two-force member with thrust N along u, and the coupler cut free about P gives it:
//!
//! ```text
//! N = F (r × n)/(w × u)      from the crank at P: F n − N u      crank torque = a e × (F n − N u) = F n·T′
//! pins: |F n − N u| at A and P, |N| at Q and B      grip of each pad F = τ/(k |n·T′|), k pads on one motor
//! left after friction in the pins = 1 − k f Σ (d/2) |force/τ| |turn of the pin per motor turn|
//! turns: 1 at A, 1 − s at P, s − r at Q, r at B
//! ```
//!
//! with w the coupler's vector and u the rocker's direction. Friction is of first order: the forces are those without it.
//! An object that one pad alone touches gets the whole torque: F and all forces are k times those.
//! Derived here; the crank torque is that of virtual work.

use serde::Serialize;

use super::bearings::Bearings;
use super::loads::PinLoad;
use super::pin::{Pin, PinPlace};
use crate::linkage::{Branch, Extreme, LinkageFault, Pad, Pose};
use crate::numeric::peaks;

/// A pad with its finger in one pose, under 1 N of grip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JawLoad {
    /// At the crank for each newton that this pad grips with, N m/N; below 0 where the motor closes by turning back.
    pub torque: f64,
    /// Thrust in the rocker for each newton, positive from B towards Q.
    pub rocker_thrust: f64,
    /// Force that the crank puts on the coupler at P for each newton.
    pub at_crank_pin: [f64; 2],
}

/// The finger of `pad` at motor turn `turn` (rad) on `branch`.
///
/// # Errors
/// [`LinkageFault::CannotClose`].
///
/// # Examples
/// A parallelogram: the torque is a sin φ whatever the place of the pad along the finger.
/// ```
/// use unloop::dynamics::jaw_load;
/// use unloop::linkage::{Branch, Closure, FourBar, Pad, PadOn};
/// let finger = FourBar { ground: 0.02, crank: 0.04, coupler: 0.02, rocker: 0.04 };
/// let branch = Branch::through(finger, 90_f64.to_radians(), Closure::Open)?;
/// let pad = Pad {
///     on: PadOn::Coupler, point: [0.01, 0.03], closing: [-1.0, 0.0], across: [0.0, 1.0], fingers: 2.0,
/// };
/// let load = jaw_load(&pad, &branch, 0.0)?;
/// assert!((load.torque - 0.04).abs() < 1e-15 && (load.rocker_thrust - 1.5).abs() < 1e-14);
/// # Ok::<(), unloop::linkage::LinkageFault>(())
/// ```
pub fn jaw_load(pad: &Pad, branch: &Branch, turn: f64) -> Result<JawLoad, LinkageFault> {
    let (pose, tilt) = (branch.pose(turn)?, branch.coupler_turn(turn)?);
    let (sin, cos) = libm::sincos(tilt);
    let [x, y] = pad.point;
    let arm = [x * cos - y * sin, x * sin + y * cos];
    let (rocker, coupler, n) = (pose.rocker_vector(), pose.coupler_vector(), pad.closing);
    let per_length = cross(arm, n) / cross(coupler, rocker);
    let at_crank_pin = [n[0] - per_length * rocker[0], n[1] - per_length * rocker[1]];
    Ok(JawLoad {
        torque: pose.bars.crank * cross(pose.e, at_crank_pin),
        rocker_thrust: per_length * pose.bars.rocker,
        at_crank_pin,
    })
}

fn cross(p: [f64; 2], q: [f64; 2]) -> f64 {
    p[0] * q[1] - p[1] * q[0]
}

impl JawLoad {
    /// On the pins A, P, Q, B for each newton of this pad.
    #[must_use]
    pub fn pins(&self) -> [f64; 4] {
        let [x, y] = self.at_crank_pin;
        let (crank, rocker) = (libm::hypot(x, y), self.rocker_thrust.abs());
        [crank, crank, rocker, rocker]
    }
}

/// A pad's finger over its stroke.
#[derive(Clone, Copy, Debug)]
pub struct Jaw<'a> {
    /// The linkage.
    pub branch: &'a Branch,
    /// Motor turns, ascending, rad.
    pub turns: [f64; 2],
    /// The pad.
    pub pad: &'a Pad,
    /// The pins.
    pub bearings: &'a Bearings,
}

/// Grip and pins under one motor torque.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct JawDuty {
    /// At the motor's output shaft, N m, as a size.
    #[serde(rename = "motor_torque_n_m")]
    pub motor_torque: f64,
    /// Of each pad, N, where it is least over the stroke, after friction in the pins where that is given; 0 where they lock.
    #[serde(rename = "grip_guaranteed_n")]
    pub guaranteed: Extreme,
    /// Of each pad, N, where it is most, without friction.
    #[serde(rename = "grip_at_best_n")]
    pub best: Extreme,
    /// Of a pad that alone touches the object, N, where it is most.
    #[serde(rename = "one_pad_alone_n")]
    pub alone: Option<Extreme>,
    /// A, P, Q, B of one finger, both pads in contact, each in its own worst pose.
    pub pins: [PinLoad; 4],
    /// The motor turn at which each of them is loaded most, rad.
    #[serde(rename = "pins_at_motor_rad")]
    pub pins_at: [f64; 4],
}

impl Jaw<'_> {
    /// Under the motor torque `torque`, N m.
    #[must_use]
    pub fn duty(&self, torque: f64) -> JawDuty {
        self.duty_through(torque, &|_| [1.0, 1.0, 0.0])
    }

    /// The same where a drive between motor and crank makes of each N m of the motor so much torque at the crank's turn, after
    /// its losses and without, and a force on the crank's axis, N, that may point any way.
    #[must_use]
    pub fn duty_through(&self, torque: f64, crank: &dyn Fn(f64) -> [f64; 3]) -> JawDuty {
        let [after, without, on_axis] =
            [0, 1, 2].map(|k| move |turn: f64| crank(turn).get(k).copied().unwrap_or(f64::NAN));
        let (count, grips) = (self.pad.fingers, |turn: f64| self.grip_per_torque(turn));
        let [_, best] = self.ends(|turn| grips(turn) * without(turn));
        let [least, _] = self.ends(|turn| grips(turn) * after(turn) * self.left(turn).max(0.0));
        let times = |e: Extreme, by: f64| Extreme { value: e.value * by, turn: e.turn };
        let pins = self.bearings.pins();
        let mut index = 0;
        let loads = pins.map(|pin| {
            let [_, worst] = self.ends(|turn| {
                let own = self.pin_per_torque(turn, index) * without(turn);
                if index == 0 { own + on_axis(turn) } else { own }
            });
            index += 1;
            (pin_load(pin, worst.value * torque), worst.turn)
        });
        JawDuty {
            motor_torque: torque,
            guaranteed: times(least, torque),
            best: times(best, torque),
            alone: (count > 1.0).then(|| times(best, count * torque)),
            pins: loads.map(|(load, _)| load),
            pins_at: loads.map(|(_, turn)| turn),
        }
    }

    /// Share of the motor's torque that friction in the pins leaves, where it is lowest; `None` without a coefficient.
    #[must_use]
    pub fn efficiency(&self) -> Option<Extreme> {
        self.bearings.friction.map(|_| {
            let [least, _] = self.ends(|turn| self.left(turn));
            least
        })
    }

    /// Pins without a known diameter, which friction leaves out.
    #[must_use]
    pub fn without_diameter(&self) -> Vec<PinPlace> {
        self.bearings.lacking(|pin| pin.diameter.is_some())
    }

    fn ends(&self, figure: impl Fn(f64) -> f64) -> [Extreme; 2] {
        peaks(figure, self.turns).map(|(turn, value)| Extreme { value, turn })
    }

    fn at(&self, turn: f64) -> Option<(Pose, JawLoad)> {
        Some((self.branch.pose(turn).ok()?, jaw_load(self.pad, self.branch, turn).ok()?))
    }

    /// Of each pad, N/(N m).
    fn grip_per_torque(&self, turn: f64) -> f64 {
        self.at(turn).map_or(f64::NAN, |(_, load)| per_torque(self.pad, &load))
    }

    /// On a pin of one finger, N/(N m).
    fn pin_per_torque(&self, turn: f64, pin: usize) -> f64 {
        self.at(turn).map_or(f64::NAN, |(_, load)| {
            load.pins().get(pin).copied().unwrap_or(f64::NAN) * per_torque(self.pad, &load)
        })
    }

    /// Share of the motor's torque that friction leaves.
    fn left(&self, turn: f64) -> f64 {
        let Some(coefficient) = self.bearings.friction else { return 1.0 };
        self.at(turn).map_or(f64::NAN, |(pose, load)| {
            let (rocker, coupler) = (pose.velocity_ratio(), pose.coupler_rate());
            let turns = [1.0, 1.0 - coupler, coupler - rocker, rocker];
            let pins = self.bearings.pins().map(|(_, pin)| 0.5 * pin.diameter.unwrap_or(0.0));
            let rubbed = pins.iter().zip(load.pins()).zip(turns);
            let rubbed: f64 =
                rubbed.map(|((radius, force), turn)| radius * force * turn.abs()).sum();
            1.0 - coefficient * self.pad.fingers * rubbed * per_torque(self.pad, &load)
        })
    }
}

fn per_torque(pad: &Pad, load: &JawLoad) -> f64 {
    1.0 / (pad.fingers * load.torque.abs())
}

fn pin_load((place, pin): (PinPlace, Pin), force: f64) -> PinLoad {
    PinLoad {
        place,
        force,
        pressure: pin.bearing_pressure(force),
        shear: pin.shear_stress(force, 1.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::linkage::{Closure, FourBar, PadOn};

    const PAD: Pad = Pad {
        on: PadOn::Coupler,
        point: [0.01, 0.03],
        closing: [-1.0, 0.0],
        across: [0.0, 1.0],
        fingers: 2.0,
    };

    fn branch() -> Branch {
        let bars = FourBar { ground: 0.02, crank: 0.04, coupler: 0.021, rocker: 0.041 };
        Branch::through(bars, std::f64::consts::FRAC_PI_2, Closure::Open).unwrap()
    }

    #[test]
    fn parts_cut_free_need_the_torque_of_the_check_values_and_of_virtual_work() {
        // check-values-grippers.toml, grip-force-general: N mm at crank 60, 90, 120 deg for 1 N.
        for (turn, torque) in
            [(-30.0, 35.576_086_700_88), (0.0, 41.364_723_364_33), (30.0, 37.149_064_514_37)]
        {
            let turn = f64::to_radians(turn);
            let load = jaw_load(&PAD, &branch(), turn).unwrap();
            assert!((1e3 * load.torque - torque).abs() < 1e-11, "{turn}: {}", load.torque);
            let virtual_work = -PAD.at(&branch(), turn).unwrap().opening_rate / PAD.fingers;
            assert!((load.torque - virtual_work).abs() < 1e-15);
        }
    }

    #[test]
    fn every_part_of_the_finger_is_at_rest_under_the_forces_told() {
        for turn in [-0.5, 0.1, 0.5] {
            let (branch, load) = (branch(), jaw_load(&PAD, &branch(), turn).unwrap());
            let (p, q) = {
                let pose = branch.pose(turn).unwrap();
                (pose.crank_pin(), pose.rocker_pin())
            };
            let tilt = branch.coupler_turn(turn).unwrap();
            let (sin, cos) = tilt.sin_cos();
            let [x, y] = PAD.point;
            let pad = [p.x + x * cos - y * sin, p.y + x * sin + y * cos];
            let along = [(q.x - 0.02) / 0.041, q.y / 0.041].map(|u| u * load.rocker_thrust);
            // On the coupler: the object at the pad, the rocker at Q, the crank at P.
            let forces = [
                ([-PAD.closing[0], -PAD.closing[1]], pad),
                (along, [q.x, q.y]),
                (load.at_crank_pin, [p.x, p.y]),
            ];
            let sum = |k: usize| forces.iter().map(|(force, _)| force[k]).sum::<f64>();
            let moment: f64 = forces.iter().map(|(force, at)| cross(*at, *force)).sum();
            assert!(sum(0).abs() < 1e-14 && sum(1).abs() < 1e-14 && moment.abs() < 1e-15, "{turn}");
            assert!((cross([p.x, p.y], load.at_crank_pin) - load.torque).abs() < 1e-15);
        }
    }

    #[test]
    fn what_rubs_in_the_pins_is_taken_off_the_work_that_arrives() {
        let pin = Pin { diameter: Some(4e-3), ..Pin::default() };
        let bearings =
            Bearings { motor: pin, crank: pin, rocker: pin, joint: pin, friction: Some(0.1) };
        let branch = branch();
        let jaw = Jaw { branch: &branch, turns: [-0.5, 0.5], pad: &PAD, bearings: &bearings };
        // Relative turns of the bodies by differences of their angles, work of friction in a small turn.
        let (turn, h) = (0.2, 1e-5);
        let rate = |angle: &dyn Fn(f64) -> f64| (angle(turn + h) - angle(turn - h)) / (2.0 * h);
        let coupler = rate(&|turn| branch.coupler_angle(turn).unwrap());
        let rocker = rate(&|turn| branch.joint_turn(turn).unwrap());
        let load = jaw_load(&PAD, &branch, turn).unwrap();
        let turned = [1.0, 1.0 - coupler, coupler - rocker, rocker].map(f64::abs);
        let grip = 1.0 / (2.0 * load.torque.abs());
        let lost: f64 =
            load.pins().iter().zip(turned).map(|(f, t)| 0.1 * 2e-3 * f * grip * t).sum();
        assert!((jaw.left(turn) - (1.0 - 2.0 * lost)).abs() < 1e-9);
        let (with, without) =
            (jaw.duty(1.0), Jaw { bearings: &Bearings::default(), ..jaw }.duty(1.0));
        assert!(with.guaranteed.value < without.guaranteed.value && with.best == without.best);
    }
}
