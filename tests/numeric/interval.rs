//! Interval arithmetic against exact results: no real result may lie outside, and no end may be needlessly far out.
//!
//! The vectors come from mpmath by `scripts/interval_vectors.py`, each with the two floats that the exact result lies
//! between: an interval with float ends holds the result if and only if it holds both.

use std::collections::BTreeMap;

use proptest::prelude::*;
use unloop::numeric::elementary::{angle_near, arc_cosine, pi, sin_cos, sin_cos_at};
use unloop::numeric::{Interval, Scalar as _};

struct Vector {
    name: String,
    operands: Vec<f64>,
    between: [f64; 2],
}

fn vectors() -> Vec<Vector> {
    let float = |text: &str| f64::from_bits(u64::from_str_radix(text, 16).unwrap());
    let lines =
        include_str!("../data/interval_vectors.txt").lines().filter(|l| !l.starts_with('#'));
    let read = |line: &str| {
        let mut words = line.split(' ');
        let name = words.next().unwrap().to_owned();
        let mut operands: Vec<f64> = words.map(float).collect();
        let high = operands.pop().unwrap();
        let low = operands.pop().unwrap();
        Vector { name, operands, between: [low, high] }
    };
    lines.map(read).collect()
}

fn ours(name: &str, operands: &[f64]) -> Interval {
    let at = |k: usize| Interval::point(operands[k]);
    match name {
        "add" => at(0) + at(1),
        "sub" => at(0) - at(1),
        "mul" => at(0) * at(1),
        "div" => at(0) / at(1),
        "square" => at(0).square(),
        "root" => at(0).root().unwrap(),
        "sin" => sin_cos_at(operands[0]).0,
        "cos" => sin_cos_at(operands[0]).1,
        "angle" => angle_near(at(0), at(1), operands[2]),
        "arccos" => arc_cosine(operands[0]),
        other => panic!("no operation {other}"),
    }
}

/// How many floats lie from `a` up to `b`.
fn floats_between(a: f64, b: f64) -> i64 {
    let rank = |x: f64| {
        let bits = (x + 0.0).to_bits() as i64;
        if bits < 0 { i64::MIN - bits } else { bits }
    };
    rank(b) - rank(a)
}

#[test]
fn every_exact_result_lies_inside() {
    for v in vectors() {
        let found = ours(&v.name, &v.operands);
        let holds = found.lo() <= v.between[0] && v.between[1] <= found.hi();
        assert!(holds, "{} {:?}: {found:?} misses {:?}", v.name, v.operands, v.between);
    }
}

/// Floats that an end may lie beyond the tightest one; none for a sum, whose rounding error is known.
fn room(name: &str) -> Option<i64> {
    match name {
        "add" | "sub" => Some(0),
        "mul" | "div" | "square" | "root" => Some(1),
        _ => None,
    }
}

/// No end this near 0 is told closer.
const NEXT_TO_NOTHING: f64 = 1e-200;

#[test]
fn no_end_of_the_four_operations_is_more_than_one_float_too_far_out() {
    let mut seen = BTreeMap::new();
    for v in vectors() {
        let Some(room) = room(&v.name) else { continue };
        let found = ours(&v.name, &v.operands);
        let beyond = [(found.lo(), v.between[0]), (v.between[1], found.hi())];
        // Ends next to nothing are put where floats have all their digits.
        let beyond = beyond.into_iter().filter(|(a, b)| a.abs().max(b.abs()) > NEXT_TO_NOTHING);
        let off = beyond.map(|(a, b)| floats_between(a, b)).max().unwrap_or(0);
        assert!(off <= room, "{} {:?}: {found:?}, {off} floats", v.name, v.operands);
        *seen.entry(v.name).or_insert(0) += 1;
    }
    assert!(seen.len() == 6 && seen.values().all(|&count| count > 300), "{seen:?}");
}

