//! Findings as text, JSON, CSV, pictures and a page. Renders findings, computes nothing.

mod blocks;
mod cautions;
mod check;
mod columns;
mod compare_text;
mod criteria;
mod drawing;
mod drawn_builds;
mod drive_loads;
mod drive_rows;
mod explanations;
mod find_lines;
mod find_text;
mod find_tree;
mod find_two_joints;
mod finger;
mod finger_loads;
mod in_space;
mod inertia;
mod loads;
mod page;
mod picture;
mod pictures;
mod pose_rows;
mod randomised;
mod region;
mod region_loads;
mod region_rows;
mod region_sheet;
mod region_tolerance;
mod sheet;
mod stroke_tables;
mod style;
mod terminal;
mod tolerance;
mod tolerance_ranges;
mod words;

use serde::Serialize;

pub use check::{check_text, open_criterion};
pub use compare_text::{compare_lines, compare_text};
pub use explanations::{Explanation, explanation, explanation_list, explanation_text};
pub use find_lines::find_lines;
pub use find_text::find_text;
pub use loads::loads_text;
pub use page::{PageDesign, PageEntry, PageIssue, PageRegion, page_html};
pub use region::{open_over_region, region_text};
pub use region_loads::region_loads_text;
pub use region_sheet::{
    region_check_sheet, region_loads_sheet, region_stroke_sheet, region_tolerance_sheet,
};
pub use region_tolerance::region_tolerance_text;
pub use sheet::{Sheet, check_sheet, loads_sheet, stroke_sheet, tolerance_sheet};
pub use stroke_tables::{Rows, TableRow, stroke_csv, stroke_json, stroke_text};
pub use style::{Detail, Style};
pub use tolerance::tolerance_text;
pub use tolerance_ranges::{RangesFormat, ranges_file, region_ranges_file};

/// `findings` as `--json` prints them, with a line end; they carry the keys, with the unit in their names, and their schema's name
/// themselves. SI; what is infinite or not known is null.
#[must_use]
pub fn json(findings: &impl Serialize) -> String {
    // Through a value, whose keys are in the order of the alphabet.
    serde_json::to_value(findings).map_or_else(|_| String::new(), |value| format!("{value:#}\n"))
}
