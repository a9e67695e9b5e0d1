//! ISO 2768-1: tolerances of lengths for which the drawing names a class only.

use super::{OutsideTable, column, metres};

/// A tolerance class for linear dimensions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GeneralClass {
    /// f
    Fine,
    /// m
    Medium,
    /// c
    Coarse,
    /// v
    VeryCoarse,
}

/// Upper bounds of the ranges, mm; the first starts at 0.5 mm, inclusive.
const UP_TO_MM: [i32; 8] = [3, 6, 30, 120, 400, 1000, 2000, 4000];

/// The first bound of the table, mm: smaller sizes carry their deviations on the drawing.
const FROM: f64 = 0.5e-3;

impl GeneralClass {
    /// The class of this letter: `f`, `m`, `c` or `v`.
    #[must_use]
    pub fn from_letter(letter: char) -> Option<Self> {
        match letter {
            'f' => Some(Self::Fine),
            'm' => Some(Self::Medium),
            'c' => Some(Self::Coarse),
            'v' => Some(Self::VeryCoarse),
            _ => None,
        }
    }

    /// The class's letter.
    #[must_use]
    pub fn letter(self) -> char {
        match self {
            Self::Fine => 'f',
            Self::Medium => 'm',
            Self::Coarse => 'c',
            Self::VeryCoarse => 'v',
        }
    }

    /// ± deviations, µm, one a range; `None` where the standard has no value.
    fn row(self) -> [Option<i32>; 8] {
        match self {
            Self::Fine => {
                [Some(50), Some(50), Some(100), Some(150), Some(200), Some(300), Some(500), None]
            }
            Self::Medium => [100, 100, 200, 300, 500, 800, 1200, 2000].map(Some),
            Self::Coarse => [200, 300, 500, 800, 1200, 2000, 3000, 4000].map(Some),
            Self::VeryCoarse => [
                None,
                Some(500),
                Some(1000),
                Some(1500),
                Some(2500),
                Some(4000),
                Some(6000),
                Some(8000),
            ],
        }
    }

    /// Where the class has values, m.
    fn range(self) -> [f64; 2] {
        match self {
            Self::Fine => [FROM, 2.0],
            Self::Medium | Self::Coarse => [FROM, 4.0],
            Self::VeryCoarse => [3e-3, 4.0],
        }
    }
}

/// The ± deviation of a length of `size` metres, in metres.
///
/// # Errors
///
/// Where the class has no value for the size.
///
/// # Source
///
/// ISO 2768-1, table 1, linear dimensions; four public reproductions agree, but for class c below 6 mm, where
/// two older sheets print the DIN 7168 values 0.15 and 0.2 mm.
///
/// # Examples
///
/// ```
/// use unloop::standards::{GeneralClass, general_tolerance};
/// assert_eq!(general_tolerance(GeneralClass::Fine, 0.3), Ok(0.2e-3));
/// ```
pub fn general_tolerance(class: GeneralClass, size: f64) -> Result<f64, OutsideTable> {
    let value =
        column(&UP_TO_MM, size).and_then(|column| class.row().get(column).copied().flatten());
    let outside = || OutsideTable {
        table: format!("ISO 2768-1 class {}", class.letter()),
        size,
        range: class.range(),
        from_inclusive: class != GeneralClass::VeryCoarse,
    };
    value.filter(|_| size >= FROM).map(metres).ok_or_else(outside)
}
