//! What was tried and what came of it, by class.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::run::Tried;

/// How many samples of a remark are kept, and how many of the slowest designs.
const SAMPLES: usize = 5;
const SLOWEST: usize = 10;
/// Breaks by which a robot could be built on what is not so.
const UNTRUE: [&str; 6] = [
    "untrue holds",
    "bound beaten",
    "untrue stretch",
    "untrue stand-in",
    "untrue largest tolerance",
    "untrue largest stroke",
];
const VERDICTS: [&str; 4] = ["equivalent", "not_equivalent", "undecided", "refused"];

#[derive(Clone, Debug, Default)]
struct Class {
    families: u64,
    verdicts: BTreeMap<String, u64>,
    builds: u64,
    poses: u64,
    needless: u64,
    breaks: u64,
}

/// All counts of a run.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    classes: BTreeMap<&'static str, Class>,
    remarks: BTreeMap<&'static str, (u64, Vec<String>)>,
    breaks: BTreeMap<&'static str, (u64, Vec<String>)>,
    slowest: Vec<(f64, u64, &'static str)>,
    seconds: Vec<f64>,
    /// The closest that a found figure came to its bound, or went past it.
    excess: [Option<f64>; 5],
}

fn note(into: &mut BTreeMap<&'static str, (u64, Vec<String>)>, kind: &'static str, says: String) {
    let (count, samples) = into.entry(kind).or_default();
    *count += 1;
    if samples.len() < SAMPLES {
        samples.push(says);
    }
}

impl Tally {
    pub fn add(&mut self, tried: &Tried) {
        let report = &tried.report;
        let class = self.classes.entry(tried.drawing.class).or_default();
        class.families += 1;
        *class.verdicts.entry(report.verdict.clone()).or_default() += 1;
        class.builds += report.builds;
        class.poses += report.poses;
        class.breaks += u64::from(!report.breaks.is_empty());
        let needless = report.remarks.iter().any(|(kind, _)| *kind == "needless undecided");
        class.needless += u64::from(needless);
        for (kind, says) in &report.remarks {
            note(&mut self.remarks, kind, format!("case {}: {says}", tried.case));
        }
        for one in &report.breaks {
            note(&mut self.breaks, one.kind, format!("case {}: {}", tried.case, one.says));
        }
        for (kept, new) in self.excess.iter_mut().zip(report.excess) {
            *kept = match (*kept, new) {
                (Some(x), Some(y)) => Some(x.max(y)),
                (x, y) => x.or(y),
            };
        }
        self.seconds.push(tried.seconds);
        self.slowest.push((tried.seconds, tried.case, tried.drawing.class));
        self.slowest.sort_by(|x, y| y.0.total_cmp(&x.0));
        self.slowest.truncate(SLOWEST);
    }

    pub fn families(&self) -> u64 {
        self.classes.values().map(|c| c.families).sum()
    }

    /// Cases in which something broke.
    pub fn broken(&self) -> u64 {
        self.classes.values().map(|c| c.breaks).sum()
    }

    /// How often something was said to hold, or bounded, that does not.
    pub fn untrue(&self) -> u64 {
        UNTRUE.iter().filter_map(|kind| self.breaks.get(kind)).map(|(count, _)| count).sum()
    }

    pub fn verdicts(&self, word: &str) -> u64 {
        self.classes.values().filter_map(|c| c.verdicts.get(word)).sum()
    }

    /// One line.
    pub fn progress(&self) -> String {
        let verdicts = VERDICTS.map(|word| format!("{} {word}", self.verdicts(word)));
        format!("{} families, {}; {} broke", self.families(), verdicts.join(", "), self.broken())
    }

    /// Everything.
    pub fn summary(&self) -> String {
        let mut out = String::new();
        let (builds, poses) =
            self.classes.values().fold((0, 0), |(b, p), class| (b + class.builds, p + class.poses));
        let _ = writeln!(
            out,
            "{} ({} untrue); {builds} builds, {poses} poses",
            self.progress(),
            self.untrue()
        );
        let _ = writeln!(
            out,
            "\n{:18} {:>8} {:>6} {:>6} {:>6} {:>7} {:>9} {:>11} {:>12} {:>6}",
            "class",
            "families",
            "equiv",
            "not",
            "undec",
            "refused",
            "needless",
            "builds",
            "poses",
            "broke"
        );
        for (name, class) in &self.classes {
            let [equivalent, not, undecided, refused] =
                VERDICTS.map(|word| class.verdicts.get(word).copied().unwrap_or(0));
            let _ = writeln!(
                out,
                "{name:18} {:>8} {equivalent:>6} {not:>6} {undecided:>6} {refused:>7} {:>9} {:>11} {:>12} {:>6}",
                class.families, class.needless, class.builds, class.poses, class.breaks
            );
        }
        let _ = writeln!(
            out,
            "\nfound worst less bound, at most: {:?} (angle or tilt rad, ratio or grip, transmission angle rad, shift m, opening m)",
            self.excess
        );
        self.write_times(&mut out);
        write_notes(&mut out, "remarks", &self.remarks);
        write_notes(&mut out, "BREAKS", &self.breaks);
        out
    }

    fn write_times(&self, out: &mut String) {
        let mut seconds = self.seconds.clone();
        seconds.sort_by(f64::total_cmp);
        let at =
            |per_cent: usize| seconds.get(seconds.len() * per_cent / 100).map_or(0.0, |s| 1e3 * s);
        let _ = writeln!(
            out,
            "check, ms of its thread: p50 {:.1}, p90 {:.1}, p99 {:.1}; the slowest:",
            at(50),
            at(90),
            at(99)
        );
        for (seconds, case, class) in &self.slowest {
            let _ = writeln!(out, "  {:8.1} ms  case {case} ({class})", 1e3 * seconds);
        }
    }
}

fn write_notes(out: &mut String, title: &str, notes: &BTreeMap<&'static str, (u64, Vec<String>)>) {
    let _ = writeln!(out, "\n{title}");
    for (kind, (count, samples)) in notes {
        let _ = writeln!(out, "  {count:6} {kind}");
        for sample in samples {
            let _ = writeln!(out, "         {sample}");
        }
    }
}
