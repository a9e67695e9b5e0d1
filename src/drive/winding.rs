//! How far a pin on one circle goes round the axis of another: angles without jumps in closed form.

use std::f64::consts::TAU;

use super::circle::Circle;

/// A pin's circle as it is seen along another axis: `middle` + `cosine` cos t + `sine` sin t.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    middle: [f64; 2],
    cosine: [f64; 2],
    sine: [f64; 2],
}

fn cross([a, b]: [f64; 2], [c, d]: [f64; 2]) -> f64 {
    a * d - b * c
}

fn dot([a, b]: [f64; 2], [c, d]: [f64; 2]) -> f64 {
    a * c + b * d
}

impl Seen {
    /// `pin`'s circle in the plane of `by`.
    pub(super) fn new(pin: &Circle, by: &Circle) -> Self {
        let [x, y, _] = by.seen(pin.centre);
        let along = |v: super::space::Vector| {
            [pin.radius * v.dot(by.datum), pin.radius * v.dot(by.quarter)]
        };
        Self { middle: [x, y], cosine: along(pin.datum), sine: along(pin.quarter) }
    }

    fn at(&self, angle: f64) -> [f64; 2] {
        let (sine, cosine) = libm::sincos(angle);
        let [mx, my] = self.middle;
        let ([cx, cy], [sx, sy]) = (self.cosine, self.sine);
        [mx + cx * cosine + sx * sine, my + cy * cosine + sy * sine]
    }

    /// The angle swept about the axis from the pin angle `from` to `to`, rad: the angle between both ends plus a whole
    /// turn for each time the pin crosses, to the left, the ray opposite to the middle between them.
    pub(super) fn swept(&self, from: f64, to: f64) -> f64 {
        let (a, b) = (self.at(from), self.at(to));
        let between = libm::atan2(cross(a, b), dot(a, b));
        let (sine, cosine) = libm::sincos(libm::atan2(a[1], a[0]) + 0.5 * between);
        between + TAU * self.crossings([-cosine, -sine], from, to)
    }

    /// How often the ray is crossed to the left, less how often to the right.
    fn crossings(&self, ray: [f64; 2], from: f64, to: f64) -> f64 {
        let [constant, by_cosine, by_sine] =
            [self.middle, self.cosine, self.sine].map(|part| cross(ray, part));
        let swing = libm::hypot(by_cosine, by_sine);
        if constant.abs() > swing {
            return 0.0;
        }
        let crest = libm::atan2(by_sine, by_cosine);
        let away = (-constant / swing).acos();
        let passes = |at: f64| ((to - at) / TAU).floor() - ((from - at) / TAU).floor();
        // Before the crest of the height above the ray it is crossed to the left.
        [(crest - away, 1.0), (crest + away, -1.0)]
            .into_iter()
            .filter(|(at, _)| dot(self.at(*at), ray) > 0.0)
            .map(|(at, sense)| sense * passes(at))
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::space::Vector;

    fn circle(centre: [f64; 3], axis: [f64; 3], radius: f64) -> Circle {
        let of = |[x, y, z]: [f64; 3]| Vector::new(x, y, z);
        Circle::about(of(centre), of(axis), Vector::new(1.0, 0.0, 0.0), radius).unwrap()
    }

    /// Summed over small steps.
    fn stepped(seen: &Seen, from: f64, to: f64) -> f64 {
        let ends: Vec<f64> = crate::numeric::evenly([from, to], 4000).collect();
        ends.windows(2)
            .map(|pair| {
                let (a, b) = (seen.at(pair[0]), seen.at(pair[1]));
                libm::atan2(cross(a, b), dot(a, b))
            })
            .sum()
    }

    #[test]
    fn a_swept_angle_is_what_small_steps_sum_up_to_over_several_turns() {
        let z = circle([0.0; 3], [0.0, 0.0, 1.0], 1.0);
        let around = [
            circle([0.3, 0.2, 5.0], [0.0, 0.2, 1.0], 1.0),
            circle([0.3, 0.2, 5.0], [0.1, 0.2, -1.0], 1.0),
            circle([3.0, 0.2, 5.0], [0.0, 0.2, 1.0], 1.0),
            // edge on: the circle is a line beside the axis
            circle([0.0, 0.4, 5.0], [0.0, 1.0, 0.0], 1.0),
        ];
        for pin in around {
            let seen = Seen::new(&pin, &z);
            for (from, to) in [(0.2, 3.9), (-1.0, -14.0), (2.0, 2.0), (-7.0, 9.0), (0.0, 20.0)] {
                let (closed, steps) = (seen.swept(from, to), stepped(&seen, from, to));
                assert!((closed - steps).abs() < 1e-11, "{pin:?} {from} {to}: {closed} {steps}");
            }
        }
    }
}
