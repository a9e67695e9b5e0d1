//! Sound designs: what stands in the file against what comes out, in SI and in the joint axis's sense.

use std::f64::consts::{FRAC_PI_2, PI};
use unloop::design::{
    AxisPoints, BodyFrame, BodyInertia, Design, Parameter, Preset, SetBy, StrokeBy, Wish, parse,
    read,
};
use unloop::equivalence::{Basis, LengthName};

const LINKAGE: &str = r#"
[linkage]
ground  = "300 mm"
crank   = "45 mm"
coupler = "310 mm"
rocker  = "40 mm"
"#;

const ZERO: &str = "[zero]\ncrank = \"80 deg\"\nrocker = \"100 deg\"\n";

const STROKE: &str = "[stroke]\njoint = [\"-35 deg\", \"40 deg\"]\n";

fn sound(text: &str) -> Design {
    match parse("design.toml", text) {
        Ok((design, warnings)) => {
            assert!(warnings.is_empty(), "{}", design.render(&warnings, false));
            design
        }
        Err(rejected) => panic!("{rejected}"),
    }
}

fn plain(more: &str) -> Design {
    sound(&format!("name = \"a\"\n{LINKAGE}{ZERO}{STROKE}{more}"))
}

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-12, "{found} instead of {wanted}");
}

#[track_caller]
fn near_deg(found: f64, wanted: f64) {
    near(found, wanted.to_radians());
}

/// The whole file of the README's kind, every table in it.
const WHOLE: &str = include_str!("../data/whole_design.toml");

#[test]
fn a_whole_design_is_read_without_a_word() {
    let design = sound(WHOLE);
    assert_eq!(design.name, "ankle_pitch");
    assert_eq!(design.set_by, Some(SetBy::Jig));
    near(design.geometry.ground.nominal, 0.3);
    let rocker = design.geometry.rocker.tolerance.unwrap();
    near(rocker.lower, -5e-5);
    near(rocker.upper, 2e-5);
    assert_eq!(rocker.written, "+0.02/-0.05 mm");
    let actuator = design.actuator.unwrap();
    near(actuator.gear_ratio.unwrap(), 7.75);
    near(actuator.rotor_inertia.unwrap(), 1.5e-4);
    assert_eq!(actuator.rotor_in_carrier, Some(true));
    near_deg(actuator.stops.unwrap()[0], -50.0);
    near(design.rod.unwrap().modulus.unwrap(), 69e9);
    assert_eq!(design.mass.child.unwrap().frame, BodyFrame::Drawing);
    assert_eq!(design.mass.carrier.unwrap().frame, BodyFrame::Robot);
    assert_eq!(design.robots.len(), 2);
    assert!(design.robots[1].mirrored);
    near(design.robots[1].motor_sign, -1.0);
}

#[test]
fn pins_have_the_clearance_of_their_fit() {
    // ISO 286-2: H7/g6 at 6 mm 4…24 um, at 10 mm 5…29 um.
    let pins = sound(WHOLE).pins;
    let (motor, crank, joint) = (pins.motor.unwrap(), pins.crank.unwrap(), pins.joint.unwrap());
    near(crank.clearance[0], 4e-6);
    near(crank.clearance[1], 24e-6);
    near(motor.clearance[1], 29e-6);
    near(motor.diameter.unwrap(), 0.01);
    near(motor.width.unwrap(), 0.008);
    assert_eq!(crank.fit.as_deref(), Some("H7/g6"));
    assert_eq!((joint.clearance, joint.diameter), ([5e-6, 5e-6], None));
}

#[test]
fn what_is_left_out_has_its_default() {
    let design = plain("");
    assert_eq!(design.axis_points, AxisPoints::Toward);
    assert_eq!(design.direct_joint.ratio, Wish::Best);
    assert_eq!(design.direct_joint.offset, Wish::Given(0.0));
    assert_eq!(design.accept.preset, Preset::Training);
    assert_eq!(design.accept.over, Basis::Nominal);
    near_deg(design.accept.angle, 0.5);
    near(design.accept.ratio, 0.02);
    near(design.accept.inertia, 0.05);
    near_deg(design.accept.transmission_angle, 30.0);
    assert!(!design.accept.inertia_by_hand);
    assert!(design.set_by.is_none() && design.actuator.is_none() && design.robots.is_empty());
    near(design.motor_reads, 0.0);
}

#[test]
fn a_preset_is_overridden_by_single_lines() {
    let accept = plain("[accept]\npreset = \"invisible\"\nratio = \"1 %\"\n").accept;
    near_deg(accept.angle, 0.05);
    near(accept.ratio, 0.01);
    near_deg(accept.transmission_angle, 40.0);
    let coarse = plain("[accept]\npreset = \"coarse\"\n").accept;
    near(coarse.inertia, 0.1);
    near_deg(coarse.transmission_angle, 20.0);
}

