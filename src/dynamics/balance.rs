//! What moves freely between carrier and child, or carrier and crank, so that both stay real bodies.
//!
//! The joint axis is a line of both: a mass on it, at any height, belongs to either without any change of motion. Such
//! masses reach every change of m, h_z and ∫ρ z² (which adds diag(t, t, 0) to the inertia), and no other. With the
//! pseudo-inertia of a body split at (x, y | z, 1),
//!
//! ```text
//! P = [X, Y; Yᵀ, Z],     P > 0  ⇔  X > 0 and Z > S = Yᵀ X⁻¹ Y
//! ```
//!
//! a move Δ makes Z_child + Δ and Z_carrier − Δ: both can be real bodies if and only if X_child, X_carrier and the slack
//! Z_child + Z_carrier − S_child − S_carrier are positive definite, and then Δ* = S_child − Z_child + slack/2 does it.
//! The move made is the smallest share of Δ* that will do, and a tenth of the way on. In the plane the same holds with
//! the masses alone: I for X, h for Y, m for Z. Derived here.

use nalgebra::{Matrix2, Vector3};

use super::body::Body;
use super::fault::DynamicsFault;
use super::moments::Moments;

/// Two bodies on one axis, known in space or in the plane; moments about a point of that axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pair {
    /// The carrier's moments.
    pub(super) carrier: Moments,
    /// The moments of what turns on it, in its own frame.
    pub(super) child: Moments,
    /// What that is called.
    pub(super) moving: &'static str,
    /// Are the whole tensors known?
    pub(super) is_spatial: bool,
}

/// A tenth of what is left of the way beyond the first share that will do.
const BEYOND: f64 = 0.1;

impl Pair {
    /// The pair with mass moved along the joint axis so that both are real bodies; unchanged where they are.
    ///
    /// # Errors
    /// [`DynamicsFault::NoRealBody`] where no such move does it.
    pub(super) fn balanced(self) -> Result<Self, DynamicsFault> {
        if self.fault().is_none() {
            return Ok(self);
        }
        let whole = self.whole_move().filter(|&m| self.moved(m, 1.0).fault().is_none());
        match (whole, self.hopeless().or_else(|| self.fault())) {
            (Some(whole), _) => Ok(self.moved(whole, self.share(whole))),
            (None, Some(fault)) => Err(fault),
            (None, None) => Ok(self),
        }
    }

    /// The body that no mass on the axis can help: X is not positive definite.
    fn hopeless(&self) -> Option<DynamicsFault> {
        let helpless = |m: &Moments| self.is_spatial && Split::of(m).is_none();
        let named = |body: &'static str, m: &Moments| {
            let fault = helpless(m).then(|| self.body(m).check().err())??;
            Some(DynamicsFault::NoRealBody { body, fault, lacks: Some(lack(m)) })
        };
        named(self.moving, &self.child).or_else(|| named("carrier", &self.carrier))
    }

    /// The first body that is none.
    pub(super) fn fault(&self) -> Option<DynamicsFault> {
        let check = |body: &'static str, moments: &Moments| {
            let fault = self.body(moments).check().err()?;
            let about = moments.inertia.m33;
            let lacks = (!self.is_spatial && about <= 0.0).then_some(-about);
            Some(DynamicsFault::NoRealBody { body, fault, lacks })
        };
        check(self.moving, &self.child).or_else(|| check("carrier", &self.carrier))
    }

    fn body(&self, moments: &Moments) -> Body {
        if self.is_spatial { moments.body() } else { moments.planar_body() }
    }

    /// With `share` of the move from carrier to child.
    fn moved(&self, whole: Moments, share: f64) -> Self {
        let part = Moments {
            mass: whole.mass * share,
            first: whole.first * share,
            inertia: whole.inertia * share,
        };
        Self { carrier: self.carrier - part, child: self.child + part, ..*self }
    }

    /// The smallest share that will do, found by halving, and a little more.
    fn share(&self, whole: Moments) -> f64 {
        let (mut fails, mut does) = (0.0, 1.0);
        for _ in 0..30 {
            let middle = 0.5 * (fails + does);
            if self.moved(whole, middle).fault().is_none() {
                does = middle;
            } else {
                fails = middle;
            }
        }
        does + BEYOND * (1.0 - does)
    }

    /// Δ* as moments on the axis.
    fn whole_move(&self) -> Option<Moments> {
        if !self.is_spatial {
            let needs = |m: &Moments| m.first.xy().norm_squared() / m.inertia.m33;
            let (child, carrier) = (needs(&self.child), needs(&self.carrier));
            let slack = self.child.mass + self.carrier.mass - child - carrier;
            let mass = child - self.child.mass + 0.5 * slack;
            return (slack > 0.0).then(|| Moments { mass, ..Moments::default() });
        }
        let (child, carrier) = (Split::of(&self.child)?, Split::of(&self.carrier)?);
        let slack = child.beyond() + carrier.beyond();
        slack.cholesky()?;
        Some(on_axis(&(slack * 0.5 - child.beyond())))
    }
}

/// What a body lacks about the axis for X to be positive definite, kg m²: d more about z adds d/2 to both eigenvalues.
fn lack(moments: &Moments) -> f64 {
    let p = moments.pseudo_inertia();
    let (mean, apart) = (0.5 * (p.m11 + p.m22), 0.5 * (p.m11 - p.m22));
    2.0 * (libm::hypot(apart, p.m12) - mean)
}

