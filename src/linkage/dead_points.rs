//! Rocker limits: crank and coupler in line, where the rocker stands still at the end of its swing.

use nalgebra::Point2;

use super::four_bar::FourBar;
use super::pose::Closure;

/// A dead point: crank angle φ and rocker angle ψ, rad in (−π, π], and its assembly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeadPoint {
    /// Crank angle.
    pub crank: f64,
    /// Rocker angle.
    pub rocker: f64,
    /// On which side of P→B the rocker pin lies there.
    pub closure: Closure,
}

/// Every dead point of the linkage, change points left out: at most four, mirrored in pairs about the ground line.
///
/// The rocker pin Q is at distance a + b (crank and coupler stretched) or |a − b| (folded) from A.
#[must_use]
pub fn dead_points(bars: &FourBar) -> Vec<DeadPoint> {
    let (a, b) = (bars.crank, bars.coupler);
    let stretched = at_distance(bars, a + b, 1.0);
    let folded = at_distance(bars, (a - b).abs(), if a > b { 1.0 } else { -1.0 });
    stretched.into_iter().chain(folded).flatten().collect()
}

/// Dead points with |AQ| = `reach`; `along` is −1 where the crank points away from Q.
fn at_distance(bars: &FourBar, reach: f64, along: f64) -> [Option<DeadPoint>; 2] {
    let FourBar { ground: g, rocker: c, .. } = *bars;
    // sin² and cos² of ψ/2 from |AQ|² = g² + c² + 2gc cos ψ, as products that keep their digits.
    let sin2 = (g + c - reach) * (g + c + reach) / (4.0 * g * c);
    let cos2 = (reach - (g - c)) * (reach + (g - c)) / (4.0 * g * c);
    if reach <= 0.0 || sin2 <= 0.0 || cos2 <= 0.0 {
        return [None, None];
    }
    let psi = 2.0 * libm::atan2(sin2.sqrt(), cos2.sqrt());
    [dead_point(bars, psi, along), dead_point(bars, -psi, along)]
}

fn dead_point(bars: &FourBar, psi: f64, along: f64) -> Option<DeadPoint> {
    let arm = nalgebra::Vector2::new(libm::cos(psi), libm::sin(psi)) * bars.rocker;
    let q = Point2::new(bars.ground, 0.0) + arm;
    let toward = q.coords.normalize() * along;
    let coupler = q.coords - toward * bars.crank;
    let side = arm.perp(&coupler);
    (side != 0.0).then(|| DeadPoint {
        crank: libm::atan2(toward.y, toward.x),
        rocker: psi,
        closure: if side < 0.0 { Closure::Open } else { Closure::Crossed },
    })
}
