//! A real biped's ankle, from the SDFormat file that a robot package carries, as a design with its pins in
//! three coordinates.
//!
//! The file (`cassie_v2.sdf` of the PyPI package `example-robot-data` 6.0.0, fetched with the engines and
//! never kept here) draws the ankle nearly flat, 1 deg from a change point, where "by continuity" means
//! nothing. So the lengths are taken from the drawn pose, the crank is turned into the middle of its
//! travel, and the rocker pin is found there as the meeting of two circles.

use crate::venv;

use std::fs;
use std::path::PathBuf;

use nalgebra::{Isometry3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};
use roxmltree::{Document, Node};

/// The four pins in the carrier's frame and their common axis.
#[derive(Clone, Copy, Debug)]
struct Ankle {
    axis: Unit<Vector3<f64>>,
    motor: Point3<f64>,
    joint: Point3<f64>,
    crank: Point3<f64>,
    rocker: Point3<f64>,
}

/// Six figures x y z roll pitch yaw (rad, about fixed axes), the format's meaning of `pose`.
fn pose(node: Node<'_, '_>) -> Isometry3<f64> {
    let text = node.children().find(|n| n.has_tag_name("pose")).and_then(|n| n.text());
    let text = text.unwrap_or("0 0 0 0 0 0");
    let v: Vec<f64> = text.split_whitespace().map(|x| x.parse().unwrap()).collect();
    let [x, y, z, roll, pitch, yaw] = v.try_into().unwrap();
    let turn = UnitQuaternion::from_euler_angles(roll, pitch, yaw);
    Isometry3::from_parts(Translation3::new(x, y, z), turn)
}

fn named<'a, 'i>(document: &'a Document<'i>, kind: &str, name: &str) -> Node<'a, 'i> {
    let mut nodes = document.descendants();
    nodes.find(|n| n.has_tag_name(kind) && n.attribute("name") == Some(name)).unwrap()
}

fn link(document: &Document<'_>, side: &str, name: &str) -> Isometry3<f64> {
    pose(named(document, "link", &format!("{side}-{name}")))
}

impl Ankle {
    /// The pins as drawn. A joint's pose is relative to its child link, a link's to the model (version 1.6).
    fn read(document: &Document<'_>, side: &str) -> Self {
        let carrier = link(document, side, "tarsus").inverse();
        let at = |name: &str, joint: &str| {
            let joint = pose(named(document, "joint", &format!("{side}-{joint}")));
            carrier * link(document, side, name) * joint * Point3::origin()
        };
        let foot = carrier * link(document, side, "foot");
        Self {
            axis: Unit::new_normalize(foot * Vector3::z()),
            motor: at("foot-crank", "tarsus-crank-joint"),
            joint: at("foot", "foot-op"),
            crank: at("plantar-rod", "crank-rod-joint"),
            rocker: at("foot", "plantar-foot-joint"),
        }
    }

    fn in_plane(&self, v: Vector3<f64>) -> Vector3<f64> {
        v - self.axis.into_inner() * self.axis.dot(&v)
    }

    /// Ground, crank, coupler, rocker between pin centres, along the axis left out, m.
    fn lengths(&self) -> [f64; 4] {
        let arms = [
            self.joint - self.motor,
            self.crank - self.motor,
            self.rocker - self.crank,
            self.rocker - self.joint,
        ];
        arms.map(|arm| self.in_plane(arm).norm())
    }

    /// The same linkage with its crank at this angle from A→B, the rocker on the crank's side.
    fn turned_to(&self, crank_angle: f64) -> Self {
        let [_, a, b, c] = self.lengths();
        let ground = Unit::new_normalize(self.in_plane(self.joint - self.motor));
        let arm = Rotation3::from_axis_angle(&self.axis, crank_angle) * ground.into_inner() * a;
        let along = self.axis.into_inner();
        let lift = |pin: Point3<f64>| along * along.dot(&(pin - self.motor));
        let crank = self.motor + arm + lift(self.crank);
        let reach = self.in_plane(self.joint - crank);
        let d = reach.norm();
        let x = (b * b - c * c + d * d) / (2.0 * d);
        let h = (b * b - x * x).sqrt();
        let side = along.cross(&reach) / d;
        let meetings = [1.0, -1.0].map(|s| self.motor + arm + reach * (x / d) + side * (s * h));
        let parallel = |q: &Point3<f64>| self.in_plane(q - self.joint).dot(&arm);
        let [p, q] = meetings;
        let rocker = if parallel(&p) > parallel(&q) { p } else { q };
        Self { crank, rocker: rocker + lift(self.rocker), ..*self }
    }

