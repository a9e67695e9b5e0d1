//! One rigid part: mass, mass centre and inertia about that centre, and whether a real body can have them.

use std::fmt;

use nalgebra::{Isometry3, Matrix3, Vector3};

/// Inertia about the mass centre, kg m².
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Inertia {
    /// About the joint axis' direction only: enough for motion in the plane.
    AboutAxis(f64),
    /// The whole tensor; products of inertia as they stand in the tensor (with their minus sign).
    Tensor(Matrix3<f64>),
}

/// A rigid part in a frame that its holder names.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// kg.
    pub mass: f64,
    /// Mass centre, m.
    pub centre: Vector3<f64>,
    /// About the mass centre, axes parallel to the frame's.
    pub inertia: Inertia,
}

/// Why no real body can have these figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BodyFault {
    /// A figure is infinite or not a number.
    NotFinite,
    /// The mass is not above zero.
    Mass(f64),
    /// An inertia is below zero: the smallest principal one, kg m².
    Negative(f64),
    /// The two smaller principal inertias together fall short of the largest, by this much, kg m².
    Triangle(f64),
}

impl fmt::Display for BodyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite => f.write_str("a figure is infinite or not a number"),
            Self::Mass(mass) => write!(f, "the mass, {mass:.3e} kg, is not above zero"),
            Self::Negative(inertia) => {
                write!(f, "a principal inertia, {inertia:.3e} kg m², is below zero")
            }
            Self::Triangle(short) => write!(
                f,
                "the smaller principal inertias together are {short:.3e} kg m² short of the largest"
            ),
        }
    }
}

impl std::error::Error for BodyFault {}

/// Figures from CAD are rounded: A + B may fall short of C by this share of C.
const ROUNDING: f64 = 1e-6;

/// Inertia about its length of a bar whose inertia about the axis alone is known, as a share of that.
const BAR: f64 = 0.02;

impl Body {
    /// A point mass `mass` (kg) at `at` (m).
    #[must_use]
    pub fn point(mass: f64, at: Vector3<f64>) -> Self {
        Self { mass, centre: at, inertia: Inertia::Tensor(Matrix3::zeros()) }
    }

    /// A body that is known about the axis alone as a bar along x; others as they are.
    #[must_use]
    pub fn as_bar(&self) -> Self {
        match self.inertia {
            Inertia::AboutAxis(i) => {
                let tensor = Matrix3::from_diagonal(&Vector3::new(BAR * i, i, i));
                Self { inertia: Inertia::Tensor(tensor), ..*self }
            }
            Inertia::Tensor(_) => *self,
        }
    }

    /// Is the whole tensor known?
    #[must_use]
    pub fn is_spatial(&self) -> bool {
        matches!(self.inertia, Inertia::Tensor(_))
    }

    /// The tensor about the mass centre; where only the figure about the axis is known the others are zero, which
    /// changes nothing in the plane.
    #[must_use]
    pub fn tensor(&self) -> Matrix3<f64> {
        match self.inertia {
            Inertia::AboutAxis(about) => Matrix3::from_diagonal(&Vector3::new(0.0, 0.0, about)),
            Inertia::Tensor(tensor) => tensor,
        }
    }

    /// The same body seen from another frame: `frame` takes coordinates of the body's frame to the new one.
    ///
    /// A body known in the plane only must turn about z alone; its figure about the axis is kept.
    #[must_use]
    pub fn seen_from(&self, frame: &Isometry3<f64>) -> Self {
        let turn = frame.rotation.to_rotation_matrix();
        let inertia = match self.inertia {
            Inertia::AboutAxis(about) => Inertia::AboutAxis(about),
            Inertia::Tensor(t) => Inertia::Tensor(turn.matrix() * t * turn.matrix().transpose()),
        };
        let centre = frame.transform_point(&self.centre.into()).coords;
        Self { mass: self.mass, centre, inertia }
    }

