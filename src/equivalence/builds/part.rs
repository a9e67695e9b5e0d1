//! A claim as a function of the few sizes that are left open and of the joint turn, to second order.

use super::claims::{Batch, Claim};
use crate::numeric::search::{Curvatures, Objective};
use crate::numeric::{Bent, Interval};

/// A claim as a function of some sizes and, after them, the joint turn; what is left over does nothing.
pub(super) struct Part<'a> {
    pub(super) claim: &'a Claim<'a>,
    pub(super) sizes: &'a [Interval],
    pub(super) places: &'a [usize],
}

impl Part<'_> {
    /// All sizes and the joint turn, of which those that vary are told.
    fn spread<T: Copy>(&self, own: &[T], constant: impl Fn(Interval) -> T) -> Option<(Vec<T>, T)> {
        let mut sizes: Vec<T> = self.sizes.iter().copied().map(constant).collect();
        for (place, size) in self.places.iter().zip(own) {
            *sizes.get_mut(*place)? = *size;
        }
        Some((sizes, *own.get(self.places.len())?))
    }
}

impl<const M: usize> Objective<M> for Part<'_> {
    fn enclose(&self, at: &[Interval; M]) -> Option<Interval> {
        let (sizes, joint) = self.spread(at, |size| size)?;
        self.claim.enclosed(&sizes, joint)
    }

    fn gradient(&self, over: &[Interval; M]) -> Option<[Interval; M]> {
        self.slopes_by(over, over)
    }

    fn gradient_at(&self, at: &[f64; M], over: &[Interval; M]) -> Option<[Interval; M]> {
        self.slopes_by(&at.map(Interval::point), over)
    }

    fn curvatures(&self, over: &[Interval; M]) -> Option<Curvatures<M>> {
        let mut own = over.map(Bent::<M>::constant);
        for (k, slot) in own.iter_mut().enumerate().take(self.places.len() + 1) {
            if slot.value.lo() < slot.value.hi() {
                *slot = Bent::variable(k, slot.value);
            }
        }
        let (sizes, joint) = self.spread(&own, Bent::constant)?;
        let value = self.claim.at(&self.claim.read(&sizes)?, joint)?;
        let mut all = [[Interval::ZERO; M]; M];
        for (row, slots) in all.iter_mut().enumerate() {
            for (column, slot) in slots.iter_mut().enumerate() {
                *slot = value.curvature(row, column)?;
            }
        }
        all.iter().flatten().all(|bend| bend.width().is_finite()).then_some(all)
    }

    fn sample(&self, at: &[f64; M]) -> Option<f64> {
        let (sizes, joint) = self.spread(at, Interval::mid)?;
        self.claim.plain(&sizes, joint)
    }

    fn scale(&self) -> [f64; M] {
        [1.0; M]
    }
}

impl Part<'_> {
    /// Slopes at `at` by the joint turn and by the sizes that have a range in `over`.
    fn slopes_by<const M: usize>(
        &self,
        at: &[Interval; M],
        over: &[Interval; M],
    ) -> Option<[Interval; M]> {
        let (sizes, joint) = self.spread(at, |size| size)?;
        let is_open = |k: &usize| over.get(*k).is_some_and(|range| range.lo() < range.hi());
        let open: Vec<usize> = (0..self.places.len()).filter(is_open).collect();
        let places: Option<Vec<usize>> =
            open.iter().map(|k| self.places.get(*k).copied()).collect();
        let batch = Batch::by_sizes(&self.claim.rod, sizes, &places?)?;
        let look = batch.look(joint)?;
        let mut all = [Interval::ZERO; M];
        for (k, slope) in open.iter().zip(self.claim.slopes(&batch, &look)?) {
            *all.get_mut(*k)? = slope;
        }
        *all.get_mut(self.places.len())? = self.claim.turn_slope(&look)?;
        all.iter().all(|slope| slope.width().is_finite()).then_some(all)
    }
}
