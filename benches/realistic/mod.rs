//! Designs such as a workshop draws, at random but the same for the same seed: what speed, tightness and false alarms
//! are measured on. Include it by `#[path]`; it needs nothing but the standard library.
//!
//! Ground 20…500 mm (log-uniform), crank 0.08…0.5 of it; a third parallelograms, a third within 2 % of one, a third
//! general (coupler 0.6…1.4 ground, rocker 0.5…2 crank); zero crank ±40…140 deg; motor stroke 10…110 deg around the zero
//! pose, cut at 20 deg of transmission angle; each length ±0.01…0.2 mm (log-uniform), one in ten to one side only; jig
//! and drawing, and the three presets, evenly. What does not close or leaves less than 5 deg of stroke is drawn again.

#![allow(dead_code, reason = "each program that includes this uses a part of it")]

use std::fmt::Write as _;

/// A drawn length, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Drawn {
    pub(crate) nominal: f64,
    /// Lower and upper deviation.
    pub(crate) deviations: [f64; 2],
}

/// One design; all figures are the decimals that [`Realistic::text`] prints.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Realistic {
    pub(crate) ground: Drawn,
    pub(crate) crank: Drawn,
    pub(crate) coupler: Drawn,
    pub(crate) rocker: Drawn,
    /// Crank and rocker angle in the zero pose, deg. The linkage is open where the crank's is above 0, else crossed.
    pub(crate) zero: [f64; 2],
    /// Motor turns of the stroke, deg, ascending.
    pub(crate) motor: [f64; 2],
    /// Zeroed on each robot (`jig`), not as drawn.
    pub(crate) jig: bool,
    /// `invisible`, `training` or `coarse`.
    pub(crate) preset: &'static str,
}

/// The designs of `seed`, without end.
pub(crate) fn designs(seed: u64) -> impl Iterator<Item = Realistic> {
    let mut draws = Draws(seed);
    std::iter::from_fn(move || Some(draws.design()))
}

impl Realistic {
    /// The design file.
    pub(crate) fn text(&self, name: &str) -> String {
        let mut text = format!("name = \"{name}\"\n\n[linkage]\n");
        let lengths = [
            ("ground", self.ground),
            ("crank", self.crank),
            ("coupler", self.coupler),
            ("rocker", self.rocker),
        ];
        for (key, Drawn { nominal, deviations: [lower, upper] }) in lengths {
            let _ = writeln!(text, "{key} = \"{nominal:.3} {upper:+.3}/{lower:+.3} mm\"");
        }
        let ([crank, rocker], [from, to]) = (self.zero, self.motor);
        let set_by = if self.jig { "jig" } else { "drawing" };
        let _ = write!(
            text,
            "\n[zero]\ncrank = \"{crank:.2} deg\"\nrocker = \"{rocker:.2} deg\"\nset_by = \"{set_by}\"\n\n\
             [stroke]\nmotor = [\"{from:.2} deg\", \"{to:.2} deg\"]\n\n[accept]\npreset = \"{}\"\n",
            self.preset
        );
        text
    }

    /// Ground, crank, coupler and rocker with their deviations, m.
    pub(crate) fn metres(&self) -> [[f64; 3]; 4] {
        [self.ground, self.crank, self.coupler, self.rocker]
            .map(|d| [d.nominal, d.deviations[0], d.deviations[1]].map(|mm| 1e-3 * mm))
    }

    /// Degrees from coupler to rocker, folded into 0…90; `None` where the loop does not close.
    fn transmission_angle(&self, crank_deg: f64) -> Option<f64> {
        let [g, a, b, c] = [self.ground, self.crank, self.coupler, self.rocker].map(|d| d.nominal);
        let diagonal = a * a + g * g - 2.0 * a * g * crank_deg.to_radians().cos();
        let cosine = ((b * b + c * c - diagonal) / (2.0 * b * c)).abs();
        (cosine < 1.0).then(|| cosine.acos().to_degrees())
    }

