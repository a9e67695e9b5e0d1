//! Loads and inertia against worked examples and identities; the source of each stands in `data/check-values.toml`.

use crate::drive;

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

use nalgebra::Matrix3;
use toml::{Table, Value};
use unloop::dynamics::{
    Bearings, Body, Counterweight, DynamicsFault, Inertia, Masses, Matrix7, MonotoneStroke, Motor,
    Parts, Pin, PinMasses, Replacement, Rod, Rotor, Shortcut, Tree, TwoMasses, behind_ratio,
    euler_slenderness, fidelity, joint_inertia, load_at, loads, mass_matrix, pin_turns, rod_arm,
    shortcut_table,
};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Pose, Stroke};

type Figures = BTreeMap<String, f64>;

fn number(value: &Value) -> f64 {
    value
        .as_float()
        .or_else(|| value.as_integer().map(|i| f64::from(i32::try_from(i).unwrap())))
        .unwrap()
}

fn figures(case: &Table, table: &str) -> Figures {
    let Some(Value::Table(table)) = case.get(table) else {
        return BTreeMap::new();
    };
    let plain = table.iter().filter(|(_, v)| v.is_float() || v.is_integer());
    plain.map(|(k, v)| (k.clone(), number(v))).collect()
}

/// Holds `ours` of each case of a kind to `exact` (1e-9 relative) and to `printed` within its own tolerance; every key of
/// both tables must be answered.
fn hold(kind: &str, ours: impl Fn(&Table, &Figures) -> Vec<(&'static str, f64)>) {
    let file: Table = toml::from_str(include_str!("../data/check-values.toml")).unwrap();
    let cases = file["case"].as_array().unwrap().iter().map(|c| c.as_table().unwrap());
    let chosen: Vec<&Table> = cases.filter(|c| c["kind"].as_str() == Some(kind)).collect();
    assert!(!chosen.is_empty(), "no case of kind {kind}");
    for case in chosen {
        let id = case["id"].as_str().unwrap();
        let ours: BTreeMap<&str, f64> = ours(case, &figures(case, "inputs")).into_iter().collect();
        let get = |key: &str| *ours.get(key).unwrap_or_else(|| panic!("{id}: {key} not computed"));
        for (key, exact) in figures(case, "exact") {
            let value = get(&key);
            let close = (value - exact).abs() <= 1e-9 * exact.abs();
            assert!(close, "{id}: {key} = {value}, exact {exact}");
        }
        let tolerance = figures(case, "tol");
        for (key, printed) in figures(case, "printed") {
            let value = get(&key);
            let close = (value - printed).abs() <= tolerance[&key];
            assert!(close, "{id}: {key} = {value}, printed {printed}");
        }
    }
}

fn pose_of(inputs: &Figures) -> Pose {
    let bars = FourBar {
        ground: inputs["d"],
        crank: inputs["a"],
        coupler: inputs["b"],
        rocker: inputs["c"],
    };
    bars.at(inputs["theta2_deg"].to_radians(), Closure::Open).unwrap()
}

#[test]
fn a_rod_is_lumped_as_the_textbooks_lump_it() {
    hold("twomass", |_, inputs| {
        let (mass, length, inertia) = (inputs["m"], inputs["length"], inputs["I_G"]);
        let from_first = inputs["cg_from_A"];
        let two = TwoMasses::of(mass, from_first, inertia);
        let pins = PinMasses::of(mass, from_first, length, inertia);
        vec![
            ("m_at_A", two.chosen),
            ("m_other", two.other),
            ("l_other", two.other_distance),
            ("pins_mA", pins.first),
            ("pins_mB", pins.second),
            ("I_correction", pins.rest),
        ]
    });
}

#[test]
fn a_rotor_is_seen_behind_its_gearbox_as_the_textbooks_see_it() {
    hold("reflect", |_, inputs| {
        let ratio = inputs["N"];
        vec![
            ("J", behind_ratio::inertia_or_damping(inputs["J_rotor"], ratio)),
            ("b", behind_ratio::inertia_or_damping(inputs["b"], ratio)),
            ("Tc", behind_ratio::torque(inputs["Tc"], ratio)),
            ("backlash_deg", behind_ratio::turn(inputs["motor_backlash_deg"], ratio)),
        ]
    });
}

#[test]
fn a_torque_on_the_rocker_is_held_as_statics_says() {
    hold("static", |_, inputs| {
        let pose = pose_of(inputs);
        // T4 and T2 are what the outside puts on rocker and crank in equilibrium.
        let motor = -inputs["T4"] / pose.transmission_ratio();
        let load = load_at(&pose, motor);
        assert!((load.joint_torque + inputs["T4"]).abs() < 1e-9);
        let (tension, force) = (load.rod_tension, load.rod_tension.abs());
        vec![("T2", motor), ("rod_tension", tension), ("pin_force", force)]
    });
}

#[test]
fn lost_motion_is_the_clearances_over_the_rods_arm() {
    hold("lost", |case, inputs| {
        let clearances = case["inputs"]["diametral_clearances"].as_array().unwrap();
        let play: f64 = clearances.iter().map(number).sum();
        vec![("lost_motion_deg", (play / rod_arm(&pose_of(inputs))).to_degrees())]
    });
}

#[test]
fn a_pinned_rod_buckles_at_eulers_load() {
    hold("euler", |_, inputs| {
        let rod =
            Rod { outer: inputs["d"], inner: 0.0, modulus: Some(inputs["E"]), yield_stress: None };
        vec![("F_cr", rod.buckling(inputs["K"] * inputs["L"]).unwrap().load)]
    });
}

#[test]
fn the_shortest_euler_column_has_the_printed_length() {
    hold("euler_len", |_, inputs| {
        let gyration = inputs["h"] / 12.0_f64.sqrt();
        vec![("length", gyration * euler_slenderness(inputs["E"], inputs["stress"]))]
    });
}

#[test]
fn a_clevis_pin_is_stressed_as_in_the_common_worked_example() {
    hold("pin", |_, inputs| {
        let (force, width) = (inputs["F"], |width: f64| Pin {
            diameter: Some(inputs["d"]),
            width: Some(width),
            clearance: None,
        });
        let eye = width(inputs["t_eye"]);
        // Each cheek of the fork bears half.
        let fork = width(inputs["t_fork"]).bearing_pressure(0.5 * force).unwrap();
        vec![
            ("shear", eye.shear_stress(force, 2.0).unwrap()),
            ("M", Pin::bending_moment(force, inputs["span"])),
            ("bending", eye.bending_stress(force, inputs["span"]).unwrap()),
            ("bearing_eye", eye.bearing_pressure(force).unwrap()),
            ("bearing_fork", fork),
        ]
    });
}

fn on_stroke<T>(check: impl Fn(&MonotoneStroke<'_>) -> T) -> T {
    let branch = drive::branch();
    check(&MonotoneStroke::over(&branch, drive::stroke(&branch)).unwrap())
}

fn full(stroke: &MonotoneStroke<'_>, masses: &Masses) -> Replacement {
    Replacement::of(stroke, masses).unwrap()
}

/// Largest difference of any entry between tree and linkage over the stroke, weights in kg, m.
fn largest_difference(
    stroke: &MonotoneStroke<'_>,
    masses: &Masses,
    at: impl Fn(usize, usize) -> bool,
) -> f64 {
    let tree = full(stroke, masses).tree;
    let [from, to] = stroke.ends();
    let difference = |k: i32| -> Matrix7 {
        let pose = stroke.pose(from + (to - from) * f64::from(k) / 20.0).unwrap();
        tree.mass_matrix(&pose) - mass_matrix(&pose, masses)
    };
    let entries = |d: Matrix7| {
        let pick = |k: usize| if at(k % 7, k / 7) { d.as_slice()[k].abs() } else { 0.0 };
        (0..49).map(pick).fold(0.0, f64::max)
    };
    (0..=20).map(difference).map(entries).fold(0.0, f64::max)
}

#[test]
fn a_parallelograms_tree_is_exact_in_all_masses_and_with_the_carrier_fixed() {
    // Every entry with the speed of B, the joint's own, and those that turn the joint axis itself.
    let exact = |row, column| {
        row < 3
            || column < 3
            || (row, column) == (6, 6)
            || (row < 5 && column > 4)
            || (column < 5 && row > 4)
    };
    assert!(on_stroke(|stroke| largest_difference(stroke, &drive::masses(), exact)) < 1e-15);
    let others = on_stroke(|stroke| largest_difference(stroke, &drive::masses(), |_, _| true));
    assert!(others > 1e-5, "{others}");
}

#[test]
fn a_counterweighted_crank_makes_a_parallelograms_tree_exact_in_space() {
    let left = on_stroke(|stroke| {
        let counterweight = Counterweight::of(stroke.branch().bars(), &drive::masses());
        // m₁ L₁ = −(1 − λ) m₂ a with λ = 1/2.
        assert!((counterweight.needed[0] + 0.5 * 0.12 * 0.04).abs() < 1e-17);
        assert!((counterweight.missing()[0] + 0.5 * 0.12 * 0.04 + 0.08 * 0.022).abs() < 1e-17);
        let masses = counterweight.applied(&drive::masses()).unwrap();
        let figures = fidelity(stroke, &masses, &full(stroke, &masses).tree);
        figures.spatial.unwrap().value.max(figures.planar.unwrap().value)
    });
    assert!(left < 1e-12, "{left}");
}

#[test]
fn a_coupler_beside_its_pin_line_asks_for_a_counterweight_beside_the_crank() {
    let left = on_stroke(|stroke| {
        let mut masses = drive::masses();
        let rod = masses.coupler.as_mut().unwrap();
        rod.centre.y = 0.02;
        let counterweight = Counterweight::of(stroke.branch().bars(), &masses);
        assert!(counterweight.needed[1].abs() > 1e-4);
        let balanced = counterweight.applied(&masses).unwrap();
        let figures = fidelity(stroke, &balanced, &full(stroke, &balanced).tree);
        // In space Σ R h is left over for a coupler off its pin line.
        assert!(figures.spatial.unwrap().value > 1e-5);
        figures.planar.unwrap().value
    });
    assert!(left < 1e-12, "{left}");
}

/// The table of the shortcuts in per cent: fixed, planar, spatial.
fn table() -> Vec<(Shortcut, [f64; 3])> {
    on_stroke(|stroke| {
        let rows = shortcut_table(stroke, &drive::masses(), 1.0).unwrap();
        let percent = |x: f64| 100.0 * x;
        let figures = |f: unloop::dynamics::Fidelity| {
            [f.fixed.value, f.planar.unwrap().value, f.spatial.unwrap().value].map(percent)
        };
        rows.into_iter().map(|row| (row.shortcut, figures(row.fidelity))).collect()
    })
}

#[test]
fn the_table_of_shortcuts_has_the_pattern_of_a_light_leg() {
    let table: BTreeMap<&str, [f64; 3]> = table().into_iter().map(|(s, f)| (s.name(), f)).collect();
    for (name, figures) in &table {
        println!("{name:46} {:7.3} {:7.3} {:7.3} %", figures[0], figures[1], figures[2]);
    }
    let row = |s: Shortcut| table[s.name()];
    let between =
        |figure: f64, low: f64, high: f64| assert!((low..high).contains(&figure), "{figure}");
    // Bands about 1.5/12.4/14.7, 0/8.9/9.4, 0/3.0/3.1 and 0/0/0 %, the figures of a leg of the same lengths and masses
    // whose mass centres are not known; computed here.
    let [fixed, planar, spatial] = row(Shortcut::ArmatureOnly);
    between(fixed, 1.2, 2.0);
    between(planar, 10.0, 16.0);
    between(spatial, planar, 1.3 * planar);
    let [fixed, planar, spatial] = row(Shortcut::NoRotorSplit);
    between(fixed, 0.0, 1e-9);
    between(planar, 7.0, 11.0);
    between(spatial, planar, 1.1 * planar);
    let [fixed, planar, spatial] = row(Shortcut::Full);
    between(fixed, 0.0, 1e-9);
    between(planar, 2.0, 5.0);
    between(spatial, planar, 1.1 * planar);
    assert!(row(Shortcut::Counterweighted).iter().all(|x| *x < 1e-9));
    assert!(row(Shortcut::RodDropped)[1] > row(Shortcut::Full)[1]);
    assert!(row(Shortcut::CrankWelded)[0] > 0.1);
}

#[test]
fn what_the_carrier_bears_besides_makes_the_figure_smaller() {
    let figures = on_stroke(|stroke| {
        fidelity(stroke, &drive::masses(), &full(stroke, &drive::masses()).tree)
    });
    assert!(figures.spatial_carried.unwrap().value < 0.5 * figures.spatial.unwrap().value);
    assert!(figures.planar_carried.unwrap().value < 0.5 * figures.planar.unwrap().value);
}

#[test]
fn figures_in_the_plane_need_no_tensor_and_are_the_same_without_one() {
    let [flat, whole] = on_stroke(|stroke| {
        [drive::planar(&drive::masses()), drive::masses()]
            .map(|masses| fidelity(stroke, &masses, &full(stroke, &masses).tree))
    });
    assert!(flat.spatial.is_none());
    assert!((flat.planar.unwrap().value - whole.planar.unwrap().value).abs() < 1e-9);
    assert!((flat.fixed.value - whole.fixed.value).abs() < 1e-15);
}

#[test]
fn without_a_carrier_only_the_fixed_carriers_figure_is_told() {
    let figures = on_stroke(|stroke| {
        let masses = Masses { carrier: None, ..drive::masses() };
        fidelity(stroke, &masses, &full(stroke, &masses).tree)
    });
    assert!(
        figures.planar.is_none() && figures.spatial.is_none() && figures.planar_carried.is_none()
    );
    assert!(figures.fixed.value < 1e-12 && figures.gravity_torque.value < 1e-12);
}

fn with_gear(gear_ratio: f64, in_carrier: bool) -> Masses {
    let rotor = Some(Rotor { inertia: 1.5e-4, gear_ratio, in_carrier });
    Masses { rotor, ..drive::masses() }
}

#[test]
fn the_rotor_is_split_exactly_whichever_way_it_turns() {
    for gear in [7.75, -7.75, 1.0, -0.3] {
        for in_carrier in [true, false] {
            let left = on_stroke(|stroke| {
                let masses = Masses { crank: None, coupler: None, ..with_gear(gear, in_carrier) };
                let tree = full(stroke, &masses).tree;
                assert!((tree.armature - 1.5e-4 * (gear * gear - gear)).abs() < 1e-18);
                fidelity(stroke, &masses, &tree).spatial.unwrap().value
            });
            assert!(left < 1e-13, "N {gear}, in carrier {in_carrier}: {left}");
        }
    }
}

#[test]
fn a_reversing_gearbox_changes_the_split() {
    let child =
        |gear| on_stroke(|stroke| full(stroke, &with_gear(gear, true)).child_patch.inertia.m33);
    assert!((child(7.75) - child(-7.75) - 2.0 * 7.75 * 1.5e-4).abs() < 1e-15);
}

#[test]
fn a_rotor_that_the_carrier_does_not_hold_is_counted_once() {
    let carrier =
        |held| on_stroke(|stroke| full(stroke, &with_gear(7.75, held)).tree.carrier.inertia.m33);
    assert!((carrier(false) - carrier(true) - 1.5e-4).abs() < 1e-15);
}

#[test]
fn a_rotor_slower_than_the_joint_is_refused_as_armature() {
    let masses = with_gear(0.5, true);
    let fault = on_stroke(|stroke| {
        Replacement::of(stroke, &Masses { crank: None, coupler: None, ..masses }).unwrap_err()
    });
    let DynamicsFault::NegativeArmature { armature, rotor_turns } = fault else {
        panic!("{fault:?}")
    };
    assert!((armature + 0.25 * 1.5e-4).abs() < 1e-18 && (rotor_turns - 0.5).abs() < 1e-15);
    assert!(fault.remedy().contains("body of its own"));
}

#[test]
fn a_mid_range_that_the_armature_cannot_give_is_left_to_the_figure() {
    // Direct drive: no armature to take the mid-range from.
    let stroke = [0.2, 0.9];
    let branch = Branch::through(drive::BARS, FRAC_PI_2, Closure::Open).unwrap();
    let stroke =
        MonotoneStroke::over(&branch, Stroke::on(&branch, Drive::Joint, stroke).unwrap()).unwrap();
    let masses = with_gear(1.0, true);
    let direct = full(&stroke, &masses);
    assert!(direct.tree.armature >= 0.0);
    assert!(fidelity(&stroke, &masses, &direct.tree).fixed.value < 1e-12);
}

#[test]
fn a_light_child_borrows_mass_on_the_axis_and_moves_the_same() {
    let masses = Masses { child: drive::body(0.01, [0.0, 0.0, 0.0], [1e-6; 3]), ..drive::masses() };
    on_stroke(|stroke| {
        let direct = full(stroke, &masses);
        assert_eq!((direct.child().check(), direct.carrier().check()), (Ok(()), Ok(())));
        assert!(direct.child().mass > 0.011);
        let plain = Shortcut::Full.tree(stroke, &masses, 1.0).unwrap();
        let pose = stroke.pose(0.3).unwrap();
        let moved = direct.tree.mass_matrix(&pose) - plain.mass_matrix(&pose);
        assert!(moved.amax() < 1e-15, "{moved}");
    });
}

#[test]
fn the_patches_add_up_to_the_bodies() {
    on_stroke(|stroke| {
        let masses = drive::masses();
        let direct = full(stroke, &masses);
        let sum = unloop::dynamics::Moments::from(&masses.carrier.unwrap()) + direct.carrier_patch;
        assert!((sum.inertia - direct.tree.carrier.inertia).norm() < 1e-16);
        let total = direct.carrier_patch.mass + direct.child_patch.mass;
        assert!((total - 0.08 - 0.12).abs() < 1e-15);
    });
}

/// A four-bar whose ratio is near `i` over a short stroke.
fn short_stroke(bars: FourBar, zero: f64, closure: Closure, half: f64) -> (Branch, Stroke) {
    let branch = Branch::through(bars, zero, closure).unwrap();
    let stroke = Stroke::on(&branch, Drive::Joint, [-half, half]).unwrap();
    (branch, stroke)
}

/// With a carrier broad enough to give up the rotor's share at any of the ratios tried.
fn broad() -> Masses {
    let carrier = Some(drive::body(2.2, [-0.17, 0.0, 0.0], [8e-3, 0.0185, 0.018]));
    Masses { carrier, ..drive::masses() }
}

#[test]
fn any_ratio_is_replaced_the_better_the_shorter_the_stroke() {
    // Two open linkages and a crossed one with a negative ratio.
    let bars = |rocker: f64| FourBar { ground: 0.3, crank: 0.04, coupler: 0.29, rocker };
    let cases =
        [(bars(0.05), Closure::Open), (bars(0.08), Closure::Open), (bars(0.05), Closure::Crossed)];
    for (bars, closure) in cases {
        let error = |half: f64| {
            let (branch, stroke) = short_stroke(bars, FRAC_PI_2, closure, half);
            let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
            let ratio = branch.pose(0.0).unwrap().transmission_ratio();
            assert_eq!(ratio < 0.0, closure == Closure::Crossed);
            let masses = broad();
            let direct = full(&stroke, &masses);
            assert!(!direct.is_parallel);
            assert_eq!((direct.child().check(), direct.carrier().check()), (Ok(()), Ok(())));
            let figures = fidelity(&stroke, &masses, &direct.tree);
            figures.spatial.unwrap().value.max(figures.fixed.value)
        };
        let [long, short] = [0.1, 0.01].map(error);
        println!("{bars:?} {closure:?}: {long:.5} {short:.6}");
        assert!(short < 0.15 * long && short < 0.01, "{bars:?}: {long} {short}");
    }
}

/// A rotor that asks more of a body than it has: of the carrier, and turning against the joint of the child.
const TOO_MUCH: [f64; 2] = [30.0, -45.0];

#[test]
fn a_body_that_cannot_give_the_rotors_share_gets_it_from_the_other_and_the_figure_says_the_cost() {
    for gear_ratio in TOO_MUCH {
        let rotor = Some(Rotor { inertia: 1.5e-4, gear_ratio, in_carrier: true });
        let masses = Masses { rotor, ..drive::masses() };
        let (direct, drafted, exact, paid) = on_stroke(|stroke| {
            let direct = full(stroke, &masses);
            let drafted = Shortcut::Full.tree(stroke, &masses, 1.0).unwrap();
            let figure = |tree| fidelity(stroke, &masses, &tree).spatial.unwrap().value;
            (direct, drafted, figure(drafted), figure(direct.tree))
        });
        assert_eq!((direct.child().check(), direct.carrier().check()), (Ok(()), Ok(())));
        assert!(direct.lacking.is_some());
        // Carrier fixed and carrier against itself nothing changes; the coupling of the two pays.
        let whole = |tree: &Tree| tree.carrier.inertia.m33 + tree.child.inertia.m33;
        assert!((whole(&direct.tree) - whole(&drafted)).abs() < 1e-12);
        assert!((direct.tree.joint_inertia() - drafted.joint_inertia()).abs() < 1e-12);
        let moved = direct.tree.child.inertia.m33 - drafted.child.inertia.m33;
        println!("N {gear_ratio}: moved {moved:.2e} kg m2, {exact:.4} becomes {paid:.4}");
        assert!((moved > 0.0) == (gear_ratio < 0.0));
        assert!(paid > exact && paid < 0.2, "{exact} {paid}");
    }
}

#[test]
fn a_rotor_that_neither_body_can_bear_is_refused_with_what_is_lacking() {
    let mut masses = drive::masses();
    masses.rotor = Some(Rotor { inertia: 0.1, gear_ratio: 7.75, in_carrier: false });
    let fault = on_stroke(|stroke| Replacement::of(stroke, &masses).unwrap_err());
    let DynamicsFault::NoRealBody { body: "carrier", lacks: Some(lacks), .. } = fault else {
        panic!("{fault:?}")
    };
    // J (n − 1) = 0.675 kg m², and the slender shank has some 3e-3 kg m² in its thin direction.
    assert!(lacks > 0.66 && lacks < 0.675, "{lacks}");
    assert!(fault.remedy().starts_with("the carrier lacks 6.7e-1 kg m2"), "{}", fault.remedy());
}

#[test]
fn an_antiparallelogram_turns_the_rotor_backwards() {
    let (branch, stroke) = short_stroke(drive::BARS, FRAC_PI_2, Closure::Crossed, 0.02);
    let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
    let pose = branch.pose(0.0).unwrap();
    // i = −(g² + a² − 2 g a cos φ)/(g² − a²) at φ = 90 deg, derived here.
    let ratio = -(0.09 + 0.0016) / (0.09 - 0.0016);
    assert!((pose.transmission_ratio() - ratio).abs() < 1e-12);
    let masses = Masses { crank: None, coupler: None, ..drive::masses() };
    let tree = full(&stroke, &masses).tree;
    let turns = 7.75 * ratio;
    assert!((tree.armature / (1.5e-4 * (turns * turns - turns)) - 1.0).abs() < 1e-3);
    let child = tree.child.inertia.m33 - unloop::dynamics::Moments::from(&masses.child).inertia.m33;
    assert!(child < 0.0 && (child / (1.5e-4 * turns) - 1.0).abs() < 1e-3);
}

#[test]
fn a_parallelogram_is_known_by_its_circuit() {
    for (closure, parallel) in [(Closure::Open, true), (Closure::Crossed, false)] {
        let (branch, stroke) = short_stroke(drive::BARS, FRAC_PI_2, closure, 0.02);
        let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
        assert_eq!(full(&stroke, &drive::masses()).is_parallel, parallel);
    }
}

#[test]
fn the_means_of_a_linkage_that_is_nearly_a_parallelogram_are_nearly_its_exact_tree() {
    let masses = drive::masses();
    let nearly = FourBar { coupler: 0.3 + 1e-8, ..drive::BARS };
    let (branch, stroke) = short_stroke(nearly, FRAC_PI_2, Closure::Open, 0.6);
    let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
    let means = full(&stroke, &masses);
    assert!(!means.is_parallel);
    let exact = on_stroke(|_| {
        let branch = drive::branch();
        let stroke = Stroke::on(&branch, Drive::Joint, [-0.6, 0.6]).unwrap();
        full(&MonotoneStroke::over(&branch, stroke).unwrap(), &masses)
    });
    assert!((means.tree.joint_inertia() - exact.tree.joint_inertia()).abs() < 1e-8);
    assert!((means.tree.child.first.xy() - exact.tree.child.first.xy()).norm() < 1e-8);
    assert!((means.tree.child.inertia.m33 - exact.tree.child.inertia.m33).abs() < 1e-5);
    let error = |tree| fidelity(&stroke, &masses, tree).spatial.unwrap().value;
    let (by_means, by_form) = (error(&means.tree), error(&exact.tree));
    assert!(by_means < 1.5 * by_form && by_form < 1.5 * by_means, "{by_means} {by_form}");
}

#[test]
fn the_other_side_of_the_drawing_has_the_same_figures() {
    let mirror = |b: Body| {
        let flip = Matrix3::from_diagonal(&[1.0, -1.0, 1.0].into());
        let inertia = Inertia::Tensor(flip * b.tensor() * flip);
        Body { mass: b.mass, centre: flip * b.centre, inertia }
    };
    let m = drive::masses();
    let mirrored = Masses {
        crank: m.crank.map(mirror),
        coupler: m.coupler.map(mirror),
        child: mirror(m.child),
        carrier: m.carrier.map(mirror),
        carried: m.carried.map(mirror),
        rotor: m.rotor,
    };
    let bars = FourBar { coupler: 0.295, ..drive::BARS };
    let figures = |masses: &Masses, sense: f64, closure| {
        let (branch, stroke) = short_stroke(bars, sense * FRAC_PI_2, closure, 0.5);
        let stroke = MonotoneStroke::over(&branch, stroke).unwrap();
        fidelity(&stroke, masses, &full(&stroke, masses).tree)
    };
    let here = figures(&m, 1.0, Closure::Open);
    let there = figures(&mirrored, -1.0, Closure::Crossed);
    assert!((here.spatial.unwrap().value - there.spatial.unwrap().value).abs() < 1e-7);
    assert!((here.spatial.unwrap().turn + there.spatial.unwrap().turn).abs() < 1e-4);
    assert!((here.gravity_torque.value - there.gravity_torque.value).abs() < 1e-9);
}

#[test]
fn a_stroke_across_a_dead_point_has_no_course() {
    let bars = FourBar { ground: 0.1, crank: 0.04, coupler: 0.12, rocker: 0.08 };
    let branch = Branch::through(bars, 0.7, Closure::Open).unwrap();
    let stroke = Stroke::on(&branch, Drive::Motor, [0.0, 6.0]).unwrap();
    let fault = MonotoneStroke::over(&branch, stroke).unwrap_err();
    assert!(matches!(fault, DynamicsFault::DeadPoint { turn } if (0.0..6.0).contains(&turn)));
}

fn example_parts() -> Parts {
    let pin = |diameter: f64, width: f64| Pin {
        clearance: Some([0.005e-3, 0.02e-3]),
        diameter: Some(diameter),
        width: Some(width),
    };
    Parts {
        allowed: None,
        motor: Motor { peak_torque: Some(60.0), rated_torque: Some(20.0), max_speed: Some(20.0) },
        rod: Some(Rod { outer: 8e-3, inner: 6e-3, modulus: Some(69e9), yield_stress: Some(240e6) }),
        bearings: Bearings {
            motor: pin(10e-3, 8e-3),
            crank: pin(6e-3, 6e-3),
            rocker: pin(6e-3, 6e-3),
            joint: pin(10e-3, 8e-3),
            friction: Some(0.1),
        },
    }
}

#[test]
fn a_parallelograms_loads_are_those_of_its_smallest_arm() {
    on_stroke(|stroke| {
        let found = loads(stroke, &example_parts());
        // ψ = 90 deg + joint turn, so that the arm is a cos(turn), smallest at −0.7 rad.
        let arm = 0.04 * 0.7_f64.cos();
        let near =
            |value: f64, want: f64| assert!((value / want - 1.0).abs() < 1e-9, "{value} {want}");
        near(found.smallest_arm.unwrap().value, arm);
        near(found.smallest_arm.unwrap().turn, -0.7);
        let peak = found.peak.unwrap();
        near(peak.rod_force.unwrap().value, 60.0 / arm);
        near(found.rated.unwrap().rod_force.unwrap().value, 20.0 / arm);
        near(peak.joint_torque.guaranteed.value, 60.0 * found.efficiency.unwrap().value);
        near(peak.joint_torque.never_exceed.value, 60.0);
        near(found.joint_speed.unwrap().never_exceed.value, 20.0);
        let area = std::f64::consts::PI / 4.0 * (64.0 - 36.0) * 1e-6;
        near(peak.rod_stress.unwrap(), 60.0 / arm / area);
        near(peak.yield_margin.unwrap(), 240e6 * arm * area / 60.0);
        near(found.stiffness.unwrap().value, 69e9 * area / 0.3 * arm * arm);
        near(peak.deflection.unwrap().value, 60.0 / found.stiffness.unwrap().value);
        near(found.lost_motion.unwrap()[1].value, 4.0 * 0.02e-3 / arm);
        near(1.0 - found.efficiency.unwrap().value, 0.1 * (5e-3 + 3e-3 + 3e-3 + 5e-3) / arm);
        near(peak.pins[1].pressure.unwrap(), 60.0 / arm / 36e-6);
        near(peak.buckling_margin.unwrap(), found.buckling.unwrap().load * arm / 60.0);
        assert!(found.without_clearance.is_empty() && found.without_diameter.is_empty());
    });
}

#[test]
fn what_is_not_known_of_the_parts_is_named_and_left_out() {
    on_stroke(|stroke| {
        let found = loads(stroke, &Parts::default());
        assert!(found.peak.is_none() && found.buckling.is_none() && found.lost_motion.is_none());
        assert_eq!((found.without_clearance.len(), found.without_diameter.len()), (4, 4));
        let mut parts = example_parts();
        parts.bearings.joint = Pin::default();
        let found = loads(stroke, &parts);
        assert_eq!(found.without_clearance, found.without_diameter);
        assert_eq!(found.without_clearance.len(), 1);
    });
}

#[test]
fn torque_and_speed_bounds_are_where_the_ratio_is_smallest_and_largest() {
    let bars = FourBar { ground: 0.1, crank: 0.04, coupler: 0.12, rocker: 0.08 };
    let branch = Branch::through(bars, 1.2, Closure::Open).unwrap();
    let stroke =
        MonotoneStroke::over(&branch, Stroke::on(&branch, Drive::Motor, [-0.5, 0.9]).unwrap())
            .unwrap();
    let motor = Motor { peak_torque: Some(2.0), max_speed: Some(3.0), ..Motor::default() };
    let found = loads(&stroke, &Parts { motor, ..Parts::default() });
    let ratios: Vec<f64> = (0..=1400)
        .map(|k| branch.pose(-0.5 + 1e-3 * f64::from(k)).unwrap().transmission_ratio().abs())
        .collect();
    let low = ratios.iter().copied().fold(f64::INFINITY, f64::min);
    let high = ratios.iter().copied().fold(0.0, f64::max);
    let (torque, speed) = (found.peak.unwrap().joint_torque, found.joint_speed.unwrap());
    assert!(
        (torque.guaranteed.value - 2.0 * low).abs() < 1e-5 && torque.guaranteed.value <= 2.0 * low
    );
    assert!(
        (torque.never_exceed.value - 2.0 * high).abs() < 1e-5
            && torque.never_exceed.value >= 2.0 * high
    );
    assert!((speed.guaranteed.value - 3.0 / high).abs() < 1e-5);
    assert!((speed.never_exceed.value - 3.0 / low).abs() < 1e-5);
}

#[test]
fn the_pins_of_a_parallelogram_all_turn_with_the_joint() {
    let pose = drive::BARS.at(1.1, Closure::Open).unwrap();
    for turn in pin_turns(&pose) {
        assert!((turn - 1.0).abs() < 1e-15);
    }
}

#[test]
fn weight_at_the_joint_is_gravity_across_the_first_moments_slope() {
    // A 0.9 kg child alone, 50 mm out, in a horizontal pose: m g r.
    let child = drive::body(0.9, [0.05, 0.0, 0.0], [1e-3; 3]);
    let masses =
        Masses { crank: None, coupler: None, child, carrier: None, carried: None, rotor: None };
    let slope = joint_inertia(&drive::BARS.at(FRAC_PI_2, Closure::Open).unwrap(), &masses)
        .first_moment_slope;
    // x is down: weight's torque is g₀ times the slope along x.
    assert!((slope[0] + 0.9 * 0.05).abs() < 1e-15 && slope[1].abs() < 1e-15);
}
