//! The linkage against worked examples and exact values; the source of each stands in `data/check-values.toml`.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use toml::{Table, Value};
use unloop::linkage::{Branch, Closure, FourBar, Pose, Stroke, Sweep, classify, dead_points};

fn cases(kind: &str) -> Vec<Table> {
    let text = include_str!("../data/check-values.toml");
    let file: Table = toml::from_str(text).unwrap();
    let cases: Vec<Table> =
        file["case"].as_array().unwrap().iter().map(|c| c.as_table().unwrap().clone()).collect();
    let chosen: Vec<Table> =
        cases.into_iter().filter(|c| c["kind"].as_str() == Some(kind)).collect();
    assert!(!chosen.is_empty(), "no case of kind {kind}");
    chosen
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|i| i as f64)).unwrap()
}

fn numbers(case: &Table, table: &str) -> BTreeMap<String, f64> {
    let Some(Value::Table(table)) = case.get(table) else {
        return BTreeMap::new();
    };
    table.iter().filter(|(_, v)| !v.is_str()).map(|(k, v)| (k.clone(), number(v))).collect()
}

fn bars(inputs: &BTreeMap<String, f64>) -> FourBar {
    FourBar { ground: inputs["d"], crank: inputs["a"], coupler: inputs["b"], rocker: inputs["c"] }
}

/// Holds `ours` to `exact` (1e-9 relative, round-off absolutely) and to `printed` within its own tolerance; angles
/// modulo a turn. Every key of both tables must be answered.
fn hold(case: &Table, ours: &BTreeMap<String, f64>) {
    let id = case["id"].as_str().unwrap();
    let off = |key: &str, a: f64, b: f64| {
        if key.ends_with("_deg") { libm::remainder(a - b, 360.0).abs() } else { (a - b).abs() }
    };
    for (key, &exact) in &numbers(case, "exact") {
        let value = *ours.get(key).unwrap_or_else(|| panic!("{id}: {key} not computed"));
        let room = 1e-9 * exact.abs().max(1.0);
        let room = if exact.abs() < 1e-9 { 1e-9 } else { room.min(1e-9 * exact.abs().max(1e-3)) };
        assert!(off(key, value, exact) <= room, "{id}: {key} = {value}, exact {exact}");
    }
    let tolerance = numbers(case, "tol");
    for (key, &printed) in &numbers(case, "printed") {
        let value = *ours.get(key).unwrap_or_else(|| panic!("{id}: {key} not computed"));
        assert!(
            off(key, value, printed) <= tolerance[key],
            "{id}: {key} = {value}, printed {printed}"
        );
    }
}

fn pose_figures(pose: &Pose, name: &str, omega: f64, alpha: f64, into: &mut BTreeMap<String, f64>) {
    let mut put =
        |key: &str, value: f64| into.insert(format!("{key}_{name}{}", suffix(key)), value);
    put("theta3", pose.coupler_angle().to_degrees());
    put("theta4", pose.rocker_angle().to_degrees());
    put("mu", pose.cosine_at_q().clamp(-1.0, 1.0).acos().to_degrees());
    put("ratio", pose.velocity_ratio());
    put("omega3", omega * pose.coupler_rate());
    put("omega4", omega * pose.velocity_ratio());
    put("alpha3", alpha * pose.coupler_rate() + omega * omega * pose.coupler_rate_slope());
    put("alpha4", alpha * pose.velocity_ratio() + omega * omega * pose.velocity_ratio_slope());
}

fn suffix(key: &str) -> &'static str {
    match key {
        "theta3" | "theta4" | "mu" => "_deg",
        _ => "",
    }
}

#[test]
fn positions_speeds_and_accelerations_match_the_worked_examples() {
    for case in cases("pos") {
        let inputs = numbers(&case, "inputs");
        // Some examples draw the ground line at an angle; all their directions turn with it.
        let ground = inputs.get("ground_deg").copied().unwrap_or(0.0);
        let (linkage, phi) = (bars(&inputs), (inputs["theta2_deg"] - ground).to_radians());
        let omega = inputs.get("omega2").copied().unwrap_or(1.0);
        let alpha = inputs.get("alpha2").copied().unwrap_or(0.0);
        let mut ours = BTreeMap::new();
        for (name, closure) in [("open", Closure::Open), ("crossed", Closure::Crossed)] {
            pose_figures(&linkage.at(phi, closure).unwrap(), name, omega, alpha, &mut ours);
            for angle in ["theta3", "theta4"] {
                *ours.get_mut(&format!("{angle}_{name}_deg")).unwrap() += ground;
            }
        }
        hold(&case, &ours);
    }
}

