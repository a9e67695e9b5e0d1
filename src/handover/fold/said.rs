//! Figures of an element where its format has them.

use super::numbers::{is_same, text};
use crate::robot::{Edits, Element, escaped};

/// Where a format has a figure of an element.
#[derive(Clone, Copy)]
pub(super) enum Said {
    /// In an attribute: URDF.
    Attribute,
    /// In a child of its own: SDFormat.
    Child,
}

impl Said {
    pub(super) fn known(self, element: Element<'_>, key: &str) -> Option<f64> {
        let text = match self {
            Self::Attribute => element.value(key)?,
            Self::Child => element.child(key)?.text(),
        };
        text.trim().parse().ok()
    }

    pub(super) fn set(self, element: Element<'_>, key: &str, value: &str, edits: &mut Edits) {
        match (self, element.child(key)) {
            (Self::Attribute, _) => edits.set(element, key, value),
            (Self::Child, Some(child)) => edits.set_text(child, value),
            (Self::Child, None) => edits.append(element, &format!("<{key}>{value}</{key}>")),
        }
    }

    /// The text of an element with these.
    pub(super) fn element(self, name: &str, figures: &[(&str, String)]) -> String {
        let each = figures.iter().map(|(key, value)| (key, escaped(value)));
        match self {
            Self::Attribute => {
                let all: String = each.map(|(key, value)| format!(" {key}=\"{value}\"")).collect();
                format!("<{name}{all}/>")
            }
            Self::Child => {
                let line = |(key, value)| format!("  <{key}>{value}</{key}>\n");
                format!("<{name}>\n{}</{name}>", each.map(line).collect::<String>())
            }
        }
    }

    /// Sets what changes of the figures of a child of `parent`, which is made where there is none.
    pub(super) fn change(
        self,
        parent: Element<'_>,
        name: &str,
        figures: &[(&str, f64)],
        edits: &mut Edits,
    ) {
        let Some(element) = parent.child(name) else {
            let texts: Vec<_> = figures.iter().map(|(key, x)| (*key, text(*x))).collect();
            if !texts.is_empty() {
                edits.append(parent, &self.element(name, &texts));
            }
            return;
        };
        for (key, figure) in figures {
            let known = self.known(element, key);
            if known.is_none() || !is_same(known, *figure) {
                self.set(element, key, &text(*figure), edits);
            }
        }
    }
}
