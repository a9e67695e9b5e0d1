//! A planar four-bar over its stroke, as its pins are drawn: its bars and pins, and the pads of a gripper, the drawn finger's
//! with its mirror image or the face that it closes on.

use crate::report::drawing::{Ink, MovingBar, MovingPin, Point, Skeleton, StillLine};
use crate::study::{Check, PadRow, PoseRow};

use super::skeletons::{bar, pin, still};

/// Half of a pad's thickness as drawn, px.
const HALF_PAD: f64 = 4.0;

/// Half of a pad's face as drawn, as a share of the crank.
const HALF_FACE: f64 = 0.22;

/// The linkage over its stroke, shown at one row.
pub(in crate::report) fn linkage(
    check: &Check,
    rows: &[PoseRow],
    shown: usize,
    room: Point,
) -> Skeleton {
    let of_pad = check.is_of_pad();
    let (title, what) = if of_pad {
        ("The fingers, to scale", "rocker from B to Q; the pad rides on the coupler")
    } else {
        ("The linkage, to scale", "rocker from B to Q, rigid with the child")
    };
    let seen = Seen { check, rows };
    let [a, b] = seen.axes();
    let is_behind = check.readings.front().is_some();
    let of_motor = if is_behind { "crank axis A" } else { "motor axis A" };
    let drawn = Skeleton {
        title: title.to_owned(),
        description: format!(
            "A four-bar linkage: {of_motor} and joint axis B on the carrier; crank from A to pin P, coupler from P to pin Q, {what}. {}. The ends of the stroke are dashed, the paths of P and Q dotted.",
            crate::study::drive_sizes(&check.drive)
        ),
        still: vec![still(Ink::Ground, "ground", [a, b])],
        fixed: vec![
            (a, if is_behind { "A" } else { "A motor" }.into()),
            (b, if of_pad { "B" } else { "B joint" }.into()),
        ],
        bars: seen.bars(),
        pins: vec![
            pin("p", "P", seen.every(Seen::crank_pin)),
            pin("q", "Q", seen.every(Seen::rocker_pin)),
        ],
        shown,
        is_to_scale: true,
        room,
        ..Skeleton::default()
    };
    match rows.first().and_then(|row| row.pad).filter(|_| of_pad) {
        Some(pad) => seen.with_pads(drawn, &pad),
        None => drawn,
    }
}

/// The linkage as seen on its drawing.
struct Seen<'a> {
    check: &'a Check,
    rows: &'a [PoseRow],
}

/// A line that mirrors: a point of it and its unit normal.
#[derive(Clone, Copy)]
struct Mirror {
    at: Point,
    normal: Point,
}

impl Mirror {
    fn of(self, [x, y]: Point) -> Point {
        let ([at_x, at_y], [nx, ny]) = (self.at, self.normal);
        let twice = 2.0 * ((x - at_x) * nx + (y - at_y) * ny);
        [x - twice * nx, y - twice * ny]
    }
}

const CRANK: [&str; 2] = ["crank", "name-crank"];
const COUPLER: [&str; 2] = ["coupler", "name-coupler"];
const ROCKER: [&str; 2] = ["rocker", "name-rocker"];