/// The moments of [∫ρ z², h_z; h_z, m] on the axis.
fn on_axis(z: &Matrix2<f64>) -> Moments {
    let inertia = nalgebra::Matrix3::from_diagonal(&Vector3::new(z.m11, z.m11, 0.0));
    Moments { mass: z.m22, first: Vector3::new(0.0, 0.0, z.m12), inertia }
}

/// The parts of one pseudo-inertia.
struct Split {
    needs: Matrix2<f64>,
    has: Matrix2<f64>,
}

impl Split {
    /// `None` where X is not positive definite.
    fn of(moments: &Moments) -> Option<Self> {
        let p = moments.pseudo_inertia();
        let x = p.fixed_view::<2, 2>(0, 0).into_owned().cholesky()?;
        let y = p.fixed_view::<2, 2>(0, 2).into_owned();
        let has = p.fixed_view::<2, 2>(2, 2).into_owned();
        Some(Self { needs: y.transpose() * x.solve(&y), has })
    }

    /// Z − S.
    fn beyond(&self) -> Matrix2<f64> {
        self.has - self.needs
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Matrix3;

    use super::super::body::Inertia;
    use super::*;

    fn body(mass: f64, centre: [f64; 3], diagonal: [f64; 3]) -> Moments {
        let inertia = Inertia::Tensor(Matrix3::from_diagonal(&Vector3::from(diagonal)));
        Moments::from(&Body { mass, centre: centre.into(), inertia })
    }

    fn pair(child: Moments) -> Pair {
        let carrier = body(3.0, [-0.15, 0.01, 0.02], [0.01, 0.03, 0.035]);
        Pair { carrier, child, moving: "child", is_spatial: true }
    }

    #[test]
    fn real_bodies_are_left_alone() {
        let child = body(0.9, [0.03, -0.05, 0.0], [2e-3, 2e-3, 3e-3]);
        assert_eq!(pair(child).balanced().unwrap().child, child);
    }

    #[test]
    fn a_first_moment_without_mass_finds_mass_on_the_axis() {
        // Crank and rod at a light finger: much first moment, little mass.
        let light = body(0.01, [0.0, 0.0, 0.0], [1e-6, 1e-6, 1e-6]);
        let arm = body(0.08, [0.03, 0.0, 0.04], [1e-6, 1e-5, 1e-5]);
        let child = light + arm - Moments::point(0.08, Vector3::new(0.0, 0.0, 0.04));
        let before = pair(child);
        assert!(before.fault().is_some());
        let after = before.balanced().unwrap();
        assert!(after.fault().is_none());
        let kept = |p: &Pair| p.carrier + p.child;
        assert!((kept(&after).inertia - kept(&before).inertia).norm() < 1e-15);
        assert!((after.child.first.xy() - child.first.xy()).norm() < 1e-16);
        assert!((after.child.inertia.m33 - child.inertia.m33).abs() < 1e-16);
        assert!((after.child.inertia.m13 - child.inertia.m13).abs() < 1e-16);
    }

    #[test]
    fn a_tensor_beyond_flat_takes_its_share_from_the_carrier() {
        let mut child = body(0.9, [0.0, 0.0, 0.0], [1e-3, 1e-3, 1.5e-3]);
        child += Moments::about_z(2e-3);
        assert!(pair(child).fault().is_some());
        assert!(pair(child).balanced().unwrap().fault().is_none());
    }

    #[test]
    fn where_no_mass_on_the_axis_helps_the_child_is_named() {
        let child = body(0.9, [0.0, 0.0, 0.0], [1e-3, 1e-3, 1.5e-3]) + Moments::about_z(-2e-3);
        let fault = pair(child).balanced().unwrap_err();
        let DynamicsFault::NoRealBody { body: "child", lacks: Some(lacks), .. } = fault else {
            panic!("{fault:?}")
        };
        // With so much more, and a little, it is one.
        let more = |share: f64| pair(child + Moments::about_z(share * lacks)).balanced().is_ok();
        assert!(more(1.05) && !more(0.99), "{lacks}");
        assert!(fault.remedy().starts_with("the child lacks"), "{}", fault.remedy());
    }

    #[test]
    fn where_the_carrier_is_too_slender_the_carrier_is_named() {
        let mut both = pair(body(0.9, [0.0, 0.0, 0.0], [1e-3, 1e-3, 1.5e-3]));
        both.carrier += Moments::about_z(-0.02);
        both.child += Moments::about_z(2e-3);
        let fault = both.balanced().unwrap_err();
        assert!(matches!(fault, DynamicsFault::NoRealBody { body: "carrier", .. }));
    }

    #[test]
    fn in_the_plane_mass_alone_is_moved() {
        let child = Moments {
            mass: 0.01,
            first: Vector3::new(1e-3, 0.0, 0.0),
            inertia: Moments::about_z(5e-5).inertia,
        };
        let planar = Pair { is_spatial: false, ..pair(child) };
        let after = planar.balanced().unwrap();
        assert!(after.child.mass >= 0.02 && after.fault().is_none());
    }
}
