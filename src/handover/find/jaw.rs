//! Parallel jaws: loops whose coupler carries the pad. Where the pad is, which way it closes, and the finger on the other side.
//!
//! The pad point is the middle of the pad's face; the closing direction points to the other finger where the file has both,
//! which stand as mirror images: then n is the mirror's normal. Of one finger alone it is the travel at mid-stroke.

use nalgebra::{Point3, Vector3};

use super::cycles::Bodies;
use super::drives::Drives;
use super::found::{FoundLoop, Jaw, MirroredFinger};
use super::four_bar::FourBarLoop;
use super::obstacle::Obstacle;
use super::pad_place::PadPlace;
use super::reach::Reach;
use crate::linkage::{Branch, Pad, PadOn};
use crate::numeric::peaks;
use crate::robot::Robot;
use crate::units::fixed;

/// Two fingers whose speeds or lengths differ by no more than this share are mirror images: what a file's decimals leave.
const ALIKE: f64 = 1e-3;

/// Fingers close on each other where at mid-stroke more than this share of their travel is towards the other.
const CLOSES: f64 = 0.3;

/// One jaw's geometry before the other finger is known.
struct Finger<'a> {
    four_bar: &'a FourBarLoop,
    reach: &'a Reach,
    place: PadPlace,
}

/// Tells every loop whose coupler is carried its pad and its other finger.
pub(super) fn place(robot: &Robot, bodies: &Bodies, drives: &Drives, found: &mut [FoundLoop]) {
    let jaws: Vec<Option<Result<Jaw, Obstacle>>> =
        found.iter().map(|one| jaw(robot, bodies, drives, found, one)).collect();
    for (one, jaw) in found.iter_mut().zip(jaws) {
        match jaw {
            Some(Ok(jaw)) => {
                one.remarks.insert(0, is_jaw(one));
                one.remarks.extend(multiplier(drives, one));
                one.jaw = Some(jaw);
            }
            Some(Err(obstacle)) => one.obstacles.push(obstacle),
            None => {}
        }
    }
}

/// Where the file has the finger's joint follow its driver besides: by how much, and by how much the linkage does.
fn multiplier(drives: &Drives, one: &FoundLoop) -> Option<Obstacle> {
    let (found, reach) = (one.four_bar.as_ref()?, one.reach.as_ref()?);
    let [crank, pin, ..] = &found.pins;
    let said = drives.tied_slope(crank.joint?, pin.joint?)?;
    let sense = pin.axis?.dot(&found.axis).signum() * found.motor_sign();
    let rate = |turn: f64| {
        let pose = reach.branch.pose(turn);
        pose.map_or(f64::NAN, |pose| sense * (pose.coupler_rate() - 1.0))
    };
    let [least, most] = peaks(rate, reach.motor).map(|peak| fixed(peak.1, 4));
    Some(Obstacle::new(
        "multiplier",
        format!(
            "the file has the finger's joint follow its driver {} times; the linkage turns it {least}…{most} times over the stroke",
            fixed(said, 4)
        ),
    ))
}

fn is_jaw(one: &FoundLoop) -> Obstacle {
    let coupler = one.parts.as_ref().map_or("", |parts| parts[2].as_str());
    let why = one.four_bar.as_ref().and_then(|found| found.roles.jaw_told_by.as_deref());
    Obstacle::new(
        "parallel_jaw",
        format!(
            "the coupler {coupler:?} is what is carried ({}): a parallel jaw, for which a counter-turning pair may stand; the finger is never taken out",
            why.unwrap_or_default()
        ),
    )
}

fn finger<'a>(
    robot: &Robot,
    bodies: &Bodies,
    one: &'a FoundLoop,
) -> Option<Result<Finger<'a>, Obstacle>> {
    let four_bar = one.four_bar.as_ref().filter(|found| found.roles.jaw_told_by.is_some())?;
    let reach = one.reach.as_ref()?;
    let place = PadPlace::on(robot, bodies, four_bar).ok_or_else(|| {
        Obstacle::new(
            "pad_unknown",
            "where is the pad? The finger has neither a shape that is read nor a site called pad nor a mass",
        )
    });
    Some(place.map(|place| Finger { four_bar, reach, place }))
}

