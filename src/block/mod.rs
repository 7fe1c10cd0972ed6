//! Walking a TOML text: typed values out, every mistake noted at its true place.
//!
//! ```text
//! BlockText ─walk→ Table ─take→ Item ─text, number, quantity …→ value
//!                    └──────── finish → unknown keys
//! ```
//!
//! One walk reports all mistakes: a value that cannot be read is noted and comes back as `None`,
//! and the caller goes on. What a table may hold is said once, by what is taken from it.

mod item;
mod place;
mod problem;
mod table;

use std::cell::RefCell;

use toml::de::DeTable;

use crate::finding::{Finding, Place};

pub use item::{Coordinate, Item, Text};
pub use place::PlaceMap;
pub use problem::{CODES, Problem};
pub use table::Table;

/// A TOML text with its way back to the file.
#[derive(Debug, Clone)]
pub struct BlockText {
    /// The text.
    pub text: String,
    /// Its offsets in the file.
    pub map: PlaceMap,
    /// What findings about the whole point to: the fence's info string, the start of a file.
    pub place: Place,
    /// All of it, fences included.
    pub whole: Place,
    /// What messages call it: "this `rig` block", "pack.toml".
    pub label: String,
}

impl BlockText {
    /// A whole file.
    pub fn of_file(file: usize, path: &str, text: &str) -> Self {
        Self {
            text: text.to_owned(),
            map: PlaceMap::straight(file, 0, text.len()),
            place: Place {
                file,
                start: 0,
                end: 0,
            },
            whole: Place {
                file,
                start: 0,
                end: text.len(),
            },
            label: path.to_owned(),
        }
    }
}

/// What the items of one walk share.
#[derive(Debug)]
struct Doc<'t> {
    text: &'t str,
    map: &'t PlaceMap,
    findings: RefCell<Vec<Finding>>,
    /// Lines of the file that hold a syntax error.
    broken_lines: Vec<Place>,
}

impl Doc<'_> {
    /// Notes a problem, unless it only follows from a syntax error noted already.
    fn report(&self, problem: &Problem, place: Place) {
        let on_broken = |line: &Place| line.start <= place.start && place.start <= line.end;
        let follows = !self.broken_lines.is_empty() && problem.may_follow_from_syntax()
            || self.broken_lines.iter().any(on_broken);
        if !follows {
            self.findings.borrow_mut().push(problem.at(place));
        }
    }
}

/// Parses the text and lets `read` take what it wants from the root table; returns what `read`
/// made and everything that is wrong, in order of place.
pub fn walk<T>(block: &BlockText, read: impl FnOnce(Table<'_>) -> T) -> (T, Vec<Finding>) {
    let (root, errors) = DeTable::parse_recoverable(&block.text);
    let mut findings = Vec::new();
    let mut broken_lines: Vec<Place> = Vec::new();
    for error in &errors {
        let span = error.span().unwrap_or(0..0);
        let span = shown_span(&block.text, span);
        let line = line_of(&block.text, span.start);
        let line = block.map.place(line);
        // The parser recovers and may complain again about the rest of a line.
        if broken_lines.contains(&line) {
            continue;
        }
        broken_lines.push(line);
        let message = error.message().to_owned();
        findings.push(Problem::Syntax { message }.at(block.map.place(span)));
    }
    let doc = Doc {
        text: &block.text,
        map: &block.map,
        findings: RefCell::new(findings),
        broken_lines,
    };
    let table = Table::new(&doc, block.label.clone(), block.place, root.get_ref());
    let made = read(table);
    let mut findings = doc.findings.into_inner();
    findings.sort_by_key(|f| f.place);
    (made, findings)
}

/// A span inside the text, on character boundaries, of one character at least where there is one.
fn shown_span(text: &str, span: std::ops::Range<usize>) -> std::ops::Range<usize> {
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
fn line_of(text: &str, offset: usize) -> std::ops::Range<usize> {
    let start = text[..offset].rfind('\n').map_or(0, |i| i + 1);
    let end = text[offset..].find('\n').map_or(text.len(), |i| offset + i);
    start..end.max(start)
}
