//! The smallest and the largest value of a smooth function of one variable.

/// Pieces that the range is looked at in.
const PIECES: u32 = 256;

/// How many of the highest pieces are looked at closer: where a constant is the best one, peaks are alike.
const CLOSER: usize = 3;

/// The smallest and the largest value of `f` over `range`, each as (where, value).
///
/// Even pieces, then golden section about the best: exact to rounding where `f` has no more than one turning point within two
/// pieces. What is no number is passed over.
pub fn peaks(f: impl Fn(f64) -> f64, range: [f64; 2]) -> [(f64, f64); 2] {
    [-1.0, 1.0].map(|side| {
        let (at, value) = highest(&|x| side * f(x), range);
        (at, side * value)
    })
}

fn highest(f: &dyn Fn(f64) -> f64, [from, to]: [f64; 2]) -> (f64, f64) {
    let step = (to - from) / f64::from(PIECES);
    let at = |k: u32| if k == PIECES { to } else { from + step * f64::from(k) };
    let points: Vec<(f64, f64)> =
        (0..=PIECES).map(|k| (at(k), f(at(k)))).filter(|(_, value)| !value.is_nan()).collect();
    let value = |k: usize| points.get(k).map_or(f64::NEG_INFINITY, |point| point.1);
    let stands_out = |k: &usize| {
        let before = k.checked_sub(1).map_or(f64::NEG_INFINITY, &value);
        value(*k) > before && value(*k) >= value(k + 1)
    };
    let mut tops: Vec<(f64, f64)> =
        (0..points.len()).filter(stands_out).filter_map(|k| points.get(k).copied()).collect();
    tops.sort_by(|x, y| y.1.total_cmp(&x.1));
    let closer = |top: (f64, f64)| {
        let (low, high) = ((top.0 - step).max(from), (top.0 + step).min(to));
        let refined = golden(f, [low, high], STEPS);
        if refined.1 > top.1 { refined } else { top }
    };
    tops.into_iter()
        .take(CLOSER)
        .map(closer)
        .fold((from, f64::NEG_INFINITY), |best, one| if one.1 > best.1 { one } else { best })
}

/// Narrowing steps: the golden section's share to the power of these is below the root of the digits.
const STEPS: u32 = 44;

/// The largest value between two places with one peak in between, as (where, value), by that many steps of the golden
/// section; anything before what is no number.
pub fn golden(f: &dyn Fn(f64) -> f64, [mut low, mut high]: [f64; 2], steps: u32) -> (f64, f64) {
    let share = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut x, mut y) = (high - share * (high - low), low + share * (high - low));
    let (mut fx, mut fy) = (f(x), f(y));
    for _ in 0..steps {
        if fx >= fy {
            (high, y, fy) = (y, x, fx);
            x = high - share * (high - low);
            fx = f(x);
        } else {
            (low, x, fx) = (x, y, fy);
            y = low + share * (high - low);
            fy = f(y);
        }
    }
    if fy > fx || fx.is_nan() { (y, fy) } else { (x, fx) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_and_turning_points_are_both_found() {
        let [low, high] = peaks(|x: f64| x.sin(), [0.0, 3.0]);
        assert!(low.0.abs() < 1e-300 && low.1.abs() < 1e-300);
        assert!(
            (high.0 - std::f64::consts::FRAC_PI_2).abs() < 1e-7 && (high.1 - 1.0).abs() < 1e-15
        );
    }

    /// Between two pieces the second peak is the higher one, by less than the pieces tell.
    #[test]
    fn of_two_peaks_that_are_nearly_alike_the_higher_is_found() {
        let middle = 100.5 / f64::from(PIECES);
        let f = |x: f64| if x > 0.9 { x - 1.0 } else { 1e-9 - (x - middle).powi(2) };
        let [_, high] = peaks(f, [0.0, 1.0]);
        assert!((high.1 - 1e-9).abs() < 1e-15 && (high.0 - middle).abs() < 1e-7, "{high:?}");
    }

    #[test]
    fn what_is_no_number_is_passed_over() {
        let [low, high] = peaks(|x| if x > 0.5 { f64::NAN } else { x }, [0.0, 1.0]);
        assert!(low.1.abs() < 1e-300 && (high.1 - 0.5).abs() < 4e-3);
    }
}
