//! The shipped tables, cell by cell, against the copy kept in `tests/data/tables.toml` with its sources.

use toml::de::{DeTable, DeValue};
use unloop::standards::{Fit, GeneralClass, general_tolerance, grade};

const TABLES: &str = include_str!("../data/tables.toml");

fn cells(value: &DeValue<'_>) -> Vec<f64> {
    match value {
        DeValue::Array(array) => array.iter().flat_map(|cell| cells(cell.get_ref())).collect(),
        DeValue::Integer(cell) => vec![cell.as_str().parse().unwrap()],
        DeValue::Float(cell) => vec![cell.as_str().parse().unwrap()],
        other => panic!("not a table of numbers: {other:?}"),
    }
}

fn row(table: &str, name: &str) -> Vec<f64> {
    let tables = DeTable::parse(TABLES).unwrap().into_inner();
    let DeValue::Table(table) = tables.get(table).unwrap().get_ref() else { panic!("{table}") };
    cells(table.get(name).unwrap().get_ref())
}

fn ranges(table: &str) -> Vec<(f64, f64)> {
    row(table, "range_over_to_mm").chunks(2).map(|range| (range[0], range[1])).collect()
}

/// Sizes in metres inside one range of the table: just over its lower bound, in the middle, its upper bound.
fn sizes((over, to): (f64, f64)) -> [f64; 3] {
    [(over / 1e3).next_up(), (over + to) / 2e3, to / 1e3]
}

fn same(found: f64, wanted: f64) -> bool {
    (found - wanted).abs() <= 1e-12
}

// ISO 2768-1, table 1 (source line in the data file).
#[test]
fn every_cell_of_iso_2768_is_the_tables() {
    for letter in ['f', 'm', 'c', 'v'] {
        let class = GeneralClass::from_letter(letter).unwrap();
        assert_eq!(class.letter(), letter);
        let row = row("iso2768_1_linear", &format!("{letter}_plus_minus_mm"));
        for (range, cell) in ranges("iso2768_1_linear").into_iter().zip(row) {
            for size in sizes(range) {
                match general_tolerance(class, size) {
                    Ok(found) => {
                        assert!(same(found, cell / 1e3), "{letter} {size}: {found} {cell}")
                    }
                    Err(_) => assert!(cell < 0.0, "{letter} {size}: no value, table has {cell}"),
                }
            }
        }
    }
}

// ISO 286-1, standard tolerance grades (source line in the data file).
#[test]
fn every_cell_of_iso_286_is_the_tables() {
    for it in 5..=12 {
        let row = row("iso286_it", &format!("IT{it}_um"));
        for (range, cell) in ranges("iso286_it").into_iter().zip(row) {
            for size in sizes(range) {
                assert!(same(grade(it, size).unwrap(), cell / 1e6), "IT{it} {size}");
            }
        }
    }
}

// ISO 286-2; the clearances are the table's own, not bore less pin.
#[test]
fn every_clearance_of_a_fit_is_the_tables() {
    for (fit, name) in [
        ("H7/g6", "clearance_H7_g6_um"),
        ("H7/f7", "clearance_H7_f7_um"),
        ("H8/f7", "clearance_H8_f7_um"),
        ("H7/h6", "clearance_H7_h6_um"),
    ] {
        let fit = Fit::named(fit).unwrap();
        for (range, cell) in ranges("fits_3_30").into_iter().zip(row("fits_3_30", name).chunks(2)) {
            for size in sizes(range) {
                let [least, most] = fit.clearance(size).unwrap();
                assert!(same(least, cell[0] / 1e6) && same(most, cell[1] / 1e6), "{name} {size}");
            }
        }
    }
}

#[test]
fn every_clearance_is_bore_less_pin() {
    for (hole, shaft) in
        [("H7", "f7"), ("H7", "g6"), ("H7", "h6"), ("H8", "f7"), ("H8", "g6"), ("H8", "h6")]
    {
        let fit = Fit::named(&format!("{hole}/{shaft}")).unwrap();
        let (bores, pins) =
            (row("fits_3_30", &format!("{hole}_um")), row("fits_3_30", &format!("{shaft}_um")));
        let columns = bores.chunks(2).zip(pins.chunks(2));
        for (range, (bore, pin)) in ranges("fits_3_30").into_iter().zip(columns) {
            let [least, most] = fit.clearance(range.1 / 1e3).unwrap();
            assert!(same(least, (bore[0] - pin[1]) / 1e6), "{hole}/{shaft}");
            assert!(same(most, (bore[1] - pin[0]) / 1e6), "{hole}/{shaft}");
        }
    }
}

#[test]
fn a_bound_belongs_to_the_range_below_it() {
    assert_eq!(general_tolerance(GeneralClass::Medium, 0.03), Ok(0.2e-3));
    assert_eq!(general_tolerance(GeneralClass::Medium, 0.03_f64.next_up()), Ok(0.3e-3));
    assert_eq!(grade(7, 0.003), Ok(10e-6));
    assert_eq!(grade(7, 0.003_f64.next_up()), Ok(12e-6));
}

#[test]
fn half_a_millimetre_is_the_first_size_of_iso_2768() {
    assert_eq!(general_tolerance(GeneralClass::Fine, 0.5e-3), Ok(0.05e-3));
    let below = general_tolerance(GeneralClass::Fine, 0.4e-3).unwrap_err();
    assert_eq!(
        below.to_string(),
        "ISO 2768-1 class f has values from 0.5 mm up to and including 2000 mm"
    );
}

#[test]
fn a_class_without_a_value_says_where_it_has_some() {
    let small = general_tolerance(GeneralClass::VeryCoarse, 2e-3).unwrap_err();
    assert_eq!(
        small.to_string(),
        "ISO 2768-1 class v has values over 3 mm up to and including 4000 mm"
    );
    let large = general_tolerance(GeneralClass::Fine, 3.0).unwrap_err();
    assert_eq!(
        large.to_string(),
        "ISO 2768-1 class f has values from 0.5 mm up to and including 2000 mm"
    );
}

#[test]
fn sizes_outside_a_table_are_refused() {
    let fit = Fit::named("H7/g6").unwrap();
    for size in [0.0, -0.01, 31e-3, f64::NAN, f64::INFINITY] {
        assert!(fit.clearance(size).is_err(), "{size}");
    }
    for size in [0.0, -0.3, 0.501, f64::NAN] {
        assert!(grade(9, size).is_err(), "{size}");
    }
    assert!(grade(4, 0.1).is_err() && grade(13, 0.1).is_err());
    for size in [4.001, f64::NAN, f64::NEG_INFINITY] {
        assert!(general_tolerance(GeneralClass::Coarse, size).is_err(), "{size}");
    }
}

#[test]
fn a_fit_outside_the_table_has_no_name() {
    for text in ["H7", "g6/H7", "H9/f7", "h7/g6", "H7/k6", ""] {
        assert_eq!(Fit::named(text), None, "{text}");
    }
}