#[test]
fn a_drawn_tolerance_makes_the_verdict_one_over_the_tolerance() {
    let set = ZERO.replace("80 deg\"", "80 ±0.5 deg\"\nset_by = \"drawing\"");
    let text = format!("name = \"a\"\n{LINKAGE}{set}{STROKE}");
    let design = sound(&text);
    assert_eq!(design.accept.over, Basis::Tolerance);
    near_deg(design.geometry.zero_crank.tolerance.unwrap().upper, 0.5);
    let nominal = sound(&format!("{text}[accept]\nover = \"nominal\"\n"));
    assert_eq!(nominal.accept.over, Basis::Nominal);
}

#[test]
fn classes_and_grades_are_looked_up_by_size() {
    // ISO 2768-1 f at 300 mm: ±0.2; ISO 286-1 IT9 at 45 mm: 62 um.
    let linkage = LINKAGE.replace("300 mm", "300 mm ISO 2768-f").replace("45 mm", "45 mm IT9");
    let zero = format!("{ZERO}set_by = \"jig\"\n");
    let geometry = sound(&format!("name = \"a\"\n{linkage}{zero}{STROKE}")).geometry;
    near(geometry.ground.tolerance.unwrap().upper, 0.2e-3);
    let crank = geometry.crank.tolerance.unwrap();
    near(crank.lower, -31e-6);
    near(crank.upper, 31e-6);
    assert_eq!(crank.written, "IT9");
}

#[test]
fn an_axis_that_points_away_turns_every_angle_of_the_drawing_round() {
    let zero = "[zero]\ncrank = \"80 +0.5/-0.2 deg\"\nrocker = \"100 deg\"\nset_by = \"jig\"\n";
    let more =
        "[direct_joint]\noffset = \"2 deg\"\n[actuator]\nstops = [\"-50 deg\", \"55 deg\"]\n";
    let design =
        sound(&format!("name = \"a\"\naxis_points = \"away\"\n{LINKAGE}{zero}{STROKE}{more}"));
    near_deg(design.geometry.zero_crank.nominal, -80.0);
    let tolerance = design.geometry.zero_crank.tolerance.as_ref().unwrap();
    near_deg(tolerance.lower, -0.5);
    near_deg(tolerance.upper, 0.2);
    near_deg(design.geometry.zero_rocker, -100.0);
    near_deg(design.stroke.low, -40.0);
    near_deg(design.stroke.high, 35.0);
    assert_eq!(design.direct_joint.offset, Wish::Given(-(2.0_f64.to_radians())));
    let stops = design.actuator.as_ref().unwrap().stops.unwrap();
    near_deg(stops[0], -55.0);
    near_deg(stops[1], 50.0);
    near(design.drawing_sense(), -1.0);
}

#[test]
fn strokes_and_stops_are_readings() {
    let zero = format!("{ZERO}motor_reads = \"10 deg\"\njoint_reads = \"-20 deg\"\n");
    let stops = "[actuator]\nstops = [\"-50 deg\", \"55 deg\"]\n";
    let design = sound(&format!("name = \"a\"\n{LINKAGE}{zero}{STROKE}{stops}"));
    assert_eq!(design.stroke.by, StrokeBy::Joint);
    near_deg(design.stroke.low, -15.0);
    near_deg(design.stroke.high, 60.0);
    near_deg(design.actuator.unwrap().stops.unwrap()[0], -60.0);
    let motor = STROKE.replace("joint", "motor");
    let design = sound(&format!("name = \"a\"\n{LINKAGE}{zero}{motor}"));
    assert_eq!(design.stroke.by, StrokeBy::Motor);
    near_deg(design.stroke.low, -45.0);
    near_deg(design.stroke.high, 30.0);
    near_deg(design.motor_reads, 10.0);
}

#[test]
fn a_zero_crank_is_wrapped_into_minus_180_exclusive_to_180_inclusive() {
    for (written, wanted) in
        [("180 deg", 180.0), ("-180 deg", 180.0), ("270 deg", -90.0), ("720 deg", 0.0)]
    {
        let zero = ZERO.replace("80 deg", written);
        let design = sound(&format!("name = \"a\"\n{LINKAGE}{zero}{STROKE}"));
        near_deg(design.geometry.zero_crank.nominal, wanted);
    }
}

const PLANE: &str = r#"
[pivots]
motor  = ["0 mm", "0 mm"]
joint  = ["0 mm", "-300 mm"]
crank  = ["45 mm", "0 mm"]
rocker = ["40 mm", "-310 mm"]
"#;

