//! Held against figures from outside the project.

use toml::Table;
use unloop::linkage::{Branch, Closure, FourBar, Transfer};
use unloop::numeric::Polynomial;

/// `tests/data/check-values-maps.toml`: worked out by circles and by half angles with 25 digits; Chebyshev interpolants
/// sampled at 4000 poses.
fn cases() -> Vec<Table> {
    let text = std::fs::read_to_string("tests/data/check-values-maps.toml").unwrap();
    let table: Table = text.parse().unwrap();
    table["case"].as_array().unwrap().iter().map(|case| case.as_table().unwrap().clone()).collect()
}

fn number(case: &Table, part: &str, key: &str) -> Option<f64> {
    let value = case[part].as_table()?.get(key)?;
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64))
}

fn branch(case: &Table) -> Branch {
    let of = |key: &str| number(case, "inputs", key).unwrap();
    let bars = FourBar { ground: of("g"), crank: of("a"), coupler: of("b"), rocker: of("c") };
    Branch::through(bars, of("crank_zero_deg").to_radians(), Closure::Open).unwrap()
}

#[test]
fn joint_turns_ratios_and_the_way_back_are_those_of_the_check_values() {
    let mut seen = 0;
    for case in cases() {
        let (Some(turn), Some(joint)) =
            (number(&case, "inputs", "motor_turn"), number(&case, "exact", "joint_turn"))
        else {
            continue;
        };
        let there = Transfer::ToJoint(branch(&case));
        let back = Transfer::ToMotor(branch(&case).exchanged().unwrap());
        let rate = branch(&case).pose(turn).unwrap().velocity_ratio();
        assert!((there.at(turn).unwrap() - joint).abs() < 1e-12);
        assert!((back.at(joint).unwrap() - turn).abs() < 1e-12);
        assert!((rate - number(&case, "exact", "velocity_ratio").unwrap()).abs() < 1e-12);
        seen += 1;
    }
    assert_eq!(seen, 5);
}

#[test]
fn chebyshev_interpolants_err_by_as_much_as_the_check_values_say() {
    let mut seen = 0;
    for case in cases() {
        let Some(degree) = number(&case, "inputs", "degree") else { continue };
        let [from, to] = [-40.34_f64, 62.41].map(f64::to_radians);
        let there = Transfer::ToJoint(branch(&case));
        let turn = |t: f64| 0.5 * (from + to) + 0.5 * (to - from) * t;
        let fit = Polynomial::interpolating(|t| there.at(turn(t)).unwrap(), degree as u32);
        let worst = (0..=4000)
            .map(|k| (f64::from(k) * std::f64::consts::PI / 4000.0).cos())
            .map(|t| (fit.at(t) - there.at(turn(t)).unwrap()).abs())
            .fold(0.0, f64::max);
        let wanted = number(&case, "exact", "error").unwrap();
        assert!((worst / wanted - 1.0).abs() < 0.02, "{degree}: {worst:e} {wanted:e}");
        seen += 1;
    }
    assert_eq!(seen, 3);
}