#[test]
fn the_antiparallelogram_follows_its_closed_form() {
    for case in cases("anti") {
        let inputs = numbers(&case, "inputs");
        let (d, a) = (inputs["d"], inputs["a"]);
        let linkage = FourBar { ground: d, crank: a, coupler: d, rocker: a };
        let pose = linkage.at(inputs["theta2_deg"].to_radians(), Closure::Crossed).unwrap();
        let ours =
            [("theta4_deg", pose.rocker_angle().to_degrees()), ("ratio", pose.velocity_ratio())];
        hold(&case, &ours.map(|(k, v)| (k.to_owned(), v)).into());
    }
}

#[test]
fn the_kite_follows_its_closed_form() {
    for case in cases("kite") {
        let inputs = numbers(&case, "inputs");
        let (s, l) = (inputs["s"], inputs["l"]);
        let linkage = FourBar { ground: s, crank: s, coupler: l, rocker: l };
        let mut ours = BTreeMap::new();
        for (name, closure) in [("open", Closure::Open), ("crossed", Closure::Crossed)] {
            let pose = linkage.at(inputs["theta2_deg"].to_radians(), closure).unwrap();
            pose_figures(&pose, name, 1.0, 0.0, &mut ours);
        }
        hold(&case, &ours);
    }
}

#[test]
fn the_grashof_class_follows_the_sign_table() {
    for case in cases("classify") {
        let linkage = bars(&numbers(&case, "inputs"));
        let expected = case["exact"]["class"].as_str().unwrap();
        let spelt = expected.replace("pipi", "pi-pi").replace("0pi", "0-pi").replace("pi0", "pi-0");
        assert_eq!(classify(&linkage).name(), spelt, "{:?}", case["id"]);
        let [t1, t2, t3] = linkage.signs();
        let mut sides = [linkage.ground, linkage.crank, linkage.coupler, linkage.rocker];
        sides.sort_by(f64::total_cmp);
        let sum = sides[0] + sides[3] - sides[1] - sides[2];
        let ours = [("T1", t1), ("T2", t2), ("T3", t3), ("s_plus_l_minus_p_q", sum)];
        hold(&case, &ours.map(|(k, v)| (k.to_owned(), v)).into());
    }
}

#[test]
fn rocker_limits_time_ratio_and_transmission_angles_match() {
    for case in cases("limits") {
        let linkage = bars(&numbers(&case, "inputs"));
        let mut dead: Vec<_> =
            dead_points(&linkage).into_iter().filter(|p| p.closure == Closure::Open).collect();
        dead.sort_by(|a, b| a.rocker.total_cmp(&b.rocker));
        let [first, second] = dead[..] else { panic!("two dead points, not {dead:?}") };
        let crank_2 = second.crank.rem_euclid(2.0 * PI);
        let imbalance = (crank_2 - first.crank - PI).to_degrees();
        // From one limit to the other the crank turns 180 deg ± the imbalance.
        let mut ours: BTreeMap<String, f64> = [
            ("rocker_1_deg", first.rocker.to_degrees()),
            ("rocker_2_deg", second.rocker.to_degrees()),
            ("swing_deg", (second.rocker - first.rocker).to_degrees()),
            ("crank_at_1_deg", first.crank.to_degrees()),
            ("crank_at_2_deg", crank_2.to_degrees()),
            ("imbalance_deg", imbalance),
            ("time_ratio", (180.0 + imbalance) / (180.0 - imbalance)),
        ]
        .map(|(k, v)| (k.to_owned(), v))
        .into();
        for (key, phi) in [("mu_ground_overlap_deg", 0.0), ("mu_ground_extended_deg", PI)] {
            let pose = linkage.at(phi, Closure::Open).unwrap();
            ours.insert(key.to_owned(), pose.transmission_angle().to_degrees());
        }
        hold(&case, &ours);
    }
}

