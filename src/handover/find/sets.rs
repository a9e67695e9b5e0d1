//! Things that belong together.

/// Sets of numbers, each named by its smallest member.
#[derive(Debug)]
pub(super) struct Sets(Vec<usize>);

impl Sets {
    /// Each number alone.
    pub(super) fn new(size: usize) -> Self {
        Self((0..size).collect())
    }

    /// The smallest member of its set.
    pub(super) fn first(&mut self, mut at: usize) -> usize {
        while let Some(up) = self.0.get(at).copied().filter(|up| *up != at) {
            let above = self.0.get(up).copied().unwrap_or(up);
            if let Some(entry) = self.0.get_mut(at) {
                *entry = above;
            }
            at = above;
        }
        at
    }

    /// Whether they were apart before.
    pub(super) fn join(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.first(a), self.first(b));
        if let Some(entry) = self.0.get_mut(a.max(b)) {
            *entry = a.min(b);
        }
        a != b
    }
}
