//! Turn to turn of any drive of one joint in lines of code: closed form both ways, stage by stage.
//!
//! A rod's pin X, as the turning arm at its other end sees it, is d in units of that arm, counted from the arm's direction
//! in the zero pose. The arm meets the rod where (see `drive`)
//!
//! ```text
//! K = (|d|² + 1 − b²)/2     S = ±√(x² + y² − K²)     e ∥ (K x − S y, K y + S x)     rate = (d − e)·d′/(−S)
//! ```
//!
//! and its turn is the angle of e. With a nut or an actuator at one end, the one square root is that of the slide line.

use super::core::{GIVEN, RATE, TURN};
use super::expression::{Expression, Function, Line, angle_of, call, constant, line, name};
use crate::drive::{Circle, InputEnd, JointDrive, RodDrive, Series, Vector};

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Towards {
    Joint,
    Motor,
}

/// The turn between two stages.
const BETWEEN: &str = "between";

/// The rate up to the stages before.
const THROUGH: &str = "through";

/// The lines from [`GIVEN`] to [`TURN`] and [`RATE`]; `None` where the drive has no rod in its zero pose.
pub(super) fn closed_form(drive: &JointDrive, towards: Towards) -> Option<Vec<Line>> {
    match drive {
        JointDrive::Ratio(ratio) => Some(fixed_ratio(ratio.0, towards)),
        JointDrive::Rod(rod) => one_rod(rod, towards),
        JointDrive::Series(Series(stages)) => {
            let mut stages: Vec<&JointDrive> = stages.iter().collect();
            if towards == Towards::Motor {
                stages.reverse();
            }
            chained(&stages, towards)
        }
    }
}

fn chained(stages: &[&JointDrive], towards: Towards) -> Option<Vec<Line>> {
    let mut lines = Vec::new();
    for (k, stage) in stages.iter().enumerate() {
        let own = closed_form(stage, towards)?;
        if k == 0 {
            lines.extend(own);
            continue;
        }
        lines.push(line(BETWEEN, name(TURN)));
        lines.push(line(THROUGH, name(RATE)));
        // What is given to a function keeps its value.
        lines.extend(own.into_iter().map(|l| line(l.name, l.value.renamed(GIVEN, BETWEEN))));
        lines.push(line(RATE, name(THROUGH) * name(RATE)));
    }
    Some(lines)
}

fn fixed_ratio(ratio: f64, towards: Towards) -> Vec<Line> {
    let (turn, rate) = match towards {
        Towards::Joint => (name(GIVEN) / constant(ratio), constant(1.0) / constant(ratio)),
        Towards::Motor => (name(GIVEN) * constant(ratio), constant(ratio)),
    };
    vec![line(TURN, turn), line(RATE, rate)]
}

/// A point's path as an arm sees it, each coordinate `[fixed, factor of the first, factor of the second]` of [`Path`].
type Seen = [[f64; 3]; 3];

/// What a point moves by.
#[derive(Clone, Copy, Debug)]
enum Path {
    /// Cosine and sine of the given turn.
    Circle,
    /// The given turn itself.
    Line,
    /// Nothing.
    Rest,
}

/// A turning arm in the zero pose: its centre, its length, and a frame whose x is its direction there.
#[derive(Clone, Copy, Debug)]
struct Arm {
    centre: Vector,
    radius: f64,
    frame: [Vector; 3],
}

impl Arm {
    fn new(circle: &Circle, angle: f64) -> Self {
        let arm = circle.arm(libm::sincos(angle));
        let x = arm * (1.0 / circle.radius);
        Self {
            centre: circle.centre,
            radius: circle.radius,
            frame: [x, circle.axis.cross(x), circle.axis],
        }
    }

    /// `point` and `directions` as the arm sees them, in its own length.
    fn sees(&self, point: Vector, directions: [Vector; 2]) -> Seen {
        let scale = 1.0 / self.radius;
        let d = point - self.centre;
        self.frame.map(|axis| {
            let [first, second] = directions.map(|direction| scale * axis.dot(direction));
            [scale * axis.dot(d), first, second]
        })
    }

