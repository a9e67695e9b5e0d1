//! The units that a design file may use, and the kinds of quantity that they measure.

use super::number::Decimal;

/// A kind of quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitKind {
    /// m
    Length,
    /// rad
    Angle,
    /// kg
    Mass,
    /// kg m²
    Inertia,
    /// N m
    Torque,
    /// N
    Force,
    /// rad/s
    AngularSpeed,
    /// N m s/rad
    Damping,
    /// N m/rad
    Stiffness,
    /// Pa
    Stress,
    /// 1 (a share, written in %)
    Share,
    /// rad/s²
    AngularAcceleration,
    /// m/s²
    Acceleration,
}

impl UnitKind {
    /// The kind with its article: "a length".
    #[must_use]
    pub fn noun(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Mass => "a mass",
            Self::Inertia => "a moment of inertia",
            Self::Torque => "a torque",
            Self::Force => "a force",
            Self::AngularSpeed => "an angular speed",
            Self::Damping => "a damping",
            Self::Stiffness => "a torsional stiffness",
            Self::Stress => "a stress or modulus",
            Self::Share => "a percentage",
            Self::AngularAcceleration => "an angular acceleration",
            Self::Acceleration => "an acceleration",
        }
    }

    /// The units that fit, "mm, cm, m, in or um".
    #[must_use]
    pub fn units(self) -> String {
        let names: Vec<&str> = of_kind(self).map(|unit| unit.name).collect();
        match names.split_last() {
            Some((last, [])) => (*last).to_owned(),
            Some((last, before)) => format!("{} or {last}", before.join(", ")),
            None => String::new(),
        }
    }

    /// The unit to suggest first.
    #[must_use]
    pub fn usual_unit(self) -> &'static str {
        of_kind(self).next().map_or("", |unit| unit.name)
    }
}

/// How a figure in the unit becomes SI.
#[derive(Clone, Copy, Debug)]
enum Scale {
    /// Times 10^n.
    PowerOfTen(i32),
    /// Times a whole number of degrees.
    Degrees(f64),
    /// A sixtieth of a degree (ISO 80000-3).
    Minute,
    /// Times 254/10 000, an inch (ISO 80000-3).
    Inch,
}

/// One unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unit {
    /// As written in a design file.
    pub(super) name: &'static str,
    /// What it measures.
    pub(super) kind: UnitKind,
    scale: Scale,
}

const fn unit(name: &'static str, kind: UnitKind, scale: Scale) -> Unit {
    Unit { name, kind, scale }
}

