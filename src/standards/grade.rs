//! ISO 286-1: standard tolerance grades.

use super::{OutsideTable, column, metres};

/// Upper bounds of the ranges, mm; the first starts over 0.
pub(super) const UP_TO_MM: [i32; 13] = [3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500];

/// The grade's values, µm, one a range.
fn row(grade: u8) -> Option<[i32; 13]> {
    match grade {
        5 => Some([4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27]),
        6 => Some([6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40]),
        7 => Some([10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63]),
        8 => Some([14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97]),
        9 => Some([25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155]),
        10 => Some([40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250]),
        11 => Some([60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400]),
        12 => Some([100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630]),
        _ => None,
    }
}

/// The width of the tolerance zone IT`grade` for a size of `size` metres, in metres.
///
/// # Errors
///
/// Where the grade is not IT5…IT12 or the size is not over 0 up to and including 500 mm.
///
/// # Source
///
/// ISO 286-1, standard tolerance grades; public reproductions agree; the last two values of IT12 are from
/// memory. The table is shipped: the formula i = 0.45 D^(1/3) + 0.001 D with its rounding gives only 78 of
/// these 104 cells.
///
/// # Examples
///
/// ```
/// use unloop::standards::grade;
/// assert_eq!(grade(9, 0.3), Ok(130e-6));
/// ```
pub fn grade(grade: u8, size: f64) -> Result<f64, OutsideTable> {
    let value = column(&UP_TO_MM, size).and_then(|column| row(grade)?.get(column).copied());
    let outside = || OutsideTable {
        table: format!("ISO 286-1 grade IT{grade}"),
        size,
        range: if row(grade).is_some() { [0.0, 0.5] } else { [0.0, 0.0] },
        from_inclusive: false,
    };
    value.filter(|_| size > 0.0).map(metres).ok_or_else(outside)
}
