//! Designs of drives other than a planar four-bar: each model is read, and its sizes are as drawn.

use std::fs;
use std::path::PathBuf;

use unloop::design::{
    AnyDesign, Design, Drawn, MotorOn, Parameter, parse, parse_any, read_any, template,
};
use unloop::drive::{Assembly, Drawing, Kind, OneJoint};
use unloop::study::{Driven, Mechanism, TwoMotors};

fn file(name: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/models/drives")).join(name)
}

fn any(name: &str) -> AnyDesign {
    let path = file(name);
    let (design, warnings) = read_any(path.to_str().unwrap(), &fs::read(&path).unwrap())
        .unwrap_or_else(|rejected| panic!("{rejected}"));
    assert!(warnings.is_empty(), "{name}: {}", design.render(&warnings, false));
    design
}

fn run_over_stroke(name: &str, design: &AnyDesign) {
    let run = match design {
        AnyDesign::FourBar(design) => Mechanism::of(design).map(|_| ()),
        AnyDesign::OneJoint(design) => Driven::of(design).map(|_| ()),
        AnyDesign::TwoJoints(design) => TwoMotors::of(design).map(|_| ()),
    };
    run.unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
}

fn drawn(name: &str) -> Design<Drawn> {
    match any(name) {
        AnyDesign::OneJoint(design) => *design,
        _ => panic!("{name} is no drive of one joint"),
    }
}

#[test]
fn every_model_of_a_drive_is_read_and_runs_over_its_stroke() {
    let mut kinds = Vec::new();
    let entries = fs::read_dir(file("")).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    for name in names.filter(|name| name.ends_with(".toml")) {
        let design = any(&name);
        kinds.push(design.kind());
        run_over_stroke(&name, &design);
    }
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds, Kind::ALL);
}

/// A size by its name: value, limits about it.
fn size(design: &Design<Drawn>, name: &str) -> (f64, Option<[f64; 2]>) {
    let (size, drawn) = design.geometry.sizes().find(|(size, _)| size.name == name).unwrap();
    (size.value, drawn.tolerance.as_ref().map(|one| [one.lower, one.upper]))
}

fn text_of(text: &str) -> Design<Drawn> {
    match parse_any("design.toml", text).unwrap_or_else(|rejected| panic!("{rejected}")).0 {
        AnyDesign::OneJoint(design) => *design,
        _ => panic!("no drive of one joint"),
    }
}

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-12, "{found} instead of {wanted}");
}

const BALL_ROD: &str = "name = \"k\"\n[drive]\nkind = \"ball_rod\"\n[linkage]\nground = \"300 mm\"\n\
    crank = \"45 +0.02/-0.05 mm\"\ncoupler = \"300 mm IT9\"\nrocker = \"45 mm\"\n\
    twist = \"4.5 +0.2/-0.1 deg\"\nlean = \"-2 deg\"\n[zero]\ncrank = \"80 +1/-0.5 deg\"\nrocker = \"80 deg\"\n\
    set_by = \"jig\"\n[stroke]\njoint = [\"-10 deg\", \"30 deg\"]\n";

#[test]
fn every_figure_of_a_ball_rod_keeps_its_own_tolerance_and_place() {
    let design = drawn("ball_rod_knee.toml");
    assert_eq!(size(&design, "crank"), (0.045, Some([-5e-5, 5e-5])));
    assert_eq!(size(&design, "axial"), (0.0, Some([-2e-4, 2e-4])));
    let (twist, limits) = size(&design, "twist");
    near(twist, 4.5_f64.to_radians());
    near(limits.unwrap()[1], 0.1_f64.to_radians());
    assert_eq!(size(&design, "zero_crank").1, None);
    assert_eq!(design.accept.ball_tilt, Some(12_f64.to_radians()));
    let names = ["ground", "crank", "coupler", "rocker", "axial", "twist", "lean", "zero_crank"];
    for (n, name) in names.into_iter().enumerate() {
        let place = design.places.of(Parameter::Size(n)).unwrap();
        let (line, _) = design.source.text[place.start..].split_once('\n').unwrap();
        let before = &design.source.text[..place.start];
        let key = before.lines().next_back().unwrap().split('=').next().unwrap().trim();
        assert_eq!(key, name.trim_start_matches("zero_"), "{line}");
    }
}

