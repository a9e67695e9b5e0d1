//! SI to text for people.

/// `value` with `decimals` digits behind the point, never "-0.00"; "unbounded" where it is infinite.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    if value.is_infinite() {
        return "unbounded".to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.chars().all(|c| matches!(c, '0' | '.')) => zero.to_owned(),
        _ => text,
    }
}

/// [`fixed`] with its unit, but for the word.
fn fixed_with(value: f64, decimals: usize, unit: &str) -> String {
    let text = fixed(value, decimals);
    if value.is_infinite() { text } else { format!("{text} {unit}") }
}

/// What is nothing but rounding, in rad, m or as a share.
const NOTHING: f64 = 1e-12;

/// A figure with two decimals, four below a tenth; what is nothing is "0", what four decimals do not show is below them.
fn readable(value: f64, unit: &str) -> String {
    match value.abs() {
        size if size < 5e-5 => format!("<0.0001 {unit}"),
        size if size < 0.1 => fixed_with(value, 4, unit),
        _ => fixed_with(value, 2, unit),
    }
}

/// Radians as degrees with the digits that people read, "35.00 deg"; four decimals below 0.1 deg.
#[must_use]
pub fn degrees(radians: f64) -> String {
    if radians.abs() < NOTHING { "0 deg".to_owned() } else { readable(radians.to_degrees(), "deg") }
}

/// Radians as degrees with `decimals` digits behind the point, "35.0 deg".
#[must_use]
pub fn angle(radians: f64, decimals: usize) -> String {
    fixed_with(radians.to_degrees(), decimals, "deg")
}

/// A range of radians as degrees, "-35.0…40.0 deg".
#[must_use]
pub fn angles(range: [f64; 2], decimals: usize) -> String {
    let [from, to] = range.map(|end| fixed(end.to_degrees(), decimals));
    format!("{from}…{to} deg")
}

/// Metres as millimetres with three decimals, "0.023 mm": a difference of places.
#[must_use]
pub fn fine_millimetres(metres: f64) -> String {
    if metres.abs() < NOTHING { "0 mm".to_owned() } else { fixed_with(1e3 * metres, 3, "mm") }
}

/// A share in per cent with two decimals, four below a tenth.
#[must_use]
pub fn percent(share: f64) -> String {
    if share.abs() < NOTHING { "0 %".to_owned() } else { readable(100.0 * share, "%") }
}

/// Figures of one column in per cent, with the same decimals: three digits of the largest.
#[must_use]
pub fn percents(shares: &[f64]) -> Vec<String> {
    let percents: Vec<f64> = shares.iter().map(|share| 100.0 * share).collect();
    alike(&percents, "%")
}

/// Figures of one column in `unit`, with the same decimals: three digits of the largest, two decimals at least; what is
/// nothing is 0.
#[must_use]
pub fn alike(values: &[f64], unit: &str) -> Vec<String> {
    let largest =
        values.iter().filter(|x| x.is_finite()).fold(0.0_f64, |most, x| most.max(x.abs()));
    let decimals = (2..6)
        .find(|d| largest * 10_f64.powi(*d) >= 100.0)
        .unwrap_or(if largest >= NOTHING { 6 } else { 2 });
    let decimals = decimals.unsigned_abs() as usize;
    let shown = |x: &f64| {
        if x.abs() < NOTHING { format!("0 {unit}") } else { fixed_with(*x, decimals, unit) }
    };
    values.iter().map(shown).collect()
}

/// From one figure to another in `unit`, with the same decimals: "0.026…0.150 deg".
#[must_use]
pub fn span(ends: [f64; 2], unit: &str) -> String {
    let ends = alike(&ends, unit);
    let figures: Vec<&str> =
        ends.iter().map(|end| end.strip_suffix(unit).unwrap_or(end).trim_end()).collect();
    format!("{} {unit}", figures.join("…"))
}

/// A bare figure with two decimals, none from 100 on, three digits below 0.1: "17.40", "1741", "0.0123".
#[must_use]
pub fn figure(value: f64) -> String {
    match value.abs() {
        size if size >= 100.0 => fixed(value, 0),
        size if !(1e-12..0.1).contains(&size) => fixed(value, 2),
        _ => digits(value, 3),
    }
}

