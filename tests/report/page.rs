//! The page of `report` and the pictures of `--plot`, as files: their form, their bytes, how they are written. What a
//! browser makes of the page is in `browser.rs`.

use std::fs;
use std::path::Path;

use crate::command::{errors, output, run};
use tempfile::TempDir;

const EQUIVALENT: &str = "models/ankle.toml";
const TOLERANCED: &str = "models/ankle_toleranced.toml";
const NOT_EQUIVALENT: &str = "models/knee_offset.toml";
const WITHOUT_TABLES: &str = "models/ankle_crossed.toml";

pub(crate) fn page(designs: &[&str]) -> String {
    let arguments: Vec<&str> =
        ["report"].iter().chain(designs).chain(&["-o", "-"]).copied().collect();
    output(&run(&arguments).code(0))
}

pub(crate) fn every_design() -> Vec<String> {
    let files = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("models")).unwrap();
    let names = files.map(|f| f.unwrap().file_name().into_string().unwrap());
    let mut designs: Vec<String> =
        names.filter(|n| n.ends_with(".toml")).map(|n| format!("models/{n}")).collect();
    designs.sort();
    designs
}

/// What a page says, without the code of its scripts.
fn said(page: &str) -> String {
    let mut parts = page.split("<script>\n");
    let first = parts.next().unwrap().to_owned();
    let rest = parts.map(|part| part.split_once("</script>").unwrap().1);
    std::iter::once(first.as_str()).chain(rest).collect()
}

/// Every `<svg …>…</svg>` of a page.
pub(crate) fn pictures(page: &str) -> Vec<&str> {
    let ends = page.match_indices("</svg>").map(|(at, end)| at + end.len());
    let starts = page.match_indices("<svg").map(|(at, _)| at);
    starts.zip(ends).map(|(from, to)| &page[from..to]).collect()
}

/// The design of a file with another name, as a file in `folder`.
fn renamed(folder: &TempDir, name: &str) -> String {
    let text = fs::read_to_string(EQUIVALENT).unwrap();
    let text = text.replace("\"ankle_pitch\"", &format!("{:?}", name.replace('\'', "’")));
    let path = folder.path().join("renamed.toml");
    fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

// Bytes

#[test]
fn the_same_design_gives_the_same_bytes() {
    assert_eq!(page(&[EQUIVALENT, TOLERANCED]), page(&[EQUIVALENT, TOLERANCED]));
}

#[test]
fn a_page_stays_under_500_kb_a_design() {
    for design in every_design() {
        let size = page(&[&design]).len();
        assert!(size < 500_000, "{design}: {size} bytes");
    }
}

#[test]
fn a_page_asks_for_nothing_elsewhere() {
    let page = page(&[EQUIVALENT, NOT_EQUIVALENT]);
    for asking in ["http:", "https:", " src=", "url(", "@import", "fetch(", "XMLHttpRequest"] {
        assert!(!page.contains(asking), "{asking}");
    }
    let policy = "http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'";
    assert!(page.contains(policy));
}

#[test]
fn the_scripts_stay_short_enough_to_read() {
    let scripts = [
        include_str!("../../src/report/page/page.js"),
        include_str!("../../src/report/page/kinematics.js"),
        include_str!("../../src/report/page/inertia.js"),
        include_str!("../../src/report/page/sizes.js"),
    ];
    for script in scripts {
        assert!(script.lines().count() < 400);
    }
}

// Form

#[test]
fn every_picture_is_well_formed_and_has_a_name_and_a_description() {
    let mut seen = 0;
    for design in every_design() {
        for picture in pictures(&page(&[&design])) {
            let document = roxmltree::Document::parse(picture)
                .unwrap_or_else(|fault| panic!("{design}: {fault}\n{picture}"));
            let svg = document.root_element();
            if svg.attribute("aria-hidden").is_none() {
                let text = |name: &str| {
                    svg.children().find(|c| c.has_tag_name(name)).unwrap().text().unwrap()
                };
                assert!(text("title").len() > 5 && text("desc").len() > 20, "{design}");
                assert_eq!(svg.attribute("role"), Some("img"));
            }
            seen += 1;
        }
    }
    assert!(seen > 45, "{seen}");
}

#[test]
fn no_figure_on_the_page_is_not_a_number() {
    for design in every_design() {
        let page = said(&page(&[&design]));
        for wrong in ["NaN", "\"inf", " inf ", "-0.00 ", "−0.00 "] {
            assert!(!page.contains(wrong), "{design}: {wrong}");
        }
    }
}

#[test]
fn names_with_markup_quotes_and_other_scripts_arrive_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let name = "</script><b>&amp; \"Ω膝関節\"";
    let design = renamed(&folder, name);
    let page = page(&[&design]);
    let escaped = "&lt;/script&gt;&lt;b&gt;&amp;amp; &quot;Ω膝関節&quot;";
    assert!(page.contains(&format!("<h1>{escaped}</h1>")), "{}", &page[..2000]);
    assert!(!page.contains("<b>") && page.matches("</script>").count() == 6);
    let plot = folder.path().join("plot.svg");
    run(&["check", &design, "--plot", plot.to_str().unwrap()]).code(0);
    let svg = fs::read_to_string(plot).unwrap();
    let document = roxmltree::Document::parse(&svg).unwrap();
    let title = document.descendants().find(|n| n.has_tag_name("title")).unwrap();
    assert_eq!(title.text(), Some(format!("{name}: equivalent").as_str()));
}

