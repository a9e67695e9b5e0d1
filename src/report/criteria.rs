//! Criteria of a verdict in words, whatever it is a verdict on: their table, and what is said of one alone.

use crate::equivalence::{Assessment, Basis, Figure, Outcome, Shown};
use crate::study::{figure, note};

use super::blocks::{Block, Cell, Group, Holds, Table, or_dash};

/// Over what it is proved that all `criteria` of a `drive` hold, and which of them are computed.
pub(super) fn held(basis: Basis, criteria: &[Assessment], drive: &str) -> String {
    let whole = match basis {
        Basis::Nominal => format!("proved for every pose of the drawn {drive}"),
        Basis::Tolerance => {
            format!("proved for every pose of every {drive} within the drawn tolerances")
        }
    };
    let computed = criteria.iter().filter(|c| c.shown == Shown::Computed);
    let computed: Vec<&str> = computed.map(|c| c.criterion.title()).collect();
    match computed[..] {
        [] => whole,
        _ => format!("{whole}, but for the {}: computed, not proved", computed.join(" and ")),
    }
}

/// Criteria with limits, worst figures and what came out; `at` tells where one is worst, under the name `where_worst`.
pub(super) fn criteria_table(
    criteria: &[Assessment],
    where_worst: &str,
    at: &dyn Fn(&Assessment) -> Option<String>,
) -> Group {
    let rows = criteria.iter().map(|c| criterion(c, at(c))).collect();
    let noted = |c: &Assessment| Some(format!("{}: {}", c.criterion.title(), note(c)?));
    let names = ["criterion", "limit", "worst", "margin", where_worst];
    let table = Table::new("Limits, worst figures, and what came out", &names, rows)
        .and(Holds::Words, "outcome")
        .and(Holds::OnPage, "rests on");
    vec![Block::Table(table), Block::Notes(criteria.iter().filter_map(noted).collect())]
}

fn criterion(c: &Assessment, at: Option<String>) -> Vec<Cell> {
    let show = |value: Option<f64>| or_dash(value, |x| figure(c.criterion, x));
    let rests = match c.shown {
        Shown::NotShown => "–",
        Shown::ByPose => "a pose that breaks it",
        Shown::Proved => "proof",
        Shown::Computed => "computed, not proved",
    };
    vec![
        c.criterion.title().into(),
        figure(c.criterion, c.limit).into(),
        show(c.worst().map(Figure::value)).into(),
        show(c.margin().filter(|_| c.outcome != Outcome::Undecided)).into(),
        or_dash(at, |at| at).into(),
        Cell::outcome(c.outcome),
        rests.into(),
    ]
}

/// A criterion's worst figure beside its limit: `0.19 deg (limit 0.50 deg)`.
pub(super) fn worst_and_limit(c: &Assessment) -> String {
    let worst = or_dash(c.worst(), |worst| figure(c.criterion, worst.value()));
    format!("{worst} ({} {})", c.criterion.side().limit_name(), figure(c.criterion, c.limit))
}

/// A criterion of `design` that fails or stays open, as a clause that stands alone, `None` for the others; it is worst at `at`.
pub(super) fn open_clause(design: &str, c: &Assessment, at: Option<String>) -> Option<String> {
    let word = match c.outcome {
        Outcome::Fails => "fails",
        Outcome::Undecided => "is undecided",
        Outcome::Holds | Outcome::NotAssessed => return None,
    };
    let at = at.map_or_else(String::new, |at| format!(" at {at}"));
    Some(format!("{design}: the {} {word}: {}{at}", c.criterion.title(), worst_and_limit(c)))
}
