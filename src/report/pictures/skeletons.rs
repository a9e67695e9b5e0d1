//! A drive of another kind than a planar four-bar, stage by stage, as bars and pins seen along the joint axis and, where it
//! does not lie in one plane, square to it.

use crate::drive::{Circle, InputEnd, RodOnHinge, RodPose, Vector};
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
    let tangent = |up: f64| {
        let ends = [
            [motor * cosine, up * motor * sine],
            [apart + side * joint * cosine, up * side * joint * sine],
        ];
        still(Ink::Support, "", ends)
    };
    let spoke = |parts, ink, [x, y]: Point, radius: f64, turn: usize| {
        let ends = turns.iter().map(|turns| {
            let angle = std::f64::consts::FRAC_PI_2 + turns.get(turn).copied().unwrap_or(0.0);
            let (sine, cosine) = libm::sincos(angle);
            [[x, y], [x + radius * cosine, y + radius * sine]]
        });
        bar(parts, ink, "", ends.collect())
    };
    Skeleton {
        title: format!("{of}wheels in the ratio's proportion").trim_start().to_owned(),
        description: "Motor wheel at the left, joint wheel at the right, a spoke on each; seen with the joint axis pointing at the reader.".to_owned(),
        still: vec![tangent(1.0), tangent(-1.0)],
        fixed: vec![(centres[0], "motor".into()), (centres[1], "joint".into())],
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
    let seen = |view, words: &str| Seen { geometry, poses, view }.skeleton(title(words));
    let mut found = vec![seen(along, &side)];
    if !is_planar(geometry, poses) {
        let above = format!("{of}seen square to it, the joint axis upright");
        let mut above = seen(across, &above);
        // Arms that point at the reader have no room for their names, which the first view has.
        for bar in above.bars.iter_mut().filter(|bar| bar.ink != Ink::Coupler) {
            bar.name = "";
        }
        found.push(above);
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
pub(super) fn anchor(input: &InputEnd) -> Vector {
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

/// A rod seen in one view.
struct Seen<'a> {
    geometry: &'a RodOnHinge,
    poses: &'a [RodPose],
    view: View,
}

/// What hangs at the motor's end.
struct Input {
    what: &'static str,
    still: Vec<StillLine>,
    fixed: Option<(Point, &'static str)>,
    bar: MovingBar,
    /// What the rod is called.
    rod: &'static str,
    /// P moves.
    has_pin: bool,
}

type OfPose<'a> = &'a dyn Fn(&RodPose) -> Vector;

const CRANK: [&str; 2] = ["crank", "name-crank"];

impl Seen<'_> {
    fn at(&self, point: Vector) -> Point {
        self.view.map(|axis| axis.dot(point))
    }

    fn places(&self, of: OfPose<'_>) -> Vec<Point> {
        self.poses.iter().map(|pose| self.at(of(pose))).collect()
    }

    fn bar(
        &self,
        parts: [&'static str; 2],
        ink: Ink,
        name: &'static str,
        [from, to]: [OfPose<'_>; 2],
    ) -> MovingBar {
        let ends = self.places(from).into_iter().zip(self.places(to));
        bar(parts, ink, name, ends.map(|(from, to)| [from, to]).collect())
    }

    /// Half of what is drawn of an axis.
    fn reach(&self) -> f64 {
        0.5 * self.geometry.joint.radius
    }

    /// An axis that does not point at the reader.
    fn axis(&self, centre: Vector, direction: Vector) -> Option<StillLine> {
        let reach = self.reach();
        let ends =
            [centre - direction * reach, centre + direction * reach].map(|point| self.at(point));
        let long = (ends[0][0] - ends[1][0]).hypot(ends[0][1] - ends[1][1]) > 0.1 * reach;
        long.then(|| still(Ink::Support, "", ends))
    }

    fn ground(&self, from: Vector) -> StillLine {
        let ends = [from, self.geometry.joint.centre].map(|point| self.at(point));
        still(Ink::Ground, "ground", ends)
    }

    fn skeleton(&self, title: String) -> Skeleton {
        let joint = &self.geometry.joint;
        let input = match self.geometry.input {
            InputEnd::Crank { circle, .. } => self.crank(&circle),
            InputEnd::Slide { direction, .. } => self.nut(direction),
            InputEnd::Actuator { pin, .. } => self.housing(pin),
        };
        let (p, q) = (|pose: &RodPose| pose.reached.pin, |pose: &RodPose| pose.joint_pin);
        let b = |_: &RodPose| joint.centre;
        let rod = self.bar(["coupler", "name-coupler"], Ink::Coupler, input.rod, [&p, &q]);
        let lever = self.bar(["rocker", "name-rocker"], Ink::Rocker, "lever", [&b, &q]);
        let head = input.has_pin.then(|| pin("p", "P", self.places(&p)));
        let axis = self.axis(joint.centre, joint.axis);
        Skeleton {
            title,
            description: format!(
                "{}; lever from the joint axis B to pin Q, rigid with the child. To scale; the ends of the stroke are dashed, the paths of the pins dotted.",
                input.what
            ),
            still: axis.into_iter().chain(input.still).collect(),
            fixed: input
                .fixed
                .into_iter()
                .map(|(at, name)| (at, name.into()))
                .chain([(self.at(joint.centre), "B joint".into())])
                .collect(),
            bars: vec![rod, input.bar, lever],
            pins: head.into_iter().chain([pin("q", "Q", self.places(&q))]).collect(),
            is_to_scale: true,
            ..Skeleton::default()
        }
    }

    fn crank(&self, circle: &Circle) -> Input {
        let a = |_: &RodPose| circle.centre;
        let axis = self.axis(circle.centre, circle.axis);
        Input {
            what: "Crank from the motor axis A to pin P",
            still: axis.into_iter().chain([self.ground(circle.centre)]).collect(),
            fixed: Some((self.at(circle.centre), "A motor")),
            bar: self.bar(CRANK, Ink::Crank, "crank", [&a, &|pose| pose.reached.pin]),
            rod: "rod",
            has_pin: true,
        }
    }

    fn nut(&self, direction: Vector) -> Input {
        let half = direction * (0.25 * self.geometry.joint.radius);
        let ends = guide(self.poses, direction, self.reach()).map(|point| self.at(point));
        let nut: [OfPose<'_>; 2] =
            [&|pose| pose.reached.pin - half, &|pose| pose.reached.pin + half];
        Input {
            what: "A nut with pin P on its guide",
            still: vec![still(Ink::Ground, "guide", ends)],
            fixed: None,
            bar: self.bar(CRANK, Ink::Crank, "nut", nut),
            rod: "rod",
            has_pin: true,
        }
    }

    fn housing(&self, pin: Vector) -> Input {
        let lengths = self.poses.iter().map(|pose| pose.reached.length);
        let long = 0.6 * lengths.fold(f64::INFINITY, f64::min);
        let end = |pose: &RodPose| pin + pose.reached.rod * (long / pose.reached.length);
        Input {
            what: "A housing that turns on pin A, its screw to pin Q",
            still: vec![self.ground(pin)],
            fixed: Some((self.at(pin), "A")),
            bar: self.bar(CRANK, Ink::Crank, "housing", [&|_| pin, &end]),
            rod: "screw",
            has_pin: false,
        }
    }
}

pub(super) fn still(ink: Ink, name: &'static str, ends: [Point; 2]) -> StillLine {
    StillLine { ink, name, ends, aside: [0.0; 2] }
}

pub(super) fn bar(
    parts: [&'static str; 2],
    ink: Ink,
    name: &'static str,
    ends: Vec<[Point; 2]>,
) -> MovingBar {
    MovingBar { parts, ink, name, ends, aside: [0.0; 2], has_ghosts: true }
}

pub(super) fn pin(part: &'static str, name: &'static str, places: Vec<Point>) -> MovingPin {
    let parts = if part == "p" { ["pin-p", "name-p"] } else { ["pin-q", "name-q"] };
    MovingPin { parts, name, places }
}

/// The guide, a little longer than the nut's way.
fn guide(poses: &[RodPose], direction: Vector, more: f64) -> [Vector; 2] {
    let pins = || poses.iter().map(|pose| pose.reached.pin);
    let along = |pin: Vector| pin.dot(direction);
    let end = |sense: f64| {
        let far = pins().max_by(|a, b| (sense * along(*a)).total_cmp(&(sense * along(*b))));
        far.unwrap_or(Vector::zero()) + direction * (sense * more)
    };
    [end(-1.0), end(1.0)]
}
