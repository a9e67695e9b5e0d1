//! The decimal number at the head of a quantity.

/// A decimal number as written, not yet rounded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Decimal {
    /// Sign, digits and point, ASCII.
    mantissa: String,
    /// The power of ten written behind it, 0 where none is.
    exponent: i64,
}

/// Why there is no number at the head of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NumberFault {
    /// Nothing that looks like a number.
    Missing,
    /// `nan`, `inf`.
    NotFinite,
    /// A comma where the decimal point belongs.
    Comma,
    /// Digits go on where the unit should start: two points, underscores.
    Malformed,
}

impl Decimal {
    /// The `f64` nearest to the number times 10^`power`: one rounding. Infinite where it is too large.
    pub(super) fn times_power_of_ten(&self, power: i32) -> f64 {
        let exponent =
            self.exponent.saturating_add(i64::from(power)).clamp(-99_999_999, 99_999_999);
        format!("{}e{exponent}", self.mantissa).parse().unwrap_or(f64::NAN)
    }
}

/// Splits `text` into the number at its head and what follows, both trimmed.
///
/// # Errors
///
/// Where no finite decimal number stands at the head.
pub(super) fn split(text: &str) -> Result<(Decimal, &str), NumberFault> {
    let text = text.trim();
    let (sign, body) = split_sign(text);
    let whole = digits(body);
    let fraction = fraction(body.get(whole..).unwrap_or(""));
    let mantissa = body.get(..whole + fraction).unwrap_or("");
    if !mantissa.contains(|c: char| c.is_ascii_digit()) {
        return Err(without_digits(body));
    }
    let (exponent, rest) = split_exponent(body.get(whole + fraction..).unwrap_or(""));
    refuse_more_digits(rest)?;
    Ok((Decimal { mantissa: format!("{sign}{mantissa}"), exponent }, rest.trim_start()))
}

fn split_sign(text: &str) -> (&'static str, &str) {
    if let Some(body) = text.strip_prefix(['-', '\u{2212}']) {
        ("-", body)
    } else {
        ("", text.strip_prefix('+').unwrap_or(text))
    }
}

fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// Bytes of ".123"; 0 where there is no point.
fn fraction(text: &str) -> usize {
    text.strip_prefix('.').map_or(0, |after| 1 + digits(after))
}

fn split_exponent(text: &str) -> (i64, &str) {
    let Some(after) = text.strip_prefix(['e', 'E']) else {
        return (0, text);
    };
    let signed = usize::from(after.starts_with(['+', '-']));
    let count = digits(after.get(signed..).unwrap_or(""));
    if count == 0 {
        return (0, text);
    }
    let (figure, rest) = after.split_at(signed + count);
    let beyond = if figure.starts_with('-') { i64::MIN } else { i64::MAX };
    (figure.parse().unwrap_or(beyond), rest)
}

fn without_digits(body: &str) -> NumberFault {
    let word: String = body.chars().take(3).flat_map(char::to_lowercase).collect();
    match word.as_str() {
        "nan" | "inf" => NumberFault::NotFinite,
        _ => NumberFault::Missing,
    }
}

fn refuse_more_digits(rest: &str) -> Result<(), NumberFault> {
    let mut after = rest.chars();
    match (after.next(), after.next()) {
        (Some(','), Some(digit)) if digit.is_ascii_digit() => Err(NumberFault::Comma),
        (Some('.' | '_' | ','), _) => Err(NumberFault::Malformed),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, power: i32) -> f64 {
        split(text).unwrap().0.times_power_of_ten(power)
    }

    #[test]
    fn a_power_of_ten_is_folded_in_before_the_one_rounding() {
        assert_eq!(value("0.1", -3).to_bits(), 1e-4_f64.to_bits());
        assert_eq!(value("300.1", -3).to_bits(), 0.3001_f64.to_bits());
        assert_eq!(value("1.5e-4", -9).to_bits(), 1.5e-13_f64.to_bits());
        assert_eq!(value(".5", 0).to_bits(), 0.5_f64.to_bits());
        assert_eq!(value("5.", 0).to_bits(), 5.0_f64.to_bits());
        assert_eq!(value("\u{2212}2E+1", 0).to_bits(), (-20.0_f64).to_bits());
    }

    #[test]
    fn an_exponent_beyond_every_integer_is_infinite_or_zero() {
        assert!(value("1e99999999999999999999", -3).is_infinite());
        assert!(value("1e-99999999999999999999", -3).abs() < f64::MIN_POSITIVE);
    }

    #[test]
    fn what_is_no_number_says_which_way_it_is_none() {
        assert_eq!(split("mm"), Err(NumberFault::Missing));
        assert_eq!(split(""), Err(NumberFault::Missing));
        assert_eq!(split("-inf mm"), Err(NumberFault::NotFinite));
        assert_eq!(split("NaN deg"), Err(NumberFault::NotFinite));
        assert_eq!(split("300,1 mm"), Err(NumberFault::Comma));
        assert_eq!(split("1.2.3 mm"), Err(NumberFault::Malformed));
        assert_eq!(split("1_000 mm"), Err(NumberFault::Malformed));
    }

    #[test]
    fn an_e_without_digits_belongs_to_the_unit() {
        assert_eq!(split("3 e").unwrap().1, "e");
        assert_eq!(split("3em").unwrap().1, "em");
    }
}
