//! `tolerance` in words: which length matters, worst case beside statistics, what could be allowed.

use crate::drive::Kind;
use crate::equivalence::{Criterion, Outcome};
use crate::study::{Against, ToleranceFindings, Worst, figure};
use crate::tolerance::{
    Alone, Budget, ClassChoice, Contribution, Deviation, Estimate, Growth, Histogram, Scattered,
    Varied,
};
use crate::units::{alike, angle, degrees, fixed, millimetres, percents, rounded_down, span};

use super::blocks::{Block, Cell, Characters, Group, Holds, Table, cells, dash, or_dash};
use super::cautions::DECIDES;
use super::check::warned;
use super::drawn_builds::{at_random, between, of_spread, share, sized, step, why_not_all};
use super::randomised::ranges;
use super::style::{Detail, Style};
use super::terminal::{self, bar};

/// The findings for a person.
#[must_use]
pub fn tolerance_text(found: &ToleranceFindings, detail: Detail, style: Style) -> String {
    let warnings = warned(&found.warnings);
    let groups = match found.still {
        Some(at) => {
            let asked = Block::Line("more: unloop explain rocker_stands_still".to_owned());
            vec![stands_still(found, at), warnings, vec![asked], vec![caution(found)]]
        }
        None if !detail.is_full() => what_decides(found, warnings),
        None => vec![
            headline(found),
            ranking(found),
            worst_case(found),
            histogram(found),
            allowed(found),
            ranges(found),
            warnings,
            vec![caution(found)],
        ],
    };
    terminal::text(&groups, style)
}

/// Where it holds, what could be allowed; where not, which size is to blame.
fn what_decides(found: &ToleranceFindings, warnings: Group) -> Vec<Group> {
    let next = if holds(found) { allowed(found) } else { ranking(found) };
    let caution = "for the distribution assumed, not for your shop: measure parts (--full)";
    let caution = vec![Block::Caution(caution.to_owned())];
    vec![headline(found), worst_case(found), next, warnings, caution]
}

/// No table where no figure has a bound: the rocker stands still at the joint turn `at`.
pub(super) fn stands_still(found: &ToleranceFindings, at: f64) -> Group {
    let why = format!(
        "the rocker stands still in the stroke, at joint {} from the zero pose: the transmission ratio has no bound there, \
         so that no constant ratio, no largest tolerance and no spread can be given. End the stroke well before that pose, \
         or change the zero pose or the lengths",
        degrees(at)
    );
    let what = "no direct joint, whatever the tolerances".to_owned();
    vec![Block::Title(found.design.clone(), None, what), Block::Line(why)]
}

/// The answer, against what, and what was drawn at random.
pub(super) fn headline(found: &ToleranceFindings) -> Group {
    let title = Block::Title(found.design.clone(), None, answer(found));
    let stand_in = match &found.against {
        Against::Joint(joint) => format!("a direct joint with ratio {}", fixed(joint.ratio, 5)),
        Against::Finger(finger) => {
            format!("a {} in a finger's place", finger.motion.stand_in.title())
        }
    };
    vec![title, Block::Line(format!("against {stand_in}; {}", drawn_at_random(found)))]
}

fn drawn_at_random(found: &ToleranceFindings) -> String {
    let Some(s) = &found.statistics else { return "no tolerance is drawn".to_owned() };
    let drawn = at_random(s.samples, s.stopped, found.request.distribution, found.request.seed);
    let seen = s.poses.map_or_else(String::new, |poses| {
        format!("; each seen at {poses} even poses of the stroke")
    });
    drawn + &seen
}

/// Does every figure that was looked at stay within its limit?
fn holds(found: &ToleranceFindings) -> bool {
    found.worst.iter().all(|worst| worst.outcome == Outcome::Holds)
}

/// Is the worst case certain, and not that of some corners?
fn is_proved(found: &ToleranceFindings) -> bool {
    found.worst.iter().all(|worst| worst.corner.is_none())
}

/// Whether all builds hold, or how many.
fn answer(found: &ToleranceFindings) -> String {
    let Some(s) = &found.statistics else { return as_drawn(found) };
    if holds(found) {
        let how =
            if is_proved(found) { "proved" } else { "by its worst corners: computed, not proved" };
        return format!("HOLDS for every build ({how})");
    }
    let Some(all) = s.yields.iter().find(|y| y.name == "all") else { return as_drawn(found) };
    let outcomes = found.worst.iter().map(|worst| (worst.criterion, worst.outcome));
    let why = why_not_all(outcomes, "not all figures are assessed");
    format!("{} of builds hold: {why}", share(all.share))
}

