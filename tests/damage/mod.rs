//! Seeded damage to files.

/// A small generator of its own, so that damage is the same on every machine (xorshift64, G. Marsaglia, 2003).
pub(crate) struct Damage(pub(crate) u64);

impl Damage {
    pub(crate) fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % limit.max(1) as u64) as usize
    }
}
