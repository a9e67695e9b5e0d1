//! What would make a parallelogram's replacement exact.
//!
//! Moving the crank's mass m₁ to A and the coupler's m₂ to C₂ on the carrier and their first moments h₁, h₂ to the child
//! leaves the joint torque k α̈ − k_ψ α̇² unsaid, k = Re(G e^{1j ψ}), G = Σ conj(R) h with R₁ = A, R₂ = C₂ seen from B
//! and h in the child frame: h₁ = m₁ ρ₁, h₂ = m₂ a. G = 0 asks for
//!
//! ```text
//! m₁ ρ₁ = −conj(C₂)/conj(A) m₂ a = −(1 − conj(ρ₂)/g) m₂ a,      for a coupler centre on the pin line −(1 − λ) m₂ a
//! ```
//!
//! that is the first moment of the coupler's pin mass at P, balanced behind A. Derived here.

use nalgebra::Complex;

use super::body::Body;
use super::masses::Masses;
use crate::linkage::FourBar;

/// First moments of the crank about A in the crank frame, kg m: x along the crank to P, y across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counterweight {
    /// What the replacement's exactness asks for.
    pub needed: [f64; 2],
    /// What the crank has.
    pub present: [f64; 2],
}

/// A plane centre as a complex number.
pub(super) fn in_plane(body: &Body) -> Complex<f64> {
    Complex { re: body.centre.x, im: body.centre.y }
}

impl Counterweight {
    /// Of the parallelogram `bars` with `masses`.
    #[must_use]
    pub fn of(bars: &FourBar, masses: &Masses) -> Self {
        let needed = masses.coupler.map_or_else(Complex::default, |rod| {
            -(Complex::from(1.0) - in_plane(&rod).conj() / bars.ground) * rod.mass * bars.crank
        });
        let present = masses.crank.map_or_else(Complex::default, |c| in_plane(&c) * c.mass);
        Self { needed: [needed.re, needed.im], present: [present.re, present.im] }
    }

    /// How much first moment is missing: needed less present.
    #[must_use]
    pub fn missing(&self) -> [f64; 2] {
        let ([nx, ny], [px, py]) = (self.needed, self.present);
        [nx - px, ny - py]
    }

    /// The same masses with the crank's mass centre moved to where it should be, its mass and its inertia about the
    /// centre kept; `None` where no crank is known.
    #[must_use]
    pub fn applied(&self, masses: &Masses) -> Option<Masses> {
        let mut crank = masses.crank?;
        let [x, y] = self.needed;
        (crank.centre.x, crank.centre.y) = (x / crank.mass, y / crank.mass);
        Some(Masses { crank: Some(crank), ..*masses })
    }
}
