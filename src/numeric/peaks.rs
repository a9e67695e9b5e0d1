//! The smallest and the largest value of a smooth function of one variable.

use super::even::evenly;

/// Pieces that the range is looked at in.
const PIECES: u32 = 256;

/// How many of the highest pieces are looked at closer: where a constant is the best one, peaks are alike.
const CLOSER: usize = 3;

/// The smallest and the largest value of `f` over `range`, each as (where, value).
///
/// Even pieces, looked at once for both, then a closer look about the best: exact to rounding where `f` has no more than one
/// turning point within two pieces. What is no number is passed over.
pub fn peaks(f: impl Fn(f64) -> f64, range: [f64; 2]) -> [(f64, f64); 2] {
    let points: Vec<(f64, f64)> =
        evenly(range, PIECES).map(|x| (x, f(x))).filter(|(_, value)| !value.is_nan()).collect();
    [-1.0, 1.0].map(|side| {
        let points: Vec<(f64, f64)> = points.iter().map(|(x, y)| (*x, side * y)).collect();
        let (at, value) = highest(&|x| side * f(x), &points, range);
        (at, side * value)
    })
}

/// The largest value of `f`, of which `points` are known.
fn highest(f: &dyn Fn(f64) -> f64, points: &[(f64, f64)], [from, to]: [f64; 2]) -> (f64, f64) {
    let step = (to - from) / f64::from(PIECES);
    let point = |k: Option<usize>| k.and_then(|k| points.get(k)).copied();
    let value = |k: Option<usize>| point(k).map_or(f64::NEG_INFINITY, |point| point.1);
    let stands_out = |k: &usize| {
        value(Some(*k)) > value(k.checked_sub(1)) && value(Some(*k)) >= value(Some(k + 1))
    };
    let mut tops: Vec<usize> = (0..points.len()).filter(stands_out).collect();
    tops.sort_by(|k, other| value(Some(*other)).total_cmp(&value(Some(*k))));
    let closer = |k: usize| {
        let top = point(Some(k))?;
        let within = [(top.0 - step).max(from), (top.0 + step).min(to)];
        let beside = [k.checked_sub(1), Some(k + 1)].map(|k| point(k).unwrap_or(top));
        Some(summit(f, within, [top, beside[0], beside[1]]))
    };
    tops.into_iter()
        .take(CLOSER)
        .filter_map(closer)
        .fold((from, f64::NEG_INFINITY), |best, one| if one.1 > best.1 { one } else { best })
}

/// Of a bracket about a peak this share is left at last: its square is below the digits.
const LEFT: f64 = 1e-7;

/// Looks at a peak, at most; the golden section alone takes fewer.
const LOOKS: u32 = 50;

/// The share of a stretch that the golden section leaves out.
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// The largest value between two places with one peak in between, as (where, value), from three points of which the first is the
/// highest.
///
/// # Source
/// R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 5: the parabola through the three best points
/// where it closes in, else the golden section.
fn summit(
    f: &dyn Fn(f64) -> f64,
    [mut low, mut high]: [f64; 2],
    [mut best, mut second, mut third]: [(f64, f64); 3],
) -> (f64, f64) {
    let least = LEFT * (high - low);
    // The last step and the one before it.
    let (mut last, mut before) = (high - low, high - low);
    for _ in 0..LOOKS {
        if high - low <= 4.0 * least {
            break;
        }
        let wider = if best.0 - low > high - best.0 { low } else { high } - best.0;
        let by_parabola = crest(best, second, third).filter(|step| {
            step.abs() < 0.5 * before.abs() && best.0 + step > low && best.0 + step < high
        });
        let is_far = |step: f64| {
            let at = best.0 + step;
            step.abs() > least && at - low > 2.0 * least && high - at > 2.0 * least
        };
        (before, last) = match by_parabola {
            Some(step) if is_far(step) => (last, step),
            // Just beyond the crest, on the side that is still open.
            Some(_) => (last, least.copysign(wider)),
            None => (wider, GOLDEN * wider),
        };
        let at = best.0 + last;
        let value = f(at);
        let next = (at, if value.is_nan() { f64::NEG_INFINITY } else { value });
        let (inner, outer) = if next.1 >= best.1 { (next, best) } else { (best, next) };
        if outer.0 < inner.0 {
            low = outer.0
        } else {
            high = outer.0
        }
        if next.1 >= best.1 {
            (best, second, third) = (next, best, second);
        } else if next.1 >= second.1 {
            (second, third) = (next, second);
        } else if next.1 >= third.1 {
            third = next;
        }
    }
    best
}

/// How far from the first point the parabola through three has its crest; `None` where it has none.
fn crest((x, fx): (f64, f64), (v, fv): (f64, f64), (w, fw): (f64, f64)) -> Option<f64> {
    let (r, q) = ((x - w) * (fx - fv), (x - v) * (fx - fw));
    let step = 0.5 * ((x - w) * r - (x - v) * q) / (q - r);
    step.is_finite().then_some(step)
}

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
    fn peaks_are_told_in_few_looks() {
        for middle in [0.3, 0.0, 1.0] {
            let looks = std::cell::Cell::new(0);
            let f = |x: f64| {
                looks.set(looks.get() + 1);
                (x - middle).cos()
            };
            let [_, high] = peaks(f, [0.0, 1.0]);
            assert!((high.1 - 1.0).abs() < 1e-15 && (high.0 - middle).abs() < 1e-8, "{high:?}");
            // The golden section alone takes twice as many about the three tops of both sides.
            assert!(looks.get() < PIECES + 60, "{middle} {}", looks.get());
        }
    }

    #[test]
    fn the_tip_of_a_kink_is_found() {
        let middle = 0.3003;
        let [_, high] = peaks(|x: f64| -(x - middle).abs() * (1.0 + x), [0.0, 1.0]);
        assert!(high.1 > -1e-9 && (high.0 - middle).abs() < 1e-9, "{high:?}");
    }

    #[test]
    fn what_is_no_number_is_passed_over() {
        let [low, high] = peaks(|x| if x > 0.5 { f64::NAN } else { x }, [0.0, 1.0]);
        assert!(low.1.abs() < 1e-300 && (high.1 - 0.5).abs() < 4e-3);
    }
}