    fn design(&self) -> String {
        let pin = |p: Point3<f64>| {
            let [x, y, z] = p.coords.map(|x| 1e3 * x).into();
            format!("[\"{x} mm\", \"{y} mm\", \"{z} mm\"]")
        };
        let [x, y, z] = self.axis.into_inner().into();
        [
            "name = \"biped_ankle\"".to_owned(),
            "[pivots]".into(),
            format!("axis = [{x:?}, {y:?}, {z:?}]"),
            format!("motor = {}", pin(self.motor)),
            format!("joint = {}", pin(self.joint)),
            format!("crank = {}", pin(self.crank)),
            format!("rocker = {}", pin(self.rocker)),
            "[stroke]".into(),
            "motor = [\"-50 deg\", \"60 deg\"]".into(),
            "[direct_joint]".into(),
            "ratio = 1.0".into(),
            "[accept]".into(),
            "transmission_angle = \"25 deg\"".into(),
            "over = \"nominal\"".into(),
        ]
        .join("\n")
            + "\n"
    }
}

fn ankle(side: &str) -> Ankle {
    let text = fs::read_to_string(venv::package_file("cassie_v2.sdf")).unwrap();
    Ankle::read(&Document::parse(&text).unwrap(), side)
}

/// The left ankle with its crank at −90 deg, so that the stroke is −140 to −30 deg.
fn design_file() -> PathBuf {
    let path = venv::target().join("biped_ankle.toml");
    fs::write(&path, ankle("left").turned_to(-90_f64.to_radians()).design()).unwrap();
    path
}

/// 55.00 / 350.05 / 55.00 / 350.05 mm: a parallelogram, by the figures of the file itself.
fn assert_lengths(ankle: &Ankle) {
    for (found, stated) in ankle.lengths().into_iter().zip([350.05, 55.00, 350.05, 55.00]) {
        assert!((1e3 * found - stated).abs() < 0.01, "{found} m, stated {stated} mm");
    }
}

#[test]
fn in_the_engines_package_both_ankles_of_a_biped_have_the_stated_lengths() {
    for side in ["left", "right"] {
        assert_lengths(&ankle(side));
    }
}

#[test]
fn in_the_engines_package_the_bipeds_ankle_keeps_its_lengths_when_it_is_turned() {
    let drawn = ankle("left");
    let turned = drawn.turned_to(-90_f64.to_radians());
    for (a, b) in drawn.lengths().into_iter().zip(turned.lengths()) {
        assert!((a - b).abs() < 1e-12);
    }
    let text = fs::read_to_string(design_file()).unwrap();
    assert!(text.contains("[pivots]\naxis = ["), "{text}");
}

#[test]
fn with_the_engines_package_check_finds_the_bipeds_ankle_to_be_a_parallelogram_of_ratio_one() {
    let output = assert_cmd::Command::new(env!("CARGO_BIN_EXE_unloop"))
        .arg("check")
        .arg(design_file())
        .arg("--json")
        .assert()
        .code(0)
        .get_output()
        .stdout
        .clone();
    let json: serde_json::Value = serde_json::from_slice(&output).unwrap();
    let length = |key: &str| json["linkage"][key].as_f64().unwrap();
    assert!((length("coupler_m") / length("ground_m") - 1.0).abs() < 1e-4);
    assert!((length("rocker_m") / length("crank_m") - 1.0).abs() < 1e-4);
    for key in ["min", "max"] {
        let ratio = json["transmission_ratio"][key].as_f64().unwrap();
        assert!((ratio - 1.0).abs() < 2e-4, "{key} {ratio}");
    }
    assert!(json["axial_offsets_m"].is_array());
}