#[test]
fn the_sections_come_in_the_order_of_a_review() {
    for (design, verdict, curves) in [
        (EQUIVALENT, "yes", &["transmission"][..]),
        (NOT_EQUIVALENT, "no", &["ratio", "angle", "transmission", "power", "torque", "speed"][..]),
    ] {
        let page = page(&[design]);
        let before = ["criteria", "sizes", "linkage", "angles"];
        let after = ["tolerances", "loads", "rod", "joint", "cautions", "file"];
        let ids = before.iter().chain(curves).chain(&after).map(|id| format!("id=\"d1-{id}\""));
        let all = std::iter::once(format!("class=\"verdict {verdict}\"")).chain(ids);
        let places: Vec<usize> =
            all.map(|what| page.find(&what).unwrap_or_else(|| panic!("{what}"))).collect();
        assert!(places.is_sorted(), "{places:?}");
    }
}

#[test]
fn what_would_do_stands_right_under_the_criteria() {
    let page = page(&[NOT_EQUIVALENT]);
    let criteria =
        &page[page.find("id=\"d1-criteria\"").unwrap()..page.find("id=\"d1-sizes\"").unwrap()];
    let (table, advice) =
        (criteria.find("</table>").unwrap(), criteria.find("What would do").unwrap());
    assert!(table < advice && criteria.contains("A shorter stroke"), "{criteria}");
    assert!(page.contains("must not stand in") && !page.contains("may not stand in"));
    assert!(page.contains("<a href=\"#d1-criteria\">why, and what would do</a>"));
}

#[test]
fn a_figure_that_is_the_same_in_every_pose_has_words_and_no_chart() {
    let page = page(&[EQUIVALENT]).replace('\u{a0}', " ");
    for constant in ["ratio", "angle", "torque", "speed", "inertia"] {
        assert!(!page.contains(&format!("id=\"d1-{constant}\"")), "{constant}");
    }
    for words in ["i = dφ/dψ: 1.00000 in every pose", "60.00 N m in every pose"] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn revision_and_date_are_those_that_are_given_and_stand_on_every_sheet() {
    let with =
        |more: &[&str]| output(&run(&[&["report", EQUIVALENT, "-o", "-"], more].concat()).code(0));
    let page = with(&["--revision", "B \"2\"", "--date", "2026-05-04"]);
    assert!(page.contains("<p class=\"issue\">Revision B &quot;2&quot; · 2026-05-04</p>"));
    assert!(
        page.contains("Revision B \\000022 2\\000022  \\0000b7  2026\\00002d 05\\00002d 04\"}")
    );
    assert!(page.contains("counter(pages)"));
    assert!(!with(&[]).contains("class=\"issue\""));
}

#[test]
fn no_path_of_the_machine_stands_on_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let secret = folder.path().join("secret_folder");
    fs::create_dir(&secret).unwrap();
    for design in every_design() {
        let file = secret.join(Path::new(&design).file_name().unwrap());
        fs::copy(&design, &file).unwrap();
        let page = page(&[file.to_str().unwrap()]);
        assert!(!page.contains("secret_folder"), "{design}");
        assert!(
            page.contains(&format!("<code>{}</code>", file.file_name().unwrap().to_str().unwrap()))
        );
    }
}

#[test]
fn other_sizes_can_be_tried_of_a_four_bar_with_a_joint_and_of_nothing_else() {
    let form = "<form class=\"sizes\"";
    for design in [EQUIVALENT, TOLERANCED, NOT_EQUIVALENT, WITHOUT_TABLES, "models/hip_pivots.toml"]
    {
        assert!(page(&[design]).contains(form), "{design}");
        let fixed = output(&run(&["report", design, "--static", "-o", "-"]).code(0));
        assert!(!fixed.contains(form) && !fixed.contains("fourBar"), "{design}");
    }
    for design in [
        "models/gripper_parallel.toml",
        "models/gripper_rocker_off.toml",
        "models/drives/slider.toml",
    ] {
        assert!(!page(&[design]).contains(form), "{design}");
    }
    let toleranced = page(&[TOLERANCED]).replace('\u{a0}', " ");
    assert!(toleranced.contains("mm, ±0.05 mm"));
}