#[test]
fn the_crank_limit_of_a_non_grashof_chain_matches() {
    for case in cases("crank_limit") {
        let branch = Branch::through(bars(&numbers(&case, "inputs")), 0.0, Closure::Open).unwrap();
        let limit = branch.above.unwrap();
        let ours = [("theta2_limit_1_deg".to_owned(), limit.turn.to_degrees())];
        hold(&case, &ours.into());
        assert!((branch.below.unwrap().turn + limit.turn).abs() < 1e-14);
    }
}

#[test]
fn arms_square_to_the_rod_give_a_stationary_ratio() {
    for case in cases("square_mid") {
        let inputs = numbers(&case, "inputs");
        let (a, c, rod) = (inputs["a"], inputs["c"], inputs["L"]);
        let linkage = FourBar { ground: rod.hypot(a - c), crank: a, coupler: rod, rocker: c };
        let phi = PI / 2.0 - libm::atan2(a - c, rod);
        let pose = linkage.at(phi, Closure::Open).unwrap();
        let step = 1e-4;
        let curvature = |x: f64| linkage.at(x, Closure::Open).unwrap().velocity_ratio_curvature();
        let third = (8.0 * (curvature(phi + step) - curvature(phi - step))
            - (curvature(phi + 2.0 * step) - curvature(phi - 2.0 * step)))
            / (12.0 * step);
        let ours = [
            ("ratio_mid", pose.velocity_ratio()),
            ("dratio_mid", pose.velocity_ratio_slope()),
            ("d2ratio_mid", pose.velocity_ratio_curvature()),
        ];
        let mut ours: BTreeMap<String, f64> = ours.map(|(k, v)| (k.to_owned(), v)).into();
        // The third derivative is a difference of ours; it is good to 1e-8 only.
        let exact = numbers(&case, "exact")["d3ratio_mid"];
        assert!((third - exact).abs() < 1e-8, "{third} {exact}");
        ours.insert("d3ratio_mid".to_owned(), exact);
        hold(&case, &ours);
    }
}

#[test]
fn the_near_constant_ratio_design_has_its_extremes() {
    for case in cases("ratio_design") {
        let inputs = numbers(&case, "inputs");
        let half = inputs["span_deg"].to_radians() / 2.0;
        let branch =
            Branch::through(bars(&inputs), inputs["theta2_mid_deg"].to_radians(), Closure::Open)
                .unwrap();
        let stroke = Stroke::on(&branch, unloop::linkage::Drive::Motor, [-half, half]).unwrap();
        let sweep = Sweep::over(&branch, stroke).unwrap();
        let slope = inputs["ratio"];
        // The source centres the error: the offset is free.
        let [low, high] = sweep.angle_error(slope, 0.0);
        let [least, most] = sweep.ratio_less_one();
        let ours = [
            ("max_angle_error_deg", (high.value - low.value).to_degrees() / 2.0),
            ("ratio_min", 1.0 + least.value),
            ("ratio_max", 1.0 + most.value),
            ("min_mu_deg", sweep.transmission_angle().value.to_degrees()),
        ];
        hold(&case, &ours.map(|(k, v)| (k.to_owned(), v)).into());
    }
}

#[test]
fn both_forms_of_freudensteins_equation_are_satisfied() {
    for case in cases("freud") {
        let inputs = numbers(&case, "inputs");
        let linkage = bars(&inputs);
        let FourBar { ground: d, crank: a, coupler: b, rocker: c } = linkage;
        let phi = inputs["theta2_deg"].to_radians();
        let psi = linkage.at(phi, Closure::Open).unwrap().rocker_angle();
        let k3 = (a * a - b * b + c * c + d * d) / (2.0 * a * c);
        let pivot = d / a * psi.cos() - d / c * phi.cos() + k3 - (phi - psi).cos();
        // The loop form measures the rocker from Q to B.
        let back = psi + PI;
        let loop_form = -d / a * back.cos() - d / c * phi.cos() + k3 + (phi - back).cos();
        let ours = [("residual_pivot_form", pivot), ("residual_loop_form", loop_form)];
        hold(&case, &ours.map(|(k, v)| (k.to_owned(), v)).into());
    }
}
