//! What a finger's pad does and what a stand-in makes of it, from the closed form; figures in rad, m and shares.

use super::closed_form::{Bars, Pose};
use super::double::{Double, Real};
use super::truth::Figures;

/// What is counted from the zero pose.
#[derive(Clone, Copy, Debug)]
pub struct Start<T> {
    pub rocker: T,
    pub coupler: T,
    pub pin: [T; 2],
}

impl<T: Real> Start<T> {
    pub fn of(pose: &Pose<T>) -> Self {
        Self { rocker: pose.rocker, coupler: pose.coupler, pin: pose.pin }
    }

    pub fn floats(&self) -> Start<f64> {
        let [rocker, coupler] = [self.rocker, self.coupler].map(Real::value);
        Start { rocker, coupler, pin: self.pin.map(Real::value) }
    }

    /// The same with angles within half a turn of those of `own`.
    pub fn beside(&self, own: &Self) -> Self {
        let turn = T::pi() * T::of(2.0);
        let near = |a: T, b: T| a + turn * T::of(((b - a) / turn).value().round());
        Self {
            rocker: near(self.rocker, own.rocker),
            coupler: near(self.coupler, own.coupler),
            pin: self.pin,
        }
    }
}

/// A pad on the coupler, in mm; x from the motor axis to the joint axis.
#[derive(Clone, Copy, Debug)]
pub struct Pad<T> {
    /// From the crank pin in the zero pose.
    pub point: [T; 2],
    pub closing: [T; 2],
    /// Along which a shift counts positive.
    pub across: [T; 2],
    /// 1 or 2.
    pub fingers: T,
}

/// How a stand-in moves a pad: two arms that turn at constant rates, or a line along the closing direction.
#[derive(Clone, Copy, Debug)]
pub struct Motion<T> {
    pub tilt_rate: T,
    /// Per rad, in mm; of its place and of its force.
    pub travel: [T; 2],
    pub arms: [(T, [T; 2]); 2],
}

/// A pad with what stands in.
#[derive(Clone, Copy, Debug)]
pub struct Judged<T> {
    pub pad: Pad<T>,
    pub motion: Motion<T>,
}

/// A pad in one pose: turn, place from the zero pose, and its change for each rad of the motor.
#[derive(Clone, Copy, Debug)]
pub struct Placed<T> {
    pub tilt: T,
    pub moved: [T; 2],
    pub rate: [T; 2],
}

pub fn dot<T: Real>([a, b]: [T; 2], [x, y]: [T; 2]) -> T {
    a * x + b * y
}

fn plus<T: Real>([a, b]: [T; 2], [x, y]: [T; 2]) -> [T; 2] {
    [a + x, b + y]
}

fn minus<T: Real>([a, b]: [T; 2], [x, y]: [T; 2]) -> [T; 2] {
    [a - x, b - y]
}

fn times<T: Real>(k: T, v: [T; 2]) -> [T; 2] {
    v.map(|x| k * x)
}

fn left<T: Real>([x, y]: [T; 2]) -> [T; 2] {
    [-y, x]
}

fn turned<T: Real>([x, y]: [T; 2], angle: T) -> [T; 2] {
    let (sin, cos) = angle.sin_cos();
    [x * cos - y * sin, x * sin + y * cos]
}

impl<T: Real> Pad<T> {
    pub fn floats(&self) -> Pad<f64> {
        let [point, closing, across] =
            [self.point, self.closing, self.across].map(|v| v.map(Real::value));
        Pad { point, closing, across, fingers: self.fingers.value() }
    }

    /// In this pose of a linkage that began in `zero`.
    pub fn placed(&self, pose: &Pose<T>, zero: &Start<T>) -> Placed<T> {
        let tilt = pose.coupler - zero.coupler;
        let arm = turned(self.point, tilt);
        Placed {
            tilt,
            moved: plus(minus(pose.pin, zero.pin), minus(arm, self.point)),
            rate: plus(left(pose.pin), times(pose.coupler_rate, left(arm))),
        }
    }
}

impl<T: Real> Motion<T> {
    const fn none(zero: T) -> (T, [T; 2]) {
        (zero, [zero, zero])
    }

    /// Hinges at the motor and at the crank pin, which turns by `multiplier` for each motor turn.
    pub fn counter(pad: &Pad<T>, zero: &Start<T>, multiplier: T) -> Self {
        let (one, none) = (T::of(1.0), T::of(0.0));
        let tilt_rate = one + multiplier;
        Self { tilt_rate, travel: [none; 2], arms: [(one, zero.pin), (tilt_rate, pad.point)] }
    }

    pub fn slide(travel: [T; 2]) -> Self {
        let none = T::of(0.0);
        Self { tilt_rate: none, travel, arms: [Self::none(none); 2] }
    }

    /// A hinge at the joint axis that turns by `slope` for each motor turn.
    pub fn hinge(pad: &Pad<T>, zero: &Start<T>, bars: &Bars<T>, slope: T) -> Self {
        let none = T::of(0.0);
        let at = plus(minus(zero.pin, [bars.ground, none]), pad.point);
        Self { tilt_rate: slope, travel: [none; 2], arms: [(slope, at), Self::none(none)] }
    }