#[test]
fn sines_and_angles_are_enclosed_to_a_few_units_of_rounding() {
    for v in vectors() {
        let width = ours(&v.name, &v.operands).width();
        let size = v.operands[0].abs();
        let bound = match v.name.as_str() {
            // The reduction of the argument leaves 1e-36 of each quarter turn.
            "sin" => {
                16.0 * f64::EPSILON * v.between[1].abs() + 1e-36 * size + 2.0 * NEXT_TO_NOTHING
            }
            "cos" => 16.0 * f64::EPSILON * v.between[1].abs() + 1e-36 * size,
            "angle" if (v.operands[2] - v.between[0]).abs() < 1e-8 => {
                20.0 * f64::EPSILON * v.operands[2].abs().max(1.0)
            }
            "angle" => 0.5,
            // The guess is good to a rounding of the angle, which is near 0 at c = 1.
            "arccos" => 40.0 * f64::EPSILON * v.between[1].max(f64::EPSILON),
            _ => continue,
        };
        assert!(width <= bound, "{} {:?}: {width:e} over {bound:e}", v.name, v.operands);
    }
}

/// mantissa · 2^exponent, exactly.
fn parts(x: f64) -> (i128, i32) {
    let bits = x.to_bits();
    let (fraction, exponent) = ((bits & ((1 << 52) - 1)) as i128, ((bits >> 52) & 0x7ff) as i32);
    let (whole, exponent) =
        if exponent == 0 { (fraction, -1074) } else { (fraction | (1 << 52), exponent - 1075) };
    (if x < 0.0 { -whole } else { whole }, exponent)
}

/// Is `a` · 2^`e` ≤ `b` · 2^`f`? Exactly, for whole numbers of at most 107 bits.
fn at_most((a, e): (i128, i32), (b, f): (i128, i32)) -> bool {
    if a.signum() != b.signum() || a == 0 {
        return a.signum() <= b.signum();
    }
    let top =
        |whole: i128, exponent: i32| 128 - whole.unsigned_abs().leading_zeros() as i32 + exponent;
    if top(a, e) != top(b, f) {
        return (top(a, e) < top(b, f)) == (a > 0);
    }
    // Equal leading bits: the exponents differ by less than the 107 bits leave room for.
    let lowest = e.min(f);
    let lift = |whole: i128, by: i32| whole.checked_mul(1 << by).unwrap();
    lift(a, e - lowest) <= lift(b, f - lowest)
}

fn holds_exactly(found: Interval, exact: (i128, i32)) -> bool {
    at_most(parts(found.lo()), exact) && at_most(exact, parts(found.hi()))
}

fn exact_sum(a: f64, b: f64) -> (i128, i32) {
    let ((m, e), (n, f)) = (parts(a), parts(b));
    let lowest = e.min(f);
    ((m << (e - lowest)) + (n << (f - lowest)), lowest)
}

fn exact_product(a: f64, b: f64) -> (i128, i32) {
    let ((m, e), (n, f)) = (parts(a), parts(b));
    (m * n, e + f)
}

/// Mantissas with long runs of equal bits, whose products and sums round at the edge.
fn edgy() -> impl Strategy<Value = f64> {
    let whole = (1_u64 << 52)..(1_u64 << 53);
    let runs = (0..53_u32, 0..53_u32).prop_map(|(a, b)| {
        let bits = (1_u64 << 52) | (((1_u64 << a) - 1) ^ ((1_u64 << b) - 1));
        bits & ((1 << 53) - 1)
    });
    let mantissa = prop_oneof![whole, runs, Just(1_u64 << 52), Just((1_u64 << 53) - 1)];
    (mantissa, -8..8_i32, any::<bool>()).prop_map(|(m, e, negative)| {
        let size = (m as f64) * 2.0_f64.powi(e - 52);
        if negative { -size } else { size }
    })
}

fn ordered(a: f64, b: f64) -> Interval {
    Interval::new(a.min(b), a.max(b))
}

