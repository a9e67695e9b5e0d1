//! How text may look where it goes: colour, width, and whether more than ASCII is understood.

use anstyle::{AnsiColor, Style as Ansi};

/// How much a screen says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// The answer and what decides it.
    Short,
    /// Everything that is known.
    Full,
}

impl Detail {
    pub(super) fn is_full(self) -> bool {
        self == Self::Full
    }
}

/// What the reader's terminal shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Colours and bold.
    pub colour: bool,
    /// More than ASCII.
    pub unicode: bool,
    /// Columns.
    pub width: usize,
}

impl Style {
    /// As a file or a pipe gets it.
    pub const PLAIN: Self = Self { colour: false, unicode: true, width: 100 };

    pub(super) fn paint(self, text: &str, ansi: Ansi) -> String {
        if self.colour {
            format!("{}{text}{}", ansi.render(), ansi.render_reset())
        } else {
            text.to_owned()
        }
    }

    pub(super) fn strong(self, text: &str, colour: AnsiColor) -> String {
        self.paint(text, Ansi::new().bold().fg_color(Some(colour.into())))
    }

    pub(super) fn heading(self, text: &str) -> String {
        self.paint(text, Ansi::new().bold())
    }

    pub(super) fn faint(self, text: &str) -> String {
        self.paint(text, Ansi::new().dimmed())
    }

    /// `text` with the signs that this program itself writes put into ASCII where nothing else is understood; names
    /// that the user wrote stay as they are.
    #[must_use]
    pub fn fit(self, text: String) -> String {
        if self.unicode {
            return text;
        }
        const SIGNS: [(&str, &str); 21] = [
            ("…", ".."),
            ("−", "-"),
            ("–", "-"),
            ("→", "->"),
            ("±", "+/-"),
            ("·", "*"),
            ("×", "x"),
            ("≤", "<="),
            ("≥", ">="),
            ("φ", "phi"),
            ("ψ", "psi"),
            ("σ", "sigma"),
            ("█", "#"),
            ("│", "|"),
            ("─", "-"),
            ("┄", "."),
            ("└", "+"),
            ("●", "*"),
            ("²", "2"),
            ("├", "+"),
            ("┼", "+"),
        ];
        SIGNS.iter().fold(text, |text, (sign, plain)| text.replace(sign, plain))
    }
}
