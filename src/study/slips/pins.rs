//! An axis that does not fit the pins, and two pins in each other's place.

use crate::design::{Design, Parameter, SpatialPivots};
use crate::diagnostic::Code;
use crate::linkage::FourBar;

use super::super::mechanism::bars;
use super::Suspect;
use super::sizes::PINS;

/// An axis that lies this near in the plane of the pins, cosine to the plane's normal, sees them all but in line.
const IN_PLANE: f64 = 0.2;

/// Off the normal of pins that have one coordinate in common, sine: a degree.
const OFF: f64 = 0.0175;

/// A parallelogram to this share of the longest bar.
const PARALLELOGRAM: f64 = 1e-3;

/// What is this near to a parallelogram already is taken as it stands.
const NEAR: f64 = 0.02;

/// An axis far from the normal of the plane in which the pins lie.
pub(super) fn axis(design: &Design) -> Option<Suspect> {
    let pivots = design.geometry.pivots.as_ref()?;
    let normal = pivots.normal()?;
    let along = dot(&pivots.axis, &normal);
    let sees_a_line = along.abs() < IN_PLANE;
    let one_coordinate = normal.iter().any(|x| x.abs() > 1.0 - 1e-9);
    let off = (1.0 - along * along).max(0.0).sqrt() > OFF;
    (sees_a_line || (one_coordinate && off)).then(|| Suspect {
        code: Code::AxisDoesNotFit,
        odd: format!(
            "`[pivots] axis` is {} off the direction across which the four pins lie in one plane",
            crate::units::angle(libm::acos(along.abs().min(1.0)), 0)
        ),
        cure: format!(
            "that is axis = {}, or the same with all signs turned",
            SpatialPivots::written(&normal)
        ),
        edits: Vec::new(),
        plain: true,
        evens_out: false,
    })
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Two pins whose exchange makes a parallelogram of what is none.
pub(super) fn swapped(design: &Design) -> Option<Suspect> {
    design.places.of(Parameter::MotorPin)?;
    let at = in_plane(design);
    if is_parallelogram(&at, NEAR) {
        return None;
    }
    let mut pairs = Vec::new();
    for first in 0..at.len() {
        for second in first + 1..at.len() {
            let mut other = at;
            other.swap(first, second);
            if is_parallelogram(&other, PARALLELOGRAM) {
                pairs.push((first, second));
            }
        }
    }
    let edits = pairs.first().and_then(|pair| exchange(design, *pair))?;
    let name = |k: usize| PINS.get(k).map_or("", |pin| pin.1);
    let said: Vec<String> =
        pairs.iter().map(|(a, b)| format!("{} and {}", name(*a), name(*b))).collect();
    Some(Suspect {
        code: Code::PinsSwapped,
        odd: "in another order the same four pins are a parallelogram to 0.1 %".to_owned(),
        cure: format!("[pivots] may have {} in each other's place", said.join(", or ")),
        edits,
        plain: true,
        evens_out: false,
    })
}

/// Motor, joint, crank pin and rocker pin, seen along the axis, x along the ground, m.
fn in_plane(design: &Design) -> [[f64; 2]; 4] {
    let FourBar { ground, crank, rocker, .. } = bars(design);
    let g = &design.geometry;
    let (phi, psi) = (g.zero_crank.nominal, g.zero_rocker);
    [
        [0.0, 0.0],
        [ground, 0.0],
        [crank * libm::cos(phi), crank * libm::sin(phi)],
        [ground + rocker * libm::cos(psi), rocker * libm::sin(psi)],
    ]
}

/// Whether the crank's arm is the rocker's, to `share` of the longer of arm and ground; arms along the ground are none.
fn is_parallelogram(at: &[[f64; 2]; 4], share: f64) -> bool {
    let [a, b, p, q] = at;
    let arm = [p[0] - a[0], p[1] - a[1]];
    let lever = [q[0] - b[0], q[1] - b[1]];
    let ground = [b[0] - a[0], b[1] - a[1]];
    let size = libm::hypot(ground[0], ground[1]).max(libm::hypot(arm[0], arm[1]));
    let apart = libm::hypot(arm[0] - lever[0], arm[1] - lever[1]);
    let area = (ground[0] * arm[1] - ground[1] * arm[0]).abs();
    apart <= share * size && area > 1e-3 * size * size
}

fn exchange(design: &Design, (first, second): (usize, usize)) -> Option<Vec<super::Edit>> {
    let place = |k: usize| PINS.get(k).and_then(|pin| design.places.of(pin.0));
    let (one, two) = (place(first)?, place(second)?);
    let text = |place: &std::ops::Range<usize>| design.source.text.get(place.clone());
    let (first, second) = (text(&one)?.to_owned(), text(&two)?.to_owned());
    Some(vec![(one, second), (two, first)])
}
