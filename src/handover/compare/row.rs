//! One figure that two sides give, and whether they say the same.

use serde::Serialize;

use std::fmt;

use super::measure::Measure;
use crate::handover::LimitBasis;
use crate::handover::stand_in::figures::Envelope;

/// A line of a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Line {
    /// The file.
    pub file: String,
    /// From 1.
    pub line: usize,
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.file, self.line)
    }
}

/// What one side says.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Value {
    /// One figure in SI.
    Number(f64),
    /// Guaranteed, and never exceeded: anything between is accepted.
    #[serde(serialize_with = "super::views::between")]
    Between([f64; 2]),
    /// Three coordinates or six moments.
    Several(Vec<f64>),
    /// A name.
    Word(String),
}

words! {
    /// What a row comes to.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum RowOutcome {
        /// The two sides say the same.
        InStep = "in_step",
        /// They do not.
        Differs = "differs",
        /// Whether they do is not known.
        Undecided = "undecided",
        /// The file's format has no place for it: does not count.
        NotInFormat = "not_in_format",
        /// The design says nothing of it: does not count.
        NotInDesign = "not_in_design",
        /// The file leaves it out and may: does not count.
        NotInFile = "not_in_file",
    }
}

/// One figure that the two sides give.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// What it is, in words of the trade.
    pub quantity: &'static str,
    /// The link or joint that it belongs to, where that is not the driven joint.
    pub of: Option<String>,
    /// What is measured.
    #[serde(flatten, serialize_with = "super::views::with_units")]
    pub measure: Measure,
    /// What the design says; the first file where two are compared.
    pub first: Option<Value>,
    /// What the file says; the second.
    pub second: Option<Value>,
    /// Second less first, for vectors how far apart, in SI (an angle for directions).
    pub difference: Option<f64>,
    /// What is allowed, in SI.
    pub tolerance: Option<f64>,
    /// What it comes to.
    pub outcome: RowOutcome,
    /// Where the file says it, or where it should.
    pub at: Option<Line>,
    /// One clause: the two figures and what they mean; empty where there is nothing to add.
    pub why: String,
}

/// The two sides by their names, e.g. "the linkage gives" and "URDF says", and whether the second side's format has a
/// place for the figure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sides<'a> {
    pub(super) first: &'a str,
    pub(super) second: &'a str,
}

/// How to look at one file.
#[derive(Clone, Copy)]
pub(super) struct Look<'a> {
    pub(super) sides: Sides<'a>,
    pub(super) basis: Option<LimitBasis>,
}

impl Row {
    pub(super) fn new(quantity: &'static str, measure: Measure) -> Self {
        Self {
            quantity,
            of: None,
            measure,
            first: None,
            second: None,
            difference: None,
            tolerance: None,
            outcome: RowOutcome::InStep,
            at: None,
            why: String::new(),
        }
    }

    pub(super) fn of(mut self, name: &str) -> Self {
        self.of = Some(name.to_owned());
        self
    }

    pub(super) fn at(mut self, line: Option<Line>) -> Self {
        self.at = line;
        self
    }

    /// `effort`, or `mass of left_foot`.
    #[must_use]
    pub fn title(&self) -> String {
        match &self.of {
            Some(name) => format!("{} of {name}", self.quantity),
            None => self.quantity.to_owned(),
        }
    }

    /// Whether it counts against being in step.
    #[must_use]
    pub fn differs(&self) -> bool {
        self.outcome == RowOutcome::Differs
    }

    /// What a side says, for a person.
    #[must_use]
    pub fn shown(&self, value: Option<&Value>) -> String {
        match value {
            None => "-".to_owned(),
            Some(Value::Number(x)) => self.measure.shown(*x),
            Some(Value::Between([g, n])) => {
                format!("{}…{}", crate::units::number(*g), self.measure.shown(*n))
            }
            Some(Value::Several(list)) => self.list(list),
            Some(Value::Word(word)) => word.clone(),
        }
    }

    /// `0, 0, -300 mm`.
    fn list(&self, list: &[f64]) -> String {
        if self.measure == Measure::Inertia {
            return self.furthest_off(list);
        }
        let is_place = matches!(self.measure, Measure::Position | Measure::Centre);
        let figure = |x: &f64| {
            let x = if is_place { x * 1e3 } else { *x };
            crate::units::number(if x.abs() < 1e-9 { 0.0 } else { x })
        };
        let figures: Vec<String> = list.iter().map(figure).collect();
        let unit = match self.measure {
            Measure::Ratio => "",
            _ if is_place => "mm",
            measure => measure.unit(),
        };
        format!("{} {unit}", figures.join(", ")).trim_end().to_owned()
    }

