//! What a design file's study tells of a drive, from the file's text on: the worked values again, and the planar four-bar's.

use std::path::Path;

use unloop::design::{self, AnyDesign, Design, Drawn};
use unloop::study::{self, DriveRow, Driven, Mechanism, drive_rows, stroke_table};

use crate::known::{Case, cases};

fn read(text: &str, path: &Path) -> AnyDesign {
    design::read_any(&path.to_string_lossy(), text.as_bytes())
        .unwrap_or_else(|fault| panic!("{fault}\n{text}"))
        .0
}

fn drawn(text: &str, path: &Path) -> Design<Drawn> {
    match read(text, path) {
        AnyDesign::OneJoint(design) => *design,
        _ => panic!("no drive of one joint: {text}"),
    }
}

/// The row at a joint turn, rad.
fn row(design: &Design<Drawn>, joint: f64) -> DriveRow {
    let driven = Driven::of(design).unwrap_or_else(|faults| panic!("{faults:?}"));
    let rows = drive_rows(design, &driven, &driven.direct_joint(), &[joint]);
    assert_eq!(rows.len(), 1, "{joint}");
    rows[0]
}

fn agree(case: &Case, ours: &[(&str, Option<f64>)]) {
    for (key, value) in ours {
        let (value, exact) = (value.unwrap(), case.exact[*key]);
        let off = value - exact;
        let off = if key.contains("_deg") { libm::remainder(off, 360.0) } else { off };
        assert!(off.abs() <= 1e-10 * exact.abs().max(1.0), "{} {key}: {value} {exact}", case.id);
    }
}

fn degrees(angle: Option<f64>) -> Option<f64> {
    angle.map(f64::to_degrees)
}

fn millimetres(length: Option<f64>) -> Option<f64> {
    length.map(|length| 1e3 * length)
}

fn triple(key: &str, case: &Case, unit: &str) -> String {
    let number =
        |x: f64| if unit.is_empty() { format!("{x:?}") } else { format!("\"{x} {unit}\"") };
    format!("[{}]", case.point(key).map(number).join(", "))
}

/// A stroke from the zero pose to `joint` and a degree on either side, deg.
fn stroke(joint: f64) -> String {
    format!(
        "[stroke]\njoint = [\"{} deg\", \"{} deg\"]\n",
        joint.min(0.0) - 1.0,
        joint.max(0.0) + 1.0
    )
}

#[test]
fn a_rod_in_space_read_from_a_file_has_the_worked_ratio_margins_and_lever_angle() {
    for case in cases("rssr").iter().filter(|case| case.exact.contains_key("ball_tilt_crank_deg")) {
        let [ground, crank, coupler, rocker, axial, twist, lean, phi] =
            ["ground", "crank", "coupler", "rocker", "axial", "twist_deg", "lean_deg", "phi_deg"]
                .map(|key| case.input(key));
        let text = format!(
            "name = \"d\"\n[drive]\nkind = \"ball_rod\"\n[linkage]\nground = \"{ground} mm\"\ncrank = \"{crank} mm\"\n\
             coupler = \"{coupler} mm\"\nrocker = \"{rocker} mm\"\naxial = \"{axial} mm\"\ntwist = \"{twist} deg\"\n\
             lean = \"{lean} deg\"\n[zero]\ncrank = \"{phi} deg\"\nrocker = \"{} deg\"\n{}",
            case.exact["psi_deg"],
            stroke(0.0),
        );
        let row = row(&drawn(&text, Path::new("d.toml")), 0.0);
        agree(
            case,
            &[
                ("psi_deg", degrees(row.rocker)),
                ("transmission_ratio", Some(row.ratio)),
                ("mu_deg", degrees(row.transmission_angle)),
                ("ball_tilt_crank_deg", degrees(row.ball_tilt[0])),
                ("ball_tilt_rocker_deg", degrees(row.ball_tilt[1])),
            ],
        );
    }
}

#[test]
fn an_actuator_read_from_a_file_has_the_worked_travel_arm_and_turn() {
    for case in cases("telescope").iter().filter(|case| case.has("motor_pin")) {
        let text = format!(
            "name = \"d\"\n[drive]\nkind = \"linear_actuator\"\n[pivots]\nmotor = {}\njoint = {}\njoint_axis = {}\n\
             rocker = {}\nline_offset = \"{} mm\"\n[screw]\nlead = \"{} mm\"\n{}",
            triple("motor_pin", case, "mm"),
            triple("joint", case, "mm"),
            triple("axis", case, ""),
            triple("rocker_pin_zero", case, "mm"),
            case.input("line_offset"),
            case.input("lead_mm_per_turn"),
            stroke(case.input("joint_deg")),
        );
        let row = row(&drawn(&text, Path::new("d.toml")), case.angle("joint_deg"));
        agree(
            case,
            &[
                ("travel", millimetres(row.travel)),
                ("arm_mm_per_rad", millimetres(row.travel_rate)),
                ("motor_turn_rad", Some(row.motor)),
                ("transmission_ratio", Some(row.ratio)),
                ("mu_deg", degrees(row.transmission_angle)),
            ],
        );
    }
}