/// Without tolerances.
fn as_drawn(found: &ToleranceFindings) -> String {
    let word = if holds(found) { "HOLDS as drawn" } else { "does not hold as drawn" };
    format!("{word}; no tolerance is drawn")
}

/// The worst case of one criterion.
pub(super) fn worst_of(found: &ToleranceFindings, criterion: Criterion) -> Option<&Worst> {
    found.worst.iter().find(|w| w.criterion == criterion)
}

/// The certified worst case of the figure to lead with.
pub(super) fn leading(found: &ToleranceFindings) -> Option<&Worst> {
    worst_of(found, found.against.leads())
}

/// What is drawn for one variable.
pub(super) fn deviation(found: &ToleranceFindings, variable: Varied) -> String {
    let drawn = found
        .deviations
        .iter()
        .find(|(v, _)| *v == variable)
        .map_or_else(Deviation::default, |(_, d)| *d);
    between(drawn, variable.measure)
}

fn ranking(found: &ToleranceFindings) -> Group {
    let heading = format!("which {} matters", size_word(found));
    let heading = Block::Heading(heading, "(first order)".to_owned());
    vec![heading, Block::Table(ranking_table(found))]
}

/// What the figures of the drawing are called.
pub(super) fn size_word(found: &ToleranceFindings) -> &'static str {
    if found.kind == Kind::FourBar { "length" } else { "size" }
}

/// Steepest slopes by 0.1 mm, or by 1 deg of the zero crank angle.
pub(super) fn ranking_table(found: &ToleranceFindings) -> Table {
    let size = size_word(found);
    let names: &[&str] = match found.against {
        Against::Joint(_) => &[size, "drawn", "angle at most", "ratio at most", "of the spread"],
        Against::Finger(_) => &["length", "drawn", "tilt at most", "of the spread"],
    };
    let steps = |of: fn(&Contribution) -> Option<f64>| -> Vec<f64> {
        let step = |c: &Contribution| Some(of(c)? * step(c.variable.measure).0);
        found.ranking.iter().filter_map(step).collect()
    };
    let angles: Vec<f64> = steps(|c| Some(c.slope)).into_iter().map(f64::to_degrees).collect();
    let mut ratios = percents(&steps(|c| c.ratio_slope)).into_iter();
    let row = |(c, angle): (&Contribution, String)| {
        let unit = step(c.variable.measure).1;
        let ratio = c.ratio_slope.and_then(|_| ratios.next());
        let mut row = cells([c.variable.to_string(), deviation(found, c.variable)]);
        row.extend(
            [Some(angle), ratio].into_iter().flatten().map(|x| format!("{x} per {unit}").into()),
        );
        row.extend(cells([of_spread(c.share), bar(c.share, 20)]));
        row
    };
    let rows = found.ranking.iter().zip(alike(&angles, "deg")).map(row).collect();
    Table::new(format!("What each {size} does, first order"), names, rows).and(Holds::Bars, "")
}

/// Worst case beside statistics.
pub(super) fn worst_case(found: &ToleranceFindings) -> Group {
    let is_proved = is_proved(found);
    let row = |w: &Worst| {
        let bound = w.bound.or(w.corner);
        let bound = bound.map_or_else(|| "not known".to_owned(), |b| figure(w.criterion, b));
        let [mean, most, nearly_all] = drawn_figures(found, w.criterion);
        let title = w.criterion.title().to_owned();
        let limit = figure(w.criterion, w.limit);
        let within = builds_within(found, w.criterion);
        let mut row = cells([title, limit, bound, mean, most, nearly_all, within]);
        row.push(Cell::outcome(w.outcome));
        row
    };
    let names = [
        "worst figure",
        "limit",
        if is_proved { "every build" } else { "worst corner" },
        "mean",
        "95 % below",
        "99.9 % below",
        "within",
    ];
    let caption = if is_proved {
        "Every build (proved) beside builds drawn at random"
    } else {
        "Worst corners of the tolerances (computed) beside builds drawn at random"
    };
    let table = Table::new(caption, &names, found.worst.iter().map(row).collect())
        .and(Holds::Outcome, "outcome");
    let heading = Block::heading(if is_proved {
        "worst case (every build, proved) beside statistics"
    } else {
        "worst corners (computed, not proved) beside statistics"
    });
    let mut group = vec![heading, Block::Table(table)];
    group.extend(all_together(found).map(Block::Line));
    group
}

