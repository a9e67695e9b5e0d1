//! Turn to turn in lines of code, about the linkage's own axis and counted from the zero pose: what all joints that are
//! built from one drawing share.

use super::approximation::Approximation;
use super::expression::{Expression, Function, Line, angle_of, call, constant, line, name};
use crate::linkage::{FourBar, Transfer};

/// The variable that holds the turn which is given.
pub(super) const GIVEN: &str = "x";
/// The one that holds the turn which is asked for.
pub(super) const TURN: &str = "turn";
/// Its rate per rate of the given one.
pub(super) const RATE: &str = "rate";

/// Horner's rule for the value and the slope in one run.
pub(super) fn polynomial(fit: &Approximation) -> Vec<Line> {
    let x = || name(GIVEN);
    let mut powers = fit.polynomial.coefficients.iter().rev();
    let Some(&leading) = powers.next() else { return Vec::new() };
    if fit.degree() == 1 {
        let is_same = (leading - 1.0).abs() == 0.0;
        let turn = if is_same { x() } else { constant(leading) * x() };
        return vec![line(TURN, turn), line(RATE, constant(leading))];
    }
    let (t, p, d) = (|| name("t"), || name("p"), || name("d"));
    let mut lines = vec![
        line("t", (x() - constant(fit.middle)) * constant(fit.per_half)),
        line("p", constant(leading)),
        line("d", constant(0.0)),
    ];
    for (k, &coefficient) in powers.enumerate() {
        lines.push(line("d", if k == 0 { p() } else { d() * t() + p() }));
        lines.push(line("p", p() * t() + constant(coefficient)));
    }
    lines.retain(|l| l.value != constant(0.0));
    lines.push(line(TURN, x() * p()));
    lines.push(line(RATE, p() + x() * constant(fit.per_half) * d()));
    lines
}

/// The closed form: the meeting of two circles, with lengths in units of the ground.
///
/// h = a e − x̂ from B to P, its square h², S the height of Q over that diagonal, u the rocker's direction; the turn is
/// the angle from the rocker's direction in the zero pose.
pub(super) fn closed_form(transfer: &Transfer) -> Vec<Line> {
    let branch = transfer.branch();
    let FourBar { ground, crank, coupler, rocker } = *branch.bars();
    let [a, b, c] = [crank, coupler, rocker].map(|length| length / ground);
    let (s0, c0) = libm::sincos(branch.zero_crank());
    let (u0y, u0x) = libm::sincos(branch.zero_rocker());
    let seen = |e: Expression| if transfer.sense() < 0.0 { -e } else { e };
    let n = name;
    let side = branch.closure().sign();
    let span = |far: f64| constant(far * far);
    let height = (span(b + c) - n("h2")) * (n("h2") - span(b - c));
    let along_rod = n("wy") * n("ex") - n("wx") * n("ey");
    vec![
        line("cosine", call(Function::Cosine, n(GIVEN))),
        line("sine", seen(call(Function::Sine, n(GIVEN)))),
        line("ex", constant(c0) * n("cosine") - constant(s0) * n("sine")),
        line("ey", constant(s0) * n("cosine") + constant(c0) * n("sine")),
        line("hx", constant(a) * n("ex") - constant(1.0)),
        line("hy", constant(a) * n("ey")),
        line("h2", n("hx") * n("hx") + n("hy") * n("hy")),
        line("k", (n("h2") + constant((c - b) * (c + b))) * constant(0.5 / c)),
        line("s", call(Function::SquareRoot, height) * constant(side * 0.5 / c)),
        line("ux", (n("k") * n("hx") - n("s") * n("hy")) / n("h2")),
        line("uy", (n("k") * n("hy") + n("s") * n("hx")) / n("h2")),
        line("wx", constant(c) * n("ux") - n("hx")),
        line("wy", constant(c) * n("uy") - n("hy")),
        line(
            TURN,
            seen(angle_of(
                constant(u0x) * n("uy") - constant(u0y) * n("ux"),
                constant(u0x) * n("ux") + constant(u0y) * n("uy"),
            )),
        ),
        line(RATE, constant(a / c) * along_rod / n("s")),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::expression::{Doubles, Numbers as _};
    use super::super::number::Number;
    use super::*;
    use crate::linkage::{Branch, Closure};

    const KNEE: FourBar = FourBar { ground: 0.21, crank: 0.04, coupler: 0.215, rocker: 0.052 };

    fn transfers(zero: f64, closure: Closure) -> [Transfer; 2] {
        let branch = Branch::through(KNEE, zero, closure).unwrap();
        let exchanged = branch.exchanged().unwrap();
        [Transfer::ToJoint(branch), Transfer::ToMotor(exchanged)]
    }

    fn run(lines: &[Line], x: f64) -> [f64; 2] {
        let mut known = vec![(GIVEN, x)];
        Doubles.run(lines, &mut known).unwrap();
        [TURN, RATE].map(|of| Doubles.value(&name(of), &known).unwrap())
    }

    fn rate(transfer: &Transfer, x: f64) -> f64 {
        (transfer.at(x + 1e-6).unwrap() - transfer.at(x - 1e-6).unwrap()) / 2e-6
    }

    #[test]
    fn the_closed_form_is_the_linkage_in_both_directions_and_assemblies() {
        for closure in [Closure::Open, Closure::Crossed] {
            for transfer in transfers(1.4, closure) {
                let lines = closed_form(&transfer);
                for x in [-0.5, 0.0, 0.2, 0.4] {
                    let [turn, slope] = run(&lines, x);
                    assert!((turn - transfer.at(x).unwrap()).abs() < 1e-14, "{closure:?} {x}");
                    assert!((slope - rate(&transfer, x)).abs() < 1e-8, "{closure:?} {x}");
                }
            }
        }
    }

    #[test]
    fn the_polynomials_slope_is_that_of_its_value() {
        for transfer in transfers(1.4, Closure::Open) {
            let fit = Approximation::of_degree(&transfer, [-0.5, 0.5], 5, Number::Double);
            let lines = polynomial(&fit);
            for x in [-0.5, -0.1, 0.0, 0.3] {
                let [up, down] = [1e-6, -1e-6].map(|h| run(&lines, x + h)[0]);
                assert!((run(&lines, x)[1] - (up - down) / 2e-6).abs() < 1e-9);
                assert!((run(&lines, x)[0] - transfer.at(x).unwrap()).abs() < 2e-3);
            }
        }
    }
}
