//! What claims on one rod have in common.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

use super::claims::{Batch, Claim, Look};
use super::question::SizeRanges;
use crate::numeric::Interval;

/// What claims on one rod share: all of its builds, over every range of turns that was looked at.
#[derive(Clone, Debug, Default)]
pub(super) struct Shared {
    all: OnceCell<Option<Rc<Batch>>>,
    looks: RefCell<HashMap<[u64; 2], Option<Rc<Look>>>>,
}

impl Shared {
    /// All builds; `None` where one may not close.
    pub(super) fn all(&self, claim: &Claim<'_>, ranges: &SizeRanges) -> Option<Rc<Batch>> {
        let all = || Batch::new(&claim.rod, ranges.all.clone()).map(Rc::new);
        self.all.get_or_init(all).clone()
    }

    pub(super) fn look(&self, all: &Batch, turns: Interval) -> Option<Rc<Look>> {
        let ends = [turns.lo(), turns.hi()].map(f64::to_bits);
        let mut looks = self.looks.borrow_mut();
        looks.entry(ends).or_insert_with(|| all.look(turns).map(Rc::new)).clone()
    }
}