#[test]
fn the_drawing_stands_as_its_pins_are_drawn() {
    // The first pivots of this hip: the motor above the joint, as in the pelvis; A and B end the ground line.
    let page = page(&["models/hip_pivots.toml"]);
    let ground =
        page.split("class=\"i-ground\" points=\"").nth(1).unwrap().split('"').next().unwrap();
    let ends: Vec<f64> = ground.split([' ', ',']).map(|x| x.parse().unwrap()).collect();
    let [ax, ay, bx, by] = ends[..] else { panic!("{ground}") };
    assert!(by - ay > 3.0 * (ax - bx).abs() && ax > bx, "{ground}");
}

#[test]
fn several_designs_share_one_page_behind_an_index() {
    let page = page(&[EQUIVALENT, NOT_EQUIVALENT]);
    let index = &page[page.find("id=\"index\"").unwrap()..page.find("<article").unwrap()];
    for row in ["<a href=\"#d1\">ankle_pitch</a>", "<a href=\"#d2\">knee_offset</a>"] {
        assert!(index.contains(row), "{index}");
    }
    assert!(index.contains("Not equivalent") && page.matches("<article ").count() == 2);
}

// What it says

#[test]
fn the_joint_on_the_page_is_the_one_that_emit_writes() {
    let page = page(&[EQUIVALENT]);
    for format in ["urdf", "sdformat", "mjcf"] {
        let emitted = output(&run(&["emit", EQUIVALENT, "--to", format, "-o", "-"]).code(0));
        let shown = emitted.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
        let shown = shown.replace('"', "&quot;").replace('\'', "&#39;");
        // The joint first; what the file says in comments stands below it.
        let place = format!("id=\"d1-{format}-text\">");
        let begins = page.split(&place).nth(1).unwrap();
        assert!(begins.starts_with("&lt;joint"), "{format}: {}", &begins[..80]);
        for part in shown.split("&lt;!--\n").flat_map(|part| part.split("--&gt;\n")) {
            assert!(page.contains(part.trim_end()), "{format}: {part}");
        }
    }
}

#[test]
fn a_joint_that_is_refused_says_why_and_what_can_be_done() {
    let page = page(&[NOT_EQUIVALENT]);
    assert!(page.contains("No direct joint emitted, the design is not equivalent"));
    assert!(page.contains("--anyway") && !page.contains("<joint") && !page.contains("&lt;joint"));
}

#[test]
fn a_section_without_input_names_the_table_that_is_missing() {
    let page = page(&[WITHOUT_TABLES]);
    for table in
        ["[actuator] peak_torque", "[mass.crank]", "[[robot]]", "crank = &quot;45 ±0.05 mm&quot;"]
    {
        assert!(page.contains(table), "{table}");
    }
    assert!(!page.contains("id=\"d1-torque\""));
}

#[test]
fn cautions_and_what_is_not_covered_stand_on_every_page() {
    for design in every_design() {
        let page = page(&[&design]);
        for words in ["pinch", "stores energy", "licensed engineer", "Not covered", "Local codes"] {
            assert!(page.contains(words), "{design}: {words}");
        }
    }
    assert!(page(&[EQUIVALENT]).contains("has a change point"));
}

#[test]
fn the_page_has_the_figures_of_check() {
    let text = output(&run(&["check", TOLERANCED, "--full"]).code(0));
    let page = page(&[TOLERANCED]).replace('\u{a0}', " ");
    for figure in ["0.19 deg", "0.87 %", "49.50 deg", "±0.158 mm"] {
        assert!(text.contains(figure) && page.contains(figure), "{figure}");
    }
}

#[test]
fn the_design_file_stands_on_the_page_as_it_was_read() {
    let text = fs::read_to_string(EQUIVALENT).unwrap();
    let page = page(&[EQUIVALENT]);
    for line in text.lines().filter(|l| !l.contains(['"', '\'', '&', '<', '>'])) {
        assert!(page.contains(line), "{line}");
    }
}

// Exit status and files

