//! What is printed of a jaw beside its verdict: each a figure or a word that once misled.

use serde_json::Value;
use unloop::design::parse;
use unloop::diagnostic::Code;
use unloop::equivalence::Criterion;
use unloop::study::{Check, check};

const LENGTHS: &str = "[linkage]\nground = \"20 mm\"\ncrank = \"40 mm\"\ncoupler = \"20 mm\"\nrocker = \"40 mm\"\n\
    [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n";
const STROKE: &str = "[stroke]\nmotor = [\"-30 deg\", \"30 deg\"]\n";
const PAD: &str = "[finger]\npad = \"coupler\"\npoint = [\"10 mm\", \"30 mm\"]\n";

fn read(text: &str) -> Result<Check, String> {
    let (design, _) = parse("g.toml", text).map_err(|rejected| rejected.to_string())?;
    check(&design).map_err(|faults| format!("{faults:?}"))
}

fn jaw(closing: &str, opening: &str, more: &str) -> Check {
    let text = format!(
        "name = \"g\"\n{LENGTHS}{STROKE}{PAD}closing = {closing}\nopening = \"{opening}\"\n{more}"
    );
    read(&text).unwrap()
}

fn warns(found: &Check, code: Code) -> bool {
    found.warnings.iter().any(|warning| warning.code == code)
}

fn json(found: &Check) -> Value {
    serde_json::to_value(found).unwrap()
}

/// Pads that shift along their own faces: at the middle of the stroke the crank points along n.
const TURNS_BACK: &str = "[0.0, 1.0]";

/// 95 mm cranks whose pins are typed in tenths: two lengths that should be equal differ in their last bit.
#[test]
fn the_toggle_of_a_gripper_drawn_by_its_pins_is_not_lost_to_rounding() {
    let text = "name = \"g\"\n[pivots]\nmotor = [\"107.0 mm\", \"76.0 mm\"]\njoint = [\"160.0 mm\", \"76.0 mm\"]\n\
        crank = [\"116.9 mm\", \"170.5 mm\"]\nrocker = [\"169.9 mm\", \"170.5 mm\"]\n\
        [stroke]\nmotor = [\"-4.5 deg\", \"43.8 deg\"]\n[finger]\npad = \"coupler\"\n\
        point = [\"112.96598 mm\", \"-105.39186 mm\"]\nclosing = [-1.0, 0.0]\nopening = \"163 mm\"\n";
    let found = read(text).unwrap();
    let toggle =
        found.finger.unwrap().toggle.expect("the pads stand still where crank and ground line up");
    let change_point = found.change_point.unwrap();
    assert!((toggle.motor - change_point.at).abs() < 1e-9, "{toggle:?} {change_point:?}");
}

#[test]
fn pads_that_close_to_nothing_at_the_end_of_the_stroke_are_not_said_to_meet_within_it() {
    assert!(!warns(&jaw("[-1.0, 0.0]", "40 mm", ""), Code::PadsMeet));
    assert!(warns(&jaw("[-1.0, 0.0]", "39.99 mm", ""), Code::PadsMeet));
}

#[test]
fn a_slide_that_has_no_way_is_not_blamed_on_a_rocker_that_turns() {
    let found = jaw(TURNS_BACK, "50 mm", "[direct_joint]\nstand_in = \"slide\"\n");
    assert!(found.reason.contains("pad stands still"), "{}", found.reason);
    assert!(!found.reason.contains("rocker"), "{}", found.reason);
}

#[test]
fn the_force_of_a_hinge_whose_pad_stands_still_is_no_figure_of_chance() {
    let found = jaw(TURNS_BACK, "50 mm", "[direct_joint]\nstand_in = \"hinge\"\n");
    assert_eq!(found.criterion(Criterion::Grip).unwrap().nominal, None);
    let rows = &json(&found)["finger"]["stand_ins"];
    assert!(rows[2]["stand_in"] == "hinge" && rows[2]["grip"].is_null(), "{rows}");
    assert!(found.reason.contains("stands still"), "{}", found.reason);
}

