//! What marks stand for, and how each looks in light and in dark.
//!
//! Colours are those of M. Okabe and K. Ito, "Color Universal Design (CUD): How to make figures and presentations that
//! are friendly to colorblind people", 2002, revised 2008, figure 16 (its figures here from memory); in the dark its blue
//! and sky blue change places. No meaning hangs on colour alone: every kind of line has its own dashes and its name
//! beside it.

use std::fmt::Write as _;

/// A colour by its place in the palette.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Colour {
    /// Text and outlines.
    Ink,
    /// Secondary text, axes.
    Quiet,
    /// Hairlines.
    Line,
    /// The background.
    Paper,
    /// Okabe and Ito's blue.
    Blue,
    /// Sky blue.
    Sky,
    /// Vermillion.
    Vermillion,
    /// Bluish green.
    Green,
    /// Orange.
    Orange,
}

/// Name in the style sheet, light, dark; red, green, blue in one figure.
const PALETTE: [(Colour, &str, u32, u32); 9] = [
    (Colour::Ink, "ink", 0x1c_21_28, 0xe8_ed_f2),
    (Colour::Quiet, "quiet", 0x56_60_6b, 0xa3_af_bb),
    (Colour::Line, "line", 0xd9_de_e4, 0x35_3d_46),
    (Colour::Paper, "paper", 0xff_ff_ff, 0x14_18_1d),
    (Colour::Blue, "blue", 0x00_72_b2, 0x56_b4_e9),
    (Colour::Sky, "sky", 0x56_b4_e9, 0x00_72_b2),
    (Colour::Vermillion, "vermillion", 0xd5_5e_00, 0xf0_7a_2a),
    (Colour::Green, "green", 0x00_9e_73, 0x2b_bd_92),
    (Colour::Orange, "orange", 0xe6_9f_00, 0xe6_9f_00),
];

impl Colour {
    fn row(self) -> (&'static str, u32) {
        let row = PALETTE.iter().find(|(colour, ..)| *colour == self);
        row.map_or(("ink", 0), |(_, name, light, _)| (name, *light))
    }

    /// Red, green and blue on white paper.
    #[cfg(feature = "pictures")]
    pub(super) fn light(self) -> [u8; 3] {
        let [_, red, green, blue] = self.row().1.to_be_bytes();
        [red, green, blue]
    }

    fn variable(self) -> String {
        format!("var(--{})", self.row().0)
    }

    fn hex(self) -> String {
        format!("#{:06x}", self.row().1)
    }
}

/// What a mark stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Ink {
    /// The background of a picture that stands alone.
    Paper,
    /// Axes and their ticks.
    Axis,
    /// Grid lines.
    Grid,
    /// Words.
    Text,
    /// Words of second rank.
    Quiet,
    /// Words of first rank.
    Strong,
    /// Words over a drawing, with a rim of paper.
    Label,
    /// The linkage's own figure.
    Curve,
    /// The direct joint's figure.
    Direct,
    /// An accepted limit.
    Limit,
    /// What is certified.
    Certified,
    /// The worst pose.
    Worst,
    /// Ground line.
    Ground,
    /// Support of an axis.
    Support,
    /// Crank.
    Crank,
    /// Coupler.
    Coupler,
    /// Rocker.
    Rocker,
    /// The linkage at the ends of its stroke.
    Ghost,
    /// The path of a pin.
    Trace,
    /// A pin.
    Pin,
    /// A bar of a histogram or ranking.
    Bar,
    /// A bar beyond a limit.
    BarBeyond,
    /// The pose that the slider shows.
    Cursor,
    /// The same as a dot.
    CursorDot,
}

/// How an ink looks.
pub(super) struct Look {
    pub(super) class: &'static str,
    pub(super) stroke: Option<Colour>,
    pub(super) fill: Option<Colour>,
    pub(super) width: f64,
    /// Lengths of dash and gap in turn.
    pub(super) dash: &'static [f64],
    pub(super) opacity: f64,
}

const fn line(class: &'static str, colour: Colour, width: f64, dash: &'static [f64]) -> Look {
    Look { class, stroke: Some(colour), fill: None, width, dash, opacity: 1.0 }
}

const fn fill(class: &'static str, colour: Colour, opacity: f64) -> Look {
    Look { class, stroke: None, fill: Some(colour), width: 0.0, dash: &[], opacity }
}

const fn dot(class: &'static str, stroke: Colour, inside: Colour, width: f64) -> Look {
    Look { class, stroke: Some(stroke), fill: Some(inside), width, dash: &[], opacity: 1.0 }
}

impl Ink {
    const ALL: [Self; 24] = [
        Self::Paper,
        Self::Axis,
        Self::Grid,
        Self::Text,
        Self::Quiet,
        Self::Strong,
        Self::Label,
        Self::Curve,
        Self::Direct,
        Self::Limit,
        Self::Certified,
        Self::Worst,
        Self::Ground,
        Self::Support,
        Self::Crank,
        Self::Coupler,
        Self::Rocker,
        Self::Ghost,
        Self::Trace,
        Self::Pin,
        Self::Bar,
        Self::BarBeyond,
        Self::Cursor,
        Self::CursorDot,
    ];

