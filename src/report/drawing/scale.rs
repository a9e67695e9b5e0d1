//! Round figures along an axis.

/// Round figures in `low`…`high`, about `wanted` of them, and the decimals that tell them apart.
pub(super) fn ticks([low, high]: [f64; 2], wanted: f64) -> (Vec<f64>, usize) {
    let step = round_step((high - low) / wanted.max(1.0));
    if !(step > 0.0 && step.is_finite() && (high - low) / step < 100.0) {
        return (Vec::new(), 0);
    }
    let mut found = Vec::new();
    let mut count = (low / step - 1e-9).ceil();
    while count * step <= high + 1e-9 * step {
        found.push(count * step);
        count += 1.0;
    }
    (found, decimals(step))
}

/// The smallest of 1, 2, 5 times a power of ten that is at least about `rough`.
fn round_step(rough: f64) -> f64 {
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().find(|step| step * power >= 0.9 * rough);
    step.unwrap_or(10.0) * power
}

fn decimals(step: f64) -> usize {
    let (mut rest, mut decimals) = (step, 0);
    while rest < 1.0 - 1e-9 && decimals < 12 {
        rest *= 10.0;
        decimals += 1;
    }
    decimals
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fixed;

    #[test]
    fn ticks_are_round_and_lie_inside() {
        let (found, decimals) = ticks([-35.0, 40.0], 6.0);
        let shown: Vec<String> = found.iter().map(|x| fixed(*x, decimals)).collect();
        assert_eq!(shown, ["-20", "0", "20", "40"]);
        let (found, decimals) = ticks([0.978, 1.022], 5.0);
        let shown: Vec<String> = found.iter().map(|x| fixed(*x, decimals)).collect();
        assert_eq!(shown, ["0.98", "0.99", "1.00", "1.01", "1.02"]);
    }

    #[test]
    fn an_empty_or_endless_range_has_no_ticks() {
        for range in [[1.0, 1.0], [0.0, f64::INFINITY], [f64::NAN, 1.0]] {
            assert!(ticks(range, 5.0).0.is_empty(), "{range:?}");
        }
    }
}
