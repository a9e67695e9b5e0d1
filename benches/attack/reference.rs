//! The figures of the reference linkage alone.

use super::compare::{Case, Report, criterion, number, pair};
use super::double::{Double, Real};
use super::drawing::By;
use super::random::Random;
use super::truth::{AIMS, Question, Worst, aimed_at, worst};

impl Case<'_> {
    /// How far rounding of the inputs to floats, a few units in the last place, moves the figure.
    fn slack(&self, aimed: usize, found: &Worst) -> f64 {
        let (sign, figure) = aimed_at(aimed);
        let sign = if figure == 2 { 1.0 } else { sign };
        let mut slack = 0.0;
        for k in 0..7 {
            let mut moved = self.alone;
            if k == 6 {
                moved.zero_crank = moved.zero_crank + Double::of(2e-15);
            } else {
                let by = Double::of(2e-15) * Double::of(moved.high[k].value().abs().max(1e-3));
                moved.low[k] = moved.low[k] + by;
                moved.high[k] = moved.high[k] + by;
            }
            let there = moved.figures(&found.at).map_or(f64::INFINITY, |figures| {
                (Double::of(sign) * figures[figure] - found.value).value().abs()
            });
            slack += there;
        }
        slack
    }

    pub(super) fn nominal_figures(&self, random: &mut Random, report: &mut Report) {
        for (figure, name) in self.names().iter().enumerate() {
            let said = criterion(self.json, name).and_then(|c| c["nominal"].as_f64());
            let aims = (0..AIMS).filter(|&k| aimed_at(k).1 == figure);
            let Some(found) = self.nominal.worst(figure) else { continue };
            let true_value = found.value.value();
            let slack = aims
                .filter_map(|k| self.nominal.aims[k].map(|w| self.slack(k, &w)))
                .fold(0.0, f64::max);
            let off = said.map(|s| (s - true_value).abs());
            // The force of a pad that hardly moves is the quotient of two next to nothing.
            let hair = if self.meaning.is_of_pad() && figure == 1 { 1e-8 } else { 1e-12 };
            let infinite = figure == 1 && (true_value > 0.9 || true_value.is_infinite());
            match off {
                None if infinite => {}
                Some(off) if off <= 1e-9 * true_value.abs() + hair + slack => {}
                _ if infinite && self.runs_over_dead_point() => {}
                Some(_) if self.json_turns_explain(figure, said, true_value, random) => {}
                _ => self.broken_off_change_points(
                    "nominal figure",
                    format!("{}: {said:?} is {true_value:e} (slack {slack:e})", name),
                    report,
                ),
            }
        }
    }

    /// Smallest, largest and mean transmission ratio of the reference.
    pub(super) fn transmission_ratio(&self, report: &mut Report) {
        let [_, _, Some(up), Some(down), ..] = self.nominal.aims else { return };
        if self.meaning.is_of_pad() || self.runs_over_dead_point() || !up.value.value().is_finite()
        {
            return;
        }
        let one = Double::of(1.0);
        let ratio = one / self.alone.slope;
        let mut ends = [ratio * (one + up.value), ratio * (one - down.value)].map(Real::value);
        ends.sort_by(f64::total_cmp);
        let slack = ratio.value().abs() * (self.slack(2, &up) + self.slack(3, &down));
        let turned = |share: f64| {
            let place = [0.0, 0.0, 0.0, 0.0, 0.0, share];
            let still = Question { slope: Double::of(0.0), ..self.alone };
            still.figures(&place).map(|figures| figures[0])
        };
        let mean = turned(1.0).zip(turned(0.0)).map_or(f64::NAN, |(to, from)| {
            ((self.alone.high[5] - self.alone.low[5]) / (to - from)).value()
        });
        for (key, own) in [("min", ends[0]), ("max", ends[1]), ("mean", mean)] {
            let said = number(self.json, &format!("/transmission_ratio/{key}"));
            let off = said.map_or(f64::INFINITY, |said| (said - own).abs());
            if off > 1e-8 * own.abs() + 2.0 * slack {
                let says = format!("{key}: {said:?} is {own}");
                self.broken_off_change_points("transmission ratio", says, report);
            }
        }
    }

    /// A joint stroke's ends are roots; where the figure is steep their last digits matter.
    fn json_turns_explain(
        &self,
        figure: usize,
        said: Option<f64>,
        true_value: f64,
        random: &mut Random,
    ) -> bool {
        let (Some(ends), Some(said)) = (pair(self.json, "/stroke/motor_rad"), said) else {
            return false;
        };
        if self.meaning.by == By::Motor {
            return false;
        }
        let mut moved = self.alone;
        moved.low[5] = Double::of(ends[0]);
        moved.high[5] = Double::of(ends[1]);
        let there = worst(&moved, random).worst(figure).map(|w| w.value.value());
        there.is_some_and(|there| {
            (there - said).abs() <= 1e-9 * said.abs() + 4.0 * (there - true_value).abs() + 1e-14
        })
    }

    fn runs_over_dead_point(&self) -> bool {
        let beyond = |k: usize| self.nominal.aims[k].is_some_and(|w| w.value.value() >= 1.0);
        beyond(2) || beyond(3)
    }
}
