//! A name of its own for each loop.

use std::collections::{BTreeSet, HashMap};

/// Names that are taken, and how often each was asked for.
#[derive(Default)]
pub(super) struct Names {
    taken: BTreeSet<String>,
    asked: HashMap<String, usize>,
}

impl Names {
    /// The name itself, or with the next number behind it.
    pub(super) fn unique(&mut self, name: String) -> String {
        let base = if name.is_empty() { "loop".to_owned() } else { name };
        let count = self.asked.entry(base.clone()).or_insert(0);
        loop {
            *count += 1;
            let name = if *count == 1 { base.clone() } else { format!("{base}_{count}") };
            if self.taken.insert(name.clone()) {
                return name;
            }
        }
    }
}
