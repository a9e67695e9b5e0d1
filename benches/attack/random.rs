//! A small source of random numbers: the same for the same seed and case on every machine.
//!
//! SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).

/// The source.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// For one case of one seed.
    pub fn new(seed: u64, case: u64) -> Self {
        let mut random = Self(seed.wrapping_mul(0xA24B_AED4_963E_E407) ^ case);
        random.next();
        let first = random.next();
        Self(first ^ case.wrapping_mul(0x9FB2_1C65_1E98_DF25))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// In [0, 1).
    pub fn unit(&mut self) -> f64 {
        let bits = u32::try_from(self.next() >> 32).unwrap_or(0);
        f64::from(bits) / 4_294_967_296.0
    }

    /// In [low, high).
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// The same, evenly in the logarithm.
    pub fn log_within(&mut self, low: f64, high: f64) -> f64 {
        self.within(low.ln(), high.ln()).exp()
    }

    /// With this probability.
    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// One of them.
    pub fn pick<T: Copy>(&mut self, all: &[T]) -> T {
        let count = u64::try_from(all.len()).unwrap_or(1).max(1);
        let index = usize::try_from(self.next() % count).unwrap_or(0);
        all[index]
    }

    /// +1 or −1.
    pub fn sign(&mut self) -> f64 {
        if self.chance(0.5) { 1.0 } else { -1.0 }
    }
}