/// A float of the interval, at a share of its width.
fn inside(x: Interval, share: f64) -> f64 {
    (x.lo() + share * (x.hi() - x.lo())).clamp(x.lo(), x.hi())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4096, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sums_and_differences_hold_the_whole_numbers(a in edgy(), b in edgy()) {
        let (x, y) = (Interval::point(a), Interval::point(b));
        prop_assert!(holds_exactly(x + y, exact_sum(a, b)));
        prop_assert!(holds_exactly(x - y, exact_sum(a, -b)));
    }

    #[test]
    fn products_and_squares_hold_the_whole_numbers(a in edgy(), b in edgy()) {
        prop_assert!(holds_exactly(Interval::point(a) * Interval::point(b), exact_product(a, b)));
        prop_assert!(holds_exactly(Interval::point(a).square(), exact_product(a, a)));
    }

    #[test]
    fn quotients_and_roots_lead_back(a in edgy(), b in edgy()) {
        // q below a/b means q·b below a for b above 0; the products are exact whole numbers.
        let q = Interval::point(a) / Interval::point(b.abs());
        prop_assert!(at_most(exact_product(q.lo(), b.abs()), parts(a)));
        prop_assert!(at_most(parts(a), exact_product(q.hi(), b.abs())));
        let r = Interval::point(a.abs()).root().unwrap();
        prop_assert!(at_most(exact_product(r.lo(), r.lo()), parts(a.abs())));
        prop_assert!(at_most(parts(a.abs()), exact_product(r.hi(), r.hi())));
    }

    #[test]
    fn what_is_done_inside_stays_inside(
        [a, b, c, d] in [edgy(), edgy(), edgy(), edgy()], s in 0.0..1.0_f64, t in 0.0..1.0_f64,
    ) {
        let (x, y) = (ordered(a, b), ordered(c, d));
        let (p, q) = (inside(x, s), inside(y, t));
        // Whole numbers of 127 bits hold no more.
        prop_assume!(p.abs() > 1e-4 && q.abs() > 1e-4);
        prop_assert!(holds_exactly(x + y, exact_sum(p, q)));
        prop_assert!(holds_exactly(x - y, exact_sum(p, -q)));
        prop_assert!(holds_exactly(x * y, exact_product(p, q)));
        prop_assert!(holds_exactly(x.square(), exact_product(p, p)));
        if !y.contains(0.0) {
            // q below p/q means q·q below p; which end is which follows the divisor's sign.
            let quotient = x / y;
            let (low, high) = if q > 0.0 { (quotient.lo(), quotient.hi()) } else { (quotient.hi(), quotient.lo()) };
            prop_assert!(at_most(exact_product(low, q), parts(p)));
            prop_assert!(at_most(parts(p), exact_product(high, q)));
        }
        prop_assert!(x.hull(y).encloses(x) && x.hull(y).encloses(y));
        prop_assert!(x.contains(x.mid()) && x.abs().contains(p.abs()));
        prop_assert!(x.halves()[0].contains(p) || x.halves()[1].contains(p));
    }

    #[test]
    fn a_sine_inside_lies_inside(a in -30.0..30.0_f64, w in 0.0..6.0_f64, t in 0.0..1.0_f64) {
        let x = Interval::new(a, a + w);
        let ((s, c), (sx, cx)) = (sin_cos(x), sin_cos_at(inside(x, t)));
        // Both hold the exact sine, so that they must meet.
        prop_assert!(s.intersection(sx).is_some() && c.intersection(cx).is_some());
    }

    #[test]
    fn crests_beside_an_end_are_not_forgotten(n in -2000..2000_i32, left in 0..4_u32, right in 0..4_u32) {
        let crest = f64::from(n) * std::f64::consts::FRAC_PI_2;
        let (mut lo, mut hi) = (crest, crest);
        (0..left).for_each(|_| lo = lo.next_down());
        (0..right).for_each(|_| hi = hi.next_up());
        let (s, c) = sin_cos(Interval::new(lo, hi));
        for x in [lo, crest, hi] {
            let (sx, cx) = sin_cos_at(x);
            prop_assert!(s.intersection(sx).is_some() && c.intersection(cx).is_some());
        }
    }

    #[test]
    fn the_angle_of_any_vector_of_a_box_lies_inside(
        t in -3.2..3.2_f64, r in 0.1..10.0_f64, w in 0.0..0.05_f64, off in -0.6..0.6_f64,
        turns in -100..100_i32, p in 0.0..1.0_f64, q in 0.0..1.0_f64,
    ) {
        let (y, x) = (r * t.sin(), r * t.cos());
        let (ys, xs) = (Interval::new(y, y + w * r), Interval::new(x, x + w * r));
        let whole = f64::from(turns) * std::f64::consts::TAU;
        let found = angle_near(ys, xs, t + off + whole);
        let (sine, cosine) = (inside(ys, p), inside(xs, q));
        let plain = libm::atan2(sine, cosine);
        let plain = plain + std::f64::consts::TAU * ((t - plain) / std::f64::consts::TAU).round() + whole;
        prop_assert!(found.lo() - 1e-12 <= plain && plain <= found.hi() + 1e-12, "{found:?} {plain}");
    }
}

