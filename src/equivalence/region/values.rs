//! Every figure of one build in one pose, in plain floats or enclosed.

use std::f64::consts::FRAC_PI_2;

use super::super::claims::Zeroing;
use super::super::criterion::{Criterion, MET_WITHIN};
use super::question::{RegionLimits, RegionQuestion};
use crate::drive::{Angular, DrawnLeg, InputEnd, Leg, RodsOnUniversal, TwoRodsPose, Vector};
use crate::numeric::{Interval, Scalar, elementary};

/// Which figure. Indices are 0 for pitch or the first rod, 1 for roll or the second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Figure {
    /// An entry of E: row, column.
    Rate(usize, usize),
    /// Its norm.
    Norm,
    /// The angle error of a joint, rad.
    Angle(usize),
    /// Sine of the angle of a rod to its pin's path with the other motor held.
    JointSide(usize),
    /// Sine of the angle at a rod's crank.
    CrankSide(usize),
    /// Sine of the tilt of the ball at a rod's crank.
    Tilt(usize),
}

/// How many figures there are.
pub(super) const FIGURES: usize = 13;

impl Figure {
    /// All, in the order of [`Sizes`].
    pub(super) const ALL: [Self; FIGURES] = [
        Self::Rate(0, 0),
        Self::Rate(0, 1),
        Self::Rate(1, 0),
        Self::Rate(1, 1),
        Self::Norm,
        Self::Angle(0),
        Self::Angle(1),
        Self::JointSide(0),
        Self::JointSide(1),
        Self::CrankSide(0),
        Self::CrankSide(1),
        Self::Tilt(0),
        Self::Tilt(1),
    ];

    /// The criterion that it belongs to; the entries of E are told, not judged.
    pub(super) fn criterion(self) -> Option<Criterion> {
        match self {
            Self::Rate(..) => None,
            Self::Norm => Some(Criterion::Ratio),
            Self::Angle(_) => Some(Criterion::Angle),
            Self::JointSide(_) => Some(Criterion::TransmissionAngle),
            Self::CrankSide(_) => Some(Criterion::CrankSide),
            Self::Tilt(_) => Some(Criterion::BallTilt),
        }
    }

    /// Its place among all.
    pub(super) fn index(self) -> usize {
        match self {
            Self::Rate(row, column) => 2 * row + column,
            Self::Norm => 4,
            Self::Angle(k) => 5 + k,
            Self::JointSide(k) => 7 + k,
            Self::CrankSide(k) => 9 + k,
            Self::Tilt(k) => 11 + k,
        }
    }

    /// Is it a margin, whose smallest size counts?
    pub(super) fn is_floor(self) -> bool {
        matches!(self, Self::JointSide(_) | Self::CrankSide(_))
    }

    /// How bad it is: its size, or minus that of a margin.
    pub(super) fn size(self, values: &Values<f64>) -> f64 {
        let size = values.of(self).abs();
        if self.is_floor() { -size } else { size }
    }

    /// The same enclosed.
    pub(super) fn size_within(self, values: &Values<Interval>) -> Interval {
        let size = values.signed(self).abs();
        if self.is_floor() { -size } else { size }
    }

    /// It holds where it is certainly not worse than the first, and is broken where it is certainly worse than the second;
    /// `None` where it is not judged.
    pub(super) fn limit(self, limits: &RegionLimits) -> Option<[f64; 2]> {
        let limit = limits.of(self.criterion()?)?;
        Some(match self {
            Self::JointSide(_) | Self::CrankSide(_) => {
                let sine = elementary::sin_cos_at(limit - MET_WITHIN).0;
                [-sine.hi(), -sine.lo()]
            }
            Self::Tilt(_) => {
                let sine = elementary::sin_cos_at((limit + MET_WITHIN).min(FRAC_PI_2)).0;
                [sine.lo(), sine.hi()]
            }
            _ => [limit + MET_WITHIN; 2],
        })
    }

    /// What sizes of it are compared by.
    pub(super) fn scale(self, limits: &RegionLimits) -> f64 {
        match self {
            Self::Rate(..) | Self::Norm => limits.ratio,
            Self::Angle(_) => limits.angle,
            Self::JointSide(_) | Self::CrankSide(_) | Self::Tilt(_) => 1.0,
        }
    }
}

/// Of each figure how bad it is: its size, or minus that of a margin. In the order of [`Figure::ALL`].
pub(super) type Sizes = [f64; FIGURES];

/// The figures of one build in one pose, signed. What no crank turns has no crank side and no tilt.
#[derive(Clone, Copy, Debug)]
pub(super) struct Values<T> {
    pub(super) rates: [[T; 2]; 2],
    pub(super) angles: [T; 2],
    pub(super) joint_sides: [T; 2],
    pub(super) crank_sides: [Option<T>; 2],
    pub(super) tilts: [Option<T>; 2],
    /// What both motors read, rad.
    pub(super) turned: [T; 2],
}

