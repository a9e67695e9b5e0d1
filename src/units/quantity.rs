//! "45 mm": a number and its unit.

use super::fault::Fault;
use super::number::{self, Decimal, NumberFault};
use super::text::clipped;
use super::unit::{self, Unit, UnitKind};

/// Reads one quantity of the kind wanted, in SI.
///
/// # Errors
///
/// A bare number, a unit of another kind, an unknown unit, a decimal comma, a figure that is not finite, or a
/// text that is no number at all.
///
/// # Examples
///
/// ```
/// use unloop::units::{UnitKind, quantity};
/// assert_eq!(quantity("45 mm", UnitKind::Length), Ok(0.045));
/// assert_eq!(quantity("45", UnitKind::Length).unwrap_err().summary, "has no unit");
/// ```
pub fn quantity(text: &str, kind: UnitKind) -> Result<f64, Fault> {
    let (number, rest) = number::split(text).map_err(|fault| no_number(text, fault, kind))?;
    finite(text, unit_of(text, rest, kind)?.to_si(&number))
}

/// The unit that `rest` names, of the kind wanted; `text` is the whole, for the message.
pub(super) fn unit_of(text: &str, rest: &str, kind: UnitKind) -> Result<Unit, Fault> {
    if rest.is_empty() {
        return Err(bare(text, kind));
    }
    match unit::named(rest) {
        Some(unit) if unit.kind == kind => Ok(unit),
        Some(unit) => Err(wrong_kind(unit, kind)),
        None => Err(unknown(text, rest, kind)),
    }
}

/// The SI value of `number` in `unit`, where it is finite.
pub(super) fn in_si(text: &str, number: &Decimal, unit: Unit) -> Result<f64, Fault> {
    finite(text, unit.to_si(number))
}

fn finite(text: &str, value: f64) -> Result<f64, Fault> {
    if value.is_finite() {
        return Ok(value);
    }
    let summary = format!("is too large: {}", clipped(text));
    Err(Fault::new(summary, "beyond every figure that can be computed with", "check the exponent"))
}

fn bare(text: &str, kind: UnitKind) -> Fault {
    let label = format!("{} needs its unit", kind.noun());
    let suggestion = format!("{} {}", clipped(text.trim()), kind.usual_unit());
    let help = match percent(text).filter(|_| kind == UnitKind::Share) {
        Some(percent) => format!("write \"{percent} %\", or \"{suggestion}\" if that is meant"),
        None => format!("write \"{suggestion}\"{}", others(kind)),
    };
    Fault::no_unit(label, help)
}

/// The share 0.02 in percent.
fn percent(text: &str) -> Option<String> {
    let percent = number::split(text).ok()?.0.times_power_of_ten(2);
    (percent.abs() < 100.0).then(|| super::text::number(percent))
}

/// What else a bare number may have meant.
fn others(kind: UnitKind) -> String {
    let units = kind.units();
    if units == kind.usual_unit() {
        String::new()
    } else {
        format!(", if that is the unit meant; {units} fit here")
    }
}

fn wrong_kind(unit: Unit, kind: UnitKind) -> Fault {
    let noun = kind.noun();
    let label = format!("\"{}\" is the unit of {}", unit.name, unit.kind.noun());
    Fault::new(format!("is not {noun}"), label, format!("give {noun} in {}", kind.units()))
}

/// A number is never put beside another unit than its own unless it is converted.
fn unknown(text: &str, rest: &str, kind: UnitKind) -> Fault {
    let figure = text.trim().strip_suffix(rest).unwrap_or("").trim_end();
    let fitting = format!("give {} in {}", kind.noun(), kind.units());
    let (label, help) = match unit::foreign_named(rest) {
        Some(unit) if unit.kind != kind => {
            (format!("\"{}\" is the unit of {}", clipped(rest), unit.kind.noun()), fitting)
        }
        Some(unit) => (not_taken(rest), converted(figure, unit.usual, kind).unwrap_or(fitting)),
        None => (not_taken(rest), named_otherwise(figure, rest, kind).unwrap_or(fitting)),
    };
    Fault::new("has an unknown unit", label, help)
}