/// The ends of the range of floats and what is beyond.
const EDGES: [f64; 13] = [
    f64::NEG_INFINITY,
    f64::MIN,
    -1.5,
    -f64::MIN_POSITIVE,
    -5e-324,
    -0.0,
    0.0,
    5e-324,
    f64::MIN_POSITIVE,
    0.7,
    1.0,
    f64::MAX,
    f64::INFINITY,
];

fn edge_intervals() -> Vec<Interval> {
    let pairs = EDGES.iter().flat_map(|&a| EDGES.iter().map(move |&b| (a, b)));
    pairs.filter(|(a, b)| a <= b).map(|(a, b)| Interval::new(a, b)).collect()
}

fn is_sound(x: Interval) -> bool {
    x.lo() <= x.hi() && x.lo() < f64::INFINITY && x.hi() > f64::NEG_INFINITY
}

#[test]
fn no_operation_on_the_edges_of_the_floats_gives_anything_but_an_interval() {
    for &x in &edge_intervals() {
        assert!(is_sound(x) && is_sound(-x) && is_sound(x.square()) && is_sound(x.abs()));
        assert!(x.root().is_none_or(is_sound) && x.root().is_some() == (x.hi() >= 0.0), "{x:?}");
        assert!(x.contains(x.mid()) && x.mid().is_finite() && x.width() >= 0.0, "{x:?}");
        let (s, c) = sin_cos(x);
        assert!(is_sound(s) && is_sound(c) && s.magnitude() <= 1.0 && c.magnitude() <= 1.0);
        for &y in &edge_intervals() {
            for z in [x + y, x - y, x * y, x / y, x.hull(y), angle_near(x, y, 0.3)] {
                assert!(is_sound(z), "{x:?} {y:?} {z:?}");
            }
        }
    }
}

#[test]
fn finite_members_of_edge_intervals_stay_inside() {
    let members = |x: Interval| EDGES.into_iter().filter(move |m| m.is_finite() && x.contains(*m));
    for &x in &edge_intervals() {
        for &y in &edge_intervals() {
            for (p, q) in members(x).flat_map(|p| members(y).map(move |q| (p, q))) {
                let (p, q) = (Interval::point(p), Interval::point(q));
                // Ends of the tight and of the point's interval are monotone functions of the operands.
                assert!((x + y).encloses(p + q), "{x:?} + {y:?}, {p:?} {q:?}");
                assert!((x - y).encloses(p - q), "{x:?} − {y:?}, {p:?} {q:?}");
                let plain = p.lo() * q.lo();
                let product = x * y;
                assert!(product.lo() <= plain && plain <= product.hi(), "{x:?} × {y:?}, {plain}");
                if !y.contains(0.0) {
                    let plain = p.lo() / q.lo();
                    assert!((x / y).lo() <= plain && plain <= (x / y).hi(), "{x:?} ÷ {y:?}");
                }
            }
        }
    }
}

#[test]
fn an_interval_of_infinity_alone_does_not_exist() {
    assert_eq!(Interval::new(f64::INFINITY, f64::INFINITY), Interval::ENTIRE);
    assert_eq!(Interval::new(f64::NEG_INFINITY, f64::NEG_INFINITY), Interval::ENTIRE);
}

#[test]
fn pi_lies_between_its_two_floats() {
    // π = 3.14159 26535 89793 23846…; the float below is 3.14159 26535 89793 115997… (any handbook).
    let nearest = std::f64::consts::PI;
    assert_eq!((pi().lo(), pi().hi()), (nearest, nearest.next_up()));
}

#[test]
fn the_cosine_of_a_straight_and_of_no_angle() {
    assert!(arc_cosine(1.0).lo() == 0.0 && arc_cosine(1.0).hi() < 1e-15);
    assert!(arc_cosine(-1.0).encloses(pi()) && arc_cosine(-1.0).width() < 2e-15);
    assert!(arc_cosine(f64::NAN).hi() == f64::INFINITY);
}
