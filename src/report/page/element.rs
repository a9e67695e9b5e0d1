//! The few elements that sections are made of. Every text that comes in is escaped here.

use crate::report::words::prose;
pub(super) use crate::report::words::sentence;

/// A heading of rank 1…6, with an id where one is given.
pub(super) fn heading(rank: u8, id: Option<&str>, words: &str) -> String {
    let id = id.map_or_else(String::new, |id| format!(" id=\"{id}\""));
    format!("<h{rank}{id}>{}</h{rank}>\n", prose(words))
}

/// A paragraph.
pub(super) fn paragraph(words: &str) -> String {
    format!("<p>{}</p>\n", prose(words))
}

/// A list, or nothing where it is empty.
pub(super) fn list(lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let items: String = lines.iter().map(|l| format!("<li>{}</li>\n", prose(l))).collect();
    format!("<ul class=\"lines\">\n{items}</ul>\n")
}

/// A table: the first column names its row. `caption` is read out before it.
pub(super) fn table(caption: &str, header: &[&str], rows: &[Vec<String>]) -> String {
    let head: String =
        header.iter().map(|h| format!("<th scope=\"col\">{}</th>", prose(h.trim()))).collect();
    let body: String = rows.iter().map(|cells| row(cells)).collect();
    let caption = prose(caption);
    format!(
        "<div class=\"scroll\" role=\"region\" aria-label=\"{caption}\" tabindex=\"0\">\n<table>\n<caption>{caption}</caption>\n\
         <thead><tr>{head}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>\n</div>\n"
    )
}

fn row(cells: &[String]) -> String {
    let cell = |(k, text): (usize, &String)| {
        let text = prose(text.trim());
        if k == 0 { format!("<th scope=\"row\">{text}</th>") } else { format!("<td>{text}</td>") }
    };
    format!("<tr>{}</tr>\n", cells.iter().enumerate().map(cell).collect::<String>())
}

/// Something that opens on demand; on paper it stays as it is.
pub(super) fn fold(summary: &str, body: &str) -> String {
    format!("<details><summary>{}</summary>\n{body}</details>\n", prose(summary))
}