    /// At a motor turn.
    pub fn placed(&self, closing: [T; 2], turn: T) -> Placed<T> {
        let mut moved = times(self.travel[0] * turn, closing);
        let mut rate = times(self.travel[1], closing);
        for (by, arm) in self.arms {
            let now = turned(arm, by * turn);
            moved = plus(moved, minus(now, arm));
            rate = plus(rate, times(by, left(now)));
        }
        Placed { tilt: self.tilt_rate * turn, moved, rate }
    }

    pub fn floats(&self) -> Motion<f64> {
        Motion {
            tilt_rate: self.tilt_rate.value(),
            travel: self.travel.map(Real::value),
            arms: self.arms.map(|(rate, arm)| (rate.value(), arm.map(Real::value))),
        }
    }
}

/// m in a mm.
const METRE: f64 = 1e-3;

impl<T: Real> Judged<T> {
    pub fn figures(&self, pose: &Pose<T>, zero: &Start<T>, turn: T) -> Figures<T> {
        let n = self.pad.closing;
        let (own, model) = (self.pad.placed(pose, zero), self.motion.placed(n, turn));
        let off = minus(own.moved, model.moved);
        let metres = T::of(1.0) / T::of(1.0 / METRE);
        [
            own.tilt - model.tilt,
            dot(n, own.rate) / dot(n, model.rate) - T::of(1.0),
            pose.transmission_angle,
            metres * dot(self.pad.across, off),
            metres * self.pad.fingers * dot(n, off),
        ]
    }

    pub fn floats(&self) -> Judged<f64> {
        Judged { pad: self.pad.floats(), motion: self.motion.floats() }
    }
}

/// `[finger]` as typed; lengths in `unit`.
#[derive(Clone, Debug, PartialEq)]
pub struct Finger {
    pub on: &'static str,
    pub unit: &'static str,
    pub point: [String; 2],
    pub closing: [String; 2],
    pub opening: String,
    pub other: Option<&'static str>,
    pub stand_in: Option<&'static str>,
    /// `ratio = "best"`: the multiplier that follows the coupler best.
    pub best: bool,
    /// Limits of shift and opening, m.
    pub limits: [Option<String>; 2],
    /// Peak torque (N m), largest speed (rad/s), holding friction (N m).
    pub actuator: [Option<String>; 3],
}

/// What it says.
#[derive(Clone, Copy, Debug)]
pub struct FingerMeaning {
    pub pad: Pad<Double>,
    pub on_coupler: bool,
    pub stand_in: &'static str,
    pub best: bool,
    /// m
    pub opening: f64,
    pub actuator: [Option<f64>; 3],
}

impl Finger {
    /// The lines of `[finger]` and `[actuator]`.
    pub fn text(&self) -> String {
        let Self { on, unit, point: [x, y], closing: [nx, ny], opening, .. } = self;
        let mut out = format!(
            "[finger]\npad = \"{on}\"\npoint = [\"{x} {unit}\", \"{y} {unit}\"]\nclosing = [{nx}, {ny}]\nopening = \"{opening} {unit}\"\n"
        );
        out.extend(self.other.map(|other| format!("other = \"{other}\"\n")));
        if self.actuator.iter().any(Option::is_some) {
            out.push_str("[actuator]\n");
        }
        let lines = [("peak_torque", "N m"), ("max_speed", "rad/s"), ("holding_friction", "N m")];
        for ((key, unit), value) in lines.into_iter().zip(&self.actuator) {
            out.extend(value.as_ref().map(|value| format!("{key} = \"{value} {unit}\"\n")));
        }
        out
    }

    /// In a drawing whose x axis leans by the angle with this sine and cosine, seen from the other side where `sense` is
    /// −1; nothing where it closes nowhere.
    pub fn meaning(&self, (sin, cos): (Double, Double), sense: Double) -> Option<FingerMeaning> {
        let millimetres = Double::decimal(match self.unit {
            "cm" => "10",
            "m" => "1000",
            "in" => "25.4",
            _ => "1",
        })?;
        let seen = |[x, y]: &[String; 2]| {
            let [x, y] = [Double::decimal(x)?, Double::decimal(y)? * sense];
            Some([x * cos + y * sin, y * cos - x * sin])
        };
        let n = seen(&self.closing)?;
        let size = dot(n, n).sqrt();
        if size.value() <= 0.0 {
            return None;
        }
        let closing = n.map(|x| x / size);
        // To the right of it on the sheet.
        let across = [closing[1] * sense, -(closing[0] * sense)];
        let fingers = Double::of(if self.other == Some("none") { 1.0 } else { 2.0 });
        let point = seen(&self.point)?.map(|x| x * millimetres);
        let number = |text: &Option<String>| text.as_ref().and_then(|t| t.parse::<f64>().ok());
        Some(FingerMeaning {
            pad: Pad { point, closing, across, fingers },
            on_coupler: self.on == "coupler",
            stand_in: self.stand_in.unwrap_or("counter"),
            best: self.best,
            opening: (Double::decimal(&self.opening)? * millimetres).value() * METRE,
            actuator: [0, 1, 2].map(|k| number(&self.actuator[k])),
        })
    }
}
