//! "45 +0.02/-0.05 mm": a size with its tolerance, as on the drawing.

use super::fault::Fault;
use super::number::{self, Decimal};
use super::quantity::{in_si, no_number, unit_of};
use super::text::clipped;
use super::unit::{Unit, UnitKind};

/// A size as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// The nominal size, m or rad.
    pub nominal: f64,
    /// The tolerance, where one is drawn.
    pub tolerance: Option<Tolerance>,
}

/// A tolerance as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// What it says.
    pub deviation: Deviation,
    /// As written: `±0.05 mm`, `ISO 2768-f`, `IT9`.
    pub written: String,
}

/// What a drawn tolerance says about the size.
#[derive(Clone, Debug, PartialEq)]
pub enum Deviation {
    /// Signed deviations from the nominal size, m or rad, `lower <= upper`.
    Limits {
        /// Lower deviation.
        lower: f64,
        /// Upper deviation.
        upper: f64,
    },
    /// A class of ISO 2768-1: `f`, `m`, `c` or `v`; what it means goes by the size.
    General(char),
    /// A grade of ISO 286-1, `IT5`…`IT12`, half of it to each side; what it means goes by the size.
    Grade(u8),
}

/// Reads a size of the kind wanted (length or angle) with the tolerance that it may carry.
///
/// The unit may stand once behind everything, or behind the size and behind the tolerance. `±` may be typed
/// `+/-`; of two deviations the larger is the upper one, in whichever order they stand.
///
/// # Errors
///
/// Those of [`super::quantity`], for the size and for the tolerance, and tolerances that cannot be read.
///
/// # Examples
///
/// ```
/// use unloop::units::{Deviation, UnitKind, dimension};
/// let rocker = dimension("45 +0.02/-0.05 mm", UnitKind::Length).unwrap();
/// assert_eq!(rocker.nominal, 0.045);
/// assert_eq!(rocker.tolerance.unwrap().deviation, Deviation::Limits { lower: -5e-5, upper: 2e-5 });
/// ```
pub fn dimension(text: &str, kind: UnitKind) -> Result<Dimension, Fault> {
    let (number, rest) = number::split(text).map_err(|fault| no_number(text, fault, kind))?;
    let Some(at) = tolerance_start(rest) else {
        let nominal = in_si(text, &number, unit_of(text, rest, kind)?)?;
        return Ok(Dimension { nominal, tolerance: None });
    };
    let (own_unit, drawn) = (rest.get(..at).unwrap_or("").trim(), rest.get(at..).unwrap_or(""));
    let (tolerance, tolerance_unit) = read_tolerance(text, drawn, kind)?;
    let unit = match (own_unit.is_empty(), tolerance_unit) {
        (true, Some(unit)) => unit,
        _ => unit_of(text, own_unit, kind)?,
    };
    Ok(Dimension { nominal: in_si(text, &number, unit)?, tolerance: Some(tolerance) })
}

/// Reads a tolerance that stands alone: `±0.1 mm`, `+0.02/-0.05 mm`, `ISO 2768-f`, `IT9`.
///
/// # Errors
///
/// Where the text is no tolerance, or lacks its unit.
pub fn tolerance(text: &str, kind: UnitKind) -> Result<Tolerance, Fault> {
    read_tolerance(text, text.trim(), kind).map(|(tolerance, _)| tolerance)
}

/// How deviations are written.
const HOW: &str = "write the tolerance as \"±0.1 mm\" or \"+0.02/-0.05 mm\"";

/// Where the tolerance starts in what follows the number.
fn tolerance_start(rest: &str) -> Option<usize> {
    let mut after_space = true;
    for (at, c) in rest.char_indices() {
        let figure = matches!(c, '+' | '-' | '\u{2212}' | '±');
        let word = rest.get(at..).is_some_and(is_standard);
        if figure || (after_space && (c.is_ascii_digit() || word)) {
            return Some(at);
        }
        after_space = c.is_whitespace();
    }
    None
}