/// What all builds share.
#[derive(Clone, Debug)]
pub(super) struct Setting<'a> {
    pub(super) question: &'a RegionQuestion<'a>,
    /// T⁻¹.
    pub(super) inverse: [[Interval; 2]; 2],
    /// As drawn.
    drawn: RodsOnUniversal<Interval>,
    /// Its motor angles in the zero pose, from the drawn pins.
    drawn_zero: [Interval; 2],
}

/// A build with what its motors read zero at.
#[derive(Clone, Debug)]
pub(super) struct ZeroedBuild<T> {
    pub(super) built: RodsOnUniversal<T>,
    /// From its own pins.
    pub(super) zero: [T; 2],
}

/// The first of two for 0, else the second.
pub(super) fn one_of<T>([first, second]: [T; 2], k: usize) -> T {
    if k == 0 { first } else { second }
}

impl<'a> Setting<'a> {
    /// `None` where T has no certain inverse, or the drawing no build.
    pub(super) fn of(question: &'a RegionQuestion<'a>) -> Option<Self> {
        let t = question.direct.matrix.map(Interval::point);
        let det = t.m11 * t.m22 - t.m12 * t.m21;
        if !det.is_certainly_nonzero() {
            return None;
        }
        let inverse = [[t.m22 / det, -t.m12 / det], [-t.m21 / det, t.m11 / det]];
        let sizes: Vec<Interval> =
            question.drawing.sizes().iter().map(|size| Interval::point(size.value)).collect();
        let drawn = question.drawing.built(&sizes)?;
        let drawn_zero = drawn.angles(&drawn.at(in_zero())?, [0.0; 2]);
        Some(Self { question, inverse, drawn, drawn_zero })
    }

    /// The sizes as drawn.
    pub(super) fn drawn_sizes(&self) -> Vec<f64> {
        self.question.drawing.sizes().iter().map(|size| size.value).collect()
    }

    /// Which rods a crank moves.
    pub(super) fn has_crank(&self) -> [bool; 2] {
        let [one, two] = &self.question.drawing.legs;
        [one, two].map(|leg| matches!(leg, DrawnLeg::Crank { .. }))
    }

    /// The build that `sizes` make.
    pub(super) fn build<T: Angular>(&self, sizes: &[T]) -> Option<ZeroedBuild<T>> {
        let built = self.question.drawing.built(sizes)?;
        let zero = match self.question.zeroing {
            Zeroing::OnEachRobot => built.angles(&built.at(in_zero())?, self.guess([0.0; 2])),
            Zeroing::AsDrawn => {
                let ([first, second], zero) =
                    (self.ahead(&built), self.drawn_zero.map(T::constant));
                [zero[0] - first, zero[1] - second]
            }
        };
        Some(ZeroedBuild { built, zero })
    }

    /// Angles of a build's crank pins about its motors from where they are drawn.
    pub(super) fn ahead<T: Angular>(&self, built: &RodsOnUniversal<T>) -> [T; 2] {
        let ([one, two], [first, second]) = (&built.legs, &self.drawn.legs);
        let ahead = |own: &Leg<T>, drawn: &Leg<Interval>| match (own.input, drawn.input) {
            (InputEnd::Crank { circle, .. }, InputEnd::Crank { circle: drawn, .. }) => {
                let datum = Vector::constant(drawn.datum);
                let across = circle.axis.cross(datum).dot(circle.datum);
                T::angle_near(across, datum.dot(circle.datum), 0.0)
            }
            _ => T::exactly(0.0),
        };
        [ahead(one, first), ahead(two, second)]
    }

    /// Angles from a build's own pins where its motors have turned by `turns`.
    pub(super) fn guess(&self, turns: [f64; 2]) -> [f64; 2] {
        let [a, b] = self.drawn_zero.map(Interval::mid);
        [a + turns[0], b + turns[1]]
    }

    /// T⁻¹ of plain floats or enclosed.
    fn inverse<T: Angular>(&self) -> [[T; 2]; 2] {
        self.inverse.map(|row| row.map(T::constant))
    }
}

/// (sin, cos) of both joints in the zero pose.
pub(super) fn in_zero<T: Scalar>() -> [(T, T); 2] {
    [(T::exactly(0.0), T::exactly(1.0)); 2]
}

impl<T: Angular> ZeroedBuild<T> {
    /// Its figures at the joint turns `joints`, where the motors have turned by about `turns`; `None` where a rod does not
    /// reach.
    pub(super) fn values(
        &self,
        setting: &Setting<'_>,
        joints: [T; 2],
        turns: [f64; 2],
    ) -> Option<Values<T>> {
        let pose = self.built.at(joints.map(T::sin_cos))?;
        let [first, second] = self.built.angles(&pose, setting.guess(turns));
        let turned = [first - self.zero[0], second - self.zero[1]];
        let inverse = setting.inverse::<T>();
        let [[a, b], [c, d]] = inverse;
        let [[jpp, jpr], [jrp, jrr]] = pose.jacobian;
        let one = T::exactly(1.0);
        let rates = [
            [a * jpp + b * jrp - one, a * jpr + b * jrr],
            [c * jpp + d * jrp, c * jpr + d * jrr - one],
        ];
        let read = inverse.map(|[m, n]| m * turned[0] + n * turned[1]);
        let angles = [read[0] - joints[0], read[1] - joints[1]];
        let (crank_sides, tilts) = crank_sines(&self.built, &pose);
        Some(Values { rates, angles, joint_sides: joint_sides(&pose), crank_sides, tilts, turned })
    }
}

