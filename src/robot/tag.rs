//! The inside of one tag, and what stands for characters in values and text (XML 1.0, productions 40, 41, 66-68).

use std::borrow::Cow;
use std::collections::HashSet;
use std::ops::Range;

use quick_xml::escape::unescape;

use crate::diagnostic::Diagnostic;

/// Where name and value of one attribute stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct AttributeRecord {
    pub(super) name: u32,
    pub(super) name_end: u32,
    pub(super) value: u32,
    pub(super) value_end: u32,
}

/// The reader refuses files that four bytes cannot address.
pub(super) fn offset(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

/// So many attributes are compared one by one, which is faster for what real tags have.
const FEW: usize = 32;

/// Scans `<name a="1" b='2'/>`, puts the attributes behind those that are there, and gives where the name ends.
///
/// # Errors
/// An attribute without value, equals sign or quotes, twice the same name, an unknown entity.
pub(super) fn scan(
    text: &str,
    tag: Range<usize>,
    attributes: &mut Vec<AttributeRecord>,
) -> Result<usize, Diagnostic> {
    let first = attributes.len();
    let end = tag.end - if text.get(..tag.end).is_some_and(|t| t.ends_with("/>")) { 2 } else { 1 };
    let mut scanner = Scanner { text, at: tag.start + 1, end };
    let name_end = scanner.name_end();
    if name_end == tag.start + 1 {
        return Err(fault("a tag without a name", tag, "write &lt; for a < that begins no tag"));
    }
    scanner.at = name_end;
    let mut many = HashSet::new();
    while let Some(attribute) = scanner.attribute()? {
        let name = |of: &AttributeRecord| text.as_bytes().get(range(of));
        let before = attributes.get(first..).unwrap_or_default();
        let twice = if before.len() < FEW {
            before.iter().any(|other| name(other) == name(&attribute))
        } else {
            if many.is_empty() {
                many.extend(before.iter().map(name));
            }
            !many.insert(name(&attribute))
        };
        if twice {
            let name = text.get(range(&attribute)).unwrap_or_default();
            return Err(fault(
                &format!("attribute {name} stands twice in one tag"),
                range(&attribute),
                "take one of the two out",
            ));
        }
        attributes.push(attribute);
    }
    Ok(name_end)
}

fn range(attribute: &AttributeRecord) -> Range<usize> {
    attribute.name as usize..attribute.name_end as usize
}

fn fault(message: &str, place: Range<usize>, help: &str) -> Diagnostic {
    Diagnostic::error(message).at(place).help(help)
}

/// Reads bytes: what XML reserves is ASCII, and no other character holds such a byte in UTF-8.
struct Scanner<'a> {
    text: &'a str,
    at: usize,
    end: usize,
}

impl Scanner<'_> {
    fn rest(&self) -> &[u8] {
        self.text.as_bytes().get(self.at..self.end).unwrap_or_default()
    }

    fn skip_blanks(&mut self) {
        self.at += self.rest().iter().take_while(|byte| byte.is_ascii_whitespace()).count();
    }

    /// Where the name that begins here ends.
    fn name_end(&self) -> usize {
        let ends = |byte: &u8| {
            matches!(byte, b' ' | b'\n' | b'\t' | b'\r' | b'=' | b'"' | b'\'' | b'<' | b'/')
        };
        let rest = self.rest();
        self.at + rest.iter().position(ends).unwrap_or(rest.len())
    }

    fn next_character(&self) -> Option<char> {
        self.text.get(self.at..self.end)?.chars().next()
    }

    fn attribute(&mut self) -> Result<Option<AttributeRecord>, Diagnostic> {
        self.skip_blanks();
        if self.at >= self.end {
            return Ok(None);
        }
        let (name, name_end) = (self.at, self.name_end());
        if name_end == name {
            let next = self.next_character().map_or(1, char::len_utf8);
            return Err(fault(
                "no attribute can begin with this",
                name..name + next,
                "an attribute is written name=\"value\"",
            ));
        }
        self.at = name_end;
        self.skip_blanks();
        self.expect_equals(name..name_end)?;
        let value = self.value(name..name_end)?;
        let found = self.text.get(value.clone()).unwrap_or_default();
        if found.bytes().any(|byte| byte == b'&') {
            must_be_known(self.text, value.clone())?;
        }
        Ok(Some(AttributeRecord {
            name: offset(name),
            name_end: offset(name_end),
            value: offset(value.start),
            value_end: offset(value.end),
        }))
    }

    fn expect_equals(&mut self, name: Range<usize>) -> Result<(), Diagnostic> {
        if self.rest().first() != Some(&b'=') {
            let text = self.text.get(name.clone()).unwrap_or_default();
            let help = format!("write {text}=\"value\"");
            return Err(fault(&format!("attribute {text} has no value"), name, &help));
        }
        self.at += 1;
        self.skip_blanks();
        Ok(())
    }

    fn value(&mut self, name: Range<usize>) -> Result<Range<usize>, Diagnostic> {
        let quote = self.rest().first().copied();
        let Some(quote) = quote.filter(|byte| matches!(byte, b'"' | b'\'')) else {
            let text = self.text.get(name.clone()).unwrap_or_default();
            let help = format!("write {text}=\"value\"");
            return Err(fault(&format!("the value of {text} has no quotes"), name, &help));
        };
        let start = self.at + 1;
        let inside = self.text.as_bytes().get(start..self.end).unwrap_or_default();
        let Some(length) = inside.iter().position(|byte| *byte == quote) else {
            return Err(fault("the value has no closing quote", name, "close the quote"));
        };
        self.at = start + length + 1;
        Ok(start..start + length)
    }
}