#[test]
fn what_is_left_out_of_a_ball_rod_is_nought_and_without_tolerance() {
    let design =
        text_of(&BALL_ROD.replace("twist = \"4.5 +0.2/-0.1 deg\"\nlean = \"-2 deg\"\n", ""));
    for name in ["axial", "twist", "lean"] {
        assert_eq!(size(&design, name), (0.0, None), "{name}");
    }
    assert_eq!((design.accept.ball_tilt, design.accept.crank_side), (None, None));
}

#[test]
fn a_view_from_behind_turns_crank_and_stroke_round_but_neither_twist_nor_lean() {
    let toward = text_of(BALL_ROD);
    let away = text_of(&BALL_ROD.replacen('\n', "\naxis_points = \"away\"\n", 1));
    for name in ["axial", "twist", "lean", "crank", "coupler"] {
        assert_eq!(size(&toward, name), size(&away, name), "{name}");
    }
    let (crank, limits) = size(&away, "zero_crank");
    near(crank, -80_f64.to_radians());
    let [lower, upper] = limits.unwrap();
    near(lower, -1_f64.to_radians());
    near(upper, 0.5_f64.to_radians());
    near(away.stroke.low, -30_f64.to_radians());
    near(away.stroke.high, 10_f64.to_radians());
}

#[test]
fn the_axes_of_a_ball_rods_drawing_are_square_and_hold_its_joint_axis() {
    for text in [BALL_ROD.to_owned(), BALL_ROD.replacen('\n', "\naxis_points = \"away\"\n", 1)] {
        let design = text_of(&text);
        let [x, y, z] = design.geometry.drawing_frame;
        let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        for (one, other, wanted) in
            [(x, x, 1.0), (y, y, 1.0), (x, y, 0.0), (y, z, 0.0), (x, z, 0.0)]
        {
            near(dot(one, other), wanted);
        }
        let (twist, lean) = (4.5_f64.to_radians(), -2_f64.to_radians());
        let axis = [lean.sin(), -twist.sin() * lean.cos(), twist.cos() * lean.cos()];
        let sense = design.drawing_sense();
        for (found, wanted) in z.into_iter().zip([axis[0], sense * axis[1], sense * axis[2]]) {
            near(found, wanted);
        }
    }
}

#[test]
fn the_lever_as_drawn_picks_the_assembly_of_a_ball_rod() {
    let text = BALL_ROD.replace("rocker = \"80 deg\"", "rocker = \"-103 deg\"");
    for (text, open) in [(BALL_ROD, true), (text.as_str(), false)] {
        let Drawing::BallRod { assembly, .. } = text_of(text).geometry.drawing else { panic!() };
        assert_eq!(assembly == Assembly::Open, open);
    }
}

#[test]
fn points_of_cad_carry_the_tolerance_of_all_points_or_their_own() {
    let path = file("ball_rod_points.toml");
    let text = fs::read_to_string(path).unwrap();
    let design = text_of(&text.replace("\"45.80 mm\"", "\"45.80 ±0.3 mm\""));
    assert_eq!(size(&design, "rocker_x"), (0.0458, Some([-3e-4, 3e-4])));
    assert_eq!(size(&design, "rocker_y"), (0.00843, Some([-5e-5, 5e-5])));
    let (tilt, limits) = size(&design, "joint_axis_v");
    near(tilt, 0.0);
    near(limits.unwrap()[1], 0.1_f64.to_radians());
    assert!(design.geometry.is_in_carrier_frame);
    assert_eq!(design.robots[0].origin, [0.0, 0.0, -0.3]);
    let Drawing::BallRodPoints(points) = &design.geometry.drawing else { panic!() };
    let (sizes, _) = points.drawing().unwrap();
    // The foot of Q on the joint axis lies 0.94 mm beside that of P: a lean of 0.014 deg.
    assert!((sizes.twist.to_degrees() - 4.5).abs() < 1e-3 && sizes.lean.to_degrees().abs() < 0.02);
}

#[test]
fn a_rod_of_given_length_is_a_size_of_its_own() {
    let text = fs::read_to_string(file("ball_rod_points.toml")).unwrap();
    let design = text_of(&text.replace("[tolerance]", "coupler = \"300.1 ±0.2 mm\"\n[tolerance]"));
    assert_eq!(size(&design, "coupler"), (0.3001, Some([-2e-4, 2e-4])));
}