/// Every unit; within a kind the most usual first.
const UNITS: [Unit; 33] = [
    unit("mm", UnitKind::Length, Scale::PowerOfTen(-3)),
    unit("cm", UnitKind::Length, Scale::PowerOfTen(-2)),
    unit("m", UnitKind::Length, Scale::PowerOfTen(0)),
    unit("in", UnitKind::Length, Scale::Inch),
    unit("um", UnitKind::Length, Scale::PowerOfTen(-6)),
    unit("deg", UnitKind::Angle, Scale::Degrees(1.0)),
    unit("rad", UnitKind::Angle, Scale::PowerOfTen(0)),
    unit("mrad", UnitKind::Angle, Scale::PowerOfTen(-3)),
    unit("arcmin", UnitKind::Angle, Scale::Minute),
    unit("kg", UnitKind::Mass, Scale::PowerOfTen(0)),
    unit("g", UnitKind::Mass, Scale::PowerOfTen(-3)),
    unit("kg m2", UnitKind::Inertia, Scale::PowerOfTen(0)),
    unit("kg cm2", UnitKind::Inertia, Scale::PowerOfTen(-4)),
    unit("kg mm2", UnitKind::Inertia, Scale::PowerOfTen(-6)),
    unit("g cm2", UnitKind::Inertia, Scale::PowerOfTen(-7)),
    unit("g mm2", UnitKind::Inertia, Scale::PowerOfTen(-9)),
    unit("N m", UnitKind::Torque, Scale::PowerOfTen(0)),
    unit("N mm", UnitKind::Torque, Scale::PowerOfTen(-3)),
    unit("mN m", UnitKind::Torque, Scale::PowerOfTen(-3)),
    unit("N", UnitKind::Force, Scale::PowerOfTen(0)),
    unit("rad/s", UnitKind::AngularSpeed, Scale::PowerOfTen(0)),
    unit("rpm", UnitKind::AngularSpeed, Scale::Degrees(6.0)),
    unit("1/min", UnitKind::AngularSpeed, Scale::Degrees(6.0)),
    unit("rev/s", UnitKind::AngularSpeed, Scale::Degrees(360.0)),
    unit("deg/s", UnitKind::AngularSpeed, Scale::Degrees(1.0)),
    unit("N m s/rad", UnitKind::Damping, Scale::PowerOfTen(0)),
    unit("N m/rad", UnitKind::Stiffness, Scale::PowerOfTen(0)),
    unit("GPa", UnitKind::Stress, Scale::PowerOfTen(9)),
    unit("MPa", UnitKind::Stress, Scale::PowerOfTen(6)),
    unit("%", UnitKind::Share, Scale::PowerOfTen(-2)),
    unit("rad/s2", UnitKind::AngularAcceleration, Scale::PowerOfTen(0)),
    unit("deg/s2", UnitKind::AngularAcceleration, Scale::Degrees(1.0)),
    unit("m/s2", UnitKind::Acceleration, Scale::PowerOfTen(0)),
];

/// Spellings of data sheets that are read as the unit beside them.
const ALSO_READ: [(&str, &str); 11] = [
    ("Nm", "N m"),
    ("Nmm", "N mm"),
    ("mNm", "mN m"),
    ("kgm2", "kg m2"),
    ("kgcm2", "kg cm2"),
    ("kgmm2", "kg mm2"),
    ("gcm2", "g cm2"),
    ("gmm2", "g mm2"),
    ("Nms/rad", "N m s/rad"),
    ("Nm s/rad", "N m s/rad"),
    ("Nm/rad", "N m/rad"),
];

/// Words for a unit, known only to name how it is written.
const SPELT_OTHERWISE: [(&str, &str); 17] = [
    ("degree", "deg"),
    ("degrees", "deg"),
    ("radian", "rad"),
    ("radians", "rad"),
    ("millimeter", "mm"),
    ("millimeters", "mm"),
    ("millimetre", "mm"),
    ("millimetres", "mm"),
    ("meter", "m"),
    ("metre", "m"),
    ("inch", "in"),
    ("inches", "in"),
    ("\"", "in"),
    ("micron", "um"),
    ("revs/s", "rev/s"),
    ("r/min", "rpm"),
    ("percent", "%"),
];

/// A unit that no design file takes: its figures are converted for the help.
#[derive(Clone, Copy, Debug)]
pub(super) struct Foreign {
    /// As people write it.
    name: &'static str,
    /// What it measures.
    pub(super) kind: UnitKind,
    /// How many of the usual unit of its kind it is.
    pub(super) usual: f64,
}

const fn foreign(name: &'static str, kind: UnitKind, usual: f64) -> Foreign {
    Foreign { name, kind, usual }
}

