//! XML as a tree of elements and comments, and its text: two blanks per level, numbers that read back
//! as the same double, the same bytes each time, ASCII alone.

use quick_xml::escape::escape;

use crate::diagnostic::rows;

/// A piece of XML.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// An element.
    Element(Element),
    /// A comment, one entry per line.
    Comment(Vec<String>),
}

/// An element with attributes and either children or text.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    children: Vec<Node>,
    text: Option<String>,
}

impl Element {
    /// An element without attributes and children.
    #[must_use]
    pub fn new(name: &'static str) -> Self {
        Self { name, attributes: Vec::new(), children: Vec::new(), text: None }
    }

    /// The element with one more attribute; the value is escaped when written.
    #[must_use]
    pub fn with(mut self, key: &'static str, value: impl Into<String>) -> Self {
        self.attributes.push((key, value.into()));
        self
    }

    /// The element with an attribute that holds numbers, separated by blanks.
    #[must_use]
    pub fn with_numbers(self, key: &'static str, values: &[f64]) -> Self {
        self.with(key, numbers(values))
    }

    /// The element with an attribute that holds one number, where there is one.
    #[must_use]
    pub fn with_known(self, key: &'static str, value: Option<f64>) -> Self {
        match value {
            Some(value) => self.with_numbers(key, &[value]),
            None => self,
        }
    }

    /// The element with one more child.
    #[must_use]
    pub fn holding(mut self, child: impl Into<Node>) -> Self {
        self.children.push(child.into());
        self
    }

    /// The element with more children.
    #[must_use]
    pub fn holding_all(mut self, children: impl IntoIterator<Item = Node>) -> Self {
        self.children.extend(children);
        self
    }

    /// An element that holds text only.
    #[must_use]
    pub fn text(name: &'static str, text: impl Into<String>) -> Self {
        Self { text: Some(text.into()), ..Self::new(name) }
    }

    /// An element that holds numbers only, separated by blanks.
    #[must_use]
    pub fn numbers(name: &'static str, values: &[f64]) -> Self {
        Self::text(name, numbers(values))
    }

    fn write(&self, level: usize, out: &mut String) {
        indent(level, out);
        out.push('<');
        out.push_str(self.name);
        for (key, value) in &self.attributes {
            out.push_str(&format!(" {key}=\"{}\"", escaped(value)));
        }
        if let Some(text) = &self.text {
            out.push_str(&format!(">{}</{}>\n", escaped(text), self.name));
        } else if self.children.is_empty() {
            out.push_str("/>\n");
        } else {
            out.push_str(">\n");
            write_nodes(&self.children, level + 1, out);
            indent(level, out);
            out.push_str(&format!("</{}>\n", self.name));
        }
    }
}

impl From<Element> for Node {
    fn from(element: Element) -> Self {
        Self::Element(element)
    }
}

/// The text of a file with an XML declaration.
#[must_use]
pub fn document(nodes: &[Node]) -> String {
    format!("<?xml version=\"1.0\"?>\n{}", fragment(nodes))
}

/// The text of a piece of a file: elements and comments side by side, without a root and a declaration.
#[must_use]
pub fn fragment(nodes: &[Node]) -> String {
    let mut out = String::new();
    write_nodes(nodes, 0, &mut out);
    out
}

/// Whether XML can hold this name in an attribute as it is, without being changed on reading.
#[must_use]
pub fn is_fit_for_a_name(name: &str) -> bool {
    !name.trim().is_empty()
        && !name.chars().any(|c| c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}'))
}

/// Numbers separated by blanks, each in the shortest form that reads back as the same double.
#[must_use]
pub fn numbers(values: &[f64]) -> String {
    values.iter().map(|x| number(*x)).collect::<Vec<_>>().join(" ")
}

/// The shortest form that reads back as the same double; a negative zero loses its sign.
#[must_use]
pub fn number(value: f64) -> String {
    format!("{}", value + 0.0)
}

fn write_nodes(nodes: &[Node], level: usize, out: &mut String) {
    for node in nodes {
        match node {
            Node::Element(element) => element.write(level, out),
            Node::Comment(lines) => write_comment(lines, level, out),
        }
    }
}

