//! A root inside a bracket.

/// The root of `f` between `a` and `b`, where `f` changes sign: to the last float that the values can tell apart.
///
/// Interpolation that is held to bisection's worst case (the interpolate–truncate–project scheme with its usual
/// constants, simplified to a secant step checked against the bracket). Returns an end where `f` is zero or the
/// nearest end where there is no change of sign.
///
/// # Source
/// Bracketing as in R. P. Brent, Algorithms for Minimization without Derivatives (1973), ch. 4; the step rule is the
/// Illinois variant of false position (M. Dowell, P. Jarratt, BIT 11 (1971) 168–174) with a bisection every third step.
pub fn bracketed(f: impl Fn(f64) -> f64, a: f64, b: f64) -> f64 {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 || fb == 0.0 || fa.signum() == fb.signum() {
        return if fa.abs() <= fb.abs() { a } else { b };
    }
    for step in 0..200_u32 {
        let middle = 0.5 * (a + b);
        // Halfway between neighbouring floats lies one of them.
        if middle <= a.min(b) || middle >= a.max(b) {
            break;
        }
        let secant = b - fb * (b - a) / (fb - fa);
        let inside = secant > a.min(b) && secant < a.max(b);
        let x = if step % 3 == 2 || !inside { middle } else { secant };
        let fx = f(x);
        if fx == 0.0 {
            return x;
        }
        if fx.signum() == fb.signum() {
            (b, fb) = (x, fx);
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
            (b, fb) = (x, fx);
        }
    }
    if fa.abs() < fb.abs() { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_root_of_a_cubic_is_found_to_the_last_digit() {
        let root = bracketed(|x| x * x * x - 2.0, 0.0, 3.0);
        assert!((root - 2.0_f64.cbrt()).abs() <= 4e-16);
    }

    #[test]
    fn a_steep_end_does_not_stall_it() {
        let root = bracketed(|x| x.sqrt() - 1e-3, 0.0, 1.0);
        assert!((root - 1e-6).abs() < 1e-15);
    }

    #[test]
    fn without_a_change_of_sign_the_nearer_end_is_returned() {
        assert!((bracketed(|x| x + 1.0, 0.0, 1.0) - 0.0).abs() < 1e-300);
    }
}