#[test]
fn a_report_answers_0_whatever_it_finds_and_2_for_wrong_input() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    let target = file.to_str().unwrap();
    run(&["report", NOT_EQUIVALENT, "models/bad/decimal_comma.toml", "-o", target]).code(2);
    assert!(!file.exists());
    run(&["report", NOT_EQUIVALENT, "-o", target]).code(0);
    let written = fs::read(&file).unwrap();
    let refused = run(&["report", EQUIVALENT, "-o", target]).code(2);
    assert!(errors(&refused).contains("--force"));
    assert_eq!(fs::read(&file).unwrap(), written);
    run(&["report", EQUIVALENT, "-o", target, "--force"]).code(0);
    assert_ne!(fs::read(&file).unwrap(), written);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_dead_point_inside_the_stroke_still_makes_a_page() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string("models/gripper_finger.toml").unwrap();
    let path = folder.path().join("through.toml");
    fs::write(&path, text.replace("[\"-65 deg\", \"0 deg\"]", "[\"-80 deg\", \"0 deg\"]")).unwrap();
    let page = page(&[path.to_str().unwrap()]);
    assert!(page.contains("the rocker stands still") || page.contains("The rocker stands still"));
    assert!(!said(&page).contains("NaN"));
    for picture in pictures(&page) {
        roxmltree::Document::parse(picture).unwrap();
    }
}

// Pictures that stand alone

#[test]
fn a_picture_is_svg_or_png_by_its_ending() {
    let folder = tempfile::tempdir().unwrap();
    let calls: [&[&str]; 4] = [
        &["check", EQUIVALENT],
        &["stroke", EQUIVALENT],
        &["loads", EQUIVALENT],
        &["tolerance", TOLERANCED, "--samples", "2000"],
    ];
    for call in calls {
        let path = |ending: &str| {
            let file = folder.path().join(format!("{}.{ending}", call[0]));
            let target = file.to_str().unwrap().to_owned();
            let arguments: Vec<&str> = call.iter().copied().chain(["--plot", &target]).collect();
            let plain = output(&run(call).code(0));
            assert_eq!(output(&run(&arguments).code(0)), plain, "{call:?}");
            file
        };
        let svg = fs::read_to_string(path("svg")).unwrap();
        let document = roxmltree::Document::parse(&svg).unwrap();
        assert_eq!(
            document.root_element().tag_name().namespace(),
            Some("http://www.w3.org/2000/svg")
        );
        assert!(svg.contains("class=\"i-paper\""), "white paper");
        let png = fs::read(path("png")).unwrap();
        // Portable Network Graphics (Third Edition), W3C 2025, sections 5.2 and 11.2.1: signature, then width and height.
        assert_eq!(png[..8], *b"\x89PNG\r\n\x1a\n");
        let [wide, high] =
            [16, 20].map(|at| u32::from_be_bytes(png[at..at + 4].try_into().unwrap()));
        let attribute =
            |name| document.root_element().attribute(name).unwrap().parse::<f64>().unwrap();
        assert!((f64::from(wide) - 2.0 * attribute("width")).abs() <= 1.0);
        assert!((f64::from(high) - 2.0 * attribute("height")).abs() <= 1.0);
        assert!(png.len() < 400_000, "{call:?}: {} bytes", png.len());
    }
}

#[test]
fn letters_that_png_has_no_face_for_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let design = renamed(&folder, "脚 Ω");
    let plot = |ending: &str| {
        let file = folder.path().join(format!("plot.{ending}"));
        errors(&run(&["check", &design, "--plot", file.to_str().unwrap()]).code(0))
    };
    let told = plot("png");
    assert!(told.contains("boxes stand for letters") && told.contains("here: 脚;"), "{told}");
    assert!(!plot("svg").contains("boxes"));
}

#[test]
fn the_same_picture_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let drawn = ["a.png", "b.png"].map(|name| {
        let file = folder.path().join(name);
        run(&["check", NOT_EQUIVALENT, "--plot", file.to_str().unwrap()]).code(1);
        fs::read(file).unwrap()
    });
    assert_eq!(drawn[0], drawn[1]);
}

#[test]
fn another_ending_several_designs_or_an_existing_file_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    for wrong in ["plot.pdf", "plot", "-"] {
        let target = if wrong == "-" { wrong.to_owned() } else { path(wrong) };
        let refused = run(&["check", EQUIVALENT, "--plot", &target]).code(2);
        assert!(errors(&refused).contains(".svg or .png"), "{wrong}");
        assert_eq!(output(&refused), "");
    }
    let svg = path("plot.svg");
    let refused = run(&["check", EQUIVALENT, TOLERANCED, "--plot", &svg]).code(2);
    assert!(errors(&refused).contains("one design"));
    fs::write(&svg, "mine").unwrap();
    for command in ["check", "stroke", "loads", "tolerance"] {
        let refused = run(&[command, TOLERANCED, "--plot", &svg]).code(2);
        assert!(errors(&refused).contains("--force"), "{command}");
        assert_eq!(fs::read_to_string(&svg).unwrap(), "mine");
    }
    run(&["check", EQUIVALENT, "--plot", &svg, "--force"]).code(0);
    assert!(fs::read_to_string(&svg).unwrap().starts_with("<?xml"));
}