/// Columns of a comment's text, its indent included.
const WIDTH: usize = 100;

fn write_comment(lines: &[String], level: usize, out: &mut String) {
    if lines.is_empty() {
        return;
    }
    indent(level, out);
    out.push_str("<!--\n");
    for line in lines {
        for row in rows(comment_line(line).split(' '), WIDTH - 2 * (level + 1), "", "  ") {
            indent(level + 1, out);
            out.push_str(&row);
            out.push('\n');
        }
    }
    indent(level, out);
    out.push_str("-->\n");
}

/// The text with what XML reserves, and with what is not ASCII as character references.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in escape(text).chars() {
        if c.is_ascii() {
            out.push(c);
        } else {
            out.push_str(&format!("&#x{:X};", u32::from(c)));
        }
    }
    out
}

/// ASCII for a character of a comment, where references are not read.
fn in_ascii(c: char) -> String {
    let known = match c {
        '\u{2026}' => "...",
        '\u{b1}' => "+/-",
        '\u{b2}' => "^2",
        '\u{b7}' | '\u{d7}' => "x",
        '\u{2212}' | '\u{2013}' | '\u{2014}' => "-",
        '\u{b0}' => " deg",
        '\u{3b5}' => "eps",
        _ => return if is_fit_for_a_comment(c) { c.to_string() } else { "?".to_owned() },
    };
    known.to_owned()
}

/// A comment must not hold two hyphens in a row nor characters outside XML (XML 1.0, productions 2 and 15).
fn comment_line(line: &str) -> String {
    let mut out = String::new();
    for c in line.chars().map(in_ascii).collect::<String>().chars() {
        if c == '-' && out.ends_with('-') {
            out.push(' ');
        }
        out.push(c);
    }
    out
}

fn is_fit_for_a_comment(c: char) -> bool {
    c.is_ascii() && !c.is_control()
}

fn indent(level: usize, out: &mut String) {
    for _ in 0..level {
        out.push_str("  ");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_attribute_is_escaped_and_reads_back() {
        let text = fragment(&[Element::new("joint").with("name", "a<b>&\"c\"'d'").into()]);
        let document = roxmltree::Document::parse(&text).unwrap();
        assert_eq!(document.root_element().attribute("name"), Some("a<b>&\"c\"'d'"));
    }

    #[test]
    fn a_comment_with_hyphens_and_control_characters_stays_well_formed() {
        let comment = Node::Comment(vec!["a--b---c-->\u{1}".to_owned(), "-".to_owned()]);
        let text = fragment(&[Element::new("x").holding(comment).into()]);
        assert!(roxmltree::Document::parse(&text).is_ok(), "{text}");
    }

    #[test]
    fn what_is_not_ascii_is_referred_to_in_names_and_spelled_in_comments() {
        let comment = Node::Comment(vec!["0 … 5 ° ± é".to_owned()]);
        let text =
            fragment(&[Element::new("joint").with("name", "Knöchel").holding(comment).into()]);
        assert!(text.is_ascii() && text.contains("0 ... 5  deg +/- ?"), "{text}");
        let document = roxmltree::Document::parse(&text).unwrap();
        assert_eq!(document.root_element().attribute("name"), Some("Knöchel"));
    }

    #[test]
    fn a_long_comment_is_wrapped_and_no_word_is_lost() {
        let line = "* every word of this line comes back, ".repeat(12);
        let text = fragment(&[Node::Comment(vec![line.clone()])]);
        assert!(text.lines().all(|row| row.len() <= 100) && text.lines().count() > 5, "{text}");
        let words = |t: &str| t.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        let found = words(&text);
        assert_eq!(found[1..found.len() - 1], words(&line)[..]);
    }

    #[test]
    fn a_number_reads_back_as_the_same_double_and_minus_zero_is_zero() {
        for x in [0.1, -35.0_f64.to_radians(), 1.5e-7, 1e300, 5e-324] {
            assert_eq!(number(x).parse::<f64>().unwrap().to_bits(), x.to_bits());
        }
        assert_eq!(numbers(&[-0.0, 1.0]), "0 1");
    }
}