    /// Its pin's path as another arm sees it: the centre, and the two directions that cosine and sine go with.
    fn path(&self) -> (Vector, [Vector; 2]) {
        let [x, y, _] = self.frame;
        (self.centre, [x * self.radius, y * self.radius])
    }
}

fn one_rod(rod: &RodDrive, towards: Towards) -> Option<Vec<Line>> {
    let geometry = rod.geometry();
    let [joint, motor] = rod.zero_angles();
    let lever = Arm::new(&geometry.joint, joint);
    let pose = rod.pose(0.0).ok()?;
    let side = f64::copysign(1.0, pose.sin_transmission());
    Some(match (geometry.input, towards) {
        (InputEnd::Crank { circle, rod, side }, Towards::Motor) => {
            let (point, directions) = lever.path();
            let crank = Arm::new(&circle, motor);
            meeting(crank.sees(point, directions), Path::Circle, square(rod / crank.radius), side)
        }
        (InputEnd::Crank { circle, rod, .. }, Towards::Joint) => {
            let (point, directions) = Arm::new(&circle, motor).path();
            let seen = lever.sees(point, directions);
            meeting(seen, Path::Circle, square(rod / lever.radius), side)
        }
        (InputEnd::Slide { direction, rod, side, .. }, Towards::Motor) => {
            slide_of(&lever, [pose.reached.pin, direction], rod, [side, pose.gain])
        }
        (InputEnd::Slide { direction, rod, .. }, Towards::Joint) => {
            let along = direction * (1.0 / pose.gain);
            let seen = lever.sees(pose.reached.pin, [along, Vector::zero()]);
            meeting(seen, Path::Line, square(rod / lever.radius), side)
        }
        (InputEnd::Actuator { pin, offset, .. }, Towards::Motor) => {
            length_of(&lever, pin, [offset, pose.travel()?, pose.gain])
        }
        (InputEnd::Actuator { pin, offset, .. }, Towards::Joint) => {
            angle_at_length(&lever, pin, [offset, pose.travel()?, pose.gain], side)
        }
    })
}

pub(super) fn square(x: f64) -> Expression {
    constant(x * x)
}

/// The sum of every factor times what it goes with, without what is zero.
pub(super) fn sum(terms: impl IntoIterator<Item = (f64, Option<Expression>)>) -> Expression {
    let term = |(factor, of): (f64, Option<Expression>)| match of {
        _ if factor == 0.0 => None,
        None => Some(constant(factor)),
        Some(of) => Some(constant(factor) * of),
    };
    let told = terms.into_iter().filter_map(term).reduce(|sum, term| sum + term);
    told.unwrap_or_else(|| constant(0.0))
}

const PLACES: [&str; 3] = ["dx", "dy", "dz"];
const WAYS: [&str; 3] = ["mx", "my", "mz"];

/// The point and its way per rad of the given turn.
fn moving(seen: Seen, path: Path) -> Vec<Line> {
    let n = |of| Some(name(of));
    let mut lines = match path {
        Path::Circle => vec![
            line("cosine", call(Function::Cosine, name(GIVEN))),
            line("sine", call(Function::Sine, name(GIVEN))),
        ],
        Path::Line | Path::Rest => Vec::new(),
    };
    for (of, [fixed, first, second]) in PLACES.into_iter().zip(seen) {
        lines.push(line(
            of,
            match path {
                Path::Circle => sum([(fixed, None), (first, n("cosine")), (second, n("sine"))]),
                Path::Line => sum([(fixed, None), (first, n(GIVEN))]),
                Path::Rest => constant(fixed),
            },
        ));
    }
    for (of, [_, first, second]) in WAYS.into_iter().zip(seen) {
        lines.push(line(
            of,
            match path {
                Path::Circle => sum([(second, n("cosine")), (-first, n("sine"))]),
                Path::Line => constant(first),
                Path::Rest => constant(0.0),
            },
        ));
    }
    lines
}