#[test]
fn a_nut_on_a_guide_read_from_a_file_has_the_worked_travel_and_margins() {
    for case in &cases("slide") {
        let text = format!(
            "name = \"d\"\n[drive]\nkind = \"slider\"\n[pivots]\nmotor = {}\nmotor_axis = {}\njoint = {}\njoint_axis = {}\n\
             rocker = {}\ncoupler = \"{} mm\"\n[screw]\nlead = \"5 mm\"\n[zero]\nnut = \"{} mm\"\n{}",
            triple("guide_point", case, "mm"),
            triple("guide", case, ""),
            triple("joint", case, "mm"),
            triple("axis", case, ""),
            triple("rocker_pin_zero", case, "mm"),
            case.input("rod"),
            case.exact["x_zero"],
            stroke(case.input("joint_deg")),
        );
        let row = row(&drawn(&text, Path::new("d.toml")), case.angle("joint_deg"));
        agree(
            case,
            &[
                ("x", millimetres(row.travel).map(|x| x + case.exact["x_zero"])),
                ("dx_dpsi_mm_per_rad", millimetres(row.travel_rate)),
                ("mu_deg", degrees(row.transmission_angle)),
                ("guide_pressure_angle_deg", degrees(row.crank_side).map(|side| 90.0 - side)),
            ],
        );
    }
}

#[test]
fn two_four_bars_in_series_read_from_files_have_the_product_of_their_ratios() {
    let bars = |sizes: [f64; 4], crank: f64, rocker: f64| {
        let [ground, crank_mm, coupler, rocker_mm] = sizes;
        format!(
            "name = \"s\"\n[linkage]\nground = \"{ground} mm\"\ncrank = \"{crank_mm} mm\"\ncoupler = \"{coupler} mm\"\n\
             rocker = \"{rocker_mm} mm\"\n[zero]\ncrank = \"{crank} deg\"\nrocker = \"{rocker} deg\"\n{}",
            stroke(0.0),
        )
    };
    for case in cases("series").iter().filter(|case| case.id == "series-two") {
        let own = ["ground", "crank", "coupler", "rocker"].map(|key| case.input(key));
        // R. L. Norton's linkage at a crank angle of 40 deg has its rocker at 57.3 deg.
        let first = bars([100.0, 40.0, 120.0, 80.0], 40.0, 57.3);
        let crank = 57.324_880_070_36 + case.input("stage2_crank_minus_stage1_rocker_deg");
        let second = bars(own, crank, case.exact["stage2_psi_deg"]);
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("a.toml"), &first).unwrap();
        std::fs::write(folder.path().join("b.toml"), &second).unwrap();
        let whole = "name = \"d\"\n[drive]\nkind = \"series\"\nstages = [\"a.toml\", \"b.toml\"]\n\
            [stroke]\njoint = [\"-0.1 deg\", \"0.1 deg\"]\n";
        let design = drawn(whole, &folder.path().join("d.toml"));
        agree(case, &[("ratio", Some(row(&design, 0.0).ratio))]);
    }
}

/// A four-bar, and the same as a rod whose axes are neither twisted nor leaning nor apart.
const FLAT: &str = "name = \"d\"\n[linkage]\nground = \"300 mm\"\ncrank = \"45 mm\"\ncoupler = \"310 mm\"\nrocker = \"60 mm\"\n\
    [zero]\ncrank = \"80 deg\"\nrocker = \"73 deg\"\n[stroke]\njoint = [\"-10 deg\", \"30 deg\"]\n";

#[test]
fn a_rod_without_twist_lean_and_axial_offset_is_told_as_the_four_bar_is() {
    for more in ["", "[direct_joint]\nratio = 1.3\n"] {
        let text = format!("{FLAT}{more}");
        let AnyDesign::FourBar(bars) = read(&text, Path::new("d.toml")) else { panic!("{text}") };
        let text = text.replace("[linkage]", "[drive]\nkind = \"ball_rod\"\n[linkage]");
        let rod = drawn(&text, Path::new("d.toml"));
        let mechanism = Mechanism::of(&bars).unwrap();
        let driven = Driven::of(&rod).unwrap();
        let ours = study::check_on(&rod, &driven).unwrap();
        let theirs = study::check_on(&bars, &mechanism).unwrap();
        assert_eq!(ours.verdict, theirs.verdict);
        let pairs = [
            [ours.direct_joint.ratio, theirs.direct_joint.ratio],
            [ours.direct_joint.offset, theirs.direct_joint.offset],
            [ours.angle_error.value, theirs.angle_error.value],
            [ours.transmission_ratio.mean, theirs.transmission_ratio.mean],
            [
                ours.transmission_ratio.worst_error.unwrap().value,
                theirs.transmission_ratio.worst_error.unwrap().value,
            ],
            [ours.transmission_angle.unwrap().value, theirs.transmission_angle.unwrap().value],
            [ours.zero.crank, theirs.zero.crank],
            [ours.zero.rocker, theirs.zero.rocker],
        ];
        for (k, [own, other]) in pairs.into_iter().enumerate() {
            assert!((own - other).abs() < 1e-9, "{k}: {own} {other}");
        }
        for pose in stroke_table(&mechanism, &theirs.direct_joint, 21) {
            let own = drive_rows(&rod, &driven, &theirs.direct_joint, &[pose.joint])[0];
            let side = own.transmission_angle.unwrap() - pose.pose.transmission_angle();
            let ratio = own.ratio - pose.pose.transmission_ratio();
            for off in [own.motor - pose.motor, ratio, side, own.angle_error - pose.angle_error] {
                assert!(off.abs() < 1e-9, "{own:?} {pose:?}");
            }
        }
    }
}
