//! One entry of the file, read as what it should be; what it is not becomes a fault.

use super::faults::Faults;
use super::schema;
use crate::diagnostic::{Code, Diagnostic};
use crate::units::{self, UnitKind, clipped};
use std::ops::Range;
use toml::de::DeValue;

/// One entry of the file.
#[derive(Clone, Debug)]
pub(super) struct Entry<'a> {
    /// As shown: `[linkage] crank`.
    pub(super) name: String,
    /// Where its key stands.
    pub(super) key: Range<usize>,
    /// Where its value stands.
    pub(super) place: Range<usize>,
    /// The value as TOML has it.
    pub(super) value: &'a DeValue<'a>,
    pub(super) faults: &'a Faults,
    /// The unit of its bare numbers, where its table names one.
    pub(super) unit: Option<&'a str>,
}

impl<'a> Entry<'a> {
    /// A fault of this entry: the summary follows its name.
    pub(super) fn fault(&self, summary: &str, label: &str, help: impl Into<String>) {
        self.push(None, summary, label, help.into());
    }

    /// A fault of this entry of which more can be told.
    pub(super) fn coded(&self, code: Code, summary: &str, label: &str, help: impl Into<String>) {
        self.push(Some(code), summary, label, help.into());
    }

    fn push(&self, code: Option<Code>, summary: &str, label: &str, help: String) {
        let fault = Diagnostic::error(format!("`{}` {summary}", self.name)).code(code);
        self.faults.push(fault.at(self.place.clone()).label(label).help(help));
    }

    /// A warning about this entry.
    pub(super) fn warning(&self, code: Code, summary: &str, label: &str, help: &str) {
        let warning = Diagnostic::warning(format!("`{}` {summary}", self.name)).code(code);
        self.faults.push(warning.at(self.place.clone()).label(label).help(help));
    }

    /// The value is of another type than wanted.
    pub(super) fn mistyped(&self, wanted: &str, help: impl Into<String>) {
        self.fault(&format!("is not {wanted}"), &format!("this is {}", type_of(self.value)), help);
    }

