//! Rocker limits: crank and coupler in line, where the rocker stands still at the end of its swing.

use std::f64::consts::PI;

use crate::numeric::Scalar as _;

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
/// The rocker pin Q is at distance a + b (crank and coupler stretched) or |a − b| (folded) from A, so that the lengths
/// of the triangle A B Q are known and with them both angles. On the upper side of the ground line Q lies left of P→B
/// unless the crank reaches beyond Q: u⊥·w is −(g/b) Q_y times the sense of w along A→Q.
#[must_use]
pub fn dead_points(bars: &FourBar) -> Vec<DeadPoint> {
    let (a, b) = (bars.crank, bars.coupler);
    let stretched = triangle(bars, [a, -b]).map(|[crank, rocker]| (crank, rocker, Closure::Open));
    let folded = if a > b {
        triangle(bars, [a, b]).map(|[crank, rocker]| (crank, rocker, Closure::Crossed))
    } else {
        triangle(bars, [b, a]).map(|[crank, rocker]| (crank - PI, rocker, Closure::Open))
    };
    [stretched, folded].into_iter().flatten().flat_map(both_sides).collect()
}

/// The dead point above the ground line and its mirror image.
fn both_sides((crank, rocker, closure): (f64, f64, Closure)) -> [DeadPoint; 2] {
    [
        DeadPoint { crank, rocker, closure },
        DeadPoint { crank: -crank, rocker: -rocker, closure: closure.other() },
    ]
}

/// Angles from A→B to A→Q and to B→Q, rad in 0…π, of the triangle with |AQ| = x − y; each half angle's tangent is a
/// root of products that keep their digits. `None` where there is no triangle, or a flat one.
fn triangle(bars: &FourBar, [x, y]: [f64; 2]) -> Option<[f64; 2]> {
    let FourBar { ground: g, rocker: c, .. } = *bars;
    let whole = (x - y) + g + c;
    let without_reach = f64::balance([c, g], [x, -y]);
    let without_ground = f64::balance([x, c], [y, g]);
    let without_rocker = f64::balance([x, g], [y, c]);
    let exists = without_reach > 0.0 && without_ground > 0.0 && without_rocker > 0.0 && x > y;
    let angle =
        |near: [f64; 2], far: f64| 2.0 * libm::atan2((near[0] * near[1]).sqrt(), far.sqrt());
    exists.then(|| {
        [
            angle([without_reach, without_ground], without_rocker * whole),
            // Turned by 180 deg against the triangle's own angle at B.
            angle([without_reach, whole], without_ground * without_rocker),
        ]
    })
}
