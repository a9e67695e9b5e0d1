//! How far two direct joints are from their drive in kinetic energy, bounded over every build and every pose.

use super::super::criterion::MET_WITHIN;
use super::builds_over::{AllBuilds, Clear};
use super::question::RegionQuestion;
use super::values::Setting;
use crate::drive::{Angular as _, TwoRodsPose};
use crate::dynamics::{
    MeasuredOver, TwoJointCertificate, TwoJointParts, TwoJointTree, TwoRodsOver,
};
use crate::numeric::Interval;

/// A certified bound is sought to this much above the figure of the drawn drive.
const AIM: f64 = 1.05;

impl RegionQuestion<'_> {
    /// A bound of the error of kinetic energy of `tree` in place of `parts` over all builds and poses, for the motions and with the
    /// figure of the drawn drive that are `told`; `None` where the proof does not reach `limit`.
    #[must_use]
    pub fn inertia_bound(
        &self,
        parts: &TwoJointParts,
        tree: &TwoJointTree,
        (over, drawn): (MeasuredOver, f64),
        limit: f64,
    ) -> Option<f64> {
        let setting = Setting::of(self)?;
        let builds = AllBuilds::of(&setting)?;
        let sought = [AIM * drawn, limit + MET_WITHIN];
        let certificate = TwoJointCertificate { parts, tree, over };
        certificate.bound(self.turns, sought, |turns| Some(builds.seen(&builds.clear(turns)?)))
    }
}

impl AllBuilds<'_> {
    /// What is known of all builds over `clear`.
    fn seen(&self, clear: &Clear) -> TwoRodsOver {
        let Clear { turns, over, middle } = clear;
        TwoRodsOver {
            built: self.wide.built,
            turns: *turns,
            middle: self.closer(clear).unwrap_or(middle.pose),
            over: over.pose,
            bends: over.rates_by_turns(),
        }
    }

    /// The middle pose with J no further from the middle build's than its slopes by all sizes allow.
    fn closer(&self, clear: &Clear) -> Option<TwoRodsPose<Interval>> {
        let joints = clear.turns.map(|turn| Interval::point(turn.mid()).sin_cos());
        let pose = &clear.middle.pose;
        if self.is_one {
            return Some(*pose);
        }
        let mut rates = self.middle.built.at(joints)?.jacobian;
        for (rod, row) in rates.iter_mut().enumerate() {
            for (joint, rate) in row.iter_mut().enumerate() {
                *rate = *rate + clear.middle.rate_by_sizes(self, rod, joint);
            }
        }
        Some(pose.both_ways(pose, rates))
    }
}