const ACTUATOR: &str = "name = \"a\"\n[drive]\nkind = \"linear_actuator\"\n[linkage]\nground = \"300 mm\"\n\
    rocker = \"45 mm\"\nline_offset = \"4 ±0.1 mm\"\n[zero]\nrocker = \"132 ±0.5 deg\"\nset_by = \"jig\"\n\
    [screw]\nlead = \"-5 ±0.01 mm\"\nefficiency = \"90 %\"\nmean_diameter = \"12 mm\"\nshortest = \"250 mm\"\n\
    longest = \"310 mm\"\ntwist_guided = true\n[stroke]\njoint = [\"-8 deg\", \"8 deg\"]\n";

#[test]
fn an_actuator_has_its_screw_its_lengths_and_the_tolerance_of_its_lead() {
    let design = text_of(ACTUATOR);
    assert_eq!(size(&design, "line_offset"), (0.004, Some([-1e-4, 1e-4])));
    assert_eq!(size(&design, "lead"), (-0.005, Some([-1e-5, 1e-5])));
    near(size(&design, "zero_rocker").1.unwrap()[0], -0.5_f64.to_radians());
    let screw = design.geometry.screw.unwrap();
    assert_eq!((screw.lead, screw.is_twist_guided), (-0.005, true));
    near(screw.efficiency.unwrap(), 0.9);
    near(screw.mean_diameter.unwrap(), 0.012);
    let Drawing::PlanarActuator { lengths, .. } = design.geometry.drawing else { panic!() };
    assert_eq!(lengths, Some([0.25, 0.31]));
}

#[test]
fn the_length_of_an_actuator_in_its_zero_pose_says_where_the_lever_is() {
    let exact = ACTUATOR.replace(" ±0.1 mm\"\n[zero]", " mm\"\n[zero]").replace(" ±0.01 mm", " mm");
    for (hint, sign) in [("130 deg", 1.0), ("-130 deg", -1.0)] {
        let text = exact.replace("132 ±0.5 deg\"", &format!("{hint}\"\nlength = \"271.95 mm\""));
        let design = text_of(&text);
        // x² + e² = g² + c² + 2gc cos ψ
        let (lever, limits) = size(&design, "zero_rocker");
        let squared = 0.3 * 0.3 + 0.045 * 0.045 + 2.0 * 0.3 * 0.045 * lever.cos();
        near((squared - 0.004 * 0.004).sqrt(), 0.27195);
        assert!(lever * sign > 0.0 && limits.is_none());
    }
}

#[test]
fn an_actuator_by_points_in_a_plane_is_the_one_by_lengths() {
    let lever = 132_f64.to_radians();
    let point = format!("[\"{} mm\", \"{} mm\"]", 300.0 + 45.0 * lever.cos(), 45.0 * lever.sin());
    let (before, behind) = ACTUATOR.split_once("[linkage]").unwrap();
    let (_, behind) = behind.split_once("[screw]").unwrap();
    let text = format!(
        "{before}[pivots]\nmotor = [\"0 mm\", \"0 mm\"]\njoint = [\"300 mm\", \"0 mm\"]\nrocker = {point}\n\
         line_offset = \"4 mm\"\n[zero]\nset_by = \"drawing\"\n[screw]{behind}"
    );
    let (by_points, by_lengths) = (text_of(&text), text_of(ACTUATOR));
    assert!(!by_points.geometry.is_in_carrier_frame);
    let motor = |design: &Design<Drawn>| Driven::of(design).unwrap().drive.motor_turn(0.1).unwrap();
    assert!((motor(&by_points) - motor(&by_lengths)).abs() < 1e-9);
    let away = text_of(&text.replacen('\n', "\naxis_points = \"away\"\n", 1));
    near(size(&away, "rocker_y").0, -size(&by_points, "rocker_y").0);
}

#[test]
fn a_sliders_guide_has_sizes_and_its_nut_picks_one_of_two_places() {
    let text = fs::read_to_string(file("slider.toml")).unwrap();
    let text = text
        .replace("\"67.5 mm\"]", "\"67.5 +0.1/0 mm\"]")
        .replace("[zero]", "[zero]\nset_by = \"jig\"");
    let design = text_of(&text);
    let (beside, limits) = size(&design, "guide_y");
    near(beside, 0.0675);
    near(limits.unwrap()[1], 1e-4);
    let ahead = text_of(&text.replace("\"145 mm\"", "\"312 mm\""));
    let ratio = |design: &Design<Drawn>| {
        design.geometry.drawing.drive().unwrap().motion(0.0).unwrap().ratio
    };
    assert!((ratio(&design) - ratio(&ahead)).abs() > 1.0);
}

