//! The design file as read.

use crate::report::words::escaped;

use super::Leaf;

/// The section's body.
pub(super) fn source(leaf: &Leaf<'_>) -> String {
    let review = leaf.review;
    format!(
        "<p><code>{}</code>, as read.</p>\n<pre class=\"file\" tabindex=\"0\" role=\"region\" aria-label=\"The design file\"><code>{}</code></pre>\n",
        escaped(&review.path),
        escaped(&review.text)
    )
}
