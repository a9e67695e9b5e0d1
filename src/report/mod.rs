//! Findings as text, JSON, CSV, pictures and a page. Renders findings, computes nothing.

mod blocks;
mod cautions;
mod check;
mod columns;
mod compare_text;
mod criteria;
mod drawing;
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
mod json;
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

pub use check::{check_text, open_criterion};
pub use compare_text::{compare_lines, compare_text};
pub use explanations::{Explanation, explanation, explanation_list, explanation_text};
pub use find_lines::find_lines;
pub use find_text::find_text;
pub use json::json;
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