/// How many builds satisfy all criteria.
pub(super) fn all_together(found: &ToleranceFindings) -> Option<String> {
    let all = found.statistics.as_ref()?.yields.iter().find(|y| y.name == "all")?;
    Some(format!(
        "all criteria together: {} of builds (95 % interval {}…{})",
        share(all.share),
        share(all.interval[0]),
        share(all.interval[1])
    ))
}

fn drawn_figures(found: &ToleranceFindings, criterion: Criterion) -> [String; 3] {
    let none = || [dash(), dash(), dash()];
    let scattered = found.statistics.as_ref().and_then(|s| s.of(criterion));
    let Some(Scattered { mean, quantiles }) = scattered else { return none() };
    let at = |wanted: f64| {
        let found = quantiles.iter().find(|q| q.share >= wanted);
        or_dash(found, |q| with_error(criterion, &q.figure))
    };
    [with_error(criterion, mean), at(0.95), at(0.999)]
}

/// The figure, with its standard error where that shows in two digits of it.
fn with_error(criterion: Criterion, e: &Estimate) -> String {
    if e.error.is_finite() && e.error > 0.01 * e.value.abs() {
        format!("{} ± {}", figure(criterion, e.value), figure(criterion, e.error))
    } else {
        figure(criterion, e.value)
    }
}

fn builds_within(found: &ToleranceFindings, criterion: Criterion) -> String {
    let yields = found.statistics.iter().flat_map(|s| &s.yields);
    or_dash(yields.into_iter().find(|y| y.name == criterion.name()), |y| share(y.share))
}

/// How the worst of the figure to lead with scatters, drawn with characters.
fn histogram(found: &ToleranceFindings) -> Group {
    let Some(s) = &found.statistics else { return Group::new() };
    let Histogram { top, counts } = &s.histogram;
    let (bars, each) = occupied(counts);
    let Some(tallest) = bars.iter().map(|bar| bar.1).max() else { return Group::new() };
    let limit = leading(found).map_or(f64::NAN, |w| w.limit);
    let width = top * f64::from(each) / f64::from(BINS);
    let decimals = (2..6).find(|d| width.to_degrees() * 10_f64.powi(*d) >= 10.0).unwrap_or(6);
    let label = |x: f64| angle(x, decimals.unsigned_abs() as usize);
    let row = |(bin, count): &(u32, u64)| {
        let from = f64::from(*bin) * width;
        let limit = if (from..from + width).contains(&limit) { "  limit" } else { "" };
        (label(from), Some(ratio(*count, tallest)), format!("{count}{limit}"))
    };
    let mut rows: Vec<_> = bars.iter().map(row).collect();
    let past = match counts.last() {
        None | Some(0) => String::new(),
        Some(beyond) => {
            format!("; {beyond} builds beyond or not closing")
        }
    };
    let end = bars.last().map_or(0.0, |bar| f64::from(bar.0 + 1) * width);
    rows.push((label(end), None, format!("no build beyond{past}")));
    vec![
        Block::Heading(
            format!("worst {} over the stroke", found.against.leads().title()),
            "(builds)".to_owned(),
        ),
        Block::Characters(Characters::Bars(rows)),
    ]
}

#[allow(clippy::cast_precision_loss, reason = "counts stay far below 2^52")]
pub(super) fn ratio(count: u64, of: u64) -> f64 {
    count as f64 / of as f64
}

/// Bins of a histogram, the last that counts what lies beyond aside.
const BINS: u32 = 32;
/// More bars are told two by two.
const MOST_BARS: usize = 20;

/// Bars with their numbers from the first that has builds to the last, and how many bins each is.
fn occupied(counts: &[u64]) -> (Vec<(u32, u64)>, u32) {
    let inside = counts.get(..BINS as usize).unwrap_or_default();
    let filled = |each: usize| {
        let bars = inside.chunks(each).map(|bins| bins.iter().sum::<u64>());
        let mut bars: Vec<(u32, u64)> = (0..).zip(bars).skip_while(|bar| bar.1 == 0).collect();
        while bars.last().is_some_and(|bar| bar.1 == 0) {
            bars.pop();
        }
        bars
    };
    let all = filled(1);
    if all.len() <= MOST_BARS { (all, 1) } else { (filled(2), 2) }
}