#[test]
fn pivots_give_lengths_and_pose() {
    let geometry = sound(&format!("name = \"a\"\n{PLANE}{STROKE}")).geometry;
    near(geometry.ground.nominal, 0.3);
    near(geometry.crank.nominal, 0.045);
    near(geometry.coupler.nominal, 5e-3_f64.hypot(0.31));
    near(geometry.rocker.nominal, 0.04_f64.hypot(0.01));
    near(geometry.zero_crank.nominal, FRAC_PI_2);
    near(geometry.zero_rocker, 4.0_f64.atan2(1.0));
    assert!(geometry.pivots.is_none());
}

#[test]
fn plane_pivots_are_seen_in_the_drawing() {
    let away = sound(&format!("name = \"a\"\naxis_points = \"away\"\n{PLANE}{STROKE}")).geometry;
    near(away.zero_crank.nominal, -FRAC_PI_2);
    near(away.zero_rocker, -(4.0_f64.atan2(1.0)));
}

#[test]
fn pivots_take_their_tolerances_from_their_own_table() {
    let zero = "[zero]\nset_by = \"jig\"\n[tolerance]\ncrank = \"±0.05 mm\"\nrocker = \"IT9\"\ntogether = [\"crank\", \"rocker\"]\n";
    let design = sound(&format!("name = \"a\"\n{PLANE}{STROKE}{zero}"));
    near(design.geometry.crank.tolerance.unwrap().upper, 5e-5);
    near(design.geometry.rocker.tolerance.unwrap().upper, 31e-6);
    assert!(design.geometry.ground.tolerance.is_none());
    assert_eq!(design.together[0].lengths, [LengthName::Crank, LengthName::Rocker]);
    near(design.together[0].correlation, 1.0);
}

#[test]
fn lengths_made_together_may_be_given_as_tables() {
    let together = "[tolerance]\ntogether = [{ lengths = [\"ground\", \"coupler\"], correlation = 0.8 }, [\"crank\", \"rocker\"]]\n";
    let design = plain(together);
    assert_eq!(design.together.len(), 2);
    near(design.together[0].correlation, 0.8);
}

/// The plane pins again, the drawing's x along the robot's x, its y along z: a side view, axis −y toward the
/// reader; here given with axis +y, so that the sense is the other one.
const SPATIAL: &str = r#"
[pivots]
axis   = [0, 2, 0]
motor  = ["0 mm", "1 mm", "0 mm"]
joint  = ["0 mm", "4 mm", "-300 mm"]
crank  = ["45 mm", "2 mm", "0 mm"]
rocker = ["40 mm", "9 mm", "-310 mm"]
"#;

#[test]
fn spatial_pivots_are_projected_along_their_axis() {
    let geometry = sound(&format!("name = \"a\"\n{SPATIAL}{STROKE}")).geometry;
    near(geometry.ground.nominal, 0.3);
    near(geometry.coupler.nominal, 5e-3_f64.hypot(0.31));
    near(geometry.zero_crank.nominal, -FRAC_PI_2);
    near(geometry.zero_rocker, -(4.0_f64.atan2(1.0)));
    let pivots = geometry.pivots.unwrap();
    near(pivots.axis[1], 1.0);
    near(pivots.axial_offsets[0], -3e-3);
    near(pivots.axial_offsets[1], -2e-3);
    near(pivots.axial_offsets[2], 5e-3);
    near(pivots.joint[2], -0.3);
}

#[test]
fn a_robot_without_an_origin_takes_the_spatial_joint_pin() {
    let robot = "[[robot]]\njoint = \"j\"\nparent = \"p\"\nchild = \"c\"\naxis = [0, 3, 0.001]\n";
    let robots = sound(&format!("name = \"a\"\n{SPATIAL}{STROKE}{robot}")).robots;
    near(robots[0].origin[2], -0.3);
    near(robots[0].origin[1], 0.004);
    assert_eq!(robots[0].motor_at, None);
    assert!(!robots[0].mirrored);
    near(robots[0].motor_sign, 1.0);
    near(robots[0].axis.iter().map(|one| one * one).sum::<f64>(), 1.0);
}

#[test]
fn a_mirrored_robot_may_have_its_axis_the_other_way() {
    // Mirrored in y = 0, which turns an axis along y round.
    let robot = "[[robot]]\njoint = \"j\"\nparent = \"p\"\nchild = \"c\"\naxis = [0, -1, 0]\nmirrored = true\norigin = [\"0 mm\", \"-4 mm\", \"-300 mm\"]\n";
    let text = |robot: &str| format!("name = \"a\"\n{SPATIAL}{STROKE}{robot}");
    assert!(sound(&text(robot)).robots[0].mirrored);
    // Not turned round there it is no mirror image in that plane.
    assert!(parse("a", &text(&robot.replace("-1, 0]", "1, 0]"))).is_err());
}

