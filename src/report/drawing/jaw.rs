//! The pads of a gripper: the drawn finger's, and its mirror image or the face that it closes on.

use super::ink::Ink;
use super::{Drawing, Point, Shape};

/// Half of a pad's thickness as drawn, px.
const HALF_PAD: f64 = 4.0;

/// A finger's pad over the stroke; lengths in m, A at the origin, B on +x, y up.
#[derive(Clone, Debug)]
pub(in crate::report) struct JawPicture {
    /// Pad point and both ends of the pad's face in every pose.
    pub(in crate::report) faces: Vec<[Point; 3]>,
    /// Where the other pad, or the fixed face, is met.
    pub(in crate::report) plane: Point,
    /// Unit vector in which the pad closes.
    pub(in crate::report) closing: Point,
    /// The other finger is the mirror image of the drawn one.
    pub(in crate::report) is_mirrored: bool,
}

/// A line that mirrors: a point of it and its unit normal, in one unit with what is mirrored.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct Mirror {
    pub(in crate::report) at: Point,
    pub(in crate::report) normal: Point,
}

impl Mirror {
    pub(super) fn of(self, [x, y]: Point) -> Point {
        let ([at_x, at_y], [nx, ny]) = (self.at, self.normal);
        let twice = 2.0 * ((x - at_x) * nx + (y - at_y) * ny);
        [x - twice * nx, y - twice * ny]
    }
}

impl JawPicture {
    fn mirror(&self) -> Mirror {
        Mirror { at: self.plane, normal: self.closing }
    }

    /// Ends of the face that the pad closes on, as long as the pad's.
    fn fixed_face(&self) -> [Point; 2] {
        let [x, y] = self.plane;
        let half =
            self.faces.first().map_or(0.0, |[at, end, _]| (end[0] - at[0]).hypot(end[1] - at[1]));
        let [nx, ny] = self.closing;
        [[x - half * ny, y + half * nx], [x + half * ny, y - half * nx]]
    }

    /// All that has to find room besides the drawn linkage with its pins.
    pub(super) fn outermost(&self, pins: &[Point]) -> Vec<Point> {
        let own = self.faces.iter().flatten().copied();
        if !self.is_mirrored {
            return own.chain(self.fixed_face()).collect();
        }
        let mirror = self.mirror();
        let all: Vec<Point> = own.chain(pins.iter().copied()).collect();
        all.iter().copied().chain(all.iter().map(|p| mirror.of(*p))).collect()
    }

    /// The same in pixels; a pad is as thick as its line, and touches with its face.
    pub(super) fn placed(&self, at: impl Fn(Point) -> Point) -> PlacedJaw {
        let normal = [self.closing[0], -self.closing[1]];
        let behind = |[x, y]: Point, by: f64| [x + by * normal[0], y + by * normal[1]];
        let face = |[tip, from, to]: [Point; 3]| {
            let [from, to] = [from, to].map(|end| behind(at(end), -HALF_PAD));
            [at(tip), from, to]
        };
        PlacedJaw {
            faces: self.faces.iter().copied().map(face).collect(),
            mirror: self.is_mirrored.then(|| Mirror { at: at(self.plane), normal }),
            fixed: self.fixed_face().map(|end| behind(at(end), HALF_PAD)),
        }
    }
}

/// The pads in pixels.
#[derive(Clone, Debug)]
pub(in crate::report) struct PlacedJaw {
    /// Pad point and both ends of the pad's face in every pose.
    pub(in crate::report) faces: Vec<[Point; 3]>,
    /// The line in which the other finger is the mirror image; `None` where there is none.
    pub(in crate::report) mirror: Option<Mirror>,
    fixed: [Point; 2],
}

/// The parts of a finger: name, ink, and how they run through A, B, P, Q, pad point and the ends of its face.
const PARTS: [(&str, &str, Ink); 5] = [
    ("finger", "finger-2", Ink::Finger),
    ("coupler", "coupler-2", Ink::Coupler),
    ("crank", "crank-2", Ink::Crank),
    ("rocker", "rocker-2", Ink::Rocker),
    ("pad", "pad-2", Ink::Pad),
];

impl PlacedJaw {
    /// What stands still: the other finger's axes, or the fixed face.
    pub(super) fn still(&self, drawing: &mut Drawing, axes: [Point; 2]) {
        match self.mirror {
            Some(mirror) => {
                let [a, b] = axes.map(|axis| mirror.of(axis));
                drawing.add(Ink::Ground, Shape::Line(vec![a, b]));
            }
            None => drawing.add(Ink::Pad, Shape::Line(self.fixed.to_vec())),
        }
    }

    /// The pad's own parts and the other finger, which the page's script moves by the same rules.
    pub(super) fn moving(
        &self,
        drawing: &mut Drawing,
        [a, b]: [Point; 2],
        [p, q]: [Point; 2],
        row: usize,
    ) {
        let Some([tip, from, to]) = self.faces.get(row).copied() else { return };
        let lines = [vec![p, tip, q], vec![p, q], vec![a, p], vec![b, q], vec![from, to]];
        for ((name, other, ink), line) in PARTS.into_iter().zip(lines) {
            if let Some(mirror) = self.mirror {
                let mirrored = line.iter().map(|at| mirror.of(*at)).collect();
                drawing.add_part(other, ink, Shape::Line(mirrored));
            }
            if matches!(name, "finger" | "pad") {
                drawing.add_part(name, ink, Shape::Line(line));
            }
        }
        let Some(mirror) = self.mirror else { return };
        for (name, at) in [("pin-p-2", p), ("pin-q-2", q)] {
            drawing.add_part(name, Ink::Pin, Shape::Circle(mirror.of(at), 5.0));
        }
        for (axis, radius) in [(a, 9.0), (a, 3.0), (b, 6.0)] {
            drawing.add(Ink::Pin, Shape::Circle(mirror.of(axis), radius));
        }
    }
}
