//! Pictures and page of a drive of two joints.

use std::fs;

use crate::command::{output, run};
use crate::page::{page, pictures};

const EQUIVALENT: &str = "models/drives/ankle_parallel.toml";
const NOT_EQUIVALENT: &str = "models/drives/ankle_toed_in.toml";

fn plotted(command: &str, design: &str) -> String {
    plotted_with(command, design, &[])
}

fn plotted_with(command: &str, design: &str, more: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("picture.svg");
    let path = path.to_str().unwrap();
    run(&[&[command, design, "--plot", path], more].concat());
    // A figure and its unit stay in one line.
    fs::read_to_string(path).unwrap().replace('\u{a0}', " ")
}

#[test]
fn the_map_marks_what_the_verdict_says_and_axes_have_their_units() {
    let holds = plotted("check", EQUIVALENT);
    assert!(holds.contains("all hold") && holds.contains("i-certified"), "{holds}");
    assert!(!holds.contains(">fails<") && !holds.contains("would pass"));
    let fails = plotted("check", NOT_EQUIVALENT);
    for word in ["not equivalent", ">fails<", "would pass, both shortened", "limit 2.00"] {
        assert!(fails.contains(word), "{word}");
    }
    for picture in [holds, fails] {
        roxmltree::Document::parse(&picture).unwrap();
        let axes = ["pitch from the zero pose, deg", "roll torque, N m", "pitch speed, rad/s"];
        let views = ["From the side, along the pitch axis", "From behind, along the roll axis"];
        for words in axes.iter().chain(&views) {
            assert!(picture.contains(words), "{words}");
        }
    }
}

#[test]
fn over_pitch_and_roll_each_motor_and_each_error_has_its_map() {
    let picture = plotted("stroke", EQUIVALENT);
    roxmltree::Document::parse(&picture).unwrap();
    for title in [
        "Reading of motor left",
        "Reading of motor right",
        "Rate error",
        "pitch error",
        "roll error",
    ] {
        assert!(picture.contains(title), "{title}");
    }
}

#[test]
fn builds_and_rod_forces_are_drawn_with_what_they_are_held_to() {
    let builds = plotted_with("tolerance", EQUIVALENT, &["--samples", "256"]);
    roxmltree::Document::parse(&builds).unwrap();
    for words in [
        "Worst angle error of every build",
        "Worst ratio error of every build",
        "no build is worse (proved)",
        "Which sizes matter most for the ratio error",
        "worst ratio error over the region, %",
    ] {
        assert!(builds.contains(words), "{words}");
    }
    let undrawn = plotted_with("tolerance", NOT_EQUIVALENT, &["--samples", "256"]);
    assert!(undrawn.contains("no tolerance is drawn") && !undrawn.contains("Worst"));
    let loads = plotted("loads", NOT_EQUIVALENT);
    roxmltree::Document::parse(&loads).unwrap();
    let told = output(&run(&["loads", NOT_EQUIVALENT]));
    let most: u32 =
        told.split_once("bear up to ").unwrap().1.split(' ').next().unwrap().parse().unwrap();
    for words in [
        "Force of the rod of left at peak torque".to_owned(),
        format!("largest, {most} N"),
        "Torque of pitch and roll together".to_owned(),
    ] {
        assert!(loads.contains(&words), "{words}");
    }
}

/// A screw without a line offset bears the same at every pose: there is nothing to map.
#[test]
fn a_rod_that_bears_the_same_in_every_pose_is_told_in_a_line_and_not_mapped() {
    let loads = plotted("loads", "models/drives/ankle_actuators.toml");
    assert!(loads.contains("at peak torque the rods bear up to: left 1131 N, right 1131 N"));
    assert!(!loads.contains("Force of the rod"));
}

#[test]
fn the_page_has_both_views_well_formed_pictures_and_a_figure_for_every_pose_of_its_sliders() {
    for design in [EQUIVALENT, NOT_EQUIVALENT] {
        let page = page(&[design]);
        for picture in pictures(&page) {
            let document = roxmltree::Document::parse(picture).unwrap();
            let text = |name: &str| {
                let found = document.root_element().children().find(|c| c.has_tag_name(name));
                found.unwrap().text().unwrap().to_owned()
            };
            assert!(text("title").len() > 5 && text("desc").len() > 20, "{picture}");
        }
        for part in ["From the side", "From behind", "id=\"d1-pitch\"", "id=\"d1-roll\""] {
            assert!(page.contains(part), "{design}: {part}");
        }
        assert!(!page.contains("NaN") && page.len() < 500_000, "{design}");
        let data = page.split("<script type=\"application/json\">").nth(1).unwrap();
        let data = data.split("</script>").next().unwrap();
        let data: serde_json::Value = serde_json::from_str(data).unwrap();
        let poses = data["read"].as_array().unwrap().len();
        assert_eq!(poses, 17 * 13);
        for view in data["views"].as_array().unwrap() {
            for (name, rows) in view["parts"].as_object().unwrap() {
                assert_eq!(rows.as_array().unwrap().len(), poses, "{name}");
            }
        }
    }
}

/// The texts that can be copied from a page, unescaped, by the ends of their ids.
fn texts(page: &str) -> Vec<(String, String)> {
    let parts = page.split("<code id=\"").skip(1).map(|part| part.split_once("-text\">").unwrap());
    let text = |text: &str| {
        let text = text.split("</code>").next().unwrap();
        text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
    };
    parts.map(|(id, rest)| (id.to_owned(), text(rest))).collect()
}

#[test]
fn both_joints_can_be_copied_in_every_format_as_emit_writes_them_or_the_page_says_why_not() {
    let equivalent = page(&[EQUIVALENT]);
    let texts = texts(&equivalent);
    let ids = ["d1-urdf", "d1-sdformat", "d1-mjcf", "d1-mjcf-motors"];
    assert_eq!(texts.iter().map(|(id, _)| id.as_str()).collect::<Vec<_>>(), ids);
    for ((id, text), more) in texts.iter().zip([
        ["urdf", "joint"],
        ["sdformat", "joint"],
        ["mjcf", "joint"],
        ["mjcf", "motor"],
    ]) {
        let [format, units] = more;
        let emitted =
            output(&run(&["emit", EQUIVALENT, "--to", format, "--actuator", units, "-o", "-"]));
        let plain = |text: &str| -> String {
            let lines = text.split("-->").last().unwrap().lines().map(str::trim);
            lines.filter(|line| !line.is_empty()).collect()
        };
        assert!(!text.contains("<!--") && text.len() > 200, "{id}");
        assert!(plain(text).ends_with(&plain(&emitted)), "{id}\n{text}\n{emitted}");
    }
    let refused = page(&[NOT_EQUIVALENT]);
    assert!(refused.contains("There is no joint to paste here:") && !refused.contains("-text\">"));
}

#[test]
fn a_static_page_of_two_joints_has_no_sliders_and_the_same_figures() {
    let fixed = output(&run(&["report", EQUIVALENT, "--static", "-o", "-"]).code(0));
    let moving = page(&[EQUIVALENT]);
    for slider in ["id=\"d1-pitch\"", "id=\"d1-roll\"", "data-motion=\"d1\""] {
        assert!(moving.contains(slider) && !fixed.contains(slider), "{slider}");
    }
    for part in ["From the side", "Table over the region", "d1-mjcf-motors", "Force"] {
        assert_eq!(fixed.contains(part), moving.contains(part), "{part}");
    }
}
