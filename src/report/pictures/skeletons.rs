//! A drive of another kind than a planar four-bar, stage by stage, as bars and pins seen along the joint axis and, where it
//! does not lie in one plane, square to it.

use crate::drive::{InputEnd, RodOnHinge, RodPose, Vector};
use crate::report::drawing::{Ink, MovingBar, MovingPin, Point, Skeleton, StillLine};
use crate::study::{DriveCourse, StageCourse};

/// Every view of every stage, in order from the motor.
pub(in crate::report) fn skeletons(
    course: &DriveCourse,
    shown: usize,
    room: Point,
) -> Vec<Skeleton> {
    let many = course.stages.len() > 1;
    let views = course.stages.iter().enumerate().flat_map(|(k, stage)| {
        let of = if many { format!("Stage {}, ", k + 1) } else { String::new() };
        match stage {
            StageCourse::Ratio { ratio, turns } => vec![wheels(*ratio, turns, &of)],
            StageCourse::Rod { geometry, poses } => rod(geometry, poses, &of),
        }
    });
    views.map(|view| Skeleton { shown, room, ..view }).collect()
}

/// Two wheels and what runs round them; not to scale but for the ratio.
fn wheels(ratio: f64, turns: &[[f64; 2]], of: &str) -> Skeleton {
    let size = ratio.abs().max(1.0);
    let [motor, joint] = [1.0 / size, ratio.abs() / size];
    let apart = 1.5 * (motor + joint);
    let centres = [[0.0, 0.0], [apart, 0.0]];
    let side = if ratio < 0.0 { -1.0 } else { 1.0 };
    // Tangents of both wheels: on one side of both, or crossed where they turn against each other.
    let cosine = (motor - side * joint) / apart;
    let sine = ((1.0 - cosine) * (1.0 + cosine)).max(0.0).sqrt();
    let tangent = |up: f64| StillLine {
        ink: Ink::Support,
        name: "",
        ends: [
            [motor * cosine, up * motor * sine],
            [apart + side * joint * cosine, up * side * joint * sine],
        ],
    };
    let spoke = |parts, ink, [x, y]: Point, radius: f64, turn: usize| MovingBar {
        parts,
        ink,
        name: "",
        ends: turns
            .iter()
            .map(|turns| {
                let angle = std::f64::consts::FRAC_PI_2 + turns.get(turn).copied().unwrap_or(0.0);
                let (sine, cosine) = libm::sincos(angle);
                [[x, y], [x + radius * cosine, y + radius * sine]]
            })
            .collect(),
    };
    Skeleton {
        title: format!("{of}wheels in the ratio's proportion").trim_start().to_owned(),
        description: "Motor wheel at the left, joint wheel at the right, a spoke on each; seen with the joint axis pointing at the reader.".to_owned(),
        still: vec![tangent(1.0), tangent(-1.0)],
        fixed: vec![(centres[0], "motor"), (centres[1], "joint")],
        wheels: vec![(centres[0], motor), (centres[1], joint)],
        bars: vec![
            spoke(["crank", "name-crank"], Ink::Crank, centres[0], 0.9 * motor, 0),
            spoke(["rocker", "name-rocker"], Ink::Rocker, centres[1], 0.9 * joint, 1),
        ],
        ..Skeleton::default()
    }
}

/// A view: its unit vectors to the right and up.
type View = [Vector; 2];

fn rod(geometry: &RodOnHinge, poses: &[RodPose], of: &str) -> Vec<Skeleton> {
    let [along, across] = views(geometry);
    let side = format!("{of}seen along the joint axis");
    let mut found = vec![seen(geometry, poses, along, title(&side))];
    if !is_planar(geometry, poses) {
        let above = format!("{of}seen square to it, the joint axis upright");
        found.push(seen(geometry, poses, across, title(&above)));
    }
    found
}

fn title(words: &str) -> String {
    crate::report::words::capital(words)
}

/// Along the joint axis and across it; x from the motor's end to the joint.
fn views(geometry: &RodOnHinge) -> [View; 2] {
    let m = geometry.joint.axis;
    let start = anchor(&geometry.input);
    let x = (geometry.joint.centre - start).square_to(m).unit().unwrap_or(geometry.joint.datum);
    [[x, m.cross(x)], [x, m]]
}

/// The fixed point at the motor's end.
fn anchor(input: &InputEnd) -> Vector {
    match *input {
        InputEnd::Crank { circle, .. } => circle.centre,
        InputEnd::Slide { point, .. } => point,
        InputEnd::Actuator { pin, .. } => pin,
    }
}

/// Do all pins stay in one plane square to the joint axis, up to a share of the lever?
fn is_planar(geometry: &RodOnHinge, poses: &[RodPose]) -> bool {
    let m = geometry.joint.axis;
    let flat =
        |point: Vector| (point - geometry.joint.centre).dot(m).abs() < 1e-9 * geometry.joint.radius;
    flat(anchor(&geometry.input)) && poses.iter().all(|pose| flat(pose.reached.pin))
}

