//! One self-contained page for a design review: no network, no font and no script from elsewhere, readable without the
//! script, on paper, in the dark and by a screen reader.
//!
//! The order is a reader's: verdict, criteria and what would do, other sizes, the linkage that one can move, figures over the
//! stroke, tolerances, loads, the joint to paste, assumptions and cautions, the design file. The same findings give the same
//! bytes.

mod charts;
mod element;
mod findings;
mod joint;
mod motion;
mod poses_shown;
mod region;
mod sizes;
mod tolerances;
mod verdict;

use std::fmt::Write as _;
use std::path::Path;

use crate::handover::{Snippet, TwoJointSnippet};
use crate::study::{Course, OtherSizes, RegionCheck, RegionCourse, Review};

use super::blocks::{Block, Cell};
use super::cautions::DECIDES;
use super::drawing::style_sheet;
use super::words::escaped;
use element::heading;
use region::RegionLeaf;

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

/// What the page needs of a design of two joints.
#[derive(Clone, Copy, Debug)]
pub struct PageRegion<'a> {
    /// The findings, with the cells of the region.
    pub check: &'a RegionCheck,
    /// Its drive at poses over the region.
    pub course: &'a RegionCourse,
    /// Both joints in each format.
    pub snippets: &'a [TwoJointSnippet],
    /// Nothing is to be moved on the page.
    pub is_static: bool,
    /// The design file's path as given.
    pub path: &'a str,
    /// The design file as read.
    pub text: &'a str,
}

