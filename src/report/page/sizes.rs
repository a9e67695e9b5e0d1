//! Fields for the drawn sizes of a planar four-bar; the page's script judges what is typed, and can put it into the user's text.

use crate::report::words::prose;
use crate::study::SizeField;

use super::Leaf;
use super::element::paragraph;

const WHAT: &str = "Type another size: verdict, criteria and curves follow at once. That is computed here for the lengths as drawn, \
    not proved; all the rest of the page stays that of the design file.";

/// The section's body; empty where the page cannot judge other sizes.
pub(super) fn sizes(leaf: &Leaf<'_>) -> String {
    let Some(sizes) = leaf.sizes else { return String::new() };
    let rows: String =
        sizes.fields.iter().enumerate().map(|(k, field)| row(leaf, k, field)).collect();
    let data = serde_json::to_string(sizes).unwrap_or_default().replace('<', "\\u003c");
    format!(
        "{}<form class=\"sizes\" novalidate>\n<div class=\"fields\">\n{rows}</div>\n\
         <p class=\"actions\"><button type=\"button\" class=\"reset\" disabled>Back to the drawing</button> \
         <button type=\"button\" class=\"save\" disabled>Save these sizes as a design file</button></p>\n\
         <div class=\"changed\"></div>\n<script type=\"application/json\">{data}</script>\n</form>\n",
        paragraph(WHAT)
    )
}

fn row(leaf: &Leaf<'_>, k: usize, field: &SizeField) -> String {
    let SizeField { name, tolerance, value, unit, .. } = field;
    let id = format!("{}-size-{k}", leaf.id);
    let (name, tolerance) = (prose(name), prose(tolerance));
    format!(
        "<div><label for=\"{id}\">{name}</label> <span class=\"size\"><input id=\"{id}\" type=\"number\" step=\"0.1\" value=\"{value}\" aria-describedby=\"{id}-t\"> \
         <span id=\"{id}-t\" class=\"unit\">{unit}{}{tolerance}</span></span></div>\n",
        if tolerance.is_empty() { "" } else { ", " }
    )
}
