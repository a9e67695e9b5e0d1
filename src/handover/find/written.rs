//! Figures and names as a design file has them.

/// Thirteen digits: what lies behind them is rounding of the file's own poses.
pub(super) fn rounded(x: f64) -> f64 {
    format!("{x:.12e}").parse::<f64>().unwrap_or(x) + 0.0
}

pub(super) fn millimetres(x: f64) -> String {
    format!("{} mm", without_dust(rounded(x * 1e3)))
}

pub(super) fn degrees(x: f64) -> String {
    format!("{} deg", without_dust(rounded(x.to_degrees())))
}

/// Small figures with a power of ten.
pub(super) fn short(x: f64) -> String {
    let x = rounded(x);
    if x.abs() < 1e-3 && x.abs() > 0.0 { format!("{x:e}") } else { format!("{x}") }
}

pub(super) fn without_dust(x: f64) -> f64 {
    if x.abs() < 1e-11 { 0.0 } else { x }
}

/// A basic string of TOML; JSON's escapes are among TOML's.
pub(super) fn quoted(text: &str) -> String {
    serde_json::to_string(text).unwrap_or_default().replace('\u{7f}', "\\u007F")
}

/// Rotor turns per output turn that stand for a gearbox whose ratio the file does not give: so many that of the rotor
/// nothing but the armature is left, as in the file. Its coupling with the carrier is a millionth of that.
pub(crate) const GEAR: f64 = 1e6;
