//! What a training run should randomise, in words.

use crate::study::{Range, ToleranceFindings};
use crate::units::{degrees, fixed, number, span};

use super::blocks::{Group, listed};

/// What a training run should randomise.
pub(super) fn ranges(found: &ToleranceFindings) -> Group {
    listed("what a training run should randomise", range_lines(found))
}

fn range_lines(found: &ToleranceFindings) -> Vec<String> {
    let r = &found.ranges;
    let mut lines = Vec::new();
    if let Some((ratio, joint)) = r.ratio.as_ref().zip(found.against.joint()) {
        lines.push(format!("ratio of the joint {}", scattered(ratio, joint.ratio)));
    }
    if let Some((offset, joint)) = r.zero_offset.as_ref().zip(found.against.joint()) {
        lines.push(offset_line(offset, joint.offset));
    }
    lines.extend(pad_lines(found));
    if let Some(correlation) = r.correlation {
        lines.push(format!("correlation of the two {}", fixed(correlation, 2)));
    }
    if let Some(play) = &r.play {
        lines.push(format!("play {}", span(play.bounds.map(f64::to_degrees), "deg")));
    }
    if let Some(armature) = &r.armature {
        lines.push(format!(
            "armature n²J {}…{} kg m2, with the ratio squared",
            number(armature.bounds[0]),
            number(armature.bounds[1])
        ));
    }
    let own = found.statistics.as_ref().and_then(|s| s.own);
    lines.extend(own.map(|own| {
        format!(
            "ratio and offset are those of the joint that is emitted; they scatter as each build's own best constants over the \
             stroke do about the drawn linkage's. Smallest and largest of the corners of the tolerances and of {} builds, computed",
            own.builds
        )
    }));
    lines
}

/// What a training run should randomise of a finger's stand-in.
fn pad_lines(found: &ToleranceFindings) -> Vec<String> {
    let r = &found.ranges;
    let multiplier = r.multiplier.as_ref().zip(found.against.multiplier()).map(|(range, emitted)| {
        format!(
            "multiplier of the hinge at the crank pin {}; each build's own is what follows its coupler best on the mean over \
             the stroke; smallest and largest of the corners of the tolerances and of {} builds, computed",
            scattered(range, emitted),
            r.builds.unwrap_or_default()
        )
    });
    let tilt = r.tilt.as_ref().map(|tilt| {
        let tilt = span(tilt.bounds.map(f64::to_degrees), "deg");
        format!("attitude of the pad against its stand-in {tilt}: no build leaves it in any pose (proved)")
    });
    multiplier.into_iter().chain(tilt).collect()
}

/// `1.35806, in builds 1.35803…1.35809, mean 1.35806, σ 0.000012`, with two digits of σ.
fn scattered(range: &Range, emitted: f64) -> String {
    let [low, high] = range.bounds;
    let Some([mean, deviation]) = range.normal.filter(|[_, d]| *d > 0.0) else {
        return format!("{}, the same in all builds", fixed(emitted, 5));
    };
    let [emitted, low, high, mean, deviation] =
        [emitted, low, high, mean, deviation].map(|x| fixed(x, decimals(deviation)));
    format!("{emitted}, in builds {low}…{high}, mean {mean}, σ {deviation}")
}

/// Decimals that show two digits of `x`, 3 to 9.
fn decimals(x: f64) -> usize {
    (3..9).find(|places| x * 10_f64.powi(*places) >= 10.0).map_or(9, |p| p.unsigned_abs() as usize)
}

fn offset_line(offset: &Range, emitted: f64) -> String {
    let bounds = span(offset.bounds.map(f64::to_degrees), "deg");
    let scatter = match offset.normal {
        Some([_, deviation]) if deviation > 0.0 => {
            format!("in builds {bounds}, σ {}", degrees(deviation))
        }
        _ => "the same in all builds".to_owned(),
    };
    format!("zero offset of the joint {}, {scatter}", degrees(emitted))
}