fn not_taken(rest: &str) -> String {
    format!("\"{}\" is no unit known here", clipped(rest))
}

/// The figure in the usual unit of its kind, where it is a single number.
fn converted(figure: &str, usual: f64, kind: UnitKind) -> Option<String> {
    let (number, rest) = number::split(figure).ok()?;
    let value = number.times_power_of_ten(0) * usual;
    let text = super::text::digits(value, 9);
    let sound = rest.is_empty() && value.is_finite();
    sound.then(|| format!("write \"{text} {}\"{}", kind.usual_unit(), fitting_too(kind)))
}

fn named_otherwise(figure: &str, rest: &str, kind: UnitKind) -> Option<String> {
    if let Some(name) = unit::spelt_otherwise(rest, kind) {
        return Some(format!("write \"{figure} {name}\"{}", fitting_too(kind)));
    }
    let name = unit::nearest(rest, kind)?;
    let fitting = fitting_too(kind);
    let listed = fitting.strip_prefix(';').unwrap_or("");
    Some(format!("did you mean \"{name}\"?{listed}"))
}

fn fitting_too(kind: UnitKind) -> String {
    let units = kind.units();
    if units == kind.usual_unit() { String::new() } else { format!("; {units} fit here") }
}

/// The fault of a text whose number cannot be read.
pub(super) fn no_number(text: &str, fault: NumberFault, kind: UnitKind) -> Fault {
    match fault {
        NumberFault::Comma => comma(text),
        NumberFault::NotFinite => {
            Fault::new("is not finite", "a finite figure is needed", "write the figure itself")
        }
        NumberFault::Malformed => Fault::new(
            "is not a number",
            "digits, one decimal point, then the unit",
            "write it without further points, commas or underscores",
        ),
        NumberFault::Missing => Fault::new(
            format!("is not {}", kind.noun()),
            "a number and its unit are needed",
            format!("such as \"45 {}\"", kind.usual_unit()),
        ),
    }
}