fn is_standard(text: &str) -> bool {
    let head: String = text.chars().take(3).flat_map(char::to_uppercase).collect();
    head == "ISO" || (head.starts_with("IT") && head.ends_with(|c: char| c.is_ascii_digit()))
}

fn read_tolerance(
    whole: &str,
    text: &str,
    kind: UnitKind,
) -> Result<(Tolerance, Option<Unit>), Fault> {
    let written = text.trim();
    let (deviation, unit) = if is_standard(written) {
        (from_standard(written, kind)?, None)
    } else {
        let (limits, unit) = limits(whole, written, kind)?;
        (limits, Some(unit))
    };
    Ok((Tolerance { deviation, written: written.to_owned() }, unit))
}

fn from_standard(text: &str, kind: UnitKind) -> Result<Deviation, Fault> {
    if kind != UnitKind::Length {
        let label = "these tables are for lengths";
        return Err(Fault::new("has a tolerance that does not fit", label, "write \"±0.5 deg\""));
    }
    let grade = text.strip_prefix("IT").and_then(|grade| grade.parse().ok());
    match grade {
        Some(grade @ 5..=12) => Ok(Deviation::Grade(grade)),
        Some(_) => Err(unread(text, "the grades IT5 to IT12 are known, such as \"IT9\"")),
        None => general_class(text).map(Deviation::General),
    }
}

fn general_class(text: &str) -> Result<char, Fault> {
    let class =
        text.strip_prefix("ISO").map(str::trim_start).and_then(|rest| rest.strip_prefix("2768"));
    let class = class.map(|rest| rest.trim_start_matches(['-', ' ', '\u{2010}', '\u{2013}']));
    let mut letters = class.unwrap_or("").chars();
    match (letters.next(), letters.next()) {
        (Some(letter @ ('f' | 'm' | 'c' | 'v')), None) => Ok(letter),
        _ => Err(unread(
            text,
            "write \"ISO 2768-f\", \"-m\", \"-c\" or \"-v\", a grade \"IT5\" to \"IT12\", or \"±0.1 mm\"",
        )),
    }
}

fn unread(text: &str, help: &str) -> Fault {
    let label = format!("\"{}\" is no tolerance known here", clipped(text));
    Fault::new("has a tolerance that cannot be read", label, help)
}

fn limits(whole: &str, text: &str, kind: UnitKind) -> Result<(Deviation, Unit), Fault> {
    let both = text.strip_prefix('±').or_else(|| text.strip_prefix("+/-"));
    match both {
        Some(half) => symmetric(whole, half, kind),
        None => two_sided(whole, text, kind),
    }
}

fn symmetric(text: &str, half: &str, kind: UnitKind) -> Result<(Deviation, Unit), Fault> {
    let (number, rest) = number_at(text, half, kind)?;
    let unit = unit_of(text, rest, kind)?;
    let half = in_si(text, &number, unit)?;
    if half < 0.0 {
        return Err(unread(text, "the figure behind ± carries no sign"));
    }
    Ok((Deviation::Limits { lower: -half, upper: half }, unit))
}

fn two_sided(whole: &str, text: &str, kind: UnitKind) -> Result<(Deviation, Unit), Fault> {
    let parts = text.split_once('/');
    let (first, second) = parts.ok_or_else(|| unread(text, HOW))?;
    let (first, first_unit) = number_at(whole, first, kind)?;
    let (second, rest) = number_at(whole, second, kind)?;
    let unit = unit_of(whole, rest, kind)?;
    let own = if first_unit.is_empty() { unit } else { unit_of(whole, first_unit, kind)? };
    let (a, b) = (in_si(whole, &first, own)?, in_si(whole, &second, unit)?);
    Ok((Deviation::Limits { lower: a.min(b), upper: a.max(b) }, unit))
}