fn jaw(
    robot: &Robot,
    bodies: &Bodies,
    drives: &Drives,
    all: &[FoundLoop],
    one: &FoundLoop,
) -> Option<Result<Jaw, Obstacle>> {
    let own = match finger(robot, bodies, one)? {
        Ok(own) => own,
        Err(obstacle) => return Some(Err(obstacle)),
    };
    let twins = all.iter().filter(|other| {
        other.name != one.name
            && one.mechanism.as_ref().is_some_and(|tied| tied.loops.contains(&other.name))
    });
    let twin = twins.into_iter().find_map(|other| {
        let twin = finger(robot, bodies, other)?.ok()?;
        let slope = drives.slope(robot, [own.four_bar.motor()?, twin.four_bar.motor()?])?;
        let n = own.mirrored_by(&twin, slope)?;
        let other = MirroredFinger {
            name: other.name.clone(),
            slope,
            four_bar: twin.four_bar.clone(),
            reach: twin.reach.clone(),
        };
        Some((other, twin, n))
    });
    Some(own.jaw(twin).ok_or_else(|| {
        Obstacle::new(
            "no_travel",
            "the pad does not travel at mid-stroke: no closing direction follows",
        )
    }))
}

/// The other finger, its geometry, and the direction towards it.
type Twin<'a> = (MirroredFinger, Finger<'a>, Vector3<f64>);

