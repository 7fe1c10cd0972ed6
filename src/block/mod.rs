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
mod syntax;
mod table;
mod words;

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
    /// Whether lines are missing because they are not TOML.
    has_syntax_errors: bool,
}

impl Doc<'_> {
    /// Notes a problem, unless it only follows from a syntax error noted already.
    fn report(&self, problem: &Problem, place: Place) {
        if !(self.has_syntax_errors && problem.may_follow_from_syntax()) {
            self.findings.borrow_mut().push(problem.at(place));
        }
    }
}

/// Parses the text and lets `read` take what it wants from the root table; returns what `read`
/// made and everything that is wrong, in order of place.
pub fn walk<T>(block: &BlockText, read: impl FnOnce(Table<'_>) -> T) -> (T, Vec<Finding>) {
    let (root, errors) = DeTable::parse_recoverable(&block.text);
    if errors.is_empty() {
        return walk_root(block, &block.text, root.get_ref(), Vec::new(), read);
    }
    let cleaned = syntax::clean(&block.text);
    let findings = cleaned.errors.into_iter().map(|error| {
        let message = error.message;
        Problem::Syntax { message }.at(error_place(block, error.span))
    });
    // What is left is TOML, so there are no more errors to hear about.
    let (root, _) = DeTable::parse_recoverable(&cleaned.text);
    let findings = findings.collect();
    walk_root(block, &cleaned.text, root.get_ref(), findings, read)
}

/// Walks what was parsed; `findings` are the syntax errors.
fn walk_root<T>(
    block: &BlockText,
    text: &str,
    root: &DeTable<'_>,
    findings: Vec<Finding>,
    read: impl FnOnce(Table<'_>) -> T,
) -> (T, Vec<Finding>) {
    let doc = Doc {
        text,
        map: &block.map,
        has_syntax_errors: !findings.is_empty(),
        findings: RefCell::new(findings),
    };
    let table = Table::new(&doc, block.label.clone(), block.place, root);
    let made = read(table);
    let mut findings = doc.findings.into_inner();
    findings.sort_by_key(|f| f.place);
    (made, findings)
}

/// The place of a syntax error. At a line's end it is behind the last character, wherever the line
/// break stands in the file.
fn error_place(block: &BlockText, span: std::ops::Range<usize>) -> Place {
    let at_end = block.text[span.start..]
        .chars()
        .next()
        .is_none_or(|c| c == '\n');
    if !span.is_empty() || !at_end || span.start == 0 {
        return block.map.place(span);
    }
    let last = block.map.place(span.start - 1..span.start);
    Place {
        start: last.end,
        ..last
    }
}