fn seen(geometry: &RodOnHinge, poses: &[RodPose], [right, up]: View, title: String) -> Skeleton {
    let at = |point: Vector| [right.dot(point), up.dot(point)];
    let bar =
        |parts, ink, name, from: &dyn Fn(&RodPose) -> Vector, to: &dyn Fn(&RodPose) -> Vector| {
            let ends = poses.iter().map(|pose| [at(from(pose)), at(to(pose))]).collect();
            MovingBar { parts, ink, name, ends }
        };
    let (p, q) = (|pose: &RodPose| pose.reached.pin, |pose: &RodPose| pose.joint_pin);
    let b = |_: &RodPose| geometry.joint.centre;
    let lever = bar(["rocker", "name-rocker"], Ink::Rocker, "lever", &b, &q);
    let rod = |name| bar(["coupler", "name-coupler"], Ink::Coupler, name, &p, &q);
    let reach = 0.5 * geometry.joint.radius;
    let axis = |centre: Vector, direction: Vector| {
        let ends = [centre - direction * reach, centre + direction * reach].map(at);
        let long = (ends[0][0] - ends[1][0]).hypot(ends[0][1] - ends[1][1]) > 0.1 * reach;
        long.then_some(StillLine { ink: Ink::Support, name: "", ends })
    };
    let joint = (at(geometry.joint.centre), "B joint");
    let mut still: Vec<StillLine> =
        axis(geometry.joint.centre, geometry.joint.axis).into_iter().collect();
    let foot = pin("q", "Q", poses.iter().map(|pose| at(q(pose))).collect());
    let head = || pin("p", "P", poses.iter().map(|pose| at(p(pose))).collect());
    let (fixed, bars, pins, what) = match geometry.input {
        InputEnd::Crank { circle, .. } => {
            let a = |_: &RodPose| circle.centre;
            let crank = bar(["crank", "name-crank"], Ink::Crank, "crank", &a, &p);
            still.extend(axis(circle.centre, circle.axis));
            still.push(ground(at(circle.centre), joint.0));
            let fixed = vec![(at(circle.centre), "A motor"), joint];
            (
                fixed,
                vec![rod("rod"), crank, lever],
                vec![head(), foot],
                "Crank from the motor axis A to pin P",
            )
        }
        InputEnd::Slide { direction, .. } => {
            still.push(guide(poses, direction, reach).map(at));
            let half = 0.25 * geometry.joint.radius;
            let back = |pose: &RodPose| p(pose) - direction * half;
            let front = |pose: &RodPose| p(pose) + direction * half;
            let nut = bar(["crank", "name-crank"], Ink::Crank, "nut", &back, &front);
            (
                vec![joint],
                vec![rod("rod"), nut, lever],
                vec![head(), foot],
                "A nut with pin P on its guide",
            )
        }
        InputEnd::Actuator { pin, .. } => {
            let shortest =
                poses.iter().map(|pose| pose.reached.length).fold(f64::INFINITY, f64::min);
            let a = |_: &RodPose| pin;
            let end =
                |pose: &RodPose| pin + pose.reached.rod * (0.6 * shortest / pose.reached.length);
            let housing = bar(["crank", "name-crank"], Ink::Crank, "housing", &a, &end);
            still.push(ground(at(pin), joint.0));
            let fixed = vec![(at(pin), "A"), joint];
            (
                fixed,
                vec![rod("screw"), housing, lever],
                vec![foot],
                "A housing that turns on pin A, its screw to pin Q",
            )
        }
    };
    Skeleton {
        title,
        description: format!(
            "{what}; lever from the joint axis B to pin Q, rigid with the child. To scale; the ends of the stroke are dashed, the paths of the pins dotted."
        ),
        still,
        fixed,
        bars,
        pins,
        is_to_scale: true,
        ..Skeleton::default()
    }
}

fn pin(part: &'static str, name: &'static str, places: Vec<Point>) -> MovingPin {
    let parts = if part == "p" { ["pin-p", "name-p"] } else { ["pin-q", "name-q"] };
    MovingPin { parts, name, places }
}

fn ground(from: Point, to: Point) -> StillLine {
    StillLine { ink: Ink::Ground, name: "ground", ends: [from, to] }
}

/// A guide in space, a little longer than the nut's way.
struct Guide([Vector; 2]);

impl Guide {
    fn map(self, at: impl Fn(Vector) -> Point) -> StillLine {
        StillLine { ink: Ink::Ground, name: "guide", ends: self.0.map(at) }
    }
}

fn guide(poses: &[RodPose], direction: Vector, more: f64) -> Guide {
    let pins = || poses.iter().map(|pose| pose.reached.pin);
    let along = |pin: Vector| pin.dot(direction);
    let end = |sense: f64| {
        let far = pins().max_by(|a, b| (sense * along(*a)).total_cmp(&(sense * along(*b))));
        far.unwrap_or(Vector::zero()) + direction * (sense * more)
    };
    Guide([end(-1.0), end(1.0)])
}