    /// Of six moments the one that is furthest off, the largest where they are equal: `yy 0.0051 kg m2`.
    fn furthest_off(&self, list: &[f64]) -> String {
        const NAMES: [&str; 6] = ["xx", "yy", "zz", "xy", "xz", "yz"];
        let (Some(Value::Several(a)), Some(Value::Several(b))) = (&self.first, &self.second) else {
            return String::new();
        };
        let sizes = |of: fn(f64, f64) -> f64| a.iter().zip(b).map(move |(a, b)| of(*a, *b).abs());
        let off = self.difference.unwrap_or(0.0).abs() > 1e-12;
        let sizes: Vec<f64> =
            if off { sizes(|a, b| b - a).collect() } else { sizes(|a, _| a).collect() };
        let most = NAMES.iter().zip(list).zip(sizes).max_by(|x, y| x.1.total_cmp(&y.1));
        most.map_or(String::new(), |((name, x), _)| format!("{name} {}", self.measure.shown(*x)))
    }

    /// Both sides' words.
    fn says(&self, sides: Sides<'_>) -> String {
        let first = match &self.first {
            Some(Value::Between([g, n])) => format!(
                "{} guaranteed, {} never exceeded",
                self.measure.shown(*g),
                self.measure.shown(*n)
            ),
            first => self.shown(first.as_ref()),
        };
        let second = self.shown(self.second.as_ref());
        format!("{} {} {second}; {} {first}", sides.second, self.title(), sides.first)
    }

    /// The outcome where one side or both are silent; `None` where both speak.
    pub(super) fn one_sided(mut self, sides: Sides<'_>, holds: bool) -> Option<Result<Self, Self>> {
        match (&self.first, &self.second) {
            (None, None) => None,
            (Some(_), Some(_)) => Some(Err(self)),
            (None, Some(_)) => {
                self.outcome = RowOutcome::NotInDesign;
                Some(Ok(self))
            }
            (Some(_), None) if !holds => {
                self.outcome = RowOutcome::NotInFormat;
                Some(Ok(self))
            }
            (Some(_), None) => {
                self.outcome = RowOutcome::Differs;
                let first = self.says(sides);
                let (_, first) = first.split_once("; ").unwrap_or(("", &first));
                self.why = format!("{} no {}; {first}", sides.second, self.title());
                Some(Ok(self))
            }
        }
    }

    /// By how much it is off against what is allowed.
    pub(super) fn judged(mut self, difference: f64, allowed: f64, sides: Sides<'_>) -> Self {
        self.difference = Some(difference).filter(|x| x.is_finite());
        self.tolerance = Some(allowed);
        // NaN is no agreement.
        let holds = difference.abs() <= allowed;
        self.outcome = if holds { RowOutcome::InStep } else { RowOutcome::Differs };
        if !holds {
            self.why = self.says(sides);
        }
        self
    }

    pub(super) fn because(mut self, clause: &str) -> Self {
        if !clause.is_empty() {
            let joint = if self.why.is_empty() { "" } else { ": " };
            self.why = format!("{}{joint}{clause}", self.why);
        }
        self
    }

    /// The clause, where the row differs.
    pub(super) fn explained(self, clause: &str) -> Self {
        if self.differs() { self.because(clause) } else { self }
    }
}

/// Two single figures; a zero that the design does not ask for is nothing. `holds`: the second side's format has a
/// place for it.
pub(super) fn number(
    mut row: Row,
    [first, second]: [Option<f64>; 2],
    sides: Sides<'_>,
    holds: bool,
) -> Option<Row> {
    let second = second.filter(|x| first.is_some() || x.abs() > 0.0);
    row.first = first.map(Value::Number);
    row.second = second.map(Value::Number);
    match row.one_sided(sides, holds)? {
        Ok(row) => Some(row),
        Err(row) => {
            let (a, b) = (first?, second?);
            let difference = if a.is_infinite() && a.total_cmp(&b).is_eq() { 0.0 } else { b - a };
            let allowed = row.measure.allowed(a);
            Some(row.judged(difference, allowed, sides))
        }
    }
}

/// Two names.
pub(super) fn word(mut row: Row, [first, second]: [&str; 2], sides: Sides<'_>) -> Row {
    let same = first == second || second.ends_with(&format!("::{first}"));
    row.first = Some(Value::Word(first.to_owned()));
    row.second = Some(Value::Word(second.to_owned()));
    row.judged(if same { 0.0 } else { f64::INFINITY }, 0.0, sides)
}

