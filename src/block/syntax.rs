//! Every syntax error of a TOML text, and the text without the lines that hold them.
//!
//! ```text
//! text ─parse, note the first error, blank its line─┐
//!   ↑──────────────────────────────────────────────┘ until nothing is wrong
//! ```
//!
//! The reader of TOML recovers after an error, but may lose whole tables in doing so. A line less
//! is lost less: what stands elsewhere is still read and checked in the same run.

use std::ops::Range;

use toml::de::{DeTable, Error};

/// One syntax error.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SyntaxError {
    /// What the reader of TOML says.
    pub(super) message: String,
    /// Where.
    pub(super) span: Range<usize>,
}

/// A text that is TOML, and what was wrong with the original.
#[derive(Debug, Clone)]
pub(super) struct Cleaned {
    /// The text with the same offsets; lines with an error are blank.
    pub(super) text: String,
    /// The errors, in order of place.
    pub(super) errors: Vec<SyntaxError>,
}

/// Most errors of one text that are looked for; a text with more is something else than TOML.
const MOST_ERRORS: usize = 50;

/// Finds all syntax errors.
pub(super) fn clean(text: &str) -> Cleaned {
    let mut cleaned = Cleaned {
        text: text.to_owned(),
        errors: Vec::new(),
    };
    loop {
        let (_, errors) = DeTable::parse_recoverable(&cleaned.text);
        let Some(error) = first_error(&cleaned.text, &errors) else {
            break;
        };
        let stretch = broken_stretch(&cleaned.text, error.span.start);
        cleaned.errors.push(error);
        if stretch.is_empty() || cleaned.errors.len() >= MOST_ERRORS {
            // Nothing is left that could be blanked by lines.
            blank(&mut cleaned.text, 0..text.len());
            break;
        }
        blank(&mut cleaned.text, stretch);
    }
    cleaned.errors.sort_by_key(|e| e.span.start);
    cleaned
}

/// The first error, at the line that is to blame for it.
fn first_error(text: &str, errors: &[Error]) -> Option<SyntaxError> {
    let spans = errors.iter().map(|e| (e, on_characters(text, e.span())));
    let (error, span) = spans.min_by_key(|(_, span)| {
        let line = line_of(text, span.start).start;
        (line, span.is_empty(), span.start)
    })?;
    let open = errors.iter().find(|e| is_unclosed(e.message()));
    if let Some(open) = open
        && let Some(at) = opening(text, span.start)
    {
        return Some(SyntaxError {
            message: open.message().to_owned(),
            span: at,
        });
    }
    Some(SyntaxError {
        message: error.message().to_owned(),
        span,
    })
}

/// Whether the error is one of a list, a table or a text over several lines without its end.
fn is_unclosed(message: &str) -> bool {
    ["unclosed array", "unclosed inline table", "multi-line"]
        .iter()
        .any(|part| message.contains(part))
}

/// The end of the line, at or before an offset, that opens more than it closes.
fn opening(text: &str, offset: usize) -> Option<Range<usize>> {
    let mut end = line_of(text, offset).end;
    loop {
        let line = line_of(text, end);
        let words = &text[line.clone()];
        let is_header = words.trim_start().starts_with('[');
        if !is_header && opens(words) {
            let last = line.start + words.trim_end().len();
            return Some(last..last);
        }
        end = line.start.checked_sub(1)?;
    }
}

/// Whether a line has more opening than closing marks, outside its texts and its notes.
fn opens(line: &str) -> bool {
    if line.matches("\"\"\"").count() % 2 == 1 || line.matches("'''").count() % 2 == 1 {
        return true;
    }
    let mut depth = 0_i32;
    let mut quote = None;
    let mut before = ' ';
    for c in line.chars() {
        match (quote, c) {
            (Some(mark), c) if c == mark && !(mark == '"' && before == '\\') => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(c),
            (None, '#') => break,
            (None, '[' | '{') => depth += 1,
            (None, ']' | '}') => depth -= 1,
            (None, _) => {}
        }
        before = c;
    }
    depth > 0
}

/// What cannot be used because of an error at an offset: its line, and for a header its table. An
/// error behind the last line is the fault of the last line that is not blank.
fn broken_stretch(text: &str, offset: usize) -> Range<usize> {
    let mut line = line_of(text, offset);
    while text[line.clone()].trim().is_empty() {
        match line.start.checked_sub(1) {
            Some(before) => line = line_of(text, before),
            None => return 0..0,
        }
    }
    if text[line.clone()].trim_start().starts_with('[') {
        line.start..table_end(text, line.end)
    } else {
        line
    }
}

/// Where the table that is open at an offset ends: before the next header.
fn table_end(text: &str, offset: usize) -> usize {
    let mut at = offset;
    for (i, line) in text[offset..].split_inclusive('\n').enumerate() {
        if i > 0 && line.trim_start().starts_with('[') {
            break;
        }
        at += line.len();
    }
    at
}

/// Puts blanks in the place of everything but line breaks.
fn blank(text: &mut String, stretch: Range<usize>) {
    let blanks: String = text[stretch.clone()]
        .bytes()
        .map(|b| if b == b'\n' { '\n' } else { ' ' })
        .collect();
    text.replace_range(stretch, &blanks);
}

/// A span inside the text, on character boundaries.
fn on_characters(text: &str, span: Option<Range<usize>>) -> Range<usize> {
    let span = span.unwrap_or(0..0);
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// The line around an offset, without its line break.
fn line_of(text: &str, offset: usize) -> Range<usize> {
    let start = text[..offset].rfind('\n').map_or(0, |i| i + 1);
    let end = text[offset..].find('\n').map_or(text.len(), |i| offset + i);
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;

    fn errors(text: &str) -> Vec<(String, usize)> {
        let cleaned = clean(text);
        assert_eq!(cleaned.text.len(), text.len(), "offsets stay");
        let (_, left) = DeTable::parse_recoverable(&cleaned.text);
        assert!(left.is_empty(), "the rest is TOML: {left:?}");
        let line = |at: usize| text[..at].matches('\n').count() + 1;
        let errors = cleaned.errors.into_iter();
        errors.map(|e| (e.message, line(e.span.start))).collect()
    }

    #[test]
    fn finds_every_error_at_its_own_line() {
        let text =
            "[a]\nmass \"86 kg\"\nat = 1\n[b]\nat = [5.0, 8.x0]\n[c\nx = 1\n[d]\ny = 86 kg\n";
        let lines: Vec<usize> = errors(text).into_iter().map(|(_, line)| line).collect();
        assert_eq!(lines, [2, 5, 6, 9]);
        assert!(clean(text).text.contains("at = 1"));
    }

    #[test]
    fn blames_the_line_that_opens() {
        let found = errors("a = [1, 2\nb = 3\n[x]\ny = 1\n");
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].1, 1);
        assert!(found[0].0.contains("unclosed array"));
        let found = errors("z = 1\na = \"\"\"x\ny\n[b]\nc = 1\n");
        assert_eq!(found[0].1, 2);
    }

    #[test]
    fn a_table_that_stands_twice_is_one_error() {
        let found = errors("[p.top]\nat = 1\n[p.top]\nat = 2\non = 3\n[q]\nx = 1\n");
        assert_eq!(found, [("duplicate key".to_owned(), 3)]);
    }
}