/// A design of one joint or of two.
#[derive(Clone, Copy, Debug)]
pub enum PageEntry<'a> {
    /// Of one.
    Joint(PageDesign<'a>),
    /// Of two.
    Region(PageRegion<'a>),
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

/// A design on the page.
#[derive(Clone, Copy)]
enum Sheet<'a> {
    Joint(Leaf<'a>),
    Region(RegionLeaf<'a>),
}

impl<'a> Sheet<'a> {
    fn of(entry: &PageEntry<'a>, id: &'a str, rank: u8) -> Self {
        match *entry {
            PageEntry::Joint(PageDesign { review, snippets, sizes }) => {
                Self::Joint(Leaf { review, snippets, sizes, id, rank })
            }
            PageEntry::Region(of) => Self::Region(RegionLeaf { of, id, rank }),
        }
    }

    fn article(&self, issue: &str) -> String {
        match self {
            Self::Joint(leaf) => article(leaf, issue),
            Self::Region(leaf) => leaf.article(issue),
        }
    }

    fn title(&self) -> String {
        match self {
            Self::Joint(leaf) => {
                let check = &leaf.review.check;
                format!("{}: {}", check.design, verdict::word(check))
            }
            Self::Region(leaf) => format!("{}: {}", leaf.of.check.design, leaf.word()),
        }
    }

    fn row(&self) -> Vec<Cell> {
        match self {
            Self::Joint(leaf) => verdict::row(leaf),
            Self::Region(leaf) => leaf.row(),
        }
    }

    fn path(&self) -> &str {
        match self {
            Self::Joint(leaf) => &leaf.review.path,
            Self::Region(leaf) => leaf.of.path,
        }
    }

    fn is_four_bar(&self) -> bool {
        matches!(self, Self::Joint(leaf) if leaf.review.check.linkage.is_some())
    }
}

/// The page: one design, or several behind an index.
#[must_use]
pub fn page_html(designs: &[PageEntry<'_>], issue: &PageIssue<'_>) -> String {
    let several = designs.len() > 1;
    let ids: Vec<String> = (1..=designs.len()).map(|k| format!("d{k}")).collect();
    let rank = if several { 2 } else { 1 };
    let sheets: Vec<Sheet<'_>> =
        designs.iter().zip(&ids).map(|(entry, id)| Sheet::of(entry, id, rank)).collect();
    let issue = issue.words();
    let title = title(&sheets);
    let body: String = sheets.iter().map(|sheet| sheet.article(&issue)).collect();
    let rows = || sheets.iter().map(Sheet::row).collect();
    let index = if several { verdict::index(&title, rows(), &issue) } else { String::new() };
    format!(
        "{}<body>\n<a class=\"skip\" href=\"#{}\">To the verdict</a>\n<main>\n{index}{body}</main>\n{}{}</body>\n</html>\n",
        head(&title, &issue),
        if several { "index" } else { "d1" },
        foot(&sheets),
        scripts(body.contains("<form class=\"sizes\""))
    )
}

fn scripts(with_sizes: bool) -> String {
    let sizes = SIZES.into_iter().filter(|_| with_sizes);
    sizes.chain([MOTION]).map(|script| format!("<script>\n{script}</script>\n")).collect()
}

/// What the page is called.
fn title(sheets: &[Sheet<'_>]) -> String {
    if let [only] = sheets {
        return only.title();
    }
    let kind = if sheets.iter().all(Sheet::is_four_bar) { "four-bar " } else { "" };
    format!("Design review of {} {kind}drives", sheets.len())
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
    let (links, body) = sections_of(leaf.id, leaf.rank, sections(leaf));
    let sizes = sizes::sizes(leaf);
    let sizes = if sizes.is_empty() {
        sizes
    } else {
        let section = section(leaf.id, leaf.rank, "sizes", "Try other sizes", &sizes);
        format!("<div class=\"needs-script\">\n{section}</div>\n")
    };
    format!(
        "<article id=\"{}\">\n{}{}{sizes}{}<nav aria-label=\"On this page, {}\">\n<ul>\n{links}</ul>\n</nav>\n{body}</article>\n",
        leaf.id,
        verdict::verdict(leaf, issue),
        section(leaf.id, leaf.rank, "criteria", "Criteria", &findings::criteria(leaf)),
        verdict::glance(leaf),
        escaped(&leaf.review.check.design)
    )
}

/// Name, heading and body of every section; an empty body is left out.
fn sections(leaf: &Leaf<'_>) -> Vec<(&'static str, &'static str, String)> {
    let of_pad = leaf.review.check.is_of_pad();
    let (drive, moved) = match &leaf.review.course {
        Course::Linkage(rows) => ("The linkage", motion::linkage(leaf, rows)),
        Course::Drive(found) => ("The drive", motion::drive(leaf, found)),
    };
    let [linkage, angles, power, joint] = if of_pad {
        ["The fingers", "Opening, tilt, grip", "Inertia", "Into the simulator"]
    } else {
        [drive, "Ratio and angles", "Torque, speed, inertia", "The joint to paste"]
    };
    vec![
        ("linkage", linkage, moved),
        ("angles", angles, charts::angles(leaf)),
        ("power", power, charts::power(leaf)),
        ("tolerances", "Tolerances", tolerances::tolerances(leaf)),
        ("loads", "Loads and margins", findings::loads(leaf)),
        ("joint", joint, joint::joint(leaf)),
        ("cautions", "Assumptions and cautions", findings::cautions(leaf)),
        ("file", "The design file", findings::source(leaf)),
    ]
}

/// Links to sections, and these; an empty one is left out.
fn sections_of(
    id: &str,
    rank: u8,
    mut shown: Vec<(&'static str, &'static str, String)>,
) -> (String, String) {
    shown.retain(|(.., body)| !body.is_empty());
    let link = |(name, title, _): &(&str, &str, String)| {
        format!("<li><a href=\"#{id}-{name}\">{title}</a></li>\n")
    };
    let body = shown.iter().map(|(name, title, body)| section(id, rank, name, title, body));
    (shown.iter().map(link).collect(), body.collect())
}

fn section(id: &str, rank: u8, name: &str, title: &str, body: &str) -> String {
    let id = format!("{id}-{name}");
    format!(
        "<section id=\"{id}\" class=\"s-{name}\" aria-labelledby=\"{id}-h\">\n{}{body}</section>\n",
        heading(rank + 1, Some(&format!("{id}-h")), title)
    )
}

fn foot(sheets: &[Sheet<'_>]) -> String {
    let file = |sheet: &Sheet<'_>| format!("<code>{}</code>", escaped(&file_name(sheet.path())));
    let files: Vec<String> = sheets.iter().map(file).collect();
    format!(
        "<footer><p>Written by unloop {} from {}. The same file and version give the same page. A check for modelling \
         and sizing. {DECIDES}</p></footer>\n",
        env!("CARGO_PKG_VERSION"),
        files.join(", ")
    )
}