    /// A text.
    pub(super) fn text(&self) -> Option<&'a str> {
        if let DeValue::String(text) = self.value {
            return Some(text.as_ref());
        }
        self.mistyped("a text", "write it in quotation marks");
        None
    }

    /// A name: a text that is not empty and has no control characters.
    pub(super) fn name(&self) -> Option<String> {
        let text = self.text()?;
        if text.trim().is_empty() {
            self.fault("is empty", "a name is needed", "such as \"left_ankle_pitch\"");
            return None;
        }
        if text.contains(char::is_control) {
            self.fault("has a control character", "not in a name", "write the name on one line");
            return None;
        }
        Some(text.to_owned())
    }

    /// One of the words, with what it stands for.
    pub(super) fn choice<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        let DeValue::String(text) = self.value else {
            self.mistyped("a text", format!("write {}", schema::choices(&names)));
            return None;
        };
        let found = words.iter().find(|(name, _)| *name == text.as_ref()).map(|(_, value)| *value);
        if found.is_none() {
            let near = schema::nearest(text, &names);
            let near = near.map_or(String::new(), |near| format!("did you mean \"{near}\"? "));
            let help = format!("{near}{} can stand here", schema::choices(&names));
            self.fault(&format!("cannot be \"{}\"", clipped(text)), "not known here", help);
        }
        found
    }

    /// true or false.
    pub(super) fn boolean(&self) -> Option<bool> {
        if let DeValue::Boolean(value) = self.value {
            return Some(*value);
        }
        self.mistyped("true or false", "write true or false, without quotation marks");
        None
    }

    /// A bare, finite number.
    pub(super) fn number(&self) -> Option<f64> {
        let Some(value) = bare_number(self.value) else {
            self.mistyped(
                "a plain number",
                "write the number without quotation marks and without a unit",
            );
            return None;
        };
        if !value.is_finite() {
            self.fault("is not finite", "a finite figure is needed", "write the figure itself");
            return None;
        }
        Some(value)
    }

    /// A quantity of this kind, in SI.
    pub(super) fn quantity(&self, kind: UnitKind) -> Option<f64> {
        self.measured(kind, units::quantity)
    }

    /// A quantity over zero.
    pub(super) fn positive(&self, kind: UnitKind) -> Option<f64> {
        let value = self.quantity(kind)?;
        self.sign(value, value > 0.0, "over zero")
    }

    /// A quantity that is not below zero.
    pub(super) fn not_negative(&self, kind: UnitKind) -> Option<f64> {
        let value = self.quantity(kind)?;
        self.sign(value, value >= 0.0, "zero or more")
    }

    fn sign(&self, value: f64, holds: bool, wanted: &str) -> Option<f64> {
        if !holds {
            let is = if value < 0.0 { "is negative" } else { "is zero" };
            self.fault(is, "out of range", format!("write a figure that is {wanted}"));
        }
        holds.then_some(value)
    }

    /// A size with the tolerance that it may carry.
    pub(super) fn dimension(&self, kind: UnitKind) -> Option<units::Dimension> {
        self.measured(kind, units::dimension)
    }

    /// A tolerance that stands alone.
    pub(super) fn tolerance(&self, kind: UnitKind) -> Option<units::Tolerance> {
        self.measured(kind, units::tolerance)
    }

    fn measured<T>(
        &self,
        kind: UnitKind,
        read: impl Fn(&str, UnitKind) -> Result<T, units::Fault>,
    ) -> Option<T> {
        self.faults.count_quantity();
        let read = match (self.value, bare_number(self.value)) {
            (DeValue::String(text), _) => read(text, kind),
            (_, Some(number)) if self.unit.is_some() => {
                read(&format!("{number} {}", self.unit.unwrap_or_default()), kind)
            }
            (_, Some(number)) => Err(bare(number, kind)),
            _ => {
                let help = format!("such as \"45 {}\"", kind.usual_unit());
                self.mistyped(kind.noun(), help);
                return None;
            }
        };
        read.map_err(|fault| {
            let code = fault.is_of_no_unit().then_some(Code::UnitMissing);
            self.push(code, &fault.summary, &fault.label, fault.help);
        })
        .ok()
    }

    /// The entries of a list.
    pub(super) fn items(&self) -> Option<Vec<Entry<'a>>> {
        let DeValue::Array(array) = self.value else {
            self.mistyped("a list", "write a list in brackets: [\"first\", \"second\"]");
            return None;
        };
        let item = |value: &'a toml::Spanned<DeValue<'a>>| Entry {
            name: self.name.clone(),
            key: self.key.clone(),
            place: value.span(),
            value: value.get_ref(),
            faults: self.faults,
            unit: self.unit,
        };
        Some(array.iter().map(item).collect())
    }

    /// The entries of a list of this length.
    pub(super) fn items_of<const N: usize>(&self, what: &str) -> Option<[Entry<'a>; N]> {
        let items = self.items()?;
        let count = items.len();
        let fixed = <[Entry<'a>; N]>::try_from(items).ok();
        if fixed.is_none() {
            let summary = format!("has {count} figures instead of {N}");
            self.fault(&summary, &format!("{count} here"), format!("write {what}"));
        }
        fixed
    }

    /// A list of this many quantities, every one of them read.
    pub(super) fn quantities<const N: usize>(
        &self,
        kind: UnitKind,
        what: &str,
    ) -> Option<[f64; N]> {
        all(self.items_of::<N>(what)?.map(|item| item.quantity(kind)))
    }

    /// A list of this many bare numbers.
    pub(super) fn numbers<const N: usize>(&self, what: &str) -> Option<[f64; N]> {
        all(self.items_of::<N>(what)?.map(|item| item.number()))
    }

    /// A direction, made a unit vector.
    pub(super) fn direction(&self) -> Option<[f64; 3]> {
        let vector = self.numbers::<3>("three numbers: [x, y, z]")?;
        let largest = vector.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
        if largest <= 0.0 {
            self.fault(
                "has no direction",
                "all three are zero",
                "such as [0, 1, 0] for the y axis",
            );
            return None;
        }
        let scaled = vector.map(|one| one / largest);
        let norm = scaled.iter().map(|one| one * one).sum::<f64>().sqrt();
        Some(scaled.map(|one| one / norm))
    }
}

/// All of them, or none.
pub(super) fn all<const N: usize>(figures: [Option<f64>; N]) -> Option<[f64; N]> {
    let mut out = [0.0; N];
    for (place, figure) in out.iter_mut().zip(figures) {
        *place = figure?;
    }
    Some(out)
}

/// A bare number where a quantity belongs.
fn bare(number: f64, kind: UnitKind) -> units::Fault {
    match units::quantity(&format!("{number}"), kind) {
        Err(fault) => fault,
        Ok(_) => units::Fault::no_unit("a unit is needed", kind.units()),
    }
}

fn bare_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(figure) => figure.as_str().parse().ok(),
        DeValue::Integer(figure) if figure.radix() == 10 => figure.as_str().parse().ok(),
        DeValue::Integer(figure) => {
            let whole = i32::from_str_radix(figure.as_str(), figure.radix()).ok()?;
            Some(f64::from(whole))
        }
        _ => None,
    }
}

fn type_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