/// Factors: the SI brochure (9th edition), NIST Special Publication 811 (2008), appendix B; the pound is 0.453 592 37 kg,
/// the standard fall 9.806 65 m/s2, the inch 25.4 mm, all exactly.
const FOREIGN: [Foreign; 43] = [
    foreign("nm", UnitKind::Length, 1e-6),
    foreign("dm", UnitKind::Length, 100.0),
    foreign("km", UnitKind::Length, 1e6),
    foreign("mil", UnitKind::Length, 0.0254),
    foreign("thou", UnitKind::Length, 0.0254),
    foreign("ft", UnitKind::Length, 304.8),
    foreign("yd", UnitKind::Length, 914.4),
    foreign("grad", UnitKind::Angle, 0.9),
    foreign("gon", UnitKind::Angle, 0.9),
    foreign("rev", UnitKind::Angle, 360.0),
    foreign("turn", UnitKind::Angle, 360.0),
    foreign("turns", UnitKind::Angle, 360.0),
    foreign("arcsec", UnitKind::Angle, 1.0 / 3600.0),
    foreign("mg", UnitKind::Mass, 1e-6),
    foreign("t", UnitKind::Mass, 1000.0),
    foreign("lb", UnitKind::Mass, 0.453_592_37),
    foreign("oz", UnitKind::Mass, 0.453_592_37 / 16.0),
    foreign("lb in2", UnitKind::Inertia, 0.453_592_37 * 0.0254 * 0.0254),
    foreign("lb ft2", UnitKind::Inertia, 0.453_592_37 * 0.3048 * 0.3048),
    foreign("oz in2", UnitKind::Inertia, 0.453_592_37 / 16.0 * 0.0254 * 0.0254),
    foreign("kN m", UnitKind::Torque, 1000.0),
    foreign("N cm", UnitKind::Torque, 0.01),
    foreign("kgf m", UnitKind::Torque, 9.806_65),
    foreign("kgf cm", UnitKind::Torque, 0.098_066_5),
    foreign("kg cm", UnitKind::Torque, 0.098_066_5),
    foreign("lbf ft", UnitKind::Torque, 0.453_592_37 * 9.806_65 * 0.3048),
    foreign("lbf in", UnitKind::Torque, 0.453_592_37 * 9.806_65 * 0.0254),
    foreign("ozf in", UnitKind::Torque, 0.453_592_37 / 16.0 * 9.806_65 * 0.0254),
    foreign("oz in", UnitKind::Torque, 0.453_592_37 / 16.0 * 9.806_65 * 0.0254),
    foreign("kN", UnitKind::Force, 1000.0),
    foreign("kgf", UnitKind::Force, 9.806_65),
    foreign("lbf", UnitKind::Force, 0.453_592_37 * 9.806_65),
    foreign("rad/min", UnitKind::AngularSpeed, 1.0 / 60.0),
    foreign("deg/min", UnitKind::AngularSpeed, std::f64::consts::PI / 10_800.0),
    foreign("krpm", UnitKind::AngularSpeed, std::f64::consts::PI * 100.0 / 3.0),
    foreign("N m s/deg", UnitKind::Damping, 180.0 / std::f64::consts::PI),
    foreign("N m/(rad/s)", UnitKind::Damping, 1.0),
    foreign("N m/deg", UnitKind::Stiffness, 180.0 / std::f64::consts::PI),
    foreign("Pa", UnitKind::Stress, 1e-9),
    foreign("kPa", UnitKind::Stress, 1e-6),
    foreign("bar", UnitKind::Stress, 1e-4),
    foreign("N/mm2", UnitKind::Stress, 1e-3),
    foreign("psi", UnitKind::Stress, 0.453_592_37 * 9.806_65 / (0.0254 * 0.0254) * 1e-9),
];

impl Unit {
    /// The number in SI: one rounding for powers of ten, one more for the others.
    pub(super) fn to_si(self, number: &Decimal) -> f64 {
        match self.scale {
            Scale::PowerOfTen(power) => number.times_power_of_ten(power),
            Scale::Degrees(degrees) => radians(number.times_power_of_ten(0) * degrees),
            Scale::Minute => radians(number.times_power_of_ten(0) / 60.0),
            Scale::Inch => number.times_power_of_ten(0) * 254.0 / 10_000.0,
        }
    }
}

/// Degrees to radians with π/180 in two parts, so that whole fractions of a turn come out nearest.
fn radians(degrees: f64) -> f64 {
    const HIGH: f64 = 0.017_453_292_519_943_295;
    const LOW: f64 = 2.948_652_270_870_168_7e-19;
    if degrees.is_finite() { libm::fma(degrees, HIGH, degrees * LOW) } else { degrees }
}