    /// The rocker's angle on the side where a parallelogram of this zero pose is none but a parallelogram, deg.
    fn rocker_angle(&self) -> f64 {
        let [g, a, b, c] = [self.ground, self.crank, self.coupler, self.rocker].map(|d| d.nominal);
        let phi = self.zero[0].to_radians();
        let (x, y) = (a * phi.cos() - g, a * phi.sin());
        let diagonal = x.hypot(y);
        let inner = ((c * c + diagonal * diagonal - b * b) / (2.0 * c * diagonal)).clamp(-1.0, 1.0);
        (y.atan2(x) - inner.acos().copysign(phi)).to_degrees()
    }
}

/// Splitmix64 (S. Vigna, public domain): a random number generator of one word.
struct Draws(u64);

impl Draws {
    fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        let high = u32::try_from((z ^ (z >> 31)) >> 32).unwrap_or(0);
        f64::from(high) / f64::from(u32::MAX)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    fn log_between(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    fn one_of<T: Copy, const N: usize>(&mut self, all: [T; N]) -> Option<T> {
        let share = self.share();
        let count = f64::from(u32::try_from(N).unwrap_or(1));
        let reached = |k: &usize| f64::from(u32::try_from(*k).unwrap_or(0)) <= share * count;
        (0..N).rev().find(reached).and_then(|k| all.get(k).copied())
    }

    fn drawn(&mut self, nominal: f64) -> Drawn {
        let size = rounded(self.log_between(0.01, 0.2), 1e3);
        let deviations = match self.share() {
            one_sided if one_sided < 0.05 => [0.0, size],
            one_sided if one_sided < 0.1 => [-size, 0.0],
            _ => [-size, size],
        };
        Drawn { nominal: rounded(nominal, 1e3), deviations }
    }

    fn lengths(&mut self) -> [Drawn; 4] {
        let ground = rounded(self.log_between(20.0, 500.0), 1e3);
        let crank = rounded(ground * self.between(0.08, 0.5), 1e3);
        let [coupler, rocker] = match self.share() {
            parallelogram if parallelogram < 1.0 / 3.0 => [ground, crank],
            near if near < 2.0 / 3.0 => {
                [ground * self.between(0.98, 1.02), crank * self.between(0.98, 1.02)]
            }
            _ => [ground * self.between(0.6, 1.4), crank * self.between(0.5, 2.0)],
        };
        [ground, crank, coupler, rocker].map(|length| self.drawn(length))
    }

    fn attempt(&mut self) -> Option<Realistic> {
        let [ground, crank, coupler, rocker] = self.lengths();
        let side = self.one_of([1.0, -1.0])?;
        let zero = rounded(side * self.between(40.0, 140.0), 1e2);
        let (stroke, share) = (self.between(10.0, 110.0), self.share());
        let jig = self.one_of([true, false])?;
        let preset = self.one_of(["invisible", "training", "coarse"])?;
        let (zero, motor) = ([zero, 0.0], [0.0; 2]);
        let mut design = Realistic { ground, crank, coupler, rocker, zero, motor, jig, preset };
        design.transmission_angle(zero[0]).filter(|angle| *angle >= 20.0)?;
        design.zero[1] = rounded(design.rocker_angle(), 1e2);
        design.motor = [-stroke * share, stroke * (1.0 - share)].map(|end| cut(&design, end));
        (design.motor[1] - design.motor[0] >= 5.0).then_some(design)
    }

    fn design(&mut self) -> Realistic {
        loop {
            if let Some(design) = self.attempt() {
                return design;
            }
        }
    }
}

/// The end of the stroke, or where 20 deg of transmission angle are left before it; in hundredths, deg.
fn cut(design: &Realistic, end: f64) -> f64 {
    let allowed = |turn: f64| design.transmission_angle(design.zero[0] + turn) >= Some(20.0);
    let step = 0.1_f64.copysign(end);
    let mut turn = 0.0;
    while (turn + step).abs() < end.abs() && allowed(turn + step) {
        turn += step;
    }
    let reached = if (turn + step).abs() >= end.abs() && allowed(end) { end } else { turn };
    rounded(reached, 1e2)
}

fn rounded(x: f64, per_unit: f64) -> f64 {
    (x * per_unit).round() / per_unit
}
