//! Joint turns to motor turns and their rates in lines of code: where a rod's pin on the foot is, and what its motor must do.
//!
//! Pins are told in a frame at the pitch axis whose z is that axis, so that pitch turns x and y alone:
//!
//! ```text
//! v = O₂ − O₁ + R(a₂, r)(Q₀ − O₂) = fixed + first·cos r + second·sin r
//! Q = (v_x cos p − v_y sin p, v_x sin p + v_y cos p, v_z)     Q by pitch = (−Q_y, Q_x, 0)     Q by roll = R(p) ∂v/∂r
//! ```
//!
//! A crank meets the rod as in [`super::super::stages`]. Derived here.

use super::super::expression::{Expression, Function, Line, angle_of, call, constant, line, name};
use super::super::stages::{met, square, sum};
use super::{FIRST, PITCH, RATES, ROLL, SECOND};
use crate::drive::{Circle, InputEnd, Leg, RodsOnUniversal, Vector};

/// From [`PITCH`] and [`ROLL`] to both motor turns and their rates; `None` where an input end is no crank and no actuator, or
/// an axis has no direction.
pub(super) fn closed_form(drive: &RodsOnUniversal, pins: [Vector; 2]) -> Option<Vec<Line>> {
    let frame = Frame::new(drive)?;
    let mut lines = vec![
        line("cos_pitch", call(Function::Cosine, name(PITCH))),
        line("sin_pitch", call(Function::Sine, name(PITCH))),
        line("cos_roll", call(Function::Cosine, name(ROLL))),
        line("sin_roll", call(Function::Sine, name(ROLL))),
    ];
    let outs = [FIRST, SECOND].into_iter().zip(RATES);
    for ((leg, pin), (turn, rates)) in drive.legs.iter().zip(pins).zip(outs) {
        lines.extend(frame.foot(leg));
        lines.extend(frame.motor(leg, pin, turn, rates)?);
    }
    Some(lines)
}

/// The frame at the pitch axis.
struct Frame {
    origin: Vector,
    axes: [Vector; 3],
    /// From its origin to the roll axis, and that axis.
    roll: [Vector; 2],
}

/// The pin, and its ways per rad of pitch and roll.
const PIN: [&str; 3] = ["qx", "qy", "qz"];
const BY_ROLL: [&str; 3] = ["rx", "ry", "rz"];

impl Frame {
    fn new(drive: &RodsOnUniversal) -> Option<Self> {
        let z = drive.pitch.direction;
        let [x, _] = z.across()?;
        let origin = drive.pitch.point;
        let roll = [drive.roll.point - origin, drive.roll.direction];
        Some(Self { origin, axes: [x, z.cross(x), z], roll })
    }

    /// The pin Q and its way per rad of roll.
    fn foot(&self, leg: &Leg) -> Vec<Line> {
        let [to_roll, a] = self.roll;
        let arm = leg.foot - self.origin - to_roll;
        let along = a * a.dot(arm);
        let (fixed, first, second) = (to_roll + along, arm - along, a.cross(arm));
        let n = |of| Some(name(of));
        let mut lines = Vec::new();
        for (axis, [v, w]) in self.axes.into_iter().zip([["vx", "wx"], ["vy", "wy"], ["qz", "rz"]])
        {
            let [fixed, first, second] = [fixed, first, second].map(|part| axis.dot(part));
            let at = [(fixed, None), (first, n("cos_roll")), (second, n("sin_roll"))];
            lines.push(line(v, sum(at)));
            lines.push(line(w, sum([(second, n("cos_roll")), (-first, n("sin_roll"))])));
        }
        for ([x, y], [from_x, from_y]) in
            [(["qx", "qy"], ["vx", "vy"]), (["rx", "ry"], ["wx", "wy"])]
        {
            let (cosine, sine) = (|| name("cos_pitch"), || name("sin_pitch"));
            lines.push(line(x, name(from_x) * cosine() - name(from_y) * sine()));
            lines.push(line(y, name(from_x) * sine() + name(from_y) * cosine()));
        }
        lines
    }

