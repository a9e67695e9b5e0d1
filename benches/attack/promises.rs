//! What `check` promises beyond its criteria: proved stretches, how much more would do, the best constants.

use super::compare::{Case, Report, met, number, over, pair};
use super::double::{Double, Real};
use super::random::Random;
use super::truth::{Question, motor_turn, worst};

impl Case<'_> {
    /// All criteria over other turns, another box or another stand-in: what breaks, or nothing.
    pub(super) fn broken_over(
        &self,
        q: &Question<Double>,
        random: &mut Random,
        report: &mut Report,
    ) -> Option<String> {
        let truth = worst(q, random);
        report.count(&truth);
        if truth.open.is_some() {
            return Some("does not close".to_owned());
        }
        (0..self.names().len()).find_map(|figure| {
            let found = truth.worst(figure)?;
            (over(figure, found.value, self.limit(figure)) > met(figure)).then(|| {
                format!(
                    "{} reaches {:e} at {:?}",
                    self.names()[figure],
                    found.value.value(),
                    found.at
                )
            })
        })
    }

    /// The same family over the motor turns that belong to joint turns of the reference.
    fn over_joint(&self, joint: [f64; 2]) -> Option<Question<Double>> {
        let mut q = self.family;
        let stroke = pair(self.json, "/stroke/joint_rad")?;
        let from = 0.0_f64.clamp(self.family.low[5].value(), self.family.high[5].value());
        let end = |joint: f64| {
            let nearest = (0..2).find(|&k| (stroke[k] - joint).abs() < 1e-12);
            match nearest {
                Some(0) => Some(self.family.low[5]),
                Some(_) => Some(self.family.high[5]),
                None => motor_turn(self.meaning, Double::of(joint), from),
            }
        };
        let (first, second) = (end(joint[0])?, end(joint[1])?);
        (q.low[5], q.high[5]) = if first < second { (first, second) } else { (second, first) };
        Some(q)
    }

    pub(super) fn proved_stretch(&self, random: &mut Random, report: &mut Report) {
        let Some(joint) = pair(self.json, "/proved_joint_rad") else { return };
        let Some(q) = self.over_joint(joint) else {
            report.remarks.push(("stretch not followed", format!("proved {joint:?}")));
            return;
        };
        if let Some(why) = self.broken_over(&q, random, report) {
            report.broken("untrue stretch", format!("{joint:?}: {why}"));
        }
    }

    pub(super) fn largest_tolerance(&self, random: &mut Random, report: &mut Report) {
        let Some(half) = number(self.json, "/largest_symmetric_tolerance_m") else { return };
        let millimetres = half * 1e3;
        let with = |half: f64| self.family.with_tolerance(self.meaning, Double::of(half));
        if let Some(why) = self.broken_over(&with(millimetres), random, report) {
            report.broken("untrue largest tolerance", format!("{millimetres} mm: {why}"));
        }
        let shortest = self.meaning.reference.floats().all().into_iter().fold(f64::MAX, f64::min);
        if millimetres > 0.4 * shortest {
            return;
        }
        // Where it is nothing, next to nothing must be too much.
        let more = (1.02 * millimetres).max(1e-6 * shortest);
        let tight = self.broken_over(&with(more), random, report).is_some();
        let kind =
            if tight { "largest tolerance within 2 %" } else { "largest tolerance too small" };
        report.remarks.push((kind, format!("{millimetres} mm")));
    }

    pub(super) fn largest_stroke(&self, random: &mut Random, report: &mut Report) {
        let Some(joint) = pair(self.json, "/largest_stroke_joint_rad") else { return };
        let Some(q) = self.over_joint(joint) else {
            report.remarks.push(("stretch not followed", format!("largest stroke {joint:?}")));
            return;
        };
        if let Some(why) = self.broken_over(&q, random, report) {
            report.broken("untrue largest stroke", format!("{joint:?}: {why}"));
        }
        let more = 0.02 * (joint[1] - joint[0]);
        for further in [[joint[0] - more, joint[1]], [joint[0], joint[1] + more]] {
            let tight = self
                .over_joint(further)
                .is_none_or(|q| self.broken_over(&q, random, report).is_some());
            let kind = if tight { "largest stroke within 2 %" } else { "largest stroke too small" };
            report.remarks.push((kind, format!("{joint:?}")));
        }
    }

    /// No neighbouring constant has a smaller worst angle error: the error is convex in slope and offset.
    pub(super) fn best_constants(&self, random: &mut Random, report: &mut Report) {
        let best_offset = self.meaning.offset.is_none();
        if self.meaning.ratio.is_some() && !best_offset {
            return;
        }
        let spread = |slope: Double, random: &mut Random| {
            let found = worst(&Question { slope, ..self.alone }, random).aims;
            let [high, low] = [found[0]?.value, found[1]?.value];
            let worst = if best_offset {
                (high + low) * Double::of(0.5)
            } else if high > low {
                high
            } else {
                low
            };
            Some(worst.value())
        };
        let Some(now) = self.nominal.worst(0).map(|w| w.value.value()) else { return };
        let steps: &[f64] =
            if self.meaning.ratio.is_some() { &[0.0] } else { &[0.0, 1e-7, -1e-7, 1e-4, -1e-4] };
        for step in steps {
            let slope = self.alone.slope * Double::of(1.0 + step);
            let there = spread(slope, random).unwrap_or(f64::INFINITY);
            if there < now * (1.0 - 1e-9) - 1e-14 {
                let says = format!("angle error {now:e}, with slope {step:+e} of it {there:e}");
                self.broken_off_change_points("constants are not the best", says, report);
            }
        }
    }
}