/// Whether the references in a piece of the text are XML's own.
///
/// # Errors
/// One is not.
pub(super) fn must_be_known(text: &str, place: Range<usize>) -> Result<(), Diagnostic> {
    match unescape(text.get(place.clone()).unwrap_or_default()) {
        Ok(_) => Ok(()),
        Err(_) => Err(Diagnostic::error("an entity that XML does not know").at(place).help(
            "write &amp; for an ampersand; known are &amp; &lt; &gt; &quot; &apos; and &#NUMBER;",
        )),
    }
}

/// The value with entities resolved; as it stands where one is unknown, which reading has refused.
pub(super) fn resolved(raw: &str) -> Cow<'_, str> {
    if raw.contains('&') { unescape(raw).unwrap_or(Cow::Borrowed(raw)) } else { Cow::Borrowed(raw) }
}

/// Text without comments and markup, trimmed.
pub(super) fn text_of(raw: &str) -> Cow<'_, str> {
    let raw = raw.trim();
    if !raw.contains('<') {
        return resolved(raw);
    }
    Cow::Owned(pieces(raw).trim().to_owned())
}

/// The text between comments, processing instructions and elements; what is marked as character data as it is.
fn pieces(raw: &str) -> String {
    let mut out = String::new();
    let mut rest = raw;
    let mut depth = 0_usize;
    while let Some(at) = rest.find('<') {
        let (text, markup) = rest.split_at(at);
        if depth == 0 {
            out.push_str(&resolved(text));
        }
        let (end, data) = markup_end(markup);
        if depth == 0 {
            out.push_str(data);
        }
        let tag = markup.get(..end).unwrap_or(markup);
        if tag.starts_with("</") {
            depth = depth.saturating_sub(1);
        } else if !tag.starts_with("<!") && !tag.starts_with("<?") && !tag.ends_with("/>") {
            depth += 1;
        }
        rest = markup.get(end..).unwrap_or_default();
    }
    if depth == 0 {
        out.push_str(&resolved(rest));
    }
    out
}

/// Length of the piece of markup at the start, and the characters that it marks as data.
fn markup_end(markup: &str) -> (usize, &str) {
    let ends = |open: &str, close: &str| {
        let inside = markup.strip_prefix(open)?;
        let length = inside.find(close)?;
        Some((open.len() + length + close.len(), inside.get(..length)?))
    };
    if let Some((end, _)) = ends("<!--", "-->") {
        return (end, "");
    }
    if let Some(found) = ends("<![CDATA[", "]]>") {
        return found;
    }
    (markup.find('>').map_or(markup.len(), |at| at + 1), "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_read_without_its_comments_and_with_entities_resolved() {
        assert_eq!(
            text_of(" <!-- a > b --> left<!-- --> &lt;x&gt; <b>no</b><![CDATA[ & ]]> "),
            "left &lt;x&gt;  &".replace("&lt;", "<").replace("&gt;", ">")
        );
    }
}
