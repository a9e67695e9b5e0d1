//! What two motors give at one pose: torques Jᵀ(±τ₁, ±τ₂) or speeds J⁻¹(±ω₁, ±ω₂), as two vectors made of J.

use crate::numeric::Scalar;

/// J, or what is made of it: two rows.
pub(super) type Rows<T> = [[T; 2]; 2];

/// What is made of the J of each pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Made {
    pub(super) power: Power,
    pub(super) vectors: Vectors,
}

impl Made {
    /// Two vectors; `None` where one may have no value.
    pub(super) fn of<T: Scalar>(&self, rates: &Rows<T>) -> Option<Rows<T>> {
        match self.vectors {
            Vectors::Normals => self.power.normals(rates),
            Vectors::Corners => self.power.corners(rates),
        }
    }
}

/// Torques or speeds of two motors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Power {
    /// Up to so many N m each.
    Torque([f64; 2]),
    /// Up to so many rad/s each.
    Speed([f64; 2]),
}

/// Which two vectors are made of J.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Vectors {
    /// [`Power::normals`].
    Normals,
    /// [`Power::corners`].
    Corners,
}

impl Power {
    /// What each motor gives.
    pub(super) fn of_motors(&self) -> [f64; 2] {
        match *self {
            Self::Torque(motors) | Self::Speed(motors) => motors,
        }
    }

    /// n₁ and n₂: x is there where |n·x| ≤ 1 for both. Columns of J⁻¹ over the motors' torques, or rows of J over their speeds;
    /// `None` where one may have no value.
    fn normals<T: Scalar>(&self, rates: &Rows<T>) -> Option<Rows<T>> {
        let [one, two] = self.of_motors().map(T::exactly);
        let [[a, b], [c, d]] = match self {
            Self::Torque(_) => transposed(inverse(rates)?),
            Self::Speed(_) => *rates,
        };
        Some([[a / one, b / one], [c / two, d / two]])
    }

    /// Two neighbouring corners of what is there, those of motors (+,+) and (+,−); `None` where one may have no value.
    fn corners<T: Scalar>(&self, rates: &Rows<T>) -> Option<Rows<T>> {
        let [one, two] = self.of_motors().map(T::exactly);
        let [[a, b], [c, d]] = match self {
            Self::Torque(_) => *rates,
            Self::Speed(_) => transposed(inverse(rates)?),
        };
        let ([p1, r1], [p2, r2]) = ([a * one, b * one], [c * two, d * two]);
        Some([[p1 + p2, r1 + r2], [p1 - p2, r1 - r2]])
    }
}

fn transposed<T>([[a, b], [c, d]]: Rows<T>) -> Rows<T> {
    [[a, c], [b, d]]
}

/// The inverse of a 2×2 matrix; `None` where its determinant may be zero.
fn inverse<T: Scalar>([[a, b], [c, d]]: &Rows<T>) -> Option<Rows<T>> {
    let determinant = *a * *d - *b * *c;
    let is_sure = determinant.is_certainly_nonzero();
    is_sure.then(|| [[*d / determinant, -*b / determinant], [-*c / determinant, *a / determinant]])
}
