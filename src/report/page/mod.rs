//! One self-contained page for a design review: no network, no font and no script from elsewhere, readable without the
//! script, on paper, in the dark and by a screen reader.
//!
//! The order is a reader's: verdict, criteria and what would do, other sizes, the linkage that one can move, figures over the
//! stroke, tolerances, loads, the joint to paste, assumptions and cautions, the design file. The same findings give the same
//! bytes.

mod charts;
mod drive_motion;
mod element;
mod findings;
mod joint;
mod motion;
mod sizes;
mod tolerances;
mod verdict;

use std::fmt::Write as _;
use std::path::Path;

use crate::handover::Snippet;
use crate::study::{OtherSizes, Review};

use super::blocks::Block;
use super::cautions::DECIDES;
use super::drawing::style_sheet;
use super::words::escaped;
use element::heading;

/// What the page needs of one design.
#[derive(Clone, Copy, Debug)]
pub struct PageDesign<'a> {
    /// The findings.
    pub review: &'a Review,
    /// The joint in each format.
    pub snippets: &'a [Snippet],
    /// The sizes that can be changed on the page; `None` for other kinds, and where nothing is to be changed.
    pub sizes: Option<&'a OtherSizes>,
}

/// What the page says of itself, in the words of who writes it.
#[derive(Clone, Copy, Debug, Default)]
pub struct PageIssue<'a> {
    /// Of which revision it is.
    pub revision: Option<&'a str>,
    /// Of which day.
    pub date: Option<&'a str>,
}

impl PageIssue<'_> {
    /// `Revision B · 2026-05-04`; empty where neither is given.
    fn words(&self) -> String {
        let revision = self.revision.map(|revision| format!("Revision {revision}"));
        let both: Vec<String> = revision.into_iter().chain(self.date.map(str::to_owned)).collect();
        both.join(" · ")
    }
}

/// One design on the page.
#[derive(Clone, Copy)]
struct Leaf<'a> {
    review: &'a Review,
    snippets: &'a [Snippet],
    sizes: Option<&'a OtherSizes>,
    /// What all its ids begin with.
    id: &'a str,
    /// The rank of its own heading, 1 or 2.
    rank: u8,
}

impl Leaf<'_> {
    /// Blocks of a section.
    fn set(&self, blocks: &[Block]) -> String {
        element::set(self.rank + 1, blocks)
    }
}

const LOOK: &str = include_str!("page.css");
const MOTION: &str = include_str!("page.js");
const SIZES: [&str; 3] =
    [include_str!("kinematics.js"), include_str!("inertia.js"), include_str!("sizes.js")];

