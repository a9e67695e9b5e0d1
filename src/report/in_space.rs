//! What is said of a drive that is no planar four-bar: margins, stops, what each misalignment costs, what was assumed.

use crate::equivalence::{Criterion, Outcome};
use crate::study::{Check, Cost, DriveFindings, NearStop};
use crate::units::{angle, degrees, percent, percents};

use super::blocks::{Block, Group, Table, or_dash};

/// A tilt below this, rad, is none.
const NO_TILT: f64 = 1e-9;

/// Margins and stops, the costs, and what was assumed.
pub(super) fn margins(check: &Check, found: &DriveFindings) -> Group {
    let at = |turn: f64| format!("at joint {}", angle(check.readings.joint(turn), 2));
    let mut lines = Vec::new();
    lines.extend(
        found
            .crank_side
            .map(|f| format!("crank side at least {} {}", degrees(f.value), at(f.at_joint))),
    );
    lines.extend(
        found
            .ball_tilt
            .filter(|f| f.value > NO_TILT)
            .map(|f| format!("ball tilt at most {} {}", degrees(f.value), at(f.at_joint))),
    );
    lines.extend(found.stops.iter().map(|stop| stands(check, stop)));
    lines.extend(assumed(found));
    let mut group = super::blocks::listed("margins, stops, and what was assumed", lines);
    group.extend(costs(&found.costs));
    group
}

/// What the verdict rests on that the design does not say.
pub(super) fn assumed(found: &DriveFindings) -> impl Iterator<Item = String> {
    found.assumptions.iter().map(|words| format!("assumed: {words}"))
}

fn stands(check: &Check, stop: &NearStop) -> String {
    let [from, to] = [check.readings.joint(stop.joint), stop.margin].map(|turn| angle(turn, 2));
    format!("{} at joint {from}, {to} beyond the stroke", stop.kind.name())
}

/// The drive as drawn and without each misalignment.
fn costs(costs: &[Cost]) -> Group {
    if costs.is_empty() {
        return Group::new();
    }
    let ratios = percents(&costs.iter().map(|cost| cost.ratio).collect::<Vec<_>>());
    let rows = costs.iter().zip(ratios).map(|(cost, ratio)| {
        let name = match cost.without {
            "nothing" => "as drawn".to_owned(),
            "rod length" => "with the rod as long as the centres are apart".to_owned(),
            what => format!("without {what}"),
        };
        vec![
            name.into(),
            degrees(cost.angle).into(),
            ratio.into(),
            or_dash(cost.tilt, degrees).into(),
        ]
    });
    let names = ["what each misalignment costs", "angle error", "ratio error", "ball tilt"];
    vec![Block::Table(Table::new("What each misalignment costs", &names, rows.collect()))]
}

/// Why no lengths help an actuator whose ratio fails over so long a stroke.
pub(super) fn law(check: &Check) -> Option<String> {
    let longest = check.in_space.as_ref()?.longest_even_stroke?;
    let ratio = check.criterion(Criterion::Ratio).filter(|c| c.outcome == Outcome::Fails)?;
    let [a, b] = check.stroke.joint;
    ((b - a).abs() > longest).then(|| {
        format!(
            "it is not the lengths: no actuator between two pins keeps its ratio within ±{} over more than {} of joint angle",
            percent(ratio.limit),
            degrees(longest)
        )
    })
}
