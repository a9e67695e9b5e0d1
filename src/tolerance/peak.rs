//! Where a curve between even nodes passes a level or turns, from five of its values.

use crate::numeric::lane_arithmetic::between;

/// The quartic through five even values; places are counted in cells from the middle one.
#[derive(Clone, Copy)]
pub(super) struct Quartic(pub(super) [f64; 5]);

impl Quartic {
    #[inline(always)]
    pub(super) fn through([a, b, c, d, e]: [f64; 5]) -> Self {
        let (near, far) = (d - b, e - a);
        let (near_sum, far_sum) = (d + b - 2.0 * c, e + a - 2.0 * c);
        Self([
            c,
            (8.0 * near - far) * (1.0 / 12.0),
            (16.0 * near_sum - far_sum) * (1.0 / 24.0),
            (far - 2.0 * near) * (1.0 / 12.0),
            (far_sum - 4.0 * near_sum) * (1.0 / 24.0),
        ])
    }

    /// One step of Newton's method from `t` to where it has the value `level`, within `range`.
    #[inline(always)]
    pub(super) fn nearer(&self, level: f64, t: f64, range: [f64; 2]) -> f64 {
        between(range, t - (self.value(t) - level) / self.slope(t))
    }

    /// One step of Newton's method from `t` to where it turns, within `range`.
    #[inline(always)]
    pub(super) fn nearer_its_turn(&self, t: f64, range: [f64; 2]) -> f64 {
        between(range, t - self.slope(t) / self.bend(t))
    }

    #[inline(always)]
    fn value(&self, t: f64) -> f64 {
        let [c0, c1, c2, c3, c4] = self.0;
        c0 + t * (c1 + t * (c2 + t * (c3 + t * c4)))
    }

    /// Its slope at `t` per cell.
    #[inline(always)]
    pub(super) fn slope(&self, t: f64) -> f64 {
        let [_, c1, c2, c3, c4] = self.0;
        c1 + t * (2.0 * c2 + t * (3.0 * c3 + t * (4.0 * c4)))
    }

    #[inline(always)]
    fn bend(&self, t: f64) -> f64 {
        let [_, _, c2, c3, c4] = self.0;
        2.0 * c2 + t * (6.0 * c3 + t * (12.0 * c4))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// cos(x − 0.04) at five nodes 0.1 apart, the middle one at 0.
    fn hump() -> Quartic {
        Quartic::through([-2.0, -1.0, 0.0, 1.0, 2.0].map(|k: f64| (0.1 * k - 0.04).cos()))
    }

    #[test]
    fn a_hump_turns_at_its_top() {
        for start in [0.0, 1.0] {
            let near = hump().nearer_its_turn(start, [-1.0, 2.0]);
            assert!((hump().nearer_its_turn(near, [-1.0, 2.0]) - 0.4).abs() < 1e-4);
        }
    }

    #[test]
    fn a_level_is_passed_where_the_curve_has_it() {
        let level = 0.11_f64.cos();
        for (start, range, there) in [(1.6, [1.0, 2.0], 1.5), (-0.6, [-1.0, 0.0], -0.7)] {
            let near = hump().nearer(level, start, range);
            assert!((hump().nearer(level, near, range) - there).abs() < 1e-4);
        }
    }

    #[test]
    fn no_step_leaves_its_range() {
        assert_eq!(hump().nearer(2.0, 0.4, [0.0, 1.0]), 0.0);
        assert_eq!(hump().nearer(f64::NAN, 0.4, [0.0, 1.0]), 0.0);
    }

    #[test]
    fn a_quartic_is_its_own_interpolation() {
        let curve = |t: f64| 1.0 + t * (2.0 + t * (-3.0 + t * (0.5 + t * 0.25)));
        let found = Quartic::through([-2.0, -1.0, 0.0, 1.0, 2.0].map(curve));
        for t in [-2.0, -0.3, 0.7, 2.0] {
            assert!((found.value(t) - curve(t)).abs() < 1e-13);
        }
    }
}