/// What the pin of each rod moves along with the other motor held.
pub(super) fn free_paths<T: Scalar>(pose: &TwoRodsPose<T>) -> [Vector<T>; 2] {
    let ([first, second], [one, two]) = (pose.ways, pose.jacobian);
    let path = |[p, r]: [Vector<T>; 2], [by_p, by_r]: [T; 2]| p * by_r - r * by_p;
    [path(first, two), path(second, one)]
}

fn joint_sides<T: Scalar>(pose: &TwoRodsPose<T>) -> [T; 2] {
    let ([first, second], [one, two]) = (free_paths(pose), &pose.rods);
    [
        one.rod.dot(first) / (one.length * first.length()),
        two.rod.dot(second) / (two.length * second.length()),
    ]
}

type Sines<T> = [Option<T>; 2];

fn crank_sines<T: Angular>(
    built: &RodsOnUniversal<T>,
    pose: &TwoRodsPose<T>,
) -> (Sines<T>, Sines<T>) {
    let ([one, two], [first, second]) = (&built.legs, &pose.rods);
    let sines = [(one, first), (two, second)].map(|(leg, rod)| match leg.input {
        InputEnd::Crank { circle, .. } => {
            Some((rod.lever / (rod.length * circle.radius), rod.rod.dot(circle.axis) / rod.length))
        }
        InputEnd::Slide { .. } | InputEnd::Actuator { .. } => None,
    });
    (sines.map(|s| s.map(|s| s.0)), sines.map(|s| s.map(|s| s.1)))
}

impl Values<f64> {
    /// The signed figure; 1 and 0 for the crank side and tilt of what has no crank.
    pub(super) fn of(&self, figure: Figure) -> f64 {
        match figure {
            Figure::Rate(row, column) => one_of(one_of(self.rates, row), column),
            Figure::Norm => norm(self.rates),
            Figure::Angle(k) => one_of(self.angles, k),
            Figure::JointSide(k) => one_of(self.joint_sides, k),
            Figure::CrankSide(k) => one_of(self.crank_sides.map(|s| s.unwrap_or(1.0)), k),
            Figure::Tilt(k) => one_of(self.tilts.map(|s| s.unwrap_or(0.0)), k),
        }
    }
}

impl Values<Interval> {
    /// Encloses the signed figure; of the norm, from below by what one direction of motion shows.
    pub(super) fn signed(&self, figure: Figure) -> Interval {
        let sides = |pair: [Option<Interval>; 2], none: f64, k: usize| {
            one_of(pair.map(|s| s.unwrap_or(Interval::point(none))), k)
        };
        match figure {
            Figure::Rate(row, column) => one_of(one_of(self.rates, row), column),
            Figure::Norm => {
                let low = norm_at_least(&self.rates);
                let square = self
                    .rates
                    .iter()
                    .flatten()
                    .fold(Interval::ZERO, |sum, rate| sum + rate.square());
                let high = square.root().map_or(f64::INFINITY, Interval::hi);
                Interval::new(low.min(high), high)
            }
            Figure::Angle(k) => one_of(self.angles, k),
            Figure::JointSide(k) => one_of(self.joint_sides, k),
            Figure::CrankSide(k) => sides(self.crank_sides, 1.0, k),
            Figure::Tilt(k) => sides(self.tilts, 0.0, k),
        }
    }
}

/// The largest singular value.
pub(super) fn norm([[a, b], [c, d]]: [[f64; 2]; 2]) -> f64 {
    let (same, mixed) = (libm::hypot(a + d, b - c), libm::hypot(a - d, b + c));
    0.5 * (same + mixed)
}

/// The size uᵀ E v for the unit vectors that are best in the middle: no norm in the range is certainly below it.
fn norm_at_least(rates: &[[Interval; 2]; 2]) -> f64 {
    let [[a, b], [c, d]] = rates.map(|row| row.map(Interval::mid));
    let (sum, difference) = (libm::atan2(c + b, a - d), libm::atan2(c - b, a + d));
    let unit = |angle: f64| {
        let (sine, cosine) = libm::sincos(angle);
        [cosine, sine].map(Interval::point)
    };
    let (u, v) = (unit(0.5 * (sum + difference)), unit(0.5 * (sum - difference)));
    let along = rates.map(|[p, q]| p * v[0] + q * v[1]);
    let shown = u[0] * along[0] + u[1] * along[1];
    let lengths = [u, v].map(|[x, y]| (x.square() + y.square()).root());
    let [Some(u), Some(v)] = lengths else { return 0.0 };
    (shown / (u * v)).lo().max(0.0)
}
