//! Mass, first moment and inertia about the carrier's origin B: what adds up.
//!
//! Moments of several parts add; a part of a body may be taken away, so that single moments need not belong to a real
//! body. With ρ the density, r from B:  m = ∫ρ,  h = ∫ρ r,  I = ∫ρ (r² 1 − r rᵀ).

use std::ops::{Add, AddAssign, Neg, Sub};

use nalgebra::{Complex, Isometry3, Matrix3, Matrix4, Matrix6, Vector3};

use super::body::{Body, Inertia};

/// Moments about B.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moments {
    /// kg.
    pub mass: f64,
    /// Mass × centre, kg m.
    pub first: Vector3<f64>,
    /// About B, kg m².
    pub inertia: Matrix3<f64>,
}

/// r² 1 − r rᵀ, the inertia of a unit mass at r.
fn of_unit_mass(r: &Vector3<f64>) -> Matrix3<f64> {
    Matrix3::identity() * r.norm_squared() - r * r.transpose()
}

/// Turns a plane direction into the rotation about z that takes x to it.
pub(super) fn rotation(direction: Complex<f64>) -> Matrix3<f64> {
    let Complex { re: c, im: s } = direction;
    Matrix3::new(c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0)
}

impl From<&Body> for Moments {
    fn from(body: &Body) -> Self {
        Self {
            mass: body.mass,
            first: body.mass * body.centre,
            inertia: body.tensor() + body.mass * of_unit_mass(&body.centre),
        }
    }
}

impl Moments {
    /// Of a point mass, which may be negative where mass is taken away.
    #[must_use]
    pub fn point(mass: f64, at: Vector3<f64>) -> Self {
        Self { mass, first: mass * at, inertia: mass * of_unit_mass(&at) }
    }

    /// Of an inertia about z alone, kg m²: a rotor's own.
    #[must_use]
    pub fn about_z(inertia: f64) -> Self {
        let inertia = Matrix3::from_diagonal(&Vector3::new(0.0, 0.0, inertia));
        Self { inertia, ..Self::default() }
    }

    /// Turned about z by the angle of the unit number `direction`.
    #[must_use]
    pub fn turned(&self, direction: Complex<f64>) -> Self {
        let turn = rotation(direction);
        Self {
            mass: self.mass,
            first: turn * self.first,
            inertia: turn * self.inertia * turn.transpose(),
        }
    }

    /// The same moments in the frame that sees their own one at `frame`; mass may be 0 or negative.
    #[must_use]
    pub fn seen_from(&self, frame: &Isometry3<f64>) -> Self {
        let turn = frame.rotation.to_rotation_matrix();
        let turned = Self {
            mass: self.mass,
            first: turn * self.first,
            inertia: turn.matrix() * self.inertia * turn.matrix().transpose(),
        };
        turned.about(-frame.translation.vector)
    }

    /// The same about another point, which stands at `origin` as seen from the present one.
    #[must_use]
    pub fn about(&self, origin: Vector3<f64>) -> Self {
        let (h, d) = (self.first, origin);
        let crossed =
            Matrix3::identity() * (2.0 * d.dot(&h)) - d * h.transpose() - h * d.transpose();
        Self {
            mass: self.mass,
            first: h - self.mass * d,
            inertia: self.inertia - crossed + self.mass * of_unit_mass(&d),
        }
    }

    /// The body with these moments; for mass 0 no body has them unless the first moment is 0 too.
    #[must_use]
    pub fn body(&self) -> Body {
        let centre = if self.mass == 0.0 { Vector3::zeros() } else { self.first / self.mass };
        let tensor = self.inertia - self.mass * of_unit_mass(&centre);
        Body { mass: self.mass, centre, inertia: Inertia::Tensor(tensor) }
    }

    /// The body with these moments, known in the plane only.
    #[must_use]
    pub fn planar_body(&self) -> Body {
        let body = self.body();
        Body { inertia: Inertia::AboutAxis(body.tensor().m33), ..body }
    }

    /// The mass matrix of a body with these moments for the speed of B and the angular speed, both in the carrier
    /// frame.
    #[must_use]
    pub fn mass_matrix(&self) -> Matrix6<f64> {
        let mut matrix = Matrix6::zeros();
        let across = self.first.cross_matrix();
        matrix.fixed_view_mut::<3, 3>(0, 0).copy_from(&(Matrix3::identity() * self.mass));
        matrix.fixed_view_mut::<3, 3>(0, 3).copy_from(&-across);
        matrix.fixed_view_mut::<3, 3>(3, 0).copy_from(&across);
        matrix.fixed_view_mut::<3, 3>(3, 3).copy_from(&self.inertia);
        matrix
    }