fn comma(text: &str) -> Fault {
    let point = clipped(text.trim()).replace(',', ".");
    let help = format!("write \"{point}\"; thousands are written without a mark");
    Fault::new("has a decimal comma", "the decimal sign is a point here", help)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn si(text: &str, kind: UnitKind) -> f64 {
        quantity(text, kind).unwrap()
    }

    fn close(text: &str, kind: UnitKind, value: f64) {
        assert_eq!(si(text, kind).to_bits(), value.to_bits(), "{text}");
    }

    // Factors: the SI brochure (9th edition) and ISO 80000-3; the inch is 25.4 mm exactly.
    #[test]
    fn every_unit_comes_out_in_si() {
        use UnitKind as K;
        let rows = [
            ("0.1 mm", K::Length, 1e-4),
            ("4.5 cm", K::Length, 0.045),
            ("0.3 m", K::Length, 0.3),
            ("1 in", K::Length, 0.0254),
            ("20 um", K::Length, 2e-5),
            ("20 µm", K::Length, 2e-5),
            ("180 deg", K::Angle, std::f64::consts::PI),
            ("1.5 rad", K::Angle, 1.5),
            ("2 mrad", K::Angle, 0.002),
            ("0.08 kg", K::Mass, 0.08),
            ("80 g", K::Mass, 0.08),
            ("1.5e-4 kg m2", K::Inertia, 1.5e-4),
            ("20000 g mm2", K::Inertia, 2e-5),
            ("60 N m", K::Torque, 60.0),
            ("14000 N mm", K::Torque, 14.0),
            ("60Nm", K::Torque, 60.0),
            ("250 mNm", K::Torque, 0.25),
            ("0.9 kg cm2", K::Inertia, 0.9e-4),
            ("1500 g cm2", K::Inertia, 1.5e-4),
            ("150 kg mm2", K::Inertia, 1.5e-4),
            ("1.5e-4 kgm²", K::Inertia, 1.5e-4),
            ("0.02 Nms/rad", K::Damping, 0.02),
            ("80 Nm/rad", K::Stiffness, 80.0),
            ("30 1/min", K::AngularSpeed, std::f64::consts::PI),
            ("0.5 rev/s", K::AngularSpeed, std::f64::consts::PI),
            ("10800 arcmin", K::Angle, std::f64::consts::PI),
            ("12 N", K::Force, 12.0),
            ("20 rad/s", K::AngularSpeed, 20.0),
            ("30 rpm", K::AngularSpeed, std::f64::consts::PI),
            ("180 deg/s", K::AngularSpeed, std::f64::consts::PI),
            ("0.02 N m s/rad", K::Damping, 0.02),
            ("80 N m/rad", K::Stiffness, 80.0),
            ("69 GPa", K::Stress, 69e9),
            ("240 MPa", K::Stress, 240e6),
            ("2 %", K::Share, 0.02),
            ("2%", K::Share, 0.02),
            ("3 rad/s2", K::AngularAcceleration, 3.0),
            ("180 deg/s2", K::AngularAcceleration, std::f64::consts::PI),
            ("9.81 m/s2", K::Acceleration, 9.81),
        ];
        for (text, kind, value) in rows {
            close(text, kind, value);
        }
    }

    #[test]
    fn a_bare_number_is_told_which_units_fit() {
        let fault = quantity("212", UnitKind::Length).unwrap_err();
        assert_eq!(fault.summary, "has no unit");
        assert_eq!(
            fault.help,
            "write \"212 mm\", if that is the unit meant; mm, cm, m, in or um fit here"
        );
    }

    #[test]
    fn a_unit_of_another_kind_is_named() {
        let fault = quantity("45 deg", UnitKind::Length).unwrap_err();
        assert_eq!(fault.summary, "is not a length");
        assert_eq!(fault.label, "\"deg\" is the unit of an angle");
    }

    #[test]
    fn an_unknown_unit_is_told_the_nearest() {
        let help = |text, kind| quantity(text, kind).unwrap_err().help;
        let meant = "did you mean \"N m\"? N m, N mm or mN m fit here";
        assert_eq!(help("60 N n", UnitKind::Torque), meant);
        let meant = "write \"90 deg\"; deg, rad, mrad or arcmin fit here";
        assert_eq!(help("90 degrees", UnitKind::Angle), meant);
    }

    // Factors by hand from the definitions: a gon is 0.9 deg (ISO 80000-3), a foot 304.8 mm, a pound-force inch
    // 0.112 984 829 N m (NIST Special Publication 811, appendix B.8).
    #[test]
    fn a_unit_that_is_not_taken_is_converted_and_never_swapped() {
        let help = |text, kind| quantity(text, kind).unwrap_err().help;
        for (text, kind, written) in [
            ("20 grad", UnitKind::Angle, "write \"18 deg\";"),
            ("1 ft", UnitKind::Length, "write \"304.8 mm\";"),
            ("12 lbf-in", UnitKind::Torque, "write \"1.35581795 N m\";"),
            ("3 kN m", UnitKind::Torque, "write \"3000 N m\";"),
            ("210000 N/mm2", UnitKind::Stress, "write \"210 GPa\";"),
            ("1e400 ft", UnitKind::Length, "give a length"),
            ("20 grad", UnitKind::Length, "give a length"),
            ("240 mPa", UnitKind::Stress, "did you mean \"MPa\"?"),
        ] {
            assert!(help(text, kind).starts_with(written), "{text}: {}", help(text, kind));
        }
    }

    #[test]
    fn a_decimal_comma_gets_a_hint() {
        let fault = quantity("300,1 mm", UnitKind::Length).unwrap_err();
        assert_eq!(fault.summary, "has a decimal comma");
        assert_eq!(fault.help, "write \"300.1 mm\"; thousands are written without a mark");
    }

    #[test]
    fn figures_that_are_not_finite_are_refused() {
        for text in ["nan mm", "inf mm", "-Infinity mm", "1e400 mm", "1e306 m2"] {
            assert!(quantity(text, UnitKind::Length).is_err(), "{text}");
        }
        assert!(quantity("1e308 rpm", UnitKind::AngularSpeed).is_err());
    }

    #[test]
    fn an_empty_text_is_no_quantity() {
        assert_eq!(quantity("", UnitKind::Mass).unwrap_err().summary, "is not a mass");
    }
}