fn of_kind(kind: UnitKind) -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().filter(move |unit| unit.kind == kind)
}

/// The unit of this name. `µm`, `°`, `²`, `^2`, `·` and `*` are read as their plain spelling.
pub(super) fn named(text: &str) -> Option<Unit> {
    let plain = plain(text);
    let also = ALSO_READ.iter().find(|(other, _)| *other == plain).map(|(_, name)| *name);
    let name = also.unwrap_or(&plain);
    UNITS.iter().find(|unit| unit.name == name).copied()
}

/// The unit of this name that no design file takes.
pub(super) fn foreign_named(text: &str) -> Option<Foreign> {
    let wanted = without_spaces(&plain(text).replace('-', " "));
    FOREIGN.into_iter().find(|unit| without_spaces(unit.name) == wanted)
}

fn plain(text: &str) -> String {
    let text = text.replace(['\u{b5}', '\u{3bc}'], "u").replace('°', "deg");
    let text = text.replace('²', "2").replace("^2", "2").replace(['·', '*', '\u{22c5}'], " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn without_spaces(text: &str) -> String {
    text.split_whitespace().collect()
}

/// The unit of this kind that a word stands for: "degrees" is deg.
pub(super) fn spelt_otherwise(text: &str, kind: UnitKind) -> Option<&'static str> {
    let wanted = small(text);
    let (_, name) = SPELT_OTHERWISE.iter().find(|(other, _)| *other == wanted)?;
    of_kind(kind).any(|unit| unit.name == *name).then_some(name)
}

/// The unit of the kind wanted whose name is nearest to a name that nobody knows: a question, never an answer.
pub(super) fn nearest(text: &str, kind: UnitKind) -> Option<&'static str> {
    let wanted = small(text);
    let mut near: Vec<_> =
        of_kind(kind).map(|unit| (distance(unit.name, &wanted), unit.name)).collect();
    near.sort_by_key(|(distance, _)| *distance);
    near.first().filter(|(distance, name)| *distance < name.len().min(3)).map(|(_, name)| *name)
}

fn small(text: &str) -> String {
    plain(text).chars().take(24).flat_map(char::to_lowercase).collect()
}

fn distance(name: &str, wanted: &str) -> usize {
    strsim::damerau_levenshtein(&name.to_lowercase(), wanted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, FRAC_PI_3, FRAC_PI_4, FRAC_PI_6, PI};

    #[test]
    fn whole_fractions_of_a_turn_are_the_nearest_floats() {
        for (degrees, exact) in [
            (180.0, PI),
            (90.0, FRAC_PI_2),
            (60.0, FRAC_PI_3),
            (45.0, FRAC_PI_4),
            (30.0, FRAC_PI_6),
        ] {
            assert_eq!(radians(degrees).to_bits(), f64::to_bits(exact), "{degrees} deg");
        }
    }

    #[test]
    fn typographic_spellings_are_read_as_plain_ones() {
        for (text, name) in
            [("µm", "um"), ("kg m²", "kg m2"), ("N·m", "N m"), ("kg*m^2", "kg m2"), ("°", "deg")]
        {
            assert_eq!(named(text).unwrap().name, name);
        }
    }

    #[test]
    fn a_misspelt_unit_finds_the_nearest_of_its_kind() {
        assert_eq!(nearest("MM", UnitKind::Length), Some("mm"));
        assert_eq!(nearest("nm", UnitKind::Torque), Some("N m"));
        assert_eq!(spelt_otherwise("Degrees", UnitKind::Angle), Some("deg"));
        assert_eq!(spelt_otherwise("degrees", UnitKind::Length), None);
        assert_eq!(nearest("furlong", UnitKind::Length), None);
    }

    #[test]
    fn the_units_of_a_kind_are_listed_in_words() {
        assert_eq!(UnitKind::Length.units(), "mm, cm, m, in or um");
        assert_eq!(UnitKind::Share.units(), "%");
    }
}