/// Metres as millimetres to the tenth of a micrometre, without trailing zeros: "45.02 mm"; below 0.01 mm in um and from
/// 10 m on in m.
#[must_use]
pub fn millimetres(metres: f64) -> String {
    let size = metres.abs();
    if size >= 10.0 {
        format!("{} m", without_zeros(&fixed(metres, 4)))
    } else if !(1e-14..1e-5).contains(&size) {
        format!("{} mm", without_zeros(&fixed(metres * 1e3, 4)))
    } else {
        format!("{} um", number(metres * 1e6))
    }
}

fn without_zeros(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

/// `x` ≥ 0 with three significant digits, never rounded up: for what may be allowed at most.
#[must_use]
pub fn rounded_down(x: f64) -> f64 {
    if !(x > 0.0 && x.is_finite()) {
        return 0.0;
    }
    let scale = 10_f64.powf(2.0 - x.log10().floor());
    (x * scale).floor() / scale
}

/// `x` > 0 with four significant digits: what a drawing can use.
#[must_use]
pub fn four_digits(x: f64) -> f64 {
    let scale = 10_f64.powf(3.0 - x.log10().floor());
    (x * scale).round() / scale
}

/// A bare figure with up to six significant digits, "0.707107".
#[must_use]
pub fn number(value: f64) -> String {
    digits(value, 6)
}

/// A bare figure with up to `count` significant digits, at least one.
pub(super) fn digits(value: f64, count: usize) -> String {
    let text = format!("{value:.*e}", count.saturating_sub(1));
    text.parse::<f64>().map_or(text, |short| format!("{short}"))
}

/// `text` short enough for a message: at most 40 characters, control characters escaped.
#[must_use]
pub fn clipped(text: &str) -> String {
    let mut short: String = text.chars().take(40).flat_map(visible).collect();
    if text.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}

fn visible(c: char) -> Vec<char> {
    if c.is_control() { c.escape_default().collect() } else { vec![c] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_are_printed_in_degrees() {
        assert_eq!(degrees(35.0_f64.to_radians()), "35.00 deg");
        assert_eq!([0.0, -1e-13, -1e-9].map(degrees), ["0 deg", "0 deg", "<0.0001 deg"]);
        assert_eq!(degrees(0.05_f64.to_radians()), "0.0500 deg");
        assert_eq!(degrees(f64::INFINITY), "unbounded");
        assert_eq!(angles([-0.0, 0.7].map(f64::to_radians), 1), "0.0…0.7 deg");
    }

    #[test]
    fn a_share_of_nothing_is_0_and_a_small_one_has_no_exponent() {
        let shown = [0.0, 0.012_34, -0.2, 1e-6, 1e-9, f64::INFINITY].map(percent);
        assert_eq!(shown, ["0 %", "1.23 %", "-20.00 %", "0.0001 %", "<0.0001 %", "unbounded"]);
    }

    #[test]
    fn figures_of_one_column_have_the_same_decimals() {
        assert_eq!(alike(&[12.0, 0.25, 0.0], "mm"), ["12.00 mm", "0.25 mm", "0 mm"]);
        assert_eq!(alike(&[0.012_34, -0.001], "deg"), ["0.0123 deg", "-0.0010 deg"]);
        assert_eq!(percents(&[0.5, 0.012_34]), ["50.00 %", "1.23 %"]);
        assert_eq!(span([0.0, 0.152], "deg"), "0…0.152 deg");
    }

    #[test]
    fn a_bare_figure_has_the_digits_it_deserves() {
        let shown = [0.0, -1741.4, 60.0, 0.25, 0.012_345].map(figure);
        assert_eq!(shown, ["0.00", "-1741", "60.00", "0.25", "0.0123"]);
    }

    #[test]
    fn lengths_are_printed_in_millimetres_with_the_digits_they_deserve() {
        assert_eq!(millimetres(0.3), "300 mm");
        assert_eq!(millimetres(0.045_02), "45.02 mm");
        assert_eq!(millimetres(-0.0), "0 mm");
        assert_eq!(millimetres(1e-9), "0.001 um");
        assert_eq!(millimetres(1e4), "10000 m");
    }

    #[test]
    fn what_may_be_allowed_is_never_rounded_up() {
        for (x, down) in [(0.158_87, 0.158), (34.375, 34.3), (9.999, 9.99), (1e-6, 1e-6)] {
            assert!((rounded_down(x) - down).abs() <= 1e-3 * down && rounded_down(x) <= x);
        }
        assert_eq!(rounded_down(f64::NAN), 0.0);
    }

    #[test]
    fn long_texts_are_clipped() {
        assert_eq!(clipped(&"x".repeat(50)), format!("{}…", "x".repeat(40)));
        assert_eq!(clipped("a\tb"), "a\\tb");
    }
}