/// One tolerance for all four lengths with which the verdict is proved; how much the drawn ones may grow elsewhere.
pub(super) fn allowed_alike(found: &ToleranceFindings) -> String {
    if found.budget.is_none() {
        return found.growth.as_ref().map_or_else(dash, grown);
    }
    format!("all four lengths alike: {}", half_width(found.symmetric))
}

/// What may be allowed at most.
fn half_width(tolerance: Option<f64>) -> String {
    let shown = tolerance.map(|t| format!("±{}", millimetres(rounded_down(t))));
    shown.unwrap_or_else(|| "nothing".to_owned())
}

/// What each length or size could be allowed.
pub(super) fn allowed(found: &ToleranceFindings) -> Group {
    let mut group = match &found.budget {
        Some(budget) => allowed_lengths(found, budget),
        None => found.growth.as_ref().map(growth).unwrap_or_default(),
    };
    group.extend(found.lost_motion.as_ref().map(|lost| {
        let lost_motion = span([lost.least, lost.most].map(f64::to_degrees), "deg");
        Block::List(vec![format!(
            "play in the pins: {lost_motion} of lost motion at the joint, {} held, load reversed",
            if found.budget.is_some() { "crank" } else { "motor" }
        )])
    }));
    group
}

fn allowed_lengths(found: &ToleranceFindings, budget: &Budget) -> Group {
    let class = |choice: Option<&ClassChoice>| {
        let shown = choice.map(|c| format!("{} (±{})", c.class, millimetres(c.half_width)));
        shown.unwrap_or_else(|| "none".to_owned())
    };
    let rows = found.alone.iter().zip(&budget.alone);
    let rows = rows.map(|((length, tolerance), (_, alone))| {
        let all = budget.together.iter().flatten();
        let together = all.into_iter().find(|c| c.length == *length);
        let name = length.name().to_owned();
        cells([name, half_width(*tolerance), class(alone.as_ref()), class(together)])
    });
    let names =
        ["length", "alone, others as drawn", "coarsest class alone", "coarsest classes together"];
    let caption = "Tolerances with which the verdict would still be proved";
    vec![
        Block::heading("what could be allowed, proved"),
        Block::List(vec![allowed_alike(found)]),
        Block::Table(Table::new(caption, &names, rows.collect())),
    ]
}

/// How much drawn tolerances may grow, or must shrink.
fn growth(growth: &Growth) -> Group {
    let row = |alone: &Alone| {
        let shown =
            alone.half_width.map(|x| format!("±{}", sized(alone.size.measure, rounded_down(x))));
        cells([alone.size.to_string(), shown.unwrap_or_else(|| "nothing".to_owned())])
    };
    let caption = "Tolerances with which the worst corners still hold";
    let names = ["size", "alone, others as drawn"];
    vec![
        Block::heading("what could be allowed, computed"),
        Block::List(vec![grown(growth)]),
        Block::Table(Table::new(caption, &names, growth.alone.iter().map(row).collect())),
    ]
}

fn grown(growth: &Growth) -> String {
    let times = |factor: f64| fixed(rounded_down(factor), 3);
    match growth.all {
        None => "all tolerances: the worst corners break a limit however small they are".to_owned(),
        Some(factor) if factor >= Growth::MOST => {
            format!("all drawn tolerances together: {} times as wide and more", times(Growth::MOST))
        }
        Some(factor) => format!("all drawn tolerances together: {} times as wide", times(factor)),
    }
}

/// Where these figures end.
pub(super) fn caution(found: &ToleranceFindings) -> Block {
    let play = match found.against {
        Against::Joint(_) => "play is bounded apart from the lengths",
        Against::Finger(_) => "play in the pins tilts and shifts the pad besides, and is not told",
    };
    let what = if found.kind == Kind::FourBar { "planar, rigid linkages" } else { "rigid drives" };
    Block::Caution(format!(
        "{what}; {play}. Statistics hold for the distribution assumed, not for your shop: measure parts. \
         {DECIDES}"
    ))
}