    pub(super) fn look(self) -> Look {
        use Colour::{Blue, Green, Ink, Line, Orange, Paper, Quiet, Sky, Vermillion};
        match self {
            Self::Paper => fill("i-paper", Paper, 1.0),
            Self::Axis => line("i-axis", Quiet, 1.0, &[]),
            Self::Grid => line("i-grid", Line, 1.0, &[]),
            Self::Text => fill("i-text", Ink, 1.0),
            Self::Quiet => fill("i-quiet", Quiet, 1.0),
            Self::Strong => fill("i-strong", Ink, 1.0),
            Self::Label => dot("i-label", Paper, Ink, 4.0),
            Self::Curve => line("i-curve", Blue, 2.5, &[]),
            Self::Direct => line("i-direct", Ink, 1.5, &[7.0, 4.0]),
            Self::Limit => line("i-limit", Vermillion, 1.5, &[2.0, 3.0]),
            Self::Certified => fill("i-certified", Sky, 0.28),
            Self::Worst => dot("i-worst", Vermillion, Paper, 2.0),
            Self::Ground => line("i-ground", Quiet, 2.0, &[10.0, 4.0, 2.0, 4.0]),
            Self::Support => line("i-support", Quiet, 1.2, &[]),
            Self::Crank => line("i-crank", Vermillion, 7.0, &[]),
            Self::Coupler => line("i-coupler", Blue, 5.0, &[]),
            Self::Rocker => line("i-rocker", Green, 7.0, &[]),
            Self::Ghost => line("i-ghost", Quiet, 1.2, &[5.0, 4.0]),
            Self::Trace => line("i-trace", Quiet, 1.2, &[1.0, 3.0]),
            Self::Pin => dot("i-pin", Ink, Paper, 2.0),
            Self::Bar => fill("i-bar", Blue, 1.0),
            Self::BarBeyond => fill("i-bar-beyond", Orange, 1.0),
            Self::Cursor => line("i-cursor", Ink, 1.0, &[]),
            Self::CursorDot => dot("i-cursor-dot", Paper, Ink, 1.5),
        }
    }

    /// Letters of first rank are bold.
    #[cfg(feature = "pictures")]
    pub(super) fn is_bold(self) -> bool {
        self == Self::Strong
    }

    fn rule(self, colour: impl Fn(Colour) -> String) -> String {
        let look = self.look();
        let paint = |c: Option<Colour>| c.map_or_else(|| "none".to_owned(), &colour);
        let mut rule = format!(".{}{{fill:{}", look.class, paint(look.fill));
        if look.stroke.is_some() {
            let _ = write!(rule, ";stroke:{};stroke-width:{}", paint(look.stroke), look.width);
        }
        if !look.dash.is_empty() {
            let dash: Vec<String> = look.dash.iter().map(f64::to_string).collect();
            let _ = write!(rule, ";stroke-dasharray:{}", dash.join(" "));
        }
        if look.opacity < 1.0 {
            let _ = write!(rule, ";fill-opacity:{}", look.opacity);
        }
        rule.push_str(match self {
            Self::Label => ";paint-order:stroke;stroke-linejoin:round",
            Self::Strong => ";font-weight:600",
            Self::Crank | Self::Coupler | Self::Rocker => ";stroke-linecap:round",
            Self::Curve => ";stroke-linejoin:round",
            _ => "",
        });
        rule + "}\n"
    }

    /// The rules of a picture that stands alone, on white.
    pub(super) fn rules_alone() -> String {
        Self::ALL.into_iter().map(|ink| ink.rule(Colour::hex)).collect()
    }
}

/// Palette and rules for the page: light, dark where the reader's system asks for it, light again on paper.
pub(in crate::report) fn style_sheet() -> String {
    let palette = |pick: &dyn Fn(u32, u32) -> u32| {
        let one = |(_, name, light, dark): &(Colour, &str, u32, u32)| {
            format!("--{name}:#{:06x};", pick(*light, *dark))
        };
        PALETTE.iter().map(one).collect::<String>()
    };
    let rules: String = Ink::ALL.into_iter().map(|ink| ink.rule(Colour::variable)).collect();
    format!(
        ":root{{{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n{rules}",
        palette(&|light, _| light),
        palette(&|_, dark| dark)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance: Web Content Accessibility Guidelines 2.2, W3C 2023, definition "relative luminance".
    fn luminance(rgb: u32) -> f64 {
        let [_, r, g, b] = rgb.to_be_bytes().map(|channel| {
            let share = f64::from(channel) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// The same, definition "contrast ratio".
    fn contrast(a: u32, b: u32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    fn themes(colour: Colour) -> [u32; 2] {
        let row = PALETTE.iter().find(|(c, ..)| *c == colour).unwrap();
        [row.2, row.3]
    }

    #[test]
    fn words_and_lines_stand_out_from_the_paper_in_light_and_dark() {
        // The same guidelines, success criteria 1.4.3 (words, 4.5) and 1.4.11 (lines, 3).
        let paper = themes(Colour::Paper);
        let enough = |colour: Colour, least: f64| {
            for (a, b) in themes(colour).into_iter().zip(paper) {
                assert!(contrast(a, b) >= least, "{colour:?} {a:06x} on {b:06x}");
            }
        };
        for words in [Colour::Ink, Colour::Quiet, Colour::Blue] {
            enough(words, 4.5);
        }
        for ink in Ink::ALL {
            let look = ink.look();
            let is_line = look.fill.is_none() && ink != Ink::Grid;
            if let Some(stroke) = look.stroke.filter(|_| is_line) {
                enough(stroke, 3.0);
            }
        }
    }

    #[test]
    fn no_two_lines_of_a_chart_differ_by_colour_alone() {
        let lines = [Ink::Curve, Ink::Direct, Ink::Limit, Ink::Ghost, Ink::Trace, Ink::Ground];
        for (k, a) in lines.into_iter().enumerate() {
            for b in lines.into_iter().skip(k + 1) {
                let [a, b] = [a.look(), b.look()];
                assert!(a.dash != b.dash, "{} and {}", a.class, b.class);
            }
        }
    }
}