    /// Its mirror image in the plane z = 0.
    pub(super) fn upside_down(&self) -> Self {
        let flip = Vector3::new(1.0, 1.0, -1.0);
        let inertia = match self.inertia {
            Inertia::AboutAxis(about) => Inertia::AboutAxis(about),
            Inertia::Tensor(tensor) => {
                Inertia::Tensor(tensor.component_mul(&(flip * flip.transpose())))
            }
        };
        Self { mass: self.mass, centre: self.centre.component_mul(&flip), inertia }
    }

    /// The same shape with `share` of the density.
    pub(super) fn scaled(&self, share: f64) -> Self {
        let inertia = match self.inertia {
            Inertia::AboutAxis(about) => Inertia::AboutAxis(about * share),
            Inertia::Tensor(tensor) => Inertia::Tensor(tensor * share),
        };
        Self { mass: self.mass * share, inertia, ..*self }
    }

    /// Can a real body have these figures?
    ///
    /// # Errors
    /// The first rule broken: finite figures, mass above zero, principal inertias A ≤ B ≤ C not negative, A + B ≥ C.
    pub fn check(&self) -> Result<(), BodyFault> {
        let tensor = self.tensor();
        let finite =
            self.mass.is_finite() && self.centre.iter().chain(&tensor).all(|x| x.is_finite());
        if !finite {
            return Err(BodyFault::NotFinite);
        }
        if self.mass <= 0.0 {
            return Err(BodyFault::Mass(self.mass));
        }
        match self.inertia {
            Inertia::AboutAxis(about) if about < 0.0 => Err(BodyFault::Negative(about)),
            Inertia::AboutAxis(_) => Ok(()),
            Inertia::Tensor(_) => check_principal(principal(&tensor)),
        }
    }
}

/// Principal inertias of a tensor, ascending.
pub(super) fn principal(tensor: &Matrix3<f64>) -> [f64; 3] {
    let mut values: [f64; 3] = tensor.symmetric_eigenvalues().into();
    values.sort_by(f64::total_cmp);
    values
}

fn check_principal([a, b, c]: [f64; 3]) -> Result<(), BodyFault> {
    if a < -ROUNDING * c.abs() {
        return Err(BodyFault::Negative(a));
    }
    let short = c - (a + b);
    if short > ROUNDING * c { Err(BodyFault::Triangle(short)) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(diagonal: [f64; 3]) -> Body {
        let tensor = Matrix3::from_diagonal(&Vector3::from(diagonal));
        Body { mass: 1.0, centre: Vector3::zeros(), inertia: Inertia::Tensor(tensor) }
    }

    #[test]
    fn a_flat_plate_is_a_real_body_just_so() {
        assert_eq!(with([1.0, 2.0, 3.0]).check(), Ok(()));
    }

    #[test]
    fn two_small_principal_inertias_must_reach_the_third() {
        assert_eq!(with([1.0, 1.0, 3.0]).check(), Err(BodyFault::Triangle(1.0)));
    }

    #[test]
    fn a_negative_principal_inertia_is_found_behind_a_positive_diagonal() {
        let mut body = with([1.0, 1.0, 1.5]);
        if let Inertia::Tensor(t) = &mut body.inertia {
            t.m12 = 1.2;
            t.m21 = 1.2;
        }
        assert!(matches!(body.check(), Err(BodyFault::Negative(a)) if (a + 0.2).abs() < 1e-12));
    }

    #[test]
    fn turning_the_frame_keeps_the_principal_inertias() {
        let frame = Isometry3::new(Vector3::new(1.0, 2.0, 3.0), Vector3::new(0.3, -0.4, 1.1));
        let turned = with([1.0, 2.0, 2.5]).seen_from(&frame);
        for (got, want) in principal(&turned.tensor()).iter().zip([1.0, 2.0, 2.5]) {
            assert!((got - want).abs() < 1e-12);
        }
        assert!((turned.centre - Vector3::new(1.0, 2.0, 3.0)).norm() < 1e-15);
    }
}