fn number_at<'t>(text: &str, part: &'t str, kind: UnitKind) -> Result<(Decimal, &'t str), Fault> {
    number::split(part).map_err(|fault| match fault {
        number::NumberFault::Missing => unread(text, HOW),
        other => no_number(text, other, kind),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (f64, Option<Deviation>) {
        let dimension = dimension(text, UnitKind::Length).unwrap();
        (dimension.nominal, dimension.tolerance.map(|tolerance| tolerance.deviation))
    }

    fn limits(lower: f64, upper: f64) -> Option<Deviation> {
        Some(Deviation::Limits { lower, upper })
    }

    #[test]
    fn a_size_without_a_tolerance_has_none() {
        assert_eq!(read("300 mm"), (0.3, None));
        assert_eq!(read("1.5e1 mm"), (0.015, None));
    }

    #[test]
    fn a_symmetric_tolerance_may_be_typed_either_way() {
        for text in
            ["300 ±0.1 mm", "300 +/-0.1 mm", "300±0.1mm", "300 mm ±0.1 mm", "300 mm +/- 100 um"]
        {
            assert_eq!(read(text), (0.3, limits(-1e-4, 1e-4)), "{text}");
        }
    }

    #[test]
    fn two_deviations_stand_in_either_order_and_may_have_one_sign() {
        assert_eq!(read("45 +0.02/-0.05 mm"), (0.045, limits(-5e-5, 2e-5)));
        assert_eq!(read("45 -0.05/+0.02 mm"), (0.045, limits(-5e-5, 2e-5)));
        assert_eq!(read("45 mm 0/-0.05 mm"), (0.045, limits(-5e-5, 0.0)));
        assert_eq!(read("45 -0.02/-0.05 mm"), (0.045, limits(-5e-5, -2e-5)));
        assert_eq!(read("45 0/\u{2212}0.05 mm"), (0.045, limits(-5e-5, 0.0)));
    }

    #[test]
    fn classes_and_grades_are_kept_for_the_tables() {
        assert_eq!(read("300 mm ISO 2768-f"), (0.3, Some(Deviation::General('f'))));
        assert_eq!(read("300 mm IT9"), (0.3, Some(Deviation::Grade(9))));
    }

    #[test]
    fn a_tolerance_keeps_how_it_was_written() {
        let drawn = dimension("300 mm ±0.1 mm", UnitKind::Length).unwrap();
        assert_eq!(drawn.tolerance.unwrap().written, "±0.1 mm");
    }

    #[test]
    fn a_tolerance_may_stand_alone() {
        let alone = tolerance("±0.05 mm", UnitKind::Length).unwrap();
        assert_eq!(Some(alone.deviation), limits(-5e-5, 5e-5));
        assert!(tolerance("0.05 mm", UnitKind::Length).is_err());
        assert!(tolerance("", UnitKind::Length).is_err());
    }

    #[test]
    fn a_negative_angle_may_carry_a_tolerance() {
        let zero = dimension("-90 ±0.5 deg", UnitKind::Angle).unwrap();
        assert!(zero.nominal < 0.0 && zero.tolerance.is_some());
    }

    #[test]
    fn what_is_no_tolerance_is_refused() {
        for text in [
            "300 ±0.1",
            "300 mm ±0.1",
            "300 mm ISO 2768-x",
            "300 mm ISO 2768-mK",
            "300 mm IT4",
            "300 mm IT99",
            "300 ± mm",
            "300 ±-0.1 mm",
            "300 ISO 2768-f",
            "300 mm +0.1 mm",
            "300 mm H7",
            "300 +0,1/-0,2 mm",
            "300 ±nan mm",
            "300 ±0.1 deg",
            "300 mm 5",
            "300 mm ISO",
            "1/2 in",
        ] {
            assert!(dimension(text, UnitKind::Length).is_err(), "{text}");
        }
        assert!(dimension("90 deg IT7", UnitKind::Angle).is_err());
    }
}
