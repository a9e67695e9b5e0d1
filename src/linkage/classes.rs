//! Grashof class and special kinds.

use super::four_bar::FourBar;
use super::pose::Closure;

/// How close to a special case, as a share of the longest length, counts as being one.
const SPECIAL: f64 = 1e-9;

words! {
    /// Which arms turn fully; the crank is the input and the rocker the output.
    ///
    /// "0" and "π" say where the swing of an arm passes the ground line: stretched towards +x (0) or folded back (π), as
    /// in A. P. Murray and P. M. Larochelle, DETC98/MECH-5887.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Class {
        /// The crank turns fully, the rocker swings.
        CrankRocker = "crank-rocker",
        /// Both turn fully (drag link).
        DoubleCrank = "double-crank",
        /// The rocker turns fully, the crank swings.
        RockerCrank = "rocker-crank",
        /// The coupler turns fully against both.
        GrashofDoubleRocker = "Grashof double-rocker",
        /// Non-Grashof, crank longest.
        DoubleRocker00 = "00 double-rocker",
        /// Non-Grashof, coupler longest.
        DoubleRockerPi0 = "pi-0 double-rocker",
        /// Non-Grashof, ground longest.
        DoubleRocker0Pi = "0-pi double-rocker",
        /// Non-Grashof, rocker longest.
        DoubleRockerPiPi = "pi-pi double-rocker",
        /// Shortest + longest = the other two: all pins can come in line.
        ChangePoint = "change point",
    }
}

/// The Grashof class from the signs of T₁, T₂, T₃ ([`FourBar::signs`]); within 1e-9 of the longest length of a change
/// point counts as one.
///
/// # Source
/// Sign table as in A. P. Murray and P. M. Larochelle, DETC98/MECH-5887, and J. M. McCarthy and G. S. Soh, Geometric
/// Design of Linkages, 2nd ed. (from memory).
#[must_use]
pub fn classify(bars: &FourBar) -> Class {
    let [t1, t2, t3] = bars.signs();
    let near_zero = SPECIAL * bars.longest();
    if t1.abs() <= near_zero || t2.abs() <= near_zero || t3.abs() <= near_zero {
        return Class::ChangePoint;
    }
    match (t1 > 0.0, t2 > 0.0, t3 > 0.0) {
        (true, true, true) => Class::CrankRocker,
        (false, false, true) => Class::DoubleCrank,
        (true, false, false) => Class::RockerCrank,
        (false, true, false) => Class::GrashofDoubleRocker,
        (false, false, false) => Class::DoubleRocker00,
        (true, false, true) => Class::DoubleRockerPi0,
        (true, true, false) => Class::DoubleRocker0Pi,
        (false, true, true) => Class::DoubleRockerPiPi,
    }
}

words! {
    /// What the linkage is on the circuit that it runs on.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Kind {
        /// Opposite sides equal, crank and rocker parallel: ratio 1 in every pose.
        Parallelogram = "parallelogram",
        /// The same lengths on the other circuit: the arms turn against or after each other at a changing ratio.
        Antiparallelogram = "antiparallelogram",
        /// Two pairs of equal neighbours.
        Kite = "kite",
        /// None of these.
        General = "general",
    }
}

/// Crank and rocker on the same side of the ground line, as in a parallelogram: open for a crank above the ground
/// line, crossed below it.
fn arms_run_parallel(crank_angle: f64, closure: Closure) -> bool {
    closure.sign() * libm::sin(crank_angle) < 0.0
}

/// How far off the two special kinds are, as shares of the longest length.
fn distances(bars: &FourBar) -> [f64; 2] {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *bars;
    let opposite = (a - c).abs().max((b - g).abs());
    let neighbours = (a - g).abs().max((b - c).abs()).min((a - b).abs().max((c - g).abs()));
    [opposite / bars.longest(), neighbours / bars.longest()]
}

fn special(bars: &FourBar, crank_angle: f64, closure: Closure, within: f64) -> Kind {
    let [opposite, neighbours] = distances(bars);
    let parallel = arms_run_parallel(crank_angle, closure);
    if opposite <= within && (parallel || neighbours > within) {
        return if parallel { Kind::Parallelogram } else { Kind::Antiparallelogram };
    }
    if neighbours <= within { Kind::Kite } else { Kind::General }
}

/// The kind on the circuit that holds crank angle `crank_angle` (rad, not on the ground line) with `closure`; special
/// kinds within 1e-9 of the longest length.
#[must_use]
pub fn kind_of(bars: &FourBar, crank_angle: f64, closure: Closure) -> Kind {
    special(bars, crank_angle, closure, SPECIAL)
}

/// The special kind that the linkage misses by at most 1 %, and by what share of the longest length.
#[must_use]
pub fn nearest_special(bars: &FourBar, crank_angle: f64, closure: Closure) -> Option<(Kind, f64)> {
    let kind = special(bars, crank_angle, closure, 0.01);
    let [opposite, neighbours] = distances(bars);
    match kind {
        Kind::General => None,
        Kind::Kite => Some((kind, neighbours)),
        Kind::Parallelogram | Kind::Antiparallelogram => Some((kind, opposite)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bars(ground: f64, crank: f64, coupler: f64, rocker: f64) -> FourBar {
        FourBar { ground, crank, coupler, rocker }
    }

    #[test]
    fn a_healthy_parallelogram_is_open_above_and_crossed_below_the_ground_line() {
        let p = bars(300.0, 45.0, 300.0, 45.0);
        assert_eq!(kind_of(&p, 1.0, Closure::Open), Kind::Parallelogram);
        assert_eq!(kind_of(&p, -1.0, Closure::Crossed), Kind::Parallelogram);
        assert_eq!(kind_of(&p, -1.0, Closure::Open), Kind::Antiparallelogram);
    }

    #[test]
    fn the_second_assembly_of_a_rhombus_is_a_folded_kite() {
        let p = bars(1.0, 1.0, 1.0, 1.0);
        assert_eq!(kind_of(&p, 1.0, Closure::Open), Kind::Parallelogram);
        assert_eq!(kind_of(&p, 1.0, Closure::Crossed), Kind::Kite);
    }

    #[test]
    fn half_a_percent_off_a_parallelogram_is_general_and_says_so() {
        let p = bars(100.0, 40.0, 100.0, 40.5);
        assert_eq!(kind_of(&p, 1.0, Closure::Open), Kind::General);
        let (kind, off) = nearest_special(&p, 1.0, Closure::Open).unwrap();
        assert_eq!(kind, Kind::Parallelogram);
        assert!((off - 0.005).abs() < 1e-12);
    }
}