impl Finger<'_> {
    fn jaw(&self, twin: Option<Twin<'_>>) -> Option<Jaw> {
        let Some((other, twin, n)) = twin else {
            let n = self.travel()?;
            let pad = self.pad(&n, 1.0);
            return Some(Jaw {
                pad,
                point_told_by: self.place.told_by.clone(),
                closing_told_by: "along the travel at mid-stroke, as the motor's reading grows: the file has no other finger that the same motor closes against it".to_owned(),
                opening: None,
                other: None,
            });
        };
        let apart = twin.pad_point(&-n) - self.pad_point(&n);
        Some(Jaw {
            pad: self.pad(&n, 2.0),
            point_told_by: self.place.told_by.clone(),
            closing_told_by: format!("towards the finger of {:?}, its mirror image", other.name),
            opening: Some(n.dot(&apart)).filter(|w| *w >= 0.0),
            other: Some(other),
        })
    }

    fn pad(&self, n: &Vector3<f64>, fingers: f64) -> Pad {
        let [x, y, _] = self.four_bar.directions();
        let closing = [n.dot(&x), n.dot(&y)];
        let point = self.face_off_pin(n);
        Pad { on: PadOn::Coupler, point, closing, across: [closing[1], -closing[0]], fingers }
    }

    /// The pad's face that looks along `n` in the zero pose, from P, in the drawing's axes.
    fn face_off_pin(&self, n: &Vector3<f64>) -> [f64; 2] {
        let [_, _, z] = self.four_bar.directions();
        let [drawn, zero] = self.coupler_angles();
        let turn = |v: &Vector3<f64>, angle: f64| nalgebra::Rotation3::new(z * angle) * v;
        let face = self.place.face(&turn(n, drawn - zero));
        let from = turn(&(face - self.four_bar.pins[1].points[1]), zero - drawn);
        self.four_bar.in_drawing(&from)
    }

    /// θ of the coupler's own pins as the file draws them, and in the zero pose, rad.
    fn coupler_angles(&self) -> [f64; 2] {
        let zero = self.reach.branch.pose(0.0).map_or(f64::NAN, |pose| pose.coupler_angle());
        [self.four_bar.drawn_coupler(), zero]
    }

    /// The same in the model's frame.
    fn pad_point(&self, n: &Vector3<f64>) -> Point3<f64> {
        let [x, y, _] = self.four_bar.directions();
        let point = self.face_off_pin(n);
        let e = self.reach.branch.pose(0.0).map_or([f64::NAN; 2], |pose| pose.e);
        let crank = self.reach.branch.bars().crank;
        let [u, v] = [crank * e[0] + point[0], crank * e[1] + point[1]];
        self.four_bar.pins[0].points[0] + x * u + y * v
    }

    /// Speed of the pad's middle per motor turn, m/rad, in the model's frame.
    fn speed(&self, turn: f64) -> Option<Vector3<f64>> {
        let point = self.middle_off_pin();
        let [x, y, _] = self.four_bar.directions();
        let [u, v] = speed(&self.reach.branch, point, turn)?;
        Some(x * u + y * v)
    }

    fn middle_off_pin(&self) -> [f64; 2] {
        self.face_off_pin(&Vector3::zeros())
    }

    /// Along the travel at mid-stroke, as the motor's reading grows.
    fn travel(&self) -> Option<Vector3<f64>> {
        let [low, high] = self.reach.motor;
        let travel = self.speed(0.5 * (low + high))? * self.four_bar.motor_sign();
        (travel.norm() > 1e-9).then(|| travel.normalize())
    }

    /// The direction towards `other`, where that moves as the mirror image of this one when its motor's reading grows by
    /// `slope` times this one's.
    fn mirrored_by(&self, other: &Self, slope: f64) -> Option<Vector3<f64>> {
        let (own, its) = (self.four_bar, other.four_bar);
        let is_one_carrier = own.bodies()[0] == its.bodies()[0];
        let bars = |b: crate::linkage::FourBar| [b.ground, b.crank, b.coupler, b.rocker];
        let near = |(a, b): (f64, f64)| (a - b).abs() <= ALIKE * own.bars.longest();
        if !is_one_carrier || !bars(own.bars).into_iter().zip(bars(its.bars)).all(near) {
            return None;
        }
        let n = self.normal(other)?;
        if self.travel()?.dot(&n).abs() < CLOSES {
            return None;
        }
        let motors = own.motor_sign() * its.motor_sign() * slope;
        let [low, high] = self.reach.motor;
        let alike = [low, 0.5 * (low + high), high].into_iter().all(|turn| {
            let (Some(here), Some(there)) = (self.speed(turn), other.speed(motors * turn)) else {
                return false;
            };
            let mirrored = here - n * (2.0 * n.dot(&here));
            (there * motors - mirrored).norm() <= ALIKE * 2.0 * here.norm()
        });
        alike.then_some(n)
    }

    /// From this finger to the other, across the axis; the motor axes tell where the pads themselves touch.
    fn normal(&self, other: &Self) -> Option<Vector3<f64>> {
        let z = self.four_bar.axis;
        let flat = |v: Vector3<f64>| v - z * z.dot(&v);
        let small = 1e-3 * self.four_bar.bars.longest();
        let pads = flat(other.place.middle - self.place.middle);
        let pivots = flat(other.four_bar.pins[0].points[0] - self.four_bar.pins[0].points[0]);
        let longer = if pivots.norm() > pads.norm() { pivots } else { pads };
        let sense = if pads.norm() > small && pads.dot(&longer) < 0.0 { -1.0 } else { 1.0 };
        (longer.norm() > small).then(|| longer.normalize() * sense)
    }
}

/// Speed of a point of the coupler, which in the zero pose stands at `point` from P, per motor turn, m/rad.
fn speed(branch: &Branch, point: [f64; 2], turn: f64) -> Option<[f64; 2]> {
    let along = |closing: [f64; 2]| {
        let across = [closing[1], -closing[0]];
        let pad = Pad { on: PadOn::Coupler, point, closing, across, fingers: 1.0 };
        Some(-pad.at(branch, turn).ok()?.opening_rate)
    };
    Some([along([1.0, 0.0])?, along([0.0, 1.0])?])
}