#[test]
fn the_motor_may_miss_the_ground_length_by_a_thousandth_and_stand_off_along_the_axis() {
    let robot = "[[robot]]\njoint = \"j\"\nparent = \"p\"\nchild = \"c\"\naxis = [0, 1, 0]\norigin = [\"0 mm\", \"0 mm\", \"0 mm\"]\nmotor_at = [\"0 mm\", \"80 mm\", \"300.29 mm\"]\n";
    assert_eq!(plain(robot).robots.len(), 1);
    let off = robot.replace("300.29", "300.31");
    assert!(parse("a", &format!("name = \"a\"\n{LINKAGE}{ZERO}{STROKE}{off}")).is_err());
}

#[test]
fn inertia_is_one_figure_or_a_tensor() {
    let design = sound(WHOLE);
    assert!(matches!(design.mass.crank.unwrap().inertia, BodyInertia::AboutAxis(_)));
    let child = design.mass.child.unwrap();
    assert!(child.center_is_spatial);
    assert!(matches!(child.inertia, BodyInertia::Tensor(_)));
}

#[test]
fn a_rounded_flat_plate_is_still_a_body() {
    let plate = "[mass.child]\nmass = \"1 kg\"\ncenter = [\"0 mm\", \"0 mm\"]\ninertia = [\"1.001e-3 kg m2\", \"2.002e-3 kg m2\", \"3.004e-3 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\n";
    assert!(plain(plate).mass.child.is_some());
}

#[test]
fn every_parameter_that_is_written_has_its_place() {
    let design = sound(WHOLE);
    let text = |parameter| &WHOLE[design.places.of(parameter).unwrap()];
    let rows = [
        (Parameter::Ground, "\"300 ±0.1 mm\""),
        (Parameter::Crank, "\"45 ±0.05 mm\""),
        (Parameter::Coupler, "\"300 ±0.1 mm\""),
        (Parameter::Rocker, "\"45 +0.02/-0.05 mm\""),
        (Parameter::ZeroCrank, "\"90 deg\""),
        (Parameter::ZeroRocker, "\"90 deg\""),
        (Parameter::SetBy, "\"jig\""),
        (Parameter::StrokeFirst, "\"-35 deg\""),
        (Parameter::StrokeSecond, "\"40 deg\""),
        (Parameter::Ratio, "1.0"),
        (Parameter::Offset, "\"0 deg\""),
        (Parameter::AcceptInertia, "\"5 %\""),
        (Parameter::AcceptOver, "\"tolerance\""),
        (Parameter::Stops, "[\"-50 deg\", \"55 deg\"]"),
        (Parameter::Robot(0), "[[robot]]"),
        (Parameter::Robot(1), "[[robot]]"),
    ];
    for (parameter, wanted) in rows {
        assert_eq!(text(parameter), wanted, "{parameter:?}");
    }
    assert_eq!(design.places.of(Parameter::Robot(2)), None);
}

#[test]
fn parameters_of_pivots_point_at_the_pins() {
    let text = format!("name = \"a\"\n{PLANE}{STROKE}");
    let design = sound(&text);
    assert_eq!(&text[design.places.of(Parameter::Ground).unwrap()], "[\"0 mm\", \"-300 mm\"]");
    assert_eq!(&text[design.places.of(Parameter::Coupler).unwrap()], "[\"40 mm\", \"-310 mm\"]");
    assert_eq!(design.places.of(Parameter::SetBy), None);
}

#[test]
fn a_fault_found_elsewhere_underlines_the_users_line() {
    let design = plain("");
    let fault = design
        .diagnose(Parameter::Coupler, "the loop cannot close")
        .label("too short")
        .help("at least 315 mm");
    let shown = design.render(&[fault], false);
    assert!(shown.contains("design.toml:6:11") && shown.contains("^^^^^^^^ too short"), "{shown}");
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_change_nothing() {
    let text = format!("\u{feff}name = \"a\"\n{LINKAGE}{ZERO}{STROKE}").replace('\n', "\r\n");
    near(sound(&text).geometry.crank.nominal, 0.045);
}

#[test]
fn a_file_over_the_limit_is_refused_unread() {
    let huge = vec![b'#'; 100_000_000];
    let rejected = read("huge.toml", &huge).unwrap_err();
    assert!(
        rejected.to_string().starts_with("error: the file has more than 1048576 bytes"),
        "{rejected}"
    );
}

#[test]
fn a_figure_in_the_file_is_the_nearest_float() {
    let linkage = LINKAGE.replace("45 mm", "0.1 mm");
    let design = sound(&format!("name = \"a\"\n{linkage}{ZERO}{STROKE}"));
    assert_eq!(design.geometry.crank.nominal.to_bits(), 1e-4_f64.to_bits());
    assert_eq!(
        sound(&format!("name = \"a\"\n{LINKAGE}{}{STROKE}", ZERO.replace("80", "180")))
            .geometry
            .zero_crank
            .nominal
            .to_bits(),
        PI.to_bits()
    );
}
