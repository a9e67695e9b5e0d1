//! ISO 286-2: how loosely a pin sits in its bore.

use super::grade::UP_TO_MM;
use super::{OutsideTable, column, metres};

/// A tolerance class of a bore.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "the classes are named as in the standard")]
pub enum Hole {
    H7,
    H8,
}

/// A tolerance class of a pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs, reason = "the classes are named as in the standard")]
pub enum Shaft {
    F7,
    G6,
    H6,
}

/// A bore and a pin, `H7/g6`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fit {
    /// The bore.
    pub hole: Hole,
    /// The pin.
    pub shaft: Shaft,
}

impl Hole {
    /// Lower and upper deviation, µm, one pair a range.
    fn row(self) -> [[i32; 2]; 5] {
        match self {
            Self::H7 => [[0, 10], [0, 12], [0, 15], [0, 18], [0, 21]],
            Self::H8 => [[0, 14], [0, 18], [0, 22], [0, 27], [0, 33]],
        }
    }

    fn named(text: &str) -> Option<Self> {
        [(Self::H7, "H7"), (Self::H8, "H8")].into_iter().find(|row| row.1 == text).map(|row| row.0)
    }
}

impl Shaft {
    /// Lower and upper deviation, µm, one pair a range.
    fn row(self) -> [[i32; 2]; 5] {
        match self {
            Self::F7 => [[-16, -6], [-22, -10], [-28, -13], [-34, -16], [-41, -20]],
            Self::G6 => [[-8, -2], [-12, -4], [-14, -5], [-17, -6], [-20, -7]],
            Self::H6 => [[-6, 0], [-8, 0], [-9, 0], [-11, 0], [-13, 0]],
        }
    }

    fn named(text: &str) -> Option<Self> {
        let classes = [(Self::F7, "f7"), (Self::G6, "g6"), (Self::H6, "h6")];
        classes.into_iter().find(|row| row.1 == text).map(|row| row.0)
    }
}

impl Fit {
    /// The fit of this name, `H7/g6`: bores H7, H8, pins f7, g6, h6. `None` for any other.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        let (hole, shaft) = text.split_once('/')?;
        Some(Self { hole: Hole::named(hole.trim())?, shaft: Shaft::named(shaft.trim())? })
    }

    /// The smallest and the largest diametral clearance at a nominal diameter in metres, in metres.
    ///
    /// # Errors
    ///
    /// Where the diameter is not over 0 up to and including 30 mm.
    ///
    /// # Source
    ///
    /// ISO 286-2, deviations for H7, H8, f7, g6, h6; public reproductions, single wrong cells in four of them
    /// resolved against the deviation formulas.
    ///
    /// # Examples
    ///
    /// ```
    /// use unloop::standards::Fit;
    /// assert_eq!(Fit::named("H7/g6").unwrap().clearance(0.006), Ok([4e-6, 24e-6]));
    /// ```
    pub fn clearance(self, diameter: f64) -> Result<[f64; 2], OutsideTable> {
        let outside = || OutsideTable {
            table: "the table of fits (ISO 286-2)".to_owned(),
            size: diameter,
            range: [0.0, 0.03],
            from_inclusive: false,
        };
        let (bore, pin) =
            self.deviations(diameter).filter(|_| diameter > 0.0).ok_or_else(outside)?;
        let ([bore_low, bore_high], [pin_low, pin_high]) = (bore, pin);
        Ok([metres(bore_low - pin_high), metres(bore_high - pin_low)])
    }

    fn deviations(self, diameter: f64) -> Option<([i32; 2], [i32; 2])> {
        let column = column(&UP_TO_MM, diameter)?;
        Some((*self.hole.row().get(column)?, *self.shaft.row().get(column)?))
    }
}