/// The arm's turn where the rod of squared length `rod` from its pin reaches the point, all in units of the arm.
fn meeting(seen: Seen, path: Path, rod: Expression, side: f64) -> Vec<Line> {
    let n = name;
    let mut lines = moving(seen, path);
    lines.extend(met(rod, side));
    let off = (n("dx") - n("ex")) * n("mx") + (n("dy") - n("ey")) * n("my") + n("dz") * n("mz");
    lines.push(line("ex", (n("k") * n("dx") - n("s") * n("dy")) / n("h2")));
    lines.push(line("ey", (n("k") * n("dy") + n("s") * n("dx")) / n("h2")));
    lines.push(line(TURN, angle_of(n("ey"), n("ex"))));
    lines.push(line(RATE, -off / n("s")));
    lines
}

/// K, S and the squared distance from the axis.
pub(super) fn met(rod: Expression, side: f64) -> [Line; 3] {
    let n = name;
    let height = call(Function::SquareRoot, n("h2") - n("k") * n("k"));
    [
        line("h2", n("dx") * n("dx") + n("dy") * n("dy")),
        line("k", (n("h2") + n("dz") * n("dz") + (constant(1.0) - rod)) * constant(0.5)),
        line("s", if side < 0.0 { -height } else { height }),
    ]
}

/// The nut's travel from its zero pose, times the motor's gain.
fn slide_of(
    lever: &Arm,
    [nut, direction]: [Vector; 2],
    rod: f64,
    [side, gain]: [f64; 2],
) -> Vec<Line> {
    let across = direction.across().unwrap_or([Vector::zero(); 2]);
    let (centre, ways) = lever.path();
    let seen = [direction, across[0], across[1]]
        .map(|axis| [axis.dot(centre - nut), axis.dot(ways[0]), axis.dot(ways[1])]);
    let n = name;
    let mut lines = moving(seen, Path::Circle);
    let run = call(Function::SquareRoot, square(rod) - n("dy") * n("dy") - n("dz") * n("dz"));
    lines.push(line("run", if side < 0.0 { -run } else { run }));
    lines.push(line(TURN, constant(gain) * (n("dx") + n("run"))));
    let aside = (n("dy") * n("my") + n("dz") * n("mz")) / n("run");
    lines.push(line(RATE, constant(gain) * (n("mx") - aside)));
    lines
}

/// Factors of |w|² = fixed + first·cos + second·sin.
fn squared_length(lever: &Arm, pin: Vector) -> [f64; 3] {
    let (centre, [first, second]) = lever.path();
    let d = centre - pin;
    [d.dot(d) + lever.radius * lever.radius, 2.0 * d.dot(first), 2.0 * d.dot(second)]
}

/// The actuator's length less that of the zero pose, times the motor's gain.
fn length_of(lever: &Arm, pin: Vector, [offset, zero, gain]: [f64; 3]) -> Vec<Line> {
    let [fixed, first, second] = squared_length(lever, pin);
    let n = |of| Some(name(of));
    let squared = sum([(fixed - offset * offset, None), (first, n("cosine")), (second, n("sine"))]);
    let way = sum([(0.5 * second, n("cosine")), (-0.5 * first, n("sine"))]);
    vec![
        line("cosine", call(Function::Cosine, name(GIVEN))),
        line("sine", call(Function::Sine, name(GIVEN))),
        line("length", call(Function::SquareRoot, squared)),
        line(TURN, constant(gain) * (name("length") - constant(zero))),
        line(RATE, constant(gain) * way / name("length")),
    ]
}

/// The lever's turn where Q is as far from the pin as the actuator is long; in units of the lever.
fn angle_at_length(
    lever: &Arm,
    pin: Vector,
    [offset, zero, gain]: [f64; 3],
    side: f64,
) -> Vec<Line> {
    let scale = 1.0 / lever.radius;
    let n = name;
    let seen = lever.sees(pin, [Vector::zero(); 2]);
    let travel = constant(scale * zero) + constant(scale / gain) * n(GIVEN);
    let squared = n("length") * n("length") + square(scale * offset);
    let mut lines = vec![line("length", travel)];
    lines.extend(moving(seen, Path::Rest).into_iter().filter(|l| PLACES.contains(&l.name)));
    lines.extend(met(squared, side));
    let (x, y) = (n("k") * n("dx") - n("s") * n("dy"), n("k") * n("dy") + n("s") * n("dx"));
    lines.push(line(TURN, angle_of(y, x)));
    lines.push(line(RATE, constant(scale / gain) * n("length") / n("s")));
    lines
}