    fn seen(&self, of: Vector) -> [f64; 3] {
        self.axes.map(|axis| axis.dot(of))
    }

    fn motor(
        &self,
        leg: &Leg,
        pin: Vector,
        turn: &'static str,
        rates: [&'static str; 2],
    ) -> Option<Vec<Line>> {
        match leg.input {
            InputEnd::Crank { circle, rod, side } => {
                Some(self.crank(&circle, pin, [rod, side], turn, rates))
            }
            InputEnd::Actuator { pin, offset, .. } => {
                let drawn = leg.foot - pin;
                let zero = libm::sqrt(drawn.dot(drawn) - offset * offset);
                Some(self.actuator(pin, [offset, zero, leg.input.gain()], turn, rates))
            }
            InputEnd::Slide { .. } => None,
        }
    }

    /// The crank's turn from its own direction in the zero pose, all in units of the crank.
    fn crank(
        &self,
        circle: &Circle,
        pin: Vector,
        [rod, side]: [f64; 2],
        turn: &'static str,
        rates: [&'static str; 2],
    ) -> Vec<Line> {
        let per = 1.0 / circle.radius;
        let x = (pin - circle.centre) * per;
        let n = name;
        let mut lines = Vec::new();
        let parts = [["dx", "px", "mx"], ["dy", "py", "my"], ["dz", "pz", "mz"]];
        for (axis, [d, p, m]) in [x, circle.axis.cross(x), circle.axis].into_iter().zip(parts) {
            let along = self.seen(axis * per);
            let from = per * axis.dot(self.origin - circle.centre);
            lines.push(line(d, sum([(from, None)].into_iter().chain(dotted(along, PIN)))));
            lines.push(line(p, sum([(along[1], Some(n("qx"))), (-along[0], Some(n("qy")))])));
            lines.push(line(m, sum(dotted(along, BY_ROLL))));
        }
        lines.extend(met(square(rod * per), side));
        lines.push(line("ex", (n("k") * n("dx") - n("s") * n("dy")) / n("h2")));
        lines.push(line("ey", (n("k") * n("dy") + n("s") * n("dx")) / n("h2")));
        lines.push(line(turn, angle_of(n("ey"), n("ex"))));
        for (rate, [x, y, z]) in rates.into_iter().zip([["px", "py", "pz"], ["mx", "my", "mz"]]) {
            let off = (n("dx") - n("ex")) * n(x) + (n("dy") - n("ey")) * n(y) + n("dz") * n(z);
            lines.push(line(rate, -off / n("s")));
        }
        lines
    }

    /// The actuator's length less that of the zero pose, times the motor's gain.
    fn actuator(
        &self,
        pin: Vector,
        [offset, zero, gain]: [f64; 3],
        turn: &'static str,
        rates: [&'static str; 2],
    ) -> Vec<Line> {
        let n = name;
        let from = self.seen(self.origin - pin);
        let mut lines: Vec<Line> = ["dx", "dy", "dz"]
            .into_iter()
            .zip(from.into_iter().zip(PIN))
            .map(|(d, (from, q))| line(d, sum([(from, None)]) + n(q)))
            .collect();
        let squared = n("dx") * n("dx") + n("dy") * n("dy") + n("dz") * n("dz");
        let squared = squared - constant(offset * offset);
        lines.push(line("length", call(Function::SquareRoot, squared)));
        lines.push(line(turn, constant(gain) * (n("length") - constant(zero))));
        let by_pitch = n("dy") * n("qx") - n("dx") * n("qy");
        let by_roll = n("dx") * n("rx") + n("dy") * n("ry") + n("dz") * n("rz");
        for (rate, way) in rates.into_iter().zip([by_pitch, by_roll]) {
            lines.push(line(rate, constant(gain) * way / n("length")));
        }
        lines
    }
}

fn dotted(
    along: [f64; 3],
    with: [&'static str; 3],
) -> impl Iterator<Item = (f64, Option<Expression>)> {
    along.into_iter().zip(with).map(|(factor, of)| (factor, Some(name(of))))
}
