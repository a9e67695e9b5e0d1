//! A drive of two joints from two sides: along the pitch axis and along the roll axis, motors above the joints.

use crate::drive::{Axis, InputEnd, Vector};
use crate::report::drawing::{Ink, MovingBar, MovingPin, Point, Skeleton, StillLine};
use crate::study::{CoursePose, MotorFacts, RegionCheck, RegionCourse};

use super::skeletons::{anchor, still};

/// From the side and from behind, in every pose that is reached; `room` is width and greatest height, px.
pub(in crate::report) fn region_views(
    check: &RegionCheck,
    course: &RegionCourse,
    shown: usize,
    room: Point,
) -> Vec<Skeleton> {
    let poses: Vec<&CoursePose> = course.poses.iter().flatten().collect();
    let Some([side, behind]) = views(course) else { return Vec::new() };
    let seen = |view, named_in, title: &str| {
        let seen =
            Seen { motors: &check.drive.motors, course, poses: &poses, view, named_in, shown };
        seen.skeleton(title, room)
    };
    vec![
        seen(side, Some(behind), "From the side, along the pitch axis"),
        seen(behind, None, "From behind, along the roll axis"),
    ]
}

/// Unit vectors to the right and up: the roll axis to the right and the pitch axis away from the reader or to the left, so that
/// the motors stand above the joints.
fn views(course: &RegionCourse) -> Option<[[Vector; 2]; 2]> {
    let (pitch, roll) = (course.geometry.pitch, course.geometry.roll);
    let normal = roll.direction.cross(pitch.direction).unit()?;
    let above: f64 =
        course.geometry.legs.iter().map(|leg| (anchor(&leg.input) - pitch.point).dot(normal)).sum();
    let up = if above < 0.0 { -normal } else { normal };
    let forward = roll.direction.square_to(pitch.direction).unit()?;
    let left = up.cross(roll.direction);
    Some([[forward, up], [-left, up]])
}

struct Seen<'a> {
    motors: &'a [MotorFacts; 2],
    course: &'a RegionCourse,
    poses: &'a [&'a CoursePose],
    view: [Vector; 2],
    /// The pose it rests in.
    shown: usize,
    /// The view that has the names of what is long there.
    named_in: Option<[Vector; 2]>,
}

/// How the page's script finds the parts of each leg: bar at the motor, rod, foot, pins.
const PARTS: [[[&str; 2]; 5]; 2] = [
    [
        ["crank", "name-crank"],
        ["coupler", "name-coupler"],
        ["rocker", "name-rocker"],
        ["pin-p", "name-p"],
        ["pin-q", "name-q"],
    ],
    [
        ["crank-2", "name-crank-2"],
        ["coupler-2", "name-coupler-2"],
        ["rocker-2", "name-rocker-2"],
        ["pin-p-2", "name-p-2"],
        ["pin-q-2", "name-q-2"],
    ],
];