#[cfg(test)]
mod tests {
    use super::super::expression::{Doubles, Numbers as _};
    use super::*;
    use crate::drive::{
        Assembly, Axis, BallRod, Drawing, FixedRatio, LinearActuator, OneJoint as _, Slider,
    };

    fn ball_rod(assembly: Assembly) -> Drawing {
        let sizes = BallRod {
            ground: 0.3,
            crank: 0.05,
            coupler: 0.31,
            rocker: 0.045,
            axial: 0.015,
            twist: 0.2,
            lean: 0.1,
        };
        Drawing::BallRod { sizes, zero_crank: 1.5, assembly }
    }

    fn in_space(lead: f64) -> LinearActuator {
        LinearActuator {
            motor: Vector::new(0.0, 0.01, 0.2),
            joint: Axis {
                point: Vector::zero(),
                direction: Vector::new(0.1, 0.9, 0.2).unit().unwrap(),
            },
            rocker: Vector::new(0.05, 0.01, 0.02),
            line_offset: 0.012,
            lead,
        }
    }

    fn drawings() -> Vec<Drawing> {
        let actuator = |lead| Drawing::ActuatorPoints { points: in_space(lead), lengths: None };
        let slider = |nut| Drawing::PlanarSlider {
            ground: 0.2,
            coupler: 0.09,
            rocker: 0.045,
            guide: [0.0, 0.0675],
            direction: 0.1,
            lead: 0.005,
            zero_rocker: 0.8857,
            nut,
        };
        let belt = || Drawing::FixedRatio(FixedRatio(-2.5));
        let points = Slider {
            guide: Vector::new(0.0, 0.07, 0.01),
            direction: Vector::new(1.0, 0.1, 0.05),
            coupler: 0.09,
            joint: Axis {
                point: Vector::new(0.2, 0.0, 0.0),
                direction: Vector::new(0.1, 0.0, 1.0).unit().unwrap(),
            },
            rocker: Vector::new(0.23, 0.035, 0.0),
            lead: -0.004,
        };
        vec![
            ball_rod(Assembly::Open),
            ball_rod(Assembly::Crossed),
            actuator(0.005),
            actuator(-0.003),
            slider(0.145),
            slider(0.4),
            Drawing::SliderPoints { points, nut: 0.15 },
            belt(),
            Drawing::Series(vec![belt(), ball_rod(Assembly::Open), ball_rod(Assembly::Open)]),
            Drawing::Series(vec![belt(), slider(0.145), belt()]),
        ]
    }

    fn run(lines: &[Line], x: f64) -> [f64; 2] {
        let mut known = vec![(GIVEN, x)];
        Doubles.run(lines, &mut known).unwrap();
        [TURN, RATE].map(|of| Doubles.value(&name(of), &known).unwrap())
    }

    #[test]
    fn the_closed_forms_are_the_drive_in_both_directions() {
        for drawing in drawings() {
            let drive = drawing.drive().unwrap();
            let back = closed_form(&drive, Towards::Motor).unwrap();
            let there = closed_form(&drive, Towards::Joint).unwrap();
            let mut reached = 0;
            for joint in [-0.2, -0.1, -0.05, 0.0, 0.04, 0.07, 0.2] {
                let Ok(motion) = drive.motion(joint) else { continue };
                reached += 1;
                let [motor, ratio] = run(&back, joint);
                let size = 1.0 + motion.ratio.abs();
                assert!(
                    (motor - motion.motor).abs() < 1e-12 * size,
                    "{drawing:?} {joint} {motor} {motion:?}"
                );
                assert!(
                    (ratio - motion.ratio).abs() < 1e-12 * size,
                    "{drawing:?} {joint} {ratio} {motion:?}"
                );
                let [turn, rate] = run(&there, motion.motor);
                assert!((turn - joint).abs() < 1e-12, "{drawing:?} {joint} {turn}");
                assert!((rate * motion.ratio - 1.0).abs() < 1e-11, "{drawing:?} {joint} {rate}");
            }
            assert!(reached >= 3, "{drawing:?}");
        }
    }
}
