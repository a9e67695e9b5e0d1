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
    /// Where a criterion is broken.
    Broken,
    /// What could be neither shown nor refuted.
    Open,
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
    /// A finger's pad.
    Pad,
    /// What carries a finger's pad.
    Finger,
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
#[derive(Clone, Copy)]
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

/// How each ink looks.
const LOOKS: [(Ink, Look); 28] = [
    (Ink::Paper, fill("i-paper", Colour::Paper, 1.0)),
    (Ink::Axis, line("i-axis", Colour::Quiet, 1.0, &[])),
    (Ink::Grid, line("i-grid", Colour::Line, 1.0, &[])),
    (Ink::Text, fill("i-text", Colour::Ink, 1.0)),
    (Ink::Quiet, fill("i-quiet", Colour::Quiet, 1.0)),
    (Ink::Strong, fill("i-strong", Colour::Ink, 1.0)),
    (Ink::Label, dot("i-label", Colour::Paper, Colour::Ink, 4.0)),
    (Ink::Curve, line("i-curve", Colour::Blue, 2.5, &[])),
    (Ink::Direct, line("i-direct", Colour::Ink, 1.5, &[7.0, 4.0])),
    (Ink::Limit, line("i-limit", Colour::Vermillion, 1.5, &[2.0, 3.0])),
    (Ink::Certified, fill("i-certified", Colour::Sky, 0.28)),
    (Ink::Broken, fill("i-broken", Colour::Vermillion, 0.22)),
    (Ink::Open, fill("i-open", Colour::Quiet, 0.3)),
    (Ink::Worst, dot("i-worst", Colour::Vermillion, Colour::Paper, 2.0)),
    (Ink::Ground, line("i-ground", Colour::Quiet, 2.0, &[10.0, 4.0, 2.0, 4.0])),
    (Ink::Support, line("i-support", Colour::Quiet, 1.2, &[])),
    (Ink::Crank, line("i-crank", Colour::Vermillion, 7.0, &[])),
    (Ink::Coupler, line("i-coupler", Colour::Blue, 5.0, &[])),
    (Ink::Rocker, line("i-rocker", Colour::Green, 7.0, &[])),
    (Ink::Pad, line("i-pad", Colour::Ink, 8.0, &[])),
    (Ink::Finger, line("i-finger", Colour::Blue, 2.0, &[])),
    (Ink::Ghost, line("i-ghost", Colour::Quiet, 1.2, &[5.0, 4.0])),
    (Ink::Trace, line("i-trace", Colour::Quiet, 1.2, &[1.0, 3.0])),
    (Ink::Pin, dot("i-pin", Colour::Ink, Colour::Paper, 2.0)),
    (Ink::Bar, fill("i-bar", Colour::Blue, 1.0)),
    (Ink::BarBeyond, fill("i-bar-beyond", Colour::Orange, 1.0)),
    (Ink::Cursor, line("i-cursor", Colour::Ink, 1.0, &[])),
    (Ink::CursorDot, dot("i-cursor-dot", Colour::Paper, Colour::Ink, 1.5)),
];

impl Ink {
    pub(super) fn look(self) -> Look {
        let row = LOOKS.iter().find(|(ink, _)| *ink == self);
        row.map_or(fill("", Colour::Ink, 1.0), |(_, look)| *look)
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
        LOOKS.iter().map(|(ink, _)| ink.rule(Colour::hex)).collect()
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
    let rules: String = LOOKS.iter().map(|(ink, _)| ink.rule(Colour::variable)).collect();
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
        for (ink, look) in LOOKS {
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