type Parts = [&'static str; 2];

impl Seen<'_> {
    fn at(&self, point: Vector) -> Point {
        self.view.map(|axis| axis.dot(point))
    }

    fn bar(
        &self,
        parts: Parts,
        ink: Ink,
        name: &'static str,
        ends: impl Fn(&CoursePose) -> [Vector; 2],
    ) -> MovingBar {
        let rest = self.poses.get(self.shown).map(|pose| ends(pose));
        let name = if rest.is_some_and(|ends| self.is_named(ends)) { name } else { "" };
        let ends = self.poses.iter().map(|pose| ends(pose).map(|end| self.at(end))).collect();
        MovingBar { parts, ink, name, ends, aside: [0.0; 2], has_ghosts: false }
    }

    /// A bar has its name where it does not point at the reader, once.
    fn is_named(&self, ends: [Vector; 2]) -> bool {
        let reach = 0.5 * (ends[1] - ends[0]).length();
        let shows = |view: [Vector; 2]| {
            is_long(ends.map(|end| view.map(|axis| axis.dot(end))), 2.0 * reach)
        };
        shows(self.view) && !self.named_in.is_some_and(shows)
    }

    /// Half of what is drawn of an axis, m.
    fn reach(&self) -> f64 {
        let arm = |leg: &crate::drive::Leg| (leg.foot - self.course.geometry.pitch.point).length();
        0.6 * self.course.geometry.legs.iter().map(arm).fold(0.0, f64::max)
    }

    fn skeleton(&self, title: &str, room: Point) -> Skeleton {
        let geometry = &self.course.geometry;
        let mut bars: Vec<MovingBar> = self.roll_axis().into_iter().collect();
        bars.extend((0..2).flat_map(|k| self.leg(k)));
        let motors = geometry.legs.iter().zip(self.motors);
        let motors = motors.map(|(leg, motor)| {
            (self.at(anchor(&leg.input)), format!("{} motor", motor.name).into())
        });
        let cross = (self.at(geometry.pitch.point), "joints".into());
        Skeleton {
            title: title.to_owned(),
            description: format!(
                "{title}: motors on the carrier, what each turns, its rod to its pin Q on the foot, and both joint axes. To scale."
            ),
            still: self.still_lines(),
            fixed: motors.chain([cross]).collect(),
            bars,
            pins: (0..2).flat_map(|k| self.pins(k)).collect(),
            shown: self.shown,
            is_to_scale: true,
            room,
            ..Skeleton::default()
        }
    }

    /// Both joint axes' lines where they do not point at the reader, both motors', and what holds them.
    fn still_lines(&self) -> Vec<StillLine> {
        let geometry = &self.course.geometry;
        let mut lines: Vec<StillLine> =
            self.axis(&geometry.pitch, self.reach(), "pitch axis").into_iter().collect();
        for (k, leg) in geometry.legs.iter().enumerate() {
            let start = anchor(&leg.input);
            let ends = [start, geometry.pitch.point].map(|point| self.at(point));
            lines.push(still(Ink::Ground, if k == 0 { "ground" } else { "" }, ends));
            if let InputEnd::Crank { circle, .. } = leg.input {
                let axis = Axis { point: start, direction: circle.axis };
                lines.extend(self.axis(&axis, 0.4 * self.reach(), ""));
            }
        }
        lines
    }

    fn axis(&self, axis: &Axis, reach: f64, name: &'static str) -> Option<StillLine> {
        let ends = both_ends(axis, reach).map(|end| self.at(end));
        is_long(ends, reach).then(|| still(Ink::Support, name, ends))
    }

    /// The roll axis, which pitch carries.
    fn roll_axis(&self) -> Option<MovingBar> {
        let reach = self.reach();
        let parts = ["roll-axis", "name-roll-axis"];
        let axis = |pose: &CoursePose| both_ends(&self.roll_at(pose), reach);
        let bar = self.bar(parts, Ink::Support, "roll axis", axis);
        let drawn = both_ends(&self.course.geometry.roll, reach).map(|end| self.at(end));
        is_long(drawn, reach).then_some(MovingBar { name: "roll axis", ..bar })
    }

    fn roll_at(&self, pose: &CoursePose) -> Axis {
        let (pitch, roll) = (self.course.geometry.pitch, self.course.geometry.roll);
        let turn = libm::sincos(pose.row.joints[0]);
        Axis {
            point: pitch.point + (roll.point - pitch.point).turned(pitch.direction, turn),
            direction: roll.direction.turned(pitch.direction, turn),
        }
    }

    fn pins(&self, k: usize) -> Vec<MovingPin> {
        let (Some(leg), Some([.., p, q])) = (self.course.geometry.legs.get(k), PARTS.get(k)) else {
            return Vec::new();
        };
        let pin = |parts: Parts, of: &dyn Fn(&CoursePose) -> Vector| MovingPin {
            parts,
            name: "",
            places: self.poses.iter().map(|pose| self.at(of(pose))).collect(),
        };
        let head = matches!(leg.input, InputEnd::Crank { .. });
        let head = head.then(|| pin(*p, &|pose| pin_of(pose, k)));
        head.into_iter().chain([pin(*q, &|pose| foot_of(pose, k))]).collect()
    }

    /// What the motor turns, the rod, and the foot from the roll axis to pin Q.
    fn leg(&self, k: usize) -> Vec<MovingBar> {
        let (Some(leg), Some(parts)) = (self.course.geometry.legs.get(k), PARTS.get(k)) else {
            return Vec::new();
        };
        let [crank, coupler, rocker, ..] = *parts;
        let start = anchor(&leg.input);
        let is_actuator = matches!(leg.input, InputEnd::Actuator { .. });
        let end = |pose: &CoursePose| {
            if is_actuator { start + (foot_of(pose, k) - start) * HOUSING } else { pin_of(pose, k) }
        };
        let from = |pose: &CoursePose| if is_actuator { start } else { pin_of(pose, k) };
        let [turned, rod] = if is_actuator { ["housing", "screw"] } else { ["crank", "rod"] };
        let foot = |pose: &CoursePose| [self.roll_at(pose).point, foot_of(pose, k)];
        vec![
            self.bar(rocker, Ink::Rocker, if k == 0 { "foot" } else { "" }, foot),
            self.bar(coupler, Ink::Coupler, rod, |pose| [from(pose), foot_of(pose, k)]),
            self.bar(crank, Ink::Crank, turned, |pose| [start, end(pose)]),
        ]
    }
}

/// What a housing is drawn of its actuator's length.
const HOUSING: f64 = 0.6;

fn pin_of(pose: &CoursePose, k: usize) -> Vector {
    pose.places.rods.get(k).map_or(Vector::zero(), |rod| rod.pin)
}

fn foot_of(pose: &CoursePose, k: usize) -> Vector {
    pose.places.feet.get(k).copied().unwrap_or(Vector::zero())
}

fn both_ends(axis: &Axis, reach: f64) -> [Vector; 2] {
    [axis.point - axis.direction * reach, axis.point + axis.direction * reach]
}

/// Does a line of twice `reach` show, and not point at the reader?
fn is_long([[x, y], [u, v]]: [Point; 2], reach: f64) -> bool {
    (x - u).hypot(y - v) > 0.2 * reach
}
