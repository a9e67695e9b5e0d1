//! Laws of reading quantities: one rounding, no matter how the decimal is written.

use proptest::prelude::*;
use unloop::units::{Deviation, UnitKind, dimension, quantity};

proptest! {
    #[test]
    fn a_figure_in_metres_is_the_float_that_printed_it(value in prop::num::f64::NORMAL | prop::num::f64::SUBNORMAL) {
        let read = quantity(&format!("{value:e} m"), UnitKind::Length).unwrap();
        prop_assert_eq!(read.to_bits(), value.to_bits());
    }

    // The decimal that is meant, rounded by the standard library's reader.
    #[test]
    fn units_that_are_powers_of_ten_round_once(digits in 1_u64..10_000_000_000_000_000_000, point in 0_i32..19) {
        for (unit, kind, power) in [
            ("mm", UnitKind::Length, -3),
            ("cm", UnitKind::Length, -2),
            ("um", UnitKind::Length, -6),
            ("g mm2", UnitKind::Inertia, -9),
            ("GPa", UnitKind::Stress, 9),
            ("%", UnitKind::Share, -2),
        ] {
            let read = quantity(&format!("{digits}e-{point} {unit}"), kind).unwrap();
            let wanted: f64 = format!("{digits}e{}", power - point).parse().unwrap();
            prop_assert_eq!(read.to_bits(), wanted.to_bits());
        }
    }

    #[test]
    fn degrees_are_radians_to_the_last_place(degrees in -1e6_f64..1e6) {
        let read = quantity(&format!("{degrees} deg"), UnitKind::Angle).unwrap();
        prop_assert!((read - degrees.to_radians()).abs() <= 2.0 * f64::EPSILON * read.abs());
    }

    #[test]
    fn two_deviations_mean_the_same_in_either_order(first in -1000_i32..1000, second in -1000_i32..1000) {
        let one = dimension(&format!("45 {first:+}/{second:+} um"), UnitKind::Length).unwrap();
        let other = dimension(&format!("45 {second:+}/{first:+} um"), UnitKind::Length).unwrap();
        let (one, other) = (one.tolerance.unwrap().deviation, other.tolerance.unwrap().deviation);
        prop_assert_eq!(&one, &other);
        if let Deviation::Limits { lower, upper } = one {
            prop_assert!(lower <= upper);
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,40}") {
        for kind in [UnitKind::Length, UnitKind::Angle, UnitKind::Share, UnitKind::Damping] {
            let _ = quantity(&text, kind);
            let _ = dimension(&text, kind);
            let _ = unloop::units::tolerance(&text, kind);
        }
    }

    #[test]
    fn no_text_made_of_the_words_of_the_trade_makes_the_reader_panic(
        words in prop::collection::vec(prop::sample::select(vec![
            "45", "±", "+/-", "-", "+", "/", "0.1", "1e400", ",", ".", " ", "mm", "deg", "ISO 2768", "IT9", "IT", "e", "\u{2212}", "µ",
        ]), 0..9)
    ) {
        let text = words.concat();
        let _ = dimension(&text, UnitKind::Length);
        let _ = dimension(&text, UnitKind::Angle);
    }
}