impl Seen<'_> {
    /// From the linkage's own axes, x along A→B.
    fn at(&self, [x, y]: Point) -> Point {
        let [[xx, xy], [yx, yy]] = self.check.view;
        [x * xx + y * yx, x * xy + y * yy]
    }

    fn axes(&self) -> [Point; 2] {
        let ground = self.check.linkage.map_or(0.0, |facts| facts.bars.ground);
        [[0.0, 0.0], self.at([ground, 0.0])]
    }

    fn crank_pin(&self, row: &PoseRow) -> Point {
        let p = row.pose.crank_pin();
        self.at([p.x, p.y])
    }

    fn rocker_pin(&self, row: &PoseRow) -> Point {
        let q = row.pose.rocker_pin();
        self.at([q.x, q.y])
    }

    fn every<T>(&self, of: fn(&Self, &PoseRow) -> T) -> Vec<T> {
        self.rows.iter().map(|row| of(self, row)).collect()
    }

    fn bars(&self) -> Vec<MovingBar> {
        let rod = |seen: &Self, row: &PoseRow| [seen.crank_pin(row), seen.rocker_pin(row)];
        let arm = |seen: &Self, row: &PoseRow| [seen.axes()[0], seen.crank_pin(row)];
        let lever = |seen: &Self, row: &PoseRow| [seen.axes()[1], seen.rocker_pin(row)];
        vec![
            bar(COUPLER, Ink::Coupler, "coupler", self.every(rod)),
            bar(CRANK, Ink::Crank, "crank", self.every(arm)),
            bar(ROCKER, Ink::Rocker, "rocker", self.every(lever)),
        ]
    }

    /// Pad point and both ends of the pad's face.
    fn face(&self, row: &PoseRow) -> [Point; 3] {
        let Some(pad) = row.pad else { return [[f64::NAN; 2]; 3] };
        let half = HALF_FACE * self.check.linkage.map_or(0.0, |facts| facts.bars.crank);
        let ([x, y], [nx, ny]) = (pad.point, pad.closing);
        let (sin, cos) = libm::sincos(pad.pose.tilt);
        // Across the closing direction, turned with the coupler.
        let [along, up] = [half * (-ny * cos - nx * sin), half * (-ny * sin + nx * cos)];
        [[x, y], [x + along, y + up], [x - along, y - up]].map(|point| self.at(point))
    }

    /// What carries the pad, and the pad; it is as thick as its line and touches with its face.
    fn finger(&self, normal: Point) -> [MovingBar; 3] {
        let near = |seen: &Self, row: &PoseRow| [seen.crank_pin(row), seen.face(row)[0]];
        let far = |seen: &Self, row: &PoseRow| [seen.face(row)[0], seen.rocker_pin(row)];
        let pad = |seen: &Self, row: &PoseRow| {
            let [_, from, to] = seen.face(row);
            [from, to]
        };
        let plain =
            |part, ink, ends| MovingBar { has_ghosts: false, ..bar([part, ""], ink, "", ends) };
        [
            plain("finger", Ink::Finger, self.every(near)),
            plain("finger-far", Ink::Finger, self.every(far)),
            MovingBar { aside: behind(normal, 1.0), ..plain("pad", Ink::Pad, self.every(pad)) },
        ]
    }

    fn with_pads(&self, mut drawn: Skeleton, pad: &PadRow) -> Skeleton {
        let mirror = Mirror { at: self.at(pad.meets_at()), normal: self.at(pad.closing) };
        let [near, far, face] = self.finger(mirror.normal);
        // The whole triangle is the coupler: there is more room for its name beside the finger.
        let near = MovingBar { parts: [near.parts[0], COUPLER[1]], name: "coupler", ..near };
        let mut own = drawn.bars.split_off(0);
        own.iter_mut().filter(|bar| bar.parts == COUPLER).for_each(|bar| bar.name = "");
        let all: Vec<MovingBar> = [near, far].into_iter().chain(own).chain([face]).collect();
        if pad.is_mirrored {
            let [a, b] = self.axes().map(|axis| mirror.of(axis));
            drawn.still.push(still(Ink::Ground, "", [a, b]));
            drawn.fixed.extend([(a, "".into()), (b, "".into())]);
            drawn.bars.extend(all.iter().filter_map(|bar| mirrored(bar, mirror)));
            let pins = drawn.pins.iter().filter_map(|pin| mirrored_pin(pin, mirror));
            let pins: Vec<MovingPin> = pins.collect();
            drawn.pins.extend(pins);
        } else {
            drawn.still.push(self.fixed_face(mirror));
        }
        drawn.bars.extend(all);
        drawn
    }

    /// What a single finger closes on, as long as the pad.
    fn fixed_face(&self, Mirror { at: [x, y], normal: [nx, ny] }: Mirror) -> StillLine {
        let half = HALF_FACE * self.check.linkage.map_or(0.0, |facts| facts.bars.crank);
        let ends = [[x - half * ny, y + half * nx], [x + half * ny, y - half * nx]];
        StillLine { aside: behind([nx, ny], -1.0), ..still(Ink::Pad, "", ends) }
    }
}

/// From a face to the middle of the pad's thickness, against the closing direction `normal`; px, y down.
fn behind([nx, ny]: Point, sense: f64) -> Point {
    [-sense * HALF_PAD * nx, sense * HALF_PAD * ny]
}

/// The parts of the other finger.
const OTHER: [(&str, &str); 8] = [
    ("crank", "crank-2"),
    ("coupler", "coupler-2"),
    ("rocker", "rocker-2"),
    ("finger", "finger-2"),
    ("finger-far", "finger-far-2"),
    ("pad", "pad-2"),
    ("pin-p", "pin-p-2"),
    ("pin-q", "pin-q-2"),
];

fn other(part: &str) -> Option<&'static str> {
    OTHER.iter().find(|(own, _)| *own == part).map(|(_, other)| *other)
}

fn mirrored(own: &MovingBar, mirror: Mirror) -> Option<MovingBar> {
    let [dx, dy] = own.aside;
    let ends = own.ends.iter().map(|ends| ends.map(|end| mirror.of(end)));
    let image = bar([other(own.parts[0])?, ""], own.ink, "", ends.collect());
    Some(MovingBar { aside: [-dx, -dy], has_ghosts: false, ..image })
}

fn mirrored_pin(own: &MovingPin, mirror: Mirror) -> Option<MovingPin> {
    let places = own.places.iter().map(|place| mirror.of(*place)).collect();
    Some(MovingPin { parts: [other(own.parts[0])?, ""], name: "", places })
}
