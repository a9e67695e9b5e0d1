//! inari's results are the tightest: each must lie inside ours, and ours be at most one float wider at each end.
//!
//! | operation | floats wider at most |
//! |---|---|
//! | + − | 0; 1 for sums at the end of the range of floats, whose rounding error overflows |
//! | × ÷ √ square | 1 |
//!
//! Left out, since ours answers otherwise by its documentation: a divisor with 0 (ours: the whole line) and the part of
//! a root below 0.

use inari::Interval as Tight;
use inari_check::numeric::{Interval, Scalar as _};

/// xorshift64* (S. Vigna, ACM Trans. Math. Softw. 42 (2016) 30), so that each run is the same.
struct Random(u64);

impl Random {
    fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    fn below(&mut self, limit: u64) -> u64 {
        (self.bits() >> 11) % limit
    }

    /// Any size with a share of edges: few bits, long runs of bits, next to powers of two, the ends of the range.
    fn float(&mut self) -> f64 {
        let sign = self.bits() << 63;
        let mantissa = match self.below(5) {
            0 => 0,
            1 => (1 << 52) - 1,
            2 => ((1_u64 << self.below(53)) - 1) << self.below(20) & ((1 << 52) - 1),
            _ => self.bits() >> 12,
        };
        let exponent = match self.below(16) {
            0 => self.below(2047),
            1 => self.below(3),
            2 => 2044 + self.below(3),
            _ => 1023 - 30 + self.below(60),
        };
        let x = f64::from_bits(sign | exponent << 52 | mantissa);
        if self.below(50) == 0 { 0.0 } else { x }
    }

    fn interval(&mut self) -> (f64, f64) {
        let a = self.float();
        let b = match self.below(4) {
            0 => a,
            1 => (0..self.below(4)).fold(a, |x, _| x.next_up()),
            _ => self.float(),
        };
        let (low, high) = (a.min(b), a.max(b));
        match self.below(60) {
            0 if high > f64::NEG_INFINITY => (f64::NEG_INFINITY, high),
            1 => (low, f64::INFINITY),
            _ => (low, high),
        }
    }
}

/// Where a float stands among all floats.
fn rank(x: f64) -> i64 {
    let bits = (x + 0.0).to_bits().cast_signed();
    if bits < 0 { i64::MIN - bits } else { bits }
}

struct Case {
    name: &'static str,
    ours: Interval,
    tight: Tight,
    room: i64,
}

impl Case {
    fn judge(&self, x: (f64, f64), y: (f64, f64)) {
        let Self { name, ours, tight, room } = self;
        let inside = ours.lo() <= tight.inf() && tight.sup() <= ours.hi();
        assert!(inside, "{name} {x:?} {y:?}: {ours:?} does not hold {tight:?}");
        // Ends of products next to nothing are told no closer than ±1e-200.
        let apart = |low: f64, high: f64| match low.abs().max(high.abs()) {
            0.0..=1e-200 => 0,
            _ => rank(high) - rank(low),
        };
        let wider = apart(ours.lo(), tight.inf()).max(apart(tight.sup(), ours.hi()));
        assert!(
            wider <= *room,
            "{name} {x:?} {y:?}: {ours:?} is {wider} floats wider than {tight:?}"
        );
    }
}

fn tight((low, high): (f64, f64)) -> Tight {
    Tight::try_from((low, high)).unwrap()
}

fn cases(x: (f64, f64), y: (f64, f64)) -> Vec<Case> {
    let (a, b) = (Interval::new(x.0, x.1), Interval::new(y.0, y.1));
    let (p, q) = (tight(x), tight(y));
    let largest = a.magnitude().max(b.magnitude());
    let room = i64::from(largest > 1e307);
    let mut cases = vec![
        Case { name: "+", ours: a + b, tight: p + q, room },
        Case { name: "-", ours: a - b, tight: p - q, room },
        Case { name: "*", ours: a * b, tight: p * q, room: 1 },
        Case { name: "square", ours: a.square(), tight: p.sqr(), room: 1 },
    ];
    let both_endless =
        x.0.is_infinite() | x.1.is_infinite() && y.0.is_infinite() | y.1.is_infinite();
    if !b.contains(0.0) && !both_endless {
        cases.push(Case { name: "/", ours: a / b, tight: p / q, room: 1 });
    }
    if let (true, Some(root)) = (x.0 >= 0.0, a.root()) {
        cases.push(Case { name: "root", ours: root, tight: p.sqrt(), room: 1 });
    }
    cases
}

#[test]
fn the_tightest_results_lie_inside_ours_and_next_to_them() {
    let mut random = Random(0x9e37_79b9_7f4a_7c15);
    for _ in 0..2_000_000 {
        let (x, y) = (random.interval(), random.interval());
        for case in cases(x, y) {
            case.judge(x, y);
        }
    }
}
