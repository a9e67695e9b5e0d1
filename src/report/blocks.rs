//! What is said, as plain data: each subject has one builder, and [`super::terminal`] and [`super::page`] set what it makes.
//! So a figure, a sentence, a row or a heading that both show is one and the same.
//!
//! Words are clauses: a terminal sets them as they are, a page as sentences.

use crate::equivalence::{Outcome, Verdict};
use crate::study::Warning;

/// What belongs together; on a terminal a blank line stands between groups.
pub(super) type Group = Vec<Block>;

/// One thing said.
#[derive(Clone, Debug)]
pub(super) enum Block {
    /// Whose findings follow, the verdict where there is one, and what they are.
    Title(String, Option<Cell>, String),
    /// Over what stands below it; more of it, often in brackets.
    Heading(String, String),
    /// A clause, or sentences.
    Line(String),
    /// Clauses.
    List(Vec<String>),
    /// Clauses about rows of the table above.
    Notes(Vec<String>),
    /// Each a name and lines.
    Facts(Vec<(&'static str, Vec<String>)>),
    /// Rows of figures.
    Table(Table),
    /// What the reader should look at.
    Warnings(Vec<Warning>),
    /// Where these findings end.
    Caution(String),
    /// What a terminal draws with characters; a page has its own pictures.
    Characters(Characters),
}

/// A picture made of characters.
#[derive(Clone, Debug)]
pub(super) enum Characters {
    /// A curve (x in deg ascending, y) and the edges of the accepted band; y may be infinite.
    Curve(Vec<(f64, f64)>, [f64; 2]),
    /// A label, a share 0…1 as a bar (none for an end mark), and words.
    Bars(Vec<(String, Option<f64>, String)>),
}

/// Rows of figures; the first column names its row.
#[derive(Clone, Debug)]
pub(super) struct Table {
    /// What a page says above it; empty where the heading says it.
    pub(super) caption: String,
    /// As many as each row has cells.
    pub(super) columns: Vec<Column>,
    pub(super) rows: Vec<Vec<Cell>>,
}

/// A column: its name, and what stands in it.
#[derive(Clone, Debug)]
pub(super) struct Column(pub(super) Holds, pub(super) String);

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Holds {
    /// Figures.
    Figures,
    /// Words.
    Words,
    /// What speaks for itself on a terminal; a page names the column.
    Outcome,
    /// What a terminal has no room for.
    OnPage,
    /// Bars of characters, for a terminal alone.
    Bars,
}

/// A column of figures.
pub(super) fn figures(name: impl Into<String>) -> Column {
    Column(Holds::Figures, name.into())
}

impl Column {
    /// What a terminal says above it.
    pub(super) fn shown(&self) -> &str {
        if matches!(self.0, Holds::Figures | Holds::Words) { &self.1 } else { "" }
    }
}

impl Table {
    /// The first column holds words, all others figures.
    pub(super) fn new(caption: impl Into<String>, names: &[&str], rows: Vec<Vec<Cell>>) -> Self {
        let mut columns: Vec<Column> = names.iter().map(|name| figures(*name)).collect();
        if let Some(Column(holds, _)) = columns.first_mut() {
            *holds = Holds::Words;
        }
        Self { caption: caption.into(), columns, rows }
    }

    /// With one more column.
    pub(super) fn and(mut self, holds: Holds, name: &str) -> Self {
        self.columns.push(Column(holds, name.to_owned()));
        self
    }
}

/// Words with an emphasis.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) text: String,
    pub(super) tone: Tone,
    /// The part of the page that it leads to.
    pub(super) link: Option<String>,
}

/// An emphasis.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Tone {
    #[default]
    Plain,
    Good,
    Bad,
    Open,
    Faint,
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self { text: text.into(), ..Self::default() }
    }
}

impl Cell {
    /// Words with an emphasis.
    pub(super) fn toned(text: &str, tone: Tone) -> Self {
        Self { tone, ..text.into() }
    }

    /// What came out of a criterion.
    pub(super) fn outcome(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Holds => Self::toned("holds", Tone::Good),
            Outcome::Fails => Self::toned("fails", Tone::Bad),
            Outcome::Undecided => Self::toned("undecided", Tone::Open),
            Outcome::NotAssessed => Self::toned("not assessed", Tone::Faint),
        }
    }

    /// The verdict.
    pub(super) fn verdict(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Equivalent => Self::toned("equivalent", Tone::Good),
            Verdict::NotEquivalent => Self::toned("not equivalent", Tone::Bad),
            Verdict::Undecided => Self::toned("undecided", Tone::Open),
        }
    }
}

impl Block {
    /// A heading with no more to it.
    pub(super) fn heading(words: impl Into<String>) -> Self {
        Self::Heading(words.into(), String::new())
    }
}

/// A list under its heading; nothing where it is empty.
pub(super) fn listed(heading: &str, lines: Vec<String>) -> Group {
    if lines.is_empty() {
        return Group::new();
    }
    vec![Block::heading(heading), Block::List(lines)]
}

/// One cell for each figure or word.
pub(super) fn cells<const N: usize>(texts: [String; N]) -> Vec<Cell> {
    texts.map(Cell::from).to_vec()
}

/// What is not known, or has no meaning.
pub(super) fn dash() -> String {
    "–".to_owned()
}

/// A figure in words, a dash where there is none.
pub(super) fn or_dash<T>(figure: Option<T>, words: impl FnOnce(T) -> String) -> String {
    figure.map_or_else(dash, words)
}

/// A column whose known figures are set by `alike`, a dash for each that is not.
pub(super) fn aligned(
    figures: Vec<Option<f64>>,
    alike: impl Fn(&[f64]) -> Vec<String>,
) -> Vec<String> {
    let known: Vec<f64> = figures.iter().copied().flatten().collect();
    let mut shown = alike(&known).into_iter();
    figures
        .into_iter()
        .map(|figure| figure.and_then(|_| shown.next()).unwrap_or_else(dash))
        .collect()
}