#[test]
fn a_drive_without_friction_is_not_said_to_hold_any_force_at_the_toggle() {
    let found = jaw(TURNS_BACK, "50 mm", "[actuator]\nholding_friction = \"0 N m\"\n");
    assert!(found.finger.unwrap().unpowered.unwrap().holds.iter().all(|held| held.abs() < 1e-300));
    let found = jaw(TURNS_BACK, "50 mm", "[actuator]\nholding_friction = \"0.1 N m\"\n");
    assert!(found.finger.unwrap().unpowered.unwrap().holds[1].is_infinite());
}

#[test]
fn a_script_reads_the_ratio_of_a_hinge_and_no_joint_of_another_stand_in() {
    let found = json(&jaw("[-1.0, 0.0]", "50 mm", "[direct_joint]\nstand_in = \"hinge\"\n"));
    assert!((found["direct_joint"]["ratio"].as_f64().unwrap() - 1.0).abs() < 1e-9);
    assert!(json(&jaw("[-1.0, 0.0]", "50 mm", ""))["direct_joint"].is_null());
}

#[test]
fn a_closing_direction_that_leads_out_of_the_plane_is_not_quietly_laid_into_it() {
    let space = |closing: &str| {
        read(&format!(
            "name = \"g\"\n[pivots]\naxis = [0, 1, 0]\nmotor = [\"0 mm\", \"0 mm\", \"0 mm\"]\njoint = [\"20 mm\", \"0 mm\", \"0 mm\"]\n\
             crank = [\"0 mm\", \"0 mm\", \"-40 mm\"]\nrocker = [\"20 mm\", \"0 mm\", \"-40 mm\"]\n{STROKE}[finger]\npad = \"coupler\"\n\
             point = [\"10 mm\", \"0 mm\", \"-30 mm\"]\nclosing = {closing}\nopening = \"50 mm\"\n"
        ))
    };
    assert!(space("[-1.0, 0.0, 0.0]").is_ok());
    let refused = space("[-1.0, 1.0, 0.0]").unwrap_err();
    assert!(refused.contains("leads out of the linkage's plane"), "{refused}");
    assert!(refused.contains("closing = [-1.0, 1.0, 0.0]"), "{refused}");
}

/// A slide's best constant makes two errors alike, one at an end of the stroke and one within; the larger is the worst.
#[test]
fn the_worst_opening_of_a_slide_is_not_the_lesser_of_two_that_are_nearly_alike() {
    let text = "name = \"g\"\n[linkage]\nground = \"90 mm\"\ncrank = \"203 mm\"\ncoupler = \"90 mm\"\nrocker = \"203 mm\"\n\
        [zero]\ncrank = \"-100.728 deg\"\nrocker = \"-101 deg\"\n[stroke]\njoint = [\"-18.0592757 deg\", \"31.6245382 deg\"]\n\
        [direct_joint]\nstand_in = \"slide\"\n[finger]\npad = \"coupler\"\npoint = [\"0 mm\", \"0 mm\"]\nclosing = [1.0, 0.0]\nopening = \"200 mm\"\n";
    let found = read(text).unwrap();
    let worst = found.criterion(Criterion::Opening).unwrap().nominal.unwrap().value();
    let [travel, _] = found.finger.as_ref().unwrap().travel.unwrap();
    let start = f64::to_radians(-100.728);
    let error = |turn: f64| 2.0 * (0.203 * ((start + turn).cos() - start.cos()) - travel * turn);
    let [from, to] = found.stroke.motor;
    for k in 0..=100_000_u32 {
        let turn = from + (to - from) * f64::from(k) / 1e5;
        assert!(error(turn).abs() <= worst + 1e-14, "{turn} {} {worst}", error(turn));
    }
}