#[test]
fn a_slider_by_points_in_space_is_the_one_in_its_plane() {
    let text = fs::read_to_string(file("slider.toml")).unwrap();
    let (before, behind) = text.split_once("[linkage]").unwrap();
    let (_, behind) = behind.split_once("[zero]").unwrap();
    let lever = 50.75_f64.to_radians();
    let (along, beside) = (200.0 + 45.0 * lever.cos(), 45.0 * lever.sin());
    // The drawing's x, y and z are the carrier's −z, x and −y.
    let points = format!(
        "{before}[pivots]\nmotor = [\"67.5 mm\", \"3 mm\", \"0 mm\"]\nmotor_axis = [0, 0, -2]\n\
         joint = [\"0 mm\", \"-4 mm\", \"-200 mm\"]\njoint_axis = [0, -1, 0]\ncoupler = \"90 mm\"\n\
         rocker = [\"{beside} mm\", \"3 mm\", \"{} mm\"]\n[zero]{}",
        -along,
        behind
            .replace("rocker = \"50.75 deg\"\n", "")
            .replace("motor_at", "#")
            .replace("[0.0, 1.0, 0.0]", "[0, -1, 0]")
    );
    let (space, plane) = (text_of(&points), drawn("slider.toml"));
    assert!(space.geometry.is_in_carrier_frame);
    for joint in [-0.6, 0.1, 0.6] {
        let motor =
            |design: &Design<Drawn>| Driven::of(design).unwrap().drive.motor_turn(joint).unwrap();
        assert!((motor(&space) - motor(&plane)).abs() < 1e-9);
    }
}

#[test]
fn a_series_has_the_sizes_of_its_stages_in_order_and_points_at_their_names() {
    let design = drawn("series_knee.toml");
    let sizes: Vec<_> = design.geometry.sizes().collect();
    assert_eq!(sizes.iter().map(|(size, _)| size.stage).max(), Some(1));
    let upper: Vec<_> = sizes.iter().filter(|(size, _)| size.stage == 0).collect();
    assert_eq!(upper.len(), 8);
    let (ground, drawn) = upper[0];
    assert_eq!((ground.name, ground.value), ("ground", 0.26));
    assert_eq!(drawn.tolerance.as_ref().unwrap().written, "±0.1 mm");
    let place = drawn.place.clone().unwrap();
    assert_eq!(&design.source.text[place], "\"series_knee_upper.toml\"");
    assert_eq!(design.geometry.stages.len(), 2);
    let driven = Driven::of(&design).unwrap();
    assert!((driven.stroke.mean_ratio() - 1.0).abs() < 1e-3);
}

#[test]
fn a_motor_on_the_parent_names_the_joint_it_is_coaxial_with() {
    let AnyDesign::FourBar(bar) = any("hip_knee_bar.toml") else { panic!() };
    assert_eq!(bar.motor_on, MotorOn::Parent);
    let parent = bar.robots[0].parent_joint.clone().unwrap();
    assert_eq!((parent.joint.as_str(), parent.motor_link.as_str()), ("left_hip_pitch", "pelvis"));
    assert_eq!((parent.reads, parent.sign), (0.0, -1.0));
    let belt = drawn("belt.toml");
    assert_eq!((belt.motor_on, belt.robots[0].parent_joint.clone()), (MotorOn::Carrier, None));
    assert_eq!(size(&belt, "ratio"), (-2.5, None));
}

#[test]
fn a_reader_of_planar_four_bars_refuses_another_kind_by_name() {
    let refused = parse("design.toml", BALL_ROD).unwrap_err();
    assert!(refused.render(false).contains("a drive of kind ball_rod is no planar four-bar"));
}

#[test]
fn every_template_is_a_design_that_runs_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    for (name, kind) in [("upper.toml", Kind::FourBar), ("lower.toml", Kind::BallRod)] {
        fs::write(folder.path().join(name), template(kind)).unwrap();
    }
    let path = folder.path().join("new.toml");
    for kind in Kind::ALL {
        let text = template(kind);
        let read = parse_any(path.to_str().unwrap(), &text);
        let (design, warnings) = read.unwrap_or_else(|rejected| panic!("{rejected}"));
        assert!(warnings.is_empty() && design.kind() == kind, "{}", kind.name());
        run_over_stroke(kind.name(), &design);
    }
}
