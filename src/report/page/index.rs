//! Several designs: a row each.

use crate::report::words::{escaped, fixed, prose, ratio_shown};
use crate::study::figure;

use super::Leaf;
use super::element::heading;
use super::verdict::{mark, tightest, word};

/// The index at the head of a page of several designs.
pub(super) fn index(leaves: &[Leaf<'_>]) -> String {
    let rows: String = leaves.iter().map(row).collect();
    format!(
        "<header id=\"index\" class=\"index\">\n{}<div class=\"scroll\" role=\"region\" aria-label=\"The designs\" tabindex=\"0\">\n\
         <table>\n<caption>The designs</caption>\n<thead><tr><th scope=\"col\">design</th><th scope=\"col\">verdict</th>\
         <th scope=\"col\">stroke of the joint</th><th scope=\"col\">ratio</th><th scope=\"col\">nearest to its limit</th></tr></thead>\n\
         <tbody>\n{rows}</tbody>\n</table>\n</div>\n</header>\n",
        heading(1, None, &format!("Design review of {} four-bar drives", leaves.len()))
    )
}

fn row(leaf: &Leaf<'_>) -> String {
    let check = &leaf.review.check;
    let (class, sign) = mark(check);
    let tight = tightest(check).and_then(|c| Some((c, c.worst()?)));
    let tight = tight.map_or_else(
        || "–".to_owned(),
        |(c, worst)| {
            let limit = c.criterion.side().limit_name();
            let figures = [worst.value(), c.limit].map(|x| figure(c.criterion, x));
            format!("{} {} ({limit} {})", c.criterion.title(), figures[0], figures[1])
        },
    );
    let [a, b] = check.stroke.joint.map(f64::to_degrees);
    format!(
        "<tr><th scope=\"row\"><a href=\"#{}\">{}</a></th><td class=\"{class}\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span> {}</td>\
         <td>{}…{} deg</td><td>{}</td><td>{}</td></tr>\n",
        leaf.id,
        escaped(&check.design),
        word(check),
        fixed(a.min(b), 1),
        fixed(a.max(b), 1),
        ratio_shown(check.direct_joint.ratio),
        prose(&tight)
    )
}