/// The page: one design, or several behind an index.
#[must_use]
pub fn page_html(designs: &[PageDesign<'_>], issue: &PageIssue<'_>) -> String {
    let several = designs.len() > 1;
    let ids: Vec<String> = (1..=designs.len()).map(|k| format!("d{k}")).collect();
    let leaves: Vec<Leaf<'_>> = designs
        .iter()
        .zip(&ids)
        .map(|(PageDesign { review, snippets, sizes }, id)| Leaf {
            review,
            snippets,
            sizes: *sizes,
            id,
            rank: if several { 2 } else { 1 },
        })
        .collect();
    let issue = issue.words();
    let body: String = leaves.iter().map(|leaf| article(leaf, &issue)).collect();
    let index = if several { verdict::index(&leaves, &issue) } else { String::new() };
    let title = title(&leaves);
    format!(
        "{}<body>\n<a class=\"skip\" href=\"#{}\">To the verdict</a>\n<main>\n{index}{body}</main>\n{}{}</body>\n</html>\n",
        head(&title, &issue),
        if several { "index" } else { "d1" },
        foot(&leaves),
        scripts(body.contains("<form class=\"sizes\""))
    )
}

fn scripts(with_sizes: bool) -> String {
    let sizes = SIZES.into_iter().filter(|_| with_sizes);
    sizes.chain([MOTION]).map(|script| format!("<script>\n{script}</script>\n")).collect()
}

fn title(leaves: &[Leaf<'_>]) -> String {
    match leaves {
        [only] => format!("{}: {}", only.review.check.design, verdict::word(&only.review.check)),
        _ => verdict::title_of(leaves),
    }
}

fn head(title: &str, issue: &str) -> String {
    // The policy forbids the page to ask for anything anywhere.
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n\
         <title>{}</title>\n<link rel=\"icon\" href=\"data:,\">\n<style>\n{}{LOOK}{}</style>\n</head>\n",
        escaped(title),
        style_sheet(),
        running(title, issue)
    )
}

/// What stands at the foot of every sheet of paper.
fn running(title: &str, issue: &str) -> String {
    let words = if issue.is_empty() { title.to_owned() } else { format!("{title} · {issue}") };
    format!("@page{{@bottom-left{{content:\"{}\"}}}}\n", in_style(&words))
}

/// A string of a style sheet: all but plain letters by their numbers.
fn in_style(words: &str) -> String {
    let mut out = String::new();
    for c in words.chars() {
        if c.is_ascii_alphanumeric() || c == ' ' {
            out.push(c);
        } else if !c.is_control() {
            let _ = write!(out, "\\{:06x} ", u32::from(c));
        }
    }
    out
}

/// The design file's name, without where it lies.
fn file_name(path: &str) -> String {
    let name = Path::new(path).file_name().and_then(|name| name.to_str());
    name.unwrap_or(path).to_owned()
}

fn article(leaf: &Leaf<'_>, issue: &str) -> String {
    let issue = if leaf.rank == 1 { issue } else { "" };
    let mut shown = sections(leaf);
    shown.retain(|(.., body)| !body.is_empty());
    let links: String = shown
        .iter()
        .map(|(name, title, _)| format!("<li><a href=\"#{}-{name}\">{title}</a></li>\n", leaf.id))
        .collect();
    let body: String =
        shown.iter().map(|(name, title, body)| section(leaf, name, title, body)).collect();
    let sizes = sizes::sizes(leaf);
    let sizes = if sizes.is_empty() {
        sizes
    } else {
        let section = section(leaf, "sizes", "Try other sizes", &sizes);
        format!("<div class=\"needs-script\">\n{section}</div>\n")
    };
    format!(
        "<article id=\"{}\">\n{}{}{sizes}{}<nav aria-label=\"On this page, {}\">\n<ul>\n{links}</ul>\n</nav>\n{body}</article>\n",
        leaf.id,
        verdict::verdict(leaf, issue),
        section(leaf, "criteria", "Criteria", &findings::criteria(leaf)),
        verdict::glance(leaf),
        escaped(&leaf.review.check.design)
    )
}

/// Name, heading and body of every section; an empty body is left out.
fn sections(leaf: &Leaf<'_>) -> Vec<(&'static str, &'static str, String)> {
    let of_pad = leaf.review.check.is_of_pad();
    let course = leaf.review.course.as_ref();
    let [linkage, angles, power, joint] = if of_pad {
        ["The fingers", "Opening, tilt, grip", "Inertia", "Into the simulator"]
    } else {
        [
            if course.is_some() { "The drive" } else { "The linkage" },
            "Ratio and angles",
            "Torque, speed, inertia",
            "The joint to paste",
        ]
    };
    vec![
        (
            "linkage",
            linkage,
            course.map_or_else(|| motion::linkage(leaf), |found| drive_motion::drive(leaf, found)),
        ),
        (
            "angles",
            angles,
            course.map_or_else(|| charts::angles(leaf), |found| drive_motion::curves(leaf, found)),
        ),
        (
            "power",
            power,
            course.map_or_else(
                || charts::power(leaf),
                |found| charts::given(leaf, drive_motion::power(leaf, found)),
            ),
        ),
        ("tolerances", "Tolerances", tolerances::tolerances(leaf)),
        ("loads", "Loads and margins", findings::loads(leaf)),
        ("joint", joint, joint::joint(leaf)),
        ("cautions", "Assumptions and cautions", findings::cautions(leaf)),
        ("file", "The design file", findings::source(leaf)),
    ]
}

fn section(leaf: &Leaf<'_>, name: &str, title: &str, body: &str) -> String {
    let id = format!("{}-{name}", leaf.id);
    format!(
        "<section id=\"{id}\" class=\"s-{name}\" aria-labelledby=\"{id}-h\">\n{}{body}</section>\n",
        heading(leaf.rank + 1, Some(&format!("{id}-h")), title)
    )
}

fn foot(leaves: &[Leaf<'_>]) -> String {
    let file = |leaf: &Leaf<'_>| format!("<code>{}</code>", escaped(&file_name(&leaf.review.path)));
    let files: Vec<String> = leaves.iter().map(file).collect();
    format!(
        "<footer><p>Written by unloop {} from {}. The same file and version give the same page. A check for modelling \
         and sizing. {DECIDES}</p></footer>\n",
        env!("CARGO_PKG_VERSION"),
        files.join(", ")
    )
}