/// A bound that may lie between what is guaranteed and what is never exceeded, unless `basis` demands one of them.
pub(super) fn bound(
    mut row: Row,
    envelope: Envelope,
    found: Option<f64>,
    basis: Option<LimitBasis>,
    sides: Sides<'_>,
    holds: bool,
) -> Option<Row> {
    if let Some(basis) = basis {
        let row = number(row, [basis.of(envelope), found], sides, holds)?;
        let is_open = row.outcome == RowOutcome::NotInDesign;
        let clause = if is_open { "no finite figure of this kind over the stroke" } else { "" };
        return Some(row.because(clause));
    }
    let (Some(low), Some(high)) = (envelope.guaranteed, envelope.never_exceed) else {
        let either = envelope.guaranteed.or(envelope.never_exceed);
        return number(row, [either, found], sides, holds);
    };
    let allowed = row.measure.allowed(high);
    if high - low <= allowed {
        return number(row, [Some(low), found], sides, holds);
    }
    row.first = Some(Value::Between([low, high]));
    row.second = found.map(Value::Number);
    match row.one_sided(sides, holds)? {
        Ok(row) => Some(row),
        Err(row) => Some(between(row, [low, high], found?, sides)),
    }
}

fn between(row: Row, [low, high]: [f64; 2], found: f64, sides: Sides<'_>) -> Row {
    let [near_low, near_high] = [low, high].map(|x| row.measure.allowed(x));
    let (difference, allowed) = if found < low {
        (found - low, near_low)
    } else if found > high {
        (found - high, near_high)
    } else {
        (0.0, near_high)
    };
    let is_inside = found > low + near_low && found < high - near_high;
    let clause = if is_inside { "between guaranteed and never exceeded" } else { "" };
    row.judged(difference, allowed, sides).because(clause)
}

/// Two points or lists of moments; `difference` and the size that a share is of are the caller's.
pub(super) fn several(
    mut row: Row,
    [first, second]: [&[f64]; 2],
    difference: f64,
    size: f64,
    sides: Sides<'_>,
) -> Row {
    row.first = Some(Value::Several(first.to_vec()));
    row.second = Some(Value::Several(second.to_vec()));
    let allowed = row.measure.allowed(size);
    row.judged(difference, allowed, sides)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIDES: Sides<'static> = Sides { first: "the linkage gives", second: "URDF says" };

    fn effort(found: Option<f64>, basis: Option<LimitBasis>) -> Row {
        let envelope = Envelope { guaranteed: Some(34.1), never_exceed: Some(36.0) };
        bound(Row::new("effort", Measure::Torque), envelope, found, basis, SIDES, true).unwrap()
    }

    #[test]
    fn an_effort_between_guaranteed_and_never_exceeded_is_in_step() {
        for found in [34.0, 34.1, 35.0, 36.0, 36.1] {
            assert!(!effort(Some(found), None).differs(), "{found}");
        }
        assert_eq!(effort(Some(35.0), None).why, "between guaranteed and never exceeded");
    }

    #[test]
    fn an_effort_outside_is_named_with_both_figures() {
        let row = effort(Some(50.0), None);
        assert!(row.differs());
        assert_eq!(row.difference, Some(14.0));
        assert_eq!(
            row.why,
            "URDF says effort 50 N m; the linkage gives 34.1 N m guaranteed, 36 N m never exceeded"
        );
        assert!(effort(Some(30.0), None).differs());
    }

    #[test]
    fn one_basis_can_be_demanded() {
        assert!(effort(Some(36.0), Some(LimitBasis::Guaranteed)).differs());
        assert!(!effort(Some(36.0), Some(LimitBasis::NeverExceed)).differs());
    }

    #[test]
    fn what_is_left_out_differs_where_the_format_holds_it() {
        let row = effort(None, None);
        assert!(row.differs());
        assert!(row.why.starts_with("URDF says no effort; the linkage gives 34.1 N m"));
        let row = Row::new("armature", Measure::Armature);
        let row = number(row, [Some(0.01), None], SIDES, false).unwrap();
        assert_eq!(row.outcome, RowOutcome::NotInFormat);
    }

    #[test]
    fn a_figure_that_is_no_number_is_not_in_step() {
        let row =
            number(Row::new("effort", Measure::Torque), [Some(1.0), Some(f64::NAN)], SIDES, true);
        assert!(row.unwrap().differs());
    }

    #[test]
    fn nested_names_stand_for_their_last_part() {
        let row = |second| word(Row::new("child link", Measure::Name), ["hand", second], SIDES);
        assert!(!row("arm::hand").differs() && row("arm::forehand").differs());
    }
}