    /// [∫ρ r rᵀ, h; hᵀ, m]: positive definite for a real body, and for no other moments.
    ///
    /// # Source
    /// P. M. Wensing, S. Kim, J.-J. E. Slotine, Linear matrix inequalities for physically consistent inertial parameter
    /// identification, IEEE Robotics and Automation Letters 3 (2018) 60–67 (from memory); Σ = ½ tr(I) 1 − I.
    #[must_use]
    pub fn pseudo_inertia(&self) -> Matrix4<f64> {
        let second = Matrix3::identity() * (0.5 * self.inertia.trace()) - self.inertia;
        let mut matrix = Matrix4::zeros();
        matrix.fixed_view_mut::<3, 3>(0, 0).copy_from(&second);
        matrix.fixed_view_mut::<3, 1>(0, 3).copy_from(&self.first);
        matrix.fixed_view_mut::<1, 3>(3, 0).copy_from(&self.first.transpose());
        matrix.m44 = self.mass;
        matrix
    }
}

impl Add for Moments {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            mass: self.mass + other.mass,
            first: self.first + other.first,
            inertia: self.inertia + other.inertia,
        }
    }
}

impl AddAssign for Moments {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Neg for Moments {
    type Output = Self;
    fn neg(self) -> Self {
        Self { mass: -self.mass, first: -self.first, inertia: -self.inertia }
    }
}

impl Sub for Moments {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rod() -> Body {
        let tensor = Matrix3::new(2e-5, 1e-6, 0.0, 1e-6, 3e-5, 2e-6, 0.0, 2e-6, 4e-5);
        Body {
            mass: 0.12,
            centre: Vector3::new(0.1, -0.02, 0.01),
            inertia: Inertia::Tensor(tensor),
        }
    }

    #[test]
    fn a_body_comes_back_from_its_moments() {
        let back = Moments::from(&rod()).body();
        assert!((back.centre - rod().centre).norm() < 1e-16);
        assert!((back.tensor() - rod().tensor()).norm() < 1e-18);
    }

    #[test]
    fn moments_about_another_point_are_those_of_the_body_seen_from_there() {
        let d = Vector3::new(-0.3, 0.1, 0.02);
        let seen = Body { centre: rod().centre - d, ..rod() };
        let (got, want) = (Moments::from(&rod()).about(d), Moments::from(&seen));
        assert!(
            (got.inertia - want.inertia).norm() < 1e-17 && (got.first - want.first).norm() < 1e-17
        );
    }

    #[test]
    fn moments_are_carried_as_the_body_that_has_them() {
        let frame = Isometry3::new(Vector3::new(0.3, -0.2, 0.1), Vector3::new(0.4, 1.1, -0.3));
        let want = Moments::from(&rod().seen_from(&frame));
        let got = Moments::from(&rod()).seen_from(&frame);
        assert!((got.first - want.first).norm() < 1e-15);
        assert!((got.inertia - want.inertia).norm() < 1e-15);
    }

    #[test]
    fn the_kinetic_energy_of_a_free_body_is_its_quadratic_form() {
        let (body, v, w) = (rod(), Vector3::new(0.3, -0.2, 0.5), Vector3::new(-1.0, 2.0, 0.7));
        let at_centre = v + w.cross(&body.centre);
        let want = 0.5 * (body.mass * at_centre.norm_squared() + w.dot(&(body.tensor() * w)));
        let speed = nalgebra::Vector6::new(v.x, v.y, v.z, w.x, w.y, w.z);
        let got = 0.5 * (speed.transpose() * Moments::from(&body).mass_matrix() * speed).x;
        assert!((got - want).abs() < 1e-15);
    }

    #[test]
    fn a_real_body_has_a_positive_pseudo_inertia_and_a_plate_beyond_flat_has_not() {
        assert!(Moments::from(&rod()).pseudo_inertia().cholesky().is_some());
        let impossible = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, 2.5));
        let body = Body { inertia: Inertia::Tensor(impossible), ..rod() };
        assert!(Moments::from(&body).pseudo_inertia().cholesky().is_none());
    }
}
