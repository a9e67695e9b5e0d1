//! The ranges to randomise as a small file for a training run: TOML or YAML, flat, no time stamp.

use std::fmt::Write as _;

use crate::study::{Against, Range, RegionRanges, ToleranceFindings};

/// The format of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RangesFormat {
    /// TOML.
    Toml,
    /// YAML.
    Yaml,
}

/// The ranges of `found` in `format`, with what they rest on as a comment.
#[must_use]
pub fn ranges_file(found: &ToleranceFindings, format: RangesFormat) -> String {
    let mut out = head(found);
    let r = &found.ranges;
    if let Some(joint) = found.against.joint().filter(|_| found.still.is_none()) {
        let nominal = [("nominal", joint.ratio)];
        table(&mut out, format, "ratio", &figures(r.ratio.as_ref(), &nominal));
        let nominal = [("nominal", joint.offset)];
        table(&mut out, format, "zero_offset_rad", &figures(r.zero_offset.as_ref(), &nominal));
    }
    let nominal = found.against.multiplier().map(|multiplier| ("nominal", multiplier));
    table(&mut out, format, "multiplier", &figures(r.multiplier.as_ref(), nominal.as_slice()));
    table(&mut out, format, "tilt_rad", &figures(r.tilt.as_ref(), &[]));
    table(&mut out, format, "play_rad", &figures(r.play.as_ref(), &[]));
    table(&mut out, format, "armature_kg_m2", &figures(r.armature.as_ref(), &[]));
    if let Some(correlation) = r.correlation {
        table(&mut out, format, "correlation", &[("ratio_zero_offset".to_owned(), correlation)]);
    }
    out
}

/// The same of two direct joints.
#[must_use]
pub fn region_ranges_file(found: &RegionRanges, format: RangesFormat) -> String {
    let name: String = found.design.chars().filter(|c| !c.is_control()).collect();
    let mut out = format!("# Ranges to randomise for both direct joints of the design {name}.\n");
    if found.builds == 0 {
        out.push_str("# No tolerance is drawn: nothing scatters.\n");
    } else {
        let _ = writeln!(
            out,
            "# motor_K_by_JOINT: the emitted matrix (nominal) from build to build, motor turn by joint turn, motors in the order of\n\
             # the file and counted as drawn. zero_offset_*_rad: joint turn less that of the matrix. Each build's own matrix is the\n\
             # mean of its rates over the region, its offsets are what is left of the mean error of its angles; what they differ\n\
             # from the drawn drive's own is put on the emitted ones.\n\
             # low_seen, high_seen: the smallest and largest of the builds, computed, not of every build within the tolerances.\n\
             # mean, standard_deviation: over {} builds, {} between the limits, seed {}.\n\
             # Draw all of them together with their correlation.",
            found.builds,
            found.request.distribution.name(),
            found.request.seed
        );
    }
    out.push_str(
        "# Armatures of the joints go with the matrix, T' diag(n^2 J) T: do not draw them on their own.\n",
    );
    for (name, nominal, range) in &found.constants {
        table(&mut out, format, name, &figures(range.as_ref(), &[("nominal", *nominal)]));
    }
    let pairs = found.correlations.iter();
    let pairs: Vec<(String, f64)> =
        pairs.map(|([one, other], share)| (format!("{one}__{other}"), *share)).collect();
    table(&mut out, format, "correlation", &pairs);
    out
}

fn head(found: &ToleranceFindings) -> String {
    let name: String = found.design.chars().filter(|c| !c.is_control()).collect();
    match &found.against {
        Against::Joint(_) => head_of_joint(found, &name),
        Against::Finger(finger) => {
            let title = finger.motion.stand_in.title();
            head_of_finger(found, &format!("the {title} in a finger's place, design {name}"))
        }
    }
}

fn head_of_finger(found: &ToleranceFindings, of: &str) -> String {
    let mut out = format!("# Ranges to randomise for {of}.\n");
    if found.ranges.multiplier.is_some() {
        let _ = writeln!(
            out,
            "# multiplier: of the hinge at the crank pin (nominal) from build to build. Each build's own follows its coupler\n\
             # best on the mean over the stroke; what it differs from the drawn linkage's is put on the nominal one.\n\
             # low_seen, high_seen: the smallest and largest of the corners of the drawn tolerances and of the builds, computed.\n\
             # mean, standard_deviation: over {} builds, {} between the limits, seed {}.",
            found.ranges.builds.unwrap_or_default(),
            found.request.distribution.name(),
            found.request.seed
        );
    }
    out.push_str(
        "# tilt_rad: attitude of the pad less that of its stand-in; no build within the drawn tolerances leaves it in any pose.\n",
    );
    out
}

fn head_of_joint(found: &ToleranceFindings, name: &str) -> String {
    let mut out = format!("# Ranges to randomise for the direct joint of the design {name}.\n");
    match &found.statistics {
        Some(s) => {
            let _ = writeln!(
                out,
                "# ratio, zero_offset_rad: the emitted constants (nominal) from build to build. Each build gets its own best\n\
                 # constants over the stroke, by the rule that the emitted ones follow; what they differ from the drawn\n\
                 # linkage's best is put on the emitted ones. An offset given in the design stays where it is.\n\
                 # low_seen, high_seen: the smallest and largest of the corners of the drawn tolerances and of the builds,\n\
                 # computed. low_certified, high_certified: no build within the drawn tolerances is beyond.\n\
                 # mean, standard_deviation: over {} builds, {} between the limits, seed {}.",
                s.own.map_or(0, |own| own.builds),
                found.request.distribution.name(),
                found.request.seed
            );
        }
        None if found.still.is_some() => out.push_str(
            "# The rocker stands still in the stroke: no ratio and no spread of it can be given.\n",
        ),
        None => out.push_str("# No tolerance is drawn: nothing scatters but the play.\n"),
    }
    if found.ranges.correlation.is_some() {
        out.push_str("# Draw ratio and zero offset together with their correlation.\n");
    }
    out.push_str(
        "# The armature is n^2 J and goes with the ratio squared: do not draw it on its own.\n",
    );
    out
}

fn figures(range: Option<&Range>, nominal: &[(&str, f64)]) -> Vec<(String, f64)> {
    let mut figures: Vec<(String, f64)> =
        nominal.iter().map(|(k, v)| ((*k).to_owned(), *v)).collect();
    if let Some(range) = range {
        let certified = if range.certified { "certified" } else { "seen" };
        figures.push((format!("low_{certified}"), range.bounds[0]));
        figures.push((format!("high_{certified}"), range.bounds[1]));
        if let Some([mean, deviation]) = range.normal {
            figures.push(("mean".to_owned(), mean));
            figures.push(("standard_deviation".to_owned(), deviation));
        }
    }
    figures
}

fn table(out: &mut String, format: RangesFormat, name: &str, figures: &[(String, f64)]) {
    if figures.is_empty() {
        return;
    }
    let _ = match format {
        RangesFormat::Toml => writeln!(out, "\n[{name}]"),
        RangesFormat::Yaml => writeln!(out, "\n{name}:"),
    };
    for (key, value) in figures.iter().filter(|(_, v)| v.is_finite()) {
        let _ = match format {
            RangesFormat::Toml => writeln!(out, "{key} = {value:?}"),
            RangesFormat::Yaml => writeln!(out, "  {key}: {value:?}"),
        };
    }
}
